"""What is wired right, gets its volts and does not do its work: burnt out, locked, stuck, or locked out by itself."""

from __future__ import annotations

from collections.abc import Iterable

from galleyproof.design.model import TerminalId
from galleyproof.library.model import Source
from galleyproof.proof.slips._registry import Found, kind
from galleyproof.proof.slips._site import Site
from galleyproof.proof.slips.model import Change, Refit

LOCKED_RATIO = 5.0
"""Amperes of a locked rotor over rated ones (common practice). [ratio]"""


def _ends(site: Site, tag: str, count: int) -> tuple[TerminalId, ...]:
    return tuple(TerminalId(tag, m) for m in site.marks(tag) if m != "PE")[:count]


@kind("burnt out", 1.0)
def burnt_out(site: Site) -> Iterable[Found]:
    """A motor's winding, the panel's 24 V supply: full volts on it, no amperes."""
    for device in site.devices_of("motor_1", "motor_3"):
        at = _ends(site, device.tag, 3)
        words = f"the winding of {device.tag} is burnt: volts at {at[0]}, open inside, no amperes"
        yield Found(device.tag, at, words, Change(dead=((device.tag, "winding"),)))
    for device in site.devices_of("power_supply_24"):
        at = tuple(TerminalId(device.tag, m) for m in ("L", "N"))
        words = f"the supply {device.tag} is burnt, or its own fuse is: volts at {at[0]}, none at its output"
        yield Found(device.tag, at, words, Change(dead=((device.tag, "input"),)))


@kind("rotor locked", 0.7)
def rotor_locked(site: Site) -> Iterable[Found]:
    """Seized bearings, a wheel against its housing, a start capacitor gone: it hums, and its overload trips."""
    driven = {d.tag for d in site.devices_of("motor_3") if d.ratings.get("on_drive") == "yes"}
    for device in site.devices_of("motor_1", "motor_3"):
        if device.tag in driven:
            continue
        at = _ends(site, device.tag, 3)
        refits: tuple[Refit, ...] = (Refit(device.tag, "rotor", "locked"),)
        if device.type == "motor_1":
            refits += (Refit(device.tag, "motor_va", float(device.ratings["motor_va"]) * LOCKED_RATIO),)
        words = f"the rotor of {device.tag} at {at[0]} is locked, or does not start: it hums until its overload trips"
        yield Found(device.tag, at, words, Change(refits=refits))


@kind("make-up unit does not answer", 1.5)
def no_answer(site: Site) -> Iterable[Found]:
    """It is called and does not come: a lockout of its own, or no control power inside."""
    for device in site.devices_of("makeup_"):
        at = tuple(TerminalId(device.tag, m) for m in ("J1", "J2"))
        words = (
            f"{device.tag} is called at {at[0]} and {at[1]} and stays locked out by itself: its own thermostat, limit "
            "or burner control"
        )
        change = Change(refits=(Refit(device.tag, "lockout", "locked out"),))
        yield Found(f"{device.tag}/locked-out", at, words, change)
        library_type = site.kind(device.tag)
        if library_type and any(isinstance(p, Source) and p.name == "own_24" for p in library_type.parts):
            words = f"{device.tag} has no control power of its own: no volts at {at[0]} and {at[1]}, open or closed"
            yield Found(f"{device.tag}/own-24", at, words, Change(dead=((device.tag, "own_24"),)), weight=0.7)


@kind("valve stuck", 0.7)
def valve_stuck(site: Site) -> Iterable[Found]:
    """Dirt under its seat, a manual opener left in, a stem that does not move: its coil says nothing of the gas."""
    for device in site.devices_of("gas_valve"):
        at = tuple(TerminalId(device.tag, m) for m in ("1", "2"))
        for how, then in (("open", "its coil lets go and it stays open"), ("shut", "its coil pulls and it stays shut")):
            words = f"{device.tag} is stuck {how}: {then}, whatever stands at {at[0]}"
            yield Found(f"{device.tag}/{how}", at, words, Change(refits=(Refit(device.tag, "seat", how),)))


@kind("shunt trip jammed", 0.7)
def jammed(site: Site) -> Iterable[Found]:
    """The coil gets its volts, has its ohms, and the breaker's latch does not let go."""
    for device in site.devices_of("breaker_"):
        if "shunt" in device.type:
            at = tuple(TerminalId(device.tag, m) for m in ("C1", "C2"))
            words = f"the latch of {device.tag} is jammed: the shunt coil at {at[0]} pulls, and nothing trips"
            yield Found(device.tag, at, words, Change(refits=(Refit(device.tag, "latch", "jammed"),)))
