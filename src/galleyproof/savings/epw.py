"""EPW files: hourly weather for building simulation, eight heading lines and comma-separated records.

Fields as the format's data dictionary names them (from memory, checked against files and an independent reader):
field 7 dry bulb [degC], 8 dew point [degC], 9 relative humidity [%], 10 station pressure [Pa]; missing is 99.9, 99.9,
999 and 999999. An hour is named by its end, 1 to 24.
"""

from __future__ import annotations

import csv
import math

from galleyproof.errors import Problem, WeatherError
from galleyproof.savings.weather import Records, Weather, finish

__all__ = ["read_epw"]

_HEADINGS = (
    "LOCATION",
    "DESIGN CONDITIONS",
    "TYPICAL/EXTREME PERIODS",
    "GROUND TEMPERATURES",
    "HOLIDAYS/DAYLIGHT SAVINGS",
    "COMMENTS 1",
    "COMMENTS 2",
    "DATA PERIODS",
)
_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_FIELDS = (("dry bulb", 6, 99.9), ("dew point", 7, 99.9), ("relative humidity", 8, 999.0), ("pressure", 9, 999999.0))


def read_epw(text: str, file: str = "weather.epw") -> Weather:
    """Read an EPW file.

    Args:
        text: The whole file.
        file: Its name, for messages.

    Returns:
        The year.

    Raises:
        WeatherError: With every problem found: missing or repeated hours, missing values, other units.
    """
    rows = list(csv.reader(text.splitlines()))
    station, latitude, longitude, elevation = _location(rows, file)
    first_weekday = _period(rows[7], file)
    records = Records(file, 9)
    for line, row in enumerate(rows[8:], start=9):
        if not row:
            continue
        if len(row) < 10:
            records.say(line, "", f"has {len(row)} fields; an EPW record has 35, of which the first ten are needed")
            continue
        if row[4].strip() not in ("0", "60", "00"):
            records.say(line, "", f"minute {row[4].strip()}: only hourly files are read")
            continue
        try:
            month, day, hour = (int(part) for part in row[1:4])
        except ValueError:
            records.say(line, "", f"month, day and hour are whole numbers, not {', '.join(row[1:4])}")
            continue
        values = [_number(row[at], gone, records, line, name) for name, at, gone in _FIELDS]
        records.lines.append(line)
        records.month.append(month)
        records.day.append(day)
        records.hour.append(hour)
        records.air_degc.append(values[0])
        records.dew_point_degc.append(values[1])
        records.humidity_ratio.append(values[2] / 100.0)
        records.pressure_pa.append(values[3])
    return finish(
        records,
        station=station,
        kind="EPW",
        latitude_deg=latitude,
        longitude_deg=longitude,
        elevation_m=elevation,
        first_weekday=first_weekday,
    )


def _location(rows: list[list[str]], file: str) -> tuple[str, float, float, float]:
    for n, heading in enumerate(_HEADINGS):
        there = rows[n][0].strip().upper() if n < len(rows) and rows[n] else ""
        if there != heading:
            what = f"an EPW file has {heading} in line {n + 1}, not {there or 'nothing'}"
            raise WeatherError([Problem(file, min(n + 1, max(len(rows), 1)), "", what)])
    row = rows[0]
    if len(row) < 10:
        raise WeatherError([Problem(file, 1, "LOCATION", f"has {len(row)} fields, 10 are needed")])
    try:
        latitude, longitude, elevation = float(row[6]), float(row[7]), float(row[9])
    except ValueError:
        what = f"latitude, longitude and elevation are numbers, not {row[6]}, {row[7]}, {row[9]}"
        raise WeatherError([Problem(file, 1, "LOCATION", what)]) from None
    return ", ".join(part.strip() for part in row[1:3] if part.strip() not in ("", "-")), latitude, longitude, elevation


def _period(row: list[str], file: str) -> int | None:
    """Weekday of the first day; refuses files of several periods or of less than hourly records."""
    parts = [part.strip() for part in row[1:]]
    if len(parts) < 6:
        raise WeatherError([Problem(file, 8, "DATA PERIODS", f"has {len(parts)} parts, 6 are needed")])
    if parts[:2] != ["1", "1"]:
        what = f"{parts[0]} periods with {parts[1]} records an hour; one period with one is read"
        raise WeatherError([Problem(file, 8, "DATA PERIODS", what)])
    name = parts[3].lower()
    return _WEEKDAYS.index(name) if name in _WEEKDAYS else None


def _number(text: str, gone: float, records: Records, line: int, name: str) -> float:
    text = text.strip()
    try:
        value = float(text)
    except ValueError:
        if text:
            records.say(line, name, f"{text!r} is no number")
        return math.nan
    if not math.isfinite(value):
        records.say(line, name, f"{text!r} is no number")
    # 9999 is what careless converters write for a missing value of any field
    return math.nan if value in (gone, 9999.0, -9999.0) else value
