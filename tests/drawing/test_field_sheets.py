"""The field connection sheets: what they say, whether it can be read, and how little moves."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, reject, settings
from tests.drawing.legibility import faults, quality
from tests.drawing.reader import read_svg
from tests.drawing.support import NAMES, example, read_back, row, wanted
from tests.strategies import jobs

from galleyproof.design.build import build_design, issue
from galleyproof.drawing.sheets import draw_sheets
from galleyproof.drawing.svg import write_svg
from galleyproof.errors import DesignError
from galleyproof.job.read import read_job

FIELD = "34"
few = settings(
    max_examples=12, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck), phases=[Phase.generate]
)


@pytest.mark.parametrize("name", NAMES)
def test_every_field_conductor_reads_back_once_from_the_field_sheets(name):
    _, design, drawing = example(name)
    found = [row(f) for f in read_back(drawing, FIELD)]
    field = sorted((f for f in found if f[3]), key=lambda f: f[0])
    assert field == [w for w in wanted(design) if w[3]]
    factory = [f for f in found if not f[3]]
    assert factory
    assert set(factory) <= set(wanted(design))


@given(jobs())
@few
def test_generated_jobs_read_back_and_are_legible(job):
    try:
        design = build_design(job)
    except DesignError:
        reject()  # some jobs ask for what no panel can do; tests/design holds which
    drawing = draw_sheets(job, design)
    found = sorted((row(f) for f in read_back(drawing, FIELD) if f.field), key=lambda f: f[0])
    assert found == [w for w in wanted(design) if w[3]]
    for sheet in drawing:
        assert faults(read_svg(write_svg(sheet))) == [], sheet.number


@pytest.mark.parametrize("name", NAMES)
def test_conductors_run_straight_and_never_cross(name):
    _, design, drawing = example(name)
    seen = [quality(read_svg(write_svg(s))) for s in drawing if s.number[0] in FIELD]
    assert sum(n for n, _, _ in seen) >= sum(c.made == "field" for c in design.conductors)
    assert sum(crossings for _, crossings, _ in seen) == 0
    assert sum(bends for _, _, bends in seen) == 0


@pytest.mark.parametrize("name", NAMES)
def test_strips_stand_in_true_order_within_each_block(name):
    _, design, drawing = example(name)
    strips = {d.tag for d in design.devices if d.type == "terminal_strip"}
    blocks = 0
    for sheet in drawing:
        if sheet.number[0] not in FIELD:
            continue
        for outline in sheet.items:
            if not getattr(outline, "closed", False) or outline.subject not in strips:
                continue
            (x0, y0), (x1, y1) = outline.points[0], outline.points[2]
            inside = {
                (p.y, int(p.terminal.mark))
                for p in sheet.ports
                if p.terminal.device == outline.subject and x0 <= p.x <= x1 and y0 <= p.y <= y1
            }
            marks = [mark for _, mark in sorted(inside)]
            assert marks == sorted(set(marks))
            assert marks
            blocks += 1
    assert blocks >= len(strips) - 1  # a strip without field conductors is on other sheets


# --- stability ----------------------------------------------------------------------------------------------------


def _with_a_fourth_hood(text: str) -> str:
    hood = """  - tag: H-4
    style: wall canopy
    length: 7 ft
    duty: medium
    zone: Z1
    sensors:
      - {tag: TS-4, kind: NTC 10k curve 2}
    lights: {load: 400 W, circuit: LP-2/3}
exhaust_fans:
"""
    assert "exhaust_fans:\n" in text
    return text.replace("exhaust_fans:\n", hood, 1).replace("serves: [H-1]", "serves: [H-1, H-4]")


def _places(drawing):
    return {
        (sheet.number[0], key): (sheet.number, line.points)
        for sheet in drawing
        for key, line in sheet.conductors.items()
    }


@pytest.mark.parametrize("sheet", ["ANSI B", "ISO A3"])
def test_another_hood_leaves_the_other_conductors_where_they_were(sheet):
    path = Path(__file__).parents[2] / "examples" / "school-kitchen.yaml"
    before = read_job(path.read_bytes(), path.name)
    issued = issue(before, build_design(before)).issued
    after = read_job(_with_a_fourth_hood(path.read_text(encoding="utf-8")), path.name)
    on = {"job": before.job.model_copy(update={"sheet": sheet})}
    before, after = before.model_copy(update=on), after.model_copy(update={**on, "issued": issued})
    old = _places(draw_sheets(before, build_design(before)))
    new = _places(draw_sheets(after, build_design(after)))
    assert len(new) > len(old)
    same = sum(new.get(key) == place for key, place in old.items())
    assert same / len(old) >= 0.9


def test_the_same_job_gives_the_same_bytes():
    job, _design, drawing = example("school-kitchen")
    again = draw_sheets(job, build_design(job))
    assert [write_svg(s) for s in drawing] == [write_svg(s) for s in again]
