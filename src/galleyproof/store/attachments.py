"""Files beside jobs: the weather of a job, and what somebody is about to import."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256

from sqlalchemy import delete, select
from sqlalchemy.orm import Session, undefer

from galleyproof.store.database import now
from galleyproof.store.errors import NotFoundError, RefusedError
from galleyproof.store.jobs import job_head, note
from galleyproof.store.people import Who
from galleyproof.store.schema import AttachmentRow

__all__ = ["Attachment", "attach", "attached", "drop_upload", "keep_upload", "upload_of"]

WAITS = timedelta(days=2)
"""How long a file waits to be imported."""
MOST = 4_000_000
"""Largest file. [byte]"""


@dataclass(frozen=True, slots=True)
class Attachment:
    """A stored file."""

    id: int
    name: str
    sha256: str
    content: bytes
    made_at: datetime
    made_by: str


def attach(session: Session, who: Who, job_id: int, kind: str, name: str, content: bytes) -> Attachment:
    """Store a file of a job; it takes the place of an earlier one of its kind.

    Raises:
        NotFoundError: There is no such job.
        RefusedError: Too large.
    """
    job_head(session, job_id)
    _bound(content)
    session.execute(delete(AttachmentRow).where(AttachmentRow.job_id == job_id, AttachmentRow.kind == kind))
    row = _row(who, job_id, kind, name, content)
    session.add(row)
    note(session, who, f"stored a {kind} file", job_id, name=row.name, sha256=row.sha256)
    session.flush()
    return _taken(row)


def attached(session: Session, job_id: int, kind: str) -> Attachment | None:
    """The file of a kind that a job has."""
    row = session.scalar(
        select(AttachmentRow)
        .where(AttachmentRow.job_id == job_id, AttachmentRow.kind == kind)
        .options(undefer(AttachmentRow.content))
    )
    return None if row is None else _taken(row)


def keep_upload(session: Session, who: Who, name: str, content: bytes) -> int:
    """Keep a file until it is imported, two days at most; gives its number.

    Raises:
        RefusedError: Too large.
    """
    _bound(content)
    old = now() - WAITS
    session.execute(delete(AttachmentRow).where(AttachmentRow.kind == "upload", AttachmentRow.made_at < old))
    row = _row(who, None, "upload", name, content)
    session.add(row)
    session.flush()
    return row.id


def upload_of(session: Session, who: Who, number: int) -> Attachment:
    """A file that waits to be imported.

    Raises:
        NotFoundError: There is none of that number, or it is somebody else's.
    """
    row = session.get(AttachmentRow, number, options=[undefer(AttachmentRow.content)])
    if row is None or row.kind != "upload" or row.made_by != who.name:
        raise NotFoundError("this file is not kept any more; choose it again")
    return _taken(row)


def drop_upload(session: Session, number: int) -> None:
    """Forget a file that was imported."""
    session.execute(delete(AttachmentRow).where(AttachmentRow.id == number, AttachmentRow.kind == "upload"))


def _bound(content: bytes) -> None:
    if len(content) > MOST:
        raise RefusedError(
            f"the file has {len(content):,} bytes, more than the {MOST:,} that are kept; send a smaller one"
        )


def _row(who: Who, job_id: int | None, kind: str, name: str, content: bytes) -> AttachmentRow:
    shown = "".join(c for c in name if c.isprintable())[:200] or "file"
    return AttachmentRow(
        job_id=job_id,
        kind=kind,
        name=shown,
        sha256=sha256(content).hexdigest(),
        content=content,
        made_at=now(),
        made_by=who.name,
    )


def _taken(row: AttachmentRow) -> Attachment:
    return Attachment(row.id, row.name, row.sha256, row.content, row.made_at, row.made_by)
