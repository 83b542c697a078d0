"""What must hold for any kitchen: longer hoods, other orders, every operating point."""

from __future__ import annotations

import math
from functools import cache

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.air.strategies import air_jobs
from tests.air.support import changed
from tests.strategies import jobs

from galleyproof.air._facts import Facts, Notes
from galleyproof.air.job_air import check_air
from galleyproof.air.job_balance import balances_of
from galleyproof.air.model import AirReport
from galleyproof.job.airside import (
    AirSide,
    FollowNot,
    FollowOffset,
    FollowRatio,
    HoodAir,
    MakeupAir,
    OtherAir,
)
from galleyproof.job.model import Hood, Job
from galleyproof.job.read import read_job
from galleyproof.job.write import dump_job

STYLES = ("wall canopy", "single island", "double island", "back shelf", "eyebrow", "pass-over")
DUTIES = ("light", "medium", "heavy", "extra-heavy")


@cache
def school() -> Job:
    """The school without readings."""
    return changed("school-kitchen")


def with_hood(job: Job, **more: object) -> Job:
    """The job with its first hood changed."""
    return job.model_copy(update={"hoods": (job.hoods[0].model_copy(update=more), *job.hoods[1:])})


@settings(max_examples=40, deadline=None)
@given(
    style=st.sampled_from(STYLES),
    duty=st.sampled_from(DUTIES),
    length=st.floats(36.0, 240.0),
    more=st.floats(0.0, 120.0),
)
def test_a_longer_hood_never_needs_less_air(style: str, duty: str, length: float, more: float) -> None:
    """Minimum and ceiling grow with the length, or the style is allowed for neither."""
    short, long = (
        Facts(with_hood(school(), style=style, duty=duty, listed_rate=None, length=inch, appliances=()))
        for inch in (length, length + more)
    )
    one, two = (facts.needed(facts.job.hoods[0]) for facts in (short, long))
    assert (one is None) == (two is None)
    if one is not None and two is not None:
        assert two.value >= one.value


@settings(max_examples=15, deadline=None)
@given(data=st.data())
def test_the_order_of_hoods_is_irrelevant(data: st.DataObject) -> None:
    """Hoods, fans, the hoods of a fan, units and what they track in any order: the same rows, findings and balances."""
    job = school()
    shuffle = lambda items: tuple(data.draw(st.permutations(items)))  # noqa: E731 - one line, used five times
    other = job.model_copy(
        update={
            "hoods": shuffle(job.hoods),
            "exhaust_fans": shuffle([f.model_copy(update={"serves": shuffle(f.serves)}) for f in job.exhaust_fans]),
            "makeup_units": tuple(u.model_copy(update={"tracks": shuffle(u.tracks)}) for u in job.makeup_units),
        }
    )
    assert _told(check_air(other)) == _told(check_air(job))


def _told(report: AirReport) -> object:
    """The report by tag, flows to a millionth."""
    return (
        {h.tag: (h.fan, h.code_cfm, h.ceiling_cfm, round(h.design_cfm, 6), h.needed_cfm) for h in report.hoods},
        {f.tag: (round(f.system_inwc or 0.0, 9), round(f.shaft_hp or 0.0, 9)) for f in report.fans},
        {(d.fan, d.name): (round(d.design_fpm, 6), round(d.idle_fpm, 6)) for d in report.ducts},
        {(round(b.exhaust_cfm, 6), round(b.makeup_cfm, 6), round(b.transfer_cfm, 6)) for b in report.balances},
        {(s.fan, s.cooks): round(s.over_cfm, 6) for s in report.shared},
        {s.tag: round(s.minimum.ratio, 9) for s in report.fan_setpoints},
        {(f.code, f.severity) for f in report.findings},
    )


def follows() -> st.SearchStrategy[object]:
    """Any tracking law, or none."""
    return st.one_of(
        st.none(),
        st.floats(0.05, 1.5).map(lambda share: FollowRatio(kind="ratio", share=share)),
        st.floats(1.0, 6000.0).map(lambda below: FollowOffset(kind="offset", below=below)),
        st.just(FollowNot(kind="one flow")),
    )


@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_the_balance_closes_at_every_operating_point(data: st.DataObject) -> None:
    """In less out is zero to 1e-9 of the exhaust's mass, and the printed flows add up to 1e-9 as well."""
    job = school()
    draw = data.draw
    fans = tuple(
        f.model_copy(update={"airflow": draw(st.floats(200.0, 20000.0)), "min_speed": draw(st.floats(0.1, 1.0))})
        for f in job.exhaust_fans
    )
    unit = job.makeup_units[0].model_copy(
        update={
            "airflow": draw(st.floats(100.0, 20000.0)),
            "min_speed": draw(st.floats(0.1, 1.0)),
            "tracks": tuple(f.tag for f in draw(st.sampled_from([fans, fans[:1], fans[1:]]))),
            "air": MakeupAir(follows=draw(follows()), least_airflow=draw(st.none() | st.floats(1.0, 9000.0))),
        }
    )
    others = tuple(
        OtherAir(tag=f"RTU-{n}", airflow=flow)
        for n, flow in enumerate(draw(st.lists(st.floats(1.0, 9000.0), max_size=3)), start=1)
    )
    air = AirSide(
        others=others, opening=draw(st.none() | st.floats(0.5, 60.0)), kitchen_at=draw(st.floats(50.0, 100.0))
    )
    kitchen = job.model_copy(update={"exhaust_fans": fans, "makeup_units": (unit,), "air": air})
    report = check_air(kitchen)
    assert len(report.balances) >= 2 or all(f.min_speed == 1.0 for f in fans[1:])
    for balance in report.balances:
        mass = sum(f.mass_lb_per_min for f in balance.exhaust)
        assert abs(balance.residual_lb_per_min) <= 1e-9 * mass
        into = balance.makeup_cfm + balance.other_cfm + balance.transfer_cfm
        assert math.isclose(into, balance.exhaust_cfm, rel_tol=1e-9, abs_tol=1e-6)


@settings(max_examples=25, deadline=None)
@given(job=jobs())
def test_a_job_without_an_air_side_gets_a_report(job: Job) -> None:
    """Jobs that were written before the air side existed."""
    _check(job)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(job=air_jobs())
def test_any_readable_job_gets_a_report_and_stays_itself_in_its_file(job: Job) -> None:
    """No job that reads breaks the check, and its air side survives being written and read."""
    assert read_job(dump_job(job)) == job
    _check(job)


def _check(job: Job) -> None:
    """Every item has its row; every finding says what, how to cure it and on what it rests; twice is the same."""
    report = check_air(job)
    assert {h.tag for h in report.hoods} == {h.tag for h in job.hoods}
    assert {f.tag for f in report.fans} == {f.tag for f in job.exhaust_fans}
    assert {u.tag for u in report.units} == {u.tag for u in job.makeup_units}
    for finding in report.findings:
        assert finding.message
        assert finding.cure
        assert finding.item
        assert "nan" not in finding.message
    assert report == check_air(job)


@settings(max_examples=30, deadline=None)
@given(stated=st.lists(st.none() | st.floats(100.0, 3000.0), min_size=2, max_size=2), total=st.floats(500.0, 9000.0))
def test_hoods_share_their_fan_out(stated: list[float | None], total: float) -> None:
    """What is stated stays; the rest of the fan goes to the others, and nothing is negative."""
    job = school()
    hoods: list[Hood] = [job.hoods[0]]
    for hood, flow in zip(job.hoods[1:], stated, strict=True):
        hoods.append(hood.model_copy(update={"air": HoodAir(airflow=flow)}))
    fans = tuple(f.model_copy(update={"airflow": total}) if f.tag == "EF-2" else f for f in job.exhaust_fans)
    facts = Facts(job.model_copy(update={"hoods": tuple(hoods), "exhaust_fans": fans}))
    for hood, flow in zip(hoods[1:], stated, strict=True):
        assert facts.hood_cfm[hood.tag] >= 0.0
        if flow is not None:
            assert facts.hood_cfm[hood.tag] == flow
    if None in stated:
        together = sum(facts.hood_cfm[h.tag] for h in hoods[1:])
        known = sum(f for f in stated if f is not None)
        assert math.isclose(together, max(total, known), rel_tol=1e-9)


def test_a_branch_that_carries_no_air_is_found_and_says_what_to_do() -> None:
    """All of the fan's 4,800 cfm are stated for one of its hoods."""
    job = school()
    stated = {"H-2": None, "H-3": 4800.0}
    hoods = [
        h.model_copy(update={"air": h.air.model_copy(update={"airflow": stated[h.tag]})}) if h.tag in stated else h
        for h in job.hoods
    ]
    found = check_air(job.model_copy(update={"hoods": tuple(hoods)})).findings
    (slow,) = [f for f in found if f.code == "AIR-DUCT-VELOCITY" and "branch of H-2" in f.message]
    assert slow.cure == "some air for the hoods of branch of H-2, which carries none"


@pytest.mark.parametrize("ratio", [0.4, 0.55, 0.7, 0.85, 1.0])
def test_a_higher_least_speed_never_makes_the_kitchen_more_positive(ratio: float) -> None:
    """With make-up at one flow the idle transfer grows with the least speed."""
    job = school()
    unit = job.makeup_units[0].model_copy(update={"air": MakeupAir(follows=FollowNot(kind="one flow"))})

    def idle_transfer(speed: float) -> float:
        fans = tuple(f.model_copy(update={"min_speed": speed}) for f in job.exhaust_fans)
        facts = Facts(job.model_copy(update={"exhaust_fans": fans, "makeup_units": (unit,)}))
        return min(b.transfer_cfm for b in balances_of(facts, Notes()))

    assert idle_transfer(ratio) >= idle_transfer(0.3)


def test_two_fans_on_one_hood_share_it() -> None:
    """12 ft of hood on two fans of 2,400 and 1,200 cfm: it exhausts 3,600 cfm, and neither fan is told off."""
    job = school()
    first = job.exhaust_fans[0]
    twin = first.model_copy(update={"tag": "EF-9", "airflow": 1200.0, "proving": None})
    fans = (first.model_copy(update={"airflow": 2400.0}), twin, job.exhaust_fans[1])
    unit = job.makeup_units[0].model_copy(update={"tracks": ("EF-1", "EF-9", "EF-2")})
    both = job.model_copy(update={"exhaust_fans": fans, "makeup_units": (unit,)})
    facts = Facts(both)
    assert facts.shares["EF-1", "H-1"] == 2400.0
    assert facts.shares["EF-9", "H-1"] == 1200.0
    report = check_air(both)
    (hood,) = [h for h in report.hoods if h.tag == "H-1"]
    assert hood.design_cfm == 3600.0
    assert hood.fan == "EF-1, EF-9"
    assert not {f.code for f in report.findings} & {"AIR-EXHAUST-LOW", "AIR-FAN-SPLIT"}
    stated = both.model_copy(
        update={"hoods": (job.hoods[0].model_copy(update={"air": HoodAir(airflow=3000.0)}), *job.hoods[1:])}
    )
    split = Facts(stated).shares
    assert math.isclose(split["EF-1", "H-1"], 2000.0)
    assert math.isclose(split["EF-9", "H-1"], 1000.0)
