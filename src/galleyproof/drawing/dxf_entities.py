"""Entities of DXF's model space as plain text: open and closed polylines, texts, and blocks with hidden attributes.

These three are nearly all of a drawing; written here they take a tenth of the time that a library's objects take.
Group codes by the DXF reference, R2010: every entity has its handle, its owner and its subclasses.
"""

from __future__ import annotations

from collections.abc import Callable

from galleyproof.drawing.fonts import FAMILY, width
from galleyproof.drawing.model import Point, Polyline, Symbol, Text

ALIGN = {"start": 0, "middle": 1, "end": 2}
"""Group 72 by the anchor of a text."""


def style_of(bold: bool) -> str:
    """Name of the text style."""
    return f"{FAMILY} {'Bold' if bold else 'Regular'}"


class Entities:
    """Collects entities of one block or space.

    Args:
        owner: Handle of its block record.
        handle: Gives the next free handle.
    """

    def __init__(self, owner: str, handle: Callable[[], str]) -> None:
        self._owner = owner
        self._handle = handle
        self._lines: list[str] = []

    def text_of(self) -> str:
        """Everything collected, as it stands in the file."""
        return "".join(self._lines)

    def polyline(self, line: Polyline, x: float, y: float) -> None:
        """Straight strokes; the sheet's corner stands at ``x``, ``y``, from where its y goes down."""
        points = "".join(f" 10\n{_n(x + px)}\n 20\n{_n(y - py)}\n" for px, py in line.points)
        head = self._head("LWPOLYLINE", str(line.layer))
        self._lines.append(f"{head}100\nAcDbPolyline\n 90\n{len(line.points)}\n 70\n{int(line.closed)}\n{points}")

    def text(self, text: Text, x: float, y: float) -> None:
        """One line of text."""
        self._lines.append(f"{self._head('TEXT', str(text.layer))}{_text(text, x, y)}100\nAcDbText\n")

    def insert(self, symbol: Symbol, hidden: tuple[str, str], x: float, y: float) -> None:
        """A block with its attributes, none of which shows; ``hidden`` is the name and the value of one more."""
        layer = str(symbol.shape.strokes[0].layer)
        own = self._handle()
        place = f" 10\n{_n(x + symbol.x)}\n 20\n{_n(y - symbol.y)}\n 30\n0.0\n"
        out = [f"{self._head('INSERT', layer, own)}100\nAcDbBlockReference\n 66\n1\n  2\n{symbol.shape.name}\n{place}"]
        for name, text in symbol.texts:
            out.append(f"{self._head('ATTRIB', str(text.layer))}{_text(text, x, y)}{_attribute(name)}")
        name, value = hidden
        out.append(
            f"{self._head('ATTRIB', layer)}100\nAcDbText\n{place} 40\n2.0\n  1\n{value}\n{_attribute(name)}"
            f"  0\nSEQEND\n  5\n{self._handle()}\n330\n{own}\n100\nAcDbEntity\n  8\n{layer}\n"
        )
        self._lines.append("".join(out))

    def _head(self, kind: str, layer: str, handle: str = "") -> str:
        own = handle or self._handle()
        return f"  0\n{kind}\n  5\n{own}\n330\n{self._owner}\n100\nAcDbEntity\n  8\n{layer}\n"


def start_of(text: Text) -> Point:
    """Where a text begins on its sheet; readers that know no alignment put it there."""
    if text.anchor == "start":
        return text.x, text.y
    before = width(text.content, text.height, text.bold) * (0.5 if text.anchor == "middle" else 1.0)
    return (text.x, text.y + before) if text.turned else (text.x - before, text.y)


def _text(text: Text, x: float, y: float) -> str:
    left, base = start_of(text)
    at_x, at_y = _n(x + text.x), _n(y - text.y)
    turned = " 50\n90.0\n" if text.turned else ""
    aligned = ""
    if text.anchor != "start":
        aligned = f" 72\n{ALIGN[text.anchor]}\n 11\n{at_x}\n 21\n{at_y}\n 31\n0.0\n"
    return (
        f"100\nAcDbText\n 10\n{_n(x + left)}\n 20\n{_n(y - base)}\n 30\n0.0\n 40\n{_n(text.height)}\n"
        f"  1\n{text.content}\n{turned}  7\n{style_of(text.bold)}\n{aligned}"
    )


def _attribute(name: str) -> str:
    """The end of an attribute that does not show."""
    return f"100\nAcDbAttribute\n  2\n{name}\n 70\n1\n"


def _n(value: float) -> str:
    """A real number: at most four decimals, at least one."""
    whole = f"{value:.4f}".rstrip("0")
    return f"{whole}0" if whole.endswith(".") else whole
