"""Values of slots over the script of a check-out, with and without a slip; each way is looked up once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from galleyproof.checkout.bench import Standing
from galleyproof.proof.trials import Trials
from galleyproof.proof.ways import RIGHT

Steps = NDArray[np.int64]
Name = tuple[tuple[int, int], ...]
"""Slots, and the way each goes."""


@dataclass(frozen=True, slots=True)
class Parted:
    """Steps by the values of some slots.

    Attributes:
        keys: Each combination of values once.
        which: For every step the place of its combination.
    """

    keys: tuple[tuple[Any, ...], ...]
    which: Steps


class Timeline:
    """Values after each step.

    Args:
        trials: The job over the script.
        right: The right wiring.
    """

    def __init__(self, trials: Trials, right: Standing) -> None:
        self._ways = trials.ways
        self._place = np.array(trials.ways.place_of, dtype=np.int64)
        rows = [right.state(step).values for step in range(len(trials.steps))]
        self._right = [tuple(column) for column in zip(*rows, strict=True)]
        self._columns: dict[tuple[int, int], tuple[Any, ...]] = {}
        self._moved: dict[tuple[int, int], tuple[int, ...]] = {}
        self._parted: dict[Name, Parted] = {}

    def right(self, slot: int) -> tuple[Any, ...]:
        """Values of a slot on the right wiring."""
        return self._right[slot]

    def column(self, slot: int, way: int) -> tuple[Any, ...]:
        """Values of a slot after every step, by its way."""
        if way == RIGHT:
            return self._right[slot]
        found = self._columns.get((slot, way))
        if found is None:
            # equal values are one to the walk, and 1.0 equals True: what is equal stays as it is on the right wiring
            right = self._right[slot]
            column = list(right)
            codes = self._ways.column(slot, way)
            for step in self.moved(slot, way):
                column[step] = _as(right[step], self._ways.values[codes[self._place[step]]])
            found = self._columns[slot, way] = tuple(column)
        return found

    def moved(self, slot: int, way: int) -> tuple[int, ...]:
        """Steps after which a slot stands otherwise than on the right wiring."""
        found = self._moved.get((slot, way))
        if found is None:
            # the codes are of one walk, by which equal values have one
            differ = (self._ways.column(slot, way) != self._ways.column(slot, RIGHT))[self._place]
            found = self._moved[slot, way] = tuple(np.flatnonzero(differ).tolist())
        return found

    def forget(self) -> None:
        """Drop what was looked up."""
        for known in (self._columns, self._moved, self._parted):
            known.clear()

    def parted(self, slots: Sequence[int], over: Mapping[int, int]) -> Parted:
        """Steps by the values of some slots, in the order given.

        Args:
            slots: The slots.
            over: Slot -> way, where it goes another one.
        """
        name = tuple([(s, over.get(s, RIGHT)) for s in slots])
        found = self._parted.get(name)
        if found is None:
            found = self._parted[name] = self._part(name)
        return found

    def _part(self, name: Name) -> Parted:
        if not name:
            return Parted(((),), np.zeros(len(self._ways.parents), dtype=np.int64))
        at: dict[tuple[Any, ...], int] = {}
        columns = [self.column(s, way) for s, way in name]
        which = [at.setdefault(key, len(at)) for key in zip(*columns, strict=True)]
        return Parted(tuple(at), np.array(which, dtype=np.int64))


def _as(right: Any, value: Any) -> Any:
    """A value of the kind that its slot has on the right wiring."""
    if isinstance(right, bool):
        return bool(value) if type(value) is float else value
    return float(value) if type(right) is float and isinstance(value, bool) else value
