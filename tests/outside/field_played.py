"""Field cases that are played: a kitchen, the slip of the case, what the case reads, and what the search then names."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tests.outside.field_kitchens import RIGHT

from galleyproof.checkout.model import Reading

OL = math.inf


@dataclass(frozen=True)
class Take:
    """One reading of a case.

    Attributes:
        probe: What is measured, see ``Field.probe``.
        low: Least value that is as the case says, or the words a person sees.
        high: Largest; equal to ``low`` for words.
        told: Whether the search is told; a case also has readings that say what everybody saw already.
    """

    probe: str
    low: Reading
    high: Reading
    told: bool = True

    def holds(self, reading: Reading) -> bool:
        """Whether a reading is as the case says."""
        if isinstance(reading, str) or isinstance(self.low, str) or isinstance(self.high, str):
            return reading == self.low
        return self.low <= reading <= self.high

    @property
    def value(self) -> Reading:
        """What a person would write down: the middle of what the case says."""
        if isinstance(self.low, str) or isinstance(self.high, str) or math.isinf(self.high):
            return self.low
        return 0.5 * (self.low + self.high)


@dataclass(frozen=True)
class Played:
    """One case.

    Attributes:
        case: Its number.
        kitchen: Where it is played.
        slip: Key of the slip that is its cause; ``RIGHT`` when the cause is no fault.
        takes: What the case reads.
        complaints: What the people say; told to the search before the readings.
        also: Slips that are the same cause in the words of the case: a resistor is missing, at whichever end.
    """

    case: str
    kitchen: str
    slip: str
    takes: tuple[Take, ...]
    complaints: tuple[str, ...] = ()
    also: tuple[str, ...] = ()


def sees(probe: str, words: str, *, told: bool = True) -> Take:
    """A look or the display."""
    return Take(probe, words, words, told)


def reads(probe: str, low: float, high: float, *, told: bool = True) -> Take:
    """A meter or the display: between two values."""
    return Take(probe, low, high, told)


def about(probe: str, value: float, share: float = 0.05, *, told: bool = True) -> Take:
    """A meter: near a value that the case states."""
    return Take(probe, value * (1.0 - share), value * (1.0 + share), told)


def none(probe: str, *, told: bool = True) -> Take:
    """No volts, no ohms."""
    return Take(probe, -1.0, 1.0, told)


PLAYED: tuple[Played, ...] = (
    # fire switch ------------------------------------------------------------------------------------------------
    Played(
        "F11",
        "shutdowns",
        "snap-switch-stuck/FS-1/2",
        (
            none("dead, Z1 released: ohms FS-1:2C FS-1:2A"),
            Take("dead, Z1 released: ohms FS-1:2C FS-1:2R", OL, OL),
            sees("Z1 released: look GV-1.open", "yes"),
        ),
    ),
    Played(
        "F13",
        "shutdowns",
        "coil-on-an-unswitched-supply/KM-1",
        (
            sees("line: look A-2.on", "yes"),
            sees("Z1 released: look GV-1.open", "no"),
            about("Z1 released: volts AC KM-1:A1 KM-1:A2", 120.0),
        ),
    ),
    Played(
        "F14",
        "shutdowns",
        "contactor-welded/KM-1",
        (
            none("Z1 released: volts AC KM-1:A1 KM-1:A2"),
            about("Z1 released: volts AC KM-1:2/T1 KM-1:4/T2", 208.0),
        ),
    ),
    # shunt trip -------------------------------------------------------------------------------------------------
    Played(
        "T01",
        "shunt",
        "left-off/LP-1/8/L3",
        (
            sees("cooking: look A-1.on", "yes"),
            none("line: volts AC LP-1/8/L3 LP-1/8/N"),
            sees("Z1 released: look A-1.on", "yes"),
        ),
    ),
    Played(
        "T02",
        "shunt",
        "left-off/SD-1/coil/C1",
        (
            Take("dead: ohms SD-1/coil/C1 SD-1/coil/C2", OL, OL),
            sees("Z1 released: look A-1.on", "yes"),
        ),
    ),
    Played(
        "T06",
        "shunt",
        "wrong-accessory/LP-1/10",
        (
            sees("line: look LP-1/10.tripped", "yes"),
            none("line: volts AC LP-1/10:C1 LP-1/10:C2"),
            reads("dead: ohms LP-1/10:2 LP-1/10:4", 9.0, 13.0),
            Take("dead: ohms LP-1/10:2 LP-1:PE", OL, OL),
        ),
        ("the shunt breaker LP-1/10 will not reset",),
    ),
    # gas --------------------------------------------------------------------------------------------------------
    Played(
        "G01",
        "shutdowns",
        "coil-on-an-unswitched-supply/GV-1",
        (
            sees("outage and back: look GV-1.open", "yes"),
            about("outage and back: volts AC GV-1:1 GV-1:2", 120.0),
        ),
    ),
    # make-up air ------------------------------------------------------------------------------------------------
    Played(
        "M04",
        "starter",
        "wrong-throw/CP1-K1/MAU-1/run",
        (
            sees("line: look MAU-1.speed", "turns at full speed"),
            sees("on: look MAU-1.speed", "stands"),
            none("dead: ohms MAU-1/run/1 MAU-1/run/2"),
        ),
    ),
    # power ------------------------------------------------------------------------------------------------------
    Played(
        "X07",
        "lights",
        "loose/H-1-E1/L",
        (
            about("line: volts AC LP-1/9/L2 LP-1/9/N", 120.0),
            about("on: volts AC H-1-E1:L H-1-E1:N", 50.0),
            none("cooking: volts AC H-1-E1:N H-1-E1:PE"),
            about("cooking: volts AC H-1-E1/L H-1-E1/N", 120.0),
        ),
    ),
    # drives, signals --------------------------------------------------------------------------------------------
    Played(
        "E01",
        "shutdowns",
        "own-supply-tied-to-the-signal/EF-1",
        (
            sees("line: look EF-1.speed", "turns at full speed"),
            sees("on: look EF-1.speed", "turns at full speed"),
            reads("line: volts DC EF-1:0-10V EF-1:GND", 9.5, 10.2),
            reads("line: volts DC EF-1:+10V EF-1:GND", 9.5, 10.2),
            none("line: volts DC EF-1:+10V EF-1:0-10V"),
            sees("line: display CP1-K1>alarm", "no"),
            reads("line: volts DC EF-1/speed/+ EF-1/speed/-", 9.5, 10.2),
        ),
    ),
    Played(
        "V01",
        "drive",
        "drive-waits-for-its-keypad/CP1-T2",
        (
            sees("on: look EF-1.speed", "stands"),
            about("on: volts DC CP1-T2:run CP1-T2:ref-", 21.8, 0.12),
            sees("on: look CP1-T2.display", "in local"),
        ),
    ),
    # sensors ----------------------------------------------------------------------------------------------------
    # links ------------------------------------------------------------------------------------------------------
    Played("N02", "lights", RIGHT, (about("dead: ohms BL-1/A BL-1/B", 60.0),)),
    Played(
        "N02",
        "lights",
        "end-of-line-resistor-missing/BL-1",
        (about("dead: ohms BL-1/A BL-1/B", 120.0), reads("line: volts DC BL-1:A BL-1:B", 0.6, 1.1)),
        also=("end-of-line-resistor-missing/CP1-R1",),
    ),
    Played("N02", "lights", "end-of-line-resistor-doubled/BL-1", (about("dead: ohms BL-1/A BL-1/B", 40.0),)),
    # what a kitchen does when it is right ---------------------------------------------------------------------------
    Played(
        "F02",
        "starter",
        RIGHT,
        (
            sees("on: look EF-1.speed", "turns at full speed"),
            sees("line: look EF-1.speed", "stands"),
            sees("Z1 released: look EF-1.speed", "turns at full speed"),
            sees("switches off, Z1 released: look EF-1.speed", "turns at full speed"),
            sees("on: look MAU-1.speed", "turns at full speed"),
            sees("line: look MAU-1.speed", "stands"),
            sees("Z1 released: look MAU-1.speed", "stands"),
            sees("switches off, Z1 released: look MAU-1.speed", "stands"),
        ),
    ),
    Played(
        "M11",
        "starter",
        RIGHT,
        (
            none("on: volts AC MAU-1:J1 MAU-1:J2"),
            sees("on: look EF-1.speed", "turns at full speed"),
            sees("on: look MAU-1.speed", "turns at full speed"),
        ),
    ),
    # sequences and settings -----------------------------------------------------------------------------------------
    Played(
        "F03",
        "starter",
        "sequence-reversed/CP1-K1",
        (
            sees("Z1 released: look EF-1.speed", "stands"),
            sees("Z1 released: look MAU-1.speed", "turns at full speed"),
        ),
    ),
    Played(
        "F05",
        "shutdowns",
        "fed-from-a-shunt-tripped-breaker/LP-1/2",
        (
            sees("Z1 released: look A-1.on", "no"),
            sees("Z1 released: look A-2.on", "no"),
            sees("Z1 released: look EF-1.speed", "stands"),
            sees("LP-1/10 alone open: look EF-1.speed", "stands"),
            sees("cooking: look EF-1.speed", "turns at full speed"),
            sees("Z1 released: look CP1-P1.on", "yes"),
        ),
    ),
    Played(
        "F09",
        "starter",
        "suppression-not-armed/FS-1",
        (
            sees("line: look EF-1.speed", "turns at full speed"),
            sees("on: look MAU-1.speed", "stands"),
            about("on: volts AC MAU-1:J1 MAU-1:J2", 23.8),
            # open; the loop's own input stands beside it
            about("dead: ohms FS-1:1C FS-1:1A", 4300.0),
        ),
    ),
    Played(
        "O10",
        "starter",
        RIGHT,
        (sees("switches on, outage and back: look EF-1.speed", "turns at full speed"),),
    ),
    Played(
        "O10",
        "starter",
        "restart-set-otherwise/EF-1",
        (
            sees("switches on, outage and back: look EF-1.speed", "stands"),
            sees("on: look EF-1.speed", "turns at full speed"),
        ),
    ),
    Played(
        "N05",
        "lights",
        "link-set-otherwise/BL-1",
        (
            sees("line: look BL-1.online", "no"),
            about("dead: ohms BL-1/A BL-1/B", 60.0),
            reads("line: volts DC BL-1:A BL-1:B", 0.65, 0.85),
        ),
    ),
    # gas ------------------------------------------------------------------------------------------------------------
    Played(
        "G04",
        "shutdowns",
        "contact-never-makes/CP1-K2/r1_no",
        (
            sees("reset held: look GV-1.open", "yes"),
            sees("line: look GV-1.open", "no"),
            none("line: volts AC GV-1:1 GV-1:2"),
            none("line: volts AC CP1-K2:A1 CP1-K2:A2"),
            # the meter shares 120 V with the coil behind the contact
            reads("line: volts AC CP1-K2:11 CP1-K2:14", 70.0, 95.0),
        ),
    ),
    Played(
        "G07",
        "shutdowns",
        "dead-pole/LP-1/8/pole_1",
        (
            sees("line: look GV-1.open", "no"),
            none("line: volts AC GV-1:1 GV-1:2"),
            none("line: volts AC LP-1/8:2 LP-1:N"),
            sees("line: look LP-1/8.tripped", "no"),
        ),
        ("GV-1 does not open",),
    ),
    # power ----------------------------------------------------------------------------------------------------------
    Played(
        "P02",
        "high leg",
        "on-the-high-leg/LP-1/9",
        (
            about("on: volts AC H-1-E1:L H-1-E1:N", 208.0),
            about("line: volts AC LP-1/9:2 LP-1:N", 208.0),
        ),
    ),
    Played(
        "P03",
        "two legs",
        "shared-neutral-open/LP-1/8/LP-1/9",
        (
            about("on: volts AC H-1-E1:L H-1-E1:N", 200.0),
            about("on: volts AC H-2-E1:L H-2-E1:N", 40.0),
        ),
    ),
    Played(
        "P03",
        "two phases",
        "shared-neutral-open/LP-1/8/LP-1/9",
        (
            about("on: volts AC H-1-E1:L H-1-E1:N", 173.0),
            about("on: volts AC H-2-E1:L H-2-E1:N", 35.0),
        ),
    ),
    Played(
        "P10",
        "starter",
        "control-supply-too-small/CP1-T1",
        (reads("on: volts DC CP1-Q1:A1 CP1-Q1:A2", 19.0, 20.0),),
    ),
    Played(
        "P14",
        "wet run",
        "coupled-volts/MAU-1/holds",
        (
            sees("switches off again: look MAU-1.speed", "turns at full speed"),
            sees("switches off again: look EF-1.speed", "stands"),
            reads("switches off again: volts AC, ordinary meter MAU-1:J1 MAU-1:J2", 30.0, 60.0),
        ),
    ),
    Played(
        "P16",
        "lights",
        "second-feed-at-the-far-end/H-1-E1/LP-1/2",
        (
            sees("line: look H-1-E1.on", "yes"),
            about("LP-1/9 alone open: volts AC H-1-E1:L H-1-E1:N", 120.0),
        ),
    ),
    Played(
        "P17",
        "shutdowns",
        "neutral-open/LP-1/8/N",
        (
            sees("line: look GV-1.open", "no"),
            sees("Z1 released: look A-1.on", "yes"),
            reads("Z1 released: volts AC LP-1/8/N CP1-X1:5", 90.0, 126.0),
        ),
    ),
    # motors ---------------------------------------------------------------------------------------------------------
    Played(
        "O01",
        "starter",
        "phase-lost-while-it-runs/EF-1/turns-on",
        (
            sees("on: look EF-1.speed", "turns at full speed"),
            none("on: amps AC EF-1/motor/L3"),
            reads("on: amps AC EF-1/motor/L1", 6.0, 10.0),
            reads("on: amps AC EF-1/motor/L2", 6.0, 10.0),
        ),
    ),
    Played(
        "O04",
        "belt drive",
        "motor-draws-too-much/EF-1",
        (about("on: amps AC EF-1/motor/L1", 11.5),),
    ),
    Played(
        "O11",
        "starter",
        "short-to-ground/EF-1/motor/L1/2",
        (none("dead: ohms CP1-X1:1 CP1-X1:14"),),
    ),
    # drives and signals ---------------------------------------------------------------------------------------------
    Played(
        "V04",
        "drive",
        "noise-of-the-drive/CP1-T2/reference",
        (
            about("control, H-1 warmed: volts DC CP1-T2:ref+ CP1-T2:ref-", 10.0),
            about("cooking: volts DC CP1-T2:ref+ CP1-T2:ref-", 8.0),
        ),
    ),
    Played(
        "V07",
        "drive",
        "disconnect-left-open/EF-1-QB",
        (
            sees("on: look EF-1.speed", "stands"),
            sees("on: look CP1-T2.display", "runs"),
            none("on: amps AC EF-1/motor/U"),
            none("on: amps AC EF-1/motor/V"),
            none("on: amps AC EF-1/motor/W"),
        ),
    ),
    Played(
        "V14",
        "drive",
        "supply-on-the-drive's-output/CP1-T2",
        (
            sees("on: look CP1-T2.display", "dark"),
            about("line: volts AC CP1-X1:1 CP1-X1:2", 208.0),
            none("line: volts DC CP1-T2:+10V CP1-T2:ref-"),
        ),
    ),
    Played(
        "E01",
        "shutdowns",
        "common-left-off/EF-1/speed/-",
        (
            none("on: volts DC EF-1:0-10V EF-1:GND"),
            about("on: volts DC EF-1/speed/+ EF-1/speed/-", 5.0),
            about("line: volts DC EF-1:+10V EF-1:GND", 10.0),
        ),
    ),
    Played(
        "E02",
        "three fans",
        "one-signal-for-all/EF-1/EF-2/EF-3",
        (
            reads("cooking: volts DC EF-1:0-10V EF-1:GND", 6.0, 7.0),
            reads("cooking: volts DC EF-2:0-10V EF-2:GND", 6.0, 7.0),
            reads("cooking: volts DC EF-3:0-10V EF-3:GND", 6.0, 7.0),
        ),
    ),
    Played(
        "E05",
        "shutdowns",
        "signal-of-the-other-kind/EF-1/output",
        (reads("on: hertz EF-1:0-10V EF-1:GND", 20.0, 2000.0),),
    ),
    # lights ---------------------------------------------------------------------------------------------------------
    Played(
        "L04",
        "lights",
        "line-and-neutral-exchanged-in-the-panel/LP-1/9",
        (
            about("line: volts AC H-1-E1:N H-1-E1:PE", 120.0),
            about("on: volts AC H-1-E1:L H-1-E1:N", 120.0),
        ),
    ),
    # sensors --------------------------------------------------------------------------------------------------------
    Played(
        "S02",
        "two sensors at 70",
        "sensors-in-parallel/TS-1/TS-2",
        (
            reads("control: display TS-1>reads", 97.5, 100.5),
            # 5.9 kohm of the two behind the input's own 10 kohm
            about("dead: lifted TS-1/-", 15900.0, 0.02),
            sees("control: display TS-2>reads", "open"),
            sees("line: look EF-1.speed", "turns at full speed"),
        ),
    ),
    Played(
        "S05",
        "curve 3 at 200",
        "wrong-thermistor-curve/TS-1",
        (
            reads("control: display TS-1>reads", 69.2, 69.6),
            reads("control, H-1 warmed: display TS-1>reads", 210.5, 211.5),
        ),
    ),
    Played(
        "S03",
        "drive",
        "sensors-averaged/H-1/mixed",
        (
            # two thirds of 10.5 kohm at 75 degF, beside the input's own 10 kohm
            about("dead: ohms TS-1/+ TS-1/-", 4110.0),
            sees("control: display TS-2>reads", "open"),
        ),
    ),
    Played(
        "S09",
        "drive",
        "noise-of-the-drive/TS-1/pair",
        (
            about("line: display TS-1>reads", 75.0),
            reads("on: display TS-1>reads", -10.0, 15.0),
        ),
    ),
    # proving ----------------------------------------------------------------------------------------------------
    Played(
        "M07",
        "proved",
        "proving-switch-set-too-high/AF-1",
        (
            sees("on: look EF-1.speed", "turns slowly"),
            sees("on: look MAU-1.speed", "stands"),
            sees("cooking: look MAU-1.speed", "turns at full speed"),
        ),
    ),
    # meters ---------------------------------------------------------------------------------------------------------
    Played(
        "X02",
        "wet run",
        "coupled-volts/MAU-1/wakes",
        (
            sees("line: look MAU-1.speed", "turns at full speed"),
            about("line: volts AC, ordinary meter MAU-1:J1 MAU-1:J2", 68.0),
            reads("line: volts AC MAU-1:J1 MAU-1:J2", -1.0, 4.0),
        ),
    ),
)
"""Every case that is played; a case may be played more than once."""
