"""The use of the kitchen: names that lead somewhere, hours that fit each other, shares that can be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from galleyproof.errors import Problem
from galleyproof.job.checks.registry import check
from galleyproof.job.register import Register
from galleyproof.job.usage import DayType, KitchenUse, Week
from galleyproof.yamltext import Path, hint

MINUTES_PER_DAY = 1440
DAYS_OF_MONTH = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def minutes(hours: str) -> tuple[int, int]:
    """Begin and end of hours such as ``22:00-02:00``, in minutes from the day's midnight; the end may exceed 1440."""
    begin, end = (60 * int(part[:2]) + int(part[3:]) for part in hours.split("-"))
    return begin, end if end > begin else end + MINUTES_PER_DAY


def covered(inner: str, outer: Sequence[str]) -> bool:
    """Whether some hours lie within the union of others of the same day."""
    reach, end = minutes(inner)
    for begin, stop in sorted(minutes(one) for one in outer):
        if begin <= reach < stop:
            reach = stop
    return reach >= end


def _use(r: Register) -> KitchenUse | None:
    use: KitchenUse | None = r.sections["kitchen_use"]
    return use


@check("kitchen_use")
def days_by_name(r: Register) -> Iterator[Problem]:
    """Day types have names of their own; week and holidays use them."""
    use = _use(r)
    if use is None:
        return
    names: list[str] = []
    for i, day in enumerate(use.day_types):
        if day.name in names:
            yield r.say(
                ("kitchen_use", "day_types", i, "name"), f"there is a day type {day.name!r} already; rename one"
            )
        names.append(day.name)
    wanted: list[tuple[Path, str]] = []
    if use.week is not None:
        wanted += [(("kitchen_use", "week", key), getattr(use.week, key)) for key in Week.model_fields]
    elif len(use.day_types) > 1 and not use.holidays:
        yield r.say(("kitchen_use", "day_types"), "several day types but no week that says which day is which")
    wanted += [(("kitchen_use", "holidays", i, "day"), one.day) for i, one in enumerate(use.holidays)]
    for path, name in wanted:
        if name not in names:
            yield r.say(path, f"there is no day type {name!r}{hint(name, names)}; day types here: {', '.join(names)}")
    for i, holiday in enumerate(use.holidays):
        for key, when in (("first", holiday.first), ("last", holiday.last)):
            if when is not None and int(when[3:]) > DAYS_OF_MONTH[int(when[:2]) - 1]:
                yield r.say(("kitchen_use", "holidays", i, key), f"{when} is no day of a year")


@check("kitchen_use", "hoods")
def hours_that_fit(r: Register) -> Iterator[Problem]:
    """Cooking and low speed lie in hours in which the exhaust runs; hoods exist; no share exceeds 100 %."""
    use = _use(r)
    if use is None:
        return
    for i, day in enumerate(use.day_types):
        yield from _day(r, ("kitchen_use", "day_types", i), day)
    for i, collar in enumerate(use.collars):
        at: Path = ("kitchen_use", "collars", i)
        for k, hood in enumerate(collar.hoods):
            yield from r.unknown((*at, "hoods", k), hood, r.hoods, "hood")
            if any(hood in before.hoods for before in use.collars[:i]):
                yield r.say((*at, "hoods", k), f"{hood} has a collar range already; leave one out")
        if collar.full <= collar.idle:
            yield r.say(
                (*at, "full"),
                f"{collar.full:g} degF in the rush is not above {collar.idle:g} degF at idle; exchange them",
            )


def _day(r: Register, at: Path, day: DayType) -> Iterator[Problem]:
    spans: list[tuple[Path, str, str]] = [
        (("cooking", i, "hours"), span.hours, "cooking") for i, span in enumerate(day.cooking)
    ]
    spans += [(("low_speed", i), hours, "low speed") for i, hours in enumerate(day.low_speed)]
    for key, hours, what in spans:
        if not covered(hours, day.runs):
            run = ", ".join(day.runs) or "never"
            rest = f"on a day of type {day.name!r} the exhaust runs {run}; extend `runs` or shorten it"
            say = f"{what} at {hours}, but {rest}"
            yield r.say((*at, *key), say)
    for i, span in enumerate(day.cooking):
        if span.intensity > 1.0:
            yield r.say((*at, "cooking", i, "intensity"), f"{span.intensity:.0%} is more than the rush, 100 %")
        for k, hood in enumerate(span.hoods):
            yield from r.unknown((*at, "cooking", i, "hoods", k), hood, r.hoods, "hood")


@check("kitchen_use")
def efficiencies_that_can_be(r: Register) -> Iterator[Problem]:
    """Efficiencies lie above 0 % and up to 100 %, spreads below 100 %, air is not cooled below what it is heated to."""
    use = _use(r)
    if use is None:
        return
    above = "above 0 %, at most 100 %"
    for key in ("fan", "belt", "motor", "drive", "ec_motor"):
        value = getattr(use.efficiencies, key)
        if not 0.0 < value <= 1.0:
            yield r.say(("kitchen_use", "efficiencies", key), f"{value:.0%} is no efficiency; {above}")
    if not 0.0 < use.two_speed_low <= 1.0:
        yield r.say(
            ("kitchen_use", "two_speed_low"), f"{use.two_speed_low:.0%} is no low speed; above 0 %, at most 100 %"
        )
    air = use.makeup_air
    most = 1.0 if air.heat == "gas" else 6.0
    if not 0.0 < air.heat_efficiency <= most:
        yield r.say(
            ("kitchen_use", "makeup_air", "heat_efficiency"),
            f"{air.heat_efficiency:.0%} cannot be for {air.heat} heat; above 0 %, at most {most:.0%}",
        )
    if air.cools_to is not None and air.cools_to < air.heats_to:
        yield r.say(
            ("kitchen_use", "makeup_air", "cools_to"),
            f"cooled to {air.cools_to:g} degF and heated to {air.heats_to:g} degF fight each other; raise or lower one",
        )
    for key in ("intensity", "min_speed", "efficiency"):
        value = getattr(use.spread, key)
        if value >= 1.0:
            yield r.say(("kitchen_use", "spread", key), f"{value:.0%} is no half-width; below 100 %")
    if use.investment is not None and use.prices is None:
        yield r.say(("kitchen_use", "investment"), "an investment without prices says nothing; name the prices")
