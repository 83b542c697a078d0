"""Slips on the bench the quick way: only what a slip changes is looked at again.

The ways of the study tell which slots go another way over the script. What people see hangs on one slot, and each
way of it is looked up once; meter readings are taken set by set (see ``leads``), only on islands that the slip
rebuilds or whose contacts and supplies go another way. What the study cannot hold as a patch goes the plain way.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from galleyproof.checkout.anew import Around, Ground
from galleyproof.checkout.bench import Key, Standing, seen
from galleyproof.checkout.leads import (
    LeadSet,
    Numbers,
    Pair,
    Places,
    Potentials,
    Standpoint,
    differing,
    ohms_read,
    row_of,
    standpoint,
    unpacked,
    volts_read,
)
from galleyproof.checkout.model import Checkout, Probe, Reading
from galleyproof.checkout.patched import QuickStanding
from galleyproof.checkout.probes import readings
from galleyproof.checkout.signatures import differences, same
from galleyproof.checkout.timeline import Timeline
from galleyproof.circuit.machine import Machine
from galleyproof.circuit.network import conductor_ohm
from galleyproof.circuit.world import build_machine
from galleyproof.design.model import Design, TerminalId
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.proof.patch import NeedsPlainWayError, Patch
from galleyproof.proof.slips import Change, apply
from galleyproof.proof.trials import Trials, Tried
from galleyproof.proof.ways import RIGHT

MOST_SAME = 6000
"""Ways of slips remembered at once: more than any job has single slips, fewer than a day's pairs. [-]"""
DISPLAY_SLOTS = ("own_24", "faulted", "turns")
"""What a drive's display hangs on."""


@dataclass(frozen=True, slots=True)
class _Alike:
    """What slips have in common that make the same slots of the same islands go the same ways.

    Attributes:
        over: Slots that stand otherwise after a step, and the ways they go.
        found: Changed readings, those on islands that are put together anew left out.
        again: Probes to be read one by one.
        moved: Islands whose contacts, supplies or loads go another way.
        held: Nodes of fixed potential that do.
        sets: Sets of leads on all of these.
    """

    over: Mapping[int, int]
    found: Mapping[int, Reading]
    again: frozenset[int]
    moved: frozenset[int]
    held: frozenset[int]
    sets: frozenset[int]


class QuickBench:
    """One job's right wiring, and any slip quickly.

    Args:
        job: The job.
        design: Its design.
        library: Device types.
        checkout: All possible probes.
        right: The right wiring over the script; made anew when it is not at hand.
    """

    def __init__(
        self,
        job: Job,
        design: Design,
        library: Mapping[str, DeviceType],
        checkout: Checkout,
        right: Standing | None = None,
    ) -> None:
        self.job, self.design, self.library, self.checkout = job, design, library, checkout
        self.right = right or Standing(design, build_machine(job, design, library), checkout.steps)
        self.machine: Machine = self.right.machine
        looked_at = {name for p in checkout.probes for name in self._slots(p)}
        looked_at |= {name for island in self.machine.islands for name in island.key_slots}
        looked_at |= {name for *_, names in self.machine.fixed.values() for name in names.split("*") if name}
        self.trials = Trials(job, design, library, looked_at, checkout.steps)
        self._timeline = Timeline(self.trials, self.right)
        step_of = {p.key: p.step for p in checkout.preparations}
        self._step_of_probe = [step_of[p.preparation] for p in checkout.probes]
        self.plain = 0
        self._bit: dict[tuple[int, int], int] = {}
        self.right.settled = self.trials.settled()
        self._potentials = Potentials(self.right.settled)
        self._looks: dict[int, list[int]] = {}
        self._drives: dict[str, list[int]] = {}
        self._pulses: list[int] = []
        self._lifted: dict[int, list[int]] = {}
        self._clamps: dict[str, list[int]] = {}
        self._on_terminal: dict[TerminalId, list[int]] = {}
        self.sets: list[LeadSet] = []
        self._sort()
        self._sets_on: dict[int, list[int]] = {}
        self._sets_by_slot: dict[int, list[int]] = {}
        self._points: list[Standpoint] = []
        self._ghosts_on: dict[int, list[int]] = {}
        self._seen_way: dict[tuple[int, int], dict[int, Reading]] = {}
        self._shown_way: dict[tuple[str, tuple[int, ...]], dict[int, Reading]] = {}
        self._set_way: dict[tuple[int, tuple[tuple[int, int], ...]], tuple[dict[int, Reading], list[int]]] = {}
        self._set_memo: dict[tuple[int, tuple[Key, ...]], tuple[Numbers, Any]] = {}
        self._looks_at: dict[int, dict[int, list[int]]] = {s: {} for s in self._looks}
        for s, probes in self._looks.items():
            for i in probes:
                self._looks_at[s].setdefault(self._step_of_probe[i], []).append(i)
        self._drive_of_slot = {
            self.machine.slot[f"{tag}.{s}"]: tag for tag in self._drives for s in DISPLAY_SLOTS
        }  # fmt: skip
        self._islands_by_slot: dict[int, list[int]] = {
            s: [k for k in readers if k < len(self.machine.islands)] for s, readers in enumerate(self.machine.readers)
        }
        self._held: dict[int, list[int]] = {}
        for node, (*_, names) in self.machine.fixed.items():
            for name in filter(None, names.split("*")):
                self._held.setdefault(self.machine.slot[name], []).append(node)
        self._writer = {r.slot: k for k, island in enumerate(self.machine.islands) for r in island.readings}
        first = len(self.machine.islands)
        self._writer |= {s: first + n for n, rule in enumerate(self.machine.rules) for s in rule.outputs}
        self._same: dict[tuple[int, frozenset[str]], tuple[Tried, _Alike]] = {}
        self.read = self._read_right()

    # once ---------------------------------------------------------------------------------------------------
    def _slots(self, probe: Probe) -> tuple[str, ...]:
        """Slots a probe's reading hangs on by itself."""
        if probe.kind in ("look", "display"):
            if probe.slot.endswith(".display"):
                return tuple(f"{probe.about}.{s}" for s in DISPLAY_SLOTS)
            return (probe.slot,)
        return ()

    def _sort(self) -> None:
        """Every probe to those that are read as it is."""
        right = self.right
        pairs: dict[tuple[bool, tuple[int, ...]], dict[tuple[Pair, Any, Any], list[tuple[int, int]]]] = {}
        for i, probe in enumerate(self.checkout.probes):
            ends = [t for t in (probe.red, probe.black) if t is not None]
            if probe.kind == "amps AC":
                c = self.design.conductor_by_key[probe.slot]
                ends = [c.a, c.b]
                self._clamps.setdefault(probe.slot, []).append(i)
            for t in dict.fromkeys(ends):
                self._on_terminal.setdefault(t, []).append(i)
            if probe.kind in ("look", "display"):
                if probe.slot.endswith(".display"):
                    self._drives.setdefault(probe.about, []).append(i)
                else:
                    self._looks.setdefault(self.machine.slot[probe.slot], []).append(i)
                continue
            nodes = [right.node(t) for t in ends]
            islands = tuple(sorted({k for n in nodes if (k := right.island_of(n)) is not None}))
            if probe.kind == "hertz" or probe.lifted:
                on = set(islands)
                if probe.lifted:
                    c = self.design.conductor_by_key[probe.lifted]
                    for t in (c.a, c.b):
                        self._on_terminal.setdefault(t, []).append(i)
                        if (k := right.island_of(right.node(t))) is not None:
                            on.add(k)
                else:
                    self._pulses.append(i)
                for k in on:
                    self._lifted.setdefault(k, []).append(i)
                continue
            if probe.kind == "amps AC":
                by_ohm = conductor_ohm(c.awg, c.length_ft)
            else:
                by_ohm = probe.meter_ohm
            pair = Pair(probe.kind, nodes[0], nodes[1], by_ohm)
            at = pairs.setdefault((probe.kind == "ohms", islands), {})
            at.setdefault((pair, probe.red, probe.black), []).append((self._step_of_probe[i], i))
        for (dead, islands), found in pairs.items():
            leads = LeadSet(islands, dead)
            leads.pairs = [pair for pair, *_ in found]
            leads.probe_at = np.array([row_of(at, len(self.checkout.steps)) for at in found.values()])
            leads.steps = np.flatnonzero((leads.probe_at >= 0).any(axis=0))
            leads.finish()
            self.sets.append(leads)

    def _read_right(self) -> tuple[Reading, ...]:
        """Readings of the right wiring; the sets learn what they read in it."""
        read: list[Reading] = [0.0] * len(self.checkout.probes)
        slot = self.machine.slot
        for slot_at, probes in self._looks.items():
            for i in probes:
                read[i] = seen(self.checkout.probes[i].slot, self._timeline.right(slot_at)[self._step_of_probe[i]])
        rest = [i for probes in self._drives.values() for i in probes]
        rest += [i for probes in self._lifted.values() for i in probes]
        there = QuickStanding(self.right, Patch(), {}, self._timeline, Change(), self._potentials)
        for n, leads in enumerate(self.sets):
            at = standpoint(leads, leads.islands, self.right)
            self._points.append(at)
            names = [s for island in at.islands for s in island.key_slots]
            names += [s for node in at.fixed for s in self.machine.fixed[node][2].split("*") if s]
            leads.slots = frozenset(slot[s] for s in names)
            for k in leads.islands:
                self._sets_on.setdefault(k, []).append(n)
            for s in leads.slots:
                self._sets_by_slot.setdefault(s, []).append(n)
            leads.base, leads.ghosts = np.zeros(leads.probe_at.shape), np.zeros(leads.probe_at.shape, dtype=np.bool_)
            leads.base[:, leads.steps], leads.ghosts[:, leads.steps] = self._table(n, leads, at, there, leads.steps)
            rows, steps = np.nonzero(leads.probe_at >= 0)
            for row, step in zip(rows.tolist(), steps.tolist(), strict=True):
                i = int(leads.probe_at[row, step])
                if leads.ghosts[row, step]:
                    leads.base[row, step] = there.read(self.checkout.probes[i], step)
                    self._note_ghost(i, step, there)
                read[i] = unpacked(float(leads.base[row, step]))
        for i in dict.fromkeys(rest):
            read[i] = there.read(self.checkout.probes[i], self._step_of_probe[i])
        ground = self._ground(there)
        of = [(dead, [s for s in self.sets if s.dead == dead]) for dead in (False, True)]
        self._around = [Around(sets, there.island_of, ground, dead=dead) for dead, sets in of]
        return tuple(read)

    def _ground(self, there: QuickStanding) -> Ground:
        return Ground(
            there.island,
            there.parted,
            there.potentials,
            there.dead_with,
            there.node_volts,
        )

    def _note_ghost(self, i: int, step: int, there: Standing) -> None:
        """Whose volts a ghost hangs on."""
        probe = self.checkout.probes[i]
        nodes: set[int] = set()
        for t in (probe.red, probe.black):
            assert t is not None
            nodes.add(there.node(t))
        felt = [n for loose in nodes if there.floats(step, loose) for n, _ in there.felt_by(step, loose).from_nodes]
        for n in (*nodes, *felt):
            k = there.island_of(n)
            if k is not None:
                self._ghosts_on.setdefault(k, []).append(i)

    # a slip -------------------------------------------------------------------------------------------------
    def changed(self, change: Change) -> dict[int, Reading]:
        """Probes that read otherwise with a change in place.

        Raises:
            CircuitError: The network then has no solution.
        """
        return self.reached(change)[0]

    def reached(self, change: Change) -> tuple[dict[int, Reading], int | None]:
        """Probes that read otherwise with a change in place, and how far it reaches.

        Two changes whose reaches have no bit in common read together what each reads alone: no device, no island and
        no meter feels both.

        Returns:
            The readings, and the reach as bits; None when it is not known.

        Raises:
            CircuitError: The network then has no solution.
        """
        try:
            patch = self.trials.patcher.patch(change)
            tried = self.trials.over(change)
        except NeedsPlainWayError:
            return self._plainly(change), None
        assert tried.reach is not None
        refitted = frozenset([r.device for r in change.refits if r.device in self._drives])
        kept = self._same.get((id(tried), refitted))
        if kept is not None and kept[0] is tried:
            alike = kept[1]
            there = QuickStanding(self.right, patch, alike.over, self._timeline, change, self._potentials)
        else:
            over = {s: way for s, way in tried.over.items() if self._timeline.moved(s, way)}
            there = QuickStanding(self.right, patch, over, self._timeline, change, self._potentials)
            alike = self._alike(patch, there, over, refitted)
            if len(self._same) >= MOST_SAME:
                self._forget()
            self._same[id(tried), refitted] = (tried, alike)
        found = dict(alike.found)
        again = set(alike.again)
        if patch.island is not None:
            ground, parted = self._ground(there), there.parted(there.first)
            for around in self._around:
                readings_there, ghosts = around.read(
                    patch.islands, patch.island, parted, ground, alike.moved, alike.held
                )
                found.update(readings_there)
                again.update(ghosts)
        if change.refits:
            again.update(self._pulses)
        for key in (*change.opened, *(k for k, _ in change.loose), *(m.conductor for m in change.moved)):
            again.update(self._clamps.get(key, ()))
        for t in patch.terminals:
            again.update(self._on_terminal.get(t, ()))
        for i in again:
            found.pop(i, None)
            read = there.read(self.checkout.probes[i], self._step_of_probe[i])
            if not same(self.read[i], read):
                found[i] = read
        felt = {k for k in there.felt if k is not None}
        # what two islands draw from one bus counts together, although neither may move anyone alone
        islands = {*patch.islands, *alike.moved, *felt}
        buses = {amps for k in (*patch.islands, *alike.moved) for _, amps in self.machine.watched_buses(k)}
        reads = self._reads_anew(patch)
        buses |= {self.machine.slot[s] for s in reads if s not in self._writer and s in self.machine.slot}
        units = tried.reach | {self._writer[s] for s in reads if s in self._writer}
        return found, self._bits(units, islands, alike.sets, again, tried.over, buses)

    def _forget(self) -> None:
        """Drop what was worked out for slips that are long past; it is worked out again where it is asked for."""
        for known in (self._same, self._seen_way, self._shown_way, self._set_way, self._set_memo):
            known.clear()
        self._timeline.forget()
        for around in self._around:
            around.forget()

    def _reads_anew(self, patch: Patch) -> set[str]:
        """Slots that what a slip puts in place reads, and what stands there in the design does not."""
        machine = self.machine
        found = {s for rule in patch.more for s in rule.inputs}
        for r, rule in patch.rules.items():
            if rule is not None:
                found.update(set(rule.inputs).difference(machine.rules[r].inputs))
        if patch.island is not None:
            found.update(set(patch.island.key_slots).difference(*(machine.islands[k].key_slots for k in patch.islands)))
        return found

    def _alike(self, patch: Patch, there: QuickStanding, over: Mapping[int, int], refitted: frozenset[str]) -> _Alike:
        """What every slip has in common that makes the same slots of the same islands go the same ways."""
        found: dict[int, Reading] = {}
        again = {i for tag in refitted for i in self._drives[tag]}
        for s, way in over.items():
            if s in self._looks:
                found.update(self._seen(s, way))
        for tag in dict.fromkeys([self._drive_of_slot[s] for s in over if s in self._drive_of_slot]):
            if tag not in refitted:
                found.update(self._shown(tag, there, over))
        moved = {k for s in over for k in self._islands_by_slot[s]}
        sets = {n for k in (*patch.islands, *moved) for n in self._sets_on.get(k, ())}
        for s in over:
            sets.update(self._sets_by_slot.get(s, ()))
        step_of = self._step_of_probe
        for k in patch.islands:
            again.update(self._lifted.get(k, ()))
            again.update(self._ghosts_on.get(k, ()))
        for k in moved - set(patch.islands):
            mine = (*self._lifted.get(k, ()), *self._ghosts_on.get(k, ()))
            if mine:
                slots = [self.machine.slot[s] for s in self.machine.islands[k].key_slots]
                steps = {step for s in slots if s in over for step in self._timeline.moved(s, over[s])}
                again.update([i for i in mine if step_of[i] in steps])
        anew = set(patch.islands)
        for n in sets:
            if anew.isdisjoint(self.sets[n].islands):
                readings_there, ghosts = self._of_set(n, there, over)
                found.update(readings_there)
                again.update(ghosts)
        held = frozenset(node for s in over for node in self._held.get(s, ()))
        return _Alike(over, found, frozenset(again), frozenset(moved), held, frozenset(sets))

    def _bits(self, *of: Iterable[int]) -> int:
        """Numbers of several kinds as bits."""
        total = 0
        for kind, numbers in enumerate(of):
            for n in numbers:
                total |= 1 << self._bit.setdefault((kind, n), len(self._bit))
        return total

    def _seen(self, slot: int, way: int) -> dict[int, Reading]:
        """What people see otherwise when a slot takes a way."""
        found = self._seen_way.get((slot, way))
        if found is None:
            column = self._timeline.column(slot, way)
            at = self._looks_at[slot]
            found = {}
            for step in self._timeline.moved(slot, way):
                for i in at.get(step, ()):
                    read = seen(self.checkout.probes[i].slot, column[step])
                    if not same(self.read[i], read):
                        found[i] = read
            self._seen_way[slot, way] = found
        return found

    def _shown(self, tag: str, there: QuickStanding, over: Mapping[int, int]) -> dict[int, Reading]:
        """What a drive's display shows otherwise."""
        name = (tag, tuple([over.get(self.machine.slot[f"{tag}.{s}"], RIGHT) for s in DISPLAY_SLOTS]))
        found = self._shown_way.get(name)
        if found is None:
            read = {i: there.read(self.checkout.probes[i], self._step_of_probe[i]) for i in self._drives[tag]}
            found = self._shown_way[name] = {i: r for i, r in read.items() if r != self.read[i]}
        return found

    def _of_set(self, n: int, there: QuickStanding, over: Mapping[int, int]) -> tuple[dict[int, Reading], list[int]]:
        """Changed readings of a set of leads; and the probes that only read what a raceway couples in."""
        leads = self.sets[n]
        name = (n, tuple(sorted([(s, over[s]) for s in leads.slots if s in over])))
        found = self._set_way.get(name)
        if found is None:
            moved = {step for s, way in name[1] for step in self._timeline.moved(s, way)}
            steps = np.array([step for step in leads.steps.tolist() if step in moved], dtype=np.int64)
            if len(steps):
                found = self._compared(leads, steps, *self._table(n, leads, self._points[n], there, steps))
            else:
                found = ({}, [])
            self._set_way[name] = found
        return found

    def _compared(
        self, leads: LeadSet, steps: Places, now: Numbers, ghosts: Any
    ) -> tuple[dict[int, Reading], list[int]]:
        probe_at = leads.probe_at[:, steps]
        here = probe_at >= 0
        differ = differing(leads.base[:, steps], now) & here & ~ghosts
        probes, values = probe_at[differ].tolist(), now[differ].tolist()
        if leads.dead:
            values = [unpacked(v) for v in values]
        # what was a ghost and is none any more has been read with the others
        return dict(zip(probes, values, strict=True)), probe_at[ghosts & here].tolist() if ghosts.any() else []

    def _table(
        self, n: int, leads: LeadSet, at: Standpoint, there: QuickStanding, steps: Places
    ) -> tuple[Numbers, Any]:
        """Readings of a set, row by step; and which of them are ghosts.

        Args:
            n: Number of the set for what is remembered.
            leads: The set.
            at: Where its leads stand.
            there: The installation.
            steps: Steps in which they are read.
        """
        parts = [there.parted(k) for k in leads.islands]
        fixed_slots = [
            self.machine.slot[s] for node in at.fixed for s in self.machine.fixed[node][2].split("*") if s
        ]  # fmt: skip
        if fixed_slots:
            parts.append(there.of_slots(fixed_slots))
        code = np.zeros(len(steps), dtype=np.int64)
        for p in parts:
            code = code * len(p.keys) + p.which[steps]
        now = np.zeros((len(leads.pairs), len(steps)))
        ghosts = np.zeros(now.shape, dtype=np.bool_)
        columns_of: dict[int, list[int]] = {}
        for column, c in enumerate(code.tolist()):
            columns_of.setdefault(c, []).append(column)
        for columns in columns_of.values():
            step = int(steps[columns[0]])
            keys = tuple(p.keys[int(p.which[step])] for p in parts)
            made = self._set_memo.get((n, keys))
            if made is None:
                made = self._set_memo[n, keys] = self._one(leads, at, keys, step, there)
            now[:, columns] = made[0][:, None]
            if made[1] is not None:
                ghosts[:, columns] = made[1][:, None]
        return now, ghosts

    def _one(
        self, leads: LeadSet, at: Standpoint, keys: tuple[Key, ...], step: int, there: QuickStanding
    ) -> tuple[Numbers, Any]:
        """Readings of a set in one state of its islands."""
        here = list(zip(at.islands, keys, strict=False))
        if leads.dead:
            return ohms_read(at, [there.dead_with(island, key) for island, key in here]), None
        solved = [there.potentials(island, key) for island, key in here]
        fixed = [there.node_volts(step, node) for node in at.fixed]
        shown, ghost = volts_read(
            leads, at, solved, fixed, lambda: [there.dead_with(island, key) for island, key in here]
        )  # fmt: skip
        return shown, ghost if ghost.any() else None

    def _plainly(self, change: Change) -> dict[int, Reading]:
        self.plain += 1
        design = apply(self.design, change)
        machine = build_machine(self.job, design, self.library)
        there = Standing(design, machine, self.checkout.steps)
        return differences(self.read, readings(there, self.checkout))
