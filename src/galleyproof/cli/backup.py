"""``galleyproof backup``: everything the store holds, in one file."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from galleyproof.cli.main import ALL_WELL
from galleyproof.cli.serve import URL, ServeError, database_url
from galleyproof.cli.text import plural
from galleyproof.web.settings import data_folder

if TYPE_CHECKING:
    from galleyproof.store.backup import Backup
    from galleyproof.store.database import Database

NAMED = {"job": "job", "save": "save", "reading": "reading", "issued": "issued set", "person": "account"}
"""Tables that are counted for a person, with what their rows are called."""


def run(args: Namespace) -> int:
    """Write the backup.

    Raises:
        ServeError: There is no database yet.
        StoreError: It cannot be read, or the file not written.
    """
    from galleyproof.store.backup import write_backup

    db = open_store(args, must_exist=True)
    try:
        file = Path(args.file)
        made = write_backup(db, file)
    finally:
        db.close()
    print(f"galleyproof: {counted(made)} in {file} ({file.stat().st_size:,} bytes)")
    print("galleyproof: keep it as you keep a key: it holds the hashes of passwords and the key that signs links")
    return ALL_WELL


def open_store(args: Namespace, *, must_exist: bool) -> Database:
    """The database that ``serve`` would use.

    Raises:
        ServeError: It must exist and does not, or its folder cannot be used.
        RefusedError: Its address cannot be read.
    """
    import os

    from galleyproof.store.database import Database

    folder = Path(args.data) if args.data else data_folder()
    file = folder / "jobs.db"
    if must_exist and not os.environ.get(URL) and not file.is_file():
        raise ServeError(f"there are no jobs in {folder} yet (no {file.name}); name their folder with --data DIR")
    return Database(database_url(folder))


def counted(made: Backup) -> str:
    """What a backup holds, in words."""
    words = [plural(made.rows.get(table, 0), word) for table, word in NAMED.items()]
    return f"{', '.join(words[:-1])} and {words[-1]}"
