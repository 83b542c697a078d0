"""``galleyproof restore``: a backup brought back, whole or not at all."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from galleyproof.cli.backup import counted, open_store
from galleyproof.cli.main import ALL_WELL


def run(args: Namespace) -> int:
    """Check the backup, then bring it in.

    Raises:
        ServeError: The folder cannot be used.
        StoreError: The backup is damaged, or the database holds something or cannot be written.
    """
    from galleyproof.store.backup import check_backup, restore_backup

    check_backup(Path(args.file))  # before a database is made for it
    db = open_store(args, must_exist=False)
    try:
        made = restore_backup(db, Path(args.file), replace=args.replace)
    finally:
        db.close()
    print(f"galleyproof: restored {counted(made)}, as they were at {made.made_at}")
    print("galleyproof: start a server that was running on this database again")
    return ALL_WELL
