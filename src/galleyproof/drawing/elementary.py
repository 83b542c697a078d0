"""The elementary diagram: every conductor once, in rungs from supply to return, with references both ways.

A rung that is longer than its column goes on in the line below. Under a coil stands where its contacts are, under a
contact where its coil is, under a contact of the controller what it is used for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from galleyproof.design.model import Design, EnergyClass, TerminalId
from galleyproof.drawing.draft import Draft, Register, heading
from galleyproof.drawing.fonts import fit, printable, width
from galleyproof.drawing.model import Anchor, Layer, Symbol, SymbolShape
from galleyproof.drawing.paper import Paper
from galleyproof.drawing.parts import TEXT_ABOVE_MM, land, layer_of, reference, size_text
from galleyproof.drawing.paths import Bar, Element, Rung, Through, Wire, find_rungs, rails
from galleyproof.drawing.symbols import REACH, TERMINAL, Family, inline
from galleyproof.library.model import Coil, Contact, DeviceType, Load, PartSpec, Resistor, Sensor

TITLE = "Elementary diagram"
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
JOINT_MM = 1.7
HEAD_MM = 8.5
GUTTER_MM = 6.0
SECTIONS = (
    ("LINE VOLTAGE", (EnergyClass.LINE,)),
    ("CLASS 1 CONTROL", (EnergyClass.CLASS1,)),
    ("CLASS 2 CONTROL, SIGNALS AND DATA", (EnergyClass.CLASS2, EnergyClass.DATA)),
)


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
    """

    pieces: tuple[Piece, ...]
    refers: bool


@dataclass(frozen=True, slots=True)
class Laid:
    """A rung in lines, and its height [mm]."""

    rung: Rung
    lines: tuple[Line, ...]
    height: float

    @property
    def words(self) -> str:
        """What its conductors serve."""
        return printable(" \u00b7 ".join(dict.fromkeys(w.conductor.purpose for w in self.rung.wires)))

    def below(self, other: Laid | None) -> float:
        """Height it takes below another one in its column [mm]."""
        return self.height - (SAME_MM if other is not None and other.words == self.words else 0.0)


def label_width(t: TerminalId) -> float:
    """Width of a terminal's label [mm]."""
    return width(str(t), 2.0)


def _joint(before: Element | None, after: Element | None) -> bool:
    """Whether two conductors meet at one terminal."""
    return isinstance(before, Wire) and isinstance(after, Wire)


def _length(e: Element) -> float:
    if isinstance(e, Through):
        return 2 * REACH * len(_symbols_of(e))
    if isinstance(e, Bar):
        return BAR_MM
    # both labels in full, for a line may break at either end
    room = label_width(e.left) + label_width(e.right) + 2.4
    number = width(str(e.conductor.number), 2.0, True)
    size = width(size_text(e.conductor), 2.0)
    above = 2 * number + size + 7.0 if e.conductor.made == "field" else number + size + 6.0
    return max(room, above)


def _symbols_of(e: Through) -> list[PartSpec]:
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
    height = HEADER_MM + BETWEEN_MM - LINE_MM
    for line in lines:
        height += LINE_MM + LABEL_MM + (REFERENCE_MM if line.refers else 0.0)
    return Laid(rung, tuple(lines), height)


def _line(pieces: Sequence[Piece], room: float) -> Line:
    """A line; one that has symbols is stretched to the whole room, so that returns stand below each other."""
    through = [p for p in pieces if isinstance(p.element, Through)]
    refers = any(p.element.way.has_coil or p.element.way.has_contact for p in through if isinstance(p.element, Through))
    wires = sum(isinstance(p.element, Wire) for p in pieces)
    last = pieces[-1]
    tail = label_width(last.element.right) + 1.0 if isinstance(last.element, Through) else 0.0
    extra = room - tail - last.x1
    if not through or not wires or last.x1 < room * STRETCH_FROM or extra <= 0:
        return Line(tuple(pieces), refers)
    out, shift = [], 0.0
    for p in pieces:
        more = extra / wires if isinstance(p.element, Wire) else 0.0
        out.append(Piece(p.element, p.x0 + shift, p.x1 + shift + more))
        shift += more
    return Line(tuple(out), refers)


@dataclass
class Elementary:
    """Lays out the sheets of the elementary diagram."""

    design: Design
    types: Mapping[str, DeviceType]
    paper: Paper
    register: Register
    family: Family
    series: int
    drafts: list[Draft] = field(default_factory=list)

    def lay_out(self) -> list[Draft]:
        """All sheets: the first of each section, then what goes on."""
        self._rails = rails(self.design)
        self._points = {(p.device, p.name): p.used_for for p in self.design.points}
        rungs = find_rungs(self.design, self.types)
        halves = self._halves()
        room = halves[0][1] - halves[0][0] - 2 * RAIL_MM
        sections = []
        for title, classes in SECTIONS:
            laid = [lay_rung(r, room) for r in rungs if r.energy_class in classes]
            if laid:
                sections.append((title, self._pages(laid)))
        started = [(title, pages, self._draft()) for title, pages in sections]
        for title, pages, first in started:
            drafts = [first, *(self._draft() for _ in pages[1:])]
            for i, (columns, draft) in enumerate(zip(pages, drafts, strict=True)):
                self._page(title, columns, draft, drafts, i)
        return self.drafts

    def _draft(self) -> Draft:
        draft = Draft(f"{self.series}.{len(self.drafts) + 1}", TITLE, TITLE, self.paper)
        self.drafts.append(draft)
        return draft

    def _halves(self) -> list[tuple[float, float]]:
        x0, x1 = self.paper.x0 + 2.0, self.paper.x1 - 2.0
        half = (x1 - x0 - GUTTER_MM) / 2
        return [(x0, x0 + half), (x1 - half, x1)]

    @property
    def _body(self) -> tuple[float, float]:
        return self.paper.y0 + 2.0 + HEAD_MM, self.paper.body_y1 - 5.0

    def _pages(self, laid: Sequence[Laid]) -> list[list[list[Laid]]]:
        top, bottom = self._body
        columns: list[list[Laid]] = [[]]
        y = top
        for one in laid:
            height = one.below(columns[-1][-1] if columns[-1] else None)
            if columns[-1] and y + height > bottom:
                columns.append([])
                y, height = top, one.height
            columns[-1].append(one)
            y += height
        return [columns[i : i + 2] for i in range(0, len(columns), 2)]

    # drawing -----------------------------------------------------------------------------------------------
    def _page(
        self, title: str, columns: Sequence[Sequence[Laid]], draft: Draft, drafts: Sequence[Draft], i: int
    ) -> None:
        x0, x1 = self._halves()[0][0], self._halves()[1][1]
        part = f" ({i + 1} of {len(drafts)})" if len(drafts) > 1 else ""
        draft.title = f"{TITLE}: {title[0]}{title[1:].lower()}{part}"
        heading(draft.canvas, x0, x1, self.paper.y0 + 1.0, title + part)
        foot = self.paper.body_y1 - 1.6
        if i:
            reference(draft.canvas, x0, foot, f"continued from {drafts[i - 1].number}", drafts[i - 1].number)
        if i + 1 < len(drafts):
            reference(draft.canvas, x1, foot, f"continues on {drafts[i + 1].number}", drafts[i + 1].number, "end")
        for (left, right), rungs in zip(self._halves(), columns, strict=False):
            y = self._body[0]
            before: Laid | None = None
            for one in rungs:
                height = one.below(before)
                self._rung(one, draft, left, right, y + height - one.height, height == one.height)
                y += height
                before = one

    def _rung(self, laid: Laid, draft: Draft, left: float, right: float, top: float, titled: bool) -> None:
        if titled:
            draft.canvas.text(Layer.NOTE, left, top + 3.4, fit(laid.words, right - left - 2.0, 2.0), 2.0)
        y = top + HEADER_MM
        for k, line in enumerate(laid.lines):
            x = left + RAIL_MM
            self._draw_line(laid, k, line, draft, x, y)
            y += LINE_MM + LABEL_MM + (REFERENCE_MM if line.refers else 0.0)

    def _draw_line(self, laid: Laid, k: int, line: Line, draft: Draft, x: float, y: float) -> None:
        first, last = line.pieces[0], line.pieces[-1]
        for i, piece in enumerate(line.pieces):
            before = line.pieces[i - 1].element if i else None
            after = line.pieces[i + 1].element if i + 1 < len(line.pieces) else None
            x0, x1 = x + piece.x0, x + piece.x1
            e = piece.element
            if isinstance(e, Wire):
                self._wire(draft, e, x0, x1, y, _joint(before, e), _joint(e, after))
            elif isinstance(e, Bar):
                self._bar(draft, x0, x1, y)
            else:
                self._through(draft, e, x0, y)
                if i == 0 and k == 0:
                    self._label(draft, e.left, x0, y, "end")
                if after is None:
                    label = printable(str(e.right))
                    draft.canvas.text(Layer.DEVICE, x1, y + 3.3, label, 2.0, "start", subject=e.right.device)
        if k == 0:
            self._rail(draft, first.element.left, x + first.x0, y, -1)
        else:
            self._carry(draft, x + first.x0, y, -1)
        if k == len(laid.lines) - 1:
            self._rail(draft, last.element.right, x + last.x1, y, 1)
        else:
            self._carry(draft, x + last.x1, y, 1)

    def _wire(self, draft: Draft, e: Wire, x0: float, x1: float, y: float, joined: bool, joins: bool) -> None:
        canvas, c = draft.canvas, e.conductor
        a, b = x0 + (JOINT_MM if joined else 0.0), x1 - (JOINT_MM if joins else 0.0)
        canvas.line(layer_of(c), (a, y), (b, y), subject=c.key)
        right_end = "b" if e.left_end == "a" else "a"
        words = size_text(c)
        if c.made == "field":
            land(canvas, c, e.left_end, (a, y), 1)
            land(canvas, c, right_end, (b, y), -1)
        else:
            words = f"{c.number} \u00b7 {words}"
        canvas.text(Layer.NUMBER, (a + b) / 2, y - TEXT_ABOVE_MM, words, 2.0, "middle", subject=c.key)
        if joined:
            canvas.items.append(Symbol(TERMINAL, round(x0, 3), round(y, 3), (), e.left.device))
            self._label(draft, e.left, x0, y, "middle")
        else:
            self._label(draft, e.left, a, y, "start")
        if not joins:
            self._label(draft, e.right, b, y, "end")
        for t in (e.left, e.right):
            self.register.note(t.device, draft, (a + b) / 2, y)

    def _label(self, draft: Draft, t: TerminalId, x: float, y: float, anchor: Anchor) -> None:
        draft.canvas.text(Layer.DEVICE, x, y + 3.3, printable(str(t)), 2.0, anchor, subject=t.device)

    def _bar(self, draft: Draft, x0: float, x1: float, y: float) -> None:
        for x in (x0 + 2.0, x1 - 2.0):
            draft.canvas.items.append(Symbol(TERMINAL, round(x, 3), round(y, 3), ()))
        draft.canvas.line(Layer.BRIDGE, (x0 + 2.9, y), (x1 - 2.9, y))

    def _through(self, draft: Draft, e: Through, x0: float, y: float) -> None:
        parts = _symbols_of(e)
        for i, part in enumerate(parts):
            shape = self._shape(e.device, part)
            x = x0 + REACH * (2 * i + 1)
            draft.canvas.items.append(Symbol(shape, round(x, 3), round(y, 3), (), e.device))
        middle = x0 + REACH * len(parts)
        self._refer(draft, e, middle, y)

    def _refer(self, draft: Draft, e: Through, x: float, y: float) -> None:
        below = y + LABEL_MM + REFERENCE_MM - 0.6
        room = 31.0
        tag, marks = e.device, f"{e.way.a}-{e.way.b}"
        if e.way.has_coil:
            self.register.note(f"coil {tag}", draft, x, y)
            self.register.want(draft, f"contact {tag}", x, below, room, "", "middle")
        elif e.way.has_contact:
            names = [p.name.removesuffix("_no").removesuffix("_nc") for p in e.way.parts if isinstance(p, Contact)]
            use = next((self._points.get((tag, name)) for name in names), None)
            self.register.note(f"contact {tag}", draft, x, y, marks)
            if use:
                draft.canvas.text(Layer.NOTE, x, below, fit(use, room, 2.0), 2.0, "middle")
            else:
                self.register.want(draft, f"coil {tag}", x, below, room, "coil", "middle")

    def _shape(self, tag: str, part: PartSpec) -> SymbolShape:
        kind = self.design.device_by_tag[tag].type
        shapes = inline(self.family)
        match part:
            case Contact():
                for start, name in _CONTACT_OF:
                    if kind.startswith(start) and part.name.startswith(("pole", "press", "on", "auto", "hand")):
                        return shapes[name]
                return shapes["contact_nc" if part.normally == "closed" else "contact_no"]
            case Coil():
                return shapes["coil"]
            case Sensor():
                return shapes["sensor"]
            case Load():
                return shapes["lamp" if kind.startswith(("hood_light", "horn")) else "load"]
            case Resistor():
                return shapes["heater" if part.name.startswith("heater") else "resistor"]
        return shapes["load"]

    def _rail(self, draft: Draft, t: TerminalId, x: float, y: float, side: int) -> None:
        name = self._rails.get(t, "")
        if not name:
            return
        at = x + side * 2.0
        draft.canvas.line(Layer.BRIDGE, (at, y - 2.6), (at, y + 2.6))
        words = fit(name, RAIL_MM - 4.0, 2.0)
        anchor: Anchor = "end" if side < 0 else "start"
        draft.canvas.text(Layer.REFERENCE, at + side * 1.2, y + 1.0, words, 2.0, anchor, bold=True)

    def _carry(self, draft: Draft, x: float, y: float, side: int) -> None:
        """A hollow arrow: the rung goes on in the line below, or comes from the line above."""
        a, b = (x + 2.0, x + 4.4) if side > 0 else (x - 4.4, x - 2.0)
        draft.canvas.line(Layer.REFERENCE, (a, y - 1.2), (b, y), (a, y + 1.2), closed=True)


_CONTACT_OF = (
    ("breaker", "breaker"),
    ("control_breaker", "breaker"),
    ("disconnect", "isolator"),
    ("push_button", "button"),
    ("switch_", "switch"),
)
