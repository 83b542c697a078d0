"""An odd reading is asked about before it is believed; complaints about drives and links are understood."""

from __future__ import annotations

import math

import pytest
from tests.outside.field_kitchens import field

from galleyproof.checkout.complaints import complaint
from galleyproof.checkout.doubts import doubt


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
    ],
)
def test_complaints_about_drives_and_links(kitchen: str, said: str, about: str, reading: str) -> None:
    made = field(kitchen)
    seen = complaint(made.bench.checkout, said)
    assert {made.bench.checkout.probes[i].about for i, _ in seen.either} == {about}
    assert {r for _, r in seen.either} == {reading}
