"""The drawings, live: one sheet at a time, in any situation; and the page a wire's label leads to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Query, Request, Response
from fastapi.responses import HTMLResponse
from markupsafe import Markup

from galleyproof.errors import Problem
from galleyproof.store.errors import NotFoundError
from galleyproof.store.jobs import job_head, save_of
from galleyproof.store.people import Right, Who
from galleyproof.web.access import Needs
from galleyproof.web.asked import SaveNumber
from galleyproof.web.computed import DRAWN, Drawn, SheetPicture
from galleyproof.web.office import Here, Office
from galleyproof.web.page import JobPage, show
from galleyproof.web.situations import Choice, Preset
from galleyproof.web.standing import look

routes = APIRouter()
Site = Annotated[Who, Depends(Needs(Right.SITE))]
PATIENCE_S = 20.0
"""A sheet is waited for this long; the page itself shows how far it is. [s]"""


@dataclass(frozen=True, slots=True)
class Lit:
    """What the page opens with.

    Attributes:
        sheet: Number of the sheet.
        wire: Number of a conductor that is lit and opened; 0 for none.
        device: Tag of a device that is lit and opened.
        slip: Key of a slip that is in place.
    """

    sheet: str = ""
    wire: int = 0
    device: str = ""
    slip: str = ""


@dataclass(frozen=True, kw_only=True)
class DrawingsPage(JobPage):
    """All sheets by name, one of them drawn, and the questions it may be asked."""

    template: ClassVar[str] = "drawings.html"
    here: ClassVar[str] = "drawings"
    save: int
    sheets: tuple[SheetPicture, ...]
    shown: SheetPicture | None
    picture: Markup
    choices: tuple[Choice, ...]
    presets: tuple[Preset, ...]
    problems: tuple[Problem, ...]
    lit: Lit


def _page(request: Request, office: Office, job: int, lit: Lit) -> HTMLResponse:
    with office.db.session(reads=True) as session:
        head = job_head(session, job)
    seen = look(office, job, DRAWN)
    drawn: Drawn = seen.result or Drawn(())
    # while nothing is drawn yet nobody can say whether there will be such a sheet
    shown = _sheet(drawn, lit.sheet) if lit.sheet and drawn.sheets else next(iter(drawn.sheets), None)
    return show(
        request,
        DrawingsPage(
            title="Drawings",
            job=head,
            standing=seen.standing,
            save=seen.shown.number if seen.shown is not None else 0,
            sheets=drawn.sheets,
            shown=shown,
            # written by the core, which escapes every word of the job in it
            picture=Markup(shown.svg if shown is not None else ""),
            choices=drawn.choices,
            presets=drawn.presets,
            problems=drawn.problems,
            lit=lit,
        ),
    )


def _sheet(drawn: Drawn, number: str) -> SheetPicture:
    found = next((s for s in drawn.sheets if s.number == number), None)
    if found is None and drawn.sheets:
        raise NotFoundError(f"these drawings have no sheet {number}; sheet 1.1 lists all of them")
    if found is None:
        raise NotFoundError("this job has no drawings yet; look at its line-up")
    return found


@routes.get("/jobs/{job}/drawings")
def drawings(
    request: Request,
    here: Here,
    job: int,
    who: Site,
    sheet: Annotated[str, Query(max_length=20)] = "",
    wire: Annotated[int, Query(ge=0, le=10**9)] = 0,
    device: Annotated[str, Query(max_length=80)] = "",
    slip: Annotated[str, Query(max_length=300)] = "",
) -> HTMLResponse:
    """The drawings, with something lit if asked."""
    return _page(request, here, job, Lit(sheet, wire, device, slip))


@routes.get("/jobs/{job}/w/{wire}")
def wire_page(request: Request, here: Here, job: int, wire: int, who: Site) -> HTMLResponse:
    """Where the label of a wire leads: the drawings with that wire lit and opened."""
    return _page(request, here, job, Lit(wire=wire))


@routes.get("/jobs/{job}/sheets/{number}")
def sheet_alone(here: Here, job: int, number: str, who: Site, save: SaveNumber = None) -> Response:
    """One sheet as it is printed."""
    return Response(_sheet(drawn_of(here, job, save), number).svg, media_type="image/svg+xml")


def drawn_of(office: Office, job: int, save: int | None) -> Drawn:
    """All sheets of one save of a job.

    Raises:
        NotFoundError: There is no such save, or its sheets cannot be drawn in time.
    """
    with office.db.session(reads=True) as session:
        text = save_of(session, job, save).text
    answer = office.work.wait(DRAWN, text, PATIENCE_S)
    if not answer.done:
        raise NotFoundError(f"the sheets are not drawn yet: {answer.words}; load the page again")
    drawn: Drawn = answer.result
    return drawn
