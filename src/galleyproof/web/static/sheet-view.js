// One sheet on the screen: moved and sized by hand, wheel, fingers or keys. Knows nothing of what is drawn.

const NS = "http://www.w3.org/2000/svg";
const LARGEST = 24;

export function shape(name, attributes = {}) {
  const made = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
}

export class SheetView {
  constructor(host) {
    this.host = host;
    this.pointers = new Map();
    this.dragged = false;
    host.addEventListener("wheel", (event) => this.#wheel(event), { passive: false });
    host.addEventListener("pointerdown", (event) => this.#down(event));
    host.addEventListener("pointermove", (event) => this.#move(event));
    for (const name of ["pointerup", "pointercancel"]) host.addEventListener(name, (event) => this.#up(event));
    // a drag that ends on something is no click on it
    host.addEventListener("click", (event) => {
      if (!this.dragged) return;
      event.stopPropagation();
      event.preventDefault();
      this.dragged = false;
    }, true);
    host.addEventListener("keydown", (event) => this.#key(event));
    if (host.querySelector("svg")) this.take(host.querySelector("svg"));
  }

  // Show a sheet; its content goes into one group that is moved as a whole.
  take(svg) {
    if (svg.parentNode !== this.host) {
      this.host.querySelector("svg")?.remove();
      this.host.append(svg);
    }
    this.svg = svg;
    this.width = svg.viewBox.baseVal.width;
    this.height = svg.viewBox.baseVal.height;
    this.paper = shape("g", { class: "paper-view" });
    this.paper.append(...[...svg.children].filter((child) => child.tagName !== "title"));
    svg.append(this.paper);
    svg.classList.toggle("ansi-b", Math.abs(this.width - 431.8) < 0.5);
    svg.classList.toggle("iso-a3", Math.abs(this.width - 420) < 0.5);
    this.fit();
  }

  fit() {
    this.scale = 1;
    this.x = this.y = 0;
    this.#put();
  }

  zoom(factor, at = [this.width / 2, this.height / 2]) {
    const scale = Math.min(LARGEST, Math.max(1, this.scale * factor));
    const grown = scale / this.scale;
    this.x = at[0] - (at[0] - this.x) * grown;
    this.y = at[1] - (at[1] - this.y) * grown;
    this.scale = scale;
    this.#put();
  }

  pan(dx, dy) {
    this.x += dx;
    this.y += dy;
    this.#put();
  }

  // Bring a place of the sheet [mm] to the middle, at least so large.
  show(x, y, scale = 3) {
    this.scale = Math.max(this.scale, scale);
    this.x = this.width / 2 - x * this.scale;
    this.y = this.height / 2 - y * this.scale;
    this.#put();
  }

  // Move only as far as a box of the sheet needs to be seen.
  reveal(box) {
    const inside = (low, high, at, size) =>
      at + low * this.scale < 0 ? -(low * this.scale) + size * 0.1
        : at + high * this.scale > size ? size * 0.9 - high * this.scale : at;
    this.x = inside(box.x, box.x + box.width, this.x, this.width);
    this.y = inside(box.y, box.y + box.height, this.y, this.height);
    this.#put();
  }

  // A point of the screen in the sheet's own millimetres, before it was moved.
  #paperPoint(event) {
    const box = this.svg.getBoundingClientRect();
    const unit = this.#unit();
    return [
      (event.clientX - box.left - (box.width - this.width / unit) / 2) * unit,
      (event.clientY - box.top - (box.height - this.height / unit) / 2) * unit,
    ];
  }

  #unit() {
    const box = this.svg.getBoundingClientRect();
    return Math.max(this.width / box.width, this.height / box.height);
  }

  #put() {
    const room = (size) => size * (this.scale - 1);
    // half a sheet of margin, so that its edge can stand in the middle
    this.x = Math.min(this.width / 2, Math.max(-room(this.width) - this.width / 2, this.x));
    this.y = Math.min(this.height / 2, Math.max(-room(this.height) - this.height / 2, this.y));
    if (this.scale === 1) this.x = this.y = 0;
    this.paper.setAttribute("transform", `translate(${this.x} ${this.y}) scale(${this.scale})`);
    this.host.classList.toggle("zoomed", this.scale > 1);
  }

  #wheel(event) {
    if (!event.ctrlKey && !event.metaKey && !this.host.contains(document.activeElement)) return;
    event.preventDefault();
    this.zoom(Math.exp(-event.deltaY * (event.deltaMode ? 0.05 : 0.0015)), this.#paperPoint(event));
  }

  #down(event) {
    if (event.pointerType === "mouse" && event.button !== 0) return;
    this.pointers.set(event.pointerId, [event.clientX, event.clientY]);
    if (this.pointers.size === 1) {
      this.dragged = false;
      this.from = [event.clientX, event.clientY];
    }
  }

  #move(event) {
    const before = this.pointers.get(event.pointerId);
    if (!before) return;
    const now = [event.clientX, event.clientY];
    if (!this.dragged && this.pointers.size === 1) {
      if (Math.hypot(now[0] - this.from[0], now[1] - this.from[1]) < 5) return;
      this.dragged = true;
      if (this.scale > 1) this.host.setPointerCapture(event.pointerId);
    }
    const unit = this.#unit();
    if (this.pointers.size === 1) {
      this.pan((now[0] - before[0]) * unit, (now[1] - before[1]) * unit);
    } else if (this.pointers.size === 2) {
      this.dragged = true;
      const other = [...this.pointers].find(([id]) => id !== event.pointerId)[1];
      const spread = (point) => Math.hypot(point[0] - other[0], point[1] - other[1]);
      const middle = { clientX: (now[0] + other[0]) / 2, clientY: (now[1] + other[1]) / 2 };
      this.pan(((now[0] - before[0]) / 2) * unit, ((now[1] - before[1]) / 2) * unit);
      if (spread(before) > 0) this.zoom(spread(now) / spread(before), this.#paperPoint(middle));
    }
    this.pointers.set(event.pointerId, now);
  }

  #up(event) {
    this.pointers.delete(event.pointerId);
  }

  #key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const step = 0.12;
    const does = {
      ArrowLeft: () => this.pan(step * this.width, 0),
      ArrowRight: () => this.pan(-step * this.width, 0),
      ArrowUp: () => this.pan(0, step * this.height),
      ArrowDown: () => this.pan(0, -step * this.height),
      "+": () => this.zoom(1.4),
      "=": () => this.zoom(1.4),
      "-": () => this.zoom(1 / 1.4),
      0: () => this.fit(),
    }[event.key];
    if (!does) return;
    event.preventDefault();
    does();
  }
}
