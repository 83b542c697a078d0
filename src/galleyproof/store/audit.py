"""Reading the audit log."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from galleyproof.store.schema import JobRow, LogRow

__all__ = ["Line", "lines", "names_in_log"]

MAX_NUMBER = 2**31 - 1
"""Largest number of a row that every database takes. [-]"""


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the log.

    Attributes:
        id: Its number; grows.
        at: When.
        who: Who did it.
        did: What.
        job_id: The job it is about, if it is about one.
        job: What that job is called now.
        detail: What else is known.
    """

    id: int
    at: datetime
    who: str
    did: str
    job_id: int | None
    job: str
    detail: dict[str, Any]

    @property
    def words(self) -> str:
        """The detail as a person reads it: ``save 3, said changed the fan``."""
        return ", ".join(f"{key.replace('_', ' ')} {value}" for key, value in self.detail.items() if value != "")


def lines(
    session: Session,
    *,
    person: str | None = None,
    job_id: int | None = None,
    before: int | None = None,
    at_most: int = 100,
) -> tuple[Line, ...]:
    """Lines of the log, the newest first.

    Args:
        session: A transaction.
        person: Only what this person did.
        job_id: Only what is about this job.
        before: Only lines older than the one of this number.
        at_most: How many. [-]
    """
    asked = select(LogRow, JobRow.name).outerjoin(JobRow, JobRow.id == LogRow.job_id)
    if person is not None:
        asked = asked.where(LogRow.who == person)
    if job_id is not None:
        asked = asked.where(LogRow.job_id == min(job_id, MAX_NUMBER))
    if before is not None:
        asked = asked.where(LogRow.id < max(0, min(before, MAX_NUMBER)))
    rows = session.execute(asked.order_by(LogRow.id.desc()).limit(at_most))
    return tuple(Line(r.id, r.at, r.who, r.did, r.job_id, name or "", r.detail) for r, name in rows)


def names_in_log(session: Session, at_most: int = 500) -> tuple[str, ...]:
    """Everybody who ever did something, by name."""
    return tuple(session.scalars(select(LogRow.who).distinct().order_by(LogRow.who).limit(at_most)))
