"""Slips: every wiring mistake the study knows, one small module per family of kinds behind one registry."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from galleyproof.design.model import Design
from galleyproof.library.model import DeviceType
from galleyproof.proof.slips import (  # noqa: F401 - importing registers them
    cables,
    circuits,
    drives,
    fire,
    jumpers,
    landed_wrong,
    left_off,
    link,
    machines,
    parts,
    sensors,
    settings,
    shorts,
    shutdown,
    supply,
    worn,
)
from galleyproof.proof.slips._registry import KINDS, Kind, Protection, slips_of
from galleyproof.proof.slips._site import Site
from galleyproof.proof.slips.model import Bridged, Change, Move, Refit, Slip, apply

__all__ = ["KINDS", "Bridged", "Change", "Kind", "Move", "Protection", "Refit", "Slip", "all_slips", "apply"]


def all_slips(
    design: Design, library: Mapping[str, DeviceType], kinds: Iterable[str] | None = None
) -> tuple[Slip, ...]:
    """Every single slip of a design, in a fixed order.

    Args:
        design: The design as it should be.
        library: Device types.
        kinds: Only these kinds; all of them by default.

    Raises:
        CircuitError: If a device type, a rating or a terminal is missing.
    """
    return slips_of(Site(design, library), kinds)
