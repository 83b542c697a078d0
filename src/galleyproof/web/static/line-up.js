// Typing into the line-up: each value is sent as it is left, one after the other, over the save the page shows.

const page = document.getElementById("line-up");
const body = document.getElementById("line-up-body");
const notes = document.getElementById("notes");
const about = document.getElementById("about");
const token = JSON.parse(document.body.getAttribute("hx-headers"))["x-form-token"];
const job = page.dataset.job;
const busy = new Set();
let line = Promise.resolve();
let count = 0;
let drawing = false;

// --- what is said ---------------------------------------------------------------------------------------------

function note(words, kind, ...buttons) {
  const box = document.createElement("div");
  box.className = `note ${kind}`;
  box.setAttribute("role", kind === "bad" ? "alert" : "status");
  box.append(words);
  if (buttons.length) {
    const row = document.createElement("div");
    row.className = "ask";
    for (const [text, act] of buttons) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = text;
      button.addEventListener("click", (event) => { event.stopPropagation(); box.remove(); act(); });
      row.append(button);
    }
    box.append(row);
  }
  notes.append(box);
  box.scrollIntoView({ block: "nearest" });
  return box;
}

// --- sending --------------------------------------------------------------------------------------------------

async function post(what, given) {
  const answer = await fetch(`/jobs/${job}/line-up-${what}`, {
    method: "POST",
    headers: { "content-type": "application/json", "x-form-token": token },
    body: JSON.stringify({ based_on: Number(page.dataset.save), ...given }),
  });
  let data = {};
  if ((answer.headers.get("content-type") || "").startsWith("application/json")) data = await answer.json();
  return { ok: answer.ok, status: answer.status, data };
}

// One after the other, so that each is made from the save before it.
function send(what, given, done, cell) {
  const task = line.then(async () => {
    let reply;
    try {
      reply = await post(what, given);
    } catch {
      if (cell) cell.classList.add("unsent");
      note("The office did not answer. What you typed is still here and not stored yet.", "bad",
        ["Send it again", () => send(what, given, done, cell)]);
      return;
    }
    if (cell) { cell.classList.remove("unsent"); cell.removeAttribute("aria-busy"); busy.delete(cell); }
    if (reply.ok) return done(reply.data);
    if (reply.data.merge) return merge(reply.data);
    const words = reply.data.error || reply.data.detail || `Nothing was stored (${reply.status}); load the page again.`;
    note(words, "bad", ["Load the page again", () => location.reload()]);
    if (cell) cell.classList.add("unsent");
  });
  line = task.catch(() => {});
  return task;
}

function merge(data) {
  const form = document.createElement("form");
  form.method = "post";
  form.action = data.merge;
  for (const [name, value] of [["form_token", token], ["based_on", data.based_on], ["mine", data.mine]]) {
    const field = document.createElement("textarea");
    field.name = name;
    field.value = value;
    form.append(field);
  }
  form.hidden = true;
  document.body.append(form);
  busy.clear();
  form.submit();
}

addEventListener("beforeunload", (event) => { if (busy.size) event.preventDefault(); });

// --- what a reply changes on the page ---------------------------------------------------------------------------

function took(data) {
  page.dataset.save = data.save;
  const head = document.getElementById("head-number");
  if (head) head.textContent = data.save;
  if (data.name) {
    const name = document.querySelector(".strip-name");
    if (name) name.textContent = data.name;
  }
  if (data.said) {
    document.getElementById("last-change").textContent = `save ${data.save}: ${data.said}`;
    document.getElementById("undo").disabled = false;
    document.getElementById("redo").disabled = true;
  }
  mark(data.wrong);
  list(data);
  for (const link of body.querySelectorAll("[data-count]")) {
    link.querySelector(".chip")?.remove();
    const n = data.counts[link.dataset.count];
    if (n) link.append(" ", chip(`${n} to mend`));
  }
  if (data.left_out?.length) note(`Left out, because the new kind does not have it: ${data.left_out.join("; ")}. Undo brings it back.`, "");
  if (data.over) note(`${data.over}, changed other values in the meantime; both changes stand.`, "");
  htmx.trigger("#findings-line", "saved");
}

function chip(words) {
  const made = document.createElement("span");
  made.className = "chip bad";
  made.textContent = words;
  return made;
}

const escaped = (name) => CSS.escape(name);

// The cell of a place, or what it stands in.
function holder(name) {
  for (let at = name; at; at = at.includes(".") ? at.slice(0, at.lastIndexOf(".")) : "") {
    const found = body.querySelectorAll(`[data-path="${escaped(at)}"], [data-at="${escaped(at)}"]`);
    if (found.length) return [...found];
  }
  return [];
}

function mark(wrong) {
  for (const old of body.querySelectorAll("[data-wrong]")) old.remove();
  for (const cell of body.querySelectorAll("[aria-invalid]")) {
    cell.removeAttribute("aria-invalid");
    cell.removeAttribute("aria-describedby");
  }
  for (const old of body.querySelectorAll("tr > th .chip")) old.remove();
  const said = new Map();
  for (const [name, words] of Object.entries(wrong)) {
    for (const place of holder(name)) said.set(place, [...(said.get(place) || []), words]);
  }
  for (const [place, words] of said) {
    const text = document.createElement("span");
    text.className = "wrong";
    text.textContent = words.join(". ");
    text.dataset.wrong = "";
    text.id = `wrong-${count += 1}`;
    if (place.dataset.path) {
      place.setAttribute("aria-invalid", "true");
      place.setAttribute("aria-describedby", text.id);
      place.after(text);
    } else if (place.tagName === "TR") place.querySelector("th").append(text);
    else if (place.tagName === "TBODY") place.querySelector("tr.last td")?.append(text);
    else place.querySelector("legend")?.after(text);
  }
}

function list(data) {
  const box = document.getElementById("problems");
  const items = document.getElementById("problem-list");
  box.hidden = data.problems.length === 0;
  document.getElementById("problems-head").textContent = `${data.problems.length + data.more} to mend before anything is computed`;
  items.replaceChildren(...data.problems.map((problem) => {
    const item = document.createElement("li");
    if (!problem.cell) { item.textContent = problem.words; return item; }
    const link = document.createElement("a");
    link.href = `/jobs/${job}/line-up/${problem.section}?item=${encodeURIComponent(problem.cell)}`;
    link.dataset.go = problem.cell;
    link.dataset.section = problem.section;
    link.textContent = problem.words;
    item.append(link);
    return item;
  }));
  if (data.more) {
    const more = document.createElement("li");
    more.textContent = `and ${data.more} more`;
    items.append(more);
  }
}

// Entries came or went: the tables are drawn anew, the place of work stays.
async function redraw(focus) {
  const item = page.dataset.item ? `?item=${encodeURIComponent(page.dataset.item)}` : "";
  const answer = await fetch(`/jobs/${job}/line-up/${page.dataset.section}/body${item}`, { headers: { "hx-request": "true" } });
  if (!answer.ok || answer.status === 204) { location.reload(); return; }
  const scrolled = [...body.querySelectorAll(".wide")].map((w) => w.scrollLeft);
  const here = document.activeElement;
  // who types goes on typing there
  if (here?.dataset?.path && here.value !== here.dataset.was) focus = here.dataset.path;
  const unsent = [...body.querySelectorAll("[data-path]")].filter((cell) => busy.has(cell) || cell.value !== cell.dataset.was);
  const typed = unsent.map((cell) => [cell.dataset.path, cell.value, cell.dataset.was]);
  const place = here?.dataset?.path && [here.selectionStart, here.selectionEnd];
  const same = here?.dataset?.path === focus && place;
  const drawn = await answer.text();
  drawing = true; // a cell that goes is not left by anybody
  body.innerHTML = drawn;
  drawing = false;
  busy.clear();
  [...body.querySelectorAll(".wide")].forEach((w, n) => { w.scrollLeft = scrolled[n] || 0; });
  remember();
  // what was being typed meanwhile is still there, and still to be sent
  for (const [path, value] of typed) for (const cell of cells(path)) cell.value = value;
  if (focus && go(focus) && same && document.activeElement.setSelectionRange) document.activeElement.setSelectionRange(...place);
}

// --- cells ----------------------------------------------------------------------------------------------------

const cells = (path) => [...body.querySelectorAll(`[data-path="${escaped(path)}"]`)];

// What the office sent, not what stands there: somebody may have typed before this script was loaded.
function sent(cell) {
  if (cell.tagName !== "SELECT") return cell.defaultValue;
  return ([...cell.options].find((o) => o.defaultSelected) || cell.options[0])?.value ?? "";
}

function remember() {
  for (const cell of body.querySelectorAll("[data-path]")) cell.dataset.was = sent(cell);
}

function commit(cell) {
  if (cell.value === cell.dataset.was || cell.readOnly || cell.disabled) return;
  const value = cell.value;
  cell.dataset.was = value;
  cell.setAttribute("aria-busy", "true");
  busy.add(cell);
  const path = cell.dataset.path;
  send("cell", { path, value }, async (data) => {
    took(data);
    for (const same of cells(path)) {
      // what is being typed there meanwhile stays
      if (same.value === same.dataset.was || same.value === value) { same.value = data.value; same.dataset.was = data.value; }
    }
    if (data.rename) offer(data.rename);
    if (data.issued?.count) {
      note(`${data.issued.count} conductor numbers already issued belong to ${data.issued.old}; under a new name its conductors get new numbers. Undo brings the name back.`, "");
    }
    if (data.redraw || data.over) await redraw(document.activeElement?.dataset?.path);
  }, cell);
}

function offer(rename) {
  const places = rename.count === 1 ? "1 other place" : `${rename.count} other places`;
  note(`${rename.old} is named in ${places}: ${rename.where.join("; ")}.`, "",
    [`Write ${rename.new} there too`, () => send("rename", { old: rename.old, new: rename.new }, async (data) => { took(data); await redraw(); })],
    ["Leave them", () => {}]);
}

function go(name) {
  let cell = cells(name)[0];
  // an entry that is gone: the last one of what it stood in
  for (let at = name; at && !cell; at = at.includes(".") ? at.slice(0, at.lastIndexOf(".")) : "") {
    const rows = body.querySelectorAll(`tbody[data-at="${escaped(at)}"] tr[data-at]`);
    cell = body.querySelector(`tr[data-at="${escaped(at)}"] [data-path], fieldset[data-at="${escaped(at)}"] [data-path]`)
      || rows[rows.length - 1]?.querySelector("[data-path]");
  }
  if (!cell) return false;
  cell.focus();
  cell.scrollIntoView({ block: "center", inline: "nearest" });
  return true;
}

function add(name, focus = true) {
  send("add", { path: name }, async (data) => {
    took(data);
    await redraw(focus ? data.place : undefined);
  });
}

function remove(name, sure = false) {
  send("remove", { path: name, sure }, async (data) => {
    if (data.ask) {
      note(`${data.ask} is named by: ${data.uses.join("; ")}. Taking it away leaves these wrong until they name another.`, "",
        ["Take it away all the same", () => remove(name, true)], ["Leave it", () => {}]);
      return;
    }
    took(data);
    if (page.dataset.item === name || page.dataset.item.startsWith(`${name}.`)) page.dataset.item = "";
    const last = name.slice(name.lastIndexOf(".") + 1);
    const above = /^\d+$/.test(last) && last !== "0" ? `${name.slice(0, name.lastIndexOf("."))}.${last - 1}` : name;
    await redraw(above);
  });
}

// --- keys and clicks ------------------------------------------------------------------------------------------

function beside(cell, rows, columns) {
  const row = cell.closest("tr");
  if (!row) return null;
  if (columns) {
    const all = [...row.querySelectorAll("[data-path]")];
    return all[all.indexOf(cell) + columns] || null;
  }
  const table = row.closest("table");
  const all = [...table.querySelectorAll("tr[data-at]")];
  const at = [...row.children].indexOf(cell.closest("td"));
  for (let n = all.indexOf(row) + rows; n >= 0 && n < all.length; n += rows) {
    const other = all[n].children[at]?.querySelector("[data-path]");
    if (other) return other;
  }
  return null;
}

function move(cell, rows, columns) {
  const next = beside(cell, rows, columns);
  if (!next) return false;
  next.focus();
  next.select?.();
  return true;
}

addEventListener("keydown", (event) => {
  const cell = event.target;
  if (!(event.ctrlKey || event.metaKey) || event.altKey || !/^[zy]$/i.test(event.key)) return;
  if (cell.dataset?.path ? cell.value !== cell.dataset.was : /^(INPUT|TEXTAREA)$/.test(cell.tagName)) return;
  event.preventDefault();
  if (document.getElementById("undo")) turn(event.key.toLowerCase() === "y" || event.shiftKey);
});

body.addEventListener("keydown", (event) => {
  const cell = event.target;
  const ctrl = event.ctrlKey || event.metaKey;
  if (!cell.dataset?.path) return;
  const group = cell.closest("tbody[data-at]");
  const row = cell.closest("tr[data-at]");
  const text = cell.tagName === "INPUT";
  if (event.key === "Escape") { cell.value = cell.dataset.was; cell.select?.(); event.preventDefault(); return; }
  if ((event.key === "Insert" || (event.key === "Enter" && ctrl)) && group?.querySelector("[data-add]")) {
    event.preventDefault();
    commit(cell);
    add(group.dataset.at);
    return;
  }
  if (event.key === "Delete" && ctrl && row?.querySelector("[data-remove]")) { event.preventDefault(); remove(row.dataset.at); return; }
  if (event.key === "Enter" && cell.tagName !== "TEXTAREA") {
    event.preventDefault();
    commit(cell);
    if (row) move(cell, event.shiftKey ? -1 : 1, 0) || cell.select?.();
    else {
      const all = [...body.querySelectorAll("[data-path]")];
      all[all.indexOf(cell) + (event.shiftKey ? -1 : 1)]?.focus();
    }
    return;
  }
  if (!row || ctrl || event.altKey || event.shiftKey) return;
  if (text && (event.key === "ArrowDown" || event.key === "ArrowUp") && !cell.list) {
    if (move(cell, event.key === "ArrowDown" ? 1 : -1, 0)) event.preventDefault();
  } else if (event.key === "ArrowRight" || event.key === "ArrowLeft") {
    const forth = event.key === "ArrowRight";
    const whole = text && cell.selectionStart === 0 && cell.selectionEnd === cell.value.length;
    const edge = !text || whole || (forth ? cell.selectionStart === cell.value.length : cell.selectionEnd === 0);
    if (edge && move(cell, 0, forth ? 1 : -1)) event.preventDefault();
    else if (!text) event.preventDefault();
  }
});

// A block of cells from a spreadsheet goes where its first cell is put.
body.addEventListener("paste", (event) => {
  const cell = event.target;
  const text = event.clipboardData?.getData("text/plain") || "";
  const row = cell.closest?.("tr[data-at]");
  if (!row || cell.readOnly || cell.disabled || !/[\t\n]/.test(text.trimEnd())) return;
  event.preventDefault();
  const rows = [...row.closest("table").querySelectorAll("tr[data-at]")];
  const first = rows.indexOf(row);
  const column = [...row.children].indexOf(cell.closest("td"));
  const values = [];
  let lost = 0;
  text.replace(/\r/g, "").trimEnd().split("\n").forEach((line, down) => {
    line.split("\t").forEach((value, right) => {
      const target = rows[first + down]?.children[column + right]?.querySelector("[data-path]");
      if (target) values.push([target.dataset.path, value]);
      else if (value.trim()) lost += 1;
    });
  });
  const focus = cell.dataset.path;
  send("paste", { cells: values }, async (data) => {
    took(data);
    await redraw(focus);
    if (lost) note(`${lost} of the pasted cells found no place: add rows first, then paste again.`, "");
  });
});

body.addEventListener("focusin", (event) => {
  const cell = event.target;
  if (!cell.dataset?.path) { about.hidden = true; return; }
  let words = cell.dataset.about || "";
  const row = cell.closest("tr");
  if (!words && row) {
    const at = [...row.children].indexOf(cell.closest("td"));
    words = cell.closest("table").tHead.rows[0].children[at]?.dataset.about || "";
  }
  about.textContent = words;
  about.hidden = !words;
});
body.addEventListener("focusout", (event) => { if (event.target.dataset?.path && !drawing) commit(event.target); });
body.addEventListener("change", (event) => { if (!drawing && event.target.dataset?.path) commit(event.target); });

body.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (button?.dataset.add) add(button.dataset.add);
  else if (button?.dataset.remove) remove(button.dataset.remove);
  else if (button?.id === "undo") turn(false);
  else if (button?.id === "redo") turn(true);
  const link = event.target.closest("a[data-go]");
  if (link && link.dataset.section === page.dataset.section && go(link.dataset.go)) event.preventDefault();
});

function turn(forth) {
  const focus = document.activeElement?.dataset?.path;
  send(forth ? "again" : "back", {}, async (data) => { took(data); await redraw(focus); });
}

remember();
for (const cell of body.querySelectorAll("[data-path]")) if (cell !== document.activeElement) commit(cell);
const asked = new URLSearchParams(location.search).get("item");
if (asked) go(asked);
