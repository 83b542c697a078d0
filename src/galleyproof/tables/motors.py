"""Motor full-load currents by table: for conductors, switches and branch protection, never for overloads.

NFPA 70 430.6(A)(1) takes the table current instead of the nameplate for those; overloads go by the nameplate
(430.6(A)(2)). EC motors, and shaded-pole or PSC fan motors that are marked so, are not in the tables: their
nameplate rules.
"""

from __future__ import annotations

from fractions import Fraction

from galleyproof.findings import Citation, Cited
from galleyproof.tables.reader import Row, Table, TableError, load

__all__ = ["flc_single_phase_a", "flc_three_phase_a", "motor_column_v", "rated_hp_values"]

# (lowest, highest system voltage, column heading), as the headings of the two tables group them.
_COLUMN_RANGES_V = (
    (110, 120, 115),
    (200, 200, 200),
    (208, 208, 208),
    (220, 240, 230),
    (440, 480, 460),
    (550, 600, 575),
)
# The table prints 1/6 and 1/3; a job may write 0.167 or 0.33.
_HP_REL_TOL = 0.011


def _table(phases: int) -> Table:
    if phases not in (1, 3):
        raise TableError(f"phases={phases} is not a motor table of NFPA 70-2023; phases: 1, 3")
    return load("nfpa70_2023_table_430_248" if phases == 1 else "nfpa70_2023_table_430_250")


def motor_column_v(supply_v: float, phases: int) -> Cited[int]:
    """Column heading that serves a system voltage.

    The rule of the tables: the 115 V column serves 110 V to 120 V systems, 230 V serves 220 V to 240 V, 460 V
    serves 440 V to 480 V, 575 V serves 550 V to 600 V; 200 V and 208 V stand for themselves.

    Args:
        supply_v: System or motor voltage, line to line for three phases. [V]
        phases: 1 or 3. [-]

    Returns:
        115, 200, 208, 230, 460 or 575. [V]

    Raises:
        TableError: No column serves this voltage: 277 V motors go by their nameplate.

    Code basis:
        NFPA 70-2023, Table 430.248 and Table 430.250, headings.

    Examples:
        >>> motor_column_v(480, 3).value
        460
    """
    table = _table(phases)
    present = [column for low, high, column in _COLUMN_RANGES_V if _heading(column) in _names(table)]
    for low, high, column in _COLUMN_RANGES_V:
        if low <= supply_v <= high and column in present:
            return Cited(column, (Citation(table.standard, table.edition, table.table, "column headings"),))
    below = [v for v in present if v < supply_v][-1:]
    above = [v for v in present if v > supply_v][:1]
    nearest = ", ".join(f"{v} V" for v in below + above)
    spans = ", ".join(_span_words(low, high) for low, high, column in _COLUMN_RANGES_V if column in present)
    raise TableError(
        f"rated_v={supply_v:g} V is not a column of {table.place}; nearest: {nearest}; its columns serve {spans}: "
        "take a motor for the supply's voltage, or one whose nameplate current rules"
    )


def rated_hp_values(phases: int) -> tuple[float, ...]:
    """The powers the table lists, smallest first [hp]."""
    return tuple(float(_hp_fraction(row.label("hp"))) for row in _table(phases).all_rows())


def flc_single_phase_a(rated_hp: float, rated_v: float) -> Cited[float]:
    """Full-load current of a single-phase motor.

    Args:
        rated_hp: Nameplate output; must be a row, no interpolation. [hp]
        rated_v: Motor or system voltage; see ``motor_column_v``. [V]

    Returns:
        Table current. [A]

    Raises:
        TableError: No such row or column; the message lists the nearest ones.

    Code basis:
        NFPA 70-2023, Table 430.248; 430.6(A)(1).

    Leaves out:
        Low-speed, high-torque and multispeed motors, EC motors: nameplate.

    Examples:
        >>> flc_single_phase_a(0.5, 120).value
        9.8
    """
    return _flc_a(rated_hp, rated_v, 1)


def flc_three_phase_a(rated_hp: float, rated_v: float) -> Cited[float]:
    """Full-load current of a three-phase induction motor.

    Args:
        rated_hp: Nameplate output; must be a row, no interpolation. [hp]
        rated_v: Motor or system voltage, line to line; see ``motor_column_v``. [V]

    Returns:
        Table current. [A]

    Raises:
        TableError: No such row or column; the message lists the nearest ones.

    Code basis:
        NFPA 70-2023, Table 430.250; 430.6(A)(1).

    Leaves out:
        Low-speed, high-torque and multispeed motors: nameplate. 2300 V and synchronous columns.

    Examples:
        >>> flc_three_phase_a(5, 480).value
        7.6
    """
    return _flc_a(rated_hp, rated_v, 3)


def _flc_a(rated_hp: float, rated_v: float, phases: int) -> Cited[float]:
    column = _heading(motor_column_v(rated_v, phases).value)
    row = _row(rated_hp, phases)
    if row.number_or_none(column) is None:
        names = _names(_table(phases))
        held = [
            v for _, _, v in _COLUMN_RANGES_V if _heading(v) in names and row.number_or_none(_heading(v)) is not None
        ]
        has = ", ".join(f"{v} V" for v in held)
        raise TableError(
            f"{row.table.place} has no {column} for hp={row.label('hp')}; that row has currents at {has}: take a motor "
            "for one of these"
        )
    return row.cited(column)


def _row(rated_hp: float, phases: int) -> Row:
    table = _table(phases)
    rows = [(float(_hp_fraction(row.label("hp"))), row) for row in table.all_rows()]
    for value, row in rows:
        if abs(rated_hp - value) <= _HP_REL_TOL * value:
            return row
    below = [row.label("hp") for value, row in rows if value < rated_hp][-1:]
    above = [row.label("hp") for value, row in rows if value > rated_hp][:1]
    nearest = ", ".join(f"{hp} hp" for hp in below + above)
    raise TableError(
        f"rated_hp={rated_hp:g} hp is not a row of {table.place}; nearest: {nearest}; nothing is interpolated: "
        "take a motor of a listed size, or one whose nameplate current rules"
    )


def _span_words(low: int, high: int) -> str:
    return f"{low} V" if low == high else f"{low} V to {high} V"


def _hp_fraction(label: str) -> Fraction:
    whole, _, part = label.rpartition("-")
    return Fraction(part) + (Fraction(whole) if whole else 0)


def _heading(column_v: int) -> str:
    return f"flc_{column_v}v_a"


def _names(table: Table) -> tuple[str, ...]:
    return tuple(column.name for column in table.columns)
