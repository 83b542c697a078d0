"""Waves: what one slot does over the whole tree of situations, as one shared value.

A *wave* is what a slot does within one step of the grid: the changes, each with its moment. A *course* is what it does
over a step and everything below it: the wave of the step, and the courses of the children in which anything changes.
Equal courses are one number, so that the forty places of the grid in which a light's breaker is lost are one course,
and the tree of a lamp is as small as a lamp is simple. Course 0 is silence.

A moment is (seconds since the step's events, round): all devices that have seen the changes of one round act at once,
and what they do is the next round's change. Readings change in the round of what moved them.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from typing import Any, TypeVar

Moment = tuple[float, int]
Wave = tuple[tuple[Moment, Any], ...]
"""Changes of one slot within one step, in order."""
Children = tuple[tuple[int, int], ...]
"""Place among the step's children, and its course."""
Sparse = tuple[int, ...]
"""Places that are not silent, and what stands there: place, number, place, number ..."""
Below = tuple[tuple[int, tuple[int, ...]], ...]
"""Several courses side by side, by their number among those read; and the places below which they stand."""
Opened = tuple[int, Below]
"""Waves side by side, by their number among those met, 0 if all are silent; and the courses below."""
SILENT = 0
Name = TypeVar("Name", bound=Hashable)


class Courses:
    """Every wave and course met so far; one table for a whole study."""

    def __init__(self) -> None:
        self.waves: list[Wave] = [()]
        self._wave_at: dict[Hashable, int] = {(): 0}
        self._forms: list[type] = [object]
        self.wave_of: list[int] = [0]
        self.children_of: list[Children] = [()]
        self._at: dict[tuple[int, Children], int] = {(0, ()): SILENT}
        self.reads: list[Sparse] = [()]
        """Courses read side by side."""
        self._read_at: dict[Sparse, int] = {(): 0}
        self.chords: list[Sparse] = [()]
        """Waves met side by side."""
        self._chord_at: dict[Sparse, int] = {(): 0}
        self._opened: dict[int, Opened] = {0: (0, ())}

    def wave(self, changes: Wave) -> int:
        """Number of a wave."""
        key: Hashable = changes
        found = self._wave_at.get(key)
        if found is not None and changes:
            last = type(changes[-1][1])
            form = last if last is complex or last is bool else object
            if self._forms[found] is not form:
                # 1.0, 1+0j and True are equal, but who reads volts of DC must not be handed those of AC
                key = (form, changes)
                found = self._wave_at.get(key)
        if found is None:
            found = self._wave_at[key] = len(self.waves)
            self.waves.append(changes)
            self._forms.append(_form(changes))
        return found

    def course(self, wave: int, children: Children) -> int:
        """Number of a course."""
        key = (wave, children)
        found = self._at.get(key)
        if found is None:
            found = self._at[key] = len(self.wave_of)
            self.wave_of.append(wave)
            self.children_of.append(children)
        return found

    def read(self, courses: Sequence[int]) -> int:
        """Number of several courses side by side."""
        flat: list[int] = []
        for i, c in enumerate(courses):
            if c:
                flat += (i, c)
        return self._numbered(tuple(flat), self.reads, self._read_at)

    def _numbered(self, key: Sparse, all_of: list[Sparse], at: dict[Sparse, int]) -> int:
        found = at.get(key)
        if found is None:
            found = at[key] = len(all_of)
            all_of.append(key)
        return found

    def opened(self, read: int) -> Opened:
        """Several courses side by side: their waves, and below which places what comes."""
        found = self._opened.get(read)
        if found is None:
            children_of, wave_of = self.children_of, self.wave_of
            places: dict[int, list[int]] = {}
            chord: list[int] = []
            flat = iter(self.reads[read])
            for i, c in zip(flat, flat, strict=True):
                w = wave_of[c]
                if w:
                    chord += (i, w)
                for place, child in children_of[c]:
                    row = places.get(place)
                    if row is None:
                        places[place] = [i, child]
                    else:
                        row += (i, child)
            below: dict[Sparse, list[int]] = {}
            for place in sorted(places):
                key = tuple(places[place])
                same = below.get(key)
                if same is None:
                    below[key] = [place]
                else:
                    same.append(place)
            numbered = self._numbered
            found = self._opened[read] = (
                numbered(tuple(chord), self.chords, self._chord_at) if chord else 0,
                tuple([(numbered(key, self.reads, self._read_at), tuple(at)) for key, at in below.items()]),
            )
        return found

    def of_events(self, parents: Sequence[int], events: Sequence[Iterable[tuple[str, Any]]]) -> dict[str, int]:
        """Courses of the outside world.

        Args:
            parents: Parent of each step, -1 for the root; a parent stands before its children.
            events: Each step's events: world slot and its new value, only where it changes.

        Returns:
            World slot -> course of the root.
        """
        return self.of_waves(parents, [{name: (((0.0, 0), value),) for name, value in mine} for mine in events], {})

    def of_waves(
        self, parents: Sequence[int], waves: Sequence[Mapping[Name, Wave]], root: Mapping[Name, Wave]
    ) -> dict[Name, int]:
        """Courses put together from the waves of every step.

        Args:
            parents: Parent of each step, -1 for the root.
            waves: Each step's waves.
            root: Waves before the first step.
        """
        places = places_of(parents)
        below: dict[int, dict[Name, list[tuple[int, int]]]] = {}
        for step in range(len(parents) - 1, -1, -1):
            mine = below.pop(step, {})
            above = below.setdefault(parents[step], {})
            for name in mine.keys() | waves[step].keys():
                course = self.course(self.wave(waves[step].get(name, ())), tuple(sorted(mine.get(name, ()))))
                above.setdefault(name, []).append((places[step], course))
        top = below.get(-1, {})
        return {
            name: self.course(self.wave(root.get(name, ())), tuple(sorted(top.get(name, ()))))
            for name in top.keys() | root.keys()
        }


def _form(changes: Wave) -> type:
    """What kind of value a wave ends with: an AC phasor, a yes or no, or anything else."""
    last = type(changes[-1][1])
    return last if last is complex or last is bool else object


def places_of(parents: Sequence[int]) -> list[int]:
    """Place of each step among its parent's children."""
    count: dict[int, int] = {}
    places = []
    for parent in parents:
        places.append(count.get(parent, 0))
        count[parent] = places[-1] + 1
    return places
