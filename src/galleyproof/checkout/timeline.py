"""Values of slots over the script of a check-out, with and without a slip; each course is looked up once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from galleyproof.checkout.bench import Standing
from galleyproof.proof.trials import Trials
from galleyproof.proof.waves import SILENT, places_of

Steps = NDArray[np.int64]


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
        self._courses = trials.courses
        self._start = trials.grid.values
        self._parents = [s.parent for s in trials.steps]
        self._place = places_of(self._parents)
        rows = [right.state(step).values for step in range(len(self._parents))]
        self._right = [tuple(column) for column in zip(*rows, strict=True)]
        self._columns: dict[tuple[int, int], tuple[Any, ...]] = {}
        self._moved: dict[tuple[int, int], tuple[int, ...]] = {}
        self._parted: dict[tuple[tuple[int, int], ...], Parted] = {}

    def right(self, slot: int) -> tuple[Any, ...]:
        """Values of a slot on the right wiring."""
        return self._right[slot]

    def column(self, slot: int, course: int) -> tuple[Any, ...]:
        """Values of a slot after every step, by its course; -1 stands for the right wiring."""
        if course < 0:
            return self._right[slot]
        found = self._columns.get((slot, course))
        if found is None:
            found = self._columns[slot, course] = self._follow(slot, course)
        return found

    def moved(self, slot: int, course: int) -> tuple[int, ...]:
        """Steps after which a slot stands otherwise than on the right wiring."""
        found = self._moved.get((slot, course))
        if found is None:
            pairs = enumerate(zip(self.column(slot, course), self._right[slot], strict=True))
            found = self._moved[slot, course] = tuple([n for n, (a, b) in pairs if a != b])
        return found

    def parted(self, slots: Sequence[int], over: Mapping[int, int]) -> Parted:
        """Steps by the values of some slots, in the order given.

        Args:
            slots: The slots.
            over: Slot -> course, where it goes another way.
        """
        name = tuple([(s, over.get(s, -1)) for s in slots])
        found = self._parted.get(name)
        if found is None:
            found = self._parted[name] = self._part(name)
        return found

    def _part(self, name: tuple[tuple[int, int], ...]) -> Parted:
        count = len(self._place)
        if not name:
            return Parted(((),), np.zeros(count, dtype=np.int64))
        at: dict[tuple[Any, ...], int] = {}
        columns = [self.column(s, c) for s, c in name]
        which = [at.setdefault(key, len(at)) for key in zip(*columns, strict=True)]
        return Parted(tuple(at), np.array(which, dtype=np.int64))

    def _follow(self, slot: int, course: int) -> tuple[Any, ...]:
        courses = self._courses
        start = self._start[slot]
        wave = courses.waves[courses.wave_of[course]]
        # one more at the end, where the root's place is asked for as -1
        values: list[Any] = [start] * len(self._parents)
        values.append(wave[-1][1] if wave else start)
        at = [SILENT] * len(self._parents)
        at.append(course)
        below: dict[int, dict[int, int]] = {SILENT: {}}
        for step, (parent, place) in enumerate(zip(self._parents, self._place, strict=True)):
            here = at[parent]
            value = values[parent]
            if here:
                children = below.get(here)
                if children is None:
                    children = below[here] = dict(courses.children_of[here])
                mine = children.get(place, SILENT)
                if mine:
                    at[step] = mine
                    wave = courses.waves[courses.wave_of[mine]]
                    if wave:
                        value = wave[-1][1]
            values[step] = value
        values.pop()
        right = self._right[slot]
        # equal courses are one course, and 1.0 equals True
        kinds = (bool, float)
        return tuple(
            [
                type(r)(v) if type(v) is not type(r) and isinstance(v, kinds) and isinstance(r, kinds) else v
                for v, r in zip(values, right, strict=True)
            ]
        )
