"""Who is signed in, browser by browser; and the links that open one job to an installer."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256

from itsdangerous import BadData, URLSafeSerializer
from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from galleyproof.store.accounts import MAX_LABEL, MAX_NAME, Person, one_line
from galleyproof.store.database import now
from galleyproof.store.errors import NotFoundError, RefusedError
from galleyproof.store.jobs import job_head, note
from galleyproof.store.people import Role, Who
from galleyproof.store.schema import LinkRow, PersonRow, SessionRow

__all__ = [
    "LINK_SIGN_IN",
    "MAX_DAYS",
    "SIGN_IN",
    "Link",
    "add_link",
    "begin",
    "begin_by_link",
    "end",
    "end_all",
    "link_of",
    "links_of",
    "read_link",
    "revoke_link",
    "signed_in",
    "word_of",
]

SIGN_IN = timedelta(hours=12)
"""How long a sign-in with a password lasts: a working day."""
LINK_SIGN_IN = timedelta(days=30)
"""How long one with a link lasts at most; never longer than the link."""
MAX_DAYS = 365
"""Longest a link can be valid. [day]"""


@dataclass(frozen=True, slots=True)
class Link:
    """A link for installers: opens one job until it ends or is revoked."""

    id: int
    job_id: int
    label: str
    made_at: datetime
    made_by: str
    ends_at: datetime
    revoked_at: datetime | None

    def open_at(self, moment: datetime) -> bool:
        """Whether it opens the job at some moment."""
        return self.revoked_at is None and moment < self.ends_at


# --- sign-ins -------------------------------------------------------------------------------------------------------


def begin(session: Session, person: Person) -> str:
    """Sign a person in on one browser.

    Returns:
        The secret the browser keeps.
    """
    note(session, person.who, "signed in", None)
    return _begin(session, person.name, now() + SIGN_IN, person=person)


def begin_by_link(session: Session, link: Link, name: str) -> str:
    """Let somebody in by a link, under the name they give.

    Returns:
        The secret the browser keeps.

    Raises:
        RefusedError: The name is empty, too long or no plain text.
    """
    plain = one_line(name, "your name", MAX_NAME)
    called = f"{plain} (link: {link.label})"
    note(session, Who(called, Role.LINK, job_id=link.job_id), "came by a link", link.job_id, link=link.label)
    return _begin(session, called, min(link.ends_at, now() + LINK_SIGN_IN), link=link)


def _begin(
    session: Session, name: str, ends_at: datetime, *, person: Person | None = None, link: Link | None = None
) -> str:
    at = now()
    session.execute(delete(SessionRow).where(SessionRow.ends_at < at - timedelta(days=7)))
    secret = secrets.token_urlsafe(32)
    row = SessionRow(
        id=_hashed(secret),
        person_id=None if person is None else person.id,
        link_id=None if link is None else link.id,
        name=name,
        epoch=0 if person is None else person.epoch,
        made_at=at,
        ends_at=ends_at,
    )
    session.add(row)
    return secret


def signed_in(session: Session, secret: str) -> Who | None:
    """Who a browser's secret stands for; None when the sign-in ended, in whichever way."""
    row = session.get(SessionRow, _hashed(secret))
    if row is None or row.ended_at is not None or row.ends_at <= now():
        return None
    if row.person_id is not None:
        person = session.get(PersonRow, row.person_id)
        if person is None or not person.active or person.epoch != row.epoch:
            return None
        return Who(person.name, Role(person.role), person_id=person.id)
    link = None if row.link_id is None else session.get(LinkRow, row.link_id)
    if link is None or not _link(link).open_at(now()):
        return None
    return Who(row.name, Role.LINK, job_id=link.job_id)


def end(session: Session, who: Who, secret: str) -> None:
    """Sign out on one browser."""
    row = session.get(SessionRow, _hashed(secret))
    if row is not None and row.ended_at is None:
        row.ended_at = now()
        note(session, who, "signed out", who.job_id)


def end_all(session: Session, who: Who) -> None:
    """End all sign-ins of a person at once, on every browser."""
    person = None if who.person_id is None else session.get(PersonRow, who.person_id)
    if person is not None:
        person.epoch += 1
        note(session, who, "signed out everywhere", None)


def _hashed(secret: str) -> str:
    return sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()


# --- links ----------------------------------------------------------------------------------------------------------


def add_link(session: Session, who: Who, job_id: int, label: str, days: int) -> Link:
    """Make a link that opens one job.

    Args:
        session: A transaction.
        who: Who makes it.
        job_id: The job.
        label: Whom it is for.
        days: How long it is valid. [day]

    Raises:
        NotFoundError: There is no such job.
        RefusedError: The label or the time cannot be taken.
    """
    job_head(session, job_id)
    plain = one_line(label, "whom the link is for", MAX_LABEL)
    if not 1 <= days <= MAX_DAYS:
        raise RefusedError(f"a link is valid for 1 to {MAX_DAYS} days, not {days}")
    at = now()
    row = LinkRow(job_id=job_id, label=plain, made_at=at, made_by=who.name, ends_at=at + timedelta(days=days))
    session.add(row)
    session.flush()
    note(session, who, "made a link", job_id, label=plain, days=days)
    return _link(row)


def revoke_link(session: Session, who: Who, job_id: int, link_id: int) -> Link:
    """End a link and every sign-in that came by it.

    Raises:
        NotFoundError: The job has no such link.
    """
    row = session.get(LinkRow, link_id)
    if row is None or row.job_id != job_id:
        raise NotFoundError(f"job {job_id} has no link {link_id}; look at its links")
    if row.revoked_at is None:
        row.revoked_at = now()
        note(session, who, "revoked a link", job_id, label=row.label)
    return _link(row)


def links_of(session: Session, job_id: int) -> tuple[Link, ...]:
    """Links of a job, the newest first."""
    rows = session.scalars(select(LinkRow).where(LinkRow.job_id == job_id).order_by(LinkRow.id.desc()))
    return tuple(map(_link, rows))


def link_of(session: Session, link_id: int) -> Link:
    """One link.

    Raises:
        NotFoundError: There is no such link.
    """
    row = session.get(LinkRow, link_id)
    if row is None:
        raise NotFoundError("this link opens nothing; ask the office for a new one")
    return _link(row)


def word_of(key: str, link: Link) -> str:
    """The word in the address of a link, signed by the office's key."""
    return URLSafeSerializer(key, salt="installer link").dumps([link.id, link.job_id])


def read_link(session: Session, key: str, word: str) -> Link:
    """The link of a word in an address.

    Raises:
        NotFoundError: The word is not one of ours, or the link ended or was revoked.
    """
    try:
        link_id, job_id = URLSafeSerializer(key, salt="installer link").loads(word)
        link = link_of(session, int(link_id))
    except (BadData, TypeError, ValueError):
        raise NotFoundError("this link is not whole; ask the office to send it again") from None
    if link.job_id != job_id:
        raise NotFoundError("this link opens nothing; ask the office for a new one")
    if link.revoked_at is not None:
        raise NotFoundError("this link was revoked; ask the office for a new one")
    if not link.open_at(now()):
        raise NotFoundError(f"this link ended on {link.ends_at:%Y-%m-%d}; ask the office for a new one")
    return link


def _link(row: LinkRow) -> Link:
    return Link(row.id, row.job_id, row.label, row.made_at, row.made_by, row.ends_at, row.revoked_at)
