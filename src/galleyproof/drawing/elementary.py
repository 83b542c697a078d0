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
from galleyproof.drawing.paths import Bar, Rung, Through, Wire, find_rungs, poles, rails
from galleyproof.drawing.rung_lines import (
    HEADER_MM,
    LABEL_MM,
    RAIL_MM,
    REFERENCE_MM,
    Laid,
    Line,
    Row,
    lay_poles,
    lay_rung,
    meet,
    rows_of,
    symbols_of,
)
from galleyproof.drawing.symbols import REACH, TERMINAL, Family, icon_of, inline
from galleyproof.library.model import Coil, Contact, DeviceType, Load, PartSpec, Resistor, Sensor

TITLE = "Elementary diagram"
JOINT_MM = 1.7
HEAD_MM = 8.5
GUTTER_MM = 6.0
LEAD_MM = 2.5
DEVICE_MM = 9.6
"""Width of the box of a device in which lines end [mm]."""
SECTIONS = (
    ("LINE VOLTAGE", (EnergyClass.LINE,)),
    ("CLASS 1 CONTROL", (EnergyClass.CLASS1,)),
    ("CLASS 2 CONTROL, SIGNALS AND DATA", (EnergyClass.CLASS2, EnergyClass.DATA)),
)


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
            laid = self._laid([r for r in rungs if r.energy_class in classes], room)
            if laid:
                sections.append((title, self._pages(rows_of(laid, self._rails, halves[0][1] - halves[0][0]))))
        started = [(title, pages, self._draft()) for title, pages in sections]
        for title, pages, first in started:
            drafts = [first, *(self._draft() for _ in pages[1:])]
            for i, (columns, draft) in enumerate(zip(pages, drafts, strict=True)):
                self._page(title, columns, draft, drafts, i)
        return self.drafts

    def _laid(self, rungs: Sequence[Rung], room: float) -> list[Laid]:
        """Rungs in lines; the poles of a load together, unless no column is high enough for them."""
        top, bottom = self._body
        out: list[Laid] = []
        for mine, load, source in poles(rungs, self.design, self.types):
            together = lay_poles(mine, room, load, source) if load else None
            if together is not None and together.height <= bottom - top:
                out.append(together)
            else:
                out += [lay_rung(r, room) for r in mine]
        return out

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

    def _pages(self, rows: Sequence[Row]) -> list[list[list[Row]]]:
        top, bottom = self._body
        columns: list[list[Row]] = [[]]
        y = top
        for one in rows:
            height = one.below(columns[-1][-1] if columns[-1] else None)
            if columns[-1] and y + height > bottom:
                columns.append([])
                y, height = top, one.height
            columns[-1].append(one)
            y += height
        return [columns[i : i + 2] for i in range(0, len(columns), 2)]

    # drawing -----------------------------------------------------------------------------------------------
    def _page(
        self, title: str, columns: Sequence[Sequence[Row]], draft: Draft, drafts: Sequence[Draft], i: int
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
        for (left, right), rows in zip(self._halves(), columns, strict=False):
            y = self._body[0]
            before: Row | None = None
            for row in rows:
                height = row.below(before)
                said = None if height == row.height else row.cells[0][0].words
                for one, at, words_at in row.cells:
                    if one.words != said:
                        words_at += _tag_room(one.source)
                        room = right - left - words_at - 2.0 - (_tag_room(one.load) if one.lines[0].last else 0.0)
                        words = fit(one.words, room, 2.0)
                        draft.canvas.text(Layer.NOTE, left + words_at, y + height - row.height + 3.4, words, 2.0)
                    said = one.words
                    self._rung(one, draft, left + at, y + height - row.height, (left, right))
                y += height
                before = row

    def _rung(self, laid: Laid, draft: Draft, x: float, top: float, edges: tuple[float, float]) -> None:
        y = top + HEADER_MM
        begins, ends = [], []
        for line in laid.lines:
            self._draw_line(line, draft, x, y)
            begins += [y] if line.first else []
            ends += [y] if line.last else []
            y += line.height
        if laid.source:
            self._device(draft, laid.source, x, -1, begins, edges)
        if laid.load:
            self._device(draft, laid.load, x + laid.lines[-1].x1, 1, ends, edges)

    def _device(
        self, draft: Draft, tag: str, x: float, side: int, ys: Sequence[float], edges: tuple[float, float]
    ) -> None:
        """The device in which lines begin or end: a box beside them all, with its picture and its tag above."""
        canvas = draft.canvas
        for y in ys:
            canvas.line(Layer.DEVICE, (x, y), (x + side * LEAD_MM, y), subject=tag)
        a, b = sorted((x + side * LEAD_MM, x + side * (LEAD_MM + DEVICE_MM)))
        top, bottom = ys[0] - 3.2, ys[-1] + 3.2
        canvas.line(Layer.DEVICE, (a, top), (b, top), (b, bottom), (a, bottom), closed=True, subject=tag)
        shape = icon_of(self.design.device_by_tag[tag].type, self.family)
        canvas.items.append(Symbol(shape, round((a + b) / 2, 3), round((top + bottom) / 2, 3), (), tag))
        words = printable(tag)
        fits = a + width(words, 2.0, True) <= edges[1]
        anchor: Anchor = "start" if fits else "end"
        canvas.text(Layer.DEVICE, a if fits else edges[1], top - 1.2, words, 2.0, anchor, bold=True, subject=tag)

    def _draw_line(self, line: Line, draft: Draft, x: float, y: float) -> None:
        first, last = line.pieces[0], line.pieces[-1]
        for i, piece in enumerate(line.pieces):
            before = line.pieces[i - 1].element if i else None
            after = line.pieces[i + 1].element if i + 1 < len(line.pieces) else None
            x0, x1 = x + piece.x0, x + piece.x1
            e = piece.element
            if isinstance(e, Wire):
                self._wire(draft, e, x0, x1, y, meet(before, e), meet(e, after))
            elif isinstance(e, Bar):
                self._bar(draft, x0, x1, y)
            else:
                self._through(draft, e, x0, y)
                if i == 0 and line.first:
                    self._label(draft, e.left, x0, y, "end")
                if after is None:
                    label = printable(str(e.right))
                    draft.canvas.text(Layer.DEVICE, x1, y + 3.3, label, 2.0, "start", subject=e.right.device)
        if line.first:
            self._rail(draft, first.element.left, x + first.x0, y, -1)
        else:
            self._carry(draft, x + first.x0, y, -1)
        if line.last:
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
        parts = symbols_of(e)
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
                for start, name in _LOAD_OF:
                    if kind.startswith(start):
                        return shapes[name]
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


def _tag_room(tag: str) -> float:
    """Width that the tag of a device beside the first line takes from the words above it [mm]."""
    return width(printable(tag), 2.0, True) + 4.0 if tag else 0.0


_LOAD_OF = (("hood_light", "lamp"), ("horn", "lamp"), ("motor_", "motor"))
_CONTACT_OF = (
    ("breaker", "breaker"),
    ("control_breaker", "breaker"),
    ("disconnect", "isolator"),
    ("push_button", "button"),
    ("switch_", "switch"),
)
