"""Fed from, switched by, lost when: for every load of the examples, against what the job says and what happens."""

from __future__ import annotations

from functools import cache

import pytest
from tests.design.support import GOOD, LIBRARY, design_of, example, machine_of

from galleyproof.job.model import MakeupByUnit
from galleyproof.proof.judge import working
from galleyproof.proof.promises import effect_slots
from galleyproof.proof.prove import prove
from galleyproof.proof.reference import reference_state
from galleyproof.proof.story import Story, tell

NAMES = [path.stem for path in GOOD]


def own_circuits(name: str) -> dict[str, str]:
    """Load -> the circuit the job gives it."""
    job = example(name)
    found = {f.tag: f.circuit for f in job.exhaust_fans} | {u.tag: u.circuit for u in job.makeup_units}
    for hood in job.hoods:
        if hood.lights:
            found[f"{hood.tag}-E1"] = hood.lights.circuit
        found |= {a.tag: a.circuit for a in hood.appliances if a.fuel == "electric" and a.circuit}
    return found


@cache
def stories(name: str) -> dict[str, Story]:
    job, design = example(name), design_of(name)
    proof = prove(job, design, LIBRARY)
    machine = machine_of(job, design)
    state = reference_state(job, machine)
    watched = effect_slots(job, design)
    zones = tuple(dict.fromkeys(f.zone for f in job.fire_systems))
    return {
        load: tell(design, machine, state, load, proof.lost_when.get(load, ()), zones=zones, watched=True)
        for load in watched
    }


def sources(story: Story, what: str = "power") -> set[str]:
    return {s for way in story.ways if way.what == what for s in way.sources}


@pytest.mark.parametrize("name", NAMES)
def test_every_load_is_fed_from_the_circuit_the_job_gives_it(name: str) -> None:
    """Followed on the network, through drives, contactors and disconnects, back to the breaker."""
    for load, circuit in own_circuits(name).items():
        assert circuit in sources(stories(name)[load]), load


@pytest.mark.parametrize("name", NAMES)
def test_every_load_has_its_three_answers(name: str) -> None:
    for load, story in stories(name).items():
        assert story.ways, load
        assert any(way.switches or way.listens for way in story.ways), load
        assert story.lost_when or story.situation, load


@pytest.mark.parametrize("name", NAMES)
def test_a_load_is_lost_with_each_circuit_named_and_with_no_other(name: str) -> None:
    """Every breaker of the job is opened by itself, and what the load then does is looked at."""
    job, design = example(name), design_of(name)
    machine = machine_of(job, design)
    state = reference_state(job, machine)
    slots = effect_slots(job, design)
    lost: dict[str, set[str]] = {load: set() for load in slots}
    at_work = {load for load, slot in slots.items() if working(machine.get(state, slot))}
    for circuit in job.circuits:
        after = machine.apply(state, {f"supply {circuit.tag}": "lost"})
        for load in at_work:
            if not working(machine.get(after, slots[load])):
                lost[load].add(circuit.tag)
    assert len(at_work) > len(slots) / 2
    circuits = {f"{c.tag} lost" for c in job.circuits}
    for load in at_work:
        told = {event for event in stories(name)[load].lost_when if event in circuits}
        assert told == {f"{c} lost" for c in lost[load]}, load


@pytest.mark.parametrize("name", NAMES)
def test_control_supplies_are_told(name: str) -> None:
    """The panel's own circuit stands behind every fan, make-up unit and light it commands."""
    job = example(name)
    for load in [f.tag for f in job.exhaust_fans] + [f"{h.tag}-E1" for h in job.hoods if h.lights]:
        told = {s for way in stories(name)[load].ways for s in way.sources}
        assert job.panel.circuit in told, load


@pytest.mark.parametrize("name", NAMES)
def test_contacts_in_the_way_of_a_makeup_unit(name: str) -> None:
    """Its run pair is closed by the panel's relay and cut by its second masters, by name."""
    job = example(name)
    for unit in job.makeup_units:
        movers = {m.device for way in stories(name)[unit.tag].ways for m in way.switches}
        assert any(d.startswith("CP1-K") for d in movers), unit.tag
        if isinstance(unit.control, MakeupByUnit):
            for master in unit.control.second_masters:
                assert master.tag in movers


def test_gas_is_told_by_its_valve() -> None:
    """A burner has no wires; its fuel comes through a valve, and that one's power is followed."""
    story = stories("school-kitchen")["A-2"]
    assert sources(story, "fuel") == {"GV-1"}
    assert sources(story) == {"LP-2/5"}
    assert {m.device for way in story.ways for m in way.switches} >= {"CP1-K2", "FS-1", "LP-2/5"}
