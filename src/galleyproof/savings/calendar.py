"""Which hour of the year has which cooking: day types, week and holidays laid over a calendar.

The minutes of an hour that share one state of the kitchen (which hoods cook how hard, on or off, low-speed hours or
not) weigh by their share of the hour, so that a schedule to the minute loses nothing, and a state is computed once
however many hours have it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from galleyproof.air.steps import AirError, require
from galleyproof.savings.weather import Array, Weather

__all__ = ["Cooking", "Day", "Holiday", "Schedule", "State", "Usage", "lay_out"]

Minutes: TypeAlias = tuple[int, int]
"""Begin and end from the day's midnight; the end may lie in the next day. [min]"""

MINUTES_PER_DAY = 1440


@dataclass(frozen=True, slots=True)
class Cooking:
    """How hard is cooked for some time.

    Attributes:
        span: When.
        intensity_ratio: 0 for idling appliances to 1 for the rush. [-]
        hoods: Under which hoods; empty for all.
    """

    span: Minutes
    intensity_ratio: float
    hoods: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        require("cooking intensity", self.intensity_ratio, "-", least=0.0, most=1.0, cure="write it as 0 to 1")


@dataclass(frozen=True, slots=True)
class Day:
    """One kind of day.

    Attributes:
        name: Its name.
        runs: When the exhaust runs; none for a closed day.
        cooking: How hard is cooked.
        low_speed: When a two-speed fan would have been switched to low.
    """

    name: str
    runs: tuple[Minutes, ...] = ()
    cooking: tuple[Cooking, ...] = ()
    low_speed: tuple[Minutes, ...] = ()


@dataclass(frozen=True, slots=True)
class Holiday:
    """Days that are none of the week.

    Attributes:
        first: Month and day.
        last: Month and day of the last one; before ``first`` it lies in the next year.
        day: Name of their kind.
    """

    first: tuple[int, int]
    last: tuple[int, int]
    day: str

    def holds(self, month: int, day: int) -> bool:
        """Whether a day of the year is one of them."""
        at = (month, day)
        if self.first <= self.last:
            return self.first <= at <= self.last
        return at >= self.first or at <= self.last


@dataclass(frozen=True, slots=True)
class Schedule:
    """The kinds of days and when they are.

    Attributes:
        days: Kinds of days.
        week: Name of the kind for Monday to Sunday.
        holidays: Exceptions; the first that holds counts.
        january_1: Weekday of 1 January, 0 for Monday; None to take the weather file's, else Monday.
    """

    days: tuple[Day, ...]
    week: tuple[str, str, str, str, str, str, str]
    holidays: tuple[Holiday, ...] = ()
    january_1: int | None = None

    def __post_init__(self) -> None:
        known = {d.name for d in self.days}
        gone = {*self.week, *(h.day for h in self.holidays)} - known
        if gone:
            raise AirError(f"there is no day type {', '.join(sorted(gone))}; day types: {', '.join(sorted(known))}")

    @classmethod
    def every_day(cls, day: Day) -> Schedule:
        """The same day all year."""
        n = day.name
        return cls((day,), (n, n, n, n, n, n, n))


@dataclass(frozen=True, slots=True)
class State:
    """One state of the kitchen.

    Attributes:
        running: Whether the exhaust runs.
        intensities: Cooking under each hood, in the order of the plant. [-]
        low: Whether a two-speed fan would be at low.
    """

    running: bool
    intensities: tuple[float, ...]
    low: bool


@dataclass(frozen=True, slots=True)
class Usage:
    """A year of states.

    Attributes:
        states: Every different one.
        share: Share of each hour of the year (row) that has each state (column); each row sums to 1. [-]
        day_names: Kind of day of each day of the year.
    """

    states: tuple[State, ...]
    share: Array
    day_names: tuple[str, ...]

    @property
    def state_hours(self) -> Array:
        """How long the year has each state [h]."""
        return np.asarray(self.share.sum(axis=0), dtype=np.float64)

    @property
    def running_hours(self) -> float:
        """How long the exhaust runs [h]."""
        on = np.array([s.running for s in self.states])
        return float(self.state_hours[on].sum())


def lay_out(schedule: Schedule, weather: Weather, hoods: Sequence[str]) -> Usage:
    """Lay a schedule over the calendar of a weather file.

    Args:
        schedule: Kinds of days, week, holidays.
        weather: Whose year; 8760 or 8784 hours.
        hoods: Tags in the order of the plant.

    Raises:
        AirError: A cooking span under a hood that is not there.
    """
    by_name = {d.name: d for d in schedule.days}
    for day in schedule.days:
        for span in day.cooking:
            gone = [t for t in span.hoods if t not in hoods]
            if gone:
                raise AirError(f"day type {day.name}: there is no hood {', '.join(gone)}")
    first = schedule.january_1 if schedule.january_1 is not None else (weather.first_weekday or 0)
    names = []
    for n, (month, day_of_month) in enumerate(zip(weather.month[::24], weather.day[::24], strict=True)):
        holiday = next((h for h in schedule.holidays if h.holds(int(month), int(day_of_month))), None)
        names.append(holiday.day if holiday is not None else schedule.week[(first + n) % 7])
    index: dict[State, int] = {}
    patterns: dict[tuple[str, str], list[tuple[int, int, float]]] = {}
    before = [names[-1], *names[:-1]]  # what a late last day of the year leaves over begins the year
    for pair in dict.fromkeys(zip(before, names, strict=True)):
        patterns[pair] = _pattern(by_name[pair[0]], by_name[pair[1]], hoods, index)
    share = np.zeros((weather.hours, len(index)))
    for pair, pattern in patterns.items():
        starts = 24 * np.array([n for n, one in enumerate(zip(before, names, strict=True)) if one == pair])
        for hour, state, part in pattern:
            share[starts + hour, state] += part
    return Usage(tuple(index), share, tuple(names))


def _pattern(before: Day, today: Day, hoods: Sequence[str], index: dict[State, int]) -> list[tuple[int, int, float]]:
    """Hour of the day, state and share of the hour, for a day after another one."""

    def shifted(spans: Sequence[Minutes]) -> list[Minutes]:
        return [(b - MINUTES_PER_DAY, e - MINUTES_PER_DAY) for b, e in spans]

    runs = [*today.runs, *shifted(before.runs)]
    low = [*today.low_speed, *shifted(before.low_speed)]
    cooking = [(c.span, c) for c in today.cooking]
    cooking += [(shifted([c.span])[0], c) for c in before.cooking]
    edges = {60 * h for h in range(25)}
    for begin, end in [*runs, *low, *(span for span, _ in cooking)]:
        edges |= {m for m in (begin, end) if 0 < m < MINUTES_PER_DAY}
    marks = sorted(edges)
    found: list[tuple[int, int, float]] = []
    for begin, end in pairwise(marks):
        running = _within(begin, runs)
        active = [c for span, c in cooking if running and span[0] <= begin < span[1]]
        intensities = tuple(
            max((c.intensity_ratio for c in active if not c.hoods or tag in c.hoods), default=0.0) for tag in hoods
        )
        state = State(running, intensities, running and _within(begin, low))
        found.append((begin // 60, index.setdefault(state, len(index)), (end - begin) / 60.0))
    return found


def _within(minute: int, spans: Sequence[Minutes]) -> bool:
    return any(begin <= minute < end for begin, end in spans)
