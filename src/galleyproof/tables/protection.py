"""Overcurrent and overload protection: standard ratings, percentages and equipment grounds.

The look-ups give limits. Which of them applies, and whether a result may go to the next standard rating, is
decided by the sizing rules.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, TypeAlias

from galleyproof.findings import Citation, Cited
from galleyproof.tables.conductors import Material
from galleyproof.tables.editions import NecEdition, check_edition
from galleyproof.tables.reader import Row, TableError, load

__all__ = [
    "ControlCircuitCase",
    "MotorDevice",
    "RatedDevice",
    "TransformerLimit",
    "control_circuit_max_ocpd_a",
    "equipment_ground_size",
    "motor_ocpd_ceiling_ratio",
    "motor_ocpd_ratio",
    "next_standard_down_a",
    "next_standard_up_a",
    "overload_max_ratio",
    "standard_ratings_a",
    "thermal_protector_max_ratio",
    "transformer_primary_limit",
    "transformer_secondary_limit",
]

RatedDevice: TypeAlias = Literal["inverse_time_breaker", "fuse"]
MotorDevice: TypeAlias = Literal[
    "nontime_delay_fuse", "time_delay_fuse", "instantaneous_trip_breaker", "inverse_time_breaker"
]
ControlCircuitCase: TypeAlias = Literal["separate", "tapped_inside", "tapped_leaving"]


def standard_ratings_a(device: RatedDevice, edition: NecEdition = "2023") -> Cited[tuple[float, ...]]:
    """Standard ratings, smallest first.

    Args:
        device: ``inverse_time_breaker`` or ``fuse``.
        edition: 10 A is a breaker rating from 2023 on; fuses have had it before.

    Returns:
        Ratings. [A]

    Raises:
        TableError: Another device or edition.

    Code basis:
        NFPA 70, 240.6(A).
    """
    check_edition(edition)
    if device not in ("inverse_time_breaker", "fuse"):
        raise TableError(f"device={device!r} has no standard ratings; devices: inverse_time_breaker, fuse")
    return _standard_ratings("fuse" if device == "fuse" else f"breaker_{edition}", edition)


@lru_cache(maxsize=8)
def _standard_ratings(column: str, edition: str) -> Cited[tuple[float, ...]]:
    rows = load("nfpa70_2023_240_6_a").all_rows(**{column: "yes"})
    return Cited(tuple(r.number("rating_a") for r in rows), (Citation("NFPA 70", edition, "240.6(A)"),))


def next_standard_up_a(value_a: float, device: RatedDevice, edition: NecEdition = "2023") -> Cited[float]:
    """Smallest standard rating not below the value: rounds up, exactly equal stays.

    Args:
        value_a: Computed limit. [A]
        device: ``inverse_time_breaker`` or ``fuse``.
        edition: See ``standard_ratings_a``.

    Returns:
        Rating. [A]

    Raises:
        TableError: Above the largest rating.

    Code basis:
        NFPA 70, 240.6(A); permitted by 240.4(B), 430.52(C)(1) exception 1 and Table 450.3(B) note 1 only.

    Examples:
        >>> next_standard_up_a(55, "inverse_time_breaker").value
        60.0
    """
    ratings = standard_ratings_a(device, edition)
    _need_number(value_a)
    for rating in ratings.value:
        if rating >= value_a:
            return Cited(rating, ratings.basis)
    raise TableError(
        f"{value_a:g} A is above the largest standard rating, {ratings.value[-1]:g} A ({ratings.basis[0]}): "
        "split the load over several circuits"
    )


def next_standard_down_a(value_a: float, device: RatedDevice, edition: NecEdition = "2023") -> Cited[float]:
    """Largest standard rating not above the value: rounds down, exactly equal stays.

    Args:
        value_a: Computed limit. [A]
        device: ``inverse_time_breaker`` or ``fuse``.
        edition: See ``standard_ratings_a``.

    Returns:
        Rating. [A]

    Raises:
        TableError: Below the smallest rating.

    Code basis:
        NFPA 70, 240.6(A); feeder devices of 430.62 and ceilings of 450.3(B) go this way.

    Examples:
        >>> next_standard_down_a(121.6, "fuse").value
        110.0
    """
    ratings = standard_ratings_a(device, edition)
    _need_number(value_a)
    for rating in reversed(ratings.value):
        if rating <= value_a:
            return Cited(rating, ratings.basis)
    fuses_from = standard_ratings_a("fuse", edition).value[0]
    cure = f"use fuses, which begin at {fuses_from:g} A" if device != "fuse" else "protect it together with others"
    raise TableError(
        f"{value_a:g} A is below the smallest standard rating, {ratings.value[0]:g} A ({ratings.basis[0]}): {cure}"
    )


def motor_ocpd_ratio(
    device: MotorDevice, motor_kind: str = "squirrel_cage_other_than_design_B_energy_efficient_or_premium"
) -> Cited[float]:
    """Largest branch short-circuit and ground-fault device over the motor's table current.

    Args:
        device: Kind of device.
        motor_kind: ``single_phase``, ``ac_polyphase_other_than_wound_rotor``,
            ``squirrel_cage_other_than_design_B_energy_efficient_or_premium``,
            ``design_B_energy_efficient_or_premium``, ``synchronous``, ``wound_rotor`` or
            ``dc_constant_voltage``.

    Returns:
        Ratio, 2.5 for 250 percent. [-]

    Raises:
        TableError: No such row or column.

    Code basis:
        NFPA 70-2023, Table 430.52(C)(1).

    Examples:
        >>> motor_ocpd_ratio("inverse_time_breaker").value
        2.5
    """
    return _ratio(load("nfpa70_2023_table_430_52_c_1").exact(motor_kind=motor_kind), f"{device}_pct")


def motor_ocpd_ceiling_ratio(
    device: MotorDevice, flc_a: float, *, design_b_energy_efficient: bool = False
) -> Cited[float]:
    """Ceiling over the table current where the motor does not start on the usual device.

    Args:
        device: Kind of device; non-time-delay fuses here are those up to 600 A.
        flc_a: Table current of the motor. [A]
        design_b_energy_efficient: Matters for instantaneous-trip breakers only.

    Returns:
        Ratio, 4.0 for 400 percent. [-]

    Raises:
        TableError: No such row.

    Code basis:
        NFPA 70-2023, 430.52(C)(1) exception 2 and 430.52(C)(3), from memory.

    Leaves out:
        Fuses of 601 A to 6000 A (300 percent).
    """
    if device == "nontime_delay_fuse":
        case = "rating_to_600_a"
    elif device == "time_delay_fuse":
        case = "any"
    elif device == "inverse_time_breaker":
        case = "flc_to_100_a" if flc_a <= 100.0 else "flc_over_100_a"
    else:
        case = f"{'' if design_b_energy_efficient else 'other_than_'}design_b_energy_efficient"
        case += "_or_premium" if design_b_energy_efficient else ""
    return _ratio(load("nfpa70_2023_430_52_c_3").exact(device=device, case=case), "max_pct")


def overload_max_ratio(
    *, service_factor: float | None = None, rise_degc: float | None = None, does_not_start: bool = False
) -> Cited[float]:
    """Largest overload setting over the motor's nameplate current.

    Args:
        service_factor: As marked; None when not marked. [-]
        rise_degc: Marked temperature rise; None when not marked. [K]
        does_not_start: The first value does not carry the motor through its start: 430.32(C).

    Returns:
        1.25 or 1.15; 1.40 or 1.30 with ``does_not_start``. [-]

    Code basis:
        NFPA 70-2023, 430.32(A)(1) and (C). A service factor of 1.15 and a rise of 40 degC are alternatives.

    Examples:
        >>> overload_max_ratio(service_factor=1.15).value
        1.25
    """
    if service_factor is not None and service_factor >= 1.15:
        case = "service_factor_1_15_or_more"
    elif rise_degc is not None and rise_degc <= 40.0:
        case = "rise_40_degc_or_less"
    else:
        case = "other"
    return _ratio(load("nfpa70_2023_430_32").exact(rule="C" if does_not_start else "A1", case=case), "max_pct")


def thermal_protector_max_ratio(flc_a: float) -> Cited[float]:
    """Largest trip current of a motor's own thermal protector over its table current.

    Args:
        flc_a: Table current. [A]

    Returns:
        1.70, 1.56 or 1.40. [-]

    Raises:
        TableError: Not a positive current.

    Code basis:
        NFPA 70-2023, 430.32(A)(2). A current between 9 A and 9.1 A counts to the middle row.
    """
    _need_number(flc_a)
    case = "flc_to_9_a" if flc_a <= 9.0 else "flc_to_20_a" if flc_a <= 20.0 else "flc_over_20_a"
    return _ratio(load("nfpa70_2023_430_32").exact(rule="A2", case=case), "max_pct")


def equipment_ground_size(ocpd_a: float, material: Material = "cu") -> Cited[str]:
    """Smallest wire-type equipment grounding conductor: rounds the rating up to the next row.

    Args:
        ocpd_a: Rating of the overcurrent device ahead. [A]
        material: ``cu`` or ``al``.

    Returns:
        Size label. [AWG or kcmil]

    Raises:
        TableError: Above 6000 A, or not a positive rating.

    Code basis:
        NFPA 70-2023, Table 250.122.

    Leaves out:
        Enlarging with the phase conductors (250.122(B)); it never needs to exceed them (250.122(A)).

    Examples:
        >>> equipment_ground_size(30).value
        '10'
    """
    _need_number(ocpd_a)
    return load("nfpa70_2023_table_250_122").at_least("ocpd_to_a", ocpd_a).cited_label(f"{material}_size")


@dataclass(frozen=True, slots=True)
class TransformerLimit:
    """How far a transformer's overcurrent device may go.

    Attributes:
        max_ratio: Device over rated current. [-]
        next_up: The next standard rating above is permitted.
    """

    max_ratio: float
    next_up: bool


def transformer_primary_limit(
    rated_a: float, method: Literal["primary_only", "primary_and_secondary", "motor_control_circuit"]
) -> Cited[TransformerLimit]:
    """Primary protection of a transformer up to 1000 V.

    Args:
        rated_a: Rated primary current. [A]
        method: Which windings have a device; ``motor_control_circuit`` is 430.72(C)(4), below 2 A only.

    Returns:
        Limit. [-]

    Raises:
        TableError: No row for this current.

    Code basis:
        NFPA 70-2023, Table 450.3(B); 430.72(C)(4).

    Examples:
        >>> transformer_primary_limit(1.04, "motor_control_circuit").value.max_ratio
        5.0
    """
    return _transformer_limit(rated_a, method, "primary")


def transformer_secondary_limit(rated_a: float) -> Cited[TransformerLimit]:
    """Secondary protection of a transformer that has primary protection too.

    Args:
        rated_a: Rated secondary current. [A]

    Returns:
        Limit. [-]

    Raises:
        TableError: Not a positive current.

    Code basis:
        NFPA 70-2023, Table 450.3(B).
    """
    return _transformer_limit(rated_a, "primary_and_secondary", "secondary")


def control_circuit_max_ocpd_a(size: str, case: ControlCircuitCase) -> Cited[float]:
    """Largest device that may protect a copper motor control circuit conductor.

    Args:
        size: 18 to 10. [AWG]
        case: ``separate`` protection of its own; ``tapped_inside``: tapped from the motor's branch circuit
            and staying in the enclosure; ``tapped_leaving``: tapped and leaving it.

    Returns:
        Device rating. [A]

    Raises:
        TableError: No such row, or the table leaves it to the conductor's own ampacity (14 AWG and up,
            separate).

    Code basis:
        NFPA 70-2023, Table 430.72(B), from memory.
    """
    row = load("nfpa70_2023_table_430_72_b").exact(size_awg=size)
    if row.number_or_none(f"{case}_a") is None:
        raise TableError(
            f"{row.table.place} leaves {case} protection of {size} AWG to the conductor's own ampacity: "
            "see small_conductor_max_ocpd_a and ampacity_a"
        )
    return row.cited(f"{case}_a")


def _transformer_limit(rated_a: float, method: str, winding: str) -> Cited[TransformerLimit]:
    _need_number(rated_a)
    row = load("nfpa70_2023_table_450_3_b").at_most("rated_from_a", rated_a, method=method, winding=winding)
    below = row.number_or_none("rated_below_a")
    if below is not None and rated_a >= below:
        raise TableError(
            f"rated_a={rated_a:g} A with method={method} is not a row of {row.citation()}; below {below:g} A only"
        )
    limit = TransformerLimit(row.number("max_pct") / 100.0, row.label("next_up") == "yes")
    return Cited(limit, (row.citation("max_pct"),))


def _ratio(row: Row, column: str) -> Cited[float]:
    return Cited(row.number(column) / 100.0, (row.citation(column),))


def _need_number(value_a: float) -> None:
    if not (math.isfinite(value_a) and value_a > 0.0):
        raise TableError(f"{value_a} A cannot be looked up: a finite current above zero is needed")
