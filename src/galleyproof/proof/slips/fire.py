"""The suppression system's switch: not armed yet, or a snap switch that no longer moves."""

from __future__ import annotations

from collections.abc import Iterable

from galleyproof.design.model import TerminalId
from galleyproof.proof.slips._registry import Found, kind
from galleyproof.proof.slips._site import Site
from galleyproof.proof.slips.model import Bridged, Change, Refit

STUCK_OHM = 0.01
"""A contact that sticks (common practice). [ohm]"""


@kind("suppression not armed", 4.0)
def not_armed(site: Site) -> Iterable[Found]:
    """Not charged yet, the head leaves its switch in the released position: no wiring fault, no place for a jumper."""
    for device in site.devices_of("fire_switch"):
        at = tuple(t for _, _, t in site.field_at(device.tag))
        words = f"{device.tag} is not armed: its switch sits in the released position at {at[0]}; do not jumper it"
        yield Found(device.tag, at, words, Change(refits=(Refit(device.tag, "sits", "released"),)))


@kind("snap switch stuck", 0.7)
def stuck(site: Site) -> Iterable[Found]:
    """Pitted by coils it should not switch, one pole stays on its armed side although the plunger moves."""
    for device in site.devices_of("fire_switch"):
        used = {t.mark for _, _, t in site.field_at(device.tag)}
        for pole in range(1, 5):
            c, a, r = (TerminalId(device.tag, f"{pole}{m}") for m in "CAR")
            if {c.mark, a.mark, r.mark} <= used:
                words = f"pole {pole} of {device.tag} does not move: {c} stays on {a}, whatever the plunger does"
                change = Change(
                    bridged=(Bridged(f"stuck {c} {a}", c, a, STUCK_OHM),), dead=((device.tag, f"released_{pole}"),)
                )
                yield Found(f"{device.tag}/{pole}", (c, a, r), words, change)
