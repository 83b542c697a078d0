"""Typing into the line-up in a browser: by keyboard alone, with errors beside the cell, and nothing lost."""

from __future__ import annotations

import re

import pytest
from tests.accessible import complaints
from tests.browser import *  # noqa: F403
from tests.browser import watch
from tests.web.server import serving
from tests.web.support import make_site

from galleyproof.job.read import read_job
from galleyproof.store.jobs import save_job, save_of
from galleyproof.store.people import Role, Who
from galleyproof.web.lineup.text import read_text

SIZES = {"desktop": (1440, 900), "tablet": (820, 1180), "phone": (360, 780)}


@pytest.fixture
def site(tmp_path):
    return make_site(tmp_path)


@pytest.fixture
def base(site):
    with serving(site.client.app) as address:
        yield address


@pytest.fixture
def quiet(monkeypatch):
    """Findings are not what these tests are about, and take a while."""
    from galleyproof.web.work import Answer, Calculator

    monkeypatch.setattr(Calculator, "wait", lambda *_a, **_k: Answer("waiting"))


def text_of(site, job: int):
    with site.db.session() as session:
        return save_of(session, job)


def open_at(page, base: str, job: int, section: str, query: str = "") -> None:
    page.goto(f"{base}/jobs/{job}/line-up/{section}{query}")
    page.wait_for_selector("#line-up-body [data-was]")


def stored(page, number: int) -> None:
    page.wait_for_function("n => document.getElementById('line-up').dataset.save === String(n)", arg=number)


def focus(page) -> str:
    return page.evaluate("document.activeElement.dataset.path || ''")


def cell(page, path: str):
    return page.locator(f'#line-up-body table.grid [data-path="{path}"]').first


def test_a_schedule_is_typed_by_keys_alone(page, site, base, quiet, overheard):
    watch(page, overheard)
    job = site.add("school-kitchen")
    open_at(page, base, job, "hoods")
    cell(page, "hoods.0.length").focus()
    page.keyboard.press("Control+A")
    page.keyboard.type("11' 6\"")
    page.keyboard.press("Enter")  # commits and goes down
    assert focus(page) == "hoods.1.length"
    stored(page, 2)
    page.keyboard.type("9 ft")
    page.keyboard.press("ArrowUp")  # commits too
    assert focus(page) == "hoods.0.length"
    stored(page, 3)
    page.keyboard.press("ArrowRight")
    assert focus(page) == "hoods.0.depth"
    page.keyboard.type("nonsense")
    page.keyboard.press("Escape")  # gives the value back
    assert cell(page, "hoods.0.depth").input_value() == ""
    page.keyboard.press("Tab")
    assert focus(page) == "hoods.0.duty"
    page.keyboard.press("ArrowLeft")
    assert focus(page) == "hoods.0.depth"
    page.keyboard.press("Insert")  # a new row
    stored(page, 4)
    page.wait_for_function("() => document.activeElement.dataset.path === 'hoods.3.tag'")
    job_now = read_text(text_of(site, job).text).tree["hoods"]
    assert [h["length"] for h in job_now[:2]] == ["11' 6\"", "9 ft"]
    assert job_now[3]["tag"] == "H-4"
    page.keyboard.press("Control+Z")
    stored(page, 5)
    assert len(read_text(text_of(site, job).text).tree["hoods"]) == 3
    page.keyboard.press("Control+Shift+Z")
    stored(page, 6)
    assert len(read_text(text_of(site, job).text).tree["hoods"]) == 4


def test_cells_of_a_spreadsheet_are_pasted(page, site, base, quiet, overheard):
    watch(page, overheard)
    job = site.add("school-kitchen")
    open_at(page, base, job, "hoods")
    cell(page, "hoods.1.length").focus()
    page.evaluate(
        """([TAB, LINE]) => {
            const data = new DataTransfer();
            const rows = [["9 ft", "50 in"], ["7 ft", ""], ["past the end", "x"]];
            data.setData("text/plain", rows.map((row) => row.join(TAB)).join(LINE));
            const given = { clipboardData: data, bubbles: true, cancelable: true };
            document.activeElement.dispatchEvent(new ClipboardEvent("paste", given));
        }""",
        ["\t", "\n"],
    )
    stored(page, 2)
    page.get_by_text("2 of the pasted cells found no place").wait_for()
    hoods = read_text(text_of(site, job).text).tree["hoods"]
    assert [(h["length"], h.get("depth")) for h in hoods[1:]] == [("9 ft", "50 in"), ("7 ft", None)]
    assert focus(page) == "hoods.1.length"


def test_what_is_being_typed_stays_when_the_page_is_drawn_anew(page, site, base, quiet, overheard):
    watch(page, overheard)
    job = site.add("ferry-cafe")
    open_at(page, base, job, "exhaust")
    kind = cell(page, "exhaust_fans.0.drive.kind")
    kind.select_option("VFD")
    airflow = cell(page, "exhaust_fans.0.airflow")
    airflow.fill("2,300")
    page.wait_for_selector('table.grid [data-path="exhaust_fans.0.drive.motor.hp"]')
    assert airflow.input_value() == "2,300"
    airflow.press("End")
    airflow.type(" cfm")
    airflow.press("Enter")
    stored(page, 3)
    assert read_text(text_of(site, job).text).tree["exhaust_fans"][0]["airflow"] == "2,300 cfm"


def test_what_is_wrong_stands_beside_the_cell_and_in_the_list(page, site, base, quiet, overheard):
    watch(page, overheard)
    job = site.add("ferry-cafe")
    open_at(page, base, job, "exhaust")
    assert page.locator("#problems").is_hidden()
    airflow = cell(page, "exhaust_fans.0.airflow")
    airflow.fill("2400")
    airflow.press("Enter")
    stored(page, 2)
    assert airflow.get_attribute("aria-invalid") == "true"
    described = airflow.get_attribute("aria-describedby")
    assert "needs a unit" in page.locator(f"#{described}").inner_text()
    assert page.locator("#problem-list a").count() == 1
    assert "1 to mend" in page.locator('[data-count="exhaust"]').inner_text()
    page.locator('[data-count="hoods"]').click()
    page.locator("#problem-list a").click()
    page.wait_for_selector("#line-up-body [data-was]")
    page.wait_for_function("() => document.activeElement.dataset.path === 'exhaust_fans.0.airflow'")
    page.keyboard.press("Control+A")
    page.keyboard.type("2,400 cfm")
    page.keyboard.press("Enter")
    stored(page, 3)
    assert page.locator("#problems").is_hidden()
    assert page.locator("[aria-invalid]").count() == 0
    assert read_job(text_of(site, job).text).exhaust_fans[0].airflow == 2400.0


def test_names_are_carried_on_and_takers_are_told(page, site, base, quiet, overheard):
    watch(page, overheard)
    job = site.add("ferry-cafe")
    open_at(page, base, job, "hoods")
    tag = cell(page, "hoods.0.tag")
    tag.fill("H-7")
    tag.press("Enter")
    page.get_by_role("button", name="Write H-7 there too").click()
    stored(page, 3)
    page.wait_for_function("() => document.querySelectorAll('[aria-invalid]').length === 0")
    assert read_job(text_of(site, job).text).exhaust_fans[0].serves == ("H-7",)
    page.get_by_role("button", name="Take H-7 away").click()
    note = page.locator("#notes .note").last
    assert "exhaust fan EF-1: serves" in note.inner_text()
    note.get_by_role("button", name="Leave it").click()
    assert text_of(site, job).number == 3


def test_a_silent_office_loses_nothing(page, site, base, quiet):
    job = site.add("ferry-cafe")
    open_at(page, base, job, "hoods")
    page.context.set_offline(True)
    length = cell(page, "hoods.0.length")
    length.fill("9 ft")
    length.press("Enter")
    again = page.get_by_role("button", name="Send it again")
    again.wait_for()
    assert length.input_value() == "9 ft"
    assert "unsent" in length.get_attribute("class")
    page.context.set_offline(False)
    again.click()
    stored(page, 2)
    assert read_job(text_of(site, job).text).hoods[0].length == 108.0
    assert "unsent" not in length.get_attribute("class")


def test_two_who_change_one_value_choose(page, site, base, quiet):
    job = site.add("ferry-cafe")
    open_at(page, base, job, "hoods")
    with site.db.session() as session:
        text = save_of(session, job).text.replace("length: 8 ft", "length: 10 ft")
        save_job(session, Who("Nell", Role.ENGINEER), job, text, 1, "n", "1", "A", "a longer hood")
    length = cell(page, "hoods.0.length")
    length.fill("9 ft")
    length.press("Enter")
    page.wait_for_url("**/merge")
    row = page.locator("table.merge tbody tr")
    assert re.sub(r"\s+", " ", row.inner_text()).startswith("hood H-1: length 8 ft 9 ft 10 ft")
    row.get_by_label("9 ft").check()
    page.get_by_role("button", name="Store what is chosen").click()
    page.wait_for_url("**/line-up/who")
    assert read_job(text_of(site, job).text).hoods[0].length == 108.0


def test_everything_about_an_entry_is_one_link_away(page, site, base, quiet, overheard):
    watch(page, overheard)
    job = site.add("ferry-cafe")
    open_at(page, base, job, "exhaust")
    page.locator("table.grid").get_by_role("link", name="EF-1").click()
    page.wait_for_selector("#item [data-was]")
    page.locator("#item").get_by_label("fan efficiency").fill("65 %")
    page.keyboard.press("Enter")
    stored(page, 2)
    kind = page.locator("#item").get_by_label("kind").first
    kind.select_option("VFD")
    stored(page, 3)
    page.wait_for_selector('#item [data-path="exhaust_fans.0.drive.motor.hp"]')
    assert "Left out" in page.locator("#notes").inner_text()
    drive = read_text(text_of(site, job).text).tree["exhaust_fans"][0]
    assert drive["drive"]["kind"] == "VFD"
    assert drive["air"]["fan_efficiency"] == "65 %"


@pytest.mark.parametrize("size", SIZES)
def test_pages_fit_every_screen(browser, site, base, quiet, size):
    job = site.add("school-kitchen")
    wide, high = SIZES[size]
    heard: list[str] = []
    page = browser.new_context(viewport={"width": wide, "height": high}).new_page()
    watch(page, heard)
    said = {}
    for path in (f"/jobs/{job}/line-up/hoods?item=hoods.0", f"/jobs/{job}/text", "/jobs", "/new-job", "/import"):
        page.goto(base + path)
        if page.evaluate("document.documentElement.scrollWidth") > wide:
            said[path] = page.evaluate("document.documentElement.scrollWidth")
    page.context.close()
    assert said == {}
    assert heard == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_line_up_can_be_used_by_everyone(browser, site, base, quiet, scheme):
    job = site.add("ferry-cafe")
    page = browser.new_context(viewport={"width": 1024, "height": 800}, color_scheme=scheme).new_page()
    page.goto(f"{base}/jobs/{job}/line-up/exhaust?item=exhaust_fans.0")
    wrong = complaints(page)
    page.context.close()
    assert wrong == []


def test_what_is_typed_before_the_page_is_ready_is_stored_too(page, site, base, quiet, overheard):
    job = site.add("ferry-cafe")
    watch(page, overheard)
    held = []
    page.route("**/static/line-up.js*", lambda route: held.append(route))
    page.goto(f"{base}/jobs/{job}/line-up/who", wait_until="commit")
    page.get_by_label("altitude").fill("1,200 ft")
    page.get_by_label("date").focus()
    held[0].continue_()
    stored(page, 2)
    assert read_job(text_of(site, job).text).site.altitude == 1200.0
    assert text_of(site, job).number == 2
