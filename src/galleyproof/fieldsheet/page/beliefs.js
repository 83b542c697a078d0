// What readings make of every hypothesis: the likelihoods of the tables, multiplied and sorted. One slip at a time, or
// nothing wrong; two slips at once are simulated in the office, not here.

// How well a reading agrees with the expected one: 1 within half the tolerance, 0.14 at its edge.
function near(sheet, probe, expected, read) {
  const kind = sheet.kind(probe);
  if (typeof expected === "string" || typeof read === "string") return expected === offScale(sheet, probe, read) ? 1 : 0;
  if (kind === "hertz" && Math.min(expected, read) >= sheet.constants.LEAST_PULSES_HZ) return 1;
  if (!Number.isFinite(expected) || !Number.isFinite(read)) {
    const other = Number.isFinite(expected) ? expected : read;
    return !Number.isFinite(other) ? 1 : other > sheet.constants.OPEN_OHM ? 0.5 : 0;
  }
  const z = Math.max(Math.abs(read - expected) / margin(kind, expected) - 0.5, 0) / 0.25;
  return Math.exp(-0.5 * z * z);
}

// What a display at an end of its scale means: open or short; anything else as it is.
function offScale(sheet, probe, read) {
  const [low, high] = sheet.constants.OFF_SCALE_DEGF;
  if (typeof read === "string" || sheet.kind(probe) !== "display" || (low < read && read < high)) return read;
  return (read > 0) === sheet.probes.rises.includes(probe) ? "open" : "short";
}

class Beliefs {
  constructor(sheet) {
    this.sheet = sheet;
    const total = sheet.slips.prior.reduce((a, b) => a + b, 0);
    this.prior = Float64Array.from(sheet.slips.prior, (p) => ((1 - sheet.constants.ALL_RIGHT) * p) / total);
    this.seen = [];
  }

  likelihood(agreement) {
    const { MISREAD, STRAY } = this.sheet.constants;
    return (1 - MISREAD) * agreement + MISREAD * STRAY;
  }

  // An observation: either = [[probe, reading], ...], of which at least one is so.
  observe(said, text = "") {
    const { right, others } = this.sheet.tables;
    const { UNEXPLAINED } = this.sheet.constants;
    // nobody calls for what is right
    const odd = said.filter(([probe, read]) => near(this.sheet, probe, right[probe], read) < UNEXPLAINED);
    const either = text && odd.length ? odd : said;
    let usual = 0;
    const columns = either.map(([probe, read]) => {
      const plain = near(this.sheet, probe, right[probe], read);
      usual = Math.max(usual, plain);
      const column = new Float64Array(this.prior.length).fill(plain);
      for (const other of others[probe]) {
        const agreement = near(this.sheet, probe, other.value, read);
        for (const slip of other.slips) column[slip] = agreement;
      }
      return { probe, read, column };
    });
    let best = columns[0].column;
    for (const { column } of columns.slice(1)) best = best.map((value, s) => Math.max(value, column[s]));
    this.seen.push({ either, text, columns, near: best, right: usual });
  }

  singles() {
    const weights = Float64Array.from(this.prior);
    for (const seen of this.seen) {
      for (let s = 0; s < weights.length; s += 1) weights[s] *= this.likelihood(seen.near[s]);
    }
    return weights;
  }

  nothing() {
    return this.seen.reduce((w, seen) => w * this.likelihood(seen.right), 1) * this.sheet.constants.ALL_RIGHT;
  }

  // Weight of each slip as a second one behind a first: readings of the first where it changes them, else of the second.
  seconds(first) {
    const { TWO_SLIPS } = this.sheet.constants;
    const group = this.sheet.slips.group;
    const weights = this.prior.map((p) => TWO_SLIPS * this.prior[first] * p);
    for (const seen of this.seen) {
      const column = new Float64Array(weights.length);
      for (const { probe, read, column: single } of seen.columns) {
        const own = this.sheet.tables.others[probe].find((o) => o.slips.includes(first));
        const known = own ? near(this.sheet, probe, own.value, read) : -1;
        for (let s = 0; s < column.length; s += 1) column[s] = Math.max(column[s], own ? known : single[s]);
      }
      for (let s = 0; s < column.length; s += 1) weights[s] *= this.likelihood(column[s]);
    }
    return weights.map((w, s) => (group[s] === group[first] ? 0 : w));
  }

  // The likeliest hypotheses, those that no probe separates as one: {slips, others, chance, unexplained}.
  suspects(most = 8) {
    const singles = this.singles(), nothing = this.nothing();
    const { group, shows } = this.sheet.slips;
    const total = singles.reduce((a, b) => a + b, 0) + nothing;
    const { UNEXPLAINED } = this.sheet.constants;
    const weight = [], members = [];
    singles.forEach((w, s) => {
      const g = group[s];
      weight[g] = (weight[g] || 0) + w;
      (members[g] = members[g] || []).push(s);
    });
    const missed = (s) => this.seen.filter((seen) => seen.near[s] < UNEXPLAINED).length;
    const order = weight.map((_, g) => g).sort((a, b) => weight[b] - weight[a]).slice(0, most + 1);
    const found = [];
    let silent = false;
    for (const g of order) {
      const own = members[g].slice().sort((a, b) => singles[b] - singles[a]);
      if (shows[own[0]]) {
        found.push({ slips: own.slice(0, 1), others: own.slice(1), chance: weight[g] / total, unexplained: missed(own[0]) });
      } else {
        // nothing shows these: as far as any reading goes, nothing is wrong
        silent = true;
        found.push({ slips: [], others: own, chance: (weight[g] + nothing) / total, unexplained: missed(own[0]) });
      }
    }
    if (!silent) {
      const unexplained = this.seen.filter((seen) => seen.right < UNEXPLAINED).length;
      found.push({ slips: [], others: [], chance: nothing / total, unexplained });
    }
    return found.sort((a, b) => b.chance - a.chance).slice(0, most);
  }

  // Whether a hypothesis leaves no more readings unexplained than misreading would.
  explained(suspect) {
    return suspect.unexplained < 2 + Math.floor(this.seen.length / 25);
  }

  get fits() {
    return !this.seen.length || this.explained(this.suspects(1)[0]);
  }

  get sure() {
    if (!this.seen.length) return false;
    const [top] = this.suspects(1);
    return top.chance >= this.sheet.constants.SURE && this.explained(top);
  }

  // Chance that another slip stands behind the one that is found.
  get second() {
    const [top] = this.suspects(1);
    if (top.slips.length !== 1) return 0;
    const behind = this.seconds(top.slips[0]).reduce((a, b) => a + b, 0);
    return behind / (behind + this.singles()[top.slips[0]]);
  }

  // In words: what one would read with a suspect, and what was read.
  explain(suspect) {
    const { constants, tables, probes } = this.sheet;
    const slip = suspect.slips.length ? suspect.slips[0] : -1;
    return this.seen.map((seen) => {
      let best = null;
      for (const [probe, read] of seen.either) {
        const there = slip < 0 ? tables.right[probe] : readingOf(this.sheet, slip, probe);
        const agreement = near(this.sheet, probe, there, read);
        if (!best || agreement > best.agreement) best = { agreement, probe, read, there };
      }
      const kind = this.sheet.kind(best.probe);
      return {
        where: seen.text ? `${seen.text} (${probes.where[best.probe]})` : probes.where[best.probe],
        would: said(kind, best.there),
        read: said(kind, best.read),
        agrees: best.agreement >= constants.UNEXPLAINED,
      };
    });
  }
}
