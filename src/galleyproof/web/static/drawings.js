// The live drawing: asks the office for states and paints them by classes; it computes none itself.

import { SheetView, shape } from "./sheet-view.js";

const desk = document.getElementById("desk");
const at = (id) => document.getElementById(id);
const LETTER = 1.14; // width of a letter of a label, about [mm]
const ASKS = { power: "on", when: "after", switches: "on", heat: "on", fire: "armed", then: "", fault: "" };

if (desk) start();

async function start() {
  const { job, save } = desk.dataset;
  const base = `/jobs/${job}`;
  const view = new SheetView(at("viewer"));
  const sheets = new Map([[desk.dataset.sheet, at("viewer").querySelector("svg").cloneNode(true)]]);
  const states = new Map();
  const now = { sheet: desk.dataset.sheet, asked: null, step: 0, slip: desk.dataset.slip, wrong: true, open: null };
  let index = null;
  let told = null;
  let wires = new Map(); // place of a conductor -> what stands for it on the sheet
  let playing = 0;
  let asking = 0;
  let turn = 0;

  async function ask(path, parameters = {}) {
    const address = new URL(path, location.origin);
    address.searchParams.set("save", save);
    for (const [key, value] of Object.entries(parameters)) address.searchParams.set(key, value);
    const answer = await fetch(address);
    if (!answer.ok) throw new Error(`the office answered ${answer.status}`);
    return answer;
  }

  // The address leads back to what is seen.
  function remember(changes) {
    const address = new URL(location.href);
    address.pathname = `${base}/drawings`;
    for (const [key, value] of Object.entries(changes)) {
      if (value) address.searchParams.set(key, value);
      else address.searchParams.delete(key);
    }
    history.replaceState(null, "", address);
  }

  function say(words) {
    at("now-words").textContent = words;
    at("player").hidden = false;
  }

  // --- sheets ---------------------------------------------------------------------------------------------------

  async function fetchSheet(number) {
    if (!sheets.has(number)) {
      const text = await (await ask(`${base}/sheets/${number}`)).text();
      sheets.set(number, document.importNode(new DOMParser().parseFromString(text, "image/svg+xml").documentElement, true));
    }
    return sheets.get(number).cloneNode(true);
  }

  async function turnTo(number) {
    if (number === now.sheet) return;
    const svg = await fetchSheet(number);
    now.sheet = number;
    at("sheet-choice").value = number;
    const sheet = index.sheets.find((s) => s.number === number);
    at("viewer").setAttribute("aria-label",
      `Sheet ${number}, ${sheet.title}. Arrows move it, plus and minus change its size, Tab goes through its conductors.`);
    remember({ sheet: number });
    view.take(svg);
    dress();
    paint(null);
  }

  // What can be pressed on a sheet: conductors from top to bottom, then links; devices by pointer.
  function dress() {
    const sheet = index.sheets.find((s) => s.number === now.sheet);
    const under = shape("g", { class: "under-all" });
    const over = shape("g", { class: "over-all" });
    const rect = view.paper.querySelector("rect");
    rect.classList.add("paper");
    rect.after(under);
    view.paper.append(over);
    wires = new Map();
    const place = new Map(sheet.wires.map((i) => [index.wires[i].key, i]));
    const backwards = new Set(sheet.backwards);
    const found = [];
    for (const line of view.paper.querySelectorAll('[id^="FIELD-"] > polyline, [id="FACTORY"] > polyline')) {
      const i = place.get(line.dataset.of);
      if (i !== undefined) found.push([i, line, points(line)]);
    }
    found.sort((a, b) => a[2][0][1] - b[2][0][1] || a[2][0][0] - b[2][0][0]);
    for (const [i, line, corners] of found) {
      const drawn = line.getAttribute("points");
      const shade = shape("polyline", { points: drawn, class: "shade" });
      under.append(shade);
      const hit = shape("polyline", { points: drawn, class: "hit" });
      if (!wires.has(i)) {
        hit.setAttribute("tabindex", "0");
        hit.setAttribute("role", "button");
      }
      hit.dataset.wire = index.wires[i].number;
      const label = shape("text", { class: "volts", "aria-hidden": "true", ...spot(corners) });
      const plate = shape("rect", { class: "plate", y: label.getAttribute("y") - 1.75, height: 2.3 });
      over.append(plate, label, hit);
      const ends = [corners[0], corners[corners.length - 1]].map(([x, y]) => shape("circle", { cx: x, cy: y, r: 1.6, class: "end" }));
      under.append(...ends);
      const last = corners[corners.length - 1];
      const forward = corners[0][0] < last[0] || (corners[0][0] === last[0] && corners[0][1] <= last[1]);
      const turned = forward === backwards.has(i);
      if (!wires.has(i)) wires.set(i, { hit, lines: [], shades: [], labels: [], plates: [], ends: [], corners, turned });
      const one = wires.get(i);
      one.lines.push(line);
      one.shades.push(shade);
      one.labels.push(label);
      one.plates.push(plate);
      one.ends.push(...ends);
    }
    name();
    for (const [x, y, width, height, number] of sheet.links) {
      const link = shape("a", { href: `${base}/drawings?sheet=${number}`, class: "sheet-link", "aria-label": `to sheet ${number}` });
      link.dataset.to = number;
      link.append(shape("rect", { x, y, width, height }));
      over.append(link);
    }
    const devices = new Set(sheet.devices);
    for (const part of view.paper.querySelectorAll("[data-of]")) {
      if (devices.has(part.dataset.of)) part.classList.add("device");
    }
  }

  function name() {
    const moments = told && (now.slip && now.wrong && told.wrong ? told.wrong.moments : told.moments);
    for (const [i, one] of wires) {
      const wire = index.wires[i];
      const volts = moments ? told.labels[moments[now.step].at[i]] || "no volts" : "";
      one.hit.setAttribute("aria-label", `conductor ${wire.number}, ${wire.ends[0]} to ${wire.ends[1]}${volts ? `, ${volts}` : ""}`);
    }
  }

  function points(line) {
    return line.getAttribute("points").trim().split(/\s+/).map((p) => p.split(",").map(Number));
  }

  // Where the volts of a line are written: on the middle of its longest stroke.
  function spot(corners) {
    let best = [corners[0], corners[0], -1];
    for (let k = 1; k < corners.length; k += 1) {
      const [a, b] = [corners[k - 1], corners[k]];
      const length = Math.abs(a[0] - b[0]) * 1.5 + Math.abs(a[1] - b[1]);
      if (length > best[2]) best = [a, b, length];
    }
    const [a, b] = best;
    // on long level lines the size stands in the middle and a number at each end: between the two there is room
    const level = Math.abs(a[0] - b[0]) > 45 && a[1] === b[1];
    const part = level ? (b[0] > a[0] ? 0.77 : 0.23) : 0.5;
    return { x: a[0] + (b[0] - a[0]) * part, y: a[1] + (b[1] - a[1]) * part + 0.7, "text-anchor": "middle" };
  }

  // --- situations -----------------------------------------------------------------------------------------------

  async function situation(query) {
    const key = `${query}|${now.slip}`;
    if (!states.has(key)) {
      const parameters = Object.fromEntries(new URLSearchParams(query));
      if (now.slip) parameters.slip = now.slip;
      states.set(key, ask(`${base}/live`, parameters).then((answer) => answer.json()));
      states.get(key).catch(() => states.delete(key));
      if (states.size > 150) states.delete(states.keys().next().value);
    }
    return states.get(key);
  }

  function usualSituation() {
    return byName()[3] ?? "";
  }

  async function choose(query, tell = true) {
    const began = performance.now();
    stop();
    asking += 1;
    now.asked = query;
    mark();
    const before = told;
    const mine = ++turn;
    let answer;
    try {
      answer = await situation(query);
    } catch (error) {
      if (mine === turn) say(`This situation did not come: ${error.message}. Try it again.`);
      return;
    }
    // who asked again meanwhile waits for that answer, not for this one
    if (mine !== turn) return;
    told = answer;
    listSteps();
    const moments = shown();
    const old = before && !now.slip ? before.moments[Math.min(now.step, before.moments.length - 1)] : null;
    now.step = moments.length - 1;
    paint(old, before);
    desk.dataset.shows = `${query}|${now.slip}`;
    performance.measure("situation", { start: began, end: performance.now() });
    if (tell && now.open) open(now.open, false);
    ahead(byName());
  }

  function shown() {
    return now.slip && now.wrong && told.wrong ? told.wrong.moments : told.moments;
  }

  // Situations that are likely to be asked for next are fetched before, one after the other.
  async function ahead(queries) {
    if (now.slip) return;
    const mine = ++asking;
    for (const query of queries) {
      if (mine !== asking) return;
      try { await situation(query); } catch { return; }
    }
  }

  function byName() {
    return [...desk.querySelectorAll(".preset[data-asked]")].map((button) => button.dataset.asked);
  }

  function step(to) {
    const moments = shown();
    const before = moments[now.step];
    now.step = Math.max(0, Math.min(moments.length - 1, to));
    const began = performance.now();
    paint(before === moments[now.step] ? null : before);
    performance.measure("step", { start: began, end: performance.now() });
  }

  function stop() {
    clearInterval(playing);
    playing = 0;
    at("step-play").textContent = "Play";
  }

  function play() {
    if (playing) { stop(); return; }
    if (now.step >= shown().length - 1) step(0);
    at("step-play").textContent = "Stop";
    playing = setInterval(() => {
      if (now.step >= shown().length - 1) { stop(); return; }
      step(now.step + 1);
    }, 1400);
  }

  // --- painting: classes and texts only -------------------------------------------------------------------------

  function paint(before, labelsOf = told) {
    const live = told !== null && now.asked !== null;
    desk.classList.toggle("live", live);
    at("legend").hidden = !live;
    at("player").hidden = !live;
    at("doing").hidden = !live;
    const moments = live ? shown() : null;
    const here = live ? moments[now.step] : null;
    const slipped = new Set(live && now.slip && now.wrong ? told.wrong?.slipped ?? [] : []);
    for (const [i, one] of wires) {
      const kind = live ? here.kinds[i] : "";
      const label = live ? told.labels[here.at[i]] : "";
      const changed = live && before && (before.kinds[i] !== here.kinds[i] || labelsOf.labels[before.at[i]] !== label);
      const wrong = live && here.differs && here.differs[i] === "1";
      for (const shade of one.shades) {
        shade.setAttribute("class", `shade ${kind}${changed ? " changed" : ""}${wrong ? " wrong" : ""}${slipped.has(i) ? " slipped" : ""}`);
      }
      for (const line of one.lines) line.classList.toggle("faint", live && (kind === "n" || kind === "x"));
      const words = label.includes(" | ") && one.turned ? label.split(" | ").reverse().join(" | ") : label || (changed || wrong ? "0 V" : "");
      for (const [n, text] of one.labels.entries()) {
        if (text.textContent !== words) {
          text.textContent = words;
          const width = words ? words.length * LETTER + 0.8 : 0;
          one.plates[n].setAttribute("x", text.getAttribute("x") - width / 2);
          one.plates[n].setAttribute("width", width);
        }
        text.classList.toggle("changed", Boolean(changed));
        text.classList.toggle("wrong", Boolean(wrong));
      }
    }
    const works = new Set(live ? index.watched.filter((_, n) => here.works[n] === "1") : []);
    for (const part of view.paper.querySelectorAll(".device")) part.classList.toggle("works", works.has(part.dataset.of));
    lamp();
    name();
    if (live) tellStep(here);
  }

  function tellStep(here) {
    at("now-words").textContent = `Step ${now.step + 1} of ${shown().length}: ${here.words}`;
    at("changes").replaceChildren(...here.changes.map((words) => item(words)));
    for (const [n, button] of [...at("steps").querySelectorAll("button")].entries()) {
      if (n === now.step) button.setAttribute("aria-current", "step");
      else button.removeAttribute("aria-current");
    }
    const current = at("steps").querySelector("[aria-current]");
    if (current) at("steps").scrollLeft = current.offsetLeft - at("steps").clientWidth / 2;
    const rows = index.watched.map((tag, n) => item(`${tag}: ${told.labels[here.does[n]]}`));
    at("doing-list").replaceChildren(...rows);
    at("wrong-switch").hidden = !(now.slip && told.wrong);
  }

  function item(words) {
    const made = document.createElement("li");
    made.textContent = words;
    return made;
  }

  function listSteps() {
    at("steps").replaceChildren(...shown().map((moment, n) => {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = moment.words;
      button.dataset.step = n;
      const made = document.createElement("li");
      made.append(button);
      return made;
    }));
  }

  function mark() {
    const wanted = now.asked === null ? null : new URLSearchParams(now.asked).toString();
    for (const button of desk.querySelectorAll(".preset[data-asked]")) {
      button.setAttribute("aria-pressed", String(button.dataset.asked === wanted));
    }
    at("no-situation").setAttribute("aria-pressed", String(now.asked === null));
    const chosen = new URLSearchParams(now.asked ?? "");
    for (const select of desk.querySelectorAll("select.ask")) select.value = chosen.get(select.name) ?? ASKS[select.name];
    const asks = Object.fromEntries(Object.keys(ASKS).map((key) => [key, chosen.get(key)]));
    remember({ ...asks, slip: now.slip });
  }

  function exact(name = "", value = "") {
    const chosen = new URLSearchParams();
    // in the order in which the office writes them, so that a situation has one address
    for (const key of Object.keys(ASKS)) {
      const select = desk.querySelector(`select.ask[name="${key}"]`);
      const wanted = key === name ? value : select?.value ?? ASKS[key];
      if (wanted !== ASKS[key]) chosen.set(key, wanted);
    }
    return chosen.toString();
  }

  // --- what is opened -------------------------------------------------------------------------------------------

  function lamp() {
    view.paper.querySelectorAll(".lit").forEach((part) => part.classList.remove("lit"));
    view.paper.querySelectorAll(".lamp").forEach((part) => part.remove());
    if (!now.open) return;
    if (now.open.wire) {
      const i = index.wires.findIndex((w) => w.number === now.open.wire);
      const one = wires.get(i);
      if (!one) return;
      for (const part of [...one.shades, ...one.ends]) part.classList.add("lit");
      for (const part of view.paper.querySelectorAll("text[data-of]")) {
        if (part.dataset.of === index.wires[i].key) part.classList.add("lit");
      }
    } else if (now.open.device) {
      for (const box of boxesOf(now.open.device)) {
        view.paper.querySelector(".under-all").append(shape("rect", {
          x: box.x - 1.5, y: box.y - 1.5, width: box.width + 3, height: box.height + 3, class: "lamp",
        }));
      }
    }
  }

  function boxesOf(tag) {
    const parts = [...view.paper.querySelectorAll(".device")].filter((part) => part.dataset.of === tag);
    const frames = parts.filter((part) => part.tagName === "polygon");
    if (frames.length) return frames.map((part) => part.getBBox());
    if (!parts.length) return [];
    // drawn by many strokes: one box around those that stand together with the first
    const whole = parts[0].getBBox();
    for (const box of parts.slice(1).map((part) => part.getBBox())) {
      if (Math.abs(box.x - whole.x) > 40 || Math.abs(box.y - whole.y) > 40) continue;
      const [right, bottom] = [Math.max(whole.x + whole.width, box.x + box.width), Math.max(whole.y + whole.height, box.y + box.height)];
      whole.x = Math.min(whole.x, box.x);
      whole.y = Math.min(whole.y, box.y);
      whole.width = right - whole.x;
      whole.height = bottom - whole.y;
    }
    return [whole];
  }

  // Open what was chosen: turn to its sheet, light it, tell about it.
  async function open(what, move = true) {
    now.open = what;
    if (now.asked === null && !now.paper) await choose(usualSituation(), false);
    const has = (s) => what.wire ? s.wires.includes(index.wires.findIndex((w) => w.number === what.wire)) : s.devices.includes(what.device);
    if (move) {
      const sheet = has(index.sheets.find((s) => s.number === now.sheet)) ? { number: now.sheet }
        : index.sheets.find((s) => has(s) && /^[345]\./.test(s.number)) ?? index.sheets.find(has);
      if (sheet) await turnTo(sheet.number);
    }
    remember({ wire: what.wire, device: what.device });
    lamp();
    if (move) bring(what);
    const query = now.asked ?? usualSituation();
    const parameters = Object.fromEntries(new URLSearchParams(query));
    if (told && now.asked !== null && !(now.slip && now.wrong && told.wrong)) parameters.moment = now.step;
    if (now.slip) parameters.slip = now.slip;
    const path = what.wire ? `${base}/live/wire/${what.wire}` : `${base}/live/device`;
    if (what.device) parameters.tag = what.device;
    const inside = at("panel-inside");
    try {
      const html = await (await ask(path, parameters)).text();
      if (now.open !== what) return;
      inside.innerHTML = html;
    } catch {
      inside.textContent = what.wire ? `This job has no conductor ${what.wire}.` : `This job has no device ${what.device}.`;
    }
    at("panel").hidden = false;
    if (now.slip) await tellSlip();
    const more = inside.querySelector("[data-what-if]");
    if (more) {
      more.innerHTML = await (await ask(`${base}/live/what-if/${more.dataset.whatIf}`)).text();
      pressed();
    }
  }

  function bring(what) {
    if (what.wire) {
      const one = wires.get(index.wires.findIndex((w) => w.number === what.wire));
      if (one) {
        const xs = one.corners.map((p) => p[0]);
        const ys = one.corners.map((p) => p[1]);
        const wide = Math.max(...xs) - Math.min(...xs);
        const scale = Math.max(1, Math.min(3, view.width / (wide * 1.3 + 60)));
        view.show((Math.max(...xs) + Math.min(...xs)) / 2, (Math.max(...ys) + Math.min(...ys)) / 2, scale);
      }
    } else {
      const box = boxesOf(what.device)[0];
      if (box) view.show(box.x + box.width / 2, box.y + box.height / 2, 2);
    }
  }

  function close() {
    const was = now.open;
    now.open = null;
    remember({ wire: null, device: null });
    at("panel").hidden = true;
    lamp();
    const one = was?.wire && wires.get(index.wires.findIndex((w) => w.number === was.wire));
    (one ? one.hit : at("viewer")).focus({ preventScroll: true });
  }

  // --- slips ----------------------------------------------------------------------------------------------------

  async function tell(query) {
    const parameters = { ...Object.fromEntries(new URLSearchParams(query)), slip: now.slip };
    return (await ask(`${base}/live/slip`, parameters)).text();
  }

  async function tellSlip() {
    const inside = at("panel-inside");
    const html = await tell(now.asked ?? "");
    inside.querySelector(".slip-box")?.remove();
    inside.insertAdjacentHTML("afterbegin", html);
    at("panel").hidden = false;
  }

  async function trySlip(key) {
    now.slip = key;
    now.wrong = true;
    at("wrong-on").checked = true;
    if (now.asked === null) now.asked = usualSituation();
    const open = now.open;
    now.open = null;
    await choose(now.asked);
    now.open = open;
    lamp();
    if (told?.burns) say(told.burns);
    if (!key) at("panel-inside").querySelector(".slip-box")?.remove();
    else await tellSlip();
    if (open) {
      const keep = at("panel-inside").querySelector(".slip-box");
      if (!keep) await reopen(open);
    }
    pressed();
  }

  async function reopen(what) {
    await open(what, false);
  }

  function pressed() {
    for (const button of at("panel-inside").querySelectorAll(".try")) {
      button.setAttribute("aria-pressed", String(button.dataset.slip === now.slip));
    }
  }

  // --- what people do -------------------------------------------------------------------------------------------

  // A conductor or a device under the pointer.
  function chosen(target) {
    const hit = target.closest("[data-wire]");
    if (hit) return { wire: Number(hit.dataset.wire) };
    const device = target.closest(".device, .go[data-device]");
    return device ? { device: device.dataset.device ?? device.dataset.of } : null;
  }

  at("viewer").addEventListener("click", (event) => {
    const link = event.target.closest("[data-to]");
    if (link) {
      event.preventDefault();
      turnTo(link.dataset.to);
      return;
    }
    const what = chosen(event.target);
    if (what) open(what, false);
  });
  at("viewer").addEventListener("keydown", (event) => {
    if (event.key !== "Enter" && event.key !== " ") return;
    const what = event.target.closest?.(".hit") && chosen(event.target);
    if (!what) return;
    event.preventDefault();
    open(what, false).then(() => at("panel").focus());
  });
  at("viewer").addEventListener("focusin", (event) => {
    if (event.target.classList.contains("hit") && view.scale > 1) view.reveal(event.target.getBBox());
  });
  at("panel").addEventListener("click", (event) => {
    const slip = event.target.closest(".try");
    if (slip) { trySlip(slip.getAttribute("aria-pressed") === "true" ? "" : slip.dataset.slip); return; }
    if (event.target.closest(".try-none")) { trySlip(""); return; }
    const situation = event.target.closest(".go[data-asked]");
    if (situation) { choose(situation.dataset.asked); return; }
    const what = event.target.closest(".go") && chosen(event.target);
    if (what) open(what);
  });
  at("panel-close").addEventListener("click", close);
  desk.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && now.open) close();
  });
  desk.addEventListener("click", (event) => {
    const link = event.target.closest(".sheet-list [data-to]");
    if (!link) return;
    event.preventDefault();
    turnTo(link.dataset.to).then(() => at("viewer").focus());
  });

  function turnBy(by) {
    const all = index.sheets.map((s) => s.number);
    const to = all[all.indexOf(now.sheet) + by];
    if (to) turnTo(to);
  }
  at("sheet-choice").addEventListener("change", (event) => turnTo(event.target.value));
  at("sheet-before").addEventListener("click", () => turnBy(-1));
  at("sheet-after").addEventListener("click", () => turnBy(1));
  at("zoom-in").addEventListener("click", () => view.zoom(1.4));
  at("zoom-out").addEventListener("click", () => view.zoom(1 / 1.4));
  at("zoom-fit").addEventListener("click", () => view.fit());
  at("print-sheet").addEventListener("click", () => print());

  at("search").addEventListener("submit", (event) => {
    event.preventDefault();
    const words = at("search-words").value.trim();
    const found = words && find(words);
    at("search-words").setAttribute("aria-invalid", String(Boolean(words) && !found));
    if (found) open(found);
    else if (words) say(`Nothing on these sheets is called ${words}: give a wire's number, a terminal or a tag.`);
  });

  function find(words) {
    const low = words.toLowerCase();
    const byNumber = /^\d+$/.test(words) && index.wires.find((w) => w.number === Number(words));
    if (byNumber) return { wire: byNumber.number };
    const tags = Object.keys(index.devices);
    const exactTag = tags.find((tag) => tag.toLowerCase() === low);
    if (exactTag) return { device: exactTag };
    const terminal = index.wires.find((w) => w.ends.some((end) => end.toLowerCase() === low || end.toLowerCase().endsWith(`-${low}`)));
    if (terminal) return { wire: terminal.number };
    const part = tags.find((tag) => tag.toLowerCase().includes(low)) ?? tags.find((tag) => index.devices[tag].toLowerCase().includes(low));
    return part ? { device: part } : null;
  }

  for (const button of desk.querySelectorAll(".preset[data-asked]")) {
    button.addEventListener("click", () => choose(button.dataset.asked));
  }
  at("no-situation").addEventListener("click", () => {
    stop();
    turn += 1;
    now.asked = null;
    now.paper = true;
    now.slip = "";
    told = null;
    mark();
    paint(null);
  });
  for (const select of desk.querySelectorAll("select.ask")) {
    select.addEventListener("change", () => choose(exact()));
    select.addEventListener("focus", () => ahead([...select.options].slice(0, 40).map((o) => exact(select.name, o.value))));
  }
  at("steps").addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    stop();
    step(Number(button.dataset.step));
  });
  at("step-first").addEventListener("click", () => { stop(); step(0); });
  at("step-last").addEventListener("click", () => { stop(); step(shown().length - 1); });
  at("step-back").addEventListener("click", () => { stop(); step(now.step - 1); });
  at("step-on").addEventListener("click", () => { stop(); step(now.step + 1); });
  at("step-play").addEventListener("click", play);
  at("wrong-on").addEventListener("change", (event) => {
    now.wrong = event.target.checked;
    listSteps();
    now.step = Math.min(now.step, shown().length - 1);
    paint(null);
  });

  // --- opening --------------------------------------------------------------------------------------------------

  try {
    index = await (await ask(`${base}/live/index`)).json();
  } catch (error) {
    say(`The wiring of this job did not come: ${error.message}. Load the page again.`);
    return;
  }
  for (const words of [...index.wires.map((w) => String(w.number)), ...Object.keys(index.devices)]) {
    at("search-known").append(new Option(words));
  }
  dress();
  const given = new URLSearchParams(location.search);
  const query = new URLSearchParams([...given].filter(([key]) => key in ASKS));
  const { wire, device } = desk.dataset;
  if (now.slip) {
    if ([...query].length) now.asked = query.toString();
    await trySlip(now.slip);
    const first = told?.wrong?.slipped[0] ?? index.wires.findIndex((w) => w.ends.some((end) => told?.wrong?.terminals.includes(end)));
    const tag = told?.wrong?.devices.find((one) => index.sheets.some((sheet) => sheet.devices.includes(one)));
    if (wire || device) { /* asked for by itself, below */ }
    else if (first !== undefined && first >= 0) await open({ wire: index.wires[first].number });
    else if (tag) await open({ device: tag });
  } else if ([...query].length || wire) {
    await choose(query.toString());
  }
  if (wire) await open({ wire: Number(wire) });
  else if (device) await open({ device });
  desk.dataset.ready = "yes";
}
