"""The DXF says the same as the design, is sound, and is the same twice."""

from __future__ import annotations

from functools import lru_cache

import pytest
from hypothesis import HealthCheck, Phase, given, reject, settings
from tests.drawing.dxf_reader import load, read_dxf
from tests.drawing.legibility import faults, width_of
from tests.drawing.reader import conductors, read_svg
from tests.drawing.support import NAMES, example, row, wanted
from tests.strategies import jobs

from galleyproof.design.build import build_design
from galleyproof.drawing.dxf import write_dxf
from galleyproof.drawing.model import LOOK
from galleyproof.drawing.sheets import draw_sheets
from galleyproof.drawing.svg import write_svg
from galleyproof.errors import DesignError


@lru_cache(maxsize=3)
def dxf_of(name):
    _, _, drawing = example(name)
    return write_dxf(drawing.sheets, drawing.title)


@pytest.mark.parametrize("name", NAMES)
def test_the_design_reads_back_from_dxf_alone(name):
    _, design, drawing = example(name)
    pictures = read_dxf(dxf_of(name))
    assert len(pictures) == len(drawing.sheets)
    found = {title: [row(f) for f in conductors(p, width_of)] for title, p in pictures.items()}
    elementary = sorted((f for t, fs in found.items() if t.startswith("5.") for f in fs), key=lambda f: f[0])
    assert elementary == wanted(design)
    field = sorted((f for t, fs in found.items() if t[0] in "34" for f in fs if f[3]), key=lambda f: f[0])
    assert field == [w for w in wanted(design) if w[3]]


def test_svg_and_dxf_show_the_same_picture():
    _, _, drawing = example("school-kitchen")
    pictures = read_dxf(dxf_of("school-kitchen"))
    for sheet in drawing:
        ours = read_svg(write_svg(sheet))
        other = next(p for t, p in pictures.items() if t.startswith(f"{sheet.number} "))
        for kind in ("labels", "strokes", "discs"):
            assert len(getattr(ours, kind)) == len(getattr(other, kind)), (sheet.number, kind)
        words = sorted((x.words, round(x.x, 2), round(x.y, 2)) for x in ours.labels)
        assert words == sorted((x.words, round(x.x, 2), round(x.y, 2)) for x in other.labels)
        assert faults(other) == [], sheet.number


@pytest.mark.parametrize("name", NAMES)
def test_audit_finds_and_mends_nothing(name):
    audit = load(dxf_of(name)).audit()
    assert audit.errors == []
    assert audit.fixes == []


def test_version_layers_blocks_and_layouts():
    _, design, drawing = example("school-kitchen")
    doc = load(dxf_of("school-kitchen"))
    assert doc.dxfversion >= "AC1024"  # R2010
    assert {str(layer) for layer in LOOK} <= {layer.dxf.name for layer in doc.layers}
    assert len(doc.layouts) == 1 + len(drawing.sheets)
    landings = [
        {a.dxf.tag: a.dxf.text for a in e.attribs} for e in doc.modelspace().query("INSERT") if e.dxf.name == "LANDING"
    ]
    landed = [values for values in landings if values["TERMINAL"]]
    assert len(landed) == len(landings) - 1  # the legend's sample lands nowhere
    number = {str(c.number): {str(c.a), str(c.b)} for c in design.conductors}
    assert all(values["TERMINAL"] in number[values["NUMBER"]] for values in landed)
    field = sum(c.made == "field" for c in design.conductors)
    assert len(landed) == 2 * 2 * field  # both ends, on the field sheets and in the elementary diagram


@pytest.mark.parametrize("name", NAMES)
def test_no_handle_is_given_twice_and_all_are_below_the_next_free_one(name):
    """By the DXF reference a handle (group 5) is unique in its drawing, and $HANDSEED is the next one to give."""
    lines = dxf_of(name).split("\n")
    pairs = list(zip(lines[::2], lines[1::2], strict=False))
    seed = next(pairs[i + 1][1] for i, p in enumerate(pairs) if p == ("  9", "$HANDSEED"))
    begin = pairs.index(("  2", "ENTITIES"))
    handles = [int(value, 16) for code, value in pairs[begin:] if code == "  5"]
    assert len(handles) > 500
    assert len(set(handles)) == len(handles)
    assert max(handles) < int(seed, 16)


def test_plain_readers_find_the_extents_and_where_every_text_begins():
    """Some readers scale by the header's extents, and put a text at group 10 whatever its alignment says."""
    _, _, drawing = example("school-kitchen")
    doc = load(dxf_of("school-kitchen"))
    wide = sum(s.width for s in drawing) + 60.0 * (len(drawing.sheets) - 1)
    assert doc.header["$EXTMIN"][:2] == (0.0, 0.0)
    assert doc.header["$EXTMAX"][:2] == pytest.approx((wide, max(s.height for s in drawing)))
    aligned = 0
    for e in doc.modelspace().query("TEXT"):
        assert 0 <= e.dxf.insert.x <= wide
        if e.dxf.halign:
            aligned += 1
            share = {1: 0.5, 2: 1.0}[e.dxf.halign]
            before = share * width_of(e.dxf.text, e.dxf.height, "Bold" in e.dxf.style)
            turned = abs(e.dxf.rotation - 90) < 0.01
            moved = e.dxf.align_point - e.dxf.insert
            assert (moved.y if turned else moved.x) == pytest.approx(before, abs=0.002)
            assert (moved.x if turned else moved.y) == pytest.approx(0, abs=0.002)
    assert aligned > 100


few = settings(
    max_examples=5, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck), phases=[Phase.generate]
)


@given(jobs())
@few
def test_generated_jobs_read_back_from_dxf_alone_and_are_legible(job):
    try:
        design = build_design(job)
    except DesignError:
        reject()  # some jobs ask for what no panel can do; tests/design holds which
    drawing = draw_sheets(job, design)
    text = write_dxf(drawing.sheets, drawing.title)
    pictures = read_dxf(text)
    assert len(pictures) == len(drawing.sheets)
    found = {title: [row(f) for f in conductors(p, width_of)] for title, p in pictures.items()}
    elementary = sorted((f for t, fs in found.items() if t.startswith("5.") for f in fs), key=lambda f: f[0])
    assert elementary == wanted(design)
    field = sorted((f for t, fs in found.items() if t[0] in "34" for f in fs if f[3]), key=lambda f: f[0])
    assert field == [w for w in wanted(design) if w[3]]
    for title, picture in pictures.items():
        assert faults(picture) == [], title
    audit = load(text).audit()
    assert (audit.errors, audit.fixes) == ([], [])


def test_the_same_sheets_give_the_same_bytes():
    _, _, drawing = example("ferry-cafe")
    assert write_dxf(drawing.sheets, drawing.title) == write_dxf(drawing.sheets, drawing.title)
