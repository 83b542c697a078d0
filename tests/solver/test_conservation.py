"""What every solution must keep: currents sum to zero at every node, and what sources give is what loads take."""

from __future__ import annotations

from collections import defaultdict
from typing import Literal

import pytest
from tests.solver.bench_circuit import Circuit
from tests.solver.kitchens import ALL, Case, walk

from galleyproof.circuit.elements import EARTH
from galleyproof.circuit.island import admittance

LEFT_OVER_A = 1e-9
LEFT_OVER_VA = 1e-6
"""What rounding may leave at a node and in a whole island: a conductor of 0.1 milliohm at 480 V turns the sixteenth
digit of a voltage into half a nanoampere."""

Form = Literal["ac", "dc"]


class Flows:
    """Every current of one island in one state, taken from its potentials and admittances alone."""

    def __init__(self, case: Case, form: Form, left_over_a: float = LEFT_OVER_A) -> None:
        self.left_over_a = left_over_a
        island, solution = case.island, case.solution
        self.volts = {
            n: complex(island.volts(n, solution)[form == "dc"])
            for n in (*island.nodes, *(n for n, *_ in island.fixed_nodes))
        }
        self.joined = self._joined(case)
        self.out: dict[int, complex] = defaultdict(complex)
        self.busy: set[int] = set()
        self.absorbed = 0j
        self.given = 0j
        for branch in island.branches:
            y = complex(admittance(branch, case.value_of(branch.slot) if branch.slot else None)[form == "dc"])
            across = self.volts[branch.a] - self.volts[branch.b]
            self._flow(branch.a, branch.b, y * across)
            self.absorbed += across * (y * across).conjugate()
            self.check_current(case, branch.name, form, y * across)
        for source in island.sources:
            level = float(case.value_of(source.slot)) if source.slot else 1.0
            emf = (source.v_ac if form == "ac" else complex(source.v_dc)) * level
            amps = (self.volts[source.a] - self.volts[source.b] - emf) / source.ohm
            self._flow(source.a, source.b, amps)
            self.absorbed += abs(amps) ** 2 * source.ohm
            self.given -= emf * amps.conjugate()
            self.check_current(case, source.name, form, amps)

    def check_current(self, case: Case, name: str, form: Form, amps: complex) -> None:
        """The island's own word for a current."""
        said = case.island.current(name, form, case.solution.volts_ac, case.solution.volts_dc, case.key)
        assert abs(said - amps) <= self.left_over_a

    @staticmethod
    def _joined(case: Case) -> dict[int, int]:
        group: dict[int, int] = {}
        for link in case.island.links:
            for n in (link.a, link.b):
                group.setdefault(n, n)
            if case.value_of(link.slot) and group[link.a] != group[link.b]:
                old, new = group[link.a], group[link.b]
                group = {n: new if g == old else g for n, g in group.items()}
        return group

    def _flow(self, a: int, b: int, amps: complex) -> None:
        for node, part in ((a, amps), (b, -amps)):
            group = self.joined.get(node, node)
            self.out[group] += part
            if abs(part) > self.left_over_a:
                self.busy.add(group)


def check(
    case: Case, form: Form, what: str, left_over_a: float = LEFT_OVER_A, left_over_va: float = LEFT_OVER_VA
) -> int:
    """Check one island in one state; returns how many free nodes carried current."""
    flows = Flows(case, form, left_over_a)
    for node, group in flows.joined.items():
        assert abs(flows.volts[node] - flows.volts[group]) <= 1e-9, f"{what}: a closed contact holds a voltage"
    fixed = {flows.joined.get(n, n) for n, *_ in case.island.fixed_nodes}
    live = 0
    for group, amps in flows.out.items():
        if group in fixed:
            flows.given += flows.volts[group] * amps.conjugate()
        else:
            assert abs(amps) <= left_over_a, f"{what}: {amps} A are left over at node {group}"
            live += group in flows.busy
    if form == "dc":
        drawn: dict[int, float] = defaultdict(float)
        for (n, *_), amps in zip(case.island.fixed_nodes, case.solution.drawn_dc, strict=True):
            drawn[flows.joined.get(n, n)] += amps
        for group, amps in drawn.items():
            assert abs(amps - flows.out[group]) <= left_over_a, f"{what}: {amps} A are said to be drawn at {group}"
    assert abs(flows.given - flows.absorbed) <= left_over_va, (
        f"{what}: {flows.given} VA given, {flows.absorbed} VA taken"
    )
    return live


@pytest.mark.parametrize("form", ["ac", "dc"])
@pytest.mark.parametrize("name", ALL)
def test_currents_and_power_balance_in_every_state_of_the_grid(name: str, form: Form):
    job = walk(name)
    live = sum(check(case, form, f"{name}: {case.island.name_of(0)} at {case.key}") for case in job.cases)
    assert live > 20


@pytest.mark.parametrize("name", ALL)
def test_what_a_stiff_bus_gives(name: str):
    """The current that behaviours read from a stiff DC bus is the sum over all that hangs on it, in every state."""
    job = walk(name)
    machine = job.machine
    drawn: dict[tuple[int, int], dict[int, float]] = {}
    for case in job.cases:
        flows = Flows(case, "dc")
        drawn[id(case.island), id(case.solution)] = {
            n: flows.out[flows.joined.get(n, n)].real for n, *_ in case.island.fixed_nodes
        }
    watched = {s.a: f"{s.name}.amps_dc" for s in machine.network.stiff if f"{s.name}.amps_dc" in machine.slot}
    for state in job.states:
        for bus, slot in watched.items():
            total = sum(
                drawn[id(island), id(solution)].get(bus, 0.0)
                for island, solution in zip(machine.islands, state.solutions, strict=True)
            )
            assert machine.get(state, slot) == pytest.approx(total, abs=1e-6)
    assert watched, "no bus is watched; the panel's control supply should be"


@pytest.mark.parametrize("name", ALL)
def test_a_settled_state_shows_what_its_networks_say(name: str):
    """No reading is left over from an earlier round."""
    job = walk(name)
    machine = job.machine
    readings = 0
    for state in job.states:
        for island, solution in zip(machine.islands, state.solutions, strict=True):
            assert solution is not None
            for reading in island.readings:
                unit = "dc" if reading.form == "dc" else "ac"
                if reading.of == "volts":
                    a, b = (_volts(machine, state, n)[unit == "dc"] for n in (reading.a, reading.b))
                    assert machine.get(state, reading.slot) == pytest.approx(a - b, abs=1e-9)
                    readings += 1
    assert readings > len(job.states)


def _volts(machine, state, node):
    return (0j, 0.0) if node == EARTH else machine.volts(state, node)


def test_the_check_can_fail():
    """A solution that is a millionth off does not pass."""
    c = Circuit()
    c.dc("source", "a", "earth", 24)
    c.ohm("one", "a", "b", 10)
    c.ohm("two", "b", "earth", 10)
    settled = c.settle()
    (island,) = settled.machine.islands
    (solution,) = settled.state.solutions
    assert check(Case(island, (), solution), "dc", "right") == 1
    at = island.nodes.index(c.nodes["b"])
    volts = list(solution.volts_dc)
    volts[at] *= 1 + 1e-6
    wrong = type(solution)(solution.volts_ac, tuple(volts), solution.floating, solution.readings, solution.drawn_dc)
    with pytest.raises(AssertionError, match="left over at node"):
        check(Case(island, (), wrong), "dc", "wrong")
