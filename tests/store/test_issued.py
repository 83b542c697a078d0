"""Issued sets: kept byte for byte, a revision once, and what no longer fits its hash is found."""

import io
import threading
import zipfile
from hashlib import sha256

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError
from tests.store.support import ANN, BO, add, package

from galleyproof.store.errors import NotFoundError, RefusedError, UnavailableError
from galleyproof.store.guards import KEPT, take_guards
from galleyproof.store.issued import add_issued, content_of, faults_of, file_of, issued_of, issued_sets, pack
from galleyproof.store.remarks import add_remark


def issue(db, files=None, revision="A"):
    with db.session() as s:
        job = add(s)
        made = add_issued(s, ANN, job, 1, revision, files or package(), "for pricing")
    return job, made


def test_a_set_comes_back_byte_for_byte(db):
    job, made = issue(db)
    with db.session() as s:
        content = content_of(s, job, made.id)
        assert content == pack(package())
        assert made.sha256 == sha256(package()["manifest.json"]).hexdigest()
        assert made.size_bytes == len(content)
        assert file_of(s, job, made.id, "package.pdf") == b"the package"
        assert faults_of(s, job, made.id) == ()
        assert issued_sets(s, job) == (made,)
        assert (made.made_by, made.said, made.save_number) == ("Ann Reed", "for pricing", 1)
    with zipfile.ZipFile(io.BytesIO(content)) as whole:
        assert whole.namelist() == ["package.pdf", "job.yaml", "manifest.json"]


def test_a_revision_is_issued_once(db):
    job, _ = issue(db)
    with db.session() as s, pytest.raises(RefusedError, match=r"revision A was issued on .* by Ann Reed"):
        add_issued(s, BO, job, 1, "A", package())
    with db.session() as s:
        add_issued(s, BO, job, 1, "B", package("B"))
        assert [x.revision for x in issued_sets(s, job)] == ["B", "A"]


def test_two_who_issue_at_once_one_is_told(db):
    with db.session() as s:
        job = add(s)
    gate, told = threading.Barrier(2), []

    def go(who):
        gate.wait()
        try:
            with db.session() as s:
                add_issued(s, who, job, 1, "A", package())
        except RefusedError as error:
            told.append(str(error))

    threads = [threading.Thread(target=go, args=(w,)) for w in (ANN, BO)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert len(told) == 1
    with db.session() as s:
        assert len(issued_sets(s, job)) == 1


def test_files_that_do_not_fit_their_manifest_are_not_kept(db):
    with db.session() as s:
        job = add(s)
        for wrong, said in (
            ({**package(), "package.pdf": b"another"}, "package.pdf is not as it was issued"),
            ({**package(), "more.txt": b""}, "more.txt is not in the manifest"),
            ({k: v for k, v in package().items() if k != "job.yaml"}, "job.yaml is missing"),
            ({k: v for k, v in package().items() if k != "manifest.json"}, "it has no manifest"),
        ):
            with pytest.raises(RefusedError, match=said):
                add_issued(s, ANN, job, 1, "A", wrong)


def test_a_set_belongs_to_its_job(db):
    job, made = issue(db)
    with db.session() as s:
        other = add(s, "another")
        for ask in (issued_of, content_of, faults_of):
            with pytest.raises(NotFoundError):
                ask(s, other, made.id)
        with pytest.raises(NotFoundError):
            file_of(s, job, made.id, "../job.yaml")


@pytest.mark.parametrize("change", ["content", "sha256"])
def test_what_was_changed_behind_the_guards_is_found(db, change):
    job, made = issue(db)
    altered = pack({**package(), "package.pdf": b"forged"}) if change == "content" else "0" * 64
    with db.engine.begin() as c:
        take_guards(c)
        c.execute(text(f"UPDATE issued SET {change} = :x"), {"x": altered})
    with db.session() as s:
        said = faults_of(s, job, made.id)
    expected = "package.pdf is not as it was issued" if change == "content" else "the manifest is not the one"
    assert expected in said[0]


@pytest.mark.parametrize("table", KEPT)
def test_the_database_itself_refuses_changes(db, table):
    issue(db)
    statements = [f"UPDATE {table} SET id = id", f"DELETE FROM {table}"]
    if not db.is_sqlite:
        statements.append(f"TRUNCATE {table}")
    if table == "reading":
        with db.engine.begin() as c:
            c.execute(
                text(
                    "INSERT INTO reading (id, job_id, probe, device, entry, received_at, received_by)"
                    " VALUES ('r', 1, 'p', 'd', '{}', '2026-01-01 00:00:00', 'x')"
                )
            )
    if table == "remark":
        with db.session() as session:
            add_remark(session, ANN, 1, 1, "why?")
    for statement in statements:
        # the driver's own class of the error differs, its words do not
        with (
            pytest.raises(Exception, match=f"rows of {table} stay as they were written") as told,
            db.engine.begin() as c,
        ):
            c.execute(text(statement))
        assert not isinstance(told.value, AssertionError)
        with pytest.raises(UnavailableError, match="stay as they were written"), db.session() as s:
            s.execute(text(statement))
    with db.engine.connect() as c:
        assert c.scalar(text(f"SELECT count(*) FROM {table}")) > 0


def test_a_revision_issued_twice_is_stopped_by_the_table_too(db):
    job, _ = issue(db)
    row = (
        "INSERT INTO issued (job_id, save_number, revision, sha256, content, said, made_at, made_by)"
        f" VALUES ({job}, 1, 'A', 'x', '', '', '2026-01-01 00:00:00', 'x')"
    )
    with pytest.raises(IntegrityError), db.engine.begin() as c:
        c.execute(text(row))
