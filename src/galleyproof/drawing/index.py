"""The first sheet: cautions, all sheets, and what lines, marks and symbols mean."""

from __future__ import annotations

from collections.abc import Sequence

from galleyproof.drawing.draft import Draft, heading
from galleyproof.drawing.fonts import fit, wrap
from galleyproof.drawing.grids import ColumnHead, draw_grid
from galleyproof.drawing.model import CONDUCTORS, LOOK, Canvas, Layer, Link, Symbol
from galleyproof.drawing.paper import Paper
from galleyproof.drawing.revision import Mark, draw_mark
from galleyproof.drawing.symbols import LANDING, TERMINAL, Family, inline

TITLE = "Index, cautions and legend"
CAUTIONS = (
    "For qualified persons only. Lock out, tag out and test dead before you touch a conductor; wear protective "
    "equipment.",
    "Tell the fire-alarm and the suppression contractor before you touch the fire switch. The suppression system's own "
    "wiring belongs to its licensed contractor.",
    "The adopted local code and the authority having jurisdiction prevail.",
    "These sheets are reviewed by a licensed engineer or electrician before use. They are never an approval.",
)
READING = (
    "Field sheets: one heading for each place. The panel's devices stand on the left, then the terminal strips in "
    "their true order (a double stroke: terminals left out), then the field devices.",
    "A conductor's number stands at each of its ends, its size between. A bracket with a tag holds the conductors of "
    "one cable or raceway group.",
    "Elementary diagram: below each end stands device:terminal; below a coil stand its contacts, below a contact its "
    "coil, each as sheet/zone. A hollow arrow: the line goes on below; several lines to one load go on in their order.",
    "Sheets are numbered series.sheet; a series that grows renumbers no other.",
)
ROWS_PER_COLUMN = 48


def lay_out(
    drafts: Sequence[Draft], paper: Paper, family: Family, computed: bool, series: int, revised: str = ""
) -> list[Draft]:
    """Sheets of the index; the list goes on where one sheet does not hold it.

    ``revised`` is the revision whose changes are marked; empty where none are.
    """
    rows = [(d.number, d.title) for d in sorted(drafts, key=lambda d: sheet_order(d.number))]
    room = 2 * ROWS_PER_COLUMN
    extra = max(0, -(-(len(rows) - ROWS_PER_COLUMN) // room))
    numbers = [f"{series}.{i + 1}" for i in range(1 + extra)]
    own = [(n, TITLE if i == 0 else "Index, continued") for i, n in enumerate(numbers)]
    rows = [*own, *rows]
    first = Draft(numbers[0], TITLE, TITLE, paper)
    x0, x1, top = paper.x0 + 3.0, paper.x1 - 3.0, paper.y0 + 1.0
    third = (x1 - x0 - 16.0) / 3
    y = heading(first.canvas, x0, x0 + third, top, "CAUTIONS")
    y = _paragraphs(first.canvas, x0, x0 + third, y + 2.0, CAUTIONS, 2.5, True)
    y = heading(first.canvas, x0, x0 + third, y + 4.0, "HOW TO READ")
    notes = list(READING)
    notes.append(
        "Sizes are computed from the job; clauses stand in the circuit schedule."
        if computed
        else "Sizes are those of the design; they are not yet computed, nor are raceways and fills."
    )
    _paragraphs(first.canvas, x0, x0 + third, y + 2.0, notes, 2.0, False)
    at = x0 + third + 8.0
    heading(first.canvas, at, at + third, top, "SHEETS")
    _list(first.canvas, at, at + third, top + 10.0, rows[:ROWS_PER_COLUMN])
    at += third + 8.0
    heading(first.canvas, at, x1, top, "LEGEND", f"symbols: {family}")
    _legend(first.canvas, at, x1, top + 12.0, family, revised)
    made = [first]
    rest = rows[ROWS_PER_COLUMN:]
    half = (x1 - x0 - 10.0) / 2
    for i, number in enumerate(numbers[1:]):
        draft = Draft(number, "Index, continued", TITLE, paper)
        heading(draft.canvas, x0, x1, top, "SHEETS, CONTINUED")
        for k in range(2):
            begin = (2 * i + k) * ROWS_PER_COLUMN
            mine = rest[begin : begin + ROWS_PER_COLUMN]
            if mine:
                x = x0 + k * (half + 10.0)
                _list(draft.canvas, x, x + half, top + 10.0, mine)
        made.append(draft)
    return made


def sheet_order(number: str) -> tuple[int, ...]:
    """Sort key of a sheet's number."""
    return tuple(int(part) for part in number.split("."))


def _paragraphs(
    canvas: Canvas, x0: float, x1: float, y: float, notes: Sequence[str], height: float, bold: bool
) -> float:
    for note in notes:
        for i, line in enumerate(wrap(note, x1 - x0 - 4.0, height, bold)):
            if i == 0:
                canvas.line(Layer.NOTE, (x0, y + 1.6), (x0 + 2.2, y + 1.6))
            y += height + 1.7
            canvas.text(Layer.NOTE, x0 + 4.0, y - 0.8, line, height, bold=bold)
        y += 1.6
    return y


def _list(canvas: Canvas, x0: float, x1: float, y: float, rows: Sequence[tuple[str, str]]) -> None:
    heads = (ColumnHead("sheet", 14.0, "start", True), ColumnHead("shows", x1 - x0 - 14.0))
    draw_grid(canvas, x0, y, heads, rows)
    for k, (number, _) in enumerate(rows):
        canvas.links.append(Link(round(x0, 3), round(y + 4.8 + k * 4.2, 3), round(x1 - x0, 3), 4.2, number))


def _legend(canvas: Canvas, x0: float, x1: float, y: float, family: Family, revised: str) -> None:
    """Lines first, then marks, then the symbols of the job's family, then marks of a revision."""
    words_x = x0 + 30.0
    room = x1 - words_x
    for layer in CONDUCTORS:
        if layer is Layer.FACTORY:
            canvas.line(Layer.BRIDGE, (x0, y), (x0 + 24.0, y))
            canvas.text(Layer.NOTE, words_x, y + 0.9, fit("bar between terminals", room, 2.0), 2.0)
            y += 5.0
        _sample(canvas, layer, x0, y)
        canvas.text(Layer.NOTE, words_x, y + 0.9, fit(LOOK[layer].means, room, 2.0), 2.0)
        y += 5.0
    for shape in (LANDING, TERMINAL):
        canvas.items.append(Symbol(shape, round(x0 + 12.0, 3), round(y, 3)))
        canvas.text(Layer.NOTE, words_x, y + 0.9, fit(shape.means, room, 2.0), 2.0)
        y += 5.0
    y += 3.0
    for shape in inline(family).values():
        canvas.items.append(Symbol(shape, round(x0 + 12.0, 3), round(y, 3)))
        canvas.text(Layer.NOTE, words_x, y + 0.9, fit(shape.means, room, 2.0), 2.0)
        y += shape.half_height * 2 + 3.0
    if revised:
        for mark in (Mark.ADDED, Mark.RELANDED, Mark.RESIZED):
            draw_mark(canvas, mark, x0 + 12.0, y)
            canvas.text(Layer.NOTE, words_x, y + 0.9, fit(f"{mark} in revision {revised}", room, 2.0), 2.0)
            y += 5.0


def _sample(canvas: Canvas, layer: Layer, x: float, y: float) -> None:
    """A conductor as it looks; without landings and number, for it is none."""
    canvas.line(layer, (x, y), (x + 24.0, y))
