"""Fans: the laws, the system a fan works against, where the two meet, the power, the motor.

A fan moves volume; pressure and power go with density. A flow of a table or a curve is that of its own density
ratio, 1 for standard air.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from galleyproof.air.steps import AirError, Reasoned, Reasoning, practice, require, total
from galleyproof.findings import Citation
from galleyproof.tables import air as tables

__all__ = [
    "FanCurve",
    "FanPoint",
    "MotorCheck",
    "System",
    "air_power_hp",
    "at_density",
    "at_flow",
    "at_speed",
    "brake_power_hp",
    "combined_efficiency_ratio",
    "electric_input_kw",
    "law",
    "max_flow_for_motor_cfm",
    "motor_check",
    "operating_point",
    "power_fraction",
    "profile_energy_kwh",
    "selection_pressure_inwc",
    "speed_for_flow",
    "speed_for_power_fraction",
]

Change: TypeAlias = Literal["speed", "flow", "pressure", "density", "diameter"]
Effect: TypeAlias = Literal["flow", "pressure", "shaft_power", "speed"]


def law(change_of: Change, effect_on: Effect, ratio: float) -> Reasoned[float]:
    """Factor of a fan law.

    Args:
        change_of: What changes.
        effect_on: What follows; flow and pressure as causes mean a fixed system.
        ratio: New over old. [-]

    Returns:
        New over old of the effect. [-]

    Raises:
        AirError: A ratio that is not positive.
        TableError: No such law.
    """
    require(f"{change_of} ratio", ratio, "-", above=0.0)
    note = Reasoning()
    power = note.look_up(
        f"{effect_on} goes with {change_of} to the power", tables.fan_law_exponent(change_of, effect_on), "-"
    )
    return note.done(note.step(f"{ratio:.5g}^{power:g}", math.pow(ratio, power), "-"), "-")


@dataclass(frozen=True, slots=True)
class FanPoint:
    """A fan at work.

    Attributes:
        air_cfm: Flow. [cfm]
        static_inwc: Static pressure. [in wc]
        shaft_hp: Brake horsepower; None where nobody said. [hp]
        speed_rpm: Wheel speed; None where nobody said. [rpm]
        density_ratio: Of the air it moves. [-]
    """

    air_cfm: float
    static_inwc: float
    shaft_hp: float | None = None
    speed_rpm: float | None = None
    density_ratio: float = 1.0

    def __post_init__(self) -> None:
        require("flow of the fan", self.air_cfm, "cfm", above=0.0)
        require("static pressure of the fan", self.static_inwc, "in wc", least=0.0)
        require("density ratio", self.density_ratio, "-", above=0.0)
        if self.shaft_hp is not None:
            require("brake horsepower of the fan", self.shaft_hp, "hp", above=0.0)
        if self.speed_rpm is not None:
            require("wheel speed", self.speed_rpm, "rpm", above=0.0)


def at_speed(point: FanPoint, ratio: float) -> FanPoint:
    """The same fan on the same system at another speed.

    Args:
        point: Known point.
        ratio: New speed over old. [-]
    """
    return replace(
        point,
        air_cfm=point.air_cfm * law("speed", "flow", ratio).value,
        static_inwc=point.static_inwc * law("speed", "pressure", ratio).value,
        shaft_hp=_times(point.shaft_hp, law("speed", "shaft_power", ratio).value),
        speed_rpm=_times(point.speed_rpm, ratio),
    )


def at_flow(point: FanPoint, air_cfm: float) -> FanPoint:
    """The same fan on the same fixed system, brought to another flow by its speed.

    Args:
        point: Known point.
        air_cfm: Wanted flow. [cfm]
    """
    return at_speed(point, require("flow", air_cfm, "cfm", above=0.0) / point.air_cfm)


def at_density(point: FanPoint, density_ratio: float) -> FanPoint:
    """The same fan at the same speed in other air: flow stays, pressure and power go with density.

    Args:
        point: Known point.
        density_ratio: Of the new air. [-]
    """
    require("density ratio", density_ratio, "-", above=0.0)
    change = density_ratio / point.density_ratio
    return replace(
        point,
        air_cfm=point.air_cfm * law("density", "flow", change).value,
        static_inwc=point.static_inwc * law("density", "pressure", change).value,
        shaft_hp=_times(point.shaft_hp, law("density", "shaft_power", change).value),
        density_ratio=density_ratio,
    )


def selection_pressure_inwc(actual_inwc: float, density_ratio: float) -> Reasoned[float]:
    """Pressure to look up in a table for standard air.

    Args:
        actual_inwc: Pressure at the real density. [in wc]
        density_ratio: Of the real air. [-]

    Returns:
        Pressure at standard density, same flow and speed. [in wc]
    """
    require("pressure", actual_inwc, "in wc", least=0.0)
    require("density ratio", density_ratio, "-", above=0.0)
    note = Reasoning()
    basis = tables.fan_law_exponent("density", "pressure").basis
    chosen = note.step(f"{actual_inwc:g} in wc / {density_ratio:.4g}", actual_inwc / density_ratio, "in wc", *basis)
    return note.done(chosen, "in wc")


def air_power_hp(air_cfm: float, pressure_inwc: float) -> Reasoned[float]:
    """Power that the air receives.

    Args:
        air_cfm: Flow. [cfm]
        pressure_inwc: Total or static pressure. [in wc]

    Returns:
        ``cfm x in wc / 6356``. [hp]
    """
    require("flow", air_cfm, "cfm", least=0.0)
    require("pressure", pressure_inwc, "in wc", least=0.0)
    note = Reasoning()
    divisor = note.look_up("air horsepower divisor", tables.fan_constant("air_hp_divisor"), "cfm in wc/hp")
    power = air_cfm * pressure_inwc / divisor
    return note.done(note.step(f"{air_cfm:g} cfm x {pressure_inwc:g} in wc / {divisor:g}", power, "hp"), "hp")


def brake_power_hp(air_cfm: float, pressure_inwc: float, efficiency_ratio: float) -> Reasoned[float]:
    """Power at the fan's shaft.

    Args:
        air_cfm: Flow. [cfm]
        pressure_inwc: Pressure of the same kind as the efficiency, total or static. [in wc]
        efficiency_ratio: Of the fan, above 0, at most 1. [-]

    Returns:
        Power. [hp]
    """
    require("fan efficiency", efficiency_ratio, "-", above=0.0, most=1.0, cure="write it as 0 to 1")
    note = Reasoning()
    power = note.take(air_power_hp(air_cfm, pressure_inwc)) / efficiency_ratio
    return note.done(note.step(f"over the fan's efficiency, {efficiency_ratio:g}", power, "hp"), "hp")


def electric_input_kw(
    shaft_hp: float, *, belt_ratio: float = 1.0, motor_ratio: float = 1.0, drive_ratio: float = 1.0
) -> Reasoned[float]:
    """Electric power from the line.

    Args:
        shaft_hp: At the fan's shaft. [hp]
        belt_ratio: Efficiency of the belt. [-]
        motor_ratio: Efficiency of the motor. [-]
        drive_ratio: Efficiency of the drive. [-]

    Returns:
        Power. [kW]
    """
    require("shaft power", shaft_hp, "hp", least=0.0)
    for name, value in (("belt", belt_ratio), ("motor", motor_ratio), ("drive", drive_ratio)):
        require(f"{name} efficiency", value, "-", above=0.0, most=1.0, cure="write it as 0 to 1")
    note = Reasoning()
    per_hp = note.look_up("kilowatt per horsepower", tables.fan_constant("kw_per_hp"), "kW/hp")
    power = shaft_hp * per_hp / (belt_ratio * motor_ratio * drive_ratio)
    note.step(f"{shaft_hp:.5g} hp x {per_hp:g} / ({belt_ratio:g} x {motor_ratio:g} x {drive_ratio:g})", power, "kW")
    return note.done(power, "kW")


def combined_efficiency_ratio(air_cfm: float, pressure_inwc: float, input_kw: float) -> Reasoned[float]:
    """Fan and motor efficiency together, from readings.

    Args:
        air_cfm: Flow. [cfm]
        pressure_inwc: Total pressure. [in wc]
        input_kw: Electric power. [kW]

    Returns:
        Efficiency. [-]
    """
    require("electric power", input_kw, "kW", above=0.0)
    note = Reasoning()
    useful = note.take(electric_input_kw(note.take(air_power_hp(air_cfm, pressure_inwc))))
    return note.done(note.step(f"{useful:.4g} kW / {input_kw:g} kW", useful / input_kw, "-"), "-")


def power_fraction(speed_ratio: float, exponent: float = 3.0) -> float:
    """Power at a speed over that at full speed.

    Args:
        speed_ratio: 0 or more. [-]
        exponent: 3 by the fan law; measured systems often fit 2.0 to 2.8 (common practice, from memory). [-]
    """
    require("speed ratio", speed_ratio, "-", least=0.0)
    require("exponent", exponent, "-", least=1.0, most=3.0)
    return math.pow(speed_ratio, exponent)


def speed_for_power_fraction(fraction: float, exponent: float = 3.0) -> float:
    """Constant speed that takes a given share of full power.

    Args:
        fraction: 0 to 1. [-]
        exponent: As for ``power_fraction``. [-]
    """
    require("power fraction", fraction, "-", least=0.0)
    require("exponent", exponent, "-", least=1.0, most=3.0)
    return math.pow(fraction, 1.0 / exponent)


def profile_energy_kwh(full_kw: float, profile: Iterable[tuple[float, float]], exponent: float = 3.0) -> float:
    """Energy over a row of times at different speeds, summed time by time: never from the mean speed.

    Args:
        full_kw: Electric power at full speed. [kW]
        profile: Pairs of hours and speed ratio.
        exponent: As for ``power_fraction``. [-]

    Returns:
        Energy. [kWh]
    """
    require("power at full speed", full_kw, "kW", least=0.0)
    return full_kw * total(require("hours", h, "h", least=0.0) * power_fraction(n, exponent) for h, n in profile)


def max_flow_for_motor_cfm(point: FanPoint, motor_hp: float) -> Reasoned[float]:
    """Largest flow on a fixed system before a motor is at its nameplate.

    Args:
        point: Known point with its shaft power.
        motor_hp: Nameplate. [hp]

    Returns:
        Flow. [cfm]

    Raises:
        AirError: The point has no shaft power.
    """
    if point.shaft_hp is None:
        raise AirError("the fan point has no brake horsepower; give it from the fan table")
    require("motor", motor_hp, "hp", above=0.0)
    note = Reasoning()
    exponent = note.look_up(
        "shaft power goes with flow to the power", tables.fan_law_exponent("flow", "shaft_power"), "-"
    )
    flow = point.air_cfm * math.pow(motor_hp / point.shaft_hp, 1.0 / exponent)
    note.step(f"{point.air_cfm:g} cfm x ({motor_hp:g} hp / {point.shaft_hp:.5g} hp)^(1/{exponent:g})", flow, "cfm")
    return note.done(flow, "cfm")


@dataclass(frozen=True, slots=True)
class System:
    """What a fan works against: ``fixed + k x flow^2``, at standard density.

    Attributes:
        design_cfm: Flow of the known point. [cfm]
        design_inwc: Pressure there, all of it. [in wc]
        fixed_inwc: Part of it that does not go with the flow. [in wc]
    """

    design_cfm: float
    design_inwc: float
    fixed_inwc: float = 0.0

    def __post_init__(self) -> None:
        require("design flow", self.design_cfm, "cfm", above=0.0)
        require("design pressure", self.design_inwc, "in wc", least=0.0)
        require("fixed pressure", self.fixed_inwc, "in wc", least=0.0, most=self.design_inwc)

    def pressure_inwc(self, air_cfm: float, density_ratio: float = 1.0) -> float:
        """Pressure it takes to move a flow [in wc].

        Raises:
            AirError: A flow below zero, a density that is none.
        """
        require("flow", air_cfm, "cfm", least=0.0)
        require("density ratio", density_ratio, "-", above=0.0)
        moving = (self.design_inwc - self.fixed_inwc) * (air_cfm / self.design_cfm) ** 2
        return self.fixed_inwc + density_ratio * moving


@dataclass(frozen=True, slots=True)
class FanCurve:
    """A maker's curve at one speed and standard density, straight between its points.

    Attributes:
        points: Flow, static pressure; flow rises, pressure falls. [cfm, in wc]
        shaft_hp: Brake horsepower at each point; empty where nobody said. [hp]
    """

    points: tuple[tuple[float, float], ...]
    shaft_hp: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        if len(self.points) < 2:
            raise AirError(f"a fan curve needs at least two points, not {len(self.points)}")
        for n, (flow, pressure) in enumerate(self.points, start=1):
            require(f"fan curve, point {n}: flow", flow, "cfm", least=0.0)
            require(f"fan curve, point {n}: pressure", pressure, "in wc", least=0.0)
        for n, power in enumerate(self.shaft_hp, start=1):
            require(f"fan curve, point {n}: brake horsepower", power, "hp", above=0.0)
        for n, (one, two) in enumerate(zip(self.points, self.points[1:], strict=False), start=1):
            place = f"points {n} and {n + 1}"
            if not two[0] > one[0]:
                raise AirError(f"fan curve, {place}: flow {one[0]:g} to {two[0]:g} cfm does not rise; order the points")
            if not two[1] < one[1]:
                raise AirError(
                    f"fan curve, {place}: pressure {one[1]:g} to {two[1]:g} in wc does not fall; left of its peak a "
                    "fan is unstable: leave those points out"
                )
        if self.shaft_hp and len(self.shaft_hp) != len(self.points):
            raise AirError(f"{len(self.shaft_hp)} brake horsepowers for {len(self.points)} points of the fan curve")

    def pressure_inwc(self, air_cfm: float) -> float:
        """Static pressure at a flow of the curve [in wc].

        Raises:
            AirError: Off the curve.
        """
        return self._at(air_cfm, tuple(p for _, p in self.points))

    def power_hp(self, air_cfm: float) -> float | None:
        """Brake horsepower at a flow of the curve [hp]; None where the curve has none.

        Raises:
            AirError: Off the curve.
        """
        return self._at(air_cfm, self.shaft_hp) if self.shaft_hp else None

    def _at(self, air_cfm: float, values: tuple[float, ...]) -> float:
        first, last = self.points[0][0], self.points[-1][0]
        require("flow on the fan curve", air_cfm, "cfm", least=first, most=last, cure="take a curve that reaches it")
        for n in range(1, len(self.points)):
            low, high = self.points[n - 1][0], self.points[n][0]
            if air_cfm <= high:
                share = (air_cfm - low) / (high - low)
                return values[n - 1] + share * (values[n] - values[n - 1])
        raise AssertionError("a flow within the curve lies in one of its pieces")


def operating_point(
    curve: FanCurve, system: System, *, speed_ratio: float = 1.0, density_ratio: float = 1.0
) -> FanPoint:
    """Where a fan and a system meet.

    Args:
        curve: At ``speed_ratio`` 1 and standard air.
        system: At standard air.
        speed_ratio: Above 0. [-]
        density_ratio: Of the air in both. [-]

    Returns:
        The point.

    Raises:
        AirError: They do not meet on the curve.
    """
    require("speed ratio", speed_ratio, "-", above=0.0)
    require("density ratio", density_ratio, "-", above=0.0)

    def surplus(curve_cfm: float) -> float:
        made = curve.pressure_inwc(curve_cfm) * speed_ratio**2 * density_ratio
        return made - system.pressure_inwc(curve_cfm * speed_ratio, density_ratio)

    low, high = curve.points[0][0], curve.points[-1][0]
    # A system drawn through the curve's very end stays on it at every speed, whatever the last bits say.
    slack = 1e-9 * curve.points[0][1] * speed_ratio**2 * density_ratio
    if surplus(low) < -slack:
        raise AirError(
            f"at {speed_ratio:.0%} speed the system needs more pressure than the fan's curve has at its first point "
            f"({low:g} cfm): the fan stalls; take more speed or another fan"
        )
    if surplus(high) > slack:
        raise AirError(
            f"at {speed_ratio:.0%} speed the fan moves more than its curve shows ({high:g} cfm at full speed); "
            "take a curve that reaches further"
        )
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        if surplus(middle) > 0.0:
            low = middle
        else:
            high = middle
    at = 0.5 * (low + high)
    power = curve.power_hp(at)
    return FanPoint(
        air_cfm=at * speed_ratio,
        static_inwc=system.pressure_inwc(at * speed_ratio, density_ratio),
        shaft_hp=None if power is None else power * speed_ratio**3 * density_ratio,
        density_ratio=density_ratio,
    )


def speed_for_flow(curve: FanCurve, system: System, air_cfm: float, *, density_ratio: float = 1.0) -> Reasoned[float]:
    """Speed at which a fan moves a flow through a system.

    Args:
        curve: At speed ratio 1 and standard air.
        system: At standard air.
        air_cfm: Wanted flow. [cfm]
        density_ratio: Of the air in both. [-]

    Returns:
        Speed over that of the curve. [-]

    Raises:
        AirError: The wanted point lies on no speed of this fan.
    """
    require("wanted flow", air_cfm, "cfm", above=0.0)
    note = Reasoning()
    need = system.pressure_inwc(air_cfm, density_ratio)
    note.step(f"pressure of the system at {air_cfm:g} cfm", need, "in wc")
    # A higher speed means a smaller flow on the curve, more pressure there and a larger factor: the surplus rises.
    low, high = air_cfm / curve.points[-1][0], air_cfm / max(curve.points[0][0], 1e-6 * air_cfm)

    def surplus(speed: float) -> float:
        at = min(max(air_cfm / speed, curve.points[0][0]), curve.points[-1][0])
        return curve.pressure_inwc(at) * speed**2 * density_ratio - need

    slack = 1e-9 * need
    if surplus(low) > slack or surplus(high) < -slack:
        raise AirError(f"{air_cfm:g} cfm at {need:.3g} in wc lies on no speed of this fan's curve; take another fan")
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        if surplus(middle) > 0.0:
            high = middle
        else:
            low = middle
    speed = note.step("speed at which the curve passes through it", 0.5 * (low + high), "-")
    return note.done(speed, "-")


@dataclass(frozen=True, slots=True)
class MotorCheck:
    """A motor against its fan.

    Attributes:
        running_hp: Shaft power in the air it was selected for. [hp]
        cold_hp: Shaft power at a cold start at full speed. [hp]
        motor_hp: Nameplate. [hp]
        service_factor: Nameplate. [-]
        verdict: ``fits``, ``into its service factor`` or ``overloaded``.
        when: ``running`` or ``cold start``: what the verdict is about.
        steps: The reasoning.
    """

    running_hp: float
    cold_hp: float
    motor_hp: float
    service_factor: float
    verdict: Literal["fits", "into its service factor", "overloaded"]
    when: Literal["running", "cold start"]
    steps: tuple[str, ...]
    basis: tuple[Citation, ...] = ()


def motor_check(
    running_hp: Reasoned[float], *, motor_hp: float, service_factor: float = 1.0, cold_over_running_ratio: float = 1.0
) -> MotorCheck:
    """Whether a fan overloads its motor.

    Args:
        running_hp: Shaft power in the air it was selected for. [hp]
        motor_hp: Nameplate. [hp]
        service_factor: Nameplate; a drive takes the reserve away (common practice), so 1.0 there. [-]
        cold_over_running_ratio: Density at a cold start over that of the selection. [-]
    """
    require("brake horsepower of the fan", running_hp.value, "hp", least=0.0)
    require("motor", motor_hp, "hp", above=0.0)
    require("service factor", service_factor, "-", least=1.0)
    require("density at a cold start over that of the selection", cold_over_running_ratio, "-", above=0.0)
    note = Reasoning()
    running = note.take(running_hp)
    basis = tables.fan_law_exponent("density", "shaft_power").basis
    cold = running * cold_over_running_ratio
    note.step(f"cold start: {running:.4g} hp x {cold_over_running_ratio:.4g}", cold, "hp", *basis)
    limit = motor_hp * service_factor
    reserve = practice("", "the service factor is a reserve, not a rating to design to")
    note.step(f"motor: {motor_hp:g} hp x service factor {service_factor:g}", limit, "hp", reserve)
    when: Literal["running", "cold start"] = "running"
    load = running
    if cold > running and _verdict(cold, motor_hp, limit) != _verdict(running, motor_hp, limit):
        when, load = "cold start", cold
    done = note.done(load, "hp")
    return MotorCheck(
        running, cold, motor_hp, service_factor, _verdict(load, motor_hp, limit), when, done.lines(), done.basis
    )


def _verdict(
    load_hp: float, motor_hp: float, limit_hp: float
) -> Literal["fits", "into its service factor", "overloaded"]:
    if load_hp <= motor_hp * (1.0 + 1e-9):
        return "fits"
    return "into its service factor" if load_hp <= limit_hp * (1.0 + 1e-9) else "overloaded"


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor
