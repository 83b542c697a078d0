"""The plan's claims, each taken apart by brute force or by what the trade demands."""

from __future__ import annotations

import itertools
import random
from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.checkout.support import bench, plan, slips, table

from galleyproof.checkout.bench import standing
from galleyproof.checkout.model import CAUTIONS, Checkout, Expectation, Preparation, Probe, Reading, Stage
from galleyproof.checkout.plan import cost, make_plan
from galleyproof.checkout.probes import readings
from galleyproof.checkout.whole import Bench
from galleyproof.design.model import TerminalId
from galleyproof.proof.model import Step
from galleyproof.proof.slips import Slip, apply

STAGES = list(Stage)


GOOD = ["ferry-cafe", "school-kitchen", "hospital"]


def anew(made: Bench, slip: Slip) -> tuple[Reading, ...]:
    """Every reading with a slip in place, from a machine built for it."""
    there = standing(made.job, apply(made.design, slip), made.library, made.checkout.steps)
    return readings(there, made.checkout)


def some(found: Sequence[str], most: int) -> list[str]:
    """All of a few, else a random draw."""
    return list(found) if len(found) <= most else random.Random(5).sample(list(found), most)


@pytest.mark.parametrize(("name", "most"), [("ferry-cafe", 40), ("school-kitchen", 10), ("hospital", 3)])
def test_what_is_said_caught_moves_a_planned_reading(name: str, most: int) -> None:
    """Every slip counted as caught changes at least one reading of the sheet beyond its band; simulated anew."""
    made, sheet = bench(name), plan(name)
    at = {p.key: i for i, p in enumerate(made.checkout.probes)}
    planned = [at[r.probe.key] for r in sheet.readings]
    by_key = {s.key: s for s in slips(name)}
    caught = sorted({s for r in sheet.readings for s in r.catches})
    assert len(caught) == sheet.caught
    for key in some(caught, most):
        there = anew(made, by_key[key])
        assert any(not table(name).expected[i].holds(there[i]) for i in planned), key


@pytest.mark.parametrize(("name", "most"), [("ferry-cafe", 100), ("school-kitchen", 10), ("hospital", 3)])
def test_what_is_said_uncatchable_moves_no_reading_at_all(name: str, most: int) -> None:
    """Not one of all possible readings tells such a slip from the right wiring; simulated anew."""
    made, sheet = bench(name), plan(name)
    by_key = {s.key: s for s in slips(name)}
    assert sheet.uncatchable
    for key in some(sheet.uncatchable, most):
        there = anew(made, by_key[key])
        assert all(e.holds(r) for e, r in zip(table(name).expected, there, strict=True)), key


def test_every_caught_slip_stands_behind_a_line() -> None:
    """Read off the sheet itself."""
    behind = {s for r in plan().readings for s in r.catches}
    assert behind == {s.key for s in slips()} - set(plan().uncatchable)
    assert plan().caught + len(plan().uncatchable) == plan().slips == len(slips())
    first = [s for r in plan().readings for s in r.first]
    assert len(first) == len(set(first)) == plan().caught


@pytest.mark.parametrize("name", GOOD)
def test_the_optimum_is_proven(name: str) -> None:
    assert plan(name).gap == 0.0


@pytest.mark.parametrize("name", GOOD)
def test_the_right_wiring_passes(name: str) -> None:
    """Nobody is sent looking when nothing is wrong."""
    at = {p.key: i for i, p in enumerate(bench(name).checkout.probes)}
    for r in plan(name).readings:
        assert r.expected.holds(bench(name).right[at[r.probe.key]])


@pytest.mark.parametrize("name", GOOD)
def test_stages_in_order_and_acceptance_last(name: str) -> None:
    stages = [STAGES.index(r.probe.stage) for r in plan(name).readings if not r.required]
    assert stages == sorted(stages)
    required = [r.required for r in plan(name).readings]
    assert required == sorted(required)
    assert any(required)


def test_the_acceptance_list_follows_the_officials() -> None:
    """Fuel and power off, reset only by hand, supply off, exhaust on during and after, alarm received."""
    asked = [(r.probe.preparation, r.probe.about, r.expected.value) for r in plan().readings if r.required]
    off = [("Z1 released", t, "no") for t in ("A-1", "A-2", "GV-1")]
    quiet = "Z1 re-armed, nothing pressed"
    assert asked[:3] == off
    assert asked[3:6] == [(quiet, t, "no") for t in ("A-1", "A-2", "GV-1")]
    assert asked[6] == ("Z1 released", "MAU-1", "stands")
    assert asked[7] == ("Z1 released", "EF-1", "turns at full speed")
    assert asked[8][:2] == (quiet, "EF-1")
    assert asked[9] == ("Z1 released", "CP1-P1", "yes")


# safety ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", GOOD)
def test_no_ohms_on_what_is_live(name: str) -> None:
    """Of all possible probes, not only of the planned ones: every supply is lost where ohms are read."""
    made = bench(name)
    where = {p.key: p for p in made.checkout.preparations}
    stand = standing(made.job, made.design, made.library, made.checkout.steps)
    for probe in made.checkout.probes:
        if probe.kind == "ohms":
            prep = where[probe.preparation]
            assert prep.stage is Stage.DEAD
            supplies = [n for n in stand.machine.names if n.startswith("supply ")]
            assert supplies
            assert all(stand.value(prep.step, n) == "lost" for n in supplies)


@pytest.mark.parametrize("name", GOOD)
def test_every_line_voltage_probe_carries_its_caution(name: str) -> None:
    """Above 50 V between the leads, or one lead on a conductor of a line circuit: the words stand there."""
    made = bench(name)
    live = 0
    for probe, reading in zip(made.checkout.probes, made.right, strict=True):
        if probe.kind in ("volts AC", "volts DC") and not isinstance(reading, str) and abs(reading) >= 50.0:
            live += 1
            assert "Do not touch" in probe.caution
            assert probe.hazard >= 3.0
    assert live > 20


@pytest.mark.parametrize("name", GOOD)
def test_no_line_voltage_reading_where_a_safe_one_tells_as_much(name: str) -> None:
    """Each live reading of the sheet shows a slip that no combination of less hazardous readings shows."""
    made = bench(name)
    at = {p.key: i for i, p in enumerate(made.checkout.probes)}
    for r in plan(name).readings:
        if r.probe.hazard < 3.0 or r.required:
            continue
        safe = {i for i, p in enumerate(made.checkout.probes) if p.hazard < r.probe.hazard}
        others = {at[o.probe.key] for o in plan(name).readings if o is not r and o.probe.hazard >= r.probe.hazard}
        alone = [s for s in r.catches if not (set(table(name).shows[s]) & (safe | others))]
        assert alone, r.probe.key


@pytest.mark.parametrize("name", GOOD)
def test_every_stage_of_the_sheet_has_its_caution(name: str) -> None:
    said = dict(plan(name).cautions())
    assert set(said) == {r.probe.stage for r in plan(name).readings}
    assert "Lock out and tag out" in CAUTIONS[Stage.DEAD]
    assert "contractor" in CAUTIONS[Stage.FUNCTION]


@pytest.mark.parametrize("name", GOOD)
def test_the_suppression_systems_own_wiring_is_left_alone(name: str) -> None:
    """Nothing is lifted at the fire switch, and whoever moves it is its contractor."""
    made = bench(name)
    systems = [f.tag for f in made.job.fire_systems]
    assert systems
    for probe in made.checkout.probes:
        if probe.lifted:
            assert probe.red is not None
            assert not probe.red.device.startswith("FS-")
    for prep in made.checkout.preparations:
        moves = any(f"switch of {tag}" in prep.words or f"{tag} re-armed" in prep.words for tag in systems)
        assert moves == bool(prep.needs)


# the solver, on covers small enough to try them all --------------------------------------------------------------


def small(rows: list[set[int]], minutes: list[float]) -> tuple[Checkout, dict[str, list[int]]]:
    """A check-out of one preparation."""
    probes = tuple(
        Probe(f"p{i}", "dead", Stage.DEAD, "ohms", TerminalId("X", str(i)), TerminalId("X", "0"), "", "X", "the panel",
              1e7, m, 0.0, "") for i, m in enumerate(minutes)
    )  # fmt: skip
    step = Step(-1, {}, None, "dead")
    checkout = Checkout((step,), (Preparation("dead", Stage.DEAD, 0, "", 1.0),), probes)
    return checkout, {f"s{n}": sorted(row) for n, row in enumerate(rows)}


@given(
    rows=st.lists(st.sets(st.integers(0, 6), max_size=5), min_size=1, max_size=8),
    minutes=st.lists(st.floats(0.5, 9.0), min_size=7, max_size=7),
)
@settings(max_examples=60, deadline=None)
def test_no_cheaper_cover_exists(rows: list[set[int]], minutes: list[float]) -> None:
    checkout, shows = small(rows, minutes)
    made = make_plan(checkout, [Expectation(0.0, 0.0, 0.0)] * 7, shows)
    chosen = {r.probe.key for r in made.readings}
    wanted = [{f"p{i}" for i in row} for row in rows if row]
    assert all(chosen & row for row in wanted)
    keys = [p.key for p in checkout.probes]
    price = {p.key: cost(p) for p in checkout.probes}
    best = min(
        sum(price[k] for k in some)
        for n in range(8)
        for some in itertools.combinations(keys, n)
        if all(set(some) & row for row in wanted)
    )
    assert sum(price[k] for k in chosen) == pytest.approx(best)
    assert set(made.uncatchable) == {f"s{n}" for n, row in enumerate(rows) if not row}
