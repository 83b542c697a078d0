"""The quick study against the plain way: the whole changed design proved again, step by step."""

from __future__ import annotations

import random
from collections import Counter
from typing import Any

import pytest
from tests.proof.test_slips_kinds import kitchen

from galleyproof.circuit.world import build_machine
from galleyproof.errors import CircuitError
from galleyproof.library.reader import load_library
from galleyproof.proof import outcomes
from galleyproof.proof.compiled import library as compiled_library
from galleyproof.proof.grid import grid
from galleyproof.proof.model import Promise
from galleyproof.proof.outcomes import is_daily
from galleyproof.proof.patch import NeedsPlainWayError
from galleyproof.proof.promises import effect_slots, promises_of
from galleyproof.proof.prove import prove
from galleyproof.proof.slips import KINDS, Slip, all_slips, apply
from galleyproof.proof.slips.model import Change
from galleyproof.proof.study import study
from galleyproof.proof.trials import Trials
from galleyproof.proof.ways import RIGHT

needs_library = pytest.mark.skipif(compiled_library() is None, reason="the walk was not compiled here")
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


@pytest.mark.parametrize("kind", sorted(k for k, v in KINDS.items() if not v.protection))
def test_every_kind_breaks_what_a_proof_of_the_changed_design_breaks(kind: str):
    """Changed rules too: coils for other volts, phases lost while a motor runs, noise of a drive, small supplies."""
    job, design, slips = kitchen("school-kitchen")
    library = load_library()
    of_it = [s for s in slips if s.kind == kind]
    if not of_it:
        pytest.skip("there is none of this kind in the school kitchen")
    chosen = random.Random(kind).sample(of_it, min(2, len(of_it)))
    for outcome in study(job, design, library, chosen).outcomes:
        if "chatter" in outcome.seen or "burns or trips at once" in outcome.seen:
            continue
        proof = prove(job, apply(design, outcome.slip), library)
        plain = {v.promise.key: v.broken for v in proof.verdicts if v.broken}
        assert {b.promise: b.situations for b in outcome.broken} == plain, outcome.slip.key


def test_every_effect_at_every_step_is_that_of_the_plain_machine():
    """Not only the promises: what every fan, valve, light, horn and appliance does at the end of every step."""
    job, design, _ = kitchen("ferry-cafe")
    library = load_library()
    names = sorted(set(effect_slots(job, design).values()))
    trials = Trials(job, design, library, names)
    for slip in sample("ferry-cafe", 25):
        try:
            tried = trials.over(slip.change)
        except NeedsPlainWayError:
            tried = trials.plainly(slip.change)
        if tried.restless:
            continue
        machine = build_machine(job, apply(design, slip), library)
        states = {-1: machine.dark()}
        for index, step in enumerate(trials.steps):
            states[index] = machine.apply(states[step.parent], step.events)
        for name in names:
            s = trials.slot[name]
            found = trials.ways.after(s, tried.over.get(s, RIGHT))
            expected = [float(machine.get(states[i], name)) for i in range(len(trials.steps))]
            assert [float(v) for v in found] == pytest.approx(expected), f"{slip.key}: {name}"


def rests(trials: Trials, slot: int, way: int) -> dict[tuple[int, float], Any]:
    """Where a slot comes to rest otherwise than before, by place and time; what it passes through is left out."""
    ways = trials.ways
    stood = ways.settled(ways.column(slot, way), ways.moves(slot, way))
    return {(place, time_s): value for place, wave in stood.items() for time_s, value in wave}


@needs_library
@pytest.mark.parametrize(("name", "count"), [("ferry-cafe", 12), ("school-kitchen", 4)])
def test_both_ways_of_trying_a_slip_find_the_same(name: str, count: int):
    """Values after every step, and what each slot stands at after each delay."""
    job, design, _ = kitchen(name)
    names = sorted(set(effect_slots(job, design).values()))
    trials = Trials(job, design, load_library(), names)
    ways = trials.ways
    for slip in sample(name, count):
        quick, plain = trials.over(slip.change), trials.plainly(slip.change)
        assert quick.restless == plain.restless, slip.key
        if quick.restless:
            continue
        for s in trials.watched:
            one, other = quick.over.get(s, RIGHT), plain.over.get(s, RIGHT)
            assert ways.after(s, one) == ways.after(s, other), slip.key
            assert rests(trials, s, one) == rests(trials, s, other), slip.key


@needs_library
def test_nothing_else_than_the_reach_goes_another_way():
    """Only what units at work write can go another way."""
    job, design, _ = kitchen("ferry-cafe")
    trials = Trials(job, design, load_library())
    machine = trials.machine
    first = len(machine.islands)
    writer = {machine.slot[r.slot]: k for k, i in enumerate(machine.islands) for r in i.readings}
    writer |= {machine.slot[s]: first + r for r, rule in enumerate(machine.rules) for s in rule.outputs}
    strayed = 0
    for slip in sample("ferry-cafe", 40):
        tried = trials.over(slip.change)
        assert tried.reach is not None
        for s in tried.over:
            if s in writer:
                assert writer[s] in tried.reach, slip.key
                strayed += 1
    assert strayed > 40


def test_without_the_compiled_walk_a_slip_needs_the_plain_way():
    job, design, slips = kitchen("ferry-cafe")
    trials = Trials(job, design, load_library(), walk=None)
    with pytest.raises(NeedsPlainWayError, match="no compiled walk"):
        trials.over(slips[0].change)


@needs_library
def test_without_the_compiled_walk_the_study_comes_to_the_same(monkeypatch: pytest.MonkeyPatch):
    job, design, _ = kitchen("ferry-cafe")
    library = load_library()
    chosen = sample("ferry-cafe", 25)
    quick = {o.slip.key: o for o in study(job, design, library, chosen).outcomes}
    monkeypatch.setattr("galleyproof.proof.trials.compiled_library", lambda: None)
    done = study(job, design, library, chosen)
    assert done.plainly == len(chosen)
    for plain in done.outcomes:
        assert quick[plain.slip.key].verdict == plain.verdict, plain.slip.key
        if "chatter" not in plain.seen:
            assert quick[plain.slip.key] == plain, plain.slip.key


def test_a_make_up_fan_that_turns_backwards_is_a_hidden_slip():
    """MAU-2 hangs on the supply itself, MAU-5 on the panel's drive; MAU-1 has a drive inside, which takes any order of
    the phases (common practice)."""
    job, design, slips = kitchen("hospital")
    chosen = [
        s for s in slips if s.kind == "phases exchanged" and s.devices[-1].startswith(("MAU-1", "MAU-2", "MAU-5"))
    ]
    found = {o.slip.key: o for o in study(job, design, load_library(), chosen).outcomes}
    for tag, verdict in (("MAU-1", "harmless"), ("MAU-2", "hidden"), ("MAU-5", "hidden")):
        mine = [o for key, o in found.items() if key.startswith(f"phases-exchanged/{tag}/")]
        assert len(mine) >= 4
        assert {o.verdict for o in mine} == {verdict}
        if verdict == "hidden":
            assert {b.promise for o in mine for b in o.broken} == {f"makeup-with/{tag}"}
            assert all("runs backwards" in o.seen for o in mine)


def test_more_promises_of_one_slot_than_a_number_has_bits_are_judged_alike(monkeypatch: pytest.MonkeyPatch):
    job, design, _ = kitchen("ferry-cafe")
    chosen = sample("ferry-cafe", 40)
    usual = study(job, design, load_library(), chosen)
    of_slot = Counter(p.slot for p in promises_of(job, design) if not p.expect.others)
    assert max(of_slot.values()) > 2
    monkeypatch.setattr(outcomes, "BIT", outcomes.BIT[:2])
    assert study(job, design, load_library(), chosen).outcomes == usual.outcomes


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
