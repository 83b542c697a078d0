"""What is acknowledged stays: the server killed, the disk full, the database gone or busy; a clear message, no loss.

``bench/lost.py`` kills two hundred times on each database.
"""

import os
import shutil
import subprocess
import tempfile
import threading
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlalchemy import event, text
from starlette.testclient import TestClient
from tests.killing import _Never, draft, kill_often, lost
from tests.postgres import Server, programs
from tests.store.support import BO, add, save

from galleyproof.store.database import Database
from galleyproof.store.errors import UnavailableError
from galleyproof.store.jobs import saves_of
from galleyproof.store.upgrade import bring_up_to_date
from galleyproof.web.app import make_app
from galleyproof.web.settings import Settings

KILLS = 8


@pytest.fixture(scope="module")
def own_postgres():
    """A server of these tests' own, which keeps what is committed through a power cut."""
    folder = programs()
    if folder is None:
        pytest.skip("there is no PostgreSQL on this machine; scripts/test-tools installs it")
    server = Server(folder)
    server.stop()
    server.start(safe=True)
    yield server
    server.remove()


# --- killed -------------------------------------------------------------------------------------------------------


def wrote_something(tally):
    assert tally.strange == []
    assert tally.kills == KILLS
    assert tally.cut_off >= 1  # the kills did come in the middle of requests
    assert len(tally.saves) + len(tally.entries) > KILLS / 2
    return True


def test_a_server_that_is_killed_loses_no_acknowledged_write(tmp_path):
    url = f"sqlite:///{tmp_path / 'jobs.db'}"
    tally = kill_often(url, KILLS, seed=1)
    assert wrote_something(tally)
    assert lost(url, tally) == []
    a_lost_write_would_be_found(url, tally)


def a_lost_write_would_be_found(url, tally):
    """The check can fail: a row that is gone, and one that is another, are both told."""
    db = Database(url)
    with db.engine.begin() as c:
        c.execute(text("DROP TRIGGER guard_save_update"))
        c.execute(text("DROP TRIGGER guard_reading_delete"))
        c.execute(text("UPDATE save SET text = text || '!'"))
        c.execute(text("DELETE FROM reading"))
    db.close()
    found = lost(url, tally)
    assert {f for f in found if f.startswith("save")} == {f"save {key}" for key in tally.saves}
    assert {f for f in found if f.startswith("reading")} == {f"reading {key}" for key in tally.entries}
    assert sum("half" in f for f in found) >= len(tally.saves)


def test_nor_does_one_whose_database_loses_its_power_too(own_postgres):
    def power_cut():
        own_postgres.stop()
        own_postgres.start(safe=True)

    url = own_postgres.new_url()
    tally = kill_often(url, KILLS, seed=2, power_cut=power_cut, cut_every=4)
    assert wrote_something(tally)
    assert lost(url, tally) == []


# --- full, gone, busy ---------------------------------------------------------------------------------------------


class Page:
    """A browser at an app over a database."""

    def __init__(self, db):
        app = make_app(Settings(database_url="", workers=False, hosts=("testserver",)), db)
        app.state.office.work = _Never()
        self.client = TestClient(app)
        page = self.client.get("/jobs").text
        self.client.headers["x-form-token"] = page.split('{"x-form-token": "')[1].split('"')[0]

    def save(self, job, words, based_on):
        form = {"text": words, "based_on": str(based_on)}
        return self.client.post(f"/jobs/{job}/text", data=form, follow_redirects=False)


@pytest.fixture
def opened(db):
    with db.session() as s:
        job = add(s, draft("first"))
    return db, job, Page(db)


def numbers(db, job):
    with db.session() as s:
        return [s.number for s in saves_of(s, job)]


def fill_until_refused(page, job, words, based_on, tries):
    for n in range(based_on, based_on + tries):
        answer = page.save(job, f"{words}# {n}\n", n)
        if answer.status_code != 303:
            return answer, n
    raise AssertionError("the disk never became full")


def disk_is_full_and_then_is_not(db, job, page, make_room):
    big = draft("big") + "# a long remark\n" * 20_000
    answer, standing = fill_until_refused(page, job, big, 1, 60)
    assert answer.status_code == 503
    assert "the disk of the database is full; nothing was stored: make room and try again" in answer.text
    assert numbers(db, job) == list(range(standing, 0, -1))
    # what is there can still be read
    assert page.client.get(f"/jobs/{job}/text").status_code == 200
    make_room()
    assert page.save(job, draft("after"), standing).status_code == 303
    assert numbers(db, job) == list(range(standing + 1, 0, -1))


def test_a_full_file_stores_nothing_and_says_so(tmp_path):
    limit = {"pages": 400}
    db = Database(f"sqlite:///{tmp_path / 'jobs.db'}")

    @event.listens_for(db.engine, "checkout")
    def _limit(connection, _record, _proxy):
        connection.execute(f"PRAGMA max_page_count = {limit['pages']}")

    bring_up_to_date(db)
    with db.session() as s:
        job = add(s, draft("first"))
    disk_is_full_and_then_is_not(db, job, Page(db), lambda: limit.update(pages=100_000))
    db.close()


@contextmanager
def small_disk(megabytes):
    """A folder on a disk of its own size; the tests that need it are skipped where none can be mounted."""
    folder = Path(tempfile.mkdtemp(prefix="galleyproof-disk-", dir="/tmp"))
    made = (
        os.geteuid() == 0
        and not subprocess.run(
            ["mount", "-t", "tmpfs", "-o", f"size={megabytes}m", "tmpfs", str(folder)], capture_output=True
        ).returncode
    )
    if not made:
        folder.rmdir()
        pytest.skip("no small disk can be made here; that takes an administrator")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True, capture_output=True)
        folder.rmdir()


def test_a_full_disk_under_a_file_stores_nothing_and_says_so():
    with small_disk(3) as folder:
        filler = folder / "something else"
        filler.write_bytes(bytes(1_200_000))
        db = Database(f"sqlite:///{folder / 'jobs.db'}")
        bring_up_to_date(db)
        with db.session() as s:
            job = add(s, draft("first"))
        disk_is_full_and_then_is_not(db, job, Page(db), filler.unlink)
        db.close()


def test_a_full_disk_under_postgresql_stores_nothing_and_says_so(own_postgres):
    with small_disk(3) as folder:
        shutil.chown(folder, "postgres")
        db = Database(own_postgres.new_url())
        bring_up_to_date(db)
        with db.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as c:
            c.execute(text(f"CREATE TABLESPACE small LOCATION '{folder}'"))
            c.execute(text("ALTER TABLE save SET TABLESPACE small"))
            # repeated words pack well; the disk is to be full after a few saves, not after thousands
            c.execute(text("ALTER TABLE save ALTER COLUMN text SET STORAGE EXTERNAL"))
        with db.session() as s:
            job = add(s, draft("first"))

        def more_room():
            subprocess.run(["mount", "-o", "remount,size=60m", str(folder)], check=True, capture_output=True)

        disk_is_full_and_then_is_not(db, job, Page(db), more_room)
        with db.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as c:
            c.execute(text("ALTER TABLE save SET TABLESPACE pg_default"))
            c.execute(text("DROP TABLESPACE small"))
        db.close()


def test_a_database_that_is_gone_is_said_on_every_page_and_all_is_well_when_it_is_back(own_postgres):
    db = Database(own_postgres.new_url())
    bring_up_to_date(db)
    with db.session() as s:
        job = add(s, draft("first"))
    page = Page(db)
    assert page.save(job, draft("two"), 1).status_code == 303
    own_postgres.stop()
    try:
        for answer in (
            page.client.get("/jobs"),
            page.client.get(f"/jobs/{job}/text"),
            page.save(job, draft("three"), 2),
            page.client.get(f"/jobs/{job}/text", headers={"hx-request": "true"}),
            page.client.get("/api/v1/jobs", headers={"authorization": "Bearer gp_none"}),
        ):
            assert answer.status_code == 503, answer.text
            assert "the database cannot be reached; nothing was stored: start it again" in answer.text
    finally:
        own_postgres.start(safe=True)
    assert page.client.get("/jobs").status_code == 200
    assert page.save(job, draft("three"), 2).status_code == 303
    assert numbers(db, job) == [3, 2, 1]
    db.close()


def test_a_database_that_goes_in_the_middle_of_a_request_is_said_and_nothing_is_half(own_postgres):
    db = Database(own_postgres.new_url())
    bring_up_to_date(db)
    with db.session() as s:
        job = add(s, draft("first"))

    def cut_off():
        with db.session() as s:
            save(s, job, draft("two"), 1)
            own_postgres.stop()
            own_postgres.start(safe=True)

    with pytest.raises(UnavailableError, match="cannot be reached; nothing was stored"):
        cut_off()
    assert numbers(db, job) == [1]
    with db.session() as s:
        save(s, job, draft("two"), 1)
    assert numbers(db, job) == [2, 1]
    db.close()


def test_a_busy_file_is_said_and_nothing_is_stored(tmp_path):
    db = Database(f"sqlite:///{tmp_path / 'jobs.db'}")

    @event.listens_for(db.engine, "checkout")
    def _soon(connection, _record, _proxy):
        connection.execute("PRAGMA busy_timeout = 50")

    bring_up_to_date(db)
    with db.session() as s:
        job = add(s, draft("first"))
    page = Page(db)
    held, done = threading.Event(), threading.Event()

    def hold():
        with db.session() as s:
            save(s, job, draft("two"), 1, who=BO)
            held.set()
            done.wait(20)

    other = threading.Thread(target=hold)
    other.start()
    held.wait(20)
    answer = page.save(job, draft("mine"), 1)
    # whoever only reads waits for nobody
    assert page.client.get(f"/jobs/{job}/revisions").status_code == 200
    done.set()
    other.join()
    assert answer.status_code == 503
    assert "the database is busy; nothing was stored: try again in a moment" in answer.text
    # and now the other one's save is found, not written over
    assert page.save(job, draft("mine"), 1).status_code == 409
    assert numbers(db, job) == [2, 1]
    db.close()
