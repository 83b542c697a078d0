"""Files at the edge: finding jobs, reading them, putting results down whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from galleyproof.errors import InputError, Problem

if TYPE_CHECKING:
    from galleyproof.design.model import Design
    from galleyproof.job.model import Job
    from galleyproof.library.model import DeviceType

MAX_BYTES = 16 * 1024 * 1024
"""Largest file taken as a job or as device types; a job of a hundred hoods is a fiftieth of it. [byte]"""


@dataclass(frozen=True, slots=True)
class Loaded:
    """One job that reads and builds.

    Attributes:
        name: The file as the user gave it.
        path: Where it is.
        text: Its bytes as they were read.
        job: The job.
        design: Its design.
    """

    name: str
    path: Path
    text: bytes
    job: Job
    design: Design


def one_problem(file: str, what: str) -> InputError:
    """An InputError about a file as a whole."""
    return InputError([Problem(file, 0, "", what)])


def why(error: OSError) -> str:
    """What the system says, without its number and without the path it repeats."""
    return (error.strerror or type(error).__name__).lower()


def read_bytes(path: Path) -> bytes:
    """The whole of a file.

    Raises:
        InputError: It cannot be read, or is far too long to be what is asked.
    """
    try:
        with path.open("rb") as file:
            text = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise one_problem(str(path), f"cannot be read: {why(error)}") from None
    if len(text) > MAX_BYTES:
        raise one_problem(str(path), f"is longer than {MAX_BYTES // 1024**2} MB; a job file is a small text file")
    return text


def job_files(name: str) -> tuple[list[Path], bool]:
    """Files of one argument, and whether it was a folder.

    Raises:
        InputError: There is no such file, or the folder holds no job.
    """
    path = Path(name)
    try:
        if not path.is_dir():
            path.stat()
            return [path], False
        found = sorted(p for p in path.iterdir() if p.suffix == ".yaml" and not p.name.startswith(".") and p.is_file())
    except (OSError, ValueError) as error:
        raise one_problem(name, f"cannot be read: {why(error) if isinstance(error, OSError) else error}") from None
    if not found:
        raise one_problem(name, "holds no job; a folder of jobs has files that end in .yaml")
    return found, True


def read_library(folder: str | None) -> dict[str, DeviceType]:
    """The shipped device types, and those of the user's folder.

    Raises:
        InputError: The folder or one of its files cannot be taken.
    """
    from galleyproof.library.reader import load_library

    if folder is None:
        return load_library()
    path = Path(folder)
    try:
        files = sorted(p for p in path.iterdir() if p.suffix == ".yaml" and not p.name.startswith("."))
    except OSError as error:
        raise one_problem(folder, f"cannot be read as a folder of device types: {why(error)}") from None
    if not files:
        raise one_problem(folder, "holds no device types; they stand in files that end in .yaml")
    texts: dict[str, str | bytes] = {}
    problems: list[Problem] = []
    for file in files:
        try:
            texts[str(file)] = read_bytes(file)
        except InputError as error:
            problems.extend(error.problems)
    if problems:
        raise InputError(problems)
    return load_library(texts)


def load_job(path: Path) -> Loaded:
    """Read one job and build its design.

    Raises:
        InputError: With every problem found.
    """
    from dataclasses import replace

    from galleyproof.design.build import build_design
    from galleyproof.errors import DesignError
    from galleyproof.job.read import read_job

    text = read_bytes(path)
    job = read_job(text, str(path))
    try:
        design = build_design(job)
    except DesignError as error:
        raise InputError([replace(p, file=str(path)) for p in error.problems]) from None
    return Loaded(str(path), path, text, job, design)


def load_jobs(names: Sequence[str]) -> tuple[list[Loaded], list[Problem], bool]:
    """All jobs that can be taken, the problems of all others, and whether many were asked for."""
    files: list[Path] = []
    problems: list[Problem] = []
    many = len(names) > 1
    for name in names:
        try:
            found, folder = job_files(name)
        except InputError as error:
            problems.extend(error.problems)
            continue
        many = many or folder
        files.extend(found)
    loaded: list[Loaded] = []
    for path in dict.fromkeys(files):
        try:
            loaded.append(load_job(path))
        except InputError as error:
            problems.extend(error.problems)
    return loaded, problems, many


def make_folder(path: Path) -> None:
    """Make an output folder.

    Raises:
        InputError: It cannot be made or is no folder.
    """
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise one_problem(str(path), f"cannot be made as an output folder: {why(error)}") from None


def put(path: Path, text: str | bytes) -> None:
    """Write a file whole or not at all: a new one beside it takes its place; a link and its rights stay.

    Raises:
        InputError: It cannot be written; the old file is as it was.
    """
    data = text.encode("utf-8") if isinstance(text, str) else text
    spare: str | None = None
    try:
        target = path.resolve()
        # a file that may not be written must not be swapped either, though its folder would allow it
        mode = target.stat().st_mode & 0o777 if target.exists() else None
        if mode is not None and not os.access(target, os.W_OK):
            raise PermissionError(13, "permission denied")
        handle, spare = tempfile.mkstemp(prefix=f".{target.name}.", suffix=".part", dir=target.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if mode is None:
            mask = os.umask(0)
            os.umask(mask)
            mode = 0o666 & ~mask
        Path(spare).chmod(mode)
        Path(spare).replace(target)
        spare = None
    except OSError as error:
        raise one_problem(str(path), f"cannot be written: {why(error)}") from None
    finally:
        if spare is not None:
            Path(spare).unlink(missing_ok=True)


def rewrite(one: Loaded, job: Job, what: str) -> None:
    """Make a job file say another job, with its comments and layout kept; or leave it as it is.

    Args:
        one: The job as it was read.
        job: What the file shall say.
        what: What is written, in the plural, for messages: ``the numbers``.

    Raises:
        InputError: The file cannot be written, was changed meanwhile, or would not say ``job``; it is as it was.
    """
    from galleyproof.errors import JobError
    from galleyproof.job.read import read_job
    from galleyproof.job.write import update_text

    after = update_text(one.text.decode("utf-8"), job).encode("utf-8")
    try:
        same = read_job(after, one.name) == job
    except JobError:
        same = False
    if not same:
        raise one_problem(one.name, f"{what} cannot be written into this file without changing it; it is as it was")
    if read_bytes(one.path) != one.text:
        raise one_problem(one.name, "was changed meanwhile by somebody else; it is left alone, run the command again")
    put(one.path, after)


def stems(loaded: Iterable[Loaded]) -> dict[str, str]:
    """Job name -> a short name that no other job of the list has, for folders of results."""
    short: dict[str, str] = {}
    for one in loaded:
        name, n = one.path.stem, 2
        while name in short.values():
            name, n = f"{one.path.stem}-{n}", n + 1
        short[one.name] = name
    return short
