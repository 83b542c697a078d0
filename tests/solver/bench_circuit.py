"""A circuit drawn by hand, element by element, and solved by the engine."""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping
from typing import Any

from galleyproof.circuit.elements import EARTH, Branch, Link, Network, Source
from galleyproof.circuit.machine import Machine, State
from galleyproof.circuit.rules import Rule

EARTH_NAME = "earth"


class Circuit:
    """Elements between named nodes; ``earth`` is the earth.

    Every method takes the two nodes the element joins; currents count from the first to the second.
    """

    def __init__(self, frequency_hz: float = 60.0) -> None:
        self.frequency_hz = frequency_hz
        self.nodes: dict[str, int] = {EARTH_NAME: EARTH}
        self.branches: list[Branch] = []
        self.sources: list[Source] = []
        self.stiff: list[Source] = []
        self.links: list[Link] = []

    def at(self, node: str) -> int:
        return self.nodes.setdefault(node, len(self.nodes))

    def ac(self, name: str, a: str, b: str, volts: float, degrees: float = 0.0, ohm: float = 0.0) -> None:
        """A line-frequency source [V RMS], positive at ``a``; 0 ohm makes it stiff."""
        self._source(Source(name, self.at(a), self.at(b), cmath.rect(volts, math.radians(degrees)), 0.0, ohm))

    def dc(self, name: str, a: str, b: str, volts: float, ohm: float = 0.0) -> None:
        """A battery [V], positive at ``a``; 0 ohm makes it stiff."""
        self._source(Source(name, self.at(a), self.at(b), 0j, volts, ohm))

    def _source(self, source: Source) -> None:
        (self.sources if source.ohm else self.stiff).append(source)

    def ohm(self, name: str, a: str, b: str, ohm: complex) -> None:
        """A resistance, or an impedance at line frequency that is its real part at DC [ohm]."""
        g_dc = 1.0 / ohm.real if ohm.real else 0.0
        self.branches.append(Branch(name, self.at(a), self.at(b), 1.0 / complex(ohm), g_dc))

    def farad(self, name: str, a: str, b: str, farad: float) -> None:
        """A capacitor [F]: nothing at DC."""
        y = 2j * math.pi * self.frequency_hz * farad
        self.branches.append(Branch(name, self.at(a), self.at(b), y, 0.0))

    def henry(self, name: str, a: str, b: str, henry: float) -> None:
        """An inductor [H], for AC only: its DC side is left open."""
        y = 1.0 / (2j * math.pi * self.frequency_hz * henry)
        self.branches.append(Branch(name, self.at(a), self.at(b), y, 0.0))

    def sensor(self, name: str, a: str, b: str) -> None:
        """A resistance that the slot ``name`` sets [ohm]."""
        self.branches.append(Branch(name, self.at(a), self.at(b), 0j, 0.0, name, "ohm"))

    def load(self, name: str, a: str, b: str, volts: float, watts: float, pf: float = 1.0) -> None:
        """A load by its rating, lagging."""
        apparent = watts / pf
        self.branches.append(
            Branch(name, self.at(a), self.at(b), cmath.rect(apparent / volts**2, -math.acos(pf)), watts / volts**2)
        )

    def contact(self, name: str, a: str, b: str) -> None:
        """A contact, open until the slot ``name`` is true."""
        self.links.append(Link(name, self.at(a), self.at(b), name))

    def network(self) -> Network:
        names = tuple(self.nodes)
        return Network(
            {},
            names,
            tuple(self.branches),
            tuple(self.sources),
            tuple(self.links),
            tuple(self.stiff),
            self.frequency_hz,
        )

    def settle(self, values: Mapping[str, Any] | None = None) -> Settled:
        """The engine's answer with slots at ``values``."""
        metered = [x.name for x in (*self.branches, *self.sources)]
        meter = Rule(
            "meter",
            "reads every current",
            tuple(f"{name}.amps_{form}" for name in metered for form in ("ac", "dc")),
            (),
            (),
            lambda _inputs, _outputs: (),
        )
        machine = Machine(self.network(), (meter,), {})
        return Settled(self, machine, machine.apply(machine.dark(), values or {}))


class Settled:
    """A circuit in one state."""

    def __init__(self, circuit: Circuit, machine: Machine, state: State) -> None:
        self.circuit = circuit
        self.machine = machine
        self.state = state

    def volts(self, form: str, a: str, b: str = EARTH_NAME) -> complex:
        """Voltage from ``b`` to ``a`` [V]."""
        va, vb = (self.machine.volts(self.state, self.circuit.nodes[n])[form == "dc"] for n in (a, b))
        return complex(va - vb)

    def amps(self, form: str, name: str) -> complex:
        """Current through an element, from its first node to its second [A]."""
        return complex(self.machine.get(self.state, f"{name}.amps_{form}"))
