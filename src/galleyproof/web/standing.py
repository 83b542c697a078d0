"""Results for a page, and whether they belong to the job as it stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from galleyproof.store.jobs import Save, job_head, save_of, saves_of
from galleyproof.web.office import Office
from galleyproof.web.page import Standing
from galleyproof.web.work import Kind

__all__ = ["Seen", "look"]

OLDER = 20
"""Saves looked back for results to show meanwhile. [-]"""


@dataclass(frozen=True, slots=True)
class Seen:
    """What a page may show.

    Attributes:
        save: The save that stands.
        shown: The save the result belongs to; None when there is none yet.
        result: The result of ``shown``.
        standing: What the page says about it.
    """

    save: Save
    shown: Save | None
    result: Any
    standing: Standing


def look(office: Office, job_id: int, kind: Kind, seconds: float = 1.5) -> Seen:
    """The result for the job as it stands; if it takes longer than some seconds, the newest older one there is.

    Raises:
        NotFoundError: There is no such job.
    """
    with office.db.session(reads=True) as session:
        job_head(session, job_id)
        save = save_of(session, job_id)
    answer = office.work.wait(kind, office.given(kind, job_id, save.text), seconds, owner=job_id)
    shown, result = (save, answer.result) if answer.done else (None, None)
    if not answer.done:
        with office.db.session(reads=True) as session:
            older = saves_of(session, job_id)[1 : OLDER + 1]
        known = office.work.known(kind, (office.given(kind, job_id, s.text) for s in older))
        if known is not None:
            shown, result = older[known[0]], known[1].result
    number = None if shown is None else shown.number
    standing = Standing(answer.state, save.number, number, kind.name, answer.share, answer.words)
    return Seen(save, shown, result, standing)
