"""The installation in one preparation after the other, with or without a slip; and what a meter shows there.

This is the plain way, a machine for every change: exact, and the measure for anything quicker.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from galleyproof.checkout.model import Probe, Reading
from galleyproof.circuit.dead import DeadIsland
from galleyproof.circuit.elements import EARTH
from galleyproof.circuit.machine import Machine, State
from galleyproof.circuit.meter import OPEN_OHM
from galleyproof.circuit.network import conductor_ohm
from galleyproof.circuit.world import build_machine
from galleyproof.design.model import Design, TerminalId
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.proof.model import Step

FULL_SPEED = 0.9
"""From here a person takes a fan to be at full speed (common practice). [ratio]"""
COUPLING_F_PER_FT = 30e-12
"""Capacitance between two conductors of one raceway (common practice: some tens of picofarads a foot). [F/ft]"""
TO_RACEWAY_F_PER_FT = 15e-12
"""Capacitance of a conductor to its grounded raceway or the equipment ground in it (common practice). [F/ft]"""


PULSE_HZ = 1000.0
"""Frequency of a speed signal made of pulses (common practice: tens to thousands of hertz). [Hz]"""
LEAST_SIGNAL_V = 0.3
"""Below this mean a meter finds no frequency. [V]"""


class Standing:
    """A machine walked through the script, step by step, as far as it is asked.

    Args:
        design: The design as it stands, slip included.
        machine: Its machine.
        steps: The script.
    """

    def __init__(self, design: Design, machine: Machine, steps: Sequence[Step]) -> None:
        self._design = design
        self.machine = machine
        self.steps = steps
        self._states: dict[int, State] = {}
        self._dead: dict[tuple[int, tuple[Any, ...], str], DeadIsland] = {}
        self._supplies = {s.slot for s in (*machine.network.sources, *machine.network.stiff) if s.slot}

    @property
    def design(self) -> Design:
        """The design as it stands."""
        return self._design

    def state(self, step: int) -> State:
        """The state a step leaves behind."""
        found = self._states.get(step)
        if found is None:
            at = self.steps[step]
            before = self.state(at.parent) if at.parent >= 0 else self.machine.dark()
            found = self._states[step] = self.machine.apply(before, at.events)
        return found

    def value(self, step: int, slot: str) -> Any:
        """Value of a slot after a step."""
        return self.machine.get(self.state(step), slot)

    # meters -------------------------------------------------------------------------------------------------
    def volts(self, step: int, red: TerminalId, black: TerminalId, form: str, meter_ohm: float) -> float:
        """What a voltmeter shows: DC with its sign, AC as its size. [V]."""
        state = self.state(step)
        a, b = (self._node(t) for t in (red, black))
        if a == b:
            return 0.0
        loose = [self._floats(state, n) for n in (a, b)]
        if any(loose) and not (all(loose) and self.machine.island_of[a] == self.machine.island_of[b]):
            # the meter itself is the only way: what is left is what the raceway couples in
            if form == "dc" or all(loose):
                return 0.0
            return self._ghost(state, a if loose[0] else b, b if loose[0] else a, meter_ohm)
        va, vb = (self.machine.volts(state, n) for n in (a, b))
        shown = abs(va[0] - vb[0]) if form == "ac" else va[1] - vb[1]
        if meter_ohm < 1e6 and abs(shown) > 1e-6:
            # a low-impedance meter loads what it reads; reactances in its way are left out
            shown *= meter_ohm / (meter_ohm + min(self._between(state, a, b), 1e9))
        return shown

    def ohms(self, step: int, red: TerminalId, black: TerminalId) -> float:
        """What an ohmmeter shows with every source dead; infinity when it shows an open circuit. [ohm]."""
        found = self._between(self.state(step), self._node(red), self._node(black))
        return math.inf if found > OPEN_OHM else found

    def ohms_lifted(self, step: int, key: str, black: TerminalId) -> float:
        """Ohms from the lifted end of a conductor, everything else as landed; infinity for an open circuit. [ohm]."""
        conductor = self.design.conductor_by_key.get(key)
        if conductor is None:
            return math.inf  # it hangs nowhere, or is so loose that nothing can be said of it
        state = self.state(step)
        start, end = self._node(self._ends(key)[1]), self._node(black)
        k = self.machine.island_of.get(start)
        if k is None:
            found = self._between(state, start, end)
        else:
            inside = self.machine.island_of.get(end) == k
            dead = self._dead_island(state, k, without=key)
            found = dead.ohms(start, end if inside else -1)
            if not inside and (other := self.machine.island_of.get(end)) is not None:
                found += self._dead_island(state, other).ohms(end, -1)
        return math.inf if found > OPEN_OHM else found

    def _ends(self, key: str) -> tuple[TerminalId, TerminalId]:
        """Ends of a conductor, the panel's or the breaker's first."""
        c = self.design.conductor_by_key[key]
        kinds = self.design.device_by_tag
        for near, far in ((c.a, c.b), (c.b, c.a)):
            if kinds[near.device].parent == self.design.panel:
                return near, far
        for near, far in ((c.a, c.b), (c.b, c.a)):
            if kinds[near.device].type.startswith(("breaker_", "panelboard")):
                return near, far
        return c.a, c.b

    def read(self, probe: Probe, step: int) -> Reading:
        """The reading of a probe."""
        if probe.kind == "ohms":
            assert probe.red is not None
            assert probe.black is not None
            if probe.lifted:
                return self.ohms_lifted(step, probe.lifted, probe.black)
            return self.ohms(step, probe.red, probe.black)
        if probe.kind in ("volts AC", "volts DC"):
            assert probe.red is not None
            assert probe.black is not None
            form = "ac" if probe.kind == "volts AC" else "dc"
            return self.volts(step, probe.red, probe.black, form, probe.meter_ohm)
        if probe.kind == "amps AC":
            return self.amps(step, probe.slot)
        if probe.kind == "hertz":
            assert probe.red is not None
            assert probe.black is not None
            live = abs(self.volts(step, probe.red, probe.black, "dc", probe.meter_ohm)) > LEAST_SIGNAL_V
            return PULSE_HZ if live and gives_pulses(self.design, probe.slot) else 0.0
        if probe.slot.endswith(".display"):
            return self._drive_shows(step, probe.about)
        return seen(probe.slot, self.value(step, probe.slot))

    def amps(self, step: int, key: str) -> float:
        """What a clamp around a conductor shows. [A]."""
        c = self.design.conductor_by_key.get(key)
        if c is not None:
            a, b, ohm = c.a, c.b, conductor_ohm(c.awg, c.length_ft)
        else:
            stray = next((s for s in self.design.strays if s.key == key), None)
            if stray is None or math.isinf(stray.ohm):
                return 0.0
            a, b, ohm = stray.a, stray.b, stray.ohm
        va, vb = (self.machine.volts(self.state(step), self._node(t))[0] for t in (a, b))
        return abs(va - vb) / ohm

    def _drive_shows(self, step: int, tag: str) -> Reading:
        """What a drive's display says."""
        if not self.value(step, f"{tag}.own_24"):
            return "dark"
        if self.value(step, f"{tag}.faulted"):
            return "fault"
        if self.value(step, f"{tag}.turns"):
            return "runs"
        keypad = self.design.device_by_tag[tag].ratings.get("start_from") == "keypad"
        return "in local" if keypad else "stopped"

    # inside -------------------------------------------------------------------------------------------------
    def _node(self, terminal: TerminalId) -> int:
        return self.machine.network.terminals[terminal]

    def _between(self, state: State, a: int, b: int) -> float:
        """Resistance between two nodes with every source dead and the contacts as they are. [ohm]."""
        ia, ib = (self.machine.island_of.get(n) for n in (a, b))
        if ia is not None and ib is not None and ia != ib:
            return self._dead_island(state, ia).ohms(a, -1) + self._dead_island(state, ib).ohms(b, -1)
        at = ia if ia is not None else ib
        if at is None:
            return 0.0
        ends = (-1 if self.machine.island_of.get(n) is None else n for n in (a, b))
        return self._dead_island(state, at).ohms(*ends)

    def _floats(self, state: State, node: int) -> bool:
        k = self.machine.island_of.get(node)
        if k is None:
            return False
        solution = state.solutions[k]
        return solution is not None and self.machine.islands[k].is_floating(node, solution)

    def _dead_island(self, state: State, index: int, without: str = "") -> DeadIsland:
        island = self.machine.islands[index]
        key = tuple(0.0 if s in self._supplies else self.machine.get(state, s) for s in island.key_slots)
        found = self._dead.get((index, key, without))
        if found is None:
            found = self._dead[index, key, without] = DeadIsland(island, key, without)
        return found

    def _ghost(self, state: State, loose: int, other: int, meter_ohm: float) -> float:
        """Volts that the other conductors of its raceways couple into one that hangs on nothing. [V]."""
        with_volts = 0j
        farads = 0.0
        cluster = self._cluster(state, loose)
        mates: dict[str, list[Any]] = {}
        for c in self.design.conductors:
            if c.cable:
                mates.setdefault(c.cable, []).append(c)
        for c in self.design.conductors:
            if not c.cable or not ({self._node(c.a), self._node(c.b)} & cluster):
                continue
            farads += TO_RACEWAY_F_PER_FT * c.length_ft
            for mate in mates[c.cable]:
                node = self._node(mate.b)
                if mate.key != c.key and node not in cluster:
                    ac, _ = self.machine.volts(state, node)
                    with_volts += COUPLING_F_PER_FT * c.length_ft * ac
                    farads += COUPLING_F_PER_FT * c.length_ft
        if farads == 0.0:
            return 0.0
        behind = 1.0 / (2.0 * math.pi * self.machine.network.frequency_hz * farads)
        open_v = abs(with_volts / farads - self.machine.volts(state, other)[0])
        return open_v * meter_ohm / math.hypot(meter_ohm, behind)

    def _cluster(self, state: State, node: int) -> set[int]:
        """Nodes that hang together with one that floats."""
        island = self.machine.islands[self.machine.island_of[node]]
        edges: dict[int, list[int]] = {}
        pairs = [(b.a, b.b) for b in island.branches if b.g_dc > 1e-12]
        pairs += [(k.a, k.b) for k in island.links if self.machine.get(state, k.slot)]
        pairs += [(s.a, s.b) for s in island.sources]
        for a, b in pairs:
            edges.setdefault(a, []).append(b)
            edges.setdefault(b, []).append(a)
        found, queue = {node}, [node]
        while queue:
            for n in edges.get(queue.pop(), ()):
                if n not in found and n != EARTH:
                    found.add(n)
                    queue.append(n)
        return found


def gives_pulses(design: Design, use: str) -> bool:
    """Whether the panel's speed output of a use (``EF-1/speed``) is made of pulses: as drawn, or as set."""
    point = next((p for p in design.points if p.used_for == use), None)
    setting = design.device_by_tag[point.device].ratings.get(f"signal {use}") if point else None
    if setting is not None:
        return bool(setting == "PWM")
    fan = design.device_by_tag.get(use.partition("/")[0])
    return fan is not None and fan.type.endswith("_pwm")


def seen(slot: str, value: Any) -> Reading:
    """What a person sees of a slot: yes and no for what is on or off, how a fan turns, what the display says."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value is None:
        return "nothing"
    if isinstance(value, float):
        if not slot.endswith(".speed"):
            return value
        if value < -0.01:
            return "turns the wrong way"
        return "stands" if value < 0.01 else ("turns slowly" if value < FULL_SPEED else "turns at full speed")
    return str(value)


def standing(job: Job, design: Design, library: Mapping[str, DeviceType], steps: Sequence[Step]) -> Standing:
    """The installation as a design has it.

    Args:
        job: The job.
        design: Its design, with or without a slip.
        library: Device types.
        steps: The script of the check-out.

    Raises:
        CircuitError: The network has no solution; the message names the device.
    """
    return Standing(design, build_machine(job, design, library), steps)
