"""Sheets of paper: sizes, frame with zones, title block and revision table. Plain arithmetic."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from galleyproof.drawing.fonts import fit, printable, wrap
from galleyproof.drawing.model import Canvas, Layer

FRAME = Layer.FRAME
ZONE_STRIP_MM = 5.0
TITLE_MM = 20.0
ZONE_MM = 50.0
"""Zones are about this long, as in ISO 5457 [mm]."""


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet size and its margins [mm].

    ANSI B is 11 in by 17 in (ASME Y14.1), A3 is 297 mm by 420 mm with a filing margin (ISO 216, ISO 5457).
    """

    name: str
    width: float
    height: float
    left: float
    other: float

    @property
    def x0(self) -> float:
        """Left edge of the frame."""
        return self.left + ZONE_STRIP_MM

    @property
    def y0(self) -> float:
        """Top edge of the frame."""
        return self.other + ZONE_STRIP_MM

    @property
    def x1(self) -> float:
        """Right edge of the frame."""
        return self.width - self.other - ZONE_STRIP_MM

    @property
    def y1(self) -> float:
        """Bottom edge of the frame."""
        return self.height - self.other - ZONE_STRIP_MM

    @property
    def body_y1(self) -> float:
        """Bottom of what may be drawn: the top of the title block."""
        return self.y1 - TITLE_MM

    @property
    def columns(self) -> int:
        """Zones across."""
        return max(2, round((self.x1 - self.x0) / ZONE_MM))

    @property
    def rows(self) -> int:
        """Zones down."""
        return max(2, round((self.y1 - self.y0) / ZONE_MM))

    def zone(self, x: float, y: float) -> str:
        """The zone of a place, row letter first: ``C4``."""
        column = min(self.columns - 1, max(0, math.floor((x - self.x0) / (self.x1 - self.x0) * self.columns)))
        row = min(self.rows - 1, max(0, math.floor((y - self.y0) / (self.y1 - self.y0) * self.rows)))
        return f"{'ABCDEFGH'[row]}{column + 1}"


PAPERS = {
    "ANSI B": Paper("ANSI B", 431.8, 279.4, 8.0, 8.0),
    "ISO A3": Paper("ISO A3", 420.0, 297.0, 20.0, 10.0),
}


@dataclass(frozen=True, slots=True)
class Revision:
    """One row of the revision table."""

    letter: str
    date: str
    text: str


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """What the title block says on every sheet.

    Attributes:
        job: Name of the job.
        number: Its number.
        revisions: Oldest first; the last three are shown.
        status: ``DRAFT``, ``FOR REVIEW`` ... in words of the caller.
    """

    job: str
    number: str
    revisions: Sequence[Revision]
    status: str = "DRAFT"


def draw_frame(canvas: Canvas, paper: Paper) -> None:
    """Paper edge strip with zone marks, and the frame."""
    x0, y0, x1, y1 = paper.x0, paper.y0, paper.x1, paper.y1
    s = ZONE_STRIP_MM
    canvas.box(FRAME, x0, y0, x1 - x0, y1 - y0)
    canvas.box(Layer.TITLE, x0 - s, y0 - s, x1 - x0 + 2 * s, y1 - y0 + 2 * s)
    for i in range(paper.columns):
        left = x0 + (x1 - x0) * i / paper.columns
        middle = x0 + (x1 - x0) * (i + 0.5) / paper.columns
        for top in (y0 - s, y1):
            if i:
                canvas.line(Layer.TITLE, (left, top), (left, top + s))
            canvas.text(FRAME, middle, top + s / 2 + 1.0, str(i + 1), 2.0, "middle")
    for j in range(paper.rows):
        top = y0 + (y1 - y0) * j / paper.rows
        middle = y0 + (y1 - y0) * (j + 0.5) / paper.rows
        for left in (x0 - s, x1):
            if j:
                canvas.line(Layer.TITLE, (left, top), (left + s, top))
            canvas.text(FRAME, left + s / 2, middle + 1.0, "ABCDEFGH"[j], 2.0, "middle")


def draw_title_block(
    canvas: Canvas, paper: Paper, block: TitleBlock, number: str, title: str, of: str, scale: str
) -> None:
    """The strip along the bottom edge: revisions, status, job, what the sheet shows, its number."""
    y, bottom = paper.body_y1, paper.y1
    x0, x1 = paper.x0, paper.x1
    canvas.line(Layer.TITLE, (x0, y), (x1, y))
    room = x1 - x0
    marks = [x0, x0 + room * 0.27, x0 + room * 0.37, x0 + room * 0.62, x0 + room * 0.88, x1]
    for x in marks[1:-1]:
        canvas.line(Layer.TITLE, (x, y), (x, bottom))
    _revisions(canvas, marks[0], y, marks[1] - marks[0], block.revisions)

    def cell(i: int, label: str, value: str, height: float = 2.8, lines: int = 2) -> None:
        x, wide = marks[i] + 2.0, marks[i + 1] - marks[i] - 4.0
        canvas.text(Layer.TITLE, x, y + 3.6, label, 2.0)
        for k, line in enumerate(wrap(value, wide, height, True, lines)):
            canvas.text(Layer.TITLE, x, y + 8.8 + k * (height + 1.9), line, height, bold=True)

    cell(1, "status", block.status, 2.8)
    canvas.text(Layer.TITLE, marks[1] + 2.0, y + 18.0, fit(f"scale {scale}", marks[2] - marks[1] - 4.0, 2.0), 2.0)
    cell(2, "job", block.job)
    canvas.text(
        Layer.TITLE, marks[2] + 2.0, y + 18.0, fit(f"number {block.number}", marks[3] - marks[2] - 4.0, 2.0), 2.0
    )
    cell(3, "sheet shows", title)
    letter = block.revisions[-1].letter if block.revisions else "-"
    canvas.text(Layer.TITLE, marks[4] + 2.0, y + 3.6, "sheet", 2.0)
    canvas.text(Layer.TITLE, marks[4] + 2.0, y + 12.5, number, 6.0, bold=True)
    canvas.text(Layer.TITLE, marks[4] + 2.0, y + 18.0, fit(of, marks[5] - marks[4] - 4.0, 2.0), 2.0)
    canvas.text(Layer.TITLE, marks[5] - 2.0, y + 3.6, f"revision {printable(letter)}", 2.0, "end")


def _revisions(canvas: Canvas, x: float, y: float, wide: float, revisions: Sequence[Revision]) -> None:
    row = TITLE_MM / 4
    columns = [x, x + 12.0, x + 34.0]
    head = ("rev.", "date", "what")
    for column, words in zip(columns, head, strict=True):
        canvas.text(Layer.TITLE, column + 1.5, y + 3.5, words, 2.0)
    for column in columns[1:]:
        canvas.line(Layer.TITLE, (column, y), (column, y + TITLE_MM))
    for k in range(1, 4):
        canvas.line(Layer.TITLE, (x, y + k * row), (x + wide, y + k * row))
    for k, revision in enumerate(list(revisions)[-3:], 1):
        texts = (revision.letter, revision.date or "not stated", revision.text)
        rooms = (9.0, 19.0, wide - 37.0)
        for column, words, room in zip(columns, texts, rooms, strict=True):
            canvas.text(Layer.TITLE, column + 1.5, y + k * row + 3.6, fit(words, room, 2.0), 2.0)
