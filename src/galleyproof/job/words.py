"""The vocabulary of the job file, for messages."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from galleyproof import units
from galleyproof.yamltext import Words

NOUNS: Final = MappingProxyType(
    {
        "supplies": "supply",
        "panelboards": "panelboard",
        "circuits": "circuit",
        "hoods": "hood",
        "sensors": "sensor",
        "appliances": "appliance",
        "exhaust_fans": "exhaust fan",
        "makeup_units": "make-up unit",
        "second_masters": "second master",
        "dampers": "damper",
        "fire_systems": "fire system",
        "poles": "pole",
        "shutdowns": "shutdown",
        "fire_outputs": "fire output",
        "room_sensors": "room sensor",
        "switches": "wall switch",
        "routes": "route",
        "raceways": "raceway",
        "promises": "promise",
        "others": "other unit",
        "ducts": "duct",
        "fittings": "fitting",
        "curve": "curve point",
        "readings": "reading",
        "day_types": "day type",
        "cooking": "cooking span",
        "holidays": "holiday",
        "collars": "collar range",
    }
)
"""What one entry of each list is called."""


def _article(word: str) -> str:
    return "an" if word[0] in "aeiou" else "a"


_TAG = r"^[A-Za-z][A-Za-z0-9]*([-/.][A-Za-z0-9]+)*$"

JOB_WORDS: Final = Words(
    nouns=NOUNS,
    labels=("tag",),
    patterns=MappingProxyType(
        {
            _TAG: "a tag begins with a letter and holds letters and digits, in groups joined by - / or .; "
            "write it like EF-1 or LP-1/12",
            r"^[A-Z0-9]{1,3}$": "a revision is one to three capital letters or digits, like A or 02",
            r"^([01]\d|2[0-3]):[0-5]\d-(([01]\d|2[0-3]):[0-5]\d|24:00)$": "hours are written from-to by the 24-hour "
            "clock, like 06:00-14:30",
            r"^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$": "a day of the year is written month-day, like 12-24",
            r"^[A-Z]{3}$": "a currency is three capital letters, like USD",
            r"^\d{4}-\d{2}-\d{2}$": "a date is written year-month-day, like 2026-03-31",
        }
    ),
    quantities=MappingProxyType(
        {
            name: f"{_article(kind.title)} {kind.title} like {', '.join(kind.examples)} "
            f"(units: {', '.join(kind.spellings())})"
            for name, kind in units.KINDS.items()
        }
        | {"awg": "a conductor size like 14 AWG, 4/0 AWG, 250 kcmil"}
    ),
)
"""Nouns, patterns and quantities of the job file."""
