"""Working space in front of electrical equipment that may be worked on while live."""

from __future__ import annotations

from typing import Literal, TypeAlias

from galleyproof.findings import Cited
from galleyproof.tables.reader import TableError, load

__all__ = ["Condition", "working_depth_ft", "working_height_inch", "working_width_inch"]

Condition: TypeAlias = Literal[1, 2, 3]


def working_depth_ft(v_to_ground: float, condition: Condition) -> Cited[float]:
    """Depth of the working space.

    Args:
        v_to_ground: Nominal voltage to ground: 120 for 208Y/120, 277 for 480Y/277. [V]
        condition: 1: nothing live or grounded opposite; 2: grounded parts opposite, concrete, brick and tile
            count as such; 3: live parts on both sides.

    Returns:
        Depth. [ft]

    Raises:
        TableError: Above 1000 V or below 0 V, or another condition.

    Code basis:
        NFPA 70-2023, Table 110.26(A)(1). A voltage between two rows takes the higher one.

    Examples:
        >>> working_depth_ft(277, 2).value
        3.5
    """
    if v_to_ground < 0.0:
        raise TableError(f"v_to_ground={v_to_ground:g} V cannot be looked up: give the voltage without sign")
    row = load("nfpa70_2023_table_110_26_a_1").at_least("v_to_ground_to", v_to_ground)
    return row.cited(f"condition_{condition}_ft")


def working_width_inch(equipment_width_inch: float) -> Cited[float]:
    """Width of the working space: 30 in or the equipment's, whichever is larger.

    Args:
        equipment_width_inch: Width of the equipment. [in]

    Returns:
        Width. [in]

    Code basis:
        NFPA 70-2023, 110.26(A)(2).
    """
    row = load("nfpa70_2023_110_26_a_2_3").exact(key="width_inch")
    return Cited(max(row.number("value"), equipment_width_inch), (row.citation(),))


def working_height_inch(equipment_height_inch: float) -> Cited[float]:
    """Height of the working space: 78 in or the equipment's, whichever is larger.

    Args:
        equipment_height_inch: Height of the equipment's top above the floor. [in]

    Returns:
        Height. [in]

    Code basis:
        NFPA 70-2023, 110.26(A)(3).
    """
    row = load("nfpa70_2023_110_26_a_2_3").exact(key="height_inch")
    return Cited(max(row.number("value"), equipment_height_inch), (row.citation(),))
