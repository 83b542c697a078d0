"""From a few readings to the slip: Bayes over simulated readings, the next probe by what it tells for its effort.

Every slip has its simulated reading at every probe. A reading that was taken makes those likelier that agree with it
within the meter's tolerance; a small chance that it was misread keeps any slip from being ruled out by one number.
When no single slip explains all readings, pairs are built from those that each explain a part, and simulated exactly.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from galleyproof.checkout.model import Preparation, Probe, Reading
from galleyproof.checkout.signatures import Signatures, margin
from galleyproof.checkout.words import said
from galleyproof.proof.slips.model import Slip

MISREAD = 0.02
"""Chance that a reading was taken or written down wrongly (common practice). [ratio]"""
STRAY = 0.1
"""Share of what is left that a misread value gives to any one reading. [ratio]"""
ALL_RIGHT = 0.2
"""Prior chance that nothing is wrong when somebody asks. [ratio]"""
TWO_SLIPS = 0.05
"""How often there are two slips where there is one (common practice). [ratio]"""
HAZARD_MINUTES = 4.0
"""What one step of hazard weighs against minutes of work, while searching. [min]"""
SURE = 0.995
NOTHING_FITS = 0.05
"""Below this share of the best possible likelihood a hypothesis does not explain the readings. [ratio]"""
MOST_PAIRS = 60
"""Pairs simulated after one reading. [-]"""

MOST_TIMES = 3
"""How often one probe is asked for: a reading that fits nothing is read again before anything is believed. [-]"""

PairReader = Callable[[Slip, Slip], Mapping[int, Reading] | None]
"""Simulates two slips at once: what differs from the right wiring, or None when the network has no solution."""


@dataclass(frozen=True, slots=True)
class Observation:
    """Something that was read or complained of.

    Attributes:
        either: Probe and reading; of several, at least one is so (``a shunt breaker will not reset``).
        text: As the person said it; empty for a reading.
    """

    either: tuple[tuple[int, Reading], ...]
    text: str = ""


@dataclass(frozen=True, slots=True)
class Suspect:
    """A hypothesis, with everything no probe could separate it from.

    Attributes:
        slips: Keys of one slip or of two at once; empty: nothing is wrong.
        others: Keys of single slips that no probe tells from it.
        chance: Posterior of the whole group. [ratio]
        fits: Share of the best possible likelihood; near 1 when every reading agrees. [ratio]
    """

    slips: tuple[str, ...]
    others: tuple[str, ...]
    chance: float
    fits: float


@dataclass(frozen=True, slots=True)
class Advice:
    """The next probe.

    Attributes:
        probe: What to do.
        preparation: State to bring the installation into first.
        bits: What it tells on average. [bit]
        minutes: With its preparation. [min]
    """

    probe: Probe
    preparation: Preparation
    bits: float
    minutes: float


@dataclass
class Diagnosis:
    """One search. Readings are added; nothing is ever overwritten, the last one can be taken back.

    Args:
        signatures: What every slip reads.
        slips: The slips, in the order of the signatures.
        pairs: Simulates two slips at once; None leaves pairs out.
    """

    signatures: Signatures
    slips: Sequence[Slip]
    pairs: PairReader | None = None
    taken: list[Observation] = field(default_factory=list)
    here: str = ""
    """Preparation the installation is in."""

    def __post_init__(self) -> None:
        weights = np.array([s.prior for s in self.slips], dtype=float)
        self._prior = (1.0 - ALL_RIGHT) * weights / weights.sum() if len(weights) else weights
        self._pairs: dict[tuple[int, int], Mapping[int, Reading]] = {}
        self._group_of = np.zeros(len(self.slips), dtype=np.int64)
        for g, members in enumerate(self.signatures.groups):
            self._group_of[list(members)] = g

    # readings -----------------------------------------------------------------------------------------------
    def add(self, probe: int, reading: Reading) -> None:
        """Take a reading down.

        Args:
            probe: Index of the probe.
            reading: What was read: a number in the probe's unit, infinity for an open circuit, or words.
        """
        self.observe(Observation(((probe, reading),)))
        self.here = self.signatures.checkout.probes[probe].preparation

    def observe(self, seen: Observation) -> None:
        """Take down what a person saw or complained of."""
        self.taken.append(seen)
        if self.pairs is not None and not self._explained():
            self._build_pairs()

    def undo(self) -> bool:
        """Take the last reading back; False when there is none."""
        if not self.taken:
            return False
        self.taken.pop()
        readings = [o for o in self.taken if not o.text]
        self.here = self.signatures.checkout.probes[readings[-1].either[0][0]].preparation if readings else ""
        return True

    # likelihoods --------------------------------------------------------------------------------------------
    def agrees(self, probe: int, expected: Reading, read: Reading) -> float:
        """Likelihood of a reading where another is expected, 1 for the same. [ratio]."""
        return (1.0 - MISREAD) * _near(self.signatures.checkout.probes[probe].kind, expected, read) + MISREAD * STRAY

    def _likelihoods(self) -> tuple[NDArray[np.float64], float, NDArray[np.float64]]:
        """Of single slips, of nothing wrong, of the pairs."""
        singles = np.ones(len(self.slips))
        right = 1.0
        pairs = np.ones(len(self._pairs))
        for seen in self.taken:
            column = np.zeros(len(self.slips))
            usual_best = 0.0
            pair_best = np.zeros(len(self._pairs))
            for probe, read in seen.either:
                usual = self.agrees(probe, self.signatures.right[probe], read)
                usual_best = max(usual_best, usual)
                one = np.full(len(self.slips), usual)
                for s in self._changing(probe):
                    one[s] = self.agrees(probe, self.signatures.changed[s][probe], read)
                column = np.maximum(column, one)
                for n, changed in enumerate(self._pairs.values()):
                    there = self.agrees(probe, changed.get(probe, self.signatures.right[probe]), read)
                    pair_best[n] = max(pair_best[n], there)
            right *= usual_best
            singles *= column
            pairs *= pair_best
        return singles, right, pairs

    def _changing(self, probe: int) -> list[int]:
        if not hasattr(self, "_by_probe"):
            self._by_probe: dict[int, list[int]] = {}
            for s, changed in enumerate(self.signatures.changed):
                for i in changed:
                    self._by_probe.setdefault(i, []).append(s)
        return self._by_probe.get(probe, [])

    def _best(self) -> float:
        return float(((1.0 - MISREAD) + MISREAD * STRAY) ** len(self.taken))

    def _explained(self) -> bool:
        singles, right, _ = self._likelihoods()
        best = max(right, float(singles.max()) if len(singles) else 0.0)
        return best / self._best() > NOTHING_FITS

    # pairs --------------------------------------------------------------------------------------------------
    def _build_pairs(self) -> None:
        """Pairs of slips that each explain a part of what was read wrong."""
        assert self.pairs is not None
        explains: dict[int, set[int]] = {}
        spoils: dict[int, int] = {}
        odd: set[int] = set()
        for n, seen in enumerate(self.taken):
            if not any(self.signatures.expected[p].holds(r) for p, r in seen.either):
                odd.add(n)
            for s in {s for p, _ in seen.either for s in self._changing(p)}:
                near = max(
                    _near(self.signatures.checkout.probes[p].kind, self.signatures.reading(s, p), r)
                    for p, r in seen.either
                )
                if near > 0.1:
                    explains.setdefault(s, set()).add(n)
                else:
                    spoils[s] = spoils.get(s, 0) + 1
        if not odd:
            return
        found: list[tuple[float, int, int]] = []
        useful = sorted(
            (s for s in explains if explains[s] & odd),
            key=lambda s: (-len(explains[s] & odd) + 0.5 * spoils.get(s, 0), -self._prior[s]),
        )[:80]
        for i, a in enumerate(useful):
            for b in useful[i + 1 :]:
                covered = (explains[a] | explains[b]) & odd
                if len(covered) <= max(len(explains[a] & odd), len(explains[b] & odd)):
                    continue
                if self._group_of[a] == self._group_of[b]:
                    continue
                missed = len(odd - covered) + 0.3 * (spoils.get(a, 0) + spoils.get(b, 0))
                found.append((missed - 0.05 * math.log(self._prior[a] * self._prior[b]), a, b))
        done = 0
        for _, a, b in sorted(found):
            if done >= MOST_PAIRS:
                return
            if (a, b) in self._pairs:
                continue
            done += 1
            changed = self.pairs(self.slips[a], self.slips[b])
            if changed is not None:
                self._pairs[a, b] = changed

    # answers ------------------------------------------------------------------------------------------------
    def suspects(self, most: int = 8) -> list[Suspect]:
        """The likeliest hypotheses, those that no probe separates shown as one.

        Args:
            most: How many.
        """
        singles, right, pairs = self._likelihoods()
        best = self._best()
        weights = singles * self._prior
        pair_weights = np.array(
            [p * TWO_SLIPS * self._prior[a] * self._prior[b] for p, (a, b) in zip(pairs, self._pairs, strict=True)]
        )
        total = float(weights.sum()) + right * ALL_RIGHT + float(pair_weights.sum())
        found: list[Suspect] = []
        silent = [g for g, members in enumerate(self.signatures.groups) if not self.signatures.shows[
            self.signatures.slips[members[0]]
        ]]  # fmt: skip
        by_group = np.bincount(self._group_of, weights, minlength=len(self.signatures.groups))
        for g, weight in enumerate(by_group):
            members = sorted(self.signatures.groups[g], key=lambda s: -weights[s])
            keys = tuple(self.signatures.slips[s] for s in members)
            fits = float(singles[members[0]]) / best
            if g in silent:
                # nothing shows these: as far as any reading goes, nothing is wrong
                weight += right * ALL_RIGHT
                found.append(Suspect((), keys, float(weight) / total, fits))
            else:
                found.append(Suspect(keys[:1], keys[1:], float(weight) / total, fits))
        if not silent:
            found.append(Suspect((), (), right * ALL_RIGHT / total, right / best))
        for (a, b), weight, fit in zip(self._pairs, pair_weights, pairs, strict=True):
            keys = (self.signatures.slips[a], self.signatures.slips[b])
            found.append(Suspect(keys, (), float(weight) / total, float(fit) / best))
        return sorted(found, key=lambda s: -s.chance)[:most]

    @property
    def fits(self) -> bool:
        """False when nothing in its world explains the readings."""
        return not self.taken or any(s.fits > NOTHING_FITS for s in self.suspects(40))

    @property
    def sure(self) -> bool:
        """Whether one group is left that matters."""
        return bool(self.taken) and self.suspects(1)[0].chance >= SURE and self.fits

    def next_probe(self, allowed: Callable[[Probe], bool] | None = None) -> Advice | None:
        """The probe that tells most for its effort and hazard; None when no probe tells anything any more.

        Args:
            allowed: Leaves probes out, for instance those of a stage that is not to be entered.
        """
        singles, right, _ = self._likelihoods()
        weights = singles * self._prior
        total = float(weights.sum()) + right * ALL_RIGHT
        weights = weights / total
        table = self.signatures.classes
        if not len(table.probes):
            return None
        mass = np.bincount(table.class_of, weights[table.slip_of], minlength=int(table.first[-1]))
        terms = np.where(mass > 0.0, -mass * np.log2(np.maximum(mass, 1e-300)), 0.0)
        starts = table.first[:-1]
        wrong = np.add.reduceat(mass, starts)
        bits = np.add.reduceat(terms, starts)
        usual = np.clip(1.0 - wrong, 0.0, 1.0)
        bits += np.where(usual > 0.0, -usual * np.log2(np.maximum(usual, 1e-300)), 0.0)
        times = Counter(p for o in self.taken if not o.text for p, _ in o.either)
        best: tuple[float, int, float, float] | None = None
        reach = {p.key: self._reach(p.key) for p in self.signatures.checkout.preparations}
        for n, i in enumerate(table.probes.tolist()):
            probe = self.signatures.checkout.probes[i]
            if bits[n] < 0.005 or times[i] >= MOST_TIMES or (allowed is not None and not allowed(probe)):
                continue
            minutes = probe.minutes + reach[probe.preparation]
            score = float(bits[n]) / (minutes + HAZARD_MINUTES * probe.hazard)
            if best is None or score > best[0]:
                best = (score, i, float(bits[n]), minutes)
        if best is None:
            return None
        probe = self.signatures.checkout.probes[best[1]]
        return Advice(probe, self.signatures.checkout.preparation(probe.preparation), best[2], best[3])

    def _reach(self, key: str) -> float:
        """Minutes from where the installation is to a preparation. [min]."""
        if key == self.here:
            return 0.0
        here: dict[str, int] = {}
        at = self.here
        while at:
            here[at] = len(here)
            at = self.signatures.checkout.preparation(at).after
        minutes = 0.0
        at = key
        while at and at not in here:
            prep = self.signatures.checkout.preparation(at)
            minutes += prep.minutes
            at = prep.after
        # the way back to where both scripts part costs about as much as it took
        back = 0.0
        step = self.here
        while step and step != at:
            prep = self.signatures.checkout.preparation(step)
            back += 0.5 * prep.minutes
            step = prep.after
        return minutes + back

    def explain(self, suspect: Suspect) -> list[str]:
        """In words: what one would read with it, and what was read.

        Args:
            suspect: One of ``suspects``.
        """
        lines = []
        changed: Mapping[int, Reading] = {}
        index = {k: s for s, k in enumerate(self.signatures.slips)}
        if len(suspect.slips) == 1:
            changed = self.signatures.changed[index[suspect.slips[0]]]
        elif len(suspect.slips) == 2:
            changed = self._pairs[index[suspect.slips[0]], index[suspect.slips[1]]]
        for seen in self.taken:
            best = max(
                seen.either,
                key=lambda pr: _near(
                    self.signatures.checkout.probes[pr[0]].kind,
                    changed.get(pr[0], self.signatures.right[pr[0]]),
                    pr[1],
                ),
            )
            probe, read = best
            made = self.signatures.checkout.probes[probe]
            there = changed.get(probe, self.signatures.right[probe])
            verdict = "you read" if _near(made.kind, there, read) > 0.1 else "but you read"
            what = f"{seen.text} ({where(made)})" if seen.text else where(made)
            lines.append(f"{what}: you would read {said(made.kind, there)}; {verdict} {said(made.kind, read)}")
        return lines


def _near(kind: str, expected: Reading, read: Reading) -> float:
    """How well a reading agrees with the expected one: 1 for the same, 0.14 at the edge of the tolerance. [ratio]."""
    if isinstance(expected, str) or isinstance(read, str):
        return 1.0 if expected == read else 0.0
    if math.isinf(expected) or math.isinf(read):
        # a meter on a very high resistance may as well show an open circuit
        other = read if math.isinf(expected) else expected
        return 1.0 if math.isinf(other) else (0.5 if other > 1e6 else 0.0)
    z = (read - expected) / (0.5 * margin(kind, expected))
    return math.exp(-0.5 * z * z)


def where(probe: Probe) -> str:
    """A probe in a few words."""
    if probe.red is None:
        return f"{probe.preparation}: {probe.words}"
    lifted = f"lifted end at {probe.red}" if probe.lifted else str(probe.red)
    return f"{probe.preparation}: {probe.kind} {lifted} to {probe.black}"
