"""The check-out by touch, in a browser: found, merged, kept while the office is silent, signed."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Locator, Page
from playwright.sync_api import TimeoutError as NotInTime
from tests.accessible import complaints
from tests.browser import *  # noqa: F403
from tests.checkout.support import plan, slips, table
from tests.web.house import make_house
from tests.web.on_site import Person, once
from tests.web.server import serving
from tests.web.support import make_site

from galleyproof.store.people import LOCAL
from galleyproof.store.readings import readings_of
from galleyproof.store.sign_ins import revoke_link, word_of

TABLET = {"viewport": {"width": 820, "height": 1180}, "has_touch": True}
SILENT = re.compile(r"^request failed: .*/check-out/(entries|state)|ERR_INTERNET_DISCONNECTED|ERR_CONNECTION_REFUSED")


@pytest.fixture
def site(tmp_path, monkeypatch):
    once(monkeypatch)
    return make_site(tmp_path)


@pytest.fixture
def job(site):
    return site.add("ferry-cafe")


@pytest.fixture
def base(site):
    with serving(site.client.app) as address:
        yield address


def begin(page, address, job, name="R. Quayle"):
    """Open the check-out and say who reads with what."""
    page.goto(f"{address}/jobs/{job}/check-out")
    page.get_by_label("Who reads").fill(name)
    page.get_by_label("Which meter").fill("meter 1")
    page.get_by_label("It has a low-impedance range").check()
    page.get_by_role("button", name="Go on").tap()
    pass_gate(page)


def pass_gate(page):
    """Read the caution of the stage, when it stands before its readings."""
    page.wait_for_selector(".gate, article.probe")
    if page.locator(".gate").count():
        assert page.locator("article.probe").count() == 0
        page.get_by_role("button", name="I have read this").tap()
        page.wait_for_selector("article.probe")


def key_of(page):
    return page.locator("article.probe").get_attribute("data-key")


def read(page, person):
    """Do the reading the page shows, by touch; gives its key."""
    pass_gate(page)
    key = key_of(page)
    shown = person.reads(key)
    field = page.locator("#reading")
    if field.count():
        field.fill(shown)
        page.locator(".entry").get_by_role("button", name="Enter").tap()
    else:
        page.locator(".answers").get_by_role("button", name=re.compile(f"^{re.escape(shown)}$", re.IGNORECASE)).tap()
    page.wait_for_function(
        "key => { const card = document.querySelector('article.probe');"
        " return !card || card.dataset.key !== key || card.querySelector('.note'); }",
        arg=key,
    )
    return key


def follow(page: Page, next_one: Locator) -> None:
    """Go where the causes ask to look next. They may be weighed anew under the finger: a person then taps again."""
    for _ in range(5):
        before, to = key_of(page), next_one.get_attribute("data-probe")
        next_one.tap()
        if to == before:
            return
        try:
            page.wait_for_function(
                "key => document.querySelector('article.probe')?.dataset.key !== key", arg=before, timeout=6000
            )
        except NotInTime:
            continue
        return
    pytest.fail(f"after five taps it still asks for {before}")


def test_a_deliberate_mistake_is_found_through_the_tablet_alone(site, job, base, profile):
    """A mistake that the fifth reading of the plan is the first to show."""
    slip = next(s for s in plan().readings[4].first if table().shows[s])
    wrong = dict(table().changed[table().slips.index(slip)])
    group = next(g for g in ({table().slips[m] for m in g} for g in table().groups) if slip in g)
    person = Person(site, job, wrong=wrong)
    page = profile(**TABLET).new_page()
    begin(page, base, job)
    for _ in range(60):
        read(page, person)
        if page.locator(".chase:not([hidden]) .causes").count() or page.locator("article .note.bad").count():
            page.wait_for_selector(".chase .causes")
            page.wait_for_load_state("networkidle")
            if page.locator(".chase .found").count():
                break
            next_one = page.locator(".chase [data-probe]")
            if not next_one.count():
                break
            follow(page, next_one)
    first = page.locator(".causes > li.first").inner_text().lower()
    assert any(s.sentence.lower() in first for s in slips() if s.key in group), first
    assert page.locator(".chase .found").count() == 1
    # it is put right and said so: what was off is open again
    page.get_by_label("Put right?").fill("landed it where it belongs")
    page.get_by_role("button", name="It is put right").tap()
    page.wait_for_selector(".chase", state="hidden")
    assert "1 off" not in page.locator(".stages").inner_text()


def test_two_tablets_on_one_job_see_each_others_readings_and_lose_none(site, job, base, profile):
    one, two = profile("one", **TABLET).new_page(), profile("two", **TABLET).new_page()
    begin(one, base, job, "R. Quayle")
    begin(two, base, job, "N. Teal")
    person = Person(site, job)
    first = read(one, person)
    two.wait_for_function("() => document.querySelector('.stages').textContent.includes('1 of')", timeout=15_000)
    assert key_of(two) == first
    # the other one reads something else there: both stand side by side on both
    two.locator("#reading").fill("3.3")
    two.locator(".entry").get_by_role("button", name="Enter").tap()
    two.wait_for_selector(".readings.beside li >> nth=1")
    assert two.locator(".readings.beside li").count() == 2
    one.goto(f"{base}/jobs/{job}/check-out#{first}")
    one.reload()
    one.wait_for_selector(".readings.beside li >> nth=1")
    assert {"R. Quayle", "N. Teal"} == {
        re.match(r"[^,]+", t)[0] for t in one.locator(".readings.beside .by").all_inner_texts()
    }
    with site.db.session() as session:
        assert [e.read for e in readings_of(session, job) if e.probe == first] == [person.reads(first), "3.3"]


def test_what_is_entered_while_the_office_is_silent_is_kept_and_sent_later(site, job, base, profile, overheard):
    context = profile(**TABLET)
    page = context.new_page()
    begin(page, base, job)
    person = Person(site, job)
    context.set_offline(True)
    keys = [read(page, person) for _ in range(3)]
    page.wait_for_selector("text=3 entries wait on this device.")
    assert len(set(keys)) == 3
    with site.db.session() as session:
        assert [e for e in readings_of(session, job) if e.probe in keys] == []
    # the browser is closed in the basement and opened again upstairs
    page.close()
    context.set_offline(False)
    page = context.new_page()
    page.goto(f"{base}/jobs/{job}/check-out")
    page.wait_for_function("() => document.querySelector('.stages')?.textContent.includes('3 of')", timeout=15_000)
    assert page.locator(".waiting").is_hidden()
    with site.db.session() as session:
        stored = [e for e in readings_of(session, job) if e.probe in keys]
    assert [e.probe for e in stored] == keys
    assert [e.read for e in stored] == [person.reads(k) for k in keys]
    overheard[:] = [h for h in overheard if not SILENT.search(h)]


def test_an_installer_by_a_link_reads_and_keeps_what_was_typed_when_it_is_revoked(
    tmp_path, monkeypatch, profile, overheard
):
    once(monkeypatch)
    house = make_house(tmp_path, ())
    office = house.office
    word = word_of(office.client.app.state.office.key, house.link)
    page = profile(**TABLET).new_page()
    with serving(office.client.app) as base:
        page.goto(f"{base}/link/{word}")
        page.get_by_label("Your name").fill("Kip Harrow")
        page.get_by_role("button", name="Open the job").tap()
        page.wait_for_url("**/jobs/1/**")
        page.goto(f"{base}/jobs/1/check-out")
        assert "Kip Harrow" in page.get_by_label("Who reads").input_value()
        page.get_by_label("Which meter").fill("meter 1")
        page.get_by_role("button", name="Go on").tap()
        pass_gate(page)
        first = key_of(page)
        page.locator("#reading").fill("OL")
        page.locator(".entry").get_by_role("button", name="Enter").tap()
        page.wait_for_selector("text=as expected")
        with office.db.session() as session:
            assert [e.by for e in readings_of(session, 1) if e.probe == first] == ["Kip Harrow"]
            revoke_link(session, LOCAL, 1, house.link.id)
        page.locator("#reading").fill("OL")
        page.locator(".entry").get_by_role("button", name="Enter").tap()
        page.wait_for_selector("text=The office does not know you any more.")
        assert "1 entry waits on this device." in page.locator(".waiting").inner_text()
    overheard[:] = [h for h in overheard if "401" not in h and not SILENT.search(h)]


def test_a_check_out_is_signed_with_a_finger(site, job, base, profile, overheard):
    page = profile(**TABLET).new_page()
    begin(page, base, job)
    page.get_by_role("button", name="Sign", exact=True).first.tap()
    page.locator(".sign").get_by_role("button", name="Sign").tap()
    page.wait_for_selector("text=readings are still open")
    Person(site, job).read_all()
    page.wait_for_function("() => !document.querySelector('.note.warn')", timeout=15_000)
    pad = page.locator("canvas.pad")
    pad.scroll_into_view_if_needed()
    box = pad.bounding_box()
    page.mouse.move(box["x"] + 60, box["y"] + 60)
    page.mouse.down()
    for n in range(20):
        page.mouse.move(box["x"] + 60 + 20 * n, box["y"] + 60 + 40 * (n % 3))
    page.mouse.up()
    page.locator(".sign").get_by_role("button", name="Sign").tap()
    page.wait_for_selector(".signed svg path")
    with site.db.session() as session:
        signature = [e for e in readings_of(session, job) if e.probe == "signature"]
    assert len(signature) == 1
    name, drawn = signature[0].read.split(" | drawn: ")
    assert name == "R. Quayle"
    assert len(drawn) >= 20
    with page.expect_download() as got:
        page.get_by_role("link", name="Start-up record and acceptance list").click()
    assert got.value.path().read_bytes()[:5] == b"%PDF-"
    # a page that turns into a download is a request given up, as the browser counts
    overheard[:] = [h for h in overheard if not h.endswith("/check-out/record?save=1")]


def test_a_whole_reading_is_taken_by_keyboard_alone(site, job, base, profile):
    page = profile(viewport={"width": 1440, "height": 900}).new_page()
    page.goto(f"{base}/jobs/{job}/check-out")
    page.get_by_label("Who reads").focus()
    page.keyboard.type("R. Quayle")
    page.keyboard.press("Tab")
    page.keyboard.type("meter 1")
    page.keyboard.press("Enter")
    page.wait_for_selector(".gate")
    page.get_by_role("button", name="I have read this").focus()
    page.keyboard.press("Enter")
    page.wait_for_selector("#reading")
    first = key_of(page)
    page.locator("#reading").focus()
    page.keyboard.type("OL")
    page.keyboard.press("Enter")
    page.wait_for_function("key => document.querySelector('article.probe').dataset.key !== key", arg=first)
    page.keyboard.press("PageUp")
    page.wait_for_function("key => document.querySelector('article.probe').dataset.key === key", arg=first)
    assert "open (OL)" in page.locator(".readings").inner_text()


@pytest.mark.parametrize("light", ["light", "dark"])
def test_people_with_a_disability_can_use_every_state_of_the_pages(site, job, base, profile, light):
    page = profile(color_scheme=light, **TABLET).new_page()
    page.goto(f"{base}/jobs/{job}/check-out")
    page.wait_for_selector("#by")
    assert complaints(page) == []
    begin(page, base, job)
    person = Person(site, job)
    read(page, person)
    page.wait_for_selector(".frame svg")
    assert complaints(page) == []
    page.locator("#reading").fill("0.4")
    page.locator(".entry").get_by_role("button", name="Enter").tap()
    page.wait_for_selector(".chase .causes")
    assert complaints(page) == []
    for view in ("All readings", "Sign"):
        page.locator(".stages").get_by_role("button", name=view).tap()
        assert complaints(page) == []
    for path in ("diagnosis", "check-out/take-in", "check-out/field-sheet"):
        page.goto(f"{base}/jobs/{job}/{path}")
        assert complaints(page) == []
    page.goto(f"{base}/jobs/{job}/diagnosis?call=true")
    page.get_by_label("What is noticed").fill("EF-1 does not run")
    page.get_by_label("What is noticed").press("Enter")
    page.wait_for_selector(".causes")
    assert complaints(page) == []
