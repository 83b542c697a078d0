"""An installer comes by a link on a tablet, types a name, and is in the one job."""

from __future__ import annotations

from tests.accessible import complaints
from tests.browser import *  # noqa: F403  fixtures of the browser
from tests.browser import watch
from tests.web.house import BOSS, Never, add_people
from tests.web.server import serving
from tests.web.support import make_site

from galleyproof.store.sign_ins import add_link, word_of


def test_a_link_opens_the_job_after_a_name(tmp_path, new_context, overheard):
    site = make_site(tmp_path)
    job = site.add("ferry-cafe")
    add_people(site)
    office = site.client.app.state.office
    office.work = Never()
    with site.db.session() as session:
        word = word_of(office.key, add_link(session, BOSS, job, "roof crew", 3))
    with serving(site.client.app) as address:
        for width, light in ((820, "light"), (360, "dark")):
            page = new_context(viewport={"width": width, "height": 1180}, has_touch=True, color_scheme=light).new_page()
            watch(page, overheard)
            page.goto(f"{address}/link/{word}")
            assert complaints(page) == []
            assert page.evaluate("() => document.documentElement.scrollWidth <= window.innerWidth")
            name = page.get_by_label("Your name")
            button = page.get_by_role("button", name="Open the job")
            for target in (name, button):
                assert target.bounding_box()["height"] >= 44  # for gloves; WCAG 2.2, 2.5.8 asks for 24
            name.fill("Jo Marl")
            button.tap()
            page.wait_for_url(f"**/jobs/{job}/*")
            pages = page.get_by_role("navigation", name="Pages of the job").get_by_role("link")
            assert pages.all_inner_texts() == ["Drawings", "Check-out", "Diagnosis", "Issued sets"]
            page.goto(f"{address}/jobs/{job}/issued")
            page.get_by_role("button", name="Sign out").tap()
            page.wait_for_url("**/sign-in")
            page.context.close()
