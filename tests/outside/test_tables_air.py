"""Air tables against the standard atmosphere, unit definitions and each other."""

from __future__ import annotations

import math

import pytest

from galleyproof.tables import air, load

pytestmark = pytest.mark.outside


def pressure_ratio(altitude_ft: float) -> float:
    """Standard atmosphere (ASHRAE Fundamentals, psychrometrics, equation 3): (1 - 6.8754e-6 Z)^5.2559."""
    return (1 - 6.8754e-6 * altitude_ft) ** 5.2559


@pytest.mark.parametrize("row", load("common_practice_air_density_altitude").all_rows(), ids=lambda r: r.key)
def test_density_by_altitude(row):
    """Printed factors agree with the atmosphere within 0.0015, the accuracy the source claims."""
    ratio = pressure_ratio(row.number("altitude_ft"))
    assert row.number("density_ratio_computed") == pytest.approx(ratio, abs=0.0001)
    assert row.number("density_ratio_printed") == pytest.approx(ratio, abs=0.0015)
    assert row.number("pressure_inhg") == pytest.approx(29.921 * ratio, abs=0.006)
    assert row.number("pressure_kpa") == pytest.approx(101.325 * ratio, rel=0.0002)
    assert row.number("density_lb_per_cuft") == pytest.approx(0.075 * ratio, abs=0.00006)
    assert row.number("sensible_btuh_per_cfm_degf") == pytest.approx(1.08 * ratio, abs=0.0006)


@pytest.mark.parametrize(("altitude_ft", "inhg"), [(6000, 23.98), (7000, 23.09), (8000, 22.23)])
def test_barometer_of_a_government_design_guide(altitude_ft: float, inhg: float):
    row = load("common_practice_air_density_altitude").exact(altitude_ft=altitude_ft)
    assert row.number("pressure_inhg") == pytest.approx(inhg, abs=0.005)


@pytest.mark.parametrize("row", load("common_practice_air_density_factor").all_rows(), ids=lambda r: r.key)
def test_density_by_altitude_and_temperature(row):
    """Pressure ratio x 530/(460 + t); the printed table agrees within 0.0025."""
    ratio = pressure_ratio(row.number("altitude_ft")) * 530 / (460 + row.number("t_degf"))
    assert row.number("factor_computed") == pytest.approx(ratio, abs=0.00011)
    printed = row.number_or_none("factor_printed")
    if printed is not None:
        assert printed == pytest.approx(ratio, abs=0.0025)


@pytest.mark.parametrize(
    ("altitude_ft", "t_degf", "ratio"), [(0, 400, 0.616), (6000, 200, 0.643), (5000, 70, 0.832), (0, 70, 1.0)]
)
def test_density_look_up(altitude_ft: float, t_degf: float, ratio: float):
    """Fan-engineering reference page."""
    assert air.density_ratio(altitude_ft, t_degf).value == pytest.approx(ratio, abs=0.001)


def test_density_between_rows_stays_close_to_the_formula():
    """Straight lines over 100 degF and 1000 ft overestimate a convex curve by less than 1 percent."""
    for altitude in (500, 3300, 9500):
        for t in (85, 150, 333, 650):
            exact = pressure_ratio(altitude) * 530 / (460 + t)
            assert exact <= air.density_ratio(altitude, t).value * 1.0002
            assert air.density_ratio(altitude, t).value == pytest.approx(exact, rel=0.01)


def test_energy_code_caps_are_seven_tenths_of_the_mechanical_code():
    """Property of the published pair: 0.70 everywhere, 0.84 for back shelf over light duty."""
    ratios = {}
    for row in load("ashrae90_1_2019_table_6_5_7_2_2").all_rows():
        cap = row.number_or_none("max_cfm_per_ft")
        style, duty = row.label("style"), row.label("duty")
        least = load("imc_2021_507_exhaust_rates").exact(hood_type="I", style=style, duty=duty)
        assert (cap is None) == (least.number_or_none("min_cfm_per_ft") is None)
        if cap is not None:
            ratios[style, duty] = cap / least.number("min_cfm_per_ft")
    assert len(ratios) == 17
    assert ratios.pop(("back_shelf_pass_over", "light")) == pytest.approx(0.84)
    assert all(r == pytest.approx(0.70) for r in ratios.values())


def test_ten_foot_heavy_canopy():
    """Trap of the reference collection: 4000 cfm unlisted minimum and 2800 cfm cap are no contradiction."""
    assert 10 * air.unlisted_hood_min_cfm_per_ft("I", "wall_canopy", "heavy").value == 4000
    assert 10 * air.listed_hood_max_cfm_per_ft("wall_canopy", "heavy").value == pytest.approx(2800)


def test_open_burner_range_differs_by_scheme():
    """Trap of the reference collection: heavy in the IMC, medium in the EN quick method."""
    assert air.duty_class("open_burner_range", "gas").value == "heavy"
    assert air.duty_class("open_burner_range", "gas", "en16282_quick").value == "medium"


def test_fan_laws_are_consistent():
    """Affinity laws: shaft power is flow times pressure; in a fixed system flow follows speed."""
    for change in ("speed", "density", "diameter", "flow", "pressure"):
        power = air.fan_law_exponent(change, "shaft_power").value
        flow = 1.0 if change == "flow" else air.fan_law_exponent(change, "flow").value
        pressure = 1.0 if change == "pressure" else air.fan_law_exponent(change, "pressure").value
        assert power == pytest.approx(flow + pressure), change
    assert air.fan_law_exponent("pressure", "speed").value * air.fan_law_exponent("speed", "pressure").value == 1


def test_fan_constants_follow_from_units():
    """1 hp = 33,000 ft lbf/min; 1 in wc = 5.1926 lbf/ft2 (68 degF); g = 32.174 ft/s2."""
    lbf_per_sqft = 62.311 / 12
    assert air.fan_constant("air_hp_divisor").value == pytest.approx(33000 / lbf_per_sqft, rel=0.001)
    assert air.fan_constant("kw_per_hp").value == pytest.approx(550 * 0.3048 * 4.4482216 / 1000, abs=0.00005)
    any_density = 60 * math.sqrt(2 * 32.174 * lbf_per_sqft)
    assert air.fan_constant("velocity_fpm_any_density").value == pytest.approx(any_density, rel=0.001)
    assert air.fan_constant("velocity_pressure_fpm").value == pytest.approx(any_density / math.sqrt(0.075), rel=0.001)


def test_roughness_in_two_units():
    """1 ft = 304.8 mm; both columns are rounded to one or two digits."""
    for row in load("common_practice_duct_roughness").all_rows():
        assert row.number("roughness_mm") == pytest.approx(row.number("roughness_ft") * 304.8, rel=0.04)
    assert air.duct_roughness_ft("galvanized_steel").value == 0.0003


def test_plume_constant_in_seconds():
    """18 m3/h is 0.005 m3/s, the textbook constant of a point-source plume."""
    assert air.en16282_number("plume_constant").value / 3600 == air.en16282_number("plume_constant_si").value


def test_negative_pressure_limit_in_pascal():
    """0.02 in wc is 4.98 Pa (1 in wc = 249.09 Pa)."""
    limit = air.rule("imc_mixed_506_508_rules", "kitchen_negative_max_inwc").value
    assert limit.value is not None
    assert limit.value * 249.09 == pytest.approx(4.98, abs=0.005)


@pytest.mark.parametrize(
    ("standard", "cfm"),
    [("ASHRAE 90.1", 5000), ("California Title 24", 5000), ("Washington State Energy Code", 2000)],
)
def test_cap_threshold_is_a_parameter_of_the_code(standard: str, cfm: float):
    """Trap of the reference collection."""
    assert air.rule("energy_codes_mixed_kitchen_rules", "hood_rate_cap_threshold_cfm", standard).value.value == cfm
