"""The page of issued sets: refused with reasons, prepared, looked at, issued once, kept and verified."""

import csv
import io
import json
import zipfile
from hashlib import sha256
from urllib.parse import urlsplit

import pytest
from sqlalchemy import text as sql
from tests.store.support import package
from tests.web.support import make_site, with_pages

from galleyproof.design.build import build_design
from galleyproof.job.read import read_job
from galleyproof.store.guards import take_guards
from galleyproof.store.issued import pack
from galleyproof.store.jobs import job_head, save_job, save_of, saves_of
from galleyproof.store.people import LOCAL
from galleyproof.web import issuing
from galleyproof.web.computed import ISSUED
from galleyproof.web.pages import issued as page_module
from galleyproof.web.work import link_and_text


@pytest.fixture
def site(tmp_path, monkeypatch):
    return with_pages(make_site(tmp_path), monkeypatch, page_module)


def dated(text):
    return text.replace("  revision: A\n", "  revision: A\n  date: 2026-11-25\n", 1)


def save(site, job, change):
    with site.db.session() as s:
        standing = save_of(s, job)
        text = change(standing.text)
        assert text != standing.text
        return save_job(s, LOCAL, job, text, standing.number, "cafe", "S-1", read_revision(text), "changed")


def read_revision(text):
    return text.split("  revision: ", 1)[1][0]


def add(site, change=dated):
    job = site.add("ferry-cafe")
    save(site, job, change)
    return job


def post(site, job, prepared, **given):
    form = {"form_token": site.token(), "based_on": "2", "sha256": prepared.sha256, "said": "for pricing"}
    return site.client.post(f"/jobs/{job}/issued", data={**form, **given}, follow_redirects=False)


@pytest.fixture
def quick(monkeypatch):
    """Sets made in no time: what is in one is tested with the package."""

    def ready(given, _progress):
        _link, text = link_and_text(given)
        job = text if text.endswith("# numbers\n") else text + "# numbers\n"
        files = {"package.pdf": b"%PDF-1.7 the document", "job.yaml": job.encode()}
        listed = [{"name": n, "sha256": sha256(c).hexdigest()} for n, c in files.items()]
        files["manifest.json"] = json.dumps({"files": listed}).encode()
        return issuing.Ready(files, read_revision(text))

    monkeypatch.setattr(issuing, "ready", ready)


def test_a_job_without_a_date_may_not_be_issued_and_the_reason_is_said(site):
    job = site.add("ferry-cafe")
    page = site.client.get(f"/jobs/{job}/issued").text
    assert "Save 1 may not be issued: 1 reason." in page
    assert "the job has no date (job: date); an issued set is dated" in page
    assert "Prepare the set" not in page
    # nor by going round the page
    page = site.client.get(f"/jobs/{job}/issued?prepare=true")
    assert page.page.prepared is None
    answer = post(site, job, issuing.Ready(package(), "A"), based_on="1")
    assert answer.status_code == 400
    assert "prepare it again" in answer.text


def test_a_job_whose_promises_fail_may_not_be_issued(site):
    def broken(text):
        row = "promises:\n  - say: the fan stands in fire\n    when: {fire Z1: released}\n    expect: {EF-1: stands}\n"
        return dated(text) + row

    job = add(site, broken)
    shown = site.client.get(f"/jobs/{job}/issued")
    assert any("a promise fails" in reason for reason in shown.page.against)
    assert "a promise fails" in shown.text
    assert "Prepare the set" not in shown.text


def test_a_text_with_mistakes_may_not_be_issued(site):
    job = add(site, lambda t: dated(t).replace("revision: A", "revision: far too long", 1))
    page = site.client.get(f"/jobs/{job}/issued").text
    assert "The job cannot be built yet." in page


def test_from_the_check_to_an_issued_set_with_its_real_documents(site):
    job = add(site)
    page = site.client.get(f"/jobs/{job}/issued").text
    assert "Nothing stands against issuing save 2" in page
    shown = site.client.get(f"/jobs/{job}/issued?prepare=true")
    prepared = shown.page.prepared
    assert f'value="{prepared.sha256}"' in shown.text
    looked_at = site.client.get(f"/jobs/{job}/prepared/package.pdf")
    assert looked_at.content == prepared.files["package.pdf"]
    assert looked_at.content.startswith(b"%PDF-")

    assert post(site, job, prepared).headers["location"] == f"/jobs/{job}/issued"
    (one,) = site.client.get(f"/jobs/{job}/issued").page.sets
    assert (one.revision, one.made_by, one.said, one.sha256) == ("A", "this computer", "for pricing", prepared.sha256)

    # the set is what was looked at, whole, and its manifest says ISSUED
    whole = zipfile.ZipFile(io.BytesIO(site.client.get(f"/jobs/{job}/issued/{one.id}/set.zip").content))
    assert {n: whole.read(n) for n in whole.namelist()} == dict(prepared.files)
    manifest = json.loads(whole.read("manifest.json"))
    assert (manifest["status"], manifest["revision"]) == ("ISSUED", "A")
    for file in manifest["files"]:
        assert sha256(whole.read(file["name"])).hexdigest() == file["sha256"]
    assert site.client.get(f"/jobs/{job}/issued/{one.id}/package.pdf").content == looked_at.content

    # a wire's label opens the wire in this office
    (labels,) = (n for n in whole.namelist() if n.startswith("wire") and n.endswith(".csv"))
    rows = list(csv.DictReader(io.StringIO(whole.read(labels).decode("utf-8-sig"))))
    link = urlsplit(rows[0]["link"])
    assert f"{link.scheme}://{link.netloc}" == site.client.app.state.office.settings.address
    assert site.client.get(link.path).status_code == 200

    # the numbers its conductors were issued with stay in the job, so that the next revision keeps them
    with site.db.session() as s:
        newest, of = saves_of(s, job)[:2]
    dated_text = of.text
    assert one.save_number == newest.number == 3
    assert newest.said == "numbers of conductors issued with revision A"
    assert newest.text.encode() == whole.read("job.yaml")
    assert read_job(newest.text) != read_job(dated_text)
    assert build_design(read_job(newest.text)).conductors == build_design(read_job(dated_text)).conductors
    page = site.client.get(f"/jobs/{job}/issued").text
    assert "Revision A was issued on" in page
    assert "Prepare the set" not in page


def test_a_revision_is_issued_once(site, quick):
    job = add(site)
    prepared = site.client.get(f"/jobs/{job}/issued?prepare=true").page.prepared
    assert post(site, job, prepared).status_code == 303
    # again from the same old page
    answer = post(site, job, prepared)
    assert answer.status_code in (400, 409)
    # and from a page of the job as it now stands
    office = site.client.app.state.office
    ready = office.work.ask(ISSUED, office.given(ISSUED, job, text_of(site, job)))
    answer = post(site, job, ready.result, based_on="3")
    assert answer.status_code == 400
    assert "revision A was issued on" in answer.text
    assert len(site.client.get(f"/jobs/{job}/issued").page.sets) == 1
    # the next revision is another set
    save(site, job, lambda t: t.replace("revision: A", "revision: B", 1))
    prepared = site.client.get(f"/jobs/{job}/issued?prepare=true").page.prepared
    assert post(site, job, prepared, based_on="4").status_code == 303
    assert [x.revision for x in site.client.get(f"/jobs/{job}/issued").page.sets] == ["B", "A"]


def text_of(site, job):
    with site.db.session() as s:
        return save_of(s, job).text


def test_what_somebody_saved_in_the_meantime_is_not_issued_unseen(site, quick):
    job = add(site)
    prepared = site.client.get(f"/jobs/{job}/issued?prepare=true").page.prepared
    save(site, job, lambda t: t + "# later\n")
    answer = post(site, job, prepared)
    assert answer.status_code == 409
    assert "saved first (save 3)" in answer.text
    answer = post(site, job, prepared, based_on="3")
    assert answer.status_code == 400
    assert site.client.get(f"/jobs/{job}/issued").page.sets == ()
    with site.db.session() as s:
        assert job_head(s, job).head == 3


def test_only_the_set_that_was_looked_at_is_issued(site, quick):
    job = add(site)
    prepared = site.client.get(f"/jobs/{job}/issued?prepare=true").page.prepared
    assert post(site, job, prepared, sha256="0" * 64).status_code == 400
    assert post(site, job, prepared, sha256="nonsense").status_code == 422
    assert post(site, job, prepared, form_token="x").status_code == 403
    assert site.client.get(f"/jobs/{job}/issued").page.sets == ()


def test_verify_says_what_is_not_as_issued(site, quick):
    job = add(site)
    prepared = site.client.get(f"/jobs/{job}/issued?prepare=true").page.prepared
    post(site, job, prepared)
    (one,) = site.client.get(f"/jobs/{job}/issued").page.sets
    address = f"/jobs/{job}/issued/{one.id}/verify"
    assert "every file fits its hash" in site.client.get(address).text
    with site.db.engine.begin() as c:
        take_guards(c)
        c.execute(sql("UPDATE issued SET content = :c"), {"c": pack({**prepared.files, "package.pdf": b"forged"})})
    said = site.client.get(address).text
    assert "not as issued" in said
    assert "package.pdf is not as it was issued" in said


def test_a_job_called_anything_gives_a_plain_file_name(site, quick):
    job = add(site)
    with site.db.session() as s:
        standing = save_of(s, job)
        save_job(
            s,
            LOCAL,
            job,
            standing.text + "# x\n",
            standing.number,
            'a"; filename="x.exe',
            'S/1\r\nx: "',
            "A",
            "renamed",
        )
    prepared = site.client.get(f"/jobs/{job}/issued?prepare=true").page.prepared
    head = site.client.get(f"/jobs/{job}/prepared/package.pdf").headers["content-disposition"]
    assert head == 'inline; filename="S-1x-rev-A-prepared.pdf"'
    assert prepared is not None


def test_a_draft_is_made_and_downloaded(site):
    job = site.add("ferry-cafe")
    assert site.client.get(f"/jobs/{job}/draft.zip").status_code == 404
    page = site.client.get(f"/jobs/{job}/issued?draft=quick").text
    assert "Download the draft (zip)" in page
    answer = site.client.get(f"/jobs/{job}/draft.zip")
    assert answer.headers["content-disposition"] == 'attachment; filename="S-1-rev-A-draft-of-save-1.zip"'
    whole = zipfile.ZipFile(io.BytesIO(answer.content))
    assert json.loads(whole.read("manifest.json"))["status"] == "DRAFT"
