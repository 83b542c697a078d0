// The log of readings: entries are added, never changed. What stands, what disagrees, how far the plan is: as the
// office works it out (checkout/log.py and checkout/standing.py).

const COMPLAINT = "complaint", NOTE = "note", DONE = "done", REPAIR = "repair", SIGNATURE = "signature";
const SPOKEN = [COMPLAINT, NOTE, DONE, REPAIR, SIGNATURE];
const KEYS = ["id", "job", "job_name", "probe", "read", "taken_at", "sequence", "device", "by", "meter", "replaces"];
const takesBack = (entry) => !entry.read.trim();

// Entries in the order they were made: each device's by its own numbers, the devices among each other by time.
function inOrder(entries) {
  const byDevice = new Map();
  for (const entry of entries) {
    if (!byDevice.has(entry.device)) byDevice.set(entry.device, []);
    byDevice.get(entry.device).push(entry);
  }
  const text = (a, b) => (a < b ? -1 : a > b ? 1 : 0);
  const placed = [];
  for (const own of byDevice.values()) {
    let latest = -Infinity;
    own.sort((a, b) => a.sequence - b.sequence || text(a.id, b.id));
    for (const entry of own) {
      // a clock that was moved back does not move its entries
      latest = Math.max(latest, Date.parse(entry.taken_at));
      placed.push({ latest, entry });
    }
  }
  placed.sort((a, b) => a.latest - b.latest || text(a.entry.device, b.entry.device)
    || a.entry.sequence - b.entry.sequence || text(a.entry.id, b.entry.id));
  return placed.map((p) => p.entry);
}

// Ids that another entry of the same probe replaces; entries that replace each other in a ring all stand.
function replacedIds(entries) {
  const byId = new Map(entries.map((e) => [e.id, e]));
  const target = new Map();
  for (const entry of entries) {
    const other = byId.get(entry.replaces);
    if (other && other.probe === entry.probe && other.job === entry.job) target.set(entry.id, other.id);
  }
  const ring = new Set(), walked = new Set();
  for (const start of target.keys()) {
    const path = [];
    let at = start;
    while (at !== undefined && !walked.has(at)) {
      walked.add(at);
      path.push(at);
      at = target.get(at);
    }
    if (path.includes(at)) path.slice(path.indexOf(at)).forEach((id) => ring.add(id));
  }
  const found = new Set();
  for (const [id, other] of target) if (!ring.has(id)) found.add(other);
  return found;
}

// What a log says, worked out once: entries in order, those that stand, the chapter of each, readings and conflicts.
function digest(sheet, entries) {
  const ordered = inOrder(entries);
  const replaced = replacedIds(ordered);
  const stands = (e) => !replaced.has(e.id) && !takesBack(e);
  const standing = ordered.filter(stands);
  const chapter = new Map();
  let repairs = 0;
  for (const entry of ordered) {
    chapter.set(entry.id, repairs);
    if (entry.probe === REPAIR && stands(entry)) repairs += 1;
  }
  const readings = [], problems = [];
  for (const entry of standing) {
    if (SPOKEN.includes(entry.probe) && entry.probe !== COMPLAINT) continue;
    try {
      readings.push({ entry, ...meant(sheet, entry) });
    } catch (error) {
      problems.push({ entry, what: error.message });
    }
  }
  const conflicts = conflictsOf(sheet, readings, chapter);
  return { ordered, replaced, standing, chapter, repairs, readings, problems, conflicts };
}

// What an entry tells the diagnosis: {either, text}.
function meant(sheet, entry) {
  if (entry.probe === COMPLAINT) {
    const saying = sheet.sayingOf(entry.read);
    if (!saying) throw new ReadingError(`“${entry.read}” cannot be followed up on this sheet; the office can`);
    return { either: saying, text: entry.read };
  }
  const probe = sheet.probeOf.get(entry.probe);
  if (probe === undefined) throw new ReadingError(`there is no probe “${entry.probe}” on this sheet`);
  return { either: [[probe, understood(sheet, probe, entry.read)]], text: "" };
}

// Whether two readings of one probe may be one truth read with two meters.
function agree(sheet, probe, a, b) {
  const kind = sheet.kind(probe);
  const [x, y] = [a.either[0][1], b.either[0][1]];
  if (typeof x === "string" || typeof y === "string") return x === y;
  if (!Number.isFinite(x) || !Number.isFinite(y)) {
    return x === y || (kind === "ohms" && Math.min(x, y) > sheet.constants.OPEN_OHM);
  }
  if (Math.abs(x - y) <= Math.max(margin(kind, x), margin(kind, y))) return true;
  // what a raceway couples in shows on an ordinary meter and is gone on a low-impedance one
  const [m, n] = [a.entry.meter, b.entry.meter];
  const [least, most] = sheet.constants.GHOST_V;
  const ghost = [x, y].some((v) => least <= v && v <= most);
  return kind === "volts AC" && Boolean(m && n) && m.low_impedance !== n.low_impedance && ghost;
}

function conflictsOf(sheet, readings, chapter) {
  const byProbe = new Map();
  for (const reading of readings) {
    if (reading.text) continue;
    const probe = reading.either[0][0];
    if (!byProbe.has(probe)) byProbe.set(probe, []);
    byProbe.get(probe).push(reading);
  }
  const found = [];
  for (const [probe, own] of [...byProbe].sort((a, b) => a[0] - b[0])) {
    const odd = own.filter((a) => own.some(
      (b) => chapter.get(a.entry.id) === chapter.get(b.entry.id) && !agree(sheet, probe, a, b),
    ));
    if (odd.length) found.push({ probe, readings: odd });
  }
  return found;
}

// State of each planned reading: "open", "within" or "beyond"; out of tolerance before a repair is open again.
function planStates(sheet, told) {
  const latest = new Map();
  for (const reading of told.readings) if (!reading.text) latest.set(reading.either[0][0], reading);
  const torn = new Set();
  for (const { probe, readings } of told.conflicts) {
    if (told.chapter.get(readings[readings.length - 1].entry.id) === told.repairs) torn.add(probe);
  }
  return sheet.plan.map(([probe]) => {
    const reading = latest.get(probe);
    if (!reading) return "open";
    if (holds(sheet, probe, reading.either[0][1]) && !torn.has(probe)) return "within";
    return told.chapter.get(reading.entry.id) === told.repairs ? "beyond" : "open";
  });
}

function progressOf(sheet, told) {
  const states = planStates(sheet, told);
  return sheet.stages.map((stage, n) => {
    const own = states.filter((_, i) => sheet.stageOf(sheet.plan[i][0]) === n);
    const count = (what) => own.filter((s) => s === what).length;
    return { stage: stage.name, planned: own.length, within: count("within"), beyond: count("beyond") };
  }).filter((s) => s.planned);
}

// What the diagnosis takes: from the last repair on.
function observationsOf(told) {
  return told.readings.filter((r) => told.chapter.get(r.entry.id) === told.repairs);
}

// --- the file -------------------------------------------------------------------------------------------------------

function writeLog(entries) {
  const lines = inOrder(entries).map((e) => JSON.stringify(tidy(e)));
  return `{"readings_log":1,"entries":[\n${lines.join(",\n")}${lines.length ? "\n" : ""}]}\n`;
}

// An entry with its keys in their order and without empty ones.
function tidy(entry) {
  return Object.fromEntries(KEYS.filter((k) => entry[k] !== undefined && entry[k] !== null).map((k) => [k, entry[k]]));
}

// Entries of a colleague's file; throws an Error with everything that is wrong.
function readLog(sheet, text) {
  let raw;
  try {
    raw = JSON.parse(text.replace(/^\ufeff/, ""));
  } catch {
    throw new Error("This is no log of readings: it is not JSON. Give the file as the other tablet exported it.");
  }
  if (!raw || raw.readings_log !== 1 || !Array.isArray(raw.entries)) {
    throw new Error("This is no log of readings of this version. Give the file as the other tablet exported it.");
  }
  if (raw.entries.length > sheet.constants.MOST_ENTRIES) throw new Error("This log has more entries than a log may have.");
  const wrong = [];
  raw.entries.forEach((entry, n) => {
    const what = faultOf(sheet, entry);
    if (what) wrong.push(`entry ${n + 1}: ${what}`);
  });
  if (wrong.length) {
    const more = wrong.length > 5 ? ` … and ${wrong.length - 5} more` : "";
    throw new Error(`Nothing was taken in. ${wrong.slice(0, 5).join("; ")}${more}.`);
  }
  return raw.entries.map(tidy);
}

function faultOf(sheet, e) {
  if (!e || typeof e !== "object" || Array.isArray(e)) return "is no entry";
  const odd = Object.keys(e).find((k) => !KEYS.includes(k));
  if (odd) return `has an unknown key “${odd.slice(0, 40)}”`;
  const hex = (value, length) => typeof value === "string" && value.length === length && /^[0-9a-f]+$/.test(value);
  const line = (value, most) => typeof value === "string" && value.length > 0 && value.length <= most
    && value === value.trim() && !/[\p{Cc}\p{Cs}]/u.test(value);
  if (!hex(e.id, 32)) return "its id is not 32 hexadecimal digits";
  if (!hex(e.device, 32)) return "its device is not 32 hexadecimal digits";
  if (!hex(e.job, 64)) return "its job is not a SHA-256";
  if (e.job !== sheet.job.print) return `was taken on another issue of a job (“${String(e.job_name).slice(0, 60)}”)`;
  if (!line(e.job_name, 120)) return "its job_name is not a line of text";
  if (!line(e.by, 120)) return "its by is not a line of text";
  if (!line(e.probe, 300)) return "its probe is not a line of text";
  if (typeof e.read !== "string" || e.read.length > sheet.constants.MOST_READ || /[\p{Cc}\p{Cs}]/u.test(e.read)) {
    return "its read is not a line of text";
  }
  if (!Number.isSafeInteger(e.sequence) || e.sequence < 0) return "its sequence is not a whole number";
  const moment = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?(Z|[+-]\d\d:\d\d)$/;
  if (typeof e.taken_at !== "string" || !moment.test(e.taken_at) || Number.isNaN(Date.parse(e.taken_at))) {
    return "its taken_at is no date and time with its offset";
  }
  if (e.replaces !== undefined && e.replaces !== null && (!hex(e.replaces, 32) || e.replaces === e.id)) {
    return "its replaces is no id of another entry";
  }
  if (takesBack(e) && !e.replaces) return "its read is empty";
  const m = e.meter;
  if (m !== undefined && m !== null
    && !(typeof m === "object" && line(m.name, 120) && typeof m.low_impedance === "boolean"
      && Object.keys(m).length === 2)) return "its meter is not a name and a range";
  return "";
}

// What a colleague's entries would add: {fresh, known, clashes}; an id that stands for two entries is a clash.
function compareLogs(mine, theirs) {
  const byId = new Map(mine.map((e) => [e.id, e]));
  const fresh = [], clashes = [];
  let known = 0;
  for (const entry of theirs) {
    const own = byId.get(entry.id);
    if (!own) {
      byId.set(entry.id, entry);
      fresh.push(entry);
    } else if (canonical(own) === canonical(entry)) known += 1;
    else clashes.push({ own, other: entry });
  }
  return { fresh, known, clashes };
}

function canonical(entry) {
  const { meter, ...rest } = tidy(entry);
  return JSON.stringify([rest, meter ? [meter.name, meter.low_impedance] : null]);
}

// --- a run of codes -------------------------------------------------------------------------------------------------

// Parts of a document, each at most so many characters: checkout/codes.py says how they are made.
async function splitToCodes(text, most) {
  const data = utf8(text);
  const packed = await deflate(data);
  const [form, body] = packed && packed.length < data.length ? ["Z", packed] : ["P", data];
  const around = "GPLOG1:00000000:9999:9999:Z::00000000".length;
  const size = 2 * Math.floor((most - around) / 3);
  const count = Math.max(1, Math.ceil(body.length / size));
  const name = crc32(data);
  return Array.from({ length: count }, (_, n) => {
    const made = `GPLOG1:${name}:${n + 1}:${count}:${form}:${base45(body.subarray(n * size, (n + 1) * size))}`;
    return `${made}:${crc32(utf8(made))}`;
  });
}
