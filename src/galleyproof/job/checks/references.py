"""Names that must lead somewhere."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from galleyproof.errors import Problem
from galleyproof.job.checks.registry import check
from galleyproof.job.model import ExhaustFan, GasShutdown, Hood, MakeupUnit, Vfd, WallSwitch
from galleyproof.job.register import Register
from galleyproof.yamltext import Path, hint


@dataclass(frozen=True, slots=True)
class Reference:
    """One place where an item names another.

    Attributes:
        path: Where the name stands.
        owner: Tag of the item that names.
        tag: The name.
        noun: What it must be.
        known: Tags it may be.
        counts: Whether it counts for circles; a switch and its hood may name each other.
    """

    path: Path
    owner: str
    tag: str
    noun: str
    known: Iterable[str]
    counts: bool = True


def references(r: Register) -> Iterator[Reference]:
    """Every reference of the job by tag."""
    for path, board in r.each("panelboards"):
        yield Reference((*path, "supply"), board.tag, board.supply, "supply", r.supplies)
    for path, circuit in r.each("circuits"):
        yield Reference((*path, "panelboard"), circuit.tag, circuit.panelboard, "panelboard", r.panelboards)
    if r.panel:
        yield Reference(("panel", "circuit"), r.panel.tag, r.panel.circuit, "circuit", r.circuits)
    for path, hood in r.each("hoods"):
        yield from _hood(r, path, hood)
    for path, fan in r.each("exhaust_fans"):
        yield from _fan(r, path, fan)
    for path, unit in r.each("makeup_units"):
        yield from _makeup(r, path, unit)
    fans = [*r.exhaust_fans, *r.makeup_units]
    for path, damper in r.each("dampers"):
        yield Reference((*path, "fan"), damper.tag, damper.fan, "fan", fans)
    for path, system in r.each("fire_systems"):
        if system.shutdown_circuit:
            circuit = system.shutdown_circuit
            yield Reference((*path, "shutdown_circuit"), system.tag, circuit, "circuit", r.circuits)
    for path, shutdown in r.each("shutdowns"):
        if not isinstance(shutdown, GasShutdown):
            yield Reference((*path, "circuit"), shutdown.tag, shutdown.circuit, "circuit", r.circuits)
    for path, switch in r.each("switches"):
        yield from _switch(r, path, switch)


def _hood(r: Register, path: Path, hood: Hood) -> Iterator[Reference]:
    if hood.lights:
        at = (*path, "lights")
        yield Reference((*at, "circuit"), hood.tag, hood.lights.circuit, "circuit", r.circuits)
        if hood.lights.switch:
            yield Reference((*at, "switch"), hood.tag, hood.lights.switch, "wall switch", r.switches, False)
    for i, appliance in enumerate(hood.appliances):
        at = (*path, "appliances", i)
        if appliance.circuit:
            yield Reference((*at, "circuit"), appliance.tag, appliance.circuit, "circuit", r.circuits)
        if appliance.shut_down_by:
            by = appliance.shut_down_by
            yield Reference((*at, "shut_down_by"), appliance.tag, by, "shutdown", r.shutdowns)


def _fan(r: Register, path: Path, fan: ExhaustFan) -> Iterator[Reference]:
    for i, hood in enumerate(fan.serves):
        yield Reference((*path, "serves", i), fan.tag, hood, "hood", r.hoods)
    yield Reference((*path, "circuit"), fan.tag, fan.circuit, "circuit", r.circuits)
    yield from _drive(r, (*path, "drive"), fan.tag, fan.drive)
    if fan.forced_by:
        yield Reference((*path, "forced_by"), fan.tag, fan.forced_by, "fire system", r.fire_systems)


def _makeup(r: Register, path: Path, unit: MakeupUnit) -> Iterator[Reference]:
    for i, fan in enumerate(unit.tracks):
        yield Reference((*path, "tracks", i), unit.tag, fan, "exhaust fan", r.exhaust_fans)
    yield Reference((*path, "circuit"), unit.tag, unit.circuit, "circuit", r.circuits)
    at = (*path, "control")
    if unit.control.kind == "driven from the panel":
        yield from _drive(r, (*at, "drive"), unit.tag, unit.control.drive)
    elif unit.control.run_command.circuit:
        circuit = unit.control.run_command.circuit
        yield Reference((*at, "run_command", "circuit"), unit.tag, circuit, "circuit", r.circuits)


def _drive(r: Register, path: Path, owner: str, drive: object) -> Iterator[Reference]:
    if isinstance(drive, Vfd) and drive.run_command.circuit:
        at = (*path, "run_command", "circuit")
        yield Reference(at, owner, drive.run_command.circuit, "circuit", r.circuits)


def _switch(r: Register, path: Path, switch: WallSwitch) -> Iterator[Reference]:
    fans = [*r.exhaust_fans, *r.makeup_units]
    for i, tag in enumerate(switch.acts_on):
        at = (*path, "acts_on", i)
        if switch.does == "lights":
            yield Reference(at, switch.tag, tag, "hood", r.hoods, False)
        else:
            yield Reference(at, switch.tag, tag, "fan", fans, False)


@check()
def unknown_reference(r: Register) -> Iterator[Problem]:
    """A name that no item of the right sort has; what closes a circle is told by ``circle``."""
    every = list(references(r))
    closing = {one.path for ring in _rings(every) for one in ring}
    for one in every:
        if one.path not in closing:
            yield from r.unknown(one.path, one.tag, one.known, one.noun)


@check()
def circle(r: Register) -> Iterator[Problem]:
    """Items that name each other in a circle, or themselves."""
    for ring in _rings(list(references(r))):
        first = ring[0]
        if len(ring) == 1:
            what = f"{first.owner} names itself; a {first.noun} is expected"
        else:
            chain = " -> ".join([*(one.owner for one in ring), first.owner])
            what = f"the names run in a circle: {chain}; {first.tag} must be a {first.noun}"
        others = [n for n in first.known if n not in {one.owner for one in ring}]
        yield r.say(first.path, f"{what}{', such as ' + ', '.join(others[:6]) if others else ''}")


def _rings(every: list[Reference]) -> list[list[Reference]]:
    """Circles among the references, each once, begun where the file names it first."""
    by_owner: dict[str, list[Reference]] = {}
    for one in every:
        if one.counts:
            by_owner.setdefault(one.owner, []).append(one)
    found: list[list[Reference]] = []
    done: set[str] = set()
    for start in by_owner:
        trail: list[Reference] = []
        on_trail: dict[str, int] = {}
        # Depth first, without recursion: (tag, next reference to follow)
        stack: list[tuple[str, int]] = [(start, 0)]
        while stack:
            tag, at = stack.pop()
            if at == 0:
                if tag in done:
                    if trail:
                        trail.pop()
                    continue
                on_trail[tag] = len(trail)
            options = by_owner.get(tag, [])
            if at < len(options):
                stack.append((tag, at + 1))
                one = options[at]
                if one.tag in on_trail:
                    found.append([*trail[on_trail[one.tag] :], one])
                elif one.tag in by_owner and one.tag not in done:
                    trail.append(one)
                    stack.append((one.tag, 0))
                continue
            done.add(tag)
            del on_trail[tag]
            if trail:
                trail.pop()
    return found


@check("fire_systems")
def unknown_zone(r: Register) -> Iterator[Problem]:
    """Shutdowns and fire outputs of a zone that no fire system protects."""
    zones = r.zones()
    for section in ("shutdowns", "fire_outputs"):
        for path, item in r.each(section):
            if item.zone not in zones:
                listed = ", ".join(zones) or "none"
                what = f"no fire system has zone {item.zone}{hint(item.zone, zones)}; zones here: {listed}"
                yield r.say((*path, "zone"), what)


@check(
    "hoods",
    "exhaust_fans",
    "makeup_units",
    "dampers",
    "fire_systems",
    "shutdowns",
    "panelboards",
    "panel",
    "switches",
    "room_sensors",
    "fire_outputs",
    "building_alarm",
    "display",
    "building_link",
)
def route_to_nowhere(r: Register) -> Iterator[Problem]:
    """A route that ends where nothing stands, or a second one to the same place."""
    places = places_of(r)
    seen: dict[str, str] = {}
    for path, route in r.each("routes"):
        if route.to not in places:
            what = f"nothing stands at {route.to!r}{hint(route.to, places)}; places here: {', '.join(places)}"
            yield r.say((*path, "to"), what)
        elif route.to in seen:
            yield r.say((*path, "to"), f"route {seen[route.to]} already leads to {route.to!r}; keep one")
        seen.setdefault(route.to, route.tag)


def places_of(r: Register) -> tuple[str, ...]:
    """Places named by the items of a job; hood sensors, lights and appliances have theirs."""
    found: dict[str, None] = {}
    for section in (
        "panelboards",
        "exhaust_fans",
        "makeup_units",
        "dampers",
        "fire_systems",
        "shutdowns",
        "room_sensors",
        "switches",
    ):
        for _, item in r.each(section):
            place = getattr(item, "place", None)
            if place:
                found[place] = None
    for key in ("panel", "building_alarm", "display", "building_link"):
        block = r.sections[key]
        if block is not None:
            found[block.place] = None
    for _, output in r.each("fire_outputs"):
        found[output.to] = None
    found["hood"] = None  # sensors and lights
    if any(hood.appliances for hood in r.hoods.values()):
        found["kitchen"] = None
    return tuple(found)
