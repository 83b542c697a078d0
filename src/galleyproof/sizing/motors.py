"""Motor circuits by NFPA 70 article 430, and packaged equipment by its nameplate.

Two currents rule a motor: the table current for conductors, switches and branch protection, the nameplate
current for overloads (430.6(A)). The nameplate rules both where the tables have no such motor; ``Motor`` then
says why.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from galleyproof.sizing.checks import need_above_zero, need_not_negative
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, SizingError, nec, practice, shown
from galleyproof.tables import motors as tables
from galleyproof.tables import protection
from galleyproof.tables.protection import MotorDevice, RatedDevice

__all__ = [
    "Motor",
    "MotorDevice",
    "MotorKind",
    "NameplateReason",
    "branch_min_ampacity_a",
    "branch_ocpd_max_a",
    "contactor_min_ac3_a",
    "disconnect_min_a",
    "feeder_min_ampacity_a",
    "feeder_ocpd_max_a",
    "full_load_a",
    "group_ocpd_max_a",
    "overload_max_a",
    "overload_max_ratio",
    "packaged_min_ampacity_a",
    "packaged_ocpd_max_a",
    "thermal_protector_max_a",
]

NameplateReason: TypeAlias = Literal[
    "EC motor", "shaded-pole or PSC fan motor", "multispeed", "low speed or high torque", "listed appliance"
]
MotorKind: TypeAlias = Literal["single_phase", "polyphase", "design_b_premium", "wound_rotor"]

_KIND_ROW: dict[str, str] = {
    "single_phase": "single_phase",
    "polyphase": "squirrel_cage_other_than_design_B_energy_efficient_or_premium",
    "design_b_premium": "design_B_energy_efficient_or_premium",
    "wound_rotor": "wound_rotor",
}
_NAMEPLATE_CLAUSE: dict[str, tuple[str, str]] = {
    "EC motor": ("430.6(A)(1)", "EC motors are not in the tables; nameplate input current"),
    "shaded-pole or PSC fan motor": ("430.6(A)(1)", "exception 2"),
    "multispeed": ("430.22(B)", "highest full-load current on the nameplate"),
    "low speed or high torque": ("430.6(A)(1)", "tables hold usual speeds and torques only"),
    "listed appliance": ("430.6(A)(1)", "exception 3"),
}
_DEVICE_WORDS: dict[str, str] = {
    "nontime_delay_fuse": "non-time-delay fuse",
    "time_delay_fuse": "dual-element (time-delay) fuse",
    "instantaneous_trip_breaker": "instantaneous-trip breaker",
    "inverse_time_breaker": "inverse-time breaker",
}


@dataclass(frozen=True, slots=True)
class Motor:
    """What is known of one motor.

    Attributes:
        rated_hp: Nameplate output; None when only amperes are marked. [hp]
        supply_v: System voltage at the motor, line to line for three phases. [V]
        phases: 1 or 3. [-]
        nameplate_a: Marked full-load current; None when not known. [A]
        service_factor: As marked; None when not marked. [-]
        rise_degc: Marked temperature rise; None when not marked. [K]
        kind: Row of Table 430.52(C)(1); None takes ``single_phase`` or ``polyphase`` by the phases.
        nameplate_why: Why the nameplate rules instead of the table; None when the table does.
    """

    rated_hp: float | None
    supply_v: float
    phases: int
    nameplate_a: float | None = None
    service_factor: float | None = None
    rise_degc: float | None = None
    kind: MotorKind | None = None
    nameplate_why: NameplateReason | None = None

    @property
    def row_kind(self) -> MotorKind:
        """Kind for the protection table."""
        return self.kind or ("single_phase" if self.phases == 1 else "polyphase")


def full_load_a(motor: Motor, edition: NecEdition = "2023") -> Reasoned[float]:
    """Current that conductors, switches and branch protection go by.

    Args:
        motor: A motor by hp (table), by amperes only, or one of those whose nameplate rules.
        edition: ``2020`` or ``2023``.

    Returns:
        Table current, or nameplate current with the reason. [A]

    Raises:
        TableError: No such row or column; the nearest are named.
        SizingError: The nameplate rules and no nameplate current is given.

    Code basis:
        NFPA 70-2023, 430.6(A)(1); Table 430.248 and Table 430.250.

    Examples:
        >>> full_load_a(Motor(5.0, 480.0, 3)).value
        7.6
    """
    r = Reasoning(edition)
    if motor.nameplate_why is not None:
        if motor.nameplate_a is None:
            raise SizingError(
                f"{motor.nameplate_why}: its nameplate current rules (430.6(A)(1)) and is not known; "
                "give the nameplate current"
            )
        need_above_zero("nameplate_a", motor.nameplate_a, "A")
        place, note = _NAMEPLATE_CLAUSE[motor.nameplate_why]
        r.step(f"{motor.nameplate_why}: nameplate current", motor.nameplate_a, "A", nec(place, edition, note))
        return r.done(motor.nameplate_a, "A")
    if motor.rated_hp is None:
        if motor.nameplate_a is None:
            raise SizingError("a motor needs its horsepower or its nameplate current; give one of them")
        need_above_zero("nameplate_a", motor.nameplate_a, "A")
        clause = nec("430.6(A)(1)", edition, "marked in amperes only: the table horsepower that has this current")
        r.step("motor marked in amperes, not horsepower", motor.nameplate_a, "A", clause)
        return r.done(motor.nameplate_a, "A")
    need_above_zero("rated_hp", motor.rated_hp, "hp")
    need_above_zero("supply_v", motor.supply_v, "V")
    column = tables.motor_column_v(motor.supply_v, motor.phases)
    by_table = tables.flc_single_phase_a if motor.phases == 1 else tables.flc_three_phase_a
    found = by_table(motor.rated_hp, motor.supply_v)
    phase_words = "single-phase" if motor.phases == 1 else "three-phase"
    r.step(
        f"table full-load current of {motor.rated_hp:.4g} hp, {phase_words}, {motor.supply_v:g} V "
        f"({column.value} V column)",
        found.value,
        "A",
        nec("430.6(A)(1)", edition),
        *found.basis,
    )
    if motor.nameplate_a is not None:
        r.pass_over(
            f"nameplate {shown(motor.nameplate_a, 'A')}: rules the overload only (430.6(A)(2)); "
            "conductors, switches and branch protection go by the table"
        )
    return r.done(found.value, "A")


def branch_min_ampacity_a(
    full_load: Reasoned[float] | float, *, duty_ratio: float = 1.25, edition: NecEdition = "2023"
) -> Reasoned[float]:
    """Smallest ampacity of the conductors of one motor.

    Args:
        full_load: Current from ``full_load_a``, or a number. [A]
        duty_ratio: 1.25 for continuous duty; another value of Table 430.22(E) for other duty. [-]
        edition: ``2020`` or ``2023``.

    Returns:
        Ampacity. [A]

    Code basis:
        NFPA 70-2023, 430.22; 430.22(E) for other duty.

    Examples:
        >>> branch_min_ampacity_a(22.0).value
        27.5
    """
    r = Reasoning(edition)
    flc_a = _current(r, full_load)
    need_above_zero("duty_ratio", duty_ratio, "-")
    place = "430.22" if duty_ratio == 1.25 else "430.22(E)"
    value = _snug(flc_a * duty_ratio)
    r.step(f"{duty_ratio:.0%} of {shown(flc_a, 'A')}", value, "A", nec(place, edition))
    return r.done(value, "A")


def feeder_min_ampacity_a(
    motor_currents: Sequence[Reasoned[float] | float],
    *,
    other_continuous_a: float = 0.0,
    other_noncontinuous_a: float = 0.0,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Smallest ampacity of conductors that supply several motors, or motors and other loads.

    Args:
        motor_currents: Full-load current of each motor on the line; equal ones count one by one. [A]
        other_continuous_a: Other loads of three hours and more, before their own 125 percent. [A]
        other_noncontinuous_a: Other loads. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        125 percent of the largest motor, once, plus the rest. [A]

    Raises:
        SizingError: Nothing to supply.

    Code basis:
        NFPA 70-2023, 430.24.

    Leaves out:
        Interlocked motors that never run together (exception 3) and demand factors (430.26): the caller gives
        only the currents that count.

    Examples:
        >>> feeder_min_ampacity_a([14.0, 52.0, 7.6]).value
        86.6
    """
    r = Reasoning(edition)
    currents = sorted((_current(r, c) for c in motor_currents), reverse=True)
    need_not_negative("other_continuous_a", other_continuous_a, "A")
    need_not_negative("other_noncontinuous_a", other_noncontinuous_a, "A")
    if not currents and other_continuous_a + other_noncontinuous_a == 0.0:
        raise SizingError("no motor and no other load: give at least one current")
    clause = nec("430.24", edition)
    parts: list[float] = []
    if currents:
        parts.append(1.25 * currents[0])
        r.step(f"125% of the largest motor, {shown(currents[0], 'A')}, once", parts[-1], "A", clause)
        if len(currents) > 1:
            parts.append(math.fsum(currents[1:]))
            r.step(f"other motors: {_sum_words(currents[1:])}", parts[-1], "A", clause)
    if other_continuous_a:
        parts.append(1.25 * other_continuous_a)
        r.step(f"125% of continuous non-motor load {shown(other_continuous_a, 'A')}", parts[-1], "A", clause)
    if other_noncontinuous_a:
        parts.append(other_noncontinuous_a)
        r.step("other non-motor load", other_noncontinuous_a, "A", clause)
    value = _snug(math.fsum(parts))
    if len(parts) > 1:
        r.step(f"sum: {_sum_words(parts)}", value, "A", clause)
    return r.done(value, "A")


def branch_ocpd_max_a(
    full_load: Reasoned[float] | float,
    device: MotorDevice,
    kind: MotorKind = "polyphase",
    *,
    cannot_start: bool = False,
    marked_max_a: float | None = None,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Largest branch short-circuit and ground-fault device of one motor.

    Args:
        full_load: Current from ``full_load_a``, or a number. [A]
        device: Kind of device.
        kind: Row of the table.
        cannot_start: The motor does not start on the usual device: the ceilings of exception 2, rounded down.
        marked_max_a: Maximum of the overload relay table or on the equipment; never exceeded. [A]
        edition: ``2020`` or ``2023``; 10 A is a breaker rating from 2023 on.

    Returns:
        Standard rating; for an instantaneous-trip breaker the highest trip setting. [A]

    Raises:
        SizingError: Another kind of motor.
        TableError: Above the largest standard rating.

    Code basis:
        NFPA 70-2023, 430.52(C)(1) with its table and exceptions 1 and 2; 430.52(C)(2); 240.6(A).

    Examples:
        >>> branch_ocpd_max_a(22.0, "inverse_time_breaker").value
        60.0
    """
    r = Reasoning(edition)
    flc_a = _current(r, full_load)
    if marked_max_a is not None:
        need_above_zero("marked_max_a", marked_max_a, "A")
    if kind not in _KIND_ROW:
        raise SizingError(f"kind={kind!r}: choose one of {', '.join(_KIND_ROW)}")
    words = _DEVICE_WORDS.get(device, str(device))
    usual = protection.motor_ocpd_ratio(device, _KIND_ROW[kind])
    limit = _snug(usual.value * flc_a)
    r.step(f"{words}, {usual.value:.0%} of {shown(flc_a, 'A')}", limit, "A", *usual.basis)
    if device == "instantaneous_trip_breaker":
        value = _instant_trip(r, flc_a, limit, kind, cannot_start, edition)
    else:
        rated = _rated(device)
        first = protection.next_standard_up_a(limit, rated, edition)
        value = first.value
        if value == limit:
            r.step("exactly a standard rating", value, "A", *first.basis)
        else:
            exception = nec("430.52(C)(1)", edition, "exception 1: next standard rating up is permitted")
            r.step("next standard rating up", value, "A", exception, *first.basis)
        if cannot_start:
            value = _ceiling(r, flc_a, value, device, words, edition)
        else:
            _note_ceiling(r, flc_a, value, device, words, edition)
    if marked_max_a is not None and marked_max_a < value:
        kept = marked_max_a
        if device != "instantaneous_trip_breaker":
            kept = protection.next_standard_down_a(marked_max_a, _rated(device), edition).value
        r.step(f"marked maximum {shown(marked_max_a, 'A')} is not exceeded", kept, "A", nec("430.52(C)(2)", edition))
        r.pass_over(f"{words} {shown(value, 'A')}: above the marked maximum {shown(marked_max_a, 'A')}")
        value = kept
    return r.done(value, "A")


def _instant_trip(
    r: Reasoning, flc_a: float, limit: float, kind: str, cannot_start: bool, edition: NecEdition
) -> float:
    r.remark(
        "adjustable instantaneous-trip breakers only as part of a listed combination motor controller",
        nec("430.52(C)(3)", edition),
    )
    if not cannot_start:
        return limit
    premium = kind == "design_b_premium"
    top = protection.motor_ocpd_ceiling_ratio("instantaneous_trip_breaker", flc_a, design_b_energy_efficient=premium)
    value = top.value * flc_a
    r.step(f"motor does not start: setting up to {top.value:.0%} of {shown(flc_a, 'A')}", value, "A", *top.basis)
    return value


def _ceiling(r: Reasoning, flc_a: float, usual_a: float, device: MotorDevice, words: str, edition: NecEdition) -> float:
    """Highest standard rating not above the cannot-start ceiling; never below the usual maximum."""
    top = protection.motor_ocpd_ceiling_ratio(device, flc_a)
    limit = _snug(top.value * flc_a)
    r.step(f"motor does not start: at most {top.value:.0%} of {shown(flc_a, 'A')}", limit, "A", *top.basis)
    ratings = protection.standard_ratings_a(_rated(device), edition)
    below = [a for a in ratings.value if a <= limit]
    if not below or below[-1] < usual_a:
        r.remark(f"no standard rating between: the usual maximum {shown(usual_a, 'A')} stays", *ratings.basis)
        return usual_a
    r.pass_over(f"{words} {shown(usual_a, 'A')}: said not to carry the motor through its start")
    r.step("largest standard rating not above it", below[-1], "A", *ratings.basis)
    return below[-1]


def _note_ceiling(
    r: Reasoning, flc_a: float, usual_a: float, device: MotorDevice, words: str, edition: NecEdition
) -> None:
    top = protection.motor_ocpd_ceiling_ratio(device, flc_a)
    limit = _snug(top.value * flc_a)
    if limit > usual_a:
        r.pass_over(
            f"{words} above {shown(usual_a, 'A')}, up to {top.value:.0%} ({shown(limit, 'A')}): "
            "only if the motor does not start (430.52(C)(1) exception 2)"
        )


def feeder_ocpd_max_a(
    largest_branch_max_a: Reasoned[float] | float,
    other_motor_currents: Sequence[Reasoned[float] | float],
    device: RatedDevice,
    *,
    other_loads_a: float = 0.0,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Largest short-circuit and ground-fault device of a motor feeder: rounds down.

    Args:
        largest_branch_max_a: Largest branch device that 430.52 permits for any of the motors. [A]
        other_motor_currents: Full-load currents of all the other motors. [A]
        device: ``inverse_time_breaker`` or ``fuse``.
        other_loads_a: Non-motor loads by their own article, their 125 percent included. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        Standard rating. [A]

    Raises:
        TableError: Below the smallest standard rating.

    Code basis:
        NFPA 70-2023, 430.62(A); 430.63 with other loads.

    Examples:
        >>> feeder_ocpd_max_a(100.0, [14.0, 7.6], "fuse").value
        110.0
    """
    place = "430.63" if other_loads_a else "430.62(A)"
    return _sum_down(largest_branch_max_a, other_motor_currents, other_loads_a, device, place, edition)


def group_ocpd_max_a(
    largest_branch_max_a: Reasoned[float] | float,
    other_motor_currents: Sequence[Reasoned[float] | float],
    device: RatedDevice,
    *,
    other_loads_a: float = 0.0,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Largest branch device of several motors on one listed group installation: rounds down.

    Args:
        largest_branch_max_a: Branch device that 430.52 permits for the highest-rated motor. [A]
        other_motor_currents: Full-load currents of the other motors. [A]
        device: ``inverse_time_breaker`` or ``fuse``.
        other_loads_a: Other loads on the circuit. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        Standard rating. [A]

    Code basis:
        NFPA 70-2023, 430.53(C)(4).

    Leaves out:
        The listing conditions of 430.53(C)(1) to (3) and the tap rules of 430.53(D).
    """
    return _sum_down(largest_branch_max_a, other_motor_currents, other_loads_a, device, "430.53(C)(4)", edition)


def _sum_down(
    largest: Reasoned[float] | float,
    others: Sequence[Reasoned[float] | float],
    other_loads_a: float,
    device: RatedDevice,
    place: str,
    edition: NecEdition,
) -> Reasoned[float]:
    r = Reasoning(edition)
    need_not_negative("other_loads_a", other_loads_a, "A")
    first = _current(r, largest)
    parts = [first, *sorted((_current(r, c) for c in others), reverse=True)]
    if other_loads_a:
        parts.append(other_loads_a)
    clause = nec(place, edition)
    limit = _snug(math.fsum(parts))
    r.step(f"largest branch device plus the other currents: {_sum_words(parts)}", limit, "A", clause)
    down = protection.next_standard_down_a(limit, device, edition)
    r.step("largest standard rating not above it", down.value, "A", clause, *down.basis)
    up = [a for a in protection.standard_ratings_a(device, edition).value if a > limit]
    if up and down.value != limit:
        r.pass_over(f"{shown(up[0], 'A')}: {place} gives no permission to go to the next rating up")
    return r.done(down.value, "A")


def overload_max_ratio(motor: Motor, *, cannot_start: bool = False, edition: NecEdition = "2023") -> Reasoned[float]:
    """Largest overload setting over the nameplate current.

    Args:
        motor: Its service factor and temperature rise count, each as an alternative.
        cannot_start: The first value does not carry the motor: 430.32(C).
        edition: ``2020`` or ``2023``.

    Returns:
        1.25 or 1.15; 1.40 or 1.30 where the motor cannot start. [-]

    Code basis:
        NFPA 70-2023, 430.32(A)(1) and (C); 430.32(B)(1) sends automatically started motors of 1 hp and less
        to the same values.
    """
    r = Reasoning(edition)
    found = protection.overload_max_ratio(
        service_factor=motor.service_factor, rise_degc=motor.rise_degc, does_not_start=cannot_start
    )
    if motor.service_factor is not None and motor.service_factor >= 1.15:
        why = f"service factor {motor.service_factor:g} (1.15 or more)"
    elif motor.rise_degc is not None and motor.rise_degc <= 40.0:
        why = f"temperature rise {motor.rise_degc:g} K (40 K or less)"
    else:
        why = "neither service factor 1.15 nor rise 40 K marked"
        if motor.service_factor is not None or motor.rise_degc is not None:
            r.pass_over("the higher value: needs service factor 1.15 or more, or a rise of 40 K or less")
    r.step(f"overload limit, {why}", found.value, "-", *found.basis)
    return r.done(found.value, "-")


def overload_max_a(motor: Motor, *, cannot_start: bool = False, edition: NecEdition = "2023") -> Reasoned[float]:
    """Largest overload setting of one motor, by its nameplate.

    Args:
        motor: Needs ``nameplate_a``.
        cannot_start: See ``overload_max_ratio``.
        edition: ``2020`` or ``2023``.

    Returns:
        Setting. [A]

    Raises:
        SizingError: No nameplate current.

    Code basis:
        NFPA 70-2023, 430.6(A)(2); 430.32(A)(1) and (C).

    Examples:
        >>> overload_max_a(Motor(5.0, 230.0, 1, nameplate_a=28.0, service_factor=1.15)).value
        35.0
    """
    if motor.nameplate_a is None:
        raise SizingError(
            "the overload goes by the nameplate current (430.6(A)(2)), which is not known; "
            "give it, or set the overload on site from the nameplate"
        )
    need_above_zero("nameplate_a", motor.nameplate_a, "A")
    r = Reasoning(edition)
    ratio = r.take(overload_max_ratio(motor, cannot_start=cannot_start, edition=edition))
    value = _snug(ratio * motor.nameplate_a)
    clause = nec("430.6(A)(2)", edition)
    r.step(f"{ratio:.0%} of nameplate {shown(motor.nameplate_a, 'A')}", value, "A", clause)
    if motor.rated_hp is not None:
        r.pass_over("table full-load current: rules conductors and branch protection, not the overload")
    return r.done(value, "A")


def thermal_protector_max_a(full_load: Reasoned[float] | float, *, edition: NecEdition = "2023") -> Reasoned[float]:
    """Largest trip current of a thermal protector built into the motor.

    Args:
        full_load: Table current. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        Trip current. [A]

    Code basis:
        NFPA 70-2023, 430.32(A)(2).
    """
    r = Reasoning(edition)
    flc_a = _current(r, full_load)
    ratio = protection.thermal_protector_max_ratio(flc_a)
    value = _snug(ratio.value * flc_a)
    r.step(f"{ratio.value:.0%} of {shown(flc_a, 'A')}", value, "A", *ratio.basis)
    return r.done(value, "A")


def contactor_min_ac3_a(
    full_load: Reasoned[float] | float, motor: Motor | None = None, *, edition: NecEdition = "2023"
) -> Reasoned[float]:
    """Smallest rated operational current, duty AC-3, of the contactor of one motor.

    Args:
        full_load: Current from ``full_load_a``, or a number. [A]
        motor: Adds the horsepower rating the controller must carry, in words.
        edition: ``2020`` or ``2023``.

    Returns:
        Current at the motor's voltage. [A]

    Code basis:
        NFPA 70-2023, 430.83(A)(1) (horsepower rating); IEC 60947-4-1, duty AC-3.

    Leaves out:
        Jogging and plugging (duty AC-4); no kitchen fan does either.
    """
    r = Reasoning(edition)
    flc_a = _current(r, full_load)
    if motor is not None and motor.rated_hp is not None:
        r.remark(
            f"horsepower rating not below {motor.rated_hp:.4g} hp at {motor.supply_v:g} V",
            nec("430.83(A)(1)", edition),
        )
    duty = practice("IEC 60947-4-1", "duty AC-3: squirrel-cage motors, switched off while running")
    r.step("rated operational current, AC-3, not below the full-load current", flc_a, "A", duty)
    return r.done(flc_a, "A")


def disconnect_min_a(
    motor_currents: Sequence[Reasoned[float] | float], *, other_loads_a: float = 0.0, edition: NecEdition = "2023"
) -> Reasoned[float]:
    """Smallest ampere rating of the disconnect of one motor, or of several with other loads.

    Args:
        motor_currents: Full-load currents. [A]
        other_loads_a: Loads that may run at the same time. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        115 percent of the sum. [A]

    Raises:
        SizingError: Nothing behind it.

    Code basis:
        NFPA 70-2023, 430.110(A); 430.110(C)(2) for combined loads.

    Leaves out:
        The equivalent horsepower by locked-rotor current (430.110(C)(1)).
    """
    r = Reasoning(edition)
    need_not_negative("other_loads_a", other_loads_a, "A")
    currents = sorted((_current(r, c) for c in motor_currents), reverse=True)
    parts = [*currents, other_loads_a] if other_loads_a else currents
    if not parts:
        raise SizingError("no motor and no other load: give at least one current")
    combined = len(parts) > 1
    clause = nec("430.110(C)(2)" if combined else "430.110(A)", edition)
    total = math.fsum(parts)
    if combined:
        r.step(f"sum of the currents: {_sum_words(parts)}", total, "A", clause)
    value = _snug(1.15 * total)
    r.step(f"115% of {shown(total, 'A')}", value, "A", clause)
    return r.done(value, "A")


def packaged_min_ampacity_a(marked_mca_a: float, *, edition: NecEdition = "2023") -> Reasoned[float]:
    """Smallest conductor ampacity of packaged equipment, as its nameplate says.

    Args:
        marked_mca_a: Minimum circuit ampacity on the nameplate. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        The same; nothing is added. [A]

    Code basis:
        NFPA 70-2023, 440.4(B), 440.35; 430.7(D) for equipment without a compressor.
    """
    need_above_zero("marked_mca_a", marked_mca_a, "A")
    r = Reasoning(edition)
    r.step(
        "minimum circuit ampacity on the nameplate; its 125 percent is already in it",
        marked_mca_a,
        "A",
        nec("440.35", edition),
        nec("430.7(D)", edition),
    )
    return r.done(marked_mca_a, "A")


def packaged_ocpd_max_a(marked_mocp_a: float, device: RatedDevice, *, edition: NecEdition = "2023") -> Reasoned[float]:
    """Largest device ahead of packaged equipment: the marked one, or the next standard rating below.

    Args:
        marked_mocp_a: Maximum overcurrent protection on the nameplate. [A]
        device: ``inverse_time_breaker`` or ``fuse``; the nameplate may name one kind only.
        edition: ``2020`` or ``2023``.

    Returns:
        Standard rating. [A]

    Raises:
        TableError: Below the smallest standard rating.

    Code basis:
        NFPA 70-2023, 440.22(C); 430.7(D); 110.3(B).
    """
    need_above_zero("marked_mocp_a", marked_mocp_a, "A")
    r = Reasoning(edition)
    marked = (nec("440.22(C)", edition), nec("110.3(B)", edition))
    r.step("maximum overcurrent protection on the nameplate", marked_mocp_a, "A", *marked)
    down = protection.next_standard_down_a(marked_mocp_a, device, edition)
    if down.value != marked_mocp_a:
        r.step("largest standard rating not above it", down.value, "A", *down.basis)
    return r.done(down.value, "A")


def _current(r: Reasoning, given: Reasoned[float] | float) -> float:
    value = r.take(given) if isinstance(given, Reasoned) else float(given)
    need_above_zero("current", value, "A")
    return value


def _rated(device: MotorDevice) -> RatedDevice:
    return "fuse" if device.endswith("fuse") else "inverse_time_breaker"


def _snug(value: float) -> float:
    """Rounded to 1e-9 A, so that what adding and multiplying decimals leaves never moves a rating."""
    return round(value, 9)


def _sum_words(parts: Sequence[float]) -> str:
    return " + ".join(shown(p) for p in parts)
