"""What a power source may give and still feed Class 2 or Class 3 circuits."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, TypeAlias

from galleyproof.findings import Citation, Cited
from galleyproof.tables.reader import Row, Table, TableError, load

__all__ = ["WET_CONTACT_MAX_V", "PowerLimits", "Supply", "power_limits", "wet_contact_max_v"]

Supply: TypeAlias = Literal["ac", "dc"]

# Note 2 of the tables; sinusoidal AC rms, continuous DC.
WET_CONTACT_MAX_V: dict[str, float] = {"ac": 15.0, "dc": 30.0}


@dataclass(frozen=True, slots=True)
class PowerLimits:
    """Limits of one source; None where the table sets none.

    Attributes:
        circuit_class: 2 or 3. [-]
        max_va: Output after one minute, overcurrent device bypassed. [VA]
        max_a: Output current, overcurrent device bypassed. [A]
        max_ocpd_a: Overcurrent device; None: not required. [A]
        nameplate_va: Marked power, at most. [VA]
        nameplate_a: Marked current, at most. [A]
    """

    circuit_class: int
    max_va: float | None
    max_a: float
    max_ocpd_a: float | None
    nameplate_va: float
    nameplate_a: float


def power_limits(
    supply: Supply,
    source_v: float,
    *,
    inherently_limited: bool,
    circuit_class: int = 2,
    transformer: bool = True,
) -> Cited[PowerLimits]:
    """Limits of a source of one voltage.

    Args:
        supply: ``ac`` (rms) or ``dc``.
        source_v: Largest source voltage. [V]
        inherently_limited: The source limits its current itself; otherwise an overcurrent device does.
        circuit_class: 2 or 3. [-]
        transformer: The source is a transformer (note 3 of the tables).

    Returns:
        Limits.

    Raises:
        TableError: No such source: 48 V AC that is not inherently limited is not Class 2.

    Code basis:
        NFPA 70-2023, chapter 9 Tables 11(A) and 11(B).

    Leaves out:
        Interrupted DC and nonsinusoidal AC (notes 2 and 4).

    Examples:
        >>> round(power_limits("ac", 24, inherently_limited=False).value.max_ocpd_a, 2)
        4.17
    """
    if not (math.isfinite(source_v) and source_v > 0.0):
        raise TableError(f"source_v={source_v} V cannot be looked up: a finite voltage above zero is needed")
    table = load("nfpa70_2023_ch9_table_11")
    source = "inherently" if inherently_limited else "not_inherently"
    where: dict[str, float | str] = {"supply": supply, "source": source, "circuit_class": circuit_class}
    rows = table.all_rows(**where)
    for row in rows:
        if row.number("v_over") < source_v <= row.number("v_to"):
            return Cited(_limits(row, source_v, transformer), (_citation(table, supply),))
    spans = ", ".join(f"over {r.number('v_over'):g} V to {r.number('v_to'):g} V" for r in rows) or "none"
    raise TableError(
        f"source_v={source_v:g} V {supply}, {source.replace('_', ' ')} limited, is no "
        f"Class {circuit_class} source of {_citation(table, supply)}; rows: {spans}"
    )


def wet_contact_max_v(supply: Supply) -> Cited[float]:
    """Largest voltage where wet contact is likely: 15 V AC, 30 V DC [V].

    Args:
        supply: ``ac`` or ``dc``.

    Code basis:
        NFPA 70-2023, chapter 9 Tables 11(A) and 11(B), note 2 and note 4.
    """
    basis = _citation(load("nfpa70_2023_ch9_table_11"), supply)
    note = f"note {2 if supply == 'ac' else 4}"
    return Cited(WET_CONTACT_MAX_V[supply], (Citation(basis.standard, basis.edition, basis.place, note),))


def _limits(row: Row, source_v: float, transformer: bool) -> PowerLimits:
    max_va = row.number_or_none("max_va")
    low_v_va = row.number_or_none("max_va_transformer_to_15v")
    if low_v_va is not None and transformer and source_v <= 15.0:
        max_va = low_v_va
    max_a = _plain_or_over_v(row, "max_a", source_v)
    nameplate_a = _plain_or_over_v(row, "nameplate_a", source_v)
    per_v = row.number_or_none("nameplate_va_per_v")
    return PowerLimits(
        circuit_class=int(row.number("circuit_class")),
        max_va=max_va,
        max_a=row.number("max_a") if max_a is None else max_a,
        max_ocpd_a=_plain_or_over_v(row, "max_ocpd_a", source_v),
        nameplate_va=row.number("nameplate_va") if per_v is None else per_v * source_v,
        nameplate_a=row.number("nameplate_a") if nameplate_a is None else nameplate_a,
    )


def _plain_or_over_v(row: Row, column: str, source_v: float) -> float | None:
    over_v = row.number_or_none(f"{column}_times_v")
    return row.number_or_none(column) if over_v is None else over_v / source_v


def _citation(table: Table, supply: Supply) -> Citation:
    place = f"chapter 9 Table 11({'A' if supply == 'ac' else 'B'})"
    return Citation(table.standard, table.edition, place, table.columns[0].authority)
