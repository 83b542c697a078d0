"""The field sheet: made in the background, taken along as one file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import HTMLResponse

from galleyproof.store.errors import NotFoundError
from galleyproof.store.jobs import job_head, save_of
from galleyproof.store.people import Right, Who
from galleyproof.web.access import Needs
from galleyproof.web.asked import SaveNumber
from galleyproof.web.computed import FIELD_SHEET
from galleyproof.web.field_sheet import FieldSheet
from galleyproof.web.office import Here
from galleyproof.web.page import JobPage, show
from galleyproof.web.standing import look

routes = APIRouter()
Site = Annotated[Who, Depends(Needs(Right.SITE))]


@dataclass(frozen=True, kw_only=True)
class FieldSheetPage(JobPage):
    """Whether it is ready, what it is for, and where to get it."""

    template: ClassVar[str] = "field_sheet.html"
    here: ClassVar[str] = "check-out"
    save: int
    kilobytes: int
    why: str


@routes.get("/jobs/{job}/check-out/field-sheet")
def field_sheet(request: Request, here: Here, job: int, who: Site) -> HTMLResponse:
    """The page; it loads itself again when the sheet is ready."""
    with here.db.session(reads=True) as session:
        head = job_head(session, job)
    seen = look(here, job, FIELD_SHEET)
    made: FieldSheet = seen.result or FieldSheet()
    page = FieldSheetPage(
        title="Field sheet",
        job=head,
        standing=seen.standing,
        save=seen.shown.number if seen.shown is not None else 0,
        kilobytes=len(made.page.encode()) // 1000,
        why=made.why,
    )
    return show(request, page)


@routes.get("/jobs/{job}/check-out/field-sheet/file")
def field_sheet_file(here: Here, job: int, who: Site, save: SaveNumber = None) -> Response:
    """The sheet itself, as a file to take along."""
    with here.db.session(reads=True) as session:
        row = save_of(session, job, save)
    answer = here.work.wait(FIELD_SHEET, row.text, 1.0)
    made: FieldSheet = answer.result if answer.done else FieldSheet(why=answer.words)
    if not made.page:
        raise NotFoundError(f"save {row.number} has no field sheet yet: {made.why}; ask for it again in a moment")
    name = f"field-sheet-{job}-{row.number}.html"
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(made.page, media_type="text/html; charset=utf-8", headers=headers)
