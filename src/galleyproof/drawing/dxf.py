"""DXF (R2010) of some sheets in one file, to the byte the same for the same sheets.

What is drawn stands in model space, sheet beside sheet at its true size in millimetres; each sheet has a paper layout
with its frame, its title block and a view of its part of model space. Layers say what things mean, symbols are blocks,
and a landing carries its conductor's number and its terminal as hidden attributes.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from galleyproof.drawing.dxf_entities import ALIGN, Entities, start_of, style_of
from galleyproof.drawing.fonts import FILES
from galleyproof.drawing.model import LOOK, Layer, Polyline, Sheet, Stroke, Symbol, SymbolShape, Text

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document
    from ezdxf.layouts.base import BaseLayout

PAPER_LAYERS = (Layer.FRAME, Layer.TITLE)
BETWEEN_SHEETS_MM = 60.0
GREY_RGB = (112, 112, 112)
LINETYPES = {Layer.FIELD_CLASS1: "DASHEDX2", Layer.FIELD_CLASS2: "DASHED", Layer.FIELD_DATA: "DASHDOT"}
"""Common names with patterns of our own: a plain reader knows the names, a full one the patterns."""


def write_dxf(sheets: Sequence[Sheet], title: str) -> str:
    """The sheets as a DXF document."""
    from ezdxf import options  # type: ignore[attr-defined]
    from ezdxf.filemanagement import new

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        doc = new("R2010", units=4)
        _tables(doc, title)
        _blocks(doc, sheets)
        left = 0.0
        model = Entities(doc.modelspace().layout_key, doc.entitydb.handles.next)
        for i, sheet in enumerate(sheets):
            _sheet(doc, model, sheet, left, i)
            left += sheet.width + BETWEEN_SHEETS_MM
        # a plain reader scales by these
        highest = max(sheet.height for sheet in sheets)
        extent = (0.0, 0.0, 0.0), (left - BETWEEN_SHEETS_MM, highest, 0.0)
        doc.modelspace().reset_extents(*extent)
        doc.header["$EXTMIN"], doc.header["$EXTMAX"] = extent
        # the library would list the classes in use in the order of a set
        for kind in sorted(doc.entitydb.dxf_types_in_use()):
            doc.classes.add_class(kind)
        out = io.StringIO()
        doc.write(out)
    finally:
        options.write_fixed_meta_data_for_testing = before
    text = out.getvalue()
    start = text.index("  0\nSECTION\n  2\nENTITIES\n")
    end = text.index("  0\nENDSEC\n", start)
    return f"{text[:end]}{model.text_of()}{text[end:]}"


def _tables(doc: Document, title: str) -> None:
    doc.header["$MEASUREMENT"] = 1
    doc.header["$LTSCALE"] = 1.0
    doc.header["$PSLTSCALE"] = 0
    doc.header["$LWDISPLAY"] = 1
    doc.header.custom_vars.append("TITLE", title)
    for bold, file in sorted(FILES.items()):
        doc.styles.add(style_of(bold), font=file)
    for layer, look in LOOK.items():
        name = "Continuous"
        if look.dashes_mm:
            name = LINETYPES[layer]
            signed = [d if i % 2 == 0 else -d for i, d in enumerate(look.dashes_mm)]
            doc.linetypes.add(name, [sum(look.dashes_mm), *signed], description=look.means)
        made = doc.layers.add(str(layer), linetype=name, lineweight=round(look.width_mm * 100))
        made.description = look.means
        if look.grey:
            made.rgb = GREY_RGB


def _blocks(doc: Document, sheets: Iterable[Sheet]) -> None:
    shapes: dict[str, tuple[SymbolShape, set[str]]] = {}
    for sheet in sheets:
        for item in sheet.items:
            if isinstance(item, Symbol):
                names = shapes.setdefault(item.shape.name, (item.shape, set()))[1]
                names.update(name for name, _ in item.texts)
    for name, (shape, attributes) in sorted(shapes.items()):
        block = doc.blocks.new(name)
        for stroke in shape.strokes:
            _stroke(block, stroke, 0.0, 0.0)
        for attribute in sorted(attributes):
            block.add_attdef(attribute, (0, 0), height=2.0).is_invisible = True
        hidden = block.add_attdef("TERMINAL" if name == "LANDING" else "TAG", (0, 0), height=2.0)
        hidden.is_invisible = True


def _sheet(doc: Document, model: Entities, sheet: Sheet, left: float, index: int) -> None:
    name = f"{sheet.number} {sheet.series}"
    if index == 0:
        doc.layouts.rename("Layout1", name)
        layout: Any = doc.layouts.get(name)
    else:
        layout = doc.layouts.new(name)
    layout.page_setup(size=(sheet.width, sheet.height), margins=(0, 0, 0, 0), units="mm")
    size, middle = (sheet.width, sheet.height), (sheet.width / 2, sheet.height / 2)
    view = layout.add_viewport(
        center=middle, size=size, view_center_point=(left + middle[0], middle[1]), view_height=sheet.height
    )
    view.dxf.layer = str(Layer.FRAME)
    layout.reset_extents((0.0, 0.0, 0.0), (sheet.width, sheet.height, 0.0))
    terminals = {(p.x, p.y): str(p.terminal) for p in sheet.ports}
    for item in sheet.items:
        if not isinstance(item, Symbol) and item.layer in PAPER_LAYERS:
            _item(layout, item, 0.0, sheet.height)
        elif isinstance(item, Symbol):
            for _, text in item.texts:
                # shown as a text of its own, for not every reader shows attributes
                model.text(text, left, sheet.height)
            landing = item.shape.name == "LANDING"
            words = terminals.get((item.x, item.y), "") if landing else item.subject
            model.insert(item, ("TERMINAL" if landing else "TAG", words), left, sheet.height)
        elif isinstance(item, Text):
            model.text(item, left, sheet.height)
        elif isinstance(item, Polyline) and not item.filled:
            model.polyline(item, left, sheet.height)
        else:
            _item(doc.modelspace(), item, left, sheet.height)


def _item(into: BaseLayout, item: Text | Stroke, x: float, y: float) -> None:
    if isinstance(item, Text):
        _text(into, item, x, y)
    else:
        _stroke(into, item, x, y)


def _stroke(into: BaseLayout, stroke: Stroke, x: float, y: float) -> None:
    attribs = {"layer": str(stroke.layer)}
    if isinstance(stroke, Polyline):
        points = [(x + px, y - py) for px, py in stroke.points]
        into.add_lwpolyline(points, close=stroke.closed, dxfattribs=attribs)
        if stroke.filled:
            into.add_hatch(dxfattribs=attribs).paths.add_polyline_path(points, is_closed=True)
        return
    centre = (x + stroke.x, y - stroke.y)
    if stroke.whole:
        into.add_circle(centre, stroke.r, dxfattribs=attribs)
        if stroke.filled:
            into.add_hatch(dxfattribs=attribs).paths.add_edge_path().add_arc(centre, stroke.r, 0, 360)
    else:
        into.add_arc(centre, stroke.r, stroke.start_deg, stroke.end_deg, dxfattribs=attribs)


def _text(into: BaseLayout, text: Text, x: float, y: float) -> None:
    place, attribs = _placed(text, x, y)
    made = into.add_text(text.content, height=text.height, dxfattribs=attribs)
    left, base = start_of(text)
    made.dxf.insert = (x + left, y - base)
    if text.anchor != "start":
        made.dxf.align_point = place


def _placed(text: Text, x: float, y: float) -> tuple[tuple[float, float], dict[str, Any]]:
    attribs: dict[str, Any] = {
        "layer": str(text.layer),
        "height": text.height,
        "style": style_of(text.bold),
        "halign": ALIGN[text.anchor],
        "rotation": 90.0 if text.turned else 0.0,
    }
    return (x + text.x, y - text.y), attribs
