"""Signing in, cookies and links, as a browser meets them."""

from __future__ import annotations

from base64 import b64decode, b64encode
from datetime import timedelta

import pytest
from sqlalchemy import select
from tests.web.house import BOSS, NAMES, PASSWORD, Never, add_people, browser, form_token, sign_in
from tests.web.support import make_site

from galleyproof.store import accounts, sign_ins, tries
from galleyproof.store.accounts import find_person, hash_of, switch_off
from galleyproof.store.database import now
from galleyproof.store.people import LOCAL
from galleyproof.store.schema import LogRow, SignInRow
from galleyproof.store.sign_ins import add_link, revoke_link, word_of

ADA = NAMES["administrator"]


@pytest.fixture
def site(tmp_path):
    made = make_site(tmp_path)
    made.add("ferry-cafe")
    made.add("ferry-cafe")
    add_people(made)
    made.client.app.state.office.work = Never()
    return made


def cookie(client) -> str:
    return client.cookies.get("galleyproof")


def knows(client) -> bool:
    """Whether a browser is signed in."""
    return client.get("/account", follow_redirects=False).status_code == 200


# --- signing in -------------------------------------------------------------------------------------------------------


def test_the_right_password_goes_on_to_where_one_wanted(site):
    client = browser(site)
    asked = client.get("/jobs/1/line-up/hoods?item=x", follow_redirects=False)
    assert asked.headers["location"] == "/sign-in?then=/jobs/1/line-up/hoods%3Fitem%3Dx"
    page = client.get(asked.headers["location"]).text
    assert 'name="then" value="/jobs/1/line-up/hoods?item=x"' in page
    done = sign_in(client, "ada QUILL", then="/jobs/1/line-up/hoods?item=x")
    assert (done.status_code, done.headers["location"]) == (303, "/jobs/1/line-up/hoods?item=x")
    assert ADA in client.get("/account").text


def test_a_part_of_a_page_leads_to_the_sign_in_page_too(site):
    asking = {"hx-request": "true", "hx-current-url": "http://testserver/jobs/1/air?item=EF-1#top"}
    for method in ("GET", "POST"):
        answer = browser(site).request(method, "/jobs/1/cures", headers=asking, follow_redirects=False)
        assert answer.status_code == 401
        # back to the page that asked, not to the part of it
        assert answer.headers["hx-redirect"] == "/sign-in?then=/jobs/1/air%3Fitem%3DEF-1"


@pytest.mark.parametrize(
    "then",
    [
        "http://elsewhere.example/",
        "//elsewhere.example/",
        "/\\elsewhere.example",
        "\\/elsewhere.example",
        "/\t/elsewhere.example",
        " //elsewhere.example",
        "javascript:alert(1)",
        "elsewhere.example",
        "",
        "/x\r\nset-cookie: a=b",
        "/" + "x" * 5000,
        "/sign-out",
        "/\u2044elsewhere",
    ],
)
def test_nobody_is_sent_to_another_site(site, then):
    client = browser(site)
    assert sign_in(client, ADA, then=then).headers["location"] == "/"
    assert client.get("/sign-in", params={"then": then}, follow_redirects=False).headers["location"] == "/"


def test_a_wrong_name_and_a_wrong_password_get_the_same_answer(site, monkeypatch):
    hashed = []
    real = accounts.HASHER.verify

    class Counted:
        def hash(self, password):
            return real.__self__.hash(password)

        def verify(self, kept, password):
            hashed.append(kept.split("$")[1:4])  # kind, version, parameters
            return real(kept, password)

    monkeypatch.setattr(accounts, "HASHER", Counted())
    with site.db.session() as session:
        switch_off(session, BOSS, find_person(session, NAMES["installer"])[0].id)
    pages = []
    for name, password in ((ADA, "wrong password"), ("Nobody", PASSWORD), (NAMES["installer"], PASSWORD), ("", "")):
        client = browser(site)
        answer = sign_in(client, name, password)
        assert answer.status_code == 400
        assert not knows(client)
        page = answer.text.replace(f'value="{name}"', "")
        pages.append(page.replace(form_token(client), "").replace(" autofocus", ""))
    assert "do not belong together" in pages[0]
    assert pages[1:3] == pages[:1] * 2
    # the same work for each
    assert len(hashed) == 4
    assert hashed[1:] == hashed[:1] * 3


def test_too_many_tries_are_told_when_to_come_again(site):
    client = browser(site)
    for _ in range(tries.BY_NAME):
        assert sign_in(client, ADA, "wrong password").status_code == 400
    refused = sign_in(client, ADA)
    assert refused.status_code == 429
    assert "too many sign-ins failed; try again in 15 minutes" in refused.text
    assert 800 < int(refused.headers["retry-after"]) <= 901
    assert not knows(client)
    # others go on working
    assert sign_in(browser(site), NAMES["engineer"]).status_code == 303
    with site.db.session() as session:
        for row in session.scalars(select(SignInRow)):
            row.at -= timedelta(minutes=16)
    assert sign_in(client, ADA).status_code == 303
    with site.db.session() as session:
        assert session.scalars(select(SignInRow)).all() == []


def test_the_present_password_cannot_be_guessed_on_the_account_page(site):
    client = browser(site)
    sign_in(client, ADA)
    headers = {"x-form-token": form_token(client)}
    for n in range(tries.BY_NAME + 1):
        data = {"old": f"guess number {n}", "new": "another good one", "again": "another good one"}
        answer = client.post("/account/password", data=data, headers=headers)
    assert answer.status_code == 429


@pytest.mark.parametrize(
    ("new", "again", "words"),
    [
        ("short", "short", "at least 10"),
        (ADA, ADA, "the password is the name"),
        ("long enough", "long enoug", "differ"),
    ],
)
def test_a_new_password_that_cannot_be_is_refused(site, new, again, words):
    client = browser(site)
    sign_in(client, ADA)
    data = {"old": PASSWORD, "new": new, "again": again, "form_token": form_token(client)}
    answer = client.post("/account/password", data=data)
    assert answer.status_code == 400
    assert words in answer.text
    assert sign_in(browser(site), ADA).status_code == 303


def test_a_new_password_ends_every_other_sign_in(site):
    client, other = browser(site), browser(site)
    sign_in(client, ADA)
    sign_in(other, ADA)
    before = cookie(client)
    data = {"old": PASSWORD, "new": "another good one", "again": "another good one", "form_token": form_token(client)}
    answer = client.post("/account/password", data=data)
    assert "The password is changed" in answer.text
    assert knows(client)
    assert not knows(other)
    assert cookie(client) != before
    assert sign_in(browser(site), ADA).status_code == 400
    assert sign_in(browser(site), ADA, "another good one").status_code == 303


def test_a_token_is_shown_once(site):
    client = browser(site)
    sign_in(client, ADA)
    made = client.post("/account/tokens", data={"label": "orders", "form_token": form_token(client)}).text
    token = made.split('value="gp_')[1].split('"')[0]
    assert "orders" in made
    again = client.get("/account").text
    assert "orders" in again
    assert token not in again
    api = browser(site)
    headers = {"authorization": f"Bearer gp_{token}"}
    assert api.get("/api/v1/jobs", headers=headers).status_code == 200
    client.post("/account/tokens/1/revoke", data={"form_token": form_token(client)})
    assert api.get("/api/v1/jobs", headers=headers).status_code == 401


# --- cookies ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("secure", [False, True])
def test_the_cookie_is_for_this_site_and_no_script(tmp_path, secure):
    site = make_site(tmp_path, secure=secure)
    flags = site.client.get("/jobs").headers["set-cookie"].lower().split("; ")[1:]
    assert "httponly" in flags
    assert "samesite=lax" in flags
    assert "path=/" in flags
    assert ("secure" in flags) == secure
    assert not any(f.startswith("domain") for f in flags)


def test_a_cookie_from_before_the_sign_in_is_worth_nothing_after_it(site):
    """Session fixation: who planted the cookie is not let in by it, and knows no token of the forms."""
    attacker, victim = browser(site), browser(site)
    attacker.get("/sign-in")
    planted, planted_token = cookie(attacker), form_token(attacker)
    victim.cookies.set("galleyproof", planted, domain="testserver.local", path="/")
    assert sign_in(victim, ADA).status_code == 303
    assert knows(victim)
    assert not knows(attacker)
    assert form_token(victim) != planted_token
    sent = victim.post("/people", data={"form_token": planted_token, "name": "x"}, follow_redirects=False)
    assert sent.status_code == 403


def test_a_copied_cookie_ends_with_signing_out(site):
    client, thief = browser(site), browser(site)
    sign_in(client, ADA)
    thief.cookies.set("galleyproof", cookie(client), domain="testserver.local", path="/")
    assert knows(thief)
    client.post("/sign-out", data={"form_token": form_token(client)})
    assert not knows(client)
    assert not knows(thief)


def test_a_changed_cookie_is_worth_nothing(site):
    client = browser(site)
    sign_in(client, NAMES["installer"])
    body, rest = cookie(client).split(".", 1)
    said = b64decode(body)
    forged = b64encode(said.replace(b'"signed-in"', b'"signed-on"')).decode()
    for changed in (f"{forged}.{rest}", f"{body}.{rest}x", body, "", "null", f"{body}..", b64encode(b"{}").decode()):
        other = browser(site)
        other.cookies.set("galleyproof", changed, domain="testserver.local", path="/")
        assert not knows(other)


def test_a_sign_in_ends_after_a_working_day(site, monkeypatch):
    client = browser(site)
    sign_in(client, ADA)
    start = now()
    monkeypatch.setattr(sign_ins, "now", lambda: start + timedelta(hours=12, minutes=1))
    assert not knows(client)


# --- links ------------------------------------------------------------------------------------------------------------


@pytest.fixture
def link(site):
    with site.db.session() as session:
        return add_link(session, BOSS, 1, "roof crew", 30)


def address(site, link) -> str:
    return f"/link/{word_of(site.client.app.state.office.key, link)}"


def come(site, link, name="Jo Marl"):
    client = browser(site)
    data = {"form_token": form_token(client), "name": name}
    return client, client.post(address(site, link), data=data, follow_redirects=False)


def test_a_link_is_made_shown_again_and_opens_one_job(site):
    client = browser(site)
    sign_in(client, NAMES["engineer"])
    data = {"label": "roof crew", "days": "3", "form_token": form_token(client)}
    client.post("/jobs/1/links", data=data)
    for _ in range(2):  # any time
        page = client.get("/jobs/1/links").text
        there = page.split('value="http://testserver/link/')[1].split('"')[0]
    visitor = browser(site)
    asked = visitor.get(f"/link/{there}")
    assert "Your name" in asked.text
    assert not knows(visitor)
    assert visitor.get("/jobs/1/drawings", follow_redirects=False).status_code == 303  # a GET opens nothing
    data = {"form_token": form_token(visitor), "name": "Jo Marl"}
    assert visitor.post(f"/link/{there}", data=data, follow_redirects=False).headers["location"] == "/jobs/1"
    assert visitor.get("/jobs/1/check-out").status_code == 200
    assert visitor.get("/", follow_redirects=False).headers["location"] == "/jobs/1"
    for other in ("/jobs", "/jobs/2", "/jobs/2/check-out", "/people", "/log", "/account", "/jobs/1/line-up", "/api"):
        assert visitor.get(other, follow_redirects=False).status_code == 403, other
    with site.db.session() as session:
        row = session.scalars(select(LogRow).order_by(LogRow.id.desc())).first()
    assert (row.who, row.did, row.job_id) == ("Jo Marl (link: roof crew)", "came by a link", 1)
    # the address again, without the name
    assert visitor.get(f"/link/{there}", follow_redirects=False).headers["location"] == "/jobs/1"


@pytest.mark.parametrize("name", ["", "   ", "x" * 61, "a\u202eb"])
def test_a_link_asks_for_a_name(site, link, name):
    client, answer = come(site, link, name)
    assert answer.status_code == 400
    assert "Not opened: your name" in answer.text
    assert client.get("/jobs/1/check-out", follow_redirects=False).status_code == 303


def test_a_revoked_link_ends_at_once(site, link):
    client, answer = come(site, link)
    assert answer.status_code == 303
    assert client.get("/jobs/1/check-out").status_code == 200
    with site.db.session() as session:
        revoke_link(session, BOSS, 1, link.id)
    assert client.get("/jobs/1/check-out", follow_redirects=False).status_code == 303
    again = browser(site)
    assert "was revoked" in again.get(address(site, link)).text
    assert come(site, link)[1].status_code == 404


def test_an_expired_link_ends_with_its_sign_ins(site, link, monkeypatch):
    client, _ = come(site, link)
    monkeypatch.setattr(sign_ins, "now", lambda: link.ends_at)
    assert client.get("/jobs/1/check-out", follow_redirects=False).status_code == 303
    assert "this link ended on" in browser(site).get(address(site, link)).text


def test_a_link_of_another_office_opens_nothing(site, tmp_path, link):
    (tmp_path / "other").mkdir()
    other = make_site(tmp_path / "other")
    other.add("ferry-cafe")
    with other.db.session() as session:
        stranger = add_link(session, LOCAL, 1, "roof crew", 30)
    assert stranger.id == link.id
    assert site.client.get(address(other, stranger)).status_code == 404


def test_a_link_cannot_be_bent_to_another_job_or_link(site, link):
    from itsdangerous import URLSafeSerializer

    key = site.client.app.state.office.key
    with site.db.session() as session:
        second = add_link(session, BOSS, 2, "kitchen", 30)
    mixed = URLSafeSerializer(key, salt="installer link").dumps([link.id, 2])
    other_salt = URLSafeSerializer(key, salt="cookie").dumps([second.id, 2])
    unsigned = word_of("", second)
    for word in (mixed, other_salt, unsigned, word_of(key, second)[:-3], "1", "%2e%2e", "x" * 3000):
        assert browser(site).get(f"/link/{word}").status_code == 404, word


def test_coming_by_a_link_takes_an_account_away_from_the_browser(site, link):
    """Who had signed in and then comes by a link is who the link says, with no more rights than that."""
    client = browser(site)
    sign_in(client, ADA)
    data = {"form_token": form_token(client), "name": "Jo Marl"}
    client.post(address(site, link), data=data)
    assert not knows(client)
    assert client.get("/people").status_code == 403


def test_hashes_are_made_two_at_a_time():
    """Each takes 64 MiB: many sign-ins at once must not take the memory of the computer."""
    import threading

    most, now_running, lock = 0, 0, threading.Lock()
    real = accounts.HASHER

    class Slow:
        def hash(self, password):
            nonlocal most, now_running
            with lock:
                now_running += 1
                most = max(most, now_running)
            made = real.hash(password)
            threading.Event().wait(0.01)
            with lock:
                now_running -= 1
            return made

    accounts.HASHER = Slow()
    try:
        threads = [threading.Thread(target=hash_of, args=("x",)) for _ in range(12)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    finally:
        accounts.HASHER = real
    assert most == 2
