// Readings in words and words into readings, as the office understands them.

const UNITS = {
  ohms: { "": 1, ohm: 1, ohms: 1, "Ω": 1, kohm: 1e3, "kΩ": 1e3, k: 1e3, Mohm: 1e6, "MΩ": 1e6, M: 1e6 },
  "volts AC": { "": 1, V: 1, VAC: 1, "V AC": 1, mV: 1e-3 },
  "volts DC": { "": 1, V: 1, VDC: 1, "V DC": 1, mV: 1e-3 },
  "amps AC": { "": 1, A: 1, amps: 1, mA: 1e-3 },
  hertz: { "": 1, Hz: 1, kHz: 1e3 },
  display: { "": 1, degF: 1, "°F": 1, F: 1 },
};
// Units offered beside the entry, the usual one first.
const OFFERED = {
  ohms: ["Ω", "kΩ", "MΩ"],
  "volts AC": ["V", "mV"],
  "volts DC": ["V", "mV"],
  "amps AC": ["A", "mA"],
  hertz: ["Hz", "kHz"],
  display: ["°F"],
};

class ReadingError extends Error {}

function said(kind, reading) {
  if (typeof reading === "string") return reading;
  if (kind === "ohms") {
    if (reading === Infinity) return "open (OL)";
    return reading >= 1000 ? `${(reading / 1000).toFixed(2)} kΩ` : `${Math.max(reading, 0).toFixed(1)} Ω`;
  }
  if (kind === "display") return `${reading.toFixed(0)} °F`;
  if (kind === "amps AC") return `${reading.toFixed(1)} A`;
  if (kind === "hertz") return `${reading.toFixed(0)} Hz`;
  return `${reading.toFixed(1)} V ${kind.replace("volts ", "")}`;
}

function understood(sheet, probe, text) {
  const given = text.split(/\s+/).filter(Boolean).join(" ");
  const low = given.toLowerCase();
  const kind = sheet.kind(probe), words = sheet.answers(probe), slot = sheet.probes.slot[probe];
  const { AS_GOOD_AS, LIKE_OPEN, LIKE_NONE } = sheet.constants;
  const reads = slot.endsWith(">reads");
  const ending = Object.keys(AS_GOOD_AS).find((e) => slot.endsWith(e));
  const alike = ending ? AS_GOOD_AS[ending] : {};
  const meant = Object.hasOwn(alike, low) ? alike[low] : low;
  if (words.length) {
    const short = words.includes("yes") ? { y: "yes", n: "no", on: "yes", off: "no" } : {};
    const whole = meant === low && Object.hasOwn(short, low) ? short[low] : meant;
    let found = words.filter((w) => w === whole);
    if (!found.length) found = words.filter((w) => low && w.startsWith(low));
    if (found.length !== 1) throw new ReadingError(`“${text}” is no answer here; say one of: ${words.join(", ")}`);
    return found[0];
  }
  if (reads && ["open", "short", "nothing"].includes(meant)) return meant;
  if (kind === "ohms" && LIKE_OPEN.includes(low)) return Infinity;
  if (Object.hasOwn(LIKE_NONE, kind) && LIKE_NONE[kind].includes(low)) return 0;
  const units = UNITS[kind] || { "": 1 };
  const value = numberOf(sheet, kind, given);
  if (value !== null) {
    if (["ohms", "volts AC", "amps AC", "hertz"].includes(kind) && value < 0) {
      throw new ReadingError(`“${text}”: ${kind} are never negative; give the size alone`);
    }
    return value;
  }
  const extra = kind === "ohms" ? " or OL" : reads ? " or open, short, nothing" : "";
  const list = Object.keys(units).filter(Boolean).join(", ");
  throw new ReadingError(`“${text}” is no reading here; give a number, alone or with one of: ${list}${extra}`);
}

// A number with its unit: 24.1, about 24 v, 23 to 25 V, > 20 Mohm; null when it is none.
function numberOf(sheet, kind, given) {
  const above = /^(?:>|more than|above|over)\s*/i.exec(given);
  const rest = above ? given.slice(above[0].length)
    : given.replace(/^(?:about|approximately|approx\.?|around|roughly|nearly|almost|ghost|ca\.?|~|<)\s*/i, "");
  const between = /^([0-9]+(?:\.[0-9]+)?)\s*(?:-|–|to)\s*([0-9]+(?:\.[0-9]+)?)\s*([^0-9]*)$/i.exec(rest);
  let value;
  if (between) {
    value = scaled(sheet, kind, between[3].trim(), 0.5 * (Number(between[1]) + Number(between[2])));
  } else {
    const match = /^([+-]?(?:[0-9]{1,3}(?:,[0-9]{3})+|[0-9]*)(?:\.[0-9]+)?)\s*(.*)$/.exec(rest);
    if (!match || ["", "+", "-"].includes(match[1])) return null;
    value = scaled(sheet, kind, match[2], Number(match[1].replaceAll(",", "")));
  }
  return value !== null && above && kind === "ohms" && value >= sheet.constants.OPEN_FROM_OHM ? Infinity : value;
}

// A value in the unit of its kind; null for a unit that is not of it. Only m and M are told apart by their size.
function scaled(sheet, kind, unit, value) {
  const { CELSIUS, UNITS_AS_WELL } = sheet.constants;
  const units = UNITS[kind] || { "": 1 }, low = unit.toLowerCase(), more = UNITS_AS_WELL[kind] || {};
  if (Object.hasOwn(units, unit)) return value * units[unit];
  if (Object.hasOwn(more, low)) return value * more[low];
  if (kind === "display" && CELSIUS.includes(low)) return value * 1.8 + 32;
  const found = ["m", "M"].includes(unit.slice(0, 1)) ? undefined : Object.keys(units).find((u) => u.toLowerCase() === low);
  return found === undefined ? null : value * units[found];
}

// What to check first when a reading is odd; empty when nothing about the meter explains it.
function doubt(sheet, probe, reading) {
  const value = sheet.tables.right[probe], kind = sheet.kind(probe);
  const { GHOST_V, LEAST_AMPS, NOTHING, VOLTMETER_OHM, WORTH_ASKING } = sheet.constants;
  if (typeof reading === "string" || typeof value === "string" || holds(sheet, probe, reading)) return "";
  if (kind.startsWith("volts ") && Math.abs(reading) <= NOTHING * Math.abs(value)) {
    const form = kind.replace("volts ", "");
    const other = form === "AC" ? "DC" : "AC";
    return `about 0 V: does the meter stand on ${form} volts? On ${other} it shows next to nothing here`;
  }
  if (kind === "volts DC" && Math.abs(value) >= WORTH_ASKING && holds(sheet, probe, -reading)) {
    const red = sheet.probes.red[probe];
    return `the right volts with the other sign: was the red lead on ${red}? If it was, the pair is reversed`;
  }
  const size = Math.abs(value) >= WORTH_ASKING && ["ohms", "volts AC", "volts DC"].includes(kind);
  if (size && (holds(sheet, probe, 1000 * reading) || holds(sheet, probe, reading / 1000))) {
    return `right but for a factor of 1000: was it ${kind === "ohms" ? "kΩ or Ω" : "V or mV"}`;
  }
  if (kind === "ohms" && reading === Infinity) {
    return "open: touch the leads together first; if that does not show about 0 a lead is broken, the meter's fuse is "
      + "blown or it stands on another function";
  }
  if (kind === "amps AC" && value >= LEAST_AMPS && reading <= NOTHING * value) {
    return "about 0 A: is the clamp shut, and around this conductor alone? Around a whole cable it shows none";
  }
  if (kind === "volts AC" && GHOST_V[0] <= Math.abs(reading) && Math.abs(reading) <= GHOST_V[1]) {
    if (sheet.probes.meter[probe] >= VOLTMETER_OHM) {
      return "between 10 and 100 V: read it again with the low-impedance range; coupled volts are gone then";
    }
    return "between 10 and 100 V: was it the low-impedance range? With an ordinary meter these may be coupled volts";
  }
  return "";
}
