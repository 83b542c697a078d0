"""Savings: what demand control saves in a year of the weather that belongs to the job."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, File, Request, UploadFile
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from galleyproof.errors import InputError, Problem
from galleyproof.store.attachments import MOST, Attachment, attach, attached
from galleyproof.store.errors import RefusedError
from galleyproof.store.jobs import Head, job_head, save_of
from galleyproof.store.people import Right, Who
from galleyproof.web.access import Needs
from galleyproof.web.computed import YEARED
from galleyproof.web.lineup.findings import Placed, counted, placed
from galleyproof.web.lineup.text import read_text
from galleyproof.web.office import Here, Office
from galleyproof.web.page import JobPage, show
from galleyproof.web.year import YearOfJob, given

routes = APIRouter()

SECONDS = 4.0
"""How long a page waits for its year. [s]"""


@dataclass(frozen=True, slots=True)
class WeatherFile:
    """The weather file of a job."""

    name: str
    sha256: str
    made_at: datetime
    made_by: str


@dataclass(frozen=True, kw_only=True)
class SavingsPage(JobPage):
    """The year, or what it needs."""

    template: ClassVar[str] = "savings.html"
    here: ClassVar[str] = "savings"
    file: WeatherFile | None
    year: YearOfJob | None
    save: int
    state: str
    doing: str
    findings: tuple[Placed, ...]
    words: str
    wrong: tuple[Problem, ...]
    refused: str


@routes.get("/jobs/{job}/savings")
def savings(
    request: Request, job: int, here: Here, who: Annotated[Who, Depends(Needs(Right.READ))]
) -> HTMLResponse:  # fmt: skip
    """The year in the job's weather."""
    return show(request, _page(here, job))


@routes.post("/jobs/{job}/savings")
def weather(
    request: Request,
    job: int,
    here: Here,
    who: Annotated[Who, Depends(Needs(Right.EDIT))],
    file: Annotated[UploadFile, File()],
) -> Response:
    """Take a weather file, once it reads as one."""
    from galleyproof.savings.read import read_weather

    name = "".join(c for c in file.filename or "" if c.isprintable())[:200] or "weather"
    content = file.file.read(MOST + 1)
    try:
        if len(content) > MOST:
            raise RefusedError(f"{name} has more than the {MOST // 1_000_000} MB that a weather file may have")
        read_weather(_words(content), name)
    except InputError as error:
        return show(request, _page(here, job, wrong=error.problems), 422)
    except RefusedError as error:
        return show(request, _page(here, job, refused=str(error)), 422)
    with here.db.session() as session:
        attach(session, who, job, "weather", name, content)
    return RedirectResponse(f"/jobs/{job}/savings", 303)


def _words(content: bytes) -> str:
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError:
        return content.decode("latin-1")  # names of stations in older files; the numbers are plain ASCII


def _page(office: Office, job: int, *, wrong: tuple[Problem, ...] = (), refused: str = "") -> SavingsPage:
    with office.db.session(reads=True) as session:
        head, save, file = job_head(session, job), save_of(session, job), attached(session, job, "weather")
    year: YearOfJob | None = None
    state, doing = "", ""
    if file is not None:
        answer = office.work.wait(YEARED, given(save.text, file.name, _words(file.content)), SECONDS, owner=job)
        year, state, doing = answer.result, answer.state, answer.words
    found = placed(year.findings, read_text(save.text)) if year is not None else ()
    return _made(head, save.number, file, year, state, doing, found, wrong, refused)


def _made(
    head: Head,
    save: int,
    file: Attachment | None,
    year: YearOfJob | None,
    state: str,
    doing: str,
    found: tuple[Placed, ...],
    wrong: tuple[Problem, ...],
    refused: str,
) -> SavingsPage:
    return SavingsPage(
        title="Savings",
        job=head,
        file=None if file is None else WeatherFile(file.name, file.sha256, file.made_at, file.made_by),
        year=year,
        save=save,
        state=state,
        doing=doing,
        findings=found,
        words=counted(year.findings) if year is not None else "",
        wrong=wrong,
        refused=refused,
    )
