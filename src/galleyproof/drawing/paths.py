"""The design as rungs: chains of conductors and of the device parts between them, each conductor in exactly one.

A rung leads from a supply to its return where the wiring does; it passes through strip terminals, through bars of two
terminals and through the parts that current passes (contacts, coils, sensors, loads), and ends at rails and at devices
that decide for themselves what their terminals do.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from galleyproof.design.builder import natural
from galleyproof.design.model import Conductor, Design, EnergyClass, Role, TerminalId
from galleyproof.library.model import Coil, Contact, DeviceType, Load, Load3, PartSpec, Resistor, Sensor, Source

RETURNS = (Role.NEUTRAL, Role.COMMON, Role.GROUND)
_POWER = (EnergyClass.LINE, EnergyClass.CLASS1)


@dataclass(frozen=True, slots=True)
class Way:
    """Parts of one device in series from one of its terminals to another."""

    a: str
    b: str
    parts: tuple[PartSpec, ...]

    @property
    def has_coil(self) -> bool:
        """Whether it is the way through a coil."""
        return any(isinstance(p, Coil) for p in self.parts)

    @property
    def has_contact(self) -> bool:
        """Whether something in it opens and closes."""
        return any(isinstance(p, Contact) for p in self.parts)

    def turned(self) -> Way:
        """The same way from its other end."""
        return Way(self.b, self.a, tuple(reversed(self.parts)))


@dataclass(frozen=True, slots=True)
class Wire:
    """A conductor in a rung, from left to right."""

    conductor: Conductor
    left_end: str

    @property
    def left(self) -> TerminalId:
        """Landing on the left."""
        return self.conductor.a if self.left_end == "a" else self.conductor.b

    @property
    def right(self) -> TerminalId:
        """Landing on the right."""
        return self.conductor.b if self.left_end == "a" else self.conductor.a


@dataclass(frozen=True, slots=True)
class Through:
    """A device's way in a rung."""

    device: str
    way: Way

    @property
    def left(self) -> TerminalId:
        """Terminal on the left."""
        return TerminalId(self.device, self.way.a)

    @property
    def right(self) -> TerminalId:
        """Terminal on the right."""
        return TerminalId(self.device, self.way.b)


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar from one terminal to another."""

    left: TerminalId
    right: TerminalId


Element = Wire | Through | Bar


@dataclass(frozen=True, slots=True)
class Rung:
    """One chain from left to right."""

    elements: tuple[Element, ...]

    @property
    def wires(self) -> list[Wire]:
        """Its conductors."""
        return [e for e in self.elements if isinstance(e, Wire)]

    @property
    def number(self) -> int:
        """Least conductor number, which orders the rungs."""
        return min(w.conductor.number for w in self.wires)

    @property
    def energy_class(self) -> EnergyClass:
        """The strongest of its conductors."""
        order = list(EnergyClass)
        return min((w.conductor.energy_class for w in self.wires), key=order.index)


def ways_of(kind: DeviceType) -> tuple[Way, ...]:
    """Ways through a device: two-ended parts that pass a current from terminal to terminal, inner nodes left out."""
    at: dict[str, list[tuple[str, PartSpec]]] = {}
    for part in kind.parts:
        ends = [getattr(part, end, None) for end in ("a", "b", "c")]
        for end in ends:
            if end is not None:
                other = next((e for e in ends if e is not None and e != end), end)
                at.setdefault(end, []).append((other, part))
    few = len(kind.terminals)
    found: list[Way] = []
    for start in (t.mark for t in kind.terminals):
        for node, part in at.get(start, ()):
            chain, here, last = [part], node, part
            while here.startswith("~"):
                onward = [(n, p) for n, p in at.get(here, ()) if p is not last]
                if len(onward) != 1:
                    break
                here, last = onward[0]
                chain.append(last)
            way = Way(start, here, tuple(chain))
            if not here.startswith("~") and here != start and _passes(chain, few) and _new(found, way):
                found.append(way)
    return tuple(found)


def _passes(chain: Iterable[PartSpec], terminals: int) -> bool:
    """Whether a rung leads on through these parts: loads of plain devices, but not the inside of clever ones."""
    parts = list(chain)
    if not all(isinstance(p, Contact | Coil | Sensor | Load | Resistor) for p in parts):
        return False
    if any(isinstance(p, Contact | Coil | Sensor) for p in parts):
        return True
    return terminals <= (3 if any(isinstance(p, Load) for p in parts) else 2)


def _new(found: Iterable[Way], way: Way) -> bool:
    names = {getattr(p, "name", "") for p in way.parts}
    return all({getattr(p, "name", "") for p in w.parts} != names for w in found)


@dataclass
class _Finder:
    design: Design
    ways: Callable[[str], tuple[Way, ...]]
    waiting: dict[str, Conductor] = field(default_factory=dict)
    used: set[tuple[str, frozenset[str]]] = field(default_factory=set)
    partners: dict[TerminalId, list[TerminalId]] = field(default_factory=dict)

    def undrawn(self, t: TerminalId) -> list[Conductor]:
        """Conductors at a terminal that no rung has yet."""
        return [c for c in self.design.conductors_at.get(t, ()) if c.key in self.waiting]

    def grow(self, t: TerminalId) -> list[Element]:
        """Everything to the right of a terminal."""
        out: list[Element] = []
        while True:
            step = self._step(t, bool(out) and isinstance(out[-1], Through))
            if not step:
                return out
            out += step
            t = step[-1].right

    def _step(self, t: TerminalId, inside: bool) -> list[Element]:
        if self.design.device_by_tag[t.device].type.startswith("panelboard"):
            return []
        through = None if inside else self._through(t)
        if through is not None:
            return [through]
        for c in sorted(self.undrawn(t), key=lambda c: c.number):
            del self.waiting[c.key]
            return [Wire(c, "a" if c.a == t else "b")]
        mine = self.partners.get(t, [])
        if len(mine) == 1 and len(self.partners[mine[0]]) == 1 and self.undrawn(mine[0]):
            return [Bar(t, mine[0])]
        return []

    def _through(self, t: TerminalId) -> Through | None:
        """The way on through the device: one that leads to conductors not drawn yet, or else a coil or load."""
        last: Through | None = None
        for way in self.ways(t.device):
            for w in (way, way.turned()):
                mark = (t.device, frozenset((w.a, w.b)))
                if w.a != t.mark or mark in self.used:
                    continue
                if self.undrawn(TerminalId(t.device, w.b)):
                    self.used.add(mark)
                    return Through(t.device, w)
                if self.design.conductors_at.get(TerminalId(t.device, w.b)) and last is None:
                    last = Through(t.device, w)
        if last is not None:
            self.used.add((last.device, frozenset((last.way.a, last.way.b))))
        return last


def find_rungs(design: Design, types: Mapping[str, DeviceType]) -> list[Rung]:
    """All conductors of a design in rungs, in the order of their numbers."""
    by_type: dict[str, tuple[Way, ...]] = {}

    def ways(tag: str) -> tuple[Way, ...]:
        kind = design.device_by_tag[tag].type
        if kind not in by_type:
            by_type[kind] = ways_of(types[kind]) if kind in types else ()
        return by_type[kind]

    finder = _Finder(design, ways, {c.key: c for c in sorted(design.conductors, key=lambda c: c.number)})
    for bridge in design.bridges:
        finder.partners.setdefault(bridge.a, []).append(bridge.b)
        finder.partners.setdefault(bridge.b, []).append(bridge.a)
    rungs: list[Rung] = []
    for c in sorted(design.conductors, key=lambda c: c.number):
        if c.key not in finder.waiting:
            continue
        del finder.waiting[c.key]
        right = finder.grow(c.b)
        left = [_turned(e) for e in reversed(finder.grow(c.a))]
        elements: list[Element] = [*left, Wire(c, "a"), *right]
        rungs.append(Rung(tuple(_supply_first(elements))))
    return sorted(rungs, key=lambda r: r.number)


def poles(
    rungs: Sequence[Rung], design: Design, types: Mapping[str, DeviceType]
) -> list[tuple[tuple[Rung, ...], str, str]]:
    """Rungs that end at the load of one device together, in the order of their first; all others alone.

    Returns:
        The rungs, the tag of the device whose load they end at, and the tag of the device whose source they all
        begin at; empty where there is none.
    """

    def at(rung: Rung, e: Element, t: TerminalId, kinds: tuple[type[Load | Load3 | Source], ...]) -> str:
        kind = types.get(design.device_by_tag[t.device].type)
        if kind is None or not isinstance(e, Wire) or rung.energy_class not in _POWER:
            return ""
        ends = {getattr(p, end, None) for p in kind.parts if isinstance(p, kinds) for end in ("a", "b", "c")}
        return t.device if t.mark in ends else ""

    groups: dict[str, list[Rung]] = {}
    for n, rung in enumerate(rungs):
        last = rung.elements[-1]
        groups.setdefault(at(rung, last, last.right, (Load, Load3)) or f"\0{n}", []).append(rung)
    out = []
    for load, mine in groups.items():
        sources = {at(r, r.elements[0], r.elements[0].left, (Source,)) for r in mine}
        if load.startswith("\0"):
            out.append((tuple(mine), "", ""))
        else:
            out.append((tuple(mine), load, sources.pop() if len(sources) == 1 else ""))
    return out


def _turned(e: Element) -> Element:
    if isinstance(e, Wire):
        return Wire(e.conductor, "b" if e.left_end == "a" else "a")
    if isinstance(e, Bar):
        return Bar(e.right, e.left)
    return Through(e.device, e.way.turned())


def _supply_first(elements: list[Element]) -> list[Element]:
    wires = [e for e in elements if isinstance(e, Wire)]
    first, last = wires[0].conductor.role in RETURNS, wires[-1].conductor.role in RETURNS
    backwards = sum(w.left_end == "b" for w in wires) * 2 > len(wires)
    ends = elements[0].left.mark.endswith("+"), elements[-1].right.mark.endswith("+")
    if ends[0] != ends[1]:
        backwards = ends[1]
    if (first and not last) or (first == last and backwards):
        return [_turned(e) for e in reversed(elements)]
    return elements


def rails(design: Design) -> dict[TerminalId, str]:
    """Name of the rail each bridged terminal is part of: ``+24 V``, ``0 V``, ``N``, ``PE``, or the circuit's."""
    root: dict[TerminalId, TerminalId] = {}

    def find(t: TerminalId) -> TerminalId:
        root.setdefault(t, t)
        while root[t] != t:
            root[t] = root[root[t]]
            t = root[t]
        return t

    for bridge in design.bridges:
        root[find(bridge.a)] = find(bridge.b)
    members: dict[TerminalId, list[TerminalId]] = {}
    for t in root:
        members.setdefault(find(t), []).append(t)
    names: dict[TerminalId, str] = {}
    for group in members.values():
        kinds = {(design.device_by_tag[t.device].type, t.mark) for t in group if t.device in design.device_by_tag}
        roles = [c.role for t in group for c in design.conductors_at.get(t, ())]
        name = ""
        if ("power_supply_24", "+") in kinds:
            name = "+24 V"
        elif ("power_supply_24", "-") in kinds:
            name = "0 V"
        elif len(group) > 2 and roles:
            name = {Role.GROUND: "PE", Role.NEUTRAL: "N", Role.LINE: "L"}.get(
                max(set(roles), key=lambda r: (roles.count(r), r)), ""
            )
        for t in group:
            names[t] = name
    for t in sorted(design.conductors_at, key=lambda t: (natural(t.device), natural(t.mark))):
        if design.device_by_tag[t.device].type.startswith("panelboard"):
            names[t] = t.mark
    return names
