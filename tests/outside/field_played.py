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
)
"""Every case that is played; a case may be played more than once."""
