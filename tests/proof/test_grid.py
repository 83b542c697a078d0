"""The grid of situations: the whole product the plan asks for, and facts that are what the machine was told."""

from __future__ import annotations

from itertools import product

import pytest
from tests.design.support import example, kitchen, makeup

from galleyproof.circuit.world import facts
from galleyproof.job import model as m
from galleyproof.proof.grid import grid
from galleyproof.proof.model import Step

NAMES = ["ferry-cafe", "school-kitchen", "hospital", "hand-around-fire-contact"]


def fires(job: m.Job) -> list[dict[str, str]]:
    """Armed; each zone released; all zones released."""
    zones = list(dict.fromkeys(f.zone for f in job.fire_systems))
    choices = [set(), *({z} for z in zones), set(zones)]
    return [{f"fire {z}": "released" if z in c else "armed" for z in zones} for c in choices]


def positions(job: m.Job) -> list[dict[str, str]]:
    """All wall switches off; all on (auto); every hand position there is, the rest on."""
    off = {f"switch {s.tag}": "off" for s in job.switches}
    on = {f"switch {s.tag}": "on" if s.kind == "on-off" else "auto" for s in job.switches}
    hand = {f"switch {s.tag}": "hand" for s in job.switches if s.kind == "hand-off-auto" and s.does == "fans"}
    return [off, on, *([{**on, **hand}] if hand else [])]


def supplies(job: m.Job) -> list[dict[str, str]]:
    """All present; each lost, each back after a loss; the whole building lost, and back."""
    tags = [c.tag for c in job.circuits]
    choices = [(set(), "present")]
    choices += [(gone, word) for gone in ({t} for t in tags) for word in ("lost", "returned")]
    choices += [(set(tags), word) for word in ("lost", "returned")]
    return [{f"supply {t}": word if t in gone else "present" for t in tags} for gone, word in choices]


def heats(job: m.Job) -> list[dict[str, str]]:
    """No heat; heat under every hood."""
    return [{f"heat {h.tag}": state for h in job.hoods} for state in ("off", "on")]


@pytest.mark.parametrize("name", NAMES)
def test_the_whole_product_is_there(name: str) -> None:
    """Fire (armed, each zone, all zones) x switches x heat x supply (present, each lost and back, all lost and back),
    with sound sensors and other masters at rest: every combination once or more."""
    job = example(name)
    sound = {f"sensor {s.tag}": "ok" for h in job.hoods for s in h.sensors}
    have = {frozenset((k, v) for k, v in s.facts.items() if k != "reset") for s in grid(job) if s.facts is not None}
    wanted = [
        frozenset({**sound, "masters": "rest", **a, **b, **c, **d}.items())
        for a, b, c, d in product(fires(job), positions(job), heats(job), supplies(job))
    ]
    # one circuit less the same, one zone: released alone is all released
    assert len(set(wanted)) == len(set(map(frozenset, (x.items() for x in fires(job))))) * len(positions(job)) * 2 * (
        len(supplies(job))
    )
    assert [w for w in wanted if w not in have] == []


@pytest.mark.parametrize("name", NAMES)
def test_every_zone_is_re_armed_with_and_without_a_hand(name: str) -> None:
    """After a release of each zone: re-armed with nobody at the reset, then reset by hand; a reset held down meanwhile;
    a release in a dark building whose power comes back."""
    job = example(name)
    steps = [s for s in grid(job) if s.facts is not None]
    for zone in dict.fromkeys(f.zone for f in job.fire_systems):
        states = {(s.facts[f"fire {zone}"], s.facts["reset"]) for s in steps}
        assert {
            ("armed", "pressed"),
            ("released", "not yet"),
            ("released", "held down"),
            ("re-armed", "not yet"),
        } <= states
        dark = {
            tuple(s.facts[f"supply {c.tag}"] for c in job.circuits)
            for s in steps
            if s.facts[f"fire {zone}"] == "released"
        }
        assert ("lost",) * len(job.circuits) in dark
        assert ("returned",) * len(job.circuits) in dark
        assert any(f"{zone} released, then power back" in s.name for s in steps)


@pytest.mark.parametrize("name", NAMES)
def test_single_things(name: str) -> None:
    """Each sensor open and shorted; each switch alone, armed and released; heat under each hood alone."""
    job = example(name)
    steps = [s.facts for s in grid(job) if s.facts is not None]
    sensors = [s.tag for h in job.hoods for s in h.sensors]
    for tag, state in product(sensors, ("open", "short")):
        assert [f for f in steps if f[f"sensor {tag}"] == state]
    for hood in job.hoods:
        assert [f for f in steps if {h.tag for h in job.hoods if f[f"heat {h.tag}"] == "on"} == {hood.tag}]
    for switch, zone in product(job.switches, {f.zone for f in job.fire_systems}):
        for position in ("on",) if switch.kind == "on-off" else ("auto", "hand"):
            alone = {f"switch {s.tag}": position if s is switch else "off" for s in job.switches}
            for fire in ("armed", "released"):
                assert [f for f in steps if {**f, **alone, f"fire {zone}": fire} == f]


def test_other_masters_and_hands_at_a_unit() -> None:
    """A second master that calls, a hand switch at hand and at off, each armed and released."""
    masters = (m.SecondMaster(tag="BC-1", what="building controller", may="start"),)
    unit = makeup(second_masters=masters, hand_switch="around the run pair")
    steps = [s.facts for s in grid(kitchen(makeup_units=(unit,))) if s.facts is not None]
    for words in ("BC-1 calls", "MAU-1-S1 off", "MAU-1-S1 hand"):
        assert {f["fire Z1"] for f in steps if f["masters"] == words} == {"armed", "released"}


def test_each_of_several_switches_of_a_zone_alone() -> None:
    """With three switches in a zone, each is released alone: the zone counts as released."""
    loop = m.Pole(use="panel loop", side="armed side")
    systems = (m.FireSystem(tag="FS-1", zone="Z1", poles=(loop,), switches=3),)
    steps = [s for s in grid(kitchen(fire_systems=systems)) if "alone released" in s.name]
    assert [s.events for s in steps] == [{f"release {t}": "pulled"} for t in ("FS-1", "FS-1/2", "FS-1/3")]
    assert {s.facts["fire Z1"] for s in steps if s.facts} == {"released"}


def told(steps: tuple[Step, ...], world: dict[str, object]) -> list[dict[str, object]]:
    """What the outside world is at each step, by playing the events from dark."""
    states: list[dict[str, object]] = []
    for step in steps:
        before = states[step.parent] if step.parent >= 0 else world
        states.append({**before, **step.events})
    return states


@pytest.mark.parametrize("name", [*NAMES, "two-masters", "switches-in-parallel"])
def test_facts_are_what_the_events_made(name: str) -> None:
    """A step's facts say what its events, from dark on, have made of the outside world; a parent stands before its
    children; names are unique."""
    job = example(name)
    steps = grid(job)
    known = facts(job)
    states = told(steps, {k: v[0] for k, v in known.items()})
    meaning = {"returned": "present", "re-armed": "armed", "lost before": "lost"}
    zone_of = {f"release {tag}": f.zone for f in job.fire_systems for tag in m.switch_tags(f)}
    for step, state in zip(steps, states, strict=True):
        assert step.parent < steps.index(step)
        assert set(step.events) <= set(known)
        if step.facts is None:
            continue
        for fact, value in step.facts.items():
            if fact == "masters":
                others = [k for k in known if k.startswith("master ") or k.endswith("-S1")]
                resting = all(state[k] == known[k][0] for k in others)
                assert (value == "rest") == resting
            elif fact == "reset":
                assert (value == "held down") == (state["reset"] is True)
            elif fact.startswith("fire ") and fact[5:] in {zone_of[k] for k in step.events if k in zone_of}:
                # one of the zone's several switches has gone, the zone's own fact is as it was
                assert (value, state[fact]) == ("released", "armed")
            else:
                assert state[fact] == meaning.get(value, value), (step.name, fact)
    names = [s.name for s in steps if s.facts is not None]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("name", NAMES)
def test_returned_means_lost_before(name: str) -> None:
    """A supply that is called returned was lost at the step before; a zone called re-armed was released before."""
    steps = grid(example(name))
    for step in steps:
        if step.facts is None or step.parent < 0:
            continue
        lineage = []
        at = step.parent
        while at >= 0:
            lineage.append(steps[at].events)
            at = steps[at].parent
        for fact, value in step.facts.items():
            if value == "returned":
                assert any(e.get(fact) == "lost" for e in lineage), step.name
            if value == "re-armed":
                assert any(e.get(fact) == "released" for e in lineage), step.name
