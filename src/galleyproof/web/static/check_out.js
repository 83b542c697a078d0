// The check-out, one probe at a time. The office computes and judges; this page shows, takes down and keeps.

import { Outbox } from "./check_out_log.js";
import { Pad, clock, drawing, el, fetchAhead, upper } from "./check_out_parts.js";

const root = document.getElementById("check-out");
const POLL_MS = 5000;
// What somebody may be typing while readings of another tablet come in.
const TYPED = ["#reading", "#note", "#name"];

if (root) {
  const { job, save, signer, measure } = root.dataset;
  start({ job: Number(job), save: Number(save), signer, measure: measure === "yes" });
}

async function start(where) {
  const app = {
    ...where, plan: null, log: null, mark: "", view: "probe", at: null, extra: null, said: null, 
  };
  app.box = new Outbox(app.job, app.save, (answer) => {
    if (answer?.log) take(app, answer.log);
    refresh(app);
  });
  try {
    const response = await fetch(`/jobs/${app.job}/check-out/plan?save=${app.save}`);
    if (!response.ok) throw new Error(String(response.status));
    app.plan = await response.json();
  } catch {
    root.replaceChildren(el("p", { class: "note bad", role: "alert" },
      "The office does not answer, so the plan is not here. What was typed on this device is kept. Load the page again when it answers, or take the field sheet."));
    return;
  }
  app.probeOf = new Map(app.plan.probes.map((p) => [p.key, p]));
  take(app, app.plan.log);
  app.at = place(app);
  layout(app);
  addEventListener("hashchange", () => go(app, fromHash(app) || app.at, false));
  if (hashKey() && !fromHash(app)) chase(app, hashKey());
  document.addEventListener("keydown", (event) => {
    if (app.view !== "probe" || !["PageDown", "PageUp"].includes(event.key)) return;
    event.preventDefault();
    step(app, event.key === "PageDown" ? 1 : -1);
  });
  setInterval(() => poll(app), POLL_MS);
  app.box.send();
  fetchAhead(app.job, app.save, app.plan);
}

const hashKey = () => {
  try {
    return decodeURIComponent(location.hash.slice(1));
  } catch {
    return "";
  }
};
const fromHash = (app) => (app.probeOf.has(hashKey()) ? hashKey() : null);
const place = (app) => fromHash(app) || nextOpen(app, null) || app.plan.probes[0]?.key || null;

function take(app, log) {
  app.log = log;
  app.mark = log.mark;
}

async function poll(app) {
  if (document.hidden || !app.plan) return;
  try {
    const response = await fetch(`/jobs/${app.job}/check-out/state?save=${app.save}&mark=${app.mark}`);
    if (!response.ok) return;
    const was = app.box.reached;
    app.box.reached = true;
    const log = await response.json();
    if (!log.same) {
      take(app, log);
      refresh(app);
    } else if (!was) refresh(app);
  } catch {
    if (app.box.reached) {
      app.box.reached = false;
      refresh(app);
    }
  }
}

// --- what stands ----------------------------------------------------------------------------------------------------

const pendingOf = (app, key) => app.box.waiting().filter((w) => w.entry.probe === key);
const stateOf = (app, key) => app.log.states[key] || "open";
const isDone = (app, key) => stateOf(app, key) !== "open" || pendingOf(app, key).some((w) => !w.refused && w.entry.read);

function nextOpen(app, after) {
  const keys = app.plan.probes.map((p) => p.key);
  const from = after === null ? 0 : keys.indexOf(after) + 1;
  const turned = [...keys.slice(from), ...keys.slice(0, from)];
  const noted = (key) => (app.log.notes[key] || []).length > 0;
  return turned.find((key) => !isDone(app, key) && !noted(key)) || turned.find((key) => !isDone(app, key)) || null;
}

// The caution of a stage is read by each person before its probes show.
function hasRead(app, stage) {
  const by = app.box.person?.by;
  if (!by) return false;
  const words = `caution read: ${stage}`;
  return app.log.readers[stage]?.includes(by)
    || app.box.waiting().some((w) => w.entry.probe === "done" && w.entry.read === words && w.entry.by === by);
}

function go(app, key, hash = true) {
  if (app.again !== key) app.again = "";
  app.view = "probe";
  app.at = key;
  app.extra = app.probeOf.has(key) ? null : app.extra;
  if (hash && app.probeOf.has(key)) history.replaceState(null, "", `#${encodeURIComponent(key)}`);
  redraw(app);
  scrollTo({ top: root.getBoundingClientRect().top + scrollY - 4 });
}

function step(app, by) {
  const n = app.plan.probes.findIndex((p) => p.key === app.at);
  const to = app.plan.probes[n < 0 ? 0 : n + by];
  if (to) go(app, to.key);
}

// --- the page -------------------------------------------------------------------------------------------------------

function layout(app) {
  app.parts = {
    stages: el("nav", { class: "stages", "aria-label": "Stages of the check-out" }),
    waiting: el("div", { class: "waiting", role: "status" }),
    person: el("div", { class: "person" }),
    main: el("div", { class: "work" }),
    causes: el("section", { class: "sheet chase", hidden: true, "aria-label": "What may be wrong" }),
  };
  root.replaceChildren(app.parts.stages, app.parts.waiting, app.parts.person, app.parts.main, app.parts.causes);
  redraw(app);
}

// Draw everything again; what somebody is typing stays.
function redraw(app) {
  app.shown = "";
  refresh(app);
}

function refresh(app) {
  if (!app.parts) return;
  drawStages(app);
  drawWaiting(app);
  drawPerson(app);
  const now = signatureOf(app);
  if (now !== app.shown) {
    const here = `${app.view} ${app.extra?.key || app.at}`;
    const kept = app.shownAt === here ? TYPED.map((id) => app.parts.main.querySelector(id)?.value || "") : [];
    const focused = app.shownAt === here ? TYPED.find((id) => document.activeElement?.matches?.(id)) : null;
    app.shown = now;
    app.shownAt = here;
    const views = { probe: drawProbe, list: drawList, sign: drawSign };
    app.parts.main.replaceChildren(...[views[app.view](app)].flat());
    TYPED.forEach((id, n) => {
      const input = app.parts.main.querySelector(id);
      if (!input || !kept[n]) return;
      input.value = kept[n];
      if (id === "#note") input.closest("details").open = true;
    });
    if (focused) app.parts.main.querySelector(focused)?.focus({ preventScroll: true });
  }
  drawCauses(app);
}

// What the middle of the page depends on: while it is the same nothing is drawn again under somebody's finger.
function signatureOf(app) {
  const probe = app.extra?.key || app.at;
  const about = app.view === "probe"
    ? [app.at, probe, app.log.readings[probe], app.log.states[probe], app.log.torn[probe], app.log.notes[probe],
      app.log.readers, app.box.waiting().filter((w) => [probe, "done", "note"].includes(w.entry.probe)), app.said, app.wrong, app.again, app.box.person]
    : [app.log, app.box.waiting(), app.box.person];
  return JSON.stringify([app.view, about]);
}

function drawStages(app) {
  const probe = current(app);
  const made = app.log.stages.map((stage) => {
    const open = stage.planned - stage.within - stage.beyond;
    const words = stage.beyond ? `${stage.beyond} off` : open ? `${open} open` : "done";
    const kind = stage.beyond ? "bad" : open ? "" : "good";
    const here = app.view === "probe" && probe?.stage === stage.name;
    const first = app.plan.probes.filter((p) => p.stage === stage.name);
    const to = first.find((p) => !isDone(app, p.key)) || first[0];
    return el("button", { type: "button", class: `stage ${kind}`, "aria-current": here ? "step" : false, onclick: () => go(app, to.key) },
      el("span", { class: "stage-name" }, upper(stage.name)),
      el("span", { class: "stage-count" }, `${stage.within + stage.beyond} of ${stage.planned}, ${words}`),
      el("span", { class: "meter", "aria-hidden": "true" }, el("progress", { max: stage.planned, value: stage.within })));
  });
  const turn = (view, words) => el("button", {
    type: "button", class: "stage other", "aria-current": app.view === view ? "step" : false,
    onclick: () => { app.view = app.view === view ? "probe" : view; redraw(app); },
  }, words);
  app.parts.stages.replaceChildren(...made, turn("list", "All readings"), turn("sign", "Sign"));
}

function drawWaiting(app) {
  const waiting = app.box.waiting();
  const refused = waiting.filter((w) => w.refused);
  const left = waiting.length - refused.length;
  const lines = [];
  if (left) {
    lines.push(el("p", {}, el("strong", {}, left === 1 ? "1 entry waits on this device." : `${left} entries wait on this device.`),
      app.box.reached ? " They are being sent to the office." : " The office does not answer; they are sent as soon as it does. Nothing is lost."));
  } else if (!app.box.reached) {
    lines.push(el("p", {}, el("strong", {}, "The office does not answer."), " Go on: what you enter is kept here and sent later."));
  }
  if (app.box.fault) lines.push(el("p", { class: "wrong" }, app.box.fault));
  for (const one of refused) {
    lines.push(el("p", { class: "wrong" }, el("strong", {}, `Not taken: ${one.entry.probe} “${one.entry.read.slice(0, 60)}”. `), `${upper(one.refused)}. `,
      el("button", { type: "button", onclick: () => { app.box.drop(one.entry.id); redraw(app); } }, "Put aside")));
  }
  if (app.words !== JSON.stringify(lines.map((l) => l.textContent))) {
    app.words = JSON.stringify(lines.map((l) => l.textContent));
    app.parts.waiting.replaceChildren(...lines);
  }
  app.parts.waiting.hidden = !lines.length;
}

function drawPerson(app) {
  const person = app.box.person;
  const words = person ? `${person.by} reads, with ${person.meter}${person.low ? " (has a low-impedance range)" : ""}` : "";
  if (app.parts.person.dataset.words === words && app.parts.person.childNodes.length) return;
  app.parts.person.dataset.words = words;
  app.parts.person.replaceChildren(...(person ? [el("span", {}, words), el("button", {
    type: "button", onclick: () => { app.asking = true; redraw(app); },
  }, "Change")] : []));
  app.parts.person.hidden = !person;
}

const current = (app) => app.extra || app.probeOf.get(app.at) || null;

// --- who reads, and the caution before a stage ----------------------------------------------------------------------

function drawAsk(app) {
  const before = app.box.person || app.box.personBefore || { by: app.signer, meter: "", low: false };
  const by = el("input", { id: "by", name: "by", autocomplete: "name", maxlength: 120, required: true, value: before.by || app.signer });
  const meter = el("input", { id: "meter", name: "meter", maxlength: 120, required: true, value: before.meter, placeholder: "make, or number on its label" });
  const low = el("input", { id: "low", type: "checkbox", checked: before.low });
  return el("form", { class: "sheet ask", onsubmit: (event) => {
    event.preventDefault();
    const name = by.value.trim(), with_ = meter.value.trim();
    if (!name || !with_) return;
    app.box.person = { by: name, meter: with_, low: low.checked };
    app.asking = false;
    redraw(app);
  } },
  el("h2", {}, "Before the first reading"),
  el("p", {}, "Each reading is kept with who took it and with which meter. Nothing is ever overwritten."),
  el("div", { class: "field" }, el("label", { for: "by" }, "Who reads"), by),
  el("div", { class: "field" }, el("label", { for: "meter" }, "Which meter"), meter),
  el("label", { class: "tick" }, low, "It has a low-impedance range"),
  el("div", { class: "row" }, el("button", { class: "first big" }, "Go on")));
}

// What stands open or off in the stages before one: power comes on only over readings that are right.
function earlier(app, stage) {
  const names = app.log.stages.map((s) => s.name);
  const before = app.log.stages.slice(0, Math.max(0, names.indexOf(stage)));
  const words = before.flatMap((s) => {
    const open = s.planned - s.within - s.beyond;
    return [s.beyond ? `${s.beyond} of ${s.name} out of tolerance` : "", open ? `${open} of ${s.name} not read` : ""];
  }).filter(Boolean);
  return words.length ? el("p", { class: "note warn" }, el("strong", {}, "Stages before this one are not done: "), `${words.join(", ")}. Finish them first.`) : null;
}

function drawCaution(app, stage) {
  const { caution } = app.plan.stages.find((s) => s.name === stage) || { caution: "" };
  return el("section", { class: "sheet gate", "aria-labelledby": "gate" },
    el("h2", { id: "gate" }, `Stage: ${stage}`),
    el("p", { class: "caution large" }, caution),
    earlier(app, stage),
    el("p", {}, "This sheet is an aid, not an approval. The local code, the authority having jurisdiction and the people licensed for the work decide."),
    el("button", { type: "button", class: "first big wide-button", onclick: () => {
      write(app, "done", `caution read: ${stage}`);
    } }, "I have read this and it is done"));
}

// --- one probe ------------------------------------------------------------------------------------------------------

function drawProbe(app) {
  if (app.measure && (!app.box.person || app.asking)) return drawAsk(app);
  const probe = current(app);
  if (!probe) return el("p", { class: "sheet" }, "This plan holds no reading.");
  if (app.measure && !hasRead(app, probe.stage)) return drawCaution(app, probe.stage);
  const n = app.plan.probes.indexOf(probe);
  const state = stateOf(app, probe.key);
  const card = el("article", { class: "sheet probe", "data-key": probe.key, "aria-label": `Reading ${probe.number || "outside the plan"}` });
  if (app.said) card.append(verdict(app));
  const unfinished = earlier(app, probe.stage);
  if (unfinished) card.append(unfinished);
  card.append(el("header", { class: "probe-head" },
    el("h2", {}, n < 0 ? "Reading outside the plan" : `Reading ${probe.number} of ${app.plan.probes.length}`),
    el("span", { class: "where" }, upper(probe.place)),
    probe.required ? el("span", { class: "chip" }, "acceptance list") : null,
    n >= 0 && state !== "open" ? chip(state) : null));
  const moved = app.stands !== probe.preparation;
  card.append(el(moved ? "div" : "details", { class: moved ? "prepare" : "prepare same" },
    moved ? el("strong", {}, "First: ") : el("summary", {}, `The installation stands as for the last reading: ${probe.preparation}`),
    el("span", {}, `${upper(probe.first)}.`),
    probe.needs ? el("p", { class: "needs" }, `With ${probe.needs}.`) : null));
  const { caution } = app.plan.stages.find((s) => s.name === probe.stage) || { caution: "" };
  card.append(el("details", { class: "prepare same", open: !app.measure }, el("summary", {}, `Caution of the stage: ${probe.stage}`), el("p", { class: "caution" }, caution)));
  if (probe.caution) card.append(el("p", { class: "caution" }, probe.caution));
  card.append(el("div", { class: "twin" }, instruction(probe), el("div", { class: "drawing" })));
  drawing(card.querySelector(".drawing"), app.job, app.save, app.plan, probe);
  const own = el("div", { class: "taken" }, ...taken(app, probe));
  if (app.measure) card.append(entry(app, probe));
  card.append(own);
  if (app.measure) card.append(noteForm(app, probe));
  card.append(turns(app, n));
  return card;
}

function chip(state) {
  const words = { within: "within tolerance", beyond: "out of tolerance", conflict: "readings disagree", open: "open" };
  const kinds = { within: "good", beyond: "bad", conflict: "bad", open: "warn" };
  return el("span", { class: `chip ${kinds[state]}` }, words[state]);
}

function instruction(probe) {
  const lead = (name, terminal, words) => el("div", { class: `lead ${name}` },
    el("span", { class: "lead-name" }, words), el("span", { class: "terminal" }, terminal));
  const look = !probe.red;
  return el("div", { class: "instruction" },
    el("p", { class: "setting" }, probe.setting, look ? ` at ${probe.about}` : ""),
    look ? null : el("div", { class: "leads" },
      lead("red", probe.red, probe.lifted ? "Red lead: to the lifted end from" : "Red lead"),
      lead("black", probe.black, "Black lead")),
    el("p", { class: "full" }, `${upper(probe.words)}.`),
    el("p", { class: "expect" }, el("span", {}, "Expect "), el("strong", {}, probe.expected)));
}

function taken(app, probe) {
  const rows = (app.log.readings[probe.key] || []).map((r) => ({ ...r, waits: false }));
  const replaced = new Set(pendingOf(app, probe.key).filter((w) => !w.refused).map((w) => w.entry.replaces));
  for (const { entry, refused } of pendingOf(app, probe.key)) {
    if (entry.read && !refused) {
      rows.push({ id: entry.id, read: entry.read, by: entry.by, at: entry.taken_at, device: entry.device,
        meter: entry.meter?.name || "", said: "", beyond: null, waits: true, save: app.save, doubt: "" });
    }
  }
  const torn = app.log.torn[probe.key] || [];
  const found = [];
  if (torn.length) {
    found.push(el("p", { class: "note bad" }, el("strong", {}, "These readings disagree. "),
      "Neither is overwritten. Read it again; then take the wrong one back, both stay in the log."));
  }
  if (rows.length) {
    found.push(el("ul", { class: torn.length ? "readings beside" : "readings" }, rows.map((r) => el("li", { class: replaced.has(r.id) ? "gone" : "" },
      el("span", { class: "value" }, r.said || r.read),
      el("span", { class: "by" }, `${r.by}, ${clock(r.at)}${r.meter ? `, ${r.meter}` : ""}`
        + `${r.device === app.box.device ? ", this device" : ""}${r.save && r.save !== app.save ? `, for save ${r.save}` : ""}`),
      r.waits ? el("span", { class: "chip warn" }, "waits on this device")
        : r.repaired ? el("span", { class: "chip" }, "before the repair")
          : r.beyond === null ? el("span", { class: "chip warn" }, "not understood") : chip(r.beyond ? "beyond" : "within"),
      r.doubt && !r.repaired ? el("p", { class: "doubt" }, `${upper(r.doubt)}.`) : null,
      app.measure && !r.waits && !r.repaired && !replaced.has(r.id) ? el("button", {
        type: "button", onclick: () => write(app, probe.key, "", { replaces: r.id, job: r.job }),
      }, "Take back") : null))));
  }
  const notes = [...(app.log.notes[probe.key] || []),
    ...app.box.waiting().filter((w) => w.entry.probe === "note" && w.entry.read.startsWith(`[${probe.key}] `))
      .map((w) => ({ by: w.entry.by, at: w.entry.taken_at, words: w.entry.read.slice(probe.key.length + 3) }))];
  if (notes.length) {
    found.push(el("ul", { class: "notes" }, notes.map((x) => el("li", {}, `${x.words} `, el("span", { class: "pale" }, `${x.by}, ${clock(x.at)}`)))));
  }
  return found;
}

function mine(app, key) {
  const own = (app.log.readings[key] || []).filter((r) => r.device === app.box.device && !r.repaired && (!r.save || r.save === app.save));
  const waits = pendingOf(app, key).filter((w) => !w.refused && w.entry.read);
  if (waits.length) return { id: waits.at(-1).entry.id, at: waits.at(-1).entry.taken_at };
  return own.at(-1) || null;
}

function entry(app, probe) {
  const before = mine(app, probe.key);
  const again = app.again === probe.key;
  const refused = app.wrong?.key === probe.key ? app.wrong : null;
  const wrong = el("p", { class: "wrong", role: "alert" }, refused?.words || "");
  const submit = async (text) => {
    const read = text.trim();
    if (!read) {
      wrong.textContent = "Enter what you read, or write below why it could not be read.";
      return;
    }
    const low = form.querySelector("[name=low]");
    const more = probe.meter ? { meter: { name: app.box.person.meter, low_impedance: Boolean(low?.checked) } } : {};
    if (before && !again) more.replaces = before.id;
    const input = form.querySelector("#reading");
    if (input) input.value = "";
    await write(app, probe.key, read, more);
  };
  const form = el("form", { class: "entry", autocomplete: "off" });
  if (probe.answers.length) {
    form.append(el("p", { class: "ask-words" }, "What do you see?"), el("div", { class: "answers" }, probe.answers.map((a) => el("button", {
      type: "button", class: "big", onclick: () => submit(a),
    }, upper(a)))));
    form.addEventListener("submit", (event) => event.preventDefault());
  } else {
    const input = el("input", { id: "reading", name: "reading", inputmode: "decimal", maxlength: 60, "aria-describedby": "reading-help", enterkeyhint: "done", value: refused?.typed || "", "aria-invalid": refused ? "true" : false });
    const put = (ending) => {
      const whole = /^[A-Za-z]{2,}$/.test(ending) && !["mV", "Hz", "mA"].includes(ending);
      input.value = whole ? ending : `${input.value.replace(/[^0-9.,+-]*$/, "")} ${ending}`.trim();
      input.focus();
    };
    const minus = () => {
      input.value = input.value.startsWith("-") ? input.value.slice(1) : `-${input.value}`;
      input.focus();
    };
    form.append(...el("div", {},
      el("label", { for: "reading" }, "What does the meter show?"),
      el("div", { class: "entry-row" }, input, el("button", { class: "first big" }, "Enter")),
      el("div", { class: "units", id: "reading-help" },
        ["volts DC", "display"].some((k) => probe.setting.startsWith(k === "display" ? "Read" : "DC")) ? el("button", { type: "button", "aria-label": "Minus sign", onclick: minus }, "±") : null,
        probe.units.map((u) => el("button", { type: "button", onclick: () => put(u) }, u))),
      probe.meter && app.box.person.low && probe.setting.startsWith("AC volts")
        ? el("label", { class: "tick" }, el("input", { type: "checkbox", name: "low", checked: probe.low }), "Low-impedance range was used") : null).childNodes);
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      submit(input.value);
    });
  }
  form.append(wrong);
  if (before && again) form.append(el("p", { class: "pale" }, "Read it once more, as if for the first time: both readings count."));
  else if (before) form.append(el("p", { class: "pale" }, `A new reading corrects yours of ${clock(before.at)}; both stay in the log.`));
  return form;
}

function noteForm(app, probe) {
  const words = el("input", { id: "note", maxlength: 600, placeholder: "roof locked, device not mounted yet" });
  return el("details", { class: "cannot" }, el("summary", {}, "Cannot be read now, or a note"),
    el("form", { class: "entry-row", onsubmit: (event) => {
      event.preventDefault();
      const said = words.value.trim();
      if (!said) return;
      words.value = "";
      write(app, "note", `[${probe.key}] ${said}`, {}, true);
    } }, el("label", { for: "note", class: "hidden" }, "Why, or what you noticed"), words, el("button", { class: "big" }, "Write down, go on")));
}

function turns(app, n) {
  const to = (by, words, kind) => el("button", { type: "button", class: `big ${kind}`, disabled: n >= 0 && !app.plan.probes[n + by], onclick: () => step(app, by) }, words);
  const open = nextOpen(app, app.at);
  return el("footer", { class: "turns" },
    n < 0 ? el("button", { type: "button", class: "big", onclick: () => { app.extra = null; go(app, app.at); } }, "Back to the plan") : to(-1, "‹ Before", ""),
    n < 0 ? null : to(1, "Next ›", ""),
    open ? el("button", { type: "button", class: "big", onclick: () => { app.extra = null; app.said = null; go(app, open); } }, "Next open one")
      : el("button", { type: "button", class: "big first", onclick: () => { app.view = "sign"; redraw(app); } }, "All read: sign"));
}

function verdict(app) {
  const { key, words, kind, number } = app.said;
  return el("div", { class: `note ${kind}`, role: "status" }, el("strong", {}, number ? `Reading ${number}: ` : ""), `${words} `,
    key !== (app.extra?.key || app.at) ? el("button", { type: "button", onclick: () => { app.said = null; go(app, key); } }, "Back to it") : null);
}

// Write an entry down, send it, and go where it leads.
async function write(app, key, read, more = {}, goOn = false) {
  app.wrong = null;
  let made;
  try {
    made = app.box.add(app.plan, key, read, more);
  } catch {
    app.box.fault = "This device has no room left; the entry was NOT taken. Make room, then enter it again.";
    redraw(app);
    return;
  }
  const reading = !["done", "note", "repair", "signature", "complaint"].includes(key);
  if (!reading) {
    if (goOn) {
      const to = nextOpen(app, app.at);
      app.said = null;
      app.extra = null;
      if (to && to !== app.at) go(app, to);
      else redraw(app);
    } else redraw(app);
    await app.box.send();
    refresh(app);
    return;
  }
  app.again = "";
  app.stands = (app.extra || app.probeOf.get(key))?.preparation || "";
  await app.box.send();
  const probe = app.extra || app.probeOf.get(key);
  const outcome = app.box.outcome.get(made.id);
  if (outcome) {
    app.box.drop(made.id);
    app.said = null;
    app.wrong = { key, words: `${upper(outcome)}.`, typed: read };
    redraw(app);
    app.parts.main.querySelector("#reading")?.focus();
    return;
  }
  if (!read) {
    app.said = null;
    redraw(app);
    return;
  }
  const known = app.log.readings[key]?.find((r) => r.id === made.id);
  const torn = (app.log.torn[key] || []).includes(made.id);
  if (outcome === undefined || !known) app.said = { key, number: probe.number, kind: "warn", words: `${read}: kept on this device; the office judges it when it answers.` };
  else if (known.beyond === false && !torn) app.said = { key, number: probe.number, kind: "good", words: `${known.said}, as expected.` };
  else if (torn) app.said = { key, number: probe.number, kind: "bad", words: `${known.said}: another reading of this says otherwise.` };
  else app.said = { key, number: probe.number, kind: "bad", words: `${known.said}, but expected is ${probe.expected}. The likely causes stand below.` };
  if (app.said.kind === "bad" || app.extra) {
    redraw(app);
    app.parts.causes.scrollIntoView({ block: "nearest" });
    return;
  }
  const to = nextOpen(app, app.at);
  if (to) go(app, to);
  else redraw(app);
}

// --- what may be wrong ----------------------------------------------------------------------------------------------

async function drawCauses(app) {
  const show = app.log.odd && app.view === "probe" && !(app.measure && !app.box.person);
  app.parts.causes.hidden = !show;
  if (!show) {
    app.causesOf = "";
    return;
  }
  const stage = (app.extra || app.probeOf.get(app.at))?.stage || "";
  const about = `${app.mark} ${stage}`;
  if (app.causesOf === about) return;
  app.causesOf = about;
  if (!app.parts.causes.childNodes.length) {
    app.parts.causes.append(el("h2", {}, "Something is wired otherwise"), el("p", {}, "The likely causes are being weighed."));
  }
  try {
    const response = await fetch(`/jobs/${app.job}/check-out/causes?save=${app.save}&stage=${encodeURIComponent(stage)}`);
    const words = await response.text();
    if (app.causesOf !== about) return;
    if (!response.ok) throw new Error(String(response.status));
    const holder = document.createElement("div");
    holder.innerHTML = words; // written by our own office, which escapes every word of the job in it
    app.parts.causes.replaceChildren(el("h2", {}, "Something is wired otherwise"), holder, ...(app.measure ? [app.repair ||= repairForm(app)] : []));
    for (const button of holder.querySelectorAll("[data-probe]")) {
      button.addEventListener("click", () => chase(app, button.dataset.probe));
    }
  } catch {
    app.causesOf = "";
    app.parts.causes.replaceChildren(el("h2", {}, "Something is wired otherwise"),
      el("p", {}, "The office does not answer just now; the likely causes come when it does. The field sheet works them out without it."));
  }
}

async function chase(app, key) {
  app.again = key;
  if (app.probeOf.has(key)) {
    app.extra = null;
    app.said = null;
    go(app, key);
    return;
  }
  try {
    const response = await fetch(`/jobs/${app.job}/check-out/probe?save=${app.save}&key=${encodeURIComponent(key)}`);
    if (!response.ok) return;
    app.extra = await response.json();
    app.said = null;
    app.view = "probe";
    redraw(app);
    scrollTo({ top: root.getBoundingClientRect().top + scrollY - 4 });
  } catch {
    app.box.reached = false;
    refresh(app);
  }
}

function repairForm(app) {
  const words = el("input", { id: "repair", maxlength: 600, placeholder: "swapped the two wires of FS-1 back" });
  return el("form", { class: "repair", onsubmit: (event) => {
    event.preventDefault();
    if (!words.value.trim()) return;
    app.said = { key: app.at, number: 0, kind: "good", words: "Written down. What was out of tolerance is read again; go on with the plan." };
    app.extra = null;
    const done = words.value.trim();
    words.value = "";
    write(app, "repair", done);
  } }, el("label", { for: "repair" }, "Put right? Write what was done"), el("div", { class: "entry-row" }, words, el("button", { class: "big" }, "It is put right")));
}

// --- all readings ---------------------------------------------------------------------------------------------------

function drawList(app) {
  const found = [el("h2", {}, "All readings"), el("p", { class: "pale" }, `${app.plan.words}.`)];
  let stage = "", stands = "", rows = null;
  for (const probe of app.plan.probes) {
    const title = probe.required ? "acceptance list" : probe.stage;
    if (title !== stage) {
      stage = title;
      rows = el("ul", { class: "plan" });
      stands = "";
      found.push(el("h3", {}, upper(stage)), rows);
    }
    if (probe.preparation !== stands) {
      stands = probe.preparation;
      rows.append(el("li", { class: "prepared" }, upper(stands)));
    }
    const state = stateOf(app, probe.key);
    const last = (app.log.readings[probe.key] || []).at(-1);
    const waits = pendingOf(app, probe.key).some((w) => !w.refused);
    const noted = (app.log.notes[probe.key] || []).at(-1);
    rows.append(el("li", {}, el("button", { type: "button", class: "jump", onclick: () => { app.extra = null; app.said = null; go(app, probe.key); } },
      el("span", { class: "n" }, String(probe.number)),
      el("span", { class: "what" }, probe.red ? `${probe.setting}: ${probe.red} to ${probe.black}${probe.lifted ? ", lifted" : ""}` : upper(probe.words),
        noted ? el("span", { class: "pale" }, ` Note: ${noted.words}`) : null),
      el("span", { class: "got" }, waits ? "waits here" : last ? last.said || last.read : ""),
      chip(state))));
  }
  if (app.log.strange.length) {
    found.push(el("h3", {}, "Readings that mean no probe of this plan"),
      el("ul", { class: "strange" }, app.log.strange.map((x) => el("li", {}, `${x.probe}: ${x.read} `,
        el("span", { class: "pale" }, `${x.by}, ${clock(x.at)}${x.save ? `, for save ${x.save}` : ""}; ${x.why}`)))));
  }
  if (app.log.repairs.length) {
    found.push(el("h3", {}, "Put right"), el("ul", {}, app.log.repairs.map((x) => el("li", {}, `${x.words} `, el("span", { class: "pale" }, `${x.by}, ${clock(x.at)}`)))));
  }
  return el("section", { class: "sheet" }, found);
}

// --- the signature --------------------------------------------------------------------------------------------------

function drawSign(app) {
  if (app.measure && (!app.box.person || app.asking)) return drawAsk(app);
  const found = [el("h2", {}, "Sign the check-out")];
  for (const s of app.log.signatures) {
    found.push(el("div", { class: "signed" }, el("strong", {}, s.name), ` signed ${clock(s.at)}${s.save ? `, save ${s.save}` : ""}.`,
      s.after ? el("p", { class: "wrong" }, `${s.after === 1 ? "1 entry was" : `${s.after} entries were`} made after this signature, which it does not cover.`) : null,
      s.path ? ink(s) : null));
  }
  if (!app.measure) return el("section", { class: "sheet" }, found);
  if (app.log.unnoted) {
    found.push(el("p", { class: "note warn" }, el("strong", {}, `${app.log.unnoted} ${app.log.unnoted === 1 ? "reading is" : "readings are"} open or out of tolerance without a note. `),
      "Read them, or write on each why it was not; then the check-out can be signed."));
  }
  const pad = app.pad ||= new Pad();
  const name = el("input", { id: "name", maxlength: 120, value: app.box.person.by });
  const wrong = el("p", { class: "wrong", role: "alert" });
  found.push(el("form", { class: "sign", onsubmit: async (event) => {
    event.preventDefault();
    const drawn = pad.text;
    const who = name.value.trim();
    if (!who) {
      wrong.textContent = "Type the name of who signs.";
      return;
    }
    const made = app.box.add(app.plan, "signature", drawn ? `${who} | drawn: ${drawn}` : who);
    await app.box.send();
    const refused = app.box.outcome.get(made.id);
    if (refused === "") {
      pad.clear();
      return;
    }
    app.box.drop(made.id);
    const words = refused ? `${upper(refused)}.` : "The office does not answer; sign when it does.";
    redraw(app);
    app.parts.main.querySelector(".sign .wrong").textContent = words;
  } },
  el("p", {}, "With this name somebody says that the readings were taken as they stand here. It approves nothing: the authority having jurisdiction does."),
  el("div", { class: "field" }, el("label", { for: "name" }, "Name"), name),
  el("p", { class: "pale" }, "Sign below with a finger or the mouse, or leave it empty: the typed name counts too."),
  pad.canvas,
  el("div", { class: "row" }, el("button", { class: "first big" }, "Sign"), el("button", { type: "button", class: "big", onclick: () => pad.clear() }, "Clear the drawing")),
  wrong));
  return el("section", { class: "sheet" }, found);
}

function ink(signature) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  const path = document.createElementNS("http://www.w3.org/2000/svg", "path");
  made.setAttribute("viewBox", "0 0 186 62");
  made.setAttribute("class", "ink");
  made.setAttribute("role", "img");
  made.setAttribute("aria-label", `Signature of ${signature.name}`);
  path.setAttribute("d", signature.path);
  made.append(path);
  return made;
}
