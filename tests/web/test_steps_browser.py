"""The row of steps on a narrow screen: the present one is in sight, wherever in the row it stands."""

from __future__ import annotations

import pytest
from tests.browser import *  # noqa: F403  fixtures of the browser
from tests.web.server import serving
from tests.web.support import make_site

from galleyproof.web.page import STEPS

IN_SIGHT = """() => {
  const one = document.querySelector("nav.order a[aria-current]").getBoundingClientRect();
  return [one.left >= 0 && one.right <= window.innerWidth, window.scrollY];
}"""
READY = "() => document.readyState === 'complete'"


@pytest.mark.parametrize("width", [360, 820])
def test_the_present_step_is_in_sight(tmp_path, new_context, width):
    site = make_site(tmp_path)
    job = site.add("ferry-cafe")
    with serving(site.client.app) as address:
        page = new_context(viewport={"width": width, "height": 800}).new_page()
        for step in (STEPS[0], *STEPS[-3:]):  # the first one, and those that stood beyond the edge
            page.goto(f"{address}/jobs/{job}/{step.path}")
            page.wait_for_function(READY)
            assert page.evaluate(IN_SIGHT) == [True, 0], step.name
        page.context.close()
