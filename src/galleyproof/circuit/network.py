"""From a design to a network: every terminal a node, every conductor and part an element."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Iterable, Mapping
from functools import lru_cache
from typing import Any

from galleyproof.circuit.elements import EARTH, Branch, Link, Network, Source
from galleyproof.design.model import Bridge, Conductor, Design, Device, Stray, TerminalId
from galleyproof.errors import CircuitError
from galleyproof.library.model import (
    Coil,
    Contact,
    DeviceType,
    Earth,
    Joint,
    Load,
    Load3,
    Resistor,
    Sensor,
)
from galleyproof.library.model import Source as SourcePart
from galleyproof.tables.conductors import dc_resistance_ohm_per_kft

MIN_CONDUCTOR_OHM = 1e-4
"""A shorter conductor counts as this much, so that no branch is a perfect short [ohm]."""


def conductor_ohm(awg: str, length_ft: float) -> float:
    """One-way resistance of a stranded uncoated copper conductor at 75 C [ohm].

    Code basis: NFPA 70-2023 Chapter 9 Table 8. Leaves out reactance, which is small below 1 AWG.
    """
    return max(MIN_CONDUCTOR_OHM, _ohm_per_kft(awg) * length_ft / 1000.0)


_SMALLER_OHM_PER_KFT = {"20": 12.6, "22": 20.0, "24": 31.9}
"""Table 8 begins at 18 AWG; these follow from it by circular mils (1,020, 640 and 404). [ohm/kft]"""


@lru_cache(maxsize=64)
def _ohm_per_kft(awg: str) -> float:
    if awg in _SMALLER_OHM_PER_KFT:
        return _SMALLER_OHM_PER_KFT[awg]
    return dc_resistance_ohm_per_kft(awg).value


STRIP_TYPE = "terminal_strip"
"""Strips have as many places as the design needs; they are no type of the library."""


def rating(device: Device, kind: DeviceType, name: str) -> Any:
    """A device's rating, or its type's default.

    Raises:
        CircuitError: If neither the device nor its type states it.
    """
    if name in device.ratings:
        return device.ratings[name]
    spec = kind.ratings.get(name)
    if spec is None or spec.default is None:
        raise CircuitError(f"{device.tag}: type {kind.type} needs the rating {name}, and the device states none")
    return spec.default


def number(device: Device, kind: DeviceType, value: Any) -> float:
    """Resolve a part's value: a number, or ``$rating``."""
    if isinstance(value, str) and value.startswith("$"):
        value = rating(device, kind, value[1:])
    try:
        return float(value)
    except (TypeError, ValueError):
        raise CircuitError(f"{device.tag}: {value!r} is not a number") from None


def load_admittance(volts: float, watts: float | None, va: float | None, pf: float) -> complex:
    """Admittance of a load by its ratings; lagging [S]."""
    apparent = va if va is not None else (watts or 0.0) / pf
    if apparent == 0:
        return 0j
    return cmath.rect(apparent / volts**2, -math.acos(pf))


class NetworkBuilder:
    """Collects elements on raw nodes, one for each terminal and inner node; ``finish`` merges what is joined."""

    def __init__(self, design: Design, library: Mapping[str, DeviceType]) -> None:
        self.design = design
        self.library = library
        self.parent: list[int] = [EARTH]
        self.names: list[str] = ["earth"]
        self.node: dict[tuple[str, str], int] = {}
        self.branches: list[Branch] = []
        self.sources: list[Source] = []
        self.links: list[Link] = []
        self.joins: list[tuple[int, int, Bridge | None]] = []
        self.dead = frozenset(design.dead)

    # nodes -------------------------------------------------------------------------------------------------
    def add(self, device: str, mark: str) -> int:
        """Raw node of a terminal or inner node."""
        key = (device, mark)
        if key not in self.node:
            self.node[key] = len(self.parent)
            self.parent.append(self.node[key])
            self.names.append(f"{device}:{mark}")
        return self.node[key]

    def root(self, node: int) -> int:
        """The node that stands for all it is joined with."""
        while self.parent[node] != node:
            self.parent[node] = self.parent[self.parent[node]]
            node = self.parent[node]
        return node

    def join(self, a: int, b: int) -> None:
        """Make two nodes one."""
        ra, rb = self.root(a), self.root(b)
        self.parent[max(ra, rb)] = min(ra, rb)

    def joined(self, a: int, b: int, bridge: Bridge | None = None) -> None:
        """Join two nodes for good, and remember what does it."""
        self.joins.append((a, b, bridge))
        self.join(a, b)

    # devices -----------------------------------------------------------------------------------------------
    def device(self, device: Device) -> None:
        """All parts of a device."""
        if device.type == STRIP_TYPE:
            for n in range(1, int(device.ratings["last"]) + 1):
                self.add(device.tag, str(n))
            return
        kind = self.library.get(device.type)
        if kind is None:
            raise CircuitError(f"{device.tag}: the library has no device type {device.type}")
        for terminal in kind.terminals:
            self.add(device.tag, terminal.mark)
        for part in kind.parts:
            self.part(device, kind, part)

    def part(self, device: Device, kind: DeviceType, part: Any) -> None:
        """One part of a device."""

        def node(end: str) -> int:
            return self.add(device.tag, end)

        def value(raw: Any) -> float:
            return number(device, kind, raw)

        def optional(raw: Any) -> float | None:
            return None if raw is None else value(raw)

        if isinstance(part, Joint):
            self.joined(node(part.a), node(part.b))
            return
        if isinstance(part, Earth):
            self.joined(node(part.a), EARTH)
            return
        slot = f"{device.tag}.{part.name}"
        if (device.tag, part.name) in self.dead:
            self.dead_part(slot, part, node)
        elif isinstance(part, Contact):
            self.links.append(Link(slot, node(part.a), node(part.b), slot, part.normally == "closed"))
        elif isinstance(part, Resistor):
            g = 1.0 / value(part.ohm)
            self.branches.append(Branch(slot, node(part.a), node(part.b), complex(g), g))
        elif isinstance(part, Sensor):
            g = 1.0 / value(part.ohm)
            self.branches.append(Branch(slot, node(part.a), node(part.b), complex(g), g, slot, "ohm"))
        elif isinstance(part, Coil):
            volts, watts, va = value(part.volts), optional(part.watts), optional(part.va)
            if part.form == "dc":
                g = (watts if watts is not None else va or 0.0) / volts**2
                y = complex(g)
            else:
                y = load_admittance(volts, watts, va, value(part.pf))
                # an AC coil's winding is mostly reactance: its DC resistance is its in-phase part of |Z|
                g = abs(y) / max(value(part.pf), 0.05)
            self.branches.append(Branch(slot, node(part.a), node(part.b), y, g))
        elif isinstance(part, Load):
            y = load_admittance(value(part.volts), optional(part.watts), optional(part.va), value(part.pf))
            ohm = optional(part.dc_ohm)
            g = 1.0 / ohm if ohm else abs(y)
            how, name = ("factor", slot) if part.varies else ("", "")
            self.branches.append(Branch(slot, node(part.a), node(part.b), y, g, name, how))  # type: ignore[arg-type]
        elif isinstance(part, Load3):
            total_w, total_va = optional(part.watts), optional(part.va)
            y = load_admittance(
                value(part.volts),
                None if total_w is None else total_w / 3.0,
                None if total_va is None else total_va / 3.0,
                value(part.pf),
            )
            ohm = optional(part.dc_ohm)
            g = 1.0 / ohm if ohm else abs(y)
            how, name = ("factor", slot) if part.varies else ("", "")
            for pair, x, z in (("ab", part.a, part.b), ("bc", part.b, part.c), ("ca", part.c, part.a)):
                self.branches.append(
                    Branch(f"{slot}_{pair}", node(x), node(z), y, g, name, how)  # type: ignore[arg-type]
                )
        elif isinstance(part, SourcePart):
            volts = value(part.volts)
            ac = cmath.rect(volts, math.radians(value(part.degrees))) if part.form == "ac" else 0j
            dc = volts if part.form == "dc" else 0.0
            self.sources.append(
                Source(slot, node(part.a), node(part.b), ac, dc, value(part.ohm), "" if part.steady else slot)
            )
        else:  # pragma: no cover - the library's model knows no other part
            raise CircuitError(f"{device.tag}: unknown part {part!r}")

    def dead_part(self, slot: str, part: Any, node: Callable[[str], int]) -> None:
        """A part that is open inside: it carries nothing and feels no volts, whatever stands at its terminals."""
        if isinstance(part, Contact):
            return
        names = [f"{slot}_{pair}" for pair in ("ab", "bc", "ca")] if isinstance(part, Load3) else [slot]
        for name in names:
            inner = name.rpartition(".")[2]
            self.branches.append(Branch(name, node(f"~{inner}+"), node(f"~{inner}-"), 1 + 0j, 1.0))

    def ends(self, what: str, *terminals: TerminalId) -> list[int]:
        """Raw nodes of terminals; ``what`` is named when one does not exist."""
        found = []
        for terminal in terminals:
            node = self.node.get((terminal.device, terminal.mark))
            if node is None:
                raise CircuitError(f"{what}: there is no terminal {terminal}")
            found.append(node)
        return found

    def conductor(self, conductor: Conductor) -> None:
        """A conductor by its size and length."""
        a, b = self.ends(f"conductor {conductor.number}", conductor.a, conductor.b)
        g = 1.0 / conductor_ohm(conductor.awg, conductor.length_ft)
        self.branches.append(Branch(conductor.key, a, b, complex(g), g))

    def stray(self, stray: Stray) -> None:
        """A connection that is not as drawn."""
        a, b = self.ends(stray.key, stray.a, stray.b)
        g = 1.0 / stray.ohm
        self.branches.append(Branch(stray.key, a, b, complex(g), g))

    # result ------------------------------------------------------------------------------------------------
    def merged(self) -> list[int]:
        """Node of the finished network for each raw node."""
        numbers: dict[int, int] = {}
        return [numbers.setdefault(self.root(node), len(numbers)) for node in range(len(self.parent))]

    def finish(self, frequency_hz: float) -> Network:
        """The network, joined nodes made one."""
        merged = self.merged()
        names = [""] * (max(merged) + 1)
        for node, number in enumerate(merged):
            if self.root(node) == node:
                names[number] = self.names[node]

        def final(node: int) -> int:
            return merged[node]

        branches = tuple(Branch(b.name, final(b.a), final(b.b), b.y_ac, b.g_dc, b.slot, b.how) for b in self.branches)
        sources = [Source(s.name, final(s.a), final(s.b), s.v_ac, s.v_dc, s.ohm, s.slot) for s in self.sources]
        links = tuple(Link(k.name, final(k.a), final(k.b), k.slot, k.normal) for k in self.links)
        terminals = {TerminalId(d, m): final(n) for (d, m), n in self.node.items() if not m.startswith("~")}
        return Network(
            terminals,
            tuple(names),
            branches,
            tuple(s for s in sources if s.ohm > 0),
            links,
            _order_stiff([s for s in sources if s.ohm == 0]),
            frequency_hz,
        )


def _order_stiff(stiff: Iterable[Source]) -> tuple[Source, ...]:
    """Order stiff sources so that each one's negative end is already fixed."""
    waiting = list(stiff)
    fixed = {EARTH}
    ordered: list[Source] = []
    while waiting:
        ready = [s for s in waiting if s.b in fixed]
        if not ready:
            raise CircuitError(
                f"{waiting[0].name}: a stiff source needs a grounded end; bond it or give it an internal resistance"
            )
        for source in ready:
            if source.a in fixed:
                raise CircuitError(f"{source.name}: two stiff sources hold one bus; give one an internal resistance")
            fixed.add(source.a)
            ordered.append(source)
        waiting = [s for s in waiting if s not in ready]
    return tuple(ordered)


def collect(design: Design, library: Mapping[str, DeviceType]) -> NetworkBuilder:
    """Every element of a design on its raw nodes.

    Raises:
        CircuitError: If a device type, a rating or a terminal is missing; the message names the device.
    """
    builder = NetworkBuilder(design, library)
    for device in design.devices:
        builder.device(device)
    for bridge in design.bridges:
        builder.joined(
            builder.node[bridge.a.device, bridge.a.mark], builder.node[bridge.b.device, bridge.b.mark], bridge
        )
    for conductor in design.conductors:
        builder.conductor(conductor)
    for stray in design.strays:
        builder.stray(stray)
    return builder


def build_network(design: Design, library: Mapping[str, DeviceType], frequency_hz: float = 60.0) -> Network:
    """The network of a design as wired: jumpers taken out, every conductor landed where it belongs.

    Raises:
        CircuitError: If a device type, a rating or a terminal is missing; the message names the device.
    """
    return collect(design, library).finish(frequency_hz)
