"""What conducts to what in a machine: the graph on which feeds, neutrals and traces are followed."""

from __future__ import annotations

import re
from collections.abc import Iterator

from galleyproof.circuit.elements import Branch, Link
from galleyproof.circuit.machine import Machine, State
from galleyproof.design.model import Design, Device, Role, TerminalId

_POLE = re.compile(r"\.(way|heater)_\d+$")


class Wiring:
    """The conducting graph of a machine: conductors, contacts and the small resistances in their way."""

    def __init__(self, design: Design, machine: Machine) -> None:
        self.design = design
        self.machine = machine
        net = machine.network
        keys = {c.key: c for c in design.conductors}
        self.edges: dict[int, list[tuple[int, str, bool]]] = {}
        for branch in net.branches:
            if branch.name in keys or _POLE.search(branch.name):
                self._edge(branch, branch.name, False)
        for link in net.links:
            self._edge(link, link.name, True)
        self.terminals_at: dict[int, list[TerminalId]] = {}
        for terminal, node in net.terminals.items():
            self.terminals_at.setdefault(node, []).append(terminal)
        self._source_nodes: dict[int, list[str]] = {}
        for source in net.sources:
            self._source_nodes.setdefault(source.a, []).append(source.name)
        self.keys = keys
        self._stiff_owner = {source.a: source.name.split(".")[0] for source in net.stiff}

    def _edge(self, element: Branch | Link, name: str, is_link: bool) -> None:
        self.edges.setdefault(element.a, []).append((element.b, name, is_link))
        self.edges.setdefault(element.b, []).append((element.a, name, is_link))

    # walking -----------------------------------------------------------------------------------------------
    def _open(self, name: str, is_link: bool, state: State) -> bool:
        return is_link and not self.machine.get(state, name)

    def reach(self, start: int, state: State, without: str = "") -> dict[int, tuple[int, str]]:
        """Nodes reached from a node through what conducts; fixed nodes end a way. node -> (from, through)."""
        found: dict[int, tuple[int, str]] = {start: (-1, "")}
        queue = [start]
        fixed = self.machine.fixed
        while queue:
            node = queue.pop(0)
            if node in fixed and node != start:
                continue
            for other, name, is_link in self.edges.get(node, ()):
                if other in found or name == without or self._open(name, is_link, state):
                    continue
                found[other] = (node, name)
                queue.append(other)
        return found

    def _live_bus(self, node: int) -> bool:
        ac, dc, _ = self.machine.fixed.get(node, (0j, 0.0, ""))
        return bool(ac or dc)

    def sources(self, start: int, state: State, without: str = "") -> dict[int, str]:
        """Nodes that feed a node, with the name of what stands there."""
        found: dict[int, str] = {}
        for node, (_before, through) in self.reach(start, state, without).items():
            if self._live_bus(node):
                # a breaker stands for the bus behind it
                pole = through.split(".")[0] if "." in through else ""
                breaker = pole in self.design.device_by_tag and self.design.device_by_tag[pole].type.startswith(
                    "breaker_"
                )
                found[node] = pole if breaker else self._stiff_owner[node]
            elif node in self._source_nodes and node != start:
                found[node] = self._source_nodes[node][0].split(".")[0]
        return found

    def breakers_joined(self, start: tuple[str, str], state: State) -> set[str]:
        """Breakers whose load sides hang together with a terminal."""
        node = self.machine.network.terminals[TerminalId(*start)]
        found = set()
        for other in self.reach(node, state):
            if other in self.machine.fixed:
                continue
            for terminal in self.terminals_at.get(other, ()):
                device = self.design.device_by_tag.get(terminal.device)
                if (
                    device
                    and device.type.startswith("breaker_")
                    and terminal.mark.isdigit()
                    and int(terminal.mark) % 2 == 0
                ):
                    found.add(terminal.device)
        return found

    # neutrals ----------------------------------------------------------------------------------------------
    def neutral_ends(self, device: Device) -> Iterator[str]:
        """Terminals of a field device that a neutral conductor is landed on."""
        if device.parent is not None or device.type.startswith(("panelboard", "breaker", "disconnect")):
            return
        for conductor in self.design.conductors:
            if conductor.role is Role.NEUTRAL:
                for end in (conductor.a, conductor.b):
                    if end.device == device.tag:
                        yield end.mark

    def neutral_home(self, tag: str, mark: str, state: State) -> set[str]:
        """What the neutral home runs a terminal hangs on were made for: circuits, or devices fed straight."""
        node = self.machine.network.terminals[TerminalId(tag, mark)]
        homes = set()
        # every conductor into the neutral bus counts: the bus itself is reached by the first of them
        near = (n for n in self.reach(node, state) if n == node or n not in self.machine.fixed)
        for through in dict.fromkeys(name for n in near for _other, name, _link in self.edges.get(n, ())):
            conductor = self.keys.get(through)
            if conductor is not None and conductor.role is Role.NEUTRAL:
                for end in (conductor.a, conductor.b):
                    board = self.design.device_by_tag.get(end.device)
                    if board is not None and board.type.startswith("panelboard"):
                        homes.add(conductor.of)
        return homes


_INLETS = ("L", "L1", "L2", "L3", "U1", "V1", "W1", "1", "Z1", "A1")
_COMMANDS = ("0-10V", "PWM", "S+", "J1", "run")


def inlets(design: Design, machine: Machine, load: str) -> tuple[TerminalId, ...]:
    """Terminals at which a device gets its power, then those at which it gets its signals and commands.

    Args:
        design: The design.
        machine: Its machine.
        load: Device tag.
    """
    tag = design.device_by_tag[load].tag
    known = machine.network.terminals
    return tuple(t for t in (TerminalId(tag, m) for m in (*_INLETS, *_COMMANDS)) if t in known)


def commanded(terminal: TerminalId) -> bool:
    """Whether a terminal is one of those for run commands."""
    return terminal.mark in ("J1", "run")
