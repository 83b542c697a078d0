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

from galleyproof.checkout.model import Checkout, Expectation, Reading
from galleyproof.checkout.probes import expectation


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
    def shows(self) -> dict[str, list[int]]:
        """Slip -> the probes that show it beyond tolerance."""
        return {
            key: [i for i, r in changed.items() if not self.expected[i].holds(r)]
            for key, changed in zip(self.slips, self.changed, strict=True)
        }

    def reading(self, slip: int, probe: int) -> Reading:
        """What a slip reads. -1 stands for the right wiring."""
        return self.right[probe] if slip < 0 else self.changed[slip].get(probe, self.right[probe])

    @cached_property
    def classes(self) -> Classes:
        """Classes of readings that a meter cannot tell apart."""
        of_probe: dict[int, list[tuple[int, Reading]]] = {}
        for s, changed in enumerate(self.changed):
            for i, reading in changed.items():
                if not self.expected[i].holds(reading):
                    of_probe.setdefault(i, []).append((s, reading))
        slip_of: list[int] = []
        class_of: list[int] = []
        first: list[int] = []
        probes: list[int] = []
        total = 0
        for i in sorted(of_probe):
            names = _grouped(self.checkout.probes[i].kind, of_probe[i])
            probes.append(i)
            first.append(total)
            for s, c in names:
                slip_of.append(s)
                class_of.append(total + c)
            total += max(c for _, c in names) + 1
        return Classes(
            np.array(probes, dtype=np.int64),
            np.array([*first, total], dtype=np.int64),
            np.array(slip_of, dtype=np.int64),
            np.array(class_of, dtype=np.int64),
        )

    @cached_property
    def groups(self) -> tuple[tuple[int, ...], ...]:
        """Slips that no probe separates from each other; those that nothing shows stand together with the right one."""
        table = self.classes
        rows: dict[int, list[int]] = {s: [] for s in range(len(self.slips))}
        for s, c in zip(table.slip_of.tolist(), table.class_of.tolist(), strict=True):
            rows[s].append(c)
        found: dict[tuple[int, ...], list[int]] = {}
        for s, row in rows.items():
            found.setdefault(tuple(sorted(row)), []).append(s)
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


def _grouped(kind: str, found: Sequence[tuple[int, Reading]]) -> list[tuple[int, int]]:
    """Slips with the class of their reading: words by themselves, numbers in runs without a gap."""
    words = sorted({r for _, r in found if isinstance(r, str)})
    class_of: dict[Reading, int] = {w: n for n, w in enumerate(words)}
    numbers = sorted({r for _, r in found if not isinstance(r, str)})
    c = len(words) - 1
    start: float | None = None
    for r in numbers:
        # a run ends where a reading can be told from the one it began with
        if start is None or r - start > margin(kind, start):
            c += 1
            start = r
        class_of[r] = c
    return [(s, class_of[r]) for s, r in found]


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
    return {i: r for i, (a, r) in enumerate(zip(right, read, strict=True)) if not _same(a, r)}


def _same(a: Reading, b: Reading) -> bool:
    if isinstance(a, str) or isinstance(b, str):
        return a == b
    if math.isinf(a) or math.isinf(b):
        return a == b
    return abs(a - b) <= 1e-6 * max(abs(a), abs(b)) + 1e-9
