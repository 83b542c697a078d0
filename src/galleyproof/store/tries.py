"""The limit on tries to sign in: per name and per address, kept in the store so that a restart does not reset it."""

from __future__ import annotations

from datetime import timedelta

from sqlalchemy import ColumnElement, delete, or_, select, text
from sqlalchemy.orm import Session

from galleyproof.store.accounts import known_name
from galleyproof.store.database import now
from galleyproof.store.errors import RefusedError
from galleyproof.store.schema import SignInRow

__all__ = ["BY_ADDRESS", "BY_NAME", "WINDOW", "TooManyTriesError", "forgive", "try_once"]

BY_NAME, BY_ADDRESS = 8, 40
"""Failed tries within the window, for one name and from one address. [-]"""
WINDOW = timedelta(minutes=15)
"""How long a failed try counts."""
KEEP = timedelta(days=1)
"""How long a failed try is kept."""


class TooManyTriesError(RefusedError):
    """Somebody tried too often.

    Attributes:
        wait_s: When to try again. [s]
    """

    def __init__(self, wait_s: int) -> None:
        self.wait_s = wait_s
        minutes = -(-wait_s // 60)
        super().__init__(
            f"too many sign-ins failed; try again in {minutes} {'minute' if minutes == 1 else 'minutes'}, or ask an "
            "administrator for a new password"
        )


def try_once(session: Session, name: str, address: str) -> int:
    """Count a try before it is made, so that many at the same moment count too; taken back by ``forgive``.

    Times later than the present are those of a clock that was moved back since: they do not count.

    Args:
        session: A transaction of its own.
        name: As typed; whether there is such an account makes no difference.
        address: Where it comes from.

    Returns:
        Number of the try.

    Raises:
        TooManyTriesError: It must wait.
    """
    at = now()
    if session.get_bind().dialect.name == "postgresql":  # SQLite has one writer at a time anyway
        session.execute(text("LOCK TABLE sign_in IN SHARE ROW EXCLUSIVE MODE"))
    session.execute(delete(SignInRow).where(or_(SignInRow.at < at - KEEP, SignInRow.at > at + timedelta(seconds=5))))
    key = known_name(name)[:200]
    waits = [
        _wait_s(session, SignInRow.name == key, BY_NAME),
        _wait_s(session, SignInRow.address == address[:64], BY_ADDRESS),
    ]
    if max(waits) > 0:
        raise TooManyTriesError(max(waits))
    row = SignInRow(name=key, address=address[:64], at=at)
    session.add(row)
    session.flush()
    return row.id


def forgive(session: Session, attempt: int) -> None:
    """The try was right: it and the failed ones of the same name from the same address are forgotten."""
    row = session.get(SignInRow, attempt)
    if row is not None:
        session.execute(delete(SignInRow).where(SignInRow.name == row.name, SignInRow.address == row.address))


def _wait_s(session: Session, which: ColumnElement[bool], allowed: int) -> int:
    """Seconds until one more try is allowed."""
    since = now() - WINDOW
    asked = select(SignInRow.at).where(which, SignInRow.at > since).order_by(SignInRow.at.desc()).limit(allowed)
    counted = session.scalars(asked).all()
    if len(counted) < allowed:
        return 0
    return max(1, int((counted[-1] + WINDOW - now()).total_seconds()) + 1)
