"""The live drawing in a browser: what it shows is what the core computes, by pointer, by keys and by touch."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader
from tests.accessible import complaints
from tests.browser import *  # noqa: F403
from tests.browser import watch
from tests.web.server import serving
from tests.web.support import EXAMPLES, make_site

from galleyproof.circuit.elements import EARTH
from galleyproof.circuit.world import build_machine
from galleyproof.design.build import build_design
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library

DESKTOP, TABLET, PHONE = {"width": 1440, "height": 900}, {"width": 820, "height": 1180}, {"width": 360, "height": 740}


@pytest.fixture(scope="module")
def office(tmp_path_factory):
    site = make_site(
        tmp_path_factory.mktemp("office"),
    )
    site.add("ferry-cafe")
    site.add("school-kitchen")
    with serving(site.client.app) as address:
        yield address


@pytest.fixture
def opened(page: Page, office: str, overheard: list[str]):
    """Opens the drawings of a job and waits until they live."""
    watch(page, overheard)
    page.set_viewport_size(DESKTOP)

    def go(path: str) -> Page:
        page.goto(f"{office}{path}")
        page.wait_for_selector("#desk[data-ready]")
        return page

    return go


class Wiring:
    """A job's machine, walked by hand."""

    def __init__(self, example: str) -> None:
        self.job = read_job((EXAMPLES / f"{example}.yaml").read_text(), example)
        self.design = build_design(self.job)
        self.machine = build_machine(self.job, self.design, load_library())
        self.by_number = {str(c.number): c for c in self.design.conductors}

    def state(self, *events):
        on = [
            {f"supply {c.tag}": "present" for c in self.job.circuits},
            {"reset": True},
            {"reset": False},
            {f"switch {s.tag}": "on" if s.kind == "on-off" else "auto" for s in self.job.switches},
            {f"heat {h.tag}": "on" for h in self.job.hoods},
        ]
        state = self.machine.dark()
        for event in (*on, *events):
            state = self.machine.apply(state, event)
        return state

    def size_v(self, state, terminal, back):
        """AC and DC between two terminals; None: earth. [V], [V]."""
        nodes = self.machine.network.terminals
        ac, dc = self.machine.volts(state, nodes[terminal])
        ac0, dc0 = self.machine.volts(state, EARTH if back is None else nodes[back])
        return abs(ac - ac0), dc - dc0

    def back(self, c):
        """The return named by the page's own rule: neutral or common of the cable, at the device where it begins."""
        if not c.cable or c.role in ("neutral", "common", "equipment ground"):
            return None
        for o in self.design.conductors:
            if o.cable == c.cable and o.role in ("neutral", "common"):
                near = [e for e in (o.a, o.b) if e.device == c.a.device]
                far = [e for e in (o.a, o.b) if e.device == c.b.device]
                return (near or far or [o.a])[0]
        return None


def choose(page: Page, name: str) -> None:
    button = page.locator(f'.preset:text-is("{name}")')
    button.click()
    expect(button).to_have_attribute("aria-pressed", "true")
    expect(page.locator("#desk")).to_have_attribute("data-shows", f"{button.get_attribute('data-asked')}|")


def shown(page: Page) -> dict[str, tuple[str, str]]:
    """Number of each conductor on the sheet: what its label says, and how it is drawn."""
    return page.evaluate(
        """() => Object.fromEntries([...document.querySelectorAll('.hit')].map((hit) => {
            const drawn = hit.getAttribute('points');
            const shade = [...document.querySelectorAll('.shade')].find((s) => s.getAttribute('points') === drawn);
            const kind = shade.getAttribute('class').split(' ')[1] ?? '';
            return [hit.dataset.wire, [hit.previousElementSibling.textContent, kind]];
        }))"""
    )


def volts(words: str) -> tuple[float, float]:
    """AC and DC that a label says. [V], [V]."""
    found = {form: float(v) for v, form in re.findall(r"(-?[\d.]+) V (AC|DC)", words)}
    return found.get("AC", 0.0), found.get("DC", 0.0)


SITUATIONS = [
    ("Cooking", []),
    ("Fire", [{"fire Z1": "released"}]),
    ("Armed again", [{"fire Z1": "released"}, {"fire Z1": "armed"}]),
    ("Reset by hand", [{"fire Z1": "released"}, {"fire Z1": "armed"}, {"reset": True}, {"reset": False}]),
]


@pytest.mark.parametrize(
    ("job", "example", "sheets"), [(1, "ferry-cafe", ("3.2", "4.1", "5.2")), (2, "school-kitchen", ("4.1",))]
)
def test_what_the_sheet_shows_is_what_the_core_computes(opened, job, example, sheets):
    wiring = Wiring(example)
    page = opened(f"/jobs/{job}/drawings?sheet={sheets[0]}")
    compared = live = 0
    for sheet in sheets:
        page.select_option("#sheet-choice", sheet)
        expect(page.locator("#viewer svg title")).to_have_text(re.compile(f"^{re.escape(sheet)} "))
        for name, events in SITUATIONS:
            choose(page, name)
            expect(page.locator("#steps [aria-current]")).to_be_visible()
            state = wiring.state(*events)
            for number, (label, kind) in shown(page).items():
                c = wiring.by_number[number]
                back = wiring.back(c)
                a, b = (wiring.size_v(state, end, back) for end in (c.a, c.b))
                if kind == "x" or "|" in label:
                    continue
                compared += 1
                said = volts(label)
                near = [
                    all(abs(x - y) <= 0.06 + (0.5 if y >= 50 else 0) for x, y in zip(said, end, strict=True))
                    for end in (a, b)
                ]
                rests = [max(end[0], abs(end[1])) < 0.2 and said == (0.0, 0.0) for end in (a, b)]
                assert any(near) or any(rests), (sheet, name, number, label, a, b)
                most = max(*a, *map(abs, b))
                assert kind == ("l" if most >= 50 else "w" if most >= 0.2 else "n"), (sheet, name, number, kind, a, b)
                live += kind in "lw"
    assert compared > 100
    assert live > 40


def test_the_fire_is_stepped_through_event_by_event(opened):
    page = opened("/jobs/1/drawings?sheet=4.1&fire=Z1")
    steps = page.locator("#steps button")
    assert steps.all_inner_texts()[:3] == [
        "Everything dark",
        "Power on: every supply present",
        "A hand presses every reset",
    ]
    expect(page.locator("#now-words")).to_have_text(f"Step {steps.count()} of {steps.count()}: Z1 released")
    expect(page.locator("#changes")).to_contain_text("GV-1: open → shut")
    expect(page.locator("#changes")).to_contain_text("A-1: on → off")
    page.click("#step-back")
    expect(page.locator("#now-words")).to_contain_text("Heat under H-1")
    page.click("#step-first")
    expect(page.locator("#now-words")).to_contain_text("Step 1 of")
    assert {kind for _, kind in shown(page).values()} <= {"n", "x"}
    page.click("#step-on")
    # what has just changed is underlined, not only coloured
    assert page.locator(".volts.changed").count() > 4
    page.click("#step-play")
    expect(page.locator("#step-play")).to_have_text("Stop")
    expect(page.locator("#now-words")).to_contain_text("Step 3 of", timeout=4000)
    page.click("#step-play")


def test_a_state_is_changed_in_under_100_ms(opened):
    """Of the page alone: from the click to the repainted sheet, once the answer is there; and step by step."""
    page = opened("/jobs/2/drawings?sheet=4.1")
    choose(page, "Cooking")
    page.wait_for_load_state("networkidle")
    page.evaluate("performance.clearMeasures()")
    for name in ("Fire", "Cooking", "Dark", "Control power lost", "Armed again"):
        choose(page, name)
        page.wait_for_timeout(50)
    for _ in range(4):
        page.click("#step-back")
    took = page.evaluate("performance.getEntriesByType('measure').map((m) => [m.name, m.duration])")
    assert [name for name, _ in took] == ["situation"] * 5 + ["step"] * 4
    assert sorted(ms for _, ms in took)[len(took) // 2] < 100.0, took


def test_the_last_of_many_quick_choices_stands(opened):
    """The first answer is held back until the second is on the sheet."""
    page = opened("/jobs/1/drawings?sheet=4.1")
    held = []
    page.route(re.compile(r"/live\?save=1&fire=Z1$"), lambda route: held.append(route))
    page.locator('.preset:text-is("Fire")').click()
    choose(page, "Dark")
    right = shown(page)
    for route in held:
        route.continue_()
    page.wait_for_timeout(400)
    assert len(held) == 1
    assert shown(page) == right
    expect(page.locator("#now-words")).to_have_text("Step 1 of 1: Everything dark")


def test_an_office_that_does_not_answer_is_said(browser, office):
    page = browser.new_page()
    page.goto(f"{office}/jobs/1/drawings?sheet=4.1")
    page.wait_for_selector("#desk[data-ready]")
    page.route(re.compile("/live"), lambda route: route.abort())
    page.locator('.preset:text-is("Fire")').click()
    expect(page.locator("#now-words")).to_contain_text("This situation did not come")
    page.unroute_all()
    choose(page, "Fire")
    expect(page.locator("#now-words")).to_contain_text("Z1 released")
    page.close()


def test_a_wire_is_found_by_number_terminal_or_tag(opened):
    page = opened("/jobs/1/drawings")
    for words, title, sheet in (
        ("134", "Conductor 134", "4.1"),
        ("x2:17", "Conductor", None),
        ("gv-1", "GV-1", "4.1"),
        ("EF-1:L1", "Conductor", None),
    ):
        page.fill("#search-words", words)
        page.press("#search-words", "Enter")
        expect(page.locator(".panel-title")).to_contain_text(title)
        if sheet:
            expect(page.locator("#viewer svg title")).to_have_text(re.compile(f"^{sheet} "))
        assert page.locator(".shade.lit, .lamp").count() > 0
    page.fill("#search-words", "QQ-77")
    page.press("#search-words", "Enter")
    expect(page.locator("#search-words")).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#now-words")).to_contain_text("Nothing on these sheets is called QQ-77")


def test_the_sheet_is_worked_by_keys_alone(opened):
    page = opened("/jobs/1/drawings?sheet=4.1")
    viewer = page.locator("#viewer")
    viewer.focus()
    moved = "document.querySelector('.paper-view').getAttribute('transform')"
    at_rest = page.evaluate(moved)
    page.keyboard.press("+")
    larger = page.evaluate(moved)
    page.keyboard.press("ArrowRight")
    assert len({at_rest, larger, page.evaluate(moved)}) == 3
    page.keyboard.press("0")
    assert page.evaluate(moved) == at_rest
    # conductors come from top to bottom
    tops = page.evaluate(
        """[...document.querySelectorAll('.hit[tabindex]')].map(
            (h) => Number(h.getAttribute('points').split(',')[1].split(' ')[0]))"""
    )
    assert tops == sorted(tops)
    page.keyboard.press("Tab")
    first = page.evaluate("document.activeElement.getAttribute('aria-label')")
    assert re.fullmatch(r"conductor \d+, \S+ to \S+", first)
    page.keyboard.press("Tab")
    number = page.evaluate("document.activeElement.dataset.wire")
    page.keyboard.press("Enter")
    expect(page.locator(".panel-title")).to_have_text(f"Conductor {number}")
    expect(page.locator("#panel")).to_be_focused()
    page.keyboard.press("Escape")
    expect(page.locator("#panel")).to_be_hidden()
    assert page.evaluate("document.activeElement.dataset.wire") == number


PINCH = """() => {
    const box = document.querySelector('#viewer').getBoundingClientRect();
    const [x, y] = [box.left + box.width / 2, box.top + box.height / 2];
    const send = (kind, id, dx) => document.querySelector('#viewer svg').dispatchEvent(new PointerEvent(kind,
        { pointerId: id, pointerType: 'touch', clientX: x + dx, clientY: y, bubbles: true, cancelable: true }));
    send('pointerdown', 11, -40); send('pointerdown', 12, 40);
    send('pointermove', 11, -80); send('pointermove', 12, 80);
    send('pointerup', 11, -80); send('pointerup', 12, 80);
}"""


def test_the_sheet_is_moved_by_hand_and_by_two_fingers(opened):
    page = opened("/jobs/1/drawings?sheet=4.1")
    at = "document.querySelector('.paper-view').getAttribute('transform').match(/-?[\\d.]+/g).map(Number)"
    page.evaluate(PINCH)
    x, y, scale = page.evaluate(at)
    # fingers twice as far apart: twice as large, about the point between them
    assert scale == pytest.approx(2.0, rel=0.02)
    box = page.locator("#viewer").bounding_box()
    start = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(start[0] + 60, start[1] + 30, steps=4)
    page.mouse.up()
    moved = page.evaluate(at)
    assert moved[0] > x
    assert moved[1] > y
    assert moved[2] == scale
    # a drag is no click: nothing was opened by it
    expect(page.locator("#panel")).to_be_hidden()
    page.locator("#viewer").focus()
    page.mouse.wheel(0, -300)
    page.wait_for_timeout(100)
    assert page.evaluate(at)[2] > scale
    page.click("#zoom-fit")
    assert page.evaluate(at) == [0, 0, 1]


def test_links_between_sheets_are_followed(opened):
    page = opened("/jobs/1/drawings?sheet=1.1")
    page.locator('.sheet-link[data-to="5.2"]').first.click()
    expect(page.locator("#viewer svg title")).to_have_text(re.compile(r"^5\.2 "))
    assert "sheet=5.2" in page.url
    page.reload()
    page.wait_for_selector("#desk[data-ready]")
    expect(page.locator("#viewer svg title")).to_have_text(re.compile(r"^5\.2 "))
    page.click("#sheet-after")
    expect(page.locator("#viewer svg title")).to_have_text(re.compile(r"^5\.3 "))


def test_a_wire_left_off_is_lit_with_its_consequences(opened):
    """The released side of the shutdown pole: nothing shows in daily use, in fire the griddle keeps its power."""
    page = opened("/jobs/1/w/131")
    expect(page.locator(".panel-title")).to_have_text("Conductor 131")
    page.locator('.try[data-slip="left-off/FS-1/shutdown2/1/R"]').click()
    expect(page.locator(".slip-box")).to_contain_text("every device does what it should")
    expect(page.locator(".shade.slipped")).to_have_count(1)
    page.locator('.slip-box .go:text-is("Fire")').click()
    expect(page.locator(".slip-box")).to_contain_text("In this situation: A-1: on instead of off")
    assert page.locator(".shade.wrong").count() >= 1
    expect(page.locator(".volts.wrong").first).to_be_visible()
    page.uncheck("#wrong-on")
    expect(page.locator(".shade.wrong")).to_have_count(0)
    page.click(".try-none")
    expect(page.locator(".slip-box")).to_have_count(0)
    expect(page.locator(".shade.slipped")).to_have_count(0)


def test_a_slip_of_a_device_opens_the_device(opened):
    page = opened("/jobs/1/drawings?slip=breaker-left-off/CP1-F1")
    expect(page.locator(".slip-box")).to_contain_text("CP1-F1")
    expect(page.locator(".panel-title")).to_contain_text(re.compile("CP1-F1|Conductor"))
    assert page.locator(".shade.lit, .lamp").count() > 0
    assert page.locator(".shade.wrong").count() >= 1


def test_the_address_leads_back_to_what_is_seen(opened):
    page = opened("/jobs/1/w/134")
    choose(page, "Fire")
    page.reload()
    page.wait_for_selector("#desk[data-ready]")
    expect(page.locator(".panel-title")).to_have_text("Conductor 134")
    expect(page.locator('.preset:text-is("Fire")')).to_have_attribute("aria-pressed", "true")
    expect(page.locator("#viewer svg title")).to_have_text(re.compile(r"^4\.1 "))


def test_it_prints_as_the_sheet_in_its_true_size(opened, tmp_path):
    page = opened("/jobs/1/drawings?sheet=3.1")
    choose(page, "Cooking")
    page.click("#zoom-in")
    page.pdf(path=tmp_path / "sheet.pdf", prefer_css_page_size=True)
    (paper,) = PdfReader(tmp_path / "sheet.pdf").pages
    # ANSI B is 11 in by 17 in (ASME Y14.1); PDF counts 72 points to the inch
    assert [float(v) / 72 for v in paper.mediabox[2:]] == pytest.approx([17.0, 11.0], abs=0.01)
    words = paper.extract_text()
    assert "W-LP-1/7-P · line voltage" in words
    assert "Find" not in words
    assert "Step" not in words


def test_the_page_of_a_wire_fits_a_phone(browser, office, overheard):
    context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True)
    page = context.new_page()
    watch(page, overheard)
    page.goto(f"{office}/jobs/1/w/135")
    page.wait_for_selector("#desk[data-ready]")
    expect(page.locator(".panel-title")).to_have_text("Conductor 135")
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    sheet, panel, player = (page.locator(i).bounding_box()["y"] for i in ("#viewer", "#panel", "#player"))
    assert sheet < panel < player
    for size in page.evaluate(
        """[...document.querySelectorAll('#desk button:not(.go)')].filter((b) => b.offsetHeight).map(
            (b) => b.offsetHeight)"""
    ):
        assert size >= 24
    page.locator("#viewer").tap()
    context.close()


@pytest.mark.parametrize("light", ["light", "dark"])
def test_nobody_is_kept_from_reading_a_lit_sheet(opened, page, light):
    """A wire lit, its panel open, a slip in place; the pages at rest are looked at in test_every_page.py."""
    page.emulate_media(color_scheme=light)
    opened("/jobs/1/w/131?fire=Z1")
    page.locator('.try[data-slip="left-off/FS-1/shutdown2/1/R"]').click()
    expect(page.locator(".slip-box")).to_be_visible()
    assert complaints(page) == []
