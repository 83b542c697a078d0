"""From a job to what the year needs: what its blocks say, and the stated stand-ins where they say nothing."""

from __future__ import annotations

from dataclasses import dataclass

from galleyproof.air._facts import Facts, Notes
from galleyproof.air.fans import brake_power_hp, electric_input_kw
from galleyproof.air.job_balance import makeup_of
from galleyproof.air.job_fans import fan_rows
from galleyproof.air.model import FanRow
from galleyproof.air.psychro import density_ratio
from galleyproof.air.setpoints import SpeedMap
from galleyproof.air.steps import Reasoned, Reasoning
from galleyproof.findings import Citation
from galleyproof.job.checks.usage import minutes
from galleyproof.job.model import ExhaustFan, Hood, Job, MakeupUnit, Motor
from galleyproof.job.usage import CookingSpan, DayType, KitchenUse, Week
from galleyproof.reasoning import practice
from galleyproof.savings.calendar import Cooking, Day, Holiday, Schedule
from galleyproof.savings.evidence import drive_part_load
from galleyproof.savings.plant import FLAT, FanPart, HoodPart, PartLoad, Plant, Treatment, UnitPart

__all__ = ["ASSUMED_USE", "JobYear", "of_job"]

WEEKDAYS = tuple(Week.model_fields)
_JOB = Citation("job")
_STAND_IN = practice("efficiencies", "a stand-in; the job's own figures come first")

ASSUMED_USE = KitchenUse(
    day_types=(
        DayType(
            name="assumed day",
            runs=("06:00-22:00",),
            cooking=(
                CookingSpan(hours="06:00-22:00", intensity=0.3),
                CookingSpan(hours="11:00-13:30", intensity=0.9),
                CookingSpan(hours="17:00-20:00", intensity=0.9),
            ),
            low_speed=("06:00-10:00", "14:00-16:00"),
        ),
    )
)
"""What stands in when a job says nothing of its use; every result then says that it is assumed."""


@dataclass(frozen=True, slots=True)
class JobYear:
    """A job made ready for the year.

    Attributes:
        plant: What moves and treats air.
        schedule: Kinds of days and when they are.
        use: The block it was made from, or the assumed one.
        assumed: Whether the job has no such block.
        reasons: Reasoning behind numbers, by item: title and number.
    """

    plant: Plant
    schedule: Schedule
    use: KitchenUse
    assumed: bool
    reasons: tuple[tuple[str, str, Reasoned[float]], ...]


def of_job(job: Job) -> JobYear:
    """Make a job ready for the year.

    Args:
        job: The job; without ``kitchen_use`` the assumed one stands in.
    """
    use = job.kitchen_use or ASSUMED_USE
    facts = Facts(job)
    rows = {row.tag: row for row in fan_rows(facts, Notes())}
    reasons: list[tuple[str, str, Reasoned[float]]] = []
    fans = tuple(_fan(job, facts, fan, rows[fan.tag], use, reasons) for fan in job.exhaust_fans)
    least = {tag: fan.min_speed_ratio for fan in reversed(fans) for tag in fan.hoods}
    plant = Plant(
        hoods=tuple(_hood(hood, use, least.get(hood.tag, 1.0)) for hood in job.hoods),
        fans=fans,
        units=tuple(_unit(job, facts, unit, use, reasons) for unit in job.makeup_units),
        altitude_ft=job.site.altitude,
        two_speed_ratio=use.two_speed_low,
    )
    return JobYear(plant, schedule_of(use), use, job.kitchen_use is None, tuple(reasons))


def schedule_of(use: KitchenUse) -> Schedule:
    """Kinds of days, week and holidays of a job's block."""
    days = tuple(
        Day(
            one.name,
            tuple(map(minutes, one.runs)),
            tuple(Cooking(minutes(c.hours), c.intensity, c.hoods) for c in one.cooking),
            tuple(map(minutes, one.low_speed)),
        )
        for one in use.day_types
    )
    first = use.day_types[0].name
    week = [first if use.week is None else getattr(use.week, key) for key in WEEKDAYS]
    return Schedule(
        days=days,
        week=(week[0], week[1], week[2], week[3], week[4], week[5], week[6]),
        holidays=tuple(Holiday(_day(h.first), _day(h.last or h.first), h.day) for h in use.holidays),
        january_1=None if use.january_1 is None else WEEKDAYS.index(use.january_1.lower()),
    )


def _day(text: str) -> tuple[int, int]:
    return int(text[:2]), int(text[3:])


def _hood(hood: Hood, use: KitchenUse, least: float) -> HoodPart:
    own = next((c for c in use.collars if hood.tag in c.hoods), None)
    speed_map = SpeedMap(hood.idle_below, hood.full_above, least)
    if own is not None:
        return HoodPart(hood.tag, speed_map, own.idle, own.full)
    return HoodPart(hood.tag, speed_map, hood.idle_below, hood.full_above)


def _fan(
    job: Job,
    facts: Facts,
    fan: ExhaustFan,
    row: FanRow,
    use: KitchenUse,
    reasons: list[tuple[str, str, Reasoned[float]]],
) -> FanPart:
    note = Reasoning()
    stand_in = use.efficiencies
    shaft = row.shaft_hp
    if shaft is not None:
        note.step("brake horsepower at design, as the air check has it", shaft, "hp", _JOB)
    else:
        efficiency = stand_in.fan
        note.step("fan efficiency", efficiency, "-", _STAND_IN)
        shaft = note.take(brake_power_hp(fan.airflow, row.scheduled_inwc, efficiency))
    given_moved = fan.air.brake_power is not None and fan.air.selected_for == "the air it moves"
    if not given_moved:
        shaft = note.step(
            f"in the air it moves, {row.density_ratio:.4g} of standard air", shaft * row.density_ratio, "hp"
        )
    belt, motor, drive, curve = _electric(
        fan.drive.motor, fan.drive.kind, use, fan.air.belt_efficiency, fan.air.motor_efficiency,
        fan.air.drive_efficiency, note,
    )  # fmt: skip
    kw = note.take(electric_input_kw(shaft, belt_ratio=belt, motor_ratio=motor))
    reasons.append((fan.tag, "electric power at full speed, without a drive", note.done(kw, "kW")))
    return FanPart(
        tag=fan.tag,
        hoods=fan.serves,
        design_cfm=fan.airflow,
        min_speed_ratio=facts.least_ratio(fan),
        variable=fan.drive.kind != "starter",
        full_kw=kw,
        drive_ratio=drive,
        exponent=stand_in.power_exponent,
        part_load=curve,
    )


def _electric(
    motor: object,
    kind: str,
    use: KitchenUse,
    belt_given: float | None,
    motor_given: float | None,
    drive_given: float | None,
    note: Reasoning,
) -> tuple[float, float, float, PartLoad]:
    """Efficiencies of belt, motor and drive, and how the drive's falls with its load."""
    stand_in = use.efficiencies
    ordinary = isinstance(motor, Motor)
    belt = belt_given or (stand_in.belt if ordinary else 1.0)
    own = motor_given or (stand_in.motor if ordinary else stand_in.ec_motor)
    note.step("belt efficiency" if ordinary else "no belt", belt, "-", _JOB if belt_given else _STAND_IN)
    note.step("motor efficiency" if ordinary else "EC motor efficiency", own, "-", _JOB if motor_given else _STAND_IN)
    if kind != "VFD" or not isinstance(motor, Motor):
        return belt, own, 1.0, FLAT
    drive = drive_given or stand_in.drive
    curve = drive_part_load(motor.hp)
    note.step("drive efficiency at full load, under demand control", drive, "-", _JOB if drive_given else _STAND_IN)
    note.step("the drive's efficiency falls with its load: over that at full load, at an eighth of it",
              curve.value.relative_ratio[1], "-", *curve.basis)  # fmt: skip
    return belt, own, drive, curve.value


def _unit(
    job: Job, facts: Facts, unit: MakeupUnit, use: KitchenUse, reasons: list[tuple[str, str, Reasoned[float]]]
) -> UnitPart:
    made = makeup_of(facts, unit)
    stand_in, air = use.makeup_air, unit.air
    control = unit.control
    motor = control.drive.motor if control.kind == "driven from the panel" else control.motor
    kind = control.drive.kind if control.kind == "driven from the panel" else "its own"
    if kind == "its own" and facts.unit_can_slow(unit) and isinstance(motor, Motor):
        kind = "VFD"  # an ordinary motor behind a speed pair has a drive of its own
    note = Reasoning()
    efficiency = air.fan_efficiency or use.efficiencies.fan
    pressure = air.static_pressure or stand_in.static_pressure
    note.step("fan efficiency", efficiency, "-", _JOB if air.fan_efficiency else _STAND_IN)
    note.step("static pressure", pressure, "in wc", _JOB if air.static_pressure else _STAND_IN)
    shaft = note.take(brake_power_hp(unit.airflow, pressure, efficiency))
    thin = note.take(density_ratio(job.site.altitude, 70.0))
    shaft = note.step("at that density", shaft * thin, "hp")
    belt, own, drive, curve = _electric(
        motor, kind, use, air.belt_efficiency, air.motor_efficiency, air.drive_efficiency, note
    )
    kw = note.take(electric_input_kw(shaft, belt_ratio=belt, motor_ratio=own))
    reasons.append((unit.tag, "electric power at design flow, without a drive", note.done(kw, "kW")))
    return UnitPart(
        tag=unit.tag,
        tracks=unit.tracks,
        law=made.law,
        design_cfm=unit.airflow,
        min_ratio=made.min_ratio,
        full_kw=kw,
        treatment=_treatment(unit, use),
        drive_ratio=drive,
        exponent=use.efficiencies.power_exponent,
        part_load=curve,
    )


def _treatment(unit: MakeupUnit, use: KitchenUse) -> Treatment:
    air, stand_in = unit.air, use.makeup_air
    heat = air.heat or stand_in.heat
    heats_to = None if heat == "none" else (stand_in.heats_to if air.heats_to is None else air.heats_to)
    cools_to = stand_in.cools_to if air.cools_to is None else air.cools_to
    if cools_to is not None and heats_to is not None:
        cools_to = max(cools_to, heats_to)
    return Treatment(
        heats_to_degf=heats_to,
        cools_to_degf=cools_to,
        max_dew_point_degf=stand_in.max_dew_point,
        reheats=stand_in.reheats,
        heat_ratio=air.heat_efficiency or stand_in.heat_efficiency,
        electric_heat=heat == "electric",
        cooling_cop=stand_in.cooling_cop,
    )
