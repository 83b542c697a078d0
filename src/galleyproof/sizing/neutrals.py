"""Which conductors count as current-carrying, shared neutrals, and conductors in parallel."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from galleyproof.sizing.checks import need_choice, need_not_negative
from galleyproof.sizing.conductors import Surroundings, Wire, conductor_size
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, SizingError, nec, practice, shown
from galleyproof.tables.conductors import awg_index

__all__ = [
    "CircuitWires",
    "NeutralUse",
    "current_carrying_count",
    "multiwire_conditions",
    "neutral_counts",
    "parallel_allowed",
    "parallel_size",
    "shared_neutral_a",
]

NeutralUse: TypeAlias = Literal[
    "none", "own", "shared by two lines of a wye", "shared by three lines of a wye", "split phase"
]
_USES: tuple[NeutralUse, ...] = (
    "none",
    "own",
    "shared by two lines of a wye",
    "shared by three lines of a wye",
    "split phase",
)


@dataclass(frozen=True, slots=True)
class CircuitWires:
    """The wires of one circuit, as far as they count.

    Attributes:
        lines: Ungrounded conductors, switched ones that carry current at the same time included. [-]
        neutral: How its neutral is used.
        nonlinear: The larger part of the load is nonlinear: EC motors, drives, LED drivers, electronic supplies.
    """

    lines: int
    neutral: NeutralUse = "none"
    nonlinear: bool = False


def neutral_counts(use: NeutralUse, *, nonlinear: bool = False, edition: NecEdition = "2023") -> Reasoned[bool]:
    """Whether a neutral counts among the current-carrying conductors.

    Args:
        use: How it is used.
        nonlinear: See ``CircuitWires``.
        edition: ``2020`` or ``2023``.

    Returns:
        True when it counts.

    Code basis:
        NFPA 70-2023, 310.15(E).
    """
    r = Reasoning(edition)
    need_choice("use", use, _USES)
    if use == "none":
        r.remark("no neutral")
        return r.done(False, "-")
    if use == "own":
        value, why, place = True, "neutral of one line carries what the line carries", "310.15(E)"
    elif use == "shared by two lines of a wye":
        value, why, place = True, "two lines of a wye: the neutral carries about as much as a line", "310.15(E)(2)"
    elif use == "shared by three lines of a wye" and nonlinear:
        value, why, place = True, "mostly nonlinear loads: harmonics add up in the neutral", "310.15(E)(3)"
    else:
        value, why, place = False, "carries only the unbalance", "310.15(E)(1)"
    r.step(why, "counts" if value else "does not count", "-", nec(place, edition))
    return r.done(value, "-")


def current_carrying_count(circuits: Sequence[CircuitWires], *, edition: NecEdition = "2023") -> Reasoned[int]:
    """Current-carrying conductors of all circuits in one raceway or cable.

    Args:
        circuits: Every circuit in it; equipment grounds are not given, they never count.
        edition: ``2020`` or ``2023``.

    Returns:
        Count. [-]

    Raises:
        SizingError: No circuit, or one without a line.

    Code basis:
        NFPA 70-2023, 310.15(C)(1), (E) and (F).

    Leaves out:
        Class 1 control conductors that carry at most 10 percent of their ampacity (724.51): leave them out.
    """
    r = Reasoning(edition)
    if not circuits or any(c.lines < 1 for c in circuits):
        raise SizingError("a raceway needs at least one circuit, and each circuit at least one line")
    total = 0
    for circuit in circuits:
        counts = neutral_counts(circuit.neutral, nonlinear=circuit.nonlinear, edition=edition)
        if circuit.neutral != "none":
            r.take(counts)
        total += circuit.lines + int(counts.value)
    r.step(
        "current-carrying conductors; equipment grounds do not count",
        total,
        "-",
        nec("310.15(C)(1)", edition),
        nec("310.15(F)", edition),
    )
    return r.done(total, "-")


def shared_neutral_a(
    lines_a: Sequence[float],
    *,
    split_phase: bool = False,
    nonlinear: bool = False,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Largest current that a shared neutral has to carry.

    The difference of the lines counts, but any line may be off while the others run, so the neutral is sized for
    the worst combination of lines that are on.

    Args:
        lines_a: Current of each line, two or three; two are of a wye unless ``split_phase``. [A]
        split_phase: Two lines of a 120/240 V single-phase system.
        nonlinear: See ``CircuitWires``: three lines may then load the neutral with sqrt(3) times a line.
        edition: ``2020`` or ``2023``.

    Returns:
        Current. [A]

    Raises:
        SizingError: Not two or three lines.

    Code basis:
        Phasor sum; NFPA 70-2023, 220.61(A) (largest unbalance).

    Examples:
        >>> shared_neutral_a([12.0, 3.0, 7.0]).value
        12.0
    """
    r = Reasoning(edition)
    if len(lines_a) not in (2, 3) or (split_phase and len(lines_a) != 2):
        raise SizingError(f"{len(lines_a)} lines: a shared neutral serves two or three lines, two of a split phase")
    for value in lines_a:
        need_not_negative("lines_a", value, "A")
    clause = nec("220.61(A)", edition)
    if split_phase or not nonlinear:
        # with any line off allowed, no combination exceeds the largest line alone:
        # a^2 + b^2 - a b <= max(a, b)^2, and three lines give less still
        top = max(lines_a)
        r.step("largest line alone, the others off: the largest unbalance", top, "A", clause)
    else:
        top = max(lines_a) * (math.sqrt(3.0) if len(lines_a) == 3 else 1.0)
        note = practice("third harmonics of pulsed loads", "at most sqrt(3) times the line current")
        r.step("mostly nonlinear loads: largest line with its harmonics", top, "A", clause, note)
    return r.done(top, "A")


def multiwire_conditions(*, edition: NecEdition = "2023") -> tuple[str, ...]:
    """What a circuit with a shared neutral needs, in words, each with its clause.

    Args:
        edition: ``2020`` or ``2023``.
    """
    return (
        f"all its lines open together at the panelboard: multipole breaker or handle tie ({nec('210.4(B)', edition)})",
        f"lines on different phases, all from one panelboard ({nec('210.4(A)', edition)})",
        f"neutral not opened by taking out a device: pigtails ({nec('300.13(B)', edition)})",
        f"lines and neutral tied together in each enclosure ({nec('200.4(B)', edition)})",
    )


def parallel_allowed(size: str, *, control: bool = False, edition: NecEdition = "2023") -> Reasoned[bool]:
    """Whether conductors of a size may be joined at both ends to form one, neutrals included.

    Args:
        size: Label. [AWG or kcmil]
        control: Conductors for indicating instruments, contactors, relays and the like.
        edition: ``2020`` or ``2023``.

    Returns:
        True when allowed.

    Code basis:
        NFPA 70-2023, 310.10(G)(1) and its exception 1.
    """
    r = Reasoning(edition)
    value = control or awg_index(size) >= awg_index("1/0")
    note = "exception 1: control conductors, same raceway, each able to carry the whole current" if control else ""
    r.step(
        f"{size} in parallel: 1/0 AWG and thicker only" if not control else f"{size} control conductors in parallel",
        "allowed" if value else "not allowed",
        "-",
        nec("310.10(G)(1)", edition, note),
    )
    return r.done(value, "-")


def parallel_size(
    min_a: Reasoned[float] | float,
    sets: int,
    terminal_degc: Reasoned[int] | int,
    wire: Wire | None = None,
    around: Surroundings | None = None,
    *,
    load_a: float | None = None,
    edition: NecEdition = "2023",
) -> Reasoned[str]:
    """Size of each conductor of several equal sets.

    Args:
        min_a: Ampacity of all sets together. [A]
        sets: Conductors per line. [-]
        terminal_degc: See ``conductor_size``. [degC]
        wire: See ``conductor_size``.
        around: Of one raceway; count all sets that share it.
        load_a: See ``conductor_size``. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        Label, 1/0 AWG or thicker where there is more than one set. [AWG or kcmil]

    Raises:
        SizingError: No set, or above 500 kcmil.

    Code basis:
        NFPA 70-2023, 310.10(G).
    """
    if sets < 1:
        raise SizingError(f"sets={sets}: at least one conductor per line")
    r = Reasoning(edition)
    total = r.take(min_a) if isinstance(min_a, Reasoned) else float(min_a)
    each = total / sets
    if sets > 1:
        r.step(f"{shown(total, 'A')} over {sets} equal sets", each, "A", nec("310.10(G)(2)", edition))
    found = conductor_size(
        each,
        terminal_degc,
        wire or Wire(),
        around or Surroundings(),
        load_a=None if load_a is None else load_a / sets,
        at_least="1/0" if sets > 1 else None,
        edition=edition,
    )
    return r.done(r.take(found), found.unit)
