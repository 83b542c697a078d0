"""A package put into a folder whole or not at all."""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

from galleyproof.errors import InputError, Problem
from galleyproof.package.whole import MANIFEST, NAMES, SHEET_NAME, SHEETS


def put_package(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write all files into a folder of their own.

    They are written beside it first, and take its place in one move. A folder that holds an earlier draft, whole or
    half, is replaced; one that holds anything else, or another issued set, is left as it is.

    Args:
        folder: Where the package shall stand; its parent must exist or be makeable.
        files: Name -> content.

    Raises:
        InputError: It cannot be written or holds something else; the folder is as it was.
    """
    made: list[Path] = []
    spare: Path | None = None
    try:
        target = folder.resolve()
        old = _may_go(folder, target, files)
        for parent in reversed(target.parents):
            if not parent.exists():
                parent.mkdir()
                made.append(parent)
        spare = Path(tempfile.mkdtemp(prefix=f".{target.name[:40]}.", suffix=".part", dir=target.parent))
        for name, content in files.items():
            path = spare / name
            if path.parent != spare and not path.parent.exists():
                path.parent.mkdir()
                path.parent.chmod(0o777 & ~_mask())
            with path.open("wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
        spare.chmod(target.stat().st_mode & 0o777 if old else 0o777 & ~_mask())
        if old and not os.access(target, os.W_OK):
            raise PermissionError(13, "permission denied")
        _swap(spare, target, old)
        spare = None
    except OSError as error:
        for path in reversed(made):
            shutil.rmtree(path, ignore_errors=True)
        why = (error.strerror or type(error).__name__).lower()
        raise _problem(folder, f"the package cannot be written: {why}; nothing of it is left there") from None
    finally:
        if spare is not None:
            shutil.rmtree(spare, ignore_errors=True)


def _problem(folder: Path, what: str) -> InputError:
    return InputError([Problem(str(folder), 0, "", what)])


def _may_go(folder: Path, target: Path, files: Mapping[str, bytes]) -> bool:
    """Whether there is a folder that may be replaced.

    Raises:
        InputError: There is one that must stay.
    """
    if not target.exists():
        return False
    if not target.is_dir():
        raise _problem(folder, "is no folder; give one for the package")
    # a job file alone is somebody's work, not a package
    ours = NAMES if _manifest(target) is not None else [n for n in NAMES if n != "job.yaml"]
    others = sorted(p.name for p in target.iterdir() if not ((p.name in ours and p.is_file()) or _is_sheets(p)))
    if others:
        shown = ", ".join(others[:3]) + (f" and {len(others) - 3} more" if len(others) > 3 else "")
        raise _problem(folder, f"holds what belongs to no package ({shown}); give an empty folder or a new one")
    if (_manifest(target) or {}).get("status") == "ISSUED":
        same = all((target / n).is_file() and (target / n).read_bytes() == content for n, content in files.items())
        if not same or {p.name for p in target.glob(f"{SHEETS}/*")} != {Path(n).name for n in files if "/" in n}:
            raise _problem(folder, "holds an issued set, which never changes; give another folder")
    return True


def _is_sheets(path: Path) -> bool:
    """Whether it is the folder of a package's sheets, and nothing else in it."""
    if path.name != SHEETS or path.is_symlink() or not path.is_dir():
        return False
    return all(SHEET_NAME.fullmatch(p.name) and p.is_file() for p in path.iterdir())


def _mask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _manifest(target: Path) -> dict[str, object] | None:
    """What the manifest of a package says; None where there is none."""
    try:
        data = json.loads((target / MANIFEST).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return data if isinstance(data, dict) and "status" in data and "files" in data else None


def _swap(spare: Path, target: Path, old: bool) -> None:
    """The new folder in the place of the old one; the old one comes back if that fails."""
    if not old:
        spare.rename(target)
        return
    aside = Path(tempfile.mkdtemp(prefix=f".{target.name[:40]}.", suffix=".old", dir=target.parent))
    kept = aside / "was"
    target.rename(kept)
    try:
        spare.rename(target)
    except OSError:
        kept.rename(target)
        raise
    finally:
        shutil.rmtree(aside, ignore_errors=True)
