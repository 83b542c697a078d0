"""Start-up readings in the job: pass, or deviate with the likely reasons in order.

Directions of effect are common practice and the fan laws: blocked filters lower flow and amperes and raise the
suction; a reversed wheel still moves about half; make-up missing lowers the kitchen.
"""

from __future__ import annotations

import pytest
from tests.air.support import changed, told

from galleyproof.air.commissioning import FanRecord
from galleyproof.air.job_air import check_air
from galleyproof.air.model import AirReport

SCHOOL = "school-kitchen"
EF2 = "      least_frequency: 20 Hz\n"
DESIGN = "at: design, airflow: {} cfm, frequency: 52.8 Hz, amps: {} A, static_pressure: {} inwc, collar: 100 degF"


def with_reading(reading: str) -> AirReport:
    """The school with one reading at its fan EF-2."""
    return check_air(changed(SCHOOL, (EF2, f"{EF2}      readings: [{{{reading}}}]\n")))


def record(report: AirReport, tag: str) -> FanRecord:
    """The record of one place."""
    (found,) = [r for r in report.records if r.tag == tag]
    return found


def expected(report: AirReport, tag: str) -> dict[str, float]:
    """What was expected there."""
    return {row.quantity: row.expected for row in record(report, tag).rows}


def test_the_expectation_comes_from_the_schedule() -> None:
    """Design flow of the schedule; the curve's 88 % of 60 Hz; 1.0 in wc of path at 0.945 of standard density."""
    report = with_reading(DESIGN.format(4800, 7.4, 0.95))
    want = expected(report, "EF-2 at design")
    (fan,) = [f for f in report.fans if f.tag == "EF-2"]
    assert want["flow"] == 4800.0
    assert want["frequency"] == pytest.approx(60.0 * fan.speed_ratio)
    assert want["static"] == pytest.approx(fan.system_inwc * 529.67 / 559.67, rel=2e-3)  # 40 ft above the sea
    assert record(report, "EF-2 at design").passed
    assert told(report) == set()


@pytest.mark.parametrize(
    ("reading", "first"),
    [
        (DESIGN.format(3000, 5.5, 1.25), "filters or grease duct blocked"),
        (DESIGN.format(2450, 7.3, 0.25), "wheel turns backwards"),
        (DESIGN.format(5700, 9.0, 0.70), "filters missing"),
        (DESIGN.format(3600, 5.2, 0.54).replace("52.8 Hz", "40 Hz"), "drive below its set-point"),
    ],
)
def test_a_deviation_names_its_likeliest_reason_first(reading: str, first: str) -> None:
    """A finding at the fan with the reason; the drive's own set-points may be out of reach by the same reading."""
    report = with_reading(reading)
    assert ("AIR-START-UP", "EF-2") in told(report)
    assert record(report, "EF-2 at design").likely[0].name == first
    (finding,) = [f for f in report.findings if f.code == "AIR-START-UP"]
    assert first in finding.cure


def test_idle_is_expected_from_the_reading_at_design() -> None:
    """4,750 cfm at 52.5 Hz: idle is half of 52.5 x 4800 / 4750 Hz; static goes with the square of the flow."""
    design = "at: design, airflow: 4750 cfm, frequency: 52.5 Hz, amps: 7.2 A, static_pressure: 0.95 inwc"
    idle = "at: idle, airflow: 2400 cfm, frequency: 26.5 Hz, amps: 4.9 A, static_pressure: 0.24 inwc"
    report = check_air(changed(SCHOOL, (EF2, f"{EF2}      readings: [{{{design}}}, {{{idle}}}]\n")))
    want = expected(report, "EF-2 at idle")
    assert want["flow"] == 2400.0
    assert want["frequency"] == pytest.approx(26.25 * 4800 / 4750)
    assert want["static"] == pytest.approx(expected(report, "EF-2 at design")["static"] / 4.0, rel=1e-6)
    assert told(report) == set()


def test_a_reading_that_is_not_taken_is_asked_for() -> None:
    """Only the flow was measured: the record is not passed, a note asks for the rest."""
    report = with_reading("at: design, airflow: 4800 cfm")
    found = record(report, "EF-2 at design")
    assert not found.passed
    assert set(found.missing) == {"frequency", "static", "amps"}
    assert told(report) == set()
    (note,) = [f for f in report.findings if f.code == "AIR-READING-OPEN"]
    assert "amps" in note.message


def test_hoods_and_units_have_records_too() -> None:
    """H-2 at idle: half of 1,750 cfm; the unit at idle: 79.8 % of 6,000 cfm."""
    report = check_air(
        changed(
            SCHOOL,
            (
                "      captures_from: 800 cfm\n",
                "      captures_from: 800 cfm\n      readings: [{at: idle, airflow: 880 cfm}]\n",
            ),
            ("least_airflow: 3000 cfm}", "least_airflow: 3000 cfm, readings: [{at: idle, airflow: 2500 cfm}]}"),
        )
    )
    assert record(report, "H-2 at idle").passed
    assert expected(report, "H-2 at idle") == {"flow": 875.0}
    assert expected(report, "MAU-1 at idle")["flow"] == pytest.approx(6000.0 * 6700.0 / 8400.0)
    assert told(report) == {("AIR-START-UP", "MAU-1")}


def test_the_kitchen_pressure_is_compared_with_the_balance() -> None:
    """1,700 cfm through 16 sq ft: -0.0016 in wc; a kitchen that reads +0.01 in wc is told."""
    good = with_reading(DESIGN.format(4800, 7.4, 0.95) + ", kitchen_pressure: -0.003 inwc")
    assert told(good) == set()
    bad = with_reading(DESIGN.format(4800, 7.4, 0.95) + ", kitchen_pressure: 0.01 inwc")
    assert told(bad) == {("AIR-START-UP", "EF-2")}
    assert record(bad, "EF-2 at design").likely[0].name == "make-up above exhaust"


def test_readings_that_ask_too_much_of_the_drive_are_told() -> None:
    """4,000 cfm at 55 Hz: 4,800 cfm would take 66 Hz, above the line's 60."""
    report = with_reading("at: design, airflow: 4000 cfm, frequency: 55 Hz, amps: 7 A, static_pressure: 0.9 inwc")
    assert ("AIR-DRIVE-LIMIT", "EF-2") in told(report)
    (finding,) = [f for f in report.findings if f.code == "AIR-DRIVE-LIMIT"]
    assert "66.0 Hz" in finding.message
