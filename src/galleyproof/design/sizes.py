"""First sizes of conductors, so that a design is complete before every rule of sizing has been looked at.

NFPA 70-2023 240.4(D) and Table 310.16, 75 C copper, for the conductor of a breaker; Table 250.122 for its ground.
"""

from __future__ import annotations

from functools import lru_cache

from galleyproof.tables import conductors, protection
from galleyproof.tables.reader import TableError

CONTROL_AWG = "18"
"""Common practice for control conductors, where the job states no size."""

THICKEST_AWG = "500"
"""Drawn where a breaker is above every conductor of the tables [kcmil]."""

_SMALL = {15.0: "14", 20.0: "12", 30.0: "10"}
"""240.4(D): the breaker decides, not the ampacity column."""


@lru_cache(maxsize=64)
def power_awg(breaker_a: float) -> str:
    """Smallest copper size a breaker may protect without any special rule."""
    for limit_a, size in _SMALL.items():
        if breaker_a <= limit_a:
            return size
    try:
        return conductors.size_for_ampacity(breaker_a, 75).value
    except TableError:
        return THICKEST_AWG  # above the table: sizing says what to do instead


@lru_cache(maxsize=64)
def ground_awg(breaker_a: float) -> str:
    """Smallest copper equipment ground behind a breaker."""
    return protection.equipment_ground_size(breaker_a).value
