// The drawing of the sheet: chosen, moved, zoomed, with terminals lit. The drawings themselves were made by the office.

class DrawingView {
  constructor(sheet, place) {
    this.sheet = sheet;
    this.place = place;
    this.lights = [];
    this.at = -1;
    this.pointers = new Map();
    const button = (label, words, act) => h("button", { type: "button", "aria-label": words, title: words, onclick: act }, label);
    this.choice = h("select", { "aria-label": "Sheet", onchange: () => this.show(Number(this.choice.value)) },
      sheet.sheets.map(([number, title], n) => h("option", { value: n }, `${number} ${title}`)));
    this.frame = h("div", {
      class: "frame", tabindex: "0", role: "group",
      "aria-label": "Drawing. Arrow keys move it, plus and minus zoom, 0 shows the whole sheet.",
    });
    this.legend = h("p", { class: "legend" });
    place.append(
      h("div", { class: "tools" }, this.choice,
        button("−", "Zoom out", () => this.zoom(1.35)), button("+", "Zoom in", () => this.zoom(1 / 1.35)),
        button("⤢", "Whole sheet", () => this.whole()), button("◎", "Lit terminals", () => this.toLights()),
        h("button", { type: "button", class: "narrow", onclick: () => document.getElementById("main").scrollIntoView() }, "↑ Reading")),
      this.legend, this.frame,
    );
    this.frame.addEventListener("keydown", (event) => this.key(event));
    this.frame.addEventListener("wheel", (event) => {
      event.preventDefault();
      this.zoom(event.deltaY > 0 ? 1.15 : 1 / 1.15, event.clientX, event.clientY);
    }, { passive: false });
    this.frame.addEventListener("pointerdown", (event) => this.down(event));
    this.frame.addEventListener("pointermove", (event) => this.move(event));
    // a turned tablet shows the same place
    new ResizeObserver(() => { if (this.box) this.look(this.box.x, this.box.y, this.box.width); }).observe(this.frame);
    for (const name of ["pointerup", "pointercancel"]) {
      this.frame.addEventListener(name, (event) => this.pointers.delete(event.pointerId));
    }
  }

  show(n) {
    if (n !== this.at) {
      const made = new DOMParser().parseFromString(this.sheet.drawing(n), "image/svg+xml").documentElement;
      this.svg = document.importNode(made, true);
      for (const name of ["width", "height"]) this.svg.removeAttribute(name);
      this.svg.setAttribute("role", "img");
      // layers are named by classes: an id would stand twice in the page
      for (const layer of this.svg.querySelectorAll("[id]")) {
        layer.setAttribute("class", layer.id);
        layer.removeAttribute("id");
      }
      this.frame.replaceChildren(this.svg);
      this.at = n;
      this.choice.value = n;
      this.whole();
    }
    this.draw();
  }

  // Light some places: [{name, letter, words}]; the sheet that shows most of them is chosen, and of a terminal that is
  // drawn several times the place nearest to the others.
  light(wanted) {
    const spots = wanted.map((w) => (Object.hasOwn(this.sheet.spots, w.name) ? this.sheet.spots[w.name] : []));
    const score = new Map();
    spots.forEach((own) => new Set(own.map((p) => p[0])).forEach((n) => score.set(n, (score.get(n) || 0) + 1)));
    const first = spots.flat().map((p) => p[0]);
    const best = [...score].sort((a, b) => b[1] - a[1] || first.indexOf(a[0]) - first.indexOf(b[0]))[0];
    this.wanted = wanted;
    this.lights = [];
    if (best) {
      const here = spots.map((own) => own.filter((p) => p[0] === best[0]));
      const anchor = here.find((own) => own.length === 1) || here.find((own) => own.length);
      here.forEach((own, n) => {
        if (!own.length) return;
        const near = own.slice().sort((a, b) => distance(a, anchor[0]) - distance(b, anchor[0]))[0];
        this.lights.push({ ...wanted[n], ...placeOf(near) });
      });
    }
    // what this sheet does not show is lit on another one, a button away
    wanted.forEach((w, n) => {
      if (spots[n].length && !this.lights.some((l) => l.name === w.name)) {
        this.lights.push({ ...w, ...placeOf(spots[n][0]) });
      }
    });
    this.legend.replaceChildren(...wanted.map((w) => {
      const lit = this.lights.find((l) => l.name === w.name);
      const mark = h("b", { class: `lead ${w.letter}` }, w.letter);
      if (!lit) return h("span", {}, mark, ` ${w.words}, on no sheet`);
      if (lit.sheet === best[0]) return h("span", {}, mark, ` ${w.words}`);
      const go = () => { this.show(lit.sheet); this.toLights(); };
      return h("span", {}, mark, ` ${w.words} `,
        h("button", { type: "button", class: "small", onclick: go }, `on ${this.sheet.sheets[lit.sheet][0]}`));
    }));
    if (best) {
      this.show(best[0]);
      this.toLights();
    } else this.show(this.at < 0 ? 0 : this.at);
  }

  draw() {
    this.svg.querySelector(".lights")?.remove();
    const here = this.lights.filter((l) => l.sheet === this.at);
    this.svg.append(s("g", { class: "lights" }, here.map((l, n) => {
      // a terminal has a ring, a device a frame; two at one place have their letters on either side
      const twin = here.slice(0, n).some((o) => o.x === l.x && o.y === l.y);
      const [w, h] = l.width ? [l.width + 4, l.height + 4] : [0, 0];
      const [x, y] = w ? [l.x - w / 2, l.y - h / 2] : [l.x + (twin ? 3.6 : -3.6), l.y - 3.6];
      return s("g", { class: `light ${l.letter}` },
        w ? s("rect", { x, y, width: w, height: h, rx: 1.5 }) : s("circle", { cx: l.x, cy: l.y, r: 3.2 }),
        s("circle", { class: "tag", cx: x, cy: y, r: 2 }),
        s("text", { x, y: y + 1.05, "text-anchor": "middle" }, l.letter));
    })));
  }

  get size() {
    const [, , width, height] = this.sheet.sheets[this.at];
    return { width, height };
  }

  look(x, y, width) {
    const frame = this.frame.getBoundingClientRect();
    const shape = frame.width && frame.height ? frame.height / frame.width : 0.7;
    const kept = Math.min(Math.max(width, 25), this.size.width * 2);
    this.box = { x, y, width: kept, height: kept * shape };
    this.svg.setAttribute("viewBox", `${x} ${y} ${kept} ${kept * shape}`);
  }

  whole() {
    const frame = this.frame.getBoundingClientRect();
    const shape = frame.width && frame.height ? frame.height / frame.width : 0.7;
    const { width, height } = this.size;
    const wide = Math.max(width, height / shape);
    this.look((width - wide) / 2, (height - wide * shape) / 2, wide);
  }

  toLights() {
    const here = this.lights.filter((l) => l.sheet === this.at);
    if (!here.length) return;
    const frame = this.frame.getBoundingClientRect();
    const shape = frame.width && frame.height ? frame.height / frame.width : 0.7;
    const xs = here.map((l) => l.x), ys = here.map((l) => l.y);
    const wide = Math.max(Math.max(...xs) - Math.min(...xs) + 70, (Math.max(...ys) - Math.min(...ys) + 50) / shape, 110);
    const [x, y] = [(Math.max(...xs) + Math.min(...xs)) / 2, (Math.max(...ys) + Math.min(...ys)) / 2];
    this.look(x - wide / 2, y - (wide * shape) / 2, wide);
  }

  zoom(factor, clientX, clientY) {
    const frame = this.frame.getBoundingClientRect();
    const fx = clientX === undefined ? 0.5 : (clientX - frame.left) / frame.width;
    const fy = clientY === undefined ? 0.5 : (clientY - frame.top) / frame.height;
    const { x, y, width, height } = this.box;
    const wide = Math.min(Math.max(width * factor, 25), this.size.width * 2);
    this.look(x + (width - wide) * fx, y + (height - (wide * height) / width) * fy, wide);
  }

  key(event) {
    const step = this.box.width / 8;
    const moves = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
    if (moves[event.key]) this.look(this.box.x + moves[event.key][0], this.box.y + moves[event.key][1], this.box.width);
    else if (event.key === "+" || event.key === "=") this.zoom(1 / 1.35);
    else if (event.key === "-") this.zoom(1.35);
    else if (event.key === "0") this.whole();
    else return;
    event.preventDefault();
  }

  down(event) {
    this.frame.setPointerCapture(event.pointerId);
    this.pointers.set(event.pointerId, [event.clientX, event.clientY]);
  }

  move(event) {
    const before = this.pointers.get(event.pointerId);
    if (!before) return;
    const points = [...this.pointers.values()];
    const scale = this.box.width / this.frame.getBoundingClientRect().width;
    const now = [event.clientX, event.clientY];
    this.pointers.set(event.pointerId, now);
    if (points.length === 1) {
      this.look(this.box.x - (now[0] - before[0]) * scale, this.box.y - (now[1] - before[1]) * scale, this.box.width);
    } else {
      const other = points.find((p) => p !== before);
      const apart = (p) => Math.hypot(p[0] - other[0], p[1] - other[1]) || 1;
      this.zoom(apart(before) / apart(now), (now[0] + other[0]) / 2, (now[1] + other[1]) / 2);
    }
  }
}

const placeOf = ([sheet, x, y, width = 0, height = 0]) => ({ sheet, x, y, width, height });
const distance = (a, b) => Math.hypot(a[1] - b[1], a[2] - b[2]);
