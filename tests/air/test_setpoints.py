"""Set-points: the map, the seven reasons for a lowest speed, limits of a drive from readings, make-up at both ends.

Expected numbers are worked by hand from the trade's rules (common practice) and the fan laws, beside each test.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from galleyproof.air.balance import Constant, Makeup, Offset, Ratio
from galleyproof.air.setpoints import (
    TIMINGS,
    IdleFacts,
    MinimumSpeed,
    SpeedMap,
    TabReading,
    drive_setpoints,
    expected_amps,
    hood_speed,
    minimum_speed,
    tracking_limits,
)

# --- Temperature to speed -------------------------------------------------------------------------------------

MAP = SpeedMap(90.0, 120.0, 0.5)


@pytest.mark.parametrize(
    ("collar_degf", "speed"), [(70.0, 0.5), (90.0, 0.5), (97.5, 0.625), (105.0, 0.75), (120.0, 1.0), (180.0, 1.0)]
)
def test_map(collar_degf: float, speed: float):
    """Practice: N = N_min + (1 - N_min) (T - T_low) / (T_high - T_low), held within N_min and 1."""
    assert MAP.speed_ratio(collar_degf) == pytest.approx(speed)


def test_a_map_without_turndown_always_runs_full():
    assert {SpeedMap(90.0, 120.0, 1.0).speed_ratio(t) for t in (60.0, 100.0, 150.0)} == {1.0}


def test_a_hood_follows_its_hottest_sensor_and_not_the_mean():
    """Field case: an average hides one hot collar; start and speed follow the hottest."""
    asked = hood_speed(MAP, [80.0, 118.0, 80.0])
    assert asked.value == pytest.approx(MAP.speed_ratio(118.0))
    assert asked.value > MAP.speed_ratio((80.0 + 118.0 + 80.0) / 3.0)
    assert any("never the mean" in line for line in asked.lines())


def test_a_broken_sensor_sends_its_hood_to_full_speed_and_says_which():
    asked = hood_speed(MAP, [80.0, None])
    assert asked.value == 1.0
    assert any("sensor 2 is broken" in line for line in asked.lines())


# --- The lowest speed -----------------------------------------------------------------------------------------

# 3200 cfm at 54 Hz; each reason alone would allow: 40, 25, (50), 36.7, 37, 30 and 35 percent.
FACTS = IdleFacts(
    design_cfm=3200.0,
    design_hz=54.0,
    captured_cfm=1280.0,
    listing_cfm=800.0,
    flue_cfm=300.0,
    reduction_ratio=0.50,
    duct_sqft=2.35,
    min_hz=20.0,
    makeup_min_ratio=0.30,
    stable_ratio=0.35,
)


def governing(found: MinimumSpeed) -> list[int]:
    return [reason.number for reason in found.reasons if reason.governs]


def test_all_seven_are_told_with_their_values():
    """Practice, section 4: capture, listing and flue, code, duct, drive, make-up, wind."""
    found = minimum_speed(FACTS)
    values = [0.40, 0.25, 0.50, 500.0 * 2.35 / 3200.0, 20.0 / 54.0, 0.30, 0.35]
    assert [r.ratio for r in found.reasons] == [pytest.approx(v) for v in values]
    assert [r.number for r in found.reasons] == [1, 2, 3, 4, 5, 6, 7]
    assert found.ratio == pytest.approx(0.40)
    assert governing(found) == [1]
    assert len(found.lines()) == 7
    assert [line.endswith("<- governs") for line in found.lines()] == [True] + [False] * 6
    assert "1280 of 3200 cfm" in found.lines()[0]
    assert all(r.basis for r in found.reasons)


@pytest.mark.parametrize(
    ("number", "change", "ratio"),
    [
        (1, {"captured_cfm": 2080.0}, 0.65),
        (2, {"listing_cfm": 2000.0}, 0.625),
        (2, {"flue_cfm": 1600.0}, 0.50),
        (4, {"duct_sqft": 4.0}, 0.625),  # 500 fpm x 4 sq ft = 2000 of 3200 cfm
        (5, {"min_hz": 30.0}, 30.0 / 54.0),
        (6, {"makeup_min_ratio": 0.55}, 0.55),
        (7, {"stable_ratio": 0.60}, 0.60),
    ],
)
def test_each_reason_can_govern(number: int, change: dict[str, float], ratio: float):
    found = minimum_speed(replace(FACTS, **change))
    assert found.ratio == pytest.approx(ratio)
    assert governing(found) == [number]


@pytest.mark.parametrize(
    ("facts", "number", "ratio"),
    [
        (IdleFacts(3200.0, captured_cfm=1600.0), 1, 0.5),
        (IdleFacts(3200.0, listing_cfm=1600.0), 2, 0.5),
        (IdleFacts(3200.0, flue_cfm=320.0), 2, 0.1),
        (IdleFacts(3200.0, duct_sqft=3.2), 4, 0.5),
        (IdleFacts(3200.0, min_hz=24.0), 5, 0.4),
        (IdleFacts(3200.0, makeup_min_ratio=0.5), 6, 0.5),
        (IdleFacts(3200.0, stable_ratio=0.3), 7, 0.3),
    ],
)
def test_each_reason_alone(facts: IdleFacts, number: int, ratio: float):
    found = minimum_speed(facts)
    assert (found.ratio, governing(found)) == (pytest.approx(ratio), [number])


def test_the_energy_code_is_a_capability_and_never_raises_the_speed():
    """ASHRAE 90.1 asks that controls CAN cut by half, not that the hood idles there (a common misreading)."""
    lower = minimum_speed(replace(FACTS, captured_cfm=1000.0))
    assert lower.ratio < 0.50
    assert 3 not in governing(lower)
    assert lower.able_to_halve is True
    higher = minimum_speed(replace(FACTS, captured_cfm=2080.0))
    assert higher.ratio == pytest.approx(0.65)
    assert higher.able_to_halve is False
    assert minimum_speed(replace(FACTS, reduction_ratio=None)).able_to_halve is None
    assert "no order to idle there" in lower.lines()[2]


def test_when_nobody_knows_a_reason_the_fan_may_not_slow():
    found = minimum_speed(IdleFacts(3200.0, reduction_ratio=0.5))
    assert found.ratio == 1.0
    assert governing(found) == []
    assert found.able_to_halve is False
    assert "prove it with hot idling appliances" in found.lines()[0]


def test_a_clause_that_is_read_at_design_only_sets_no_bound():
    """IMC 506.3.4 does not say at which flow; under the milder reading the duct gives no lowest speed at all."""
    mild = minimum_speed(replace(FACTS, duct_sqft=4.0, duct_reading="at design"))
    assert mild.ratio == pytest.approx(0.40)
    assert mild.reasons[3].ratio is None
    assert "no bound at idle" in mild.lines()[3]
    assert minimum_speed(IdleFacts(3200.0, duct_sqft=4.0, duct_reading="at design")).ratio == 1.0


def test_a_reason_above_full_speed_stops_at_full_speed():
    """A duct so large that even design flow is too slow: the duct is wrong, and the lowest speed is full speed."""
    assert minimum_speed(replace(FACTS, duct_sqft=8.0)).ratio == 1.0


def test_two_reasons_that_are_level_both_govern():
    assert governing(minimum_speed(replace(FACTS, stable_ratio=0.40))) == [1, 7]


# --- Limits of a drive ----------------------------------------------------------------------------------------

READING = TabReading(measured_cfm=3150.0, measured_hz=54.0, measured_a=4.2, measured_inwc=1.20)


def test_limits_from_one_reading():
    """Fan laws on a fixed system: frequency with flow, pressure with its square.

    Torque current sqrt(4.2^2 - 2^2) = 3.693 A goes with the square of speed, the 2 A of the field stay.
    """
    found = drive_setpoints(READING, design_cfm=3000.0, idle_cfm=1800.0, full_load_a=5.0, no_load_ratio=0.40)
    assert found.design_hz == pytest.approx(51.43, abs=0.005)
    assert found.idle_hz == pytest.approx(30.86, abs=0.005)
    assert found.design_inwc == pytest.approx(1.088, abs=0.001)
    assert found.idle_inwc == pytest.approx(0.392, abs=0.001)
    assert found.design_a == pytest.approx(3.898, abs=0.005)
    assert found.idle_a == pytest.approx(2.335, abs=0.005)
    assert found.reachable
    assert any("54 Hz x 3000 / 3150 cfm" in line for line in found.steps)
    assert found.basis


def test_limits_at_the_reading_itself():
    found = drive_setpoints(READING, design_cfm=3150.0, idle_cfm=3150.0, full_load_a=5.0)
    assert (found.design_hz, found.design_inwc) == (pytest.approx(54.0), pytest.approx(1.20))
    assert found.design_a == found.idle_a == pytest.approx(4.2)


def test_a_design_flow_beyond_the_line_frequency_is_not_reachable():
    """3600 of 3150 cfm at 54 Hz takes 61.7 Hz."""
    found = drive_setpoints(READING, design_cfm=3600.0, idle_cfm=1800.0, full_load_a=9.0)
    assert found.design_hz == pytest.approx(61.71, abs=0.01)
    assert not found.reachable
    assert any("change the sheave or the fan" in line for line in found.steps)
    assert drive_setpoints(READING, design_cfm=3600.0, idle_cfm=1800.0, full_load_a=9.0, max_hz=65.0).reachable


def test_a_design_flow_beyond_the_motor_is_not_reachable():
    found = drive_setpoints(READING, design_cfm=3450.0, idle_cfm=1800.0, full_load_a=4.5)
    assert found.design_hz < 60.0
    assert found.design_a > 4.5
    assert not found.reachable
    assert any("above the nameplate's 4.5 A" in line for line in found.steps)


def test_no_pressure_read_no_pressure_expected():
    found = drive_setpoints(replace(READING, measured_inwc=None), design_cfm=3000.0, idle_cfm=1800.0, full_load_a=5.0)
    assert found.design_inwc is None
    assert found.idle_inwc is None


def test_amperes_have_a_floor_at_the_current_of_the_field():
    """A fan that hardly turns still draws its magnetising current (induction motor, constant volts per hertz)."""
    assert expected_amps(4.2, 0.0, full_load_a=5.0, no_load_ratio=0.40).value == pytest.approx(2.0)
    assert expected_amps(4.2, 1.0, full_load_a=5.0, no_load_ratio=0.40).value == pytest.approx(4.2)
    assert expected_amps(4.2, 0.5, full_load_a=5.0, no_load_ratio=0.0).value == pytest.approx(4.2 / 4.0)
    # A reading below that current is a motor of another kind: it stays.
    assert expected_amps(1.5, 0.5, full_load_a=5.0, no_load_ratio=0.40).value == pytest.approx(1.5)


# --- Make-up at both ends -------------------------------------------------------------------------------------


def unit(law: Ratio | Offset | Constant, least: float = 0.0, design: float = 3150.0) -> Makeup:
    return Makeup("MUA-1", design, ("exhaust",), law, least)


def test_ratio_shrinks_transfer_and_offset_keeps_it():
    """4200 and 2100 cfm of exhaust (worked examples of make-up balance, without the rooftop unit)."""
    ratio = tracking_limits(unit(Ratio(0.75)), 4200.0, 2100.0)
    assert (ratio.design_cfm, ratio.idle_cfm) == (3150.0, 1575.0)
    assert (ratio.design_transfer_cfm, ratio.idle_transfer_cfm) == (1050.0, 525.0)
    offset = tracking_limits(unit(Offset(1050.0)), 4200.0, 2100.0)
    assert (offset.design_cfm, offset.idle_cfm) == (3150.0, 1050.0)
    assert (offset.design_transfer_cfm, offset.idle_transfer_cfm) == (1050.0, 1050.0)
    assert not ratio.clipped_at_idle
    assert not offset.clipped_at_idle


def test_a_burner_that_cannot_follow_blows_the_kitchen_positive():
    """Site question: make-up trips on low flow at idle, or stays up; offset runs out of turndown first."""
    limits = tracking_limits(unit(Offset(1050.0), least=0.75), 4200.0, 2100.0)
    assert limits.idle_cfm == pytest.approx(2362.5)
    assert limits.clipped_at_idle
    assert limits.idle_transfer_cfm == pytest.approx(-262.5)


def test_make_up_locked_at_full_while_exhaust_idles():
    """Typical mistake of the trade: 3150 cfm in against 2100 out."""
    limits = tracking_limits(unit(Constant()), 4200.0, 2100.0)
    assert limits.idle_transfer_cfm == pytest.approx(-1050.0)


def test_a_unit_that_is_too_small_leaves_the_rest_to_transfer():
    limits = tracking_limits(unit(Ratio(0.8), design=2500.0), 4200.0, 2100.0)
    assert (limits.design_cfm, limits.idle_cfm) == (2500.0, pytest.approx(1680.0))
    assert limits.design_transfer_cfm == pytest.approx(1700.0)


# --- Delays ---------------------------------------------------------------------------------------------------


def test_delays_lie_where_the_trade_starts():
    """Practice, section 3 and 7: up in 3 to 20 s, down in 20 to 180 s, hold 1 to 10 min, run on 10 to 60 min."""
    by_name = {timing.name: (timing.low_s, timing.high_s) for timing in TIMINGS}
    assert by_name["ramp up, 0 to 100 %"] == (3.0, 20.0)
    assert by_name["ramp down, 100 to 0 %"] == (20.0, 180.0)
    assert by_name["hold after the last sign of cooking"] == (60.0, 600.0)
    assert by_name["fans off after the last heat"] == (600.0, 3600.0)
    for timing in TIMINGS:
        assert (
            timing.verdict(timing.usual_s) == timing.verdict(timing.low_s) == timing.verdict(timing.high_s) == "usual"
        )
        assert timing.verdict(math.nextafter(timing.low_s, 0.0)) == "short"
        assert timing.verdict(timing.high_s + 1.0) == "long"
