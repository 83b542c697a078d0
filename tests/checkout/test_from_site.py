"""What an electrician might report of drives, EC fans, lights, sensors and links: the cause is named first.

The readings are those of the trade (common practice), not taken from the tables: each row was written before it was
played.
"""

from __future__ import annotations

import math

import pytest
from tests.outside.field_kitchens import field

from galleyproof.checkout.model import Reading

OL = math.inf
Rows = dict[str, Reading]
CASES: list[tuple[str, str, Rows]] = [
    # 5 V and 10 V of the panel arrive with the wrong sign: the drive stays at its least speed
    (
        "drive",
        "drive's-reference-reversed/CP1-T2",
        {
            "on: volts DC CP1-T2:ref+ CP1-T2:ref-": -5.0,
            "cooking: volts DC CP1-T2:ref+ CP1-T2:ref-": -10.0,
            "cooking: look EF-1.speed": "turns slowly",
        },
    ),
    # the panel gives 10 V, the drive sees none
    (
        "drive",
        "drive's-reference-without-common/CP1-T2",
        {
            "cooking: volts DC CP1-T2:ref+ CP1-T2:ref-": 0.0,
            "cooking: look EF-1.speed": "turns slowly",
            "cooking: look CP1-T2.display": "runs",
        },
    ),
    # reference there, its own 10 V there, nothing at the input that starts it
    (
        "drive",
        "run-on-another-input/CP1-T2",
        {
            "on: look CP1-T2.display": "stopped",
            "on: volts DC CP1-T2:run CP1-T2:ref-": 0.0,
            "on: volts DC CP1-T2:ref+ CP1-T2:ref-": 5.0,
        },
    ),
    # half the reference, and 48 Hz: 166 V of 208 V on the motor
    (
        "drive",
        "least-speed-set-too-high/CP1-T2",
        {
            "on: volts DC CP1-T2:ref+ CP1-T2:ref-": 5.0,
            "on: volts AC CP1-X1:1 CP1-X1:2": 166.0,
            "cooking: look EF-1.speed": "turns at full speed",
        },
    ),
    # a fault before anything is asked of it, and three good lines
    (
        "drive",
        "drive-stands-on-a-fault/CP1-T2",
        {
            "line: look CP1-T2.display": "fault",
            "line: volts AC CP1-X1:8 CP1-X1:10": 208.0,
            "line: volts AC CP1-X1:8 CP1-X1:12": 208.0,
            "line: volts AC CP1-X1:10 CP1-X1:12": 208.0,
        },
    ),
    # a line lost in front of the drive: its electronics live on the other two and show a fault
    (
        "drive",
        "phase-missing/LP-1/2/L3",
        {
            "line: look CP1-T2.display": "fault",
            "line: volts AC CP1-X1:8 CP1-X1:10": 208.0,
            "line: volts AC CP1-X1:8 CP1-X1:12": 75.0,
            "line: volts AC LP-1/2:2 LP-1/2:6": 208.0,
        },
    ),
    # volts and signal at the fan, and not even its own 10 V
    (
        "shutdowns",
        "EC-fan-dead/EF-1",
        {
            "cooking: look EF-1.speed": "stands",
            "cooking: volts AC EF-1:L1 EF-1:L2": 120.0,
            "cooking: volts DC EF-1:0-10V EF-1:GND": 10.0,
            "cooking: volts DC EF-1:+10V EF-1:GND": 0.0,
        },
    ),
    # as before, with its own 10 V: a fault of its own, or a stuck wheel
    (
        "shutdowns",
        "EC-fan-dead/EF-1/stands",
        {
            "cooking: look EF-1.speed": "stands",
            "cooking: volts AC EF-1:L1 EF-1:L2": 120.0,
            "cooking: volts DC EF-1:0-10V EF-1:GND": 10.0,
            "line: volts DC EF-1:+10V EF-1:GND": 10.0,
        },
    ),
    # 60 ohm, the panel alive, and nothing between A and B
    (
        "lights",
        "link-port-silent/CP1-K1",
        {
            "line: look BL-1.online": "no",
            "line: volts DC CP1-X4:1 CP1-X4:3": 0.0,
            "dead: ohms CP1-X4:1 CP1-X4:3": 60.0,
            "line: display TS-1>reads": 75.0,
        },
    ),
    ("lights", "lamp-dead/H-1-E1", {"on: look H-1-E1.on": "no", "on: volts AC H-1-E1:L H-1-E1:N": 120.0}),
]


@pytest.mark.parametrize(("kitchen", "slip", "taken"), CASES, ids=[slip for _, slip, _ in CASES])
def test_the_cause_is_named_first(kitchen: str, slip: str, taken: Rows) -> None:
    made = field(kitchen)
    top = made.first(dict(taken))
    assert slip in (*top.slips, *top.others)
    assert top.unexplained == 0
    # and what the tables say of it is what was reported
    for probe, read in taken.items():
        expected = made.reading(slip, probe)
        assert expected == (read if isinstance(read, str) else pytest.approx(read, rel=0.05, abs=0.1)), probe
