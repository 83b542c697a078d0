"""Reading a page never waits for somebody who writes: no GET takes SQLite's one lock for writers."""

from __future__ import annotations

import sqlite3
from contextlib import contextmanager

import pytest
from sqlalchemy import event
from tests.store.support import package
from tests.web.addresses import PAGES
from tests.web.house import NAMES, browser, make_house, quick_hashes, sign_in
from tests.web.rules import RULES
from tests.web.test_access import ROUTES, filled

from galleyproof.store.accounts import add_token, find_person
from galleyproof.store.attachments import keep_upload
from galleyproof.store.issued import add_issued
from galleyproof.store.people import LOCAL

GETS = [route for route in ROUTES if route.startswith("GET ")]
"""Every route that only reads. None may write, but for the first use of a token in an hour."""
GIVEN = {"job": 1, "save": 1, "old": 1, "new": 1, "number": 1, "issued": 1, "upload": 1, "section": "hoods"}
"""What stands in the places of their paths; the rest stands for what there is none of."""
ASKED = {
    "GET /jobs/{job}/check-out/probe": "?key=x",
    "GET /jobs/{job}/live/device": "?tag=EF-1",
    "GET /jobs/{job}/sizing/why": "?key=x&save=1",
}
"""What some routes cannot do without."""
PATIENCE_MS = 50
"""How long a connection waits for the lock here; the app's own waits 5,000. [ms]"""


def impatient(db) -> None:
    """From now on no connection waits long for the lock."""

    def short(connection, _record):
        connection.execute(f"PRAGMA busy_timeout={PATIENCE_MS}")

    db.engine.dispose()
    event.listen(db.engine, "connect", short)


@contextmanager
def locked(db):
    """Somebody else is writing and does not come to an end."""
    other = sqlite3.connect(db.engine.url.database, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        yield
    finally:
        other.execute("ROLLBACK")
        other.close()


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    with pytest.MonkeyPatch.context() as patch:
        quick_hashes(patch)
        made = make_house(tmp_path_factory.mktemp("reads"))
        with made.office.db.session() as session:
            owner = find_person(session, NAMES["administrator"])[0].who
            made.token_of_owner = add_token(session, owner, "orders")
        with made.alone.db.session() as session:
            keep_upload(session, LOCAL, "hoods.csv", b"Tag,Length\nH-7,8 ft\n")
            add_issued(session, LOCAL, 1, 1, "A", package())
        boss = browser(made.office)
        sign_in(boss, NAMES["administrator"])
        made.boss = boss
    for site in (made.office, made.alone):
        impatient(site.db)
    return made


def test_the_lock_is_noticed(house):
    # what the other tests rely on: a handler that writes is refused while somebody else writes
    with locked(house.alone.db):
        answer = house.clients["local"].post(
            "/jobs/1/copy", headers={"x-form-token": house.token("local")}, follow_redirects=False
        )
    assert answer.status_code == 503
    assert "busy" in answer.text


@pytest.mark.parametrize("route", GETS)
def test_a_get_takes_no_lock(house, route):
    # who may not ask as the person at this computer asks as an administrator of an office
    site, client = (house.alone, house.alone.client) if "local" in RULES[route] else (house.office, house.boss)
    with locked(site.db):
        answer = client.get(filled(route.removeprefix("GET "), GIVEN) + ASKED.get(route, ""), follow_redirects=False)
    assert answer.status_code < 500, f"{route} waits for the lock of writers: use db.session(reads=True)"
    assert answer.status_code not in (401, 403, 422)
    assert not answer.headers.get("location", "").startswith("/sign-in")


@pytest.mark.parametrize("page", [p for p in PAGES if not p.accounts], ids=lambda p: p.name)
def test_a_page_is_whole_while_somebody_writes(house, page):
    with locked(house.alone.db):
        answer = house.alone.client.get(page.path.format(job=1))
    assert answer.status_code == 200


def test_only_the_first_use_of_a_token_in_an_hour_is_written(house):
    client = browser(house.office)
    headers = {"authorization": f"Bearer {house.token_of_owner}"}
    with locked(house.office.db):
        assert client.get("/api/v1/jobs", headers=headers).status_code == 503
    assert client.get("/api/v1/jobs", headers=headers).status_code == 200
    with locked(house.office.db):
        for route in GETS:
            if " /api/v1/" in route:
                answer = client.get(filled(route.removeprefix("GET "), GIVEN), headers=headers)
                assert answer.status_code not in (401, 403, 503), route
