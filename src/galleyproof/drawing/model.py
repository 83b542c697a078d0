"""A drawing before it is SVG or DXF: sheets of placed symbols, polylines, texts, ports and links.

All lengths are millimetres of paper; x goes right and y goes **down** from the sheet's top left corner. What a line
looks like follows from its layer alone (see ``LOOK``), and a layer says what the line means.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from typing import Literal

from galleyproof.design.model import TerminalId

Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]


class Layer(StrEnum):
    """What a line or a text means."""

    FRAME = "FRAME"
    TITLE = "TITLE"
    NOTE = "NOTE"
    REFERENCE = "REFERENCE"
    DEVICE = "DEVICE"
    SYMBOL = "SYMBOL"
    STRIP = "STRIP"
    BRIDGE = "BRIDGE"
    LANDING = "LANDING"
    NUMBER = "NUMBER"
    CABLE = "CABLE"
    FIELD_LINE = "FIELD-LINE-VOLTAGE"
    FIELD_CLASS1 = "FIELD-CLASS-1"
    FIELD_CLASS2 = "FIELD-CLASS-2"
    FIELD_DATA = "FIELD-DATA"
    FACTORY = "FACTORY"
    RACEWAY = "RACEWAY"
    ONE_LINE = "ONE-LINE"
    BUILDING = "BUILDING"
    DIMENSION = "DIMENSION"
    REVISION = "REVISION"


@dataclass(frozen=True, slots=True)
class Look:
    """How lines of a layer are drawn.

    Attributes:
        width_mm: Line width. [mm]
        grey: True for factory work, which stands behind the field's.
        dashes_mm: Lengths of dash, gap, dash, gap ...; empty for a solid line. [mm]
        means: What the layer holds, for the legend.
    """

    width_mm: float
    grey: bool
    dashes_mm: tuple[float, ...]
    means: str


LOOK: Mapping[Layer, Look] = {
    Layer.FRAME: Look(0.5, False, (), "frame and zones"),
    Layer.TITLE: Look(0.25, False, (), "title block and tables"),
    Layer.NOTE: Look(0.18, False, (), "notes"),
    Layer.REFERENCE: Look(0.18, False, (), "references to other sheets"),
    Layer.DEVICE: Look(0.35, False, (), "outlines of devices"),
    Layer.SYMBOL: Look(0.35, False, (), "symbols"),
    Layer.STRIP: Look(0.35, False, (), "terminal strips"),
    Layer.BRIDGE: Look(0.35, True, (), "bars between terminals"),
    Layer.LANDING: Look(0.18, False, (), "landings"),
    Layer.NUMBER: Look(0.18, False, (), "conductor numbers and sizes"),
    Layer.CABLE: Look(0.25, False, (), "cables"),
    Layer.FIELD_LINE: Look(0.7, False, (), "field conductor, line voltage"),
    Layer.FIELD_CLASS1: Look(0.7, False, (9.0, 1.2), "field conductor, Class 1"),
    Layer.FIELD_CLASS2: Look(0.7, False, (3.0, 1.2), "field conductor, Class 2"),
    Layer.FIELD_DATA: Look(0.7, False, (5.0, 1.2, 0.8, 1.2), "field conductor, data"),
    Layer.FACTORY: Look(0.25, True, (), "factory conductor"),
    Layer.RACEWAY: Look(0.5, False, (), "raceways"),
    Layer.ONE_LINE: Look(0.5, False, (), "one line for all conductors of a circuit"),
    Layer.BUILDING: Look(0.25, False, (), "building"),
    Layer.DIMENSION: Look(0.18, False, (), "dimensions"),
    Layer.REVISION: Look(0.25, False, (), "what a revision changed"),
}

CONDUCTORS = (Layer.FIELD_LINE, Layer.FIELD_CLASS1, Layer.FIELD_CLASS2, Layer.FIELD_DATA, Layer.FACTORY)
"""Layers whose lines are conductors and nothing else."""


@dataclass(frozen=True, slots=True)
class Polyline:
    """Straight strokes through points.

    Attributes:
        layer: What it means.
        points: Corners. [mm]
        closed: Back to the first point.
        filled: Filled with the layer's colour.
        subject: Key of the conductor or tag of the device it draws; empty for everything else.
    """

    layer: Layer
    points: tuple[Point, ...]
    closed: bool = False
    filled: bool = False
    subject: str = ""


@dataclass(frozen=True, slots=True)
class Arc:
    """Part of a circle, counter-clockwise as seen on the sheet from ``start_deg`` to ``end_deg``; 0 points right."""

    layer: Layer
    x: float
    y: float
    r: float
    start_deg: float = 0.0
    end_deg: float = 360.0
    filled: bool = False
    subject: str = ""

    @property
    def whole(self) -> bool:
        """Whether it is a full circle."""
        return self.end_deg - self.start_deg >= 360.0


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text.

    Attributes:
        layer: What it means.
        x: Its anchor. [mm]
        y: Its baseline. [mm]
        content: Already printable (see ``fonts.printable``).
        height: Of a capital letter. [mm]
        anchor: Which point of the text ``x`` is.
        bold: Heavier.
        turned: Reads upwards.
        subject: As of a Polyline.
    """

    layer: Layer
    x: float
    y: float
    content: str
    height: float = 2.0
    anchor: Anchor = "start"
    bold: bool = False
    turned: bool = False
    subject: str = ""


Stroke = Polyline | Arc


@dataclass(frozen=True, slots=True)
class SymbolShape:
    """What a symbol looks like about its own origin.

    Attributes:
        name: Unique; the name of the DXF block.
        strokes: Lines and arcs.
        half_width: Half its width. [mm]
        half_height: Half its height. [mm]
        means: For the legend, with the standard it is taken from.
    """

    name: str
    strokes: tuple[Stroke, ...]
    half_width: float
    half_height: float
    means: str = ""


@dataclass(frozen=True, slots=True)
class Symbol:
    """A symbol placed on a sheet, with the texts that belong to it (block attributes in DXF).

    Attributes:
        shape: Its look.
        x: Where its origin stands. [mm]
        y: Where its origin stands. [mm]
        texts: Attribute name -> text at its place on the sheet.
        subject: Tag of the device, or key of the conductor that lands.
    """

    shape: SymbolShape
    x: float
    y: float
    texts: tuple[tuple[str, Text], ...] = ()
    subject: str = ""


@dataclass(frozen=True, slots=True)
class Port:
    """Where one conductor lands: its terminal and its place on the sheet [mm]."""

    terminal: TerminalId
    x: float
    y: float
    conductor: str


@dataclass(frozen=True, slots=True)
class Link:
    """An area of the sheet that leads to another sheet [mm]."""

    x: float
    y: float
    width: float
    height: float
    sheet: str


Item = Polyline | Arc | Text | Symbol


@dataclass(frozen=True)
class Sheet:
    """One sheet.

    Attributes:
        number: ``4.2``: series and place in it; a series that grows renumbers no other.
        title: What it shows.
        series: Title of its series, for the index.
        width: Of the paper. [mm]
        height: Of the paper. [mm]
        items: Everything drawn, back to front.
        ports: Landings on it.
        links: Places that lead to other sheets.
        scale: As the title block says it.
    """

    number: str
    title: str
    series: str
    width: float
    height: float
    items: tuple[Item, ...]
    ports: tuple[Port, ...] = ()
    links: tuple[Link, ...] = ()
    scale: str = "none"

    @cached_property
    def conductors(self) -> dict[str, Polyline]:
        """Lines of conductors on this sheet by the conductor's key."""
        return {i.subject: i for i in self.items if isinstance(i, Polyline) and i.layer in CONDUCTORS}


@dataclass(frozen=True)
class Drawing:
    """All sheets of one job, in their order."""

    title: str
    sheets: tuple[Sheet, ...]

    def __iter__(self) -> Iterator[Sheet]:
        return iter(self.sheets)

    @cached_property
    def by_number(self) -> Mapping[str, Sheet]:
        """Sheets by number."""
        return {s.number: s for s in self.sheets}


@dataclass
class Canvas:
    """Collects the items of one sheet while it is laid out."""

    items: list[Item] = field(default_factory=list)
    ports: list[Port] = field(default_factory=list)
    links: list[Link] = field(default_factory=list)

    def line(self, layer: Layer, *points: Point, subject: str = "", closed: bool = False, filled: bool = False) -> None:
        """A polyline."""
        rounded = tuple((round(x, 3), round(y, 3)) for x, y in points)
        self.items.append(Polyline(layer, rounded, closed, filled, subject))

    def box(self, layer: Layer, x: float, y: float, width: float, height: float, subject: str = "") -> None:
        """A rectangle."""
        corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
        self.line(layer, *corners, subject=subject, closed=True)

    def text(
        self,
        layer: Layer,
        x: float,
        y: float,
        content: str,
        height: float = 2.0,
        anchor: Anchor = "start",
        *,
        bold: bool = False,
        turned: bool = False,
        subject: str = "",
    ) -> None:
        """A text; empty ones are left out."""
        if content:
            self.items.append(Text(layer, round(x, 3), round(y, 3), content, height, anchor, bold, turned, subject))

    def add(self, items: Iterable[Item]) -> None:
        """Items as they are."""
        self.items.extend(items)
