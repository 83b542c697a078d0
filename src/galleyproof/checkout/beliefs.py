"""What readings make of every hypothesis: nothing wrong, one slip, two at once.

Every slip has its simulated reading at every probe. A reading that was taken makes those likelier that agree with it
within the meter's tolerance; a small chance that it was misread keeps any slip from being ruled out by one number.
Pairs that matter by what was read so far (``pairing``) are simulated exactly.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from galleyproof.checkout.model import Probe, Reading
from galleyproof.checkout.pairing import Pairing
from galleyproof.checkout.signatures import Signatures, margin
from galleyproof.proof.slips.model import Slip

Column = NDArray[np.float64]

MISREAD = 0.02
"""Chance that a reading was taken or written down wrongly (common practice). [ratio]"""
STRAY = 0.1
"""Share of what is left that a misread value gives to any one reading. [ratio]"""
ALL_RIGHT = 0.2
"""Prior chance that nothing is wrong when somebody asks. [ratio]"""
TWO_SLIPS = 0.05
"""How often there are two slips where there is one (common practice). [ratio]"""
SECOND_SLIP = 0.002
"""Chance of a second slip below which it is not looked for any more. [ratio]"""
SURE = 0.999
UNEXPLAINED = 0.05
"""A reading that agrees less than this with what a hypothesis gives is not explained by it. [ratio]"""

OFF_SCALE_DEGF = (-39.0, 299.0)
"""At or beyond these a temperature display stands at an end of its scale (common practice). [degF], [degF]"""
LEAST_PULSES_HZ = 10.0
"""From here on a signal is made of pulses, of whatever frequency: tens to thousands (field case E05). [Hz]"""

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
        unexplained: Number of readings that it does not explain. [-]
    """

    slips: tuple[str, ...]
    others: tuple[str, ...]
    chance: float
    unexplained: int


@dataclass(frozen=True, slots=True)
class Seen:
    """An observation and how well each single slip agrees with it.

    ``columns`` has for each alternative the probe, the reading and how well it agrees with every slip. ``likely`` is
    the likelihood of the best alternative for each; ``weights``, ``nothing`` and ``missed`` are what all observations
    up to this one make of every single slip and of the right wiring, and how many of them each slip leaves unexplained.
    """

    observation: Observation
    columns: tuple[tuple[int, Reading, Column], ...]
    near: Column
    right: float
    likely: Column
    weights: Column
    nothing: float
    missed: NDArray[np.int64]

    @property
    def odd(self) -> bool:
        """Whether the right wiring does not explain it."""
        return self.right < UNEXPLAINED

    @property
    def explained(self) -> NDArray[np.bool_]:
        """Whether each single slip explains it."""
        return self.near >= UNEXPLAINED


@dataclass(slots=True)
class _Pair:
    """What the observations make of two slips at once, one entry for each and one before the first."""

    changed: Mapping[int, Reading]
    weights: list[float]
    missed: list[int]


class Beliefs:
    """Hypotheses and what has been seen.

    Args:
        signatures: What every slip reads.
        slips: The slips, in the order of the signatures.
        pairs: Simulates two slips at once; None leaves pairs out.
    """

    def __init__(self, signatures: Signatures, slips: Sequence[Slip], pairs: PairReader | None = None) -> None:
        self.signatures = signatures
        self.slips = tuple(slips)
        self._pair_reader = pairs
        weights = np.array([s.prior for s in slips], dtype=np.float64)
        self.prior: Column = (1.0 - ALL_RIGHT) * weights / weights.sum() if len(weights) else weights
        self.pairs: dict[tuple[int, int], Mapping[int, Reading]] = {}
        self.seen: list[Seen] = []
        self._weighed: dict[tuple[int, int], _Pair] = {}
        self._behind: tuple[int, int, Column] = (-1, 0, self.prior)
        self._named: dict[int, list[Suspect]] = {}
        self.group_of = np.zeros(len(self.slips), dtype=np.int64)
        for g, members in enumerate(signatures.groups):
            self.group_of[list(members)] = g
        self._beside: tuple[int, Column] = (-1, self.prior)
        self._alongside: dict[int, tuple[int, Column]] = {}
        self._pairing = Pairing(self)

    # seeing -------------------------------------------------------------------------------------------------
    def observe(self, observation: Observation) -> None:
        """Take something down; pairs are built when it leaves nothing that explains everything."""
        columns = []
        right = 0.0
        if observation.text:
            observation = self._complained(observation)
        for probe, read in observation.either:
            made = self.signatures.checkout.probes[probe]
            usual = near(made, self.signatures.right[probe], read)
            right = max(right, usual)
            column = np.full(len(self.slips), usual)
            for s in self.signatures.changing(probe):
                column[s] = near(made, self.signatures.changed[s][probe], read)
            columns.append((probe, read, column))
        best = columns[0][2]
        for _, _, column in columns[1:]:
            best = np.maximum(best, column)
        likely = likelihood(best)
        self.seen.append(
            Seen(
                observation,
                tuple(columns),
                best,
                right,
                likely,
                self.singles() * likely,
                self.nothing() * float(likelihood(right)),
                self._missed() + (best < UNEXPLAINED),
            )
        )
        self._named.clear()
        if self._pair_reader is None:
            return
        for pair in tuple(self._pairing.pairs()):
            changed = self._pair_reader(self.slips[pair[0]], self.slips[pair[1]])
            if changed is not None:
                self.pairs[pair] = changed

    def _complained(self, observation: Observation) -> Observation:
        """A complaint without what it may mean that is right: nobody calls for that."""
        probes, right = self.signatures.checkout.probes, self.signatures.right
        odd = tuple((i, r) for i, r in observation.either if near(probes[i], right[i], r) < UNEXPLAINED)
        return Observation(odd or observation.either, observation.text)

    def forget(self) -> bool:
        """Take the last observation back; False when there is none."""
        if self.seen:
            self.seen.pop()
            self._behind = (-1, 0, self.prior)
            self._alongside.clear()
            self._named.clear()
            for pair in self._weighed.values():
                del pair.weights[len(self.seen) + 1 :], pair.missed[len(self.seen) + 1 :]
            return True
        return False

    # weighing -----------------------------------------------------------------------------------------------
    def singles(self) -> Column:
        """Weight of each single slip, not normalised; not to be written to."""
        return self.seen[-1].weights if self.seen else self.prior

    def nothing(self) -> float:
        """Weight of nothing being wrong."""
        return self.seen[-1].nothing if self.seen else ALL_RIGHT

    def _missed(self) -> NDArray[np.int64]:
        """How many observations each single slip leaves unexplained."""
        return self.seen[-1].missed if self.seen else np.zeros(len(self.slips), dtype=np.int64)

    def of_pairs(self) -> Column:
        """Weight of each pair."""
        return np.array([self._weigh(pair).weights[len(self.seen)] for pair in self.pairs], dtype=np.float64)

    def _weigh(self, pair: tuple[int, int]) -> _Pair:
        """A pair with all observations weighed."""
        found = self._weighed.get(pair)
        if found is None:
            first = TWO_SLIPS * float(self.prior[pair[0]]) * float(self.prior[pair[1]])
            found = self._weighed[pair] = _Pair(self.pairs[pair], [first], [0])
        for seen in self.seen[len(found.weights) - 1 :]:
            agreement = self.near_to(found.changed, seen)
            found.weights.append(found.weights[-1] * ((1.0 - MISREAD) * agreement + MISREAD * STRAY))
            found.missed.append(found.missed[-1] + (agreement < UNEXPLAINED))
        return found

    def near_to(self, changed: Mapping[int, Reading], seen: Seen) -> float:
        """How well an observation agrees with some changed readings."""
        probes = self.signatures.checkout.probes
        return max(near(probes[i], changed.get(i, self.signatures.right[i]), read) for i, read, _ in seen.columns)

    def seconds(self, first: int) -> Column:
        """Weight of each slip as a second one behind a first, beside the weight of that one alone.

        Readings of the two are taken for those of the first where it changes them, else of the second.

        Args:
            first: Index of a single slip.
        """
        known, count, weights = self._behind
        if known != first:
            count, weights = 0, self._both(first)
        for seen in self.seen[count:]:
            weights = weights * self._of_two(first, seen, either=False)
        self._behind = (first, len(self.seen), weights)
        return np.where(self.group_of == self.group_of[first], 0.0, weights)

    def _both(self, first: int) -> Column:
        """Prior of each slip together with a first one."""
        return TWO_SLIPS * float(self.prior[first]) * self.prior

    def _of_two(self, first: int, seen: Seen, *, either: bool) -> Column:
        """Likelihood of an observation with a first slip and each other one, from their readings alone.

        Args:
            first: Index of a single slip.
            seen: The observation.
            either: Where both change the reading it may be as either has it, not only as the first.
        """
        here = self.signatures.changed[first]
        if not any(i in here for i, _, _ in seen.columns):
            return seen.likely
        best = np.zeros(len(self.slips))
        for i, read, of_single in seen.columns:
            column = of_single
            if i in here:
                known = near(self.signatures.checkout.probes[i], here[i], read)
                column = np.full(len(self.slips), known)
                both = self.signatures.changing(i) if either else []
                column[both] = np.maximum(of_single[both], known)
            best = np.maximum(best, column)
        return likelihood(best)

    # pairs --------------------------------------------------------------------------------------------------
    def alongside(self, first: int) -> Column:
        """Guessed weight of each slip together with a first: where both change a reading it may be as either has it.

        Args:
            first: Index of a single slip.
        """
        count, weights = self._alongside.get(first, (0, self._both(first)))
        for seen in self.seen[count:]:
            weights = weights * self._of_two(first, seen, either=True)
        self._alongside[first] = (len(self.seen), weights)
        return weights

    def behind(self, first: int) -> tuple[Column, dict[int, float]]:
        """Weight of each slip as a second one behind a first, by guess; and of those that were simulated with it.

        Args:
            first: Index of a single slip.
        """
        guessed = self.seconds(first)
        known = {a + b - first: self._weigh((a, b)).weights[len(self.seen)] for a, b in self.pairs if first in (a, b)}
        guessed[list(known)] = 0.0
        return guessed, known

    def hidden(self, first: int) -> Column:
        """Share of what shows each slip that a first one changes too; 1 where nothing shows a slip at all.

        Args:
            first: Index of the first.
        """
        if self._beside[0] != first:
            table = self.signatures.classes
            changed = np.zeros(len(self.signatures.right), dtype=np.bool_)
            changed[list(self.signatures.changed[first])] = True
            free = np.bincount(table.slip_of[~changed[table.probe_of]], minlength=len(self.slips))
            every = np.bincount(table.slip_of, minlength=len(self.slips))
            self._beside = (first, 1.0 - free / np.maximum(every, 1))
        return self._beside[1]

    def likeliest(self) -> float:
        """Weight of the likeliest hypothesis."""
        pairs = self.of_pairs()
        return max(float(self.singles().max(initial=0.0)), self.nothing(), float(pairs.max(initial=0.0)))

    def lead(self) -> float:
        """Share of the likeliest hypothesis that has any slip, with what no probe separates from it. [ratio]."""
        singles, pairs = self.singles(), self.of_pairs()
        slips, _ = self.best()
        own = singles[self.group_of == self.group_of[slips[0]]] if len(slips) == 1 else pairs.max(initial=0.0)
        return float(own.sum()) / (float(singles.sum()) + self.nothing() + float(pairs.sum()))

    def best(self) -> tuple[tuple[int, ...], Mapping[int, Reading]]:
        """Slips of the likeliest hypothesis that has any, and what they change."""
        singles, pairs = self.singles(), self.of_pairs()
        if len(pairs) and pairs.max() > singles.max():
            pair = list(self.pairs)[int(np.argmax(pairs))]
            return pair, self.pairs[pair]
        single = int(np.argmax(singles))
        return (single,), self.signatures.changed[single]

    def unexplained(self, changed: Mapping[int, Reading]) -> list[Seen]:
        """Observations that some changed readings do not explain."""
        return [seen for seen in self.seen if self.near_to(changed, seen) < UNEXPLAINED]

    # answers ------------------------------------------------------------------------------------------------
    def suspects(self, most: int = 8) -> list[Suspect]:
        """The likeliest hypotheses, those that no probe separates shown as one.

        Args:
            most: How many.
        """
        known = self._named.get(most)
        if known is None:
            known = self._named[most] = self._suspects(most)
        return list(known)

    def _suspects(self, most: int) -> list[Suspect]:
        singles, nothing, pairs = self.singles(), self.nothing(), self._spoken_for()
        total = float(singles.sum()) + nothing + float(pairs.sum())
        wrong = self._missed()
        keys = self.signatures.slips
        groups = self.signatures.groups
        by_group = np.bincount(self.group_of, singles, minlength=len(groups))
        found: list[Suspect] = []
        silent = False
        for g in np.argsort(-by_group)[: most + 1].tolist():
            members = sorted(groups[g], key=lambda s: -singles[s])
            names = tuple(keys[s] for s in members)
            if self.signatures.shows[names[0]]:
                found.append(Suspect(names[:1], names[1:], float(by_group[g]) / total, int(wrong[members[0]])))
            else:
                # nothing shows these: as far as any reading goes, nothing is wrong
                silent = True
                chance = (float(by_group[g]) + nothing) / total
                found.append(Suspect((), names, chance, int(wrong[members[0]])))
        if not silent:
            unseen = sum(seen.right < UNEXPLAINED for seen in self.seen)
            found.append(Suspect((), (), nothing / total, unseen))
        names_of = list(self.pairs)
        for n in np.argsort(-pairs, kind="stable")[: min(most, np.count_nonzero(pairs))].tolist():
            a, b = names_of[n]
            missed = self._weigh((a, b)).missed[len(self.seen)]
            found.append(Suspect((keys[a], keys[b]), (), float(pairs[n]) / total, missed))
        return sorted(found, key=lambda s: -s.chance)[:most]

    def _spoken_for(self) -> Column:
        """Weight of each pair; 0 where no reading speaks for the second slip, only how often there are two."""
        pairs = self.of_pairs()
        singles = self.singles()
        a, b = np.array(list(self.pairs), dtype=np.int64).reshape(-1, 2).T
        unsaid = TWO_SLIPS * np.maximum(singles[a] * self.prior[b], singles[b] * self.prior[a])
        return np.where(pairs <= unsaid * (1.0 + 1e-9), 0.0, pairs)

    def explained(self, suspect: Suspect) -> bool:
        """Whether a hypothesis leaves no more readings unexplained than misreading would."""
        return suspect.unexplained < self.more_than_misread()

    def more_than_misread(self) -> int:
        """Number of readings left unexplained from which on misreading does not account for them. [-]."""
        return 2 + len(self.seen) // 25


def likelihood(agreement: Column | float) -> Column:
    """Likelihood of a reading by how well it agrees. [ratio]."""
    return (1.0 - MISREAD) * np.asarray(agreement, dtype=np.float64) + MISREAD * STRAY


def near(probe: Probe, expected: Reading, read: Reading) -> float:
    """How well a reading agrees with the expected one: 1 within half the tolerance, 0.14 at its edge. [ratio]."""
    if isinstance(expected, str) or isinstance(read, str):
        return 1.0 if expected == off_scale(probe, read) else 0.0
    if probe.kind == "hertz" and min(expected, read) >= LEAST_PULSES_HZ:
        return 1.0
    if math.isinf(expected) or math.isinf(read):
        # a meter on a very high resistance may as well show an open circuit
        other = read if math.isinf(expected) else expected
        return 1.0 if math.isinf(other) else (0.5 if other > 1e6 else 0.0)
    margin_there = margin(probe.kind, expected)
    z = max(abs(read - expected) / margin_there - 0.5, 0.0) / 0.25
    return math.exp(-0.5 * z * z)


def off_scale(probe: Probe, read: Reading) -> Reading:
    """What a display at an end of its scale means: open or short; anything else as it is."""
    if isinstance(read, str) or probe.kind != "display" or OFF_SCALE_DEGF[0] < read < OFF_SCALE_DEGF[1]:
        return read
    return "open" if (read > 0.0) == probe.rises else "short"
