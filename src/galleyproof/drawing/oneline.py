"""The one-line: each building circuit from its breaker to its loads, one line for all its conductors.

Every circuit is a column; where it splits over several loads the column splits. What stands along the line is found by
walking the design's line-voltage paths from the breaker on.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from galleyproof import units
from galleyproof.design.builder import natural
from galleyproof.design.model import Conductor, Design, EnergyClass, Role, TerminalId
from galleyproof.drawing.draft import Draft, Register, heading
from galleyproof.drawing.fonts import fit, printable, wrap
from galleyproof.drawing.model import Arc, Canvas, Layer, Polyline, Stroke, Symbol, SymbolShape
from galleyproof.drawing.paper import Paper
from galleyproof.drawing.parts import reference
from galleyproof.drawing.paths import ways_of
from galleyproof.drawing.symbols import REACH, Family, icon_of, inline
from galleyproof.job.model import Circuit, Job
from galleyproof.library.model import DeviceType

TITLE = "One-line"
PITCH_MM = 44.0
STEP_MM = 23.5
"""From a device to the next one below it; four of them twice on a sheet [mm]."""
TEXT_X_MM = 5.5


@dataclass
class Node:
    """A device along a circuit, what feeds it, and what it feeds."""

    tag: str
    feeds: list[Node] = field(default_factory=list)
    wires: list[Conductor] = field(default_factory=list)

    @property
    def leaves(self) -> int:
        """Columns it takes [-]."""
        return sum(n.leaves for n in self.feeds) or 1

    @property
    def depth(self) -> int:
        """Devices on its longest way, itself included [-]."""
        return 1 + max((n.depth for n in self.feeds), default=0)


class Walker:
    """Finds what a breaker feeds, terminal by terminal: over conductors, strips and bars, and through contacts."""

    def __init__(self, design: Design, types: Mapping[str, DeviceType]) -> None:
        self.design, self.types = design, types
        self.bars: dict[TerminalId, list[TerminalId]] = {}
        for b in design.bridges:
            self.bars.setdefault(b.a, []).append(b.b)
            self.bars.setdefault(b.b, []).append(b.a)
        self.at: dict[TerminalId, list[Conductor]] = {}
        self.marks: dict[str, list[str]] = {}
        for c in sorted(design.conductors, key=lambda c: c.number):
            if c.role in (Role.LINE, Role.LOAD) and c.energy_class in (EnergyClass.LINE, EnergyClass.CLASS1):
                for t in (c.a, c.b):
                    self.at.setdefault(t, []).append(c)
                    self.marks.setdefault(t.device, []).append(t.mark)
        self.strips = {d.tag for d in design.devices if d.type.startswith("terminal_strip")}

    def tree(self, tag: str) -> Node:
        """What a breaker feeds."""
        node = Node(tag)
        self._grow(node, [TerminalId(tag, mark) for mark in self.marks.get(tag, ())], {tag}, set())
        return node

    def _grow(self, node: Node, exits: Sequence[TerminalId], seen: set[str], used: set[str]) -> None:
        """Hang on a device everything that its exits lead to; ``seen`` are the devices above it."""
        wires: dict[str, list[Conductor]] = {}
        entries: dict[str, list[TerminalId]] = {}
        for start in exits:
            for c in self.at.get(start, ()):
                if c.key not in used:
                    for t, way in self._ends(start, c, used):
                        wires.setdefault(t.device, []).extend(way)
                        entries.setdefault(t.device, []).append(t)
        for tag in sorted(wires, key=natural):
            child = Node(tag, [], list(dict.fromkeys(wires[tag])))
            node.feeds.append(child)
            if tag not in seen:
                self._grow(child, self._through(entries[tag]), {*seen, tag}, used)

    def _through(self, entries: Sequence[TerminalId]) -> list[TerminalId]:
        """Where a device passes on what arrives at some of its terminals."""
        device = self.design.device_by_tag[entries[0].device]
        if device.type.startswith("vfd"):
            return [TerminalId(device.tag, mark) for mark in ("U", "V", "W")]
        kind = self.types.get(device.type)
        out: dict[TerminalId, None] = {}
        for way in ways_of(kind) if kind is not None else ():
            for entry in entries:
                if way.has_contact and entry.mark in (way.a, way.b):
                    out[TerminalId(device.tag, way.b if entry.mark == way.a else way.a)] = None
        return list(out)

    def _ends(self, start: TerminalId, first: Conductor, used: set[str]) -> list[tuple[TerminalId, list[Conductor]]]:
        """Terminals of devices at the far end of a conductor, over any strips between."""
        out: list[tuple[TerminalId, list[Conductor]]] = []
        waiting = [(first.b if first.a == start else first.a, [first])]
        used.add(first.key)
        while waiting:
            t, wires = waiting.pop(0)
            if t.device not in self.strips:
                out.append((t, wires))
                continue
            for spot in self._joined(t):
                for c in self.at.get(spot, ()):
                    if c.key not in used:
                        used.add(c.key)
                        waiting.append((c.b if c.a == spot else c.a, [*wires, c]))
        return out

    def _joined(self, t: TerminalId) -> list[TerminalId]:
        """Terminals of strips that bars join to this one, itself included."""
        reached, waiting = {t: None}, [t]
        while waiting:
            for other in self.bars.get(waiting.pop(0), ()):
                if other not in reached and other.device in self.strips:
                    reached[other] = None
                    waiting.append(other)
        return list(reached)


def standing(shape: SymbolShape) -> SymbolShape:
    """An inline symbol turned to stand in a line that runs down."""
    strokes: list[Stroke] = []
    for s in shape.strokes:
        if isinstance(s, Polyline):
            strokes.append(Polyline(s.layer, tuple((-y, x) for x, y in s.points), s.closed, s.filled))
        else:
            strokes.append(Arc(s.layer, -s.y, s.x, s.r, s.start_deg - 90.0, s.end_deg - 90.0, s.filled))
    return SymbolShape(f"{shape.name}_V", tuple(strokes), shape.half_height, shape.half_width, shape.means)


@dataclass
class OneLine:
    """Lays out the sheets of the one-line."""

    job: Job
    design: Design
    types: Mapping[str, DeviceType]
    paper: Paper
    register: Register
    family: Family
    series: int

    def lay_out(self) -> list[Draft]:
        """All sheets; a circuit stays whole."""
        walker = Walker(self.design, self.types)
        across = int((self.paper.x1 - self.paper.x0 - 8.0) / PITCH_MM)
        trees = []
        for circuit in self._circuits():
            tree = walker.tree(circuit.tag)
            trees += [(circuit, part) for part in _split(tree, across)]
        bands: list[list[tuple[Circuit, Node]]] = [[]]
        taken = 0
        for circuit, tree in trees:
            board = bands[-1][0][0].panelboard if bands[-1] else circuit.panelboard
            if bands[-1] and (taken + tree.leaves > across or circuit.panelboard != board):
                bands.append([])
                taken = 0
            bands[-1].append((circuit, tree))
            taken += tree.leaves
        drafts: list[Draft] = []
        begun: set[str] = set()
        for page in self._pages([band for band in bands if band]):
            boards = dict.fromkeys(band[0][0].panelboard for band in page)
            number, title = f"{self.series}.{len(drafts) + 1}", f"{TITLE}: {printable(', '.join(boards))}"
            drafts.append(Draft(number, title, TITLE, self.paper))
            y = self.paper.y0 + 1.0
            for band in page:
                board = band[0][0].panelboard
                self._band(drafts[-1], band, y, board in begun)
                begun.add(board)
                y += _height(band)
        for i in range(len(drafts)):
            self._onward(drafts, i)
        return drafts

    def _pages(self, bands: Sequence[list[tuple[Circuit, Node]]]) -> list[list[list[tuple[Circuit, Node]]]]:
        """As many bands on a sheet as it is high."""
        pages: list[list[list[tuple[Circuit, Node]]]] = []
        room = 0.0
        for band in bands:
            if not pages or _height(band) > room:
                pages.append([])
                room = self.paper.body_y1 - self.paper.y0 - 6.0
            pages[-1].append(band)
            room -= _height(band)
        return pages

    def _circuits(self) -> list[Circuit]:
        landed = {t.device for t in self.design.conductors_at}
        return sorted(
            (c for c in self.job.circuits if c.tag in landed and c.tag in self.design.device_by_tag),
            key=lambda c: (natural(c.panelboard), natural(c.tag)),
        )

    def _onward(self, drafts: Sequence[Draft], i: int) -> None:
        canvas, foot = drafts[i].canvas, self.paper.body_y1 - 1.6
        if i:
            other = drafts[i - 1].number
            reference(canvas, self.paper.x0 + 3.0, foot, f"continued from {other}", other)
        if i + 1 < len(drafts):
            other = drafts[i + 1].number
            reference(canvas, self.paper.x1 - 3.0, foot, f"continues on {other}", other, "end")

    def _band(self, draft: Draft, page: Sequence[tuple[Circuit, Node]], top: float, again: bool) -> None:
        canvas, paper = draft.canvas, self.paper
        board = next(b for b in self.job.panelboards if b.tag == page[0][0].panelboard)
        supply = next(s for s in self.job.supplies if s.tag == board.supply)
        words = f"{board.tag}  {board.place}{', continued' if again else ''}"
        more = f"supply {supply.tag}, {supply.system}, {supply.frequency:g} Hz, "
        more += f"{supply.available_fault / 1000:g} kA available"
        heading(canvas, paper.x0 + 3.0, paper.x1 - 3.0, top, printable(words), more)
        bus = top + 14.0
        x = paper.x0 + 8.0
        first = x
        for circuit, tree in page:
            self._node(draft, tree, x, bus, {c.tag: c for c in self.job.circuits}, circuit)
            last = x
            x += tree.leaves * PITCH_MM
        canvas.line(Layer.ONE_LINE, (first - 3.0, bus), (last + 3.0, bus))

    def _node(
        self, draft: Draft, node: Node, x: float, y: float, circuits: Mapping[str, Circuit], circuit: Circuit | None
    ) -> None:
        """A device hanging below ``y``, and everything it feeds."""
        canvas, device = draft.canvas, self.design.device_by_tag[node.tag]
        shape = self._shape(device.type, bool(node.feeds))
        middle = y + STEP_MM / 2
        reach = REACH if shape.name.endswith("_V") else shape.half_height
        canvas.line(Layer.ONE_LINE, (x, y), (x, middle - reach), subject=node.tag)
        canvas.items.append(Symbol(shape, round(x, 3), round(middle, 3), (), node.tag))
        room = PITCH_MM - TEXT_X_MM - 5.0
        if node.wires:
            self._wire_words(canvas, node.wires, x + 2.0, y + 2.9, PITCH_MM - 4.0)
        lines = [(node.tag, 2.5, True)]
        lines += [(line, 2.0, False) for line in wrap(_rating(device.title, circuit), room, 2.0, False, 2)]
        at = middle - 0.4
        for words, height, bold in lines:
            canvas.text(
                Layer.DEVICE, x + TEXT_X_MM, at, fit(words, room, height, bold), height, bold=bold, subject=node.tag
            )
            at += height + 1.5
        here = self.register.note(node.tag, draft, x, middle)
        self.register.want(draft, node.tag, x + TEXT_X_MM, at, room, here=here)
        below = middle + reach
        if not node.feeds:
            if circuit is not None:
                # control circuits lead to coils, which are not on the one-line: the references say where
                canvas.line(Layer.REFERENCE, (x - 1.2, below), (x, below + 2.4), (x + 1.2, below), closed=True)
            return
        child_x = x
        for i, child in enumerate(node.feeds):
            fork = y + STEP_MM
            if i == 0:
                canvas.line(Layer.ONE_LINE, (x, below), (x, fork))
            else:
                canvas.line(Layer.ONE_LINE, (child_x - node.feeds[i - 1].leaves * PITCH_MM, fork), (child_x, fork))
            self._node(draft, child, child_x, fork, circuits, None)
            child_x += child.leaves * PITCH_MM

    def _wire_words(self, canvas: Canvas, wires: Sequence[Conductor], x: float, y: float, room: float) -> None:
        """Size and cable of what feeds a device, field conductors before factory ones."""
        groups: dict[str, Counter[str]] = {}
        for c in wires:
            groups.setdefault(c.cable or "in the panel", Counter())[c.awg] += 1
        words = []
        for cable, counts in groups.items():
            sizes = ", ".join(f"{n} x {units.format_awg(a)}" for a, n in sorted(counts.items()))
            words.append(f"{cable}: {sizes}" if cable != "in the panel" else f"{sizes} in the panel")
        for i, line in enumerate(words[:2]):
            canvas.text(Layer.CABLE, x, y + i * 3.3, fit(line, room, 2.0), 2.0)

    def _shape(self, kind: str, feeds: bool) -> SymbolShape:
        shapes = inline(self.family)
        for start, name in (
            ("breaker", "breaker"),
            ("control_breaker", "breaker"),
            ("disconnect", "isolator"),
            ("motor_contactor", "contact_no"),
            ("light_contactor", "contact_no"),
            ("contactor", "contact_no"),
        ):
            if kind.startswith(start):
                return standing(shapes[name])
        return icon_of(kind, self.family)


def _height(band: Sequence[tuple[Circuit, Node]]) -> float:
    return 14.0 + STEP_MM * max(tree.depth for _, tree in band) + 4.0


def _rating(title: str, circuit: Circuit | None) -> str:
    if circuit is None:
        return title
    note = f", {circuit.note}" if circuit.note else ""
    return f"{circuit.breaker:g} A, {len(circuit.lines)}-pole{note}"


def _split(tree: Node, across: int) -> list[Node]:
    """A circuit with more loads than a sheet is wide, in parts that each begin at its breaker."""
    if tree.leaves <= across:
        return [tree]
    if len(tree.feeds) == 1:
        return [Node(tree.tag, [part], tree.wires) for part in _split(tree.feeds[0], across)]
    parts: list[Node] = []
    mine: list[Node] = []
    for child in tree.feeds:
        for piece in _split(child, across):
            if mine and sum(n.leaves for n in mine) + piece.leaves > across:
                parts.append(Node(tree.tag, mine, tree.wires))
                mine = []
            mine.append(piece)
    parts.append(Node(tree.tag, mine, tree.wires))
    return parts
