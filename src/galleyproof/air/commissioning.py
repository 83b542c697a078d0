"""Readings at start-up against what was expected, and the likely reasons of a deviation in order.

A reason is known by the direction in which it moves each reading of a centrifugal exhaust fan at a steady drive
frequency. The rules are directions of effect from the fan laws and the trade (common practice); they order what to
look at first, they prove nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, TypeAlias

from galleyproof.air.steps import practice, require
from galleyproof.findings import Citation

__all__ = [
    "CAUSES",
    "IDLE_TOLERANCES",
    "QUANTITIES",
    "TOLERANCES",
    "Cause",
    "FanRecord",
    "Likely",
    "Quantity",
    "Row",
    "compare",
]

Quantity: TypeAlias = Literal["flow", "frequency", "static", "amps", "collar temperature", "room pressure"]
Direction: TypeAlias = Literal["low", "as expected", "high"]

QUANTITIES: Mapping[Quantity, str] = {
    "flow": "cfm",
    "frequency": "Hz",
    "static": "in wc",
    "amps": "A",
    "collar temperature": "degF",
    "room pressure": "in wc",
}
"""What is read, and its unit. ``static`` is the suction at the fan's inlet as a positive number; ``room pressure`` is
the kitchen against the next room, negative when below it."""

TOLERANCES: Mapping[Quantity, tuple[float, float]] = {
    "flow": (0.10, 0.0),
    "frequency": (0.0, 0.5),
    "static": (0.10, 0.02),
    "amps": (0.10, 0.1),
    "collar temperature": (0.0, 5.0),
    "room pressure": (0.0, 0.005),
}
"""Share of the expected value, and least band in the unit; the flow's is the usual test-and-balance acceptance."""

IDLE_TOLERANCES: Mapping[Quantity, tuple[float, float]] = {**TOLERANCES, "amps": (0.25, 0.1)}
"""The same at idle, where the current hangs on the motor's no-load current, which is a guess (``expected_amps``)."""

LEANS = 1.0 / 3.0
"""Share of its band from which a reading inside it counts as leaning to one side. [-]"""

PRACTICE: Citation = practice("directions of effect", "backward-inclined centrifugal fan, steady drive frequency")


@dataclass(frozen=True, slots=True)
class Cause:
    """Something that can be wrong, known by what it does to the readings.

    Attributes:
        name: In words.
        look: What to look at.
        moves: Direction per reading: -1 lowers, +1 raises; a reading left out stays.
        either: Readings it may move or not, and in which direction is open.
        weakly: Readings of ``moves`` that it moves only a little: one that stays in its band does not speak against
            it, unless it leans the other way. Throttling a fan near the top of its power curve hardly moves the
            current.
        flow_from: Least flow over expectation this cause leaves. [-]
        flow_to: Most flow over expectation this cause leaves. [-]
    """

    name: str
    look: str
    moves: Mapping[Quantity, int]
    either: tuple[Quantity, ...] = ()
    weakly: tuple[Quantity, ...] = ()
    flow_from: float = 0.0
    flow_to: float = 10.0


# In the order in which the trade finds them, so that equal evidence keeps this order (common practice).
CAUSES: tuple[Cause, ...] = (
    Cause(
        "drive below its set-point",
        "speed limit, manual mode and ramp of the drive; signal from the panel",
        {"frequency": -1, "flow": -1, "static": -1, "amps": -1},
        ("room pressure", "collar temperature"),
    ),
    Cause(
        "drive above its set-point",
        "speed limit and manual mode of the drive; was the set-point found with clean filters?",
        {"frequency": 1, "flow": 1, "static": 1, "amps": 1},
        ("room pressure", "collar temperature"),
    ),
    Cause(
        "filters or grease duct blocked",
        "filters in the hood, grease in the duct, a listed damper or choke too far shut",
        {"flow": -1, "static": 1, "amps": -1},
        ("room pressure", "collar temperature"),
        ("amps",),
        flow_from=0.05,
    ),
    Cause(
        "wheel turns backwards",
        "rotation: exchange two motor leads at the drive's output; a reversed wheel still moves about half",
        {"flow": -1, "static": -1},
        ("amps", "room pressure", "collar temperature"),
        flow_from=0.30,
        flow_to=0.70,
    ),
    Cause(
        "belt slips or sheave too small",
        "belt tension, sheave sizes, wheel speed by tachometer",
        {"flow": -1, "static": -1, "amps": -1},
        ("room pressure", "collar temperature"),
    ),
    Cause(
        "outlet blocked",
        "backdraught damper stuck, bird screen, hinge kit not shut, outlet in the wind",
        {"flow": -1, "static": -1, "amps": -1},
        ("room pressure", "collar temperature"),
        ("amps",),
    ),
    Cause(
        "duct leaks or an access door is open",
        "access doors, welds and the fan's curb: air enters behind the hood",
        {"flow": -1, "static": -1, "amps": 1},
        ("room pressure", "collar temperature"),
        ("amps",),
    ),
    Cause(
        "filters missing",
        "filters in the hood, all of them and of the kind that was there at test and balance",
        {"flow": 1, "static": -1, "amps": 1},
        ("room pressure", "collar temperature"),
        ("amps",),
    ),
    Cause(
        "sheave too large",
        "sheave sizes, wheel speed by tachometer",
        {"flow": 1, "static": 1, "amps": 1},
        ("room pressure", "collar temperature"),
    ),
    Cause(
        "make-up air missing",
        "make-up unit running, its filters and damper; doors shut during the reading",
        {"flow": -1, "room pressure": -1, "amps": -1},
        ("static", "collar temperature"),
        ("amps",),
    ),
    Cause(
        "air colder than expected",
        "repeat with hot appliances: cold air is dense and loads the motor",
        {"static": 1, "amps": 1, "collar temperature": -1},
        ("room pressure",),
    ),
    Cause(
        "air hotter than expected",
        "collar temperature and altitude that the expectation was made for",
        {"static": -1, "amps": -1, "collar temperature": 1},
        ("room pressure",),
    ),
    Cause(
        "make-up above exhaust",
        "make-up flow and tracking; another unit's outdoor air",
        {"room pressure": 1},
        ("flow", "collar temperature"),
    ),
    Cause(
        "flow wrongly measured",
        "method and filter factor of the flow reading: all else is as expected",
        {"flow": 0},
        ("flow",),
    ),
    Cause(
        "motor, its supply or its nameplate",
        "volts of all three lines while it runs, current of each line, current with the belt off, nameplate against "
        "the order; less air would lower the current",
        {"amps": 1},
        ("collar temperature", "room pressure"),
    ),
    Cause(
        "current read at another place",
        "the expectation holds at the drive's output: current into a drive goes with power and is lower at low speed",
        {"amps": 0},
        ("amps",),
    ),
)


@dataclass(frozen=True, slots=True)
class Row:
    """One reading against its expectation.

    Attributes:
        quantity: What was read.
        unit: Its unit.
        expected: Expectation. [unit]
        measured: Reading. [unit]
        band: How far it may be off. [unit]
        direction: Where it lies.
    """

    quantity: Quantity
    unit: str
    expected: float
    measured: float
    band: float
    direction: Direction

    @property
    def passed(self) -> bool:
        """Whether it lies within its band."""
        return self.direction == "as expected"


@dataclass(frozen=True, slots=True)
class Likely:
    """A reason that fits the readings.

    Attributes:
        name: The reason.
        look: What to look at.
        explains: Deviating readings it explains.
        against: Readings that speak against it.
    """

    name: str
    look: str
    explains: tuple[Quantity, ...]
    against: tuple[Quantity, ...]


@dataclass(frozen=True, slots=True)
class FanRecord:
    """The start-up record of one fan or hood.

    Attributes:
        tag: Its tag.
        rows: Every reading that has an expectation.
        missing: Expectations without a reading.
        likely: Reasons of the deviations, likeliest first; empty when all pass.
    """

    tag: str
    rows: tuple[Row, ...]
    missing: tuple[Quantity, ...]
    likely: tuple[Likely, ...]

    @property
    def passed(self) -> bool:
        """Whether every expectation has a reading within its band."""
        return not self.missing and all(r.passed for r in self.rows)


def compare(
    tag: str,
    expected: Mapping[Quantity, float],
    measured: Mapping[Quantity, float],
    tolerances: Mapping[Quantity, tuple[float, float]] = TOLERANCES,
) -> FanRecord:
    """Readings of one fan against their expectations.

    Args:
        tag: Fan or hood.
        expected: Expectation per quantity; temperatures and room pressure too where known. [see QUANTITIES]
        measured: Reading per quantity. [see QUANTITIES]
        tolerances: Share and least band per quantity.

    Returns:
        The record with the likely reasons.

    Raises:
        AirError: A number that is not finite.
    """
    rows = []
    for quantity, unit in QUANTITIES.items():
        if quantity not in expected or quantity not in measured:
            continue
        least = None if quantity in ("collar temperature", "room pressure") else 0.0
        cure = "enter suction as positive" if quantity == "static" else ""
        want = require(f"{tag}: expected {quantity}", expected[quantity], unit, least=least, cure=cure)
        have = require(f"{tag}: measured {quantity}", measured[quantity], unit, least=least, cure=cure)
        share, narrowest = tolerances[quantity]
        band = max(share * abs(want), narrowest)
        direction: Direction = "as expected"
        if abs(have - want) > band * (1.0 + 1e-9):
            direction = "high" if have > want else "low"
        rows.append(Row(quantity, unit, want, have, band, direction))
    missing = tuple(q for q in QUANTITIES if q in expected and q not in measured)
    return FanRecord(tag, tuple(rows), missing, _likely(tuple(rows)))


def _likely(rows: tuple[Row, ...]) -> tuple[Likely, ...]:
    if all(r.passed for r in rows):
        return ()
    share = next((r.measured / r.expected for r in rows if r.quantity == "flow" and r.expected > 0.0), None)
    ranked: list[tuple[float, int, Likely]] = []
    for place, cause in enumerate(CAUSES):
        explains = tuple(r.quantity for r in rows if not r.passed and _fits(cause, r))
        against = tuple(r.quantity for r in rows if r.quantity not in cause.either and _speaks_against(cause, r))
        if not explains or (share is not None and not cause.flow_from <= share <= cause.flow_to):
            continue
        opposite = sum(_opposite(cause, r) for r in rows)
        if opposite > len(explains):
            continue
        # A reading that moved the wrong way weighs more than one that did not move far enough.
        score = 2.0 * len(explains) - len(against) - 2.0 * opposite
        ranked.append((-score, place, Likely(cause.name, cause.look, explains, against)))
    return tuple(likely for _, _, likely in sorted(ranked, key=lambda r: r[:2]))


def _fits(cause: Cause, row: Row) -> bool:
    """Whether a reading lies where the cause puts it; an open one explains nothing but speaks not against it."""
    if row.quantity in cause.either:
        return cause.moves.get(row.quantity) == 0 and not row.passed
    sign = cause.moves.get(row.quantity, 0)
    return _sign(row) == sign


def _speaks_against(cause: Cause, row: Row) -> bool:
    """Whether a reading lies where the cause does not put it; in its band it must lean away from a weak effect."""
    if row.passed and row.quantity in cause.weakly:
        return (row.measured - row.expected) * cause.moves[row.quantity] < -LEANS * row.band
    return not _fits(cause, row)


def _opposite(cause: Cause, row: Row) -> bool:
    return row.quantity not in cause.either and _sign(row) * cause.moves.get(row.quantity, 0) < 0


def _sign(row: Row) -> int:
    return {"low": -1, "as expected": 0, "high": 1}[row.direction]
