"""Slips tried over the whole grid: the job's units once, and for each slip only what it changes."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any

from galleyproof.circuit.machine import Machine, State
from galleyproof.circuit.rules import Rule
from galleyproof.circuit.world import build_machine
from galleyproof.design.model import Design
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.proof.alike import Run, watched
from galleyproof.proof.grid import grid
from galleyproof.proof.model import Step
from galleyproof.proof.patch import NeedsPlainWayError, Patch, Patcher
from galleyproof.proof.ripple import (
    Act,
    ClusterUnit,
    Grid,
    IslandUnit,
    LoopError,
    NeverSettlesError,
    RuleUnit,
    SumUnit,
    Unit,
    clustered,
)
from galleyproof.proof.slips.model import Change, apply
from galleyproof.proof.waves import Courses, Wave

MANY_WOKEN = 60
"""Units that woke again and again, from which on they are run together at once. [-]"""


class Trials:
    """A job ready for slips.

    Args:
        job: The job.
        design: Its design.
        library: Device types.
        watched: Names of slots whose courses are asked for.
        steps: The tree of situations; the proof's grid by default.
    """

    def __init__(
        self,
        job: Job,
        design: Design,
        library: Mapping[str, DeviceType],
        watched: Collection[str] = (),
        steps: Sequence[Step] | None = None,
    ) -> None:
        self.job, self.design, self.library = job, design, library
        self.machine: Machine = build_machine(job, design, library)
        self.steps: tuple[Step, ...] = grid(job) if steps is None else tuple(steps)
        self.courses = Courses()
        self.patcher = Patcher(design, library, self.machine)
        dark = self.machine.dark()
        values: list[Any] = list(dark.values)
        self.slot = dict(self.machine.slot)
        self._buses: dict[int, list[int]] = {}
        self._drawn: list[list[tuple[int, int]]] = []
        for k in range(len(self.machine.islands)):
            mine = []
            for place, amps in self.machine.watched_buses(k):
                mine.append((place, len(values)))
                self._buses.setdefault(amps, []).append(len(values))
                values.append(0.0)
            self._drawn.append(mine)
        self._spare: dict[int, int] = {}
        for amps, parts in self._buses.items():
            self._spare[amps] = len(values)
            parts.append(len(values))
            values.append(0.0)
        members: list[Unit] = [
            IslandUnit(island, self.slot, [self.slot[r.slot] for r in island.readings], self._drawn[k], self.courses)
            for k, island in enumerate(self.machine.islands)
        ]
        members += [RuleUnit(rule, self.slot, self.courses) for rule in self.machine.rules]
        members += [SumUnit(parts, [amps], self.courses) for amps, parts in self._buses.items()]
        self.wanted = {self.slot[name] for name in watched}
        self.restless: set[int] = set()
        """Slots that tell who hunts without end."""

        def restless() -> int:
            self.restless.add(len(values))
            values.append("")
            return len(values) - 1

        units = clustered(members, self.wanted, self.courses, restless)
        self._spare_restless = restless()
        self._host: dict[int, int] = {}
        at = {id(m): i for i, m in enumerate(members)}
        for u, unit in enumerate(units):
            for m in unit.members if isinstance(unit, ClusterUnit) else (unit,):
                self._host[at[id(m)]] = u
        self.members = members
        self.grid = Grid(values, units, self._world(values), self.courses)
        self._index = {id(m): i for i, m in enumerate(members)}
        self._most = {amps: max(self._seen(amps), default=0.0) for amps in self._buses}
        self._sums = {u: unit for u, unit in enumerate(units) if isinstance(unit, SumUnit)}
        self._sum_slots = set(self._buses)
        self._safe: dict[tuple[int, int], float] = {}
        self._runs: dict[Any, list[Run]] = {}
        self._acts: dict[int, set[Act]] = {}
        self._rules_at: dict[int, list[int]] = {}
        for index, member in enumerate(members):
            if isinstance(member, RuleUnit):
                for s in dict.fromkeys(member.inputs):
                    self._rules_at.setdefault(s, []).append(index)

    # the job as it should be --------------------------------------------------------------------------------------
    def _world(self, values: Sequence[Any]) -> dict[int, int]:
        """Courses of the outside world over the grid."""
        now: dict[int, dict[str, Any]] = {-1: {}}
        events: list[list[tuple[str, Any]]] = []
        for index, step in enumerate(self.steps):
            mine = now[step.parent]
            changed = [(n, v) for n, v in step.events.items() if mine.get(n, values[self.slot[n]]) != v]
            now[index] = {**mine, **dict(changed)} if changed else mine
            events.append(changed)
        found = self.courses.of_events([s.parent for s in self.steps], events)
        return {self.slot[name]: course for name, course in found.items()}

    def _seen(self, slot: int) -> set[Any]:
        """Every value a slot takes over the grid."""
        return {self.grid.values[slot]} | self._values(self.grid.base[slot])

    def _values(self, root: int) -> set[Any]:
        """Every value in the waves of a course."""
        found: set[Any] = set()
        stack, met = [root], set()
        while stack:
            course = stack.pop()
            if course in met:
                continue
            met.add(course)
            found |= {value for _, value in self.courses.waves[self.courses.wave_of[course]]}
            stack += [child for _, child in self.courses.children_of[course]]
        return found

    # a slip -------------------------------------------------------------------------------------------------------
    def over(self, change: Change) -> dict[int, int]:
        """Courses of the slots that go another way with a slip in place.

        Raises:
            NeedsPlainWayError: The change is more than a patch can hold.
            NeverSettlesError: Something chatters.
            CircuitError: The network has no solution.
        """
        patch = self.patcher.patch(change)
        if patch.island is None and not patch.rules and not patch.more:
            return {}
        if any(self.slot.get(n) in self._sum_slots for rule in patch.rules.values() if rule for n in rule.inputs):
            raise NeedsPlainWayError("a changed rule that reads what a whole bus draws")
        touched, anew = self._replacements(patch)
        first = anew[patch.islands[0]] if patch.islands else None
        if patch.rules or patch.more or not isinstance(first, IslandUnit):
            return self._run(touched, anew, self._more(patch, touched))[0]
        group = (patch.islands, first.inputs, first.outputs)
        runs = self._runs.get(group)
        if runs is None:
            runs = self._runs[group] = self._as_designed(patch.islands, first)
        for run in runs:
            if run.fits(first) and not self._draws(first, touched):
                run.hits += 1
                return dict(run.over)
        over, replaced = self._run(touched, anew)
        if not self._sum_slots & over.keys():
            self._remember(runs, first, over, replaced)
        return over

    def _run(
        self, touched: set[int], anew: Mapping[int, Unit | None], more: Mapping[int, Sequence[Unit]] | None = None
    ) -> tuple[dict[int, int], dict[int, Unit | None]]:
        groups: list[set[int]] = []
        for attempt in range(6):
            try:
                return self._settle(touched, anew, groups, more or {})
            except LoopError as loop:
                # units that keep waking each other hold each other in: they have to run together; where the whole
                # job is stirred up, a few of them would only be the first of many
                few = attempt == 0 and len(loop.woken) < MANY_WOKEN
                groups.append(set(loop.units if few else loop.woken))
        raise NeverSettlesError("units that hold each other in")

    # what comes to the same -------------------------------------------------------------------------------------
    def _as_designed(self, islands: Sequence[int], unit: IslandUnit) -> list[Run]:
        """The run of the right wiring, for islands that are put together anew."""
        grid = self.grid
        read = tuple([grid.base[s] for s in unit.inputs])
        unit.run(unit.state(unit.start(grid.values)), read)
        dark = tuple([grid.values[s] for s in unit.inputs])
        keys = [dark, *(k for k in unit.been_in() if k != dark)]
        parts = [self.members[k] for k in islands]
        given: list[tuple[Any, ...]] = []
        for key in keys:
            at = dict(zip(unit.inputs, key, strict=True))
            values: dict[int, Any] = {}
            for part in parts:
                assert isinstance(part, IslandUnit)
                gives = part.given(tuple([at.get(s, grid.values[s]) for s in part.inputs]))
                values.update(zip(part.outputs, gives, strict=True))
            given.append(tuple([values.get(s, 0.0) for s in unit.outputs]))
        runs: list[Run] = []
        acts = watched(unit, given, self._readers(unit, {}, {}))
        if acts is not None:
            runs.append(Run({}, keys, given, acts))
        return runs

    def _remember(
        self, runs: list[Run], unit: IslandUnit, over: Mapping[int, int], replaced: Mapping[int, Unit | None]
    ) -> None:
        dark = tuple([self.grid.values[s] for s in unit.inputs])
        keys = [dark, *(k for k in unit.been_in() if k != dark)]
        given = [unit.given(k) for k in keys]
        acts = watched(unit, given, self._readers(unit, over, replaced))
        if acts is not None:
            runs.append(Run(dict(over), keys, given, acts))

    def _readers(
        self, unit: IslandUnit, over: Mapping[int, int], replaced: Mapping[int, Unit | None]
    ) -> Iterator[tuple[Any, Sequence[int], Iterable[Act]]]:
        """Rules that read an island, with what they did in a run."""
        grid = self.grid
        of_host: dict[int, list[tuple[int, RuleUnit]]] = {}
        for m in dict.fromkeys(m for s in unit.outputs for m in self._rules_at.get(s, ())):
            rule = self.members[m]
            assert isinstance(rule, RuleUnit)
            of_host.setdefault(self._now_at(m, replaced), []).append((m, rule))
        for host, rules in of_host.items():
            stands = replaced[host] if host in replaced else grid.units[host]
            assert stands is not None
            read = tuple([over.get(s, grid.base[s]) for s in stands.inputs])
            if host in replaced:
                acts = stands.acts(0, read, rooted=True)
            else:
                acts = self._base_acts(host) if not over else stands.acts(grid.root[host], read)
            for _, rule in rules:
                place = 0
                if isinstance(stands, ClusterUnit):
                    place = next(k for k, x in enumerate(stands.members) if x is rule)
                # how it stands in the dark, before it has acted at all
                seen, now = rule.start(grid.values)
                dark = (place, seen, now, rule.act(seen, now))
                yield rule.act, rule.inputs, [dark, *(a for a in acts if a[0] == place)]

    def _now_at(self, member: int, replaced: Mapping[int, Unit | None]) -> int:
        """Where a member runs now: a host that has taken it in, or its own."""
        host = self._host[member]
        if replaced.get(host, self) is not None:
            return host
        mine = self.members[member]
        return next(
            h for h, unit in replaced.items() if isinstance(unit, ClusterUnit) and any(m is mine for m in unit.members)
        )

    def _base_acts(self, host: int) -> set[Act]:
        found = self._acts.get(host)
        if found is None:
            unit = self.grid.units[host]
            read = tuple([self.grid.base[s] for s in unit.inputs])
            found = self._acts[host] = unit.acts(self.grid.root[host], read)
        return found

    def _draws(self, unit: IslandUnit, touched: Collection[int]) -> bool:
        """Whether what an island draws could move anyone who reads the sum."""
        allow = self._allow(dict.fromkeys(touched, unit))
        slots = set(unit.outputs)
        return allow is not None and any(allow(u) for u, total in self._sums.items() if slots & set(total.inputs))

    def reach(self, patch: Patch, over: Collection[int]) -> set[int]:
        """Units that could act otherwise with a slip in place: those it changes, and all that read from them.

        Two slips whose units are none in common do together what each does alone.

        Args:
            patch: The slip's.
            over: Slots that go another way with it.
        """
        touched, anew = self._replacements(patch)
        slots = {s for unit in anew.values() if unit is not None for s in unit.outputs} | set(over)
        return touched | {u for s in slots for u in self.grid.readers[s]}

    def hunting(self, over: Mapping[int, int]) -> tuple[str, ...]:
        """Devices that start and drop out without end, with these courses."""
        return tuple(sorted({name for s in self.restless & set(over) for name in self._names(over[s])}))

    def _names(self, course: int) -> Iterator[str]:
        for value in self._values(course):
            yield from str(value).split(", ")

    def plainly(self, change: Change) -> tuple[dict[int, int], tuple[str, ...]]:
        """The same by the plain machine of the whole changed design, for watched slots; and what chatters in it.

        Raises:
            CircuitError: The network has no solution.
        """
        machine = build_machine(self.job, apply(self.design, change), self.library)
        names = {s: name for name, s in self.slot.items() if s in self.wanted}
        dark = machine.dark()
        states = {-1: dark}
        waves: list[dict[int, Wave]] = []
        restless: dict[str, None] = {}
        for step in self.steps:
            history: list[State] = []
            before = states[step.parent]
            after = machine.apply(before, step.events, history=history)
            states[len(waves)] = after
            restless.update(dict.fromkeys(after.chatter))
            mine: dict[int, list[tuple[tuple[float, int], Any]]] = {}
            for state in history:
                for s, name in names.items():
                    value = machine.get(state, name)
                    if value != machine.get(before, name):
                        mine.setdefault(s, []).append(((state.time_s, 1), value))
                before = state
            waves.append({s: tuple(changes) for s, changes in mine.items()})
        root = {
            s: (((0.0, 1), machine.get(dark, name)),)
            for s, name in names.items()
            if machine.get(dark, name) != self.grid.values[s]
        }
        found = self.courses.of_waves([s.parent for s in self.steps], waves, root)
        return {s: found.get(s, 0) for s in names}, tuple(sorted(restless))

    def _replacements(self, patch: Patch) -> tuple[set[int], dict[int, Unit | None]]:
        """Members that are replaced: index -> what stands there, None where nothing does."""
        anew: dict[int, Unit | None] = {}
        if patch.island is not None:
            island = patch.island
            first, *rest = patch.islands
            slots = [self.slot[r.slot] for r in island.readings]
            unit = IslandUnit(island, self.slot, slots, self._watch(patch), self.courses)
            anew[first] = unit
            anew.update(dict.fromkeys(rest))
        base = len(self.machine.islands)
        for rule in (*patch.rules.values(), *patch.more):
            self._make_room(rule)
        for r, changed in patch.rules.items():
            anew[base + r] = None if changed is None else RuleUnit(changed, self.slot, self.courses)
        return {self._host[m] for m in anew}, anew

    def _make_room(self, rule: Rule | None) -> None:
        """Slots for what a changed rule writes and the rules of the design do not."""
        for name, value in zip(rule.outputs, rule.initial, strict=True) if rule else ():
            if name not in self.slot:
                self.slot[name] = len(self.grid.values)
                self.grid.values.append(value)
                self.grid.base.append(0)
                self.grid.readers.append([])

    def _more(self, patch: Patch, touched: Collection[int]) -> Mapping[int, Sequence[Unit]]:
        """Rules beside those of the design run together with the first unit that is changed."""
        if not patch.more:
            return {}
        if not touched:
            raise NeedsPlainWayError("a rule beside those of the design")
        return {min(touched): [RuleUnit(rule, self.slot, self.courses) for rule in patch.more]}

    def _watch(self, patch: Patch) -> list[tuple[int, int]]:
        """Where a new island tells what it draws; slots of the islands it replaces that it does not need stay at 0."""
        assert patch.island is not None
        free = [(amps, s) for k in patch.islands for (_, s), amps in zip(self._drawn[k], self._amps(k), strict=True)]
        found: list[tuple[int, int]] = []
        for place, (node, *_) in enumerate(patch.island.fixed_nodes):
            amps = self.machine.bus_slot(node)
            if amps is None:
                continue
            mine = next((f for f in free if f[0] == amps), None)
            if mine is not None:
                free.remove(mine)
            found.append((place, mine[1] if mine else self._spare[amps]))
        return found + [(-1, s) for _, s in free]

    def _amps(self, island: int) -> list[int]:
        return [amps for _, amps in self.machine.watched_buses(island)]

    def _settle(
        self,
        touched: set[int],
        anew: Mapping[int, Unit | None],
        groups: Sequence[set[int]],
        more: Mapping[int, Sequence[Unit]],
    ) -> tuple[dict[int, int], dict[int, Unit | None]]:
        grid = self.grid
        joined: list[set[int]] = []
        # hosts that share a replaced island become one, and so do those found to hold each other
        islands = {self._host[m] for m in anew if m < len(self.machine.islands)}
        for group in filter(None, (islands, *groups)):
            hit = [g for g in joined if g & group]
            joined = [g for g in joined if not g & group] + [set(group).union(*hit)]
        for u in touched:
            if not any(u in g for g in joined):
                joined.append({u})
        replaced: dict[int, Unit | None] = {}
        extra: dict[int, list[int]] = {}
        starts: list[int] = []
        last: dict[int, int] = {}
        for group in joined:
            host, *rest = sorted(group)
            found: list[int] = []
            for u in (host, *rest):
                unit = grid.units[u]
                found += [self._index[id(m)] for m in (unit.members if isinstance(unit, ClusterUnit) else (unit,))]
            standing = [anew.get(m, self.members[m]) for m in sorted(found)]
            members = [m for m in standing if m is not None]
            members += [m for u in (host, *rest) for m in more.get(u, ())]
            if not members:
                replaced.update(dict.fromkeys((host, *rest)))
                continue
            new = self._together(members, group)
            replaced.update(dict.fromkeys(rest))
            replaced[host] = new
            last[host] = max(grid.rank[u] for u in group)
            starts.append(host)
            for s in new.inputs:
                extra.setdefault(s, []).append(host)
        return grid.settle(replaced, starts, extra, self._allow(replaced), last)[1], replaced

    def _together(self, members: Sequence[Unit], hosts: Collection[int]) -> Unit:
        if len(members) == 1:
            return members[0]
        readers = self.grid.readers
        wanted = {s for m in members for s in m.outputs if s in self.wanted or any(r not in hosts for r in readers[s])}
        mine = {s for u in hosts for s in self.grid.units[u].outputs} & self.restless
        return ClusterUnit(members, wanted, self.courses, min(mine, default=self._spare_restless))

    def _allow(self, replaced: Mapping[int, Unit | None]) -> Any:
        """A sum over a bus is looked at only when what a slip draws could move anyone who reads it."""
        if not self._sums:
            return None
        units = list({id(u): u for u in replaced.values() if u is not None}.values())

        def allow(u: int) -> bool:
            sum_unit = self._sums.get(u)
            if sum_unit is None:
                return True
            amps = sum_unit.outputs[0]
            parts = set(sum_unit.inputs)
            most = self._most[amps]
            for unit in units:
                for m in unit.members if isinstance(unit, ClusterUnit) else (unit,):
                    if isinstance(m, IslandUnit):
                        most += m.most_drawn(parts)
            return any(self._moves(r, amps, most) for r in self.grid.readers[amps])

        return allow

    def _moves(self, reader: int, amps: int, most: float) -> bool:
        """Whether a current could make a reader of it act otherwise than no current at all."""
        unit = self.grid.units[reader]
        if not isinstance(unit, RuleUnit):
            return True
        # what did not move it before does not now
        if abs(most) <= self._safe.get((reader, amps), -1.0):
            return False
        i = unit.inputs.index(amps)
        for read, now in unit.states:
            for trial in (most, -most):
                if unit.act((*read[:i], trial, *read[i + 1 :]), now) != unit.act((*read[:i], 0.0, *read[i + 1 :]), now):
                    return True
        self._safe[reader, amps] = abs(most)
        return False
