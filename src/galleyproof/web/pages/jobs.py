"""The list of jobs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from galleyproof.store.jobs import Head, find_jobs, job_head
from galleyproof.store.people import Right, Who
from galleyproof.web.access import Needs, Stranger
from galleyproof.web.office import Here
from galleyproof.web.page import STEPS, Page, show

routes = APIRouter()


@dataclass(frozen=True, kw_only=True)
class JobsPage(Page):
    """Jobs, newest first, with a search."""

    template: ClassVar[str] = "jobs.html"
    jobs: tuple[Head, ...]
    words: str
    archived: bool


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
    words: str = "",
    archived: bool = False,
) -> HTMLResponse:
    """Jobs whose name or number holds all of some words."""
    with here.db.session() as session:
        found = find_jobs(session, words, archived=archived)
    return show(request, JobsPage(title="Jobs", jobs=found, words=words, archived=archived))


@routes.get("/jobs/{job}")
def job(job: int, here: Here, who: Annotated[Who, Depends(Needs(Right.SITE))]) -> RedirectResponse:
    """A job: the first of its pages that the person may see."""
    with here.db.session() as session:
        job_head(session, job)
    first = next(step for step in STEPS if who.may(step.right, job))
    return RedirectResponse(f"/jobs/{job}/{first.path}", 303)
