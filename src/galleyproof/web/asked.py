"""What a request to a live drawing says: the save, the situation, the moment, the slip."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from fastapi import Query

from galleyproof.store.jobs import save_of
from galleyproof.web.office import Office
from galleyproof.web.ready import ready
from galleyproof.web.situations import Asked

if TYPE_CHECKING:
    from galleyproof.web.live import Live

__all__ = ["Question", "SaveNumber", "Word", "live_of"]

Word = Annotated[str, Query(max_length=80)]
SaveNumber = Annotated[int | None, Query(ge=1, le=2**31)]


class Question:
    """A situation, the moment on the way to it and the slip, as a request's parameters.

    Attributes:
        asked: The situation.
        moment: Place on the way to it; None for the last. [-]
        slip: Key of the slip in place; empty for none.
    """

    def __init__(
        self,
        power: Word = "on",
        when: Word = "after",
        switches: Word = "on",
        heat: Word = "on",
        fire: Word = "armed",
        then: Word = "",
        fault: Word = "",
        moment: Annotated[int | None, Query(ge=0, le=1000)] = None,
        slip: Annotated[str, Query(max_length=300)] = "",
    ) -> None:
        self.asked = Asked(power, when, switches, heat, fire, then, fault)
        self.moment, self.slip = moment, slip

    def place(self, of: int) -> int:
        """The moment's place among so many."""
        return of - 1 if self.moment is None else min(self.moment, of - 1)


def live_of(office: Office, job: int, save: int | None) -> Live:
    """The wiring of one save of a job, ready for questions.

    Raises:
        NotFoundError: There is no such job or save.
        InputError: Its text cannot be taken.
    """
    with office.db.session(reads=True) as session:
        text = save_of(session, job, save).text
    return ready(text)
