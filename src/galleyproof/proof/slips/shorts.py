"""Conductors that touch: each other, or ground."""

from __future__ import annotations

from collections.abc import Iterable

from galleyproof.circuit.elements import EARTH
from galleyproof.proof.slips._registry import Found, kind
from galleyproof.proof.slips._site import Site, called
from galleyproof.proof.slips.model import Bridged, Change


@kind("short in a cable", 2.0)
def between(site: Site) -> Iterable[Found]:
    """Two conductors of one cable touch at its far device."""
    for tag, device, cable in ((t, d, c) for t, c in site.cables.items() for d in site.fars(c)):
        for one, other in site.pairs_at(device, cable):
            a, b = site.terminal_at(one, device), site.terminal_at(other, device)
            if site.node(a) != site.node(b):
                yield Found(
                    f"{tag}/{one.number},{other.number}@{device}",
                    (a, b),
                    f"conductors {one.number} and {other.number} ({one.purpose}) touch at {a} and {b}",
                    Change(bridged=(Bridged(f"short {a} {b}", a, b),)),
                )


@kind("short to ground", 2.0)
def to_ground(site: Site) -> Iterable[Found]:
    """A nicked conductor against its box or raceway."""
    for c in site.wires:
        if site.node(c.a) != EARTH and site.node(c.b) != EARTH:
            yield Found(
                c.key,
                (c.b,),
                f"{called(c)} touches the grounded metal at {c.b}",
                Change(bridged=(Bridged(f"ground {c.b}", c.b, site.earth),)),
            )
