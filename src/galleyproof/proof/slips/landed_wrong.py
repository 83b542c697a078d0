"""Conductors on a terminal that is not theirs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from galleyproof.design.model import Conductor, Role
from galleyproof.proof.slips._registry import Found, kind
from galleyproof.proof.slips._site import Site, called
from galleyproof.proof.slips.model import Change, Move


def swap(one: Conductor, other: Conductor, tag: str, site: Site) -> tuple[Move, Move]:
    """Two conductors exchanged on one device."""
    a, b = site.terminal_at(one, tag), site.terminal_at(other, tag)
    return (
        Move(one.key, site.end_at(one, tag), b),  # type: ignore[arg-type]
        Move(other.key, site.end_at(other, tag), a),  # type: ignore[arg-type]
    )


@kind("wrong throw", 4.0)
def throws(site: Site) -> Iterable[Found]:
    """Normally open used for normally closed, or the reverse: a fire switch's armed and released side, a relay."""
    for device in site.devices_of("fire_switch"):
        mine = {t.mark: c for c, _, t in site.field_at(device.tag)}
        for pole in range(1, 5):
            armed, released = mine.get(f"{pole}A"), mine.get(f"{pole}R")
            if armed and released:
                moves = swap(armed, released, device.tag, site)
                terminals = (site.terminal_at(armed, device.tag), site.terminal_at(released, device.tag))
                words = f"the armed and the released side of {device.tag}, pole {pole}, have changed places"
            elif one := armed or released:
                here = site.terminal_at(one, device.tag)
                side = "R" if here.mark.endswith("A") else "A"
                there = type(here)(device.tag, f"{pole}{side}")
                moves = (Move(one.key, site.end_at(one, device.tag), there),)  # type: ignore[assignment, arg-type]
                terminals = (here, there)
                words = f"{called(one)} is landed on {there} instead of {here}: the wrong side of the fire switch"
            else:
                continue
            yield Found(f"{device.tag}/{pole}", terminals, words, Change(moved=moves))
    for point in site.design.points:
        if {"no", "nc"} <= set(point.marks):
            make, rest = point.terminal("no"), point.terminal("nc")
            used = [t for t in (make, rest) if site.landed(t)]
            if len(used) != 1:
                continue
            here, there = used[0], rest if used[0] == make else make
            one = site.landed(here)[0]
            yield Found(
                f"{point.device}/{point.used_for}",
                (here, there),
                f"{called(one)} is landed on {there} instead of {here}: the contact's other throw",
                Change(moved=(Move(one.key, site.end_at(one, point.device), there),)),  # type: ignore[arg-type]
                weight=0.25,  # factory wiring: only when someone lands it anew
            )


@kind("on the next terminal", 6.0)
def next_terminal(site: Site) -> Iterable[Found]:
    """One place beside the right one, at either end."""
    for c in site.wires:
        for end, terminal in (("a", c.a), ("b", c.b)):
            for other in site.beside(c, terminal):
                yield Found(
                    f"{c.key}/{other}",
                    (terminal, other),
                    f"{called(c)} is landed on {other} instead of {terminal}",
                    Change(moved=(Move(c.key, end, other),)),  # type: ignore[arg-type]
                )


def _exchanged(site: Site) -> Iterator[tuple[str, Conductor, Conductor, str]]:
    """Neighbours of a cable at its far device: kind, the two, the device."""
    for tag, cable in ((far, group) for group in site.cables.values() for far in site.fars(group)):
        lines = [c for c in cable if c.role in (Role.LINE, Role.LOAD)]
        for one, other in site.pairs_at(tag, cable):
            if site.node(site.terminal_at(one, tag)) == site.node(site.terminal_at(other, tag)):
                continue
            roles = {one.role, other.role}
            if Role.NEUTRAL in roles and roles & {Role.LINE, Role.LOAD}:
                name = "line and neutral exchanged"
            elif one in lines and other in lines and len(lines) >= 3:
                name = "phases exchanged"
            elif one.energy_class.value == "data":
                name = "data pair crossed"
            elif one.key.endswith(("/+", "+/1")) and other.key.endswith(("/-", "-/1")):
                name = "polarity reversed"
            else:
                name = "two conductors exchanged"
            yield name, one, other, tag


def _of(site: Site, name: str, words: str) -> Iterator[Found]:
    for found, one, other, tag in _exchanged(site):
        if found == name:
            a, b = site.terminal_at(one, tag), site.terminal_at(other, tag)
            yield Found(
                f"{one.key}/{other.key}@{tag}",
                (a, b),
                f"conductors {one.number} and {other.number} ({one.purpose}) are exchanged at {a} and {b}{words}",
                Change(moved=swap(one, other, tag, site)),
            )


@kind("two conductors exchanged", 5.0)
def two_exchanged(site: Site) -> Iterable[Found]:
    """Two conductors of a device."""
    return _of(site, "two conductors exchanged", "")


@kind("polarity reversed", 5.0)
def polarity(site: Site) -> Iterable[Found]:
    """Plus and minus of a pair."""
    return _of(site, "polarity reversed", ": the pair is reversed")


@kind("phases exchanged", 6.0)
def phases(site: Site) -> Iterable[Found]:
    """A motor on them turns backwards, and its wheel still moves half its air; a drive takes them as they come."""
    return _of(site, "phases exchanged", ": the phase sequence is reversed")


@kind("line and neutral exchanged", 2.0)
def line_neutral(site: Site) -> Iterable[Found]:
    """The load works, and its switch stands in the neutral."""
    return _of(site, "line and neutral exchanged", ": line and neutral have changed places")


@kind("data pair crossed", 4.0)
def crossed(site: Site) -> Iterable[Found]:
    """A and B of the building link."""
    return _of(site, "data pair crossed", ": the data pair is crossed")
