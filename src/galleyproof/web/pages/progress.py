"""The line that says how far a calculation is; the page loads itself again when it ends."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request, Response

from galleyproof.store.jobs import Head, job_head, save_of
from galleyproof.store.people import Right, Who
from galleyproof.web import computed
from galleyproof.web.access import Needs
from galleyproof.web.office import Here
from galleyproof.web.page import Part, Standing, show
from galleyproof.web.work import Kind

routes = APIRouter()


@dataclass(frozen=True, kw_only=True)
class StandingPart(Part):
    """The line alone."""

    template: ClassVar[str] = "_standing.html"
    job: Head
    standing: Standing


def kinds() -> dict[str, Kind]:
    """Every calculation by name."""
    return {k.name: k for k in vars(computed).values() if isinstance(k, Kind)}


@routes.get("/jobs/{job}/progress/{kind}")
def progress(
    request: Request, here: Here, job: int, kind: str, who: Annotated[Who, Depends(Needs(Right.SITE))], shown: int = 0
) -> Response:
    """How far it is; tells the page to load itself again when it ended."""
    known = kinds().get(kind)
    if known is None:
        return Response(status_code=404)
    with here.db.session(reads=True) as session:
        head, save = job_head(session, job), save_of(session, job)
    answer = here.work.wait(known, here.given(known, job, save.text), 0.3, owner=job)
    if answer.done:
        return Response(status_code=204, headers={"hx-refresh": "true"})
    standing = Standing(answer.state, save.number, shown or None, known.name, answer.share, answer.words)
    return show(request, StandingPart(job=head, standing=standing))
