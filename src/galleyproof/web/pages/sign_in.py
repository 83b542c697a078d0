"""Signing in and out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Form, Request, Response
from fastapi.responses import RedirectResponse

from galleyproof.store.accounts import find_person, fits
from galleyproof.store.people import Who
from galleyproof.store.sign_ins import begin, end
from galleyproof.store.tries import TooManyTriesError, forgive, try_once
from galleyproof.web.access import SIGNED_IN, Needs
from galleyproof.web.office import Here, Office
from galleyproof.web.page import Page, show

__all__ = ["here_only", "keep"]

routes = APIRouter()

AT_MOST = 200
"""Longest name looked at, and the longest address gone back to after signing in is ten times this. [character]"""


@dataclass(frozen=True, kw_only=True)
class SignInPage(Page):
    """Name and password."""

    template: ClassVar[str] = "sign_in.html"
    name: str
    then: str
    wrong: str


@routes.get("/sign-in")
def sign_in(
    request: Request, here: Here, who: Annotated[Who | None, Depends(Needs(None))], then: str = "/"
) -> Response:
    """Ask for name and password; who is known already goes on."""
    if who is not None or not here.accounts:
        return RedirectResponse(here_only(then), 303)
    return show(request, SignInPage(title="Sign in", name="", then=here_only(then), wrong=""))


@routes.post("/sign-in")
def signs_in(
    request: Request,
    here: Here,
    _who: Annotated[Who | None, Depends(Needs(None))],
    name: Annotated[str, Form()] = "",
    password: Annotated[str, Form()] = "",
    then: Annotated[str, Form()] = "/",
) -> Response:
    """Let in whose password is right; a wrong name and a wrong password get the same answer in the same time."""
    address = request.client.host if request.client is not None else ""
    name = name[:AT_MOST]
    try:
        with here.db.session() as session:
            attempt = try_once(session, name, address)
    except TooManyTriesError as error:
        page = SignInPage(title="Sign in", name=name, then=here_only(then), wrong=str(error))
        refused = show(request, page, 429)
        refused.headers["retry-after"] = str(error.wait_s)
        return refused
    secret = _secret(here, name, password, attempt)
    if secret is None:
        words = "This name and password do not belong together; type both again."
        return show(request, SignInPage(title="Sign in", name=name, then=here_only(then), wrong=words), 400)
    keep(request, secret)
    return RedirectResponse(here_only(then), 303)


@routes.post("/sign-out")
def sign_out(request: Request, here: Here, who: Annotated[Who | None, Depends(Needs(None))]) -> Response:
    """End the sign-in of this browser."""
    secret = request.session.get(SIGNED_IN)
    if who is not None and isinstance(secret, str):
        with here.db.session() as session:
            end(session, who, secret)
    request.session.clear()
    return RedirectResponse("/sign-in", 303)


def _secret(office: Office, name: str, password: str, attempt: int) -> str | None:
    """What the browser keeps; None when name and password do not belong together."""
    with office.db.session(reads=True) as session:
        found = find_person(session, name)
    person, kept = found if found is not None else (None, None)
    right = fits(password, kept)
    if person is None or not right or not person.active:
        return None
    with office.db.session() as session:
        forgive(session, attempt)
        return begin(session, person)


def keep(request: Request, secret: str) -> None:
    """Begin a session anew: nothing of what the browser held before the sign-in goes on, its form token neither."""
    request.session.clear()
    request.session[SIGNED_IN] = secret


def here_only(then: str) -> str:
    """An address of this site to go on to; anything else becomes the first page."""
    plain = then.isprintable() and then.isascii() and "\\" not in then and len(then) <= 10 * AT_MOST
    if not plain or not then.startswith("/") or then.startswith(("//", "/sign-")):
        return "/"
    return then
