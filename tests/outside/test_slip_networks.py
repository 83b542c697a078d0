"""Networks with a slip in them against a general-purpose circuit simulator (libngspice), and textbook faults.

For each good example 300 slips at random. The project's answer is the one the study works with: the slip's islands
put together anew, in states they pass through on the grid. The simulator gets the whole changed design, as the plain
builder makes it, in the same state, so that patching is checked too and not only the algebra.
"""

from __future__ import annotations

import random

import pytest
from tests.outside.spice import spice
from tests.outside.test_circuit_networks import solve_together
from tests.proof.test_slips_kinds import kitchen, tie

from galleyproof.circuit.behaviours._curves import sensor_degc, sensor_ohm
from galleyproof.circuit.elements import EARTH
from galleyproof.circuit.export import export_network
from galleyproof.circuit.machine import Machine, State
from galleyproof.circuit.network import build_network
from galleyproof.circuit.world import build_machine
from galleyproof.design.model import TerminalId
from galleyproof.library.reader import load_library
from galleyproof.proof.grid import grid
from galleyproof.proof.patch import NeedsPlainWayError, Patcher
from galleyproof.proof.reference import reference_state
from galleyproof.proof.slips import Slip, apply
from galleyproof.proof.slips.model import Change, Move

pytestmark = pytest.mark.outside

GOOD = ("ferry-cafe", "school-kitchen", "hospital")
COUNT = 300
RELATIVE = 1e-6
FLOOR_V = 2e-5
"""What rounding leaves beside 480 V: eleven decades of conductance stand in one matrix of sixteen digits. [V]"""


def states(machine: Machine, name: str) -> list[State]:
    """States of a few steps of the grid, spread over it."""
    job = kitchen(name)[0]
    steps = grid(job)
    wanted = {0, len(steps) // 3, len(steps) // 2, 2 * len(steps) // 3}
    after: dict[int, State] = {-1: machine.dark()}
    for index, step in enumerate(steps):
        after[index] = machine.apply(after[step.parent], step.events)
    return [after[i] for i in sorted(wanted)] + [reference_state(job, machine)]


@pytest.mark.parametrize("name", GOOD)
def test_slip_networks(name: str):
    """libngspice 39 and later, 300 slips an example, both solutions, readings within 1e-6."""
    job, design, slips = kitchen(name)
    library = load_library()
    machine = build_machine(job, design, library)
    patcher = Patcher(design, library, machine)
    moments = states(machine, name)
    rng = random.Random(f"{name} networks")
    compared = {"ac": 0, "dc": 0}
    parts = {"ac": [], "dc": []}
    checks = []
    for n, slip in enumerate(rng.sample(list(slips), COUNT)):
        try:
            patch = patcher.patch(slip.change)
        except NeedsPlainWayError:
            continue
        if patch.island is None:
            continue
        state = rng.choice(moments)
        changed = build_network(apply(design, slip), library, machine.network.frequency_hz)

        def value_of(slot: str, state: State = state) -> object:
            return machine.get(state, slot) if slot in machine.slot else False

        island = patch.island
        names = {b.name.rpartition("~")[0] or b.name for b in island.branches}
        names |= {e.name for group in (island.sources, island.links) for e in group}
        keep = only(changed, names)
        ends = {e.name: (e.a, e.b) for group in (keep.branches, keep.sources, keep.links) for e in group}
        for form in ("ac", "dc"):
            parts[form].append(export_network(keep, value_of, form, prefix=f"p{n}"))
        checks.append((slip, island, island.solve(tuple(value_of(s) for s in island.key_slots)), ends))
    for form in ("ac", "dc"):
        reference = solve_together(parts[form], form)
        for (slip, island, solution, ends), part in zip(checks, parts[form], strict=True):
            for reading, shown in zip(island.readings, solution.readings, strict=True):
                if reading.form != form or reading.of != "volts" or reading.branch not in ends:
                    continue
                a, b = ends[reading.branch]
                if a not in part.node_of or b not in part.node_of:
                    assert abs(shown) <= FLOOR_V, f"{slip.key}: {reading.slot}"
                    continue
                expected = reference[part.node_of[a]] - reference[part.node_of[b]]
                assert abs(shown - expected) <= RELATIVE * abs(expected) + FLOOR_V, f"{slip.key}: {reading.slot}"
                compared[form] += 1
    assert len(checks) > 200
    assert compared["ac"] > 200
    assert compared["dc"] > 150


def only(network, names):
    """The network with some of its elements only, and every stiff bus."""
    from dataclasses import replace

    return replace(
        network,
        branches=tuple(b for b in network.branches if b.name in names),
        sources=tuple(s for s in network.sources if s.name in names),
        links=tuple(k for k in network.links if k.name in names),
    )


# --- textbook faults ---------------------------------------------------------------------------------------------


def potential(machine: Machine, state: State, terminal: str) -> complex:
    device, _, mark = terminal.rpartition(":")
    return machine.volts(state, machine.network.terminals[TerminalId(device, mark)])[0]


def test_open_neutral_puts_two_loads_in_series():
    """Two resistive loads on opposite legs of 120/240 V with their shared neutral open share 240 V as their ohms do.

    Field case P03: 100 W with 500 W on 240 V gives 200 V and 40 V. The voltage divider is any circuits textbook's;
    the simulator is asked too.
    """
    ohm = {"a": 120.0**2 / 100.0, "b": 120.0**2 / 500.0}
    text = "\n".join(
        [
            "* open neutral",
            "V1 l1 0 DC 0 AC 120 0",
            "V2 l2 0 DC 0 AC 120 180",
            f"R1 l1 n {ohm['a']!r}",
            f"R2 l2 n {ohm['b']!r}",
            ".end",
        ]
    )
    told = spice().solve(text, "ac", 60.0, ["l1", "l2", "n"])
    assert abs(told["l1"] - told["n"]) == pytest.approx(200.0, rel=1e-6)
    assert abs(told["l2"] - told["n"]) == pytest.approx(40.0, rel=1e-6)
    ours = two_loads(100.0, 500.0)
    assert ours == (pytest.approx(200.0, rel=2e-3), pytest.approx(40.0, rel=5e-3))


def test_open_neutral_48_and_192_volts():
    """Loads of one to four in resistance: 48 V on the larger load, 192 V on the smaller."""
    assert two_loads(400.0, 100.0) == (pytest.approx(48.0, rel=5e-3), pytest.approx(192.0, rel=2e-3))


def two_loads(first_w: float, second_w: float) -> tuple[float, float]:
    """Volts of two loads on the two legs when the neutral they share is left off. [V], [V]"""
    from galleyproof.circuit.machine import Machine
    from galleyproof.design.model import Bridge, Conductor, Design, Device, EnergyClass, Program, Role

    def wire(key: str, a: str, b: str, role: Role) -> Conductor:
        ends = [TerminalId(*t.rsplit(":", 1)) for t in (a, b)]
        return Conductor(key, 1, *ends, "field", role, EnergyClass.LINE, "12", "black", 10.0, "W", "E", key)

    devices = (
        Device("LP", "panelboard_120_240", "board", "room"),
        Device("E1", "appliance_1", "load", "room", ratings={"load_v": 120.0, "load_w": first_w}),
        Device("E2", "appliance_1", "load", "room", ratings={"load_v": 120.0, "load_w": second_w}),
        Device("X1", "terminal_strip", "strip", "room", ratings={"last": 2}),
    )
    conductors = (
        wire("one", "LP:L1", "E1:L", Role.LINE),
        wire("two", "LP:L2", "E2:L", Role.LINE),
        wire("n1", "E1:N", "X1:1", Role.NEUTRAL),
        wire("n2", "E2:N", "X1:2", Role.NEUTRAL),
        wire("home", "X1:1", "LP:N", Role.NEUTRAL),
    )
    bridges = (Bridge(TerminalId("X1", "1"), TerminalId("X1", "2")),)
    design = Design(devices, conductors, bridges, (), (), (), Program("none"), "none")
    slip = Slip("s", "neutral open", (), (), 1.0, "", Change(opened=("home",)))
    library = load_library()
    machine = Machine(build_network(apply(design, slip), library), [], {})
    state = machine.dark()

    def across(tag: str) -> float:
        return abs(potential(machine, state, f"{tag}:L") - potential(machine, state, f"{tag}:N"))

    return across("E1"), across("E2")


@pytest.mark.parametrize(("joined", "factor"), [("series", 2.0), ("parallel", 0.5)])
def test_two_thermistors_on_one_input_read_what_the_curve_says(joined: str, factor: float):
    """Two 10 kohm thermistors at 75 F: twice or half the ohms of one, and the temperature the curve gives for that.

    Field case S02: 5.9 kohm at 70 F shows about 99 F.
    """
    job, design, slips = kitchen("school-kitchen")
    kind = f"sensors in {joined}"
    slip = next(s for s in slips if s.kind == kind and s.devices[:2] == ("TS-1A", "TS-1B"))
    machine = build_machine(job, apply(design, slip), load_library())
    state = machine.dark()
    for step in grid(job)[:3]:
        state = machine.apply(state, step.events)
    one = sensor_ohm("NTC 10k curve 2", (75.0 - 32.0) / 1.8)
    expected = sensor_degc("NTC 10k curve 2", factor * one) * 1.8 + 32.0
    assert machine.get(state, "TS-1A>reads") == pytest.approx(expected, abs=0.3)
    assert machine.get(state, "TS-1B>reads") == "open"
    if joined == "parallel":
        seventy = sensor_ohm("NTC 10k curve 2", (70.0 - 32.0) / 1.8)
        assert seventy / 2.0 == pytest.approx(5900.0, rel=0.02)
        assert sensor_degc("NTC 10k curve 2", seventy / 2.0) * 1.8 + 32.0 == pytest.approx(99.0, abs=1.5)


def test_a_line_to_neutral_load_across_two_lines_gets_their_difference():
    """208Y/120: a 120 V load whose neutral is landed on a second line stands on sqrt(3) times its volts."""
    job, design, slips = kitchen("school-kitchen")
    slip = next(s for s in slips if s.key == "wrong-voltage/LP-2/1/N")
    machine = build_machine(job, apply(design, slip), load_library())
    state = reference_state(job, machine)
    line, back = (potential(machine, state, f"CP1-X1:{n}") for n in (7, 9))
    assert abs(line - back) == pytest.approx(120.089 * 3**0.5, rel=0.01)


def test_a_loose_neutral_starves_its_load_as_a_divider():
    """Field case X07: right without load, wrong under it. 600 W of lamps at 120 V behind 200 ohm more."""
    job, design, slips = kitchen("school-kitchen")
    slip = next(s for s in slips if s.key == "loose/H-1-E1/N")
    machine = build_machine(job, apply(design, slip), load_library())
    state = reference_state(job, machine)
    lamp = 120.0**2 / 600.0
    supply = abs(potential(machine, state, "CP1-X1:44") - potential(machine, state, "CP1-X1:21"))
    shown = abs(potential(machine, state, "H-1-E1:L") - potential(machine, state, "H-1-E1:N"))
    assert supply == pytest.approx(120.0, rel=0.03)
    assert shown == pytest.approx(supply * lamp / (lamp + 200.0), rel=3e-3)


def test_a_short_to_ground_trips_its_breaker():
    job, design, _ = kitchen("ferry-cafe")
    short = tie("A-1:L1 LP-1:N")
    machine = build_machine(job, apply(design, short), load_library())
    assert machine.get(reference_state(job, machine), "LP-1/11.tripped") is True


def test_moves_and_earth_are_told_apart():
    """A conductor moved onto the earth's own node still has its resistance: the bus is not joined to it stiffly."""
    _, design, _ = kitchen("ferry-cafe")
    moved = Change(moved=(Move("H-1-E1/N", "a", TerminalId("LP-1", "N")),))
    network = build_network(apply(design, moved), load_library())
    branch = next(b for b in network.branches if b.name == "H-1-E1/N")
    assert EARTH in (branch.a, branch.b)
    assert branch.a != branch.b
