"""Every network of every example in every situation, against a general-purpose circuit simulator (libngspice).

A network falls into islands between stiff buses, and an island in a given state is the same network in whatever
situation it appears: comparing every distinct island and state compares every network of the whole grid. That the
islands are the whole network, cut only where a potential is fixed, is checked beside it, and whole networks are
compared too.
"""

from __future__ import annotations

import re
from collections import Counter

import pytest
from tests.outside.spice import spice
from tests.solver.kitchens import ALL, GOOD, Walk, walk

from galleyproof.circuit.elements import EARTH
from galleyproof.circuit.export import Netlist, export_network, netlist
from galleyproof.circuit.machine import State

pytestmark = pytest.mark.outside

RELATIVE = 1e-6
FLOOR = 1e-9
"""Of the largest voltage in a part: below it a potential is what rounding leaves of a difference of large ones
(a conductor of 0.1 milliohm beside a meter input of megohms: eleven decades in one matrix of sixteen digits)."""


def solve_together(parts: list[Netlist], form: str) -> dict[str, complex]:
    """Potentials of all nodes of netlists that share nothing but the earth. [V]"""
    nodes = {n for part in parts for n in part.node_of.values()}
    lines = [line for part in parts for line in part.elements]
    if not nodes - {"0"}:
        return {"0": 0j}
    return spice().solve("\n".join(["* together", *lines, ".end"]), form, parts[0].frequency_hz, nodes)


def compare(part: Netlist, reference: dict[str, complex], found: dict[int, complex], what: str) -> int:
    """Compare the potentials of one part; returns how many. Where nothing is fixed, differences are compared."""
    at_tie: dict[str, complex] = {}
    for node, name in part.node_of.items():
        if part.tied.get(name) == name:
            at_tie[name] = found[node]
    largest = max((abs(reference[name]) for name in part.node_of.values()), default=0.0)
    for node, name in part.node_of.items():
        volts = found[node] - (at_tie[part.tied[name]] if name in part.tied else 0.0)
        error = abs(volts - reference[name])
        assert error <= RELATIVE * abs(reference[name]) + FLOOR * largest, (
            f"{what}: node {node}: {volts} V, the simulator says {reference[name]} V"
        )
    return len(part.node_of)


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("form", ["ac", "dc"])
def test_every_island_in_every_state_of_the_grid(name: str, form: str):
    """libngspice 39 and later, over the whole grid of every example, both solutions, within 1e-6."""
    job = walk(name)
    batch = 400
    compared = set()
    for start in range(0, len(job.cases), batch):
        cases = job.cases[start : start + batch]
        parts = [
            export_network(job.part(case.island), case.value_of, form, prefix=f"p{i}") for i, case in enumerate(cases)
        ]
        reference = solve_together(parts, form)
        for case, part in zip(cases, parts, strict=True):
            volts = {n: case.island.volts(n, case.solution)[form == "dc"] for n in part.node_of if n != EARTH}
            compare(part, reference, {EARTH: 0j, **volts}, f"{name}: {case.island.name_of(0)} at {case.key}")
            compared.add((id(case.island), case.key))
    of_the_grid = {
        (id(island), tuple(state.values[job.machine.slot[s]] for s in island.key_slots))
        for state in job.states
        for island in job.machine.islands
    }
    assert compared == of_the_grid
    assert len(job.states) > job.steps  # dark, and at least one state a step


@pytest.mark.parametrize("name", ALL)
def test_the_islands_are_the_whole_network(name: str):
    """Every element stands in one island, and islands share no node but those of fixed potential."""
    machine = walk(name).machine
    for whole, parts in (
        (
            [b.name for b in machine.network.branches if b.a != b.b],
            [b.name for i in machine.islands for b in i.branches],
        ),
        ([s.name for s in machine.network.sources], [s.name for i in machine.islands for s in i.sources]),
        ([k.name for k in machine.network.links], [k.name for i in machine.islands for k in i.links]),
    ):
        assert Counter(parts) == Counter(whole)
    stiff = {EARTH} | {s.a for s in machine.network.stiff}
    uses = Counter(
        n
        for i in machine.islands
        for n in {n for group in (i.branches, i.sources, i.links) for x in group for n in (x.a, x.b)} - stiff
    )
    assert max(uses.values()) == 1


def distinct(job: Walk) -> list[State]:
    """States of the grid whose networks differ."""
    return list({tuple(id(s) for s in state.solutions): state for state in job.states}.values())


@pytest.mark.parametrize("form", ["ac", "dc"])
@pytest.mark.parametrize("name", GOOD)
def test_whole_networks(name: str, form: str):
    """The uncut network: cutting it into islands changes nothing. In every state of the two smaller examples; in
    60 states spread over the largest one, whose islands are compared in every state above.
    """
    job = walk(name)
    machine = job.machine
    states = distinct(job)
    if name == "hospital":
        states = states[:: len(states) // 60]
    for index, state in enumerate(states):
        part = export_network(machine.network, lambda slot, s=state: machine.get(s, slot), form)
        reference = solve_together([part], form)
        found = {n: machine.volts(state, n)[form == "dc"] for n in part.node_of}
        assert compare(part, reference, found, f"{name}: state {index}") > 50
    assert len(states) >= 60


@pytest.mark.parametrize("form", ["ac", "dc"])
def test_the_written_netlist(form: str):
    """The text alone, as a user would hand it to a simulator: it runs, and its legend names the nodes."""
    job = walk("ferry-cafe")
    machine, state = job.machine, job.states[len(job.states) // 2]
    text = netlist(machine, state, form)
    legend = dict(re.findall(r"^\* (n\d+) is (.+)$", text, re.MULTILINE))
    assert len(legend) > 50
    reference = spice().solve(text, form, machine.network.frequency_hz, legend)
    tied = export_network(machine.network, lambda slot: machine.get(state, slot), form).tied
    node_of = {name: node for node, name in enumerate(machine.network.node_names)}
    held = {n: place for n, place in legend.items() if n not in tied}
    for name, place in held.items():
        found = machine.volts(state, node_of[place])[form == "dc"]
        assert abs(found - reference[name]) <= RELATIVE * abs(reference[name]) + FLOOR * 480
    if form == "ac":
        # the hot side of a closed breaker of 208Y/120 V
        assert abs(reference[next(n for n, place in held.items() if place == "LP-1/1:2")]) == pytest.approx(120, abs=1)
