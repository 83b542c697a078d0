"""Field connection sheets: which column of which sheet a place goes to.

A change of one place must move no other. So a place that needs more than a third of a column keeps the rest of that
column to grow in, only small places stand above others, and what does not fit a column goes on behind all places that
begin, with a reference each way.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from galleyproof.design.model import Conductor, Design, TerminalId
from galleyproof.drawing.draft import Draft, Register, heading
from galleyproof.drawing.field_layout import Bands, Column, bands, bar_marks, draw_column
from galleyproof.drawing.field_plan import Area, Group, is_panel, plan_areas
from galleyproof.drawing.fonts import printable
from galleyproof.drawing.paper import Paper
from galleyproof.drawing.parts import reference
from galleyproof.drawing.symbols import Family

HEAD_MM = 8.5
FOOT_MM = 5.0
PARTS = 6
"""A column is given away in this many parts [-]."""
SMALL = 2
"""Parts of a small place; nothing begins below a larger one [-]."""
GUTTER_MM = 8.0


@dataclass
class _Slot:
    """One column of a sheet: how many of its parts are taken, and how many of them are drawn on."""

    draft: Draft
    x0: float
    x1: float
    used: int = 0
    filled: int = 0


@dataclass(frozen=True, slots=True)
class _Chunk:
    """What of an area goes into one column, and how many of its parts it takes."""

    area: Area
    groups: tuple[Group, ...]
    parts: int
    index: int
    count: int


class FieldSheets:
    """Lays out one series of field connection sheets."""

    def __init__(
        self, design: Design, paper: Paper, register: Register, symbols: Family, series: int, title: str
    ) -> None:
        self.design, self.paper, self.register, self.symbols = design, paper, register, symbols
        self.series, self.title = series, title
        self.drafts: list[Draft] = []
        self._slots: dict[bool, list[_Slot]] = {True: [], False: []}
        self._inner = inner_conductors(design)
        self._bars = bar_marks(design)

    @property
    def _body(self) -> tuple[float, float]:
        return self.paper.y0 + 2.0, self.paper.body_y1 - 2.0

    def lay_out(self, line: bool) -> list[Draft]:
        """All sheets of the series."""
        areas = [self._chunks(area) for area in plan_areas(self.design, line)]
        first = [self._slot(chunks[0]) for chunks in areas]
        for chunks, begin in zip(areas, first, strict=True):
            placed = [(chunk, begin if i == 0 else self._slot(chunk)) for i, chunk in enumerate(chunks)]
            for i, (chunk, (slot, y)) in enumerate(placed):
                before = placed[i - 1][1] if i else None
                after = placed[i + 1][1] if i + 1 < len(placed) else None
                self._draw(chunk, slot, y, before, after, () if i else self._elsewhere(chunks[0].area, areas, first))
        return self.drafts

    @staticmethod
    def _elsewhere(
        area: Area, areas: Sequence[Sequence[_Chunk]], first: Sequence[tuple[_Slot, float]]
    ) -> tuple[str, ...]:
        """Sheets on which other devices of the same place begin."""
        same = [
            slot.draft.number
            for chunks, (slot, _) in zip(areas, first, strict=True)
            if chunks[0].area.place == area.place and chunks[0].area is not area
        ]
        return tuple(dict.fromkeys(same))

    # which column ------------------------------------------------------------------------------------------
    def _column(self, bands_: Bands, y: float, parts: int = PARTS) -> Column:
        top, bottom = self._body
        limit = y + (bottom - top) / PARTS * parts - FOOT_MM
        return Column(self.design, bands_, y + HEAD_MM, limit, self._inner, self.symbols)

    def _chunks(self, area: Area) -> list[_Chunk]:
        """Fill columns from the top; a group that no column holds is cut between its rows."""
        top, bottom = self._body
        x0, x1 = self._edges(area.wide)[0]
        bands_ = bands(x0, x1, area.columns)
        waiting = list(area.groups)
        filled: list[tuple[list[Group], float]] = []
        column, mine = self._column(bands_, top), []
        while waiting:
            group = waiting.pop(0)
            if column.add(group):
                mine.append(group)
                continue
            if not mine:
                half = len(group.rows) // 2
                if half == 0:
                    raise ValueError(f"one conductor does not fit a column of {bottom - top:g} mm")
                waiting[:0] = [
                    Group(rows, max(r.to_column for row in rows for r in row.runs), group.first)
                    for rows in (group.rows[:half], group.rows[half:])
                ]
                continue
            filled.append((mine, column.bottom))
            waiting.insert(0, group)
            column, mine = self._column(bands_, top), []
        filled.append((mine, column.bottom))
        part = (bottom - top) / PARTS
        chunks = []
        for i, (groups, low) in enumerate(filled):
            parts = min(PARTS, math.ceil((low + FOOT_MM - top) / part))
            chunks.append(_Chunk(area, tuple(groups), parts if i else max(parts, SMALL), i, len(filled)))
        return chunks

    def _edges(self, wide: bool) -> list[tuple[float, float]]:
        x0, x1 = self.paper.x0 + 3.0, self.paper.x1 - 3.0
        if wide:
            return [(x0, x1)]
        half = (x1 - x0 - GUTTER_MM) / 2
        return [(x0, x0 + half), (x1 - half, x1)]

    def _slot(self, chunk: _Chunk) -> tuple[_Slot, float]:
        slots = self._slots[chunk.area.wide]
        if chunk.index:
            # what goes on comes last, so that it may use what others keep to grow in
            slot = next((s for s in slots if s.filled + chunk.parts <= PARTS), None)
        else:
            slot = next((s for s in slots if s.used + chunk.parts <= PARTS), None)
        if slot is None:
            draft = Draft(f"{self.series}.{len(self.drafts) + 1}", self.title, self.title, self.paper)
            self.drafts.append(draft)
            made = [_Slot(draft, *edges) for edges in self._edges(chunk.area.wide)]
            slots.extend(made)
            slot = made[0]
        place = printable(chunk.area.place)
        title = slot.draft.title
        if place not in title.removeprefix(self.title):
            slot.draft.title = f"{title}: {place}" if title == self.title else f"{title}, {place}"
        top, bottom = self._body
        y = top + slot.filled * (bottom - top) / PARTS
        slot.filled += chunk.parts
        # nothing goes below a large place
        slot.used = slot.filled if chunk.parts <= SMALL else PARTS
        return slot, y

    # drawing -----------------------------------------------------------------------------------------------
    def _draw(
        self,
        chunk: _Chunk,
        slot: _Slot,
        y: float,
        before: tuple[_Slot, float] | None,
        after: tuple[_Slot, float] | None,
        elsewhere: Sequence[str],
    ) -> None:
        canvas = slot.draft.canvas
        count = sum(len(row.runs) for g in chunk.groups for row in g.rows)
        part = f" ({chunk.index + 1} of {chunk.count})" if chunk.count > 1 else ""
        more = f"{count} field conductors" + (f" \u00b7 more on {', '.join(elsewhere)}" if elsewhere else "")
        heading(canvas, slot.x0, slot.x1, y, printable(chunk.area.place.upper()) + part, more)
        column = self._column(bands(slot.x0, slot.x1, chunk.area.columns), y, chunk.parts)
        for group in chunk.groups:
            if not column.add(group):
                raise ValueError("a group that was measured does not fit its place")
        draw_column(column, slot.draft, self.register, self._bars)
        foot = column.bottom + FOOT_MM - 0.6
        for words, other, x in (("continued from", before, slot.x0), ("continues on", after, slot.x1)):
            if other is not None:
                to, at = other
                zone = f"{to.draft.number}/{self.paper.zone(to.x0 + 1.0, at + 1.0)}"
                anchor = "start" if x == slot.x0 else "end"
                reference(canvas, x, foot, f"{words} {zone}", to.draft.number, "start" if anchor == "start" else "end")


def inner_conductors(design: Design) -> Mapping[TerminalId, Conductor]:
    """The factory conductor that arrives at each terminal of a strip from inside the panel."""
    found: dict[TerminalId, Conductor] = {}
    for c in sorted(design.conductors, key=lambda c: c.number):
        if c.made != "factory" or not (is_panel(design, c.a.device) and is_panel(design, c.b.device)):
            continue
        for own, other in ((c.a, c.b), (c.b, c.a)):
            strip = design.device_by_tag[own.device].type.startswith("terminal_strip")
            other_strip = design.device_by_tag[other.device].type.startswith("terminal_strip")
            if strip and not other_strip:
                found.setdefault(own, c)
    return found
