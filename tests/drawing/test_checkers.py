"""The reader and the legibility check find what is planted in a sound sheet."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.drawing.legibility import faults, frame, width_of
from tests.drawing.reader import Disc, Label, Stroke, conductors, read_svg
from tests.drawing.support import example

from galleyproof.drawing.svg import write_svg


@pytest.fixture
def picture():
    _, _, drawing = example("school-kitchen")
    return read_svg(write_svg(drawing.by_number["4.1"]))


def _wire(picture):
    return next(s for s in picture.strokes if abs(s.width - 0.7) < 0.01)


def test_a_sound_sheet_has_no_fault(picture):
    assert faults(picture) == []


def test_text_over_text(picture):
    one = picture.labels[-1]
    picture.labels.append(replace(one, x=one.x + 0.5))
    assert any("lies over" in f for f in faults(picture))


def test_small_text(picture):
    picture.labels.append(Label(200.0, 228.0, "small", 1.9, "start", False))
    assert any("1.90 mm" in f for f in faults(picture))


def test_line_through_text(picture):
    one = picture.labels[-1]
    picture.strokes.append(Stroke(((one.x - 3, one.y - 1), (one.x + 30, one.y - 1)), 0.18, False, False))
    assert any("runs through" in f for f in faults(picture))


def test_conductor_through_a_device(picture):
    box = next(s for s in picture.strokes if s.closed and abs(s.width - 0.35) < 0.01 and len(s.points) == 4)
    (x0, y0), (x1, y1) = box.points[0], box.points[2]
    y = (y0 + y1) / 2 + 0.37
    picture.strokes.append(Stroke(((x0 - 4, y), (x1 + 4, y)), 0.7, False, False))
    assert any("conductor" in f and "runs through a line" in f for f in faults(picture))


def test_outside_the_frame(picture):
    _x0, _y0, x1, _y1 = frame(picture)
    picture.labels.append(Label(x1 - 5.0, 120.0, "too long for its place", 2.0, "start", False))
    assert any("outside the frame" in f for f in faults(picture))


def test_two_conductors_on_one_line(picture):
    wire = _wire(picture)
    (_x0, y), (x1, _) = wire.points
    picture.strokes.append(replace(wire, points=((x1, y), (x1 + 10, y))))
    assert any("touch on one line" in f for f in faults(picture))


def test_landings_too_near(picture):
    disc = next(d for d in picture.discs if d.filled and abs(d.r - 0.75) < 0.01)
    picture.discs.append(Disc(disc.x, disc.y + 2.4, 0.75, True))
    assert any("mm apart" in f for f in faults(picture))


def test_a_character_without_a_glyph(picture):
    picture.labels.append(Label(200.0, 228.0, "\u05d0", 2.0, "start", False))
    assert any("no glyph" in f for f in faults(picture))


def test_the_reader_misses_no_swapped_mark(picture):
    before = {f.ends for f in conductors(picture, width_of)}
    marks = [i for i, label in enumerate(picture.labels) if label.words in ("35", "36") and label.bold]
    assert len(marks) == 2
    i, j = marks
    one, other = picture.labels[i], picture.labels[j]
    picture.labels[i], picture.labels[j] = replace(one, words=other.words), replace(other, words=one.words)
    after = {f.ends for f in conductors(picture, width_of)}
    assert len(before - after) == 4  # two field and two factory conductors land elsewhere


def test_the_reader_refuses_a_conductor_without_its_number(picture):
    picture.labels = [label for label in picture.labels if label.words != "267"]
    with pytest.raises(AssertionError):
        conductors(picture, width_of)
