"""Installation steps: the half-wired job, step by step."""

from __future__ import annotations

import pytest
from tests.package.support import SCHOOL, job_with, school

from galleyproof.design.build import build_design
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.package.simulated import Simulated
from galleyproof.package.steps import Wanted, behaviour, dangers, half_wired, plan_steps, wanted_steps

LIBRARY = load_library()


@pytest.fixture(scope="module")
def steps():
    return plan_steps(school().job, school().design, LIBRARY)


def test_every_cable_is_landed_once_and_every_jumper_taken_out_once(steps):
    design = school().design
    landed = [t for s in steps for t in s.wanted.cables]
    assert sorted(landed) == sorted(c.tag for c in design.cables)
    assert [k for s in steps for k in s.wanted.jumpers] == [j.key for j in design.jumpers]


def test_no_step_of_the_order_leaves_anything_unsafe(steps):
    assert [s.unsafe for s in steps] == [()] * len(steps)


def test_taking_the_jumper_out_raises_the_alarm(steps):
    """The brief of the package: the loop opens, and the panel takes it for a release."""
    (step,) = [s for s in steps if s.wanted.jumpers]
    assert "CP1-P1 sounds" in " ".join(step.without_jumper)
    assert "suppression contractor at FS-1" in step.wanted.with_whom


def test_sensors_that_are_not_landed_sound_the_horn_and_landed_ones_silence_it():
    facts = school()
    cables = [t for w in wanted_steps(facts.job, facts.design) for t in w.cables]
    sensors = {t for w in wanted_steps(facts.job, facts.design) if "sensors" in w.title for t in w.cables}
    supply = next(w.cables for w in wanted_steps(facts.job, facts.design) if "control supply" in w.title)
    jumpers = [j.key for j in facts.design.jumpers]

    def idle(landed):
        return behaviour(Simulated(facts.job, half_wired(facts.design, landed, jumpers), LIBRARY), brief=True)[0]

    assert sensors <= set(cables)
    assert "CP1-P1 sounds" in idle(supply)
    assert "no alarm" in idle([*supply, *sensors])


def test_the_finished_job_half_wired_is_the_job():
    facts = school()
    on = Simulated(facts.job, half_wired(facts.design, [c.tag for c in facts.design.cables], ()), LIBRARY)
    whole = Simulated(facts.job, facts.design, LIBRARY)
    for mine, theirs in ((on.ready, whole.ready), (on.cooking, whole.cooking)):
        assert {t: on.words(mine, t) for t in on.slots} == {t: whole.words(theirs, t) for t in whole.slots}


def naive(facts) -> list[Wanted]:
    """Appliances and make-up air first: an order somebody could think of."""
    wanted = list(wanted_steps(facts.job, facts.design))
    early = [w for w in wanted if "appliances" in w.title or "make-up" in w.title]
    return [*early, *(w for w in wanted if w not in early)]


def test_an_unsafe_order_is_changed_and_says_why():
    facts = school()
    wanted = naive(facts)
    whole = {"A-1": True, "A-3": True, "A-4": True}
    first = half_wired(facts.design, wanted[0].cables, [j.key for j in facts.design.jumpers])
    if "appliances" not in wanted[0].title:
        wanted.insert(0, wanted.pop(next(i for i, w in enumerate(wanted) if "appliances" in w.title)))
        first = half_wired(facts.design, wanted[0].cables, [j.key for j in facts.design.jumpers])
    # as wanted: an appliance has power and no release takes it
    assert "A-1 would keep its power through a release" in dangers(Simulated(facts.job, first, LIBRARY), whole)
    steps = plan_steps(facts.job, facts.design, LIBRARY, wanted)
    titles = [s.wanted.title for s in steps]
    power = titles.index("power of the appliances under the hoods")
    assert power > max(i for i, t in enumerate(titles) if "shutdown pole" in t)
    assert "keep its power" in steps[power].moved
    assert all(not s.unsafe for s in steps)


def test_gas_never_comes_before_the_exhaust_over_it():
    facts = school()
    wanted = list(wanted_steps(facts.job, facts.design))
    fans = [w for w in wanted if w.title.startswith("exhaust")]
    late = [*(w for w in wanted if w not in fans), *fans]
    steps = plan_steps(facts.job, facts.design, LIBRARY, late)
    moved = {s.wanted.title: s.moved for s in steps if s.moved}
    assert any("A-2 could cook without EF-1" in why for why in moved.values())


def test_what_must_be_off_holds_every_circuit_that_makes_a_conductor_live(steps):
    off = {t: s.off for s in steps for t in s.wanted.cables}
    # the two ends of a motor lead: its own circuit, and the panel's whose strip is touched
    assert set(off["W-EF-1-P"]) >= {"LP-2/1", "LP-2/2"}
    assert "LP-2/14" in off["W-MAU-1-P"]
    assert set(off["W-A-1-P"]) >= {"LP-2/20"}
    assert "LP-2/5" in off["W-SD-1-C"]


def test_a_job_that_no_order_makes_safe_says_so():
    """A gas valve that opens by itself after an outage is a fault of the design, not of the order."""
    job = job_with("{kind: gas valve, tag: GV-1,", "{kind: gas valve, reset: by itself, tag: GV-1,")
    steps = plan_steps(job, build_design(job), LIBRARY)
    assert any("GV-1" in why for s in steps for why in s.unsafe)


@pytest.mark.parametrize("name", ["ferry-cafe", "hospital"])
def test_the_other_kitchens_have_a_safe_order(name):
    job = read_job((SCHOOL.parent / f"{name}.yaml").read_bytes(), name)
    steps = plan_steps(job, build_design(job), LIBRARY)
    assert all(not s.unsafe for s in steps)
    assert all(s.then and s.off for s in steps)
