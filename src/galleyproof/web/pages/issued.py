"""Issued sets: prepared, looked at, issued; kept for good, and checked against their hashes."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

from fastapi import APIRouter, Depends, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from galleyproof.errors import Problem
from galleyproof.store.database import now
from galleyproof.store.errors import ConflictError, NotFoundError, RefusedError
from galleyproof.store.issued import Issued, add_issued, content_of, faults_of, file_of, issued_of, issued_sets
from galleyproof.store.jobs import Head, job_head, save_job, save_of
from galleyproof.store.people import Right, Who
from galleyproof.store.remarks import Remark, remarks_on
from galleyproof.web.access import Needs
from galleyproof.web.computed import ISSUED, PACKED, PACKED_WHOLE, REVIEWED
from galleyproof.web.issuing import Ready, against
from galleyproof.web.lineup.text import read_text
from galleyproof.web.office import Here, Office
from galleyproof.web.page import JobPage, Part, Standing, show
from galleyproof.web.standing import Seen, look

routes = APIRouter()

Site = Annotated[Who, Depends(Needs(Right.SITE))]
Reader = Annotated[Who, Depends(Needs(Right.READ))]
Issuer = Annotated[Who, Depends(Needs(Right.ISSUE))]
Draft = Literal["", "quick", "whole"]

PDF = "package.pdf"
MAX_REMARK = 300
"""Length of a remark. [character]"""
PDF_POLICY = "default-src 'none'; object-src 'self'; style-src 'unsafe-inline'; frame-ancestors 'none'"
"""What a browser's own viewer of PDF files needs; nothing in it can run."""


@dataclass(frozen=True, kw_only=True)
class IssuedPage(JobPage):
    """The sets, and the next one.

    Attributes:
        sets: The last one first.
        earlier: The set of the revision the job has now, when there is one.
        against: What stands against issuing; None while it is not known.
        problems: What is wrong with the text.
        preparing: Whether a set was asked for.
        prepared: A set that can be issued now.
        draft: Which draft was asked for.
        draft_ready: Whether it can be downloaded.
        max_remark: Longest remark. [character]
    """

    template: ClassVar[str] = "issued.html"
    here: ClassVar[str] = "issued"
    sets: tuple[Issued, ...]
    earlier: Issued | None
    remarks: dict[int, tuple[Remark, ...]]
    against: tuple[str, ...] | None
    problems: tuple[Problem, ...]
    preparing: bool
    prepared: Ready | None
    draft: Draft
    draft_ready: bool
    max_remark: int = MAX_REMARK


@dataclass(frozen=True, kw_only=True)
class VerifiedPart(Part):
    """Whether a set is as it was issued."""

    template: ClassVar[str] = "_verified.html"
    issued: Issued
    faults: tuple[str, ...]
    at: str


@routes.get("/jobs/{job}/issued")
def issued(
    request: Request, here: Here, job: int, who: Site, prepare: bool = False, draft: Annotated[Draft, Query()] = ""
) -> HTMLResponse:
    """All sets; the check of what stands against the next one, the next one prepared, or a draft made."""
    with here.db.session(reads=True) as session:
        head = job_head(session, job)
        sets = issued_sets(session, job)
        remarks = remarks_on(session, job, (s.save_number for s in sets)) if who.may(Right.READ, job) else {}
    may_issue, may_read = who.may(Right.ISSUE, job), who.may(Right.READ, job)
    draft = draft if may_read else ""
    earlier = next((s for s in sets if s.revision == head.revision), None)
    preparing = prepare and may_issue and earlier is None and not draft
    seen: Seen | None = None
    if draft:
        seen = look(here, job, PACKED_WHOLE if draft == "whole" else PACKED)
    elif preparing:
        seen = look(here, job, ISSUED)
    elif may_issue and earlier is None:
        seen = look(here, job, REVIEWED)
    current = seen.result if seen is not None and seen.shown == seen.save else None
    prepared: Ready | None = current if preparing else None
    found, problems = _checked(current, preparing=preparing, draft=bool(draft))
    page = IssuedPage(
        title="Issued sets",
        job=head,
        standing=_standing(seen),
        sets=sets,
        remarks=remarks,
        earlier=earlier,
        against=found,
        problems=problems,
        preparing=preparing,
        prepared=prepared if prepared is not None and prepared.files else None,
        draft=draft,
        draft_ready=bool(draft and current is not None and current.content),
    )
    return show(request, page)


def _standing(seen: Seen | None) -> Standing | None:
    """As the results stand; one of an older save is of no use here, so none is said to be shown."""
    if seen is None:
        return None
    old = seen.standing
    shown = old.shown if old.shown == old.head else None
    return Standing(old.state, old.head, shown, old.kind, old.share, old.words)


def _checked(result: object, *, preparing: bool, draft: bool) -> tuple[tuple[str, ...] | None, tuple[Problem, ...]]:
    """What stands against the next set, and what is wrong with the text; None for what is not known yet."""
    if result is None:
        return None, ()
    problems: tuple[Problem, ...] = result.problems  # type: ignore[attr-defined]
    if draft or problems:
        return None, problems
    if preparing:
        assert isinstance(result, Ready)
        return result.against, ()
    return against(result.review), ()  # type: ignore[attr-defined]


@routes.post("/jobs/{job}/issued")
def issue(
    here: Here,
    job: int,
    who: Issuer,
    based_on: Annotated[int, Form(ge=1)],
    sha256: Annotated[str, Form(pattern=r"^[0-9a-f]{64}$")],
    said: Annotated[str, Form(max_length=MAX_REMARK)] = "",
) -> RedirectResponse:
    """Issue the set that was prepared and looked at, and keep the numbers of its conductors in the job."""
    with here.db.session(reads=True) as session:
        save = save_of(session, job)
    known = here.work.known(ISSUED, [here.given(ISSUED, job, save.text)])
    made: Ready | None = known[1].result if known is not None else None
    if save.number != based_on:
        raise ConflictError(save.text, save.number, save.made_by)
    if made is None or not made.files or made.sha256 != sha256:
        raise RefusedError("the set that was looked at is not at hand any more; prepare it again, look at it, issue it")
    _keep(here, who, job, based_on, made, said)
    return RedirectResponse(f"/jobs/{job}/issued", 303)


def _keep(office: Office, who: Who, job: int, based_on: int, made: Ready, said: str) -> None:
    """The set and the job's text with its numbers, both or neither."""
    text = made.files["job.yaml"].decode("utf-8")
    with office.db.session() as session:
        head = job_head(session, job)
        number = based_on
        if save_of(session, job).text != text:
            titles = read_text(text).titles(head.name, head.number)
            why = f"numbers of conductors issued with revision {made.revision}"
            number = save_job(session, who, job, text, based_on, *titles, why)
        elif head.head != based_on:
            standing = save_of(session, job)
            raise ConflictError(standing.text, standing.number, standing.made_by)
        add_issued(session, who, job, number, made.revision, made.files, " ".join(said.split()))


@routes.get("/jobs/{job}/prepared/package.pdf")
def prepared_pdf(here: Here, job: int, who: Issuer) -> Response:
    """The document of the set that is prepared, to be looked at before it is issued."""
    with here.db.session(reads=True) as session:
        head, save = job_head(session, job), save_of(session, job)
    known = here.work.known(ISSUED, [here.given(ISSUED, job, save.text)])
    if known is None or PDF not in known[1].result.files:
        raise NotFoundError("no set is prepared of the job as it stands; prepare it on the page of issued sets")
    return _file(known[1].result.files[PDF], _name(head, head.revision, "prepared.pdf"), "application/pdf", inline=True)


@routes.get("/jobs/{job}/draft.zip")
def draft_zip(here: Here, job: int, who: Reader, whole: bool = False) -> Response:
    """A draft of the package that was made on the page."""
    with here.db.session(reads=True) as session:
        head, save = job_head(session, job), save_of(session, job)
    kind = PACKED_WHOLE if whole else PACKED
    known = here.work.known(kind, [here.given(kind, job, save.text)])
    if known is None or not known[1].result.content:
        raise NotFoundError("no draft is made of the job as it stands; make it on the page of issued sets")
    return _file(known[1].result.content, _name(head, head.revision, f"draft of save {save.number}.zip"))


@routes.get("/jobs/{job}/issued/{issued}/package.pdf")
def issued_pdf(here: Here, job: int, issued: int, who: Site) -> Response:
    """The document of a set."""
    with here.db.session(reads=True) as session:
        head, one = job_head(session, job), issued_of(session, job, issued)
        content = file_of(session, job, issued, PDF)
    return _file(content, _name(head, one.revision, "issued.pdf"), "application/pdf", inline=True)


@routes.get("/jobs/{job}/issued/{issued}/set.zip")
def issued_zip(here: Here, job: int, issued: int, who: Site) -> Response:
    """A whole set, byte for byte as it was issued."""
    with here.db.session(reads=True) as session:
        head, one = job_head(session, job), issued_of(session, job, issued)
        content = content_of(session, job, issued)
    return _file(content, _name(head, one.revision, "issued.zip"))


@routes.get("/jobs/{job}/issued/{issued}/verify")
def verify(request: Request, here: Here, job: int, issued: int, who: Site) -> HTMLResponse:
    """Whether every file of a set still fits its hash, and the manifest its own."""
    with here.db.session(reads=True) as session:
        one, faults = issued_of(session, job, issued), faults_of(session, job, issued)
    return show(request, VerifiedPart(issued=one, faults=faults, at=f"{now():%Y-%m-%d %H:%M} UTC"))


def _name(head: Head, revision: str, what: str) -> str:
    """Name of a download, of letters and figures only: what a job is called may hold anything."""
    called = re.sub(r"[^A-Za-z0-9]+", "-", head.number or head.name).strip("-")[:40] or f"job-{head.id}"
    return f"{called}-rev-{revision}-{what.replace(' ', '-')}"


def _file(content: bytes, name: str, kind: str = "application/zip", *, inline: bool = False) -> Response:
    how = "inline" if inline else "attachment"
    headers = {"content-disposition": f'{how}; filename="{name}"'}
    if inline:
        headers["content-security-policy"] = PDF_POLICY
    return Response(content, media_type=kind, headers=headers)
