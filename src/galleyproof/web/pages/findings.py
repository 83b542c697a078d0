"""What the rules find in a job, with the cells it is about, and the smallest change that clears it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from galleyproof.errors import Problem
from galleyproof.store.errors import ConflictError
from galleyproof.store.jobs import Head, job_head
from galleyproof.store.people import Right, Who
from galleyproof.web.access import Needs
from galleyproof.web.computed import CURED, REVIEWED
from galleyproof.web.lineup.findings import Cured, Placed, counted, placed
from galleyproof.web.lineup.saving import keep
from galleyproof.web.lineup.text import read_text
from galleyproof.web.office import Here, Office
from galleyproof.web.page import JobPage, Part, Standing, show
from galleyproof.web.standing import Seen, look

routes = APIRouter()

Reader = Annotated[Who, Depends(Needs(Right.READ))]


@dataclass(frozen=True, kw_only=True)
class FindingsLine(Part):
    """One line on the line-up: how many findings, and of which save."""

    template: ClassVar[str] = "_findings-line.html"
    job: Head
    state: str
    share: float
    doing: str
    shown: int | None
    head: int
    words: str
    promises: str
    problems: tuple[Problem, ...]
    mend: int


@dataclass(frozen=True, kw_only=True)
class FindingsPage(JobPage):
    """All findings."""

    template: ClassVar[str] = "findings.html"
    here: ClassVar[str] = "line-up"
    words: str
    findings: tuple[Placed, ...]
    problems: tuple[Problem, ...]
    known: bool


@dataclass(frozen=True, kw_only=True)
class CurePage(JobPage):
    """The smallest change that clears them."""

    template: ClassVar[str] = "cures.html"
    here: ClassVar[str] = "line-up"
    cure: Cured | None
    shown: int | None
    words: str


@routes.get("/jobs/{job}/findings-line")
def findings_line(request: Request, job: int, here: Here, who: Reader) -> HTMLResponse:
    """How many findings there are, as far as it is known; asks again until it is."""
    with here.db.session(reads=True) as session:
        head = job_head(session, job)
    seen = look(here, job, REVIEWED, 0.3)
    mend = len(read_text(seen.save.text).problems)
    words, promises, problems = "", "", ()
    if seen.result is not None:
        problems = seen.result.problems if not mend else ()
        if seen.result.review is not None:
            words = counted(seen.result.review.findings)
            promises = _promises(seen)
    state = seen.standing
    line = FindingsLine(
        job=head,
        state=state.state,
        share=state.share,
        doing=state.words,
        shown=state.shown,
        head=state.head,
        words=words,
        promises=promises,
        problems=problems,
        mend=mend,
    )
    return show(request, line)


def _promises(seen: Seen) -> str:
    proof = seen.result.review.proof
    broken = len(proof.verdicts) - proof.held
    kept = "all hold" if not broken else f"{broken} broken"
    return f"{len(proof.verdicts)} promises over {proof.situations:,} situations: {kept}"


@routes.get("/jobs/{job}/findings")
def findings(request: Request, job: int, here: Here, who: Reader) -> HTMLResponse:
    """Every finding with its cure, its clause and its cell."""
    with here.db.session(reads=True) as session:
        head = job_head(session, job)
    seen = look(here, job, REVIEWED)
    review = seen.result.review if seen.result is not None else None
    page = FindingsPage(
        title="Findings",
        job=head,
        standing=seen.standing,
        words=f"{counted(review.findings).capitalize()}; {_promises(seen)}." if review is not None else "",
        findings=placed(review.findings, read_text(seen.shown.text)) if review is not None and seen.shown else (),
        problems=seen.result.problems if seen.result is not None else (),
        known=review is not None,
    )
    return show(request, page)


@routes.get("/jobs/{job}/cures")
def cures(request: Request, job: int, here: Here, who: Reader) -> HTMLResponse:
    """The smallest change that clears all errors and warnings; it takes a while to find."""
    with here.db.session(reads=True) as session:
        head = job_head(session, job)
    return show(request, _cure_page(here, head))


def _cure_page(office: Office, head: Head) -> CurePage:
    seen = look(office, head.id, CURED)
    cure: Cured | None = seen.result
    standing: Standing = seen.standing
    words = "" if cure is None else counted(cure.cleared)
    return CurePage(title="Cures", job=head, standing=standing, cure=cure, shown=standing.shown, words=words)


@routes.post("/jobs/{job}/cures")
def apply(
    request: Request,
    job: int,
    here: Here,
    who: Annotated[Who, Depends(Needs(Right.EDIT))],
    based_on: Annotated[int, Form(ge=1, le=2**31 - 1)],
) -> Response:
    """Put the proposal into the job."""
    with here.db.session(reads=True) as session:
        head = job_head(session, job)
    seen = look(here, job, CURED)
    cure: Cured | None = seen.result
    if cure is None or not cure.changes or seen.standing.shown != based_on:
        return show(request, _cure_page(here, head), 409)
    said = "; ".join(f"{c.where}: {c.shall}" for c in cure.changes)
    try:
        keep(here, who, job, based_on, read_text(cure.text), f"cured: {said}")
    except ConflictError as error:
        from galleyproof.web.pages.merge import merge_page

        return merge_page(request, here, job, cure.text, based_on, str(error))
    return RedirectResponse(f"/jobs/{job}/findings", 303)
