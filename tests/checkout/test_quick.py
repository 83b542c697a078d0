"""The quick way reads what the plain way reads."""

from __future__ import annotations

import random

import pytest
from tests.checkout.support import bench, slips

from galleyproof.checkout.bench import Standing, standing
from galleyproof.checkout.model import Reading
from galleyproof.checkout.probes import readings
from galleyproof.checkout.signatures import differences
from galleyproof.checkout.whole import Bench
from galleyproof.proof.slips import KINDS, Change, apply

RARE = ["jumper missing", "shared neutral open", "dead pole", "signal of the other kind", "coil for other volts"]


def assert_one(quick: dict[int, Reading], plain: dict[int, Reading], name: object) -> None:
    """Both ways find the same probes changed, and read the same there; no meter shows a millionth."""
    assert quick.keys() == plain.keys(), name
    for i, read in plain.items():
        if isinstance(read, str):
            assert quick[i] == read, (name, i)
        else:
            assert quick[i] == pytest.approx(read, rel=1e-6, abs=1e-6), (name, i)


def settled(made: Bench, there: Standing) -> list[bool]:
    """For each probe whether its state comes to rest: what starts and drops out without end reads by the moment."""
    rests: list[bool] = []
    for step, at in enumerate(made.checkout.steps):
        rests.append((at.parent < 0 or rests[at.parent]) and not there.state(step).chatter)
    step_of = {p.key: p.step for p in made.checkout.preparations}
    return [rests[step_of[p.preparation]] for p in made.checkout.probes]


def both(made: Bench, change: Change, quick: dict[int, Reading] | None) -> tuple[dict[int, Reading], ...]:
    """Quick and plain, where devices come to rest."""
    there = standing(made.job, apply(made.design, change), made.library, made.checkout.steps)
    kept = settled(made, there)
    plain = differences(made.right, readings(there, made.checkout))
    return tuple({i: r for i, r in (found or {}).items() if kept[i]} for found in (quick, plain))


@pytest.mark.parametrize(("name", "count"), [("ferry-cafe", 120), ("school-kitchen", 25), ("hospital", 4)])
def test_slips_read_the_same_either_way(name: str, count: int) -> None:
    """A random draw of every kind; every probe in every preparation."""
    made = bench(name)
    for slip in random.Random(11).sample(list(slips(name)), count):
        quick, plain = both(made, slip.change, made.changed(slip.change))
        assert_one(quick, plain, slip.key)


@pytest.mark.parametrize("name", ["ferry-cafe", "school-kitchen"])
@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_reads_the_same_either_way(kind: str, name: str) -> None:
    """Kinds take ways of their own: bridges that part terminals, conductors landed badly, settings, changed rules."""
    made = bench(name)
    found = [s for s in slips(name) if s.kind == kind]
    if not found:
        pytest.skip(f"there is none of this kind in {name}")
    for slip in random.Random(kind).sample(found, min(len(found), 4 if kind in RARE else 1)):
        quick, plain = both(made, slip.change, made.changed(slip.change))
        assert_one(quick, plain, slip.key)


def test_the_right_wiring_reads_the_same_either_way() -> None:
    made = bench()
    there = standing(made.job, made.design, made.library, made.checkout.steps)
    assert not differences(made.right, readings(there, made.checkout))


def test_two_slips_read_the_same_either_way() -> None:
    made = bench()
    draw = random.Random(12)
    for _ in range(15):
        a, b = draw.sample(list(slips()), 2)
        change = a.change + b.change
        quick, plain = both(made, change, made.changed(change))
        assert_one(quick, plain, (a.key, b.key))


@pytest.mark.parametrize(("name", "count"), [("ferry-cafe", 30), ("school-kitchen", 8)])
def test_slips_that_nothing_feels_both_of_read_as_alone(name: str, count: int) -> None:
    """Each alone, laid over each other, is what the machine with both gives."""
    made = bench(name)
    draw = random.Random(13)
    tried = 0
    while tried < count:
        a, b = draw.sample(list(slips(name)), 2)
        alone = made.apart(a, b)
        if alone is None:
            continue
        tried += 1
        quick, plain = both(made, a.change + b.change, alone)
        assert_one(quick, plain, (a.key, b.key))


def test_what_only_a_slip_reads_is_felt_by_it() -> None:
    """A drive's noise in a sensor is gone when another slip keeps the drive from running, be its wiring far away."""
    made = bench("school-kitchen")
    of_noise = [s for s in slips("school-kitchen") if s.kind == "noise of the drive" and len(s.change.refits) == 1]
    # EF-2 turns on the drive that makes the noise
    of_power = [s for s in slips("school-kitchen") if s.kind == "short in a cable" and "EF-2-" in s.key]
    assert of_power
    together = 0
    for noise in of_noise:
        for other in of_power[:8]:
            alone = made.apart(noise, other)
            if alone is None:
                together += 1
                continue
            quick, plain = both(made, noise.change + other.change, alone)
            assert_one(quick, plain, (noise.key, other.key))
    assert together


def test_slips_on_one_conductor_are_not_taken_apart() -> None:
    """Two slips of one device are simulated together."""
    made = bench()
    here = [s for s in slips() if set(s.devices) == {"EF-1"}][:2]
    assert len(here) == 2
    assert made.apart(*here) is None


def test_without_the_compiled_walk_every_slip_goes_the_plain_way(monkeypatch: pytest.MonkeyPatch) -> None:
    """No C compiler where it was installed: slower, and the same."""
    # the one that tests share is made with the compiled walk, whichever test comes first
    quick = bench()
    monkeypatch.setattr("galleyproof.proof.trials.compiled_library", lambda: None)
    made = Bench(quick.job, quick.design, quick.library)
    assert_one(dict(enumerate(quick.right)), dict(enumerate(made.right)), "right")
    draw = random.Random(14).sample(list(slips()), 12)
    for slip in draw:
        there = standing(made.job, apply(made.design, slip), made.library, made.checkout.steps)
        kept = settled(made, there)
        plain, found = [
            {i: r for i, r in (b.changed(slip.change) or {}).items() if kept[i]} for b in (made, quick)
        ]  # fmt: skip
        assert_one(found, plain, slip.key)
    assert made._quick.plain == len(draw)
    assert made.apart(*draw[:2]) is None


def test_what_is_forgotten_is_worked_out_again(monkeypatch: pytest.MonkeyPatch) -> None:
    made = bench()
    other = Bench(made.job, made.design, made.library)
    monkeypatch.setattr("galleyproof.checkout.quick.MOST_SAME", 3)
    for slip in random.Random(15).sample(list(slips()), 60):
        assert other.changed(slip.change) == made.changed(slip.change), slip.key
    assert len(other._quick._same) <= 3


@pytest.mark.parametrize("name", ["ferry-cafe", "school-kitchen"])
def test_the_walk_is_asked_for_no_reading_of_an_island(name: str) -> None:
    """Readings are only known as classes there, so that no value of theirs may be shown."""
    trials = bench(name)._quick.trials
    machine = trials.machine
    readings_of = {machine.slot[r.slot] for island in machine.islands for r in island.readings}
    assert readings_of
    assert not readings_of & set(trials.watched)
