"""Sensor curves against printed values."""

from __future__ import annotations

import math

import pytest

from galleyproof.tables import conductors, load, sensors

pytestmark = pytest.mark.outside


@pytest.mark.parametrize("row", load("iec60751_2022_pt100").all_rows(), ids=lambda r: r.key)
def test_platinum_against_the_printed_table(row):
    """IEC 60751 table, two public prints, to the last printed digit (0.01 ohm)."""
    t = row.number("t_degc")
    printed = row.number_or_none("pt100_ohm_printed")
    found = sensors.pt_ohm(t, 100.0).value
    assert found == pytest.approx(row.number("pt100_ohm_computed"), abs=0.00006)
    if printed is not None:
        assert found == pytest.approx(printed, abs=0.00501)
        assert sensors.pt_ohm(t, 1000.0).value == pytest.approx(10 * printed, abs=0.0501)
        # Half of 0.01 ohm is 0.013 K at 0 degC and 0.015 K at 600 degC; -200 degC is the curve's own end.
        if t > -200:
            assert sensors.pt_degc(printed, 100.0).value == pytest.approx(t, abs=0.02)


def test_almost_all_rows_are_printed():
    rows = load("iec60751_2022_pt100").all_rows()
    assert sum(r.number_or_none("pt100_ohm_printed") is not None for r in rows) == 17


@pytest.mark.parametrize(
    ("t", "ohm"),
    [(-79, 687.3), (-70, 723.3), (-49, 807.0), (-40, 842.7), (-20, 921.6), (-10, 960.9), (1, 1003.9)],
)
def test_pt1000_against_an_open_wiki_table(t: float, ohm: float):
    """Pt1000 table of an open microcontroller wiki, printed to 0.1 ohm."""
    assert sensors.pt_ohm(t).value == pytest.approx(ohm, abs=0.0501)


def test_platinum_tolerance():
    """IEC 60751: class B at 100 degC is 0.8 K; class A 0.35 K."""
    assert sensors.pt_tolerance_k(100).value == pytest.approx(0.8)
    assert sensors.pt_tolerance_k(-40, "a").value == pytest.approx(0.23)
    for row in load("iec60751_2022_pt100").all_rows():
        for letter in ("a", "b"):
            found = sensors.pt_tolerance_k(row.number("t_degc"), letter).value
            assert found == pytest.approx(row.number(f"class_{letter}_tol_k"))


def test_two_wire_lead_error_of_a_pt1000():
    """Worked example: 2 x 100 ft of 18 AWG stranded (7.95 ohm/kft) near 150 degC reads 0.426 K high."""
    leads = 2 * 0.1 * conductors.dc_resistance_ohm_per_kft("18").value
    error = sensors.pt_degc(sensors.pt_ohm(150).value + leads).value - 150
    assert error == pytest.approx(0.426, abs=0.002)


@pytest.mark.parametrize("row", load("common_practice_ntc_10k_printed").all_rows(), ids=lambda r: r.key)
def test_curve_2_against_two_printed_tables(row):
    """Two public tables of the curve, 0.15 percent (0.03 K)."""
    found = sensors.ntc_10k_curve("2").ohm(row.number("t_degc"))
    assert found == pytest.approx(row.number("curve_2_ohm_computed"), rel=1e-4)
    for column in ("print_1_ohm", "print_2_ohm"):
        printed = row.number_or_none(column)
        if printed is not None:
            assert found == pytest.approx(printed, rel=0.0015)


@pytest.mark.parametrize(("ohm", "t"), [(335671, -40), (242195, -35), (32650.9, 0)])
def test_curve_2_temperature(ohm: float, t: float):
    """Published generic thermistor chart (first two) and a second print (last); 0.05 K."""
    # -40 degC is the end of the curve: its print lies 0.02 K beyond, so only the formula answers there.
    curve = sensors.ntc_10k_curve("2")
    log = math.log(ohm)
    assert 1 / (curve.a + curve.b * log + curve.c * log**3) - 273.15 == pytest.approx(t, abs=0.05)
    if t > -40:
        assert curve.degc(ohm) == pytest.approx(t, abs=0.05)


def degc(degf: float) -> float:
    return (degf - 32) / 1.8


@pytest.mark.parametrize(("degf", "error_degf"), [(70, -0.6), (120, 3.8), (200, 11.0)])
def test_curve_2_sensor_on_a_curve_3_input(degf: float, error_degf: float):
    """Field case of the practice collection: off by 0.6, 3.8 and 11 degF, as printed there."""
    ohm = sensors.ntc_10k_curve("2").ohm(degc(degf))
    shown = sensors.ntc_10k_curve("3").degc(ohm) * 1.8 + 32
    assert shown - degf == pytest.approx(error_degf, abs=0.05 if degf < 200 else 0.5)


def test_hot_point_tells_the_curves_apart():
    """The same field case: 200 degF is 827 ohm on curve 2 and 985 ohm on curve 3."""
    assert sensors.ntc_10k_curve("2").ohm(degc(200)) == pytest.approx(827, abs=0.5)
    assert sensors.ntc_10k_curve("3").ohm(degc(200)) == pytest.approx(985, abs=0.5)


def test_two_sensors_in_parallel():
    """Field case: two thermistors on one input at 70 degF give 5.9 kohm, shown as about 99 degF."""
    curve = sensors.ntc_10k_curve("2")
    ohm = curve.ohm(degc(70)) / 2
    assert ohm == pytest.approx(5900, abs=50)
    assert curve.degc(ohm) * 1.8 + 32 == pytest.approx(99, abs=1)


def test_one_beta_curves():
    """R = R25 exp(Beta (1/T - 1/298.15)), the definition of Beta, on every cell; printed to 0.1 ohm."""
    rows = load("common_practice_ntc_10k_beta").all_rows()
    assert len(rows) == 39
    for row in rows:
        t = row.number("t_degc")
        for beta in (3380, 3435, 3950, 3977):
            found = sensors.beta_curve(10000, beta).ohm(t)
            assert found == pytest.approx(row.number(f"beta_{beta}_ohm"), abs=0.0501)
            assert found == pytest.approx(10000 * math.exp(beta * (1 / (t + 273.15) - 1 / 298.15)), rel=1e-12)
