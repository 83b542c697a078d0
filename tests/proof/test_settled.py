"""Islands solved by the compiled walk stand as ``Island.solve`` has them, and read dead what ``DeadIsland`` does."""

from __future__ import annotations

import random
from collections.abc import Iterator
from itertools import combinations
from typing import Any

import numpy as np
import pytest
from tests.proof.test_slips_kinds import kitchen

from galleyproof.circuit.dead import DeadIsland
from galleyproof.circuit.elements import Branch, Link, Source
from galleyproof.circuit.island import Island
from galleyproof.circuit.machine import State
from galleyproof.errors import CircuitError
from galleyproof.library.reader import load_library
from galleyproof.proof.compiled import library as compiled_library
from galleyproof.proof.patch import NeedsPlainWayError
from galleyproof.proof.settled import Settled
from galleyproof.proof.trials import Trials

pytestmark = pytest.mark.skipif(compiled_library() is None, reason="the walk was not compiled here")
STATES = 12
SLIPS = 60


def islands(name: str) -> Iterator[tuple[Settled, Island, list[tuple[Any, ...]]]]:
    """Islands of a kitchen, with and without slips, and values of their key slots met in the grid, in any mixture."""
    job, design, slips = kitchen(name)
    trials = Trials(job, design, load_library())
    machine, settled = trials.machine, trials.settled()
    assert settled is not None
    rng = random.Random(name)
    after = {-1: machine.dark()}
    met: list[State] = []
    for index, step in enumerate(trials.steps[:200]):
        after[index] = machine.apply(after[step.parent], step.events, history=met)
    states = rng.sample(met, STATES)

    def keys(island: Island) -> list[tuple[Any, ...]]:
        whole = [tuple(machine.get(s, n) for n in island.key_slots) for s in states]
        mixed = [tuple(rng.choice(values) for values in zip(*whole, strict=True)) for _ in range(STATES)]
        return list(dict.fromkeys([*whole, *mixed]))

    for island in machine.islands:
        yield settled, island, keys(island)
    for slip in rng.sample(slips, SLIPS):
        try:
            patch = trials.patcher.patch(slip.change)
        except NeedsPlainWayError:
            continue
        if patch.island is not None and all(n in machine.slot for n in patch.island.key_slots):
            yield settled, patch.island, keys(patch.island)


@pytest.mark.parametrize("name", ["ferry-cafe", "school-kitchen", "hospital"])
def test_volts_and_what_floats(name: str):
    compared = floating = refused = 0
    for settled, island, keys in islands(name):
        for key in keys:
            try:
                plain = island.solve(key)
            except CircuitError:
                with pytest.raises(CircuitError, match="stiff buses"):
                    settled.stands(island, key)
                refused += 1
                continue
            found, ac, dc, loose = settled.stands(island, key)
            assert ac == pytest.approx(np.array(plain.volts_ac), rel=1e-9, abs=1e-7)
            assert dc == pytest.approx(np.array(plain.volts_dc), rel=1e-9, abs=1e-7)
            assert tuple(loose.tolist()) == plain.floating == found.floating
            assert found.volts_ac == tuple(ac.tolist())
            assert found.volts_dc == tuple(dc.tolist())
            compared += 1
            floating += sum(plain.floating)
    assert compared > 300
    assert floating > 300


@pytest.mark.parametrize("name", ["ferry-cafe", "school-kitchen", "hospital"])
def test_ohms_of_a_dead_island(name: str):
    rng = random.Random(f"dead {name}")
    compared = opened = 0
    for settled, island, keys in islands(name):
        free = len(island.nodes)
        pairs = list(combinations(range(free + 1), 2))
        pairs = rng.sample(pairs, min(len(pairs), 60))
        if not pairs:
            continue
        a, b = (np.array(ends) for ends in zip(*pairs, strict=True))
        for key in keys[:6]:
            for without in ("", rng.choice(island.branches).name if island.branches else ""):
                plain, found = DeadIsland(island, key, without), settled.dead(island, key, without)
                right = plain.between(a, b)
                # rounding: what is small between nodes far from the earth is a difference of two that are large
                assert found.between(a, b) == pytest.approx(right, rel=1e-5, abs=1e-4)
                compared += len(right)
                opened += int(np.isinf(right).sum())
                one = pairs[0]
                ends = [island.nodes[i] if i < free else -1 for i in one]
                assert found.ohms(*ends) == pytest.approx(plain.ohms(*ends), rel=1e-5, abs=1e-4)
    assert compared > 3000
    assert opened > 100


def test_buses_of_different_volts_joined_by_a_contact_are_refused():
    job, design, _ = kitchen("ferry-cafe")
    settled = Trials(job, design, load_library()).settled()
    assert settled is not None
    island = Island([], [], [], [Link("K.a", 1, 2, "closed")], [(1, 120 + 0j, 0.0, ""), (2, 0j, 24.0, "")])
    assert settled.stands(island, (False,))[1].tolist() == [120, 0]
    with pytest.raises(CircuitError, match="stiff buses"):
        settled.stands(island, (True,))


def test_a_divider_behind_a_source_and_a_lamp_that_hangs_on_nothing():
    """By hand: 24 V over 1 + 2 + 3 ohm; 3 and 2 ohm dead in parallel to 1 ohm."""
    job, design, _ = kitchen("ferry-cafe")
    settled = Trials(job, design, load_library()).settled()
    assert settled is not None
    branches = [
        Branch("two", 1, 2, 0.5 + 0j, 0.5),
        Branch("three", 2, 0, complex(1 / 3), 1 / 3),
        Branch("alone", 3, 4, 0.1 + 0j, 0.1),
    ]
    island = Island([1, 2, 3, 4], branches, [Source("supply", 1, 0, 0j, 24.0, 1.0, "on")], [], [(0, 0j, 0.0, "")])
    solution, ac, dc, loose = settled.stands(island, (1.0,))
    assert dc.tolist() == pytest.approx([20.0, 12.0, 0.0, 0.0, 0.0])
    assert ac.tolist() == [0j] * 5
    assert loose.tolist() == [False, False, True, True, False]
    assert solution.readings == ()
    dead = settled.dead(island, (0.0,))
    assert dead.ohms(1, -1) == pytest.approx(1 * 5 / 6)
    assert dead.ohms(1, 2) == pytest.approx(2 * 4 / 6)
    assert dead.ohms(3, 4) == pytest.approx(10.0)
    assert dead.ohms(3, -1) == float("inf")
    assert settled.dead(island, (0.0,), "two").ohms(2, -1) == pytest.approx(3.0)
