"""Raceways: inside areas, how full they may be, and how many conductors of one size go in."""

from __future__ import annotations

import math
from typing import Literal, TypeAlias

from galleyproof.findings import Citation, Cited
from galleyproof.tables.reader import Table, TableError, load

__all__ = [
    "TRADE_SIZES",
    "Raceway",
    "annex_c_count",
    "fill_ratio",
    "inside_area_sqin",
    "inside_diameter_inch",
    "same_size_count",
    "trade_size_for_area",
    "trade_size_index",
    "usable_area_sqin",
]

Raceway: TypeAlias = Literal["EMT", "RMC", "PVC40", "FMC", "LFMC"]

TRADE_SIZES: tuple[str, ...] = ("1/2", "3/4", "1", "1-1/4", "1-1/2", "2")
"""Trade sizes as labels, smallest first."""

_USABLE_COLUMN = {
    "1": "area_53_sqin",
    "2": "area_31_sqin",
    "over_2": "area_40_sqin",
    "nipple": "area_60_sqin",
}


def _table_4() -> Table:
    return load("nfpa70_2023_ch9_table_4")


def trade_size_index(trade_size: str) -> int:
    """Place of a trade size in ``TRADE_SIZES``; a larger number is a wider raceway.

    Raises:
        TableError: Not a trade size of the tables here.
    """
    if trade_size not in TRADE_SIZES:
        raise TableError(f"trade_size={trade_size!r} is not a trade size here; sizes: {', '.join(TRADE_SIZES)}")
    return TRADE_SIZES.index(trade_size)


def _case(conductors: int, nipple: bool) -> str:
    if conductors < 1:
        raise TableError(f"conductors={conductors} cannot be looked up: at least 1 is needed")
    return "nipple" if nipple else "over_2" if conductors > 2 else str(conductors)


def fill_ratio(conductors: int, *, nipple: bool = False) -> Cited[float]:
    """Share of the inside area that conductors may take.

    Args:
        conductors: All of them, equipment grounds included. [-]
        nipple: At most 24 in long.

    Returns:
        0.53 for one, 0.31 for two, 0.40 for more, 0.60 for a nipple. [-]

    Raises:
        TableError: Below 1.

    Code basis:
        NFPA 70-2023, chapter 9 Table 1 and note 4.
    """
    row = load("nfpa70_2023_ch9_table_1").exact(conductors=_case(conductors, nipple))
    return Cited(row.number("max_fill_pct") / 100.0, (row.citation(),))


def inside_diameter_inch(raceway: Raceway, trade_size: str) -> Cited[float]:
    """Inside diameter [in].

    Args:
        raceway: Kind.
        trade_size: Label.

    Raises:
        TableError: No such row.

    Code basis:
        NFPA 70-2023, chapter 9 Table 4.
    """
    return _table_4().exact(raceway=raceway, trade_size=trade_size).cited("inside_diameter_inch")


def inside_area_sqin(raceway: Raceway, trade_size: str) -> Cited[float]:
    """Whole inside area [in2].

    Args:
        raceway: Kind.
        trade_size: Label.

    Raises:
        TableError: No such row.

    Code basis:
        NFPA 70-2023, chapter 9 Table 4.
    """
    return _table_4().exact(raceway=raceway, trade_size=trade_size).cited("area_sqin")


def usable_area_sqin(raceway: Raceway, trade_size: str, conductors: int, *, nipple: bool = False) -> Cited[float]:
    """Area that conductors may take, as the table prints it.

    Args:
        raceway: Kind.
        trade_size: Label. [in]
        conductors: All of them. [-]
        nipple: At most 24 in long.

    Returns:
        Area. [in2]

    Raises:
        TableError: No such row, or no conductors.

    Code basis:
        NFPA 70-2023, chapter 9 Tables 1 and 4.

    Examples:
        >>> usable_area_sqin("EMT", "3/4", 3).value
        0.213
    """
    row = _table_4().exact(raceway=raceway, trade_size=trade_size)
    return row.cited(_USABLE_COLUMN[_case(conductors, nipple)])


def trade_size_for_area(raceway: Raceway, area_sqin: float, conductors: int, *, nipple: bool = False) -> Cited[str]:
    """Smallest trade size whose usable area is not below the conductors' area: rounds up.

    Args:
        raceway: Kind.
        area_sqin: Sum over the conductors. [in2]
        conductors: All of them. [-]
        nipple: At most 24 in long.

    Returns:
        Trade size label. [in]

    Raises:
        TableError: Above the last row (trade size 2).

    Code basis:
        NFPA 70-2023, chapter 9 Tables 1 and 4.

    Examples:
        >>> trade_size_for_area("EMT", 0.4171, 15).value
        '1-1/4'
    """
    row = _table_4().at_least(_USABLE_COLUMN[_case(conductors, nipple)], area_sqin, raceway=raceway)
    return row.cited_label("trade_size")


def same_size_count(usable_sqin: float, conductor_sqin: float) -> int:
    """How many conductors of one size go into an area: down, but up from a decimal of 0.8.

    Args:
        usable_sqin: Usable area for more than two conductors. [in2]
        conductor_sqin: Area of one. [in2]

    Returns:
        Count. [-]

    Raises:
        TableError: An area is not above zero.

    Code basis:
        NFPA 70-2023, chapter 9 note 7.
    """
    if not (usable_sqin > 0.0 and conductor_sqin > 0.0):
        raise TableError(f"usable_sqin={usable_sqin}, conductor_sqin={conductor_sqin}: areas must be above zero")
    quotient = usable_sqin / conductor_sqin
    whole = math.floor(quotient)
    # A quotient of exactly x.8 must not fall below it by the last bit.
    return whole + (1 if quotient - whole >= 0.8 - 1e-9 else 0)


def annex_c_count(raceway: Raceway, trade_size: str, size: str) -> Cited[int]:
    """Largest number of THHN, THWN or THWN-2 conductors of one size.

    Args:
        raceway: Kind.
        trade_size: Label. [in]
        size: 14 AWG to 500 kcmil. [AWG or kcmil]

    Returns:
        Count; the smaller one in the two cells where the areas and the printed annex differ. [-]

    Raises:
        TableError: No such row.

    Code basis:
        NFPA 70-2023, Annex C, computed from the areas of chapter 9 Tables 4 and 5 with note 7.

    Examples:
        >>> annex_c_count("EMT", "3/4", "12").value
        16
    """
    row = load("nfpa70_2023_annex_c_thhn").exact(raceway=raceway, trade_size=trade_size, size=size)
    computed, printed = row.number("max_count"), row.number_or_none("printed_count")
    basis = Citation("NFPA 70", "2023", "Annex C", "computed from chapter 9 Tables 4 and 5, note 7")
    if printed is not None:
        note = f"the areas give {computed:g}, the printed annex {printed:g}; the smaller is used"
        basis = Citation("NFPA 70", "2023", "Annex C", note)
        return Cited(int(min(computed, printed)), (basis,))
    return Cited(int(computed), (basis,))
