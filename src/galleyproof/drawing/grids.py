"""Tables on sheets: a head, rows of one height, columns of given widths; what is too wide is cut off visibly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from galleyproof.drawing.fonts import fit
from galleyproof.drawing.model import Anchor, Canvas, Layer

ROW_MM = 4.2


@dataclass(frozen=True, slots=True)
class ColumnHead:
    """Title, width [mm] and alignment of a column."""

    title: str
    width: float
    anchor: Anchor = "start"
    bold: bool = False


def grid_height(rows: int) -> float:
    """Height of a grid with its head. [mm]."""
    return (rows + 1) * ROW_MM + 0.6


def draw_grid(canvas: Canvas, x: float, y: float, heads: Sequence[ColumnHead], rows: Sequence[Sequence[str]]) -> None:
    """A grid with its top left corner at a place."""
    wide = sum(h.width for h in heads)
    bottom = y + grid_height(len(rows))
    canvas.box(Layer.TITLE, x, y, wide, bottom - y)
    canvas.line(Layer.TITLE, (x, y + ROW_MM + 0.6), (x + wide, y + ROW_MM + 0.6))
    at = x
    for i, head in enumerate(heads):
        if i:
            canvas.line(Layer.TITLE, (at, y), (at, bottom))
        canvas.text(Layer.NOTE, at + 1.2, y + 3.4, fit(head.title, head.width - 2.0, 2.0, True), 2.0, bold=True)
        for k, row in enumerate(rows):
            words = fit(row[i], head.width - 2.0, 2.0, head.bold)
            place = {"start": at + 1.2, "middle": at + head.width / 2, "end": at + head.width - 1.2}[head.anchor]
            base = y + 0.6 + (k + 1) * ROW_MM + 3.1
            canvas.text(Layer.NOTE, place, base, words, 2.0, head.anchor, bold=head.bold)
        at += head.width
