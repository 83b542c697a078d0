"""The year against closed forms, against conservation of energy, against worked examples and the traps of the trade.

The closed forms are the textbook's: heat = 60 min/h x 0.075 lb/ft3 x 0.24 Btu/(lb degF) x cfm x difference x hours for
standard dry air, fan power by the cube of the speed. Psychrometrics are compared with psychrolib. The worked examples
are those of worked_examples_air.csv that need a year; the weather they name lies beside this file or in pvlib's data.
"""

import csv
from pathlib import Path

import numpy as np
import psychrolib
import pvlib
import pytest
from tests.outside import air_answers
from tests.savings.kitchens import ALL_DAY, day, fan, hood, plant_of, run, unit, weather_of

from galleyproof.air.balance import Constant, Offset, Ratio
from galleyproof.air.fans import profile_energy_kwh
from galleyproof.air.psychro import AirState
from galleyproof.savings.calendar import Cooking
from galleyproof.savings.evidence import field_results
from galleyproof.savings.plant import Plant, Treatment
from galleyproof.savings.read import read_weather
from galleyproof.savings.spread import Factors, Widths, draw, drawn_savings
from galleyproof.savings.treatment import enthalpy_btu_per_lb, humidity_lb_per_lb, treat
from galleyproof.savings.year import BTU_PER_KWH, CASES

pytestmark = pytest.mark.outside

HERE = Path(__file__).parent
GREENSBORO = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
EXAMPLES = {row["id"]: row for row in csv.DictReader(
    line for line in (HERE / "worked_examples_air.csv").read_text(encoding="utf-8").splitlines() if line[0] != "#"
)}  # fmt: skip
HEAT_55, HEAT_65 = Treatment(heats_to_degf=55.0), Treatment(heats_to_degf=65.0)
WAKING = (6 * 60, 22 * 60)
ALMOST_DRY = 1e-7  # a dew point of -140 degF leaves some 1e-8 of water in the air


@pytest.fixture(scope="module")
def chicago():
    """Station 725300, dry bulb only; counted as dry air, as the examples count it."""
    text = (HERE / "weather" / "station_725300_dry_bulb.csv").read_text(encoding="ascii")
    degc = np.array([float(v) for line in text.splitlines()[1:] for v in line.split(",")])
    return weather_of(degc * 1.8 + 32.0)


@pytest.fixture(scope="module")
def greensboro():
    return read_weather(GREENSBORO.read_text(encoding="ascii"))


# --- closed forms -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("intensity", [0.0, 0.25, 0.5, 1.0])
def test_a_constant_year_in_closed_form(intensity):
    """A constant 25 degF, one speed: every figure by hand."""
    treatment = Treatment(heats_to_degf=60.0, heat_ratio=0.8)
    year = run(plant_of(treatment, least=0.4, cfm=3000.0, kw=2.0), weather_of(25.0), day(intensity))
    speed = 0.4 + 0.6 * intensity  # the map is straight from 90 to 130 degF, and so is the collar
    for case, ratio in (("constant volume", 1.0), ("two-speed", 1.0), ("demand control", speed)):
        energy = year.cases[case].energy
        assert energy.exhaust_kwh == pytest.approx(2.0 * ratio**3 * 8760.0, rel=1e-12)
        heat = 60 * 0.075 * 0.24 * 3000.0 * ratio * 35.0 * 8760.0
        assert energy.heat_btu == pytest.approx(heat, rel=ALMOST_DRY)
        assert energy.heat_therm == pytest.approx(heat / 0.8 / 1e5, rel=ALMOST_DRY)
        assert energy.exhaust_kcf == pytest.approx(3.0 * ratio * 60 * 8760, rel=1e-12)
        assert energy.cool_btu == energy.heat_kwh == energy.water_lb == 0.0


def test_a_constant_summer_in_closed_form():
    """95 degF dry bulb, 75 degF dew point, cooled to 55 degF saturated: enthalpies and humidities of psychrolib."""
    year = run(plant_of(Treatment(cools_to_degf=55.0, cooling_cop=3.5)), weather_of(95.0, 75.0))
    psychrolib.SetUnitSystem(psychrolib.IP)
    w_out = psychrolib.GetHumRatioFromTDewPoint(75.0, 14.696)
    w_in = psychrolib.GetHumRatioFromTDewPoint(55.0, 14.696)
    removed = psychrolib.GetMoistAirEnthalpy(95.0, w_out) - psychrolib.GetMoistAirEnthalpy(55.0, w_in)
    dry_air = 4.5 * 1000.0 * 8760.0
    expected = dry_air * (removed - (w_out - w_in) * (55.0 - 32.0))
    energy = year.cases["constant volume"].energy
    # psychrolib's constants differ in the fifth digit
    assert energy.cool_btu == pytest.approx(expected, rel=2e-4)
    assert energy.cool_kwh == pytest.approx(energy.cool_btu / 3.5 / BTU_PER_KWH, rel=1e-12)
    assert energy.water_lb == pytest.approx(dry_air * (w_out - w_in), rel=2e-4)


def test_drying_and_heating_again_in_closed_form():
    """Dried to a 50 degF dew point and heated to 70 degF: the coil at 50 degF, then sensible heat."""
    treatment = Treatment(heats_to_degf=70.0, max_dew_point_degf=50.0, reheats=True)
    energy = run(plant_of(treatment), weather_of(80.0, 70.0)).cases["constant volume"].energy
    psychrolib.SetUnitSystem(psychrolib.IP)
    w = psychrolib.GetHumRatioFromTDewPoint(50.0, 14.696)
    reheat = psychrolib.GetMoistAirEnthalpy(70.0, w) - psychrolib.GetMoistAirEnthalpy(50.0, w)
    assert energy.heat_btu == pytest.approx(4.5 * 1000.0 * 8760.0 * reheat, rel=2e-4)
    without = Treatment(heats_to_degf=70.0, max_dew_point_degf=50.0)
    assert run(plant_of(without), weather_of(80.0, 70.0)).cases["constant volume"].energy.heat_btu == 0.0


@pytest.mark.parametrize(("altitude_ft", "factor"), [(0.0, 1.08), (5000.0, 0.899), (7000.0, 1.08 * 0.772)])
def test_trap_13_the_factor_falls_with_altitude(altitude_ft, factor):
    energy = run(plant_of(HEAT_55, altitude=altitude_ft), weather_of(45.0)).cases["constant volume"].energy
    assert energy.heat_btu == pytest.approx(factor * 1000.0 * 10.0 * 8760.0, rel=0.0015)


def test_enthalpy_and_humidity_against_psychrolib_over_a_grid():
    psychrolib.SetUnitSystem(psychrolib.IP)
    dew = np.arange(-40.0, 85.0, 5.0)
    for psia in (14.696, 12.2, 10.1):
        ours = humidity_lb_per_lb(dew, psia)
        theirs = [psychrolib.GetHumRatioFromTDewPoint(float(t), psia) for t in dew]
        np.testing.assert_allclose(ours, theirs, rtol=2e-4)
        for w in ours:
            state = AirState(90.0, float(w), psia)
            assert enthalpy_btu_per_lb(np.array([90.0]), w)[0] == pytest.approx(state.enthalpy_btu_per_lb, rel=1e-12)


# --- conservation -----------------------------------------------------------------------------------------------

TREATMENTS = {
    "heated": Treatment(heats_to_degf=60.0),
    "heated and cooled": Treatment(heats_to_degf=55.0, cools_to_degf=72.0),
    "dried": Treatment(heats_to_degf=55.0, cools_to_degf=75.0, max_dew_point_degf=55.0),
    "dried and heated again": Treatment(
        heats_to_degf=65.0, cools_to_degf=75.0, max_dew_point_degf=48.0, reheats=True, electric_heat=True
    ),
}


@pytest.mark.parametrize("name", TREATMENTS)
@pytest.mark.parametrize("altitude_ft", [0.0, 5200.0])
def test_energy_and_water_are_conserved_hour_by_hour(greensboro, name, altitude_ft):
    """Enthalpy in, plus heat, less cold and the water's own heat, is enthalpy out; in every hour of every case."""
    treatment = TREATMENTS[name]
    cooking = (Cooking((7 * 60, 12 * 60 + 20), 0.4), Cooking((11 * 60, 13 * 60 + 10), 0.9))
    plant = plant_of(treatment, altitude=altitude_ft, cfm=4000.0)
    year = run(plant, greensboro, day(cooking=cooking, runs=((6 * 60 + 30, 15 * 60),)))
    (air,) = year.treated
    for case in CASES:
        hours = year.cases[case].hours
        dry = hours.makeup_cfm * air.dry_air_lb_per_h
        before = dry * enthalpy_btu_per_lb(greensboro.air_degf, air.outdoor_lb_per_lb)
        after = dry * enthalpy_btu_per_lb(air.supply_degf, air.supply_lb_per_lb)
        drained = hours.water_lb * (air.coil_degf - 32.0)
        residual = before + hours.heat_btuh - hours.cool_btuh - drained - after
        assert np.abs(residual).max() <= 1e-9 * np.abs(before).max()
        np.testing.assert_allclose(dry * (air.outdoor_lb_per_lb - air.supply_lb_per_lb), hours.water_lb, atol=1e-9)
        assert (hours.heat_btuh >= 0.0).all()
        assert (hours.cool_btuh >= 0.0).all()
        bought = hours.heat_therm * 1e5 + hours.heat_kw * BTU_PER_KWH
        np.testing.assert_allclose(bought * treatment.heat_ratio, hours.heat_btuh, rtol=1e-12)
        energy = year.cases[case].energy
        assert energy.heat_btu == pytest.approx(hours.heat_btuh.sum(), rel=1e-12)
        assert energy.exhaust_kwh == pytest.approx(hours.exhaust_kw.sum(), rel=1e-12)
    assert year.cases["demand control"].hours.makeup_cfm.max() > 0.0


def test_no_supply_is_wetter_than_saturated(greensboro):
    for treatment in TREATMENTS.values():
        air = treat(greensboro, treatment, 1000.0)
        saturated = humidity_lb_per_lb(air.supply_degf, 14.17)
        assert (air.supply_lb_per_lb <= saturated * 1.002).all()


@pytest.mark.parametrize("law", [Ratio(0.8), Offset(300.0), Constant()], ids=["ratio", "offset", "one flow"])
def test_make_up_is_that_of_the_balance(law):
    from galleyproof.air.balance import Makeup, makeup_cfm
    from galleyproof.savings.year import makeup_flow

    part = unit(HEAT_55, law=law, cfm=1500.0, least=0.3)
    scalar = Makeup("MAU-1", 1500.0, ("EF-1",), law, 0.3)
    flows = np.array([0.0, 1.0, 200.0, 400.0, 900.0, 1800.0, 2500.0])
    expected = [makeup_cfm(scalar, {"EF-1": float(f)}).value for f in flows]
    np.testing.assert_allclose(makeup_flow(part, flows), expected, rtol=1e-12)


# --- worked examples --------------------------------------------------------------------------------------------


def mmbtu(weather, treatment, *, cfm=1000.0, runs=(ALL_DAY,), case="constant volume", intensity=1.0, least=0.5):
    plant = plant_of(treatment, cfm=cfm, least=least)
    return run(plant, weather, day(intensity, runs=runs)).cases[case].energy.heat_btu / 1e6


def gas_therm(weather):
    plant = plant_of(Treatment(heats_to_degf=65.0, heat_ratio=0.8), cfm=4000.0)
    return run(plant, weather, day(runs=(WAKING,))).cases["constant volume"].energy.heat_therm


def saved_at_70_percent(weather):
    plant = plant_of(HEAT_65, cfm=4000.0, least=0.7)
    cases = run(plant, weather, day(0.0, runs=(WAKING,))).cases
    return (cases["constant volume"].energy.heat_btu - cases["demand control"].energy.heat_btu) / 1e6


ANSWERS = {
    "degree_hours_01": lambda c, g: mmbtu(c, HEAT_55),
    "degree_hours_02": lambda c, g: mmbtu(c, HEAT_65),
    "degree_hours_03": lambda c, g: 1.0 - mmbtu(c, HEAT_55) / mmbtu(c, HEAT_65),
    "degree_hours_04": lambda c, g: mmbtu(c, HEAT_65, cfm=4000.0, runs=(WAKING,)),
    "degree_hours_05": lambda c, g: gas_therm(c),
    "degree_hours_06": lambda c, g: saved_at_70_percent(c),
    "degree_hours_07": lambda c, g: mmbtu(weather_of(g.air_degf), HEAT_55),
    "degree_hours_08": lambda c, g: 24.0 * c.heating_degree_days_degf(65.0) / c.heating_degree_hours_degf(65.0),
}
NOT_RUN = {
    "makeup_cost_01": "a society journal's rule of money per cfm: no rule of ours, prices come from the job",
    "makeup_cost_02": "a share of two bills",
}


@pytest.mark.parametrize("name", ANSWERS)
def test_worked_example(name, chicago, greensboro):
    row = EXAMPLES[name]
    answer = ANSWERS[name](chicago, greensboro)
    assert answer == pytest.approx(float(row["expected_value"]), abs=float(row["tolerance"])), row["source"]


def test_every_example_left_to_the_savings_is_here():
    left = {name for name, why in air_answers.NOT_RUN.items() if why.startswith("weather/savings")}
    assert left == {*ANSWERS, *NOT_RUN}


def test_field_results_are_those_of_the_examples():
    """fan_energy_02, 10 and 12: shares a work paper, a profile and a paper state; the table must carry the same."""
    assert EXAMPLES["fan_energy_02"]["expected_value"] in {str(r.typical_ratio) for r in field_results("fan saving")}
    assert EXAMPLES["fan_energy_10"]["expected_value"] in {str(r.typical_ratio) for r in field_results("total saving")}
    assert EXAMPLES["fan_energy_12"]["expected_value"] in {str(r.typical_ratio) for r in field_results("mean flow")}


# --- traps ------------------------------------------------------------------------------------------------------


def test_trap_9_mean_speed_cubed_is_not_the_mean_of_cubes():
    """fan_energy_04, 07 and 08: 4 h at 1.0, 6 h at 0.8, 6 h at 0.6 of a 3 kW fan, through the whole engine."""
    cooking = (
        Cooking((6 * 60, 10 * 60), 1.0),
        Cooking((10 * 60, 16 * 60), 0.5),  # half way from 0.6 to 1
        Cooking((16 * 60, 22 * 60), 0.0),
    )
    plant = plant_of(Treatment(), least=0.6, kw=3.0)
    year = run(plant, weather_of(60.0), day(cooking=cooking, runs=(WAKING,)))
    case, constant = year.cases["demand control"], year.cases["constant volume"]
    daily = case.energy.exhaust_kwh / 365.0
    right, wrong = EXAMPLES["fan_energy_04"], EXAMPLES["fan_energy_08"]
    assert daily == pytest.approx(float(right["expected_value"]), abs=float(right["tolerance"]))
    assert daily == pytest.approx(profile_energy_kwh(3.0, [(4.0, 1.0), (6.0, 0.8), (6.0, 0.6)]), rel=1e-12)
    on = case.hours.exhaust_cfm > 0.0
    mean_speed = case.hours.exhaust_cfm[on].mean() / 1000.0
    assert 3.0 * mean_speed**3 * 16.0 == pytest.approx(float(wrong["expected_value"]), abs=float(wrong["tolerance"]))
    assert daily > 1.1 * float(wrong["expected_value"])
    share = 1.0 - case.energy.exhaust_kwh / constant.energy.exhaust_kwh
    assert share == pytest.approx(float(EXAMPLES["fan_energy_07"]["expected_value"]), abs=0.001)


def test_trap_9_within_an_hour_too():
    """Twenty minutes at full speed and forty at idle: the mean of the cubes of the hour, not the cube of its mean."""
    cooking = tuple(Cooking((60 * h, 60 * h + 20), 1.0) for h in range(24))
    year = run(plant_of(Treatment(), least=0.5), weather_of(60.0), day(cooking=cooking))
    kw = year.cases["demand control"].hours.exhaust_kw
    np.testing.assert_allclose(kw, (1.0 + 2.0 * 0.5**3) / 3.0, rtol=1e-12)


def test_trap_10_a_utility_base_includes_the_supply_fan():
    """7640 kWh per exhaust hp is more than any hp can take in a year; only with the supply fan beside it can it be."""
    base = 7640.0
    assert base > 8760.0 * 0.746
    plant = Plant((hood(),), (fan(kw=0.746),), (unit(Treatment(), kw=0.746),))
    energy = run(plant, weather_of(60.0)).cases["constant volume"].energy
    assert energy.exhaust_kwh == pytest.approx(8760.0 * 0.746)
    assert energy.exhaust_kwh < base < energy.fan_kwh
    paper = next(r for r in field_results("fan saving") if "work paper" in r.study)
    assert "includes the supply fan" in paper.remark


def test_trap_11_degree_days_undercount_degree_hours(chicago, greensboro):
    """A mild day has cold hours: daily means lose 2.6 percent of them at station 725300."""
    for weather, ratio in ((chicago, 0.974), (greensboro, None)):
        days, hours = 24.0 * weather.heating_degree_days_degf(65.0), weather.heating_degree_hours_degf(65.0)
        assert days < hours
        if ratio is not None:
            assert days / hours == pytest.approx(ratio, abs=0.0005)
    dry = weather_of(greensboro.air_degf)
    by_hours = run(plant_of(HEAT_65), dry).cases["constant volume"].energy.heat_btu
    assert by_hours == pytest.approx(1.08 * 1000.0 * greensboro.heating_degree_hours_degf(65.0), rel=ALMOST_DRY)
    assert by_hours > 1.08 * 1000.0 * 24.0 * greensboro.heating_degree_days_degf(65.0)


# --- the range --------------------------------------------------------------------------------------------------


def test_a_drawn_year_without_spread_is_the_year(greensboro):
    """The states' shortcut gives what hour by hour gives."""
    treatment = Treatment(heats_to_degf=60.0, cools_to_degf=75.0, max_dew_point_degf=55.0, heat_ratio=0.8)
    plant = Plant(
        (hood("H-1"), hood("H-2", idle=95.0, full=120.0)),
        (fan("EF-1", ("H-1", "H-2"), cfm=3000.0, drive=0.96), fan("EF-2", ("H-2",), cfm=900.0, variable=False)),
        (unit(treatment, tracks=("EF-1", "EF-2"), cfm=3500.0, least=0.4, law=Ratio(0.8), kw=1.2),),
    )
    cooking = (Cooking((8 * 60, 14 * 60), 0.3, ("H-1",)), Cooking((11 * 60 + 10, 13 * 60), 0.8))
    year = run(plant, greensboro, day(cooking=cooking, runs=((7 * 60, 15 * 60),), low_speed=((7 * 60, 9 * 60),)))
    one = np.ones(3)
    for against in ("constant volume", "two-speed"):
        draws = drawn_savings(year, Factors(one, 0.0 * one, one, one), against)
        before, after = year.cases[against].energy, year.cases["demand control"].energy
        np.testing.assert_allclose(draws.fan_kwh, before.fan_kwh - after.fan_kwh, rtol=1e-9)
        np.testing.assert_allclose(draws.therm, before.heat_therm - after.heat_therm, rtol=1e-9)
        np.testing.assert_allclose(draws.electric_kwh, before.electric_kwh - after.electric_kwh, rtol=1e-9)
        np.testing.assert_allclose(draws.site_ratio, 1.0 - after.site_btu / before.site_btu, rtol=1e-9)


def test_a_drawn_year_is_the_year_with_those_inputs():
    """Least speed 0.6 instead of 0.5, cooking 1.2 times as hard: run by hand."""
    weather, treatment = weather_of(30.0), Treatment(heats_to_degf=60.0)
    year = run(plant_of(treatment), weather, day(0.5))
    drawn = drawn_savings(year, Factors(np.array([1.2]), np.array([0.1]), np.ones(1), np.ones(1)), "constant volume")
    by_hand = run(plant_of(treatment, least=0.6), weather, day(0.6)).cases
    saved = by_hand["constant volume"].energy.fan_kwh - by_hand["demand control"].energy.fan_kwh
    assert drawn.fan_kwh[0] == pytest.approx(saved, rel=1e-12)


def test_draws_are_even_and_repeatable():
    widths = Widths(0.2, 0.1, 0.05)
    one, two, other = draw(widths, 20_000, 7), draw(widths, 20_000, 7), draw(widths, 20_000, 8)
    assert (one.intensity == two.intensity).all()
    assert not (one.intensity == other.intensity).all()
    for values, middle, width in (
        (one.intensity, 1.0, 0.2), (one.min_speed, 0.0, 0.1), (one.fan, 1.0, 0.05), (one.heat, 1.0, 0.05)
    ):  # fmt: skip
        assert abs(values - middle).max() <= width
        assert values.mean() == pytest.approx(middle, abs=0.01 * width * 3)
        assert values.std() == pytest.approx(width / np.sqrt(3.0), rel=0.02)  # of an even spread
