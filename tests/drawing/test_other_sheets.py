"""One-line, panel, terminal plan, riser, clearance and index: complete, to scale, and never beside the design."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache
from itertools import combinations

import pytest
from tests.drawing.legibility import box_of, faults, width_of
from tests.drawing.reader import conductors, read_svg
from tests.drawing.support import NAMES, example, row

from galleyproof import units
from galleyproof.drawing.arrangement import RIM_INCH, arrange
from galleyproof.drawing.model import Polyline, Text
from galleyproof.drawing.oneline import Walker
from galleyproof.drawing.panel_sheets import inches
from galleyproof.drawing.sheets import draw_sheets
from galleyproof.drawing.svg import write_svg
from galleyproof.job.wiring import Enclosure
from galleyproof.library.reader import load_library
from galleyproof.sizing.whole_job import size, with_sizes


@lru_cache(maxsize=3)
def sized(name):
    job, design, _ = example(name)
    sizes = size(job, design, load_library())
    return job, design, sizes, draw_sheets(job, design, sizes)


def words(drawing, series):
    return [
        label.words
        for sheet in drawing
        if sheet.number.startswith(f"{series}.")
        for label in read_svg(write_svg(sheet)).labels
    ]


@pytest.mark.parametrize("name", NAMES)
def test_every_sheet_is_legible_with_computed_sizes(name):
    for sheet in sized(name)[3]:
        assert faults(read_svg(write_svg(sheet))) == [], sheet.number


@pytest.mark.parametrize("name", NAMES)
def test_computed_sizes_are_the_ones_that_are_drawn(name):
    _, design, sizes, drawing = sized(name)
    found = [row(f) for s in drawing if s.number[0] == "5" for f in conductors(read_svg(write_svg(s)), width_of)]
    number = {c.key: c.number for c in design.conductors}
    want = sorted((number[key], units.format_awg(c.awg)) for key, c in sizes.conductors.items())
    assert sorted((f[0], f[1]) for f in found) == want
    assert with_sizes(design, None) is design


# --- index --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_the_index_lists_every_sheet_and_leads_to_it(name):
    _, _, _, drawing = sized(name)
    listed = set(words(drawing, 1))
    links = {link.sheet for s in drawing if s.number[0] == "1" for link in s.links}
    for sheet in drawing:
        assert sheet.number in listed
        assert sheet.number in links
    text = " ".join(words(drawing, 1))
    for caution in ("Lock out, tag out and test dead", "fire-alarm", "never an approval"):
        assert caution in text


@pytest.mark.parametrize("name", NAMES)
def test_every_kind_of_sheet_is_there(name):
    assert {s.number.split(".")[0] for s in sized(name)[3]} == set("12345678")


# --- one-line -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_the_one_line_shows_every_circuit_and_every_line_voltage_load(name):
    _, design, _, drawing = sized(name)
    shown = set(words(drawing, 2))
    for device in design.devices:
        circuit = device.type.startswith("breaker")
        load = device.type.startswith(("motor_1", "motor_3", "ec_fan", "makeup", "hood_light", "appliance", "vfd"))
        if circuit or load:
            assert device.tag in shown, device.tag


def _tags(node):
    return [node.tag, *(tag for child in node.feeds for tag in _tags(child))]


@pytest.mark.parametrize("name", NAMES)
def test_the_one_line_feeds_each_load_from_the_circuit_the_job_says_and_from_no_other(name):
    job, design, _ = example(name)
    walker = Walker(design, load_library())
    fed = {c.tag: _tags(walker.tree(c.tag)) for c in job.circuits}
    says = {f.tag: f.circuit for f in (*job.exhaust_fans, *job.makeup_units)}
    says |= {f"{h.tag}-E1": h.lights.circuit for h in job.hoods if h.lights}
    says |= {a.tag: a.circuit for h in job.hoods for a in h.appliances if a.circuit}
    assert says
    for load, circuit in says.items():
        assert [c for c, tags in fed.items() if load in tags] == [circuit], load
    breakers = {c.tag for c in job.circuits}
    for circuit, tags in fed.items():
        assert breakers & set(tags) == {circuit}  # nothing leads back into another breaker


# --- panel --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_devices_on_the_backplate_keep_apart_and_inside(name):
    job, design, _ = example(name)
    plan = arrange(job, design, load_library())
    assert plan.over == ()
    assert plan.proposed
    plate_w, plate_h = plan.width - 2 * RIM_INCH, plan.height - 2 * RIM_INCH
    ways = [(x, y, x + w, y + h) for x, y, w, h in plan.wireways]
    boxes = [(p.x, p.y, p.x + p.width, p.y + p.height) for p in plan.placed]
    for x0, y0, x1, y1 in (*boxes, *ways):
        assert x0 >= -1e-9
        assert y0 >= -1e-9
        assert x1 <= plate_w + 1e-9
        assert y1 <= plate_h + 1e-9
    for a, b in (*combinations(boxes, 2), *((d, w) for d in boxes for w in ways)):
        assert not (min(a[2], b[2]) - max(a[0], b[0]) > 1e-9 and min(a[3], b[3]) - max(a[1], b[1]) > 1e-9)
    inside = {d.tag for d in design.devices if d.parent is not None}
    in_door = {words.split()[0] for words in plan.door}
    assert {p.tag for p in plan.placed} | in_door == inside


def test_the_arrangement_is_to_scale():
    _, _design, _, drawing = sized("school-kitchen")
    sheet = drawing.by_number["6.1"]
    scale = float(sheet.scale.removeprefix("1:"))
    outline = next(i for i in sheet.items if isinstance(i, Polyline) and i.subject == "CP1-K1")
    (x0, y0), (x1, y1) = outline.points[0], outline.points[2]
    wide, high, _ = load_library()["controller"].size_inch
    assert x1 - x0 == pytest.approx(wide * 25.4 / scale, abs=0.01)
    assert y1 - y0 == pytest.approx(high * 25.4 / scale, abs=0.01)


def test_an_enclosure_that_is_too_small_is_said():
    job, design, _ = example("school-kitchen")
    small = job.panel.model_copy(update={"enclosure": Enclosure(width=16.0, height=20.0, depth=8.0)})
    job = job.model_copy(update={"panel": small})
    drawing = draw_sheets(job, design)
    sheet = drawing.by_number["6.1"]
    texts = [i.content for i in sheet.items if isinstance(i, Text)]
    assert any(t.startswith("DOES NOT FIT: ") for t in texts)
    assert any("16 in x 20 in x 8 in deep, as the job states it." in t for t in texts)
    assert faults(read_svg(write_svg(sheet))) == []


@pytest.mark.parametrize(
    ("value", "text"), [(24.0, "24 in"), (24.5, "24-1/2 in"), (0.6875, "11/16 in"), (5.9999, "6 in"), (0.25, "1/4 in")]
)
def test_inches_become_fractions_on_drawings(value, text):
    assert inches(value) == text


@pytest.mark.parametrize("name", NAMES)
def test_the_terminal_plan_has_every_terminal_in_order_with_its_conductors(name):
    _, design, _, drawing = sized(name)
    strips = {d.tag: int(d.ratings["places"]) for d in design.devices if d.type == "terminal_strip"}
    numbers = set()
    for sheet in drawing:
        if sheet.number.startswith("6.") and sheet.number != "6.1":
            picture = read_svg(write_svg(sheet))
            columns = {}
            heads = [h.y for h in picture.labels if h.height > 3.4 and h.words.startswith("CP1-X")]
            for label in picture.labels:
                if label.bold and label.anchor == "middle" and label.words.isdigit() and label.height < 2.4:
                    below = sum(y < label.y for y in heads)
                    columns.setdefault((label.x, below), []).append((box_of(label)[1], int(label.words)))
                if m := re.match(r"^(\d+) \S+:", label.words):
                    numbers.add(int(m[1]))
                numbers |= {int(n) for n in re.findall(r"(?:^|, )(\d+) \S+?:", label.words)}
            for column in columns.values():
                marks = [mark for _, mark in sorted(column)]
                assert marks == list(range(marks[0], marks[0] + len(marks)))
                strips["count"] = strips.get("count", 0) + len(marks)
    count = strips.pop("count")
    assert count == sum(strips.values())
    landed = {c.number for c in design.conductors for t in (c.a, c.b) if t.device in strips}
    assert numbers == landed


# --- riser --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_the_riser_shows_every_raceway_with_size_length_and_fill(name):
    _, _, sizes, drawing = sized(name)
    shown = words(drawing, 7)
    for r in sizes.raceways:
        line = next(w for w in shown if w.startswith(f"{r.tag} "))
        assert f"{r.length_ft:g} ft" in line
        if r.trade_size:
            assert f"{r.kind} {r.trade_size} in" in line
            assert f"fill {r.fill_ratio:.0%} of {r.max_fill_ratio:.0%}" in line


def test_without_sizes_the_riser_says_so_and_invents_nothing():
    _, design, drawing = example("school-kitchen")
    shown = words(drawing, 7)
    for cable in design.cables:
        assert any(w.startswith(f"{cable.tag} ") for w in shown)
    assert sum("not yet computed" in w for w in shown) == len(design.cables)
    assert not any("fill " in w and "%" in w for w in shown)


# --- clearance ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("facing", "depth"),
    [("open room", "36 in"), ("grounded wall", "42 in"), ("live parts", "48 in")],
)
def test_working_depth_at_277_v_to_ground(facing, depth):
    """NFPA 70 Table 110.26(A)(1): 151 to 600 V to ground: 3, 3-1/2 and 4 ft (from memory)."""
    job, design, _ = example("hospital")
    job = job.model_copy(update={"panel": job.panel.model_copy(update={"facing": facing, "clear_in_front": 20.0})})
    shown = " ".join(words(draw_sheets(job, design), 8))
    assert f"Needed: {depth} deep" in shown
    assert "TOO LITTLE" in shown


# --- text that no one expects ---------------------------------------------------------------------------------------


ODD = (
    "x" * 200,
    "\u05de\u05d8\u05d1\u05d7 \u05d1\u05d9\u05ea \u05e1\u05e4\u05e8",
    "\u0645\u0637\u0628\u062e",
    "\u53a8\u623f \u2126 \U0001f525",
    '<b>&amp;</b> "quoted" ]]> <script>',
    "../../etc/passwd %s {0} $x",
    "tab\there",
    "\u202egnirts desrever",
    "e\u0301 \u0301\u0301",
)


@pytest.mark.parametrize("odd", ODD)
def test_odd_names_are_drawn_within_their_frames(odd):
    job, _, _ = example("ferry-cafe")
    identity = job.job.model_copy(update={"name": odd, "number": odd})
    gas = tuple(s.model_copy(update={"place": odd}) if s.kind == "gas valve" else s for s in job.shutdowns)
    boards = tuple(b.model_copy(update={"place": odd}) for b in job.panelboards)
    job = job.model_copy(update={"job": identity, "shutdowns": gas, "panelboards": boards})
    from galleyproof.design.build import build_design

    design = build_design(job)
    assert any(d.place == odd for d in design.devices)
    for sheet in draw_sheets(job, design):
        picture = read_svg(write_svg(sheet))
        assert faults(picture) == [], sheet.number


def test_a_title_of_a_device_is_no_markup():
    job, design, _ = example("ferry-cafe")
    devices = tuple(replace(d, title="</text><rect x='0'/>" if d.tag == "H-1-E1" else d.title) for d in design.devices)
    drawing = draw_sheets(job, replace(design, devices=devices))
    assert any("</text><rect" in w for w in words(drawing, 3))  # read back as the text it is


def test_a_board_that_goes_on_says_so():
    """The school's circuits need two rows, the hospital's boards three and two: only the first row has no such word."""
    for name, boards in (("school-kitchen", {"LP-2": 1}), ("hospital", {"HP-1": 2, "LP-1": 2})):
        said = words(example(name)[2], "2")
        for board, more in boards.items():
            heads = [w for w in said if re.fullmatch(rf"{board} +electrical room(, continued)?", w)]
            assert len(heads) == more + 1
            assert sum(w.endswith(", continued") for w in heads) == more


def test_the_headings_of_a_place_name_the_other_sheets_it_is_on():
    """A crew that wires the hospital's roof from sheet 4.2 is told of 4.1, and the other way round."""
    _, _, drawing = example("hospital")
    found = {}
    for sheet in drawing:
        if sheet.number.startswith("4."):
            for item in sheet.items:
                if isinstance(item, Text) and (m := re.search(r"field conductors \u00b7 more on (.+)$", item.content)):
                    found.setdefault(sheet.number, set()).add(m[1])
    assert "4.1" in found["4.2"]
    assert "4.2" in found["4.1"]
    assert all(n in drawing.by_number for others in found.values() for words in others for n in words.split(", "))
