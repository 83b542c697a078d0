"""The page itself: the same bytes, nothing from outside, names inert, large targets, keyboard, small screens, print."""

from __future__ import annotations

import base64
import hashlib
import io
import json
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pypdf
import pytest
from playwright.sync_api import Page, expect
from tests.accessible import complaints
from tests.browser import watch
from tests.design.support import EXAMPLES, LIBRARY
from tests.fieldsheet.support import (
    DESKTOP,
    JOB_TEXT,
    PHONE,
    TABLET,
    computed,
    go_on,
    opened,
    put_page,
    take,
    whole_page,
    written,
)

from galleyproof.checkout.log import read_log
from galleyproof.cli.main import main
from galleyproof.design.build import build_design
from galleyproof.drawing.model import Text
from galleyproof.fieldsheet.whole import compute, write_sheet
from galleyproof.job.read import read_job


class Elements(HTMLParser):
    """Start tags with their attributes, and what stands in scripts and styles."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.inside: list[tuple[str, str]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        if self.tags and self.tags[-1][0] in ("script", "style") and data.strip():
            self.inside.append((self.tags[-1][0], data))


def test_the_same_job_gives_the_same_bytes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """By the command and by the functions, each from the beginning."""
    made = tmp_path / "a.html"
    assert main(["fieldsheet", str(EXAMPLES / "ferry-cafe.yaml"), "-o", str(made), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert made.read_bytes() == whole_page().encode()
    assert told["bytes"] == len(made.read_bytes()) < 1_000_000
    assert (told["readings"], told["slips"], told["caught"]) == (51, 352, 343)


def test_what_cannot_be_written_or_read_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["fieldsheet", str(EXAMPLES / "ferry-cafe.yaml"), "-o", str(tmp_path / "no" / "a.html")]) == 2
    assert "cannot be written: no such file or directory" in capsys.readouterr().err
    assert main(["fieldsheet", str(tmp_path / "none.yaml"), "-o", str(tmp_path / "a.html")]) == 2
    assert "cannot be read" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_nothing_comes_from_outside_and_nothing_else_runs() -> None:
    """No address but data, no handler in the markup, and a policy that names exactly the script and style inside."""
    found = Elements(whole_page())
    for tag, given in found.tags:
        for name, value in given.items():
            assert not name.startswith("on"), (tag, name)
            assert name != "style", tag
            if name in ("src", "href", "action", "srcset", "data", "poster"):
                assert str(value).startswith(("data:", "#")), (tag, value)
    policy = next(g["content"] for t, g in found.tags if g.get("http-equiv") == "Content-Security-Policy")
    assert policy is not None
    rules = {r.split()[0]: r.split()[1:] for r in policy.split(";")}
    assert rules["default-src"] == rules["base-uri"] == rules["form-action"] == ["'none'"]
    assert "unsafe" not in policy
    hashed = [f"'sha256-{base64.b64encode(hashlib.sha256(d.encode()).digest()).decode()}'" for _, d in found.inside]
    kinds = [kind for kind, _ in found.inside]
    assert kinds == ["style", *["script"] * 5]
    assert rules["style-src"] == [hashed[0]]
    assert rules["script-src"] == [hashed[-1]]
    assert [g.get("type") for t, g in found.tags if t == "script"] == [*["application/octet-stream"] * 4, None]
    assert not re.search(r"url\((?!\"data:)", found.inside[0][1])
    assert "MIT License" in whole_page()


def test_only_the_file_itself_is_asked_for(profile, tmp_path: Path) -> None:
    context = profile("A", **DESKTOP)
    asked: list[str] = []
    context.on("request", lambda r: asked.append(r.url))
    address = put_page(tmp_path)
    page = opened(context, address)
    take(page, "OL") if go_on(page) >= 0 else None
    assert [a for a in asked if not a.startswith("data:")] == [address]


def test_the_policy_holds(page: Page, tmp_path: Path) -> None:
    page.goto(put_page(tmp_path))
    page.evaluate("""() => {
      const script = document.createElement("script");
      script.textContent = "window.ran = 1";
      document.body.append(script);
      const button = document.createElement("button"); button.setAttribute("onclick", "window.ran = 2");
      document.body.append(button); button.click();
    }""")
    assert page.evaluate("window.ran") is None
    assert page.evaluate("fetch('https://saltmarrow.example/').then(() => 'got', () => 'refused')") == "refused"


HOSTILE = "</script><script>window.ran=1</script>\"'><img src=x onerror=window.ran=2>&amp;\u202e{script}\u2066"


def test_hostile_names_are_words_and_nothing_more(profile, tmp_path: Path) -> None:
    """Names that would be markup, close the script, or turn the writing round, wherever a job may hold words."""
    text = JOB_TEXT.decode()
    text = text.replace("name: Saltmarrow Ferry Café", f"name: {json.dumps(HOSTILE)}")
    text = text.replace("number: SM-101", f"number: {json.dumps(HOSTILE[:20])}")
    text = text.replace("place: kitchen", f"place: {json.dumps(HOSTILE)}")
    job = read_job(text.encode(), "hostile.yaml")
    assert job.job.name == HOSTILE
    made = write_sheet(job, text, compute(job, build_design(job), LIBRARY))
    page = opened(profile("A", offline=True, **DESKTOP), put_page(tmp_path, made))
    assert page.title() == f"Field sheet: {HOSTILE}"
    assert page.locator("h1").inner_text() == HOSTILE
    assert page.locator("h1 bdi").count() == 1
    go_on(page)
    take(page, "OL")
    # a reading in the hostile place, and a record that names it
    page.evaluate(
        "fieldsheet.app.chosen = fieldsheet.sheet.plan.findIndex(([p]) => fieldsheet.sheet.place(p).includes('<img'))"
    )
    page.evaluate("fieldsheet.app.go('work')")
    go_on(page)
    expect(page.locator(".probe")).to_contain_text("<img src=x onerror=window.ran=2>")
    page.get_by_role("button", name="Hand over").click()
    assert HOSTILE[:60] in page.locator("caption").inner_text()
    for n in range(page.evaluate("fieldsheet.sheet.sheets.length")):
        page.evaluate("(n) => fieldsheet.app.drawing.show(n)", n)
        assert page.locator("#drawing script, #drawing img, #drawing foreignObject, #drawing a").count() == 0
    assert page.evaluate("window.ran") is None
    assert page.locator("img").count() == 0
    assert page.locator("script").count() == 5
    page.get_by_role("button", name="Readings").first.click()
    with page.expect_download() as given:
        page.get_by_role("button", name="Export to a file").click()
    assert re.fullmatch(r"[a-z0-9-]+\.json", given.value.suggested_filename)
    log = read_log(Path(given.value.path()).read_bytes())
    assert all(e.job_name and e.job_name in HOSTILE for e in log)


def steps(page: Page) -> Any:
    """Every view of the page, one after the other; the name of each."""
    yield "before the start"
    opened(page.context, page.url)
    yield "the caution"
    page.get_by_role("button", name="Read, and acted on").click()
    yield "a preparation"
    page.get_by_role("button", name="It stands so").click()
    yield "a reading"
    take(page, "OL")
    go_on(page)
    take(page, "3.2")
    yield "a search"
    page.get_by_text("Somebody noticed something").click()
    page.get_by_text("It is found and put right").click()
    page.get_by_text("Why the first").click()
    yield "a search, unfolded"
    page.get_by_role("button", name="Readings").first.click()
    page.get_by_role("button", name="Show as QR codes").click()
    page.locator(".qr").wait_for()
    yield "the log"
    page.get_by_role("button", name="Correct 3.2").click()
    yield "a correction"
    page.get_by_role("button", name="Hand over").click()
    yield "the hand-over"
    page.evaluate(
        """() => { const app = fieldsheet.app, twin = app.told.standing.find((e) => e.read.startsWith("3.2"));
          app.add(twin.probe, "OL", { meter: twin.meter }); app.go("hand"); }"""
    )
    yield "a hand-over with a conflict"
    page.evaluate("fieldsheet.app.chosen = fieldsheet.sheet.plan.length - 1; fieldsheet.app.go('work')")
    go_on(page)
    yield "a look"


@pytest.mark.parametrize("light", ["light", "dark"])
def test_axe_finds_nothing_serious(profile, tmp_path: Path, light: str) -> None:
    context = profile(light, color_scheme=light, offline=True, reduced_motion="reduce", **TABLET)
    page = context.pages[0]
    page.goto(put_page(tmp_path))
    # in the dark only the colours differ, and every second view has them all
    found = {name: complaints(page) for n, name in enumerate(steps(page)) if light == "light" or n % 2}
    assert {name: said for name, said in found.items() if said} == {}
    assert len(found) == (11 if light == "light" else 5)


SMALL = """() => [...document.querySelectorAll("button, input, select, textarea, summary, a[href]")]
  .filter((e) => e.checkVisibility({ checkOpacity: false }) && !e.matches(".skip"))
  .map((e) => [e, e.matches("input[type=radio], input[type=checkbox]") ? e.closest("label") : e])
  .map(([e, target]) => [e, target.getBoundingClientRect()])
  .filter(([, box]) => box.width < 43.9 || box.height < 43.9)
  .map(([e, box]) => `${e.tagName} ${e.textContent.slice(0, 30)} ${box.width} x ${box.height}`)"""


@pytest.mark.parametrize(("name", "screen"), [("tablet", TABLET), ("phone", PHONE)])
def test_targets_are_large_and_nothing_runs_off_the_side(
    profile, tmp_path: Path, name: str, screen: dict[str, Any]
) -> None:
    page = profile(name, offline=True, **screen).pages[0]
    page.goto(put_page(tmp_path))
    for view in steps(page):
        assert page.evaluate(SMALL) == [], view
        assert page.evaluate("document.documentElement.scrollWidth") <= screen["viewport"]["width"], view


def test_it_is_worked_by_keys_alone(profile, tmp_path: Path) -> None:
    page = profile("A", offline=True, **DESKTOP).pages[0]
    page.goto(put_page(tmp_path))
    page.get_by_label("Who reads").focus()
    page.keyboard.type("R. Quayle")
    page.keyboard.press("Tab")
    page.keyboard.type("meter 7")
    page.keyboard.press("Enter")
    for words in ("Read, and acted on", "It stands so"):
        expect(page.get_by_role("button", name=words)).to_be_visible()
        page.keyboard.press("Tab")  # the focus stands on the heading: the button comes next
        assert page.evaluate("document.activeElement.textContent") == words
        page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "entry"
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    assert page.evaluate("document.activeElement.value") == "MΩ"
    page.keyboard.press("Shift+Tab")
    page.keyboard.type("4.7")
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_contain_text("4700.00 kΩ, as expected")
    page.locator(".frame").focus()
    before = page.locator("#drawing svg").get_attribute("viewBox")
    for key in ("ArrowRight", "ArrowDown", "+", "-", "0"):
        page.keyboard.press(key)
        after = page.locator("#drawing svg").get_attribute("viewBox")
        assert after != before, key
        before = after


def test_the_two_terminals_are_lit_where_they_are_drawn(profile, tmp_path: Path) -> None:
    """The lit places are the drawing's own ports and marks; both leads of most readings stand on one sheet."""
    page = opened(profile("A", offline=True, **DESKTOP), put_page(tmp_path))
    go_on(page)
    drawing = computed().drawing
    places = {(str(p.terminal), n, round(p.x, 1), round(p.y, 1)) for n, s in enumerate(drawing) for p in s.ports}
    for n, sheet in enumerate(drawing):
        for item in sheet.items:  # a terminal of the panel's inside stands by its mark
            if isinstance(item, Text) and item.content.startswith(f"{item.subject}:"):
                places.add((item.content, n, round(item.x, 1), round(item.y, 1)))
    both = 0
    for line in computed().plan.readings:
        if line.probe.red is None:
            continue
        lights = page.evaluate(
            """([r, b]) => { const d = fieldsheet.app.drawing;
              d.light([{ name: r, letter: "R", words: r }, { name: b, letter: "B", words: b }]);
              const shown = d.svg.querySelectorAll(".light").length;
              return [d.at, d.lights.map((l) => [l.name, l.sheet, l.x, l.y]), shown]; }""",
            [str(line.probe.red), str(line.probe.black)],
        )
        at, lit, shown = lights
        assert {name for name, *_ in lit} == {str(line.probe.red), str(line.probe.black)}
        for name, sheet, x, y in lit:
            assert (name, sheet, x, y) in places
        assert shown == sum(sheet == at for _, sheet, *_ in lit) >= 1
        both += shown == 2
    assert both >= 20


def test_the_drawing_is_moved_by_hand_and_keeps_its_place_when_the_tablet_turns(profile, tmp_path: Path) -> None:
    page = opened(profile("A", offline=True, **TABLET), put_page(tmp_path))
    go_on(page)

    def box() -> list[float]:
        return [float(v) for v in str(page.locator("#drawing svg").get_attribute("viewBox")).split()]

    page.locator("#drawing").scroll_into_view_if_needed()
    frame = page.locator(".frame").bounding_box()
    assert frame is not None
    middle = (frame["x"] + frame["width"] / 2, frame["y"] + frame["height"] / 2)
    x, y, width, _ = box()
    page.mouse.move(*middle)
    page.mouse.down()
    page.mouse.move(middle[0] + 50, middle[1] + 30)
    page.mouse.up()
    scale = width / frame["width"]
    assert box()[:2] == pytest.approx([x - 50 * scale, y - 30 * scale], abs=0.01)
    page.mouse.wheel(0, -100)
    assert box()[2] == pytest.approx(width / 1.15)
    page.get_by_role("button", name="Lit terminals").click()
    assert box()[:3] == pytest.approx([x, y, width])
    page.set_viewport_size({"width": 1180, "height": 820})
    page.wait_for_function("(w) => fieldsheet.app.drawing.box.width === w", arg=box()[2])
    frame = page.locator(".frame").bounding_box()
    assert frame is not None
    page.wait_for_function(
        "(r) => Math.abs(fieldsheet.app.drawing.box.height / fieldsheet.app.drawing.box.width - r) < 0.01",
        arg=frame["height"] / frame["width"],
    )
    assert box()[:2] == pytest.approx([x, y])


def test_the_record_prints(page: Page, tmp_path: Path, overheard: list[str]) -> None:
    watch(page, overheard)
    page.goto(put_page(tmp_path))
    opened(page.context, page.url)
    go_on(page)
    take(page, "OL")
    page.get_by_role("button", name="Hand over").click()
    page.get_by_role("button", name="Sign", exact=True).click()
    printed = pypdf.PdfReader(io.BytesIO(page.pdf(format="Letter")))
    words = "\n".join(p.extract_text() for p in printed.pages)
    assert "Signed: R. Quayle" in words
    assert "1 of 51 readings taken" in words
    assert "as expected" in words
    assert "Export to a file" not in words
    assert len(printed.pages) <= 5


def test_another_job_keeps_its_own_entries(profile, tmp_path: Path) -> None:
    """Two sheets on one tablet: the entries of one are not those of the other."""
    context = profile("A", offline=True, **DESKTOP)
    page = opened(context, put_page(tmp_path))
    go_on(page)
    take(page, "OL")
    (tmp_path / "other").mkdir()
    again = write_sheet(read_job(JOB_TEXT, "a.yaml"), JOB_TEXT + b"# issued again\n", computed())
    page.goto(put_page(tmp_path / "other", again))
    expect(page.get_by_role("button", name="Check-out")).to_contain_text("0/51")
    assert written() == whole_page() != again
