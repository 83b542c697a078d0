"""A job's check-out for its pages: the book of a save, opened, and what the log says of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from galleyproof.checkout.log import Entry
from galleyproof.checkout.log import fingerprint as print_of
from galleyproof.checkout.model import Stage
from galleyproof.store.errors import NotFoundError
from galleyproof.store.jobs import Save, save_of, saves_of
from galleyproof.store.readings import readings_of
from galleyproof.web.book import Book, OpenBook, open_book
from galleyproof.web.check_out_state import State
from galleyproof.web.check_out_words import notes_of
from galleyproof.web.computed import CHECKED_OUT
from galleyproof.web.desk import Found, Question
from galleyproof.web.office import Office

if TYPE_CHECKING:
    from galleyproof.checkout.beliefs import Observation

__all__ = ["Checked", "checked", "found", "opened", "prints_of", "up_to"]

PATIENCE_S = 1.0
"""A book that is not there yet is waited for this long. [s]"""


@lru_cache(maxsize=6)
def opened(book: Book) -> OpenBook:
    """A book, open; the last few stay so."""
    return open_book(book)


@lru_cache(maxsize=400)
def _print(text: str) -> str:
    return print_of(text)


@dataclass(frozen=True)
class Checked:
    """One save's check-out and the job's log.

    Attributes:
        save: The save.
        print: Fingerprint of its text, as entries carry it.
        book: Its book; None while it is being computed or when it cannot be.
        state: What the log says of it; None without a book.
        entries: The log.
        why: Why there is no book.
    """

    save: Save
    print: str
    book: Book | None
    state: State | None
    entries: tuple[Entry, ...]
    why: str = ""

    @property
    def open(self) -> OpenBook:
        """The open book.

        Raises:
            NotFoundError: There is none, or not yet.
        """
        if self.state is None:
            raise NotFoundError(self.why)
        return self.state.book

    def known(self) -> State:
        """What the log says.

        Raises:
            NotFoundError: There is no book to read it by, or not yet.
        """
        if self.state is None:
            raise NotFoundError(self.why)
        return self.state


def prints_of(session: Any, job: int) -> dict[str, int]:
    """Fingerprint of each save of a job -> its number, the latest where two saves have one text."""
    return {_print(s.text): s.number for s in reversed(saves_of(session, job))}


def checked(office: Office, job: int, save: int | None, patience_s: float = PATIENCE_S) -> Checked:
    """The check-out of a save, with the log.

    Args:
        office: The office.
        job: The job.
        save: Number of the save; None for the one that stands.
        patience_s: How long to wait for a book that is being computed. [s]

    Raises:
        NotFoundError: There is no such job or save.
    """
    with office.db.session(reads=True) as session:
        row = save_of(session, job, save)
        entries = readings_of(session, job)
        prints = prints_of(session, job)
    answer = office.work.wait(CHECKED_OUT, row.text, patience_s)
    book: Book | None = answer.result if answer.done else None
    if book is None or not book.written:
        why = f"the check-out of save {row.number} is being computed: {answer.words}"
        if answer.state == "failed":
            why = f"the check-out of save {row.number} cannot be computed: {answer.words}"
        if book is not None:
            problem = f"{book.problems[0]}" if book.problems else book.words
            why = f"save {row.number} has no check-out: {problem}; put it right on its line-up"
        return Checked(row, _print(row.text), None, None, entries, why)
    return Checked(row, _print(row.text), book, State(opened(book), entries, prints), entries)


def found(office: Office, here: Checked, taken: tuple[Observation, ...], stage: str = "") -> Found | None:
    """What the search says; None while nothing was taken.

    Args:
        office: The office.
        here: The check-out.
        taken: Readings and complaints.
        stage: Stage a person works in: a reading of a later one is asked for when it tells far more.

    Raises:
        NotFoundError: There is no book.
        DeskError: The search could not be asked.
    """
    if here.book is None or here.state is None:
        raise NotFoundError(here.why)
    notes = notes_of(here.state.ordered)
    out = frozenset(k for k in notes if k and k not in here.state.readings)
    question = Question(taken, out, up_to(stage)) if taken else None
    return office.desk.ask(here.save.sha256, here.save.text, here.book, question)


def up_to(stage: str) -> tuple[str, ...]:
    """Stages up to one; none for an unknown one."""
    names = [s.value for s in Stage]
    return tuple(names[: names.index(stage) + 1]) if stage in names else ()
