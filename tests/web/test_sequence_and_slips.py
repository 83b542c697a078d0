"""Promises, states and slips on their pages are the proof's and the study's; a job's own rows are kept by a form."""

from __future__ import annotations

import re

import pytest
from tests.web import on_site
from tests.web.support import EXAMPLES, make_site

from galleyproof.design.build import build_design
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.proof.prove import prove
from galleyproof.proof.study import study
from galleyproof.store.jobs import save_job, save_of
from galleyproof.store.people import LOCAL
from galleyproof.web.pages import sequence, slips

TEXT = (EXAMPLES / "ferry-cafe.yaml").read_text()
ROW = {"based_on": "1", "say": "the hood exhausts in fire", "when": ["fire Z1: released", ""], "clause": "owner"}
ROW |= {"device": ["EF-1", ""], "effect": ["runs at 100 %", ""]}


SHOWN = []
"""The page that was shown last, as it was declared."""


@pytest.fixture(autouse=True)
def _pages_are_kept(monkeypatch):
    for module in (sequence, slips):

        def keep(request, page, status=200, real=module.show):
            SHOWN[:] = [page]
            return real(request, page, status)

        monkeypatch.setattr(module, "show", keep)


def page_of(site, path):
    """The declared page behind an address."""
    assert site.client.get(path).status_code == 200
    return SHOWN[0]


@pytest.fixture
def site(tmp_path):
    made = make_site(tmp_path)
    made.add("ferry-cafe")
    return made


@pytest.fixture(scope="module")
def cafe(tmp_path_factory):
    """An office whose study is made, the study itself, and the proof."""
    made = make_site(tmp_path_factory.mktemp("cafe"))
    made.add("ferry-cafe")
    job = read_job(TEXT, "cafe")
    design, library = build_design(job), load_library()
    return made, study(job, design, library), prove(job, design, library)


def post(site, path, **given):
    data = {"form_token": site.token(), **given}
    return site.client.post(f"/jobs/1/{path}", data=data, follow_redirects=False)


def own(site):
    with site.db.session() as session:
        return read_job(save_of(session, 1).text, "job").promises


# --- the sequence -------------------------------------------------------------------------------------------------


def test_every_promise_stands_with_its_clause_and_its_situations(cafe):
    site, _, proof = cafe
    page = page_of(site, "/jobs/1/sequence")
    assert (page.held, page.promises, page.situations) == (proof.held, len(proof.verdicts), proof.situations)
    assert [(k.text, k.holds) for k in page.kept] == [(v.promise.text, f"all {v.situations:,}") for v in proof.verdicts]
    assert any("NFPA 96 10.4.1" in k.clause for k in page.kept)


def test_promises_are_filtered_by_kind_and_words(cafe):
    site, _, proof = cafe
    kind = page_of(site, "/jobs/1/sequence?kind=fire-fuel")
    assert kind.found == sum(v.promise.kind == "fire-fuel" for v in proof.verdicts) > 0
    words = page_of(site, "/jobs/1/sequence?words=gv-1+gas")
    assert 0 < words.found < len(proof.verdicts)
    assert all("gas" in k.text and "GV-1" in k.text for k in words.kept)
    assert "No promise here is like that" in site.client.get("/jobs/1/sequence?show=broken").text


def test_a_promise_that_fails_says_where_and_leads_to_the_drawing(site):
    """A row that asks the fan to stand in fire: the built-in promise says the contrary, and the wiring keeps that."""
    assert post(site, "promises", **{**ROW, "say": "the fan stands in fire", "effect": ["off", ""]}).status_code == 303
    page = site.client.get("/jobs/1/sequence?show=broken")
    assert SHOWN[0].found == 1
    (broken,) = SHOWN[0].kept
    situation, expected, found, way = broken.failures[0]
    assert (broken.text, broken.own, broken.good, expected) == ("the fan stands in fire", True, False, "off")
    assert situation.endswith("Z1 released")
    assert found == "runs at 100%"
    assert f"/jobs/1/drawings?{way}".replace("&", "&amp;") in page.text
    # the link brings the live drawing to that very situation: the fan runs there
    told = site.client.get(f"/jobs/1/live?{way}").json()
    watched = site.client.get("/jobs/1/live/index").json()["watched"]
    assert told["labels"][told["moments"][-1]["does"][watched.index("EF-1")]] == "100%"


def test_states_and_causes_are_tables_of_the_package(cafe):
    site, _, _ = cafe
    page = site.client.get("/jobs/1/sequence").text
    for words in ("What every device does in every state", "Cause-and-effect matrix", "Outage, then back", "sounds"):
        assert words in page


# --- the job's own rows -------------------------------------------------------------------------------------------


def test_a_row_is_added_edited_and_taken_away(site):
    assert post(site, "promises", **ROW).headers["location"] == "/jobs/1/sequence#own"
    (row,) = own(site)
    assert (row.say, row.when, row.expect, row.clause) == (
        "the hood exhausts in fire",
        {"fire Z1": "released"},
        {"EF-1": "runs at 100 %"},
        "owner",
    )
    form = site.client.get("/jobs/1/sequence?row=0").text
    assert 'value="the hood exhausts in fire"' in form
    assert '<option value="fire Z1: released" selected>' in form
    changed = {**ROW, "based_on": "2", "row": "0", "when": ["heat H-1: on", "fire Z1: armed"], "effect": ["runs", ""]}
    assert post(site, "promises", **changed).status_code == 303
    assert own(site)[0].when == {"heat H-1": "on", "fire Z1": "armed"}
    assert post(site, "promises/remove", based_on="3", row="0").status_code == 303
    assert own(site) == ()
    # what was typed into the file elsewhere stays as it was: comments, spelling, order
    with site.db.session() as session:
        assert save_of(session, 1).text == TEXT


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"say": " "}, "say the promise in words"),
        ({"effect": ["", ""]}, "say what EF-1 does"),
        ({"device": ["", ""]}, "name at least one device"),
        ({"when": ["fire Z1: released", "fire Z1: armed"]}, "fire Z1 stands twice"),
        ({"device": ["EF-1", "EF-1"], "effect": ["runs", "off"]}, "EF-1 stands twice"),
        ({"effect": ["flies", ""]}, "is not what a fan does"),
        ({"when": ["fire Z9: released", ""]}, "there is no zone Z9"),
        ({"effect": ["at least 99,000 cfm", ""]}, "ask for more than nothing and no more than that"),
        ({"row": "7"}, "this row is not there any more"),
    ],
)
def test_a_row_that_cannot_be_is_refused_and_stays_in_the_form(site, given, words):
    answer = post(site, "promises", **{**ROW, **given})
    assert answer.status_code == 422
    assert words in answer.text
    assert SHOWN[0].typed.say == {**ROW, **given}["say"]
    assert own(site) == ()


def test_two_people_add_rows_at_once_and_none_is_lost(site):
    """The second sees what the first saved, with the own row still in the form, and saves again."""
    assert post(site, "promises", **ROW).status_code == 303
    mine = {**ROW, "say": "the gas shuts in fire", "device": ["GV-1", ""], "effect": ["shut", ""]}
    answer = post(site, "promises", **mine)
    assert answer.status_code == 409
    assert "saved save 2 in the meantime" in answer.text
    assert "the hood exhausts in fire" in answer.text
    assert SHOWN[0].typed.say == "the gas shuts in fire"
    again = re.search(r'name="based_on" value="(\d+)"', answer.text)[1]
    assert again == "2"
    assert post(site, "promises", **{**mine, "based_on": again}).status_code == 303
    assert {row.say for row in own(site)} == {"the hood exhausts in fire", "the gas shuts in fire"}


def test_a_row_goes_together_with_a_change_elsewhere(site):
    """Somebody renames the job meanwhile: the row and the name both stand."""
    with site.db.session() as session:
        save_job(session, LOCAL, 1, TEXT.replace("name: ", "name: New ", 1), 1, "cafe", "1", "A", "renamed")
    assert post(site, "promises", **ROW).status_code == 303
    assert own(site)[0].say == ROW["say"]
    with site.db.session() as session:
        assert "name: New " in save_of(session, 1).text


def test_words_of_a_row_are_inert(site):
    assert post(site, "promises", **{**ROW, "say": '"><script>alert(1)</script>'}).status_code == 303
    page = site.client.get("/jobs/1/sequence?row=0").text
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert" in page


# --- slips --------------------------------------------------------------------------------------------------------


def test_the_page_counts_what_the_study_counts_and_shows_hidden_ones_first(cafe):
    site, done, _ = cafe
    page = page_of(site, "/jobs/1/slips")
    assert {v: n for v, n, _ in page.counts} == {
        v: done.count(v) for v in ("hidden", "announced", "obvious", "harmless")
    }
    assert page.total == len(done.outcomes)
    assert {r.verdict for r in page.rows} == {"hidden"}
    assert page.found == done.count("hidden")
    likeliest = max((o for o in done.outcomes if o.verdict == "hidden"), key=lambda o: o.slip.prior)
    assert page.rows[0].kind == likeliest.slip.kind
    assert all(r.test for r in page.rows)


def test_slips_are_filtered_searched_and_paged(cafe):
    site, done, _ = cafe
    every = [page_of(site, f"/jobs/1/slips?verdict=&page={n}") for n in range(1, 9)]
    rows = [r for p in every for r in p.rows]
    assert len(rows) == len(done.outcomes)
    assert {r.sentence for r in rows} == {o.slip.sentence for o in done.outcomes}
    of_kind = page_of(site, "/jobs/1/slips?verdict=&kind=left+off")
    assert of_kind.found == sum(o.slip.kind == "left off" for o in done.outcomes) > 0
    of_device = page_of(site, "/jobs/1/slips?verdict=&device=GV-1")
    assert of_device.found == sum("GV-1" in o.slip.devices for o in done.outcomes) > 0
    one = page_of(site, "/jobs/1/slips?verdict=&words=FS-1:2R+left")
    assert 0 < one.found < 12
    assert "No slip here is like that" in site.client.get("/jobs/1/slips?words=nothing+like+this").text


def test_each_slip_leads_to_the_drawing_where_it_shows(cafe):
    site, _, _ = cafe
    page = page_of(site, "/jobs/1/slips?words=shutdown+pole")
    row = next(r for r in page.rows if r.kind == "left off" and "2R" in r.sentence)
    assert row.drawing.startswith("/jobs/1/drawings?slip=left-off%2FFS-1%2Fshutdown2%2F1%2FR&")
    query = row.drawing.partition("?")[2]
    told = site.client.get(f"/jobs/1/live?{query}").json()
    assert "1" in told["wrong"]["moments"][-1]["differs"]
    opened = site.client.get(row.drawing)
    assert 'data-slip="left-off/FS-1/shutdown2/1/R"' in opened.text


def test_the_reading_that_finds_a_slip_is_told_once_there_is_a_plan(cafe, monkeypatch):
    on_site.once(monkeypatch)
    site, _, _ = cafe
    before = page_of(site, "/jobs/1/slips")
    assert not before.planned
    site.client.get("/jobs/1/check-out")
    after = page_of(site, "/jobs/1/slips")
    assert after.planned
    assert sum(r.reading.startswith("reading ") for r in after.rows) > 30


def test_changes_of_the_job_are_told_with_what_they_buy(cafe):
    site, done, _ = cafe
    page = page_of(site, "/jobs/1/slips/changes")
    assert page.bought
    best = page.bought[0]
    assert best.before == done.count("hidden")
    assert best.share < 1.0
    assert best.proposal.says in site.client.get("/jobs/1/slips/changes").text
    # from then on each hidden slip says which of them takes it away
    rows = [r for n in (1, 2) for r in page_of(site, f"/jobs/1/slips?page={n}").rows]
    assert sum(best.proposal.says in r.removed for r in rows) == len(best.gone) > 0
    assert f"Gone with: {best.proposal.says}" in site.client.get("/jobs/1/slips?words=shunt").text
