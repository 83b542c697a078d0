"""Triggers that keep rows as they were written: what tells what happened can be added to, never changed or taken out.

The app never tries; the triggers stop everything else that reaches the database.
"""

from __future__ import annotations

from sqlalchemy import Connection, event, inspect, text

from galleyproof.store.schema import Base

__all__ = ["KEPT", "put_guards", "take_guards"]

KEPT = ("save", "issued", "reading", "remark", "log")
"""Tables whose rows stay as they were written."""

SAID = "rows of {table} stay as they were written"


def put_guards(connection: Connection) -> None:
    """Guard the tables; those that are guarded already stay so."""
    there = set(inspect(connection).get_table_names())
    for table in KEPT:
        if table in there:
            for statement in _making(table, connection.dialect.name):
                connection.execute(text(statement))


def take_guards(connection: Connection) -> None:
    """Take the guards away, while a migration or a restore writes."""
    there = set(inspect(connection).get_table_names())
    for table in KEPT:
        if table in there:
            for statement in _taking(table, connection.dialect.name):
                connection.execute(text(statement))


def _making(table: str, dialect: str) -> tuple[str, ...]:
    said = SAID.format(table=table)
    if dialect == "sqlite":
        return tuple(
            f'CREATE TRIGGER IF NOT EXISTS guard_{table}_{what} BEFORE {what.upper()} ON "{table}" '
            f"BEGIN SELECT RAISE(ABORT, '{said}'); END"
            for what in ("update", "delete")
        )
    return (
        "CREATE OR REPLACE FUNCTION guard_rows() RETURNS trigger LANGUAGE plpgsql AS $$ "
        "BEGIN RAISE EXCEPTION 'rows of % stay as they were written', TG_TABLE_NAME; END $$",
        *_taking(table, dialect),
        f'CREATE TRIGGER guard_{table}_row BEFORE UPDATE OR DELETE ON "{table}" '
        "FOR EACH ROW EXECUTE FUNCTION guard_rows()",
        f'CREATE TRIGGER guard_{table}_all BEFORE TRUNCATE ON "{table}" '
        "FOR EACH STATEMENT EXECUTE FUNCTION guard_rows()",
    )


def _taking(table: str, dialect: str) -> tuple[str, ...]:
    if dialect == "sqlite":
        return tuple(f"DROP TRIGGER IF EXISTS guard_{table}_{what}" for what in ("update", "delete"))
    return tuple(f'DROP TRIGGER IF EXISTS guard_{table}_{what} ON "{table}"' for what in ("row", "all"))


@event.listens_for(Base.metadata, "after_create")
def _guard_new_tables(_target: object, connection: Connection, **_given: object) -> None:
    put_guards(connection)
