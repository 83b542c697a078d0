// The check-out, one thing at a time: the caution of the stage, the state to bring about, then one reading.

function workView(app) {
  const { sheet } = app;
  const open = sheet.plan.map((p, n) => n).filter((n) => app.states[n] === "open");
  const next = open.find((n) => !app.skipped.has(n)) ?? open[0];
  if (app.skipped.size && open.length && open.every((n) => app.skipped.has(n))) app.skipped.clear();
  const at = app.chosen ?? next;
  const bars = stageBars(app);
  if (at === undefined) {
    const beyond = app.states.filter((x) => x === "beyond").length;
    return [bars, h("section", { class: "card" },
      h("h2", { tabindex: "-1", "data-focus": true }, "Every planned reading is taken"),
      beyond ? h("p", {}, `${beyond} of them ${beyond === 1 ? "is" : "are"} not as expected.`) : h("p", {}, "All are as expected."),
      h("div", { class: "row" },
        beyond ? h("button", { type: "button", class: "first", onclick: () => app.go("search") }, "Search for the mistake") : null,
        h("button", { type: "button", class: beyond ? "" : "first", onclick: () => app.go("hand") }, "Hand over")))];
  }
  const [probe, accepted] = sheet.plan[at];
  const stage = sheet.stageOf(probe);
  if (!app.cautionRead(stage)) return [bars, cautionCard(app, stage)];
  if (app.here !== sheet.preparationOf(probe).key) {
    lightProbe(app, probe);
    return [bars, preparationCard(app, probe)];
  }
  lightProbe(app, probe);
  return [bars, probeCard(app, probe, `Reading ${at + 1} of ${sheet.plan.length}${accepted ? ", acceptance list" : ""}`, {
    skip: () => { app.skipped.add(at); app.chosen = null; app.draft = {}; app.render(); app.focus(); },
  })];
}

function stageBars(app) {
  return h("ol", { class: "stages", "aria-label": "Progress by stage" }, progressOf(app.sheet, app.told).map((s) => {
    const done = s.within + s.beyond;
    const words = `${s.stage}: ${done} of ${s.planned} read${s.beyond ? `, ${s.beyond} not as expected` : ""}`;
    return h("li", {}, h("span", { class: "stage-name" }, s.stage),
      h("span", { class: "bar", role: "img", "aria-label": words },
        ...bar(s.within, s.planned, "in"), ...bar(s.beyond, s.planned, "out")),
      h("span", { class: "stage-count", "aria-hidden": "true" }, `${done}/${s.planned}${s.beyond ? ` ✗${s.beyond}` : ""}`));
  }));
}

function bar(count, of, kind) {
  if (!count) return [];
  const node = h("span", { class: `part ${kind}` });
  node.style.width = `${(100 * count) / of}%`;
  return [node];
}

function cautionCard(app, stage) {
  const { name, caution } = app.sheet.stages[stage];
  return h("section", { class: "card" },
    h("p", { class: "eyebrow" }, `Stage ${stage + 1} of ${app.sheet.stages.length}`),
    h("h2", { tabindex: "-1", "data-focus": true }, `First the caution: ${name}`),
    h("p", { class: "caution large" }, caution),
    h("ul", { class: "small" }, app.sheet.general.map((words) => h("li", {}, words))),
    h("div", { class: "row" }, h("button", {
      type: "button", class: "first big",
      onclick: () => { app.hush(); app.add(DONE, CAUTION_READ + name); app.focus(); },
    }, "Read, and acted on")));
}

function preparationCard(app, probe) {
  const target = app.sheet.preparationOf(probe);
  const steps = pathBetween(app.sheet, app.here, target.key);
  return h("section", { class: "card" },
    h("p", { class: "eyebrow" }, app.sheet.stages[target.stage].name),
    h("h2", { tabindex: "-1", "data-focus": true }, `Bring about: ${target.key}`),
    h("ol", { class: "steps" }, steps.map((step) => h("li", {},
      step.back ? h("b", {}, "Back to: ") : "", step.words,
      step.needs ? h("p", { class: "needs" }, `With ${step.needs}.`) : ""))),
    h("p", { class: "caution" }, app.sheet.stages[target.stage].caution),
    h("div", { class: "row" }, h("button", {
      type: "button", class: "first big",
      onclick: () => { app.hush(); app.add(DONE, BROUGHT + target.key); app.focus(); },
    }, "It stands so")));
}

function lightProbe(app, probe) {
  if (app.lit === probe) return;
  app.lit = probe;
  const { red, black } = app.sheet.probes;
  const wanted = red[probe]
    ? [{ name: red[probe], letter: "R", words: red[probe] }, { name: black[probe], letter: "B", words: black[probe] }]
    : [{ name: app.sheet.about(probe), letter: "○", words: app.sheet.about(probe) }];
  app.drawing.light(wanted.filter((w) => w.name));
}

// One reading: what to do, what to expect, and the entry.
function probeCard(app, probe, eyebrow, { skip, correct = null, steps = [] } = {}) {
  const { sheet } = app;
  const kind = sheet.kind(probe), p = sheet.probes, caution = sheet.caution(probe);
  const leads = p.red[probe] ? h("dl", { class: "leads" },
    lead("R", kind === "volts DC" ? "red, +" : "red", p.red[probe]), lead("B", "black", p.black[probe])) : null;
  return h("section", { class: "card probe" },
    h("p", { class: "eyebrow" }, `${eyebrow} · ${sheet.preparationOf(probe).key}`),
    steps.length ? h("ol", { class: "steps" }, steps.map((step) => h("li", {}, h("b", {}, step.back ? "Back to: " : "First: "),
      step.words, step.needs ? h("span", { class: "needs" }, ` With ${step.needs}.`) : ""))) : null,
    h("h2", { tabindex: "-1", "data-focus": true }, leads ? `${KINDS[kind]}: ${sheet.place(probe)}` : capital(p.words[probe])),
    leads, leads ? h("p", { class: "words" }, `${capital(p.words[probe])}.`) : h("p", { class: "words" }, `Where: ${sheet.place(probe)}.`),
    caution ? h("p", { class: "caution" }, caution) : null,
    h("p", { class: "expect" }, h("span", {}, "Expect"), h("b", {}, p.expect[probe])),
    entryForm(app, probe, correct),
    skip ? h("div", { class: "row after" },
      h("button", { type: "button", onclick: skip }, correct ? "Leave it" : "Skip for now"),
      h("button", { type: "button", class: "narrow", onclick: () => document.getElementById("drawing").scrollIntoView() }, "↓ Drawing"),
      noteButton(app)) : null);
}

const lead = (letter, words, terminal) => h("div", {},
  h("dt", {}, h("span", { class: `lead ${letter}`, "aria-hidden": "true" }, letter), ` ${words}`), h("dd", {}, terminal));
const capital = (words) => words.slice(0, 1).toUpperCase() + words.slice(1);

function entryForm(app, probe, correct) {
  const { sheet } = app;
  const words = sheet.answers(probe);
  const more = correct ? { replaces: correct.id } : {};
  const wrong = h("p", { class: "wrong", id: "entry-wrong", role: "alert" });
  const take = (text, low) => {
    try {
      app.read(probe, text, low, more);
    } catch (error) {
      if (!(error instanceof ReadingError)) throw error;
      wrong.textContent = error.message;
      const input = document.getElementById("entry");
      input?.setAttribute("aria-invalid", "true");
      input?.focus();
    }
  };
  if (words.length) {
    return h("div", { class: "answers", role: "group", "aria-label": "What is seen" },
      words.map((w) => h("button", { type: "button", class: "big", onclick: () => take(w, false) }, capital(w))), wrong);
  }
  const units = OFFERED[sheet.kind(probe)] || [];
  const draft = app.draft.probe === probe ? app.draft : { probe, text: "", unit: units[0], low: sheet.probes.meter[probe] === sheet.constants.LOW_IMPEDANCE_OHM };
  app.draft = draft;
  const input = h("input", {
    id: "entry", inputmode: "decimal", autocomplete: "off", value: draft.text, maxlength: 40,
    "aria-describedby": "entry-wrong", oninput: () => { draft.text = input.value; },
  });
  const group = `unit-${probe}`;
  const submit = (event) => {
    event.preventDefault();
    const bare = /^[+-]?[0-9.,]+$/.test(input.value.trim());
    take(bare ? `${input.value.trim()} ${draft.unit}` : input.value, draft.low);
  };
  const quick = sheet.kind(probe) === "ohms" ? ["OL"] : sheet.probes.slot[probe].endsWith(">reads") ? ["open", "short"] : [];
  return h("form", { class: "entry", onsubmit: submit, novalidate: true },
    h("label", { for: "entry" }, correct ? "What it should have said" : "What you read"),
    h("div", { class: "entry-row" }, input,
      units.length > 1 ? h("div", { class: "units", role: "radiogroup", "aria-label": "Unit" }, units.map((unit) => h("label", {},
        h("input", { type: "radio", name: group, value: unit, checked: unit === draft.unit, onchange: () => { draft.unit = unit; } }),
        h("span", {}, unit)))) : h("span", { class: "unit" }, units[0] || ""),
      quick.map((q) => h("button", { type: "button", onclick: () => take(q, draft.low) }, q)),
      h("button", { type: "submit", class: "first" }, "Take down")),
    sheet.kind(probe) === "volts AC" ? h("label", { class: "tick" },
      h("input", { type: "checkbox", checked: draft.low, onchange: (e) => { draft.low = e.target.checked; } }),
      "read with the low-impedance range") : null,
    wrong);
}

function noteButton(app) {
  const details = h("details", { class: "note-box" }, h("summary", {}, "Add a note"));
  let input;
  details.append(h("form", { onsubmit: (event) => {
    event.preventDefault();
    const words = input.value.split(/\s+/).filter(Boolean).join(" ");
    if (words && app.add(NOTE, words)) app.say("Noted.", "good");
  } }, field("Note", (id) => { input = h("input", { ...id, maxlength: 500 }); return input; }),
  h("button", { type: "submit" }, "Take down")));
  return details;
}
