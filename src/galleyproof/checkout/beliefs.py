"""What readings make of every hypothesis: nothing wrong, one slip, two at once.

Every slip has its simulated reading at every probe. A reading that was taken makes those likelier that agree with it
within the meter's tolerance; a small chance that it was misread keeps any slip from being ruled out by one number.
When no hypothesis explains all readings, pairs are built from slips that each explain a part, and simulated exactly.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from galleyproof.checkout.model import Reading
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
MOST_PAIRS = 24
"""Pairs simulated after one reading. [-]"""


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
class _Seen:
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
        self.seen: list[_Seen] = []
        self._weighed: dict[tuple[int, int], _Pair] = {}
        self._behind: tuple[int, int, Column] = (-1, 0, self.prior)
        self._named: dict[int, list[Suspect]] = {}
        self.group_of = np.zeros(len(self.slips), dtype=np.int64)
        for g, members in enumerate(signatures.groups):
            self.group_of[list(members)] = g

    # seeing -------------------------------------------------------------------------------------------------
    def observe(self, observation: Observation) -> None:
        """Take something down; pairs are built when it leaves nothing that explains everything."""
        columns = []
        right = 0.0
        for probe, read in observation.either:
            kind = self.signatures.checkout.probes[probe].kind
            usual = near(kind, self.signatures.right[probe], read)
            right = max(right, usual)
            column = np.full(len(self.slips), usual)
            for s in self.signatures.changing(probe):
                column[s] = near(kind, self.signatures.changed[s][probe], read)
            columns.append((probe, read, column))
        best = columns[0][2]
        for _, _, column in columns[1:]:
            best = np.maximum(best, column)
        likely = likelihood(best)
        self.seen.append(
            _Seen(
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
        if self._pair_reader is not None and not self._explained():
            self._build_pairs(self._pair_reader)

    def forget(self) -> bool:
        """Take the last observation back; False when there is none."""
        if self.seen:
            self.seen.pop()
            self._behind = (-1, 0, self.prior)
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

    def near_to(self, changed: Mapping[int, Reading], seen: _Seen) -> float:
        """How well an observation agrees with some changed readings."""
        probes = self.signatures.checkout.probes
        return max(near(probes[i].kind, changed.get(i, self.signatures.right[i]), read) for i, read, _ in seen.columns)

    def seconds(self, first: int) -> Column:
        """Weight of each slip as a second one behind a first, beside the weight of that one alone.

        Readings of the two are taken for those of the first where it changes them, else of the second.

        Args:
            first: Index of a single slip.
        """
        known, count, weights = self._behind
        if known != first:
            count, weights = 0, TWO_SLIPS * self.prior[first] * self.prior
        here = self.signatures.changed[first]
        for seen in self.seen[count:]:
            if not any(i in here for i, _, _ in seen.columns):
                weights = weights * seen.likely
                continue
            column = np.zeros(len(self.slips))
            for i, read, of_single in seen.columns:
                if i in here:
                    known_near = near(self.signatures.checkout.probes[i].kind, here[i], read)
                    column = np.maximum(column, known_near)
                else:
                    column = np.maximum(column, of_single)
            weights = weights * likelihood(column)
        self._behind = (first, len(self.seen), weights)
        return np.where(self.group_of == self.group_of[first], 0.0, weights)

    # pairs --------------------------------------------------------------------------------------------------
    def _explained(self) -> bool:
        if not self.seen:
            return True
        if not self._missed().all() or all(seen.right >= UNEXPLAINED for seen in self.seen):
            return True
        return any(self._weigh(pair).missed[len(self.seen)] == 0 for pair in self.pairs)

    def _build_pairs(self, reader: PairReader) -> None:
        """Pairs of slips that each explain a part of what was read wrong."""
        odd = [n for n, seen in enumerate(self.seen) if seen.right < UNEXPLAINED]
        if not odd:
            return
        table = np.array([seen.near for seen in self.seen]) >= UNEXPLAINED
        explains = table[odd]
        spoils = (~table).sum(axis=0) - (~explains).sum(axis=0)
        by_group: dict[int, int] = {}
        for s in np.flatnonzero(explains.any(axis=0)).tolist():
            g = int(self.group_of[s])
            if g not in by_group or self.prior[s] > self.prior[by_group[g]]:
                by_group[g] = s
        useful = sorted(by_group.values(), key=lambda s: (int(spoils[s]) - int(explains[:, s].sum()), -self.prior[s]))[
            :80
        ]
        mine = explains[:, useful].astype(np.int64)
        count = mine.sum(axis=0)
        together = count[:, None] + count[None, :] - mine.T @ mine
        more = np.triu(together > np.maximum(count[:, None], count[None, :]), 1)
        found: list[tuple[float, int, int]] = []
        for i, j in np.argwhere(more).tolist():
            a, b = useful[i], useful[j]
            missed = len(odd) - int(together[i, j]) + 0.5 * int(spoils[a] + spoils[b])
            found.append((missed - 0.1 * math.log(self.prior[a] * self.prior[b]), a, b))
        done = 0
        for _, a, b in sorted(found):
            pair = (min(a, b), max(a, b))
            if done >= MOST_PAIRS:
                return
            if pair in self.pairs:
                continue
            done += 1
            changed = reader(self.slips[pair[0]], self.slips[pair[1]])
            if changed is not None:
                self.pairs[pair] = changed
                self._named.clear()

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
        singles, nothing, pairs = self.singles(), self.nothing(), self.of_pairs()
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
        for n in np.argsort(-pairs, kind="stable")[:most].tolist():
            a, b = names_of[n]
            missed = self._weigh((a, b)).missed[len(self.seen)]
            found.append(Suspect((keys[a], keys[b]), (), float(pairs[n]) / total, missed))
        return sorted(found, key=lambda s: -s.chance)[:most]

    def explained(self, suspect: Suspect) -> bool:
        """Whether a hypothesis leaves no more readings unexplained than misreading would."""
        return suspect.unexplained < 2 + len(self.seen) // 25


def likelihood(agreement: Column | float) -> Column:
    """Likelihood of a reading by how well it agrees. [ratio]."""
    return (1.0 - MISREAD) * np.asarray(agreement, dtype=np.float64) + MISREAD * STRAY


def near(kind: str, expected: Reading, read: Reading) -> float:
    """How well a reading agrees with the expected one: 1 within half the tolerance, 0.14 at its edge. [ratio]."""
    if isinstance(expected, str) or isinstance(read, str):
        return 1.0 if expected == read else 0.0
    if math.isinf(expected) or math.isinf(read):
        # a meter on a very high resistance may as well show an open circuit
        other = read if math.isinf(expected) else expected
        return 1.0 if math.isinf(other) else (0.5 if other > 1e6 else 0.0)
    margin_there = margin(kind, expected)
    z = max(abs(read - expected) / margin_there - 0.5, 0.0) / 0.25
    return math.exp(-0.5 * z * z)
