// The search: what explains the readings, and which one to take next.

const MOST_SHOWN = 5, SMALL = 0.005;

function searchView(app) {
  const { sheet, beliefs } = app;
  const suspects = beliefs.suspects(MOST_SHOWN).filter((x) => x.chance >= SMALL);
  const sure = beliefs.sure;
  const found = [alertBox(app)];
  if (app.told.conflicts.length) found.push(conflictBox(app));
  if (!beliefs.seen.length) {
    found.push(h("section", { class: "card" }, h("h2", { tabindex: "-1", "data-focus": true }, "Nothing is read yet"),
      h("p", {}, "Say what somebody noticed, take the readings of the check-out, or begin with the reading below.")));
  } else if (!beliefs.fits) {
    found.push(h("section", { class: "card" }, h("h2", { tabindex: "-1", "data-focus": true }, "No single mistake explains these readings"),
      h("p", {}, "Read the oddest one again. Then think of two mistakes at once: the office can work those out from the "
        + "exported log. Then of what is not wiring: settings, a broken part inside, noise.")));
  }
  const next = app.search.next(beliefs, (probe) => !app.leftOut.has(probe) && sheet.stageOf(probe) <= app.upTo);
  const isFound = sure && suspects[0].slips.length > 0;
  if (isFound) {
    lightPlaces(app, sheet.slips.terminals[suspects[0].slips[0]]);
    found.push(suspectList(app, suspects, sure), repairBox(app, suspects[0]));
  } else {
    if (beliefs.seen.length && !app.isRight()) found.push(h("p", { class: "likely" }, "Likeliest so far: ", h("b", {}, headline(app, suspects[0])), "."));
    found.push(nextBox(app, next));
    if (beliefs.seen.length) found.push(suspectList(app, suspects, sure));
  }
  found.push(noticedBox(app));
  if (!isFound && beliefs.seen.length && !app.isRight()) found.push(repairBox(app, suspects[0]));
  return found;
}

function alertBox(app) {
  const a = app.alert;
  if (!a || !app.told.standing.some((e) => e.id === a.entry.id)) return null;
  const { probes } = app.sheet;
  return h("section", { class: "note bad", role: "group", "aria-label": "The last reading" },
    h("p", {}, h("b", {}, "Not as expected. "), `${probes.where[a.probe]}: expected ${probes.expect[a.probe]}, read ${a.entry.read}.`),
    a.doubt ? h("p", {}, h("b", {}, "The meter first: "), `${a.doubt}.`) : null,
    h("div", { class: "row" },
      h("button", { type: "button", onclick: () => { app.correcting = a.entry; app.go("log"); } }, "Typed wrong: correct it"),
      h("button", { type: "button", onclick: () => { app.alert = null; app.go("work"); } }, "Go on with the check-out")));
}

function suspectList(app, suspects, sure) {
  const first = suspects[0];
  const title = sure && first.slips.length ? "Found" : app.isRight() ? "So far everything reads as it should" : "What explains it";
  return h("section", { class: "card" },
    h("h2", { tabindex: "-1", "data-focus": true }, title),
    h("ol", { class: "suspects" }, suspects.map((x) => suspectItem(app, x))),
    h("details", {}, h("summary", {}, "Why the first"), h("ul", { class: "why" }, app.beliefs.explain(first).map((line) => h("li", {},
      `${line.where}: you would read ${line.would}; `, h("b", {}, line.agrees ? "you read" : "but you read"), ` ${line.read}`)))));
}

function lightPlaces(app, places) {
  app.lit = null;
  app.drawing.light(places.slice(0, 6).map((name, n) => ({ name, letter: String(n + 1), words: name })));
}

function headline(app, x) {
  const words = x.slips.length ? app.sheet.slips.sentence[x.slips[0]] : "nothing is wrong, a reading was misread";
  return `${words} (${percentOf(x.chance)})`;
}

const percentOf = (chance) => (chance >= 0.995 && chance < 1 ? "> 99 %" : `${Math.round(100 * chance)} %`);

function suspectItem(app, x) {
  const { sentence, terminals, across } = app.sheet.slips;
  const meter = h("span", { class: "chance" }, percentOf(x.chance));
  if (!x.slips.length) {
    return h("li", {}, meter, h("div", {}, h("p", {}, "Nothing that a reading could show is wrong.",
      x.unexplained ? ` Then ${x.unexplained === 1 ? "one reading was" : `${x.unexplained} readings were`} misread.` : ""),
      x.others.length ? h("p", { class: "pale" }, `${x.others.length} mistakes that no reading shows stay possible; they are listed in the package.`) : null));
  }
  const members = [...x.slips, ...x.others];
  const places = [...new Set(members.flatMap((m) => terminals[m]))];
  const common = (lists) => lists.map((l) => new Set(l)).reduce((a, b) => new Set([...a].filter((t) => b.has(t))));
  const own = members.map((m) => terminals[m].map((t) => t.split(":")[0]));
  const shared = common(own).size ? common(own) : common(own.map((l, n) => [...l, ...across[members[n]]]));
  const show = () => {
    lightPlaces(app, places);
    document.getElementById("drawing").scrollIntoView({ block: "nearest" });
  };
  return h("li", {}, meter, h("div", {},
    h("p", {}, `${capital(sentence[x.slips[0]])}.`),
    x.others.length ? h("details", {}, h("summary", {}, `No reading tells it from ${x.others.length} other${x.others.length === 1 ? "" : "s"}`),
      h("ul", {}, x.others.slice(0, 12).map((o) => h("li", {}, capital(sentence[o]))),
        x.others.length > 12 ? h("li", {}, `and ${x.others.length - 12} more`) : null)) : null,
    x.others.length && shared.size ? h("p", { class: "pale" }, `What they share: ${[...shared].join(", ")}.`) : null,
    h("p", { class: "look" }, `Look at ${places.slice(0, 8).join(", ")}${places.length > 8 ? ` and ${places.length - 8} more` : ""}. `,
      h("button", { type: "button", class: "small", onclick: show }, "Show"))));
}

function nextBox(app, next) {
  const { sheet } = app;
  const limit = field("Go as far as", (id) => h("select", {
    ...id, onchange: (event) => { app.upTo = Number(event.target.value); app.render(); },
  }, sheet.stages.map((stage, n) => h("option", { value: n, selected: n === app.upTo }, stage.name))));
  if (!next) {
    return h("section", { class: "card" }, h("h2", {}, "No further reading tells more"),
      app.leftOut.size || app.upTo < sheet.stages.length - 1
        ? h("p", {}, "Some were skipped, or belong to a later stage.") : null,
      limit, app.leftOut.size ? h("button", { type: "button", onclick: () => { app.leftOut.clear(); app.render(); } }, "Offer the skipped ones again") : null);
  }
  const stage = sheet.stageOf(next.probe);
  if (!app.cautionRead(stage)) return h("div", {}, h("p", { class: "eyebrow" }, "The next reading is in another stage"), cautionCard(app, stage), limit);
  lightProbe(app, next.probe);
  const steps = app.here === sheet.preparationOf(next.probe).key ? [] : pathBetween(sheet, app.here, sheet.preparationOf(next.probe).key);
  return h("div", {}, probeCard(app, next.probe, `Next, tells most for ${Math.max(1, Math.round(next.minutes))} min`, {
    steps, skip: () => { app.leftOut.add(next.probe); app.draft = {}; app.render(); app.focus(); },
  }), limit);
}

function noticedBox(app) {
  const { sheet } = app;
  const tags = [...new Set(sheet.sayings.map(([tag]) => tag))].sort((a, b) => a.localeCompare(b, "en", { numeric: true }));
  let sentence, number, numberField;
  const fill = (tag) => sheet.sayings.filter((x) => x[0] === tag).map(([, text, , isNumber]) => (
    h("option", { value: text }, isNumber ? `${text.slice(0, -1)}… (a number)` : text)));
  const numbered = () => sheet.sayings.some((x) => x[1] === sentence.value && x[3]);
  const device = field("About", (id) => h("select", {
    ...id,
    onchange: (event) => { sentence.replaceChildren(...fill(event.target.value)); numberField.hidden = !numbered(); },
  }, tags.map((tag) => h("option", { value: tag }, tag || "the whole job"))));
  const what = field("What is seen", (id) => {
    sentence = h("select", { ...id, onchange: () => { numberField.hidden = !numbered(); } }, fill(tags[0]));
    return sentence;
  });
  numberField = field("Number shown", (id) => { number = h("input", { ...id, inputmode: "decimal", maxlength: 12 }); return number; });
  numberField.hidden = true;
  const submit = (event) => {
    event.preventDefault();
    let text = sentence.value;
    if (numbered()) {
      text = text.slice(0, -1) + number.value.trim();
      if (!sheet.sayingOf(text)) {
        app.say("Give the number as the display shows it.", "bad");
        number.focus();
        return;
      }
    }
    const entry = app.add(COMPLAINT, text);
    if (entry) app.say(`Taken down: ${text}.`, "plain", entry);
    app.focus();
  };
  return h("details", { class: "card" }, h("summary", {}, "Somebody noticed something"),
    h("form", { onsubmit: submit }, device, what, numberField, h("button", { type: "submit" }, "Take down")));
}

function repairBox(app, suspect) {
  let input;
  const words = suspect && suspect.slips.length ? `put right: ${app.sheet.slips.sentence[suspect.slips[0]]}` : "";
  const submit = (event) => {
    event.preventDefault();
    const text = input.value.split(/\s+/).filter(Boolean).join(" ").slice(0, app.sheet.constants.MOST_READ);
    if (!text) {
      input.focus();
      return;
    }
    app.alert = null;
    const entry = app.add(REPAIR, text);
    if (entry) app.say("Taken down. What was not as expected is asked for again.", "good", entry);
    if (entry) app.tab = "work";
    app.render();
    app.focus();
  };
  return h("details", { class: "card", open: Boolean(app.beliefs.sure && words) }, h("summary", {}, "It is found and put right"),
    h("form", { onsubmit: submit },
      field("What was put right", (id) => { input = h("textarea", { ...id, rows: 3, maxlength: 900 }, words); return input; },
        "From here on readings taken before no longer count as readings of the job as it is; they stay in the log."),
      h("button", { type: "submit", class: "first" }, "Put right")));
}
