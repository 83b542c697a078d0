"""Files beside jobs."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import func, select

from galleyproof.store import attachments
from galleyproof.store.attachments import attach, attached, drop_upload, keep_upload, upload_of
from galleyproof.store.database import Database, now
from galleyproof.store.errors import NotFoundError, RefusedError
from galleyproof.store.jobs import add_job
from galleyproof.store.people import LOCAL
from galleyproof.store.schema import AttachmentRow, Base


@pytest.fixture
def here(tmp_path):
    db = Database(f"sqlite:///{tmp_path / 'a.db'}")
    Base.metadata.create_all(db.engine)
    yield db
    db.close()


def test_a_new_weather_file_takes_the_place_of_the_old_one(here):
    with here.session() as session:
        job = add_job(session, LOCAL, "galleyproof: 1\n", "a", "", "A", "new").id
        assert attached(session, job, "weather") is None
        attach(session, LOCAL, job, "weather", "old.epw", b"old")
        attach(session, LOCAL, job, "weather", "new\n.epw", b"new")
        found = attached(session, job, "weather")
        assert (found.name, found.content) == ("new.epw", b"new")
        assert session.scalar(select(func.count()).select_from(AttachmentRow)) == 1
        with pytest.raises(NotFoundError):
            attach(session, LOCAL, 99, "weather", "x", b"")


def test_what_waits_to_be_imported_is_for_who_sent_it_and_goes(here, monkeypatch):
    with here.session() as session:
        number = keep_upload(session, LOCAL, "schedule.xlsx", b"rows")
        assert upload_of(session, LOCAL, number).content == b"rows"
        with pytest.raises(NotFoundError):
            upload_of(session, replace(LOCAL, name="somebody else"), number)
    monkeypatch.setattr(attachments, "now", lambda: now() + timedelta(days=3))
    with here.session() as session:
        other = keep_upload(session, LOCAL, "later.xlsx", b"more")
        with pytest.raises(NotFoundError):
            upload_of(session, LOCAL, number)
        drop_upload(session, other)
        with pytest.raises(NotFoundError):
            upload_of(session, LOCAL, other)


def test_a_large_file_is_refused(here):
    with here.session() as session, pytest.raises(RefusedError, match="4,000,000"):
        keep_upload(session, LOCAL, "x", b"0" * (attachments.MOST + 1))
