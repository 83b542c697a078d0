"""What several sheets draw alike: a conductor with its landings and texts, a cable's bracket, a reference."""

from __future__ import annotations

from galleyproof import units
from galleyproof.design.model import Cable, Conductor, EnergyClass
from galleyproof.drawing.fonts import fit, width
from galleyproof.drawing.model import Anchor, Canvas, Layer, Link, Point, Port, Symbol, Text
from galleyproof.drawing.symbols import LANDING

FIELD_LAYER = {
    EnergyClass.LINE: Layer.FIELD_LINE,
    EnergyClass.CLASS1: Layer.FIELD_CLASS1,
    EnergyClass.CLASS2: Layer.FIELD_CLASS2,
    EnergyClass.DATA: Layer.FIELD_DATA,
}
TEXT_ABOVE_MM = 0.95
"""From the centre of a conductor to the baseline of the text that stands on it [mm]."""


def layer_of(conductor: Conductor) -> Layer:
    """Layer a conductor is drawn on."""
    return FIELD_LAYER[conductor.energy_class] if conductor.made == "field" else Layer.FACTORY


def size_text(conductor: Conductor) -> str:
    """``14 AWG``."""
    return units.format_awg(conductor.awg)


def land(canvas: Canvas, conductor: Conductor, end: str, at: Point, toward: int) -> None:
    """The dot and the number at one end of a field conductor; ``toward`` is +1 where the conductor leads right."""
    terminal = conductor.a if end == "a" else conductor.b
    anchor: Anchor = "start" if toward > 0 else "end"
    number = Text(
        Layer.NUMBER,
        round(at[0] + toward * 1.4, 3),
        round(at[1] - TEXT_ABOVE_MM, 3),
        str(conductor.number),
        2.0,
        anchor,
        True,
        subject=conductor.key,
    )
    spot = (round(at[0], 3), round(at[1], 3))
    canvas.items.append(Symbol(LANDING, *spot, (("NUMBER", number),), conductor.key))
    canvas.ports.append(Port(terminal, *spot, conductor.key))


def straight(canvas: Canvas, conductor: Conductor, left_end: str, x0: float, x1: float, y: float, mid: float) -> None:
    """A conductor from left to right on one height.

    A field conductor has a dot and its number at each end and its size and colour about ``mid``; a factory
    conductor is thin and has number and size once.
    """
    canvas.line(layer_of(conductor), (x0, y), (x1, y), subject=conductor.key)
    right_end = "b" if left_end == "a" else "a"
    if conductor.made == "field":
        land(canvas, conductor, left_end, (x0, y), 1)
        land(canvas, conductor, right_end, (x1, y), -1)
        words = f"{size_text(conductor)} {conductor.colour}"
    else:
        for end, x in ((left_end, x0), (right_end, x1)):
            terminal = conductor.a if end == "a" else conductor.b
            canvas.ports.append(Port(terminal, round(x, 3), round(y, 3), conductor.key))
        words = f"{conductor.number} \u00b7 {size_text(conductor)}"
    canvas.text(Layer.NUMBER, mid, y - TEXT_ABOVE_MM, words, 2.0, "middle", subject=conductor.key)


def cable_words(cable: Cable, room: float) -> str:
    """Tag, class, length and route of a cable, as much of it as there is room for.

    The length stays longest: the strokes of the conductors tell the class as well.
    """
    tag, kind, length = cable.tag, str(cable.energy_class), f"{cable.length_ft:g} ft"
    route = [f"route {cable.route}"] if cable.route else []
    for parts in ([tag, kind, length, *route], [tag, kind, length], [tag, length]):
        words = " \u00b7 ".join(parts)
        if width(words, 2.0) <= room:
            return words
    return fit(tag, room, 2.0)


def bracket(canvas: Canvas, x: float, top: float, bottom: float, words: str, subject: str) -> None:
    """Holds the conductors of one cable together: a cap above the first, a cap below the last, and its tag."""
    canvas.line(Layer.CABLE, (x, top + 1.3), (x, top), (x + 3.0, top), (x + 3.0, top + 1.3), subject=subject)
    canvas.line(
        Layer.CABLE, (x, bottom - 0.5), (x, bottom), (x + 3.0, bottom), (x + 3.0, bottom - 0.5), subject=subject
    )
    canvas.text(Layer.CABLE, x + 4.2, top + 0.9, words, 2.0, subject=subject)


def reference(canvas: Canvas, x: float, y: float, words: str, sheet: str, anchor: Anchor = "start") -> None:
    """A text that leads to another sheet."""
    canvas.text(Layer.REFERENCE, x, y, words, 2.0, anchor)
    wide = width(words, 2.0)
    left = {"start": x, "middle": x - wide / 2, "end": x - wide}[anchor]
    canvas.links.append(Link(round(left, 3), round(y - 2.4, 3), round(wide, 3), 3.2, sheet))
