"""The four look-up policies, on any table; and the refusals of the typed look-ups."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from galleyproof.errors import GalleyproofError
from galleyproof.findings import Citation
from galleyproof.tables import (
    Column,
    Table,
    TableError,
    air,
    class2,
    clearances,
    conductors,
    editions,
    enclosures,
    load,
    motors,
    protection,
    raceways,
    sensors,
)

NUMBERS = st.floats(min_value=-1e6, max_value=1e6, allow_nan=False).map(lambda x: round(x, 3))


def table_of(pairs: list[tuple[float, float]]) -> Table:
    column = {"kind": "number", "unit": "A", "authority": "published", "confidence": "high"}
    return Table(
        name="invented",
        area="tests",
        standard="invented",
        edition="1",
        table="Table 1",
        title="",
        columns=(Column(name="key_a", **column), Column(name="value_a", **column)),
        rows=tuple(pairs),
        source="",
        footnotes=(),
        first_typing="",
        second_typing="",
        csv_sha256="",
    )


TABLES = st.dictionaries(NUMBERS, NUMBERS, min_size=1, max_size=12).map(lambda d: table_of(list(d.items())))


def keys_of(table: Table) -> list[float]:
    return sorted(row.number("key_a") for row in table.all_rows())


@given(TABLES, NUMBERS)
def test_at_least_is_the_first_row_not_below(table: Table, value: float):
    fitting = [k for k in keys_of(table) if k >= value]
    if fitting:
        assert table.at_least("key_a", value).number("key_a") == fitting[0]
    else:
        with pytest.raises(TableError, match="above the last row"):
            table.at_least("key_a", value)


@given(TABLES, NUMBERS)
def test_at_most_is_the_last_row_not_above(table: Table, value: float):
    fitting = [k for k in keys_of(table) if k <= value]
    if fitting:
        assert table.at_most("key_a", value).number("key_a") == fitting[-1]
    else:
        with pytest.raises(TableError, match="below the first row"):
            table.at_most("key_a", value)


@given(TABLES, NUMBERS)
def test_exact_never_rounds(table: Table, value: float):
    if value in keys_of(table):
        assert table.exact(key_a=value).number("key_a") == value
    else:
        with pytest.raises(TableError, match="is not a row of invented-1 Table 1; nearest: key_a="):
            table.exact(key_a=value)


@given(TABLES, NUMBERS)
def test_interpolate_stays_between_its_two_rows_and_refuses_outside(table: Table, value: float):
    keys = keys_of(table)
    if not keys[0] <= value <= keys[-1]:
        with pytest.raises(TableError, match="outside the rows"):
            table.interpolate("key_a", value, "value_a")
        return
    low = table.at_most("key_a", value).number("value_a")
    high = table.at_least("key_a", value).number("value_a")
    found = table.interpolate("key_a", value, "value_a")
    slack = 1e-9 * max(1.0, abs(low), abs(high))
    assert min(low, high) - slack <= found <= max(low, high) + slack


@given(st.floats(0.01, 10), st.floats(-50, 50), st.floats(0, 1))
def test_interpolate_is_a_straight_line(slope: float, start: float, share: float):
    table = table_of([(0.0, start), (10.0, start + 10.0 * slope)])
    assert table.interpolate("key_a", 10.0 * share, "value_a") == pytest.approx(start + 10.0 * share * slope)


@given(TABLES, st.randoms())
def test_order_of_rows_does_not_matter(table: Table, random):
    pairs = [(r.number("key_a"), r.number("value_a")) for r in table.all_rows()]
    shuffled = list(pairs)
    random.shuffle(shuffled)
    for key, value in pairs:
        assert table_of(shuffled).at_least("key_a", key).number("value_a") == value
        assert table_of(shuffled).at_most("key_a", key).number("value_a") == value


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_look_ups_refuse_what_is_no_number(bad: float):
    table = table_of([(1.0, 2.0)])
    for look_up in (table.at_least, table.at_most):
        with pytest.raises(TableError, match="a finite number is needed"):
            look_up("key_a", bad)
    with pytest.raises(TableError, match="a finite number is needed"):
        table.interpolate("key_a", bad, "value_a")


def test_table_is_frozen_and_cached():
    table = load("nfpa70_2023_table_430_250")
    assert load("nfpa70_2023_table_430_250") is table
    with pytest.raises(AttributeError):
        table.edition = "2020"  # type: ignore[misc]


def test_error_is_one_of_ours_and_a_lookup_error():
    with pytest.raises(TableError) as caught:
        load("nfpa70_2023_table_310_16").exact(size="13")
    assert isinstance(caught.value, GalleyproofError)
    assert isinstance(caught.value, LookupError)


# ---- monotonic sizing: a bigger demand never gets a smaller answer

AMPERES = st.floats(min_value=0.1, max_value=320.0)


@given(AMPERES, AMPERES, st.sampled_from([60, 75, 90]), st.sampled_from(["cu", "al"]))
def test_more_current_never_gets_a_thinner_conductor(one: float, two: float, column: int, material):
    low, high = sorted((min(one, 260.0), min(two, 260.0)))
    thin = conductors.size_for_ampacity(low, column, material).value
    thick = conductors.size_for_ampacity(high, column, material).value
    assert conductors.awg_index(thin) <= conductors.awg_index(thick)
    assert conductors.ampacity_a(thick, column, material).value >= high


@given(
    st.floats(1.0, 6000.0),
    st.sampled_from(["fuse", "inverse_time_breaker"]),
    st.sampled_from(["2020", "2023"]),
)
def test_standard_ratings_enclose_the_value(value: float, device, edition):
    ratings = protection.standard_ratings_a(device, edition).value
    up = protection.next_standard_up_a(value, device, edition).value
    assert up in ratings
    assert up >= value
    if value >= ratings[0]:
        down = protection.next_standard_down_a(value, device, edition).value
        assert down in ratings
        assert down <= value
        assert (up == down) == (value in ratings)
        assert not [r for r in ratings if down < r < up]


@given(st.floats(1.0, 6000.0), st.floats(1.0, 6000.0))
def test_larger_device_never_gets_a_smaller_ground(one: float, two: float):
    low, high = sorted((one, two))
    small, large = (protection.equipment_ground_size(a).value for a in (low, high))
    assert conductors.awg_index(small) <= conductors.awg_index(large)


@given(st.floats(-40.0, 60.0), st.floats(-40.0, 60.0))
def test_hotter_never_corrects_upward(one: float, two: float):
    cool, hot = sorted((one, two))
    for column in (75, 90):
        assert conductors.ambient_factor(cool, column).value >= conductors.ambient_factor(hot, column).value


@given(st.integers(1, 200), st.integers(1, 200))
def test_more_conductors_never_adjust_upward(one: int, two: int):
    few, many = sorted((one, two))
    assert conductors.adjustment_ratio(few).value >= conductors.adjustment_ratio(many).value


@given(st.floats(0.001, 1.3), st.integers(3, 60), st.sampled_from(["EMT", "RMC", "FMC", "LFMC"]))
def test_chosen_raceway_holds_and_the_next_smaller_does_not(area: float, count: int, raceway):
    size = raceways.trade_size_for_area(raceway, min(area, 1.29), count).value
    assert raceways.usable_area_sqin(raceway, size, count).value >= min(area, 1.29)
    at = raceways.trade_size_index(size)
    if at:
        assert raceways.usable_area_sqin(raceway, raceways.TRADE_SIZES[at - 1], count).value < area


@given(st.floats(-40.0, 120.0), st.sampled_from(["2", "3"]))
def test_thermistor_round_trip(t: float, curve):
    sensor = sensors.ntc_10k_curve(curve)
    assert sensor.degc(sensor.ohm(t)) == pytest.approx(t, abs=1e-6)


@given(st.floats(-40.0, 119.0), st.floats(0.01, 1.0), st.sampled_from(["2", "3"]))
def test_thermistor_falls_with_temperature(t: float, step: float, curve):
    sensor = sensors.ntc_10k_curve(curve)
    assert sensor.ohm(t) > sensor.ohm(t + step)


@given(st.floats(-200.0, 850.0), st.sampled_from([100.0, 1000.0]))
def test_platinum_round_trip(t: float, nominal: float):
    ohm = sensors.pt_ohm(t, nominal).value
    assert sensors.pt_degc(ohm, nominal).value == pytest.approx(t, abs=1e-6)


@given(st.floats(10.0, 1e6), st.floats(1000.0, 6000.0), st.floats(-40.0, 150.0))
def test_beta_round_trip(r25: float, beta: float, t: float):
    curve = sensors.beta_curve(r25, beta)
    assert curve.degc(curve.ohm(t)) == pytest.approx(t, abs=1e-6)


# ---- refusals name the place, the value and what there is instead


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: motors.flc_three_phase_a(5, 277),
            r"rated_v=277 V is not a column of NFPA 70-2023 Table 430\.250; nearest: 230 V, 460 V",
        ),
        (
            lambda: motors.flc_single_phase_a(0.5, 480),
            r"rated_v=480 V is not a column of NFPA 70-2023 Table 430\.248; nearest: 230 V",
        ),
        (
            lambda: motors.flc_three_phase_a(4, 480),
            r"rated_hp=4 hp is not a row of NFPA 70-2023 Table 430\.250; nearest: 3 hp, 5 hp",
        ),
        (lambda: motors.flc_three_phase_a(5, 120), r"Table 430\.250 has no flc_115v_a for hp=5"),
        (lambda: motors.flc_single_phase_a(15, 240), r"rated_hp=15 hp .* nearest: 10 hp"),
        (lambda: conductors.ampacity_a("13", 75), r"size=13 is not a row of NFPA 70-2023 Table 310\.16"),
        (lambda: conductors.ampacity_a("14", 75, "al"), r"Table 310\.16 has no al_75c_a for size=14"),
        (
            lambda: conductors.ampacity_a("14", 70),
            r"'cu_70c_a' is not a column of NFPA 70-2023 Table 310\.16",
        ),
        (lambda: conductors.size_for_ampacity(381, 75), r"cu_75c_a=381 A .* is above the last row, 380"),
        (lambda: conductors.ambient_factor(60, 60), r"has no factor_60c for"),
        (lambda: conductors.ambient_factor(90, 90), r"ambient_to_degc=90 degC .* above the last row, 85"),
        (lambda: conductors.adjustment_ratio(0), r"current_carrying=0 .* at least 1"),
        (lambda: conductors.awg_index("0"), r"size='0' is not a conductor size"),
        (lambda: conductors.dc_resistance_ohm_per_kft("6", stranded=False), r"no solid conductor of size=6"),
        (lambda: conductors.dc_resistance_ohm_per_kft("13"), r"size=13 is not a row of .*Table 8"),
        (lambda: conductors.circular_mils("13"), r"size=13 is not a row of .*Table 8"),
        (
            lambda: conductors.dc_resistance_ohm_per_kft("6", "al", coated=True),
            r"coated=True with material='al'",
        ),
        (
            lambda: conductors.iec_max_resistance_ohm_per_km(2.0),
            r"area_mm2=2 .* nearest: area_mm2=1\.5, area_mm2=2\.5",
        ),
        (
            lambda: conductors.iec_max_resistance_ohm_per_km(10.0, "al", coated=True),
            r"coated=True with material='al'",
        ),
        (
            lambda: conductors.small_conductor_max_ocpd_a("14", "cca", "2020"),
            r"size=14 AWG, material=cca is not a row of NFPA 70-2020 240\.4\(D\)",
        ),
        (
            lambda: protection.standard_ratings_a("fuse", "2017"),  # type: ignore[arg-type]
            r"edition='2017' of NFPA 70 is not known here; known: 2020, 2023",
        ),
        (lambda: protection.next_standard_up_a(6001, "fuse"), r"6001 A is above the largest .* 6000 A"),
        (
            lambda: protection.next_standard_down_a(9, "inverse_time_breaker"),
            r"9 A is below the smallest standard rating, 10 A \(NFPA 70-2023 240\.6\(A\)\)",
        ),
        (lambda: protection.next_standard_up_a(math.nan, "fuse"), r"a finite current above zero"),
        (lambda: protection.equipment_ground_size(7000), r"ocpd_to_a=7000 A .* above the last row, 6000"),
        (lambda: protection.equipment_ground_size(-5), r"-5 A cannot be looked up"),
        (
            lambda: protection.transformer_primary_limit(2.0, "motor_control_circuit"),
            r"rated_a=2 A with method=motor_control_circuit .*430\.72\(C\)\(4\); below 2 A only",
        ),
        (
            lambda: protection.control_circuit_max_ocpd_a("14", "separate"),
            r"leaves separate protection of 14 AWG",
        ),
        (lambda: protection.motor_ocpd_ratio("spark_gap"), r"'spark_gap_pct' is not a column"),  # type: ignore[arg-type]
        (lambda: raceways.usable_area_sqin("EMT", "5/8", 3), r"trade_size=5/8 is not a row of .*Table 4"),
        (
            lambda: raceways.usable_area_sqin("ENT", "1/2", 3),
            r"raceway=ENT, trade_size=1/2 is not a row of .* nearest: raceway=EMT",
        ),  # type: ignore[arg-type]
        (
            lambda: raceways.trade_size_for_area("EMT", 1.4, 3),
            r"area_40_sqin=1\.4 in2 .* above the last row, 1\.342",
        ),
        (lambda: raceways.fill_ratio(0), r"conductors=0 .* at least 1"),
        (lambda: raceways.trade_size_index("5/8"), r"trade_size='5/8' is not a trade size"),
        (lambda: raceways.same_size_count(0.0, 0.1), r"areas must be above zero"),
        (lambda: clearances.working_depth_ft(1500, 1), r"v_to_ground_to=1500 V .* above the last row, 1000"),
        (lambda: clearances.working_depth_ft(-1, 1), r"without sign"),
        (lambda: clearances.working_depth_ft(120, 4), r"'condition_4_ft' is not a column"),  # type: ignore[arg-type]
        (
            lambda: enclosures.enclosure_types("outdoor", ("oil_spray",)),
            r"condition=oil_spray is not a row of .*110\.28",
        ),
        (
            lambda: class2.power_limits("ac", 48, inherently_limited=False),
            r"source_v=48 V ac, not inherently limited, is no Class 2 source of NFPA 70-2023 .* 11\(A\)",
        ),
        (lambda: class2.power_limits("dc", 0, inherently_limited=True), r"above zero"),
        (lambda: sensors.ntc_10k_curve("4"), r"curve=4 is not a row of .* nearest: curve=2, curve=3"),  # type: ignore[arg-type]
        (
            lambda: sensors.ntc_10k_curve("2").degc(5.0),
            r"sensor_ohm=5 ohm is outside NTC 10k curve 2: 388 ohm at 120 degC",
        ),
        (lambda: sensors.ntc_10k_curve("3").ohm(200.0), r"sensor_degc=200 degC is outside NTC 10k curve 3"),
        (lambda: sensors.beta_curve(0, 3435), r"r25_ohm=0 ohm, beta_k=3435 K"),
        (lambda: sensors.beta_curve(1e4, 3435).ohm(-300), r"-300 degC is not a temperature"),
        (lambda: sensors.beta_curve(1e4, 3435).degc(-1), r"sensor_ohm=-1 ohm is outside"),
        (lambda: sensors.pt_ohm(900), r"sensor_degc=900 degC is outside IEC 60751, -200 to 850 degC"),
        (lambda: sensors.pt_degc(10.0), r"sensor_ohm=10 ohm is outside a platinum sensor of 1000 ohm"),
        (lambda: sensors.pt_ohm(0, 0.0), r"nominal_ohm=0 ohm"),
        (
            lambda: air.unlisted_hood_min_cfm_per_ft("I", "eyebrow", "heavy"),
            r"IMC-2021 507\.2\.10\.2 does not allow hood_type=I, style=eyebrow, duty=heavy",
        ),
        (
            lambda: air.listed_hood_max_cfm_per_ft("box", "light"),
            r"style=box, duty=light is not a row of ASHRAE 90\.1-2019",
        ),
        (lambda: air.duty_class("toaster", "any"), r"appliance=toaster, fuel=any is not a row"),
        (lambda: air.density_ratio(12000, 70), r"altitude_ft=12000 ft is outside"),
        (lambda: air.density_ratio(0, 60), r"t_degf=60 degF .* outside the rows, 70 to 700"),
        (
            lambda: air.rule("energy_codes_mixed_kitchen_rules", "option_threshold_cfm"),
            r"set by several standards; name one: ASHRAE 90\.1, California Title 24",
        ),
        (lambda: air.rule("common_practice_fan_laws", "speed"), r"holds no rules"),
        (lambda: air.rule("imc_2021_507_hood_rules", "colour"), r"key=colour is not a row of IMC-2021 507"),
        (
            lambda: load("nfpa70_2023_table_310_16").exact(cu_60c_a=55.0, size="8"),
            r"cu_60c_a=55, size=8 is not a row of .*310\.16; nearest: size=6$",
        ),
        (lambda: load("nfpa70_2023_ch9_table_8").exact(size="14"), r"size=14 is not one row of .* but 2"),
        (lambda: load("nfpa70_2023_ch9_table_8").at_least("size", 14), r"size of .* is a label"),
        (
            lambda: load("nfpa70_2023_ch9_table_8").exact(size="6").number("size"),
            r"is a label, not a number: '6'",
        ),
        (
            lambda: load("nfpa70_2023_ch9_table_8").exact(size="6").label("strands"),
            r"is a number, not a label: 7",
        ),
    ],
)
def test_refusal(call, message: str):
    with pytest.raises(TableError, match=message):
        call()


def test_every_system_voltage_has_its_column():
    """NFPA 70-2023 Table 430.250 headings; README trap 2 of the reference collection."""
    wanted = {110: 115, 115: 115, 120: 115, 200: 200, 208: 208, 220: 230, 230: 230, 240: 230}
    wanted |= {440: 460, 460: 460, 480: 460, 550: 575, 575: 575, 600: 575}
    assert {v: motors.motor_column_v(v, 3).value for v in wanted} == wanted
    for refused in (100, 125, 205, 215, 277, 380, 415, 500, 690):
        with pytest.raises(TableError, match=f"rated_v={refused} V is not a column"):
            motors.motor_column_v(refused, 3)


def test_citations_say_where_and_how_sure():
    assert str(motors.flc_three_phase_a(5, 480).basis[0]) == "NFPA 70-2023 Table 430.250"
    assert protection.control_circuit_max_ocpd_a("18", "separate").basis[0].note == "from memory"
    assert str(protection.overload_max_ratio(does_not_start=True).basis[0]) == "NFPA 70-2023 430.32(C)"
    assert air.rule("nfpa96_mixed_fire_sequence", "gas_unprotected_under_hood").basis[0].note == "from memory"
    fuel = air.rule("nfpa96_mixed_fire_sequence", "fuel_off").basis[0]
    assert (str(fuel), fuel.note) == ("NFPA 96 10.4.1", "")
    minnesota = air.rule("imc_mixed_506_508_rules", "makeup_temp_min_degf").basis[0]
    assert str(minnesota) == "Minnesota Rules 1346.0508"
    assert str(air.rule("imc_2021_507_hood_rules", "filter_angle_min_deg").basis[0]) == "IMC-2021 507.2.8.2"


def test_citation_in_another_edition():
    basis = conductors.ambient_factor(40, 75).basis[0]
    moved = editions.in_edition(basis, "2020")
    assert str(moved) == "NFPA 70-2020 Table 310.15(B)(1)"
    assert "unchanged as far as known" in moved.note
    assert editions.in_edition(basis, "2023") == basis
    assert editions.in_edition(Citation("IMC", "2021", "507"), "2020") == Citation("IMC", "2021", "507")
    with pytest.raises(TableError, match="edition='2014'"):
        editions.in_edition(basis, "2014")
