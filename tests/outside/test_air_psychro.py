"""Moist air and the atmosphere over grids, against psychrolib: another hand's program for the same handbook."""

from __future__ import annotations

import itertools

import fluids
import psychrolib
import pytest
import scipy.constants as sc

from galleyproof.air import psychro
from galleyproof.air.psychro import AirState, Stream, state

pytestmark = pytest.mark.outside

TEMPERATURES = (-40.0, -10.0, 10.0, 30.0, 32.0, 33.0, 50.0, 70.0, 95.0, 120.0, 160.0)
HUMIDITIES = (0.02, 0.2, 0.5, 0.8, 1.0)
ALTITUDES = (0.0, 2500.0, 5280.0, 9000.0)
GRID = tuple(itertools.product(TEMPERATURES, HUMIDITIES, ALTITUDES))

# Both programs write down the same published equations, so only rounding may differ ...
SAME = 1e-12
# ... and how each finds a root: psychrolib stops looking for a wet bulb at 0.001 degC.
ROOT_DEGF = 0.002


@pytest.fixture(autouse=True)
def inch_pound():
    """Psychrolib has one unit system for the whole process: set it for each test and leave it as it was."""
    before = psychrolib.GetUnitSystem()
    psychrolib.SetUnitSystem(psychrolib.IP)
    yield
    if before is not None:
        psychrolib.SetUnitSystem(before)


@pytest.mark.parametrize("altitude_ft", [-1000.0, 0.0, 500.0, 2500.0, 5280.0, 9000.0, 14000.0, 30000.0])
def test_barometer(altitude_ft: float):
    """Standard atmosphere: psychrolib's ``GetStandardAtmPressure``."""
    expected = psychrolib.GetStandardAtmPressure(altitude_ft)
    assert psychro.pressure_at_altitude_psia(altitude_ft) == pytest.approx(expected, rel=SAME)


@pytest.mark.parametrize(("altitude_ft", "rel"), [(-1000, 1e-5), (0, 1e-5), (5280, 1e-4), (14000, 1e-3), (36000, 4e-3)])
def test_barometer_against_the_standard_atmosphere(altitude_ft: float, rel: float):
    """The 1976 standard atmosphere of ``fluids``: layers and geopotential height, not the handbook's short formula."""
    expected = fluids.ATMOSPHERE_1976(altitude_ft * sc.foot).P / sc.psi
    assert psychro.pressure_at_altitude_psia(altitude_ft) == pytest.approx(expected, rel=rel)


@pytest.mark.parametrize(
    ("air_degf", "psia"), [(32.018, 0.08865), (70.0, 0.3632), (100.0, 0.9503), (212.0, 14.709), (300.0, 67.03)]
)
def test_saturation_pressure_of_steam_tables(air_degf: float, psia: float):
    """Steam tables (from memory), another formulation than the handbook's: within 0.1 percent."""
    assert psychro.saturation_pressure_psia(air_degf) == pytest.approx(psia, rel=0.001)


@pytest.mark.parametrize("air_degf", [-148.0, -100.0, *TEMPERATURES, 212.0, 300.0, 392.0])
def test_saturation_pressure(air_degf: float):
    """Over ice and over water; at 32 degF psychrolib is on the ice side too."""
    expected = psychrolib.GetSatVapPres(air_degf)
    assert psychro.saturation_pressure_psia(air_degf) == pytest.approx(expected, rel=SAME)


@pytest.mark.parametrize(("air_degf", "humidity", "altitude_ft"), GRID)
def test_state_of_moist_air(air_degf: float, humidity: float, altitude_ft: float):
    """Humidity ratio, enthalpy, volume, density, dew point and wet bulb of one state."""
    pressure = psychro.pressure_at_altitude_psia(altitude_ft)
    air = state(air_degf, relative_humidity_ratio=humidity, pressure_psia=pressure)
    w = psychrolib.GetHumRatioFromRelHum(air_degf, humidity, pressure)
    assert air.humidity_lb_per_lb == pytest.approx(w, rel=SAME)
    assert air.relative_humidity_ratio == pytest.approx(humidity, rel=1e-9)
    assert air.enthalpy_btu_per_lb == pytest.approx(psychrolib.GetMoistAirEnthalpy(air_degf, w), rel=SAME, abs=1e-12)
    assert air.volume_cuft_per_lb == pytest.approx(psychrolib.GetMoistAirVolume(air_degf, w, pressure), rel=SAME)
    assert air.density_lb_per_cuft == pytest.approx(psychrolib.GetMoistAirDensity(air_degf, w, pressure), rel=SAME)
    assert air.vapor_pressure_psia == pytest.approx(psychrolib.GetVapPresFromRelHum(air_degf, humidity), rel=SAME)
    dew = psychrolib.GetTDewPointFromRelHum(air_degf, humidity)
    assert air.dew_point_degf == pytest.approx(dew, abs=1e-6)
    wet = psychrolib.GetTWetBulbFromHumRatio(air_degf, w, pressure)
    assert air.wet_bulb_degf == pytest.approx(wet, abs=ROOT_DEGF)


@pytest.mark.parametrize(
    ("air_degf", "depression", "altitude_ft"),
    list(itertools.product((20.0, 45.0, 75.0, 95.0, 110.0), (0.0, 2.0, 8.0), ALTITUDES)),
)
def test_state_from_wet_bulb_and_dew_point(air_degf: float, depression: float, altitude_ft: float):
    """Psychrolib's ``GetHumRatioFromTWetBulb`` and ``GetHumRatioFromTDewPoint``."""
    pressure = psychro.pressure_at_altitude_psia(altitude_ft)
    wet = air_degf - depression
    by_wet = psychrolib.GetHumRatioFromTWetBulb(air_degf, wet, pressure)
    if by_wet > 1e-6:  # colder than the driest air can be: ours refuses, psychrolib gives its floor
        ours = state(air_degf, wet_bulb_degf=wet, pressure_psia=pressure)
        assert ours.humidity_lb_per_lb == pytest.approx(by_wet, rel=SAME, abs=1e-9)
        assert ours.wet_bulb_degf == pytest.approx(wet, abs=1e-6)
    by_dew = psychrolib.GetHumRatioFromTDewPoint(wet, pressure)
    ours = state(air_degf, dew_point_degf=wet, pressure_psia=pressure)
    assert ours.humidity_lb_per_lb == pytest.approx(by_dew, rel=SAME)
    assert ours.dew_point_degf == pytest.approx(wet, abs=1e-9)


@pytest.mark.parametrize(
    ("altitude_ft", "air_degf"), list(itertools.product(ALTITUDES, (-20.0, 40.0, 70.0, 150.0, 600.0)))
)
def test_density_ratio_is_that_of_dry_air(altitude_ft: float, air_degf: float):
    """Psychrolib's ``GetDryAirDensity`` over the same at 70 degF and sea level."""
    pressure = psychrolib.GetStandardAtmPressure(altitude_ft)
    expected = psychrolib.GetDryAirDensity(air_degf, pressure) / psychrolib.GetDryAirDensity(70.0, 14.696)
    assert psychro.density_ratio(altitude_ft, air_degf).value == pytest.approx(expected, rel=SAME)


def test_humidity_left_out_of_the_density_ratio_is_about_two_percent():
    """The docstring's bound: a hood collar of 120 degF with the dew point of 75 degF air."""
    dry = AirState(120.0, 0.0).density_lb_per_cuft
    moist = state(120.0, dew_point_degf=75.0).density_lb_per_cuft
    assert 0.98 < moist / dry < 1.0


@pytest.mark.parametrize("share", [0.1, 0.37, 0.5, 0.9])
@pytest.mark.parametrize(
    ("one", "two"), [((10.0, 0.9), (75.0, 0.5)), ((95.0, 0.4), (70.0, 0.6)), ((40.0, 0.3), (40.0, 0.9))]
)
def test_mixing_conserves(one: tuple[float, float], two: tuple[float, float], share: float):
    """Enthalpy and water by psychrolib on both sides of the mix; nothing is lost."""
    a = state(one[0], relative_humidity_ratio=one[1])
    b = state(two[0], relative_humidity_ratio=two[1])
    streams = [Stream(1000.0 * share, a), Stream(1000.0 * (1.0 - share), b)]
    mix = psychro.mixed(streams)

    def mass(stream: Stream) -> float:
        air = stream.air
        volume = psychrolib.GetMoistAirVolume(air.air_degf, air.humidity_lb_per_lb, air.pressure_psia)
        return stream.air_cfm / volume

    def enthalpy(air: AirState) -> float:
        return psychrolib.GetMoistAirEnthalpy(air.air_degf, air.humidity_lb_per_lb)

    flow = sum(mass(s) for s in streams)
    assert enthalpy(mix) * flow == pytest.approx(sum(mass(s) * enthalpy(s.air) for s in streams), rel=1e-6)
    water = sum(mass(s) * s.air.humidity_lb_per_lb for s in streams)
    assert mix.humidity_lb_per_lb * flow == pytest.approx(water, rel=1e-6)
    assert min(one[0], two[0]) - 1e-9 <= mix.air_degf <= max(one[0], two[0]) + 1e-9


@pytest.mark.parametrize("altitude_ft", ALTITUDES)
@pytest.mark.parametrize("rise_degf", [-25.0, 40.0, 85.0])
def test_sensible_heat_against_enthalpy(rise_degf: float, altitude_ft: float):
    """1.08 x density ratio against the enthalpy of the same dry air, counted at 70 degF: within 0.3 percent.

    0.075 lb/ft3 is rounded (dry air of 70 degF at 14.696 psia weighs 0.0749).
    """
    pressure = psychrolib.GetStandardAtmPressure(altitude_ft)
    mass = 1000.0 * 60.0 * psychrolib.GetDryAirDensity(70.0, pressure)
    expected = mass * (psychrolib.GetDryAirEnthalpy(70.0 + rise_degf) - psychrolib.GetDryAirEnthalpy(70.0))
    ratio = psychro.density_ratio(altitude_ft, 70.0).value
    assert psychro.sensible_heat_btuh(1000.0, rise_degf, ratio).value == pytest.approx(expected, rel=0.003)
