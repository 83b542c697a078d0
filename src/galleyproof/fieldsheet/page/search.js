// The next probe: the one that tells most for its minutes and its hazard. What each reading of each slip is comes from
// the tables; computed here are only the weights of the classes of readings and their entropy.

class Search {
  constructor(sheet) {
    this.sheet = sheet;
    this.classes = sheet.classes;
    this.place = new Map(sheet.preparations.map((p, n) => [p.key, n]));
  }

  // What each probe tells on average. [bit]
  bits(beliefs) {
    const singles = beliefs.singles();
    const sum = (list) => list.reduce((a, b) => a + b, 0);
    // of equals the first, whatever the last bit says
    const least = singles.reduce((a, b) => Math.max(a, b), 0) * (1 - this.sheet.constants.ALIKE);
    const first = singles.findIndex((w) => w >= least);
    const seconds = beliefs.seconds(first);
    const behind = sum(seconds);
    const total = sum(singles) + beliefs.nothing() + behind;
    const entropy = (mass) => (mass > 0 ? -mass * Math.log2(mass) : 0);
    const mass = new Float64Array(this.classes.count);
    return this.classes.ofProbe.map((own, probe) => {
      // a second slip shows where the first one does not
      const hidden = this.sheet.tables.others[probe].some((o) => o.slips.includes(first));
      let wrong = 0, bits = 0, at = 0;
      while (at < own.length) {
        const name = own[at].class;
        mass[name] = 0;
        for (; at < own.length && own[at].class === name; at += 1) {
          for (const slip of own[at].slips) {
            mass[name] += singles[slip] + (hidden ? 0 : seconds[slip]);
            if (hidden && slip === first) mass[name] += behind;
          }
        }
        const share = mass[name] / total;
        wrong += share;
        bits += entropy(share);
      }
      return bits + entropy(Math.min(Math.max(1 - wrong, 0), 1));
    });
  }

  // Minutes from one preparation to another. [min]
  reach(from, to) {
    if (to === from) return 0;
    const by = (key) => this.sheet.preparations[this.place.get(key)];
    const chain = new Set();
    for (let at = from; at; at = by(at).after) chain.add(at);
    let minutes = 0, meets = to;
    for (; meets && !chain.has(meets); meets = by(meets).after) minutes += by(meets).minutes;
    for (let at = from; at && at !== meets; at = by(at).after) minutes += 0.5 * by(at).minutes;
    return minutes;
  }

  // The next probe {probe, bits, minutes, score}; null when the search has come to its end.
  next(beliefs, allowed = () => true) {
    const { HAZARD_MINUTES, LEAST_BITS, MOST_TIMES, SECOND_SLIP } = this.sheet.constants;
    if (beliefs.sure && beliefs.second < SECOND_SLIP) return null;
    const { probes } = this.sheet;
    const readings = beliefs.seen.filter((seen) => !seen.text);
    const times = new Map();
    for (const { either } of readings) for (const [probe] of either) times.set(probe, (times.get(probe) || 0) + 1);
    const here = readings.length
      ? this.sheet.preparationOf(readings[readings.length - 1].either[0][0]).key
      : this.sheet.start;
    const reach = this.sheet.preparations.map((p) => this.reach(here, p.key));
    let best = null;
    this.bits(beliefs).forEach((bits, probe) => {
      if (bits < LEAST_BITS || (times.get(probe) || 0) >= MOST_TIMES || !allowed(probe)) return;
      const minutes = probes.minutes[probe] + reach[probes.preparation[probe]];
      const score = bits / (minutes + HAZARD_MINUTES * probes.hazard[probe]);
      if (!best || score > best.score) best = { probe, bits, minutes, score };
    });
    return best;
  }
}
