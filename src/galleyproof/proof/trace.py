"""Fed from, switched by, lost when: followed on the network itself, control supply included."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from galleyproof.circuit.elements import Branch, Link
from galleyproof.circuit.machine import Machine, State
from galleyproof.design.model import Design, Device, Role, TerminalId

_POLE = re.compile(r"\.(way|heater)_\d+$")


_INLETS = {"power_supply": "L", "control_transformer": "1", "vfd_": "L1", "controller": "24V", "module_": "24V"}
"""Where a device that feeds others takes its own power, by the beginning of its type."""


@dataclass(frozen=True, slots=True)
class Feed:
    """Where one side of a device gets its power from.

    Attributes:
        device: The device asked about.
        terminal: Its terminal, or the part asked about.
        sources: Breakers, supplies or drives its power comes from.
        path: Terminals and devices on the way, from the device back to the source.
        switches: Contacts any one of which cuts it, each as ``device part``.
        by: What moves each of those contacts, in words.
        control: Feeds of the coils that move them, and of sources that are themselves fed.
    """

    device: str
    terminal: str
    sources: tuple[str, ...]
    path: tuple[str, ...]
    switches: tuple[str, ...]
    by: tuple[str, ...] = ()
    control: tuple[Feed, ...] = field(default_factory=tuple)


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

    # feeds -------------------------------------------------------------------------------------------------
    def feed(self, terminal: TerminalId, state: State, depth: int = 0) -> Feed:
        """Follow a terminal back to what feeds it, and everything that switches it."""
        node = self.machine.network.terminals[terminal]
        tree = self.reach(node, state)
        sources = self.sources(node, state)
        path: list[str] = []
        switches: list[str] = []
        if sources:
            end = next(iter(sources))
            chain: list[str] = []
            at = end
            while at != node:
                before, through = tree[at]
                chain.append(through)
                at = before
            chain.reverse()
            for name in chain:
                conductor = self.keys.get(name)
                if conductor is not None:
                    path.append(f"conductor {conductor.number} ({conductor.a} - {conductor.b})")
                elif not _POLE.search(name):
                    path.append(name.replace(".", " "))
                    if not self.sources(node, state, without=name):
                        switches.append(name)
        control: list[Feed] = []
        by: list[str] = []
        for name in switches:
            text, further = self._mover(name, state, depth)
            by.append(f"{name.replace('.', ' ')}: {text}")
            control.extend(further)
        for source in dict.fromkeys(sources.values()):
            if depth < 4 and source != terminal.device:
                control.extend(self._behind(source, state, depth))
        return Feed(
            terminal.device,
            terminal.mark,
            tuple(dict.fromkeys(sources.values())),
            tuple(path),
            tuple(switches),
            tuple(by),
            tuple(control),
        )

    def _behind(self, source: str, state: State, depth: int) -> Iterator[Feed]:
        """Feeds of a source that is itself fed: a 24 V supply, a transformer, a drive, a controller."""
        device = self.design.device_by_tag.get(source)
        mark = next((m for kind, m in _INLETS.items() if device is not None and device.type.startswith(kind)), None)
        if mark is not None:
            yield self.feed(TerminalId(source, mark), state, depth + 1)
        if device is not None and device.type.startswith("vfd_"):
            yield self.feed(TerminalId(source, "run"), state, depth + 1)
            yield self.feed(TerminalId(source, "ref+"), state, depth + 1)

    def _mover(self, slot: str, state: State, depth: int) -> tuple[str, list[Feed]]:
        """What moves a contact: a rule's inputs, in words, and the feeds of its coil."""
        rule = next((r for r in self.machine.rules if slot in r.outputs), None)
        if rule is None:
            return "by hand at the device", []
        further: list[Feed] = []
        words: list[str] = []
        for name in rule.inputs:
            if name in ("reset",):
                continue
            base, _, what = name.rpartition(".")
            if what in ("ac", "dc"):
                words.append(f"volts on {base.replace('.', ' ')}")
                if depth < 3:
                    owner = base.split(".")[0]
                    device = self.design.device_by_tag.get(owner)
                    coil = self._hot_end(base)
                    if device is not None and coil is not None:
                        further.append(self.feed(coil, state, depth + 1))
            elif what.startswith("amps"):
                continue
            elif ">" in name:
                words.append(f"program, {name.replace('>', ' ')}")
            elif name.endswith(".alive"):
                words.append(f"{base} alive")
                if depth < 3:
                    further.append(self.feed(TerminalId(base, "24V"), state, depth + 1))
            elif " " in name:
                words.append(f"outside: {name}")
            else:
                words.append(name)
        by = "; ".join(dict.fromkeys(words)) or "its own overcurrent"
        return f"{rule.name} of {rule.owner} ({by})", further

    def _hot_end(self, part: str) -> TerminalId | None:
        """Terminal of a coil that is not on the return side."""
        branch = next((b for b in self.machine.network.branches if b.name == part), None)
        if branch is None:
            return None
        for node in (branch.a, branch.b):
            if node in self.machine.fixed:
                continue
            for terminal in self.terminals_at.get(node, ()):
                if terminal.device == part.split(".")[0] and terminal.mark not in ("A2", "N", "0V", "2", "C2"):
                    return terminal
        return None


@dataclass(frozen=True, slots=True)
class Trace:
    """The three questions for one load."""

    load: str
    fed_from: tuple[Feed, ...]
    lost_when: tuple[str, ...]


def trace_load(design: Design, machine: Machine, state: State, load: str, lost_when: tuple[str, ...]) -> Trace:
    """Answer the three questions for one load.

    Args:
        design: The design.
        machine: Its machine.
        state: A state in which the load works.
        load: Device tag.
        lost_when: From the proof: what stops it.
    """
    wiring = Wiring(design, machine)
    device = design.device_by_tag[load]
    marks = ["L", "L1", "L2", "L3", "U1", "V1", "W1", "1", "Z1", "A1"]
    feeds: list[Feed] = []
    present = {t.mark for t in machine.network.terminals if t.device == device.tag}
    for mark in marks:
        if mark in present:
            feed = wiring.feed(TerminalId(device.tag, mark), state)
            if feed.sources:
                # the other lines take the same way: their control is told once
                told = any(f.sources == feed.sources for f in feeds)
                feeds.append(replace(feed, by=(), control=()) if told else feed)
    for signal in ("0-10V", "PWM", "S+", "J2", "run"):
        if signal in present:
            feed = wiring.feed(TerminalId(device.tag, signal), state)
            if feed.sources or feed.path:
                feeds.append(feed)
    return Trace(load, tuple(feeds), lost_when)
