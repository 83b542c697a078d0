"""What every key about the use of the kitchen means; see ``meanings``."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

USAGE_MEANINGS: Final[Mapping[str, Mapping[str, str]]] = MappingProxyType(
    {
        "KitchenUse": {
            "day_types": "kinds of days, with their hours and their cooking",
            "week": "kind of day of each weekday; without it every day is of the first kind",
            "holidays": "days of the year that follow another kind",
            "january_1": "weekday of 1 January; without it the weather file's, else Monday",
            "hemisphere": "where the kitchen stands; a weather file of the other one is refused",
            "collars": "what the sensors read; without it a hood's own `idle_below` and `full_above`",
            "efficiencies": "efficiencies where a fan's own air block names none",
            "makeup_air": "what is done to make-up air where a unit's own air block does not say it",
            "two_speed_low": "low speed of the two-speed fans that the savings are also compared with",
            "prices": "what energy costs; without it no money is computed",
            "carbon": "carbon dioxide of energy; without it none is computed",
            "investment": "what demand control costs more than constant volume, in the currency of the prices",
            "spread": "how uncertain the inputs are",
        },
        "DayType": {
            "name": "its name, which week and holidays use",
            "runs": "hours in which the exhaust runs: `06:00-14:30`; none means closed",
            "cooking": "how hard is cooked, and when",
            "low_speed": "hours at low speed if the fans were two-speed ones switched by hand",
        },
        "CookingSpan": {
            "hours": "begin and end by the clock; an end that is not later lies on the next day",
            "intensity": "0 % for hot appliances with nothing on them, 100 % for the rush",
            "hoods": "tags of the hoods it is about; empty means all of them",
        },
        "Week": {
            "monday": "kind of day",
            "tuesday": "kind of day",
            "wednesday": "kind of day",
            "thursday": "kind of day",
            "friday": "kind of day",
            "saturday": "kind of day",
            "sunday": "kind of day",
        },
        "Holiday": {
            "first": "first day, month-day: `12-24`",
            "last": "last day; before `first` it lies in the next year; without it one day",
            "day": "kind of day",
        },
        "CollarRange": {
            "hoods": "tags of the hoods",
            "idle": "collar temperature with hot appliances that idle",
            "full": "collar temperature in the rush",
        },
        "Efficiencies": {
            "fan": "static efficiency of the fan itself",
            "belt": "belt drive",
            "motor": "motor at full load",
            "drive": "variable frequency drive at full load",
            "ec_motor": "EC motor with its electronics",
            "power_exponent": "shaft power goes with speed to this power: 3 by the fan law, a plain number",
        },
        "Conditioning": {
            "heats_to": "temperature it is heated to, when colder",
            "heat": "what heats it",
            "heat_efficiency": "heat in the air over energy bought",
            "cools_to": "temperature it is cooled to; left out for none",
            "cooling_cop": "heat taken out over electric energy, a plain number",
            "max_dew_point": "it is dried to this dew point; left out for no drying",
            "reheats": "whether air that was dried is heated again to `heats_to`",
            "static_pressure": "of the make-up fan",
        },
        "Prices": {
            "currency": "three letters",
            "per_kwh": "price of a kilowatt-hour, a plain number",
            "per_therm": "price of a therm (100,000 Btu) of gas, a plain number",
        },
        "CarbonFactors": {
            "kg_per_kwh": "of a kilowatt-hour, a plain number",
            "kg_per_therm": "of a therm of gas, a plain number",
        },
        "Spread": {
            "intensity": "cooking intensity, up or down by this share of it",
            "min_speed": "least speed, up or down by this share of full speed",
            "efficiency": "efficiencies of fans, motors and heaters, up or down by this share of them",
            "years": "number of years drawn",
            "seed": "start of the row of draws; the same seed gives the same range",
        },
    }
)
"""Meaning of every key, by model and key."""
