"""Issued sets: the whole package of one save as it was issued, kept unchanged with the hash of its manifest."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from galleyproof.store.database import now, one_at_a_time
from galleyproof.store.errors import NotFoundError, RefusedError
from galleyproof.store.jobs import note, save_of
from galleyproof.store.people import Who
from galleyproof.store.schema import IssuedRow

__all__ = ["Issued", "add_issued", "content_of", "faults_of", "file_of", "issued_of", "issued_sets", "pack"]

MANIFEST = "manifest.json"
EPOCH = (1980, 1, 1, 0, 0, 0)
"""Date of every file in the zip, so that the same set gives the same bytes."""
MAX_FILE = 400_000_000
"""Largest file of a set when it is read back. [byte]"""


@dataclass(frozen=True, slots=True)
class Issued:
    """An issued set as lists show it.

    Attributes:
        id: Its number in this store.
        job_id: The job.
        save_number: The save it was made from.
        revision: As the job calls it.
        sha256: Of its manifest, which holds the hash of every file.
        size_bytes: Of the whole set as a zip. [byte]
        said: A remark.
        made_at: When.
        made_by: By whom.
    """

    id: int
    job_id: int
    save_number: int
    revision: str
    sha256: str
    size_bytes: int
    said: str
    made_at: datetime
    made_by: str


def pack(files: Mapping[str, bytes]) -> bytes:
    """Files as a zip; the same files give the same bytes."""
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in files.items():
            info = zipfile.ZipInfo(name, EPOCH)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = 0o644 << 16
            made.writestr(info, content)
    return whole.getvalue()


def add_issued(
    session: Session, who: Who, job_id: int, save_number: int, revision: str, files: Mapping[str, bytes], said: str = ""
) -> Issued:
    """Keep a set for good.

    Args:
        session: A transaction.
        who: Who issues it.
        job_id: The job.
        save_number: The save the set was made from.
        revision: As the job calls it.
        files: Name -> content, the manifest among them.
        said: A remark.

    Raises:
        NotFoundError: There is no such save.
        RefusedError: The revision is issued already, or the manifest does not fit the files.
    """
    save_of(session, job_id, save_number)
    one_at_a_time(session)
    earlier = session.scalar(select(IssuedRow).where(IssuedRow.job_id == job_id, IssuedRow.revision == revision))
    if earlier is not None:
        raise RefusedError(
            f"revision {revision} was issued on {earlier.made_at:%Y-%m-%d} by {earlier.made_by} and stays as it is; "
            "give the job its next revision, then issue that"
        )
    content = pack(files)
    hashed = sha256(files[MANIFEST]).hexdigest() if MANIFEST in files else ""
    if faults := _faults(content, hashed):
        raise RefusedError(f"the set does not fit its manifest: {'; '.join(faults)}")
    row = IssuedRow(
        job_id=job_id,
        save_number=save_number,
        revision=revision,
        sha256=hashed,
        content=content,
        said=said[:400],
        made_at=now(),
        made_by=who.name,
    )
    session.add(row)
    session.flush()
    note(session, who, "issued a set", job_id, issued=row.id, revision=revision, save=save_number, sha256=hashed)
    return _issued(row, len(content))


def issued_sets(session: Session, job_id: int) -> tuple[Issued, ...]:
    """All sets of a job, the last one first."""
    rows = session.execute(
        select(IssuedRow, func.length(IssuedRow.content))
        .where(IssuedRow.job_id == job_id)
        .order_by(IssuedRow.id.desc())
    )
    return tuple(_issued(row, size) for row, size in rows)


def issued_of(session: Session, job_id: int, issued_id: int) -> Issued:
    """One set of a job.

    Raises:
        NotFoundError: The job has no such set.
    """
    row, size = _row(session, job_id, issued_id)
    return _issued(row, size)


def content_of(session: Session, job_id: int, issued_id: int) -> bytes:
    """The whole set as a zip, byte for byte as it was issued.

    Raises:
        NotFoundError: The job has no such set.
    """
    return _row(session, job_id, issued_id)[0].content


def file_of(session: Session, job_id: int, issued_id: int, name: str) -> bytes:
    """One file of a set.

    Raises:
        NotFoundError: The job has no such set, or it no such file.
    """
    with zipfile.ZipFile(io.BytesIO(content_of(session, job_id, issued_id))) as whole:
        if name not in whole.namelist():
            raise NotFoundError(f"the set has no file {name!r}")
        return whole.read(name)


def faults_of(session: Session, job_id: int, issued_id: int) -> tuple[str, ...]:
    """What of a set is not as it was issued; empty when every file fits its hash and the manifest its own.

    Raises:
        NotFoundError: The job has no such set.
    """
    row, _ = _row(session, job_id, issued_id)
    return _faults(row.content, row.sha256)


def _faults(content: bytes, hashed: str) -> tuple[str, ...]:
    """As ``faults_of``, of a zip and the hash its manifest must have."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as whole:
            if any(info.file_size > MAX_FILE for info in whole.infolist()):
                return ("a file is larger than a package's ever is",)
            files = {name: whole.read(name) for name in whole.namelist()}
            doubles = len(files) != len(whole.namelist())
    except (zipfile.BadZipFile, EOFError, OSError, ValueError, NotImplementedError) as error:
        return (f"it is no whole zip: {str(error).lower()}",)
    if doubles:
        return ("a file is in it twice",)
    if MANIFEST not in files:
        return ("it has no manifest",)
    if sha256(files[MANIFEST]).hexdigest() != hashed:
        return ("the manifest is not the one that was issued",)
    try:
        listed = {str(f["name"]): str(f["sha256"]) for f in json.loads(files[MANIFEST])["files"]}
    except (ValueError, KeyError, TypeError):
        return ("the manifest cannot be read",)
    found = [f"{name} is missing" for name in listed if name not in files]
    found += [f"{name} is not in the manifest" for name in files if name not in listed and name != MANIFEST]
    found += [
        f"{name} is not as it was issued"
        for name, expected in listed.items()
        if name in files and sha256(files[name]).hexdigest() != expected
    ]
    return tuple(found)


def _row(session: Session, job_id: int, issued_id: int) -> tuple[IssuedRow, int]:
    found = session.execute(
        select(IssuedRow, func.length(IssuedRow.content)).where(IssuedRow.id == issued_id, IssuedRow.job_id == job_id)
    ).one_or_none()
    if found is None:
        raise NotFoundError(f"job {job_id} has no issued set {issued_id}; look at its issued sets")
    return found[0], found[1]


def _issued(row: IssuedRow, size: int) -> Issued:
    return Issued(
        row.id, row.job_id, row.save_number, row.revision, row.sha256, size, row.said, row.made_at, row.made_by
    )
