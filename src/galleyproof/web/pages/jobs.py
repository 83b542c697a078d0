"""The list of jobs: looked through, begun, copied, put away, brought in and handed out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar, cast
from urllib.parse import quote

from fastapi import APIRouter, Depends, File, Form, Query, Request, UploadFile
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from galleyproof.job.model import SystemName
from galleyproof.store.attachments import keep_upload
from galleyproof.store.errors import RefusedError
from galleyproof.store.jobs import Head, add_job, archive_job, copy_job, find_jobs, job_head, note, save_of
from galleyproof.store.people import Right, Who
from galleyproof.web.access import Needs, Stranger
from galleyproof.web.lineup.begin import SYSTEMS, new_text
from galleyproof.web.lineup.sheets import MAX_FILE, is_table
from galleyproof.web.lineup.text import NAME_MAX, read_text, text_of_file
from galleyproof.web.office import Here
from galleyproof.web.page import STEPS, Page, show

routes = APIRouter()

Editor = Annotated[Who, Depends(Needs(Right.EDIT))]
MOST = 200
"""Jobs listed at once. [-]"""


@dataclass(frozen=True, kw_only=True)
class JobsPage(Page):
    """Jobs, newest first, with a search."""

    template: ClassVar[str] = "jobs.html"
    jobs: tuple[Head, ...]
    words: str
    archived: bool
    more: bool


@dataclass(frozen=True, kw_only=True)
class NewJobPage(Page):
    """The short form a job begins with."""

    template: ClassVar[str] = "new-job.html"
    systems: tuple[str, ...]
    name: str
    number: str
    wrong: str


@dataclass(frozen=True, kw_only=True)
class ImportPage(Page):
    """A file is chosen."""

    template: ClassVar[str] = "import.html"
    wrong: str


@routes.get("/")
def home(who: Annotated[Who | None, Depends(Needs(None))]) -> RedirectResponse:
    """The first page: the list of jobs, or the one job of a link."""
    if who is None:
        raise Stranger
    return RedirectResponse("/jobs" if who.job_id is None else f"/jobs/{who.job_id}", 303)


@routes.get("/jobs")
def jobs(
    request: Request,
    here: Here,
    who: Annotated[Who, Depends(Needs(Right.SITE))],
    words: Annotated[str, Query(max_length=200)] = "",
    archived: bool = False,
) -> HTMLResponse:
    """Jobs whose name or number holds all of some words."""
    with here.db.session(reads=True) as session:
        found = find_jobs(session, words, archived=archived, at_most=MOST + 1)
    page = JobsPage(title="Jobs", jobs=found[:MOST], words=words, archived=archived, more=len(found) > MOST)
    return show(request, page)


@routes.get("/jobs/{job}")
def job(job: int, here: Here, who: Annotated[Who, Depends(Needs(Right.SITE))]) -> RedirectResponse:
    """A job: the first of its pages that the person may see."""
    with here.db.session(reads=True) as session:
        job_head(session, job)
    first = next(step for step in STEPS if who.may(step.right, job))
    return RedirectResponse(f"/jobs/{job}/{first.path}", 303)


# --- new, copied, put away ----------------------------------------------------------------------------------


@routes.get("/new-job")
def new_form(request: Request, who: Editor) -> HTMLResponse:
    """The form of a new job."""
    return show(request, NewJobPage(title="New job", systems=SYSTEMS, name="", number="", wrong=""))


@routes.post("/new-job")
def new(
    request: Request,
    here: Here,
    who: Editor,
    name: Annotated[str, Form(max_length=NAME_MAX)] = "",
    number: Annotated[str, Form(max_length=NAME_MAX)] = "",
    system: Annotated[str, Form(max_length=40)] = SYSTEMS[0],
) -> Response:
    """Begin a job that reads; its line-up opens."""
    name, number = " ".join(name.split()), " ".join(number.split())
    wrong = ""
    if not name or not number:
        wrong = "give the job a name and a number"
    elif not (name.isprintable() and number.isprintable()) or len(name) > 200 or len(number) > 200:
        wrong = "name and number are plain text of at most 200 characters"
    elif system not in SYSTEMS:
        wrong = f"choose a supply: {', '.join(SYSTEMS)}"
    if wrong:
        page = NewJobPage(title="New job", systems=SYSTEMS, name=name, number=number, wrong=wrong)
        return show(request, page, 422)
    text = new_text(name, number, cast(SystemName, system))
    with here.db.session() as session:
        head = add_job(session, who, text, *read_text(text).titles(name, number), "begun")
    return RedirectResponse(f"/jobs/{head.id}/line-up", 303)


@routes.post("/jobs/{job}/copy")
def copy(job: int, here: Here, who: Editor) -> RedirectResponse:
    """A new job with the text of this one; readings and issued sets stay here."""
    with here.db.session() as session:
        head = copy_job(session, who, job)
    return RedirectResponse(f"/jobs/{head.id}/line-up", 303)


@routes.post("/jobs/{job}/archive")
def archive(job: int, here: Here, who: Editor, archived: Annotated[bool, Form()] = True) -> RedirectResponse:
    """Put the job away, or take it out again."""
    with here.db.session() as session:
        archive_job(session, who, job, archived)
    return RedirectResponse("/jobs" if archived else "/jobs?archived=true", 303)


# --- brought in ---------------------------------------------------------------------------------------------


@routes.get("/import")
def import_form(request: Request, who: Editor) -> HTMLResponse:
    """A file is chosen: a job as text, or schedules as a table."""
    return show(request, ImportPage(title="Bring a job in", wrong=""))


@routes.post("/import")
def bring_in(request: Request, here: Here, who: Editor, file: Annotated[UploadFile, File()]) -> Response:
    """Store a job's text as it is, mistakes and all; a table goes on to the matching of its columns."""
    name = "".join(c for c in file.filename or "" if c.isprintable())[:200] or "file"
    content = file.file.read(MAX_FILE + 1)
    try:
        if len(content) > MAX_FILE:
            raise RefusedError(
                f"{name} has more than the {MAX_FILE // 1_000_000} MB that are taken; send a smaller file"
            )
        if is_table(name, content):
            with here.db.session() as session:
                number = keep_upload(session, who, name, content)
                note(session, who, "sent a table to import", None, name=name)
            return RedirectResponse(f"/import/{number}", 303)
        text = text_of_file(name, content)
    except RefusedError as error:
        return show(request, ImportPage(title="Bring a job in", wrong=str(error)), 422)
    taken = read_text(text)
    stem = name.rsplit(".", 1)[0]
    with here.db.session() as session:
        head = add_job(session, who, text, *taken.titles(stem), f"brought in from {name}")
    return RedirectResponse(f"/jobs/{head.id}/{'line-up' if taken.tables else 'text'}", 303)


# --- handed out ---------------------------------------------------------------------------------------------


@routes.get("/jobs/{job}/export.yaml")
def export_text(job: int, here: Here, who: Annotated[Who, Depends(Needs(Right.READ))]) -> Response:
    """The job's text as it is stored, to the byte."""
    with here.db.session(reads=True) as session:
        head, save = job_head(session, job), save_of(session, job)
    return Response(save.text.encode(), media_type="application/yaml", headers=as_file(head, "yaml"))


@routes.get("/jobs/{job}/export.xlsx")
def export_table(job: int, here: Here, who: Annotated[Who, Depends(Needs(Right.READ))]) -> Response:
    """The line-up as a workbook that can be brought in again."""
    from galleyproof.web.lineup.workbook import write_workbook

    with here.db.session(reads=True) as session:
        head, save = job_head(session, job), save_of(session, job)
    text = read_text(save.text)
    if not text.tables:
        raise RefusedError("the text of this job has to be put right before it can be a table; open it as text")
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    return Response(write_workbook(text), media_type=kind, headers=as_file(head, "xlsx"))


def as_file(head: Head, ending: str) -> dict[str, str]:
    """What makes a browser keep an answer as a file named after the job."""
    name = f"{head.number or 'job'}-{head.name}"
    plain = "".join(c if c.isascii() and (c.isalnum() or c in "-_.") else "-" for c in name)[:80].strip("-.") or "job"
    words = "".join(c for c in name if c.isprintable() and c not in '/\\:*?"<>|')[:80]
    return {
        "content-disposition": f"attachment; filename=\"{plain}.{ending}\"; filename*=UTF-8''{quote(words)}.{ending}"
    }
