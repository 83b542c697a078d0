"""Promises judged over ways: which break with a slip in place, where, and what shows in daily use.

The situations stand in the order of a walk through their tree, so that everything below a step is one stretch of an
array; a way then is an array, and a promise is judged in all situations at once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from galleyproof.proof.judge import found_words, meets, working
from galleyproof.proof.model import Promise, Step
from galleyproof.proof.ways import RIGHT, Wave, Ways

SEEN_SPEED = 0.25
"""A fan this much faster or slower than it should be is noticed; a smaller difference is not (common practice)."""

Bools = NDArray[np.bool_]
Codes = NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class Break:
    """One promise that a slip breaks.

    Attributes:
        promise: Its number.
        situations: In how many situations.
        daily: In how many of those of daily use.
        first: Step of the first one outside daily use, or of the first at all.
        found: What the device then does, in words.
        shows: True when the device plainly does something else in daily use.
        shows_at: Step in which it shows, or -1.
    """

    promise: int
    situations: int
    daily: int
    first: int
    found: str
    shows: bool
    shows_at: int


class Outcomes:
    """Judges ways against the promises of a job.

    Args:
        steps: The grid.
        promises: The promises.
        slot: Number of each slot.
        dark: Values of all slots when everything is dark.
        effects: Device tag -> slot that shows what it does.
        alarms: Slots of horns and alarm modules.
        ways: What slots do over the grid.
    """

    def __init__(
        self,
        steps: Sequence[Step],
        promises: Sequence[Promise],
        slot: Mapping[str, int],
        dark: Sequence[Any],
        effects: Mapping[str, str],
        alarms: Sequence[str],
        ways: Ways,
    ) -> None:
        self.steps, self.promises, self.ways = steps, promises, ways
        self.slot, self.dark = slot, dark
        self.effects = {slot[name]: tag for tag, name in effects.items()}
        self.alarms = {slot[name] for name in alarms}
        self._speeds = {n for name, n in slot.items() if name.endswith(".speed")}
        self._codes: dict[Any, int] = {}
        self.values: list[Any] = []
        self._working: Bools = np.empty(0, dtype=np.bool_)
        self._met: dict[int, Bools] = {}
        self.at = ways.place_of
        self.step_at = [0] * len(steps)
        for index, place in enumerate(self.at):
            self.step_at[place] = index
        self._steps_at = np.array(self.step_at)
        # how a speed, and how anything else, is coded here, by its code among the ways
        self._seen: dict[bool, Codes] = {kind: np.empty(0, np.int32) for kind in (True, False)}
        self._asked = self._ask()
        self._filled: dict[tuple[int, int], Codes] = {}
        self._done: dict[tuple[int, ...], Break | None] = {}
        self._broken: dict[tuple[int, ...], Bools] = {}
        self._shown: dict[tuple[int, int], int] = {}
        self._of_slot: dict[int, list[int]] = {}
        for i, promise in enumerate(promises):
            for name in dict.fromkeys((promise.slot, *promise.expect.others)):
                self._of_slot.setdefault(slot[name], []).append(i)
        self.watched = set(self._of_slot) | set(self.effects)

    # what is asked where --------------------------------------------------------------------------------------
    def _ask(self) -> list[Bools]:
        """In which situations each promise is asked, and which of them are daily use."""
        n = len(self.steps)
        told = np.zeros(n, dtype=bool)
        facts: dict[str, list[str | None]] = {}
        wanted = {fact for p in self.promises for fact, _ in p.when}
        daily = np.zeros(n, dtype=bool)
        for index, step in enumerate(self.steps):
            if step.facts is not None:
                told[self.at[index]] = True
                daily[self.at[index]] = is_daily(step.facts)
        self.told, self.daily = told, daily
        for fact in wanted:
            row: list[str | None] = [None] * n
            for index, step in enumerate(self.steps):
                if step.facts is not None:
                    row[self.at[index]] = step.facts.get(fact)
            facts[fact] = row
        arrays: dict[str, dict[str | None, Bools]] = {}
        for fact, row in facts.items():
            column = np.array([v or "" for v in row])
            arrays[fact] = {v: column == v for v in set(row) if v}
        asked = []
        nowhere = np.zeros(n, dtype=bool)
        for promise in self.promises:
            mask = told
            for fact, values in promise.when:
                any_of = nowhere
                for v in sorted(values):
                    any_of = any_of | arrays[fact].get(v, nowhere)
                mask = mask & any_of
            asked.append(mask)
        return asked

    # filling ----------------------------------------------------------------------------------------------------
    def _code(self, speed: bool, value: Any) -> int:
        # equal values are one whatever their type (True is 1.0), so the slot says what its values are
        if speed and not isinstance(value, (bool, int, float)):
            return -1
        value = float(value) if speed else bool(value)
        key = (type(value) is float, value)
        found = self._codes.get(key)
        if found is None:
            found = self._codes[key] = len(self.values)
            self.values.append(value)
        return found

    def filled(self, slot: int, way: int) -> Codes:
        """Codes of the values a slot ends each step with, by place."""
        key = (slot, way)
        found = self._filled.get(key)
        if found is None:
            speeds = slot in self._speeds
            known = self._seen[speeds]
            if len(known) < len(self.ways.values):
                new = [self._code(speeds, v) for v in self.ways.values[len(known) :]]
                known = self._seen[speeds] = np.append(known, np.array(new, np.int32))
            found = self._filled[key] = known[self.ways.column(slot, way)]
        return found

    # judging ----------------------------------------------------------------------------------------------------
    def breaks(self, over: Mapping[int, int]) -> list[Break]:
        """Promises that hold as designed and break with these ways."""
        found = []
        for i in sorted({i for s in over for i in self._of_slot.get(s, ())}):
            promise = self.promises[i]
            slots = [self.slot[name] for name in (promise.slot, *promise.expect.others)]
            key = (i, *(over.get(s, RIGHT) for s in slots))
            if key not in self._done:
                self._done[key] = self._judge(i, slots, key)
            broken = self._done[key]
            if broken is not None:
                found.append(broken)
        return found

    def _judge(self, i: int, slots: Sequence[int], key: tuple[int, ...]) -> Break | None:
        right = self._mask(i, slots, (i, *(RIGHT for _ in slots)))
        new = self._mask(i, slots, key) & ~right
        situations = int(new.sum())
        if not situations:
            return None
        daily = new & self.daily
        # a breach outside daily use is told first: it is the one nobody sees
        outside = new & ~self.daily
        first = self._first(outside if outside.any() else new)
        shows_at = -1
        if daily.any():
            seen = np.zeros(len(self.steps), dtype=bool)
            for s, way in zip(slots, key[1:], strict=True):
                seen |= self._differs(s, way)
            if (daily & seen).any():
                shows_at = self._first(daily & seen)
        value = self.values[self.filled(slots[0], key[1])[self.at[first]]]
        return Break(i, situations, int(daily.sum()), first, found_words(value), shows_at >= 0, shows_at)

    def _first(self, mask: Bools) -> int:
        """The earliest step of the grid."""
        return int(self._steps_at[mask].min())

    def _mask(self, i: int, slots: Sequence[int], key: tuple[int, ...]) -> Bools:
        found = self._broken.get(key)
        if found is None:
            found = self._broken[key] = self._asked[i] & ~self._kept(i, slots, key[1:])
        return found

    def _kept(self, i: int, slots: Sequence[int], ways: Sequence[int]) -> Bools:
        promise = self.promises[i]
        arrays = [self.filled(s, c) for s, c in zip(slots, ways, strict=True)]
        if len(arrays) == 1:
            ok = self._met.get(i)
            if ok is None or len(ok) < len(self.values):
                ok = self._met[i] = np.array([meets(promise.expect, v, lambda _n: None) for v in self.values])
            kept: Bools = ok[arrays[0]]
        else:
            works = self._works()
            mine, together = works[arrays[0]], np.zeros(len(self.steps), dtype=bool)
            for other in arrays[1:]:
                together |= works[other]
            kept = mine | ~together if promise.expect.ask == "with" else together | ~mine
        if promise.timing == "always":
            # where nothing moves after a delay, the end of the step is all there is to see
            late = frozenset[int]().union(*(self.ways.late(s, way) for s, way in zip(slots, ways, strict=True)))
            for at in late:
                if at < len(kept) and kept[at]:
                    waves = [self.ways.moves(s, way).get(at, ()) for s, way in zip(slots, ways, strict=True)]
                    kept[at] = self._always(promise, slots, ways, at, waves)
        return kept

    def _works(self) -> Bools:
        """Whether a device works, by the code of its value."""
        if len(self._working) < len(self.values):
            self._working = np.array([working(v) for v in self.values], dtype=np.bool_)
        return self._working

    def _always(
        self, promise: Promise, slots: Sequence[int], ways: Sequence[int], at: int, waves: Sequence[Wave]
    ) -> bool:
        """Whether a promise is kept at every moment of a step: once its events have settled, and after each delay."""
        parent = self.steps[self.step_at[at]].parent
        values = []
        for s, c in zip(slots, ways, strict=True):
            if parent >= 0:
                values.append(self.values[self.filled(s, c)[self.at[parent]]])
            else:
                values.append(self.dark[s])
        names = (promise.slot, *promise.expect.others)
        for time_s in sorted({0.0} | {moment[0] for wave in waves for moment, _ in wave}):
            for k, wave in enumerate(waves):
                for moment, value in wave:
                    if moment[0] == time_s:
                        values[k] = float(value) if slots[k] in self._speeds else bool(value)
            now = dict(zip(names, values, strict=True))
            if not meets(promise.expect, now[promise.slot], now.__getitem__):
                return False
        return True

    # what shows -------------------------------------------------------------------------------------------------
    def _differs(self, slot: int, way: int) -> Bools:
        """Where a person sees a device do something else than it should."""
        here, right = self.filled(slot, way), self.filled(slot, RIGHT)
        if slot in self._speeds:
            speed = np.array([abs(v) if isinstance(v, float) else 0.0 for v in self.values])
            differ: Bools = np.abs(speed[here] - speed[right]) >= SEEN_SPEED
            return differ
        works = self._works()
        other: Bools = works[here] != works[right]
        return other

    def alarm(self, over: Mapping[int, int]) -> int:
        """Step of daily use in which an alarm sounds that should not, or -1."""
        return self._show(over, self.alarms)

    def shows(self, over: Mapping[int, int]) -> tuple[int, int]:
        """Slot and step of daily use in which a device works that should not, or does not that should; or -1, -1."""
        for s in sorted(set(over) & set(self.effects) - self.alarms):
            step = self._show(over, {s})
            if step >= 0:
                return s, step
        return -1, -1

    def _show(self, over: Mapping[int, int], slots: set[int]) -> int:
        found = -1
        for s in sorted(slots & set(over)):
            key = (s, over[s])
            if key not in self._shown:
                here, right = self.filled(*key), self.filled(s, RIGHT)
                works = self._works()
                mask = (works[here] != works[right]) & self.daily
                if s in self.alarms:
                    mask &= works[here]
                self._shown[key] = self._first(mask) if mask.any() else -1
            step = self._shown[key]
            if step >= 0 and (found < 0 or step < found):
                found = step
        return found

    def value(self, slot: int, over: Mapping[int, int], step: int) -> Any:
        """What a slot ends a step with."""
        return self.values[self.filled(slot, over.get(slot, RIGHT))[self.at[step]]]


def is_daily(facts: Mapping[str, str]) -> bool:
    """Daily use: everything supplied, armed, sound and reset, nobody else in command."""
    for fact, value in facts.items():
        what = fact.split(" ", 1)[0]
        if what == "supply" and value != "present":
            return False
        if what == "fire" and value != "armed":
            return False
        if what == "sensor" and value != "ok":
            return False
        if fact == "masters" and value != "rest":
            return False
        if fact == "reset" and value != "pressed":
            return False
    return True


__all__ = ["Break", "Outcomes", "is_daily"]
