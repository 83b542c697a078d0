"""What holds for every page: a rule on every route, a declaration for every template."""

from __future__ import annotations

from dataclasses import fields

import pytest
from fastapi.routing import APIRoute
from jinja2 import meta, nodes
from starlette.routing import Mount, WebSocketRoute
from tests.web.support import make_site

from galleyproof.web.access import Needs
from galleyproof.web.app import ROUTERS
from galleyproof.web.page import COMMON, environment, pages


@pytest.fixture
def site(tmp_path):
    return make_site(tmp_path)


def test_every_route_has_its_rule(site):
    routes = [route for router in ROUTERS for route in router.routes]
    assert len(routes) > 3
    for route in routes:
        assert isinstance(route, APIRoute)
        assert any(isinstance(d.call, Needs) for d in route.dependant.dependencies), route.path


def test_nothing_is_served_past_the_routers(site):
    own = [r for r in site.client.app.routes if isinstance(r, (APIRoute, Mount, WebSocketRoute))]
    assert {r.path for r in own} == {"/static", "/typeface"}


def used_names(template: str) -> set[str]:
    """Names a template takes from its context, with those of what it extends and includes."""
    env = environment()
    found, left, seen = set(), [template], set()
    while left:
        name = left.pop()
        if name in seen:
            continue
        seen.add(name)
        tree = env.parse(env.loader.get_source(env, name)[0])
        found |= meta.find_undeclared_variables(tree)
        found -= {m.name for m in tree.find_all(nodes.Macro)}
        left += [t for t in meta.find_referenced_templates(tree) if t is not None]
    return found


@pytest.mark.parametrize("page", pages(), ids=lambda p: p.__name__)
def test_each_page_declares_what_its_template_uses(page):
    used = used_names(page.template)
    declared = {f.name for f in fields(page)}
    assert used <= declared | set(COMMON)
    assert declared - {"job", "title", "standing"} <= used


def test_the_list_of_jobs_searches_name_and_number(site):
    site.add("ferry-cafe")
    site.add("school-kitchen")
    assert "ferry-cafe" in site.client.get("/jobs").text
    found = site.client.get("/jobs?words=school").text
    assert "school-kitchen" in found
    assert "ferry-cafe" not in found
    # signs that mean something to the database mean nothing in a search
    assert "No job here" in site.client.get("/jobs?words=%25").text


def test_a_strange_host_is_refused(site):
    assert site.client.get("/jobs", headers={"host": "elsewhere.example"}).status_code == 400
