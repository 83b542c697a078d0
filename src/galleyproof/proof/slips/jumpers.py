"""Jumpers: one left in, one missing."""

from __future__ import annotations

from collections.abc import Iterable

from galleyproof.proof.slips._registry import Found, kind
from galleyproof.proof.slips._site import Site
from galleyproof.proof.slips.model import Bridged, Change


@kind("jumper left in", 8.0)
def left_in(site: Site) -> Iterable[Found]:
    """The factory jumper of a supervised loop, still fitted beside the field conductors."""
    for jumper in site.design.jumpers:
        yield Found(
            jumper.key,
            (jumper.a, jumper.b),
            f"the factory jumper {jumper.a} to {jumper.b} is still fitted beside the conductors of {jumper.of}",
            Change(bridged=(Bridged(jumper.key, jumper.a, jumper.b),)),
            (jumper.of,) if jumper.of in site.design.device_by_tag else (),
        )


@kind("jumper missing", 1.0)
def missing(site: Site) -> Iterable[Found]:
    """A comb or bridge of a strip taken out where it belongs, next to a field landing."""
    field = {t for c in site.field for t in (c.a, c.b)}
    for bridge in site.design.bridges:
        if {bridge.a.device, bridge.b.device} <= site.strips and (bridge.a in field or bridge.b in field):
            if bridge.a in site.grounds:
                continue
            yield Found(
                f"{bridge.a}/{bridge.b}",
                (bridge.a, bridge.b),
                f"the jumper between {bridge.a} and {bridge.b} is missing",
                Change(unbridged=(bridge,)),
            )
