// The tables of the sheet: what every slip reads, unpacked into flat arrays. How they are packed: tables.py.

function unpackTables(words, numbers, stream) {
  const view = new DataView(numbers.buffer, numbers.byteOffset, numbers.byteLength);
  const values = [...words];
  for (let i = 0; i < numbers.byteLength; i += 8) values.push(view.getFloat64(i, true));
  let at = 0;
  const integer = () => {
    let value = 0, factor = 1;
    for (;;) {
      const byte = stream[at];
      at += 1;
      value += (byte & 127) * factor;
      if (byte < 128) return value;
      factor *= 128;
    }
  };
  const sets = [];
  for (let n = integer(); n > 0; n -= 1) {
    const members = [];
    let slip = 0;
    for (let k = integer(); k > 0; k -= 1) {
      slip += integer();
      members.push(slip);
    }
    sets.push(members);
  }
  // for each probe: its right reading, the acceptable range, and the other readings, each with the slips that give it
  const right = [], low = [], high = [], others = [];
  while (at < stream.length) {
    right.push(values[integer()]);
    low.push(values[integer()]);
    high.push(values[integer()]);
    const own = [];
    for (let k = integer(); k > 0; k -= 1) own.push({ value: values[integer()], slips: sets[integer()] });
    others.push(own);
  }
  return { values, right, low, high, others };
}

// How far two readings must lie apart to be told from each other.
function margin(kind, reading) {
  if (typeof reading === "string" || !Number.isFinite(reading)) return 0;
  const size = Math.abs(reading);
  if (kind === "ohms") return 0.15 * size + 1.5;
  if (kind === "display") return 4;
  if (kind === "volts AC") return Math.max(0.1 * size, 4);
  if (kind === "amps AC") return 0.15 * size + 0.3;
  if (kind === "hertz") return 0.5 * size + 5;
  return Math.max(0.04 * size, 0.25);
}

// Whether a reading of a probe is as expected.
function holds(sheet, probe, reading) {
  const { low, high, right } = sheet.tables;
  if (typeof reading === "string" || typeof low[probe] === "string") return reading === right[probe];
  return low[probe] <= reading && reading <= high[probe];
}

// Wrong readings of each probe in classes that a meter cannot tell apart: [{class, slips}] probe after probe.
function classesOf(sheet) {
  const { right, others } = sheet.tables;
  const found = [];
  let count = 0;
  right.forEach((_, probe) => {
    const kind = sheet.kind(probe);
    const wrong = others[probe].filter((o) => !holds(sheet, probe, o.value));
    // words lie below every number, each a class of its own
    const words = wrong.filter((o) => typeof o.value === "string");
    const numbers = wrong.filter((o) => typeof o.value !== "string").sort((a, b) => a.value - b.value);
    const own = [];
    words.forEach((o) => own.push({ class: count++, slips: o.slips }));
    let until = NaN;
    numbers.forEach((o) => {
      if (!(o.value <= until)) {
        count += 1;
        until = o.value + margin(kind, o.value);
      }
      own.push({ class: count - 1, slips: o.slips });
    });
    found.push(own);
  });
  return { ofProbe: found, count };
}

// What a slip reads at a probe.
function readingOf(sheet, slip, probe) {
  const found = sheet.tables.others[probe].find((o) => o.slips.includes(slip));
  return found ? found.value : sheet.tables.right[probe];
}
