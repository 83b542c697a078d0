"""Every situation of the proof's grid is one that a person can choose, and leads to the very same state."""

from __future__ import annotations

import pytest
from tests.web.support import EXAMPLES

from galleyproof.design.build import build_design
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.package.simulated import Simulated
from galleyproof.proof.grid import grid
from galleyproof.web.situations import Asked, SituationError, asked_of, choices, presets, way


def job_of(example):
    return read_job((EXAMPLES / f"{example}.yaml").read_text(), example)


def state_after(on, events):
    state = on.dark
    for event in events:
        state = on.apply(state, event.sets)
    return state


def grid_states(job, machine):
    """The grid walked as the proof walks it: the measure for everything here."""
    states = {-1: machine.dark()}
    for index, step in enumerate(grid(job)):
        states[index] = machine.apply(states[step.parent], step.events)
        if step.facts is not None:
            yield step.name, states[index]


@pytest.mark.parametrize("example", ["ferry-cafe", "school-kitchen"])
def test_choices_lead_to_the_states_of_the_grid(example):
    job = job_of(example)
    on = Simulated(job, build_design(job), load_library())
    seen = 0
    for name, state in grid_states(job, on.machine):
        if name == "power on":
            continue  # the one situation before the first hand on a reset; no choice stands for it
        asked = asked_of(job, name)
        assert asked is not None, name
        assert state_after(on, way(job, asked)).values == state.values, name
        seen += 1
    assert seen > 150


def test_every_name_of_a_large_grid_is_understood():
    job = job_of("hospital")
    names = {step.name for step in grid(job) if step.facts is not None} - {"power on"}
    assert len(names) > 2000
    # two fire systems with a switch each of their own, other masters, hand switches of units: all are there
    assert [n for n in sorted(names)[::7] if asked_of(job, n) is None] == []


@pytest.mark.parametrize("example", ["ferry-cafe", "school-kitchen", "hospital"])
def test_choices_are_few_and_each_answer_can_be_asked(example):
    job = job_of(example)
    questions = choices(job)
    assert len(questions) <= 7
    for question in questions:
        assert len(dict(question.answers)) == len(question.answers) > 1
        for value, words in question.answers:
            assert words
            way(job, Asked(**{question.name: value}))


def test_situations_by_name_are_those_of_the_state_table():
    """The states that the printed sequence of operation shows, in its order."""
    job = job_of("ferry-cafe")
    on = Simulated(job, build_design(job), load_library())
    reached = {p.name: state_after(on, way(job, p.asked)) for p in presets(job)}
    armed = on.apply(on.fire, on.armed)
    expected = {
        "Dark": on.dark,
        "Ready, all off": on.ready,
        "Switches on": on.apply(on.ready, on.switches),
        "Cooking": on.cooking,
        "Fire": on.fire,
        "Armed again": armed,
        "Reset by hand": on.pressed(armed),
        "Control power lost": on.apply(on.cooking, {f"supply {job.panel.circuit}": "lost"}),
        "Outage, then back": on.apply(on.apply(on.cooking, on.lost), on.present),
    }
    assert {n: s.values for n, s in reached.items()} == {n: s.values for n, s in expected.items()}


@pytest.mark.parametrize(
    "asked",
    [
        Asked(power="lost LP-9/9"),
        Asked(fire="Z7"),
        Asked(switches="SW-9 on"),
        Asked(heat="H-9"),
        Asked(fault="sensor TS-9 open"),
        Asked(then="later"),
        Asked(when="never"),
    ],
    ids=str,
)
def test_what_the_job_does_not_have_is_refused_in_words(asked):
    with pytest.raises(SituationError, match=r"cannot be .* in this job; choose again"):
        way(job_of("ferry-cafe"), asked)


def test_a_situation_is_written_into_an_address_without_what_is_usual():
    assert Asked().query == ""
    assert Asked(fire="Z1", power="back all").query == "power=back+all&fire=Z1"
