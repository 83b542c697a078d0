"""Promises judged over ways: which break with a slip in place, where, and what shows in daily use.

The situations stand in the order of a walk through their tree, so that everything below a step is one stretch of an
array; a way then is an array, and a promise is judged in all situations at once.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from operator import itemgetter
from typing import Any

import numpy as np
from numpy.typing import NDArray

from galleyproof.proof.judge import found_words, meets, serves, working
from galleyproof.proof.model import Promise, Step
from galleyproof.proof.ways import RIGHT, Wave, Ways

SEEN_SPEED = 0.25
"""A fan this much faster or slower than it should be is noticed; a smaller difference is not (common practice)."""

Bools = NDArray[np.bool_]
Codes = NDArray[np.int64]
Bits = NDArray[np.uint64]
Chunk = tuple[int, ...]
"""As many promises as there are bits to a number."""
BIT = tuple(np.uint64(1 << k) for k in range(64))


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
        self._seen: dict[bool, Codes] = {kind: np.empty(0, np.int64) for kind in (True, False)}
        self._asked = self._ask()
        self._filled: dict[tuple[int, int], Codes] = {}
        self._always_met: dict[tuple[Any, ...], bool] = {}
        self._done: dict[tuple[int, ...], Break | None] = {}
        self._alone_done: dict[tuple[int, int], tuple[Break, ...]] = {}
        self._held_bits: dict[Chunk, Bits] = {}
        self._met_bits: dict[Chunk, Bits] = {}
        self._differ_at: dict[tuple[int, int], Bools] = {}
        self._held_right: dict[int, Bools] = {}
        self._working_in: dict[tuple[int, int], Bools] = {}
        self._shown: dict[tuple[int, int], int] = {}
        self._slots_of = [tuple([slot[n] for n in (p.slot, *p.expect.others)]) for p in promises]
        # promises that ask for one slot alone, and those that ask for several, by the slots they ask for
        alone: dict[int, list[int]] = {}
        self._several: dict[int, list[int]] = {}
        for i, slots in enumerate(self._slots_of):
            for s in dict.fromkeys(slots):
                (alone if len(slots) == 1 else self._several).setdefault(s, []).append(i)
        most = len(BIT)
        self._alone: dict[int, list[Chunk]] = {
            s: [tuple(mine[k : k + most]) for k in range(0, len(mine), most)] for s, mine in alone.items()
        }
        self.watched = set(self._alone) | set(self._several) | set(self.effects)

    # what is asked where --------------------------------------------------------------------------------------
    def _ask(self) -> list[Bools]:
        """In which situations each promise is asked, and which of them are daily use."""
        n = len(self.steps)
        told = np.zeros(n, dtype=bool)
        daily = np.zeros(n, dtype=bool)
        situations = [(self.at[index], step.facts) for index, step in enumerate(self.steps) if step.facts is not None]
        places = np.array([at for at, _ in situations], dtype=np.int64)
        told[places] = True
        daily[[at for at, facts in situations if is_daily(facts)]] = True
        self.told, self.daily = told, daily
        arrays: dict[str, dict[str, Bools]] = {}
        facts_asked = sorted({fact for p in self.promises for fact, _ in p.when})
        unknown = dict.fromkeys(facts_asked, "")
        stated = [{**unknown, **facts} for _, facts in situations]
        for fact in facts_asked:
            found = [*map(itemgetter(fact), stated)]
            code_of = {v: code for code, v in enumerate(dict.fromkeys(found))}
            codes = np.full(n, -1, dtype=np.int64)
            codes[places] = [code_of[v] for v in found]
            arrays[fact] = {v: codes == code for v, code in code_of.items() if v}
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
                known = self._seen[speeds] = np.append(known, np.array(new, np.int64))
            found = self._filled[key] = known.take(self.ways.column(slot, way))
        return found

    # judging ----------------------------------------------------------------------------------------------------
    def breaks(self, over: Mapping[int, int]) -> list[Break]:
        """Promises that hold as designed and break with these ways."""
        found: list[Break] = []
        several: set[int] = set()
        for s, way in over.items():
            alone = self._alone_done.get((s, way))
            if alone is None:
                alone = self._alone_done[s, way] = self._judge_alone(s, way)
            found += alone
            several.update(self._several.get(s, ()))
        for i in several:
            slots = self._slots_of[i]
            key = (i, *[over.get(s, RIGHT) for s in slots])
            if key not in self._done:
                new = self._held(i) > self._kept(i, key[1:])
                count = int(np.count_nonzero(new))
                self._done[key] = self._broken(i, key[1:], new, count) if count else None
            broken = self._done[key]
            if broken is not None:
                found.append(broken)
        return sorted(found, key=lambda b: b.promise)

    def _judge_alone(self, slot: int, way: int) -> tuple[Break, ...]:
        """Promises that ask for this slot alone, all at once: each is a bit."""
        filled = self.filled(slot, way)
        broken: list[Break] = []
        for chunk in self._alone.get(slot, ()):
            held, met = self._bits_held(chunk), self._bits_met(chunk)
            kept = met.take(filled)
            for k, i in enumerate(chunk):
                if self.promises[i].timing == "always":
                    here = (kept & BIT[k]) != 0
                    for at in self._spoiled(i, (way,), [filled], here):
                        kept[at] &= ~BIT[k]
            new = held & ~kept
            some = int(np.bitwise_or.reduce(new))
            for k, i in enumerate(chunk):
                if some >> k & 1:
                    where = (new & BIT[k]) != 0
                    broken.append(self._broken(i, (way,), where, int(np.count_nonzero(where))))
        return tuple(broken)

    def _bits_held(self, chunk: Chunk) -> Bits:
        """Which promises of a chunk are asked, and kept on the right wiring, by place."""
        found = self._held_bits.get(chunk)
        if found is None:
            found = np.zeros(len(self.steps), np.uint64)
            for k, i in enumerate(chunk):
                found[self._held(i)] |= BIT[k]
            self._held_bits[chunk] = found
        return found

    def _bits_met(self, chunk: Chunk) -> Bits:
        """Which promises of a chunk a value meets, by its code."""
        found = self._met_bits.get(chunk)
        if found is None or len(found) < len(self.values):
            found = np.zeros(len(self.values), np.uint64)
            for k, i in enumerate(chunk):
                found[self._meeting(i)] |= BIT[k]
            self._met_bits[chunk] = found
        return found

    def _broken(self, i: int, ways: Sequence[int], new: Bools, situations: int) -> Break:
        """How a promise breaks, that holds as designed, in some situations."""
        slots = self._slots_of[i]
        daily = new & self.daily
        in_daily = int(np.count_nonzero(daily))
        # a breach outside daily use is told first: it is the one nobody sees
        first = self._first(new > self.daily if in_daily < situations else new)
        shows_at = -1
        if in_daily:
            seen = np.zeros(len(self.steps), dtype=bool)
            for s, way in zip(slots, ways, strict=True):
                if way != RIGHT:
                    seen |= self._differs(s, way)
            seen &= daily
            if np.count_nonzero(seen):
                shows_at = self._first(seen)
        value = self.values[self.filled(slots[0], ways[0])[self.at[first]]]
        return Break(i, situations, in_daily, first, found_words(value), shows_at >= 0, shows_at)

    def _first(self, mask: Bools) -> int:
        """The earliest step of the grid."""
        return int(self._steps_at[mask].min())

    def _held(self, i: int) -> Bools:
        """In which situations a promise is asked, and kept on the right wiring."""
        found = self._held_right.get(i)
        if found is None:
            found = self._held_right[i] = self._asked[i] & self._kept(i, [RIGHT] * len(self._slots_of[i]))
        return found

    def _meeting(self, i: int) -> Bools:
        """Which values meet a promise that asks for one slot alone, by their codes."""
        ok = self._met.get(i)
        known = 0 if ok is None else len(ok)
        if ok is None or known < len(self.values):
            expect = self.promises[i].expect
            more = np.array([meets(expect, v, lambda _n: None) for v in self.values[known:]], dtype=np.bool_)
            ok = self._met[i] = more if ok is None else np.append(ok, more)
        return ok

    def _kept(self, i: int, ways: Sequence[int]) -> Bools:
        """Where a promise is kept; where it is not asked it may be taken for kept."""
        promise, slots = self.promises[i], self._slots_of[i]
        arrays = [self.filled(s, way) for s, way in zip(slots, ways, strict=True)]
        if len(arrays) == 1:
            kept: Bools = self._meeting(i).take(arrays[0])
        else:
            others = [self._working_at(s, way) for s, way in zip(slots[1:], ways[1:], strict=True)]
            together = others[0] if len(others) == 1 else np.logical_or.reduce(others)
            if promise.expect.ask == "with":
                # it serves wherever one of the others works
                kept = np.array([serves(v) for v in self.values]).take(arrays[0]) >= together
            else:
                kept = together >= self._working_at(slots[0], ways[0])
        if promise.timing == "always":
            kept[self._spoiled(i, ways, arrays, kept)] = False
        return kept

    def _spoiled(self, i: int, ways: Sequence[int], arrays: Sequence[Codes], kept: Bools) -> list[int]:
        """Steps at whose end a promise is kept, but not at every moment before."""
        slots, asked = self._slots_of[i], self._asked[i]
        # where nothing moves after a delay, the end of the step is all there is to see
        late = kept & asked & self._any_of(self.ways.late, slots, ways)
        if any(ways):
            # what goes as on the right wiring has been looked at there
            late &= self._any_of(self.ways.other, slots, ways)
        places = np.flatnonzero(late)
        if not len(places):
            return []
        above = self.ways.above[places]
        starts = [np.where(above < 0, -1, codes[above]).tolist() for codes in arrays]
        names = [self.ways.names(s, way, places) for s, way in zip(slots, ways, strict=True)]
        found = zip(places.tolist(), *starts, *names, strict=True)
        return [at for at, *key in found if not self._always(i, slots, ways, at, tuple(key))]

    def _any_of(self, of: Callable[[int, int], Bools], slots: Sequence[int], ways: Sequence[int]) -> Bools:
        """Where one thing is so of some slot."""
        first, *others = [of(s, way) for s, way in zip(slots, ways, strict=True)]
        for other in others:
            first = first | other
        return first

    def _works(self) -> Bools:
        """Whether a device works, by the code of its value."""
        if len(self._working) < len(self.values):
            self._working = np.array([working(v) for v in self.values], dtype=np.bool_)
        return self._working

    def _working_at(self, slot: int, way: int) -> Bools:
        """Where a slot's device works, by place."""
        key = (slot, way)
        found = self._working_in.get(key)
        if found is None:
            found = self._working_in[key] = self._works().take(self.filled(slot, way))
        return found

    def _always(self, i: int, slots: Sequence[int], ways: Sequence[int], at: int, key: tuple[Any, ...]) -> bool:
        """Whether a promise is kept at every moment of a step: once its events have settled, and after each delay.

        Args:
            i: Its number.
            slots: What it asks for.
            ways: Their ways.
            at: Place of the step.
            key: Codes of what they stand at before it, and the names of their waves.
        """
        known = (i, *key)
        found = self._always_met.get(known)
        if found is None:
            waves = [self.ways.moves(s, way).get(at, ()) for s, way in zip(slots, ways, strict=True)]
            found = self._always_met[known] = self._moments_kept(i, slots, key[: len(slots)], waves)
        return found

    def _moments_kept(self, i: int, slots: Sequence[int], start: Sequence[int], waves: Sequence[Wave]) -> bool:
        promise = self.promises[i]
        values = [self.values[c] if c >= 0 else self.dark[s] for c, s in zip(start, slots, strict=True)]
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
        found = self._differ_at.get((slot, way))
        if found is None:
            if slot in self._speeds:
                speed = np.array([abs(v) if isinstance(v, float) else 0.0 for v in self.values])
                apart = speed.take(self.filled(slot, way)) - speed.take(self.filled(slot, RIGHT))
                found = np.abs(apart) >= SEEN_SPEED
            else:
                found = self._working_at(slot, way) != self._working_at(slot, RIGHT)
            self._differ_at[slot, way] = found
        return found

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
                here = self._working_at(*key)
                mask = (here != self._working_at(s, RIGHT)) & self.daily
                if s in self.alarms:
                    mask &= here
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
