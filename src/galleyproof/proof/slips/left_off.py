"""Conductors that are not connected, or badly."""

from __future__ import annotations

from collections.abc import Iterable

from galleyproof.design.model import Conductor, Role
from galleyproof.proof.slips._registry import Found, Protection, kind
from galleyproof.proof.slips._site import Site, called
from galleyproof.proof.slips.model import LOOSE_OHM, Change

GROUND = Protection(
    "a fault to the metal of {tag} leaves it live instead of tripping its breaker",
    "a licensed electrician measures the continuity of the equipment ground at installation and after every change",
)


def _three(site: Site) -> set[str]:
    """Keys of the lines of three-phase cables."""
    lines = {tag: [c for c in cs if c.role in (Role.LINE, Role.LOAD)] for tag, cs in site.cables.items()}
    return {c.key for cs in lines.values() if len(cs) >= 3 for c in cs}


def _off(c: Conductor, what: str) -> Found:
    return Found(c.key, (c.a, c.b), f"{called(c)} {what} between {c.a} and {c.b}", Change(opened=(c.key,)))


@kind("left off", 10.0)
def left_off(site: Site) -> Iterable[Found]:
    """A conductor that no one landed."""
    three = _three(site)
    for c in site.wires:
        if c.role not in (Role.NEUTRAL, Role.COMMON) and c.key not in three:
            yield _off(c, "is left off")


@kind("phase missing", 3.0)
def phase_missing(site: Site) -> Iterable[Found]:
    """One line of a three-phase load."""
    three = _three(site)
    for c in site.wires:
        if c.key in three:
            yield _off(c, "does not connect: one phase is missing")


@kind("neutral open", 5.0)
def neutral_open(site: Site) -> Iterable[Found]:
    """A neutral that does not connect, also one that several loads share."""
    for c in site.wires:
        if c.role is Role.NEUTRAL:
            yield _off(c, "does not connect: the neutral is open")


@kind("common left off", 6.0)
def common_left_off(site: Site) -> Iterable[Found]:
    """The common of a signal."""
    for c in site.wires:
        if c.role is Role.COMMON:
            yield _off(c, "is left off: the signal has no common")


@kind("equipment ground left off", 3.0, protection=GROUND)
def ground_left_off(site: Site) -> Iterable[Found]:
    """Everything works without it, until something else fails."""
    for c in site.field:
        if c.role is Role.GROUND:
            yield _off(c, "is left off")


@kind("loose", 4.0)
def loose(site: Site) -> Iterable[Found]:
    """A landing of high resistance: it reads right without load and fails under it."""
    for c in site.wires:
        yield Found(
            c.key,
            (c.a, c.b),
            f"{called(c)} is loose at {c.b}: about {LOOSE_OHM:g} ohm between {c.a} and {c.b}",
            Change(loose=((c.key, LOOSE_OHM),)),
        )
