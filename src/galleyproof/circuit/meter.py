"""Meters as parts: a probe is the network with a meter connected.

A voltmeter is a resistance of 10 Mohm (or a low-impedance one), an ohmmeter a small test current into the dead network.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from galleyproof.circuit.elements import Branch, Reading, Source
from galleyproof.circuit.island import Island
from galleyproof.circuit.machine import Machine, State
from galleyproof.design.model import TerminalId
from galleyproof.errors import CircuitError

VOLTMETER_OHM = 10e6
"""Input resistance of an ordinary digital voltmeter (common practice). [ohm]"""
LOW_IMPEDANCE_OHM = 3e3
"""Input resistance in a low-impedance range (common practice, 3 to 5 kohm). [ohm]"""
TEST_V = 1.0
"""Open-circuit volts of the ohmmeter. [V]"""
TEST_OHM = 1e3
"""Its source resistance: at most 1 mA flows, too little to move anything. [ohm]"""
OPEN_OHM = 20e6
"""Above this the display shows an open circuit. [ohm]"""


@dataclass(frozen=True, slots=True)
class Measured:
    """What a meter shows.

    Attributes:
        value: Volts or ohms; infinity for an open circuit.
        unit: ``V AC``, ``V DC`` or ``ohm``.
        floating: True when the leads bridge two networks that otherwise do not touch: the value says little.
    """

    value: float
    unit: Literal["V AC", "V DC", "ohm"]
    floating: bool = False


def _node(machine: Machine, terminal: TerminalId) -> int:
    node = machine.network.terminals.get(terminal)
    if node is None:
        raise CircuitError(f"there is no terminal {terminal} to put a lead on")
    return node


def _with_meter(machine: Machine, a: int, b: int, meter: Branch | Source, reading: Reading) -> tuple[Island, bool]:
    """The islands under the two leads joined by the meter."""
    indices = sorted({i for n in (a, b) if (i := machine.island_of.get(n)) is not None})
    islands = [machine.islands[i] for i in indices]
    nodes = sorted({n for island in islands for n in island.nodes})
    fixed_nodes = {n for island in islands for n, *_ in island.fixed_nodes}
    fixed_nodes |= {n for n in (a, b) if n in machine.fixed}
    loose = [n for n in (a, b) if n not in nodes and n not in fixed_nodes]
    joined = Island(
        sorted({*nodes, *loose}),
        [*(x for i in islands for x in i.branches), *([meter] if isinstance(meter, Branch) else [])],
        [*(x for i in islands for x in i.sources), *([meter] if isinstance(meter, Source) else [])],
        [x for i in islands for x in i.links],
        [(n, *machine.fixed[n]) for n in sorted(fixed_nodes)],
    )
    joined.set_readings([reading])
    return joined, len(indices) > 1


def _key(machine: Machine, state: State, island: Island, dead: bool) -> tuple[Any, ...]:
    supplies = {s.slot for s in (*machine.network.sources, *machine.network.stiff) if s.slot}
    return tuple(0.0 if dead and s in supplies else machine.get(state, s) for s in island.key_slots)


def volts(
    machine: Machine,
    state: State,
    red: TerminalId,
    black: TerminalId,
    form: Literal["ac", "dc"],
    meter_ohm: float = VOLTMETER_OHM,
) -> Measured:
    """Volts between two terminals, the meter's own resistance in place.

    Args:
        machine: The machine.
        state: A settled state; the meter does not change it.
        red: Terminal of the red lead.
        black: Terminal of the black lead.
        form: Range of the meter.
        meter_ohm: Input resistance [ohm].

    Raises:
        CircuitError: If a terminal does not exist.
    """
    a, b = _node(machine, red), _node(machine, black)
    unit: Literal["V AC", "V DC"] = "V AC" if form == "ac" else "V DC"
    if a == b:
        return Measured(0.0, unit)
    meter = Branch("meter", a, b, complex(1.0 / meter_ohm), 1.0 / meter_ohm)
    island, apart = _with_meter(machine, a, b, meter, Reading("meter", form, "volts", a, b))
    shown = island.solve(_key(machine, state, island, dead=False)).readings[0]
    return Measured(abs(shown) if form == "ac" else float(shown), unit, apart)


def ohms(machine: Machine, state: State, red: TerminalId, black: TerminalId) -> Measured:
    """Ohms between two terminals with every source dead: in circuit, so all parallel ways count.

    Args:
        machine: The machine.
        state: Gives the contacts; its sources are taken as dead, and building supplies must be lost in it.
        red: Terminal of the red lead.
        black: Terminal of the black lead.

    Raises:
        CircuitError: If a terminal does not exist, or a building supply is still present (never an ohm reading on
            a live circuit).
    """
    live = [n for n in machine.names if n.startswith("supply ") and machine.get(state, n) == "present"]
    if live:
        raise CircuitError(f"no ohm reading on a live circuit: open {', '.join(n[7:] for n in live)} first")
    a, b = _node(machine, red), _node(machine, black)
    if a == b:
        return Measured(0.0, "ohm")
    meter = Source("meter", a, b, 0j, TEST_V, TEST_OHM)
    island, _apart = _with_meter(machine, a, b, meter, Reading("meter", "dc", "volts", a, b))
    shown = float(island.solve(_key(machine, state, island, dead=True)).readings[0])
    if shown >= TEST_V * (1.0 - 1e-9):
        return Measured(float("inf"), "ohm")
    value = TEST_OHM * shown / (TEST_V - shown)
    return Measured(float("inf") if value > OPEN_OHM else value, "ohm")
