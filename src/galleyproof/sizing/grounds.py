"""Equipment grounding conductors: by the device ahead, enlarged with the phase conductors, never larger than they."""

from __future__ import annotations

from collections.abc import Sequence

from galleyproof.findings import Cited
from galleyproof.sizing.checks import need_above_zero
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, SizingError, nec, shown
from galleyproof.tables.conductors import Material, awg_index, circular_mils, size_for_circular_mils
from galleyproof.tables.protection import equipment_ground_size
from galleyproof.tables.reader import TableError

__all__ = ["egc_required_cmil", "egc_size", "shared_egc_size"]


def egc_required_cmil(
    base_size: str, needed_phase_size: str, phase_size: str, *, edition: NecEdition = "2023"
) -> Reasoned[float]:
    """Area of an equipment ground whose phase conductors are thicker than the load needs.

    Args:
        base_size: By Table 250.122. [AWG or kcmil]
        needed_phase_size: Smallest phase conductor that would serve. [AWG or kcmil]
        phase_size: Phase conductor installed. [AWG or kcmil]
        edition: ``2020`` or ``2023``.

    Returns:
        Area in proportion. [cmil]

    Code basis:
        NFPA 70-2023, 250.122(B); areas of chapter 9 Table 8.

    Examples:
        >>> round(egc_required_cmil("4", "250", "350").value)
        58436
    """
    r = Reasoning(edition)
    base, needed, installed = (circular_mils(s) for s in (base_size, needed_phase_size, phase_size))
    value = base.value if installed.value <= needed.value else base.value * installed.value / needed.value
    r.step(
        f"{shown(base.value)} cmil x {shown(installed.value)} / {shown(needed.value)}",
        value,
        "cmil",
        nec("250.122(B)", edition),
        *base.basis,
    )
    return r.done(value, "cmil")


def egc_size(
    ocpd_a: float,
    phase_size: str,
    needed_phase_size: str | None = None,
    material: Material = "cu",
    phase_material: Material = "cu",
    *,
    edition: NecEdition = "2023",
) -> Reasoned[str]:
    """Smallest wire-type equipment grounding conductor of one circuit.

    Args:
        ocpd_a: Rating of the device ahead. [A]
        phase_size: Phase conductor installed. [AWG or kcmil]
        needed_phase_size: Smallest phase conductor that would serve, correction and adjustment for its
            surroundings included (those do not enlarge the ground); None: the installed one. [AWG or kcmil]
        material: Of the ground.
        phase_material: Of the phase conductors.
        edition: ``2020`` or ``2023``.

    Returns:
        Label; not larger than the phase conductors. [AWG or kcmil]

    Raises:
        TableError: Above 6000 A.
        SizingError: A ground of another metal than its phase conductors would be above 500 kcmil.

    Code basis:
        NFPA 70-2023, Table 250.122; 250.122(A) and (B).

    Leaves out:
        Motor circuits on an instantaneous-trip breaker or motor short-circuit protector (250.122(D)(2)):
        give the rating of a time-delay fuse for ``ocpd_a``.

    Examples:
        >>> egc_size(20, "6", "12").value
        '6'
    """
    r = Reasoning(edition)
    need_above_zero("ocpd_a", ocpd_a, "A")
    base = equipment_ground_size(ocpd_a, material)
    r.step(f"ground behind a {shown(float(ocpd_a), 'A')} device", base.value, "AWG", *base.basis)
    value = base.value
    if needed_phase_size is not None and awg_index(phase_size) > awg_index(needed_phase_size):
        area = _snug_cmil(r.take(egc_required_cmil(value, needed_phase_size, phase_size, edition=edition)))
        r.pass_over(f"{base.value}: not enlarged with the phase conductors (250.122(B))")
        if material == phase_material and area >= circular_mils(phase_size).value:
            clauses = (nec("250.122(B)", edition), nec("250.122(A)", edition))
            r.step("more than the circuit conductors have: as large as they", phase_size, "AWG", *clauses)
            return r.done(phase_size, "AWG")
        found = _thinnest_of_area(area)
        r.step(
            f"phase conductors raised from {needed_phase_size} to {phase_size}: thinnest size of that area",
            found.value,
            "AWG",
            nec("250.122(B)", edition),
            *found.basis,
        )
        value = found.value
    # Conductors of the two metals are compared by label only where both are of one metal.
    if material == phase_material and awg_index(value) > awg_index(phase_size):
        r.step("not larger than the circuit conductors", phase_size, "AWG", nec("250.122(A)", edition))
        value = phase_size
    return r.done(value, "AWG")


def shared_egc_size(
    circuits: Sequence[Reasoned[str]], phase_sizes: Sequence[str], *, edition: NecEdition = "2023"
) -> Reasoned[str]:
    """One equipment ground for all circuits of a raceway.

    Args:
        circuits: The ground each circuit would need alone, from ``egc_size``.
        phase_sizes: Phase conductors of the same circuits. [AWG or kcmil]
        edition: ``2020`` or ``2023``.

    Returns:
        The largest of them; not larger than the largest circuit conductor. [AWG or kcmil]

    Raises:
        SizingError: No circuit.

    Code basis:
        NFPA 70-2023, 250.122(C).
    """
    if not circuits or len(circuits) != len(phase_sizes):
        raise SizingError("a shared ground needs at least one circuit, and one phase size for each")
    r = Reasoning(edition)
    largest = max(circuits, key=lambda c: awg_index(c.value))
    value = r.take(largest)
    top = max(phase_sizes, key=awg_index)
    if awg_index(value) > awg_index(top):
        value = top
    r.step("one ground for the raceway: the largest that any circuit needs", value, "AWG", nec("250.122(C)", edition))
    return r.done(value, "AWG")


def _thinnest_of_area(area: float) -> Cited[str]:
    try:
        return size_for_circular_mils(area)
    except TableError as above:
        raise SizingError(
            f"a ground of {area:.0f} cmil is above the largest size of chapter 9 Table 8 here: "
            "use a copper ground, or parallel circuits with smaller conductors"
        ) from above


def _snug_cmil(area: float) -> float:
    return round(area, 6)
