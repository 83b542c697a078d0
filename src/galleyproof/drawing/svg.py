"""SVG of one sheet, to the byte the same for the same sheet.

One group per layer, with its look as plain attributes; lengths are millimetres. Symbols are written out where they
stand, so that every reader sees the same lines. Conductors carry their key and devices their tag in ``data-of``.
"""

from __future__ import annotations

import math
import re
from xml.sax.saxutils import escape, quoteattr

from galleyproof.drawing.fonts import FAMILY, em_size
from galleyproof.drawing.model import LOOK, Arc, Layer, Polyline, Sheet, Stroke, Symbol, Text

GREY = "#707070"
BLACK = "#000000"
_NOT_XML = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]")


def write_svg(sheet: Sheet) -> str:
    """The sheet as an SVG document."""
    by_layer: dict[Layer, list[str]] = {layer: [] for layer in Layer}
    for item in sheet.items:
        if isinstance(item, Symbol):
            for stroke in item.shape.strokes:
                by_layer[stroke.layer].append(_stroke(_moved(stroke, item.x, item.y), item.subject))
            for _name, text in item.texts:
                by_layer[text.layer].append(_text(text))
        elif isinstance(item, Text):
            by_layer[item.layer].append(_text(item))
        else:
            by_layer[item.layer].append(_stroke(item, item.subject))
    w, h = _n(sheet.width), _n(sheet.height)
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}" '
        f'font-family="{FAMILY}" stroke-linejoin="round">',
        f"<title>{_escape(f'{sheet.number} {sheet.title}')}</title>",
        f'<rect width="{w}" height="{h}" fill="#ffffff"/>',
    ]
    for layer, lines in by_layer.items():
        if not lines:
            continue
        look = LOOK[layer]
        colour = GREY if look.grey else BLACK
        dashes = f' stroke-dasharray="{" ".join(_n(d) for d in look.dashes_mm)}"' if look.dashes_mm else ""
        out.append(
            f'<g id="{layer}" fill="none" stroke="{colour}" color="{colour}" '
            f'stroke-width="{_n(look.width_mm)}"{dashes}>'
        )
        out.extend(lines)
        out.append("</g>")
    out.append("</svg>\n")
    return "\n".join(out)


def _moved(stroke: Stroke, dx: float, dy: float) -> Stroke:
    if isinstance(stroke, Polyline):
        points = tuple((x + dx, y + dy) for x, y in stroke.points)
        return Polyline(stroke.layer, points, stroke.closed, stroke.filled)
    return Arc(stroke.layer, stroke.x + dx, stroke.y + dy, stroke.r, stroke.start_deg, stroke.end_deg, stroke.filled)


def _stroke(stroke: Stroke, subject: str) -> str:
    of = f" data-of={quoteattr(_NOT_XML.sub('', subject))}" if subject else ""
    fill = ' fill="currentColor"' if stroke.filled else ""
    if isinstance(stroke, Polyline):
        points = " ".join(f"{_n(x)},{_n(y)}" for x, y in stroke.points)
        return f'<{"polygon" if stroke.closed else "polyline"} points="{points}"{fill}{of}/>'
    if stroke.whole:
        return f'<circle cx="{_n(stroke.x)}" cy="{_n(stroke.y)}" r="{_n(stroke.r)}"{fill}{of}/>'
    (x0, y0), (x1, y1) = (on_arc(stroke, a) for a in (stroke.start_deg, stroke.end_deg))
    large = int(stroke.end_deg - stroke.start_deg > 180.0)
    r = _n(stroke.r)
    return f'<path d="M{_n(x0)},{_n(y0)}A{r},{r} 0 {large} 0 {_n(x1)},{_n(y1)}"{fill}{of}/>'


def on_arc(arc: Arc, degrees: float) -> tuple[float, float]:
    """A point of an arc; angles run counter-clockwise as seen, though y goes down."""
    a = math.radians(degrees)
    return arc.x + arc.r * math.cos(a), arc.y - arc.r * math.sin(a)


def _text(text: Text) -> str:
    anchor = "" if text.anchor == "start" else f' text-anchor="{text.anchor}"'
    bold = ' font-weight="700"' if text.bold else ""
    turned = f' transform="rotate(-90 {_n(text.x)} {_n(text.y)})"' if text.turned else ""
    of = f" data-of={quoteattr(_NOT_XML.sub('', text.subject))}" if text.subject else ""
    return (
        f'<text x="{_n(text.x)}" y="{_n(text.y)}" font-size="{_n(em_size(text.height))}" fill="currentColor" '
        f'stroke="none"{anchor}{bold}{turned}{of}>{_escape(text.content)}</text>'
    )


def _escape(words: str) -> str:
    return escape(_NOT_XML.sub("", words))


def _n(value: float) -> str:
    """At most three decimals, no trailing zeros, no minus zero."""
    short = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if short in ("-0", "") else short
