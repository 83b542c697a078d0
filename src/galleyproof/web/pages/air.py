"""Air: exhaust, balance, ducts, fans, set-points and start-up readings, each number with its steps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, ClassVar

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse

from galleyproof.errors import Problem
from galleyproof.store.jobs import job_head
from galleyproof.store.people import Right, Who
from galleyproof.web.access import Needs
from galleyproof.web.air_tables import Grid, grids
from galleyproof.web.computed import AIRED
from galleyproof.web.lineup.findings import Placed, counted, placed
from galleyproof.web.lineup.text import read_text
from galleyproof.web.office import Here
from galleyproof.web.page import JobPage, show
from galleyproof.web.results import Aired
from galleyproof.web.standing import look

if TYPE_CHECKING:
    from galleyproof.air.model import Why

routes = APIRouter()


@dataclass(frozen=True, kw_only=True)
class AirPage(JobPage):
    """The air side of a job."""

    template: ClassVar[str] = "air.html"
    here: ClassVar[str] = "air"
    grids: tuple[Grid, ...]
    reasons: dict[str, tuple[Why, ...]]
    findings: tuple[Placed, ...]
    words: str
    problems: tuple[Problem, ...]
    known: bool
    asked: str


@routes.get("/jobs/{job}/air")
def air(
    request: Request,
    job: int,
    here: Here,
    who: Annotated[Who, Depends(Needs(Right.READ))],
    item: Annotated[str, Query(max_length=100)] = "",
) -> HTMLResponse:
    """Every table, and the reasoning behind each number; ``item`` leaves the reasons of one item only."""
    with here.db.session(reads=True) as session:
        head = job_head(session, job)
    seen = look(here, job, AIRED)
    found: Aired | None = seen.result
    report = found.report if found is not None else None
    asked = " ".join(item.split())
    reasons = dict(report.reasons) if report is not None else {}
    if asked:
        reasons = {name: whys for name, whys in reasons.items() if asked.casefold() in name.casefold()}
    page = AirPage(
        title="Air",
        job=head,
        standing=seen.standing,
        grids=grids(report) if report is not None else (),
        reasons=reasons,
        findings=placed(report.findings, read_text(seen.shown.text)) if report is not None and seen.shown else (),
        words=counted(report.findings) if report is not None else "",
        problems=found.problems if found is not None else (),
        known=report is not None,
        asked=asked,
    )
    return show(request, page)
