"""Refusals that several rules share."""

from __future__ import annotations

import math

from galleyproof.sizing.steps import SizingError, shown

__all__ = ["need_above_zero", "need_choice", "need_finite", "need_not_negative", "need_share"]


def need_above_zero(name: str, value: float, unit: str) -> None:
    """Refuse a value that is zero, negative or not finite.

    Raises:
        SizingError: With the name and the value.
    """
    if not (math.isfinite(value) and value > 0.0):
        raise SizingError(f"{name}={shown(float(value), unit)}: must be above zero and finite")


def need_not_negative(name: str, value: float, unit: str) -> None:
    """Refuse a value that is negative or not finite.

    Raises:
        SizingError: With the name and the value.
    """
    if not (math.isfinite(value) and value >= 0.0):
        raise SizingError(f"{name}={shown(float(value), unit)}: must be zero or more and finite")


def need_finite(name: str, value: float, unit: str) -> None:
    """Refuse a value that is not finite; a temperature may be below zero.

    Raises:
        SizingError: With the name and the value.
    """
    if not math.isfinite(value):
        raise SizingError(f"{name}={shown(float(value), unit)}: must be finite")


def need_share(name: str, value: float) -> None:
    """Refuse a power factor or an efficiency that is zero, negative or above one.

    Raises:
        SizingError: With the name and the value.
    """
    if not 0.0 < value <= 1.0:
        raise SizingError(f"{name}={value:g}: must be above 0 and at most 1")


def need_choice(name: str, value: object, choices: tuple[object, ...]) -> None:
    """Refuse a value that is none of the choices.

    Raises:
        SizingError: With the choices.
    """
    if value not in choices:
        raise SizingError(f"{name}={value!r}: choose one of {', '.join(str(c) for c in choices)}")
