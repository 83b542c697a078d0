"""What the air rules add to a reasoning: inputs held to where a rule can take them."""

from __future__ import annotations

import math
from collections.abc import Iterable

from galleyproof.errors import GalleyproofError
from galleyproof.reasoning import Reasoned, Reasoning, Step, doubtful, practice, remembered, shown

__all__ = [
    "AirError",
    "Reasoned",
    "Reasoning",
    "Step",
    "doubtful",
    "practice",
    "remembered",
    "require",
    "shown",
    "total",
]


class AirError(GalleyproofError, ValueError):
    """An input that no rule of the air side can take; the message gives the rule, the value and the cure."""


def require(name: str, value: float, unit: str, *, above: float | None = None, least: float | None = None,
            most: float | None = None, cure: str = "") -> float:  # fmt: skip
    """Hand a number on if it lies where the rule can take it.

    Args:
        name: What it is, in words.
        value: The number. [unit]
        unit: Its unit, for the message.
        above: It must be greater. [unit]
        least: It must be this or more. [unit]
        most: It must be this or less. [unit]
        cure: What to do, for the message.

    Raises:
        AirError: It is not finite or outside.
    """
    wanted = _wanted(unit, above, least, most)
    inside = (
        math.isfinite(value)
        and (above is None or value > above)
        and (least is None or value >= least)
        and (most is None or value <= most)
    )
    if not inside:
        raise AirError(f"{name} is {shown(value, unit)}; it must be {wanted}{'; ' + cure if cure else ''}")
    return value


def _wanted(unit: str, above: float | None, least: float | None, most: float | None) -> str:
    parts = ["a finite number"]
    if above is not None:
        parts.append(f"above {shown(above, unit)}")
    if least is not None:
        parts.append(f"at least {shown(least, unit)}")
    if most is not None:
        parts.append(f"at most {shown(most, unit)}")
    return " and ".join(", ".join(parts).rsplit(", ", 1))


def total(values: Iterable[float]) -> float:
    """A sum that does not depend on the order of its terms."""
    return math.fsum(values)
