// The page: what is kept, what is shown, and how an entry comes about. Views are functions of the app that give nodes.

const TABS = [["work", "Check-out"], ["search", "Search"], ["log", "Readings"], ["hand", "Hand over"]];
const CAUTION_READ = "caution read: ", BROUGHT = "brought about: ";

class App {
  constructor(sheet) {
    this.sheet = sheet;
    this.keep = new Keep(sheet.job.print);
    this.person = this.keep.setting("person", null);
    this.search = new Search(sheet);
    this.tab = "work";
    this.skipped = new Set();
    this.leftOut = new Set();
    this.upTo = sheet.stages.length - 1;
    this.alert = null;
    this.chosen = null;
    this.correcting = null;
    this.draft = {};
    this.main = document.getElementById("main");
    this.drawing = new DrawingView(sheet, document.getElementById("drawing"));
    // another window of the same sheet has added something
    window.addEventListener("storage", ({ key }) => { if (key === null || key.startsWith(this.keep.prefix)) this.reload(); });
    this.reload();
  }

  reload() {
    const kept = this.keep.entries();
    this.entries = kept.filter((e) => !faultOf(this.sheet, e));
    const odd = kept.length - this.entries.length;
    if (odd) this.keep.broken = `${odd} of the entries kept on this tablet cannot be used any more. Tell the office.`;
    this.told = digest(this.sheet, this.entries);
    this.states = planStates(this.sheet, this.told);
    this.beliefs = new Beliefs(this.sheet);
    for (const { either, text } of observationsOf(this.told)) this.beliefs.observe(either, text);
    this.render();
  }

  // Add an entry; false when the tablet could not keep it, which the page then says.
  add(probe, read, more = {}) {
    const device = this.keep.device;
    const own = this.entries.filter((e) => e.device === device).map((e) => e.sequence);
    const entry = tidy({
      id: newId(), job: this.sheet.job.print, job_name: this.sheet.jobName, probe, read, taken_at: now(),
      sequence: Math.max(-1, ...own) + 1, device, by: this.person.by, ...more,
    });
    const fault = faultOf(this.sheet, entry);
    if (fault) {
      this.say(`Not taken: ${fault}.`, "bad");
      return null;
    }
    try {
      this.keep.add(entry);
    } catch {
      this.say("Not taken: this tablet has no room left. Export the readings, then make room.", "bad");
      return null;
    }
    this.reload();
    return entry;
  }

  // Take a reading down as typed; throws a ReadingError when it is none.
  read(probe, text, low, more = {}) {
    const reading = understood(this.sheet, probe, text);
    const metered = this.sheet.probes.meter[probe] > 0 || this.sheet.kind(probe) === "amps AC";
    const meter = metered ? { name: this.person.meter, low_impedance: low } : undefined;
    this.draft = {};
    this.chosen = null;
    this.correcting = null;
    const entry = this.add(this.sheet.probes.key[probe], text.trim(), { meter, ...more });
    if (!entry) return;
    if (holds(this.sheet, probe, reading)) {
      this.alert = null;
      this.say(`Taken down: ${said(this.sheet.kind(probe), reading)}, as expected.`, "good", entry);
    } else {
      // what is out of tolerance is followed up by itself
      this.alert = { probe, reading, entry, doubt: doubt(this.sheet, probe, reading) };
      this.say(`Taken down: ${said(this.sheet.kind(probe), reading)}, not as expected.`, "bad", entry);
      this.tab = "search";
    }
    this.render();
    this.focus();
  }

  takeBack(entry) {
    if (this.alert && this.alert.entry.id === entry.id) this.alert = null;
    const meter = entry.meter ? { ...entry.meter } : undefined;
    if (this.add(entry.probe, "", { replaces: entry.id, meter })) this.say("Taken back; the log keeps both lines.", "plain");
    this.focus();
  }

  // Where this tablet last knew the installation to stand.
  get here() {
    const device = this.keep.device;
    const own = this.told.standing.filter((e) => e.device === device);
    for (const entry of own.reverse()) {
      if (entry.probe === DONE && entry.read.startsWith(BROUGHT)) return entry.read.slice(BROUGHT.length);
      const probe = this.sheet.probeOf.get(entry.probe);
      if (probe !== undefined) return this.sheet.preparationOf(probe).key;
    }
    return "";
  }

  cautionRead(stage) {
    const read = CAUTION_READ + this.sheet.stages[stage].name;
    return this.told.standing.some((e) => e.probe === DONE && e.read === read && e.by === this.person.by);
  }

  say(words, kind = "plain", entry = null) {
    const back = entry
      ? h("button", { type: "button", onclick: () => { this.hush(); this.takeBack(entry); } }, "Take back") : null;
    document.getElementById("said").replaceChildren(h("div", { class: `toast ${kind}` }, h("p", {}, words), back,
      h("button", { type: "button", class: "quiet", "aria-label": "Close the message", onclick: () => this.hush() }, "×")));
  }

  hush() {
    document.getElementById("said").replaceChildren();
  }

  go(tab) {
    if (tab !== "log") this.correcting = null;
    this.tab = tab;
    this.draft = {};
    this.hush();
    this.render();
    this.focus();
  }

  focus() {
    const heading = this.main.querySelector("[data-focus]") || this.main;
    heading.focus({ preventScroll: true });
    window.scrollTo(0, 0);
  }

  render() {
    const counts = {
      work: `${this.states.filter((x) => x !== "open").length}/${this.states.length}`,
      search: this.beliefs.seen.length && !this.isRight() ? "!" : "",
      log: this.told.conflicts.length ? "!" : "",
      hand: "",
    };
    document.getElementById("nav").replaceChildren(h("ul", {}, TABS.map(([key, words]) => h("li", {},
      h("button", { type: "button", "aria-current": this.tab === key ? "page" : null, onclick: () => this.go(key) },
        words, counts[key] ? h("span", { class: "count" }, counts[key] === "!" ? "look here" : counts[key]) : "")))));
    const warned = this.keep.broken ? [this.keep.broken] : [];
    document.getElementById("warning").replaceChildren(...warned.map((w) => h("p", { class: "caution" }, w)));
    const plain = !this.person || this.tab === "hand" || (this.tab === "log" && !this.correcting);
    document.querySelector(".work").classList.toggle("plain", plain);
    if (!plain && this.drawing.at < 0) this.drawing.show(0);
    if (!this.person) this.main.replaceChildren(...flat(startView(this)));
    else {
      const view = { work: workView, search: searchView, log: logView, hand: handView }[this.tab];
      this.main.replaceChildren(...flat(view(this)));
    }
  }

  // Whether everything read so far is as expected.
  isRight() {
    return this.beliefs.seen.every((seen) => seen.right >= this.sheet.constants.UNEXPLAINED);
  }
}

const flat = (nodes) => nodes.flat(Infinity).filter(Boolean);

// Who reads, and with what: asked once, and kept on the tablet.
function startView(app) {
  const { sheet } = app;
  const known = app.keep.setting("person", { by: "", meter: "" });
  let by, meter;
  const wrong = h("p", { class: "wrong", role: "alert" });
  const submit = (event) => {
    event.preventDefault();
    const clean = (node) => node.value.split(/\s+/).filter(Boolean).join(" ");
    const given = { by: clean(by), meter: clean(meter) };
    const missing = !given.by ? by : !given.meter ? meter : null;
    if (missing || /[\p{Cc}\p{Cs}]/u.test(given.by + given.meter)) {
      wrong.textContent = missing === by ? "Give your name: every reading says who took it."
        : "Name the meter: every reading says with what it was taken.";
      (missing || by).focus();
      return;
    }
    app.person = given;
    app.keep.keepSetting("person", given);
    app.render();
    app.focus();
  };
  return [
    h("h2", { tabindex: "-1", "data-focus": true }, "Before you start"),
    h("ul", { class: "caution" }, sheet.general.map((words) => h("li", {}, words))),
    h("form", { onsubmit: submit, novalidate: true },
      field("Who reads", (id) => { by = h("input", { ...id, value: known.by, maxlength: 120, autocomplete: "name" }); return by; }),
      field("Meter", (id) => { meter = h("input", { ...id, value: known.meter, maxlength: 120 }); return meter; },
        "As its owner calls it, with its number."),
      wrong, h("button", { class: "first", type: "submit" }, "Begin")),
    h("p", { class: "pale" }, `${sheet.covers}. The entries stay on this tablet until they are exported.`),
  ];
}
