"""An odd reading is asked about before it is believed; complaints about drives and links are understood."""

from __future__ import annotations

import math

import pytest
from tests.outside.field_kitchens import field

from galleyproof.checkout.complaints import complaint
from galleyproof.checkout.doubts import doubt
from galleyproof.checkout.model import Reading


@pytest.mark.parametrize(
    ("probe", "reading", "asked"),
    [
        ("line: volts AC LP-1/9/L2 LP-1/9/N", 0.4, "stand on AC volts"),
        ("on: volts DC EF-1:0-10V EF-1:GND", 0.0, "stand on DC volts"),
        ("line: volts AC H-1-E1:L H-1-E1:N", 55.0, "low-impedance"),
        ("line: volts AC H-1-E1:L H-1-E1:N", 5.0, ""),
        ("line: volts AC LP-1/9/L2 LP-1/9/N", 121.0, ""),
        ("line: volts AC LP-1/9/L2 LP-1/9/N", 208.0, ""),
        ("dead: ohms BL-1/A BL-1/B", 0.0, ""),
        ("line: look H-1-E1.on", "yes", ""),
        # leads the wrong way round, kilo-ohms written as ohms, a broken lead, a clamp around a cable (common practice)
        ("cooking: volts DC EF-1:0-10V EF-1:GND", -10.0, "red lead on EF-1:0-10V"),
        ("cooking: volts DC EF-1:0-10V EF-1:GND", 0.01, "stand on DC volts"),
        ("cooking: volts DC EF-1:0-10V EF-1:GND", 9980.0, "V or mV"),
        ("dead: ohms BL-1/A BL-1/B", 0.06, "kΩ or Ω"),
        ("dead: ohms BL-1/A BL-1/B", math.inf, "touch the leads together"),
        ("dead: ohms BL-1/A BL-1/B", 120.0, ""),
        ("cooking: amps AC EF-1/power/L2", 0.0, "around this conductor alone"),
        ("cooking: amps AC EF-1/power/L2", 4.0, ""),
    ],
)
def test_the_meter_is_asked_about_first(probe: str, reading: float | str, asked: str) -> None:
    made = field("lights")
    i = made.probe(probe)
    said = doubt(made.bench.checkout.probes[i], made.table.expected[i], reading)
    assert bool(said) == bool(asked)
    assert asked in said


@pytest.mark.parametrize(
    ("kitchen", "said", "about", "reading"),
    [
        ("drive", "the display of CP1-T2 is dark", "CP1-T2", "dark"),
        ("drive", "CP1-T2 is in local", "CP1-T2", "in local"),
        ("lights", "BL-1 is not on line", "BL-1", "no"),
        # as an electrician says it (common practice)
        ("drive", "drive trips on overcurrent", "CP1-T2", "fault"),
        ("drive", "VFD shows a fault", "CP1-T2", "fault"),
        ("drive", "the drive says hand", "CP1-T2", "in local"),
        ("drive", "EF-1 will only run from the keypad", "CP1-T2", "in local"),
        ("drive", "drive shows ready but does not run", "CP1-T2", "stopped"),
        ("drive", "drive shows running but the fan stands", "EF-1", "stands"),
        ("drive", "EF-1 is dead", "EF-1", "stands"),
        ("drive", "exhaust fan not working", "EF-1", "stands"),
        ("drive", "EF-1 trips the overload", "EF-1", "stands"),
        ("drive", "EF-1 runs in the wrong direction", "EF-1", "turns the wrong way"),
        ("drive", "EF-1 won't slow down", "EF-1", "turns at full speed"),
        ("drive", "EF-1 is stuck at full speed", "EF-1", "turns at full speed"),
        ("drive", "EF-1 runs at 60 Hz no matter what", "EF-1", "turns at full speed"),
        ("drive", "EF-1 runs at 20 Hz no matter what", "EF-1", "turns slowly"),
        ("drive", "EF-1 does not respond to heat", "EF-1", "turns slowly"),
        ("drive", "TS-1 shows 320 F", "TS-1", 320.0),
        ("drive", "TS-1 reads 20 °C", "TS-1", 68.0),
        ("drive", "TS-1 is shorted", "TS-1", "short"),
        ("drive", "TS-1 is stuck at 75", "TS-1", 75.0),
        ("drive", "TS-1 does not react to heat", "TS-1", 75.0),
        ("drive", "TS-1 is erratic when the drive runs", "TS-1", 5.0),
        ("drive", "breaker LP-1/2 trips as soon as the drive starts", "LP-1/2", "yes"),
        ("lights", "the hood lights don't work", "H-1-E1", "no"),
        ("lights", "lights flicker", "H-1-E1", "no"),
        ("lights", "lights stay on all the time", "H-1-E1", "yes"),
        ("lights", "no comms with BMS", "BL-1", "no"),
        ("lights", "the panel drops off the trunk", "BL-1", "no"),
        ("lights", "the panel is dead", "TS-1", "nothing"),
        ("lights", "the alarm horn sounds all the time", "CP1", "yes"),
    ],
)
def test_complaints_about_drives_and_links(kitchen: str, said: str, about: str, reading: Reading) -> None:
    made = field(kitchen)
    seen = complaint(made.bench.checkout, said)
    assert {made.bench.checkout.probes[i].about for i, _ in seen.either} == {about}
    assert {r for _, r in seen.either} == {reading}


@pytest.mark.parametrize(
    ("said", "readings"),
    [
        ("EF-1 hunts", {"turns at full speed", "turns slowly"}),
        ("EF-1 runs all night", {"turns at full speed", "turns slowly"}),
    ],
)
def test_words_that_may_stand_for_several_things(said: str, readings: set[str]) -> None:
    """A fan that nobody called may turn slowly; one that hunts is never at the speed it should have."""
    made = field("shutdowns")
    seen = complaint(made.bench.checkout, said)
    assert {r for _, r in seen.either} == readings
    assert all(made.table.right[i] != r for i, r in seen.either if made.bench.checkout.probes[i].preparation == "on")
