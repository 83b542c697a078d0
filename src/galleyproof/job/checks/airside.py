"""The air side: names that lead somewhere, shares between nothing and everything, curves that fall."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from galleyproof.errors import Problem
from galleyproof.job.airside import FanAir
from galleyproof.job.checks.registry import check
from galleyproof.job.register import Register
from galleyproof.yamltext import Path, hint

_EFFICIENCIES = ("fan_efficiency", "belt_efficiency", "motor_efficiency", "drive_efficiency", "heat_efficiency")
_SHARES = ("transfer_share", "recovery_effectiveness", "recovery_share", "tempered_share")
_FREQUENCIES = ("design_frequency", "least_frequency", "most_frequency")


@check()
def air_shares(r: Register) -> Iterator[Problem]:
    """Efficiencies, simultaneity, speeds and shares lie between 0 % and 100 %."""
    for section in ("exhaust_fans", "makeup_units"):
        for path, item in r.each(section):
            for key in _EFFICIENCIES:
                yield from _share(r, (*path, "air", key), getattr(item.air, key, None))
    for path, fan in r.each("exhaust_fans"):
        yield from _share(r, (*path, "air", "stable_speed"), fan.air.stable_speed)
    for path, unit in r.each("makeup_units"):
        if unit.air.follows is not None and unit.air.follows.kind == "ratio" and unit.air.follows.share <= 0.0:
            what = "0 % of the exhaust is no make-up; give a share above it"
            yield r.say((*path, "air", "follows", "share"), what)
    for path, hood in r.each("hoods"):
        if hood.air.plume is not None:
            yield from _share(r, (*path, "air", "plume", "simultaneity"), hood.air.plume.simultaneity)
    air = r.sections["air"]
    if air is not None and air.energy_code is not None:
        for key in _SHARES:
            value = getattr(air.energy_code, key)
            if value is not None and value > 1.0:
                yield r.say(("air", "energy_code", key), f"{100 * value:.4g} % is more than everything")


def _share(r: Register, path: Path, value: float | None) -> Iterator[Problem]:
    if value is not None and not 0.0 < value <= 1.0:
        yield r.say(path, f"{100 * value:.4g} % does not lie above 0 % and at or below 100 %")


@check("hoods")
def duct_of_another_fan(r: Register) -> Iterator[Problem]:
    """A duct that carries the air of a hood which its fan does not serve."""
    for path, fan in r.each("exhaust_fans"):
        for i, duct in enumerate(fan.air.ducts):
            for k, hood in enumerate(duct.carries):
                at = (*path, "air", "ducts", i, "carries", k)
                if hood in duct.carries[:k]:
                    yield r.say(at, f"{hood} stands here twice; name it once")
                elif hood not in fan.serves:
                    served = ", ".join(fan.serves)
                    yield r.say(at, f"{fan.tag} does not serve {hood}{hint(hood, fan.serves)}; it serves {served}")


@check()
def fan_curve(r: Register) -> Iterator[Problem]:
    """A curve with one point, one that does not rise in flow or fall in pressure, power at some points only."""
    for path, fan in r.each("exhaust_fans"):
        at = (*path, "air", "curve")
        points = fan.air.curve
        if len(points) == 1:
            yield r.say(at, "has one point; give two or more, or none")
        for i, (one, two) in enumerate(pairwise(points), start=1):
            if two.airflow <= one.airflow:
                what = f"{two.airflow:g} cfm does not lie above the point before, {one.airflow:g} cfm; order the points"
                yield r.say((*at, i, "airflow"), what)
            elif two.static_pressure >= one.static_pressure:
                what = f"{two.static_pressure:g} in wc does not lie below the point before, {one.static_pressure:g}"
                cure = "left of its peak a fan is unstable; leave those points out"
                yield r.say((*at, i, "static_pressure"), f"{what}; {cure}")
        with_power = [i for i, point in enumerate(points) if point.power is not None]
        if with_power and len(with_power) < len(points):
            missing = next(i for i in range(len(points)) if i not in with_power)
            yield r.say((*at, missing), "has no power; give it at every point of the curve or at none")


@check()
def frequencies(r: Register) -> Iterator[Problem]:
    """Drive frequencies of a fan without a drive, and a lowest one above the highest."""
    for path, fan in r.each("exhaust_fans"):
        air: FanAir = fan.air
        if fan.drive.kind != "VFD":
            for key in _FREQUENCIES:
                if getattr(air, key) is not None:
                    what = f"{fan.tag} has no frequency drive ({fan.drive.kind}); leave it out"
                    yield r.say((*path, "air", key), what)
        elif air.least_frequency is not None:
            most = air.most_frequency if air.most_frequency is not None else _line_hz(r, fan.circuit)
            if most is not None and air.least_frequency > most:
                what = f"{air.least_frequency:g} Hz lies above the highest frequency, {most:g} Hz"
                yield r.say((*path, "air", "least_frequency"), what)


def _line_hz(r: Register, circuit: str) -> float | None:
    found = r.supply_of(circuit)
    return found[1].frequency if found else None


@check()
def readings_twice(r: Register) -> Iterator[Problem]:
    """Two readings of one thing at the same point."""
    for section in ("hoods", "exhaust_fans", "makeup_units"):
        for path, item in r.each(section):
            seen: list[str] = []
            readings: tuple[Any, ...] = item.air.readings
            for i, reading in enumerate(readings):
                if reading.at in seen:
                    at = (*path, "air", "readings", i, "at")
                    yield r.say(at, f"the reading at {reading.at} stands here twice; keep the last one")
                seen.append(reading.at)
