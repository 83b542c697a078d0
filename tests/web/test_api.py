"""The interface for programs, as a program uses it."""

from __future__ import annotations

import io
import json
import zipfile
from hashlib import sha256

import pytest
from starlette.testclient import TestClient
from tests.web.house import NAMES, add_people
from tests.web.rules import cafe, entry
from tests.web.support import EXAMPLES, make_site

from galleyproof.design.build import build_design
from galleyproof.job.read import read_job
from galleyproof.store.accounts import add_token, find_person, switch_off
from galleyproof.store.people import LOCAL
from galleyproof.web.work import Answer, Calculator

JOBS = "/api/v1/jobs"
SHARED = Calculator(processes=False)


@pytest.fixture
def site(tmp_path):
    made = make_site(tmp_path)
    made.client.app.state.office.work = SHARED
    return made


@pytest.fixture
def one(site):
    """An office with one job."""
    site.add("ferry-cafe")
    return site.client


def is_problem(answer, status, words=""):
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    body = answer.json()
    # RFC 9457, section 3.1: type, title, status, detail
    assert body["type"] == "about:blank"
    assert body["status"] == status
    assert body["title"]
    assert words in body["detail"]
    return body


# --- jobs -------------------------------------------------------------------------------------------------------------


def test_a_job_is_added_found_saved_and_put_away(site):
    client = site.client
    made = client.post(JOBS, json={"text": cafe(), "said": "from the order"})
    assert made.status_code == 201
    assert made.headers["location"] == f"{JOBS}/1"
    assert made.headers["etag"] == '"1"'
    job = made.json()
    assert (job["name"], job["save"], job["text"], job["problems"]) == ("Saltmarrow Ferry Café", 1, cafe(), [])
    assert job["sha256"] == sha256(cafe().encode()).hexdigest()

    found = client.get(JOBS, params={"words": "ferry saltmarrow"}).json()
    assert [j["id"] for j in found["jobs"]] == [1]
    assert client.get(JOBS, params={"words": "school"}).json() == {"jobs": [], "next_skip": None}

    saved = client.put(
        f"{JOBS}/1", json={"text": cafe() + "\n# more\n", "said": "a remark"}, headers={"if-match": '"1"'}
    )
    assert (saved.status_code, saved.headers["etag"]) == (200, '"2"')
    saves = client.get(f"{JOBS}/1/saves").json()
    assert [(s["number"], s["said"]) for s in saves] == [(2, "a remark"), (1, "from the order")]
    assert client.get(f"{JOBS}/1/saves/1").json()["text"] == cafe()

    assert client.put(f"{JOBS}/1/archived", json={"archived": True}).json()["archived"] is True
    assert client.get(JOBS).json()["jobs"] == []
    assert len(client.get(JOBS, params={"archived": True}).json()["jobs"]) == 1


def test_pages_of_the_list_hold_every_job_once(site):
    for _ in range(5):
        site.add("ferry-cafe")
    seen, skip = [], 0
    while skip is not None:
        page = site.client.get(JOBS, params={"limit": 2, "skip": skip}).json()
        assert len(page["jobs"]) <= 2
        seen += [j["id"] for j in page["jobs"]]
        skip = page["next_skip"]
    assert sorted(seen) == [1, 2, 3, 4, 5]
    assert len(seen) == 5


def test_nothing_of_anybody_else_is_overwritten(one):
    theirs = cafe() + "\n# theirs\n"
    assert one.put(f"{JOBS}/1", json={"text": theirs, "based_on": 1}).status_code == 200
    body = is_problem(one.put(f"{JOBS}/1", json={"text": cafe(), "based_on": 1}), 409, "saved first (save 2)")
    assert (body["standing_text"], body["standing_save"], body["saved_by"]) == (theirs, 2, "this computer")
    assert one.get(f"{JOBS}/1").json()["text"] == theirs
    is_problem(one.put(f"{JOBS}/1", json={"text": cafe()}, headers={"if-match": '"1"'}), 409)
    is_problem(one.put(f"{JOBS}/1", json={"text": cafe()}), 428, "If-Match")
    is_problem(one.put(f"{JOBS}/1", json={"text": cafe()}, headers={"if-match": "*"}), 428)


def test_a_text_with_mistakes_is_refused_with_all_of_them_or_taken_as_a_draft(site):
    wrong = cafe().replace("exhaust_fans:", "exhaust_fens:", 1)
    body = is_problem(site.client.post(JOBS, json={"text": wrong}), 422, "exhaust_fens")
    line = wrong.splitlines().index("exhaust_fens:") + 1
    assert any(p["line"] == line and "exhaust_fans" in p["what"] for p in body["problems"])
    assert site.client.get(JOBS).json()["jobs"] == []
    made = site.client.post(JOBS, json={"text": wrong, "draft": True})
    assert made.status_code == 201
    assert made.json()["problems"] == body["problems"]
    summary = site.client.get(f"{JOBS}/1/summary").json()
    assert summary["problems"]
    assert summary["findings"] == []
    is_problem(site.client.get(f"{JOBS}/1/package"), 422, "exhaust_fens")
    is_problem(site.client.get(f"{JOBS}/1/check-out"), 422, "exhaust_fens")
    is_problem(site.client.get(f"{JOBS}/1/sheets/1"), 422, "exhaust_fens")


@pytest.mark.parametrize(
    ("sent", "status"),
    [
        ({"content": b"{", "headers": {"content-type": "application/json"}}, 422),
        ({"content": b"[" * 100_000, "headers": {"content-type": "application/json"}}, 400),
        ({"content": b'{"text": "\\ud800"}', "headers": {"content-type": "application/json"}}, 422),
        ({"json": {"text": "a\0b", "draft": True}}, 422),
        ({"json": {"text": "x" * 2_000_001}}, 422),
        ({"json": {"text": "  \n"}}, 400),
        ({"json": {}}, 422),
        ({"json": []}, 422),
        ({"json": {"text": 1}}, 422),
        ({"json": {"text": "a: &a [x]\nb: [*a, *a]\n"}}, 422),
    ],
)
def test_a_body_that_cannot_be_taken_is_a_problem_and_stores_nothing(site, sent, status):
    is_problem(site.client.post(JOBS, **sent), status)
    assert site.client.get(JOBS).json()["jobs"] == []


@pytest.mark.parametrize(
    "path", ["/api/v1/nothing", f"{JOBS}/7", f"{JOBS}/1/saves/9", f"{JOBS}/1/sheets/x", f"{JOBS}/99999999999999999999"]
)
def test_what_is_not_there_is_a_problem(one, path):
    is_problem(one.get(path), 404)


def test_a_wrong_method_says_which_are_right(one):
    answer = one.delete(f"{JOBS}/1")
    is_problem(answer, 405)
    assert set(answer.headers["allow"].split(", ")) == {"GET", "PUT"}


# --- results ----------------------------------------------------------------------------------------------------------


def test_the_summary_is_the_reviews(one):
    text = (EXAMPLES / "wrong" / "two-masters.yaml").read_text()
    assert one.post(JOBS, json={"text": text}).status_code == 201
    summary = one.get(f"{JOBS}/2/summary").json()
    # examples/wrong/two-masters.yaml is written to have exactly this wrong with it
    assert "TWO-MASTERS" in {f["code"] for f in summary["findings"] if f["severity"] in ("error", "warning")}
    well = one.get(f"{JOBS}/1/summary").json()
    assert [f for f in well["findings"] if f["severity"] == "error"] == []
    assert well["broken"] == []
    assert well["promises"] > 10
    design = build_design(read_job(cafe()))
    assert well["conductors"] == len(design.conductors)
    assert well["field_conductors"] == sum(c.made == "field" for c in design.conductors)


def test_nothing_is_begun_for_a_job_there_is_not(one):
    is_problem(one.post(f"{JOBS}/7/package", json={}), 404, "no job 7")


def test_every_conductor_of_the_design_is_told_from_terminal_to_terminal(one):
    told = one.get(f"{JOBS}/1/conductors").json()["conductors"]
    design = build_design(read_job(cafe()))
    assert {(c["from_terminal"], c["to_terminal"], c["number"]) for c in told} == {
        (str(c.a), str(c.b), c.number) for c in design.conductors
    }
    assert [c["number"] for c in told] == sorted(c["number"] for c in told)


def test_sheets_are_pictures_to_be_kept(one):
    sheets = one.get(f"{JOBS}/1/sheets").json()["sheets"]
    assert len(sheets) > 5
    for sheet in sheets:
        picture = one.get(sheet["svg"])
        assert picture.headers["content-type"] == "image/svg+xml"
        assert picture.headers["content-disposition"] == f'attachment; filename="sheet-{sheet["number"]}.svg"'
        assert picture.text.startswith("<svg")
        assert f'viewBox="0 0 {sheet["width_mm"]:g} {sheet["height_mm"]:g}"' in picture.text


def test_the_package_is_the_one_of_the_command_line(one, tmp_path):
    begun = one.post(f"{JOBS}/1/package", json={"whole": False})
    assert begun.status_code == 200
    fetched = one.get(begun.json()["href"])
    assert fetched.headers["content-type"] == "application/zip"
    assert len(fetched.content) == begun.json()["size_bytes"]
    files = zipfile.ZipFile(io.BytesIO(fetched.content))
    manifest = json.loads(files.read("manifest.json"))
    listed = {f["name"]: f["sha256"] for f in manifest["files"]}
    assert {n: sha256(files.read(n)).hexdigest() for n in files.namelist() if n != "manifest.json"} == listed

    from galleyproof.cli.main import main

    # with the address of the job in this office, where its labels lead
    link = ["--link", f"{one.app.state.office.settings.address}/jobs/1"]
    assert main(["package", str(EXAMPLES / "ferry-cafe.yaml"), "-o", str(tmp_path / "out"), *link]) in (0, 1)
    for name in files.namelist():
        assert files.read(name) == (tmp_path / "out" / name).read_bytes(), name


@pytest.mark.parametrize("what", ["summary", "conductors", "sheets", "sheets/1", "package", "check-out", "diagnosis"])
def test_what_is_not_computed_yet_says_so(one, what):
    class Slow:
        def wait(self, kind, text, seconds, *, owner=None):
            return Answer("running", None, 0.4, "promises")

    one.app.state.office.work = Slow()
    answer = one.get(f"{JOBS}/1/{what}")
    assert answer.status_code == 202
    assert answer.headers["retry-after"] == "1"
    assert answer.json() == {"state": "running", "share": 0.4, "words": "promises", "save": 1}


def test_what_cannot_be_computed_says_why(one):
    class Broken:
        def wait(self, kind, text, seconds, *, owner=None):
            return Answer("failed", None, 0.0, "the network of CP1 has no solution")

    one.app.state.office.work = Broken()
    is_problem(one.get(f"{JOBS}/1/summary"), 422, "CP1 has no solution")


# --- check-out --------------------------------------------------------------------------------------------------------


def test_the_plan_catches_what_it_says(one):
    plan = one.get(f"{JOBS}/1/check-out").json()
    assert plan["caught"] + len(plan["uncatchable"]) == plan["slips"]
    caught = {slip for probe in plan["probes"] for slip in probe["catches"]}
    assert len(caught) == plan["caught"]
    assert set(plan["cautions"]) >= {probe["stage"] for probe in plan["probes"]}


def test_readings_are_added_once_and_never_changed(one):
    log = {"readings_log": 1, "entries": [entry(cafe(), 1), entry(cafe(), 2)]}
    assert one.post(f"{JOBS}/1/readings", json=log).json() == {"added": 2, "already": 0}
    assert one.post(f"{JOBS}/1/readings", json=log).json() == {"added": 0, "already": 2}
    edited = {"readings_log": 1, "entries": [entry(cafe(), 3), entry(cafe(), 1, read="panel is dry")]}
    is_problem(one.post(f"{JOBS}/1/readings", json=edited), 400, "never changed")
    told = one.get(f"{JOBS}/1/readings").json()
    assert [e["id"] for e in told["entries"]] == [entry(cafe(), 1)["id"], entry(cafe(), 2)["id"]]
    assert told["entries"][0]["read"] == "panel is wet"


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"read": ""}, "only an entry that replaces one may be"),
        ({"taken_at": "yesterday"}, "no date and time"),
        ({"id": "x"}, "pattern"),
        ({"job": "0" * 64}, "never saved in this job"),
        ({"more": 1}, "not permitted"),
        ({"sequence": -1}, "greater than or equal"),
        ({"by": "a\nb"}, "control character"),
    ],
)
def test_a_reading_that_cannot_be_taken_is_refused_whole(one, given, words):
    log = {"readings_log": 1, "entries": [entry(cafe(), 1), entry(cafe(), 2, **given)]}
    answer = one.post(f"{JOBS}/1/readings", json=log)
    is_problem(answer, answer.status_code, words)
    assert answer.status_code in (400, 422)
    assert one.get(f"{JOBS}/1/readings").json()["entries"] == []


def test_a_reading_out_of_tolerance_has_suspects(one):
    plan = one.get(f"{JOBS}/1/check-out").json()
    assert one.get(f"{JOBS}/1/diagnosis").json()["taken"] == 0
    probe = next(p for p in plan["probes"] if p["expected"].endswith("Ω") and len(p["catches"]) > 0)
    wrong = entry(cafe(), 1, probe=probe["probe"], read="OL")
    assert one.post(f"{JOBS}/1/readings", json={"readings_log": 1, "entries": [wrong]}).status_code == 200
    said = one.get(f"{JOBS}/1/diagnosis").json()
    assert said["taken"] == 1
    assert said["suspects"]
    chances = [s["chance"] for s in said["suspects"]]
    assert chances == sorted(chances, reverse=True)
    assert sum(chances) <= 1.0 + 1e-9
    assert all(s["why"] for s in said["suspects"] if s["slips"])
    assert said["next_probe"]["probe"] != probe["probe"]


# --- tokens -----------------------------------------------------------------------------------------------------------


@pytest.fixture
def office(tmp_path):
    site = make_site(tmp_path)
    site.add("ferry-cafe")
    add_people(site)
    return site


def token_of(site, role):
    with site.db.session() as session:
        return add_token(session, find_person(session, NAMES[role])[0].who, "test")


@pytest.mark.parametrize(
    "header", ["", "Bearer", "Bearer ", "Bearer gp_wrong", "Basic QWRhOng=", "gp_wrong", "Bearer \u00e4"]
)
def test_no_token_or_a_wrong_one_is_unknown(office, header):
    answer = office.client.get(JOBS, headers={"authorization": header.encode()} if header else {})
    is_problem(answer, 401, "token")
    assert answer.headers["www-authenticate"] == "Bearer"


def test_a_token_acts_with_its_owners_name_and_ends_with_the_account(office):
    token = token_of(office, "engineer")
    client = TestClient(office.client.app, base_url="http://testserver", headers={"authorization": f"bearer {token}"})
    assert client.post(JOBS, json={"text": cafe()}).json()["saved_by"] == NAMES["engineer"]
    # a token needs no form's origin: no browser adds it by itself
    assert client.get(JOBS, headers={"origin": "http://elsewhere.example"}).status_code == 200
    with office.db.session() as session:
        switch_off(session, LOCAL, find_person(session, NAMES["engineer"])[0].id)
    is_problem(client.get(JOBS), 401)


# --- the description --------------------------------------------------------------------------------------------------


def test_the_description_holds_every_operation_and_no_page(site):
    told = site.client.get("/api/v1/openapi.json").json()
    from galleyproof.web.app import ROUTERS

    ours = {
        (m.lower(), r.path)
        for router in ROUTERS
        for r in router.routes
        for m in r.methods
        if r.path.startswith("/api/v1/") and r.path != "/api/v1/openapi.json"
    }
    assert {(m, p) for p, item in told["paths"].items() for m in item} == ours
    assert told["openapi"].startswith("3.1")
    for path, item in told["paths"].items():
        for method, operation in item.items():
            assert operation["security"] == [{"token": []}]
            assert operation["summary"], (method, path)
            for status, answer in operation["responses"].items():
                assert answer.get("content"), (method, path, status)


def test_the_page_lists_the_same_operations(site):
    page = site.client.get("/api").text
    for path in site.client.get("/api/v1/openapi.json").json()["paths"]:
        assert f"<code>{path}</code>" in page
