"""The elementary diagram: the whole design, once, with references both ways."""

from __future__ import annotations

import re

import pytest
from hypothesis import HealthCheck, Phase, given, reject, settings
from tests.drawing.legibility import faults, width_of
from tests.drawing.reader import conductors, read_svg
from tests.drawing.support import NAMES, example, read_back, row, wanted
from tests.strategies import jobs

from galleyproof.design.build import build_design
from galleyproof.drawing.model import Symbol, Text
from galleyproof.drawing.sheets import draw_sheets
from galleyproof.drawing.svg import write_svg
from galleyproof.errors import DesignError

few = settings(
    max_examples=8, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck), phases=[Phase.generate]
)


@pytest.mark.parametrize("name", NAMES)
def test_every_conductor_reads_back_exactly_once(name):
    _, design, drawing = example(name)
    assert sorted((row(f) for f in read_back(drawing, "5")), key=lambda f: f[0]) == wanted(design)


@given(jobs())
@few
def test_generated_jobs_read_back_and_are_legible(job):
    try:
        design = build_design(job)
    except DesignError:
        reject()
    drawing = draw_sheets(job, design)
    assert sorted((row(f) for f in read_back(drawing, "5")), key=lambda f: f[0]) == wanted(design)
    for sheet in drawing:
        assert faults(read_svg(write_svg(sheet))) == [], sheet.number


def _words(drawing, series="5"):
    return [
        (sheet, item)
        for sheet in drawing
        if sheet.number.startswith(series + ".")
        for item in sheet.items
        if isinstance(item, Text)
    ]


def test_coil_and_contacts_refer_to_each_other():
    """The starter's coil names the zone of a contact of its own, and that contact names the zone of the coil."""
    _, _, drawing = example("school-kitchen")
    coils = [
        (sheet, item)
        for sheet in drawing
        for item in sheet.items
        if isinstance(item, Symbol) and item.shape.name.startswith("COIL_") and item.subject == "CP1-Q1"
    ]
    assert len(coils) == 1
    coil_sheet, coil = coils[0]
    below = [t for s, t in _words(drawing) if s is coil_sheet and abs(t.x - coil.x) < 1 and 5 < t.y - coil.y < 9]
    to_contact = re.fullmatch(r"1/L1-2/T1 (5\.\d+)/([A-F]\d)( \+3)?", below[0].content)
    assert to_contact, below
    contact_sheet = drawing.by_number[to_contact[1]]
    contacts = [
        item
        for item in contact_sheet.items
        if isinstance(item, Symbol) and item.shape.name.startswith("CONTACT_NO") and item.subject == "CP1-Q1"
    ]
    assert contacts
    back = {t.content for s, t in _words(drawing) if s is contact_sheet and t.content.startswith("coil ")}
    assert any(re.fullmatch(rf"coil {re.escape(coil_sheet.number)}/[A-F]\d", words) for words in back)


def test_references_lead_to_sheets_that_exist():
    for name in NAMES:
        _, _, drawing = example(name)
        numbers = set(drawing.by_number)
        links = [link for sheet in drawing for link in sheet.links]
        assert links
        assert {link.sheet for link in links} <= numbers


def test_a_section_that_goes_on_says_so_on_both_sheets():
    _, _, drawing = example("school-kitchen")
    texts = {(s.number, t.content) for s, t in _words(drawing)}
    onward = [(n, m[1]) for n, words in texts if (m := re.fullmatch(r"continues on (5\.\d+)", words))]
    back = {(m[1], n) for n, words in texts if (m := re.fullmatch(r"continued from (5\.\d+)", words))}
    assert onward
    assert set(onward) == back


@pytest.mark.parametrize("family", ["IEC", "NEMA"])
def test_symbols_follow_the_job(family):
    job, design, _ = example("school-kitchen")
    job = job.model_copy(update={"job": job.job.model_copy(update={"symbols": family})})
    drawing = draw_sheets(job, design)
    names = {i.shape.name for s in drawing if s.number[0] == "5" for i in s.items if isinstance(i, Symbol)}
    inline = {n for n in names if n.endswith(("_IEC", "_NEMA"))}
    assert f"COIL_{family}" in inline
    assert all(n.endswith(f"_{family}") for n in inline)
    assert all(faults(read_svg(write_svg(s))) == [] for s in drawing)


@pytest.mark.parametrize("name", NAMES)
def test_all_poles_of_a_load_end_at_one_symbol_with_its_tag(name):
    """Three-phase loads, single-phase fans, units, drives and supplies: one box beside all ends of their conductors."""
    _, design, drawing = example(name)
    marks = {"motor_3": "U1 V1 W1", "ec_fan_1": "L1 L2", "makeup_1": "L1 L2", "power_supply_24": "L N"}
    marks |= {"vfd_1": "L1 L2", **dict.fromkeys(("appliance_3", "vfd_3", "ec_fan_3_run", "makeup_3"), "L1 L2 L3")}
    marks |= dict.fromkeys(("makeup_3_speed", "makeup_3_wet_speed"), "L1 L2 L3")
    wanted_ends = {
        d.tag: {f"{d.tag}:{mark}" for mark in marks[d.type].split()} for d in design.devices if d.type in marks
    }
    assert len(wanted_ends) >= 3
    seen = set()
    for sheet in drawing:
        if not sheet.number.startswith("5."):
            continue
        picture = read_svg(write_svg(sheet))
        found = conductors(picture, width_of)
        for tag, ends in wanted_ends.items():
            places = [max(f.places, key=lambda p: p[0]) for f in found if f.ends & ends]
            if not places:
                continue
            seen.add(tag)
            assert len(places) == len(ends), f"{tag} on {sheet.number}"
            assert len({x for x, _ in places}) == 1, f"{tag}: ends at {places}"
            x, top, bottom = places[0][0], min(y for _, y in places), max(y for _, y in places)
            boxes = [
                (xs, ys)
                for s in picture.strokes
                if s.closed and len(s.points) == 4
                for xs, ys in [([a for a, _ in s.points], [b for _, b in s.points])]
                if 1 < min(xs) - x < 4 and min(ys) < top and max(ys) > bottom
            ]
            assert len(boxes) == 1, f"{tag}: {boxes}"
            xs, ys = boxes[0]
            pictures = [
                i for i in sheet.items if isinstance(i, Symbol) and min(xs) < i.x < max(xs) and min(ys) < i.y < max(ys)
            ]
            assert [(i.subject, i.shape.name.split("_")[0]) for i in pictures] == [(tag, "ICON")]
            above = [t for t in picture.labels if t.words == tag and t.bold and 0 < min(ys) - t.y < 3]
            assert len(above) == 1, f"{tag}: {above}"
    assert seen == set(wanted_ends)
