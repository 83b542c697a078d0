"""The terminal plan: every strip whole and in true order, with what lands on each terminal inside and outside."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from galleyproof.design.builder import natural
from galleyproof.design.model import Conductor, Design, TerminalId
from galleyproof.drawing.draft import Draft, Register, heading
from galleyproof.drawing.field_layout import bar_marks
from galleyproof.drawing.fonts import listed, printable
from galleyproof.drawing.grids import ROW_MM, ColumnHead, draw_grid, grid_height
from galleyproof.drawing.paper import Paper

SERIES_TITLE = "Panel arrangement and terminal plan"
ACROSS = 3
HEAD_MM = 8.5
BETWEEN_MM = 6.0
"""Between strips that stand below each other. [mm]"""
BARS_MM = 26.0
"""Width of the column that says where bars lead. [mm]"""


@dataclass(frozen=True, slots=True)
class _Part:
    """Rows of one strip that go into one column."""

    strip: str
    title: str
    rows: tuple[tuple[str, ...], ...]


def strip_tags(design: Design) -> list[str]:
    """Terminal strips of the panel, in order."""
    tags = (d.tag for d in design.devices if d.type.startswith("terminal_strip"))
    return sorted(tags, key=natural)


def strip_marks(design: Design, tag: str) -> list[str]:
    """Every place of a strip: those in use, and those between that are kept free."""
    used = {t.mark for t in design.conductors_at if t.device == tag}
    used |= {t.mark for b in design.bridges for t in (b.a, b.b) if t.device == tag}
    last = int(design.device_by_tag[tag].ratings.get("last", 0))
    return sorted(used | {str(n) for n in range(1, last + 1)}, key=natural)


def lay_out(design: Design, paper: Paper, register: Register, series: int, first: int) -> list[Draft]:
    """Sheets of the terminal plan, numbered from ``first``."""
    rows_max = int((paper.body_y1 - paper.y0 - 3.0 - HEAD_MM - 2.0) / ROW_MM) - 1
    bars = bar_marks(design)
    jumpers = {t for j in design.jumpers for t in (j.a, j.b)}
    parts: list[_Part] = []
    for tag in strip_tags(design):
        rows = [_row(design, TerminalId(tag, mark), bars, jumpers) for mark in strip_marks(design, tag)]
        title = printable(f"{tag}  {design.device_by_tag[tag].title.removeprefix('terminal strip, ')}")
        parts += [
            _Part(tag, title if i == 0 else f"{tag} continued", tuple(rows[i : i + rows_max]))
            for i in range(0, len(rows), rows_max)
        ]
    columns: list[list[_Part]] = []
    rooms: list[float] = []
    for i, part in enumerate(parts):
        high = HEAD_MM + 2.0 + grid_height(len(part.rows))
        # what goes on stands after what it continues
        first_of_it = i == 0 or parts[i - 1].strip != part.strip
        fits = [k for k, room in enumerate(rooms) if high <= room and (first_of_it or k == len(rooms) - 1)]
        if not fits:
            columns.append([])
            rooms.append(paper.body_y1 - paper.y0 - 2.0)
        k = fits[0] if fits else len(rooms) - 1
        columns[k].append(part)
        rooms[k] -= high + BETWEEN_MM
    drafts: list[Draft] = []
    for i in range(0, len(columns), ACROSS):
        mine = columns[i : i + ACROSS]
        tags = ", ".join(dict.fromkeys(p.strip for column in mine for p in column))
        draft = Draft(f"{series}.{first + len(drafts)}", f"Terminal plan: {tags}", SERIES_TITLE, paper)
        drafts.append(draft)
        _draw(draft, mine, register)
    return drafts


def _row(
    design: Design, t: TerminalId, bars: Mapping[TerminalId, Sequence[str]], jumpers: set[TerminalId]
) -> tuple[str, str, str, str]:
    inside: list[str] = []
    outside: list[str] = []
    for c in sorted(design.conductors_at.get(t, ()), key=lambda c: c.number):
        (outside if c.made == "field" else inside).append(_end(c, t))
    if t in jumpers:
        outside.append("jumper fitted")
    return ", ".join(inside), listed(bars.get(t, ()), BARS_MM - 2.0, "", 3), t.mark, ", ".join(outside)


def _end(c: Conductor, here: TerminalId) -> str:
    other = c.b if c.a == here else c.a
    return f"{c.number} {other}"


def _draw(draft: Draft, columns: Sequence[Sequence[_Part]], register: Register) -> None:
    paper = draft.paper
    x0, x1 = paper.x0 + 3.0, paper.x1 - 3.0
    gap = 5.0
    wide = (x1 - x0 - gap * (ACROSS - 1)) / ACROSS
    rest = wide - BARS_MM - 12.0
    heads = (
        ColumnHead("inside", rest * 0.42, "end"),
        ColumnHead("bar to", BARS_MM, "middle"),
        ColumnHead("no.", 12.0, "middle", True),
        ColumnHead("outside", rest * 0.58),
    )
    for k, column in enumerate(columns):
        x, top = x0 + k * (wide + gap), paper.y0 + 1.0
        for part in column:
            y = heading(draft.canvas, x, x + wide, top, part.title)
            draw_grid(draft.canvas, x, y + 1.0, heads, part.rows)
            register.note(part.strip, draft, x + 1.0, y)
            top = y + 2.0 + grid_height(len(part.rows)) + BETWEEN_MM
