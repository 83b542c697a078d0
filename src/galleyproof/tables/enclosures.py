"""Enclosure types by what they must keep out."""

from __future__ import annotations

from typing import Literal

from galleyproof.findings import Cited
from galleyproof.tables.reader import load

__all__ = ["enclosure_types"]


def enclosure_types(location: Literal["indoor", "outdoor"], conditions: tuple[str, ...]) -> Cited[tuple[str, ...]]:
    """Types that protect against every one of the conditions.

    Args:
        location: ``indoor`` or ``outdoor``.
        conditions: Outdoors ``rain``, ``sleet_operable``, ``windblown_dust``, ``hosedown``, ``corrosion``,
            ``temporary_submersion``, ``prolonged_submersion``; indoors ``falling_dirt``,
            ``light_splashing``, ``circulating_dust``, ``settling_dust``, ``hosedown``, ``oil_seepage``,
            ``oil_spray``, ``corrosion`` and the two submersions. Incidental contact is always asked for.

    Returns:
        Type numbers in the order of the table; empty when no single type does.

    Raises:
        TableError: No such condition there.

    Code basis:
        NFPA 70-2023, Table 110.28, from memory.

    Examples:
        >>> enclosure_types("outdoor", ("rain", "hosedown", "corrosion")).value
        ('4X', '6P')
    """
    rows = [
        load("nfpa70_2023_table_110_28").exact(location=location, condition=condition)
        for condition in ("contact", *conditions)
    ]
    kept = [set(row.label("types").split(";")) for row in rows]
    types = tuple(t for t in rows[0].label("types").split(";") if all(t in k for k in kept))
    return Cited(types, (rows[0].citation("types"),))
