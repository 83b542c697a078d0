"""What a revision changed, marked on the sheets: a filled shape on every conductor concerned, and a list of them all.

The new drawing carries what was added, re-landed and re-sized, the old one what was removed and where re-landed
conductors were. The shapes differ, so that they can be told apart in black and white.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise

from galleyproof import units
from galleyproof.design.difference import Difference
from galleyproof.design.model import Conductor
from galleyproof.drawing.draft import Draft, heading
from galleyproof.drawing.fonts import extent, width
from galleyproof.drawing.grids import ROW_MM, ColumnHead, draw_grid
from galleyproof.drawing.model import CONDUCTORS, Canvas, Drawing, Item, Layer, Point, Polyline, Sheet, Symbol, Text
from galleyproof.drawing.paper import PAPERS, Paper, TitleBlock

HALF_MM = 0.88
"""Half the size of a mark. [mm]"""
CLEAR_MM = 0.3
"""Distance a mark keeps from texts and symbols. [mm]"""
LIST_SERIES = 9
"""Series of the sheets that list the changes. [-]"""
TITLE = "Changes"


class Mark(StrEnum):
    """What happened to a conductor."""

    ADDED = "added"
    REMOVED = "removed"
    RELANDED = "re-landed"
    RESIZED = "re-sized"


SHAPES: Mapping[Mark, tuple[Point, ...]] = {
    Mark.ADDED: ((0.0, -1.0), (1.0, 0.9), (-1.0, 0.9)),
    Mark.REMOVED: (
        (-1.0, -0.7), (-0.7, -1.0), (0.0, -0.3), (0.7, -1.0), (1.0, -0.7), (0.3, 0.0),
        (1.0, 0.7), (0.7, 1.0), (0.0, 0.3), (-0.7, 1.0), (-1.0, 0.7), (-0.3, 0.0),
    ),
    Mark.RELANDED: ((0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)),
    Mark.RESIZED: ((-0.85, -0.85), (0.85, -0.85), (0.85, 0.85), (-0.85, 0.85)),
}  # fmt: skip
"""Corners in halves of a mark's size: a triangle, a cross, a diamond, a square."""


@dataclass(frozen=True, slots=True)
class Changed:
    """One conductor that a revision changed.

    Attributes:
        mark: What happened.
        old: As it was; None when it is new.
        new: As it is; None when it is gone.
    """

    mark: Mark
    old: Conductor | None
    new: Conductor | None


def changes_of(difference: Difference) -> tuple[Changed, ...]:
    """Conductors a revision changed, each once: re-landed before re-sized.

    Args:
        difference: Of the two designs.
    """
    found = [Changed(Mark.REMOVED, c, None) for c in difference.removed]
    found += [Changed(Mark.ADDED, None, c) for c in difference.added]
    found += [Changed(Mark.RELANDED, p.old, p.new) for p in difference.relanded]
    known = {c.new.key for c in found if c.new is not None}
    found += [Changed(Mark.RESIZED, p.old, p.new) for p in difference.resized if p.new.key not in known]
    return tuple(found)


def marked(drawing: Drawing, changes: Sequence[Changed], *, old: bool) -> Drawing:
    """The sheets of a drawing that show a changed conductor, each with its mark.

    Args:
        drawing: All sheets of one revision.
        changes: From ``changes_of``.
        old: True for the earlier revision: what was removed, and where re-landed conductors were.
    """
    marks: dict[str, Mark] = {}
    for c in changes:
        conductor = c.old if old else c.new
        if conductor is not None and not (old and c.mark is Mark.RESIZED):
            marks[conductor.key] = c.mark
    sheets = []
    for sheet in drawing:
        concerned = {key: line for key, line in sheet.conductors.items() if key in marks}
        if concerned:
            sheets.append(_with_marks(sheet, concerned, marks))
    return Drawing(drawing.title, tuple(sheets))


def list_of_changes(
    changes: Sequence[Changed], shown: Mapping[str, str], paper_name: str, block: TitleBlock
) -> Drawing:
    """Sheets that list every changed conductor.

    Args:
        changes: From ``changes_of``.
        shown: Conductor key -> sheets on which it is marked.
        paper_name: ``ANSI B`` or ``ISO A3``.
        block: What the title block says.
    """
    drafts = change_drafts(changes, shown, PAPERS[paper_name])
    of = f"of {len(drafts)} sheets"
    return Drawing(block.job, tuple(d.finish(block, of) for d in drafts))


def change_drafts(changes: Sequence[Changed], shown: Mapping[str, str], paper: Paper) -> list[Draft]:
    """Sheets that list every changed conductor; ``shown`` are the sheets of each by its key."""
    x0, x1, top = paper.x0 + 3.0, paper.x1 - 3.0, paper.y0 + 1.0
    per_sheet = int((paper.body_y1 - top - 26.0) / ROW_MM) - 1
    rows = change_rows(changes, shown)
    drafts = []
    for n in range(max(1, -(-len(rows) // per_sheet))):
        draft = Draft(f"{LIST_SERIES}.{n + 1}", TITLE if n == 0 else f"{TITLE}, continued", TITLE, paper)
        y = heading(draft.canvas, x0, x1, top, "CHANGES OF THIS REVISION", counts(changes))
        y = _legend(draft.canvas, x0, y + 4.0)
        mine = rows[n * per_sheet : (n + 1) * per_sheet]
        draw_grid(draft.canvas, x0, y, _heads(x1 - x0), mine)
        drafts.append(draft)
    return drafts


def change_rows(changes: Sequence[Changed], shown: Mapping[str, str]) -> list[tuple[str, ...]]:
    """What happened, number, landings, size, by whom, purpose and sheets of every changed conductor."""
    order = {m: i for i, m in enumerate(Mark)}
    return [_row(c, shown) for c in sorted(changes, key=lambda c: (order[c.mark], _number(c)))]


def with_marks(sheet: Sheet, changes: Sequence[Changed]) -> Sheet:
    """A sheet of the new drawing with a mark on every conductor that changed."""
    marks = {c.new.key: c.mark for c in changes if c.new is not None}
    concerned = {key: line for key, line in sheet.conductors.items() if key in marks}
    return _with_marks(sheet, concerned, marks) if concerned else sheet


def sheets_of_changes(changes: Sequence[Changed], drafts: Sequence[Draft]) -> dict[str, str]:
    """Conductor key -> sheets that show it; what is gone stands on none."""
    found: dict[str, list[str]] = {c.new.key: [] for c in changes if c.new is not None}
    for draft in drafts:
        for item in draft.canvas.items:
            if isinstance(item, Polyline) and item.layer in CONDUCTORS and item.subject in found:
                found[item.subject].append(draft.number)
    shown = {key: ", ".join(dict.fromkeys(numbers)) for key, numbers in found.items() if numbers}
    gone = {c.old.key: "no sheet any more" for c in changes if c.new is None and c.old is not None}
    return {**shown, **gone}


# --- the list -----------------------------------------------------------------------------------------------------


def _number(c: Changed) -> int:
    conductor = c.new or c.old
    return conductor.number if conductor is not None else 0


def counts(changes: Sequence[Changed]) -> str:
    """``3 added, 1 removed``."""
    parts = [f"{sum(c.mark is m for c in changes)} {m}" for m in Mark]
    return ", ".join(p for p in parts if not p.startswith("0 ")) or "none"


def _row(c: Changed, shown: Mapping[str, str]) -> tuple[str, ...]:
    one = c.new or c.old
    assert one is not None

    def both(was: str, now: str) -> str:
        return now if was == now else f"{was} > {now}"

    old, new = c.old or one, c.new or one
    return (
        str(c.mark),
        both(str(old.number), str(new.number)),
        both(f"{old.a} to {old.b}", f"{new.a} to {new.b}"),
        both(units.format_awg(old.awg), units.format_awg(new.awg)),
        one.made,
        one.purpose,
        shown.get(one.key, "in the panel only"),
    )


def _heads(room: float) -> tuple[ColumnHead, ...]:
    shares = (("what", 0.07), ("no.", 0.07), ("landings", 0.33), ("size", 0.12), ("made", 0.06), ("purpose", 0.23))
    heads = [ColumnHead(title, room * share, bold=title == "what") for title, share in shares]
    return (*heads, ColumnHead("marked on", room * 0.12))


def draw_mark(canvas: Canvas, mark: Mark, x: float, y: float) -> None:
    """A mark as a sample, on no conductor."""
    canvas.line(Layer.REVISION, *_corners(mark, x, y), closed=True, filled=True)


def _legend(canvas: Canvas, x: float, y: float) -> float:
    for mark in Mark:
        draw_mark(canvas, mark, x + 2.0, y + 2.0)
        canvas.text(Layer.NOTE, x + 5.0, y + 3.0, str(mark), 2.0)
        x += 9.0 + width(str(mark), 2.0)
    return y + 8.0


# --- marks --------------------------------------------------------------------------------------------------------


def _corners(mark: Mark, x: float, y: float) -> tuple[Point, ...]:
    return tuple((x + HALF_MM * dx, y + HALF_MM * dy) for dx, dy in SHAPES[mark])


def _with_marks(sheet: Sheet, lines: Mapping[str, Polyline], marks: Mapping[str, Mark]) -> Sheet:
    taken = list(_boxes(sheet))
    made: list[Item] = []
    for key, line in lines.items():
        x, y = _free_place(line, taken)
        taken.append((x - HALF_MM, y - HALF_MM, x + HALF_MM, y + HALF_MM))
        corners = tuple((round(a, 3), round(b, 3)) for a, b in _corners(marks[key], x, y))
        made.append(Polyline(Layer.REVISION, corners, closed=True, filled=True, subject=key))
    return replace(sheet, items=(*sheet.items, *made))


def _free_place(line: Polyline, taken: Sequence[tuple[float, float, float, float]]) -> Point:
    """The place on a line farthest from its ends where a mark touches no text and no symbol; else its middle."""
    places = sorted(_along(line), key=lambda p: -p[2])
    for x, y, _ in places:
        grow = HALF_MM + CLEAR_MM
        if not any(a - grow < x < c + grow and b - grow < y < d + grow for a, b, c, d in taken):
            return x, y
    return places[0][0], places[0][1]


def _along(line: Polyline) -> Iterator[tuple[float, float, float]]:
    """Places every half millimetre, each with its distance from the nearer end."""
    lengths = [abs(b[0] - a[0]) + abs(b[1] - a[1]) for a, b in pairwise(line.points)]
    total = sum(lengths)
    gone = 0.0
    for (a, b), length in zip(pairwise(line.points), lengths, strict=True):
        steps = max(1, int(length / 0.5))
        for i in range(steps + 1):
            share = i / steps
            at = gone + share * length
            yield a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]), min(at, total - at)
        gone += length


def _boxes(sheet: Sheet) -> Iterator[tuple[float, float, float, float]]:
    """Areas of texts and symbols. [mm]."""
    for item in sheet.items:
        if isinstance(item, Text):
            yield _box(item)
        elif isinstance(item, Symbol):
            yield (
                item.x - item.shape.half_width,
                item.y - item.shape.half_height,
                item.x + item.shape.half_width,
                item.y + item.shape.half_height,
            )
            for _, text in item.texts:
                yield _box(text)


def _box(text: Text) -> tuple[float, float, float, float]:
    wide = width(text.content, text.height, text.bold)
    above, below = extent(text.content, text.height, text.bold)
    top, bottom = max(abs(above), abs(below), text.height), min(abs(above), abs(below))
    left = {"start": 0.0, "middle": -wide / 2, "end": -wide}[text.anchor]
    if text.turned:
        return text.x - top, text.y - left - wide, text.x + bottom, text.y - left
    return text.x + left, text.y - top, text.x + left + wide, text.y + bottom


def sheets_by_key(drawing: Drawing, word: str = "") -> dict[str, str]:
    """Conductor key -> numbers of the sheets that carry its mark, ``word`` in front."""
    found: dict[str, list[str]] = {}
    for sheet in drawing:
        for item in sheet.items:
            if isinstance(item, Polyline) and item.layer is Layer.REVISION and item.subject:
                found.setdefault(item.subject, []).append(sheet.number)
    return {key: f"{word} {', '.join(numbers)}".strip() for key, numbers in found.items()}
