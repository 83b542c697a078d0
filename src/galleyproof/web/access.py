"""Who asks, and whether they may: one rule on every route.

A route without a rule fails a test. Pages know people by a signed cookie, which stands for a sign-in by password or by
an installer's link; the interface for programs knows them by a token and never by a cookie. On a computer that serves
itself only and has no accounts everybody is ``LOCAL``.
"""

from __future__ import annotations

import secrets
from typing import Any
from urllib.parse import urlsplit

from fastapi import Request
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException

from galleyproof.store.accounts import token_owner, token_used
from galleyproof.store.people import LOCAL, Right, Who
from galleyproof.store.sign_ins import signed_in
from galleyproof.web.office import Office, office_of

__all__ = ["SIGNED_IN", "Forbidden", "Needs", "ProgramNeeds", "Stranger", "form_token"]

SAFE = ("GET", "HEAD", "OPTIONS")
FORM_LIMITS = {"max_fields": 20_000, "max_part_size": 16 * 1024 * 1024}
TOKEN_HEADER, TOKEN_FIELD = "x-form-token", "form_token"
MOST_DIGITS = 9
"""Digits of the largest number of a row. [-]"""
SIGNED_IN = "signed-in"
"""Where a session keeps the secret of its sign-in."""


class Stranger(Exception):  # noqa: N818  caught by the app: leads to the sign-in page, or 401 for programs
    """Nobody we know."""


class Forbidden(Exception):  # noqa: N818  caught by the app: a page that says so, or 403 for programs
    """Somebody we know, who may not do this."""


class Needs:
    """The rule of a route: whom it lets in.

    Args:
        right: What they must be allowed to do; None lets everybody in.
    """

    def __init__(self, right: Right | None) -> None:
        self.right = right

    async def __call__(self, request: Request) -> Who | None:
        """Who asks.

        Raises:
            Stranger: They must sign in first.
            Forbidden: They may not, or the form is not from a page of ours.
        """
        if any(v.lstrip("-").isdigit() and len(v) > MOST_DIGITS for v in map(str, request.path_params.values())):
            raise HTTPException(404)  # larger than any number of a row
        who = await run_in_threadpool(self.who, request, office_of(request))
        request.state.who = who
        if self.right is not None:
            if who is None:
                raise Stranger
            if not who.may(self.right, _job(request)):
                raise Forbidden(f"{who.name} ({who.role}) may not do this; ask an administrator for the role it needs")
        await self.from_us(request, who)
        return who

    def who(self, request: Request, office: Office) -> Who | None:
        """Who asks: by the cookie, or whoever sits at this computer."""
        secret = request.session.get(SIGNED_IN)
        if isinstance(secret, str):
            with office.db.session(reads=True) as session:
                who = signed_in(session, secret)
            if who is not None:
                return who
        return LOCAL if office.settings.loopback and not office.accounts else None

    async def from_us(self, request: Request, who: Who | None) -> None:
        """Refuse what another site makes a browser send.

        Raises:
            Forbidden: The form is not from a page of ours, or from one of an earlier sign-in.
        """
        if request.method in SAFE:
            return
        _same_origin(request)
        given = request.headers.get(TOKEN_HEADER)
        kind = request.headers.get("content-type", "")
        if given is None and kind.startswith(("application/x-www-form-urlencoded", "multipart/form-data")):
            form = await request.form(**FORM_LIMITS)
            field = form.get(TOKEN_FIELD)
            given = field if isinstance(field, str) else None
        expected = request.session.get("form")
        if not expected or not given or not secrets.compare_digest(given.encode(), str(expected).encode()):
            raise Forbidden("the page this came from is too old; load it again, then send it again")


class ProgramNeeds(Needs):
    """The rule of a route of the interface for programs: a token, or nothing on a computer without accounts."""

    def who(self, request: Request, office: Office) -> Who | None:
        """Who asks: by the token, or whoever sits at this computer."""
        header = request.headers.get("authorization")
        if header is None:
            return LOCAL if office.settings.loopback and not office.accounts else None
        kind, _, token = header.partition(" ")
        if kind.lower() != "bearer" or not token.strip():
            return None
        with office.db.session(reads=True) as session:
            found = token_owner(session, token.strip())
        if found is None:
            return None
        person, again = found
        if again:
            with office.db.session() as session:
                token_used(session, token.strip())
        return person.who

    async def from_us(self, request: Request, who: Who | None) -> None:
        """Let no page of another site act as the person at this computer.

        A token is nothing a browser adds by itself. Without one, what changes something must be JSON (which a page of
        another site cannot send unasked) and must not name another origin.

        Raises:
            Forbidden: It comes from a page of another site, or may do.
        """
        if "authorization" in request.headers:
            return
        _same_origin(request)
        if request.headers.get("sec-fetch-site", "none") not in ("none", "same-origin"):
            raise Forbidden("this came from a page of another site; programs send no sec-fetch-site header")
        kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
        if request.method not in SAFE and kind != "application/json":
            raise Forbidden("without a token only application/json is taken; send that content-type")


def _job(request: Request) -> int | None:
    try:
        return int(request.path_params["job"])
    except (KeyError, ValueError):
        return None


def form_token(request: Request) -> str:
    """The token a form of ours carries; one for each session."""
    session: dict[str, Any] = request.session
    if "form" not in session:
        session["form"] = secrets.token_urlsafe(18)
    return str(session["form"])


def _same_origin(request: Request) -> None:
    origin = request.headers.get("origin")
    if origin and urlsplit(origin).netloc != request.headers.get("host"):
        raise Forbidden("this came from a page of another site; open the page here and send it again")
