"""A DXF file as plain pictures, one for each paper layout (see reader.py): lines, discs and texts, nothing else.

Only what a plotter would show is taken: hidden attributes are not.
"""

from __future__ import annotations

import io
import math
from functools import lru_cache

import ezdxf
from tests.drawing.reader import Disc, Label, Picture, Stroke

ANCHOR = {0: "start", 1: "middle", 2: "end"}


@lru_cache(maxsize=4)
def load(text: str):
    return ezdxf.read(io.StringIO(text))


def read_dxf(text: str) -> dict[str, Picture]:
    doc = load(text)
    pictures, windows = {}, []
    for layout in doc.layouts:
        if layout.is_modelspace:
            continue
        (view,) = [v for v in layout.query("VIEWPORT") if v.dxf.id != 1]
        h, w = view.dxf.view_height, view.dxf.width * view.dxf.view_height / view.dxf.height
        picture = pictures[layout.name] = Picture(w, h)
        cx, cy = view.dxf.view_center_point.x, view.dxf.view_center_point.y
        px, py = view.dxf.center.x, view.dxf.center.y
        for e in layout:
            if e.dxftype() != "VIEWPORT":
                _take(doc, e, picture, px - w / 2, py + h / 2)
        windows.append((cx - w / 2, cx + w / 2, cy + h / 2, picture))
    for e in doc.modelspace():
        for left, right, top, picture in windows:
            if left <= _x_of(e) <= right:
                _take(doc, e, picture, left, top)
    return pictures


def _x_of(e) -> float:
    kind = e.dxftype()
    if kind == "LWPOLYLINE":
        return e[0][0]
    if kind == "HATCH":
        return math.inf  # filled shapes have their outline too
    return (e.dxf.center if kind in ("CIRCLE", "ARC") else e.dxf.insert).x


def _take(doc, e, picture: Picture, left: float, top: float) -> None:
    kind = e.dxftype()
    look = doc.layers.get(e.dxf.layer)
    width, grey = look.dxf.lineweight / 100, look.rgb is not None
    pattern = doc.linetypes.get(look.dxf.linetype).pattern_tags.tags
    dashes = tuple(abs(t.value) for t in pattern if t.code == 49)

    def at(p) -> tuple[float, float]:
        return round(p[0] - left, 4), round(top - p[1], 4)

    if kind == "INSERT":
        parts = list(e.virtual_entities())
        hatched = any(p.dxftype() == "HATCH" for p in parts)
        for part in parts:
            if part.dxftype() == "CIRCLE" and hatched:
                x, y = at(part.dxf.center)
                picture.discs.append(Disc(x, y, part.dxf.radius, True, width))
            elif part.dxftype() != "HATCH":
                _take(doc, part, picture, left, top)
        for attrib in e.attribs:
            if not attrib.is_invisible:
                _label(doc, attrib, picture, at)
    elif kind == "LWPOLYLINE":
        points = [at(p) for p in e.get_points("xy")]
        picture.strokes.append(Stroke(tuple(points), width, grey, e.closed, dashes))
    elif kind == "CIRCLE":
        x, y = at(e.dxf.center)
        picture.discs.append(Disc(x, y, e.dxf.radius, False, width))
    elif kind == "ARC":
        sweep = (e.dxf.end_angle - e.dxf.start_angle) % 360 or 360
        turns = [math.radians(e.dxf.start_angle + sweep * i / 12) for i in range(13)]
        c, r = e.dxf.center, e.dxf.radius
        points = tuple(at((c.x + r * math.cos(a), c.y + r * math.sin(a))) for a in turns)
        picture.strokes.append(Stroke(points, width, grey, False, dashes))
    elif kind == "TEXT":
        _label(doc, e, picture, at)
    elif kind != "HATCH":
        raise AssertionError(f"unexpected {kind}")


def _label(doc, e, picture: Picture, at) -> None:
    place = e.dxf.align_point if e.dxf.halign else e.dxf.insert
    x, y = at(place)
    bold = "Bold" in doc.styles.get(e.dxf.style).dxf.font
    grey = doc.layers.get(e.dxf.layer).rgb is not None
    turned = abs(e.dxf.rotation - 90) < 0.01
    picture.labels.append(Label(x, y, e.dxf.text, e.dxf.height, ANCHOR[e.dxf.halign], bold, turned, grey))
