"""The search: which probe to do next, when it is over, and why.

The next probe is the one that tells most for its minutes and its hazard, from the state the installation is in, one
slip or two in mind.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from galleyproof.checkout.beliefs import (
    SECOND_SLIP,
    SURE,
    UNEXPLAINED,
    Beliefs,
    Observation,
    PairReader,
    Suspect,
    near,
)
from galleyproof.checkout.model import Preparation, Probe, Reading
from galleyproof.checkout.signatures import Signatures, margin
from galleyproof.checkout.words import said
from galleyproof.proof.slips.model import Slip

HAZARD_MINUTES = 4.0
"""What one step of hazard weighs against minutes of work, while searching. [min]"""
LEAST_BITS = 0.0003
"""A probe that tells less is not asked for. [bit]"""
LEAST_BITS_BEHIND = 1e-6
"""The same while a second slip may stand behind the first: many probes tell a little each, together enough. [bit]"""
SECOND_IN_SIGHT = 0.0001
"""Chance of a second slip that some probe would show, below which a search with pairs in mind has ended. [ratio]"""
ALIKE = 1e-9
"""Weights that differ by less are equal. [ratio]"""
LEAST_SHARE = 1e-12
"""Share of all hypotheses below which a pair is not asked what it would read. [ratio]"""
MOST_TIMES = 3
"""How often one probe is asked for: a reading that fits nothing is read again before anything is believed. [-]"""
MOST_TIMES_BEHIND = 5
"""The same while a second slip may stand behind the first: often a single probe shows it, and a misread one is outvoted
only by more. [-]"""
Allowed = Callable[[Probe], bool]


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
        here: Preparation the installation is in.
    """

    signatures: Signatures
    slips: Sequence[Slip]
    pairs: PairReader | None = None
    here: str = "line"
    _beliefs: Beliefs = field(init=False, repr=False)

    def __post_init__(self) -> None:
        self._start = self.here
        self._beliefs = Beliefs(self.signatures, self.slips, self.pairs)
        classes = self.signatures.classes
        self._probe_of_class = np.repeat(classes.probes, np.diff(classes.first))
        self._of_entry = classes.probe_of
        self._readings_of: dict[int, list[tuple[Reading, int]]] = {}
        checkout = self.signatures.checkout
        place = {p.key: n for n, p in enumerate(checkout.preparations)}
        self._preparation_of = np.array([place[p.preparation] for p in checkout.probes], dtype=np.int64)
        self._minutes = np.array([p.minutes for p in checkout.probes])
        self._hazards = np.array([p.hazard for p in checkout.probes])
        self._extra: dict[tuple[int, Reading], int] = {}
        self._pair_classes: dict[tuple[int, int], NDArray[np.int64]] = {}
        self._slip_classes: dict[int, dict[int, int]] = {}

    @property
    def taken(self) -> tuple[Observation, ...]:
        """What has been seen, in order."""
        return tuple(s.observation for s in self._beliefs.seen)

    # readings -----------------------------------------------------------------------------------------------
    def add(self, probe: int, reading: Reading) -> None:
        """Take a reading down.

        Args:
            probe: Index of the probe.
            reading: What was read: a number in the probe's unit, infinity for an open circuit, or words.
        """
        self.observe(Observation(((probe, reading),)))

    def observe(self, seen: Observation) -> None:
        """Take down what a person read, saw or complained of."""
        self._beliefs.observe(seen)
        self._stand()

    def undo(self) -> bool:
        """Take the last one back; False when there is none."""
        done = self._beliefs.forget()
        self._stand()
        return done

    def _stand(self) -> None:
        readings = [o for o in self.taken if not o.text]
        probes = self.signatures.checkout.probes
        self.here = probes[readings[-1].either[0][0]].preparation if readings else self._start

    # answers ------------------------------------------------------------------------------------------------
    def suspects(self, most: int = 8) -> list[Suspect]:
        """The likeliest hypotheses, those that no probe separates shown as one.

        Args:
            most: How many.
        """
        return self._beliefs.suspects(most)

    @property
    def fits(self) -> bool:
        """False when nothing in its world explains the readings."""
        return not self.taken or self._beliefs.explained(self.suspects(1)[0])

    @property
    def sure(self) -> bool:
        """Whether one group is left that matters, and explains what was read."""
        if not self.taken:
            return False
        top = self.suspects(1)[0]
        return top.chance >= SURE and self._beliefs.explained(top)

    @property
    def second(self) -> float:
        """Chance that another slip stands behind the one that is found. [ratio]."""
        top = self.suspects(1)[0]
        if len(top.slips) != 1:
            return 0.0
        first = self.signatures.slips.index(top.slips[0])
        behind = float(self._beliefs.seconds(first).sum())
        return behind / (behind + float(self._beliefs.singles()[first]))

    @property
    def second_in_sight(self) -> float:
        """Chance that another slip stands behind the one that is found, where some probe would show it. [ratio]."""
        top = self.suspects(1)[0]
        if len(top.slips) != 1:
            return 0.0
        first = self.signatures.slips.index(top.slips[0])
        guessed, known = self._beliefs.behind(first)
        behind = float(guessed[self._beliefs.hidden(first) < 1.0].sum())
        alone = set(self._classes_of(first).values())
        for second, weight in known.items():
            pair = (min(first, second), max(first, second))
            if weight > 0.0 and set(self._entries_of(pair).tolist()) != alone:
                behind += weight
        return behind / (float(guessed.sum()) + sum(known.values()) + float(self._beliefs.singles()[first]))

    def _hidden(self, first: int) -> NDArray[np.bool_]:
        """Probes whose reading a slip changes."""
        found = np.zeros(len(self.signatures.checkout.probes), dtype=np.bool_)
        found[list(self.signatures.changed[first])] = True
        return found

    def explain(self, suspect: Suspect) -> list[str]:
        """In words: what one would read with it, and what was read.

        Args:
            suspect: One of ``suspects``.
        """
        changed: Mapping[int, Reading] = {}
        index = tuple(self.signatures.slips.index(k) for k in suspect.slips)
        if len(index) == 1:
            changed = self.signatures.changed[index[0]]
        elif len(index) == 2:
            changed = self._beliefs.pairs[index[0], index[1]]
        lines = []
        for seen in self.taken:
            agreement, probe, read = max(
                (near(self.signatures.checkout.probes[i], changed.get(i, self.signatures.right[i]), r), i, r)
                for i, r in seen.either
            )
            made = self.signatures.checkout.probes[probe]
            there = changed.get(probe, self.signatures.right[probe])
            verdict = "you read" if agreement >= UNEXPLAINED else "but you read"
            what = f"{seen.text} ({where(made)})" if seen.text else where(made)
            lines.append(f"{what}: you would read {said(made.kind, there)}; {verdict} {said(made.kind, read)}")
        return lines

    # what next ----------------------------------------------------------------------------------------------
    def next_probe(self, allowed: Allowed | None = None) -> Advice | None:
        """The probe that tells most for its effort and hazard; None when the search has come to its end.

        Args:
            allowed: Leaves probes out, for instance those of a stage that is not to be entered.
        """
        least, most = LEAST_BITS, MOST_TIMES
        if self.pairs is None:
            if self.sure and self.second < SECOND_SLIP:
                return None
        elif self.second_in_sight >= SECOND_IN_SIGHT:
            least, most = LEAST_BITS_BEHIND, MOST_TIMES_BEHIND
        elif self.sure:
            return None
        bits = self._bits()
        times = Counter(i for o in self.taken if not o.text for i, _ in o.either)
        checkout = self.signatures.checkout
        reach = np.array([self._reach(p.key) for p in checkout.preparations])
        minutes = self._minutes + reach[self._preparation_of]
        scores = np.where(bits >= least, bits / (minutes + HAZARD_MINUTES * self._hazards), 0.0)
        scores[[i for i, n in times.items() if n >= most]] = 0.0
        for i in np.argsort(-scores, kind="stable").tolist():
            if scores[i] <= 0.0:
                break
            probe = checkout.probes[i]
            if allowed is None or allowed(probe):
                return Advice(probe, checkout.preparation(probe.preparation), float(bits[i]), float(minutes[i]))
        return None

    def _bits(self) -> NDArray[np.float64]:
        """What each probe tells on average: the entropy of its classes of readings. [bit]."""
        table = self.signatures.classes
        beliefs = self._beliefs
        singles = beliefs.singles()
        pairs = beliefs.of_pairs()
        total = float(singles.sum()) + beliefs.nothing() + float(pairs.sum())
        # of equals the first, whatever the last bit says: another machine finds the same
        first = int(np.argmax(singles >= singles.max() * (1.0 - ALIKE))) if len(singles) else 0
        seconds = beliefs.behind(first)[0] if len(singles) else singles
        total += float(seconds.sum())
        owners = [
            (self._entries_of(pair), w)
            for pair, w in zip(beliefs.pairs, pairs.tolist(), strict=True)
            if w > LEAST_SHARE * total
        ]
        count = int(table.first[-1]) if len(table.first) else 0
        length = count + len(self._extra)
        # a second slip shows where the first one does not
        hidden = self._hidden(first) if len(singles) else np.zeros(len(self.signatures.checkout.probes), dtype=np.bool_)
        free = ~hidden[self._of_entry]
        weights = singles[table.slip_of] + np.where(free, seconds[table.slip_of], 0.0)
        mass = np.bincount(table.class_of, weights, minlength=length).astype(np.float64)
        own = table.class_of[(table.slip_of == first) & ~free]
        mass[own] += float(seconds.sum())
        for classes, weight in owners:
            mass[classes] += weight
        mass = mass / total
        probe_of = np.concatenate([self._probe_of_class, np.array([i for i, _ in self._extra], dtype=np.int64)])
        terms = np.where(mass > 0.0, -mass * np.log2(np.maximum(mass, 1e-300)), 0.0)
        n_probes = len(self.signatures.checkout.probes)
        wrong = np.bincount(probe_of, mass, minlength=n_probes)
        usual = np.clip(1.0 - wrong, 0.0, 1.0)
        bits = np.bincount(probe_of, terms, minlength=n_probes).astype(np.float64)
        return bits + np.where(usual > 0.0, -usual * np.log2(np.maximum(usual, 1e-300)), 0.0)

    def _entries_of(self, pair: tuple[int, int]) -> NDArray[np.int64]:
        """Classes of what a pair reads wrong: where it reads as one of its slips alone, that one's."""
        found = self._pair_classes.get(pair)
        if found is None:
            changed = self.signatures.changed
            alone = [(changed[s], self._classes_of(s)) for s in pair]
            classes: list[int] = []
            for i, r in self._beliefs.pairs[pair].items():
                if self.signatures.expected[i].holds(r):
                    continue
                of_one = next((known[i] for reads, known in alone if i in known and reads[i] == r), None)
                classes.append(self._class(i, r) if of_one is None else of_one)
            found = self._pair_classes[pair] = np.array(classes, dtype=np.int64)
        return found

    def _classes_of(self, slip: int) -> dict[int, int]:
        """Probes that show a slip, each with the class of what it reads."""
        found = self._slip_classes.get(slip)
        if found is None:
            mine = self.signatures.classes.of_slip(slip)
            probes = self._probe_of_class[mine].tolist()
            found = self._slip_classes[slip] = dict(zip(probes, mine.tolist(), strict=True))
        return found

    def _class(self, probe: int, reading: Reading) -> int:
        """Class of a reading, a new one when no single slip reads so."""
        kind = self.signatures.checkout.probes[probe].kind
        found = self._readings_of.get(probe)
        if found is None:
            classes = self.signatures.classes
            at = np.flatnonzero(self._of_entry == probe)
            pairs = zip(classes.slip_of[at].tolist(), classes.class_of[at].tolist(), strict=True)
            found = self._readings_of[probe] = [(self.signatures.changed[s][probe], c) for s, c in pairs]
        for known, c in found:
            if known == reading:
                return c
            numbers = not isinstance(known, str) and not isinstance(reading, str)
            if numbers and abs(known - reading) <= margin(kind, known):  # type: ignore[operator]
                return c
        base = int(self.signatures.classes.first[-1])
        return base + self._extra.setdefault((probe, reading), len(self._extra))

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


def where(probe: Probe) -> str:
    """A probe in a few words."""
    if probe.red is None:
        return f"{probe.preparation}: {probe.words}"
    lifted = f"lifted end at {probe.red}" if probe.lifted else str(probe.red)
    return f"{probe.preparation}: {probe.kind} {lifted} to {probe.black}"
