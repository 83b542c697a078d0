"""The difference of two designs, as a value.

Conductors are the same when their keys are: the key says what a conductor is for and never changes. Which end is
called first is no difference, because a conductor has none.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from typing import Any

from galleyproof.design.model import Bridge, Conductor, Design, Device, Jumper, Program, TerminalId


@dataclass(frozen=True, slots=True)
class Change:
    """One thing about one item, before and after.

    Attributes:
        item: Key of a conductor or jumper, tag of a device, or name of a program row.
        what: Name of what changed, as the design model calls it.
        old: Before, in words.
        new: After, in words.
    """

    item: str
    what: str
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class Pair:
    """One conductor in both designs."""

    old: Conductor
    new: Conductor


@dataclass(frozen=True, slots=True)
class Difference:
    """What the new design has otherwise than the old one. One conductor may stand in several lists.

    Attributes:
        added: Conductors only the new design has.
        removed: Conductors only the old design has.
        relanded: Conductors with another terminal at one end or both.
        resized: Conductors of another size.
        renumbered: Conductors with another number; for a job whose numbers are issued there are none.
        rerouted: Conductors that changed in anything else: length, cable, class, colour, purpose.
        devices_added: Devices only the new design has.
        devices_removed: Devices only the old design has.
        devices_altered: Type, title, place or ratings of a device in both.
        jumpers: Factory jumpers and bars that came, went or moved.
        program: Rows of the controller's program that came, went or changed.
    """

    added: tuple[Conductor, ...] = ()
    removed: tuple[Conductor, ...] = ()
    relanded: tuple[Pair, ...] = ()
    resized: tuple[Pair, ...] = ()
    renumbered: tuple[Pair, ...] = ()
    rerouted: tuple[Pair, ...] = ()
    devices_added: tuple[Device, ...] = ()
    devices_removed: tuple[Device, ...] = ()
    devices_altered: tuple[Change, ...] = ()
    jumpers: tuple[Change, ...] = ()
    program: tuple[Change, ...] = ()

    @property
    def empty(self) -> bool:
        """True when both designs are wired and set alike."""
        return not any(getattr(self, f.name) for f in fields(self))


REROUTED = ("made", "role", "energy_class", "colour", "length_ft", "cable", "of", "purpose")
"""Fields of a conductor beside its ends, size and number."""


def difference(old: Design, new: Design) -> Difference:
    """What changed from one design to another.

    Args:
        old: The earlier design.
        new: The later design.

    Returns:
        The difference; lists stand in the order of the design they are taken from.
    """
    before, after = old.conductor_by_key, new.conductor_by_key
    pairs = [Pair(before[c.key], c) for c in new.conductors if c.key in before]
    earlier, later = old.device_by_tag, new.device_by_tag
    return Difference(
        added=tuple(c for c in new.conductors if c.key not in before),
        removed=tuple(c for c in old.conductors if c.key not in after),
        relanded=tuple(p for p in pairs if {p.old.a, p.old.b} != {p.new.a, p.new.b}),
        resized=tuple(p for p in pairs if p.old.awg != p.new.awg),
        renumbered=tuple(p for p in pairs if p.old.number != p.new.number),
        rerouted=tuple(p for p in pairs if any(getattr(p.old, f) != getattr(p.new, f) for f in REROUTED)),
        devices_added=tuple(d for d in new.devices if d.tag not in earlier),
        devices_removed=tuple(d for d in old.devices if d.tag not in later),
        devices_altered=tuple(
            change for d in new.devices if d.tag in earlier for change in _altered(d.tag, earlier[d.tag], d)
        ),
        jumpers=(*_joints(_jumpers(old.jumpers), _jumpers(new.jumpers)), *_bridges(old.bridges, new.bridges)),
        program=tuple(_program(old.program, new.program)),
    )


def rerouted_fields(pair: Pair) -> tuple[Change, ...]:
    """What changed of a rerouted conductor, field by field."""
    return tuple(
        Change(pair.new.key, name, _words(getattr(pair.old, name)), _words(getattr(pair.new, name)))
        for name in REROUTED
        if getattr(pair.old, name) != getattr(pair.new, name)
    )


def _altered(item: str, old: Any, new: Any) -> Iterable[Change]:
    for field in fields(new):
        was, now = getattr(old, field.name), getattr(new, field.name)
        if was == now:
            continue
        if isinstance(was, Mapping) and isinstance(now, Mapping):
            for key in sorted({*was, *now}, key=str):
                if was.get(key) != now.get(key):
                    yield Change(item, f"{field.name} {key}", _words(was.get(key)), _words(now.get(key)))
        else:
            yield Change(item, field.name, _words(was), _words(now))


def _words(value: Any) -> str:
    if value is None or value in ("", ()):
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, tuple):
        return ", ".join(map(str, value))
    return str(value)


def _ends(a: TerminalId, b: TerminalId) -> str:
    return " - ".join(sorted((str(a), str(b))))


def _jumpers(jumpers: Iterable[Jumper]) -> dict[str, str]:
    return {j.key: _ends(j.a, j.b) for j in jumpers}


def _joints(old: Mapping[str, str], new: Mapping[str, str]) -> Iterable[Change]:
    for key in dict.fromkeys((*old, *new)):
        if old.get(key) != new.get(key):
            yield Change(key, "jumper", old.get(key, "none"), new.get(key, "none"))


def _bridges(old: Iterable[Bridge], new: Iterable[Bridge]) -> Iterable[Change]:
    was = dict.fromkeys(_ends(x.a, x.b) for x in old)
    now = dict.fromkeys(_ends(x.a, x.b) for x in new)
    for ends in was:
        if ends not in now:
            yield Change(ends, "bar", ends, "none")
    for ends in now:
        if ends not in was:
            yield Change(ends, "bar", "none", ends)


def _program(old: Program, new: Program) -> Iterable[Change]:
    if old.controller != new.controller:
        yield Change("program", "controller", old.controller, new.controller)
    rows = (("hoods", "hood"), ("fans", "fan"), ("lights", "relay"), ("switches", "switch"), ("outputs", "relay"))
    for group, name in rows:
        was = {getattr(row, name): row for row in getattr(old, group)}
        now = {getattr(row, name): row for row in getattr(new, group)}
        for item in dict.fromkeys((*was, *now)):
            if item not in was or item not in now:
                states = ("in the program", "none")
                yield Change(item, group, *(states if item in was else reversed(states)))
            else:
                yield from _altered(item, was[item], now[item])
    for zone in dict.fromkeys((*old.fire_inputs, *new.fire_inputs)):
        before, after = old.fire_inputs.get(zone, ()), new.fire_inputs.get(zone, ())
        if before != after:
            yield Change(zone, "fire inputs", _words(before), _words(after))
