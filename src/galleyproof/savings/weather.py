"""A year of weather as arrays, and what every reader holds its file to.

A reader hands over one record per line as it stands in the file (``Records``); ``finish`` checks the calendar and
the plausibility of the whole and converts to the units of the core. Nothing is filled in: an hour that is missing
is told with its line, because a guessed hour would hide that the file is broken.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from galleyproof.air.psychro import pressure_at_altitude_psia, saturation_pressure_psia
from galleyproof.errors import Problem, WeatherError

__all__ = ["Array", "Records", "Weather", "finish", "saturation_psia"]

Array: TypeAlias = npt.NDArray[np.float64]
Index: TypeAlias = npt.NDArray[np.int64]

DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
PSI_PER_PA = 1.0 / 6894.757293168361
FT_PER_M = 1.0 / 0.3048
MAX_STEP_K = 25.0
"""Largest change from one hour to the next that is still weather. [K]"""
MAX_PROBLEMS = 20
SEASONS_FROM_DEG = 15.0
"""Latitude from which summer and winter differ for certain. [deg]"""


@dataclass(frozen=True, slots=True)
class Weather:
    """One year, hour by hour; arrays are read-only and of one length, 8760 or 8784.

    Attributes:
        station: Name as the file gives it.
        kind: ``EPW`` or ``TMY3``.
        latitude_deg: North positive. [deg]
        longitude_deg: East positive. [deg]
        elevation_ft: Of the station. [ft]
        first_weekday: 0 for Monday to 6; None where the file does not say.
        air_degf: Dry bulb. [degF]
        dew_point_degf: Dew point. [degF]
        pressure_psia: Station barometer. [psia]
        month: 1 to 12. [-]
        day: Day of the month. [-]
        hour: Hour of the day that the record ends, 1 to 24. [-]
    """

    station: str
    kind: str
    latitude_deg: float
    longitude_deg: float
    elevation_ft: float
    first_weekday: int | None
    air_degf: Array
    dew_point_degf: Array
    pressure_psia: Array
    month: Index
    day: Index
    hour: Index

    @property
    def hours(self) -> int:
        """Number of records."""
        return len(self.air_degf)

    @property
    def southern(self) -> bool:
        """Whether the station lies south of the equator."""
        return self.latitude_deg < 0.0

    def heating_degree_hours_degf(self, base_degf: float) -> float:
        """Sum of how much each hour lies below a base [degF h]."""
        return float(np.maximum(0.0, base_degf - self.air_degf).sum())

    def cooling_degree_hours_degf(self, base_degf: float) -> float:
        """Sum of how much each hour lies above a base [degF h]."""
        return float(np.maximum(0.0, self.air_degf - base_degf).sum())

    def heating_degree_days_degf(self, base_degf: float) -> float:
        """Sum of how much each daily mean lies below a base [degF d]; a daily mean hides cold nights of mild days."""
        means = self.air_degf.reshape(-1, 24).mean(axis=1)
        return float(np.maximum(0.0, base_degf - means).sum())


@dataclass(slots=True)
class Records:
    """What a reader found, line by line, in the units of the file's standard.

    Attributes:
        file: Name as the user gave it.
        first_line: Line of the first record. [-]
        air_degc: Dry bulb; NaN where missing. [degC]
        dew_point_degc: Dew point; NaN where missing. [degC]
        humidity_ratio: Relative humidity, 0 to 1; NaN where missing. [-]
        pressure_pa: Barometer; NaN where missing. [Pa]
        month: 1 to 12. [-]
        day: Day of the month. [-]
        hour: 1 to 24. [-]
        problems: What was wrong with single lines.
    """

    file: str
    first_line: int
    air_degc: list[float] = field(default_factory=list)
    dew_point_degc: list[float] = field(default_factory=list)
    humidity_ratio: list[float] = field(default_factory=list)
    pressure_pa: list[float] = field(default_factory=list)
    month: list[int] = field(default_factory=list)
    day: list[int] = field(default_factory=list)
    hour: list[int] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    def say(self, line: int, where: str, what: str) -> None:
        """Note something wrong at a line."""
        self.problems.append(Problem(self.file, line, where, what))


def saturation_psia(air_degf: Array) -> Array:
    """Vapour pressure of saturation for an array, each different temperature computed once.

    Args:
        air_degf: -148 to 392. [degF]

    Returns:
        Pressures. [psia]
    """
    different, place = np.unique(air_degf, return_inverse=True)
    values = np.array([saturation_pressure_psia(float(t)) for t in different], dtype=np.float64)
    return values[place].reshape(air_degf.shape)


def finish(
    records: Records,
    *,
    station: str,
    kind: str,
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float,
    first_weekday: int | None = None,
) -> Weather:
    """Check the whole and hand over a year.

    Args:
        records: What a reader found.
        station: Name.
        kind: ``EPW`` or ``TMY3``.
        latitude_deg: North positive. [deg]
        longitude_deg: East positive. [deg]
        elevation_m: Of the station. [m]
        first_weekday: 0 for Monday; None where the file does not say.

    Raises:
        WeatherError: With every problem found, up to a score of them.
    """
    where = station
    if not records.problems:
        _calendar(records)
    if not records.problems:
        _missing(records)
    if not records.problems:
        _plausible(records, elevation_m, latitude_deg, longitude_deg, where)
    if records.problems:
        raise WeatherError(_shortened(records))
    degf = [np.array(v) * 1.8 + 32.0 for v in (records.air_degc, records.dew_point_degc)]
    arrays = (
        degf[0],
        np.minimum(degf[1], degf[0]),  # a dew point printed a tenth above its dry bulb is fog
        np.array(records.pressure_pa) * PSI_PER_PA,
        np.array(records.month, dtype=np.int64),
        np.array(records.day, dtype=np.int64),
        np.array(records.hour, dtype=np.int64),
    )
    for array in arrays:
        array.flags.writeable = False
    return Weather(station, kind, latitude_deg, longitude_deg, elevation_m * FT_PER_M, first_weekday, *arrays)


def _shortened(records: Records) -> list[Problem]:
    found = sorted(set(records.problems))
    if len(found) <= MAX_PROBLEMS:
        return found
    rest = len(found) - MAX_PROBLEMS
    last = found[MAX_PROBLEMS - 1]
    return [*found[:MAX_PROBLEMS], Problem(last.file, last.line, "", f"and {rest} more problems after this line")]


def _calendar(r: Records) -> None:
    """Every hour of a year once and in order; 29 February wholly or not at all."""
    days = [(m, d) for m in range(1, 13) for d in range(1, DAYS[m - 1] + 1 + (m == 2 and _has_leap_day(r)))]
    wanted = [(m, d, h) for m, d in days for h in range(1, 25)]
    found = list(zip(r.month, r.day, r.hour, strict=True))
    if found == wanted:
        return
    at = 0
    for n, one in enumerate(found):
        if at < len(wanted) and one == wanted[at]:
            at += 1
            continue
        line = r.lines[n]
        if n and one == found[n - 1]:
            r.say(line, _moment(one), "this hour stands in the file twice; take the second record out")
            return
        if at < len(wanted) and one in wanted[at:]:
            gone = wanted.index(one, at) - at
            hours = f"{gone} hours are" if gone > 1 else "an hour is"
            r.say(
                line, _moment(one), f"{hours} missing before it, from {_moment(wanted[at])}; a year needs all its hours"
            )
            return
        if one in wanted[:at]:
            r.say(line, _moment(one), "comes after a later hour or a second time; records must follow the calendar")
        else:
            r.say(line, _moment(one), "is no hour of a year; months are 1 to 12, hours 1 to 24")
        return
    line = r.lines[-1] if r.lines else r.first_line
    what = f"the file ends after {len(found):,} of {len(wanted):,} hours, before {_moment(wanted[at])}"
    r.say(line, "end of the file", f"{what}; take the whole file")


def _has_leap_day(r: Records) -> bool:
    return any(m == 2 and d == 29 for m, d in zip(r.month, r.day, strict=True))


def _moment(one: tuple[int, int, int]) -> str:
    return f"{one[0]:02}-{one[1]:02} hour {one[2]}"


def _missing(r: Records) -> None:
    columns = (("dry bulb", r.air_degc), ("dew point", r.dew_point_degc), ("pressure", r.pressure_pa))
    for name, values in columns:
        gone = np.flatnonzero(np.isnan(np.array(values)))
        for n in gone[:MAX_PROBLEMS]:
            moment = _moment((r.month[n], r.day[n], r.hour[n]))
            r.say(
                r.lines[n],
                f"{moment}: {name}",
                "is marked as missing; take a file without gaps, nothing is guessed here",
            )


def _plausible(r: Records, elevation_m: float, latitude: float, longitude: float, where: str) -> None:
    """Values in other units than the standard's, alone or mixed in, show in how they fit each other."""
    if not -90.0 <= latitude <= 90.0 or not -180.0 <= longitude <= 180.0:
        r.say(1, where, f"latitude {latitude:g}, longitude {longitude:g} is no place on earth")
        return
    air, dew = np.array(r.air_degc), np.array(r.dew_point_degc)
    humidity, pressure = np.array(r.humidity_ratio), np.array(r.pressure_pa)
    told: set[int] = set()

    def tell(bad: npt.NDArray[np.bool_], name: str, values: Array, unit: str, what: str) -> None:
        for n in np.flatnonzero(bad)[: MAX_PROBLEMS + 1]:
            if int(n) not in told:
                told.add(int(n))
                moment = _moment((r.month[n], r.day[n], r.hour[n]))
                r.say(r.lines[n], f"{moment}: {name}", f"{values[n]:g} {unit} {what}")

    cure = "the standard's unit is degC; a file in degF must be converted first"
    tell((air < -70.0) | (air > 60.0), "dry bulb", air, "degC", f"is no weather on earth; {cure}")
    tell((dew < -90.0) | (dew > 40.0), "dew point", dew, "degC", f"is no weather on earth; {cure}")
    tell(dew > air + 1.0, "dew point", dew, "degC", f"lies above the dry bulb; {cure}")
    step = np.abs(np.diff(air, prepend=air[:1]))
    tell(step > MAX_STEP_K, "dry bulb", air, "degC", f"is {MAX_STEP_K:g} K or more from the hour before; {cure}")
    standard_pa = pressure_at_altitude_psia(elevation_m * FT_PER_M) / PSI_PER_PA
    off = np.abs(pressure / standard_pa - 1.0) > 0.1
    what = f"is more than a tenth from the {standard_pa:.0f} Pa of the station's {elevation_m:g} m"
    tell(off, "pressure", pressure, "Pa", f"{what}; check its unit and the elevation, which stands in metres")
    if r.problems:
        return
    _consistent(r, air, dew, humidity)
    _seasons(r, air, latitude, where)


def _seasons(r: Records, air: Array, latitude: float, where: str) -> None:
    """Summer lies where the latitude puts it; else its sign is lost, or the months are."""
    month = np.array(r.month)
    mid_year = float(air[(month >= 6) & (month <= 8)].mean())
    turn = float(air[(month == 12) | (month <= 2)].mean())
    warmer = turn - mid_year if latitude > 0.0 else mid_year - turn
    if abs(latitude) > SEASONS_FROM_DEG and warmer > 3.0:
        half, months = ("northern", "December to February") if latitude > 0.0 else ("southern", "June to August")
        what = f"latitude {latitude:g} is {half}, but {months} are the warm months; check its sign and the dates"
        r.say(1, where, what)


def _consistent(r: Records, air: Array, dew: Array, humidity: Array) -> None:
    """Relative humidity from dry bulb and dew point against the one that is printed: tells degF in a mild climate."""
    known = ~np.isnan(humidity)
    if not known.any():
        return
    computed = _relative(air[known], dew[known])
    printed = humidity[known]
    error = float(np.median(np.abs(computed - printed)))
    if error <= 0.08:
        return
    as_degf = float(np.median(np.abs(_relative((air[known] - 32.0) / 1.8, (dew[known] - 32.0) / 1.8) - printed)))
    where = "dry bulb, dew point and relative humidity"
    if as_degf < 0.5 * error:
        r.say(r.first_line, where, "fit each other only if the temperatures are degF; convert them to degC first")
    else:
        what = f"do not fit each other (half of all hours are off by more than {error:.0%})"
        r.say(r.first_line, where, f"{what}; the columns are of another order or unit")


def _relative(air_degc: Array, dew_degc: Array) -> Array:
    # Magnus' form, good to 1 percent: this only tells units apart
    def vapour(t: Array) -> Array:
        return np.exp(17.62 * t / (243.12 + t))

    clipped = np.clip(air_degc, -90.0, 60.0), np.clip(dew_degc, -90.0, 60.0)
    return np.asarray(vapour(clipped[1]) / vapour(clipped[0]), dtype=np.float64)
