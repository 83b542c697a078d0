"""Remarks on saves: what people say about a revision. A remark stays as it was written; another one can follow it."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from galleyproof.store.database import now, one_at_a_time
from galleyproof.store.errors import RefusedError
from galleyproof.store.jobs import note, save_of
from galleyproof.store.people import Who
from galleyproof.store.schema import RemarkRow

__all__ = ["LONGEST", "MOST", "Remark", "add_remark", "remarks_on"]

LONGEST = 2_000
"""Most characters of a remark. [-]"""
TURNING = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
"""Signs that change the direction of what follows (Unicode Standard Annex 9, from memory)."""
MOST = 200
"""Most remarks on one save. [-]"""


@dataclass(frozen=True, slots=True)
class Remark:
    """One remark.

    Attributes:
        id: Its number in this store; grows.
        save_number: The save it is about.
        text: What was said; may have several lines.
        made_at: When.
        made_by: By whom.
    """

    id: int
    save_number: int
    text: str
    made_at: datetime
    made_by: str


def add_remark(session: Session, who: Who, job_id: int, save_number: int, text: str) -> Remark:
    """Keep a remark on a save for good.

    Raises:
        NotFoundError: There is no such save.
        RefusedError: It is empty or too long, it holds what no text has, or the save has as many as it may.
    """
    save_of(session, job_id, save_number)
    words = "\n".join(line.rstrip() for line in text.replace("\r\n", "\n").replace("\r", "\n").split("\n")).strip()
    if not words:
        raise RefusedError("the remark is empty; write what there is to say about the save")
    if len(words) > LONGEST:
        raise RefusedError(f"the remark has {len(words):,} characters; {LONGEST:,} are taken: make it shorter")
    if strange := next(filter(_strange, words), None):
        raise RefusedError(f"the remark holds a sign that is not text (U+{ord(strange):04X}); take it out")
    one_at_a_time(session)
    asked = select(func.count()).where(RemarkRow.job_id == job_id, RemarkRow.save_number == save_number)
    if (session.scalar(asked) or 0) >= MOST:
        raise RefusedError(f"save {save_number} has {MOST} remarks, which is the most; say it on the next save")
    row = RemarkRow(job_id=job_id, save_number=save_number, text=words, made_at=now(), made_by=who.name)
    session.add(row)
    session.flush()
    note(session, who, "remarked on a save", job_id, save=save_number, remark=row.id)
    return _remark(row)


def remarks_on(session: Session, job_id: int, saves: Iterable[int]) -> dict[int, tuple[Remark, ...]]:
    """Number of a save -> its remarks, the oldest first; saves without any are left out."""
    asked = select(RemarkRow).where(RemarkRow.job_id == job_id, RemarkRow.save_number.in_(sorted(set(saves))))
    found: dict[int, tuple[Remark, ...]] = {}
    for row in session.scalars(asked.order_by(RemarkRow.id)):
        found[row.save_number] = (*found.get(row.save_number, ()), _remark(row))
    return found


def _strange(sign: str) -> bool:
    # control characters and halves of characters are no text; signs that turn the line around would make others' words
    # read otherwise
    return sign not in "\n\t" and (unicodedata.category(sign) in ("Cc", "Cs") or sign in TURNING)


def _remark(row: RemarkRow) -> Remark:
    return Remark(row.id, row.save_number, row.text, row.made_at, row.made_by)
