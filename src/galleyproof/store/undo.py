"""Taking saves back, and doing them again.

Nothing is ever removed: taking back is a new save with the text from before, which names in ``undoes`` the save it
takes back. Doing again is a new save that names the taking back. So where both lead is read from the saves.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from galleyproof.store.errors import RefusedError
from galleyproof.store.jobs import job_head, save_job, save_of
from galleyproof.store.people import Who
from galleyproof.store.schema import SaveRow

__all__ = ["Titles", "Walk", "do_again", "restore", "take_back", "walk_of"]

Titles = Callable[[str], tuple[str, str, str]]
"""Name, number and revision that a job's text gives itself, for lists."""


@dataclass(frozen=True, slots=True)
class Walk:
    """Where undo and redo lead.

    Attributes:
        back: The save that would be taken back, and the one whose text comes back; None at the beginning.
        again: The taking back that would be undone, and the save whose text comes again; None when there is none.
    """

    back: tuple[int, int] | None
    again: tuple[int, int] | None


def walk(saves: Iterable[tuple[int, int | None]]) -> Walk:
    """Where undo and redo lead.

    Args:
        saves: Number of each save and of the save it undoes, the first one first.
    """
    line: list[int] = []  # saves whose texts follow each other, as if nothing had ever been taken back
    undone: list[tuple[int, int]] = []  # the taking back, and what it took back
    for number, undoes in saves:
        if undoes is not None and len(line) > 1 and undoes == line[-1]:
            undone.append((number, line.pop()))
        elif undoes is not None and undone and undoes == undone[-1][0]:
            line.append(undone.pop()[1])
        else:
            line.append(number)
            undone.clear()
    back = (line[-1], line[-2]) if len(line) > 1 else None
    return Walk(back, undone[-1] if undone else None)


def walk_of(session: Session, job_id: int) -> Walk:
    """Where undo and redo of a job lead."""
    rows = session.execute(
        select(SaveRow.number, SaveRow.undoes).where(SaveRow.job_id == job_id).order_by(SaveRow.number)
    )
    return walk((number, undoes) for number, undoes in rows)


def take_back(session: Session, who: Who, job_id: int, titles: Titles, based_on: int | None = None) -> int:
    """Take the last change back; once more, the one before it.

    Args:
        session: A transaction.
        who: Who does it.
        job_id: The job.
        titles: What a text calls itself.
        based_on: The save the person saw standing; None takes the one that stands.

    Returns:
        Number of the new save.

    Raises:
        NotFoundError: There is no such job.
        RefusedError: There is nothing to take back.
        ConflictError: Somebody else saved in the meantime.
    """
    head = job_head(session, job_id).head
    step = walk_of(session, job_id).back
    if step is None:
        raise RefusedError("there is nothing to take back: this is how the job began")
    taken, before = step
    said = f"took back: {save_of(session, job_id, taken).said or f'save {taken}'}"
    return _save_text_of(session, who, job_id, before, titles, head if based_on is None else based_on, said, taken)


def do_again(session: Session, who: Who, job_id: int, titles: Titles, based_on: int | None = None) -> int:
    """Do again what was taken back last.

    Args:
        session: A transaction.
        who: Who does it.
        job_id: The job.
        titles: What a text calls itself.
        based_on: The save the person saw standing; None takes the one that stands.

    Returns:
        Number of the new save.

    Raises:
        NotFoundError: There is no such job.
        RefusedError: Nothing was taken back, or something was changed since.
        ConflictError: Somebody else saved in the meantime.
    """
    head = job_head(session, job_id).head
    step = walk_of(session, job_id).again
    if step is None:
        raise RefusedError("there is nothing to do again: nothing was taken back since the last change")
    taking, again = step
    said = f"did again: {save_of(session, job_id, again).said or f'save {again}'}"
    return _save_text_of(session, who, job_id, again, titles, head if based_on is None else based_on, said, taking)


def restore(session: Session, who: Who, job_id: int, number: int, titles: Titles, based_on: int) -> int:
    """Let an earlier save stand again, as a new one.

    Args:
        session: A transaction.
        who: Who does it.
        job_id: The job.
        number: The earlier save.
        titles: What a text calls itself.
        based_on: The save the person saw standing.

    Returns:
        Number of the new save.

    Raises:
        NotFoundError: There is no such job or save.
        RefusedError: It is the text that stands.
        ConflictError: Somebody else saved in the meantime.
    """
    old, standing = save_of(session, job_id, number), save_of(session, job_id)
    if old.text == standing.text and based_on == standing.number:
        raise RefusedError(f"save {number} has the text that stands already; nothing was changed")
    return _save_text_of(session, who, job_id, number, titles, based_on, f"restored save {number}", None)


def _save_text_of(
    session: Session, who: Who, job_id: int, number: int, titles: Titles, based_on: int, said: str, undoes: int | None
) -> int:
    text = save_of(session, job_id, number).text
    return save_job(session, who, job_id, text, based_on, *titles(text), said, undoes)
