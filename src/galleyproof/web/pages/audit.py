"""The audit log: who did what, newest first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request, Response

from galleyproof.store.audit import Line, lines, names_in_log
from galleyproof.store.people import Right, Who
from galleyproof.web.access import Needs
from galleyproof.web.office import Here
from galleyproof.web.page import Page, show

routes = APIRouter()

A_PAGE = 100
"""Lines on a page. [-]"""


@dataclass(frozen=True, kw_only=True)
class LogPage(Page):
    """A page of the log.

    Attributes:
        lines: The newest first.
        names: Everybody who did something.
        person: Whose lines are shown; empty for all.
        about: Number of the job whose lines are shown; empty for all.
        older: Where the next page begins; None on the last.
        first: Whether this is the newest page.
    """

    template: ClassVar[str] = "log.html"
    lines: tuple[Line, ...]
    names: tuple[str, ...]
    person: str
    about: str
    older: int | None
    first: bool


@routes.get("/log")
def log(
    request: Request,
    here: Here,
    _who: Annotated[Who, Depends(Needs(Right.PEOPLE))],
    person: str = "",
    about: str = "",
    before: int | None = None,
) -> Response:
    """The log, or the part of it that one person did or that one job is about."""
    wanted = int(about) if about.isascii() and about.isdigit() and len(about) < 10 else None
    with here.db.session(reads=True) as session:
        found = lines(session, person=person or None, job_id=wanted, before=before, at_most=A_PAGE + 1)
        names = names_in_log(session)
    shown = found[:A_PAGE]
    page = LogPage(
        title="Log",
        lines=shown,
        names=names,
        person=person,
        about="" if wanted is None else str(wanted),
        older=shown[-1].id if len(found) > A_PAGE else None,
        first=before is None,
    )
    return show(request, page)
