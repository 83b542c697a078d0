"""Shutdown coils: fed from the wrong place, or of the wrong kind."""

from __future__ import annotations

from collections.abc import Iterable

from galleyproof.design.model import Role, TerminalId
from galleyproof.proof.slips._registry import Found, kind
from galleyproof.proof.slips._site import Site, called, hot_bus
from galleyproof.proof.slips.model import Change, Move, Refit


def _coil(site: Site, tag: str, marks: tuple[str, ...]) -> tuple[object, ...] | None:
    """The hot conductor of a coil: conductor, its end at the coil, its other end."""
    for c, end, t in site.field_at(tag):
        if t.mark in marks and c.role is Role.CONTROL:
            other = "b" if end == "a" else "a"
            return c, other, c.b if end == "a" else c.a
    return None


@kind("coil fed from the load side", 2.0)
def load_side(site: Site) -> Iterable[Found]:
    """An accessory fed from the load side of the very device it works on."""
    for device in site.devices_of("breaker_", "contactor_held"):
        held = device.type.startswith("contactor")
        found = _coil(site, device.tag, ("A1",) if held else ("C1",))
        if found is None:
            continue
        c, end, here = found
        if held:
            there = TerminalId(device.tag, "2/T1")
            change = Change(moved=(Move(c.key, end, there),))  # type: ignore[attr-defined, arg-type]
            words = f"{called(c)} comes from {there}, the load side of {device.tag} itself, instead of {here}"  # type: ignore[arg-type]
            yield Found(device.tag, (here, there), words, change)  # type: ignore[arg-type]
            continue
        # the switched supply of the coil: the common of the fire switch's shutdown pole
        there = TerminalId(device.tag, "2")
        for feed in site.wires:
            if feed.key.endswith("/C") and "/shutdown" in feed.key and _joins(site, feed.key[:-2], here):  # type: ignore[arg-type]
                source = feed.a if feed.a.device in site.strips else feed.b
                end = "a" if feed.a == source else "b"
                change = Change(moved=(Move(feed.key, end, there),))  # type: ignore[arg-type]
                words = f"{called(feed)} comes from {there}, the load side of {device.tag} itself, instead of {source}"
                yield Found(device.tag, (source, there), words, change)
                break


def _joins(site: Site, use: str, coil: TerminalId) -> bool:
    """Whether a shutdown pole's released side leads to the bus a coil hangs on."""
    return any(c.key == f"{use}/R" and site.node(coil) in (site.node(c.a), site.node(c.b)) for c in site.wires)


@kind("coil on an unswitched supply", 2.0)
def unswitched(site: Site) -> Iterable[Found]:
    """A held-in coil landed on what is always live: it works, and no release opens it."""
    for device in site.devices_of("contactor_held", "gas_valve"):
        found = _coil(site, device.tag, ("A1", "1"))
        if found is None:
            continue
        c, end, here = found
        live = [
            t
            for feed in site.field
            if feed.role is Role.LINE and feed.energy_class == c.energy_class  # type: ignore[attr-defined]
            for t in (feed.a, feed.b)
            if t.device == here.device  # type: ignore[attr-defined]
        ]
        if not live:
            supply = [b for b in site.design.bridges if b.a.device == here.device]  # type: ignore[attr-defined]
            live = [b.a for b in supply[:1]]
        if live and site.node(live[0]) != site.node(here):  # type: ignore[arg-type]
            change = Change(moved=(Move(c.key, end, live[0]),))  # type: ignore[attr-defined, arg-type]
            words = f"{called(c)} is landed on {live[0]}, which is always live, instead of {here}"  # type: ignore[arg-type]
            yield Found(device.tag, (here, live[0]), words, change)  # type: ignore[arg-type]
        # the panel's own hot, live also while the breaker of the shutdown circuit is open
        hot = hot_bus(site)
        if hot is not None and site.node(hot) not in {site.node(t) for t in (here, *live)}:  # type: ignore[arg-type]
            change = Change(moved=(Move(c.key, end, hot),))  # type: ignore[attr-defined, arg-type]
            words = f"{called(c)} is landed on {hot}, the panel's own hot, instead of {here}: fed by another circuit"  # type: ignore[arg-type]
            yield Found(f"{device.tag}/another", (here, hot), words, change, weight=0.5)  # type: ignore[arg-type]


@kind("wrong accessory", 1.5)
def accessory(site: Site) -> Iterable[Found]:
    """An undervoltage release where a shunt trip was ordered."""
    for device in site.devices_of("breaker_"):
        if "shunt" in device.type:
            yield Found(
                device.tag,
                tuple(TerminalId(device.tag, m) for m in ("C1", "C2")),
                f"the accessory of {device.tag} is an undervoltage release; ordered was a shunt trip",
                Change(refits=(Refit(device.tag, "accessory", "undervoltage"),)),
            )


@kind("no cut-off contact", 1.0)
def no_cut_off(site: Site) -> Iterable[Found]:
    """A shunt coil that stays live after it has tripped."""
    for device in site.devices_of("breaker_"):
        if device.type.endswith("_shunt"):
            yield Found(
                device.tag,
                tuple(TerminalId(device.tag, m) for m in ("C1", "C2")),
                f"the shunt trip of {device.tag} has no cut-off contact: its coil burns if it stays energised",
                Change(refits=(Refit(device.tag, "type", f"{device.type}_plain"),)),
            )
