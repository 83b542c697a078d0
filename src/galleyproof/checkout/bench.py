"""The installation in one preparation after the other, with or without a slip; and what a meter shows there.

This is the plain way, a machine for every change: exact, and the measure for anything quicker.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cached_property
from typing import Any

from galleyproof.checkout.coupling import Coupled, Coupling, hanging_together
from galleyproof.checkout.model import Probe, Reading
from galleyproof.circuit.dead import DeadIsland
from galleyproof.circuit.elements import EARTH
from galleyproof.circuit.island import Island, Solution
from galleyproof.circuit.machine import Machine, State
from galleyproof.circuit.meter import OPEN_OHM
from galleyproof.circuit.network import conductor_ohm
from galleyproof.circuit.world import build_machine
from galleyproof.design.model import Conductor, Design, Device, TerminalId
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.proof.model import Step
from galleyproof.proof.settled import Settled

FULL_SPEED = 0.9
"""From here a person takes a fan to be at full speed (common practice). [ratio]"""
PULSE_HZ = 1000.0
"""Frequency of a speed signal made of pulses (common practice: tens to thousands of hertz). [Hz]"""
LEAST_SIGNAL_V = 0.3
"""Below this mean a meter finds no frequency. [V]"""
LOW_IMPEDANCE = 1e6
"""A meter below this loads what it reads. [ohm]"""
LEAST_LOADED_V = 1e-6
MOST_OHM = 1e9
"""What a meter takes an open way for when it is loaded. [ohm]"""
Key = tuple[Any, ...]
"""Values of an island's key slots."""


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
        self._dead: dict[tuple[Island, Key, str], DeadIsland] = {}
        self._clusters: dict[tuple[Island, Key, int], frozenset[int]] = {}
        self.settled: Settled | None = None
        self.supplies = frozenset(s.slot for s in (*machine.network.sources, *machine.network.stiff) if s.slot)

    @property
    def design(self) -> Design:
        """The design as it stands."""
        return self._design

    # what the meters look at ----------------------------------------------------------------------------------
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

    def island(self, k: int) -> Island:
        """An island by its index."""
        return self.machine.islands[k]

    def island_of(self, node: int) -> int | None:
        """Index of the island of a node, None for one of fixed potential."""
        return self.machine.island_of.get(node)

    def node(self, terminal: TerminalId) -> int:
        """Node of a terminal."""
        return self.machine.network.terminals[terminal]

    def solution(self, step: int, k: int) -> Solution | None:
        """How an island stands after a step."""
        return self.state(step).solutions[k]

    def key(self, step: int, k: int) -> Key:
        """Values of an island's key slots after a step."""
        return tuple([self.value(step, s) for s in self.island(k).key_slots])

    def node_volts(self, step: int, node: int) -> tuple[complex, float]:
        """AC and DC potential of a node against earth after a step. [V], [V]."""
        k = self.island_of(node)
        if k is None:
            ac, dc, names = self.machine.fixed.get(node, (0j, 0.0, ""))
            factor = math.prod([float(self.value(step, name)) for name in names.split("*") if name])
            return ac * factor, dc * factor
        solution = self.solution(step, k)
        return (0j, 0.0) if solution is None else self.island(k).volts(node, solution)

    @cached_property
    def point_of(self) -> Mapping[str, str]:
        """Use of a controller's point -> the device it is on."""
        return {p.used_for: p.device for p in reversed(self._design.points)}

    @cached_property
    def coupling(self) -> Coupling:
        """What shares a raceway."""
        return Coupling(self.design.conductors, self.node)

    def conductor(self, key: str) -> Conductor | None:
        """A conductor as it is landed; None when it carries nothing on."""
        return self.design.conductor_by_key.get(key)

    # meters -------------------------------------------------------------------------------------------------
    def volts(self, step: int, red: TerminalId, black: TerminalId, form: str, meter_ohm: float) -> float:
        """What a voltmeter shows: DC with its sign, AC as its size. [V]."""
        a, b = (self.node(t) for t in (red, black))
        if a == b:
            return 0.0
        loose = [self.floats(step, n) for n in (a, b)]
        if any(loose) and not (all(loose) and self.island_of(a) == self.island_of(b)):
            # the meter itself is the only way: what is left is what the raceway couples in
            if form == "dc" or all(loose):
                return 0.0
            return self._ghost(step, a if loose[0] else b, b if loose[0] else a, meter_ohm)
        va, vb = (self.node_volts(step, n) for n in (a, b))
        shown = abs(va[0] - vb[0]) if form == "ac" else va[1] - vb[1]
        if meter_ohm < LOW_IMPEDANCE and abs(shown) > LEAST_LOADED_V:
            # a low-impedance meter loads what it reads; reactances in its way are left out
            shown *= meter_ohm / (meter_ohm + min(self._between(step, a, b), MOST_OHM))
        return shown

    def volts_in(
        self, steps: Iterable[int], red: TerminalId, black: TerminalId, form: str, meter_ohm: float
    ) -> dict[int, float]:
        """What a voltmeter shows after each of some steps. [V]."""
        nodes = [self.node(t) for t in (red, black)]
        isles = [self.island_of(n) for n in nodes]
        shown: dict[int, float] = {}
        known: dict[tuple[int, ...], float] = {}
        for step in steps:
            # where both stand on islands, and neither hangs on nothing, these alone tell
            solved = [self.solution(step, k) for k in isles if k is not None]
            alone = None not in solved and len(solved) == 2 and not any(self.floats(step, n) for n in nodes)
            name = tuple([id(s) for s in solved]) if alone else (step,)
            if name not in known:
                known[name] = self.volts(step, red, black, form, meter_ohm)
            shown[step] = known[name]
        return shown

    def ohms(self, step: int, red: TerminalId, black: TerminalId) -> float:
        """What an ohmmeter shows with every source dead; infinity when it shows an open circuit. [ohm]."""
        found = self._between(step, self.node(red), self.node(black))
        return math.inf if found > OPEN_OHM else found

    def ohms_lifted(self, step: int, key: str, black: TerminalId) -> float:
        """Ohms from the lifted end of a conductor, everything else as landed; infinity for an open circuit. [ohm]."""
        conductor = self.conductor(key)
        if conductor is None:
            return math.inf  # it hangs nowhere, or is so loose that nothing can be said of it
        start, end = self.node(self._ends(conductor)[1]), self.node(black)
        k = self.island_of(start)
        if k is None:
            found = self._between(step, start, end)
        else:
            inside = self.island_of(end) == k
            dead = self.dead_island(step, k, without=key)
            found = dead.ohms(start, end if inside else -1)
            if not inside and (other := self.island_of(end)) is not None:
                found += self.dead_island(step, other).ohms(end, -1)
        return math.inf if found > OPEN_OHM else found

    def _ends(self, c: Conductor) -> tuple[TerminalId, TerminalId]:
        """Ends of a conductor, the panel's or the breaker's first."""
        kinds = self._design.device_by_tag
        for near, far in ((c.a, c.b), (c.b, c.a)):
            if kinds[near.device].parent == self._design.panel:
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
            return PULSE_HZ if live and gives_pulses(self.point_of.get(probe.slot), self.device, probe.slot) else 0.0
        if probe.slot.endswith(".display"):
            return self._drive_shows(step, probe.about)
        return seen(probe.slot, self.value(step, probe.slot))

    def amps(self, step: int, key: str) -> float:
        """What a clamp around a conductor shows. [A]."""
        c = self.conductor(key)
        if c is not None:
            a, b, ohm = c.a, c.b, conductor_ohm(c.awg, c.length_ft)
        else:
            stray = next((s for s in self.design.strays if s.key == key), None)
            if stray is None or math.isinf(stray.ohm):
                return 0.0
            a, b, ohm = stray.a, stray.b, stray.ohm
        va, vb = (self.node_volts(step, self.node(t))[0] for t in (a, b))
        return abs(va - vb) / ohm

    def device(self, tag: str) -> Device | None:
        """A device as it stands, its settings included."""
        return self._design.device_by_tag.get(tag)

    def _drive_shows(self, step: int, tag: str) -> Reading:
        """What a drive's display says."""
        if not self.value(step, f"{tag}.own_24"):
            return "dark"
        if self.value(step, f"{tag}.faulted"):
            return "fault"
        if self.value(step, f"{tag}.turns"):
            return "runs"
        drive = self.device(tag)
        return "in local" if drive and drive.ratings.get("start_from") == "keypad" else "stopped"

    # inside -------------------------------------------------------------------------------------------------
    def _between(self, step: int, a: int, b: int) -> float:
        """Resistance between two nodes with every source dead and the contacts as they are. [ohm]."""
        ia, ib = (self.island_of(n) for n in (a, b))
        if ia is not None and ib is not None and ia != ib:
            return self.dead_island(step, ia).ohms(a, -1) + self.dead_island(step, ib).ohms(b, -1)
        at = ia if ia is not None else ib
        if at is None:
            return 0.0
        ends = (-1 if self.island_of(n) is None else n for n in (a, b))
        return self.dead_island(step, at).ohms(*ends)

    def floats(self, step: int, node: int) -> bool:
        """Whether a node's potential to earth means nothing after a step."""
        k = self.island_of(node)
        if k is None:
            return False
        solution = self.solution(step, k)
        return solution is not None and self.island(k).is_floating(node, solution)

    def dead_island(self, step: int, k: int, without: str = "") -> DeadIsland:
        """An island with its sources dead and its contacts as they are after a step."""
        return self.dead_with(self.island(k), self.key(step, k), without)

    def dead_with(self, island: Island, key: Key, without: str = "") -> DeadIsland:
        """An island with its sources dead, by the values of its key slots."""
        key = tuple([0.0 if s in self.supplies else v for s, v in zip(island.key_slots, key, strict=True)])
        found = self._dead.get((island, key, without))
        if found is None:
            settled = self.settled
            made = settled.dead if settled is not None and settled.holds(island) else DeadIsland
            found = self._dead[island, key, without] = made(island, key, without)
        return found

    def _ghost(self, step: int, loose: int, other: int, meter_ohm: float) -> float:
        """Volts that the other conductors of its raceways couple into one that hangs on nothing. [V]."""
        felt = self.felt_by(step, loose)
        if felt.farads == 0.0:
            return 0.0
        with_volts = sum([farads * self.node_volts(step, n)[0] for n, farads in felt.from_nodes])
        behind = 1.0 / (2.0 * math.pi * self.machine.network.frequency_hz * felt.farads)
        open_v = abs(with_volts / felt.farads - self.node_volts(step, other)[0])
        return open_v * meter_ohm / math.hypot(meter_ohm, behind)

    def felt_by(self, step: int, node: int) -> Coupled:
        """What one that hangs on nothing feels of the others."""
        return self.coupling.into(self._cluster(step, node))

    def _cluster(self, step: int, node: int) -> frozenset[int]:
        """Nodes that hang together with one that floats."""
        k = self.island_of(node)
        assert k is not None
        island, key = self.island(k), self.key(step, k)
        found = self._clusters.get((island, key, node))
        if found is None:
            closed = dict(zip(island.key_slots, key, strict=True))
            pairs = [(b.a, b.b) for b in island.branches if b.g_dc > 1e-12]
            pairs += [(link.a, link.b) for link in island.links if closed[link.slot]]
            pairs += [(s.a, s.b) for s in island.sources]
            found = self._clusters[island, key, node] = hanging_together(node, pairs, (EARTH,))
        return found


def gives_pulses(controller: str | None, device: Callable[[str], Device | None], use: str) -> bool:
    """Whether the panel's speed output of a use (``EF-1/speed``) is made of pulses: as drawn, or as set.

    Args:
        controller: Tag of the device that gives it.
        device: A device as it stands, by its tag.
        use: What the output is used for.
    """
    giver, fan = (device(tag) if tag else None for tag in (controller, use.partition("/")[0]))
    setting = giver.ratings.get(f"signal {use}") if giver else None
    if setting is not None:
        return bool(setting == "PWM")
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
