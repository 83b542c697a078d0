"""Jobs and their saves."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Any

from sqlalchemy import ColumnElement, or_, select, update
from sqlalchemy.orm import Session

from galleyproof.store.database import now
from galleyproof.store.errors import ConflictError, NotFoundError, RefusedError
from galleyproof.store.people import Who
from galleyproof.store.schema import JobRow, LogRow, SaveRow

__all__ = [
    "Head",
    "Save",
    "SaveLine",
    "add_job",
    "archive_job",
    "copy_job",
    "find_jobs",
    "fingerprint",
    "job_head",
    "note",
    "save_job",
    "save_lines",
    "save_of",
    "saves_of",
]


@dataclass(frozen=True, slots=True)
class Head:
    """A job as lists show it.

    Attributes:
        id: Number of the job in this store.
        name: Name of the job.
        number: The shop's job number.
        revision: Revision the job calls itself.
        head: Number of the save that stands.
        archived: Whether it was put away.
        saved_at: When it was last saved.
        saved_by: By whom.
    """

    id: int
    name: str
    number: str
    revision: str
    head: int
    archived: bool
    saved_at: datetime
    saved_by: str


@dataclass(frozen=True, slots=True)
class Save:
    """One save of a job's text."""

    job_id: int
    number: int
    text: str
    sha256: str
    said: str
    undoes: int | None
    made_at: datetime
    made_by: str


@dataclass(frozen=True, slots=True)
class SaveLine:
    """A save as lists show it, without its text."""

    number: int
    sha256: str
    said: str
    undoes: int | None
    made_at: datetime
    made_by: str


def fingerprint(text: str) -> str:
    """SHA-256 of a job's text."""
    return sha256(text.encode()).hexdigest()


def note(session: Session, who: Who, did: str, job_id: int | None, **detail: Any) -> None:
    """Add a line to the audit log."""
    session.add(LogRow(at=now(), who=who.name, did=did, job_id=job_id, detail=detail))


def add_job(session: Session, who: Who, text: str, name: str, number: str, revision: str, said: str) -> Head:
    """Store a new job; what it is called in lists comes from its text."""
    name, number, revision = _titles(name, number, revision)
    at = now()
    row = JobRow(name=name, number=number, revision=revision, head=0, made_at=at, saved_at=at, saved_by=who.name)
    session.add(row)
    session.flush()
    note(session, who, "added a job", row.id, name=name)
    save_job(session, who, row.id, text, 0, name, number, revision, said)
    session.refresh(row)
    return _head(row)


def save_job(
    session: Session,
    who: Who,
    job_id: int,
    text: str,
    based_on: int,
    name: str,
    number: str,
    revision: str,
    said: str,
    undoes: int | None = None,
) -> int:
    """Save a job's text over the save it was made from.

    Args:
        session: A transaction.
        who: Who saves.
        job_id: The job.
        text: Its whole text.
        based_on: Number of the save the change was made from.
        name: Name of the job, for lists.
        number: The shop's job number, for lists.
        revision: Revision the job calls itself.
        said: What was changed, in words.
        undoes: Number of the save this takes back.

    Returns:
        Number of the new save.

    Raises:
        NotFoundError: There is no such job.
        ConflictError: Somebody else saved in the meantime.
        RefusedError: The text holds what the database cannot keep.
    """
    if "\0" in text or not _encodable(text):
        raise RefusedError("the text holds a character that no text file may hold; take it out and save again")
    name, number, revision = _titles(name, number, revision)
    at, new = now(), based_on + 1
    changed = session.execute(
        update(JobRow)
        .where(JobRow.id == job_id, JobRow.head == based_on)
        .values(head=new, name=name, number=number, revision=revision, saved_at=at, saved_by=who.name)
    )
    if changed.rowcount != 1:  # type: ignore[attr-defined]
        standing = save_of(session, job_id)
        raise ConflictError(standing.text, standing.number, standing.made_by)
    session.add(
        SaveRow(
            job_id=job_id,
            number=new,
            text=text,
            sha256=fingerprint(text),
            said=said[:400],
            undoes=undoes,
            made_at=at,
            made_by=who.name,
        )
    )
    note(session, who, "saved", job_id, save=new, said=said[:400])
    session.flush()
    return new


def copy_job(session: Session, who: Who, job_id: int) -> Head:
    """A new job with the text of another as it stands; its readings and issued sets stay with the other.

    Raises:
        NotFoundError: There is no such job.
    """
    head, save = job_head(session, job_id), save_of(session, job_id)
    said = f"copied from job {job_id}, save {save.number}"
    return add_job(session, who, save.text, head.name, head.number, head.revision, said)


def archive_job(session: Session, who: Who, job_id: int, archived: bool = True) -> None:
    """Put a job away, or take it out again; nothing of it is lost.

    Raises:
        NotFoundError: There is no such job.
    """
    if job_head(session, job_id).archived == archived:
        return
    session.execute(update(JobRow).where(JobRow.id == job_id).values(archived=archived))
    note(session, who, "archived a job" if archived else "took a job out of the archive", job_id)


def job_head(session: Session, job_id: int) -> Head:
    """One job.

    Raises:
        NotFoundError: There is no such job.
    """
    row = session.get(JobRow, job_id)
    if row is None:
        raise NotFoundError(f"there is no job {job_id} here; look in the list of jobs")
    return _head(row)


def save_of(session: Session, job_id: int, number: int | None = None) -> Save:
    """A save of a job; without a number the one that stands.

    Raises:
        NotFoundError: There is no such job or save.
    """
    wanted = job_head(session, job_id).head if number is None else number
    row = session.scalar(select(SaveRow).where(SaveRow.job_id == job_id, SaveRow.number == wanted))
    if row is None:
        raise NotFoundError(f"job {job_id} has no save {wanted}; look at its revisions")
    return _save(row)


def saves_of(session: Session, job_id: int) -> tuple[Save, ...]:
    """All saves of a job, newest first."""
    rows = session.scalars(select(SaveRow).where(SaveRow.job_id == job_id).order_by(SaveRow.number.desc()))
    return tuple(map(_save, rows))


def save_lines(session: Session, job_id: int, *, before: int | None = None, at_most: int = 100) -> tuple[SaveLine, ...]:
    """Saves of a job without their texts, newest first; ``before`` goes on below a number."""
    asked = select(
        SaveRow.number, SaveRow.sha256, SaveRow.said, SaveRow.undoes, SaveRow.made_at, SaveRow.made_by
    ).where(SaveRow.job_id == job_id)
    if before is not None:
        asked = asked.where(SaveRow.number < before)
    rows = session.execute(asked.order_by(SaveRow.number.desc()).limit(at_most))
    return tuple(SaveLine(*row) for row in rows)


def find_jobs(
    session: Session, words: str = "", *, archived: bool = False, at_most: int = 200, skip: int = 0
) -> tuple[Head, ...]:
    """Jobs whose name or number holds every word, the last saved first."""
    asked = select(JobRow).where(JobRow.archived == archived)
    for word in words.split():
        asked = asked.where(_holds(word))
    rows = session.scalars(asked.order_by(JobRow.saved_at.desc(), JobRow.id.desc()).limit(at_most).offset(skip))
    return tuple(map(_head, rows))


def _encodable(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def _titles(name: str, number: str, revision: str) -> tuple[str, str, str]:
    """What lists show, as far as its columns reach: the text keeps the whole of it."""
    cut = (name[:400], number[:400], revision[:8])
    return tuple("".join(c for c in t if c.isprintable()) for t in cut)  # type: ignore[return-value]


def _holds(word: str) -> ColumnElement[bool]:
    return or_(JobRow.name.icontains(word, autoescape=True), JobRow.number.icontains(word, autoescape=True))


def _head(row: JobRow) -> Head:
    return Head(row.id, row.name, row.number, row.revision, row.head, row.archived, row.saved_at, row.saved_by)


def _save(row: SaveRow) -> Save:
    return Save(row.job_id, row.number, row.text, row.sha256, row.said, row.undoes, row.made_at, row.made_by)
