"""The connection to the database, and its failures in words."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Engine, create_engine, event, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError
from sqlalchemy.exc import TimeoutError as PoolTimeout
from sqlalchemy.orm import Session, sessionmaker

from galleyproof.store.errors import RefusedError, UnavailableError

__all__ = ["LOCK", "Database", "now", "one_at_a_time", "why"]

LOCK = 7_238_144_516
"""Key of the lock that servers starting at once take in turn (PostgreSQL; a file locks itself). [-]"""


def now() -> datetime:
    """The present moment in UTC."""
    return datetime.now(UTC)


class Database:
    """One database, SQLite or PostgreSQL.

    Args:
        url: ``sqlite:///FILE`` or ``postgresql://...``.

    Raises:
        RefusedError: The address cannot be read, or names another kind of database.
    """

    def __init__(self, url: str) -> None:
        self.engine: Engine = _engine(url)
        self._sessions = sessionmaker(self.engine, expire_on_commit=False)

    @property
    def is_sqlite(self) -> bool:
        """Whether it is a file."""
        return self.engine.dialect.name == "sqlite"

    @contextmanager
    def session(self, *, reads: bool = False) -> Iterator[Session]:
        """A transaction: stored whole when the block ends, not at all when it raises.

        Args:
            reads: Whether it only reads: then it sees one moment of everything, and holds up nobody who writes.

        Raises:
            UnavailableError: The database did not take it.
        """
        try:
            with self._sessions.begin() as session:
                if reads:
                    level = (
                        {} if self.is_sqlite else {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
                    )
                    session.connection(execution_options={"reads": True, **level})
                yield session
        except (DBAPIError, PoolTimeout) as error:
            raise UnavailableError(why(error)) from error

    def close(self) -> None:
        """Give all connections back."""
        self.engine.dispose()


def one_at_a_time(session: Session) -> None:
    """Hold up others that call this until the transaction ends."""
    if session.get_bind().dialect.name == "postgresql":
        session.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": LOCK})


def _engine(url: str) -> Engine:
    try:
        parsed = make_url(url)
        kind = parsed.get_backend_name()
        if kind == "postgresql" and parsed.drivername == "postgresql":
            parsed = parsed.set(drivername="postgresql+psycopg")
        if kind not in ("sqlite", "postgresql"):
            raise RefusedError(
                f"a database of the kind {kind!r} is not supported; use sqlite:///FILE or postgresql://..."
            )
        if kind == "sqlite":
            engine = create_engine(parsed, connect_args={"timeout": 5.0})
            event.listen(engine, "connect", _set_up_sqlite)
            event.listen(engine, "begin", _begin_at_once)
            return engine
        return create_engine(parsed, pool_pre_ping=True, pool_size=10, max_overflow=20, pool_timeout=5)
    except (ArgumentError, NoSuchModuleError) as error:
        raise RefusedError(f"the database address cannot be read: {error}") from error
    except ModuleNotFoundError as error:
        raise RefusedError(
            "for PostgreSQL install galleyproof with its extra: pip install 'galleyproof[postgres]'"
        ) from error


def _set_up_sqlite(connection: Any, _record: object) -> None:
    connection.isolation_level = None  # transactions are begun by _begin_at_once, not by the driver
    cursor = connection.cursor()
    for pragma in ("foreign_keys=on", "journal_mode=wal", "synchronous=full", "busy_timeout=5000"):
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()


def _begin_at_once(connection: Any) -> None:
    # a transaction that begins by reading and writes later would fail when another one wrote in between
    connection.exec_driver_sql("BEGIN IMMEDIATE" if not connection.get_execution_options().get("reads") else "BEGIN")


def why(error: DBAPIError | PoolTimeout) -> str:
    """What happened, for a person; the statement and its values stay out."""
    said = str(getattr(error, "orig", None) or error).strip().splitlines()
    first = said[0] if said else type(error).__name__
    low = first.lower()
    if "full" in low or "no space" in low:
        return "the disk of the database is full; nothing was stored: make room and try again"
    if "locked" in low or isinstance(error, PoolTimeout):
        return "the database is busy; nothing was stored: try again in a moment"
    if "readonly" in low or "read-only" in low or "permission" in low:
        return "the database may not be written; nothing was stored: give this user the right to write it"
    if "unable to open" in low or "connect" in low or "closed" in low or "terminat" in low:
        return "the database cannot be reached; nothing was stored: start it again, then try again"
    return f"the database refused it; nothing was stored: {first}"
