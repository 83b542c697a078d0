"""The list of jobs: begun, copied, put away, brought in and handed out."""

from __future__ import annotations

import pytest
from tests.web.support import EXAMPLES, make_site

from galleyproof.job.read import read_job
from galleyproof.store.jobs import find_jobs, job_head, save_of
from galleyproof.web.computed import reviewed
from galleyproof.web.lineup.begin import SYSTEMS, new_text


@pytest.fixture
def site(tmp_path):
    return make_site(tmp_path)


def post(site, path: str, **given):
    return site.client.post(path, headers={"x-form-token": site.token()}, follow_redirects=False, **given)


def heads(site, **given):
    with site.db.session() as session:
        return find_jobs(session, **given)


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_new_job_reads_and_keeps_its_promises(system):
    found = reviewed(new_text("Annex: the new one", "SM-7", system), lambda *_: None)
    assert found.problems == ()
    assert found.review.proof.held == len(found.review.proof.verdicts) > 10
    assert {f.severity for f in found.review.findings} <= {"note"}


def test_a_job_is_begun(site):
    answer = post(site, "/new-job", data={"name": " Annex  kitchen ", "number": "SM-7", "system": SYSTEMS[1]})
    assert answer.status_code == 303
    (head,) = heads(site)
    assert answer.headers["location"] == f"/jobs/{head.id}/line-up"
    assert (head.name, head.number) == ("Annex kitchen", "SM-7")
    with site.db.session() as session:
        job = read_job(save_of(session, head.id).text)
    assert job.job.name == "Annex kitchen"
    assert job.supplies[0].system == SYSTEMS[1]


@pytest.mark.parametrize(
    "data",
    [
        {"name": "", "number": "1"},
        {"name": "a", "number": " "},
        {"name": "a\x07", "number": "1"},
        {"name": "a" * 201, "number": "1"},
        {"name": "a", "number": "1", "system": "12 V"},
    ],
)
def test_a_form_with_mistakes_comes_back(site, data):
    answer = post(site, "/new-job", data=data)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert heads(site) == ()


def test_a_copy_has_the_text_and_its_own_life(site):
    job = site.add("ferry-cafe")
    answer = post(site, f"/jobs/{job}/copy")
    other = int(answer.headers["location"].split("/")[2])
    with site.db.session() as session:
        assert save_of(session, other).text == save_of(session, job).text
        assert job_head(session, other).head == 1
    assert other != job


def test_a_job_put_away_is_found_in_the_archive(site):
    job = site.add("ferry-cafe")
    post(site, f"/jobs/{job}/archive", data={"archived": "true"})
    assert heads(site) == ()
    assert "ferry-cafe" not in site.client.get("/jobs").text
    assert "ferry-cafe" in site.client.get("/jobs?archived=true").text
    post(site, f"/jobs/{job}/archive", data={"archived": "false"})
    assert [h.id for h in heads(site)] == [job]


def test_nothing_changes_by_looking(site):
    job = site.add("ferry-cafe")
    for path in (f"/jobs/{job}/copy", f"/jobs/{job}/archive"):
        assert site.client.get(path).status_code in (404, 405)
    assert len(heads(site)) == 1


# --- brought in -------------------------------------------------------------------------------------------------------


def bring(site, name: str, content: bytes):
    return post(site, "/import", files={"file": (name, content)})


def test_a_job_comes_in_as_it_is_and_goes_out_the_same(site):
    content = (EXAMPLES / "school-kitchen.yaml").read_bytes()
    answer = bring(site, "school.yaml", content)
    assert answer.status_code == 303
    (head,) = heads(site)
    assert (head.name, head.number) == ("Saltmarrow School Kitchen", "SM-214")
    out = site.client.get(f"/jobs/{head.id}/export.yaml")
    assert out.content == content
    assert 'filename="SM-214-Saltmarrow-School-Kitchen.yaml"' in out.headers["content-disposition"]


def test_a_job_with_mistakes_comes_in_and_shows_them(site):
    text = (EXAMPLES / "ferry-cafe.yaml").read_text().replace("length: 8 ft", "length: 8 cubits")
    answer = bring(site, "cafe.yml", text.encode())
    job = int(answer.headers["location"].split("/")[2])
    with site.db.session() as session:
        assert save_of(session, job).text == text
    page = site.client.get(f"/jobs/{job}/line-up/hoods").text
    assert "8 cubits" in page
    assert 'aria-invalid="true"' in page


def test_a_text_that_is_no_yaml_comes_in_too(site):
    answer = bring(site, "rough notes.yaml", b"hoods: three of them: roughly\n")
    assert answer.headers["location"].endswith("/text")
    assert heads(site)[0].name == "rough notes"


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.yaml", b"\xff\xfe\x00", "no text in UTF-8"),
        ("a.yaml", b"a: \x00", "code 0"),
        ("a.yaml", b"", "is empty"),
        ("a.yaml", b"#" * 2_100_000, "2,000,000"),
        ("a.yaml", b"#" * 4_100_000, "4 MB"),
    ],
)
def test_what_is_no_job_is_refused(site, name, content, said):
    answer = bring(site, name, content)
    assert answer.status_code == 422
    assert said in answer.text
    assert heads(site) == ()


def test_a_name_that_is_markup_is_only_text(site):
    bring(site, "<svg onload=alert(1)>.yaml", b"hoods: 1\n")
    page = site.client.get("/jobs").text
    assert "<svg onload" not in page
    assert "&lt;svg onload" in page
    out = site.client.get(f"/jobs/{heads(site)[0].id}/export.yaml")
    assert "<" not in out.headers["content-disposition"].split(";")[1]


def test_a_name_of_a_file_is_plain_text(site):
    head = b'Content-Disposition: form-data; name="file"; filename="a\x00b\x07c.yaml"'
    body = b"\r\n".join((b"--x", head, b"", b"hoods: 1", b"--x--", b""))
    kind = {"content-type": "multipart/form-data; boundary=x", "x-form-token": site.token()}
    answer = site.client.post("/import", content=body, headers=kind, follow_redirects=False)
    assert answer.status_code == 303
    assert [h.name for h in heads(site)] == ["abc"]


def test_deep_and_repeated_text_costs_nothing(site):
    # a name that stands for many more names: read as text, never followed
    bomb = "a: &a [x, x]\n" + "".join(f"b{n}: &b{n} [*a, *a, *a, *a]\n" for n in range(200))
    answer = bring(site, "bomb.yaml", bomb.encode())
    assert answer.status_code == 303
    page = site.client.get(answer.headers["location"])
    assert "is refused" in page.text
    assert bring(site, "deep.yaml", b"[" * 100_000).status_code == 303
