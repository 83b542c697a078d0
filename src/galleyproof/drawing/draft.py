"""Sheets while they are being laid out, and the register of what stands where, for references both ways."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from galleyproof.drawing.fonts import fit, printable, width
from galleyproof.drawing.model import Anchor, Canvas, Layer, Sheet
from galleyproof.drawing.paper import Paper, TitleBlock, draw_frame, draw_title_block
from galleyproof.drawing.parts import reference


@dataclass
class Draft:
    """One sheet while it is laid out."""

    number: str
    title: str
    series: str
    paper: Paper
    canvas: Canvas = field(default_factory=Canvas)
    scale: str = "none"

    def finish(self, block: TitleBlock, of: str) -> Sheet:
        """The sheet with its frame and title block."""
        frame = Canvas()
        draw_frame(frame, self.paper)
        draw_title_block(frame, self.paper, block, self.number, self.title, of, self.scale)
        c = self.canvas
        return Sheet(
            self.number,
            self.title,
            self.series,
            self.paper.width,
            self.paper.height,
            (*frame.items, *c.items),
            tuple(c.ports),
            tuple(c.links),
            self.scale,
        )


MAX_LISTED = 6
"""References written out in one place; the rest is counted. [-]"""


@dataclass(frozen=True, slots=True)
class Spot:
    """A place that can be referred to: sheet and zone."""

    sheet: str
    zone: str
    what: str = ""

    def __str__(self) -> str:
        return f"{self.what} {self.sheet}/{self.zone}".strip()


@dataclass(frozen=True, slots=True)
class _Wanted:
    draft: Draft
    key: str
    x: float
    y: float
    room: float
    words: str
    anchor: Anchor
    here: Spot | None


@dataclass
class Register:
    """Where things stand. Keys: a device's tag, ``coil TAG``, ``contact TAG PART``, or any word of the sheets' own."""

    spots: dict[str, dict[Spot, None]] = field(default_factory=dict)
    _wanted: list[_Wanted] = field(default_factory=list)

    def note(self, key: str, draft: Draft, x: float, y: float, what: str = "") -> Spot:
        """Something stands here; ``what`` tells it from others of the same key."""
        spot = Spot(draft.number, draft.paper.zone(x, y), what)
        self.spots.setdefault(key, {})[spot] = None
        return spot

    def want(
        self,
        draft: Draft,
        key: str,
        x: float,
        y: float,
        room: float,
        words: str = "also",
        anchor: Anchor = "start",
        here: Spot | None = None,
    ) -> None:
        """Later, write at this place where else the thing stands; ``here`` is left out."""
        self._wanted.append(_Wanted(draft, key, x, y, room, words, anchor, here))

    def resolve(self) -> None:
        """Write all references that were asked for; as many as there is room for, and how many more there are."""
        for w in self._wanted:
            others = [s for s in self.spots.get(w.key, ()) if s != w.here]
            if others:
                words = _listed(w.words, others, w.room)
                reference(w.draft.canvas, w.x, w.y, words, others[0].sheet, w.anchor)
        self._wanted.clear()


def _listed(words: str, spots: Iterable[Spot], room: float) -> str:
    all_spots = [str(s) for s in spots]
    for n in range(min(len(all_spots), MAX_LISTED), 0, -1):
        more = f" +{len(all_spots) - n}" if n < len(all_spots) else ""
        text = f"{words} {', '.join(all_spots[:n])}{more}".strip()
        if width(text, 2.0) <= room:
            return text
    return fit(f"{words} {all_spots[0]}".strip(), room, 2.0)


def heading(canvas: Canvas, x0: float, x1: float, y: float, words: str, more: str = "") -> float:
    """A heading with a rule below it; returns where the next thing may begin."""
    title = fit(words, (x1 - x0) * 0.6, 3.5, True)
    canvas.text(Layer.NOTE, x0, y + 5.0, title, 3.5, bold=True)
    if more:
        room = x1 - x0 - width(title, 3.5, True) - 6.0
        canvas.text(Layer.NOTE, x1, y + 5.0, fit(printable(more), room, 2.0), 2.0, "end")
    canvas.line(Layer.NOTE, (x0, y + 7.0), (x1, y + 7.0))
    return y + 8.5
