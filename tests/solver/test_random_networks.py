"""Random networks: the engine, cut into islands and remembered, against one dense solve written without any of that."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import event, given
from hypothesis import strategies as st
from tests.solver.kitchens import Case
from tests.solver.test_conservation import Form, check

from galleyproof.circuit.elements import EARTH, Branch, Link, Network, Source
from galleyproof.circuit.machine import Machine, State
from galleyproof.errors import CircuitError

OHM = st.sampled_from([0.01, 0.5, 3.0, 47.0, 600.0, 10_000.0])
VOLTS = st.sampled_from([0.0, 5.0, 24.0, 120.0, -277.0])
LIVE_VOLTS = st.sampled_from([5.0, 24.0, 120.0, -277.0])
DEGREES = st.sampled_from([0.0, -120.0, 90.0, 180.0])


@st.composite
def networks(draw: st.DrawFn) -> tuple[Network, list[dict[str, Any]]]:
    """A network of up to ten free nodes, with the slot values of a few states."""
    free = draw(st.integers(1, 10))
    buses = draw(st.integers(0, 3))
    nodes = free + buses + 1
    node = st.integers(0, nodes - 1)
    pair = st.tuples(node, st.integers(1, nodes - 1)).map(lambda p: (p[0], (p[0] + p[1]) % nodes))
    slots: dict[str, st.SearchStrategy[Any]] = {}

    stiff = []
    for i in range(buses):
        slot = draw(st.sampled_from(["", f"bus {i}"]))
        if slot:
            slots[slot] = st.sampled_from([0.0, 0.4, 1.0])
        volts = draw(LIVE_VOLTS)
        form = draw(st.sampled_from(["ac", "dc"]))
        phasor = cmath.rect(volts, math.radians(draw(DEGREES))) if form == "ac" else 0j
        stiff.append(Source(f"stiff {i}", 1 + i, EARTH, phasor, volts if form == "dc" else 0.0, 0.0, slot))
    branches = []
    for i in range(draw(st.integers(1, 14))):
        a, b = draw(pair)
        kind = draw(st.sampled_from(["plain", "plain", "factor", "ohm"]))
        ohm = draw(OHM)
        angle = math.radians(draw(st.sampled_from([0.0, 30.0, -60.0])))
        slot = "" if kind == "plain" else f"part {i}"
        if kind == "factor":
            slots[slot] = st.sampled_from([0.0, 0.3, 1.0])
        elif kind == "ohm":
            slots[slot] = st.sampled_from([0.0, 120.0, 9_000.0, math.inf])
        branches.append(
            Branch(f"branch {i}", a, b, cmath.rect(1 / ohm, -angle), 1 / ohm, slot, "" if kind == "plain" else kind)
        )
    sources = []
    for i in range(draw(st.integers(0, 4))):
        a, b = draw(pair)
        slot = draw(st.sampled_from(["", f"source {i}"]))
        if slot:
            slots[slot] = st.sampled_from([0.0, 0.7, 1.0])
        ac = cmath.rect(draw(VOLTS), math.radians(draw(DEGREES)))
        sources.append(Source(f"source {i}", a, b, ac, draw(VOLTS), draw(OHM), slot))
    links = []
    for i in range(draw(st.integers(0, 8))):
        a, b = draw(pair)
        slots[f"link {i}"] = st.booleans()
        links.append(Link(f"link {i}", a, b, f"link {i}"))
    network = Network(
        {}, tuple(f"n{i}" for i in range(nodes)), tuple(branches), tuple(sources), tuple(links), tuple(stiff), 60.0
    )
    states = draw(st.lists(st.fixed_dictionaries(slots), min_size=1, max_size=4))
    return network, states


def modified_nodal(network: Network, values: dict[str, Any], form: Form) -> np.ndarray:
    """All potentials by one dense system: a row per node, a row per closed contact and per source.

    Contacts and stiff sources are unknown currents here, not joined nodes, and what floats is settled by the
    smallest solution: nothing of the engine's way is repeated.
    """
    at = form == "dc"
    count = len(network.node_names)
    ends: list[tuple[int, int, float]] = []
    right: list[complex] = []
    nodal = np.zeros((count, count), dtype=complex)
    for branch in network.branches:
        y = complex((branch.y_ac, branch.g_dc)[at])
        if branch.how == "factor":
            y *= values[branch.slot]
        elif branch.how == "ohm":
            ohm = values[branch.slot]
            y = 0j if math.isinf(ohm) else 1 / max(ohm, 1e-4)
        for i, k in ((branch.a, branch.b), (branch.b, branch.a)):
            nodal[i, i] += y
            nodal[i, k] -= y
    for source in (*network.sources, *network.stiff):
        level = values[source.slot] if source.slot else 1.0
        ends.append((source.a, source.b, source.ohm))
        right.append((source.v_ac, source.v_dc)[at] * level)
    for link in network.links:
        if values[link.slot]:
            ends.append((link.a, link.b, 0.0))
            right.append(0.0)
    size = count + len(ends)
    matrix = np.zeros((size, size), dtype=complex)
    matrix[:count, :count] = nodal
    for i, (a, b, ohm) in enumerate(ends):
        row = count + i
        # the unknown current flows from a to b through the element
        matrix[a, row] += 1
        matrix[b, row] -= 1
        matrix[row, a] += 1
        matrix[row, b] -= 1
        matrix[row, row] -= ohm
    # the earth's row says that it is zero
    matrix[EARTH, :] = 0
    matrix[EARTH, EARTH] = 1
    vector = np.concatenate([np.zeros(count), np.array(right, dtype=complex)])
    # rows of conductances and rows of volts differ by decades: bring them to one size
    scale = 1 / np.maximum(np.abs(matrix).max(axis=1), 1e-300)
    matrix, vector = matrix * scale[:, None], vector * scale
    inverse = np.linalg.pinv(matrix, rcond=1e-14)
    solved = inverse @ vector
    exact = matrix.astype(np.clongdouble)
    for _ in range(4):
        # what is left over, with more digits, is solved for again
        solved = solved + inverse @ (vector - exact @ solved).astype(complex)
    return solved[:count]


def conflict(network: Network, values: dict[str, Any]) -> bool:
    """Whether closed contacts join stiff buses (or the earth) of different voltage."""
    group = list(range(len(network.node_names)))
    for link in network.links:
        if values[link.slot]:
            old, new = group[link.a], group[link.b]
            group = [new if g == old else g for g in group]
    held: dict[int, tuple[complex, float]] = {group[EARTH]: (0j, 0.0)}
    for source in network.stiff:
        level = values[source.slot] if source.slot else 1.0
        volts = (source.v_ac * level, source.v_dc * level)
        other = held.setdefault(group[source.a], volts)
        if abs(other[0] - volts[0]) > 1e-9 or abs(other[1] - volts[1]) > 1e-9:
            return True
    return False


def together(network: Network, values: dict[str, Any]) -> list[tuple[int, int]]:
    """Pairs of nodes between which the voltage means something: the ends of whatever conducts."""
    pairs = [
        (b.a, b.b)
        for b in network.branches
        if not (b.how == "factor" and values[b.slot] == 0.0) and not (b.how == "ohm" and values[b.slot] == math.inf)
    ]
    pairs += [(s.a, s.b) for s in (*network.sources, *network.stiff)]
    return pairs + [(k.a, k.b) for k in network.links if values[k.slot]]


def volts(machine: Machine, state: State, node: int, form: Form) -> complex:
    return complex(machine.volts(state, node)[form == "dc"])


@given(networks())
def test_against_a_dense_solve(drawn: tuple[Network, list[dict[str, Any]]]):
    """One machine is taken through all states in turn, so what it remembers is tested too."""
    network, states = drawn
    machine = Machine(network, (), {})
    state = machine.dark()
    for values in (*states, *states):
        if conflict(network, values):
            event("two stiff buses joined")
            with pytest.raises(CircuitError, match="stiff buses of different voltage"):
                machine.apply(state, values)
            continue
        state = machine.apply(state, values)
        for form in ("ac", "dc"):
            expected = modified_nodal(network, values, form)
            size = max(1.0, float(np.abs(expected).max()))
            for a, b in together(network, values):
                found = volts(machine, state, a, form) - volts(machine, state, b, form)
                assert abs(found - (expected[a] - expected[b])) <= 1e-6 * size
            for island, solution in zip(machine.islands, state.solutions, strict=True):
                assert solution is not None
                key = tuple(machine.get(state, s) for s in island.key_slots)
                # 0.1 milliohm across a stiff bus: megaamperes, of which twelve digits must balance
                left_over_a = 1e-12 * 1e4 * size
                check(Case(island, key, solution), form, "random network", left_over_a, left_over_a * size)


@given(networks(), st.randoms(use_true_random=False))
def test_the_order_of_elements_does_not_matter(drawn: tuple[Network, list[dict[str, Any]]], chance: Any):
    network, states = drawn
    values = states[0]
    if conflict(network, values):
        return

    def mixed(group: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(chance.sample(group, len(group)))

    turned = replace(
        network, branches=mixed(network.branches), sources=mixed(network.sources), links=mixed(network.links)
    )
    machines = [Machine(n, (), {}) for n in (network, turned)]
    settled = [m.apply(m.dark(), values) for m in machines]
    for form in ("ac", "dc"):
        size = max(1.0, *(abs(volts(machines[0], settled[0], n, form)) for n in range(len(network.node_names))))
        for a, b in together(network, values):
            one, two = (volts(m, s, a, form) - volts(m, s, b, form) for m, s in zip(machines, settled, strict=True))
            assert abs(one - two) <= 1e-6 * size
