"""Remarks on saves: written by who may comment, shown at the save with who and when, as text and nothing else."""

from __future__ import annotations

import re

import pytest
from tests.store.support import package
from tests.web.house import NAMES, make_house, quick_hashes
from tests.web.support import make_site
from tests.web.test_inert import PAYLOADS

from galleyproof.store.audit import lines
from galleyproof.store.issued import add_issued
from galleyproof.store.jobs import save_job
from galleyproof.store.people import LOCAL
from galleyproof.store.remarks import LONGEST, MOST, add_remark, remarks_on


@pytest.fixture
def site(tmp_path):
    made = make_site(tmp_path)
    made.add("ferry-cafe")
    with made.db.session() as s:
        save_job(s, LOCAL, 1, "second text", 1, "cafe", "S-1", "A", "changed")
    return made


def remark(site, text, save=1, client=None, token=None):
    client = client or site.client
    data = {"form_token": token or site.token(), "text": text}
    return client.post(f"/jobs/1/revisions/{save}/remarks", data=data, follow_redirects=False)


def row(page: str, save: int) -> str:
    return page.split(f'<tr id="save-{save}"')[1].split('<tr id="save-')[0]


def test_a_remark_stands_at_its_save_with_who_and_when(site):
    answer = remark(site, "Why is R-1 so long?\r\nMeasure it again.")
    assert answer.status_code == 303
    assert answer.headers["location"] == "/jobs/1/revisions?old=1&new=1#save-1"
    remark(site, "Measured: 42 ft.")
    page = site.client.get("/jobs/1/revisions").text
    found = re.findall(r'class="remark-by">([^<]*)</p>\s*<p class="remark-text">([^<]*)</p>', row(page, 1))
    assert [text for _, text in found] == ["Why is R-1 so long?\nMeasure it again.", "Measured: 42 ft."]
    assert all(re.fullmatch(r"this computer, \d{4}-\d\d-\d\d \d\d:\d\d", by) for by, _ in found)
    assert "remark-by" not in row(page, 2)
    with site.db.session(reads=True) as s:
        said = [(line.who, line.did, line.job_id, line.words) for line in lines(s)][:2]
    assert said == [
        ("this computer", "remarked on a save", 1, "save 1, remark 2"),
        ("this computer", "remarked on a save", 1, "save 1, remark 1"),
    ]


def test_a_remark_is_shown_with_the_set_of_its_save(site):
    with site.db.session() as s:
        add_issued(s, LOCAL, 1, 2, "A", package(), "for building")
    remark(site, "on the first", 1)
    remark(site, "on what was issued", 2)
    page = site.client.get("/jobs/1/issued").text
    assert "on what was issued" in page
    assert "on the first" not in page


@pytest.mark.parametrize("payload", PAYLOADS)
def test_markup_in_a_remark_stays_text(site, payload):
    from markupsafe import escape

    with site.db.session() as s:
        add_issued(s, LOCAL, 1, 1, "A", package())
    assert remark(site, payload).status_code == 303
    for page in ("revisions", "issued"):
        text = site.client.get(f"/jobs/1/{page}").text
        assert f'<p class="remark-text">{escape(payload)}</p>' in text
        assert payload == str(escape(payload)) or payload not in text


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "the remark is empty"),
        (" \r\n\t ", "the remark is empty"),
        ("x" * (LONGEST + 1), "has 2,001 characters; 2,000 are taken"),
        ("a\0b", r"not text \(U\+0000\)"),
        ("a\x1b[1mb", r"not text \(U\+001B\)"),
        ("rev \u202eA", r"not text \(U\+202E\)"),
    ],
)
def test_what_is_no_remark_is_refused_and_still_there(site, text, words):
    answer = remark(site, text)
    assert answer.status_code == 422
    assert re.search(words, answer.text)
    assert "Remark on save 1" in answer.text
    with site.db.session(reads=True) as s:
        assert remarks_on(s, 1, [1, 2]) == {}
        assert not any(line.did == "remarked on a save" for line in lines(s))
    if text.strip():
        assert text.replace("\0", "")[-3:] in answer.text.replace("\0", "")


def test_half_a_character_is_refused(site):
    body = f"form_token={site.token()}&text=a%ED%A0%80b".encode()
    headers = {"content-type": "application/x-www-form-urlencoded"}
    answer = site.client.post("/jobs/1/revisions/1/remarks", content=body, headers=headers, follow_redirects=False)
    assert answer.status_code in (303, 422)
    assert site.client.get("/jobs/1/revisions").status_code == 200


def test_the_longest_remark_is_kept_whole(site):
    assert remark(site, "Ω" * LONGEST).status_code == 303
    assert "Ω" * LONGEST in site.client.get("/jobs/1/revisions").text


def test_there_is_no_remark_on_a_save_that_is_not_there(site):
    for save in (0, 3, 999_999_999):
        assert remark(site, "anything", save).status_code == 404
        assert remark(site, "", save).status_code == 404


def test_a_save_takes_so_many_remarks_and_no_more(site):
    with site.db.session() as s:
        for n in range(MOST):
            add_remark(s, LOCAL, 1, 1, f"remark {n}")
    answer = remark(site, "one more")
    assert answer.status_code == 422
    assert f"save 1 has {MOST} remarks" in answer.text
    assert remark(site, "on the next save", 2).status_code == 303


def test_a_remark_on_a_save_far_back_leads_to_it(site):
    with site.db.session() as s:
        for n in range(2, 112):
            save_job(s, LOCAL, 1, f"text {n}", n, "cafe", "S-1", "A", "changed")
    there = remark(site, "long ago", 5).headers["location"]
    page = site.client.get(there).text
    assert "long ago" in row(page, 5)
    assert "long ago" not in site.client.get("/jobs/1/revisions").text


def test_who_may_remark_and_who_reads_it(tmp_path, monkeypatch):
    quick_hashes(monkeypatch)
    house = make_house(tmp_path, ("engineer", "installer", "reviewer", "administrator", "link"))
    with house.office.db.session() as s:
        add_issued(s, LOCAL, 1, 1, "A", package())
    for role in ("engineer", "reviewer", "administrator"):
        assert (
            remark(house.office, f"said by {role}", client=house.clients[role], token=house.token(role)).status_code
            == 303
        )
    for role in ("installer", "link"):
        answer = remark(house.office, f"said by {role}", client=house.clients[role], token=house.token(role))
        assert answer.status_code == 403
        issued = house.clients[role].get("/jobs/1/issued")
        assert issued.status_code == 200
        assert "said by" not in issued.text  # remarks are for those who read revisions
    page = house.clients["reviewer"].get("/jobs/1/revisions").text
    assert [f"{by}, " in page for by in (NAMES["engineer"], NAMES["reviewer"], NAMES["administrator"])] == [True] * 3
    assert "Write a remark on a save" in page
    assert "said by installer" not in page
    # without the form's token nothing is taken
    data = {"text": "from elsewhere"}
    assert house.clients["reviewer"].post("/jobs/1/revisions/1/remarks", data=data).status_code == 403
