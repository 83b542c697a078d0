"""A network in one state as a text netlist for a general-purpose circuit simulator.

The text follows the open netlist format of the SPICE family: one element a line, its first letter its kind, node 0
the earth. Nothing is taken from the solver's own islands: joined nodes, floating parts and element values are worked
out here again from the network, so that a simulator's answer checks the solver's whole way and not only its algebra.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from galleyproof.circuit.elements import EARTH, Branch, Network, Source
from galleyproof.circuit.machine import Machine, State
from galleyproof.errors import CircuitError

Form = Literal["ac", "dc"]

LEAST_OHM = 1e-4
"""A sensor shorted to nothing counts as this much, as the solver counts it [ohm]."""


@dataclass(frozen=True)
class Netlist:
    """A network in one state, exported.

    Attributes:
        elements: Element lines, without title and end; several netlists with different prefixes may be joined.
        node_of: Network node -> its name in the netlist; nodes that no current can reach are left out.
        tied: Nodes of the netlist that hang on nothing fixed -> the node of their part that is tied to earth.
            Among them only differences mean anything.
        frequency_hz: Line frequency. [Hz]
    """

    elements: tuple[str, ...]
    node_of: Mapping[int, str]
    tied: Mapping[str, str]
    frequency_hz: float

    def text(self, title: str = "galleyproof network") -> str:
        """The whole netlist, title first."""
        return "\n".join([f"* {title}", *self.elements, ".end", ""])


def netlist(machine: Machine, state: State, form: Form) -> str:
    """The network in one state as a netlist.

    Args:
        machine: The compiled network.
        state: Its slots; contacts, levels and resistances are taken from here.
        form: ``ac`` for the line-frequency phasors, ``dc`` for the DC solution.

    Returns:
        The text; run ``op`` on a DC one, ``ac lin 1 f f`` on an AC one (f in its first line).

    Raises:
        CircuitError: If closed contacts join two stiff buses of different voltage.
    """
    exported = export_network(machine.network, lambda slot: machine.get(state, slot), form)
    names = machine.network.node_names
    legend = [f"* {name} is {names[node]}" for node, name in exported.node_of.items() if name != "0"]
    return "\n".join([exported.text(f"{form} network at {exported.frequency_hz:g} Hz").rstrip("\n"), *legend, ""])


def export_network(network: Network, value_of: Callable[[str], Any], form: Form, prefix: str = "") -> Netlist:
    """A network, or a part of one, as netlist elements.

    Args:
        network: Elements; nodes no element touches are left out.
        value_of: Value of a slot.
        form: ``ac`` or ``dc``.
        prefix: Put in front of every name (letters and digits), so that several netlists can stand in one.

    Raises:
        CircuitError: If closed contacts join two stiff buses of different voltage.
    """
    join = _Joined()
    for link in network.links:
        if value_of(link.slot):
            join.join(link.a, link.b)
    potentials: dict[int, complex] = {EARTH: 0j}
    by_root: dict[int, complex] = {join.root(EARTH): 0j}
    holders: list[tuple[Source, complex]] = []
    for source in network.stiff:
        volts = _volts(source, value_of, form)
        potentials[source.a] = potentials[source.b] + volts
        root = join.root(source.a)
        if root not in by_root:
            by_root[root] = potentials[source.a]
            holders.append((source, volts))
        elif abs(by_root[root] - potentials[source.a]) > 1e-9:
            raise CircuitError(
                f"{source.name}: closed contacts join it to another stiff bus of different voltage; "
                "give the source an internal resistance"
            )
    flows: list[tuple[int, int, complex]] = []
    for branch in network.branches:
        a, z = join.root(branch.a), join.root(branch.b)
        ohm = _impedance(branch, value_of, form)
        # a part whose two ends are joined carries nothing, or a current that reaches no one else
        if ohm is not None and a != z:
            flows.append((a, z, ohm))
    behind = [(join.root(s.a), join.root(s.b), s) for s in network.sources]
    behind = [(a, z, s) for a, z, s in behind if a != z]
    edges = [(a, z) for a, z, _ in (*flows, *behind)]
    tied = _floating(edges, set(by_root))

    earth = join.root(EARTH)

    def name(root: int) -> str:
        return "0" if root == earth else f"{prefix}n{root}"

    lines: list[str] = []
    for i, (source, volts) in enumerate(holders):
        ends = f"{name(join.root(source.a))} {name(join.root(source.b))}"
        lines.append(f"V{prefix}h{i} {ends} {_level(volts, form)}")
    for i, (a, z, source) in enumerate(behind):
        inner = f"{prefix}s{i}"
        lines.append(f"V{prefix}s{i} {inner} {name(z)} {_level(_volts(source, value_of, form), form)}")
        lines.append(f"R{prefix}s{i} {name(a)} {inner} {source.ohm!r}")
    for i, (a, z, ohm) in enumerate(flows):
        lines.extend(_element(f"{prefix}b{i}", name(a), name(z), ohm, network.frequency_hz))
    lines.extend(f"V{prefix}t{n} {name(n)} 0 {_level(0j, form)}" for n in sorted(set(tied.values())))
    used = {n for edge in edges for n in edge} | set(by_root)
    touched = {n for b in network.branches for n in (b.a, b.b)}
    touched |= {n for s in (*network.sources, *network.stiff) for n in (s.a, s.b)}
    touched |= {n for k in network.links for n in (k.a, k.b)}
    node_of = {n: name(join.root(n)) for n in sorted(touched) if join.root(n) in used}
    return Netlist(tuple(lines), node_of, {name(r): name(t) for r, t in tied.items()}, network.frequency_hz)


class _Joined:
    """Nodes that closed contacts make one."""

    def __init__(self) -> None:
        self._parent: dict[int, int] = {}

    def root(self, node: int) -> int:
        """The node that stands for all it is joined with: the lowest."""
        parent = self._parent
        while (up := parent.get(node, node)) != node:
            parent[node] = parent.get(up, up)
            node = up
        return node

    def join(self, a: int, b: int) -> None:
        """Make two nodes one."""
        ra, rb = self.root(a), self.root(b)
        if ra != rb:
            self._parent[max(ra, rb)] = min(ra, rb)


def _floating(edges: Sequence[tuple[int, int]], fixed: set[int]) -> dict[int, int]:
    """Nodes whose part hangs on nothing fixed -> the lowest node of their part."""
    part = _Joined()
    for a, b in edges:
        part.join(a, b)
    held = {part.root(n) for n in fixed}
    nodes = sorted({n for edge in edges for n in edge})
    return {n: part.root(n) for n in nodes if part.root(n) not in held}


def _volts(source: Source, value_of: Callable[[str], Any], form: Form) -> complex:
    level = float(value_of(source.slot)) if source.slot else 1.0
    return (source.v_ac if form == "ac" else complex(source.v_dc)) * level


def _impedance(branch: Branch, value_of: Callable[[str], Any], form: Form) -> complex | None:
    """Impedance of a branch, or None when nothing flows through it [ohm]."""
    if branch.how == "ohm":
        ohm = float(value_of(branch.slot))
        return None if math.isinf(ohm) else complex(max(ohm, LEAST_OHM))
    y = branch.y_ac if form == "ac" else complex(branch.g_dc)
    if branch.how == "factor":
        y *= float(value_of(branch.slot))
    return None if y == 0 else 1.0 / y


def _level(volts: complex, form: Form) -> str:
    if form == "dc":
        return f"DC {volts.real!r}"
    size, radians = cmath.polar(volts)
    return f"DC 0 AC {size!r} {math.degrees(radians)!r}"


def _element(name: str, a: str, b: str, ohm: complex, frequency_hz: float) -> Iterator[str]:
    """A resistor, followed by an inductor or a capacitor in series where there is a reactance."""
    omega = 2.0 * math.pi * frequency_hz
    if ohm.imag == 0.0:
        yield f"R{name} {a} {b} {ohm.real!r}"
        return
    end = a
    if ohm.real != 0.0:
        end = f"{name}x"
        yield f"R{name} {a} {end} {ohm.real!r}"
    if ohm.imag > 0.0:
        yield f"L{name} {end} {b} {ohm.imag / omega!r}"
    else:
        yield f"C{name} {end} {b} {-1.0 / (ohm.imag * omega)!r}"
