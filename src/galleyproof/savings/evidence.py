"""What others have found: drives at part load, and field results to hold a computed saving against.

Field results are a bound shown beside a result. Nothing here is fitted to them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from galleyproof.findings import Citation, Cited
from galleyproof.savings.plant import PartLoad
from galleyproof.tables import load

__all__ = ["FieldQuantity", "FieldResult", "drive_part_load", "field_results", "highest_seen"]

FieldQuantity: TypeAlias = Literal["total saving", "fan saving", "mean flow"]

_DRIVES = "common_practice_drive_part_load"
_FIELD = "common_practice_demand_control_field"
_COLUMNS = (
    (5.0, "up_to_3_hp_ratio"),
    (10.0, "at_5_hp_ratio"),
    (20.0, "at_10_hp_ratio"),
    (float("inf"), "at_20_hp_ratio"),
)


def drive_part_load(rated_hp: float) -> Cited[PartLoad]:
    """Efficiency of a drive over that at full load.

    Args:
        rated_hp: Of the motor; the next smaller drive of the table is taken, the smallest below 5 hp. [hp]

    Returns:
        The curve; below its first load the efficiency of that load.
    """
    column = next(name for limit, name in _COLUMNS if rated_hp < limit)
    rows = load(_DRIVES).all_rows()
    full = rows[-1].number(column)
    curve = PartLoad(tuple(r.number("load_ratio") for r in rows), tuple(r.number(column) / full for r in rows))
    return Cited(curve, (rows[0].citation(column),))


@dataclass(frozen=True, slots=True)
class FieldResult:
    """One published figure.

    Attributes:
        study: Who found it.
        short: The same in a few words.
        basis: Measured, estimated or quoted.
        quantity: What the figure is.
        low_ratio: Lower figure; None where there is none. [-]
        typical_ratio: The figure; None where there is none. [-]
        high_ratio: Upper figure; None where there is none. [-]
        remark: What to know about it.
        citation: Where it stands; its note says when it was not seen.
    """

    study: str
    short: str
    basis: str
    quantity: str
    low_ratio: float | None
    typical_ratio: float | None
    high_ratio: float | None
    remark: str
    citation: Citation

    @property
    def status(self) -> str:
        """``seen``, ``second-hand`` or ``from memory``."""
        return self.citation.note or "seen"


def field_results(quantity: FieldQuantity) -> tuple[FieldResult, ...]:
    """Every published figure of one quantity.

    Args:
        quantity: ``total saving`` of hood and make-up system, ``fan saving``, or ``mean flow`` over design.
    """
    return tuple(
        FieldResult(
            study=row.label("study"),
            short=row.label("short"),
            basis=row.label("basis"),
            quantity=quantity,
            low_ratio=row.number_or_none("low"),
            typical_ratio=row.number_or_none("typical"),
            high_ratio=row.number_or_none("high"),
            remark=row.label("remark"),
            citation=row.citation(),
        )
        for row in load(_FIELD).all_rows()
        if row.label("quantity") == quantity
    )


def highest_seen(quantity: FieldQuantity) -> float:
    """The highest figure of all that were seen: a computed saving above it needs a second look [-]."""
    figures = [
        value
        for one in field_results(quantity)
        if one.status == "seen"
        for value in (one.low_ratio, one.typical_ratio, one.high_ratio)
        if value is not None
    ]
    return max(figures)
