"""How a kitchen is used: days, cooking, efficiencies, prices. What the savings of a year are computed from.

All of it may be left out. What an item's own ``air`` block says about it comes first; the figures here stand in for
what those blocks leave open.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from galleyproof.job.part import Part
from galleyproof.job.quantities import DegF, Inwc, Ratio, Tag, Text

Hours = Annotated[str, Field(pattern=r"^([01]\d|2[0-3]):[0-5]\d-(([01]\d|2[0-3]):[0-5]\d|24:00)$")]
"""Begin and end by the clock; an end that is not later than the begin lies on the next day."""

DayOfYear = Annotated[str, Field(pattern=r"^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$")]
Weekday = Literal["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]
NotNegative = Annotated[float, Field(ge=0.0, le=1e9)]


class CookingSpan(Part):
    """How hard is cooked in some hours; 0 % is hot appliances with nothing on them, 100 % the rush of the day.

    ``hoods`` empty means all of them. Where spans of one hood overlap, the greatest counts.
    """

    hours: Hours
    intensity: Ratio
    hoods: tuple[Tag, ...] = ()


class DayType(Part):
    """One kind of day.

    ``runs``: hours in which the exhaust runs. ``low_speed``: hours in which a person would have switched a two-speed
    fan to low: what the savings are also compared with. A day without hours is a closed one.
    """

    name: Text
    runs: tuple[Hours, ...] = ()
    cooking: tuple[CookingSpan, ...] = ()
    low_speed: tuple[Hours, ...] = ()


class Week(Part):
    """The kind of day of each weekday, by name."""

    monday: Text
    tuesday: Text
    wednesday: Text
    thursday: Text
    friday: Text
    saturday: Text
    sunday: Text


class Holiday(Part):
    """Days that are none of the week; ``last`` is the last of them and may lie in the next year."""

    first: DayOfYear
    last: DayOfYear | None = None
    day: Text


class CollarRange(Part):
    """What the sensors of some hoods read: with hot appliances that idle, and in the rush."""

    hoods: Annotated[tuple[Tag, ...], Field(min_length=1)]
    idle: DegF
    full: DegF


class Efficiencies(Part):
    """Efficiencies of fans and their motors where the fan's own air block names none."""

    fan: Ratio = 0.5
    belt: Ratio = 0.95
    motor: Ratio = 0.865
    drive: Ratio = 0.97
    ec_motor: Ratio = 0.8
    power_exponent: Annotated[float, Field(ge=2.0, le=3.0)] = 3.0


class Conditioning(Part):
    """What is done to make-up air where the unit's own air block does not say it."""

    heats_to: DegF = 55.0
    heat: Literal["gas", "electric"] = "gas"
    heat_efficiency: Ratio = 0.8
    cools_to: DegF | None = None
    cooling_cop: Annotated[float, Field(gt=0.0, le=20.0)] = 3.0
    max_dew_point: DegF | None = None
    reheats: bool = False
    static_pressure: Inwc = 1.0


class Prices(Part):
    """What energy costs."""

    currency: Annotated[str, Field(pattern=r"^[A-Z]{3}$")] = "USD"
    per_kwh: NotNegative
    per_therm: NotNegative


class CarbonFactors(Part):
    """Carbon dioxide per energy, in kilograms."""

    kg_per_kwh: NotNegative
    kg_per_therm: NotNegative


class Spread(Part):
    """How uncertain the inputs are: the half-widths of what is drawn, the number of years drawn and the seed."""

    intensity: Ratio = 0.2
    min_speed: Ratio = 0.1
    efficiency: Ratio = 0.05
    years: Annotated[int, Field(ge=2, le=100_000)] = 1000
    seed: Annotated[int, Field(ge=0, le=2**32 - 1)] = 1


class KitchenUse(Part):
    """How the kitchen is used.

    ``week`` left out: every day is of the first kind. ``january_1``: without it the weather file's own, else Monday.
    """

    day_types: Annotated[tuple[DayType, ...], Field(min_length=1)]
    week: Week | None = None
    holidays: tuple[Holiday, ...] = ()
    january_1: Weekday | None = None
    hemisphere: Literal["northern", "southern"] | None = None
    collars: tuple[CollarRange, ...] = ()
    efficiencies: Efficiencies = Efficiencies()
    makeup_air: Conditioning = Conditioning()
    two_speed_low: Ratio = 0.67
    prices: Prices | None = None
    carbon: CarbonFactors | None = None
    investment: NotNegative | None = None
    spread: Spread = Spread()
