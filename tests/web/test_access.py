"""No one where they do not belong: every caller against every route, held to the table in ``rules.py``."""

from __future__ import annotations

import re

import pytest
from sqlalchemy import func, select
from starlette.testclient import TestClient
from tests.web.house import CALLERS, NAMES, PASSWORD, Never, browser, form_token, make_house, quick_hashes, sign_in
from tests.web.rules import EVERYBODY, NOTHING_CHANGES, RULES, SENDS

from galleyproof.store.accounts import add_token, find_person
from galleyproof.store.schema import LogRow
from galleyproof.web.app import ROUTERS
from galleyproof.web.work import Calculator

ROUTES = sorted(f"{method} {route.path}" for router in ROUTERS for route in router.routes for method in route.methods)
"""Every route of the app, from the app itself: ``GET /jobs/{job}``."""
FOR_PROGRAMS = [route for route in ROUTES if " /api/v1/" in route]
PAGES = [route for route in ROUTES if route not in FOR_PROGRAMS]


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    with pytest.MonkeyPatch.context() as patch:
        quick_hashes(patch)
        made = make_house(tmp_path_factory.mktemp("house"))
    for site in (made.office, made.alone):
        site.client.app.state.office.work = Never()
    tokens = {}
    with made.office.db.session() as session:
        for role, name in NAMES.items():
            tokens[role] = add_token(session, find_person(session, name)[0].who, "test")
    made.tokens = tokens
    return made


def filled(path: str, given: dict[str, object]) -> str:
    """A route's path with something in each of its places: job 1, and of all else what there is none of."""
    return re.sub(r"{(\w+)(?::\w+)?}", lambda m: str(given.get(m[1], 1 if m[1] == "job" else 999)), path)


def call(house, caller: str, route: str, job: int = 1):
    """One call of a route without anything useful in it."""
    method, path = route.split(" ", 1)
    client = house.clients[caller]
    headers = {}
    given = {}
    if path.startswith("/api/"):
        client = TestClient(house.site(caller).client.app, base_url="http://testserver")
        if caller in house.tokens:
            headers["authorization"] = f"Bearer {house.tokens[caller]}"
        if method != "GET":
            given["json"] = {}
    elif method != "GET":
        headers["x-form-token"] = house.token(caller)
        given["data"] = {}
    return client.request(method, filled(path, {"job": job}), headers=headers, follow_redirects=False, **given)


def kept_out(answer) -> bool:
    """Whether the caller was not let in."""
    to = answer.headers.get("location", "")
    return answer.status_code in (401, 403) or to.startswith("/sign-in?") or (to == "/sign-in")


# --- the table -------------------------------------------------------------------------------------------------------


def test_every_route_has_its_row():
    missing = [route for route in ROUTES if route not in RULES]
    gone = [route for route in RULES if route not in ROUTES]
    assert not missing, "tests/web/rules.py says of every route whom it lets in; add to RULES: " + "".join(
        f'\n    "{route}": READ,  # or SITE, EDIT, ...' for route in missing
    )
    assert not gone, f"tests/web/rules.py has rows of routes that are no more: {gone}"


def test_every_route_that_changes_something_says_what_succeeds():
    changing = {route for route in ROUTES if not route.startswith("GET ")}
    missing = sorted(changing - set(SENDS) - NOTHING_CHANGES)
    assert not missing, (
        "tests/web/rules.py says what a call of each route sends that succeeds; add to SENDS (or, when nothing that is "
        "kept changes, to NOTHING_CHANGES): "
        + "".join(f'\n    "{route}": lambda site: {{"data": {{...}}}},' for route in missing)
    )
    assert not (set(SENDS) | NOTHING_CHANGES) - changing


SIGNING = {"POST /sign-in", "POST /sign-out", "POST /account/sign-out-everywhere"}
"""Routes whose right answer leads to the sign-in page, or that end the sign-in the other tests need."""


@pytest.mark.parametrize("route", [r for r in ROUTES if r not in SIGNING])
def test_a_route_lets_in_whom_its_row_names(house, route):
    allowed = RULES.get(route)
    if allowed is None:
        pytest.fail(f'add "{route}" to RULES in tests/web/rules.py')
    before = logged(house.office), logged(house.alone)
    for caller in CALLERS:
        answer = call(house, caller, route)
        let_in = caller in allowed
        if caller == "link":
            of_its_job = "{job}" in route and route not in FOR_PROGRAMS
            let_in = let_in and (of_its_job or allowed == EVERYBODY or route == "GET /")
        rule = "lets" if let_in else "does not let"
        assert kept_out(answer) != let_in, (
            f"{route} answers {answer.status_code} to {caller}; tests/web/rules.py says it {rule} them in"
        )
        assert answer.status_code < 500, f"{route} answers {answer.status_code} to {caller}"
        if not let_in and route in FOR_PROGRAMS:
            known = caller in NAMES
            assert answer.status_code == (403 if known else 401)
            assert answer.headers["content-type"] == "application/problem+json"
        elif not let_in and caller != "nobody":
            assert answer.status_code == 403
            assert "may not do this" in answer.text
    if route.startswith("GET "):
        assert (logged(house.office), logged(house.alone)) == before, f"{route} is a GET and changes something"


@pytest.mark.parametrize("route", [r for r in PAGES if "{job}" in r])
def test_a_link_opens_no_other_job(house, route):
    assert call(house, "link", route, job=2).status_code == 403


@pytest.mark.parametrize("route", FOR_PROGRAMS)
def test_no_cookie_opens_the_interface_for_programs(house, route):
    method, path = route.split(" ", 1)
    for caller in ("administrator", "link"):
        headers = {"x-form-token": house.token(caller)}
        answer = house.clients[caller].request(method, filled(path, {}), headers=headers)
        assert answer.status_code == (200 if RULES[route] == EVERYBODY else 401)


@pytest.mark.parametrize("route", PAGES)
def test_no_token_opens_a_page(house, route):
    if RULES[route] == EVERYBODY:
        return
    method, path = route.split(" ", 1)
    client = browser(house.office)
    headers = {"authorization": f"Bearer {house.tokens['administrator']}"}
    answer = client.request(method, filled(path, {}), headers=headers, follow_redirects=False)
    assert answer.status_code == 303
    assert answer.headers["location"].startswith("/sign-in")


# --- forms of other sites ---------------------------------------------------------------------------------------------

FORMS = [r for r in PAGES if not r.startswith("GET ")]


@pytest.mark.parametrize("route", FORMS)
def test_no_form_of_another_site_is_taken(house, route):
    method, path = route.split(" ", 1)
    path = filled(path, {})
    client = house.clients["administrator"]
    own, of_another = house.token("administrator"), house.token("engineer")
    assert own != of_another
    strange = [
        {},
        {"x-form-token": ""},
        {"x-form-token": own[:-1]},
        {"x-form-token": of_another},
        {"x-form-token": own, "origin": "http://elsewhere.example"},
        {"x-form-token": own, "origin": "null"},
        {"x-form-token": own, "origin": "http://testserver.elsewhere.example"},
        {"x-form-token": own, "origin": "http://testserver:81"},
    ]
    before = logged(house.office)
    for n, headers in enumerate(strange):
        kind = ({"data": {"a": "b"}}, {"json": {}}, {"content": b"a=b"})[n % 3]
        answer = client.request(method, path, headers=headers, follow_redirects=False, **kind)
        assert answer.status_code == 403, (headers, kind)
    for field in ("", own[:-1], of_another):
        answer = client.request(method, path, data={"form_token": field}, follow_redirects=False)
        assert answer.status_code == 403
    assert logged(house.office) == before


@pytest.mark.parametrize(
    "route", [r for r in ROUTES if r.split(" ")[1].startswith("/api/") and RULES.get(r) != EVERYBODY]
)
def test_no_website_drives_the_interface_of_a_computer_without_accounts(house, route):
    method, path = route.split(" ", 1)
    path = filled(path, {})
    client = TestClient(house.alone.client.app, base_url="http://testserver")
    strange = [
        {"origin": "http://elsewhere.example"},
        {"origin": "null"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ]
    before = logged(house.alone)
    for headers in strange:
        assert client.request(method, path, headers=headers, json={}).status_code == 403
    if method != "GET":  # what a form of another site can send without being asked for leave
        for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x", ""):
            headers = {"content-type": kind}
            assert client.request(method, path, headers=headers, content=b"{}").status_code in (403, 422)
    # a name that leads to this computer from elsewhere
    assert client.request(method, path, headers={"host": "elsewhere.example"}, json={}).status_code == 400
    assert logged(house.alone) == before


# --- the log ----------------------------------------------------------------------------------------------------------


def logged(site) -> int:
    with site.db.session() as session:
        return session.scalar(select(func.count()).select_from(LogRow))


SHARED = Calculator(processes=False)
"""All houses have the same jobs: what is computed of them is computed once."""


@pytest.fixture(scope="module")
def ground(tmp_path_factory):
    """An office, and its database as it is at first."""
    folder = tmp_path_factory.mktemp("ground")
    with pytest.MonkeyPatch.context() as patch:
        quick_hashes(patch)
        house = make_house(folder, callers=("administrator",))
    house.token("administrator")
    house.office.client.app.state.office.work = SHARED
    file = folder / "office" / "office.db"
    house.office.db.close()
    return house, file, file.read_bytes(), house.clients["administrator"].cookies["galleyproof"]


@pytest.mark.parametrize("route", sorted(SENDS))
def test_what_changes_something_leaves_a_line_in_the_log(ground, route):
    house, file, first, cookie = ground
    house.office.db.close()
    for beside in file.parent.glob("office.db-*"):
        beside.unlink()
    file.write_bytes(first)
    site = house.office
    sent = SENDS[route](site)
    method, path = route.split(" ", 1)
    path = filled(path, sent.pop("path", {}))
    headers = dict(sent.pop("headers", {}))
    if path.startswith("/api/"):
        client = TestClient(site.client.app, base_url="http://testserver")
        with site.db.session() as session:
            headers["authorization"] = f"Bearer {add_token(session, find_person(session, 'Ada Quill')[0].who, 'x')}"
    elif route in ("POST /sign-in", "POST /link/{word}"):
        client = browser(site)
        headers["x-form-token"] = form_token(client)
    else:
        client = browser(site)
        client.cookies.set("galleyproof", cookie)
        headers["x-form-token"] = house.token("administrator")
    before = logged(site)
    answer = client.request(method, path, headers=headers, follow_redirects=False, **sent)
    assert answer.status_code < 400, (
        f"{route} answers {answer.status_code}: what SENDS in tests/web/rules.py sends does not succeed: "
        f"{re.sub('<[^>]*>', ' ', answer.text)[-400:]}"
    )
    assert logged(site) > before, f"{route} changes something and leaves no line in the log: call store.jobs.note"


# --- sign-in and sign-out, which the table cannot try with the callers of the others ---------------------------------


def test_everybody_may_sign_in_and_out(tmp_path):
    house = make_house(tmp_path)
    for caller in CALLERS:
        client = house.clients[caller]
        headers = {"x-form-token": house.token(caller)}
        assert client.post("/sign-out", headers=headers, follow_redirects=False).headers["location"] == "/sign-in"
    client = house.clients["installer"]
    assert kept_out(client.get("/account", follow_redirects=False))
    assert sign_in(client, NAMES["installer"], PASSWORD).headers["location"] == "/"
    assert client.get("/account").status_code == 200
