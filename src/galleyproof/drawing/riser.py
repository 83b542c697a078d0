"""The riser: every raceway from where it starts to where it ends, place over place, with size, length and fill.

Without computed sizes the design's cables stand in for the raceways, and their sizes and fills are "not yet computed".
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from galleyproof import units
from galleyproof.design.builder import natural
from galleyproof.design.model import Design
from galleyproof.drawing.draft import Draft, Register, heading
from galleyproof.drawing.fonts import fit, listed, printable, wrap
from galleyproof.drawing.model import Canvas, Layer
from galleyproof.drawing.paper import Paper
from galleyproof.drawing.parts import reference
from galleyproof.job.model import Job
from galleyproof.sizing.model import RacewaySize, Sizes

TITLE = "Riser"
ROW_MM = 9.6
BOX_MM = 34.0
BETWEEN_MM = 5.0
LEAST_ROWS = 4
"""Of a flight that is cut, on either side of the cut [-]."""
HEIGHT_OF = (("roof", 3), ("mezzanine", 2), ("hood", 1))
"""Places above the kitchen's floor; all others stand level with it. [-]"""


@dataclass(frozen=True, slots=True)
class Way:
    """One raceway or cable as the riser shows it."""

    tag: str
    above: str
    below: str
    cables: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Flight:
    """All ways between two places."""

    start: str
    end: str
    ways: tuple[Way, ...]

    @property
    def height(self) -> float:
        """Height on the sheet [mm]."""
        return ROW_MM * len(self.ways) + 3.0


def level(place: str) -> int:
    """How high a place stands [-]."""
    return next((n for word, n in HEIGHT_OF if word in place.lower()), 0)


def flights(job: Job, design: Design, sizes: Sizes | None) -> list[Flight]:
    """Ways grouped by where they lead, the highest places first."""
    home = job.panel.place
    groups: dict[tuple[str, str], list[Way]] = {}
    if sizes is not None and sizes.raceways:
        rows = [(r.from_place, r.to_place, _raceway(r)) for r in sizes.raceways]
    else:
        rows = []
        for c in design.cables:
            n = Counter(design.conductor_by_key[k].awg for k in c.conductors)
            above = f"{c.tag} \u00b7 {c.energy_class} \u00b7 {c.length_ft:g} ft"
            below = f"{_counted(n)} \u00b7 raceway and fill not yet computed"
            rows.append((c.from_place, c.to_place, Way(c.tag, above, below)))
    for start, end, way in rows:
        if end == home or (start != home and level(start) > level(end)):
            start, end = end, start
        groups.setdefault((start, end), []).append(way)

    def order(places: tuple[str, str]) -> tuple[object, ...]:
        start, end = places
        return (-max(level(start), level(end)), start != home, natural(end), natural(start))

    return [
        Flight(s, e, tuple(sorted(groups[s, e], key=lambda w: natural(w.tag)))) for s, e in sorted(groups, key=order)
    ]


def _counted(counts: Counter[str]) -> str:
    return ", ".join(
        f"{n} x {units.format_awg(size)}" for size, n in sorted(counts.items(), key=lambda i: natural(i[0]))
    )


def _raceway(r: RacewaySize) -> Way:
    kind = f"{r.kind} {r.trade_size} in" if r.trade_size else r.kind
    above = f"{r.tag} \u00b7 {kind} \u00b7 {r.length_ft:g} ft"
    if r.trade_size:
        above += f" \u00b7 fill {r.fill_ratio:.0%} of {r.max_fill_ratio:.0%}"
    held = []
    for f in r.contents:
        words = f.size if "cable" in f.size else units.format_awg(f.size)
        held.append(f"{f.count} x {words}")
    return Way(r.tag, above, f"{r.energy_class} \u00b7 {', '.join(held)} \u00b7 ", tuple(r.cables))


def lay_out(
    job: Job, design: Design, sizes: Sizes | None, paper: Paper, register: Register, series: int
) -> list[Draft]:
    """Sheets of the riser, two columns each."""
    top, bottom = paper.y0 + 11.0, paper.body_y1 - 5.0
    room = int((bottom - top - BETWEEN_MM) / ROW_MM) - 1
    columns: list[list[tuple[Flight, float]]] = [[]]
    y = top
    waiting = flights(job, design, sizes)
    while waiting:
        flight = waiting.pop(0)
        fits = int((bottom - y - 3.0) / ROW_MM)
        if len(flight.ways) > fits:
            # a long flight goes on in the next column, a short one begins there
            cut = min(fits, room) if fits >= LEAST_ROWS and len(flight.ways) - fits >= LEAST_ROWS else 0
            if cut or len(flight.ways) > room:
                cut = cut or room
                waiting.insert(0, Flight(flight.start, flight.end, flight.ways[cut:]))
                flight = Flight(flight.start, flight.end, flight.ways[:cut])
        if columns[-1] and y + flight.height > bottom:
            columns.append([])
            y = top
        columns[-1].append((flight, y))
        y += flight.height + BETWEEN_MM
    drafts: list[Draft] = []
    for i in range(0, len(columns), 2):
        places = dict.fromkeys(f.end for column in columns[i : i + 2] for f, _ in column)
        title = f"{TITLE}: {printable(', '.join(places))}"
        drafts.append(Draft(f"{series}.{len(drafts) + 1}", title, TITLE, paper))
    for i, draft in enumerate(drafts):
        _page(draft, columns[2 * i : 2 * i + 2], register, job.panel.place)
        foot = paper.body_y1 - 1.6
        if i:
            other = drafts[i - 1].number
            reference(draft.canvas, paper.x0 + 3.0, foot, f"continued from {other}", other)
        if i + 1 < len(drafts):
            other = drafts[i + 1].number
            reference(draft.canvas, paper.x1 - 3.0, foot, f"continues on {other}", other, "end")
    return drafts


def _page(draft: Draft, columns: Sequence[Sequence[tuple[Flight, float]]], register: Register, home: str) -> None:
    paper = draft.paper
    heading(draft.canvas, paper.x0 + 3.0, paper.x1 - 3.0, paper.y0 + 1.0, "RACEWAYS BY PLACE", "highest places first")
    half = (paper.x1 - paper.x0 - 6.0 - 8.0) / 2
    for k, column in enumerate(columns):
        x0 = paper.x0 + 3.0 + k * (half + 8.0)
        for flight, y in column:
            _flight(draft.canvas, flight, x0, x0 + half, y, home)
            for way in flight.ways:
                register.note(way.tag, draft, x0 + half / 2, y)


def _flight(canvas: Canvas, flight: Flight, x0: float, x1: float, y: float, home: str) -> None:
    for x, place in ((x0, flight.start), (x1 - BOX_MM, flight.end)):
        canvas.box(Layer.BUILDING, x, y, BOX_MM, flight.height)
        # the panel stands at the start of what leads to its own room
        panel = place == home and (x == x0 or flight.start != home)
        words = f"{place.upper()} (panel)" if panel else place.upper()
        for i, line in enumerate(wrap(words, BOX_MM - 3.0, 2.0, True, max(1, int((flight.height - 2.0) / 3.6)))):
            canvas.text(Layer.BUILDING, x + BOX_MM / 2, y + 4.6 + i * 3.6, line, 2.0, "middle", bold=True)
    left, right = x0 + BOX_MM, x1 - BOX_MM
    for i, way in enumerate(flight.ways):
        at = y + 1.2 + ROW_MM * (i + 0.5)
        canvas.line(Layer.RACEWAY, (left, at), (right, at), subject=way.tag)
        canvas.text(Layer.RACEWAY, left + 2.0, at - 0.9, fit(way.above, right - left - 4.0, 2.0), 2.0)
        room = right - left - 4.0
        below = listed(way.cables, room, way.below) if way.cables else fit(way.below, room, 2.0)
        canvas.text(Layer.NOTE, left + 2.0, at + 3.2, below, 2.0)
