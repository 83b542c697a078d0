"""Two saves beside each other in a browser: chosen in the list, told in words, marked on sheets that can be sized."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect
from tests.accessible import complaints
from tests.browser import *  # noqa: F403  fixtures of the browser
from tests.browser import watch
from tests.web.server import serving
from tests.web.support import EXAMPLES, make_site

from galleyproof.store.jobs import save_job, save_of
from galleyproof.store.people import LOCAL


def longer(text):
    return re.sub(r"(tag: R-1, .*?length:) \d+ ft", r"\1 95 ft", text, count=1)


PATIENCE_MS = 60_000
"""How long a calculation may take on a busy machine. [ms]"""


@pytest.fixture(autouse=True)
def _patient():
    expect.set_options(timeout=PATIENCE_MS)
    yield
    expect.set_options(timeout=5_000)


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    site = make_site(tmp_path_factory.mktemp("office"))
    job = site.add("ferry-cafe")
    with site.db.session() as s:
        first = save_of(s, job).text
        save_job(s, LOCAL, job, first + "# a remark\n", 1, "cafe", "S-1", "A", "a remark")
        save_job(s, LOCAL, job, longer(first), 2, "cafe", "S-1", "A", "the panel stands farther away")
    assert (EXAMPLES / "ferry-cafe.yaml").read_text() == first
    with serving(site.client.app) as address:
        yield f"{address}/jobs/{job}/revisions"


def test_two_saves_are_chosen_compared_and_seen_on_marked_sheets(base, page, overheard):
    watch(page, overheard)
    page.set_default_timeout(PATIENCE_MS)
    page.goto(base)
    expect(page.get_by_role("heading", name="From save 2 to save 3")).to_be_visible()
    page.get_by_label("save 1 as the old one").check()
    page.get_by_label("save 2 as the new one").check()
    page.get_by_role("button", name="Compare the two chosen saves").click()
    expect(page.get_by_text("Both are wired and set alike.")).to_be_visible()

    page.get_by_label("save 3 as the new one").check()
    page.get_by_role("button", name="Compare the two chosen saves").click()
    row = page.get_by_role("row", name="route R-1: length")
    expect(row).to_contain_text("45 ft")
    expect(row).to_contain_text("95 ft")
    expect(page.get_by_role("heading", name=re.compile("Conductors re-sized"))).to_be_visible()
    assert complaints(page) == []

    # the list of changes first; then a sheet with its marks, which grows under the keys
    expect(page.get_by_text("List of changes: sheet 9.1")).to_be_visible()
    page.get_by_role("navigation", name="Marked sheets").get_by_role("link").nth(1).click()
    expect(page.get_by_text("New drawing: sheet")).to_be_visible()
    expect(page.get_by_role("navigation", name="Marked sheets").get_by_role("link").nth(1)).to_have_attribute(
        "aria-current", "true"
    )
    assert page.locator("#marked #REVISION polygon").count() > 0
    moved = page.locator("#marked .paper-view")
    before = moved.get_attribute("transform")
    page.locator("#marked .viewer").focus()
    page.keyboard.press("+")
    expect(moved).not_to_have_attribute("transform", before or "")
    assert complaints(page) == []


def test_an_older_save_is_restored_by_its_button(base, page, overheard):
    watch(page, overheard)
    page.set_default_timeout(PATIENCE_MS)
    page.goto(base)
    page.get_by_role("button", name="Restore save 1 as a new save").click()
    expect(page.get_by_role("row", name="restored save 1")).to_contain_text("stands")
    expect(page.locator("#head-number")).to_have_text("4")
