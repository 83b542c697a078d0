"""Unit factors against values that no one here worked out."""

import fluids.constants
import pytest
import scipy.constants as sc

from galleyproof.units import parse

pytestmark = pytest.mark.outside


# Source: scipy.constants, whose tables are kept independently of ours. It builds the horsepower from
# 550 ft lbf/s and the Btu from the International Table, as we do; agreement to the last few bits is due.
@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("1000 W", "power_mech", 1000 / sc.hp),
        ("1 m", "length_ft", 1 / sc.foot),
        ("1 m", "length_inch", 1 / sc.inch),
        ("1 m/s", "air_velocity", sc.minute / sc.foot),
        ("1 L/s", "airflow", sc.liter * sc.minute / sc.foot**3),
        ("1 m3/h", "airflow", sc.minute / sc.hour / sc.foot**3),
        ("1 kW", "gas_heat", 1000 * sc.hour / sc.Btu_IT),
        ("1 kg", "mass", 1 / sc.lb),
        ("1 m2", "area", 1 / sc.foot**2),
        ("37 degC", "temperature", float(sc.convert_temperature(37, "Celsius", "Fahrenheit"))),
        ("-17.5 degC", "temperature", float(sc.convert_temperature(-17.5, "Celsius", "Fahrenheit"))),
        ("7 K", "temperature_difference", 7 / sc.degree_Fahrenheit),
    ],
)
def test_factors_agree_with_scipy(text, kind, expected):
    assert parse(text, kind) == pytest.approx(expected, rel=1e-14)


# Source: fluids.constants, a third table of the same definitions.
def test_factors_agree_with_fluids():
    assert parse("1 W", "power_mech") == pytest.approx(1 / fluids.constants.hp, rel=1e-14)
    assert parse("1 m", "length_inch") == pytest.approx(1 / fluids.constants.inch, rel=1e-14)
    assert parse("1 W", "gas_heat") == pytest.approx(fluids.constants.hour / fluids.constants.Btu_IT, rel=1e-14)


# Source: NIST SP 811 (2008), appendix B.8, factors to SI in seven digits; from memory, not seen again
# for this test. The tolerance is at most half a unit of the seventh digit.
@pytest.mark.parametrize(
    ("si_text", "kind", "to_si"),
    [
        ("1 m3/s", "airflow", 4.719474e-04),
        ("1 Pa", "static_pressure", 2.490889e02),
        ("1 W", "power_mech", 7.456999e02),
        ("1 W", "gas_heat", 2.930711e-01),
        ("1 m/s", "air_velocity", 5.08e-03),
        ("1 kg", "mass", 4.535924e-01),
        ("1 m2", "area", 9.290304e-02),
    ],
)
def test_factors_round_to_the_published_ones(si_text, kind, to_si):
    assert 1 / parse(si_text, kind) == pytest.approx(to_si, rel=2e-7)
