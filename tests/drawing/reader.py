"""Reads conductors back from a finished drawing, knowing only geometry and text.

Nothing of the project is imported here. Both readers bring a file down to the same plain picture (strokes with their
width and grey, discs, texts with their size), and one set of rules finds the conductors in it:

* a field conductor is a heavy stroke with a disc on each end, a factory conductor a thin grey stroke;
* its number and its size stand on it: texts whose baseline lies at most 1.5 mm above the stroke, within its length;
* an end on the edge of a box lands in that box: the box's tag is its tallest text, the terminal's mark is the text
  at the end's height nearest to that edge;
* any other end has its landing written below it as DEVICE:MARK, beginning or ending at the end's place, or, where two
  conductors meet, centred between their ends.
"""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass, field

CAP = 0.698  # height of a capital in ems: IBM Plex Sans, OS/2 table


@dataclass(frozen=True)
class Stroke:
    points: tuple[tuple[float, float], ...]
    width: float
    grey: bool
    closed: bool
    dashes: tuple[float, ...] = ()


@dataclass(frozen=True)
class Disc:
    x: float
    y: float
    r: float
    filled: bool
    width: float = 0.18


@dataclass(frozen=True)
class Label:
    x: float
    y: float  # baseline
    words: str
    height: float  # of a capital
    anchor: str
    bold: bool
    turned: bool = False
    grey: bool = False


@dataclass
class Picture:
    width: float
    height: float
    strokes: list[Stroke] = field(default_factory=list)
    discs: list[Disc] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)


@dataclass(frozen=True)
class Found:
    """One conductor as it was read."""

    number: int
    size: str
    ends: frozenset[str]
    field: bool
    style: tuple[float, ...]
    places: tuple[tuple[float, float], tuple[float, float]]


# --- SVG ----------------------------------------------------------------------------------------------------------

_NS = "{http://www.w3.org/2000/svg}"


def read_svg(text: str) -> Picture:
    root = ET.fromstring(text)
    _, _, w, h = map(float, root.attrib["viewBox"].split())
    picture = Picture(w, h)
    for group in root.iter(f"{_NS}g"):
        grey = group.attrib["stroke"] not in ("#000000", "black")
        width = float(group.attrib["stroke-width"])
        dashes = tuple(map(float, group.attrib.get("stroke-dasharray", "").split()))
        for e in group:
            kind = e.tag.removeprefix(_NS)
            if kind in ("polyline", "polygon"):
                points = tuple(tuple(map(float, p.split(","))) for p in e.attrib["points"].split())
                picture.strokes.append(Stroke(points, width, grey, kind == "polygon", dashes))
            elif kind == "circle":
                x, y, r = (float(e.attrib[k]) for k in ("cx", "cy", "r"))
                picture.discs.append(Disc(x, y, r, "fill" in e.attrib, width))
            elif kind == "path":
                picture.strokes.append(Stroke(_arc(e.attrib["d"]), width, grey, False, dashes))
            elif kind == "text":
                picture.labels.append(
                    Label(
                        float(e.attrib["x"]),
                        float(e.attrib["y"]),
                        e.text or "",
                        float(e.attrib["font-size"]) * CAP,
                        e.attrib.get("text-anchor", "start"),
                        e.attrib.get("font-weight") == "700",
                        "rotate(-90" in e.attrib.get("transform", ""),
                        grey,
                    )
                )
            else:
                raise AssertionError(f"unexpected {kind}")
    return picture


def _arc(d: str) -> tuple[tuple[float, float], ...]:
    """Points along one circular arc of the form M x,y A r,r 0 large 0 x,y (counter-clockwise as seen)."""
    n = list(map(float, re.findall(r"-?\d+\.?\d*", d)))
    (x0, y0, r), large, (x1, y1) = n[:3], n[5], n[7:9]
    half = math.hypot(x1 - x0, y1 - y0) / 2
    mx, my = (x0 + x1) / 2, (y0 + y1) / 2
    lift = math.sqrt(max(r * r - half * half, 0.0))
    ux, uy = (y1 - y0) / (2 * half), -(x1 - x0) / (2 * half)
    for sign in (1, -1):
        cx, cy = mx + sign * lift * ux, my + sign * lift * uy
        start = math.atan2(-(y0 - cy), x0 - cx)
        sweep = (math.atan2(-(y1 - cy), x1 - cx) - start) % (2 * math.pi)
        if (sweep > math.pi) == bool(large) or lift < 1e-6:
            break
    return tuple(
        (cx + r * math.cos(start + sweep * i / 12), cy - r * math.sin(start + sweep * i / 12)) for i in range(13)
    )


# --- rules --------------------------------------------------------------------------------------------------------


def span(label: Label, width_of) -> tuple[float, float]:
    w = width_of(label.words, label.height, label.bold)
    left = {"start": label.x, "middle": label.x - w / 2, "end": label.x - w}[label.anchor]
    return left, left + w


def conductors(picture: Picture, width_of) -> list[Found]:
    """Every conductor in a picture. ``width_of(words, height, bold)`` measures text."""
    discs = {(round(d.x, 1), round(d.y, 1)): d for d in picture.discs if d.filled}
    boxes = [_box(s) for s in picture.strokes if s.closed and _is_box(s)]
    labels = [(label, *span(label, width_of)) for label in picture.labels if not label.turned]
    found = []
    for s in picture.strokes:
        if s.closed or len(s.points) < 2:
            continue
        ends = s.points[0], s.points[-1]
        heavy = abs(s.width - 0.7) < 0.01 and all(_disc_at(discs, x, y) for x, y in ends)
        thin = s.grey and abs(s.width - 0.25) < 0.01
        if not (heavy or thin):
            continue
        on = _on(s, labels)
        if thin and not on:
            continue  # a bar between terminals has no number
        found.append(_found(s, on, heavy, boxes, labels))
    return found


def _disc_at(discs, x: float, y: float) -> bool:
    near = [discs.get((round(x + i, 1), round(y + j, 1))) for i in (-0.05, 0, 0.05) for j in (-0.05, 0, 0.05)]
    return any(d is not None and math.hypot(d.x - x, d.y - y) < 0.05 for d in near)


def _on(s: Stroke, labels) -> list[tuple[Label, float, float]]:
    """Texts that stand on a stroke's level parts."""
    hits = []
    for (x0, y0), (x1, y1) in zip(s.points, s.points[1:], strict=False):
        if abs(y0 - y1) > 0.01:
            continue
        low, high = min(x0, x1), max(x0, x1)
        hits += [h for h in labels if 0 < y0 - h[0].y <= 1.5 and h[1] >= low - 0.01 and h[2] <= high + 0.01]
    return hits


def _found(s: Stroke, on, heavy: bool, boxes, labels) -> Found:
    where = f"conductor from {s.points[0]} to {s.points[-1]}"
    if heavy:
        numbers = [h for h in on if h[0].bold and h[0].words.isdigit()]
        assert len(numbers) == 2, f"{where}: numbers {[n[0].words for n in numbers]}"
        assert numbers[0][0].words == numbers[1][0].words, where
        for x, _ in (s.points[0], s.points[-1]):
            assert any(min(abs(n[1] - x), abs(n[2] - x)) < 3 for n in numbers), f"{where}: no number at an end"
        number = int(numbers[0][0].words)
        sizes = [m[0] for h in on if (m := re.match(r"^\S+ (AWG|kcmil)", h[0].words))]
    else:
        split = [m for h in on if (m := re.match(r"^(\d+) · (\S+ (AWG|kcmil))$", h[0].words))]
        assert len(split) == 1, f"{where}: {[h[0].words for h in on]}"
        number, sizes = int(split[0][1]), [split[0][2]]
    assert len(sizes) == 1, f"{where}: sizes {sizes}"
    ends = [_landing(p, other, boxes, labels) for p, other in _end_pairs(s)]
    return Found(number, sizes[0], frozenset(ends), heavy, s.dashes, (s.points[0], s.points[-1]))


def _end_pairs(s: Stroke):
    return ((s.points[0], s.points[1]), (s.points[-1], s.points[-2]))


def _is_box(s: Stroke) -> bool:
    xs, ys = {round(x, 2) for x, _ in s.points}, {round(y, 2) for _, y in s.points}
    return len(s.points) == 4 and len(xs) == 2 and len(ys) == 2


def _box(s: Stroke) -> tuple[float, float, float, float]:
    xs, ys = [x for x, _ in s.points], [y for _, y in s.points]
    return min(xs), min(ys), max(xs), max(ys)


def _landing(p, inward, boxes, labels) -> str:
    x, y = p
    for x0, y0, x1, y1 in boxes:
        at_left, at_right = abs(x - x0) < 0.05, abs(x - x1) < 0.05
        if not (at_left or at_right) or not y0 < y < y1:
            continue
        if (at_left and inward[0] > x) or (at_right and inward[0] < x):
            continue  # leads through the box, not out of it
        inside = [h for h in labels if h[1] > x0 and h[2] < x1 and y0 < h[0].y < y1]
        tallest = max(h[0].height for h in inside)
        tag = "".join(h[0].words for h in sorted(inside, key=lambda h: h[0].y) if h[0].height > tallest - 0.1)
        level = [h for h in inside if abs(h[0].y - h[0].height / 2 - y) < 0.6 and h[0].height < tallest - 0.1]
        mark = min(level, key=lambda h: min(abs(h[1] - x), abs(h[2] - x)))[0].words
        return f"{tag}:{mark}"
    near = [h for h in labels if 1.5 < h[0].y - y < 4.5 and ":" in h[0].words]
    below = [h for h in near if min(abs(h[1] - x), abs(h[2] - x)) < 1.5]
    # where two conductors meet at a terminal its name stands below both ends
    below = below or [h for h in near if h[1] < x < h[2]]
    assert len(below) == 1, f"landing at {p}: {[h[0].words for h in below]}"
    return below[0][0].words
