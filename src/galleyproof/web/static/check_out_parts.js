// Pieces the check-out is made of: elements, the drawing with its lit terminals, the place to sign.

export function el(name, given = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(given)) {
    if (value === false || value === null || value === undefined) continue;
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (key === "class") made.className = value;
    else if (key === "value") made.value = value;
    else made.setAttribute(key, value === true ? "" : value);
  }
  made.append(...children.flat(9).filter((c) => c !== null && c !== undefined && c !== false && c !== ""));
  return made;
}

export const upper = (words) => words.slice(0, 1).toUpperCase() + words.slice(1);

export function clock(at) {
  const date = new Date(at);
  const today = date.toDateString() === new Date().toDateString();
  const time = date.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  return today ? time : `${date.toISOString().slice(0, 10)} ${time}`;
}

const SVG = "http://www.w3.org/2000/svg";
const sheets = new Map();

async function sheetOf(job, save, number) {
  const address = `/jobs/${job}/sheets/${encodeURIComponent(number)}?save=${save}`;
  if (!sheets.has(address)) {
    const response = await fetch(address);
    if (!response.ok) throw new Error("not drawn");
    const made = new DOMParser().parseFromString(await response.text(), "image/svg+xml").documentElement;
    for (const name of ["width", "height"]) made.removeAttribute(name);
    for (const layer of made.querySelectorAll("[id]")) layer.removeAttribute("id");
    sheets.set(address, made);
  }
  return document.importNode(sheets.get(address), true);
}

// The sheets a probe's leads are drawn on, each cut to its terminals; a button shows the whole sheet.
export function drawing(place, job, save, plan, probe) {
  const bySheet = new Map();
  for (const spot of probe.lit) {
    if (!bySheet.has(spot.at)) bySheet.set(spot.at, []);
    bySheet.get(spot.at).push(spot);
  }
  if (!bySheet.size) {
    place.replaceChildren(el("p", { class: "pale" }, "Not drawn on any sheet: go by the names."));
    return;
  }
  place.replaceChildren(...[...bySheet].map(([at, spots]) => {
    const [number, title, width, height] = plan.sheets[at];
    const frame = el("div", { class: "frame" }, el("p", { class: "pale" }, "Fetching the drawing"));
    const whole = el("button", { type: "button", "aria-pressed": "false" }, "Whole sheet");
    const names = spots.map((s) => (s.lead === "here" ? s.name : `${s.lead} lead ${s.name}`)).join(", ");
    const figure = el("figure", { class: "drawn" },
      el("figcaption", {}, el("span", {}, `Sheet ${number}: ${title}`), whole), frame);
    const fetchIt = (left) => sheetOf(job, save, number).then((svg) => {
      svg.setAttribute("role", "img");
      svg.setAttribute("aria-label", `Sheet ${number}, lit: ${names}`);
      svg.append(lights(spots));
      const cut = cutOf(spots, width, height);
      const show = (all) => svg.setAttribute("viewBox", all ? `0 0 ${width} ${height}` : cut);
      show(false);
      frame.replaceChildren(svg);
      whole.addEventListener("click", () => {
        const all = whole.getAttribute("aria-pressed") === "false";
        whole.setAttribute("aria-pressed", String(all));
        whole.textContent = all ? "Terminals only" : "Whole sheet";
        show(all);
      });
    }).catch(() => {
      frame.replaceChildren(el("p", { class: "pale" }, "The drawing is not here yet. Go by the names."));
      // the office may still be drawing it, or out of reach for a while
      if (left) setTimeout(() => frame.isConnected && fetchIt(left - 1), 4000);
    });
    fetchIt(15);
    return figure;
  }));
}

// Fetch sheets ahead, so that they are here when the office is not.
export async function fetchAhead(job, save, plan) {
  const wanted = new Set(plan.probes.flatMap((p) => p.lit.map((s) => plan.sheets[s.at][0])));
  for (const number of wanted) {
    try {
      await sheetOf(job, save, number);
    } catch {
      return;
    }
  }
}

function cutOf(spots, width, height) {
  const xs = spots.flatMap((s) => [s.x - s.width / 2, s.x + s.width / 2]);
  const ys = spots.flatMap((s) => [s.y - s.height / 2, s.y + s.height / 2]);
  const wide = Math.min(width, Math.max(Math.max(...xs) - Math.min(...xs) + 60, 110));
  const high = Math.min(height, Math.max(Math.max(...ys) - Math.min(...ys) + 40, 62));
  const x = Math.min(Math.max((Math.max(...xs) + Math.min(...xs)) / 2 - wide / 2, 0), width - wide);
  const y = Math.min(Math.max((Math.max(...ys) + Math.min(...ys)) / 2 - high / 2, 0), height - high);
  return `${x} ${y} ${wide} ${high}`;
}

function lights(spots) {
  const group = document.createElementNS(SVG, "g");
  const shape = (name, given, text) => {
    const made = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(given)) made.setAttribute(key, value);
    if (text) made.textContent = text;
    group.append(made);
  };
  group.setAttribute("class", "lights");
  for (const { lead, x, y, width, height } of spots) {
    // red is a ring with R, black a square with B: told apart without colour
    const size = 4;
    if (width && lead === "here") {
      shape("rect", { class: lead, x: x - width / 2 - 1, y: y - height / 2 - 1, width: width + 2, height: height + 2 });
      continue;
    }
    if (lead === "black") shape("rect", { class: lead, x: x - size, y: y - size, width: 2 * size, height: 2 * size });
    else shape("circle", { class: lead, cx: x, cy: y, r: size });
    if (lead !== "here") shape("text", { class: lead, x: x + 5.5, y: lead === "red" ? y - 4 : y + 8 }, lead === "red" ? "R" : "B");
  }
  return group;
}

// --- a signature -----------------------------------------------------------------------------------------------------

const SIGNS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz";
const MOST_SIGNS = 780;

// A place to draw a name with a finger, a pen or a mouse; the drawing as points of 62 by 62, two signs each.
export class Pad {
  constructor() {
    this.strokes = [];
    this.canvas = el("canvas", { class: "pad", width: 900, height: 300, role: "img", "aria-label": "Place to sign with a finger or a mouse; the name beside it counts alone too" });
    this.canvas.addEventListener("pointerdown", (event) => {
      this.canvas.setPointerCapture(event.pointerId);
      this.strokes.push([this.point(event)]);
      this.drawing = true;
      this.paint();
      event.preventDefault();
    });
    this.canvas.addEventListener("pointermove", (event) => {
      if (!this.drawing) return;
      this.strokes[this.strokes.length - 1].push(this.point(event));
      this.paint();
    });
    for (const end of ["pointerup", "pointercancel"]) this.canvas.addEventListener(end, () => { this.drawing = false; });
  }

  point(event) {
    const box = this.canvas.getBoundingClientRect();
    const within = (v) => Math.min(Math.max(v, 0), 1);
    return [within((event.clientX - box.left) / box.width), within((event.clientY - box.top) / box.height)];
  }

  paint() {
    const pen = this.canvas.getContext("2d");
    const { width, height } = this.canvas;
    pen.clearRect(0, 0, width, height);
    pen.lineWidth = 5;
    pen.lineCap = pen.lineJoin = "round";
    pen.strokeStyle = getComputedStyle(this.canvas).color;
    for (const stroke of this.strokes) {
      pen.beginPath();
      stroke.forEach(([x, y], n) => (n ? pen.lineTo(x * width, y * height) : pen.moveTo(x * width, y * height)));
      if (stroke.length === 1) pen.lineTo(stroke[0][0] * width + 1, stroke[0][1] * height);
      pen.stroke();
    }
  }

  clear() {
    this.strokes = [];
    this.paint();
  }

  // The drawing in signs, thinned until it fits into one entry; empty when nothing was drawn.
  get text() {
    for (let apart = 0; apart < 40; apart += 1) {
      const parts = this.strokes.slice(0, 60).map((stroke) => {
        const found = [];
        for (const [x, y] of stroke) {
          const here = [Math.round(x * 61), Math.round(y * 61)];
          const last = found[found.length - 1];
          if (!last || Math.hypot(here[0] - last[0], here[1] - last[1]) > apart) found.push(here);
        }
        return found.map(([x, y]) => SIGNS[x] + SIGNS[y]).join("");
      });
      const text = parts.join(".");
      if (text.length <= MOST_SIGNS) return text;
    }
    return "";
  }
}
