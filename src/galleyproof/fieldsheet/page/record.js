// The log on the page, with corrections, a colleague's file, export, codes; and the hand-over.

const CODE_CHARACTERS = 480;

function logView(app) {
  const { told, sheet } = app;
  if (app.correcting) return correctView(app);
  const rows = told.ordered.slice().reverse();
  return [
    h("h2", { tabindex: "-1", "data-focus": true }, "Readings"),
    told.conflicts.length ? conflictBox(app) : null,
    exchangeBox(app),
    told.problems.length ? h("section", { class: "note" }, h("p", {}, "Kept, but not used on this sheet:"),
      h("ul", {}, told.problems.slice(0, 10).map((p) => h("li", {}, `${p.entry.by}, ${shortTime(p.entry)}: ${p.what}`)))) : null,
    rows.length ? h("ol", { class: "entries", "aria-label": "Entries, the newest first" }, rows.map((e) => entryRow(app, e)))
      : h("p", { class: "pale" }, "No entry yet."),
    h("p", { class: "pale" }, `This tablet is ${app.keep.device.slice(0, 6)}. ${sheet.job.print.slice(0, 12)} is the issue of the job.`),
    h("button", { type: "button", onclick: () => { app.person = null; app.render(); app.focus(); } }, "Another person or meter"),
  ];
}

const SPOKEN_WORDS = { complaint: "noticed", note: "note", done: "step done", repair: "put right", signature: "signature" };
const shortTime = (entry) => entry.taken_at.slice(0, 16).replace("T", " ");

function entryRow(app, entry) {
  const { sheet, told } = app;
  const probe = sheet.probeOf.get(entry.probe);
  const reading = told.readings.find((r) => r.entry.id === entry.id);
  const replaced = told.replaced.has(entry.id);
  let verdict = null;
  if (replaced) verdict = chip("plain", "replaced");
  else if (takesBack(entry)) verdict = chip("plain", "takes back");
  else if (probe !== undefined && reading) verdict = holds(sheet, probe, reading.either[0][1]) ? chip("good", "as expected") : chip("bad", "not as expected");
  else if (probe !== undefined) verdict = chip("warn", "not understood");
  const torn = told.conflicts.some((c) => c.readings.some((r) => r.entry.id === entry.id));
  const can = !replaced && !takesBack(entry) && entry.probe !== SIGNATURE;
  return h("li", { class: replaced || takesBack(entry) ? "old" : "" },
    h("div", { class: "what" }, h("b", {}, entry.read || "(taken back)"), " ", verdict, " ", torn ? chip("warn", "disagrees") : null,
      h("p", {}, probe !== undefined ? sheet.probes.where[probe] : SPOKEN_WORDS[entry.probe] || entry.probe),
      h("p", { class: "pale" }, `${shortTime(entry)} · ${entry.by}${entry.meter ? ` · ${entry.meter.name}${entry.meter.low_impedance ? ", low-impedance range" : ""}` : ""} · tablet ${entry.device.slice(0, 6)}`)),
    can ? h("div", { class: "row" },
      probe !== undefined ? h("button", { type: "button", "aria-label": `Correct ${entry.read}, ${sheet.probes.where[probe]}`, onclick: () => { app.correcting = entry; app.go("log"); } }, "Correct") : null,
      h("button", { type: "button", "aria-label": `Take back ${entry.read}, ${probe !== undefined ? sheet.probes.where[probe] : entry.probe}`, onclick: () => app.takeBack(entry) }, "Take back")) : null);
}

function correctView(app) {
  const entry = app.correcting;
  const probe = app.sheet.probeOf.get(entry.probe);
  const leave = () => { app.correcting = null; app.go("log"); };
  if (probe === undefined || !app.told.standing.some((e) => e.id === entry.id)) {
    app.correcting = null;
    return logView(app);
  }
  lightProbe(app, probe);
  return [h("p", {}, `Corrects “${entry.read}”, taken ${shortTime(entry)} by ${entry.by}. Both stay in the log.`),
    probeCard(app, probe, "Correction", { correct: entry, skip: leave })];
}

function conflictBox(app) {
  const { sheet, told } = app;
  return h("section", { class: "note bad", role: "group", "aria-label": "Readings that disagree" },
    h("h3", {}, `Readings that disagree: ${told.conflicts.length}`),
    h("p", {}, "Two readings of one place differ by more than the meters explain. Nothing was overwritten: read again, then take the wrong one back."),
    h("ul", {}, told.conflicts.map(({ probe, readings }) => h("li", {}, `${sheet.probes.where[probe]}: `,
      readings.map((r) => `${r.entry.read} (${r.entry.by}, ${shortTime(r.entry)})`).join(" and ")))));
}

function exchangeBox(app) {
  const file = h("input", { type: "file", id: "colleague", accept: ".json,application/json", onchange: () => takeIn(app, file) });
  return h("section", { class: "card" },
    h("h3", {}, "To the office and to colleagues"),
    h("div", { class: "row" },
      h("button", { type: "button", class: "first", onclick: () => download(app) }, "Export to a file"),
      h("button", { type: "button", onclick: () => showCodes(app) }, "Show as QR codes")),
    h("div", { class: "field" }, h("label", { for: "colleague" }, "Take in a colleague's file"), file),
    h("div", { id: "codes" }));
}

function fileName(app) {
  const safe = app.sheet.job.name.normalize("NFKD").replace(/[^A-Za-z0-9]+/g, "-").replace(/^-+|-+$/g, "").toLowerCase() || "job";
  return `${safe.slice(0, 60)}-readings-${app.keep.device.slice(0, 6)}.json`;
}

function download(app) {
  const link = h("a", { href: URL.createObjectURL(new Blob([writeLog(app.entries)], { type: "application/json" })), download: fileName(app) });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  app.say(`${many(app.entries.length, "entry", "entries")} exported to ${fileName(app)}.`, "good");
}

async function takeIn(app, file) {
  const given = file.files[0];
  if (!given) return;
  try {
    if (given.size > 32e6) throw new Error("This file is larger than 32 MB; a log of readings is not.");
    const { fresh, known, clashes } = compareLogs(app.entries, readLog(app.sheet, await given.text()));
    if (clashes.length) {
      const list = clashes.slice(0, 3).map(({ own, other }) => `“${own.read}” here, “${other.read}” there`).join("; ");
      throw new Error(`Nothing was taken in: ${clashes.length} of its entries stand here with other words (${list}). `
        + "An entry is never changed, so one of the two logs was edited; export it again from the tablet that made it.");
    }
    for (const entry of fresh) app.keep.add(entry);
    const before = new Set(app.told.conflicts.map((c) => c.probe));
    app.reload();
    const torn = app.told.conflicts.filter((c) => !before.has(c.probe)).length;
    app.say(`${many(fresh.length, "entry", "entries")} taken in, ${known} here already.${torn ? ` ${many(torn, "place")} now with readings that disagree; see above.` : ""}`, torn ? "bad" : "good");
  } catch (error) {
    const room = error.name === "QuotaExceededError" || error.name === "NS_ERROR_DOM_QUOTA_REACHED";
    app.reload();
    app.say(room ? "Only a part was taken in: this tablet has no room left. Make room and take the file in again." : error.message, "bad");
  }
}

async function showCodes(app) {
  const parts = await splitToCodes(writeLog(app.entries), CODE_CHARACTERS);
  const place = document.getElementById("codes");
  app.hush();  // nothing may lie over a code
  let at = 0;
  const draw = () => {
    place.replaceChildren(
      h("p", { id: "code-place" }, `Code ${at + 1} of ${parts.length}. The office scans them in any order.`),
      qrCode(parts[at], `QR code ${at + 1} of ${parts.length}`),
      h("div", { class: "row" },
        h("button", { type: "button", disabled: at === 0, onclick: () => { at -= 1; draw(); } }, "Before"),
        h("button", { type: "button", class: "first", id: "next-code", disabled: at === parts.length - 1, onclick: () => { at += 1; draw(); } }, "Next code")));
    if (document.activeElement === document.body) place.querySelector("button:not(:disabled)")?.focus({ preventScroll: true });
    place.scrollIntoView({ block: "nearest" });
  };
  draw();
}

function qrCode(text, label) {
  const code = qrcode(0, "M");
  code.addData(text, "Alphanumeric");
  code.make();
  const n = code.getModuleCount();
  let path = "";
  for (let row = 0; row < n; row += 1) {
    for (let column = 0; column < n; column += 1) if (code.isDark(row, column)) path += `M${column + 4},${row + 4}h1v1h-1z`;
  }
  return s("svg", { class: "qr", viewBox: `0 0 ${n + 8} ${n + 8}`, role: "img", "aria-label": label, "shape-rendering": "crispEdges" },
    s("rect", { width: n + 8, height: n + 8, fill: "#ffffff" }), s("path", { d: path, fill: "#000000" }));
}

// --- hand-over ------------------------------------------------------------------------------------------------------

function handView(app) {
  const { sheet, told, states } = app;
  const open = states.filter((x) => x === "open").length, beyond = states.filter((x) => x === "beyond").length;
  const signatures = told.standing.filter((e) => e.probe === SIGNATURE);
  const summary = `${states.length - open} of ${states.length} readings taken, ${beyond} not as expected, ${told.conflicts.length} in disagreement, ${many(told.repairs, "repair")}`;
  return [
    h("h2", { tabindex: "-1", "data-focus": true }, "Hand over"),
    stageBars(app),
    h("p", {}, `${summary}.`),
    open || beyond || told.conflicts.length
      ? h("p", { class: "note" }, "A check-out with open or wrong readings can be signed; the signature then says so.") : null,
    told.conflicts.length ? conflictBox(app) : null,
    signBox(app, summary),
    signatures.map((e) => {
      const later = told.ordered.slice(told.ordered.indexOf(e) + 1).length;
      return h("p", { class: "signed" }, h("b", {}, `Signed: ${e.read}`), ` · ${shortTime(e)}, tablet ${e.device.slice(0, 6)}. `,
        later ? chip("warn", `${many(later, "entry", "entries")} made after it`) : chip("good", "covers every entry"));
    }),
    h("div", { class: "row" }, h("button", { type: "button", onclick: () => window.print() }, "Print the record"),
      h("button", { type: "button", onclick: () => download(app) }, "Export to a file")),
    h("div", { class: "wide", tabindex: "0", role: "group", "aria-label": "Record of the check-out" }, recordTable(app)),
  ];
}

function signBox(app, summary) {
  let name, role;
  const submit = (event) => {
    event.preventDefault();
    const clean = (node) => node.value.split(/\s+/).filter(Boolean).join(" ");
    if (!clean(name)) {
      app.say("Give the name that signs.", "bad");
      name.focus();
      return;
    }
    const words = `${clean(name)}${clean(role) ? `, ${clean(role)}` : ""}: ${summary}; log ${crc32(utf8(writeLog(app.entries)))}`;
    const entry = app.add(SIGNATURE, words);
    if (entry) app.say("Signed. What is entered after this is shown as made after it.", "good");
    app.focus();
  };
  return h("form", { class: "card", onsubmit: submit, novalidate: true }, h("h3", {}, "Signature"),
    field("Name in full", (id) => { name = h("input", { ...id, maxlength: 120, autocomplete: "name", value: app.person.by }); return name; }),
    field("As", (id) => { role = h("input", { ...id, maxlength: 120 }); return role; }, "Start-up technician, electrician, for the owner ..."),
    h("p", { class: "pale" }, `It will say: ${summary}. It is a record of who stands for the readings, not an approval.`),
    h("button", { type: "submit", class: "first" }, "Sign"));
}

function recordTable(app) {
  const { sheet, told, states } = app;
  const latest = new Map();
  for (const r of told.readings) if (!r.text) latest.set(r.either[0][0], r);
  const cells = (...words) => words.map((w) => h("td", {}, w));
  return h("table", { class: "record" },
    h("caption", {}, h("bdi", {}, sheet.jobName), ", ", h("bdi", {}, sheet.job.number), `, revision ${sheet.job.revision}: readings of the check-out`),
    h("thead", {}, h("tr", {}, ["No.", "Reading", "Expected", "Read", "By", "When", ""].map((w) => h("th", { scope: "col" }, w)))),
    h("tbody", {}, sheet.plan.map(([probe, accepted], n) => {
      const r = latest.get(probe);
      const state = { open: r ? chip("warn", "again") : chip("plain", "open"), within: chip("good", "as expected"), beyond: chip("bad", "not as expected") }[states[n]];
      const go = h("button", {
        type: "button", "aria-label": `Go to reading ${n + 1}`, onclick: () => { app.chosen = n; app.go("work"); },
      }, String(n + 1));
      return h("tr", {}, h("td", {}, go, h("span", { class: "printed" }, String(n + 1))), h("th", { scope: "row" }, `${sheet.probes.where[probe]}${accepted ? " (acceptance)" : ""}`),
        cells(sheet.probes.expect[probe], r ? r.entry.read : "", r ? r.entry.by : "", r ? shortTime(r.entry) : "", state));
    })));
}
