"""The page of charts, read back: what it draws, where, and how large its text is."""

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from galleyproof.job.read import read_job
from galleyproof.savings.chart import ACCENT, CASES, FAINT, HEIGHT, INK, MIN_TEXT_MM, PAPER, WIDTH, chart_svg
from galleyproof.savings.read import read_weather
from galleyproof.savings.study import study

EXAMPLES = Path(__file__).parents[2] / "examples"
SVG = "{http://www.w3.org/2000/svg}"
PANEL_H = 52.0  # height of the monthly panels inside their axes


@pytest.fixture(scope="module", params=["ferry-cafe", "hospital"])
def page(request):
    job = read_job((EXAMPLES / f"{request.param}.yaml").read_text(encoding="utf-8"), request.param)
    weather = read_weather((EXAMPLES / "weather" / "greensboro-tmy3.csv").read_text(encoding="ascii"))
    found = study(job, weather)
    return found, chart_svg(found, job.job.name), ET.fromstring(chart_svg(found, job.job.name))


def texts(root):
    return [
        (float(t.get("x")), float(t.get("y")), float(t.get("font-size")), t.get("text-anchor"), t.text or "")
        for t in root.iter(f"{SVG}text")
    ]


def boxes(root, fill):
    return [
        tuple(float(r.get(k)) for k in ("x", "y", "width", "height"))
        for r in root.iter(f"{SVG}rect")
        if r.get("fill") == fill and r.get("stroke")
    ]


def test_the_page_is_in_millimetres(page):
    _found, _text, root = page
    assert (root.get("width"), root.get("viewBox")) == (f"{WIDTH:g}mm", f"0 0 {WIDTH:g} {HEIGHT:g}")


def test_no_text_under_two_millimetres(page):
    found = texts(page[2])
    assert len(found) > 40
    assert min(size for _, _, size, _, _ in found) >= MIN_TEXT_MM >= 2.0


def test_paper_ink_and_one_accent(page):
    colours = set(re.findall(r"#[0-9a-f]{6}", page[1]))
    assert colours == {PAPER, INK, FAINT, ACCENT}


def extent(one):
    """Box of a text; 0.56 of its size is a wide mean for the letters of a sans face."""
    x, y, size, anchor, words = one
    wide = 0.56 * size * len(words)
    left = {"start": x, "middle": x - wide / 2, "end": x - wide}[anchor]
    return left, y - 0.8 * size, left + wide, y + 0.25 * size


def test_everything_lies_on_the_page_and_no_text_on_another(page):
    found = [extent(t) for t in texts(page[2])]
    for left, top, right, bottom in found:
        assert 0.0 <= left < right <= WIDTH
        assert 0.0 <= top < bottom <= HEIGHT
    for n, (l1, t1, r1, b1) in enumerate(found):
        for l2, t2, r2, b2 in found[n + 1 :]:
            assert r1 <= l2 or r2 <= l1 or b1 <= t2 or b2 <= t1
    for x, y, width, height in boxes(page[2], ACCENT):
        assert 0.0 <= x <= x + width <= WIDTH
        assert 0.0 <= y <= y + height <= HEIGHT


def test_bars_read_back_as_the_months(page):
    """Heights of the first panel over its scale are the megawatt-hours of the study."""
    found, _text, root = page
    scale = [words for x, y, _, anchor, words in texts(root) if anchor == "end" and abs(y - 34.85) < 0.1 and x < 100.0]
    top = float(scale[0].replace(",", ""))
    for case, fill in zip(CASES, (PAPER, FAINT, ACCENT), strict=True):
        bars = [b for b in boxes(root, fill) if b[0] < WIDTH / 2 and 30.0 < b[1] < 100.0]
        expected = [m.fan_kwh / 1e3 for m in found.months if m.case == case]
        assert [b[3] / PANEL_H * top for b in sorted(bars)] == pytest.approx(expected, abs=top * 1e-3)


def test_the_same_study_gives_the_same_bytes(page):
    found, text, _root = page
    title = text.split("<title>")[1].split(": a year")[0]
    assert chart_svg(found, title) == text


def test_a_title_cannot_break_the_page(page):
    root = ET.fromstring(chart_svg(page[0], 'Fish & <chips> "to go"'))
    assert 'Fish & <chips> "to go"' in [words for *_, words in texts(root)]
