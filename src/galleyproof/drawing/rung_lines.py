"""Rungs of the elementary diagram as lines of a column's width, and which of them stand beside each other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from galleyproof.design.model import TerminalId
from galleyproof.drawing.fonts import printable, width
from galleyproof.drawing.parts import size_text
from galleyproof.drawing.paths import Bar, Element, Rung, Through, Wire
from galleyproof.drawing.symbols import REACH
from galleyproof.library.model import PartSpec, Resistor

HEADER_MM = 8.0
LINE_MM = 6.4
LABEL_MM = 4.4
REFERENCE_MM = 3.4
BETWEEN_MM = 2.6
RAIL_MM = 13.0
"""Room for a rail and its name at each end of a line [mm]."""
BAR_MM = 9.0
STRETCH_FROM = 0.4
"""A line at least this full is stretched. [-]"""
SAME_MM = 4.2
"""What a rung saves that serves the same as the one above [mm]."""
BESIDE_MM = 8.0
"""Between rungs that stand beside each other [mm]."""


@dataclass(frozen=True, slots=True)
class Piece:
    """An element with its place on a line [mm]."""

    element: Element
    x0: float
    x1: float


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a rung.

    Attributes:
        pieces: From left to right.
        refers: Whether something stands below it.
        first: Whether its rung begins with it.
        last: Whether its rung ends with it.
    """

    pieces: tuple[Piece, ...]
    refers: bool
    first: bool = True
    last: bool = True

    @property
    def height(self) -> float:
        """From it to the next line [mm]."""
        return LINE_MM + LABEL_MM + (REFERENCE_MM if self.refers else 0.0)

    @property
    def x1(self) -> float:
        """Where it ends [mm]."""
        return self.pieces[-1].x1

    def widened(self, x1: float) -> Line:
        """The same line with its conductors stretched so that it ends there [mm]."""
        wires = sum(isinstance(p.element, Wire) for p in self.pieces)
        if not wires or x1 <= self.x1:
            return self
        each, out, shift = (x1 - self.x1) / wires, [], 0.0
        for p in self.pieces:
            more = each if isinstance(p.element, Wire) else 0.0
            out.append(Piece(p.element, p.x0 + shift, p.x1 + shift + more))
            shift += more
        return replace(self, pieces=tuple(out))


@dataclass(frozen=True, slots=True)
class Laid:
    """A rung in lines, or all rungs that end at one load.

    Attributes:
        rungs: One, or the poles of a load in the order of their numbers.
        lines: From top to bottom; with several poles the same part of each below the other.
        height: With its words. [mm]
        load: Tag of the device in which the last lines end and that is drawn there; empty for none.
        source: Tag of the device in which the first lines begin and that is drawn there; empty for none.
    """

    rungs: tuple[Rung, ...]
    lines: tuple[Line, ...]
    height: float
    load: str = ""
    source: str = ""

    @property
    def words(self) -> str:
        """What its conductors serve."""
        purposes = dict.fromkeys(w.conductor.purpose for r in self.rungs for w in r.wires)
        return printable(" \u00b7 ".join(purposes))

    @property
    def of(self) -> str:
        """What its first conductor belongs to."""
        return self.rungs[0].wires[0].conductor.of

    @property
    def small(self) -> bool:
        """Whether it is nothing but conductors on one line, so that others of the same load may stand beside it."""
        return (
            not self.load
            and len(self.lines) == 1
            and not any(isinstance(p.element, Through) for p in self.lines[0].pieces)
        )


@dataclass(frozen=True, slots=True)
class Row:
    """Rungs beside each other.

    Attributes:
        cells: Each with the place where its line begins and where its words begin, from the column's left. [mm]
    """

    cells: tuple[tuple[Laid, float, float], ...]

    @property
    def words(self) -> set[str]:
        """What its conductors serve."""
        return {one.words for one, _, _ in self.cells}

    @property
    def height(self) -> float:
        """Height with its words [mm]."""
        return max(one.height for one, _, _ in self.cells)

    def below(self, other: Row | None) -> float:
        """Height it takes below another one in its column [mm]."""
        same = other is not None and other.words == self.words and not any(one.load for one, _, _ in self.cells)
        return self.height - (SAME_MM if same else 0.0)


def label_width(t: TerminalId) -> float:
    """Width of a terminal's label [mm]."""
    return width(str(t), 2.0)


def meet(before: Element | None, after: Element | None) -> bool:
    """Whether two conductors meet at one terminal."""
    return isinstance(before, Wire) and isinstance(after, Wire)


def _length(e: Element) -> float:
    if isinstance(e, Through):
        return 2 * REACH * len(symbols_of(e))
    if isinstance(e, Bar):
        return BAR_MM
    # both labels in full, for a line may break at either end
    room = label_width(e.left) + label_width(e.right) + 2.4
    number = width(str(e.conductor.number), 2.0, True)
    size = width(size_text(e.conductor), 2.0)
    above = 2 * number + size + 7.0 if e.conductor.made == "field" else number + size + 6.0
    return max(room, above)


def symbols_of(e: Through) -> list[PartSpec]:
    """Parts of a way that get a symbol of their own: the resistance of a breaker is none."""
    parts = [p for p in e.way.parts if not (isinstance(p, Resistor) and p.name.startswith("way_"))]
    return parts or list(e.way.parts)


def lay_rung(rung: Rung, room: float) -> Laid:
    """Break a rung into lines that fit a room [mm]."""
    elements = rung.elements
    lines: list[Line] = []
    pieces: list[Piece] = []
    x = 0.0
    if isinstance(elements[0], Through):
        x = max(0.0, label_width(elements[0].left) - RAIL_MM + 5.0)
    for i, e in enumerate(elements):
        before = elements[i - 1] if i else None
        after = elements[i + 1] if i + 1 < len(elements) else None
        long = _length(e)
        need = long
        if not isinstance(e, Wire) and after is not None:
            need += _length(after)
        elif not isinstance(e, Wire):
            need += label_width(e.right) + 1.0
        starts_unit = isinstance(e, Wire) and (before is None or isinstance(before, Wire))
        if pieces and x + need > room and (starts_unit or not isinstance(e, Wire)):
            lines.append(_line(pieces, room))
            pieces, x = [], 0.0
        pieces.append(Piece(e, x, x + long))
        x += long
    lines.append(_line(pieces, room))
    ends = len(lines) - 1
    placed = tuple(replace(line, first=i == 0, last=i == ends) for i, line in enumerate(lines))
    return Laid((rung,), placed, _height(placed))


def lay_poles(rungs: Sequence[Rung], room: float, load: str, source: str = "") -> Laid:
    """Rungs that end at one load: their last lines end at one place, and longer ones go on side by side."""
    each = [lay_rung(r, room).lines for r in rungs]
    x1 = max(lines[-1].x1 for lines in each)
    rounds = max(len(lines) for lines in each)
    out = [
        lines[-k].widened(x1) if k == 1 else lines[-k]
        for k in range(rounds, 0, -1)
        for lines in each
        if len(lines) >= k
    ]
    alike = all(len(lines) == rounds for lines in each)
    return Laid(tuple(rungs), tuple(out), _height(out), load, source if alike else "")


def _height(lines: Sequence[Line]) -> float:
    return HEADER_MM + BETWEEN_MM - LINE_MM + sum(line.height for line in lines)


def _line(pieces: Sequence[Piece], room: float) -> Line:
    """A line; one that has symbols is stretched to the whole room, so that returns stand below each other."""
    through = [p for p in pieces if isinstance(p.element, Through)]
    refers = any(p.element.way.has_coil or p.element.way.has_contact for p in through if isinstance(p.element, Through))
    last = pieces[-1]
    tail = label_width(last.element.right) + 1.0 if isinstance(last.element, Through) else 0.0
    extra = room - tail - last.x1
    line = Line(tuple(pieces), refers)
    return line if not through or last.x1 < room * STRETCH_FROM else line.widened(last.x1 + extra)


def rows_of(laid: Sequence[Laid], rails: Mapping[TerminalId, str], room: float) -> list[Row]:
    """Small rungs of one load beside each other, all others alone.

    Args:
        laid: Rungs in their order, at least one.
        rails: Names of the rails by terminal.
        room: Width of the column. [mm]
    """
    rows: list[Row] = []
    mine: list[tuple[Laid, float, float]] = []
    end = 0.0
    for one in laid:
        pieces = one.lines[0].pieces
        rail, tail = (RAIL_MM if rails.get(t) else 0.0 for t in (pieces[0].element.left, pieces[-1].element.right))
        beside = bool(mine) and one.small and mine[-1][0].small and mine[-1][0].of == one.of
        words = width(one.words, 2.0) if beside and one.words != mine[-1][0].words else 0.0
        start = end + BESIDE_MM
        if beside and start + max(rail + pieces[-1].x1 + tail, words) <= room:
            mine.append((one, start + rail, start))
            end = start + max(rail + pieces[-1].x1 + tail, words)
            continue
        if mine:
            rows.append(Row(tuple(mine)))
        mine = [(one, RAIL_MM, 0.0)]
        end = max(RAIL_MM + pieces[-1].x1 + tail, width(one.words, 2.0))
    return [*rows, Row(tuple(mine))]
