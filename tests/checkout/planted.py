"""Mistakes planted at random, and a person with a meter who looks for them: its error, now and then a misread value."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from galleyproof.checkout.beliefs import MISREAD, PairReader
from galleyproof.checkout.diagnosis import Diagnosis
from galleyproof.checkout.model import Reading
from galleyproof.checkout.signatures import Signatures, margin
from galleyproof.proof.slips import Slip

LONGEST = 3000
"""Readings after which a search is broken off. Every search comes to its own end before: a probe is asked for five
times at most, and none that tells nothing. [-]"""


class Planted:
    """Searches on one job.

    Args:
        signatures: What every slip reads.
        slips: The slips, in their order.
        seed: Of everything drawn.
    """

    def __init__(self, signatures: Signatures, slips: Sequence[Slip], seed: int) -> None:
        self.signatures = signatures
        self.slips = tuple(slips)
        self.rng = np.random.default_rng(seed)
        self.place = {p.key: i for i, p in enumerate(signatures.checkout.probes)}
        self.group_of = {signatures.slips[s]: g for g, members in enumerate(signatures.groups) for s in members}
        self.prior = np.array([s.prior if signatures.shows[s.key] else 0.0 for s in slips])
        self.prior /= self.prior.sum()

    def drawn(self, count: int) -> list[int]:
        """Slips as often as the trade sees them, of those that anything shows."""
        return [int(s) for s in self.rng.choice(len(self.slips), count, p=self.prior)]

    def taken(self, probe: int, true: Reading) -> Reading:
        """A reading as a person takes it: half the tolerance is two standard deviations; now and then misread."""
        made = self.signatures
        if self.rng.random() < MISREAD:
            others = sorted({made.changed[s][probe] for s in made.changing(probe)}, key=str)
            if others:
                return others[int(self.rng.integers(len(others)))]
        if isinstance(true, str) or math.isinf(true):
            return true
        return true + float(self.rng.normal(0.0, margin(made.checkout.probes[probe].kind, true) / 4.0))

    def one(self, slip: int) -> tuple[bool, int]:
        """Search for one slip: whether it, or the group that no probe separates it from, ends first; and readings."""
        found = Diagnosis(self.signatures, self.slips)
        n = 0
        while n < LONGEST and not found.sure and (advice := found.next_probe()) is not None:
            probe = self.place[advice.probe.key]
            found.add(probe, self.taken(probe, self.signatures.reading(slip, probe)))
            n += 1
        top = found.suspects(1)[0]
        here = self.group_of[self.signatures.slips[slip]]
        return bool(top.slips) and self.group_of[top.slips[0]] == here, n

    def two(self, a: Slip, b: Slip, changed: Mapping[int, Reading], pairs: PairReader) -> tuple[bool, bool, int]:
        """Search with two slips in place, for one and then for another behind it.

        Returns:
            Whether both are named; whether some probe tells them from what is named; readings.
        """
        found = Diagnosis(self.signatures, self.slips, pairs)
        n = 0
        while n < LONGEST and (advice := found.next_probe()) is not None:
            probe = self.place[advice.probe.key]
            found.add(probe, self.taken(probe, changed.get(probe, self.signatures.right[probe])))
            n += 1
        slips = found.suspects(1)[0].slips
        named = {self.group_of[k] for k in slips} == {self.group_of[a.key], self.group_of[b.key]}
        return named, not self.alike(changed, self.read_with(slips, pairs)), n

    def read_with(self, keys: Sequence[str], pairs: PairReader) -> Mapping[int, Reading]:
        """What some slips change: none, one, or two at once."""
        at = [self.signatures.slips.index(k) for k in keys]
        if len(at) == 2:
            return pairs(self.slips[at[0]], self.slips[at[1]]) or {}
        return self.signatures.changed[at[0]] if at else {}

    def alike(self, one: Mapping[int, Reading], other: Mapping[int, Reading]) -> bool:
        """Whether no probe whatever tells two sets of changed readings apart."""
        right, probes = self.signatures.right, self.signatures.checkout.probes
        for i in {*one, *other}:
            x, y = one.get(i, right[i]), other.get(i, right[i])
            if isinstance(x, str) or isinstance(y, str) or math.isinf(x) or math.isinf(y):
                if x != y:
                    return False
            elif abs(x - y) > margin(probes[i].kind, x):
                return False
        return True

    def pair(self) -> tuple[Slip, Slip]:
        """Two slips that do not stand on the same conductor."""
        while True:
            a, b = (self.slips[int(i)] for i in self.rng.choice(len(self.slips), 2, replace=False, p=self.prior))
            if not conductors(a) & conductors(b) and self.group_of[a.key] != self.group_of[b.key]:
                return a, b

    def bits(self) -> float:
        """Entropy of what there is to find, groups that no probe separates counted as one. [bit]."""
        by_group = np.bincount([self.group_of[k] for k in self.signatures.slips], self.prior)
        some = by_group[by_group > 0.0]
        return float(-(some * np.log2(some)).sum())

    def most_bits(self) -> float:
        """The most that any one reading tells before the first: no search needs fewer than ``bits / most_bits``."""
        table = self.signatures.classes
        mass = np.bincount(table.class_of, self.prior[table.slip_of])
        best = 0.0
        for first, last in zip(table.first[:-1].tolist(), table.first[1:].tolist(), strict=True):
            shares = np.append(mass[first:last], max(1.0 - mass[first:last].sum(), 0.0))
            best = max(best, math.log2(np.count_nonzero(shares)))
        return best


def conductors(slip: Slip) -> set[str]:
    """Conductors a slip stands on, and the terminals of those it joins."""
    change = slip.change
    found = {*change.opened, *(k for k, _ in change.loose), *(m.conductor for m in change.moved)}
    return found | {str(t) for t in slip.terminals}
