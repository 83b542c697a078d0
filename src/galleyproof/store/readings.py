"""The readings of a job's check-out: entries are added, never changed; one sent twice is stored once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from hashlib import sha256

from sqlalchemy import Insert, select
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Session

from galleyproof.checkout.log import Entry, in_order
from galleyproof.checkout.log import fingerprint as print_of
from galleyproof.store.database import now
from galleyproof.store.errors import RefusedError
from galleyproof.store.jobs import job_head, note
from galleyproof.store.people import Who
from galleyproof.store.schema import ReadingRow, SaveRow

__all__ = ["add_readings", "readings_mark", "readings_of"]

AT_ONCE = 200
"""Entries of one statement. [-]"""


def add_readings(session: Session, who: Who, job_id: int, entries: Iterable[Entry]) -> int:
    """Add entries to a job's log, all of them or none.

    Args:
        session: A transaction.
        who: Who sent them.
        job_id: The job.
        entries: As a device made them; those that are there already are left as they are.

    Returns:
        How many of them were new. [-]

    Raises:
        NotFoundError: There is no such job.
        RefusedError: An entry belongs to another job, or its id stands for another entry already.
    """
    job_head(session, job_id)
    given = list(entries)
    _of_this_job(session, job_id, given)
    new = 0
    for some in _batches(given):
        new += _add(session, who, job_id, some)
    if new:
        devices = sorted({e.device for e in given})
        note(session, who, "added readings", job_id, new=new, devices=devices[:20])
    return new


def readings_of(session: Session, job_id: int) -> tuple[Entry, ...]:
    """All entries of a job in the order they were made."""
    rows = session.scalars(select(ReadingRow.entry).where(ReadingRow.job_id == job_id))
    return in_order(Entry.model_validate(entry) for entry in rows)


def readings_mark(session: Session, job_id: int) -> str:
    """A text that changes when an entry is added to the job: its log is the same while this is the same."""
    ids = session.scalars(select(ReadingRow.id).where(ReadingRow.job_id == job_id).order_by(ReadingRow.id))
    return sha256("\n".join(ids).encode()).hexdigest()


def _of_this_job(session: Session, job_id: int, entries: Sequence[Entry]) -> None:
    """Refuse entries that were taken from a sheet of anything but this job."""
    asked = {e.job: e for e in entries}
    if not asked:
        return
    known = set(session.scalars(select(SaveRow.sha256).where(SaveRow.job_id == job_id, SaveRow.sha256.in_(asked))))
    strange = [e for key, e in asked.items() if key not in known]
    if not strange:
        return
    # a text kept with other ends of lines has another fingerprint here, and the same on the sheet
    texts = session.scalars(select(SaveRow.text).where(SaveRow.job_id == job_id, SaveRow.text.contains("\r\n")))
    known |= {print_of(text) for text in texts}
    for entry in strange:
        if entry.job not in known:
            raise RefusedError(
                f"the readings of {entry.by} belong to {entry.job_name!r} in a text that was never saved in this job "
                f"({entry.job[:8]}...); open the job they were taken for, or save that text here first"
            )


def _batches(entries: Sequence[Entry]) -> Iterator[Sequence[Entry]]:
    for start in range(0, len(entries), AT_ONCE):
        yield entries[start : start + AT_ONCE]


def _add(session: Session, who: Who, job_id: int, entries: Sequence[Entry]) -> int:
    once = _each_once(entries)
    before = _stored(session, once)
    at = now()
    rows = [
        {
            "id": e.id,
            "job_id": job_id,
            "probe": e.probe,
            "device": e.device,
            "entry": e.model_dump(mode="json"),
            "received_at": at,
            "received_by": who.name,
        }
        for e in once.values()
        if e.id not in before
    ]
    if rows:
        session.execute(_insert(session), rows)
    # read again: another tablet's sending may have come between
    for row in _stored(session, once).values():
        given = once[row.id]
        if row.job_id != job_id or Entry.model_validate(row.entry) != given:
            raise RefusedError(
                f"entry {row.id} stands for another reading already (of {row.probe!r}); an entry is never changed, so "
                "this log was edited: take the log from the tablet again (nothing of it was stored)"
            )
    return len(rows)


def _each_once(entries: Sequence[Entry]) -> dict[str, Entry]:
    found: dict[str, Entry] = {}
    for entry in entries:
        if found.setdefault(entry.id, entry) != entry:
            raise RefusedError(f"entry {entry.id} is given twice with different content (nothing of it was stored)")
    return found


def _stored(session: Session, entries: dict[str, Entry]) -> dict[str, ReadingRow]:
    rows = session.scalars(
        select(ReadingRow).where(ReadingRow.id.in_(entries)).execution_options(populate_existing=True)
    )
    return {row.id: row for row in rows}


def _insert(session: Session) -> Insert:
    if session.get_bind().dialect.name == "sqlite":
        return sqlite.insert(ReadingRow).on_conflict_do_nothing()
    return postgresql.insert(ReadingRow).on_conflict_do_nothing()
