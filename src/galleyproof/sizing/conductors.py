"""Size of line-voltage conductors: ampacity at the terminals and in the raceway, and what may protect them.

Two questions are asked of every size: does the terminal column carry the minimum ampacity (110.14(C)), and does
the insulation column, corrected for the ambient and adjusted for the other conductors, carry the load (310.15)?
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, TypeAlias

from galleyproof.findings import Cited
from galleyproof.sizing.checks import need_above_zero, need_choice, need_finite, need_not_negative
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, SizingError, nec, rounded, shown
from galleyproof.tables import conductors as tables
from galleyproof.tables import protection
from galleyproof.tables.conductors import AWG_ORDER, Material, awg_index
from galleyproof.tables.protection import RatedDevice
from galleyproof.tables.reader import TableError

__all__ = [
    "InsulationType",
    "Surroundings",
    "Wire",
    "adjusted_ampacity_a",
    "conductor_size",
    "continuous_min_a",
    "degc_of_degf",
    "insulation_degc",
    "min_branch_size",
    "ocpd_for_load_a",
    "ocpd_max_for_ampacity_a",
    "ocpd_max_for_conductor_a",
    "rooftop_ambient_degc",
    "sizes",
    "terminal_column_degc",
    "usable_ampacity_a",
]

InsulationType: TypeAlias = Literal["THHN", "THWN", "THWN-2", "XHHW", "XHHW-2", "TFFN"]

# (dry and damp, wet) in degC; None: not for wet places. NFPA 70 Table 310.4(1), Table 402.3 for TFFN.
_INSULATION_DEGC: dict[str, tuple[int, int | None]] = {
    "THHN": (90, None),
    "THWN": (75, 75),
    "THWN-2": (90, 90),
    "XHHW": (90, 75),
    "XHHW-2": (90, 90),
    "TFFN": (90, None),
}
# 310.15(B)(2): raceway less than 7/8 in above a roof in the sun. [K]
_ROOF_ADDER_K = 33.0
_ROOF_MAX_INCH = 0.875


@dataclass(frozen=True, slots=True)
class Wire:
    """What a conductor is made of.

    Attributes:
        material: ``cu`` or ``al``.
        insulation: Type letters.
        wet: In a wet place, which the inside of a raceway outdoors is (300.9).
    """

    material: Material = "cu"
    insulation: InsulationType = "THWN-2"
    wet: bool = False


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What takes ampacity away.

    Attributes:
        ambient_degc: Around the raceway. [degC]
        current_carrying: In the same raceway or cable, this circuit's own included. [-]
        short: The raceway is at most 24 in long: no adjustment for companions.
    """

    ambient_degc: float = 30.0
    current_carrying: int = 3
    short: bool = False


_USUAL_WIRE = Wire()
_USUAL_PLACE = Surroundings()


def degc_of_degf(ambient_degf: float) -> float:
    """A temperature in the unit of the ampacity tables [degC].

    Args:
        ambient_degf: Temperature. [degF]
    """
    return round((ambient_degf - 32.0) / 1.8, 9)


def insulation_degc(wire: Wire, *, edition: NecEdition = "2023") -> Reasoned[int]:
    """Temperature rating of an insulation where it is used.

    Args:
        wire: Type and place.
        edition: ``2020`` or ``2023``.

    Returns:
        Rating, the column the correction starts from. [degC]

    Raises:
        SizingError: Not a type carried here, or not for wet places.

    Code basis:
        NFPA 70-2023, Table 310.4(1); Table 402.3 for TFFN.
    """
    r = Reasoning(edition)
    need_choice("insulation", wire.insulation, tuple(_INSULATION_DEGC))
    need_choice("material", wire.material, tuple(_METALS))
    dry, wet = _INSULATION_DEGC[wire.insulation]
    value = wet if wire.wet else dry
    if value is None:
        raise SizingError(f"{wire.insulation} is not for wet places (300.9 counts raceways outdoors): use THWN-2")
    table = "Table 402.3" if wire.insulation == "TFFN" else "Table 310.4(1)"
    where = "wet" if wire.wet else "dry or damp"
    r.step(f"{wire.insulation} insulation, {where} place", value, "degC", nec(table, edition))
    return r.done(value, "degC")


def rooftop_ambient_degc(
    outdoor_degc: float, above_roof_inch: float, wire: Wire = _USUAL_WIRE, *, edition: NecEdition = "2023"
) -> Reasoned[float]:
    """Ambient of a raceway over a roof that the sun reaches.

    Args:
        outdoor_degc: Design temperature outdoors. [degC]
        above_roof_inch: From the roof to the bottom of the raceway. [in]
        wire: XHHW-2 is excepted.
        edition: ``2020`` or ``2023``.

    Returns:
        Ambient to correct for. [degC]

    Code basis:
        NFPA 70-2023, 310.15(B)(2).
    """
    r = Reasoning(edition)
    need_finite("outdoor_degc", outdoor_degc, "degC")
    need_not_negative("above_roof_inch", above_roof_inch, "in")
    clause = nec("310.15(B)(2)", edition)
    if above_roof_inch >= _ROOF_MAX_INCH:
        r.step(f"{above_roof_inch:g} in above the roof (7/8 in or more): outdoor ambient", outdoor_degc, "degC", clause)
        return r.done(outdoor_degc, "degC")
    if wire.insulation == "XHHW-2":
        exception = nec("310.15(B)(2)", edition, "exception: XHHW-2")
        r.step("XHHW-2 needs no addition over a roof", outdoor_degc, "degC", exception)
        return r.done(outdoor_degc, "degC")
    value = outdoor_degc + _ROOF_ADDER_K
    r.step(f"{above_roof_inch:g} in above the roof: outdoor {outdoor_degc:g} degC + 33 K", value, "degC", clause)
    r.pass_over("raceway raised to 7/8 in or more above the roof: needs no addition")
    return r.done(value, "degC")


def terminal_column_degc(
    circuit_a: float,
    *,
    marked_degc: int | None = None,
    design_bcd_motor: bool = False,
    edition: NecEdition = "2023",
) -> Reasoned[int]:
    """Ampacity column that the terminals at both ends allow.

    Args:
        circuit_a: Rating of the circuit. [A]
        marked_degc: Marking of the equipment, the lower of both ends; None when not marked. [degC]
        design_bcd_motor: The equipment is a motor of design B, C or D.
        edition: ``2020`` or ``2023``.

    Returns:
        60, 75 or 90. [degC]

    Raises:
        SizingError: A marking of another temperature.

    Code basis:
        NFPA 70-2023, 110.14(C)(1).

    Examples:
        >>> terminal_column_degc(30).value, terminal_column_degc(30, marked_degc=75).value
        (60, 75)
    """
    r = Reasoning(edition)
    need_above_zero("circuit_a", circuit_a, "A")
    if marked_degc is not None:
        need_choice("marked_degc", marked_degc, (60, 75, 90))
    small = circuit_a <= 100.0
    place = "110.14(C)(1)(a)" if small else "110.14(C)(1)(b)"
    clause = nec(place, edition)
    if marked_degc is not None:
        # 90 degC terminals do not exist on the equipment of this work: 110.14(C)(1) stops at 75
        value = min(marked_degc, 75)
        r.step(f"terminals marked {marked_degc} degC", value, "degC", clause)
    elif small and design_bcd_motor:
        value = 75
        r.step("motor of design B, C or D: 75 degC column permitted", value, "degC", clause)
    elif small:
        value = 60
        r.step(f"terminals not marked, circuit of {shown(circuit_a, 'A')} (100 A or less)", value, "degC", clause)
        r.pass_over("75 degC column: only with equipment marked for it at both ends")
    else:
        value = 75
        r.step(f"terminals not marked, circuit of {shown(circuit_a, 'A')} (over 100 A)", value, "degC", clause)
    return r.done(value, "degC")


def continuous_min_a(
    continuous_a: float, noncontinuous_a: float = 0.0, *, feeder: bool = False, edition: NecEdition = "2023"
) -> Reasoned[float]:
    """Smallest device rating, and smallest ampacity before correction and adjustment, of non-motor loads.

    Args:
        continuous_a: Loads of three hours and more. [A]
        noncontinuous_a: Other loads. [A]
        feeder: A feeder instead of a branch circuit; only the clauses differ.
        edition: ``2020`` or ``2023``.

    Returns:
        125 percent of the continuous part plus the rest. [A]

    Code basis:
        NFPA 70-2023, 210.19(A)(1) and 210.20(A); 215.2(A)(1) and 215.3 for feeders.

    Leaves out:
        Assemblies listed for 100 percent of their rating.

    Examples:
        >>> continuous_min_a(18).value
        22.5
    """
    r = Reasoning(edition)
    need_not_negative("continuous_a", continuous_a, "A")
    need_not_negative("noncontinuous_a", noncontinuous_a, "A")
    places = ("215.2(A)(1)", "215.3") if feeder else ("210.19(A)(1)", "210.20(A)")
    basis = tuple(nec(p, edition) for p in places)
    value = round(1.25 * continuous_a + noncontinuous_a, 9)
    plus = f" + {shown(float(noncontinuous_a), 'A')}" if noncontinuous_a else ""
    r.step(f"125% of continuous {shown(float(continuous_a), 'A')}{plus}", value, "A", *basis)
    return r.done(value, "A")


def ocpd_for_load_a(
    min_a: Reasoned[float] | float, device: RatedDevice = "inverse_time_breaker", *, edition: NecEdition = "2023"
) -> Reasoned[float]:
    """Smallest standard device that carries a load.

    Args:
        min_a: Rating asked for, 125 percent of continuous loads included. [A]
        device: ``inverse_time_breaker`` or ``fuse``.
        edition: ``2020`` or ``2023``.

    Returns:
        Standard rating. [A]

    Code basis:
        NFPA 70-2023, 210.20(A), 215.3; 240.6(A).
    """
    r = Reasoning(edition)
    need_a = r.take(min_a) if isinstance(min_a, Reasoned) else float(min_a)
    up = protection.next_standard_up_a(need_a, device, edition)
    r.step(f"smallest standard rating not below {shown(need_a, 'A')}", up.value, "A", *up.basis)
    return r.done(up.value, "A")


def adjusted_ampacity_a(
    size: str,
    wire: Wire = _USUAL_WIRE,
    around: Surroundings = _USUAL_PLACE,
    *,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Ampacity of a size in its surroundings, by its insulation; terminals may ask for less.

    Args:
        size: Label. [AWG or kcmil]
        wire: Material and insulation.
        around: Ambient and companions.
        edition: ``2020`` or ``2023``.

    Returns:
        Corrected and adjusted ampacity. [A]

    Raises:
        TableError: No such size, or too hot for the insulation.

    Code basis:
        NFPA 70-2023, Table 310.16; Table 310.15(B)(1)(1); Table 310.15(C)(1).

    Examples:
        >>> round(adjusted_ampacity_a("12", around=Surroundings(current_carrying=9)).value, 3)
        21.0
    """
    r = Reasoning(edition)
    column = r.take(insulation_degc(wire, edition=edition))
    base = tables.ampacity_a(size, column, wire.material)
    r.step(f"{size} {_unit(size)} {_metal(wire)}, {column} degC column", base.value, "A", *base.basis)
    value = base.value
    factor = _ambient_factor(around.ambient_degc, column)
    if factor.value != 1.0:
        value = round(value * factor.value, 9)
        r.step(f"ambient {around.ambient_degc:.4g} degC: x {factor.value:g}", value, "A", *factor.basis)
    share = _bundling(around)
    if share is not None and share.value != 1.0:
        value = round(value * share.value, 9)
        text = f"{around.current_carrying} current-carrying conductors: x {share.value:g}"
        r.step(text, value, "A", *share.basis)
    elif around.short and around.current_carrying > 3:
        r.remark("raceway of 24 in or less: no adjustment for companions", nec("310.15(C)(1)(b)", edition))
    return r.done(value, "A")


def usable_ampacity_a(
    size: str,
    terminal_degc: int,
    wire: Wire = _USUAL_WIRE,
    around: Surroundings = _USUAL_PLACE,
    *,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Ampacity of a size in its surroundings, limited by the terminals.

    Args:
        size: Label. [AWG or kcmil]
        terminal_degc: From ``terminal_column_degc``. [degC]
        wire: Material and insulation.
        around: Ambient and companions.
        edition: ``2020`` or ``2023``.

    Returns:
        The smaller of both. [A]

    Code basis:
        NFPA 70-2023, 310.15; 110.14(C).
    """
    r = Reasoning(edition)
    by_place = r.take(adjusted_ampacity_a(size, wire, around, edition=edition))
    limit = tables.ampacity_a(size, terminal_degc, wire.material)
    clause = nec("110.14(C)", edition)
    if limit.value < by_place:
        r.step(f"limited by the {terminal_degc} degC terminals", limit.value, "A", clause, *limit.basis)
        return r.done(limit.value, "A")
    r.remark(f"not above the {shown(limit.value, 'A')} of the {terminal_degc} degC terminals", clause)
    return r.done(by_place, "A")


@lru_cache(maxsize=16)
def sizes(material: Material = "cu") -> tuple[str, ...]:
    """Sizes that Table 310.16 holds for general wiring, thinnest first: from 14 AWG copper, 12 AWG aluminum."""
    first = awg_index(min_branch_size(material).value)
    return tuple(s for s in AWG_ORDER[first:] if _table_or_none(s, material, 60) is not None)


def min_branch_size(material: Material = "cu", *, edition: NecEdition = "2023") -> Reasoned[str]:
    """Thinnest conductor of general wiring.

    Args:
        material: ``cu`` or ``al``.
        edition: ``2020`` or ``2023``.

    Returns:
        Label. [AWG]

    Code basis:
        NFPA 70-2023, Table 310.3(A).
    """
    r = Reasoning(edition)
    value = "14" if material == "cu" else "12"
    r.step(f"thinnest {_METALS[material]} conductor", value, "AWG", nec("Table 310.3(A)", edition))
    return r.done(value, "AWG")


def conductor_size(
    min_a: Reasoned[float] | float,
    terminal_degc: Reasoned[int] | int,
    wire: Wire = _USUAL_WIRE,
    around: Surroundings = _USUAL_PLACE,
    *,
    load_a: float | None = None,
    ocpd_a: float | None = None,
    ocpd_by_article_430: bool = False,
    at_least: str | None = None,
    edition: NecEdition = "2023",
) -> Reasoned[str]:
    """Thinnest conductor that serves a circuit.

    Args:
        min_a: Ampacity at the terminals, 125 percent included. [A]
        terminal_degc: From ``terminal_column_degc``. [degC]
        wire: Material and insulation.
        around: Ambient and companions.
        load_a: Ampacity needed after correction and adjustment; None: ``min_a`` (motors). For continuous
            non-motor loads the load itself. [A]
        ocpd_a: Device ahead; the size must be protected by it under 240.4. [A]
        ocpd_by_article_430: The device follows article 430 and 240.4(G) sets 240.4(B) to (D) aside.
        at_least: A size asked for by another rule. [AWG or kcmil]
        edition: ``2020`` or ``2023``.

    Returns:
        Label; the thinner sizes are passed over with their reasons. [AWG or kcmil]

    Raises:
        SizingError: Above 500 kcmil.
        TableError: Too hot for the insulation.

    Code basis:
        NFPA 70-2023, 110.14(C); 210.19(A), 215.2(A) or 430.22; 310.15; 240.4.

    Examples:
        >>> conductor_size(27.5, 75).value, conductor_size(20.0, 60).value
        ('10', '12')
    """
    r = Reasoning(edition)
    need_a = r.take(min_a) if isinstance(min_a, Reasoned) else float(min_a)
    need_above_zero("min_a", need_a, "A")
    column = r.take(terminal_degc) if isinstance(terminal_degc, Reasoned) else terminal_degc
    need_choice("terminal_degc", column, (60, 75, 90))
    in_place_a = need_a if load_a is None else load_a
    need_above_zero("load_a", in_place_a, "A")
    if ocpd_a is not None:
        need_above_zero("ocpd_a", ocpd_a, "A")
    insulation = insulation_degc(wire, edition=edition).value
    column = min(column, insulation)
    factor = _ambient_factor(around.ambient_degc, insulation).value
    share = _bundling(around)
    ratio = factor * (share.value if share is not None else 1.0)
    start = 0 if at_least is None else awg_index(at_least)
    if start and awg_index(at_least or "14") > awg_index(sizes(wire.material)[0]):
        r.remark(f"{at_least} {_unit(at_least or '')} or thicker is asked for by another rule")
    for size in sizes(wire.material):
        if awg_index(size) < start:
            continue
        why = _refused(size, need_a, in_place_a, column, insulation, ratio, wire)
        if why is None and ocpd_a is not None:
            why = _unprotected(size, ocpd_a, ocpd_by_article_430, column, wire, around, edition)
        if why is None:
            _say_size(r, size, need_a, in_place_a, column, wire, around, edition)
            if ocpd_a is not None:
                _say_protection(r, size, ocpd_a, ocpd_by_article_430, edition)
            return r.done(size, "AWG" if _unit(size) == "AWG" else "kcmil")
        r.pass_over(f"{size} {_unit(size)}: {why}")
    raise SizingError(
        f"no size of Table 310.16 up to {sizes(wire.material)[-1]} kcmil carries {rounded(need_a, 'A')} at "
        f"{around.ambient_degc:.4g} degC with {around.current_carrying} current-carrying conductors; "
        "use parallel conductors (310.10(G)), split the load or take conductors out of the raceway"
    )


def _refused(
    size: str, need_a: float, in_place_a: float, column: int, insulation: int, ratio: float, wire: Wire
) -> str | None:
    at_terminal = _table_or_none(size, wire.material, column)
    by_insulation = _table_or_none(size, wire.material, insulation)
    if at_terminal is None or by_insulation is None:
        return "not in Table 310.16 for this column"
    if at_terminal < need_a - 1e-9:
        return f"{shown(at_terminal, 'A')} in the {column} degC terminal column, {shown(need_a, 'A')} needed"
    in_place = round(by_insulation * ratio, 9)
    if in_place < in_place_a - 1e-9:
        return f"{shown(in_place, 'A')} after correction and adjustment, {shown(in_place_a, 'A')} needed"
    return None


def _unprotected(
    size: str,
    ocpd_a: float,
    by_430: bool,
    column: int,
    wire: Wire,
    around: Surroundings,
    edition: NecEdition,
) -> str | None:
    if by_430:
        return None
    top = ocpd_max_for_conductor_a(size, column, wire=wire, around=around, edition=edition).value
    if ocpd_a > top:
        return f"may be protected at {shown(top, 'A')} at most (240.4), the device is {shown(ocpd_a, 'A')}"
    return None


def _say_size(
    r: Reasoning,
    size: str,
    need_a: float,
    in_place_a: float,
    column: int,
    wire: Wire,
    around: Surroundings,
    edition: NecEdition,
) -> None:
    at_terminal = tables.ampacity_a(size, column, wire.material)
    r.step(
        f"{size} {_unit(size)} {_metal(wire)} in the {column} degC column carries the {shown(need_a, 'A')} needed "
        "at the terminals",
        at_terminal.value,
        "A",
        nec("110.14(C)", edition),
        *at_terminal.basis,
    )
    in_place = r.take(adjusted_ampacity_a(size, wire, around, edition=edition))
    r.remark(
        f"{shown(in_place, 'A')} in its surroundings is not below {shown(in_place_a, 'A')}",
        nec("310.15", edition),
    )


def _say_protection(r: Reasoning, size: str, ocpd_a: float, by_430: bool, edition: NecEdition) -> None:
    if by_430:
        text = (
            f"{shown(ocpd_a, 'A')} device protects it against short circuit and ground fault, the overload against load"
        )
        r.remark(text, nec("240.4(G)", edition), nec("430.52", edition), nec("430.32", edition))
    else:
        r.remark(f"protected by the {shown(ocpd_a, 'A')} device", nec("240.4", edition))


def ocpd_max_for_ampacity_a(
    ampacity_a: float,
    device: RatedDevice = "inverse_time_breaker",
    *,
    multi_receptacle: bool = False,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Largest device that protects a conductor of some ampacity, small conductors aside.

    Args:
        ampacity_a: Usable ampacity. [A]
        device: ``inverse_time_breaker`` or ``fuse``.
        multi_receptacle: A branch circuit with more than one receptacle for portable loads.
        edition: ``2020`` or ``2023``.

    Returns:
        Standard rating; the next one up where 240.4(B) permits it. The load itself stays within the ampacity. [A]

    Code basis:
        NFPA 70-2023, 240.4(B) and (C); 240.6(A).

    Examples:
        >>> ocpd_max_for_ampacity_a(65.0).value, ocpd_max_for_ampacity_a(1100.0).value
        (70.0, 1000.0)
    """
    r = Reasoning(edition)
    need_above_zero("ampacity_a", ampacity_a, "A")
    ampacity_a = round(ampacity_a, 9)
    if ampacity_a <= 800.0 and not multi_receptacle:
        up = protection.next_standard_up_a(ampacity_a, device, edition)
        if up.value <= 800.0:
            text = "exactly a standard rating" if up.value == ampacity_a else "next standard rating up"
            r.step(f"ampacity {shown(ampacity_a, 'A')}: {text}", up.value, "A", nec("240.4(B)", edition), *up.basis)
            return r.done(up.value, "A")
    down = protection.next_standard_down_a(ampacity_a, device, edition)
    place = "240.4(B)(1)" if multi_receptacle else "240.4(C)"
    why = "several receptacles: not rounded up" if multi_receptacle else "over 800 A: not rounded up"
    r.step(f"ampacity {shown(ampacity_a, 'A')}, {why}", down.value, "A", nec(place, edition), *down.basis)
    return r.done(down.value, "A")


def ocpd_max_for_conductor_a(
    size: str,
    terminal_degc: int,
    device: RatedDevice = "inverse_time_breaker",
    wire: Wire = _USUAL_WIRE,
    around: Surroundings = _USUAL_PLACE,
    *,
    multi_receptacle: bool = False,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Largest device that protects a size, small conductors included.

    Args:
        size: Label. [AWG or kcmil]
        terminal_degc: From ``terminal_column_degc``. [degC]
        device: ``inverse_time_breaker`` or ``fuse``.
        wire: Material and insulation.
        around: Ambient and companions.
        multi_receptacle: See ``ocpd_max_for_ampacity_a``.
        edition: ``2020`` or ``2023``.

    Returns:
        Standard rating. [A]

    Code basis:
        NFPA 70-2023, 240.4(B), (C) and (D).

    Leaves out:
        240.4(E) and (G): motor, air-conditioning and control circuits have rules of their own.
    """
    r = Reasoning(edition)
    ampacity = r.take(usable_ampacity_a(size, terminal_degc, wire, around, edition=edition))
    rule = ocpd_max_for_ampacity_a(ampacity, device, multi_receptacle=multi_receptacle, edition=edition)
    value = r.take(rule)
    if awg_index(size) <= awg_index("10"):
        cap = tables.small_conductor_max_ocpd_a(size, wire.material, edition)
        if cap.value < value:
            r.step(f"small conductor, {size} AWG: at most", cap.value, "A", *cap.basis)
            value = cap.value
    return r.done(value, "A")


def _ambient_factor(ambient_degc: float, insulation: int) -> Cited[float]:
    need_finite("ambient_degc", ambient_degc, "degC")
    try:
        return tables.ambient_factor(ambient_degc, insulation)
    except TableError as refused:
        better = "" if insulation >= 90 else "insulation for 90 degC (THWN-2, XHHW-2), or "
        raise TableError(
            f"{refused}: {ambient_degc:.4g} degC is more than {insulation} degC insulation takes; {better}a cooler way"
        ) from refused


def _bundling(around: Surroundings) -> Cited[float] | None:
    share = tables.adjustment_ratio(around.current_carrying)  # refuses a count below one
    return None if around.short else share


@lru_cache(maxsize=512)
def _table_or_none(size: str, material: Material, column: int) -> float | None:
    try:
        return tables.ampacity_a(size, column, material).value
    except TableError:
        return None


_METALS = {"cu": "copper", "al": "aluminum"}


def _metal(wire: Wire) -> str:
    return _METALS[wire.material]


def _unit(size: str) -> str:
    return "kcmil" if size.isdigit() and int(size) >= 250 else "AWG"
