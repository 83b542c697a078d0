"""The job that a new installation opens with."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import select

from galleyproof.store.database import Database, one_at_a_time
from galleyproof.store.jobs import add_job
from galleyproof.store.people import LOCAL
from galleyproof.store.schema import JobRow, SettingRow

__all__ = ["EXAMPLE", "add_example"]

EXAMPLE = Path(__file__).with_name("example.yaml")
DONE = "example job"


def add_example(db: Database) -> bool:
    """Store the example job, once in the life of a database and only into an empty one; tells whether it did."""
    with db.session() as session:
        one_at_a_time(session)
        if session.get(SettingRow, DONE) is not None:
            return False
        session.add(SettingRow(name=DONE, value="added"))
        if session.scalar(select(JobRow.id).limit(1)) is not None:
            return False
        from galleyproof.job.read import read_job  # takes a while to load; needed only here

        text = EXAMPLE.read_text(encoding="utf-8")
        named = read_job(text, EXAMPLE.name).job
        add_job(session, LOCAL, text, named.name, named.number, named.revision, "the example that comes along")
        return True
