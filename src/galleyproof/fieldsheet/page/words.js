// Readings in words and words into readings, as the office understands them.

const OPEN_WORDS = ["ol", "open", "o.l", "o.l.", "inf", "infinity", "infinite"];
const UNITS = {
  ohms: { "": 1, ohm: 1, ohms: 1, "Ω": 1, kohm: 1e3, "kΩ": 1e3, k: 1e3, Mohm: 1e6, "MΩ": 1e6 },
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
  const kind = sheet.kind(probe), words = sheet.answers(probe), reads = sheet.probes.slot[probe].endsWith(">reads");
  if (words.length) {
    const short = words.includes("yes") ? { y: "yes", n: "no", on: "yes", off: "no" } : {};
    let found = words.filter((w) => w === (Object.hasOwn(short, low) ? short[low] : low));
    if (!found.length) found = words.filter((w) => low && w.startsWith(low));
    if (found.length !== 1) throw new ReadingError(`“${text}” is no answer here; say one of: ${words.join(", ")}`);
    return found[0];
  }
  if (reads && ["open", "short", "nothing"].includes(low)) return low;
  if (kind === "ohms" && OPEN_WORDS.includes(low)) return Infinity;
  const units = UNITS[kind] || { "": 1 };
  const match = /^([+-]?(?:[0-9][0-9,]*)?(?:\.[0-9]+)?)\s*(.*)$/.exec(given);
  if (match && !["", "+", "-"].includes(match[1]) && Object.hasOwn(units, match[2])) {
    const value = Number(match[1].replaceAll(",", "")) * units[match[2]];
    if (["ohms", "volts AC", "amps AC", "hertz"].includes(kind) && value < 0) {
      throw new ReadingError(`“${text}”: ${kind} are never negative; give the size alone`);
    }
    return value;
  }
  const extra = kind === "ohms" ? " or OL" : reads ? " or open, short, nothing" : "";
  const list = Object.keys(units).filter(Boolean).join(", ");
  throw new ReadingError(`“${text}” is no reading here; give a number, alone or with one of: ${list}${extra}`);
}

// What to check first when a reading is odd; empty when nothing about the meter explains it.
function doubt(sheet, probe, reading) {
  const value = sheet.tables.right[probe], kind = sheet.kind(probe);
  const { GHOST_V, NOTHING, VOLTMETER_OHM } = sheet.constants;
  if (typeof reading === "string" || typeof value === "string" || holds(sheet, probe, reading)) return "";
  if (kind.startsWith("volts ") && Math.abs(reading) <= NOTHING * Math.abs(value)) {
    const form = kind.replace("volts ", "");
    const other = form === "AC" ? "DC" : "AC";
    return `about 0 V: does the meter stand on ${form} volts? On ${other} it shows next to nothing here`;
  }
  if (kind === "volts AC" && GHOST_V[0] <= Math.abs(reading) && Math.abs(reading) <= GHOST_V[1]) {
    if (sheet.probes.meter[probe] >= VOLTMETER_OHM) {
      return "between 10 and 100 V: read it again with the low-impedance range; coupled volts are gone then";
    }
    return "between 10 and 100 V: was it the low-impedance range? With an ordinary meter these may be coupled volts";
  }
  return "";
}
