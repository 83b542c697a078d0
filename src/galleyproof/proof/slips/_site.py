"""A design as the people on site meet it: field conductors, the terminals next to each other, pairs and cables."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from itertools import pairwise

from galleyproof.circuit.elements import EARTH
from galleyproof.circuit.network import STRIP_TYPE, build_network
from galleyproof.design.model import Conductor, Design, Device, EnergyClass, Role, TerminalId
from galleyproof.library.model import Coil, Contact, DeviceType, TerminalSpec

LIGHT = (EnergyClass.CLASS2, EnergyClass.DATA)
_EVEN_AND_ODD = ("breaker_", "disconnect_", "contactor_", "motor_contactor_", "light_contactor")


class Site:
    """Look-ups that the generators share.

    Args:
        design: The design.
        library: Device types.
    """

    def __init__(self, design: Design, library: Mapping[str, DeviceType]) -> None:
        self.design = design
        self.library = library
        self.network = build_network(design, library)
        self.field = tuple(c for c in design.conductors if c.made == "field")
        self.wires = tuple(c for c in self.field if c.role is not Role.GROUND)
        """Field conductors but equipment grounds."""

    @cached_property
    def cables(self) -> dict[str, tuple[Conductor, ...]]:
        """Field conductors by cable, equipment grounds left out."""
        found: dict[str, list[Conductor]] = {}
        for c in self.wires:
            found.setdefault(c.cable, []).append(c)
        return {tag: tuple(cs) for tag, cs in found.items()}

    @cached_property
    def earth(self) -> TerminalId:
        """A terminal of the grounding electrode."""
        return next(t for t, n in sorted(self.network.terminals.items()) if n == EARTH)

    @cached_property
    def grounds(self) -> frozenset[TerminalId]:
        """Terminals for equipment grounds."""
        bar = {t for c in self.design.conductors if c.role is Role.GROUND for t in (c.a, c.b)}
        nodes = {self.network.terminals[t] for t in bar if t.device in self.strips}
        bar |= {t for t, n in self.network.terminals.items() if n in nodes and t.device in self.strips}
        return frozenset(bar | {t for t in self.network.terminals if t.mark == "PE"})

    @cached_property
    def strips(self) -> frozenset[str]:
        """Tags of terminal strips."""
        return frozenset(d.tag for d in self.design.devices if d.type == STRIP_TYPE)

    def node(self, terminal: TerminalId) -> int:
        """Node a terminal belongs to."""
        return self.network.terminals[terminal]

    def kind(self, tag: str) -> DeviceType | None:
        """Type of a device; strips have none."""
        return self.library.get(self.design.device_by_tag[tag].type)

    def spec(self, terminal: TerminalId) -> TerminalSpec | None:
        """What a terminal takes; strips take what their class says."""
        kind = self.kind(terminal.device)
        if kind is None:
            return None
        return next((t for t in kind.terminals if t.mark == terminal.mark), None)

    def devices_of(self, *starts: str) -> Iterator[Device]:
        """Devices whose type begins with one of these words."""
        for device in self.design.devices:
            if device.type.startswith(starts):
                yield device

    def parts(self, tag: str, what: type) -> Iterator[Coil | Contact]:
        """Parts of one kind of a device."""
        kind = self.kind(tag)
        for part in kind.parts if kind else ():
            if isinstance(part, what):
                yield part  # type: ignore[misc]

    def landed(self, terminal: TerminalId) -> tuple[Conductor, ...]:
        """Conductors landed on a terminal."""
        return self.design.conductors_at.get(terminal, ())

    def field_at(self, tag: str) -> tuple[tuple[Conductor, str, TerminalId], ...]:
        """Field conductors landed on a device, in the order of its terminals: conductor, its end, the terminal."""
        order = {m: i for i, m in enumerate(self.marks(tag))}
        found = [(c, e, t) for c in self.wires for e, t in (("a", c.a), ("b", c.b)) if t.device == tag]
        return tuple(sorted(found, key=lambda x: (order.get(x[2].mark, 0), x[0].key)))

    def marks(self, tag: str) -> tuple[str, ...]:
        """Marks of a device in the order in which they stand."""
        if tag in self.strips:
            last = int(self.design.device_by_tag[tag].ratings["last"])
            return tuple(str(n) for n in range(1, last + 1))
        kind = self.kind(tag)
        return tuple(t.mark for t in kind.terminals) if kind else ()

    def row(self, terminal: TerminalId) -> tuple[str, ...]:
        """The marks a person sees side by side with this one: one side of a switch, the coil, the signal terminals."""
        marks = self.marks(terminal.device)
        if terminal.device in self.strips:
            return marks
        if self.design.device_by_tag[terminal.device].type.startswith(_EVEN_AND_ODD):

            def side(mark: str) -> str:
                number = re.match(r"^[1-6](?=/|$)", mark)
                return str(int(number[0]) % 2) if number else mark[:1]

            return tuple(m for m in marks if side(m) == side(terminal.mark))
        return marks

    def beside(self, conductor: Conductor, terminal: TerminalId) -> Iterator[TerminalId]:
        """Terminals next to one where a conductor could be landed by mistake: it fits, and it makes a difference."""
        row = self.row(terminal)
        at = row.index(terminal.mark)
        for i in (at - 1, at + 1):
            if not 0 <= i < len(row):
                continue
            other = TerminalId(terminal.device, row[i])
            if other in self.grounds or self.node(other) == self.node(terminal):
                continue
            spec = self.spec(other)
            if spec is not None:
                light = spec.energy in ("Class 2", "data")
                heavy = spec.energy == "line voltage"
                if (light and conductor.energy_class not in LIGHT) or (heavy and conductor.energy_class in LIGHT):
                    continue
                if len(self.landed(other)) >= spec.capacity:
                    continue
            yield other

    def pairs_at(self, tag: str, conductors: Iterable[Conductor]) -> Iterator[tuple[Conductor, Conductor]]:
        """Neighbours among some conductors in the order of a device's terminals."""
        keys = {c.key for c in conductors}
        mine = [c for c, _, _ in self.field_at(tag) if c.key in keys]
        yield from pairwise(dict.fromkeys(mine))

    def fars(self, cable: tuple[Conductor, ...]) -> tuple[str, ...]:
        """The devices at which a cable ends; not a strip, nor the building's breaker where there is another."""
        tags = dict.fromkeys(t.device for c in cable for t in (c.b, c.a) if t.device not in self.strips)
        types = {tag: self.design.device_by_tag[tag].type for tag in tags}
        ends = [tag for tag in tags if not types[tag].startswith(("breaker_", "panelboard_"))]
        return tuple(ends or [tag for tag in tags if not types[tag].startswith("panelboard_")][:1])

    @staticmethod
    def end_at(conductor: Conductor, tag: str) -> str:
        """Which end of a conductor stands at a device."""
        return "a" if conductor.a.device == tag else "b"

    @staticmethod
    def terminal_at(conductor: Conductor, tag: str) -> TerminalId:
        """Where a conductor is landed on a device."""
        return conductor.a if conductor.a.device == tag else conductor.b


def called(conductor: Conductor) -> str:
    """A conductor for people: ``conductor 14 (run pair of MAU-1)``."""
    return f"conductor {conductor.number} ({conductor.purpose})"


def hot_bus(site: Site) -> TerminalId | None:
    """A place in the panel that is live with the control power."""
    for device in site.devices_of("power_supply_24"):
        for c in site.landed(TerminalId(device.tag, "L")):
            return c.a if c.a.device in site.strips else c.b
    return None
