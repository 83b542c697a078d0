"""Reading and writing quantities. Outside factors are checked in tests/outside/test_unit_factors.py."""

import doctest
import math
import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from galleyproof import units
from galleyproof.errors import GalleyproofError
from galleyproof.units import ALLOWED, AWG_SIZES, KINDS, Quantity, UnitError, parse, parse_awg

kinds = st.sampled_from(sorted(KINDS))
finite = st.floats(allow_nan=False, allow_infinity=False)


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("1.5 hp", "power_mech", 1.5),
        ("1-1/2 hp", "power_mech", 1.5),
        ("1 1/2 hp", "power_mech", 1.5),
        ("1/2 hp", "power_mech", 0.5),
        ("1½ hp", "power_mech", 1.5),
        ("1 ½ hp", "power_mech", 1.5),
        ("¾ HP", "power_mech", 0.75),
        (".75 hp", "power_mech", 0.75),
        ("3' 6\"", "length_inch", 42),
        ("3'-6\"", "length_inch", 42),
        ("3'6\"", "length_inch", 42),
        ("3 ft 6 in", "length_inch", 42),
        ("3 ft 6-1/2 in", "length_inch", 42.5),
        ("3′ 6½″", "length_inch", 42.5),
        ("42 in", "length_inch", 42),
        ("3 ft", "length_inch", 36),
        ("42 in", "length_ft", 3.5),
        ("3' 6\"", "length_ft", 3.5),
        ("-3' 6\"", "length_ft", -3.5),
        ("2.54 cm", "length_inch", 1),
        ("304.8 mm", "length_ft", 1),
        ("0.3048 m", "length_ft", 1),
        ("2,400 cfm", "airflow", 2400),
        ("1,234,567.5 cfm", "airflow", 1234567.5),
        ("2400cfm", "airflow", 2400),
        ("  2400   cfm  ", "airflow", 2400),
        ("75 degF", "temperature", 75),
        ("75 °F", "temperature", 75),
        ("75\u00a0°F", "temperature", 75),
        ("40 °C", "temperature", 104),
        ("40 degC", "temperature", 104),
        ("-40 degC", "temperature", -40),
        ("40 °C", "temperature_difference", 72),
        ("5 K", "temperature_difference", 9),
        ("1.2 kW", "power_elec", 1200),
        ("1.5 kVA", "apparent_power", 1500),
        ("24 V", "voltage", 24),
        ("13.8 kV", "voltage", 13800),
        ("4 mA", "current", 0.004),
        ("10 kA", "fault_current", 10000),
        ("22,000 A", "fault_current", 22000),
        ("5 min", "time", 300),
        ("1.5 h", "time", 5400),
        ("250 ms", "time", 0.25),
        ("2 kHz", "frequency", 2000),
        ("10 kohm", "resistance", 10000),
        ("10 k\u03a9", "resistance", 10000),
        ("10 k\u2126", "resistance", 10000),
        ("10 mohm", "resistance", 0.01),
        ("1 Mohm", "resistance", 1e6),
        ("40 %", "ratio", 0.4),
        ("112.5 %", "ratio", 1.125),
        ("144 sq in", "area", 1),
        ("120 MBH", "gas_heat", 120000),
        ("249.08891 Pa", "static_pressure", 1),
        ("1/4 in wc", "static_pressure", 0.25),
        ("100 nF", "capacitance", 0.1),
        ("0.45359237 kg", "mass", 1),
    ],
)
def test_what_people_write_is_read(text, kind, value):
    assert parse(text, kind) == value


@pytest.mark.parametrize(
    ("text", "kind", "reason"),
    [
        ("24", "voltage", "the number has no unit"),
        (24, "voltage", "the number has no unit"),
        (2.5, "airflow", "the number has no unit"),
        ("", "airflow", "nothing is written"),
        ("   ", "airflow", "nothing is written"),
        ("cfm", "airflow", "must start with a number"),
        ("2 400 cfm", "airflow", "a number must not hold a space"),
        ("2,40 cfm", "airflow", "a comma may only group thousands by three"),
        ("2400,000 cfm", "airflow", "a comma may only group thousands by three"),
        ("0,500 cfm", "airflow", "a comma may only group thousands by three"),
        ("1.500,5", "airflow", "the point is the decimal sign"),
        ("1.500,5 cfm", "airflow", "the point is the decimal sign"),
        ("1.5.2 cfm", "airflow", "the point is the decimal sign"),
        ("5. cfm", "airflow", "the point is the decimal sign"),
        ("1e3 cfm", "airflow", "without an exponent"),
        ("1E999999999 cfm", "airflow", "without an exponent"),
        ("nan cfm", "airflow", "must be finite"),
        ("-inf cfm", "airflow", "must be finite"),
        ("9" * 390 + " cfm", "airflow", "too large"),
        ("1" * 10_000, "airflow", "longer than 400 characters"),
        ("\u0662\u0664 V", "voltage", "digits 0 to 9"),
        ("２４ V", "voltage", "digits 0 to 9"),
        ("2\u0664 V", "voltage", "not a known unit"),
        ("+5 V", "voltage", "plus sign"),
        ("0x10 V", "voltage", "not a known unit"),
        ("1_000 V", "voltage", "not a known unit"),
        ("24 VDC", "voltage", "direct current belongs in its own key"),
        ("24 Vdc", "voltage", "direct current belongs in its own key"),
        ("24 V AC", "voltage", "alternating current belongs in its own key"),
        ("120/208 V", "voltage", "two voltages name a system"),
        ("208Y/120 V", "voltage", "two voltages name a system"),
        ("24 A", "voltage", "'A' is a unit of current or fault current, not of voltage"),
        ("5 hp", "power_elec", "'hp' is a unit of shaft power, not of electric power"),
        ("5 KW", "power_elec", "nearest unit: 'kW'"),
        ("5 Mw", "power_elec", "not a known unit"),
        ("2400 cmf", "airflow", "nearest unit: 'cfm'"),
        ("2400 CFm", "airflow", "nearest unit: 'cfm'"),
        ("5/4 hp", "power_mech", "5/4 is not a fraction"),
        ("1 5/4 hp", "power_mech", "5/4 is not a fraction"),
        ("1/0 hp", "power_mech", "1/0 is not a fraction"),
        ("1/7 hp", "power_mech", "1/7 is not a fraction"),
        ("1/2/3 hp", "power_mech", "not one number"),
        ("1/2 A", "current", "written as a decimal"),
        ("½ A", "current", "written as a decimal"),
        ("3' 12\"", "length_ft", "inches must be one number below 12"),
        ("3' 6", "length_ft", "feet and inches are not both marked"),
        ("3 ft -6 in", "length_ft", "feet and inches are not both marked"),
        ("3.5' 6\"", "length_ft", "feet and inches are not both marked"),
        ("6\" 3'", "length_ft", "not a known unit"),
        ("3-5 ft", "length_ft", "not a known unit"),
    ],
)
def test_what_has_no_single_reading_is_refused_with_its_reason(text, kind, reason):
    with pytest.raises(UnitError, match=re.escape(reason)):
        parse(text, kind)


def test_a_refusal_names_value_and_what_is_accepted():
    with pytest.raises(UnitError) as caught:
        parse("2 400 cfm", "airflow")
    message = str(caught.value)
    assert message.startswith("'2 400 cfm' cannot be read as airflow")
    assert all(spelling in message for spelling in ALLOWED["airflow"])
    assert isinstance(caught.value, GalleyproofError)
    assert isinstance(caught.value, ValueError)


def test_a_long_text_is_not_echoed_whole():
    with pytest.raises(UnitError) as caught:
        parse("7" * 10_000, "voltage")
    assert len(str(caught.value)) < 300


def test_an_unknown_kind_is_a_mistake_of_the_program():
    with pytest.raises(KeyError, match="speed"):
        parse("1 V", "speed")


def test_read_keeps_the_unit_that_was_written():
    assert units.read("40 °C", "temperature") == Quantity(40, "degC")
    assert units.read("1,130 l/s", "airflow") == Quantity(1130, "L/s")
    assert units.read("3' 6\"", "length_inch") == Quantity(3.5, "ft")


@pytest.mark.parametrize(
    ("value", "kind", "text"),
    [
        (2400.0, "airflow", "2400 cfm"),
        (0.1, "static_pressure", "0.1 in wc"),
        (0.29, "ratio", "29 %"),
        (1.0, "ratio", "100 %"),
        (-40.0, "temperature", "-40 degF"),
        (1e-7, "current", "0.0000001 A"),
        (1e22, "resistance", "10000000000000000000000 ohm"),
        (-0.0, "voltage", "0 V"),
        (10.0, "voltage", "10 V"),
        (100, "time", "100 s"),
    ],
)
def test_written_form(value, kind, text):
    assert units.format(value, kind) == text


@given(value=finite, kind=kinds)
def test_what_is_written_reads_back_as_the_same_float(value, kind):
    assert parse(units.format(value, kind), kind) == value


@pytest.mark.parametrize("value", [5e-324, -5e-324, 2.2250738585072014e-308, 1.7976931348623157e308, 0.1 + 0.2])
@pytest.mark.parametrize("kind", sorted(KINDS))
def test_the_extreme_floats_read_back_too(value, kind):
    assert parse(units.format(value, kind), kind) == value


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_only_finite_numbers_are_written(value):
    with pytest.raises(UnitError, match="only finite"):
        units.format(value, "voltage")


@given(text=st.text(max_size=500), kind=kinds)
def test_any_text_is_read_or_refused(text, kind):
    try:
        outcome = math.isfinite(parse(text, kind))
    except UnitError as refusal:
        outcome = KINDS[kind].title in str(refusal)
    assert outcome


near_misses = st.lists(
    st.sampled_from([*"0123456789.,/-' \"½eE+", *sorted({s for k in ALLOWED.values() for s in k})]),
    max_size=9,
).map("".join)


@given(text=near_misses, kind=kinds)
def test_a_near_miss_is_read_or_refused_and_never_half_read(text, kind):
    try:
        value = parse(text, kind)
    except UnitError:
        return
    assert parse(units.format(value, kind), kind) == value
    # Every digit counts: with a digit put before it the text is refused or means something larger.
    if value > 0:
        try:
            longer = parse("9" + text.strip(" "), kind)
        except UnitError:
            return
        assert longer > value


@given(value=st.integers(min_value=0, max_value=10**12), kind=kinds)
def test_grouping_by_threes_changes_nothing(value, kind):
    unit = KINDS[kind].written
    assert parse(f"{value:,} {unit}", kind) == parse(f"{value} {unit}", kind)


@given(feet=st.integers(0, 10_000), sixteenths=st.integers(0, 12 * 16 - 1))
def test_feet_and_inches_add_up(feet, sixteenths):
    whole, part = divmod(sixteenths, 16)
    inches = f"{whole} {part}/16" if part else f"{whole}"
    assert parse(f"{feet}' {inches}\"", "length_inch") == 12 * feet + sixteenths / 16


@given(a=finite, b=finite, kind=kinds)
def test_order_is_kept(a, b, kind):
    first, second = (parse(units.format(x, kind), kind) for x in (a, b))
    assert (first < second) == (a < b)


@pytest.mark.parametrize(("kind", "spelling"), [(k, s) for k, ss in ALLOWED.items() for s in ss])
def test_every_listed_spelling_is_read(kind, spelling):
    unit = KINDS[kind].unit(spelling)
    assert parse(f"3 {spelling}", kind) == float(3 * unit.factor + unit.zero)
    assert parse(f"3{spelling}", kind) == parse(f"3 {spelling}", kind)


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda k: k.name)
def test_the_table_of_kinds_is_sound(kind):
    spellings = kind.spellings()
    assert len(spellings) == len(set(spellings))
    written = kind.unit(kind.written)
    assert written is not None
    assert written.factor == (1 if kind.core != "-" else Fraction(1, 100))
    assert written.zero == 0
    assert all(math.isfinite(parse(example, kind.name)) for example in kind.examples)
    assert not kind.feet_inches or kind.units[0].spellings[0] == "ft"


@pytest.mark.parametrize(
    ("text", "label"),
    [
        ("18 AWG", "18"),
        ("18AWG", "18"),
        ("1 AWG", "1"),
        ("1/0 AWG", "1/0"),
        ("4/0 AWG", "4/0"),
        ("250 kcmil", "250"),
    ],
)
def test_a_conductor_size_is_read_as_its_label(text, label):
    assert parse_awg(text) == label


@pytest.mark.parametrize("label", AWG_SIZES)
def test_every_conductor_size_is_written_so_that_it_reads_back(label):
    assert parse_awg(units.format_awg(label)) == label


@pytest.mark.parametrize(
    "text",
    [
        "",
        "18",
        18,
        "#12",
        "13 AWG",
        "0 AWG",
        "5/0 AWG",
        "18 kcmil",
        "250 AWG",
        "18 awg",
        "2.5 mm2",
        "18 AWG 3",
        "1" * 10**4,
        "\u0661\u0668 AWG",
    ],
)
def test_no_other_conductor_size_is_read(text):
    with pytest.raises(UnitError, match="Write it like 18 AWG, 4/0 AWG, 250 kcmil"):
        parse_awg(text)


def test_the_old_name_of_the_unit_is_pointed_to_the_new():
    with pytest.raises(UnitError, match="nearest size: '250 kcmil'"):
        parse_awg("250 MCM")


@given(text=st.text(max_size=30))
def test_any_conductor_text_is_read_or_refused(text):
    try:
        outcome = parse_awg(text) in AWG_SIZES
    except UnitError as refusal:
        outcome = "conductor size" in str(refusal)
    assert outcome


def test_a_label_that_is_no_size_is_not_written():
    with pytest.raises(UnitError, match="'13' is not a conductor size label"):
        units.format_awg("13")


def test_the_examples_in_the_docstrings_hold():
    result = doctest.testmod(units)
    assert result.attempted >= 2
    assert result.failed == 0
