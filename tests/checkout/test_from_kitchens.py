"""What an electrician might report of fire switches, shunt trips, gas, make-up air, starters and supplies.

What was said and read is common practice of the trade; the cause is named first, or stands in the first group that no
reading tells apart.
"""

from __future__ import annotations

import math

import pytest
from tests.outside.field_kitchens import field

from galleyproof.checkout.model import Reading

OL = math.inf
Row = tuple[str, str, tuple[str, ...], dict[str, Reading]]
CASES: tuple[Row, ...] = (
    # the loop landed on the contact that opens when armed
    (
        "shutdowns",
        "wrong-throw/FS-1/1",
        ("panel says fire but nothing released",),
        {"Z1 released: display Z1>released": "no"},
    ),
    # reset, and it trips again: the switch still sits in its released position
    (
        "shutdowns",
        "suppression-not-armed/FS-1",
        ("LP-1/10 trips as soon as I reset it", "no gas"),
        {"dead: ohms FS-1:2C FS-1:2A": OL, "line: display Z1>released": "yes"},
    ),
    # 118 V at the coil, its ohms are right, and the handle does not move
    (
        "shunt",
        "shunt-trip-jammed/LP-1/10",
        ("shunt trip doesn't trip in a fire",),
        {"Z1 released: volts AC LP-1/10:C1 LP-1/10:C2": 118.0, "dead: ohms SD-1/coil/C1 SD-1/coil/C2": 300.0},
    ),
    (
        "shutdowns",
        "valve-stuck/GV-1/open",
        ("GV-1 stays open in a release",),
        {"Z1 released: volts AC GV-1:1 GV-1:2": 0.0},
    ),
    # still 120 V with the shutdown circuit's own breaker open
    (
        "shutdowns",
        "coil-on-an-unswitched-supply/GV-1/another",
        ("gas does not shut off in a fire",),
        {"Z1 released: volts AC GV-1:1 GV-1:2": 120.0, "LP-1/8 alone open: volts AC GV-1:1 GV-1:2": 120.0},
    ),
    # 24 V on the pair while idle, none while called, all lines there
    (
        "starter",
        "make-up-unit-does-not-answer/MAU-1/locked-out",
        ("make-up air does not start",),
        {
            "line: volts AC MAU-1:J1 MAU-1:J2": 24.0,
            "on: volts AC MAU-1:J1 MAU-1:J2": 0.0,
            "line: volts AC MAU-1:L1 MAU-1:L2": 208.0,
            "line: volts AC MAU-1:L2 MAU-1:L3": 208.0,
            "line: volts AC MAU-1:L1 MAU-1:L3": 208.0,
        },
    ),
    # never any volts on the pair, and all lines there
    (
        "starter",
        "make-up-unit-does-not-answer/MAU-1/own-24",
        ("MAU1 wont start",),
        {
            "line: volts AC MAU-1:J1 MAU-1:J2": 0.0,
            "line: volts AC MAU-1:L1 MAU-1:L2": 208.0,
            "line: volts AC MAU-1:L2 MAU-1:L3": 208.0,
            "line: volts AC MAU-1:L1 MAU-1:L3": 208.0,
        },
    ),
    # somebody made it run for a test and left the jumper in
    (
        "starter",
        "short-in-a-cable/W-MAU-1-S/147,149@MAU-1",
        ("make-up air runs without the exhaust", "MAU-1 keeps running in a release"),
        {"line: volts AC MAU-1:J1 MAU-1:J2": 0.0, "dead: ohms MAU-1/run/1 MAU-1/run/2": 0.3},
    ),
    # 208 V on all three leads, no amperes
    (
        "starter",
        "burnt-out/EF-1",
        ("the fan is dead",),
        {
            "on: volts AC EF-1-QB:2 EF-1-QB:4": 208.0,
            "on: volts AC EF-1-QB:4 EF-1-QB:6": 208.0,
            "on: amps AC EF-1/motor/L1": 0.0,
            "on: amps AC EF-1/motor/L2": 0.0,
        },
    ),
    (
        "starter",
        "overload-set-too-low/CP1-Q1",
        ("EF-1 trips its overload",),
        {"on: look CP1-Q1.tripped": "yes", "dead: look CP1-Q1.dial": "low"},
    ),
    (
        "starter",
        "overload-tripped/CP1-Q1",
        ("EF-1 does not run",),
        {"line: look CP1-Q1.tripped": "yes", "on: volts DC CP1-Q1:A1 CP1-Q1:A2": 0.0},
    ),
    # it hums, the overload goes, everything is there, all is whole and the dial is right
    (
        "starter",
        "rotor-locked/EF-1",
        ("EF-1 hums but does not turn",),
        {
            "on: look CP1-Q1.tripped": "yes",
            "line: look CP1-Q1.tripped": "no",
            "dead: look CP1-Q1.dial": "as drawn",
            "dead: ohms EF-1-QB:2 EF-1-QB:4": 50.0,
            "dead: ohms EF-1-QB:4 EF-1-QB:6": 50.0,
            "dead: ohms EF-1-QB:2 EF-1-QB:6": 50.0,
            "line: volts AC LP-1/2:2 LP-1/2:4": 208.0,
            "line: volts AC LP-1/2:4 LP-1/2:6": 208.0,
            "line: volts AC LP-1/2:2 LP-1/2:6": 208.0,
            "dead: ohms CP1-X1:1 CP1-X1:2": 50.0,
            "dead: ohms CP1-X1:2 CP1-X1:3": 50.0,
        },
    ),
    ("starter", "contactor-welded/CP1-Q1", ("EF-1 won't shut off",), {"line: volts DC CP1-Q1:A1 CP1-Q1:A2": 0.0}),
    # 120 V into the 24 V supply, nothing out of it
    ("lights", "burnt-out/CP1-T1", ("the panel is dead",), {"control: volts AC CP1-X1:1 CP1-X1:3": 120.0}),
    (
        "two phases",
        "shared-neutral-open/LP-1/8/LP-1/9",
        ("the lamps are dim",),
        {"on: volts AC H-1-E1:L H-1-E1:N": 173.0, "on: volts AC H-2-E1:L H-2-E1:N": 35.0},
    ),
)


@pytest.mark.parametrize(("kitchen", "slip", "said", "taken"), CASES, ids=[slip for _, slip, *_ in CASES])
def test_the_cause_is_in_the_first_group(
    kitchen: str, slip: str, said: tuple[str, ...], taken: dict[str, Reading]
) -> None:
    made = field(kitchen)
    top = made.first(dict(taken), said)
    assert slip in (*top.slips, *top.others), made.search(dict(taken), said).suspects(4)
    assert top.unexplained == 0
    for probe, read in taken.items():
        expected = made.reading(slip, probe)
        assert expected == (read if isinstance(read, str) else pytest.approx(read, rel=0.1, abs=2.0)), probe
