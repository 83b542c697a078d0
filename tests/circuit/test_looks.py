"""How rules look at readings: what a look makes one, a rule must answer alike."""

from __future__ import annotations

import cmath
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from galleyproof.circuit.machine import Machine
from galleyproof.circuit.rules import Levels, Rule, Turning
from galleyproof.circuit.world import build_machine
from galleyproof.design.build import build_design
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.proof.grid import grid

EXAMPLES = Path(__file__).parents[2] / "examples"


@cache
def looking(name: str) -> list[tuple[Rule, list[tuple[tuple[Any, ...], tuple[Any, ...]]]]]:
    """Rules of an example that look at something, each with some of what it read and how it stood on the way."""
    file = EXAMPLES / f"{name}.yaml"
    job = read_job(file.read_bytes(), file.name)
    machine: Machine = build_machine(job, build_design(job), load_library())
    steps = grid(job)
    states = {-1: machine.dark()}
    for index, step in enumerate(steps[:80]):
        states[index] = machine.apply(states[step.parent], step.events)
    found = []
    for rule in machine.rules:
        if not rule.looks:
            continue
        stood = {
            (
                tuple(s.values[machine.slot[n]] for n in rule.inputs),
                tuple(s.values[machine.slot[n]] for n in rule.outputs),
            )
            for s in states.values()
        }
        found.append((rule, sorted(stood, key=str)))
    return found


@pytest.mark.parametrize("name", ["ferry-cafe", "school-kitchen"])
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_a_rule_answers_alike_to_all_that_its_look_makes_one(name: str, data: st.DataObject) -> None:
    rule, stood = data.draw(st.sampled_from(looking(name)))
    read, now = data.draw(st.sampled_from(stood))
    plain = [i for i, n in enumerate(rule.inputs) if n in rule.looks and not isinstance(rule.looks[n], Turning)]
    if not plain:
        return
    place = data.draw(st.sampled_from(plain))
    look = rule.looks[rule.inputs[place]]
    sizes = st.floats(0.0, 700.0)
    if isinstance(look, Levels):
        # on a limit, and right beside it, is where a look would be wrong
        near = [b * f for b in look.bounds for f in (1.0, 1.0 - 1e-12, 1.0 + 1e-12)]
        sizes = sizes | st.sampled_from(near)
    size = data.draw(sizes)
    ac = rule.inputs[place].endswith(("ac",))
    value: Any = (
        cmath.rect(size, data.draw(st.floats(-3.1, 3.1))) if ac else data.draw(st.sampled_from([1.0, -1.0])) * size
    )
    exact = (*read[:place], value, *read[place + 1 :])
    looked = (*read[:place], look(abs(value) if ac else value), *read[place + 1 :])
    assert rule.act(exact, now) == rule.act(looked, now), (rule.owner, rule.name, value)


def test_levels_tell_a_limit_from_both_sides_of_it() -> None:
    levels = Levels((10.0, 20.0))
    assert len({levels(v) for v in (9.0, 10.0, 15.0, 20.0, 25.0)}) == 5
    assert levels(-15.0) == levels(12.0)
    assert Levels((10.0,), signed=True)(-15.0) == 0.0


def test_most_readings_are_looked_at() -> None:
    """Only what a thermometer, a transformer or an overloaded supply reads is taken as it is."""
    rules = [rule for rule, _ in looking("school-kitchen")]
    names = {rule.name for rule in rules}
    assert {"breaker", "relay", "valve", "damper", "drive", "motor", "load", "overload"} <= names
