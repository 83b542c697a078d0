"""Control and signal conductors: thinnest size by circuit class, and what may protect them."""

from __future__ import annotations

from typing import Literal, TypeAlias

from galleyproof.findings import Citation
from galleyproof.sizing.checks import need_choice, need_not_negative
from galleyproof.sizing.conductors import Surroundings, Wire, conductor_size, ocpd_max_for_conductor_a
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, nec, practice, shown
from galleyproof.tables import conductors as tables
from galleyproof.tables import protection
from galleyproof.tables.conductors import awg_index
from galleyproof.tables.protection import ControlCircuitCase

__all__ = ["ControlClass", "control_ocpd_max_a", "control_wire_size", "limited_energy_clause"]

ControlClass: TypeAlias = Literal["Class 1", "motor control", "Class 2"]

# Article 724 of the 2023 edition was part of article 725 before; section numbers are the same.
_MOVED = {"724": "725", "722": "725"}


def limited_energy_clause(place: str, edition: NecEdition = "2023", note: str = "") -> Citation:
    """A clause of the Class 1, 2 and 3 rules under the number the edition gives it.

    Args:
        place: As the 2023 edition numbers it: ``724.49(A)``.
        edition: ``2020`` or ``2023``.
        note: What was departed from.
    """
    article, dot, rest = place.partition(".")
    if edition == "2020" and article in _MOVED:
        place = f"{_MOVED[article]}{dot}{rest}"
    return nec(place, edition, note)


def control_wire_size(
    load_a: float,
    circuit_class: ControlClass,
    terminal_degc: int = 60,
    around: Surroundings | None = None,
    *,
    at_least: str | None = None,
    edition: NecEdition = "2023",
) -> Reasoned[str]:
    """Thinnest copper conductor of a control circuit, before voltage drop.

    Args:
        load_a: Largest steady current. [A]
        circuit_class: ``Class 1`` and ``motor control`` go by ampacity; ``Class 2`` is limited by its source.
        terminal_degc: For sizes from 14 AWG on. [degC]
        around: For sizes from 14 AWG on.
        at_least: A size asked for by the job or the equipment. [AWG]
        edition: ``2020`` or ``2023``.

    Returns:
        Label. [AWG]

    Raises:
        SizingError: Another class, or no size carries the current.

    Code basis:
        NFPA 70-2023, 724.49(A) and Table 402.5 (18 and 16 AWG); 430.72(B); 725.136 sets no size for Class 2.

    Examples:
        >>> control_wire_size(5.0, "Class 1").value, control_wire_size(7.0, "Class 1").value
        ('18', '16')
    """
    need_choice("circuit_class", circuit_class, ("Class 1", "motor control", "Class 2"))
    need_not_negative("load_a", load_a, "A")
    r = Reasoning(edition)
    start = awg_index(at_least) if at_least is not None else awg_index("18")
    if at_least is not None:
        r.remark(f"{at_least} AWG or thicker is asked for")
    if circuit_class == "Class 2" and load_a <= tables.fixture_wire_ampacity_a("18").value:
        value = at_least if at_least is not None and start > awg_index("18") else "18"
        usual = practice("18 AWG for Class 2 circuits", "no ampacity table applies; the source limits the current")
        r.step(f"Class 2 circuit, {shown(load_a, 'A')}", value, "AWG", usual)
        return r.done(value, "AWG")
    for size in ("18", "16"):
        if awg_index(size) < start:
            continue
        ampacity = tables.fixture_wire_ampacity_a(size)
        if ampacity.value >= load_a:
            clause = (
                nec("430.72(B)", edition)
                if circuit_class == "motor control"
                else limited_energy_clause("724.49(A)", edition)
            )
            r.step(f"{size} AWG carries {shown(load_a, 'A')}", ampacity.value, "A", clause, *ampacity.basis)
            return r.done(size, "AWG")
        r.pass_over(f"{size} AWG: {shown(ampacity.value, 'A')} (Table 402.5), {shown(load_a, 'A')} needed")
    floor = at_least if at_least is not None and start > awg_index("14") else "14"
    found = conductor_size(
        max(load_a, 1e-6), terminal_degc, Wire(), around or Surroundings(), at_least=floor, edition=edition
    )
    return r.done(r.take(found), "AWG")


def control_ocpd_max_a(
    size: str,
    circuit_class: ControlClass,
    case: ControlCircuitCase = "separate",
    terminal_degc: int = 60,
    *,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Largest device ahead of a copper control conductor.

    Args:
        size: 18 AWG or thicker. [AWG]
        circuit_class: ``Class 1`` or ``motor control``; a Class 2 source is limited instead (``class2_max_a``).
        case: Where a motor control circuit gets its power; see ``tables.protection``.
        terminal_degc: For 14 AWG and thicker with a device of their own. [degC]
        edition: ``2020`` or ``2023``.

    Returns:
        Rating. [A]

    Raises:
        SizingError: A Class 2 circuit.
        TableError: No such size.

    Code basis:
        NFPA 70-2023, Table 430.72(B), from memory; 724.43 for Class 1; 240.4(D) from 14 AWG on.

    Examples:
        >>> control_ocpd_max_a("18", "Class 1").value
        7.0
    """
    need_choice("circuit_class", circuit_class, ("Class 1", "motor control"))
    r = Reasoning(edition)
    small = awg_index(size) < awg_index("14")
    if circuit_class == "motor control" and (small or case != "separate"):
        found = protection.control_circuit_max_ocpd_a(size, case)
        r.step(f"{size} AWG motor control conductor, {case.replace('_', ' ')}", found.value, "A", *found.basis)
        return r.done(found.value, "A")
    if small:
        cap = tables.small_conductor_max_ocpd_a(size, "cu", edition)
        clause = limited_energy_clause("724.43", edition)
        r.step(f"{size} AWG Class 1 conductor", cap.value, "A", clause, *cap.basis)
        return r.done(cap.value, "A")
    return r.done(r.take(ocpd_max_for_conductor_a(size, terminal_degc, edition=edition)), "A")
