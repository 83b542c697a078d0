"""The three kitchens: complete air schedules, nothing to find above a note, figures as worked out by hand."""

from __future__ import annotations

import math

import pytest
from tests.air.support import NAMES, air_of, changed, told

from galleyproof.air.job_air import check_air
from galleyproof.job.airside import AirSide, FanAir, HoodAir
from galleyproof.job.read import read_job


@pytest.mark.parametrize("name", NAMES)
def test_a_good_kitchen_has_nothing_to_find(name: str) -> None:
    """Notes only."""
    assert told(air_of(name)) == set()


@pytest.mark.parametrize("name", NAMES)
def test_its_schedule_is_complete(name: str) -> None:
    """Every hood has the three methods or the reason why not; every fan its path, power and motor; every unit its
    limits; every set-point a value."""
    report = air_of(name)
    for hood in report.hoods:
        assert hood.code_cfm is not None
        assert hood.listed_cfm is not None
        assert hood.ceiling_cfm is not None
        assert (hood.plume_cfm is None) == bool(hood.plume_why_not)
        assert hood.net_cfm >= hood.needed_cfm >= hood.listed_cfm
        assert len(hood.differ) >= 3
        assert hood.advice
    by_fan: dict[str, float] = {}
    for hood in report.hoods:
        by_fan[hood.fan] = by_fan.get(hood.fan, 0.0) + hood.design_cfm
    for fan in report.fans:
        assert math.isclose(by_fan[fan.tag], fan.design_cfm, rel_tol=1e-9)
        assert fan.shaft_hp is not None
        assert fan.input_kw is not None
        assert fan.system_inwc is not None
        assert fan.system_inwc <= fan.scheduled_inwc
        assert fan.motor_hp is None or fan.motor is not None
        assert fan.motor is None or fan.motor.verdict == "fits"
    for duct in report.ducts:
        assert duct.min_fpm == 500.0  # IMC 506.3.4
        assert duct.idle_fpm >= 500.0
    assert {u.tag for u in report.units} == {f.tag for b in report.balances for f in b.makeup}
    for balance in report.balances:
        assert not balance.positive
        assert balance.room_pressure_inwc is not None
        assert -0.02 <= balance.room_pressure_inwc < 0.0  # NFPA 96 8.3.1
    for one in report.fan_setpoints:
        assert [r.number for r in one.minimum.reasons] == [1, 2, 3, 4, 5, 6, 7]
        assert one.set_ratio >= one.minimum.ratio - 0.005
    assert {h.tag for h in report.hood_setpoints} == {h.tag for h in report.hoods}
    assert all(d.verdict == "usual" for d in report.delays)


def test_the_cafe_by_hand() -> None:
    """8 ft of heavy wall canopy: 8 x 400 = 3,200 cfm without a listing (IMC-2021 507.2.10.2), 8 x 280 = 2,240 cfm at
    most in a large kitchen (ASHRAE 90.1-2019 table 6.5.7.2.2), which 2,400 cfm is not (threshold 5,000 cfm)."""
    report = air_of("ferry-cafe")
    (hood,) = report.hoods
    assert (hood.code_cfm, hood.listed_cfm, hood.ceiling_cfm) == (3200.0, 2200.0, 2240.0)
    assert not hood.ceiling_applies
    assert report.energy is not None
    assert report.energy.options == ()
    design, idle = report.balances
    assert (design.exhaust_cfm, design.makeup_cfm, round(design.transfer_cfm, 6)) == (2400.0, 1000.0, 1400.0)
    assert (idle.exhaust_cfm, idle.makeup_cfm, round(idle.transfer_cfm, 6)) == (1200.0, 1000.0, 200.0)
    (duct,) = report.ducts
    area = math.pi / 4.0 * (16.0 / 12.0) ** 2
    assert math.isclose(duct.design_fpm, 2400.0 / area)
    assert math.isclose(duct.idle_fpm, 1200.0 / area)
    # 2,400 cfm x 1.2 in wc / 6356 / 0.60, then 0.7457 kW/hp over a motor of 85 %
    (fan,) = report.fans
    assert math.isclose(fan.shaft_hp, 2400.0 * 1.2 / 6356.0 / 0.6)
    assert math.isclose(fan.input_kw, fan.shaft_hp * 0.7457 / 0.85)
    # 1,100 of 2,400 cfm seen captured governs; the unit's 1,000 cfm is 42 %, 500 fpm in the riser 29 %
    (limits,) = report.fan_setpoints
    assert [r.number for r in limits.minimum.reasons if r.governs] == [1]
    assert math.isclose(limits.minimum.ratio, 1100.0 / 2400.0)
    assert limits.minimum.able_to_halve


def test_the_plume_of_a_tilting_pan_by_hand() -> None:
    """5 kW, 450 W/kW sensible, half of it convective; 84 x 36 in free-standing, 40 in below the hood; mixed flow 1.2:
    18 x 1125^(1/3) x (1.016 + 1.7 d)^(5/3) x 1.2 with d = 2 L B / (L + B) (EN 16282-1, restated in SI)."""
    report = air_of("school-kitchen")
    length, width = 84 * 0.0254, 36 * 0.0254
    d = 2 * length * width / (length + width)
    m3h = 1.2 * 18.0 * (0.5 * 5 * 450) ** (1 / 3) * (40 * 0.0254 + 1.7 * d) ** (5 / 3)
    (hood,) = [h for h in report.hoods if h.tag == "H-3"]
    assert math.isclose(hood.plume_cfm, m3h / 1.699011, rel_tol=1e-6)
    others = [h for h in report.hoods if h.tag != "H-3"]
    assert all(h.plume_cfm is None and "plan" in h.plume_why_not for h in others)


def test_the_school_shares_a_fan() -> None:
    """While only H-2 cooks, H-3 idles at half of 3,050 cfm and gets all of it: 1,525 cfm too much."""
    report = air_of("school-kitchen")
    (one,) = [s for s in report.shared if s.cooks == "H-2"]
    assert one.speed_ratio == 1.0
    assert math.isclose(one.over_cfm, 1525.0)
    (other,) = [s for s in report.shared if s.cooks == "H-3"]
    assert math.isclose(other.over_cfm, 875.0)


def test_the_school_drive_limits_follow_from_its_readings() -> None:
    """52.5 Hz gave 4,750 cfm: 4,800 cfm takes 52.5 x 4800 / 4750 Hz, idle half of that (fan laws)."""
    report = air_of("school-kitchen")
    (limits,) = [s for s in report.fan_setpoints if s.tag == "EF-2"]
    assert limits.source == "test and balance"
    assert math.isclose(limits.design_hz, 52.5 * 4800 / 4750)
    assert math.isclose(limits.idle_hz, 26.25 * 4800 / 4750)
    assert all(record.passed for record in report.records)
    assert {record.tag for record in report.records} == {"EF-2 at design", "EF-2 at idle"}


def test_the_hospital_meets_its_energy_code_by_recovery() -> None:
    """32,400 cfm is above 5,000: ceilings bind, and one option must hold; heat recovery does."""
    report = air_of("hospital")
    assert report.energy is not None
    assert report.energy.ceiling.value
    assert math.isclose(report.energy.total_cfm, 32400.0)
    assert all(h.net_cfm <= h.ceiling_cfm + 1e-6 for h in report.hoods)
    assert {o.name: o.fulfilled for o in report.energy.options}["heat recovery"]


@pytest.mark.parametrize("name", NAMES)
def test_every_item_can_say_why(name: str) -> None:
    """Hoods, fans, units and the kitchen each have a reasoning with steps."""
    report = air_of(name)
    items = {h.tag for h in report.hoods} | {f.tag for f in report.fans} | {u.tag for u in report.units} | {"kitchen"}
    assert set(report.reasons) >= items
    assert all(why.lines for item in items for why in report.reasons[item])


def test_a_job_that_says_nothing_of_its_air_still_reads_and_is_told_what_is_open() -> None:
    """Take the whole air side out of the cafe: no error of reading; what is not known is not guessed."""
    whole = changed("ferry-cafe")
    job = whole.model_copy(
        update={
            "air": AirSide(),
            "hoods": tuple(h.model_copy(update={"air": HoodAir()}) for h in whole.hoods),
            "exhaust_fans": tuple(f.model_copy(update={"air": FanAir()}) for f in whole.exhaust_fans),
        }
    )
    report = check_air(job)
    assert report.transfer_cfm is None
    assert report.energy is None
    assert report.ducts == ()
    assert report.fans[0].shaft_hp is None
    assert {f.code for f in report.findings if f.severity == "note"} >= {"AIR-TRANSFER-OPEN", "AIR-IDLE-UNPROVEN"}


def test_the_fixture_of_every_kind_gets_a_report() -> None:
    """The harbour canteen was written before the air side existed."""
    from tests.job.support import HARBOUR, MINIMAL

    for text in (HARBOUR, MINIMAL):
        report = check_air(read_job(text))
        assert report.hoods
        assert report.balances


def test_a_hood_without_appliances_goes_by_its_own_duty() -> None:
    """A note says so; the code's figure is that of its duty; no plume is guessed."""
    job = changed("school-kitchen")
    hoods = (job.hoods[0], job.hoods[1].model_copy(update={"appliances": ()}), job.hoods[2])
    report = check_air(job.model_copy(update={"hoods": hoods}))
    assert told(report) == set()
    assert [f.item for f in report.findings if f.code == "AIR-HOOD-EMPTY"] == ["H-2"]
    (row,) = [h for h in report.hoods if h.tag == "H-2"]
    assert row.code_cfm == 2400.0  # 8 ft x 300 cfm/ft, medium wall canopy
    assert row.plume_why_not == "no appliance stands under it"


def test_metric_and_inch_in_one_file_are_the_same_kitchen() -> None:
    """2,400 cfm is 4,077.6259 m3/h and 8 ft is 2.4384 m (exact units); the report agrees to a millionth."""
    metric = changed(
        "ferry-cafe",
        ("    airflow: 2,400 cfm\n", "    airflow: 4077.6259107 m3/h\n"),
        ("    length: 8 ft\n", "    length: 2.4384 m\n"),
        ("loss: 0.55 inwc", "loss: 136.99890 Pa"),
    )
    one, two = air_of("ferry-cafe"), check_air(metric)
    for a, b in zip(one.balances, two.balances, strict=True):
        assert math.isclose(a.transfer_cfm, b.transfer_cfm, rel_tol=1e-6)
    assert math.isclose(one.hoods[0].code_cfm, two.hoods[0].code_cfm, rel_tol=1e-9)
    assert math.isclose(one.fans[0].system_inwc, two.fans[0].system_inwc, rel_tol=1e-6)
    assert told(two) == set()
