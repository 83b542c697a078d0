"""What every slip would read: the table that the plan and the diagnosis work on.

A slip is kept as the probes whose reading it changes; everything else reads as on the right wiring. Readings of one
probe that a meter cannot tell apart share a class; class 0 is the right reading's.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from galleyproof.checkout.model import LEAST_DIFFERENCE, Checkout, Expectation, Reading
from galleyproof.checkout.probes import expectation

WORD, WORD_APART = -1e200, 1e190
"""The number of the first word, and how far the next ones lie below it. [-]"""


@dataclass(frozen=True)
class Signatures:
    """Readings of all slips.

    Attributes:
        checkout: All possible probes.
        right: Reading of each probe on the right wiring.
        slips: Keys of the slips, in order.
        changed: For each slip: index of a probe -> its reading, only where it is not the right one.
    """

    checkout: Checkout
    right: tuple[Reading, ...]
    slips: tuple[str, ...]
    changed: tuple[Mapping[int, Reading], ...]

    @cached_property
    def expected(self) -> tuple[Expectation, ...]:
        """Expectation of each probe."""
        return tuple(expectation(p, r) for p, r in zip(self.checkout.probes, self.right, strict=True))

    @cached_property
    def _entries(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Slip and probe of every changed reading."""
        lengths = [len(changed) for changed in self.changed]
        slip = np.repeat(np.arange(len(lengths)), lengths)
        return slip, np.fromiter((i for changed in self.changed for i in changed), dtype=np.int64, count=len(slip))

    @cached_property
    def _of_probe(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Slips in the order of the probes whose reading they change, and where each probe's begin."""
        slip, probe = self._entries
        order = np.argsort(probe, kind="stable")
        return slip[order], np.searchsorted(probe[order], np.arange(len(self.right) + 1))

    def changing(self, probe: int) -> list[int]:
        """Slips that change a probe's reading, be it within tolerance."""
        slips, ends = self._of_probe
        return [int(s) for s in slips[ends[probe] : ends[probe + 1]]]

    @cached_property
    def wrong(self) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
        """Every reading beyond tolerance: its slip, its probe, and its value, words as numbers of their own."""
        slip, probe = self._entries
        value = self._numbers([r for changed in self.changed for r in changed.values()])
        low = self._numbers([e.low for e in self.expected])
        high = self._numbers([e.high for e in self.expected])
        beyond = (value < low[probe]) | (value > high[probe])
        return slip[beyond], probe[beyond], value[beyond]

    @cached_property
    def words(self) -> tuple[str, ...]:
        """Every word a reading can be."""
        found = {r for r in self.right if isinstance(r, str)}
        for changed in self.changed:
            found.update(r for r in changed.values() if isinstance(r, str))
        return tuple(sorted(found))

    def _numbers(self, readings: Sequence[Reading]) -> NDArray[np.float64]:
        """Readings as numbers; words stand far below every number."""
        code: dict[Reading, float] = {w: WORD - n * WORD_APART for n, w in enumerate(self.words)}
        return np.array([code.get(r, r) for r in readings], dtype=np.float64)

    @cached_property
    def shows(self) -> dict[str, list[int]]:
        """Slip -> the probes that show it beyond tolerance."""
        slip, probe, _ = self.wrong
        ends = np.searchsorted(slip, np.arange(len(self.slips) + 1)).tolist()
        probes = probe.tolist()
        return {key: probes[ends[n] : ends[n + 1]] for n, key in enumerate(self.slips)}

    def reading(self, slip: int, probe: int) -> Reading:
        """What a slip reads. -1 stands for the right wiring."""
        return self.right[probe] if slip < 0 else self.changed[slip].get(probe, self.right[probe])

    @cached_property
    def classes(self) -> Classes:
        """Classes of readings that a meter cannot tell apart."""
        slip, probe, value = self.wrong
        order = np.lexsort((slip, value, probe))
        slip, probe, value = slip[order], probe[order], value[order]
        # equal readings of one probe stand side by side: only each first one has to be looked at
        new = np.ones(len(value), dtype=np.bool_)
        new[1:] = (probe[1:] != probe[:-1]) | (value[1:] != value[:-1])
        kinds = [p.kind for p in self.checkout.probes]
        opened: list[int] = []
        c = -1
        before, start, until = -1, 0.0, 0.0
        for i, v in zip(probe[new].tolist(), value[new].tolist(), strict=True):
            # a run ends where a reading can be told from the one it began with
            if i != before or v > until or start <= WORD:
                c += 1
                before, start = i, v
                until = v if v <= WORD else v + margin(kinds[i], v)
            opened.append(c)
        class_of = np.array(opened, dtype=np.int64)[np.cumsum(new) - 1] if opened else np.empty(0, dtype=np.int64)
        first_of_probe = np.ones(len(probe), dtype=np.bool_)
        first_of_probe[1:] = probe[1:] != probe[:-1]
        return Classes(
            probe[first_of_probe],
            np.append(class_of[first_of_probe], c + 1).astype(np.int64),
            slip.astype(np.int64),
            class_of,
        )

    @cached_property
    def groups(self) -> tuple[tuple[int, ...], ...]:
        """Slips that no probe separates from each other; those that nothing shows stand together with the right one."""
        table = self.classes
        order = np.lexsort((table.class_of, table.slip_of))
        ends = np.searchsorted(table.slip_of[order], np.arange(len(self.slips) + 1)).tolist()
        classes = table.class_of[order].tolist()
        found: dict[tuple[int, ...], list[int]] = {}
        for s in range(len(self.slips)):
            found.setdefault(tuple(classes[ends[s] : ends[s + 1]]), []).append(s)
        return tuple(tuple(g) for g in found.values())


@dataclass(frozen=True)
class Classes:
    """Classes of wrong readings, probe after probe, as flat arrays.

    Attributes:
        probes: Indices of the probes that show anything.
        first: First class of each of them; one more at the end for the total.
        slip_of: For each entry the slip.
        class_of: For each entry the class.
    """

    probes: NDArray[np.int64]
    first: NDArray[np.int64]
    slip_of: NDArray[np.int64]
    class_of: NDArray[np.int64]

    @cached_property
    def probe_of(self) -> NDArray[np.int64]:
        """For each entry the probe."""
        return np.repeat(self.probes, np.diff(self.first))[self.class_of]

    def of_slip(self, slip: int) -> NDArray[np.int64]:
        """Classes of everything that a slip reads wrong."""
        order, ends = self._by_slip
        return self.class_of[order[ends[slip] : ends[slip + 1]]]

    @cached_property
    def _by_slip(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Entries in the order of the slips, and where each one's begin."""
        order = np.argsort(self.slip_of, kind="stable")
        last = int(self.slip_of.max(initial=-1))
        return order, np.searchsorted(self.slip_of[order], np.arange(last + 2))


def margin(kind: str, reading: Reading) -> float:
    """How far two readings must lie apart to be told from each other. [the reading's unit]."""
    if isinstance(reading, str) or math.isinf(reading):
        return 0.0
    if kind == "ohms":
        return 0.15 * abs(reading) + 1.5
    if kind == "display":
        return 4.0
    if kind == "volts AC":
        return max(0.1 * abs(reading), 4.0)
    if kind == "amps AC":
        return 0.15 * abs(reading) + 0.3
    if kind == "hertz":
        return 0.5 * abs(reading) + 5.0
    return max(0.04 * abs(reading), 0.25)


def collected(
    checkout: Checkout, right: Sequence[Reading], wrong: Iterable[tuple[str, Mapping[int, Reading]]]
) -> Signatures:
    """The table from what each slip changes.

    Args:
        checkout: All possible probes.
        right: Reading of each probe on the right wiring.
        wrong: Slip key, and index of a probe -> reading for those that differ.
    """
    found = tuple(wrong)
    return Signatures(checkout, tuple(right), tuple(k for k, _ in found), tuple(c for _, c in found))


def differences(right: Sequence[Reading], read: Sequence[Reading]) -> dict[int, Reading]:
    """Probes that read otherwise than on the right wiring, rounding aside."""
    return {i: r for i, (a, r) in enumerate(zip(right, read, strict=True)) if not same(a, r)}


def same(a: Reading, b: Reading) -> bool:
    """Whether two readings are one, rounding aside."""
    if isinstance(a, str) or isinstance(b, str):
        return a == b
    if math.isinf(a) or math.isinf(b):
        return a == b
    return abs(a - b) <= 1e-6 * max(abs(a), abs(b)) + LEAST_DIFFERENCE
