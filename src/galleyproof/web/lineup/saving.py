"""Storing a changed text over the save it was made from, and what happens when somebody saved in between."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from galleyproof.store.errors import ConflictError, RefusedError
from galleyproof.store.jobs import Save, job_head, save_job, save_of
from galleyproof.store.people import Who
from galleyproof.store.undo import do_again, take_back
from galleyproof.web.lineup.edit import Change
from galleyproof.web.lineup.merge import compare, merged
from galleyproof.web.lineup.text import Text, read_text
from galleyproof.web.office import Office

__all__ = ["ClashError", "Stored", "change_job", "keep", "step"]

TRIES = 4


class ClashError(ConflictError):
    """Both changed the same value; carries the text that could not be stored.

    Attributes:
        mine: The changed text.
        based_on: Save it was made from.
    """

    def __init__(self, mine: str, based_on: int, theirs: Save) -> None:
        super().__init__(theirs.text, theirs.number, theirs.made_by)
        self.mine, self.based_on = mine, based_on


@dataclass(frozen=True, slots=True)
class Stored:
    """A change that stands.

    Attributes:
        save: Number of the save.
        change: The change; its text is what stands.
        over: Who saved in between, when both changes went together; empty else.
    """

    save: int
    change: Change
    over: str = ""


def change_job(office: Office, who: Who, job: int, based_on: int, make: Callable[[Text], Change]) -> Stored:
    """Make a change to the save that a person saw and store it.

    When somebody else saved in between and the two changes touch different values, both stand.

    Raises:
        ClashError: Both changed the same value.
        NotFoundError: There is no such job or save.
        RefusedError: The change cannot be made.
    """
    with office.db.session(reads=True) as session:
        base = read_text(save_of(session, job, based_on).text)
    if not base.tables:
        raise RefusedError("the text of this job has to be put right first; open it as text")
    change = make(base)
    if not change.said:
        return Stored(based_on, change)
    for _ in range(TRIES):
        with office.db.session(reads=True) as session:
            theirs = save_of(session, job)
        text, over = change.text, ""
        if theirs.number != based_on:
            text, over = _together(base, change.text, theirs, based_on), f"{theirs.made_by}, save {theirs.number}"
        try:
            number = keep(office, who, job, theirs.number, text, change.said)
        except ConflictError:
            continue
        return Stored(number, Change(text, change.said, change.left_out, change.place), over)
    with office.db.session(reads=True) as session:
        raise ClashError(change.text.text, based_on, save_of(session, job))


def _together(base: Text, mine: Text, theirs: Save, based_on: int) -> Text:
    other = read_text(theirs.text)
    if other.tables:
        rows = compare(base.tree, mine.tree, other.tree)
        if not any(row.who == "both" for row in rows):
            return merged(other, rows, {})
    raise ClashError(mine.text, based_on, theirs)


def keep(
    office: Office, who: Who, job: int, based_on: int, text: Text, said: str, undoes: int | None = None
) -> int:  # fmt: skip
    """Store a text; what the job is called in lists follows it.

    Raises:
        ConflictError: Another save stands.
        RefusedError: It holds what no text has.
    """
    if "\0" in text.text:
        raise RefusedError("the text holds a sign with code 0, which no text has; nothing was stored")
    with office.db.session() as session:
        head = job_head(session, job)
        name, number, revision = text.titles(head.name, head.number)
        return save_job(session, who, job, text.text, based_on, name, number, revision, said, undoes)


def step(office: Office, who: Who, job: int, based_on: int, *, forth: bool) -> int:
    """Take the last change back, whoever made it, or make the one again that was last taken back.

    Returns:
        Number of the new save.

    Raises:
        ConflictError: Somebody saved in the meantime.
        RefusedError: There is nothing to take back or to make again.
    """
    with office.db.session() as session:
        head = job_head(session, job)

        def titles(text: str) -> tuple[str, str, str]:
            return read_text(text).titles(head.name, head.number)

        return (do_again if forth else take_back)(session, who, job, titles, based_on)
