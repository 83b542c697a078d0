// The sheet of this job: its data unpacked, with the look-ups that the rest needs.

const KINDS = {
  ohms: "Ohms", "volts AC": "AC volts", "volts DC": "DC volts", "amps AC": "AC amperes, clamp",
  hertz: "Frequency", display: "Display", look: "Look",
};

function openSheet(block) {
  const packed = (name) => inflate(fromBase64(block(name)));
  const data = JSON.parse(fromUtf8(packed("facts")));
  const numbers = packed("numbers"), stream = packed("stream");
  const tables = unpackTables(data.words, numbers, stream);
  const column = (name) => (probe) => data.probes[name].each[data.probes[name].of[probe]];
  const sheet = {
    ...data,
    tables,
    preparations: data.preparations.map(([key, stage, words, minutes, after, needs]) => (
      { key, stage, words, minutes, after, needs }
    )),
    kind: column("kind"),
    about: column("about"),
    place: column("place"),
    caution: column("caution"),
    answers: column("answers"),
    probeOf: new Map(data.probes.key.map((key, n) => [key, n])),
  };
  sheet.preparationOf = (probe) => sheet.preparations[data.probes.preparation[probe]];
  sheet.stageOf = (probe) => sheet.preparationOf(probe).stage;
  sheet.classes = classesOf(sheet);
  const sayings = new Map(data.sayings.map(([, text, either]) => [text, either]));
  const numbered = data.sayings.filter((s) => s[3]);
  sheet.sayingOf = (text) => {
    if (sayings.has(text)) return sayings.get(text);
    for (const [, words, either] of numbered) {
      const rest = text.startsWith(words.slice(0, -1)) ? text.slice(words.length - 1) : "";
      if (/^[+-]?\d+(\.\d+)?$/.test(rest)) return either.map(([probe]) => [probe, Number(rest)]);
    }
    return null;
  };
  let drawings = null;
  sheet.drawing = (n) => {
    if (!drawings) drawings = JSON.parse(fromUtf8(packed("drawings")));
    return drawings[n];
  };
  return sheet;
}

// Steps from one preparation to another, in words, and who has to be there.
function pathBetween(sheet, from, to) {
  const by = new Map(sheet.preparations.map((p) => [p.key, p]));
  const chain = [];
  for (let at = from; at; at = by.get(at).after) chain.push(at);
  const steps = [];
  let at = to;
  for (; at && !chain.includes(at); at = by.get(at).after) {
    const { words, needs } = by.get(at);
    steps.unshift({ words, needs, back: false });
  }
  if (from && at !== from) {
    const meets = by.get(at) || by.get(to);
    steps.unshift({ words: meets.words, needs: meets.needs, back: true });
  }
  return steps;
}
