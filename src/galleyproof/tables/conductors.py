"""Conductors: sizes as labels, ampacity and its corrections, resistance, dimensions, small-conductor limits.

A size is a label (``14``, ``1/0``, ``250``), never a number: only its place in ``AWG_ORDER`` can be compared.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, TypeAlias

from galleyproof.findings import Citation, Cited
from galleyproof.tables.editions import NecEdition, check_edition
from galleyproof.tables.reader import Row, TableError, load

__all__ = [
    "AWG_ORDER",
    "AcImpedance",
    "Insulation",
    "Material",
    "RacewayMetal",
    "ac_impedance",
    "adjustment_ratio",
    "ambient_factor",
    "ampacity_a",
    "awg_area_mm2",
    "awg_diameter_inch",
    "awg_index",
    "circular_mils",
    "dc_resistance_ohm_per_kft",
    "fixture_wire_ampacity_a",
    "iec_max_resistance_ohm_per_km",
    "insulated_area_sqin",
    "insulated_diameter_inch",
    "resistance_at_degc",
    "size_for_ampacity",
    "size_for_circular_mils",
    "small_conductor_max_ocpd_a",
]

Material: TypeAlias = Literal["cu", "al"]
Insulation: TypeAlias = Literal["THHN", "XHHW", "TFFN"]
RacewayMetal: TypeAlias = Literal["pvc", "aluminum", "steel"]

AWG_ORDER: tuple[str, ...] = (
    *(str(n) for n in range(24, 0, -1)),
    *("1/0", "2/0", "3/0", "4/0"),
    *(
        "250",
        "300",
        "350",
        "400",
        "500",
        "600",
        "700",
        "750",
        "800",
        "900",
        "1000",
        "1250",
        "1500",
        "1750",
        "2000",
    ),
)
"""Sizes as labels, thinnest first: AWG numbers, then kcmil from 250 on."""

# Note 2 of chapter 9 Table 8: R2 = R1 (1 + a (T2 - 75)).
_TEMPERATURE_COEFFICIENT_PER_K = {"cu": 0.00323, "al": 0.00330}


def awg_index(size: str) -> int:
    """Place of a size in ``AWG_ORDER``; a larger number is a thicker conductor.

    Raises:
        TableError: Not a size.

    Examples:
        >>> awg_index("4/0") > awg_index("1/0") > awg_index("14")
        True
    """
    if size not in AWG_ORDER:
        raise TableError(f"size={size!r} is not a conductor size; sizes: {', '.join(AWG_ORDER)}")
    return AWG_ORDER.index(size)


def ampacity_a(size: str, column_degc: int, material: Material = "cu") -> Cited[float]:
    """Ampacity of at most three current-carrying conductors in raceway or cable, 30 degC ambient.

    Args:
        size: Label. [AWG or kcmil]
        column_degc: 60, 75 or 90. [degC]
        material: ``cu`` or ``al`` (also copper-clad aluminum).

    Returns:
        Table value. [A]

    Raises:
        TableError: No such row, column or cell.

    Code basis:
        NFPA 70-2023, Table 310.16.

    Leaves out:
        Terminal limits (110.14(C)) and 240.4(D): the caller picks the column.

    Examples:
        >>> ampacity_a("12", 75).value
        25.0
    """
    return load("nfpa70_2023_table_310_16").exact(size=size).cited(f"{material}_{column_degc}c_a")


def size_for_ampacity(min_a: float, column_degc: int, material: Material = "cu") -> Cited[str]:
    """Thinnest size of the table whose ampacity is not below ``min_a``: rounds up.

    Args:
        min_a: Ampacity asked for; exactly equal is enough. [A]
        column_degc: 60, 75 or 90. [degC]
        material: ``cu`` or ``al``.

    Returns:
        Size label. [AWG or kcmil]

    Raises:
        TableError: Above the last row (500 kcmil).

    Code basis:
        NFPA 70-2023, Table 310.16.

    Examples:
        >>> size_for_ampacity(27.5, 75).value
        '10'
    """
    row = load("nfpa70_2023_table_310_16").at_least(f"{material}_{column_degc}c_a", min_a)
    return row.cited_label("size")


def ambient_factor(ambient_degc: float, column_degc: int) -> Cited[float]:
    """Correction of the table ampacity for the ambient temperature, on a 30 degC basis.

    Args:
        ambient_degc: Between two bands the warmer one counts. [degC]
        column_degc: 60, 75 or 90, of the insulation. [degC]

    Returns:
        Factor; above 1 below 26 degC. [-]

    Raises:
        TableError: Too hot for the insulation.

    Code basis:
        NFPA 70-2023, Table 310.15(B)(1)(1).

    Examples:
        >>> ambient_factor(55, 90).value
        0.76
    """
    return (
        load("nfpa70_2023_table_310_15_b_1_1").at_least("ambient_to_degc", ambient_degc).cited(f"factor_{column_degc}c")
    )


def adjustment_ratio(current_carrying: int) -> Cited[float]:
    """Adjustment for the number of current-carrying conductors in one raceway or cable.

    Args:
        current_carrying: Equipment grounds and most wye neutrals do not count. [-]

    Returns:
        1.0 down to 0.35. [-]

    Raises:
        TableError: Below 1.

    Code basis:
        NFPA 70-2023, Table 310.15(C)(1).

    Leaves out:
        Lengths of at most 24 in, where no adjustment is needed.

    Examples:
        >>> adjustment_ratio(9).value
        0.7
    """
    if current_carrying < 1:
        raise TableError(f"current_carrying={current_carrying} cannot be looked up: at least 1 is needed")
    row = load("nfpa70_2023_table_310_15_c_1").at_least("conductors_to", current_carrying, open_end=True)
    return Cited(row.number("percent") / 100.0, (row.citation("percent"),))


def _table_8_row(size: str, stranded: bool) -> Row:
    table = load("nfpa70_2023_ch9_table_8")
    rows = [r for r in table.all_rows(size=size) if (r.number("strands") > 1) == stranded]
    if rows:
        return rows[0]
    if table.all_rows(size=size):
        form = "stranded" if stranded else "solid"
        raise TableError(f"{table.place} has no {form} conductor of size={size}; nearest: the other form")
    return table.exact(size=size)


def circular_mils(size: str) -> Cited[float]:
    """Area of the metal as the table prints it [cmil].

    Args:
        size: Label. [AWG or kcmil]

    Raises:
        TableError: No such row.

    Code basis:
        NFPA 70-2023, chapter 9 Table 8.
    """
    rows = load("nfpa70_2023_ch9_table_8").all_rows(size=size)
    row = rows[0] if rows else _table_8_row(size, True)
    return row.cited("circular_mils")


def size_for_circular_mils(min_cmil: float) -> Cited[str]:
    """Thinnest size of Table 8 whose area is not below ``min_cmil``: rounds up.

    Args:
        min_cmil: Area asked for. [cmil]

    Returns:
        Size label. [AWG or kcmil]

    Raises:
        TableError: Above the last row.

    Code basis:
        NFPA 70-2023, chapter 9 Table 8; for 250.122(B).

    Examples:
        >>> size_for_circular_mils(58436).value
        '2'
    """
    return load("nfpa70_2023_ch9_table_8").at_least("circular_mils", min_cmil).cited_label("size")


def dc_resistance_ohm_per_kft(
    size: str, material: Material = "cu", *, stranded: bool = True, coated: bool = False
) -> Cited[float]:
    """DC resistance at 75 degC.

    Args:
        size: Label. [AWG or kcmil]
        material: ``cu`` or ``al``.
        stranded: Class B stranding; solid rows end at 8 AWG.
        coated: Tinned copper; aluminum has no such column.

    Returns:
        Resistance of one conductor. [ohm/kft]

    Raises:
        TableError: No such row or column.

    Code basis:
        NFPA 70-2023, chapter 9 Table 8.

    Examples:
        >>> dc_resistance_ohm_per_kft("12").value
        1.98
    """
    if material == "al" and coated:
        raise TableError("coated=True with material='al' is not a column of NFPA 70-2023 chapter 9 Table 8")
    column = "r_al_ohm_per_kft" if material == "al" else f"r_cu_{'' if coated else 'un'}coated_ohm_per_kft"
    return _table_8_row(size, stranded).cited(column)


def resistance_at_degc(r75: float, conductor_degc: float, material: Material = "cu") -> Cited[float]:
    """A Table 8 resistance brought to another conductor temperature.

    Args:
        r75: Resistance at 75 degC. [any]
        conductor_degc: Temperature of the conductor. [degC]
        material: ``cu`` or ``al``.

    Returns:
        Resistance. [unit of ``r75``]

    Code basis:
        NFPA 70-2023, chapter 9 Table 8, note 2: R2 = R1 (1 + a (T2 - 75)).
    """
    factor = 1.0 + _TEMPERATURE_COEFFICIENT_PER_K[material] * (conductor_degc - 75.0)
    return Cited(r75 * factor, (Citation("NFPA 70", "2023", "chapter 9 Table 8", "note 2"),))


@dataclass(frozen=True, slots=True)
class AcImpedance:
    """Resistance and reactance of one conductor to neutral at 60 Hz and 75 degC.

    Attributes:
        r_ohm_per_kft: AC resistance. [ohm/kft]
        x_ohm_per_kft: Reactance. [ohm/kft]
    """

    r_ohm_per_kft: float
    x_ohm_per_kft: float


def ac_impedance(size: str, material: Material = "cu", raceway: RacewayMetal = "steel") -> Cited[AcImpedance]:
    """AC resistance and reactance to neutral, three single conductors in a raceway.

    Args:
        size: Label, 14 AWG to 500 kcmil. [AWG or kcmil]
        material: ``cu`` or ``al``.
        raceway: What the raceway is made of; EMT, RMC and flexible metal are ``steel``.

    Returns:
        Both parts; times sqrt(3) line to line, times 2 for single-phase. [ohm/kft]

    Raises:
        TableError: No such row or cell.

    Code basis:
        NFPA 70-2023, chapter 9 Table 9.
    """
    row = load("nfpa70_2023_ch9_table_9").exact(size=size)
    r = row.number(f"r_{material}_{raceway}_ohm_per_kft")
    x = row.number("x_steel_ohm_per_kft" if raceway == "steel" else "x_nonmagnetic_ohm_per_kft")
    return Cited(AcImpedance(r, x), (row.citation(),))


def insulated_area_sqin(size: str, insulation: Insulation = "THHN") -> Cited[float]:
    """Area of an insulated conductor, for raceway fill.

    Args:
        size: Label. [AWG or kcmil]
        insulation: ``THHN`` (also THWN, THWN-2), ``XHHW`` (also XHHW-2, XHH), ``TFFN`` (18 and 16 AWG).

    Returns:
        Approximate area. [in2]

    Raises:
        TableError: No such row.

    Code basis:
        NFPA 70-2023, chapter 9 Table 5.
    """
    return load("nfpa70_2023_ch9_table_5").exact(insulation=insulation, size=size).cited("area_sqin")


def insulated_diameter_inch(size: str, insulation: Insulation = "THHN") -> Cited[float]:
    """Diameter of an insulated conductor; arguments as for ``insulated_area_sqin`` [in].

    Args:
        size: Label. [AWG or kcmil]
        insulation: See ``insulated_area_sqin``.

    Raises:
        TableError: No such row.

    Code basis:
        NFPA 70-2023, chapter 9 Table 5.
    """
    return load("nfpa70_2023_ch9_table_5").exact(insulation=insulation, size=size).cited("diameter_inch")


def small_conductor_max_ocpd_a(
    size: str, material: Literal["cu", "al", "cca"] = "cu", edition: NecEdition = "2023"
) -> Cited[float]:
    """Largest overcurrent device that may protect an 18 AWG to 10 AWG conductor.

    Args:
        size: 18, 16, 14, 12 or 10. [AWG]
        material: ``cu``, ``al`` or ``cca`` (copper-clad aluminum).
        edition: 14 AWG copper-clad aluminum exists from 2023 on.

    Returns:
        Device rating. [A]

    Raises:
        TableError: No such row, or not in this edition.

    Code basis:
        NFPA 70-2023, 240.4(D).

    Leaves out:
        240.4(E) and (G), which set the limit aside (among others for motor branch circuits), and the marking
        that devices for 18 and 16 AWG need.
    """
    check_edition(edition)
    table = load("nfpa70_2023_240_4_d")
    for name in (material,) if material == "cu" else (material, "al_cca"):
        for row in table.all_rows(size_awg=size, material=name):
            if row.number("since") <= float(edition):
                cite = row.citation("max_ocpd_a")
                return Cited(row.number("max_ocpd_a"), (Citation(cite.standard, edition, cite.place, cite.note),))
    listed = ", ".join(
        f"{r.label('size_awg')} AWG {r.label('material')}"
        for r in table.all_rows()
        if r.number("since") <= float(edition)
    )
    raise TableError(f"size={size} AWG, material={material} is not a row of NFPA 70-{edition} 240.4(D); rows: {listed}")


def fixture_wire_ampacity_a(size: str) -> Cited[float]:
    """Ampacity of fixture wire, the basis for 18 and 16 AWG control conductors.

    Args:
        size: 18 to 10. [AWG]

    Returns:
        Table value. [A]

    Raises:
        TableError: No such row.

    Code basis:
        NFPA 70-2023, Table 402.5.
    """
    return load("nfpa70_2023_table_402_5").exact(size_awg=size).cited("ampacity_a")


def awg_diameter_inch(size: str) -> Cited[float]:
    """Diameter of a solid AWG conductor by the rule d = 0.005 in x 92^((36-n)/39).

    Args:
        size: 24 to 4/0. [AWG]

    Returns:
        Diameter, unrounded. [in]

    Raises:
        TableError: A kcmil size, or no size at all.

    Code basis:
        ASTM B258, rule of the gauge.

    Examples:
        >>> round(awg_diameter_inch("12").value, 4)
        0.0808
    """
    row = load("astm_b258_2018_awg").exact(size=size)
    return Cited(0.005 * 92.0 ** ((36.0 - row.number("n")) / 39.0), (row.citation(),))


def awg_area_mm2(size: str) -> Cited[float]:
    """Metal area of a solid AWG conductor from its diameter [mm2].

    Args:
        size: 24 to 4/0. [AWG]

    Raises:
        TableError: A kcmil size, or no size at all.

    Code basis:
        ASTM B258, rule of the gauge.
    """
    diameter = awg_diameter_inch(size)
    return Cited(math.pi / 4.0 * (diameter.value * 25.4) ** 2, diameter.basis)


def iec_max_resistance_ohm_per_km(area_mm2: float, material: Material = "cu", *, coated: bool = False) -> Cited[float]:
    """Largest DC resistance of a class 1 or class 2 conductor at 20 degC.

    Args:
        area_mm2: Nominal area, must be a row. [mm2]
        material: ``cu`` or ``al``.
        coated: Metal-coated copper.

    Returns:
        Resistance. [ohm/km]

    Raises:
        TableError: No such row or cell.

    Code basis:
        IEC 60228-2004, Tables 1 and 2.
    """
    if material == "al" and coated:
        raise TableError("coated=True with material='al' is not a column of IEC 60228-2004 Tables 1 and 2")
    column = "al_ohm_per_km" if material == "al" else f"cu_{'coated' if coated else 'plain'}_ohm_per_km"
    return load("iec60228_2004_tables_1_2").exact(area_mm2=area_mm2).cited(column)
