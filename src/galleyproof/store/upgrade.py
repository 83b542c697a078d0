"""The schema brought up to date at every start: made new, or moved forward from any earlier one with its rows."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Connection, inspect, text
from sqlalchemy.exc import DBAPIError

from galleyproof.store.database import LOCK, Database, why
from galleyproof.store.errors import RefusedError, UnavailableError
from galleyproof.store.guards import put_guards, take_guards

if TYPE_CHECKING:
    from alembic.config import Config

__all__ = ["Upgraded", "bring_up_to_date", "changing", "history", "revision_of", "upgrade_to"]

STEPS = Path(__file__).parent / "migrations"
VERSION_TABLE = "alembic_version"


class Upgraded:
    """What was done to a database.

    Attributes:
        new: Whether it was empty before.
        before: Its revision before; None when it was empty.
        after: Its revision now.
    """

    def __init__(self, before: str | None, after: str) -> None:
        self.before, self.after = before, after
        self.new = before is None


def _config(connection: Connection | None = None) -> Config:
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(STEPS).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    if connection is not None:
        config.attributes["connection"] = connection
    return config


def history() -> tuple[str, ...]:
    """Every revision of the schema, the first one first."""
    # each step's file is called NUMBER_WHAT.py; Alembic, which knows it too, takes a while to load
    return tuple(sorted(step.name.partition("_")[0] for step in (STEPS / "versions").glob("[0-9]*_*.py")))


def revision_of(connection: Connection) -> str | None:
    """Revision of the schema; None of an empty database."""
    if not inspect(connection).has_table(VERSION_TABLE):
        return None
    found = connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE} ORDER BY version_num"))
    return ", ".join(found.scalars()) or None


def bring_up_to_date(db: Database) -> Upgraded:
    """Make the tables, or bring them forward; two servers that start at once do it in turn.

    Raises:
        RefusedError: The database belongs to a newer version, or to something else.
        UnavailableError: The database cannot be reached or written; nothing was changed.
    """
    with changing(db) as connection:
        before = known_revision(connection)
        newest = history()[-1]
        if before != newest:
            upgrade_to(connection, newest)
        put_guards(connection)
    return Upgraded(before, newest)


def known_revision(connection: Connection) -> str | None:
    """Revision of the schema, one that this version knows; None of an empty database.

    Raises:
        RefusedError: The database belongs to a newer version, or to something else.
    """
    found = revision_of(connection)
    if found is not None and found not in history():
        raise RefusedError(
            f"the database has the schema {found}, which this version does not know: a newer Galleyproof has used it; "
            "install that version or a later one (nothing was changed)"
        )
    if found is None and (there := sorted(set(inspect(connection).get_table_names()) - {VERSION_TABLE})):
        raise RefusedError(
            f"the database holds tables that are not Galleyproof's ({', '.join(there[:5])}); "
            "name an empty database (nothing was changed)"
        )
    return found


def upgrade_to(connection: Connection, revision: str) -> None:
    """Run the steps up to a revision inside the connection's transaction."""
    take_guards(connection)
    from alembic import command  # takes a while to load, and most starts find nothing to do

    command.upgrade(_config(connection), revision)
    if connection.dialect.name == "sqlite" and (lost := connection.exec_driver_sql("PRAGMA foreign_key_check").all()):
        raise RefusedError(f"a step of the upgrade would lose {len(lost)} references; nothing was changed")


@contextmanager
def changing(db: Database) -> Iterator[Connection]:
    """A transaction that may change tables; only one at a time, whole or not at all.

    Raises:
        UnavailableError: The database cannot be reached or written.
    """
    try:
        with db.engine.connect() as connection:
            if db.is_sqlite:
                # a table that is made anew is dropped first: references must not follow it
                raw = connection.connection.driver_connection
                assert raw is not None
                raw.execute("PRAGMA foreign_keys=off")
                # servers that start at once wait for each other as long as on PostgreSQL
                raw.execute("PRAGMA busy_timeout=20000")
            try:
                with connection.begin():
                    if not db.is_sqlite:
                        connection.execute(text("SET LOCAL lock_timeout = '20s'"))
                        connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": LOCK})
                    yield connection
            finally:
                if db.is_sqlite:
                    # its settings are not those of a request: it is not used again
                    connection.invalidate()
    except DBAPIError as error:
        raise UnavailableError(why(error)) from error
