"""The whole store in one file, and back: from and into either database.

The file is a zip: ``manifest.json``, and for each table ``tables/NAME.jsonl`` with one row on a line. The manifest
gives the schema's revision, and of each table its number of rows, its size and its SHA-256. Moments are ISO 8601 in
UTC, bytes are base64. A file of an earlier schema is restored as that and then brought forward.
"""

from __future__ import annotations

import base64
import binascii
import io
import json
import os
import tempfile
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import IO, Any

from sqlalchemy import Column, Connection, DateTime, Integer, LargeBinary, MetaData, Table, func, inspect, select, text

from galleyproof import __version__
from galleyproof.store.database import Database, now
from galleyproof.store.errors import RefusedError
from galleyproof.store.guards import put_guards
from galleyproof.store.schema import Base
from galleyproof.store.upgrade import changing, history, known_revision, upgrade_to

__all__ = ["Backup", "check_backup", "restore_backup", "write_backup"]

VERSION = 1
MANIFEST = "manifest.json"
MAX_MANIFEST = 1_000_000
"""Largest manifest that is read. [byte]"""
AT_ONCE = 50
"""Rows read or written at a time. [-]"""
CHUNK = 1 << 20
"""Bytes hashed at a time. [byte]"""


@dataclass(frozen=True, slots=True)
class Backup:
    """What a backup holds.

    Attributes:
        schema: Revision of its schema.
        made_at: When, ISO 8601.
        rows: Name of each table -> number of its rows. [-]
    """

    schema: str
    made_at: str
    rows: Mapping[str, int]


def write_backup(db: Database, file: Path) -> Backup:
    """Write everything the store holds at one moment; a server may go on working meanwhile.

    Args:
        db: The database.
        file: Where to; there must be no such file yet. It can be read by its owner only: it holds hashes of passwords
            and the key that signs cookies and links.

    Raises:
        RefusedError: There is such a file, it cannot be written, or the database is empty or a newer one.
        UnavailableError: The database cannot be read.
    """
    if file.exists():
        raise RefusedError(f"{file} exists already; give another name, so that no earlier backup is lost")
    spare: str | None = None
    try:
        handle, spare = tempfile.mkstemp(prefix=f".{file.name[:40]}.", suffix=".part", dir=file.parent)
        with os.fdopen(handle, "wb") as out:
            made = _write(db, out)
            out.flush()
            os.fsync(out.fileno())
        _put(Path(spare), file)
        return made
    except OSError as error:
        if isinstance(error, ConnectionError):
            raise  # the database's, in words already
        raise RefusedError(
            f"{file} cannot be written: {(error.strerror or str(error)).lower()}; nothing is left of it"
        ) from error
    finally:
        if spare is not None:
            Path(spare).unlink(missing_ok=True)


def _put(spare: Path, file: Path) -> None:
    try:
        os.link(spare, file)  # unlike a rename, this never takes the place of a file that came meanwhile
    except FileExistsError:
        raise
    except OSError:  # a file system without links
        spare.replace(file)


def _write(db: Database, out: IO[bytes]) -> Backup:
    rows: dict[str, int] = {}
    listed = []
    with db.session(reads=True) as session, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as whole:
        connection = session.connection()
        revision = known_revision(connection)
        if revision is None:
            raise RefusedError("the database is empty: there is nothing to back up")
        for table in _tables(connection):
            entry = _write_table(connection, table, whole)
            listed.append(entry)
            rows[table.name] = entry["rows"]
        made_at = now().isoformat(timespec="seconds")
        manifest = {
            "galleyproof_backup": VERSION,
            "schema": revision,
            "made_at": made_at,
            "made_by": f"galleyproof {__version__}",
            "tables": listed,
        }
        whole.writestr(MANIFEST, json.dumps(manifest, indent=2) + "\n")
    return Backup(revision, made_at, rows)


def _tables(connection: Connection) -> list[Table]:
    """The store's tables as they are in the database, those that others refer to first."""
    found = MetaData()
    there = set(inspect(connection).get_table_names()) & set(Base.metadata.tables)
    found.reflect(connection, only=sorted(there))
    return [t for t in found.sorted_tables if t.name in there]


def _write_table(connection: Connection, table: Table, whole: zipfile.ZipFile) -> dict[str, Any]:
    hashed, size, rows = sha256(), 0, 0
    asked = select(table).order_by(*table.primary_key.columns)
    with whole.open(_member(table.name), "w", force_zip64=True) as out:
        result = connection.execution_options(yield_per=AT_ONCE).execute(asked)
        for row in result:
            values = {c.name: _out(v) for c, v in zip(table.columns, row, strict=True)}
            line = (json.dumps(values, ensure_ascii=False) + "\n").encode("utf-8")
            hashed.update(line)
            out.write(line)
            size, rows = size + len(line), rows + 1
    return {"name": table.name, "rows": rows, "bytes": size, "sha256": hashed.hexdigest()}


def _member(table: str) -> str:
    return f"tables/{table}.jsonl"


def _out(value: Any) -> Any:
    if isinstance(value, datetime):
        return (value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)).isoformat()
    if isinstance(value, (bytes, memoryview)):
        return base64.b64encode(value).decode("ascii")
    return value


# --- back ---------------------------------------------------------------------------------------------------------


def check_backup(file: Path) -> Backup:
    """Look a backup over: every table there, whole, and as it was written.

    Raises:
        RefusedError: It is no backup, damaged, or of a newer version.
    """
    with _opened(file) as whole:
        return _checked(whole, file)


def restore_backup(db: Database, file: Path, *, replace: bool = False) -> Backup:
    """Bring a backup into the database, whole or not at all.

    Args:
        db: The database.
        file: The backup; it is checked before anything is touched.
        replace: Whether what the database holds is taken out for it; without, it must be empty.

    Raises:
        RefusedError: The backup is damaged or of a newer version, or the database holds something.
        UnavailableError: The database cannot be written; it is as it was.
    """
    with _opened(file) as whole:
        made = _checked(whole, file)
        with changing(db) as connection:
            known_revision(connection)
            there = _tables(connection)
            held = {t.name: connection.scalar(select(func.count()).select_from(t)) or 0 for t in there}
            if any(held.values()) and not replace:
                jobs, saves = (
                    f"{n} {word}{'' if n == 1 else 's'}" for word, n in held.items() if word in ("job", "save")
                )
                raise RefusedError(
                    f"the database holds {jobs} and {saves}; name an empty one, "
                    "or give --replace to take all that out for what the backup holds (nothing was changed)"
                )
            _clear(connection, there)
            upgrade_to(connection, made.schema)
            for table in _tables(connection):
                _read_table(connection, table, whole, file)
            upgrade_to(connection, history()[-1])
            put_guards(connection)
    return made


@contextmanager
def _opened(file: Path) -> Iterator[zipfile.ZipFile]:
    try:
        with zipfile.ZipFile(file) as whole:
            yield whole
    except FileNotFoundError as error:
        raise RefusedError(f"{file}: there is no such file") from error
    except (zipfile.BadZipFile, zlib.error, EOFError, RuntimeError) as error:
        raise RefusedError(f"{file} is no whole backup: {str(error).lower()}; use another one") from error
    except OSError as error:
        if isinstance(error, ConnectionError):
            raise
        raise RefusedError(f"{file} cannot be read: {(error.strerror or str(error)).lower()}") from error


def _checked(whole: zipfile.ZipFile, file: Path) -> Backup:
    def damaged(what: str) -> RefusedError:
        return RefusedError(f"{file} is damaged: {what}; use another backup (nothing was changed)")

    names = whole.namelist()
    if MANIFEST not in names or whole.getinfo(MANIFEST).file_size > MAX_MANIFEST:
        raise RefusedError(f"{file} is no backup of Galleyproof: it has no manifest")
    try:
        manifest = json.loads(whole.read(MANIFEST))
        version, schema, made_at = manifest["galleyproof_backup"], str(manifest["schema"]), str(manifest["made_at"])
        listed = [(str(t["name"]), int(t["rows"]), int(t["bytes"]), str(t["sha256"])) for t in manifest["tables"]]
    except (ValueError, KeyError, TypeError) as error:
        raise RefusedError(f"{file} is no backup of Galleyproof: its manifest cannot be read") from error
    if version != VERSION or schema not in history():
        raise RefusedError(
            f"{file} was made by a newer version ({manifest.get('made_by')}, schema {schema}); "
            "restore it with that version or a later one"
        )
    expected = {MANIFEST, *(_member(name) for name, *_ in listed)}
    if len(names) != len(set(names)) or set(names) != expected:
        raise damaged("its files are not those of its manifest")
    if strange := [name for name, *_ in listed if name not in Base.metadata.tables]:
        raise damaged(f"there is no table {strange[0]!r}")
    for name, rows, size, hashed in listed:
        if _sum(whole, _member(name), size) != (size, rows, hashed):
            raise damaged(f"the table {name} is not as it was written")
    return Backup(schema, made_at, {name: rows for name, rows, *_ in listed})


def _sum(whole: zipfile.ZipFile, member: str, at_most: int) -> tuple[int, int, str]:
    """Size, lines and hash of a member; stops where it is longer than it may be."""
    hashed, size, lines = sha256(), 0, 0
    with whole.open(member) as table:
        while chunk := table.read(CHUNK):
            hashed.update(chunk)
            size, lines = size + len(chunk), lines + chunk.count(b"\n")
            if size > at_most:
                break
    return size, lines, hashed.hexdigest()


def _clear(connection: Connection, tables: list[Table]) -> None:
    for table in reversed(tables):
        table.drop(connection)
    connection.execute(text("DROP TABLE IF EXISTS alembic_version"))


def _read_table(connection: Connection, table: Table, whole: zipfile.ZipFile, file: Path) -> None:
    naive = connection.dialect.name == "sqlite"
    columns = {c.name: c for c in table.columns}
    try:
        with whole.open(_member(table.name)) as raw:
            batch: list[dict[str, Any]] = []
            for line in io.TextIOWrapper(raw, encoding="utf-8", newline="\n"):
                values = json.loads(line)
                batch.append({name: _in(values[name], column, naive) for name, column in columns.items()})
                if len(batch) == AT_ONCE:
                    connection.execute(table.insert(), batch)
                    batch = []
            if batch:
                connection.execute(table.insert(), batch)
    except (ValueError, KeyError, TypeError, binascii.Error) as error:
        raise RefusedError(f"{file} is damaged: the table {table.name} cannot be read (nothing was changed)") from error
    key = list(table.primary_key.columns)
    if not naive and len(key) == 1 and isinstance(key[0].type, Integer):
        connection.execute(
            text(
                f"SELECT setval(pg_get_serial_sequence('{table.name}', '{key[0].name}'),"
                f' coalesce(max("{key[0].name}"), 0) + 1, false) FROM "{table.name}"'
            )
        )


def _in(value: Any, column: Column[Any], naive: bool) -> Any:
    if value is None:
        return None
    if isinstance(column.type, DateTime):
        moment = datetime.fromisoformat(value).astimezone(UTC)
        return moment.replace(tzinfo=None) if naive else moment
    if isinstance(column.type, LargeBinary):
        return base64.b64decode(value, validate=True)
    return value
