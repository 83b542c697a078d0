"""Any weather file: which reader it needs shows in its first line."""

from __future__ import annotations

from galleyproof.errors import Problem, WeatherError
from galleyproof.savings.epw import read_epw
from galleyproof.savings.tmy3 import read_tmy3
from galleyproof.savings.weather import Weather

__all__ = ["read_weather"]


def read_weather(text: str, file: str = "weather") -> Weather:
    """Read an EPW or a TMY3 file.

    Args:
        text: The whole file.
        file: Its name, for messages.

    Raises:
        WeatherError: It is neither, or with every problem its reader found.
    """
    first = text.lstrip("\ufeff").split("\n", 1)[0].strip()
    if first.upper().startswith("LOCATION,"):
        return read_epw(text.lstrip("\ufeff"), file)
    if first.count(",") >= 6:
        return read_tmy3(text.lstrip("\ufeff"), file)
    what = "is neither an EPW file (first line LOCATION, ...) nor a TMY3 file (first line number, name, state, ...)"
    raise WeatherError([Problem(file, 1, "", what)])
