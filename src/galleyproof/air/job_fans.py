"""Fans of a job: system and curve, brake horsepower, the motor on both sides."""

from __future__ import annotations

import math

from galleyproof.air._facts import Facts, Notes
from galleyproof.air.fans import (
    FanCurve,
    MotorCheck,
    System,
    brake_power_hp,
    electric_input_kw,
    motor_check,
    operating_point,
    selection_pressure_inwc,
    speed_for_flow,
)
from galleyproof.air.job_ducts import Path, path_of
from galleyproof.air.model import FanRow
from galleyproof.air.psychro import density_ratio
from galleyproof.air.setpoints import expected_amps
from galleyproof.air.steps import AirError, Reasoned, Reasoning
from galleyproof.findings import Severity
from galleyproof.job.model import ExhaustFan, Motor
from galleyproof.reasoning import practice
from galleyproof.tables import TableError
from galleyproof.tables.motors import flc_single_phase_a, flc_three_phase_a

_SLACK = 1.01
_MOST_ROUNDING = 1.05
"""By how much a schedule may fall short of the ducts before it is a finding: fittings are known no better. [-]"""


def fan_rows(facts: Facts, notes: Notes) -> tuple[FanRow, ...]:
    """Every fan of the job."""
    return tuple(_row(facts, fan, notes) for fan in facts.job.exhaust_fans)


def full_load_a(motor: Motor) -> float | None:
    """Nameplate current, or the code table's; None where neither is there [A]."""
    if motor.nameplate_amps is not None:
        return motor.nameplate_amps
    try:
        table = flc_three_phase_a if motor.phases == 3 else flc_single_phase_a
        return table(motor.hp, motor.volts).value
    except TableError:
        return None


def highest_ratio(facts: Facts, fan: ExhaustFan) -> float:
    """Highest speed over that at line frequency [-]."""
    if fan.drive.kind != "VFD" or fan.air.most_frequency is None:
        return 1.0
    return fan.air.most_frequency / facts.line_hz[fan.circuit]


def _row(facts: Facts, fan: ExhaustFan, notes: Notes) -> FanRow:
    ratio = density_ratio(facts.job.site.altitude, fan.air.air_at)
    notes.why(fan.tag, "density of the air it moves", ratio)
    for_moved = fan.air.selected_for == "the air it moves"
    scheduled = fan.static_pressure
    if for_moved and ratio.value > 0.0:
        scheduled = selection_pressure_inwc(fan.static_pressure, ratio.value).value
    path = path_of(facts, fan)
    if path is not None:
        notes.why(fan.tag, "pressure its ducts need", path.loss)
    speed, full = _curve(facts, fan, scheduled, path, ratio.value, notes)
    if not fan.air.curve and path is not None and fan.air.ducts and path.loss.value > scheduled * _MOST_ROUNDING:
        notes.find(
            "AIR-FAN-PRESSURE", Severity.ERROR, fan.tag,
            f"was selected for {scheduled:.3g} in wc, but hood, filters and ducts from {path.hood} need "
            f"{path.loss.value:.3g} in wc at {fan.airflow:,.0f} cfm (standard air)",
            "select the fan for that pressure, or larger ducts and fewer fittings", *path.loss.basis,
        )  # fmt: skip
    # a speed the fan cannot have says nothing about the power it takes
    reached = speed if speed is not None and speed <= highest_ratio(facts, fan) * _SLACK else None
    shaft, selected_ratio = _shaft(fan, scheduled, path, reached, ratio.value)
    if shaft is not None:
        notes.why(fan.tag, "brake horsepower at design", shaft)
    motor = fan.drive.motor
    check, expected, rated = None, None, None
    if isinstance(motor, Motor):
        rated = full_load_a(motor)
        if shaft is not None:
            check = _motor(facts, fan, motor, shaft, selected_ratio, notes)
            if rated is not None:
                expected = _amps(fan, motor, shaft.value, rated, notes)
    else:
        rated = motor.nameplate_amps
        if shaft is not None:
            _ec(fan, shaft, notes)
    kw = None
    if shaft is not None and fan.air.motor_efficiency is not None:
        power = _input(fan, shaft.value)
        notes.why(fan.tag, "electric power at design", power)
        kw = power.value
    return FanRow(
        tag=fan.tag,
        design_cfm=fan.airflow,
        idle_cfm=fan.airflow * facts.least_ratio(fan),
        density_ratio=ratio.value,
        scheduled_inwc=scheduled,
        system_inwc=None if path is None else path.loss.value,
        governing="" if path is None else path.hood,
        speed_ratio=speed,
        full_cfm=full,
        shaft_hp=None if shaft is None else shaft.value,
        motor_hp=motor.hp if isinstance(motor, Motor) else None,
        input_kw=kw,
        motor=check,
        expected_a=expected,
        full_load_a=rated,
    )


def _curve(
    facts: Facts, fan: ExhaustFan, scheduled: float, path: Path | None, ratio: float, notes: Notes
) -> tuple[float | None, float | None]:
    """Speed for the design airflow and flow at full speed, from the fan's curve; what it cannot reach."""
    curve = curve_of(fan)
    if curve is None:
        return None, None
    system = system_of(fan, scheduled, path)
    most = highest_ratio(facts, fan)
    try:
        found = speed_for_flow(curve, system, fan.airflow, density_ratio=ratio)
    except AirError as error:
        _reach(fan, str(error), notes)
        return None, None
    notes.why(fan.tag, "speed for the design airflow", found)
    full = None
    try:
        full = operating_point(curve, system, speed_ratio=most, density_ratio=ratio).air_cfm
    except AirError:
        full = None  # the curve does not reach that far to the right; the speed above is what counts
    if found.value > most * _SLACK:
        gives = f"; at its highest speed it gives {full:,.0f} cfm" if full is not None else ""
        _reach(
            fan,
            f"{fan.airflow:,.0f} cfm at {system.design_inwc:.3g} in wc (standard air) takes {found.value:.0%} of the "
            f"speed of its curve, {most:.0%} is the most{gives}",
            notes,
        )
    return found.value, full


def _reach(fan: ExhaustFan, why: str, notes: Notes) -> None:
    notes.find(
        "AIR-FAN-REACH", Severity.ERROR, fan.tag, f"cannot reach its point: {why}",
        "another fan or sheave, or ducts that need less pressure", practice("fan curve and system curve"),
    )  # fmt: skip


def curve_of(fan: ExhaustFan) -> FanCurve | None:
    """The curve of a fan, if the job gives one."""
    points = fan.air.curve
    if not points:
        return None
    power = tuple(p.power for p in points if p.power is not None)
    return FanCurve(tuple((p.airflow, p.static_pressure) for p in points), power)


def system_of(fan: ExhaustFan, scheduled_inwc: float, path: Path | None) -> System:
    """What the fan works against: its ducts where they are described, else the pressure it is scheduled for."""
    if path is not None and fan.air.ducts:
        return System(fan.airflow, path.loss.value, path.fixed_inwc)
    return System(fan.airflow, scheduled_inwc, min(fan.air.fixed_loss, scheduled_inwc))


def _shaft(
    fan: ExhaustFan, scheduled: float, path: Path | None, speed: float | None, ratio: float
) -> tuple[Reasoned[float] | None, float]:
    """Brake horsepower at design and the density ratio of the air it holds for."""
    if fan.air.brake_power is not None:
        note = Reasoning()
        note.step(f"brake horsepower of the schedule, for {fan.air.selected_for}", fan.air.brake_power, "hp")
        return note.done(fan.air.brake_power, "hp"), (ratio if fan.air.selected_for == "the air it moves" else 1.0)
    curve = curve_of(fan)
    if curve is not None and curve.shaft_hp and speed is not None:
        at = fan.airflow / speed
        on_curve = curve.power_hp(min(max(at, curve.points[0][0]), curve.points[-1][0]))
        assert on_curve is not None
        note = Reasoning()
        note.step(f"of its curve at {at:,.0f} cfm", on_curve, "hp")
        power = note.step(f"at {speed:.4g} of that speed, to the third power", on_curve * speed**3, "hp")
        return note.done(power, "hp"), 1.0
    if fan.air.fan_efficiency is not None:
        # the larger of the two: until it is balanced the fan may sit at the point it was selected for
        pressure = max(scheduled, path.loss.value if path is not None and fan.air.ducts else 0.0)
        return brake_power_hp(fan.airflow, pressure, fan.air.fan_efficiency), 1.0
    return None, 1.0


def _at_motor(fan: ExhaustFan, shaft: Reasoned[float]) -> Reasoned[float]:
    """Power at the motor's shaft: over the belt [hp]."""
    belt = fan.air.belt_efficiency
    if belt is None:
        return shaft
    note = Reasoning()
    power = note.take(shaft) / belt
    return note.done(note.step(f"over the belt's efficiency, {belt:g}", power, "hp"), "hp")


def _input(fan: ExhaustFan, shaft_hp: float) -> Reasoned[float]:
    return electric_input_kw(
        shaft_hp,
        belt_ratio=fan.air.belt_efficiency or 1.0,
        motor_ratio=fan.air.motor_efficiency or 1.0,
        drive_ratio=fan.air.drive_efficiency or 1.0,
    )


def _motor(
    facts: Facts, fan: ExhaustFan, motor: Motor, shaft: Reasoned[float], selected_ratio: float, notes: Notes
) -> MotorCheck:
    cold = density_ratio(facts.job.site.altitude, facts.job.air.cold_start).value / selected_ratio
    on_drive = fan.drive.kind == "VFD"
    check = motor_check(
        _at_motor(fan, shaft),
        motor_hp=motor.hp,
        service_factor=1.0 if on_drive else motor.service_factor,
        cold_over_running_ratio=cold,
    )
    load = check.cold_hp if check.when == "cold start" else check.running_hp
    words = f"at a cold start, {facts.job.air.cold_start:g} degF" if check.when == "cold start" else "at design"
    notes.why_lines(fan.tag, "motor against the fan", check.verdict, check.steps)
    if check.verdict == "overloaded":
        reserve = "; on a drive its service factor is no reserve" if on_drive else ""
        notes.find(
            "AIR-MOTOR-OVERLOAD", Severity.ERROR, fan.tag,
            f"takes {load:.3g} hp {words}, its motor gives {motor.hp:g} hp{reserve}",
            "a lower design speed, less pressure, or a larger motor", *check.basis,
        )  # fmt: skip
        rated = full_load_a(motor)
        amps = f", about {_current(load, motor, rated).value:.3g} A against {rated:.3g} A" if rated is not None else ""
        notes.find(
            "MOTOR-TOO-SMALL", Severity.ERROR, fan.tag,
            f"{motor.hp:g} hp drives a fan of {load:.3g} hp {words}{amps}: its overload protection would trip",
            "a larger motor, and then its conductors, breaker, overload and drive anew", *check.basis,
        )  # fmt: skip
    elif check.verdict == "into its service factor":
        notes.find(
            "AIR-MOTOR-RESERVE", Severity.NOTE if check.when == "cold start" else Severity.WARNING, fan.tag,
            f"takes {load:.3g} hp {words} from a motor of {motor.hp:g} hp: into its service factor, "
            f"{motor.service_factor:g}",
            "the next larger motor", *check.basis,
        )  # fmt: skip
    return check


def _ec(fan: ExhaustFan, shaft: Reasoned[float], notes: Notes) -> None:
    """An EC fan has no horsepower: its input against volts times amperes of its nameplate."""
    assert fan.drive.kind == "EC"
    plate = fan.drive.motor
    most = plate.volts * plate.nameplate_amps * (math.sqrt(3.0) if plate.phases == 3 else 1.0) / 1000.0
    need = _input(fan, shaft.value)
    if need.value > most:
        notes.find(
            "AIR-MOTOR-OVERLOAD", Severity.ERROR, fan.tag,
            f"takes {need.value:.3g} kW at design, more than its nameplate's {most:.3g} kVA",
            "a larger fan, less pressure or less flow", *need.basis,
        )  # fmt: skip
        notes.find(
            "MOTOR-TOO-SMALL", Severity.ERROR, fan.tag,
            f"{plate.nameplate_amps:g} A at {plate.volts:g} V is {most:.3g} kVA; the fan takes {need.value:.3g} kW",
            "a larger fan, and then its conductors and breaker anew", *need.basis,
        )  # fmt: skip


def _current(load_hp: float, motor: Motor, rated_a: float) -> Reasoned[float]:
    """Current of a motor at a load, at line frequency [A]."""
    return expected_amps(rated_a, math.sqrt(load_hp / motor.hp), full_load_a=rated_a)


def _amps(fan: ExhaustFan, motor: Motor, shaft_hp: float, rated_a: float, notes: Notes) -> float:
    load = shaft_hp / (fan.air.belt_efficiency or 1.0)
    found = _current(load, motor, rated_a)
    notes.why(fan.tag, "motor current to expect at design", found)
    return found.value
