"""A person's own account: password, sign-ins, tokens of programs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Form, Request, Response
from fastapi.responses import RedirectResponse

from galleyproof.store.accounts import (
    MAX_LABEL,
    MIN_PASSWORD,
    Token,
    add_token,
    change_password,
    find_person,
    fits,
    person_of,
    revoke_token,
    tokens_of,
)
from galleyproof.store.errors import RefusedError
from galleyproof.store.people import Right, Who
from galleyproof.store.sign_ins import begin, end_all
from galleyproof.store.tries import TooManyTriesError, forgive, try_once
from galleyproof.web.access import Needs
from galleyproof.web.office import Here, Office
from galleyproof.web.page import Page, show
from galleyproof.web.pages.sign_in import keep

routes = APIRouter()

Owner = Annotated[Who, Depends(Needs(Right.ACCOUNT))]


@dataclass(frozen=True, kw_only=True)
class AccountPage(Page):
    """Password, sign-ins, tokens.

    Attributes:
        tokens: The newest first.
        made: A token just made, shown this once.
        wrong: What is wrong with what was typed.
        about: Which form it was.
        said: What was done.
        min_password: Shortest password. [character]
        max_label: Longest label. [character]
    """

    template: ClassVar[str] = "account.html"
    tokens: tuple[Token, ...]
    made: str
    wrong: str
    about: str
    said: str
    min_password: int = MIN_PASSWORD
    max_label: int = MAX_LABEL


def _page(
    request: Request,
    office: Office,
    who: Who,
    *,
    made: str = "",
    wrong: str = "",
    about: str = "",
    said: str = "",
    status: int = 200,
) -> Response:
    with office.db.session(reads=True) as session:
        tokens = tokens_of(session, who.person_id or 0)
    page = AccountPage(title="Account", tokens=tokens, made=made, wrong=wrong, about=about, said=said)
    return show(request, page, status)


@routes.get("/account")
def account(request: Request, here: Here, who: Owner) -> Response:
    """The account of whoever asks."""
    return _page(request, here, who)


@routes.post("/account/password")
def password(
    request: Request,
    here: Here,
    who: Owner,
    old: Annotated[str, Form()] = "",
    new: Annotated[str, Form()] = "",
    again: Annotated[str, Form()] = "",
) -> Response:
    """Change it; every other sign-in of the person ends, and every token."""
    assert who.person_id is not None
    address = request.client.host if request.client is not None else ""
    try:
        with here.db.session() as session:
            attempt = try_once(session, who.name, address)
    except TooManyTriesError as error:
        return _page(request, here, who, wrong=str(error), about="password", status=429)
    with here.db.session(reads=True) as session:
        found = find_person(session, who.name)
    if not fits(old, None if found is None else found[1]):
        words = "the present password is another one; type it again"
        return _page(request, here, who, wrong=words, about="password", status=400)
    try:
        if new != again:
            raise RefusedError("the two new passwords differ; type both again")
        with here.db.session() as session:
            forgive(session, attempt)
            person = change_password(session, who, who.person_id, new)
            secret = begin(session, person)
    except RefusedError as error:
        return _page(request, here, who, wrong=str(error), about="password", status=400)
    keep(request, secret)
    return _page(request, here, who, said="The password is changed. All other sign-ins and all tokens have ended.")


@routes.post("/account/sign-out-everywhere")
def everywhere(request: Request, here: Here, who: Owner) -> Response:
    """End all sign-ins of the person, this one too."""
    with here.db.session() as session:
        end_all(session, who)
    request.session.clear()
    return RedirectResponse("/sign-in", 303)


@routes.post("/account/tokens")
def new_token(request: Request, here: Here, who: Owner, label: Annotated[str, Form()] = "") -> Response:
    """Make a token and show it, this once."""
    try:
        with here.db.session() as session:
            made = add_token(session, who, label)
    except RefusedError as error:
        return _page(request, here, who, wrong=str(error), about="token", status=400)
    return _page(request, here, who, made=made)


@routes.post("/account/tokens/{token}/revoke")
def revoke(here: Here, who: Owner, token: int) -> Response:
    """End a token."""
    with here.db.session() as session:
        person_of(session, who.person_id or 0)
        revoke_token(session, who, token)
    return RedirectResponse("/account#tokens", 303)
