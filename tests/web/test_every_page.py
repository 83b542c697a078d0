"""What every page is held to in a browser: whole, quiet, never wider than the screen, and open to all."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect
from tests.accessible import complaints
from tests.browser import *  # noqa: F403  fixtures of the browser
from tests.browser import watch
from tests.web.addresses import PAGES, PIECES
from tests.web.house import NAMES, PASSWORD, add_people
from tests.web.on_site import once
from tests.web.server import serving
from tests.web.support import make_site

from galleyproof.web.app import ROUTERS

PATIENCE_MS = 60_000
"""How long a calculation may take on a busy machine. [ms]"""
WIDTHS = (1440, 820, 360)
FITS = "() => document.documentElement.scrollWidth <= window.innerWidth"


def test_every_page_has_its_address():
    routes = {r.path for router in ROUTERS for r in router.routes if "GET" in r.methods}
    pages = {route for route in routes if not route.startswith("/api/")}
    assert pages == {page.route for page in PAGES} | PIECES


@pytest.fixture(scope="module")
def alone(tmp_path_factory):
    """An office on one computer, with the ferry café; gives its address and the café's number."""
    site = make_site(tmp_path_factory.mktemp("alone"))
    job = site.add("ferry-cafe")
    with serving(site.client.app) as address:
        yield address, job


@pytest.fixture(scope="module")
def office(tmp_path_factory):
    """An office where people sign in."""
    site = make_site(tmp_path_factory.mktemp("office"))
    job = site.add("ferry-cafe")
    with pytest.MonkeyPatch.context() as patch:
        from tests.web.house import quick_hashes

        quick_hashes(patch)
        add_people(site)
        with serving(site.client.app) as address:
            yield address, job


@pytest.mark.parametrize("one", PAGES, ids=lambda p: p.name)
def test_page(one, request, new_context, monkeypatch, overheard):
    once(monkeypatch)
    address, job = request.getfixturevalue("office" if one.accounts else "alone")
    for light in ("light", "dark"):
        page = new_context(color_scheme=light, viewport={"width": WIDTHS[0], "height": 900}).new_page()
        page.set_default_timeout(PATIENCE_MS)
        watch(page, overheard)
        if one.accounts and one.name != "sign-in":
            page.goto(f"{address}/sign-in")
            page.get_by_label("Name").fill(NAMES["administrator"])
            page.get_by_label("Password").fill(PASSWORD)
            page.get_by_role("button", name="Sign in").click()
            page.wait_for_url("**/jobs**")
        page.goto(address + one.path.format(job=job))
        expect(page.locator("#standing.standing")).to_have_count(0, timeout=PATIENCE_MS)
        expect(page.locator("main")).to_contain_text(one.holds, timeout=PATIENCE_MS)
        assert complaints(page) == []
        for width in WIDTHS[1:]:
            page.set_viewport_size({"width": width, "height": 900})
            assert page.evaluate(FITS), f"{one.name} is wider than {width} px"
        page.context.close()
