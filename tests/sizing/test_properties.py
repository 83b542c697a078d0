"""What holds for every job: more of anything never sizes anything smaller, and the order of the file means nothing."""

from __future__ import annotations

import itertools
import random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.design.support import LIBRARY
from tests.sizing.job_support import LINES, circuit, ec, example, fan, hood, kitchen, motor_job, sized
from tests.strategies import jobs

from galleyproof.design.build import build_design
from galleyproof.design.model import Role
from galleyproof.errors import DesignError
from galleyproof.job import model as m
from galleyproof.job.wiring import Wiring
from galleyproof.sizing import Sizes, size
from galleyproof.tables.conductors import awg_index
from galleyproof.tables.raceways import trade_size_index

FEW = settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
# Rows of NFPA 70-2023 Table 430.250.
HP = (0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0)


def not_smaller(less: Sizes, more: Sizes, circuit_tag: str = "LP-1/2") -> None:
    """Conductor, ground, ceilings and raceways of a circuit are at least as large in the second job."""
    # 250.122(B) grows the ground by what is installed over what is needed, so where the need grows into a size that
    # was raised for voltage drop, the rule itself asks for a thinner ground: it is compared for longer runs only
    for what in ("branch conductor by ampacity", "branch conductor"):
        key = f"{circuit_tag} {what}"
        assert awg_index(less.by_key[key].result.value) <= awg_index(more.by_key[key].result.value), key
    for what in ("least ampacity", "smallest breaker", "largest breaker", "largest dual-element fuse"):
        key = f"{circuit_tag} {what}"
        assert less.by_key[key].result.value <= more.by_key[key].result.value, key
    for one in less.raceways:
        if circuit_tag in one.circuits and one.tag in more.raceway_by_tag and one.trade_size:
            other = more.raceway_by_tag[one.tag]
            assert trade_size_index(one.trade_size) <= trade_size_index(other.trade_size), one.tag


@FEW
@given(st.sampled_from(list(itertools.pairwise(HP))), st.floats(10.0, 300.0))
def test_a_bigger_motor_is_never_sized_smaller(powers: tuple[float, float], route_ft: float) -> None:
    less, more = (sized(motor_job(hp, breaker=60.0, route_ft=route_ft)) for hp in powers)
    not_smaller(less, more)
    for key in ("EF-1 full-load current", "EF-1 largest overload setting", "EF-1-QB smallest disconnect"):
        assert less.by_key[key].result.value <= more.by_key[key].result.value


@FEW
@given(st.sampled_from(HP), st.floats(5.0, 500.0), st.floats(5.0, 500.0))
def test_a_longer_run_is_never_sized_smaller(hp: float, one_ft: float, other_ft: float) -> None:
    short, long = sorted((one_ft, other_ft))
    less, more = (sized(motor_job(hp, breaker=60.0, route_ft=ft)) for ft in (short, long))
    not_smaller(less, more)
    ground = "LP-1/2 equipment ground"
    assert awg_index(less.by_key[ground].result.value) <= awg_index(more.by_key[ground].result.value)


@FEW
@given(st.sampled_from(HP), st.floats(60.0, 150.0), st.floats(60.0, 150.0))
def test_a_hotter_roof_is_never_sized_smaller(hp: float, one: float, other: float) -> None:
    job = motor_job(hp, breaker=60.0)
    less, more = (sized(job.model_copy(update={"site": m.Site(roof_ambient=degf)})) for degf in sorted((one, other)))
    not_smaller(less, more)


def crowd(n: int, hp: float) -> m.Job:
    """So many fans on the roof, the home runs of all of them in shared raceways."""
    base = kitchen(ec())
    one = circuit(base, "LP-1/2", lines=LINES, breaker=60.0)
    motor = m.Starter(kind="starter", motor=m.Motor(hp=hp, volts=208.0, phases=3))
    numbers = range(1, n + 1)
    return base.model_copy(
        update={
            "circuits": (
                *(c for c in base.circuits if c.tag != "LP-1/2"),
                *(one.model_copy(update={"tag": f"LP-1/{20 + k}"}) for k in numbers),
            ),
            "hoods": tuple(hood(f"H-{k}") for k in numbers),
            "exhaust_fans": tuple(
                fan(motor, tag=f"EF-{k}", serves=(f"H-{k}",), circuit=f"LP-1/{20 + k}") for k in numbers
            ),
            "wiring": Wiring(sharing="runs of a class together"),
        }
    )


@pytest.mark.parametrize("hp", [2.0, 7.5])
def test_more_companions_never_give_a_thinner_conductor(hp: float) -> None:
    seen = []
    for n in (1, 2, 3, 5, 8):
        sizes = sized(crowd(n, hp))
        seen.append(awg_index(sizes.by_key["LP-1/21 branch conductor by ampacity"].result.value))
        shared = [r for r in sizes.raceways if "LP-1/21" in r.circuits and len(r.circuits) > 1]
        assert shared or n == 1
    assert seen == sorted(seen)


def test_a_raceway_that_nothing_holds_is_dealt_out_over_two() -> None:
    sizes = sized(crowd(8, 15.0))
    runs = [r for r in sizes.raceways if r.energy_class == "line voltage" and "LP-1/21" in r.circuits]
    assert all(r.trade_size for r in runs)
    home = {r.tag.split(".")[0] for r in sizes.raceways if r.energy_class == "line voltage" and "." in r.tag}
    assert home, "some raceway was split"
    assert not [f for f in sizes.findings if f.code == "RACEWAY-FULL"]


def shuffled(job: m.Job, seed: int) -> m.Job:
    """A job with the entries of all its lists in another order."""
    chance = random.Random(seed)
    changes = {}
    for name in (
        "supplies",
        "panelboards",
        "circuits",
        "hoods",
        "exhaust_fans",
        "makeup_units",
        "dampers",
        "fire_systems",
        "shutdowns",
        "room_sensors",
        "switches",
        "routes",
    ):
        items = list(getattr(job, name))
        chance.shuffle(items)
        changes[name] = tuple(items)
    return job.model_copy(update=changes)


@pytest.mark.parametrize("name", ["ferry-cafe", "school-kitchen", "hospital"])
def test_the_order_of_the_job_file_means_nothing(name: str) -> None:
    job = example(name)
    first, second = sized(job), sized(shuffled(job, 3))
    assert [(n.key, n.circuit, n.text, n.given, n.ok) for n in first] == [
        (n.key, n.circuit, n.text, n.given, n.ok) for n in second
    ]
    assert [n.result.lines() for n in first] == [n.result.lines() for n in second]
    assert first.findings == second.findings
    assert first.raceways == second.raceways
    assert dict(first.conductors) == dict(second.conductors)


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
@given(jobs())
def test_any_job_is_sized_whole(job: m.Job) -> None:
    """Every conductor has a size, a reason and a protection; grounds never exceed what they run with."""
    try:
        design = build_design(job)
    except DesignError:
        return
    sizes = size(job, design, LIBRARY)
    assert set(sizes.conductors) == {c.key for c in design.conductors}
    for one in sizes.conductors.values():
        assert one.why_key in sizes.by_key, one
        assert one.protected_by, one
    for cable in design.cables:
        keys = [k for k in cable.conductors if design.conductor_by_key[k].role is not Role.GROUND]
        thickest = max((awg_index(sizes.conductors[k].awg) for k in keys), default=None)
        for k in set(cable.conductors) - set(keys):
            assert thickest is not None
            assert awg_index(sizes.conductors[k].awg) <= thickest, k
    for finding in sizes.findings:
        assert finding.message, finding
        assert finding.cure, finding
    assert all(n.result.steps for n in sizes)
    assert sum(len(r.conductors) for r in sizes.raceways) >= sum(c.made == "field" for c in design.conductors)
    edition = str(job.codes.nec)
    assert {c.edition for c in sizes.citations() if c.standard == "NFPA 70" and c.edition} <= {edition}
