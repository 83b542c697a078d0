"""Raceways: who may share one, how full it gets, and sizes that settle once derating is fed back.

Fill counts every conductor, grounds included; derating counts the current-carrying ones only. Two conductors
are the tightest case (31 percent).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from galleyproof.sizing.checks import need_above_zero, need_choice
from galleyproof.sizing.conductors import Surroundings, Wire, conductor_size
from galleyproof.sizing.control_wires import limited_energy_clause
from galleyproof.sizing.grounds import egc_size, shared_egc_size
from galleyproof.sizing.neutrals import CircuitWires, current_carrying_count
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, SizingError, nec, shown
from galleyproof.sizing.voltage_drop import Run, size_for_drops
from galleyproof.tables import raceways as tables
from galleyproof.tables.conductors import Insulation, awg_index, insulated_area_sqin
from galleyproof.tables.raceways import TRADE_SIZES, Raceway, trade_size_index
from galleyproof.tables.reader import TableError

__all__ = [
    "EnergyClassName",
    "Filling",
    "RacewayCircuit",
    "SharedRaceway",
    "Sharing",
    "conductors_area_sqin",
    "fill_share_ratio",
    "max_count",
    "may_share",
    "settle_shared_raceway",
    "split_over_raceways",
    "trade_size_for",
]

EnergyClassName: TypeAlias = Literal["line voltage", "Class 1", "Class 2", "data"]
_RACEWAYS: tuple[Raceway, ...] = ("EMT", "RMC", "PVC40", "FMC", "LFMC")
_CLASSES: tuple[EnergyClassName, ...] = ("line voltage", "Class 1", "Class 2", "data")

_USUAL_WIRE = Wire()

_AREA_ROW: dict[str, Insulation] = {
    "THHN": "THHN",
    "THWN": "THHN",
    "THWN-2": "THHN",
    "XHHW": "XHHW",
    "XHHW-2": "XHHW",
    "TFFN": "TFFN",
}


@dataclass(frozen=True, slots=True)
class Filling:
    """Some equal conductors, or one kind of cable, in a raceway.

    Attributes:
        size: Label; of a cable only a name. [AWG or kcmil]
        count: How many. [-]
        insulation: Type letters; 18 and 16 AWG are taken as TFFN.
        cable_diameter_inch: Set for a multiconductor cable, which counts as one conductor. [in]
    """

    size: str
    count: int
    insulation: str = "THWN-2"
    cable_diameter_inch: float | None = None

    def area_sqin(self) -> float:
        """Area of one of them [in2].

        Raises:
            TableError: No such size.
            SizingError: No such insulation, or no diameter.
        """
        if self.cable_diameter_inch is not None:
            need_above_zero("cable_diameter_inch", self.cable_diameter_inch, "in")
            return math.pi / 4.0 * self.cable_diameter_inch**2
        need_choice("insulation", self.insulation, tuple(_AREA_ROW))
        row: Insulation = "TFFN" if awg_index(self.size) < awg_index("14") else _AREA_ROW[self.insulation]
        return insulated_area_sqin(self.size, row).value


def conductors_area_sqin(filling: Sequence[Filling], *, edition: NecEdition = "2023") -> Reasoned[float]:
    """Area of everything in a raceway, grounds included.

    Args:
        filling: Every conductor and cable.
        edition: ``2020`` or ``2023``.

    Returns:
        Area. [in2]

    Raises:
        SizingError: Nothing in it.

    Code basis:
        NFPA 70-2023, chapter 9 Table 5; notes 3 (grounds count) and 9 (cables by their diameter).

    Examples:
        >>> conductors_area_sqin([Filling("12", 3), Filling("10", 4), Filling("8", 8)]).value
        0.4171
    """
    r = Reasoning(edition)
    kept = _kept(filling)
    if not kept:
        raise SizingError("nothing in the raceway: give at least one conductor")
    total = 0.0
    for one in kept:
        each = one.area_sqin()
        total += one.count * each
        place = "chapter 9 note 9" if one.cable_diameter_inch is not None else "chapter 9 Table 5"
        kind = "cable" if one.cable_diameter_inch is not None else _insulation_shown(one)
        r.step(
            f"{one.count} x {one.size} {kind} x {each:.4g} in2", round(one.count * each, 9), "in2", nec(place, edition)
        )
    total = round(total, 9)
    r.step("all conductors, equipment grounds included", total, "in2", nec("chapter 9 note 3", edition))
    return r.done(total, "in2")


def fill_share_ratio(
    filling: Sequence[Filling],
    raceway: Raceway,
    trade_size: str,
    *,
    nipple: bool = False,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """How much of the permitted area is used; above 1 it is overfull.

    Args:
        filling: Every conductor and cable.
        raceway: ``EMT``, ``RMC``, ``PVC40``, ``FMC`` or ``LFMC``.
        trade_size: Label.
        nipple: At most 24 in long.
        edition: ``2020`` or ``2023``.

    Returns:
        Conductors over permitted area. [-]

    Code basis:
        NFPA 70-2023, chapter 9 Tables 1, 4 and 5.

    Leaves out:
        Note 7, by which equal conductors may go a little over; ``trade_size_for`` applies it.
    """
    r = Reasoning(edition)
    need_choice("raceway", raceway, _RACEWAYS)
    area = r.take(conductors_area_sqin(filling, edition=edition))
    count = sum(one.count for one in _kept(filling))
    usable = tables.usable_area_sqin(raceway, trade_size, count, nipple=nipple)
    share = tables.fill_ratio(count, nipple=nipple)
    r.step(f"{count} conductors: at most {share.value:.0%} of the inside", share.value, "-", *share.basis)
    r.step(f"{raceway} {trade_size} holds", usable.value, "in2", *usable.basis)
    value = area / usable.value
    r.step(f"{shown(area)} of {shown(usable.value, 'in2')}", value, "-")
    return r.done(value, "-")


def max_count(raceway: Raceway, trade_size: str, size: str, *, edition: NecEdition = "2023") -> Reasoned[int]:
    """Largest number of equal THHN, THWN or THWN-2 conductors.

    Args:
        raceway: Kind.
        trade_size: Label.
        size: 14 AWG to 500 kcmil. [AWG or kcmil]
        edition: ``2020`` or ``2023``.

    Returns:
        Count. [-]

    Code basis:
        NFPA 70-2023, Annex C, computed from chapter 9 Tables 4 and 5 with note 7.
    """
    r = Reasoning(edition)
    need_choice("raceway", raceway, _RACEWAYS)
    found = tables.annex_c_count(raceway, trade_size, size)
    r.step(f"{size} in {raceway} {trade_size}", found.value, "-", *found.basis)
    return r.done(found.value, "-")


def trade_size_for(
    filling: Sequence[Filling],
    raceway: Raceway,
    *,
    nipple: bool = False,
    at_least: str | None = None,
    edition: NecEdition = "2023",
) -> Reasoned[str]:
    """Smallest trade size that holds everything.

    Args:
        filling: Every conductor and cable, grounds included.
        raceway: Kind.
        nipple: At most 24 in long.
        at_least: Smallest trade size wanted. [in]
        edition: ``2020`` or ``2023``.

    Returns:
        Label; the narrower ones are passed over with their fill. [in]

    Raises:
        SizingError: Trade size 2 does not hold it either; the cure is to split.

    Code basis:
        NFPA 70-2023, chapter 9 Tables 1, 4 and 5; note 7 and Annex C where all conductors are equal.

    Examples:
        >>> trade_size_for([Filling("12", 3), Filling("10", 4), Filling("8", 8)], "EMT").value
        '1-1/4'
    """
    r = Reasoning(edition)
    need_choice("raceway", raceway, _RACEWAYS)
    kept = _kept(filling)
    area = r.take(conductors_area_sqin(kept, edition=edition))
    count = sum(one.count for one in kept)
    equal = _equal_thhn(kept)
    start = 0 if at_least is None else trade_size_index(at_least)
    for trade_size in TRADE_SIZES[start:]:
        usable = tables.usable_area_sqin(raceway, trade_size, count, nipple=nipple)
        share = tables.fill_ratio(count, nipple=nipple)
        by_count = None if equal is None or nipple else tables.annex_c_count(raceway, trade_size, equal)
        holds = area <= usable.value + 1e-9 if by_count is None else count <= by_count.value
        if not holds:
            held = f"{by_count.value} of them" if by_count is not None else f"{shown(usable.value)} in2 usable"
            r.pass_over(f"{raceway} {trade_size}: {held}, {count} conductors of {shown(area)} in2")
            continue
        if by_count is not None:
            r.step(f"{raceway} {trade_size} holds {by_count.value} of {equal} AWG", trade_size, "in", *by_count.basis)
        else:
            text = f"{raceway} {trade_size} holds {shown(usable.value)} in2 at {share.value:.0%} for {count} conductors"
            r.step(text, trade_size, "in", *share.basis, *usable.basis)
        return r.done(trade_size, "in")
    raise SizingError(
        f"no {raceway} up to trade size {TRADE_SIZES[-1]} holds {count} conductors of {shown(area)} in2: "
        "split the circuits over two raceways, or one circuit over parallel conductors"
    )


@dataclass(frozen=True, slots=True)
class Sharing:
    """Whether two energy classes may run together, and what it would take.

    Attributes:
        allowed: Without doing anything further.
        conditions: What has to hold, each with its clause in words; when not allowed: the ways out.
    """

    allowed: bool
    conditions: tuple[str, ...]


def may_share(
    first: EnergyClassName,
    second: EnergyClassName,
    *,
    functionally_associated: bool = True,
    edition: NecEdition = "2023",
) -> Reasoned[Sharing]:
    """Whether circuits of two energy classes may share a raceway, box or compartment.

    Args:
        first: Energy class.
        second: Energy class.
        functionally_associated: Class 1 and line voltage serve the same equipment.
        edition: ``2020`` or ``2023``.

    Returns:
        The answer with its conditions.

    Code basis:
        NFPA 70-2023, 300.3(C)(1); 724.48; 725.136; 725.130(A) exceptions.
    """
    need_choice("first", first, _CLASSES)
    need_choice("second", second, _CLASSES)
    r = Reasoning(edition)
    pair = {first, second}
    insulation = nec("300.3(C)(1)", edition)
    class1 = limited_energy_clause("724.48", edition)
    class2 = nec("725.136(A)", edition)
    reclassify = nec("725.130(A)", edition, "exceptions")
    limited = pair & {"Class 2", "data"}
    power = pair & {"line voltage", "Class 1"}
    words = " with ".join((first, second))
    if limited and power:
        ways = (
            "separate raceway",
            f"barrier between them ({nec('725.136(B)', edition)})",
            f"inside an enclosure where both serve the same equipment: 1/4 in apart ({nec('725.136(D)', edition)})",
            f"run as Class 1: take the Class 2 marking off, Class 1 wiring and overcurrent protection ({reclassify})",
        )
        r.step(words, "not in one raceway", "-", class2, reclassify)
        r.pass_over(f"reclassifying the Class 2 circuit to Class 1: offered with its conditions ({reclassify})")
        return r.done(Sharing(False, ways), "-")
    if pair == {"line voltage", "Class 1"}:
        if functionally_associated:
            met = (f"same equipment served; every conductor insulated for the highest voltage ({insulation})",)
            r.step(f"{words}, functionally associated", "may share", "-", class1, insulation)
            return r.done(Sharing(True, met), "-")
        r.step(f"{words}, not functionally associated", "not in one raceway", "-", class1)
        return r.done(Sharing(False, ("separate raceway",)), "-")
    if limited:
        met = (f"Class 2 circuits together; data cables at least of Class 2 type ({nec('725.139', edition)})",)
        r.step(words, "may share", "-", nec("725.139", edition))
        return r.done(Sharing(True, met), "-")
    place = class1 if first == "Class 1" else insulation
    r.step(words, "may share", "-", place)
    return r.done(Sharing(True, (f"every conductor insulated for the highest voltage ({insulation})",)), "-")


@dataclass(frozen=True, slots=True)
class RacewayCircuit:
    """One circuit that shares a raceway, with all that its size depends on.

    Attributes:
        name: Tag, for words and for the order of results.
        min_a: Ampacity at the terminals. [A]
        wires: Lines and neutral, for the count.
        terminal_degc: Column its terminals allow. [degC]
        ocpd_a: Device ahead. [A]
        ocpd_by_article_430: See ``conductor_size``.
        load_a: See ``conductor_size``. [A]
        at_least: See ``conductor_size``. [AWG or kcmil]
        drops: Voltage-drop cases, see ``size_for_drops``.
        wire: Material and insulation.
    """

    name: str
    min_a: float
    wires: CircuitWires
    terminal_degc: int
    ocpd_a: float
    ocpd_by_article_430: bool = False
    load_a: float | None = None
    at_least: str | None = None
    drops: tuple[tuple[Run, float, str], ...] = ()
    wire: Wire = _USUAL_WIRE


@dataclass(frozen=True, slots=True)
class SharedRaceway:
    """A raceway with all its circuits sized.

    Attributes:
        trade_size: Label. [in]
        sizes: Size of the lines and neutral of each circuit, by name, with its reasoning.
        ground_size: The equipment ground all circuits share. [AWG or kcmil]
        current_carrying: Conductors that count. [-]
        filling: Everything in it.
    """

    trade_size: str
    sizes: tuple[tuple[str, Reasoned[str]], ...]
    ground_size: Reasoned[str]
    current_carrying: int
    filling: tuple[Filling, ...]


def settle_shared_raceway(
    circuits: Sequence[RacewayCircuit],
    raceway: Raceway,
    around: Surroundings | None = None,
    *,
    at_least: str | None = None,
    edition: NecEdition = "2023",
) -> Reasoned[SharedRaceway]:
    """Sizes of all circuits in one raceway and its trade size.

    The count of companions fixes the derating, derating and voltage drop the sizes, sizes and grounds the trade
    size. None of them changes the count, so one pass settles; see ``split_over_raceways`` for the loop.

    Args:
        circuits: All circuits in it; order does not matter.
        raceway: Kind.
        around: Ambient, and whether it is a nipple; its count of companions is replaced.
        at_least: Smallest trade size wanted. [in]
        edition: ``2020`` or ``2023``.

    Returns:
        Sizes, ground and trade size; unit of the trade size. [in]

    Raises:
        SizingError: No circuit, two of one name, or nothing holds; the cure is to split.

    Code basis:
        NFPA 70-2023, 310.15(C)(1); 250.122(C); chapter 9 Table 1.
    """
    ordered = sorted(circuits, key=lambda c: c.name)
    if len({c.name for c in ordered}) != len(ordered):
        raise SizingError("two circuits of one name share the raceway: give each its own")
    r = Reasoning(edition)
    count = r.take(current_carrying_count([c.wires for c in ordered], edition=edition))
    place = replace(around or Surroundings(), current_carrying=count)
    metal = "pvc" if raceway == "PVC40" else "steel"
    sizes = tuple((c.name, _circuit_size(c, place, metal, edition)) for c in ordered)
    grounds = [_ground(c, size.value, place, edition) for c, (_, size) in zip(ordered, sizes, strict=True)]
    ground = shared_egc_size(grounds, [size.value for _, size in sizes], edition=edition)
    filling = (
        *(
            Filling(size.value, c.wires.lines + (c.wires.neutral != "none"), c.wire.insulation)
            for c, (_, size) in zip(ordered, sizes, strict=True)
        ),
        Filling(ground.value, 1),
    )
    for name, size in sizes:
        r.step(f"{name}: with {count} current-carrying conductors", size.value, size.unit, *size.basis)
        for text in size.passed_over:
            r.pass_over(f"{name}: {text}")
    r.take(ground)
    found = trade_size_for(filling, raceway, nipple=place.short, at_least=at_least, edition=edition)
    trade_size = r.take(found)
    return r.done(SharedRaceway(trade_size, sizes, ground, count, filling), "in")


def split_over_raceways(
    circuits: Sequence[RacewayCircuit],
    raceway: Raceway,
    around: Surroundings | None = None,
    *,
    max_trade_size: str = "2",
    at_least: str | None = None,
    edition: NecEdition = "2023",
) -> Reasoned[tuple[SharedRaceway, ...]]:
    """As few raceways as hold all circuits, derating fed back with every split.

    Fewer companions derate less, so a split may bring thinner conductors: sizes are worked out anew each time.
    Circuits are dealt out by ampacity, largest first, in turn.

    Args:
        circuits: All circuits of one route.
        raceway: Kind.
        around: See ``settle_shared_raceway``.
        max_trade_size: Widest raceway wanted. [in]
        at_least: Smallest trade size wanted. [in]
        edition: ``2020`` or ``2023``.

    Returns:
        The raceways; fewer of them are passed over with the reason.

    Raises:
        SizingError: A single circuit does not fit.

    Code basis:
        See ``settle_shared_raceway``.
    """
    r = Reasoning(edition)
    widest = trade_size_index(max_trade_size)
    by_load = sorted(circuits, key=lambda c: (-c.min_a, c.name))
    for parts in range(1, max(1, len(by_load)) + 1):
        try:
            found = [
                settle_shared_raceway(by_load[n::parts], raceway, around, at_least=at_least, edition=edition)
                for n in range(parts)
            ]
        except SizingError as refused:
            if parts >= len(by_load):
                raise
            r.pass_over(f"{parts} raceway{'s' if parts > 1 else ''}: {refused}")
            continue
        wide = [f.value.trade_size for f in found if trade_size_index(f.value.trade_size) > widest]
        if not wide:
            for one in found:
                r.take(one)
            r.step(f"{len(by_load)} circuits over", parts, "raceways")
            return r.done(tuple(f.value for f in found), "raceways")
        r.pass_over(f"{parts} raceway{'s' if parts > 1 else ''}: trade size {wide[0]} needed, {max_trade_size} at most")
    raise SizingError(
        f"a single circuit needs more than {raceway} {max_trade_size}: take a wider raceway or parallel conductors"
    )


def _circuit_size(c: RacewayCircuit, around: Surroundings, metal: str, edition: NecEdition) -> Reasoned[str]:
    size = _by_ampacity(c, around, edition)
    if not c.drops:
        return size
    drops = tuple((replace(run, raceway="pvc" if metal == "pvc" else "steel"), a, b) for run, a, b in c.drops)
    return size_for_drops(size, drops, edition=edition)


def _by_ampacity(c: RacewayCircuit, around: Surroundings, edition: NecEdition) -> Reasoned[str]:
    return conductor_size(
        c.min_a,
        c.terminal_degc,
        c.wire,
        around,
        load_a=c.load_a,
        ocpd_a=c.ocpd_a,
        ocpd_by_article_430=c.ocpd_by_article_430,
        at_least=c.at_least,
        edition=edition,
    )


def _ground(c: RacewayCircuit, size: str, around: Surroundings, edition: NecEdition) -> Reasoned[str]:
    needed = _by_ampacity(c, around, edition).value
    return egc_size(c.ocpd_a, size, needed, edition=edition)


def _kept(filling: Sequence[Filling]) -> tuple[Filling, ...]:
    for one in filling:
        if one.count < 0:
            raise SizingError(f"{one.size}: count={one.count}: zero or more conductors")
    return tuple(sorted((f for f in filling if f.count > 0), key=_order))


def _order(f: Filling) -> tuple[int, str, float]:
    return (
        awg_index(f.size) if f.cable_diameter_inch is None else -1,
        f.insulation,
        f.cable_diameter_inch or 0.0,
    )


def _insulation_shown(one: Filling) -> str:
    return "TFFN" if awg_index(one.size) < awg_index("14") else one.insulation


def _equal_thhn(kept: Sequence[Filling]) -> str | None:
    """The size, where all conductors are equal and Annex C here has them."""
    keys = {(f.size, f.insulation if f.cable_diameter_inch is None else "cable") for f in kept}
    if len(keys) != 1:
        return None
    size, insulation = next(iter(keys))
    if insulation not in ("THHN", "THWN", "THWN-2") or awg_index(size) < awg_index("14"):
        return None
    try:
        tables.annex_c_count("EMT", TRADE_SIZES[0], size)
    except TableError:
        return None
    return size
