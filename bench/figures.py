"""What a bench hands back."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Figure:
    """One measured figure.

    Attributes:
        what: What was measured.
        value: The figure with its unit, as text.
        target: What it must be, or empty where it only informs.
        met: Whether it is; None without a target.
    """

    what: str
    value: str
    target: str = ""
    met: bool | None = None


def at_least(what: str, value: float, least: float, unit: str) -> Figure:
    """A figure that must not be smaller."""
    return Figure(what, f"{value:.1f} {unit}", f"at least {least:g} {unit}", value >= least)


def at_most(what: str, value: float, most: float, unit: str) -> Figure:
    """A figure that must not be larger."""
    return Figure(what, f"{value:.2f} {unit}".rstrip(), f"at most {most:g} {unit}".rstrip(), value <= most)
