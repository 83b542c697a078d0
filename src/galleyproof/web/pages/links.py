"""Links that open one job to an installer: made and ended here, and where they lead."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Form, Request, Response
from fastapi.responses import RedirectResponse

from galleyproof.store.accounts import MAX_LABEL, MAX_NAME
from galleyproof.store.database import now
from galleyproof.store.errors import NotFoundError, RefusedError
from galleyproof.store.jobs import Head, job_head
from galleyproof.store.people import Right, Who
from galleyproof.store.sign_ins import MAX_DAYS, add_link, begin_by_link, links_of, read_link, revoke_link, word_of
from galleyproof.web.access import Needs
from galleyproof.web.office import Here, Office
from galleyproof.web.page import JobPage, Page, show
from galleyproof.web.pages.message import message
from galleyproof.web.pages.sign_in import keep

routes = APIRouter()

Maker = Annotated[Who, Depends(Needs(Right.ISSUE))]


@dataclass(frozen=True, slots=True)
class Shown:
    """A link as the page shows it.

    Attributes:
        state: ``open``, ``ended`` or ``revoked``.
        address: Where it leads; empty when it opens nothing any more.
    """

    id: int
    label: str
    made_at: datetime
    made_by: str
    ends_at: datetime
    state: str
    address: str


@dataclass(frozen=True, kw_only=True)
class LinksPage(JobPage):
    """The links of a job, and a form for one more.

    Attributes:
        links: The newest first.
        label: As typed.
        days: As typed.
        wrong: What is wrong with what was typed.
        only_here: Whether no other device reaches this app, so that a link is of no use.
        max_days: Longest a link can be valid. [day]
        max_label: Longest label. [character]
    """

    template: ClassVar[str] = "links.html"
    here: ClassVar[str] = "links"
    links: tuple[Shown, ...]
    label: str
    days: str
    wrong: str
    only_here: bool
    max_days: int = MAX_DAYS
    max_label: int = MAX_LABEL


@dataclass(frozen=True, kw_only=True)
class LinkPage(Page):
    """Where a link leads: asks for the name that will stand beside the readings."""

    template: ClassVar[str] = "link.html"
    opens: Head
    word: str
    ends_at: datetime
    name: str
    wrong: str
    max_name: int = MAX_NAME


def _page(
    request: Request, office: Office, job: int, *, label: str = "", days: str = "30", wrong: str = ""
) -> Response:
    with office.db.session(reads=True) as session:
        head, links = job_head(session, job), links_of(session, job)
    at, base = now(), str(request.base_url)
    shown = []
    for link in links:
        state = "revoked" if link.revoked_at is not None else "open" if link.open_at(at) else "ended"
        address = f"{base}link/{word_of(office.key, link)}" if state == "open" else ""
        shown.append(Shown(link.id, link.label, link.made_at, link.made_by, link.ends_at, state, address))
    page = LinksPage(
        title="Links for installers",
        job=head,
        links=tuple(shown),
        label=label,
        days=days,
        wrong=wrong,
        only_here=office.settings.loopback and not office.settings.hosts,
    )
    return show(request, page, 400 if wrong else 200)


@routes.get("/jobs/{job}/links")
def links(request: Request, here: Here, job: int, _who: Maker) -> Response:
    """The links of a job."""
    return _page(request, here, job)


@routes.post("/jobs/{job}/links")
def add(
    request: Request,
    here: Here,
    job: int,
    who: Maker,
    label: Annotated[str, Form()] = "",
    days: Annotated[str, Form()] = "",
) -> Response:
    """Make a link."""
    try:
        if not (days.strip().isascii() and days.strip().isdigit() and len(days.strip()) < 6):
            raise RefusedError(f"a link is valid for 1 to {MAX_DAYS} days; type a whole number, not {days!r}")
        with here.db.session() as session:
            add_link(session, who, job, label, int(days))
    except RefusedError as error:
        return _page(request, here, job, label=label, days=days, wrong=str(error))
    return RedirectResponse(f"/jobs/{job}/links", 303)


@routes.post("/jobs/{job}/links/{link}/revoke")
def revoke(here: Here, job: int, link: int, who: Maker) -> Response:
    """End a link, and every sign-in that came by it."""
    with here.db.session() as session:
        revoke_link(session, who, job, link)
    return RedirectResponse(f"/jobs/{job}/links", 303)


@routes.get("/link/{word}")
def link(request: Request, here: Here, word: str, who: Annotated[Who | None, Depends(Needs(None))]) -> Response:
    """Ask for the name of whoever came by the link; nothing changes yet."""
    return _arrive(request, here, word, who)


@routes.post("/link/{word}")
def enter(
    request: Request,
    here: Here,
    word: str,
    who: Annotated[Who | None, Depends(Needs(None))],
    name: Annotated[str, Form()] = "",
) -> Response:
    """Let them in to the one job."""
    try:
        with here.db.session() as session:
            opened = read_link(session, here.key, word)
            secret = begin_by_link(session, opened, name)
    except NotFoundError as error:
        return message(request, 404, "This link opens nothing", str(error))
    except RefusedError as error:
        return _arrive(request, here, word, who, name=name, wrong=str(error))
    keep(request, secret)
    return RedirectResponse(f"/jobs/{opened.job_id}", 303)


def _arrive(
    request: Request, office: Office, word: str, who: Who | None, *, name: str = "", wrong: str = ""
) -> Response:
    try:
        with office.db.session(reads=True) as session:
            opened = read_link(session, office.key, word)
            head = job_head(session, opened.job_id)
    except NotFoundError as error:
        return message(request, 404, "This link opens nothing", str(error))
    if who is not None and who.job_id == opened.job_id and not wrong:
        return RedirectResponse(f"/jobs/{opened.job_id}", 303)
    page = LinkPage(title="Open a job", opens=head, word=word, ends_at=opened.ends_at, name=name, wrong=wrong)
    return show(request, page, 400 if wrong else 200)
