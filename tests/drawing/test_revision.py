"""A revision on the sheets: every changed conductor carries its mark, no other does, and everything stays readable."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest
from tests.design.support import example
from tests.drawing.legibility import box_of, faults
from tests.drawing.reader import read_svg

from galleyproof.design.build import build_design, issue
from galleyproof.design.difference import difference
from galleyproof.design.model import Design
from galleyproof.drawing.model import Drawing, Layer, Polyline
from galleyproof.drawing.paper import Revision, TitleBlock
from galleyproof.drawing.revision import Changed, Mark, changes_of, list_of_changes, marked, sheets_by_key
from galleyproof.drawing.sheets import draw_sheets
from galleyproof.drawing.svg import write_svg
from galleyproof.job.model import Job, RoomSensor


@cache
def revision() -> tuple[tuple[Job, Design], tuple[Job, Design]]:
    """The school kitchen, issued; then with one more room sensor, without its display, a wall switch's pair landed the
    other way round, and thicker motor leads."""
    first = example("school-kitchen")
    old = issue(first, build_design(first))
    sensors = (*old.room_sensors, RoomSensor(tag="RS-2"))
    new = old.model_copy(update={"room_sensors": sensors, "display": None})
    design = build_design(new)
    a, b = (design.conductor_by_key[k] for k in ("SW-1/on/+", "SW-1/on/-"))
    swapped = {a.key: replace(a, b=b.b), b.key: replace(b, b=a.b)}
    conductors = tuple(
        swapped.get(c.key, replace(c, awg="10") if c.key.startswith("EF-1/motor") and c.awg == "12" else c)
        for c in design.conductors
    )
    return (old, build_design(old)), (new, replace(design, conductors=conductors))


@cache
def drawn() -> tuple[tuple[Changed, ...], Drawing, Drawing]:
    (old_job, old), (new_job, new) = revision()
    changes = changes_of(difference(old, new))
    before = marked(draw_sheets(old_job, old), changes, old=True)
    after = marked(draw_sheets(new_job, new), changes, old=False)
    return changes, before, after


def keys(drawing: Drawing) -> set[str]:
    return {
        i.subject
        for s in drawing
        for i in s.items
        if isinstance(i, Polyline) and i.layer is Layer.REVISION and i.subject
    }


def test_every_kind_of_change_is_there() -> None:
    assert {c.mark for c in drawn()[0]} >= {Mark.ADDED, Mark.REMOVED, Mark.RELANDED}


def test_what_is_new_is_marked_on_the_new_sheets_and_nothing_else() -> None:
    changes, _, after = drawn()
    assert keys(after) == {c.new.key for c in changes if c.new is not None}
    added = {c.new.key for c in changes if c.mark is Mark.ADDED and c.new is not None}
    assert any(k.startswith("RS-2") for k in added)


def test_what_is_gone_is_marked_on_the_old_sheets_and_nothing_else() -> None:
    changes, before, _ = drawn()
    gone = {c.old.key for c in changes if c.old is not None and c.mark in (Mark.REMOVED, Mark.RELANDED)}
    assert gone
    # a patch cable is one line on some sheets; every other conductor is drawn
    assert keys(before) == gone


def test_sheets_without_a_change_are_left_out() -> None:
    _, before, after = drawn()
    for drawing in (before, after):
        for sheet in drawing:
            assert any(isinstance(i, Polyline) and i.layer is Layer.REVISION for i in sheet.items)


@pytest.mark.parametrize("which", [1, 2])
def test_marks_touch_no_text_and_no_other_conductor(which: int) -> None:
    """Read back from the SVG: round every mark there is room, but for the conductor it stands on."""
    seen = 0
    for sheet in drawn()[which]:
        picture = read_svg(write_svg(sheet))
        for item in sheet.items:
            if not (isinstance(item, Polyline) and item.layer is Layer.REVISION):
                continue
            seen += 1
            xs, ys = zip(*item.points, strict=True)
            left, top, right, bottom = min(xs), min(ys), max(xs), max(ys)
            for label in picture.labels:
                x0, y0, x1, y1 = box_of(label)
                assert x1 <= left or right <= x0 or y1 <= top or bottom <= y0, (sheet.number, label)
            for key, line in sheet.conductors.items():
                if key == item.subject:
                    continue
                for (ax, ay), (bx, by) in pairwise(line.points):
                    apart = max(ax, bx) < left or right < min(ax, bx) or max(ay, by) < top or bottom < min(ay, by)
                    assert apart, (sheet.number, item.subject, key)
    assert seen > 3


def test_the_list_names_every_change_once() -> None:
    changes, before, after = drawn()
    where = {**sheets_by_key(before, "old"), **sheets_by_key(after, "new")}
    block = TitleBlock("Saltmarrow School Kitchen", "SM-214", (Revision("B", "", "changes"),))
    (sheet,) = list_of_changes(changes, where, "ANSI B", block)
    words = [i.content for i in sheet.items if hasattr(i, "content")]
    for mark in Mark:
        # once in the legend, once for each conductor
        assert words.count(str(mark)) == 1 + sum(c.mark is mark for c in changes)
    assert not faults(read_svg(write_svg(sheet)))
