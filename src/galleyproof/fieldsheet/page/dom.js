// Elements, made without any markup in strings: what comes from the job is text and stays text.

function h(tag, given = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(given)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (name === "value" || name === "checked" || name === "selected" || name === "disabled") node[name] = value;
    else node.setAttribute(name, value === true ? "" : value);
  }
  append(node, children);
  return node;
}

function append(node, children) {
  for (const child of children.flat(Infinity)) {
    if (child === null || child === undefined || child === false || child === "") continue;
    node.append(child instanceof Node ? child : String(child));
  }
}

const SVG = "http://www.w3.org/2000/svg";

function s(tag, given = {}, ...children) {
  const node = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(given)) node.setAttribute(name, value);
  append(node, children);
  return node;
}

// A label with its field: h for the field is given as a function of the id.
let fieldCount = 0;
function field(label, make, help = "") {
  fieldCount += 1;
  const id = `field-${fieldCount}`;
  const told = help ? h("p", { class: "help", id: `${id}-help` }, help) : null;
  const control = make({ id, "aria-describedby": help ? `${id}-help` : undefined });
  return h("div", { class: "field" }, h("label", { for: id }, label), control, told);
}

const many = (n, one, more = `${one}s`) => `${n} ${n === 1 ? one : more}`;

// A mark that says by word and shape what a colour says too.
function chip(kind, words) {
  const sign = { good: "✓", bad: "✗", warn: "!", plain: "" }[kind];
  return h("span", { class: `chip ${kind}` }, sign ? h("span", { "aria-hidden": "true" }, `${sign} `) : "", words);
}
