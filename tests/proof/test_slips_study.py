"""The quick study against the plain way: the whole changed design proved again, step by step."""

from __future__ import annotations

import random

import pytest
from tests.proof.test_slips_kinds import kitchen

from galleyproof.circuit.world import build_machine
from galleyproof.errors import CircuitError
from galleyproof.library.reader import load_library
from galleyproof.proof.grid import grid
from galleyproof.proof.model import Promise
from galleyproof.proof.outcomes import is_daily
from galleyproof.proof.promises import effect_slots, promises_of
from galleyproof.proof.prove import prove
from galleyproof.proof.slips import KINDS, Slip, all_slips, apply
from galleyproof.proof.slips.model import Change
from galleyproof.proof.study import study
from galleyproof.proof.trials import Trials
from galleyproof.proof.waves import places_of

SAMPLES = [("ferry-cafe", 70), ("school-kitchen", 30), ("hospital", 5)]


def sample(name: str, count: int) -> list[Slip]:
    """At random, but the same every time; what is protection only has nothing to prove."""
    slips = [s for s in kitchen(name)[2] if not KINDS[s.kind].protection]
    return random.Random(f"slips of {name}").sample(slips, count)


@pytest.mark.parametrize(("name", "count"), SAMPLES)
def test_the_quick_study_breaks_what_a_proof_of_the_changed_design_breaks(name: str, count: int):
    job, design, _ = kitchen(name)
    library = load_library()
    chosen = sample(name, count)
    # among many others, so that what is remembered of them is at work too
    others = kitchen(name)[2] if name == "ferry-cafe" else sample(name, 150)
    done = {o.slip.key: o for o in study(job, design, library, (*others, *chosen)).outcomes}
    compared = 0
    for slip in chosen:
        outcome = done[slip.key]
        if "chatter" in outcome.seen:
            continue
        proof = prove(job, apply(design, slip), library)
        plain = {v.promise.key: v.broken for v in proof.verdicts if v.broken}
        assert {b.promise: b.situations for b in outcome.broken} == plain, slip.key
        compared += 1
    assert compared >= 0.9 * count


def test_every_effect_at_every_step_is_that_of_the_plain_machine():
    """Not only the promises: what every fan, valve, light, horn and appliance does at the end of every step."""
    job, design, _ = kitchen("ferry-cafe")
    library = load_library()
    names = sorted(set(effect_slots(job, design).values()))
    trials = Trials(job, design, library, names)
    places = places_of([s.parent for s in trials.steps])
    waves, wave_of, children_of = trials.courses.waves, trials.courses.wave_of, trials.courses.children_of
    for slip in sample("ferry-cafe", 25):
        over = trials.over(slip.change)
        machine = build_machine(job, apply(design, slip), library)
        plain = {-1: machine.dark()}
        base = trials.grid.base
        at = {-1: [over.get(trials.slot[n], base[trials.slot[n]]) for n in names]}
        values = {-1: [machine.get(plain[-1], n) for n in names]}
        for index, step in enumerate(trials.steps):
            plain[index] = machine.apply(plain[step.parent], step.events)
            at[index] = [dict(children_of[c]).get(places[index], 0) for c in at[step.parent]]
            mine = list(values[step.parent])
            for k, course in enumerate(at[index]):
                if waves[wave_of[course]]:
                    mine[k] = waves[wave_of[course]][-1][1]
            values[index] = mine
            expected = [float(machine.get(plain[index], n)) for n in names]
            assert [float(v) for v in mine] == pytest.approx(expected), f"{slip.key}: {step.name}"


def test_no_slip_changes_nothing():
    job, design, _ = kitchen("school-kitchen")
    nothing = Slip("none", "left off", (), (), 1.0, "nothing was done", Change())
    (outcome,) = study(job, design, load_library(), [nothing]).outcomes
    assert outcome.verdict == "harmless"
    assert not outcome.broken


def test_the_order_of_slips_does_not_matter():
    """Runs remembered from other slips must not leak into a slip's own."""
    job, design, _ = kitchen("ferry-cafe")
    library = load_library()
    chosen = list(kitchen("ferry-cafe")[2])
    one = study(job, design, library, chosen)
    other = study(job, design, library, chosen[::-1])
    by_key = {o.slip.key: o for o in other.outcomes}
    assert all(by_key[o.slip.key] == o for o in one.outcomes)


def test_classes_add_up_and_hidden_ones_stand_first():
    job, design, slips = kitchen("ferry-cafe")
    done = study(job, design, load_library(), slips)
    assert len(done.outcomes) == len(slips)
    verdicts = [o.verdict for o in done.outcomes]
    assert verdicts == sorted(verdicts, key=["hidden", "announced", "obvious", "harmless"].index)
    assert all(o.test for o in done.outcomes if o.verdict == "hidden")
    assert all(not o.broken for o in done.outcomes if o.verdict == "harmless")
    assert done.evaluations == len(slips) * done.situations


def test_keys_are_unique_and_changes_apply():
    """Every generated slip names conductors, terminals and parts that exist: the plain builder takes it."""
    for name in ("ferry-cafe", "school-kitchen"):
        job, design, slips = kitchen(name)
        assert len({s.key for s in slips}) == len(slips)
        for slip in random.Random(name).sample(list(slips), 60):
            build_machine(job, apply(design, slip), load_library())


def test_a_change_of_what_is_not_there_is_refused():
    _, design, _ = kitchen("ferry-cafe")
    with pytest.raises(CircuitError, match="conductor NO-1/run/1, which the design does not have"):
        apply(design, Change(opened=("NO-1/run/1",)))


def test_daily_use():
    facts = {"supply A": "present", "fire Z1": "armed", "sensor TS": "ok", "masters": "rest", "reset": "pressed"}
    assert is_daily(facts)
    for fact, value in (
        ("supply A", "lost"),
        ("fire Z1", "released"),
        ("sensor TS", "open"),
        ("masters", "DD-1 calls"),
        ("reset", "not yet"),
    ):
        assert not is_daily({**facts, fact: value})


def test_only_some_kinds():
    _, design, _ = kitchen("ferry-cafe")
    some = all_slips(design, load_library(), ["left off", "jumper left in"])
    assert {s.kind for s in some} == {"left off", "jumper left in"}


def test_promises_cover_what_is_watched():
    job, design, _ = kitchen("ferry-cafe")
    promises: tuple[Promise, ...] = promises_of(job, design)
    assert {p.slot for p in promises} <= set(effect_slots(job, design).values())


@pytest.mark.parametrize(("name", "count"), [("ferry-cafe", 30), ("school-kitchen", 6)])
def test_everything_run_as_one_comes_to_the_same(name: str, count: int):
    """Units that hold each other in are run together; how many are taken together must not matter, sums included."""
    job, design, slips = kitchen(name)
    names = sorted(set(effect_slots(job, design).values()))
    trials = Trials(job, design, load_library(), names)
    everything = set(range(len(trials.grid.units)))
    watched = {trials.slot[n] for n in names}
    tried = 0
    for slip in random.Random(5).sample([s for s in slips if not KINDS[s.kind].protection], len(slips) // 2):
        patch = trials.patcher.patch(slip.change)
        if patch.more or patch.rules or patch.island is None:
            continue
        over = {s: c for s, c in trials.over(slip.change).items() if s in watched}
        touched, anew = trials._replacements(patch)
        together = trials._settle(touched, anew, [everything], {})[0]
        assert {s: c for s, c in together.items() if s in watched} == over, slip.key
        tried += 1
        if tried == count:
            break
    assert tried == count


def test_what_chatters_chatters_in_the_plain_machine_and_nothing_else_does():
    """What starts and drops out without end stands where it is when somebody stops counting, so its promises cannot be
    compared; that it chatters, and which devices take part, can."""
    job, design, slips = kitchen("ferry-cafe")
    library = load_library()
    by_key = {o.slip.key: o for o in study(job, design, library, slips).outcomes}
    restless = [s for s in slips if "chatter" in by_key[s.key].seen]
    assert restless
    for slip in (*restless, *sample("ferry-cafe", 8)):
        machine = build_machine(job, apply(design, slip), library)
        states = {-1: machine.dark()}
        plain = set(states[-1].chatter)
        for index, step in enumerate(grid(job)):
            states[index] = machine.apply(states[step.parent], step.events)
            plain |= set(states[index].chatter)
        said = by_key[slip.key].seen
        named = set(said.partition(" chatter")[0].split(", ")) if "chatter" in said else set()
        assert bool(named) == bool(plain), slip.key
        assert named <= plain, slip.key
