"""Variable-frequency drives: supply by the drive's input, output by the motor, single-phase supply, long leads."""

from __future__ import annotations

import math
from typing import Literal, TypeAlias

from galleyproof.sizing.checks import need_above_zero, need_choice
from galleyproof.sizing.motors import MotorKind, branch_ocpd_max_a
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, SizingError, nec, practice, remembered, shown
from galleyproof.tables import protection
from galleyproof.tables.protection import RatedDevice

__all__ = [
    "LeadAdvice",
    "MotorInsulation",
    "bypass_min_ampacity_a",
    "drive_ocpd_max_a",
    "lead_advice",
    "output_min_ampacity_a",
    "single_phase_input_a",
    "single_phase_min_output_a",
    "supply_min_ampacity_a",
]

MotorInsulation: TypeAlias = Literal["general purpose", "inverter duty"]
LeadAdvice: TypeAlias = Literal["none needed", "filter at the drive", "motor for inverter duty or filter"]

# Peak voltage a motor's insulation takes up to 600 V, NEMA MG 1 parts 30 and 31, from memory. [V]
_MAX_PEAK_V = {"general purpose": 1000.0, "inverter duty": 1600.0}
# Pulse along a cable: about half the speed of light. [ft/us]
_PULSE_FT_PER_US = 490.0
# Rise time of the switches in present-day drives. [us]
USUAL_RISE_US = 0.1
PRACTICE_DERATE = 0.5
"""Common practice where a maker states nothing: a drive on one phase gives half its output. [-]"""


def supply_min_ampacity_a(rated_input_a: Reasoned[float] | float, *, edition: NecEdition = "2023") -> Reasoned[float]:
    """Smallest ampacity of the conductors that supply a drive.

    Args:
        rated_input_a: Rated input current of the drive, for the supply it has. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        125 percent of it; the motor's table current does not count here. [A]

    Code basis:
        NFPA 70-2023, 430.122(A).

    Examples:
        >>> supply_min_ampacity_a(406).value
        507.5
    """
    r = Reasoning(edition)
    input_a = r.take(rated_input_a) if isinstance(rated_input_a, Reasoned) else float(rated_input_a)
    need_above_zero("rated_input_a", input_a, "A")
    value = round(1.25 * input_a, 9)
    r.step(f"125% of rated drive input {shown(input_a, 'A')}", value, "A", nec("430.122(A)", edition))
    r.pass_over("motor full-load current: rules the output side, not the supply side of a drive")
    return r.done(value, "A")


def output_min_ampacity_a(full_load: Reasoned[float] | float, *, edition: NecEdition = "2023") -> Reasoned[float]:
    """Smallest ampacity of the conductors from drive to motor.

    Args:
        full_load: Current from ``motors.full_load_a``. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        125 percent of it. [A]

    Code basis:
        NFPA 70-2023, 430.122(B).
    """
    r = Reasoning(edition)
    flc_a = r.take(full_load) if isinstance(full_load, Reasoned) else float(full_load)
    need_above_zero("full_load", flc_a, "A")
    value = round(1.25 * flc_a, 9)
    r.step(f"125% of {shown(flc_a, 'A')}, output of the drive", value, "A", nec("430.122(B)", edition))
    return r.done(value, "A")


def bypass_min_ampacity_a(
    rated_input_a: float, full_load: Reasoned[float] | float, *, edition: NecEdition = "2023"
) -> Reasoned[float]:
    """Smallest ampacity of the supply of a drive with a bypass.

    Args:
        rated_input_a: Rated input current of the drive. [A]
        full_load: Current from ``motors.full_load_a``. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        125 percent of the larger. [A]

    Code basis:
        NFPA 70-2023, 430.122(C), number from memory.

    Leaves out:
        The overload relay the bypass needs of its own (430.124(B)).
    """
    r = Reasoning(edition)
    by_drive = supply_min_ampacity_a(rated_input_a, edition=edition).value
    by_motor = output_min_ampacity_a(full_load, edition=edition).value
    if isinstance(full_load, Reasoned):
        r.take(full_load)
    value = max(by_drive, by_motor)
    which = "drive input" if by_drive >= by_motor else "motor over the bypass"
    r.step(
        f"larger of 125% drive input ({shown(by_drive, 'A')}) and 125% motor ({shown(by_motor, 'A')}): {which}",
        value,
        "A",
        nec("430.122(C)", edition, "number from memory"),
    )
    r.remark("the bypass needs its own overload protection", nec("430.124(B)", edition))
    return r.done(value, "A")


def single_phase_input_a(
    motor_a: Reasoned[float] | float,
    motor_v: float,
    supply_v: float,
    *,
    marked_input_a: float | None = None,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Input current of a drive that feeds a three-phase motor from one phase.

    Args:
        motor_a: Motor current. [A]
        motor_v: Motor voltage. [V]
        supply_v: Single-phase supply of the drive. [V]
        marked_input_a: Single-phase input rating on the drive; rules when given, unless it is below the ideal. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        Current, before the 125 percent of 430.122(A). [A]

    Code basis:
        Equal power: sqrt(3) times the motor current at equal voltage, the least that is possible;
        NFPA 70-2023, 430.122(A) takes the rated input.

    Examples:
        >>> round(single_phase_input_a(124, 230, 230).value, 1)
        214.8
    """
    r = Reasoning(edition)
    current = r.take(motor_a) if isinstance(motor_a, Reasoned) else float(motor_a)
    for name, number, unit in (("motor_a", current, "A"), ("motor_v", motor_v, "V"), ("supply_v", supply_v, "V")):
        need_above_zero(name, float(number), unit)
    ideal = math.sqrt(3.0) * current * motor_v / supply_v
    r.step(
        f"equal power on one phase: sqrt(3) x {shown(current, 'A')} x {motor_v:g} V / {supply_v:g} V",
        ideal,
        "A",
        practice("single-phase supply of drives", "ideal; real drives draw more"),
    )
    if marked_input_a is None:
        r.remark("no single-phase input rating known: confirm it from the drive's rating plate")
        return r.done(ideal, "A")
    need_above_zero("marked_input_a", marked_input_a, "A")
    value = max(marked_input_a, ideal)
    rule = nec("430.122(A)", edition)
    r.step(f"marked single-phase input {shown(marked_input_a, 'A')}, not below the ideal", value, "A", rule)
    return r.done(value, "A")


def single_phase_min_output_a(
    motor_a: Reasoned[float] | float, *, derate_ratio: float = PRACTICE_DERATE
) -> Reasoned[float]:
    """Three-phase output rating that a drive without a single-phase rating needs.

    Args:
        motor_a: Motor current. [A]
        derate_ratio: Output on one phase over rated output, as the maker states; 0.5 is common practice where
            nothing is stated. [-]

    Returns:
        Rated output. [A]

    Raises:
        SizingError: A ratio above 1/sqrt(3), which the input rectifier cannot give.

    Code basis:
        Common practice; equal power allows at most 1/sqrt(3).
    """
    r = Reasoning()
    current = r.take(motor_a) if isinstance(motor_a, Reasoned) else float(motor_a)
    need_above_zero("motor_a", current, "A")
    need_above_zero("derate_ratio", derate_ratio, "-")
    if derate_ratio > 1.0 / math.sqrt(3.0) + 1e-9:
        raise SizingError(
            f"derate_ratio={derate_ratio:g}: a drive built for three phases gives at most 0.577 of its output on "
            "one; a drive with a single-phase rating needs no derating"
        )
    value = current / derate_ratio
    note = practice("single-phase supply of drives", "half the output where the maker states nothing")
    r.step(f"{shown(current, 'A')} / {derate_ratio:g}: rated three-phase output of the drive", value, "A", note)
    return r.done(value, "A")


def drive_ocpd_max_a(
    full_load: Reasoned[float] | float,
    device: RatedDevice,
    kind: MotorKind = "polyphase",
    *,
    marked_max_a: float | None = None,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Largest branch device ahead of a drive.

    Args:
        full_load: Motor current from ``motors.full_load_a``. [A]
        device: ``inverse_time_breaker`` or ``fuse`` (taken as dual-element).
        kind: See ``branch_ocpd_max_a``.
        marked_max_a: Largest device in the drive's instructions. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        Standard rating: 430.52 by the motor, not above the instructions. [A]

    Code basis:
        NFPA 70-2023, 430.130(A)(1) and (2); 430.52(C)(1); 110.3(B).
    """
    need_choice("device", device, ("inverse_time_breaker", "fuse"))
    if marked_max_a is not None:
        need_above_zero("marked_max_a", marked_max_a, "A")
    r = Reasoning(edition)
    motor_device: Literal["time_delay_fuse", "inverse_time_breaker"] = (
        "time_delay_fuse" if device == "fuse" else "inverse_time_breaker"
    )
    r.remark("the device ahead of a drive goes by the motor", nec("430.130(A)(1)", edition))
    value = r.take(branch_ocpd_max_a(full_load, motor_device, kind, edition=edition))
    if marked_max_a is None:
        r.remark("the drive's instructions may ask for less: see them", nec("430.130(A)(2)", edition))
    elif marked_max_a < value:
        down = protection.next_standard_down_a(marked_max_a, device, edition)
        clause = nec("430.130(A)(2)", edition)
        r.step(f"drive instructions: at most {shown(marked_max_a, 'A')}", down.value, "A", clause, *down.basis)
        value = down.value
    return r.done(value, "A")


def lead_advice(
    lead_ft: float,
    supply_v: float,
    insulation: MotorInsulation = "general purpose",
    *,
    rise_us: float = USUAL_RISE_US,
) -> Reasoned[LeadAdvice]:
    """What a length of conductor between drive and motor asks for.

    Every switching of the drive runs along the leads as a pulse and is reflected at the motor. From half the
    pulse's travel during its rise on, the motor sees up to twice the drive's direct voltage.

    Args:
        lead_ft: From drive to motor, one way. [ft]
        supply_v: Supply of the drive, line to line. [V]
        insulation: What the motor was built for.
        rise_us: Rise time of the drive's output. [us]

    Returns:
        Advice in words.

    Raises:
        SizingError: A length, voltage or rise time that cannot be.

    Code basis:
        Reflected-wave formula; peak limits of NEMA MG 1 parts 30 and 31, from memory; the maker's table of lead
        lengths goes before this.
    """
    need_above_zero("lead_ft", lead_ft, "ft")
    need_above_zero("supply_v", supply_v, "V")
    need_above_zero("rise_us", rise_us, "us")
    need_choice("insulation", insulation, ("general purpose", "inverter duty"))
    r = Reasoning()
    wave = practice("reflected wave", "pulse at about half the speed of light")
    bus_v = math.sqrt(2.0) * supply_v
    r.step(f"direct voltage inside the drive: sqrt(2) x {supply_v:g} V", bus_v, "V", practice("rectified line"))
    critical_ft = _PULSE_FT_PER_US * rise_us / 2.0
    r.step(f"length of full reflection: {_PULSE_FT_PER_US:g} ft/us x {rise_us:g} us / 2", critical_ft, "ft", wave)
    reflected = min(1.0, lead_ft / critical_ft)
    peak_v = bus_v * (1.0 + reflected)
    r.step(f"peak at the motor after {lead_ft:g} ft: {shown(bus_v, 'V')} x {1.0 + reflected:.4g}", peak_v, "V", wave)
    limit_v = _MAX_PEAK_V[insulation]
    r.step(f"peak a {insulation} motor takes", limit_v, "V", remembered("NEMA MG 1", "parts 30 and 31"))
    if peak_v <= limit_v:
        return r.done("none needed", "-")
    if peak_v <= _MAX_PEAK_V["inverter duty"]:
        return r.done("motor for inverter duty or filter", "-")
    return r.done("filter at the drive", "-")
