"""The app over PostgreSQL: every route that changes something succeeds there too, and every page answers."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient
from tests.killing import _Never
from tests.postgres import postgres, postgres_url  # noqa: F401  fixtures
from tests.web.house import add_people, browser, form_token, quick_hashes, sign_in
from tests.web.rules import RULES, SENDS
from tests.web.support import Site

from galleyproof.store.accounts import add_token, find_person
from galleyproof.store.database import Database
from galleyproof.store.people import LOCAL
from galleyproof.store.sign_ins import add_link
from galleyproof.store.upgrade import bring_up_to_date
from galleyproof.web.app import make_app
from galleyproof.web.settings import Settings
from galleyproof.web.work import Calculator

SHARED = Calculator(processes=False)
COMPUTES = re.compile("/cures|/diagnosis/")
"""Routes that store what was computed; for all others nothing is: it does not depend on the database."""


@pytest.fixture
def site(postgres_url):  # noqa: F811
    db = Database(postgres_url)
    bring_up_to_date(db)
    app = make_app(Settings(database_url=postgres_url, workers=False, hosts=("testserver",)), db)
    app.state.office.work = _Never()
    made = Site(TestClient(app, base_url="http://testserver"), db)
    for _ in range(2):
        made.add("ferry-cafe")
    with pytest.MonkeyPatch.context() as patch:
        quick_hashes(patch)
        add_people(made)
        with db.session() as s:
            add_link(s, LOCAL, 1, "roof crew", 30)
        yield made
    db.close()


def filled(path, given):
    return re.sub(r"{(\w+)(?::\w+)?}", lambda m: str(given.get(m[1], 1)), path)


@pytest.mark.parametrize("route", sorted(SENDS))
def test_what_changes_something_succeeds(site, route):
    if COMPUTES.search(route):
        site.client.app.state.office.work = SHARED
    sent = SENDS[route](site)
    method, path = route.split(" ", 1)
    path = filled(path, sent.pop("path", {}))
    headers = dict(sent.pop("headers", {}))
    client = browser(site)
    if path.startswith("/api/"):
        with site.db.session() as s:
            headers["authorization"] = f"Bearer {add_token(s, find_person(s, 'Ada Quill')[0].who, 'x')}"
    elif route not in ("POST /sign-in", "POST /link/{word}"):
        assert sign_in(client, "Ada Quill").status_code == 303
        headers["x-form-token"] = form_token(client)
    else:
        headers["x-form-token"] = form_token(client)
    answer = client.request(method, path, headers=headers, follow_redirects=False, **sent)
    assert answer.status_code < 400, re.sub("<[^>]*>", " ", answer.text)[-400:]


def test_every_page_answers(site):
    client = browser(site)
    sign_in(client, "Ada Quill")
    for route in RULES:
        method, path = route.split(" ", 1)
        if method == "GET" and "/api/" not in path:
            answer = client.get(filled(path, {}), follow_redirects=False)
            assert answer.status_code < 500, f"{route}: {answer.status_code}"
    for page in ("line-up", "air", "sizing", "drawings", "sequence", "revisions", "issued", "check-out", "diagnosis"):
        assert client.get(f"/jobs/1/{page}").status_code == 200, page
