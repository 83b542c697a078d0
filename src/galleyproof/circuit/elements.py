"""The few primitives a network is made of.

A *slot* is one named value of the machine's state: a link's open or closed, a source's level, a load's factor, a
sensor's ohms, a reading, an effect, a fact of the outside world. Elements name the slots they depend on.

Voltage is RMS and complex (a phasor) in the AC solution, plain in the DC solution. Current is positive from the
first node to the second.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from galleyproof.design.model import TerminalId

EARTH = 0
"""Node number of the grounding electrode; its potential is zero."""


@dataclass(frozen=True, slots=True)
class Branch:
    """An admittance between two nodes.

    Attributes:
        name: ``EF-1-M.winding_ab`` or the conductor's key.
        y_ac: Admittance at line frequency. [S]
        g_dc: Conductance at DC. [S]
        slot: Slot that changes it, or empty.
        how: ``factor`` multiplies both admittances; ``ohm`` replaces them by 1/ohms.
    """

    name: str
    a: int
    b: int
    y_ac: complex
    g_dc: float
    slot: str = ""
    how: Literal["", "factor", "ohm"] = ""


@dataclass(frozen=True, slots=True)
class Source:
    """A voltage from ``b`` to ``a`` behind a resistance (0 ohm: stiff).

    Attributes:
        v_ac: Phasor at line frequency. [V]
        v_dc: [V]
        ohm: [ohm]
        slot: Slot whose value (0 to 1) multiplies the volts; empty when steady.
    """

    name: str
    a: int
    b: int
    v_ac: complex
    v_dc: float
    ohm: float
    slot: str = ""


@dataclass(frozen=True, slots=True)
class Link:
    """A contact. Closed, it joins its two nodes; it is not a small resistor."""

    name: str
    a: int
    b: int
    slot: str
    normal: bool = False
    """How it stands when nothing moves it."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A value that behaviours and probes take from the solution.

    ``of`` is ``volts`` (a minus b) or ``amps`` (through the named branch, source or link-free part).
    """

    slot: str
    form: Literal["ac", "dc"]
    of: Literal["volts", "amps"]
    a: int
    b: int
    branch: str = ""


@dataclass(frozen=True)
class Network:
    """A circuit ready to be cut into islands.

    Attributes:
        terminals: Node number of each terminal.
        node_names: Name of each node, for messages and export.
        stiff: Stiff sources, in an order in which each one's ``b`` already has a fixed potential.
    """

    terminals: dict[TerminalId, int]
    node_names: tuple[str, ...]
    branches: tuple[Branch, ...]
    sources: tuple[Source, ...]
    links: tuple[Link, ...]
    stiff: tuple[Source, ...]
    frequency_hz: float
