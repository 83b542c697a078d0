"""Every save of a job; any two beside each other, in words and on marked drawings; an older one standing again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from markupsafe import Markup

from galleyproof.store.errors import NotFoundError, RefusedError
from galleyproof.store.issued import issued_sets
from galleyproof.store.jobs import Head, Save, SaveLine, job_head, save_lines, save_of
from galleyproof.store.people import Right, Who
from galleyproof.store.remarks import LONGEST, Remark, add_remark, remarks_on
from galleyproof.store.undo import restore
from galleyproof.web.access import Needs
from galleyproof.web.compared import COMPARED, Compared, MarkedSheet, pair
from galleyproof.web.lineup.text import read_text
from galleyproof.web.office import Here, Office
from galleyproof.web.page import JobPage, Part, show
from galleyproof.web.work import Answer

routes = APIRouter()

AT_ONCE = 100
"""Saves shown at a time. [-]"""
SHOWN = 200
"""Rows of one kind of change that a page shows. [-]"""

Reader = Annotated[Who, Depends(Needs(Right.READ))]
Editor = Annotated[Who, Depends(Needs(Right.EDIT))]
Commenter = Annotated[Who, Depends(Needs(Right.COMMENT))]
Number = Annotated[int, Query(ge=0, le=10**9)]


@dataclass(frozen=True, kw_only=True)
class RevisionsPage(JobPage):
    """The saves, and which two are compared.

    Attributes:
        saves: The newest first.
        issued: Number of a save -> revision issued from it.
        old: Number of the earlier one of the two; 0 when there is nothing to compare.
        new: Number of the later one.
        more: Number below which there are more saves; 0 when these are all.
        first: Whether these are the newest ones.
        remarks: Number of a save -> remarks on it.
        longest: Most characters of a remark. [-]
        wrong: Why a remark was not taken.
        typed: That remark, and the number of its save.
    """

    template: ClassVar[str] = "revisions.html"
    here: ClassVar[str] = "revisions"
    saves: tuple[SaveLine, ...]
    issued: dict[int, str]
    old: int
    new: int
    more: int
    first: bool
    remarks: dict[int, tuple[Remark, ...]]
    longest: int = LONGEST
    wrong: str = ""
    typed: tuple[int, str] = (0, "")


@dataclass(frozen=True, kw_only=True)
class DifferencePart(Part):
    """What differs between two saves.

    Attributes:
        job: The job.
        old: The earlier one.
        new: The later one.
        result: None while it is computed.
        answer: How far it is.
        sheet: The sheet that is shown.
        picture: Its picture.
        shown: Most rows of one kind.
    """

    template: ClassVar[str] = "_difference.html"
    job: Head
    old: SaveLine
    new: SaveLine
    result: Compared | None
    answer: Answer
    sheet: MarkedSheet | None
    picture: Markup
    shown: int = SHOWN


@dataclass(frozen=True, kw_only=True)
class MarkedPart(Part):
    """One marked sheet."""

    template: ClassVar[str] = "_marked.html"
    sheet: MarkedSheet
    picture: Markup


@routes.get("/jobs/{job}/revisions")
def revisions(
    request: Request, here: Here, job: int, who: Reader, old: Number = 0, new: Number = 0, before: Number = 0
) -> HTMLResponse:
    """All saves; without two asked for, the one that stands beside the one before it."""
    return show(request, _page(here, job, old, new, before))


def _page(here: Office, job: int, old: int = 0, new: int = 0, before: int = 0) -> RevisionsPage:
    with here.db.session(reads=True) as session:
        head = job_head(session, job)
        saves = save_lines(session, job, before=before or None, at_most=AT_ONCE + 1)
        issued = {i.save_number: i.revision for i in issued_sets(session, job)}
        remarks = remarks_on(session, job, (s.number for s in saves[:AT_ONCE]))
    new = min(new or head.head, head.head)
    old = min(old or max(new - 1, 0), head.head)
    return RevisionsPage(
        title="Revisions",
        job=head,
        saves=saves[:AT_ONCE],
        issued=issued,
        old=old,
        new=new,
        more=saves[AT_ONCE - 1].number if len(saves) > AT_ONCE else 0,
        first=not before,
        remarks=remarks,
    )


@routes.post("/jobs/{job}/revisions/{save}/remarks")
def remark(
    request: Request, here: Here, job: int, save: int, who: Commenter, text: Annotated[str, Form()] = ""
) -> Response:
    """Say something about a save; it stays."""
    try:
        with here.db.session() as session:
            add_remark(session, who, job, save, text)
    except RefusedError as error:
        page = _page(here, job, max(save - 1, 1), save)
        return show(request, replace(page, wrong=str(error), typed=(save, text[: 2 * LONGEST])), 422)
    with here.db.session(reads=True) as session:
        newer = job_head(session, job).head - save
    before = f"&before={save + 1}" if newer >= AT_ONCE else ""
    return RedirectResponse(f"/jobs/{job}/revisions?old={max(save - 1, 1)}&new={save}{before}#save-{save}", 303)


@routes.get("/jobs/{job}/difference/{old}/{new}")
def difference(request: Request, here: Here, job: int, old: int, new: int, who: Reader) -> HTMLResponse:
    """What differs between two saves; asks again by itself while it is computed."""
    before, after = _two(here, job, old, new)
    answer = here.work.wait(COMPARED, pair(before.text, after.text), 1.5)
    result: Compared | None = answer.result if answer.done else None
    first = result.sheets[0] if result is not None and result.sheets else None
    with here.db.session(reads=True) as session:
        head = job_head(session, job)
    part = DifferencePart(
        job=head,
        old=_line(before),
        new=_line(after),
        result=result,
        answer=answer,
        sheet=first,
        # written by the core, which escapes every word of the job in it
        picture=Markup(first.svg if first is not None else ""),
    )
    return show(request, part)


@routes.get("/jobs/{job}/difference/{old}/{new}/{name}")
def marked_sheet(request: Request, here: Here, job: int, old: int, new: int, name: str, who: Reader) -> Response:
    """One of the sheets on which the difference is marked."""
    before, after = _two(here, job, old, new)
    answer = here.work.wait(COMPARED, pair(before.text, after.text), 20)
    sheets = answer.result.sheets if answer.done else ()
    found = next((s for s in sheets if s.name == name), None)
    if found is None:
        raise NotFoundError(f"no sheet {name} is marked between save {old} and save {new}; compare them again")
    if "hx-request" in request.headers:
        return show(request, MarkedPart(sheet=found, picture=Markup(found.svg)))
    return Response(found.svg, media_type="image/svg+xml")


@routes.post("/jobs/{job}/revisions/{save}/restore")
def restore_save(
    here: Here, job: int, save: int, who: Editor, based_on: Annotated[int, Form(ge=1)]
) -> RedirectResponse:
    """Let an older save stand again, as a new one."""
    with here.db.session() as session:
        head = job_head(session, job)

        def titles(text: str) -> tuple[str, str, str]:
            return read_text(text).titles(head.name, head.number)

        number = restore(session, who, job, save, titles, based_on)
    return RedirectResponse(f"/jobs/{job}/revisions?old={number - 1}&new={number}", 303)


def _two(office: Office, job: int, old: int, new: int) -> tuple[Save, Save]:
    with office.db.session(reads=True) as session:
        return save_of(session, job, old), save_of(session, job, new)


def _line(save: Save) -> SaveLine:
    return SaveLine(save.number, save.sha256, save.said, save.undoes, save.made_at, save.made_by)
