"""Slips on the bench the quick way: only what a slip changes is looked at again.

The courses of the study tell which slots go another way over the script; only probes that hang on those, or on the
islands the slip rebuilds, are read anew. What the study cannot hold as a patch goes the plain way.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Mapping
from typing import Any

from galleyproof.checkout.bench import Standing
from galleyproof.checkout.model import Checkout, Probe, Reading
from galleyproof.checkout.probes import readings
from galleyproof.checkout.signatures import differences
from galleyproof.circuit.machine import Machine, State
from galleyproof.circuit.world import build_machine
from galleyproof.design.model import Design, TerminalId
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.proof.patch import NeedsPlainWayError, Patch
from galleyproof.proof.ripple import NeverSettlesError
from galleyproof.proof.slips import Change, apply
from galleyproof.proof.trials import Trials
from galleyproof.proof.waves import SILENT, places_of


class Courses:
    """Values of slots after each step, from their courses over the script.

    Args:
        trials: The job over the script.
    """

    def __init__(self, trials: Trials) -> None:
        self._courses = trials.courses
        self._start = trials.grid.values
        places = places_of([s.parent for s in trials.steps])
        self._way: list[tuple[int, ...]] = []
        for index, step in enumerate(trials.steps):
            before = self._way[step.parent] if step.parent >= 0 else ()
            self._way.append((*before, places[index]))
        self._known: dict[tuple[int, int, int], Any] = {}

    def value(self, slot: int, course: int, step: int) -> Any:
        """What a slot stands at after a step."""
        key = (slot, course, step)
        if key not in self._known:
            self._known[key] = self._follow(slot, course, step)
        return self._known[key]

    def _follow(self, slot: int, course: int, step: int) -> Any:
        courses = self._courses
        value = self._start[slot]
        at = course
        for place in (None, *self._way[step]):
            if place is not None:
                at = next((c for p, c in courses.children_of[at] if p == place), SILENT)
                if at == SILENT:
                    return value
            wave = courses.waves[courses.wave_of[at]]
            if wave:
                value = wave[-1][1]
        return value


class QuickStanding(Standing):
    """The installation with a slip that is a patch: states are the right ones but for what goes another way."""

    def __init__(
        self, right: Standing, patch: Patch, over: Mapping[int, int], courses: Courses, change: Change
    ) -> None:
        machine = copy.copy(right.machine)
        if patch.island is not None:
            first = patch.islands[0]
            machine.islands = list(machine.islands)
            machine.islands[first] = patch.island
            machine.island_of = {**machine.island_of, **dict.fromkeys(patch.island.nodes, first)}
        super().__init__(right.design, machine, right.steps)
        self._right = right
        self._patch = patch
        self._over = {s: c for s, c in over.items() if s < len(machine.names)}
        self._courses = courses
        self._change = change
        self._changed_at: dict[int, set[int]] = {}
        self._as_it_stands: Design | None = None
        self.rebuilt = frozenset(patch.islands[:1]) if patch.island is not None else frozenset[int]()

    @property
    def design(self) -> Design:
        """The design as it stands; put together only when a reading asks for it."""
        if self._as_it_stands is None:
            self._as_it_stands = apply(self._design, self._change)
        return self._as_it_stands

    def goes_another_way(self, step: int) -> set[int]:
        """Slots that stand otherwise after a step than on the right wiring."""
        self.state(step)
        return self._changed_at[step]

    def state(self, step: int) -> State:
        """The state a step leaves behind."""
        found = self._states.get(step)
        if found is not None:
            return found
        right = self._right.state(step)
        values = right.values.copy()
        changed = set()
        for slot, course in self._over.items():
            value = self._courses.value(slot, course, step)
            if isinstance(value, bool | float) and isinstance(values[slot], bool | float):
                # equal courses are one course, and 1.0 equals True
                value = type(values[slot])(value)
            if value != values[slot]:
                values[slot] = value
                changed.add(slot)
        solutions = right.solutions.copy()
        machine = self.machine
        touched = set(self.rebuilt)
        for slot in changed:
            touched.update(u for u in machine.readers[slot] if u < len(machine.islands))
        for k in touched - set(self._patch.islands[1:]):
            island = machine.islands[k]
            solutions[k] = island.solve(tuple(values[machine.slot[s]] for s in island.key_slots))
        self._changed_at[step] = changed
        made = self._states[step] = State(values, solutions)
        return made


class QuickBench:
    """One job's right wiring, and any slip quickly.

    Args:
        job: The job.
        design: Its design.
        library: Device types.
        checkout: All possible probes.
    """

    def __init__(self, job: Job, design: Design, library: Mapping[str, DeviceType], checkout: Checkout) -> None:
        self.job, self.design, self.library, self.checkout = job, design, library, checkout
        self.machine: Machine = build_machine(job, design, library)
        looked_at = {name for p in checkout.probes for name in self._slots(p)}
        looked_at |= {name for island in self.machine.islands for name in island.key_slots}
        self.trials = Trials(job, design, library, looked_at, checkout.steps)
        self.machine = self.trials.machine
        self.right = Standing(design, self.machine, checkout.steps)
        self.read: tuple[Reading, ...] = readings(self.right, checkout)
        self._courses = Courses(self.trials)
        step_of = {p.key: p.step for p in checkout.preparations}
        self._step_of_probe = [step_of[p.preparation] for p in checkout.probes]
        self._on_island: dict[int, list[int]] = {}
        self._on_slot: dict[int, list[int]] = {}
        self.plain = 0
        self._on_settings = [
            i for i, p in enumerate(checkout.probes) if p.kind == "hertz" or p.slot.endswith(".display")
        ]
        for i, probe in enumerate(checkout.probes):
            for name in self._slots(probe):
                self._on_slot.setdefault(self.machine.slot[name], []).append(i)
            for k in self._islands(probe):
                self._on_island.setdefault(k, []).append(i)

    def _slots(self, probe: Probe) -> tuple[str, ...]:
        """Slots a probe's reading hangs on by itself."""
        if probe.slot in self.machine.slot:
            return (probe.slot,)
        if probe.slot.endswith(".display"):
            return tuple(f"{probe.about}.{s}" for s in ("own_24", "faulted", "turns"))
        return ()

    def _islands(self, probe: Probe) -> set[int]:
        """Islands a probe touches."""
        terminals = [t for t in (probe.red, probe.black) if t is not None]
        for key in (probe.lifted, probe.slot):
            c = self.design.conductor_by_key.get(key)
            if c is not None:
                terminals += [c.a, c.b]
                k = self.machine.island_with(key)
                if k is not None:
                    return {k, *self._islands_of(terminals)}
        return self._islands_of(terminals)

    def _islands_of(self, terminals: Iterable[TerminalId]) -> set[int]:
        nodes = (self.machine.network.terminals[t] for t in terminals)
        return {self.machine.island_of[n] for n in nodes if n in self.machine.island_of}

    def changed(self, change: Change) -> dict[int, Reading]:
        """Probes that read otherwise with a change in place.

        Raises:
            CircuitError: The network then has no solution.
        """
        if change.unbridged or any(r.rating == "type" for r in change.refits):
            return self._plainly(change)
        try:
            patch = self.trials.patcher.patch(change)
            over = self.trials.over(change)
        except (NeedsPlainWayError, NeverSettlesError):
            return self._plainly(change)
        there = QuickStanding(self.right, patch, over, self._courses, change)
        wanted: set[int] = set()
        for k in patch.islands:
            wanted.update(self._on_island.get(k, ()))
        if change.refits:
            wanted.update(self._on_settings)
        slots = [s for s in over if s < len(self.machine.names)]
        for slot in slots:
            wanted.update(self._on_slot.get(slot, ()))
            for k in self.machine.readers[slot]:
                if k < len(self.machine.islands):
                    wanted.update(self._on_island.get(k, ()))
        touched = set(patch.islands)
        found: dict[int, Reading] = {}
        for i in sorted(wanted):
            probe, step = self.checkout.probes[i], self._step_of_probe[i]
            if not touched and not change.refits and not there.goes_another_way(step):
                continue
            read = there.read(probe, step)
            if differences((self.read[i],), (read,)):
                found[i] = read
        return found

    def _plainly(self, change: Change) -> dict[int, Reading]:
        self.plain += 1
        design = apply(self.design, change)
        machine = build_machine(self.job, design, self.library)
        there = Standing(design, machine, self.checkout.steps)
        return differences(self.read, readings(there, self.checkout))
