"""TMY3 files: typical meteorological years of the US national solar radiation data base, as comma-separated text.

Columns are found by their titles, units included, as the user's manual of the data set names them (NREL/TP-581-43156,
2008; from memory, checked against files). An hour is named by its end, 01:00 to 24:00; months come from different
years, so the year of a record means nothing, and there is no 29 February.
"""

from __future__ import annotations

import csv
import math
import re

from galleyproof.errors import Problem, WeatherError
from galleyproof.savings.weather import Records, Weather, finish

__all__ = ["read_tmy3"]

_COLUMNS = ("Dry-bulb", "Dew-point", "RHum", "Pressure")
_UNITS = {"Dry-bulb": "C", "Dew-point": "C", "RHum": "%", "Pressure": "mbar"}
_DATE = re.compile(r"(\d{2})/(\d{2})/\d{4}")
_TIME = re.compile(r"(\d{2}):00")
_GONE = frozenset({"", "-9900", "-9900.0", "-9999", "9999", "99999"})


def read_tmy3(text: str, file: str = "weather.csv") -> Weather:
    """Read a TMY3 file.

    Args:
        text: The whole file.
        file: Its name, for messages.

    Returns:
        The year.

    Raises:
        WeatherError: With every problem found: missing or repeated hours, missing values, other units.
    """
    rows = list(csv.reader(text.splitlines()))
    if len(rows) < 3:
        raise WeatherError([Problem(file, len(rows), "", "is too short for a TMY3 file: two heading lines and a year")])
    station, latitude, longitude, elevation = _station(rows[0], file)
    place = _titles(rows[1], file)
    records = Records(file, 3)
    widest = max(place.values())
    for line, row in enumerate(rows[2:], start=3):
        if not row:
            continue
        if len(row) <= widest:
            records.say(line, "", f"has {len(row)} columns; {widest + 1} are needed")
            continue
        date, time = _DATE.fullmatch(row[0].strip()), _TIME.fullmatch(row[1].strip())
        if date is None or time is None:
            records.say(line, "", f"{row[0]} {row[1]} is no date MM/DD/YYYY with an hour HH:00")
            continue
        values = {name: _number(row[at], records, line, name) for name, at in place.items()}
        records.lines.append(line)
        records.month.append(int(date[1]))
        records.day.append(int(date[2]))
        records.hour.append(int(time[1]))
        records.air_degc.append(values["Dry-bulb"])
        records.dew_point_degc.append(values["Dew-point"])
        records.humidity_ratio.append(values["RHum"] / 100.0)
        records.pressure_pa.append(values["Pressure"] * 100.0)
    return finish(
        records,
        station=station,
        kind="TMY3",
        latitude_deg=latitude,
        longitude_deg=longitude,
        elevation_m=elevation,
    )


def _station(row: list[str], file: str) -> tuple[str, float, float, float]:
    if len(row) < 7:
        what = "the first line of a TMY3 file has number, name, state, time zone, latitude, longitude and elevation"
        raise WeatherError([Problem(file, 1, "", f"{what}; this one has {len(row)} parts")])
    try:
        latitude, longitude, elevation = (float(part) for part in row[4:7])
    except ValueError:
        what = f"latitude, longitude and elevation are numbers, not {', '.join(row[4:7])}"
        raise WeatherError([Problem(file, 1, "", what)]) from None
    return ", ".join(part.strip() for part in row[1:3]), latitude, longitude, elevation


def _titles(row: list[str], file: str) -> dict[str, int]:
    """Where each column stands; its title must carry the standard's unit."""
    found: dict[str, int] = {}
    problems: list[Problem] = []
    for name in _COLUMNS:
        title = f"{name} ({_UNITS[name]})"
        titles = [one.strip() for one in row]
        if title in titles:
            found[name] = titles.index(title)
            continue
        other = next((one for one in titles if one.startswith(f"{name} (")), None)
        if other is not None:
            problems.append(Problem(file, 2, other, f"is in another unit; a TMY3 file has {title}: convert the column"))
        else:
            problems.append(Problem(file, 2, "", f"there is no column {title}; the second line holds the titles"))
    if problems:
        raise WeatherError(problems)
    return found


def _number(text: str, records: Records, line: int, name: str) -> float:
    text = text.strip()
    if text in _GONE:
        return math.nan
    try:
        value = float(text)
    except ValueError:
        records.say(line, name, f"{text!r} is no number")
        return math.nan
    if not math.isfinite(value):
        records.say(line, name, f"{text!r} is no number")
    return value
