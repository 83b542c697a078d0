"""Units over the whole grid at once: from the courses of what a unit reads to the courses of what it writes.

A unit (an island, a device's rule) is a small machine of its own: the same values and the same courses always give
the same, so everything it has done once is remembered, whatever slip asks for it. A slip is told by the units it
changes; their new courses ripple on to the units that read them, until nothing changes any more. Because no unit can
see what comes later, the courses at which this comes to rest are what the plain machine gives, step by step.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from heapq import heapify, heappop, heappush
from operator import itemgetter
from typing import Any

from galleyproof.circuit.island import Island
from galleyproof.circuit.rules import After, Rule
from galleyproof.errors import CircuitError
from galleyproof.proof.waves import SILENT, Below, Courses, Moment, Sparse

MAX_CHANGES = 400
"""Changes of one unit within one step after which it is taken for one that never settles. [-]"""
MAX_TURNS = 120
"""Rounds without rest within one moment, as the plain machine counts them. [-]"""
MAX_MOMENTS = 24
"""Delays running out within one step after which units that act on each other are taken to hunt without end. [-]"""
MAX_VISITS = 16
"""Visits of one unit after which those that wake each other are run together. [-]"""
ROOT: Moment = (0.0, 0)
Act = tuple[int, tuple[Any, ...], tuple[Any, ...], tuple[Any, ...]]
"""What a rule did: which of the members it is, what it read, how it stood, what it answered."""
Given = tuple[tuple[int, int], ...]
"""What is not silent of a unit's outputs: place among them, and its wave or course."""
NOTHING: Given = ()
Stepped = tuple[Given, Any, tuple[Act, ...]]


class NeverSettlesError(CircuitError):
    """A slip makes something chatter; the plain machine has to tell what."""


class LoopError(CircuitError):
    """Units that keep waking each other.

    Attributes:
        units: Indices of those that woke again and again.
        woken: Of all that woke more than twice.
    """

    def __init__(self, units: Collection[int], woken: Collection[int]) -> None:
        super().__init__(f"{len(units)} units keep waking each other")
        self.units = tuple(units)
        self.woken = tuple(woken)


class Unit:
    """What islands, rules and sums have in common.

    Attributes:
        inputs: Slots it reads.
        outputs: Slots it writes.
        courses: The study's table.
    """

    def __init__(self, inputs: Sequence[int], outputs: Sequence[int], courses: Courses) -> None:
        self.inputs = tuple(inputs)
        self.outputs = tuple(outputs)
        self.courses = courses
        self.states: list[Any] = []
        self._state_at: dict[Any, int] = {}
        self._steps: list[dict[int, tuple[Given, int, tuple[Act, ...]]]] = []
        """For each state: waves side by side -> what it gives, the state after, what its rules did."""
        self._done: list[dict[int, Given]] = []
        """For each state: courses side by side -> the courses it gives."""
        self._rooted: tuple[int, Below, tuple[Act, ...]] = (0, (), ())

    # to be given by each kind -----------------------------------------------------------------------------------
    def start(self, values: Sequence[Any]) -> Any:
        """State from the values of all slots."""
        raise NotImplementedError

    def step(self, state: Any, waves: Sparse, forced: bool) -> Stepped:
        """Waves it gives within one step, its state after it, and what its rules did on the way."""
        raise NotImplementedError

    def _changes(self, waves: Sparse, forced: bool) -> dict[Moment, list[tuple[int, Any]]]:
        """What the inputs do within one step: moment -> place among the inputs and new value; forced, the root too."""
        table = self.courses.waves
        found: dict[Moment, list[tuple[int, Any]]] = {ROOT: []} if forced else {}
        flat = iter(waves)
        for i, w in zip(flat, flat, strict=True):
            for moment, value in table[w]:
                mine = found.get(moment)
                if mine is None:
                    found[moment] = [(i, value)]
                else:
                    mine.append((i, value))
        return found

    def _waved(self, out: Sequence[Sequence[tuple[Moment, Any]]]) -> Given:
        """Waves of outputs, from their changes."""
        wave = self.courses.wave
        return tuple([(i, wave(tuple(changes))) for i, changes in enumerate(out) if changes])

    # running ----------------------------------------------------------------------------------------------------
    def state(self, state: Any) -> int:
        """Number of a state."""
        found = self._state_at.get(state)
        if found is None:
            found = self._state_at[state] = len(self.states)
            self.states.append(state)
            self._steps.append({})
            self._done.append({})
        return found

    def run(self, state: int, read: Sequence[int]) -> Given:
        """Courses it gives for the courses it reads, those that are not silent."""
        number = self.courses.read(read)
        found = self._done[state].get(number)
        return self._run(state, number) if found is None else found

    def run_root(self, values: Sequence[Any], read: Sequence[int]) -> Given:
        """The same from the root, where it acts even if nothing it reads has changed."""
        chord, below = self.courses.opened(self.courses.read(read))
        given, after, acts = self.step(self.start(values), self.courses.chords[chord], True)
        self._rooted = (self.state(after), below, acts)
        return self._join(given, self._rooted[0], below)

    def _run(self, state: int, read: int) -> Given:
        chord, below = self.courses.opened(read)
        after, given, courses = state, NOTHING, NOTHING
        if chord:
            found = self._steps[state].get(chord)
            if found is None:
                given, following, acts = self.step(self.states[state], self.courses.chords[chord], False)
                found = self._steps[state][chord] = (given, self.state(following), acts)
            given, after, _ = found
        if below or given:
            courses = self._join(given, after, below)
        self._done[state][read] = courses
        return courses

    def _join(self, given: Given, after: int, below: Below) -> Given:
        """Courses from the waves of a step and what comes below it."""
        done = self._done[after]
        # for each output: its wave, and what comes below
        gathered: dict[int, list[tuple[int, int]]] = {}
        mixed = False
        for read, places in below:
            results = done.get(read)
            if results is None:
                results = self._run(after, read)
            if not results:
                continue
            if len(places) == 1:
                (place,) = places
                for i, course in results:
                    mine = gathered.get(i)
                    if mine is None:
                        gathered[i] = [(place, course)]
                    else:
                        mine.append((place, course))
                continue
            mixed = True
            for i, course in results:
                gathered.setdefault(i, []).extend([(place, course) for place in places])
        course_of = self.courses.course
        if not gathered:
            return tuple([(i, course_of(w, ())) for i, w in given])
        if mixed:
            for mine in gathered.values():
                mine.sort()
        if not given:
            return tuple([(i, course_of(0, tuple(gathered[i]))) for i in sorted(gathered)])
        wave_at = dict(given)
        outputs = sorted(wave_at.keys() | gathered.keys())
        return tuple([(i, course_of(wave_at.get(i, 0), tuple(gathered.get(i, ())))) for i in outputs])

    def acts(self, state: int, read: Sequence[int], *, rooted: bool = False) -> set[Act]:
        """Everything its rules did over the whole tree, for courses it has run before."""
        found: set[Act] = set()
        opened = self.courses.opened
        seen: set[tuple[int, int]] = set()
        stack = [(state, self.courses.read(read))]
        if rooted:
            after, below, acts = self._rooted
            found.update(acts)
            stack = [(after, r) for r, _ in below]
        while stack:
            key = stack.pop()
            if key in seen:
                continue
            seen.add(key)
            chord, below = opened(key[1])
            after = key[0]
            if chord:
                _, after, acts = self._steps[after][chord]
                found.update(acts)
            stack += [(after, r) for r, _ in below]
        return found


class IslandUnit(Unit):
    """An island: its key slots give its readings, in the same round.

    The state is the key. Readings stand first among the outputs, then the currents drawn from watched buses.
    """

    def __init__(
        self,
        island: Island,
        slot: Mapping[str, int],
        readings: Sequence[int],
        watched: Sequence[tuple[int, int]],
        courses: Courses,
    ) -> None:
        super().__init__([slot[s] for s in island.key_slots], [*readings, *(s for _, s in watched)], courses)
        self.island = island
        self._watched = [i for i, _ in watched]
        self._given: dict[Any, tuple[Any, ...]] = {}
        self._before: tuple[Any, ...] | None = None

    def start(self, values: Sequence[Any]) -> Any:
        """See ``Unit``."""
        self._before = tuple([values[s] for s in self.outputs])
        return tuple([values[s] for s in self.inputs])

    def given(self, key: Any) -> tuple[Any, ...]:
        """What it gives with its key slots at ``key``."""
        found = self._given.get(key)
        if found is None:
            solution = self.island.solve(key)
            drawn = [solution.drawn_dc[i] if i >= 0 else 0.0 for i in self._watched]
            found = self._given[key] = (*solution.readings, *drawn)
        return found

    def been_in(self) -> list[tuple[Any, ...]]:
        """States it has been in."""
        return list(self._given)

    def most_drawn(self, parts: Collection[int]) -> float:
        """The most it has drawn so far into one of these slots, in either direction [A]."""
        places = [i for i, s in enumerate(self.outputs) if s in parts]
        return sum(max((abs(g[i]) for g in self._given.values()), default=0.0) for i in places)

    def step(self, state: Any, waves: Sparse, forced: bool) -> Stepped:
        """See ``Unit``."""
        changes = self._changes(waves, forced)
        key = list(state)
        now = self._before if forced else self.given(state)
        assert now is not None
        out: list[list[tuple[Moment, Any]]] = [[] for _ in self.outputs]
        for moment in sorted(changes) if len(changes) > 1 else changes:
            for i, value in changes[moment]:
                key[i] = value
            then = self.given(tuple(key))
            if then is not now:
                for i, value in enumerate(then):
                    if value != now[i]:
                        out[i].append((moment, value))
                now = then
        return self._waved(out), tuple(key), ()


class RuleUnit(Unit):
    """A device's rule: it acts one round after what it reads has changed, and remembers by its own outputs."""

    def __init__(self, rule: Rule, slot: Mapping[str, int], courses: Courses) -> None:
        super().__init__([slot[s] for s in rule.inputs], [slot[s] for s in rule.outputs], courses)
        self.rule = rule
        self.act = rule.act
        self._n = len(self.inputs)

    def start(self, values: Sequence[Any]) -> Any:
        """See ``Unit``."""
        return (tuple([values[s] for s in self.inputs]), tuple([values[s] for s in self.outputs]))

    def step(self, state: Any, waves: Sparse, forced: bool) -> Stepped:
        """See ``Unit``."""
        changes = self._changes(waves, forced)
        read, now = list(state[0]), list(state[1])
        out: list[list[tuple[Moment, Any]]] = [[] for _ in now]
        pending: dict[int, tuple[float, Any]] = {}
        agenda = sorted(changes)
        at = count = 0
        acts: list[Act] = []
        act = self.act
        while at < len(agenda) or pending:
            moment = agenda[at] if at < len(agenda) else (float("inf"), 0)
            if pending:
                moment = min(moment, (min(t for t, _ in pending.values()), 0))
                for i in [i for i, (t, _) in pending.items() if t <= moment[0]]:
                    value = pending.pop(i)[1]
                    if now[i] != value:
                        now[i] = value
                        out[i].append((moment, value))
            if at < len(agenda) and agenda[at] == moment:
                for i, value in changes[moment]:
                    read[i] = value
                at += 1
            before = tuple(now)
            seen = tuple(read)
            after = act(seen, before)
            acts.append((0, seen, before, after))
            if after == before:
                pending.clear()
                continue
            time_s, turn = moment
            for i, value in enumerate(after):
                if isinstance(value, After):
                    waiting = pending.get(i)
                    if before[i] == value.value:
                        pending.pop(i, None)
                    elif waiting is None or waiting[1] != value.value:
                        pending[i] = (time_s + value.seconds, value.value)
                    continue
                pending.pop(i, None)
                if value != before[i]:
                    now[i] = value
                    out[i].append(((time_s, turn + 1), value))
            count += 1
            if count > MAX_CHANGES:
                raise NeverSettlesError(self.rule.owner)
        return self._waved(out), (tuple(read), tuple(now)), tuple(acts)


class SumUnit(Unit):
    """Current drawn from a watched bus: the sum over the islands that touch it, in the same round [A]."""

    def start(self, values: Sequence[Any]) -> Any:
        """See ``Unit``."""
        return tuple([values[s] for s in self.inputs])

    def given(self, drawn: Sequence[float]) -> tuple[float]:
        """The sum [A]."""
        return (round(sum(drawn), 9),)

    def step(self, state: Any, waves: Sparse, forced: bool) -> Stepped:
        """See ``Unit``."""
        changes = self._changes(waves, forced)
        drawn = list(state)
        last = round(sum(drawn), 9)
        out: list[tuple[Moment, Any]] = []
        for moment in sorted(changes):
            for i, value in changes[moment]:
                drawn[i] = value
            total = round(sum(drawn), 9)
            if abs(total - last) > 1e-9:
                out.append((moment, total))
                last = total
        return self._waved([out]), tuple(drawn), ()


class ClusterUnit(Unit):
    """Units that act on each other, run together round by round as the plain machine runs them.

    A relay that holds itself in needs the island to see it in the next round, and the island needs the relay: taken
    apart, each would wait for the other's whole course.

    Args:
        members: Island, rule and sum units; flattened if they are clusters themselves.
        wanted: Slots that someone outside reads; the others stay inside.
        courses: The table.
        restless: Slot that tells who hunts, starting and dropping out without end.
    """

    def __init__(self, members: Sequence[Unit], wanted: Collection[int], courses: Courses, restless: int) -> None:
        flat: list[Unit] = []
        for m in members:
            flat += m.members if isinstance(m, ClusterUnit) else [m]
        self.members: list[Unit] = flat
        inner = dict.fromkeys(s for m in flat for s in m.outputs)
        outer = dict.fromkeys(s for m in flat for s in m.inputs if s not in inner)
        outputs = [s for s in inner if s in wanted]
        super().__init__(list(outer), [*outputs, restless], courses)
        self.slots = (*outer, *inner)
        at = {s: i for i, s in enumerate(self.slots)}
        self._out = {at[s]: i for i, s in enumerate(outputs)}
        self._reads = [getter(tuple(at[s] for s in m.inputs)) for m in flat]
        self._now = [getter(tuple(at[s] for s in m.outputs)) for m in flat]
        self._writes = [tuple(at[s] for s in m.outputs) for m in flat]
        wakes: list[dict[int, None]] = [{} for _ in self.slots]
        for k, m in enumerate(flat):
            for s in m.inputs:
                wakes[at[s]][k] = None
        self._wakes = wakes
        self._islands = frozenset(k for k, m in enumerate(flat) if isinstance(m, IslandUnit))
        self._sums = frozenset(k for k, m in enumerate(flat) if isinstance(m, SumUnit))
        self._at_once = self._islands | self._sums
        self.forced: tuple[int, ...] = tuple(range(len(flat)))
        """Members that act at the root by force."""

    def start(self, values: Sequence[Any]) -> Any:
        """See ``Unit``."""
        return tuple([values[s] for s in self.slots])

    def step(self, state: Any, waves: Sparse, forced: bool) -> Stepped:
        """See ``Unit``."""
        outside = self._changes(waves, forced)
        agenda = sorted(outside)
        values = list(state)
        out: dict[int, list[tuple[Moment, Any]]] = {}
        pending: dict[tuple[int, int], tuple[float, Any]] = {}
        wakes, islands, members = self._wakes, self._islands, self.members
        rules: dict[int, None] = {}
        woken: dict[int, None] = dict.fromkeys(self.forced) if forced else {}
        acts: list[Act] = []
        at = moments = hunting = 0
        time_s, turn = ROOT
        while True:
            writes: list[tuple[int, Any]] = []
            due: list[int] = []
            if rules:
                turn += 1
                # rounds as the plain machine counts them: devices and islands take turns
                if 2 * turn > MAX_TURNS:
                    turn, restless = self._one_by_one(rules, values, pending, (time_s, turn), out)
                    rules = {}
                    if restless:
                        hunting = self.courses.wave((((time_s, turn), restless),))
                        break
                    continue
                for k in rules:
                    self._act(k, values, pending, time_s, writes, acts)
            else:
                coming: Moment | None = agenda[at] if at < len(agenda) else None
                if pending:
                    first = (min(t for t, _ in pending.values()), 0)
                    if coming is None or first <= coming:
                        coming = first
                        for due_key in [key for key, (t, _) in pending.items() if t <= first[0]]:
                            k, i = due_key
                            writes.append((self._writes[k][i], pending.pop(due_key)[1]))
                            due.append(k)
                if coming is None:
                    break
                moments += due != []
                if moments > MAX_MOMENTS:
                    names = ", ".join(sorted({members[k].rule.owner for k in (*due, *(k for k, _ in pending))}))  # type: ignore[attr-defined]
                    hunting = self.courses.wave(((coming, names),))
                    break
                time_s, turn = coming
            stamp = (time_s, turn)
            if at < len(agenda) and agenda[at] == stamp:
                writes += outside[stamp]
                at += 1
            for i, value in writes:
                if values[i] != value:
                    values[i] = value
                    out.setdefault(i, []).append((stamp, value))
                    woken.update(wakes[i])
            rules = dict.fromkeys(due)
            readings: dict[int, None] = {}
            sums: dict[int, None] = {}
            for k in woken:
                if k not in islands:
                    (sums if k in self._sums else rules)[k] = None
                    continue
                given = members[k].given(self._reads[k](values))  # type: ignore[attr-defined]
                for i, value in zip(self._writes[k], given, strict=True):
                    if values[i] != value:
                        values[i] = value
                        out.setdefault(i, []).append((stamp, value))
                        readings.update(wakes[i])
            if self._sums:
                # what islands draw is summed in the round in which they draw it
                sums.update((k, None) for k in readings if k in self._sums)
                for k in sums:
                    readings.pop(k, None)
                    (total,) = members[k].given(self._reads[k](values))  # type: ignore[attr-defined]
                    (i,) = self._writes[k]
                    if abs(total - values[i]) > 1e-9:
                        values[i] = total
                        out.setdefault(i, []).append((stamp, total))
                        readings.update(wakes[i])
            rules.update(readings)
            woken = {}
        wave = self.courses.wave
        places = self._out
        found = [(places[i], wave(tuple(changes))) for i, changes in out.items() if i in places]
        if hunting:
            found.append((len(places), hunting))
        found.sort()
        return tuple(found), tuple(values), tuple(acts)

    def _act(
        self,
        k: int,
        values: list[Any],
        pending: dict[tuple[int, int], tuple[float, Any]],
        time_s: float,
        writes: list[tuple[int, Any]],
        acts: list[Act],
    ) -> None:
        now = self._now[k](values)
        read = self._reads[k](values)
        after = self.members[k].act(read, now)  # type: ignore[attr-defined]
        acts.append((k, read, now, after))
        if after == now:
            if pending:
                for i in range(len(now)):
                    pending.pop((k, i), None)
            return
        for i, value in enumerate(after):
            if isinstance(value, After):
                waiting = pending.get((k, i))
                if now[i] == value.value:
                    pending.pop((k, i), None)
                elif waiting is None or waiting[1] != value.value:
                    pending[k, i] = (time_s + value.seconds, value.value)
                continue
            pending.pop((k, i), None)
            if value != now[i]:
                writes.append((self._writes[k][i], value))

    def _one_by_one(
        self,
        rules: Iterable[int],
        values: list[Any],
        pending: dict[tuple[int, int], tuple[float, Any]],
        moment: Moment,
        out: dict[int, list[tuple[Moment, Any]]],
    ) -> tuple[int, str]:
        """What does not settle side by side, one member after the other: a real race has a winner.

        Returns:
            The round it ended with, and who still moves, or nothing.
        """
        time_s, turn = moment
        queue: set[int] = set(rules)
        moved: set[str] = set()
        for _ in range(MAX_TURNS):
            following: set[int] = set()
            for k in sorted(queue):
                turn += 1
                member = self.members[k]
                writes: list[tuple[int, Any]] = []
                if k in self._at_once:
                    given = member.given(self._reads[k](values))  # type: ignore[attr-defined]
                    writes = list(zip(self._writes[k], given, strict=True))
                else:
                    self._act(k, values, pending, time_s, writes, [])
                for i, value in writes:
                    if values[i] != value:
                        values[i] = value
                        out.setdefault(i, []).append(((time_s, turn), value))
                        following.update(self._wakes[i])
                        if k not in self._at_once:
                            moved.add(member.rule.owner)  # type: ignore[attr-defined]
            queue = following
            if not queue:
                return turn, ""
        return turn, ", ".join(sorted(moved))


def getter(places: tuple[int, ...]) -> Callable[[Sequence[Any]], tuple[Any, ...]]:
    """What takes some values as a tuple."""
    if len(places) > 1:
        return itemgetter(*places)
    if not places:
        return lambda _values: ()
    (only,) = places
    return lambda values: (values[only],)


def strong(unit: Unit) -> Iterable[int]:
    """Inputs by which a unit can be part of a loop that holds itself.

    A breaker or supply that trips on current does not hold itself in by it: what it does then ends the current, and it
    stays tripped. Leaving these edges out keeps the clusters small; the ripple settles them.
    """
    if isinstance(unit, SumUnit):
        return ()
    if isinstance(unit, RuleUnit):
        if unit.rule.name == "power supply":
            return ()
        names = unit.rule.inputs
        return [s for s, name in zip(unit.inputs, names, strict=True) if not name.endswith((".amps_ac", ".amps_dc"))]
    return unit.inputs


def clustered(
    units: Sequence[Unit], wanted: Collection[int], courses: Courses, restless: Callable[[], int]
) -> list[Unit]:
    """Units that act on each other put together; the others as they are.

    Args:
        units: Island, rule and sum units.
        wanted: Slots that someone beside the units reads.
        courses: The table.
        restless: Gives each cluster a slot of its own to tell who hunts.
    """
    writer = {s: u for u, unit in enumerate(units) for s in unit.outputs}
    before = [[writer[s] for s in dict.fromkeys(strong(unit)) if s in writer] for unit in units]
    readers: dict[int, set[int]] = {}
    for u, unit in enumerate(units):
        for s in unit.inputs:
            readers.setdefault(s, set()).add(u)
    result: list[Unit] = []
    for loop in loops(before):
        if len(loop) == 1:
            result.append(units[loop[0]])
            continue
        inside = set(loop)
        seen = {s for u in loop for s in units[u].outputs if s in wanted or readers.get(s, set()) - inside}
        result.append(ClusterUnit([units[u] for u in sorted(loop)], seen, courses, restless()))
    return result


def loops(before: Sequence[Sequence[int]]) -> list[list[int]]:
    """Strongly connected parts of a graph, each node's predecessors first (Tarjan 1972)."""
    index: dict[int, int] = {}
    low: dict[int, int] = {}
    stack: list[int] = []
    on: set[int] = set()
    found: list[list[int]] = []
    for first in range(len(before)):
        if first in index:
            continue
        walk = [(first, 0)]
        while walk:
            v, i = walk.pop()
            if i == 0:
                index[v] = low[v] = len(index)
                stack.append(v)
                on.add(v)
            elif (w := before[v][i - 1]) in on:
                low[v] = min(low[v], low[w])
            for j in range(i, len(before[v])):
                w = before[v][j]
                if w not in index:
                    walk.append((v, j + 1))
                    walk.append((w, 0))
                    break
                if w in on:
                    low[v] = min(low[v], index[w])
            else:
                if low[v] == index[v]:
                    part: list[int] = []
                    while not part or part[-1] != v:
                        part.append(stack.pop())
                        on.discard(part[-1])
                    found.append(part)
    return found


class Grid:
    """All units of a job with the courses they settle at.

    Args:
        values: Values of all slots when everything is dark.
        units: Every unit, islands first.
        world: Courses of the outside world's slots.
        courses: The table.
    """

    def __init__(
        self, values: Sequence[Any], units: Sequence[Unit], world: Mapping[int, int], courses: Courses
    ) -> None:
        self.values = list(values)
        self.units = list(units)
        self.courses = courses
        self.base: list[int] = [SILENT] * len(self.values)
        for s, course in world.items():
            self.base[s] = course
        self.readers: list[list[int]] = [[] for _ in self.values]
        for u, unit in enumerate(self.units):
            for s in dict.fromkeys(unit.inputs):
                self.readers[s].append(u)
        self.rank = self._ranks()
        self.root = [unit.state(unit.start(self.values)) for unit in self.units]
        self.base = self.settle({}, range(len(self.units)), {})[0]

    def _ranks(self) -> list[int]:
        """An order in which most units come after what they read: the finish of a walk along the readers."""
        seen = [False] * len(self.units)
        order: list[int] = []
        starts = [u for s, c in enumerate(self.base) if c for u in self.readers[s]]
        for first in [*starts, *range(len(self.units))]:
            if seen[first]:
                continue
            seen[first] = True
            stack = [(first, iter([r for s in self.units[first].outputs for r in self.readers[s]]))]
            while stack:
                u, following = stack[-1]
                for r in following:
                    if not seen[r]:
                        seen[r] = True
                        stack.append((r, iter([x for s in self.units[r].outputs for x in self.readers[s]])))
                        break
                else:
                    order.append(u)
                    stack.pop()
        rank = [0] * len(self.units)
        for i, u in enumerate(reversed(order)):
            # a sum over many islands waits for all of them
            rank[u] = i + len(order) * isinstance(self.units[u], SumUnit)
        return rank

    def settle(
        self,
        replaced: Mapping[int, Unit | None],
        first: Sequence[int] | range,
        extra: Mapping[int, Sequence[int]],
        allow: Callable[[int], bool] | None = None,
        last: Mapping[int, int] | None = None,
    ) -> tuple[list[int], dict[int, int]]:
        """Let courses ripple until nothing changes.

        Args:
            replaced: Unit -> what stands in its place, or None for nothing.
            first: Units to look at to begin with; replaced ones act at the root.
            extra: Slot -> units that read it beside its usual readers.
            allow: Asked before a unit is looked at for a changed input; False leaves it.
            last: Units that take in others -> rank of the last of those: they wait for what all of them read.

        Returns:
            Courses of all slots, and those that differ from the base.

        Raises:
            NeverSettlesError: Something chatters.
        """
        base = self.base
        over: dict[int, int] = {}
        rank, readers = self.rank, self.readers
        if last:
            rank = list(rank)
            for u, r in last.items():
                rank[u] = r
        heap = [(rank[u], u) for u in first]
        heapify(heap)
        waiting = set(first)
        visits: dict[int, int] = {}
        while heap:
            _, u = heappop(heap)
            waiting.discard(u)
            if u in replaced:
                unit = replaced[u]
                if unit is None:
                    continue
            else:
                unit = self.units[u]
            visits[u] = visits.get(u, 0) + 1
            if visits[u] > MAX_VISITS:
                # one that many others wake, each but a few times, is no loop
                often = [v for v, n in visits.items() if n > MAX_VISITS // 2]
                if len(often) > 1 or visits[u] > 20 * MAX_VISITS:
                    raise LoopError(often, [v for v, n in visits.items() if n > 2])
            read = [over[s] if s in over else base[s] for s in unit.inputs]
            if u in replaced:
                given = dict(unit.run_root(self.values, read))
            else:
                given = dict(unit.run(self.root[u], read))
            for i, s in enumerate(unit.outputs):
                course = given.get(i, SILENT)
                if (over[s] if s in over else base[s]) != course:
                    if base[s] == course:
                        del over[s]
                    else:
                        over[s] = course
                    for r in (*readers[s], *extra.get(s, ())):
                        if r not in waiting and (allow is None or allow(r)):
                            waiting.add(r)
                            heappush(heap, (rank[r], r))
        if replaced or extra:
            return base, over
        settled = list(base)
        for s, course in over.items():
            settled[s] = course
        return settled, over
