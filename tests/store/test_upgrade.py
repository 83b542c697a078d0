"""The schema's history: agrees with the tables, brings every earlier database forward, and is run by one at a time."""

import threading
from datetime import UTC, datetime

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import JSON, Boolean, DateTime, Integer, LargeBinary, MetaData, inspect, select, text

from galleyproof.store import upgrade
from galleyproof.store.database import Database
from galleyproof.store.errors import RefusedError, UnavailableError
from galleyproof.store.guards import KEPT
from galleyproof.store.schema import Base
from galleyproof.store.upgrade import bring_up_to_date, changing, history, revision_of, upgrade_to


@pytest.fixture
def empty(any_url):
    made = Database(any_url)
    yield made
    made.close()


def at(db, revision):
    """The database at an earlier revision."""
    with changing(db) as c:
        upgrade_to(c, revision)


def tables_of(connection):
    found = MetaData()
    found.reflect(connection)
    return [t for t in found.sorted_tables if t.name != "alembic_version"]


def value(column, n):
    """A value of a column, another one for each row."""
    if column.foreign_keys:
        return 1
    for kind, made in (
        (Boolean, n % 2 == 1),
        (Integer, n),
        (JSON, {"n": n, "said": "ohm Ω"}),
        (LargeBinary, bytes([n, 0, 255])),
        (DateTime, datetime(2026, 11, n, 14, 5, 9, tzinfo=UTC)),
    ):
        if isinstance(column.type, kind):
            return made
    return f"{column.name[:4]} {n}"


def fill(connection):
    """Two rows for every table; the sets are of two revisions."""
    for table in tables_of(connection):
        connection.execute(table.insert(), [{c.name: value(c, n) for c in table.columns} for n in (1, 2)])


def rows(connection, tables):
    """Every row by table, times in UTC."""

    def plain(v):
        return v.replace(tzinfo=UTC) if isinstance(v, datetime) and v.tzinfo is None else v

    return {
        t.name: [
            {k: plain(v) for k, v in row._mapping.items()}
            for row in connection.execute(select(t).order_by(*t.primary_key.columns))
        ]
        for t in tables
    }


def test_the_history_is_what_its_steps_say():
    steps = ScriptDirectory.from_config(upgrade._config()).walk_revisions()
    assert history() == tuple(step.revision for step in reversed(list(steps)))


def test_the_history_makes_the_tables_that_the_program_uses(empty):
    assert bring_up_to_date(empty).new
    with empty.engine.connect() as c:
        context = MigrationContext.configure(c, opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []
        made = {i["name"] for t in Base.metadata.tables for i in inspect(c).get_indexes(t)}
    assert {i.name for t in Base.metadata.tables.values() for i in t.indexes} <= made


def test_a_missing_step_of_the_history_would_be_seen(empty):
    bring_up_to_date(empty)
    with empty.engine.begin() as c:
        c.execute(text("ALTER TABLE job DROP COLUMN saved_by"))
    with empty.engine.connect() as c:
        found = compare_metadata(MigrationContext.configure(c), Base.metadata)
    assert [(step[0], step[3].name) for step in found] == [("add_column", "saved_by")]


@pytest.mark.parametrize("revision", history())
def test_an_earlier_database_comes_forward_with_its_rows(empty, revision):
    at(empty, revision)
    with empty.engine.begin() as c:
        fill(c)
        before = rows(c, tables_of(c))
    assert all(len(r) == 2 for r in before.values())
    done = bring_up_to_date(empty)
    assert (done.before, done.after, done.new) == (revision, history()[-1], False)
    with empty.engine.connect() as c:
        after = rows(c, tables_of(c))
        for table, old in before.items():
            kept = [{k: v for k, v in row.items() if k in old[0]} for row in after[table]]
            assert kept == old, table
        assert compare_metadata(MigrationContext.configure(c), Base.metadata) == []
    # and it is guarded as a new one is
    with empty.engine.begin() as c:
        for table in tables_of(c):
            if table.name in KEPT and table.name not in before:
                c.execute(table.insert(), {col.name: value(col, 1) for col in table.columns})
    for table in KEPT:
        with pytest.raises(UnavailableError, match="stay as they were written"), empty.session() as s:
            s.execute(text(f"DELETE FROM {table}"))
    with pytest.raises(UnavailableError), empty.session() as s:
        s.execute(
            text(
                "INSERT INTO save (job_id, number, text, sha256, said, made_at, made_by)"
                " VALUES (99, 1, '', '', '', '2026-01-01', '')"
            )
        )


def test_a_database_of_a_newer_version_is_left_alone(empty):
    bring_up_to_date(empty)
    with empty.engine.begin() as c:
        c.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(RefusedError, match=r"schema 9999.*a newer Galleyproof has used it; install that version"):
        bring_up_to_date(empty)
    with empty.engine.connect() as c:
        assert revision_of(c) == "9999"


def test_somebody_elses_database_is_left_alone(empty):
    with empty.engine.begin() as c:
        c.execute(text("CREATE TABLE recipes (name text)"))
    with pytest.raises(RefusedError, match=r"not Galleyproof's \(recipes\)"):
        bring_up_to_date(empty)
    with empty.engine.connect() as c:
        assert inspect(c).get_table_names() == ["recipes"]


def test_a_step_that_fails_leaves_everything_as_it_was(empty):
    at(empty, "0001")
    with empty.engine.begin() as c:
        fill(c)
        # what the second step forbids: one revision of a job issued twice
        c.execute(text("UPDATE issued SET revision = 'A'"))
        before = rows(c, tables_of(c))
    with pytest.raises(UnavailableError, match="nothing was stored"):
        bring_up_to_date(empty)
    with empty.engine.connect() as c:
        assert revision_of(c) == "0001"
        assert rows(c, tables_of(c)) == before


@pytest.mark.parametrize("revision", [None, "0001"])
def test_servers_that_start_at_once_take_turns(any_url, revision):
    if revision:
        first = Database(any_url)
        at(first, revision)
        first.close()
    gate, done, failed = threading.Barrier(4), [], []

    def start():
        db = Database(any_url)
        gate.wait()
        try:
            done.append(bring_up_to_date(db).before)
        except Exception as error:  # noqa: BLE001  looked at below
            failed.append(error)
        finally:
            db.close()

    threads = [threading.Thread(target=start) for _ in range(4)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert failed == []
    newest = history()[-1]
    assert sorted(done, key=str) == sorted([revision, newest, newest, newest], key=str)


def test_a_table_made_anew_keeps_what_refers_to_it(tmp_path, monkeypatch):
    """SQLite drops and makes a table to change it; that must not reach the rows of others."""
    db = Database(f"sqlite:///{tmp_path / 'jobs.db'}")
    bring_up_to_date(db)
    with db.engine.begin() as c:
        fill(c)

    def lose_a_job(_config, _revision):
        connection.exec_driver_sql("DELETE FROM job WHERE id = 1")

    monkeypatch.setattr("alembic.command.upgrade", lose_a_job)
    with (
        pytest.raises(RefusedError, match=r"would lose .* references; nothing was changed"),
        changing(db) as connection,
    ):
        upgrade_to(connection, "head")
    with db.engine.connect() as c:
        assert c.scalar(text("SELECT count(*) FROM job")) == 2
    db.close()
