"""The control panel as a whole: its feeds, its short-circuit rating, its terminals and the room in front of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from galleyproof.sizing.checks import need_above_zero, need_choice, need_not_negative
from galleyproof.sizing.motors import feeder_min_ampacity_a
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, SizingError, nec, practice, shown
from galleyproof.tables import clearances, protection
from galleyproof.tables import conductors as tables
from galleyproof.tables.clearances import Condition
from galleyproof.tables.conductors import Material, RacewayMetal, awg_index
from galleyproof.tables.protection import RatedDevice

__all__ = [
    "Facing",
    "WorkingSpace",
    "fault_at_end_a",
    "feed_mca_a",
    "feed_mocp_a",
    "short_circuit_use_ratio",
    "terminal_takes",
    "v_to_ground",
    "weakest_rating_a",
    "working_space",
]

Facing: TypeAlias = Literal["open room", "grounded wall", "live parts"]

# (voltage to ground, of the high leg L2). Ungrounded and corner-grounded systems: line to line (article 100). [V]
_V_TO_GROUND: dict[str, tuple[float, float]] = {
    "120/240 V 1-phase": (120.0, 120.0),
    "120/240 V high-leg delta": (120.0, 208.0),
    "208Y/120 V": (120.0, 120.0),
    "240 V delta": (240.0, 240.0),
    "480Y/277 V": (277.0, 277.0),
    "480 V delta": (480.0, 480.0),
    "600Y/347 V": (347.0, 347.0),
}
_CONDITION: dict[str, Condition] = {"open room": 1, "grounded wall": 2, "live parts": 3}
# A conductor at the moment of a fault may be cold: the least resistance counts. [degC]
_COLD_DEGC = 25.0


def feed_mca_a(
    motor_currents: Sequence[Reasoned[float] | float],
    *,
    continuous_a: float = 0.0,
    noncontinuous_a: float = 0.0,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Minimum circuit ampacity of one feed of the panel.

    Args:
        motor_currents: Full-load current of each motor on the line; of a drive, its rated input. [A]
        continuous_a: Lights, control power and other loads of three hours and more. [A]
        noncontinuous_a: Other loads. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        125 percent of the largest motor and of the continuous loads, plus the rest. [A]

    Raises:
        SizingError: Nothing on the feed.

    Code basis:
        NFPA 70-2023, 409.20; 430.24.
    """
    r = Reasoning(edition)
    sum_a = r.take(
        feeder_min_ampacity_a(
            motor_currents,
            other_continuous_a=continuous_a,
            other_noncontinuous_a=noncontinuous_a,
            edition=edition,
        )
    )
    r.step("minimum circuit ampacity of the feed", sum_a, "A", nec("409.20", edition))
    return r.done(sum_a, "A")


def feed_mocp_a(
    mca: Reasoned[float] | float,
    device: RatedDevice,
    *,
    largest_branch_a: Reasoned[float] | float | None = None,
    other_motor_currents: Sequence[Reasoned[float] | float] = (),
    other_loads_a: float = 0.0,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Largest overcurrent device ahead of one feed of the panel.

    Args:
        mca: From ``feed_mca_a``. [A]
        device: ``inverse_time_breaker`` or ``fuse``.
        largest_branch_a: Largest motor branch device in or ahead of the panel; None: no motor. [A]
        other_motor_currents: Full-load currents of all the other motors. [A]
        other_loads_a: Other loads, the 125 percent of continuous ones included. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        Standard rating: with motors the largest one not above the sum, never below what carries the load;
        without motors the smallest one that carries it. [A]

    Code basis:
        NFPA 70-2023, 409.21(C); 430.63; 215.3.

    Examples:
        >>> feed_mocp_a(13.0, "inverse_time_breaker").value
        15.0
    """
    r = Reasoning(edition)
    need_a = _taken(r, mca)
    need_above_zero("mca", need_a, "A")
    need_not_negative("other_loads_a", other_loads_a, "A")
    up = protection.next_standard_up_a(need_a, device, edition)
    carries = nec("215.3", edition)
    if largest_branch_a is None:
        r.step(f"smallest standard rating not below {shown(need_a, 'A')}", up.value, "A", carries, *up.basis)
        return r.done(up.value, "A")
    parts = [_taken(r, largest_branch_a), *sorted((_taken(r, c) for c in other_motor_currents), reverse=True)]
    for part in parts:
        need_above_zero("current", part, "A")
    if other_loads_a:
        parts.append(other_loads_a)
    clause = nec("409.21(C)", edition)
    limit = round(math.fsum(parts), 9)
    words = " + ".join(shown(p) for p in parts)
    r.step(f"largest branch device plus the other currents: {words}", limit, "A", clause)
    down = protection.next_standard_down_a(limit, device, edition)
    if down.value < need_a:
        r.pass_over(f"{shown(down.value, 'A')}: not above the sum, but below the {shown(need_a, 'A')} it has to carry")
        r.step("smallest standard rating that carries the load", up.value, "A", nec("430.63", edition), carries)
        return r.done(up.value, "A")
    r.step("largest standard rating not above it", down.value, "A", clause, *down.basis)
    return r.done(down.value, "A")


def weakest_rating_a(parts: Sequence[tuple[str, float]], *, edition: NecEdition = "2023") -> Reasoned[float]:
    """Short-circuit rating of an assembly: that of its weakest power part.

    Args:
        parts: Name and short-circuit rating of each part of the power circuits. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        Rating. [A]

    Raises:
        SizingError: No part.

    Code basis:
        NFPA 70-2023, 409.110(4): by an approved method; UL 508A supplement SB, from memory: the lowest.

    Leaves out:
        Current-limiting devices and tested combinations, which raise it; the maker of the panel marks those.
    """
    r = Reasoning(edition)
    if not parts:
        raise SizingError("no part with a short-circuit rating: give at least one")
    for name, rating in parts:
        need_above_zero(f"{name}: short-circuit rating", rating, "A")
    name, value = min(parts, key=lambda one: (one[1], one[0]))
    method = nec("409.110(4)", edition, "by the method of UL 508A supplement SB, from memory")
    r.step(f"weakest part of the power circuits: {name}", value, "A", method)
    return r.done(value, "A")


def short_circuit_use_ratio(
    available: Reasoned[float] | float, rating: Reasoned[float] | float, *, edition: NecEdition = "2023"
) -> Reasoned[float]:
    """Available fault current over a short-circuit rating; above 1 the panel may not be installed there.

    Args:
        available: At the supply terminals of the panel. [A]
        rating: Marked on the panel, or from ``weakest_rating_a``. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        Ratio. [-]

    Code basis:
        NFPA 70-2023, 409.22(A); 110.9 and 110.10.

    Examples:
        >>> short_circuit_use_ratio(10_000.0, 5_000.0).value
        2.0
    """
    r = Reasoning(edition)
    fault_a, rated_a = _taken(r, available), _taken(r, rating)
    need_above_zero("available", fault_a, "A")
    need_above_zero("rating", rated_a, "A")
    value = fault_a / rated_a
    clauses = (nec("409.22(A)", edition), nec("110.10", edition))
    r.step(f"{shown(fault_a, 'A')} available over {shown(rated_a, 'A')} rated", value, "-", *clauses)
    if value > 1.0:
        r.pass_over(
            "fault current at the far end of the feed: lower by the impedance of its conductors; may be worked out "
            "(fault_at_end_a) before a stronger panel is asked for"
        )
    return r.done(value, "-")


def fault_at_end_a(
    available_a: float,
    supply_v: float,
    size: str,
    run_ft: float,
    phases: int,
    raceway: RacewayMetal = "steel",
    material: Material = "cu",
    *,
    sets: int = 1,
    plain_sum: bool = False,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Fault current left at the far end of a run.

    Resistance is taken cold (25 degC), and the angle of the source, which nobody knows, where it lets most current
    through: the true current is not above this one.

    Args:
        available_a: At the beginning of the run. [A]
        supply_v: Line to line for three phases, between the two conductors otherwise. [V]
        size: Phase conductor. [AWG or kcmil]
        run_ft: One way. [ft]
        phases: 1 or 3. [-]
        raceway: What the raceway is made of.
        material: ``cu`` or ``al``.
        sets: Conductors in parallel per line. [-]
        plain_sum: Impedances added as plain numbers, as the point-to-point formula of the trade does; gives less.
        edition: ``2020`` or ``2023``.

    Returns:
        Current. [A]

    Raises:
        SizingError: A current, voltage, length or count that cannot be.
        TableError: No such size in Table 9.

    Code basis:
        Ohm's law; NFPA 70-2023, chapter 9 Table 9, resistance by note 2 of Table 8.

    Leaves out:
        Motors that feed back into a fault.
    """
    r = Reasoning(edition)
    need_above_zero("available_a", available_a, "A")
    need_above_zero("supply_v", supply_v, "V")
    need_not_negative("run_ft", run_ft, "ft")
    need_choice("phases", phases, (1, 3))
    if sets < 1:
        raise SizingError(f"sets={sets}: at least one conductor per line")
    z = tables.ac_impedance(size, material, raceway)
    cold = tables.resistance_at_degc(z.value.r_ohm_per_kft, _COLD_DEGC, material)
    root = math.sqrt(3.0) if phases == 3 else 1.0
    way = 1.0 if phases == 3 else 2.0
    length = way * run_ft / 1000.0 / sets
    run_ohm = math.hypot(cold.value, z.value.x_ohm_per_kft) * length
    there_and_back = "" if phases == 3 else ", there and back"
    r.step(
        f"{size} in {raceway}, cold: sqrt({cold.value:.4g}^2 + {z.value.x_ohm_per_kft:g}^2) ohm/kft over "
        f"{run_ft:g} ft{there_and_back}",
        run_ohm,
        "ohm",
        *z.basis,
        *cold.basis,
    )
    source_ohm = supply_v / (root * available_a)
    r.step(
        f"source: {supply_v:g} V / ({'sqrt(3) x ' if phases == 3 else ''}{shown(float(available_a), 'A')})",
        source_ohm,
        "ohm",
    )
    if plain_sum:
        total_ohm = source_ohm + run_ohm
        r.step("plain sum of both", total_ohm, "ohm", practice("point-to-point formula"))
    else:
        angle = math.atan2(z.value.x_ohm_per_kft, cold.value)
        apart = max(angle, math.pi / 2.0 - angle)
        total_ohm = math.sqrt(source_ohm**2 + run_ohm**2 + 2.0 * source_ohm * run_ohm * math.cos(apart))
        text = f"least sum of both, the source up to {math.degrees(apart):.3g} degrees away from the conductors"
        r.step(text, total_ohm, "ohm", practice("sum of impedances", "no angle of the source gives more current"))
    value = supply_v / (root * total_ohm)
    r.step("fault current at the far end", value, "A")
    return r.done(value, "A")


def terminal_takes(
    size: str, count: int, max_size: str, capacity: int = 1, *, edition: NecEdition = "2023"
) -> Reasoned[bool]:
    """Whether a terminal takes its conductors.

    Args:
        size: Thickest conductor on it. [AWG or kcmil]
        count: Conductors on it. [-]
        max_size: Thickest that it is made for. [AWG or kcmil]
        capacity: How many it is made for. [-]
        edition: ``2020`` or ``2023``.

    Returns:
        True when it does; the passed-over line says what does not fit.

    Code basis:
        NFPA 70-2023, 110.14(A): one conductor unless identified for more; 110.3(B).
    """
    r = Reasoning(edition)
    if count < 0 or capacity < 1:
        raise SizingError(f"count={count}, capacity={capacity}: a terminal is made for at least one conductor")
    thin_enough = awg_index(size) <= awg_index(max_size)
    few_enough = count <= capacity
    if not thin_enough:
        r.pass_over(f"{size} on a terminal for {max_size} at most: use a larger terminal, or a pigtail beside it")
    if not few_enough:
        r.pass_over(f"{count} conductors on a terminal for {capacity}: use a second terminal and a jumper")
    value = thin_enough and few_enough
    r.step(
        f"{count} x {size} on a terminal for {capacity} x {max_size}",
        "fits" if value else "does not fit",
        "-",
        nec("110.14(A)", edition),
        nec("110.3(B)", edition),
    )
    return r.done(value, "-")


def v_to_ground(
    system: str, lines: Sequence[str] = ("L1", "L2", "L3"), *, edition: NecEdition = "2023"
) -> Reasoned[float]:
    """Voltage to ground of what a system feeds.

    Args:
        system: Name as in the job: ``208Y/120 V``.
        lines: Lines that the equipment uses; the high leg of a high-leg delta is L2.
        edition: ``2020`` or ``2023``.

    Returns:
        Voltage; of an ungrounded or corner-grounded delta the full line voltage. [V]

    Raises:
        SizingError: Another system.

    Code basis:
        NFPA 70-2023, article 100 (voltage to ground); 110.26(A)(1).
    """
    r = Reasoning(edition)
    need_choice("system", system, tuple(_V_TO_GROUND))
    usual, high_leg = _V_TO_GROUND[system]
    value = max((high_leg if line == "L2" else usual for line in lines), default=usual)
    r.step(f"{system}, {', '.join(lines)}: voltage to ground", value, "V", nec("article 100", edition))
    return r.done(value, "V")


@dataclass(frozen=True, slots=True)
class WorkingSpace:
    """Room to keep clear in front of equipment.

    Attributes:
        depth_inch: Outward from the front. [in]
        width_inch: Along the front. [in]
        height_inch: From the floor. [in]
        condition: 1, 2 or 3 of Table 110.26(A)(1). [-]
    """

    depth_inch: float
    width_inch: float
    height_inch: float
    condition: Condition


def working_space(
    to_ground: Reasoned[float] | float,
    facing: Facing,
    *,
    width_inch: float = 0.0,
    top_inch: float = 0.0,
    edition: NecEdition = "2023",
) -> Reasoned[WorkingSpace]:
    """Working space in front of the panel.

    Args:
        to_ground: From ``v_to_ground``. [V]
        facing: What stands opposite; concrete, brick and tile are a grounded wall.
        width_inch: Width of the panel. [in]
        top_inch: Height of its top above the floor. [in]
        edition: ``2020`` or ``2023``.

    Returns:
        Space; unit of its sides. [in]

    Raises:
        SizingError: Something else opposite.
        TableError: Above 1000 V.

    Code basis:
        NFPA 70-2023, Table 110.26(A)(1); 110.26(A)(2) and (A)(3).

    Examples:
        >>> working_space(277.0, "grounded wall").value.depth_inch
        42.0
    """
    r = Reasoning(edition)
    volts = _taken(r, to_ground)
    need_choice("facing", facing, tuple(_CONDITION))
    need_not_negative("to_ground", volts, "V")
    need_not_negative("width_inch", width_inch, "in")
    need_not_negative("top_inch", top_inch, "in")
    condition = _CONDITION[facing]
    depth = clearances.working_depth_ft(volts, condition)
    inches = 12.0 * depth.value
    text = f"{shown(volts, 'V')} to ground, {facing} opposite (condition {condition}): {depth.value:g} ft deep"
    r.step(text, inches, "in", *depth.basis)
    width = clearances.working_width_inch(width_inch)
    r.step("width: 30 in or that of the panel", width.value, "in", *width.basis)
    height = clearances.working_height_inch(top_inch)
    r.step("height: 78 in or that of the panel's top", height.value, "in", *height.basis)
    return r.done(WorkingSpace(inches, width.value, height.value, condition), "in")


def _taken(r: Reasoning, given: Reasoned[float] | float) -> float:
    return r.take(given) if isinstance(given, Reasoned) else float(given)
