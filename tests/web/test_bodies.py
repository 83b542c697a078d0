"""What comes in is bounded; what goes out carries its policy; no path leads out of the app."""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor

import pytest
from starlette.testclient import TestClient
from tests.web.house import NAMES, Never, add_people, browser, form_token, sign_in
from tests.web.support import make_site

from galleyproof.web.app import ROUTERS
from galleyproof.web.limits import most_bytes

MB = 1_000_000


@pytest.fixture
def site(tmp_path):
    made = make_site(tmp_path)
    made.add("ferry-cafe")
    made.client.app.state.office.work = Never()
    return made


def flood(app, path, headers, *, begin=b"", most=100 * MB, chunk=64_000):
    """Send a body of 100 MB bit by bit; gives the status, the answer and how much of it was read."""
    read, said = 0, []

    async def receive():
        nonlocal read
        if read >= most:
            return {"type": "http.request", "body": b"", "more_body": False}
        read += chunk
        body = (begin if read == chunk else b"").ljust(chunk, b"x")
        return {"type": "http.request", "body": body, "more_body": True}

    async def send(message):
        said.append(message)

    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "POST",
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "root_path": "",
        "headers": [(b"host", b"testserver"), *((k.encode(), v.encode()) for k, v in headers.items())],
        "client": ("192.0.2.1", 1),
        "server": ("testserver", 80),
        "state": {},
    }
    # in a thread of its own: a browser test of the same run leaves the driver's loop running in this one
    with ThreadPoolExecutor(1) as pool:
        pool.submit(lambda: asyncio.run(app(scope, receive, send))).result()
    return said[0]["status"], b"".join(m.get("body", b"") for m in said[1:]), read


FORM, JSON = "application/x-www-form-urlencoded", "application/json"
PARTS = "multipart/form-data; boundary=x"
ONE_FIELD = ("/jobs/1/text", "/jobs/1/merge")


@pytest.mark.parametrize("named", [True, False], ids=["with its length", "without its length"])
@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/sign-in", FORM),
        ("/link/x", FORM),
        ("/api/v1/jobs", JSON),
        ("/api/v1/jobs/1/readings", JSON),
        ("/jobs/1/text", FORM),
        ("/jobs/1/merge", FORM),
        ("/jobs/1/check-out/entries", JSON),
        ("/jobs/1/check-out/take-in", PARTS),
    ],
)
def test_a_hundred_megabytes_are_refused_before_they_are_read(site, path, kind, named):
    client = site.client
    token = form_token(client)
    headers = {"content-type": kind, "x-form-token": token, "cookie": f"galleyproof={client.cookies['galleyproof']}"}
    if named:
        headers["content-length"] = str(100 * MB)
    begin = b'--x\r\ncontent-disposition: form-data; name="file"; filename="a"\r\n\r\n' if kind == PARTS else b""
    status, body, read = flood(client.app, path, headers, begin=begin)
    if path in ONE_FIELD and not named:
        assert status == 400  # one field of a form may not have more than 16 MB
        assert read <= 17 * MB
        return
    assert status == 413, body
    assert read <= (64_000 if named else most_bytes(path) + 2 * 64_000)
    assert b"is larger than" in body


def test_a_body_within_the_limit_passes(site):
    """The largest log of readings fits with the form around it."""
    from galleyproof.checkout.log import MOST_BYTES

    assert most_bytes("/jobs/1/check-out/take-in") > MOST_BYTES + 100_000
    answer = site.client.post("/api/v1/jobs", json={"text": "# " + "x" * 1_900_000})
    assert answer.status_code == 422


@pytest.mark.parametrize(
    "text",
    [
        "a: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\nd: [*c, *c]\n",
        "&a a: *a\n",
        "a: " + "[" * 5000 + "]" * 5000,
        "a: " + "{b: " * 5000 + "}" * 5000,
        "- " * 5000 + "x",
        "<<: {a: b}\n",
        "a: !!python/object/apply:os.system [id]\n",
        "a: !!binary aGk=\n",
        "%YAML 1.2\n--- !<tag:x> a\n",
        "a: b\n" * 60_000,
    ],
)
def test_yaml_that_was_made_to_do_harm_is_refused_with_words(site, text):
    answer = site.client.post("/api/v1/jobs", json={"text": text})
    assert answer.status_code == 422
    assert answer.json()["problems"]
    assert answer.elapsed.total_seconds() < 5


@pytest.mark.parametrize("text", ["a: &a [x, x]\nb: [*a, *a]\n", "a: " + "[" * 5000, "<script>alert(1)</script>"])
def test_a_draft_that_was_made_to_do_harm_is_shown_as_text_and_computes_nothing(site, text):
    made = site.client.post("/api/v1/jobs", json={"text": text, "draft": True})
    assert made.status_code == 201
    job = made.json()["id"]
    for page in ("text", "line-up/hoods", "check-out", "drawings"):
        answer = site.client.get(f"/jobs/{job}/{page}")
        assert answer.status_code < 500
        assert "<script>alert" not in answer.text


# --- headers ----------------------------------------------------------------------------------------------------------

POLICY = {
    "default-src": "'none'",
    "script-src": "'self'",
    "style-src": "'self'",
    "frame-ancestors": "'none'",
    "base-uri": "'none'",
    "form-action": "'self'",
}


def guarded(answer) -> None:
    """Hold an answer to the policy."""
    told = dict(part.split(" ", 1) for part in answer.headers["content-security-policy"].split("; "))
    assert {k: told.get(k) for k in POLICY} == POLICY
    assert "unsafe" not in answer.headers["content-security-policy"]
    assert "*" not in answer.headers["content-security-policy"]
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["referrer-policy"] in ("same-origin", "no-referrer")
    assert answer.headers["cross-origin-opener-policy"] == "same-origin"
    assert "server" not in answer.headers


def test_every_answer_carries_the_policy(site):
    gets = [r.path for router in ROUTERS for r in router.routes if "GET" in r.methods]
    for path in gets:
        answer = site.client.get(path.replace("{job}", "1"), follow_redirects=False)
        guarded(answer)
        assert answer.headers["cache-control"] == "no-store", path
        assert "access-control-allow-origin" not in answer.headers
    for path in ("/nothing", "/api/v1/nothing", "/jobs/9"):
        guarded(site.client.get(path))
    static = site.client.get("/static/site.css")
    guarded(static)
    assert static.headers["content-type"].startswith("text/css")


def test_an_error_of_our_own_is_words_and_carries_the_policy(site):
    class Gone:
        def wait(self, *_given, **_more):
            raise RuntimeError("secret of the house")

    site.client.app.state.office.work = Gone()
    client = TestClient(site.client.app, base_url="http://testserver", raise_server_exceptions=False)
    for path in ("/api/v1/jobs/1/summary", "/jobs/1/findings"):
        answer = client.get(path)
        assert answer.status_code == 500
        assert "secret of the house" not in answer.text
        assert "nothing was stored" in answer.text
        guarded(answer)


def test_no_preflight_is_answered(site):
    """A page of another site that asks for leave to send JSON gets none (Fetch standard, section 3.3)."""
    asked = {
        "origin": "http://elsewhere.example",
        "access-control-request-method": "POST",
        "access-control-request-headers": "content-type",
    }
    answer = site.client.options("/api/v1/jobs", headers=asked)
    assert answer.status_code == 405
    assert not [h for h in answer.headers if h.startswith("access-control")]


# --- paths ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app.py",
        "/static/..%2fapp.py",
        "/static/%2e%2e/app.py",
        "/static/..\\app.py",
        "/static//etc/passwd",
        "/static/%00",
        "/typeface/../sheets.py",
        "/typeface/..%2f..%2f__init__.py",
        "/jobs/1/issued/1/files/..%2f..%2fetc%2fpasswd",
        "/jobs/1/issued/1/../../../etc/passwd",
        "/api/v1/jobs/1/sheets/..%2f..%2fsummary",
        "/jobs/..%2f..%2fpeople",
        "/%00",
        "/jobs?words=%00",
    ],
)
def test_no_path_leads_out(site, path):
    answer = site.client.get(path, follow_redirects=False)
    assert answer.status_code in (404, 405, 422), answer.text[:200]
    for secret in ("root:x", "def make_app", "import"):
        assert secret not in answer.text


def test_a_strange_host_is_refused_everywhere(tmp_path):
    site = make_site(tmp_path, host="192.0.2.7")
    add_people(site)
    client = browser(site)
    for host in ("elsewhere.example", "testserver.elsewhere.example", "", "192.0.2.8"):
        for path in ("/sign-in", "/api/v1/jobs", "/static/site.css"):
            assert client.get(path, headers={"host": host}).status_code == 400, host
    assert client.get("/sign-in", headers={"host": "192.0.2.7:8440"}).status_code == 200


def test_beyond_this_computer_nobody_is_known_without_an_account(tmp_path):
    """Even if the first account was taken away from the database by hand."""
    site = make_site(tmp_path, host="192.0.2.7")
    client = browser(site)
    assert client.get("/jobs", follow_redirects=False).headers["location"].startswith("/sign-in")
    assert client.get("/api/v1/jobs").status_code == 401


def test_the_first_account_closes_the_door_behind_it(site):
    """On this computer everybody may do everything until there is an account; from then on nobody without one."""
    assert site.client.get("/jobs").status_code == 200
    add_people(site)
    assert site.client.get("/jobs", follow_redirects=False).status_code == 303
    assert site.client.get("/api/v1/jobs").status_code == 401
    assert sign_in(site.client, NAMES["engineer"]).status_code == 303
    assert site.client.get("/jobs").status_code == 200
