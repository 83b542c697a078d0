"""Hypothesis strategies for the use of a kitchen; ``tests.strategies.jobs`` puts one into every fourth job."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from galleyproof.job import usage as u

NAMES = ("weekday", "closed", "market day: late", "#3 double shift", "yes", "Süßspeisen")
DAYS = ("01-01", "02-28", "02-29", "06-15", "07-04", "12-24", "12-31")


def clock(minute: int) -> str:
    """A time of day; 24:00 for the end of it."""
    return f"{minute // 60:02}:{minute % 60:02}"


@st.composite
def kitchen_uses(draw: Any, hoods: list[str]) -> u.KitchenUse:
    """Days whose cooking lies within their running hours, some of them past midnight."""
    names = draw(st.lists(st.sampled_from(NAMES), min_size=1, max_size=3, unique=True))
    share = st.integers(0, 20).map(lambda n: n / 20)
    days = tuple(_day(draw, name, hoods, share) for name in names)
    name = st.sampled_from(names)
    week = u.Week(**{key: draw(name) for key in u.Week.model_fields})
    holidays = tuple(
        u.Holiday(first=draw(st.sampled_from(DAYS)), last=draw(st.none() | st.sampled_from(DAYS)), day=draw(name))
        for _ in range(draw(st.integers(0, 2)))
    )
    priced = draw(st.booleans())
    heats_to = draw(st.sampled_from([50.0, 55.0, 65.0]))
    return u.KitchenUse(
        day_types=days,
        week=week,
        holidays=holidays,
        january_1=draw(st.none() | st.sampled_from(["Monday", "Sunday"])),
        hemisphere=draw(st.none() | st.just("northern")),
        collars=(u.CollarRange(hoods=(hoods[0],), idle=92.5, full=131.0),) if draw(st.booleans()) else (),
        efficiencies=u.Efficiencies(
            fan=draw(st.sampled_from([0.45, 0.62])), power_exponent=draw(st.sampled_from([3, 2.5]))
        ),
        makeup_air=u.Conditioning(
            heats_to=heats_to,
            heat=draw(st.sampled_from(["gas", "electric"])),
            cools_to=draw(st.none() | st.just(heats_to + 15.0)),
            max_dew_point=draw(st.none() | st.just(58.0)),
            reheats=draw(st.booleans()),
        ),
        two_speed_low=draw(st.sampled_from([0.5, 0.67])),
        prices=u.Prices(currency="EUR", per_kwh=draw(st.floats(0.0, 2.0)), per_therm=0.0) if priced else None,
        carbon=u.CarbonFactors(kg_per_kwh=0.35, kg_per_therm=5.3) if draw(st.booleans()) else None,
        investment=draw(st.none() | st.floats(0.0, 1e6)) if priced else None,
        spread=u.Spread(years=20, seed=draw(st.integers(0, 99))),
    )


def _day(draw: Any, name: str, hoods: list[str], share: st.SearchStrategy[float]) -> u.DayType:
    if draw(st.booleans()):
        return u.DayType(name=name)
    begin = draw(st.integers(0, 1439))
    length = draw(st.integers(1, 1439))

    def part() -> str:
        first = draw(st.integers(0, length - 1))
        last = draw(st.integers(first + 1, length))
        start, end = (begin + first) % 1440, (begin + last) % 1440
        # what begins past midnight belongs to the next day: keep spans that begin on the day itself
        if begin + first >= 1440:
            start, end = begin, (begin + length) % 1440
        return f"{clock(start)}-{clock(end)}"

    runs = f"{clock(begin)}-{clock((begin + length) % 1440)}"
    cooking = tuple(
        u.CookingSpan(hours=part(), intensity=draw(share), hoods=draw(st.sampled_from([(), (hoods[-1],)])))
        for _ in range(draw(st.integers(0, 2)))
    )
    low = (part(),) if draw(st.booleans()) else ()
    return u.DayType(name=name, runs=(runs,), cooking=cooking, low_speed=low)
