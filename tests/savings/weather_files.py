"""Weather files made for tests: an invented station, a smooth year, every part of it open to a change."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
TITLES = ("Dry-bulb (C)", "Dew-point (C)", "RHum (%)", "Pressure (mbar)")


@dataclass
class Hour:
    month: int
    day: int
    hour: int
    air_degc: float
    dew_degc: float
    humidity_pct: float
    pressure_pa: float


def vapour(degc: float) -> float:
    return math.exp(17.62 * degc / (243.12 + degc))


def year(
    mean_degc: float = 12.0,
    swing_k: float = 12.0,
    day_k: float = 5.0,
    spread_k: float = 4.0,
    *,
    pressure_pa: float = 100_800.0,
    leap: bool = False,
    southern: bool = False,
) -> list[Hour]:
    """A year of cosines: cold in January, or in July in the south; dew point ``spread_k`` below the air."""
    days = [(m, d) for m in range(1, 13) for d in range(1, DAYS[m - 1] + 1 + (leap and m == 2))]
    made = []
    for n, (month, day) in enumerate(days):
        season = math.cos(2 * math.pi * (n - 15) / len(days)) * (-1 if southern else 1)
        for hour in range(1, 25):
            air = mean_degc - swing_k * season - day_k * math.cos(2 * math.pi * (hour - 4) / 24)
            dew = air - spread_k
            made.append(Hour(month, day, hour, air, dew, 100.0 * vapour(dew) / vapour(air), pressure_pa))
    return made


def epw(
    hours: list[Hour],
    *,
    latitude: float = 43.5,
    elevation: float = 40.0,
    weekday: str = "Thursday",
    station: str = "Saltmarrow Quay",
    digits: int = 1,
) -> str:
    head = [
        f"LOCATION,{station},-,-,invented,000000,{latitude:.3f},-70.000,-5.0,{elevation:.1f}",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,invented",
        "COMMENTS 2,invented",
        f"DATA PERIODS,1,1,Data,{weekday}, 1/ 1,12/31",
    ]
    rest = "0,0,300,0,0,0,0,0,0,0,180,2.0,5,5,20.0,77777,9,999999999,10,0.1,0,88,0.2,0.0,0.0"
    lines = [
        f"2001,{h.month},{h.day},{h.hour},0,?9?9?9?9E0,{h.air_degc:.{digits}f},{h.dew_degc:.{digits}f},"
        f"{h.humidity_pct:.0f},{h.pressure_pa:.0f},{rest}"
        for h in hours
    ]
    return "\n".join(head + lines) + "\n"


def tmy3(
    hours: list[Hour],
    *,
    latitude: float = 43.5,
    elevation: float = 40.0,
    titles: tuple[str, ...] = TITLES,
    digits: int = 1,
) -> str:
    lines = [
        f'000000,"SALTMARROW QUAY",SM,-5.0,{latitude:.3f},-70.000,{elevation:.0f}',
        "Date (MM/DD/YYYY),Time (HH:MM)," + ",".join(titles),
    ]
    lines += [
        f"{h.month:02}/{h.day:02}/2001,{h.hour:02}:00,{h.air_degc:.{digits}f},{h.dew_degc:.{digits}f},"
        f"{h.humidity_pct:.0f},{h.pressure_pa / 100:.0f}"
        for h in hours
    ]
    return "\n".join(lines) + "\n"


def to_degf(hours: list[Hour], chosen: Callable[[Hour], bool] = lambda h: True) -> list[Hour]:
    """The same with some hours in degF, as a careless converter leaves them."""
    for h in hours:
        if chosen(h):
            h.air_degc, h.dew_degc = h.air_degc * 1.8 + 32.0, h.dew_degc * 1.8 + 32.0
    return hours
