"""What makes a sheet hard to read, found by geometry alone on a finished picture (see reader.py)."""

from __future__ import annotations

import io
import itertools
from collections import defaultdict
from collections.abc import Iterator
from functools import lru_cache
from importlib import resources

from fontTools.ttLib import TTFont
from tests.drawing.reader import Label, Picture, Stroke

LEAST_MM = 2.0
LANDINGS_MM = 3.0


@lru_cache(maxsize=2)
def _font(bold: bool):
    name = f"IBMPlexSans-{'Bold' if bold else 'Regular'}.ttf"
    data = (resources.files("galleyproof.drawing") / "typeface" / name).read_bytes()
    font = TTFont(io.BytesIO(data))
    return font.getBestCmap(), font["hmtx"], font["glyf"], font["OS/2"].sCapHeight


def missing(label: Label) -> set[str]:
    """Characters the typeface has no glyph for."""
    return {c for c in label.words if ord(c) not in _font(label.bold)[0]}


def width_of(words: str, height: float, bold: bool) -> float:
    cmap, hmtx, _, cap = _font(bold)
    return sum(hmtx[cmap[ord(c)]][0] for c in words) * height / cap


def box_of(label: Label) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of the ink's row: advance widths across, the glyphs' own outlines up and down."""
    cmap, _, glyf, cap = _font(label.bold)
    scale = label.height / cap
    glyphs = [glyf[cmap[ord(c)]] for c in label.words]
    inked = [g for g in glyphs if g.numberOfContours]
    up = max((g.yMax for g in inked), default=0) * scale
    down = min((g.yMin for g in inked), default=0) * scale
    w = width_of(label.words, label.height, label.bold)
    before = {"start": 0.0, "middle": w / 2, "end": w}[label.anchor]
    if label.turned:
        return label.x - up, label.y - (w - before), label.x - down, label.y + before
    return label.x - before, label.y - up, label.x + w - before, label.y - down


def _segments(s: Stroke) -> Iterator[tuple[float, float, float, float]]:
    points = [*s.points, s.points[0]] if s.closed else s.points
    for (x0, y0), (x1, y1) in itertools.pairwise(points):
        yield x0, y0, x1, y1


def _cells(x0: float, y0: float, x1: float, y1: float, size: float = 12.0) -> Iterator[tuple[int, int]]:
    for i in range(int(min(x0, x1) // size), int(max(x0, x1) // size) + 1):
        for j in range(int(min(y0, y1) // size), int(max(y0, y1) // size) + 1):
            yield i, j


def _hits_box(seg, box, grow: float = 0.0) -> bool:
    """Whether a segment has a point inside a box (Liang and Barsky's clipping)."""
    x0, y0, x1, y1 = seg
    left, top, right, bottom = box[0] - grow, box[1] - grow, box[2] + grow, box[3] + grow
    t0, t1 = 0.0, 1.0
    dx, dy = x1 - x0, y1 - y0
    for p, q in ((-dx, x0 - left), (dx, right - x0), (-dy, y0 - top), (dy, bottom - y0)):
        if p == 0:
            if q <= 0:
                return False
            continue
        t = q / p
        if p < 0:
            t0 = max(t0, t)
        else:
            t1 = min(t1, t)
        if t0 >= t1:
            return False
    return True


def faults(picture: Picture) -> list[str]:
    """Everything that makes the picture hard to read, in words."""
    return [
        *_text_faults(picture),
        *_line_faults(picture),
        *_frame_faults(picture),
        *_landing_faults(picture),
    ]


def _text_faults(picture: Picture) -> Iterator[str]:
    boxes = []
    for label in picture.labels:
        if lacking := missing(label):
            yield f"no glyph for {lacking} in {label.words!r}"
            continue
        if label.height < LEAST_MM - 0.005:
            yield f"{label.words!r} is {label.height:.2f} mm high"
        boxes.append((label, box_of(label)))
    grid = defaultdict(list)
    for i, (_, box) in enumerate(boxes):
        for cell in _cells(*box):
            grid[cell].append(i)
    seen = set()
    for cell in grid.values():
        for a, i in enumerate(cell):
            for j in cell[a + 1 :]:
                if (i, j) in seen:
                    continue
                seen.add((i, j))
                (la, p), (lb, q) = boxes[i], boxes[j]
                if min(p[2], q[2]) - max(p[0], q[0]) > 0.01 and min(p[3], q[3]) - max(p[1], q[1]) > 0.01:
                    yield f"{la.words!r} at {p[0]:.1f},{p[1]:.1f} lies over {lb.words!r}"
    for s in picture.strokes:
        hit = set()
        for seg in _segments(s):
            for cell in _cells(*seg):
                for i in grid.get(cell, ()):
                    if i not in hit and _hits_box(seg, boxes[i][1], s.width / 2 - 0.02):
                        hit.add(i)
                        yield f"a line at {seg} runs through {boxes[i][0].words!r}"
    for d in picture.discs:
        for cell in _cells(d.x - d.r, d.y - d.r, d.x + d.r, d.y + d.r):
            for i in grid.get(cell, ()):
                x0, y0, x1, y1 = boxes[i][1]
                near = max(x0 - d.x, 0, d.x - x1) ** 2 + max(y0 - d.y, 0, d.y - y1) ** 2
                inside = x0 > d.x - d.r and x1 < d.x + d.r and y0 > d.y - d.r and y1 < d.y + d.r
                if near < (d.r - 0.02) ** 2 and not (inside and not d.filled):
                    yield f"a disc at {d.x},{d.y} touches {boxes[i][0].words!r}"


def is_conductor(picture: Picture, s: Stroke) -> bool:
    return not s.closed and (abs(s.width - 0.7) < 0.01 or (s.grey and abs(s.width - 0.25) < 0.01))


def _line_faults(picture: Picture) -> Iterator[str]:
    """Conductors through anything else's lines, and conductors that lie on or run into each other."""
    wires = [s for s in picture.strokes if is_conductor(picture, s)]
    others = defaultdict(list)
    for s in picture.strokes:
        if not is_conductor(picture, s):
            for seg in _segments(s):
                for cell in _cells(*seg):
                    others[cell].append(seg)
    level = defaultdict(list)
    for n, wire in enumerate(wires):
        ends = (wire.points[0], wire.points[-1])
        for seg in _segments(wire):
            x0, y0, x1, y1 = seg
            if abs(x0 - x1) > 0.01 and abs(y0 - y1) > 0.01:
                yield f"a conductor runs askew: {seg}"
            level["h", round(y0, 2)].append((min(x0, x1), max(x0, x1), n)) if abs(y0 - y1) < 0.01 else level[
                "v", round(x0, 2)
            ].append((min(y0, y1), max(y0, y1), n))
            for seg2 in {s for cell in _cells(*seg) for s in others.get(cell, ())}:
                at = _cross(seg, seg2)
                if at and min(abs(at[0] - e[0]) + abs(at[1] - e[1]) for e in ends) > 0.9:
                    yield f"a conductor {seg} runs through a line {seg2}"
    for spans in level.values():
        spans.sort()
        for (_, end, n), (start, _, m) in itertools.pairwise(spans):
            if n != m and start < end + 0.05:
                yield f"two conductors touch on one line: {wires[n].points} and {wires[m].points}"


def _cross(a, b) -> tuple[float, float] | None:
    x0, y0, x1, y1 = a
    u0, v0, u1, v1 = b
    det = (x1 - x0) * (v1 - v0) - (y1 - y0) * (u1 - u0)
    if abs(det) < 1e-9:
        return None
    t = ((u0 - x0) * (v1 - v0) - (v0 - y0) * (u1 - u0)) / det
    s = ((u0 - x0) * (y1 - y0) - (v0 - y0) * (x1 - x0)) / det
    return (x0 + t * (x1 - x0), y0 + t * (y1 - y0)) if -1e-9 <= t <= 1 + 1e-9 and -1e-9 <= s <= 1 + 1e-9 else None


def frame(picture: Picture) -> tuple[float, float, float, float]:
    """The largest box drawn with the frame's stroke of 0.5 mm."""
    boxes = []
    for s in picture.strokes:
        if s.closed and abs(s.width - 0.5) < 0.01 and len(s.points) == 4:
            xs, ys = [x for x, _ in s.points], [y for _, y in s.points]
            boxes.append((min(xs), min(ys), max(xs), max(ys)))
    return max(boxes, key=lambda b: (b[2] - b[0]) * (b[3] - b[1]))


def _frame_faults(picture: Picture) -> Iterator[str]:
    """The zone marks alone stand outside the frame, in a strip of 5 mm."""
    x0, y0, x1, y1 = frame(picture)
    for label in picture.labels:
        if missing(label):
            continue
        a, b, c, d = box_of(label)
        inside = a >= x0 and b >= y0 and c <= x1 and d <= y1
        zone = len(label.words) == 1 and (d <= y0 or b >= y1 or c <= x0 or a >= x1)
        on_sheet = a >= 0 and b >= 0 and c <= picture.width and d <= picture.height
        if not on_sheet or not (inside or zone):
            yield f"{label.words!r} lies outside the frame"
    for s in picture.strokes:
        xs, ys = [x for x, _ in s.points], [y for _, y in s.points]
        if min(xs) < x0 - 5.01 or max(xs) > x1 + 5.01 or min(ys) < y0 - 5.01 or max(ys) > y1 + 5.01:
            yield f"a line lies outside the frame: {s.points}"
        if is_conductor(picture, s) and not (min(xs) > x0 and max(xs) < x1 and min(ys) > y0 and max(ys) < y1):
            yield f"a conductor lies outside the frame: {s.points}"


def _landing_faults(picture: Picture) -> Iterator[str]:
    columns = defaultdict(list)
    for d in picture.discs:
        if d.filled and abs(d.r - 0.75) < 0.01:
            columns[round(d.x, 1)].append(d.y)
    for x, ys in columns.items():
        ys.sort()
        for a, b in itertools.pairwise(ys):
            if b - a < LANDINGS_MM - 0.001:
                yield f"landings at x {x} are {b - a:.2f} mm apart"


def quality(picture: Picture) -> tuple[int, int, int]:
    """Conductors, crossings of conductors, and bends."""
    wires = [s for s in picture.strokes if is_conductor(picture, s)]
    bends = sum(len(w.points) - 2 for w in wires)
    crossings = 0
    flat = [(seg, n) for n, w in enumerate(wires) for seg in _segments(w)]
    for i, (a, n) in enumerate(flat):
        for b, m in flat[i + 1 :]:
            crossings += n != m and _cross(a, b) is not None
    return len(wires), crossings, bends
