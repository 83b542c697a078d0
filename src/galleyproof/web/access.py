"""Who asks, and whether they may: one rule on every route.

A route without a rule fails a test. People are known by a signed cookie, by a token (the interface only) or by an
installer's link; on a computer that serves itself only and has no accounts everybody is ``LOCAL``.
"""

from __future__ import annotations

import secrets
from hashlib import sha256
from typing import Any
from urllib.parse import urlsplit

from fastapi import Request
from starlette.concurrency import run_in_threadpool

from galleyproof.store.database import now
from galleyproof.store.people import LOCAL, Right, Role, Who
from galleyproof.store.schema import LinkRow, PersonRow, TokenRow
from galleyproof.web.office import Office, office_of

__all__ = ["Forbidden", "Needs", "Stranger", "form_token"]

SAFE = ("GET", "HEAD", "OPTIONS")
FORM_LIMITS = {"max_fields": 20_000, "max_part_size": 16 * 1024 * 1024}
TOKEN_HEADER, TOKEN_FIELD = "x-form-token", "form_token"


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
        office = office_of(request)
        who, by_cookie = await run_in_threadpool(_who, request, office)
        if request.method not in SAFE and by_cookie:
            await _from_our_page(request)
        request.state.who = who
        if self.right is None:
            return who
        if who is None:
            raise Stranger
        if not who.may(self.right, _job(request)):
            raise Forbidden(f"{who.name} ({who.role}) may not do this; ask an administrator for the role it needs")
        return who


def _job(request: Request) -> int | None:
    try:
        return int(request.path_params["job"])
    except (KeyError, ValueError):
        return None


def _who(request: Request, office: Office) -> tuple[Who | None, bool]:
    """Who asks, and whether a cookie or nothing says so (then a form needs its token)."""
    header = request.headers.get("authorization", "")
    if header:
        return _by_token(header, office), False
    link = request.session.get("link")
    if link is not None and "person" not in request.session:
        return _by_link(int(link), office), True
    if office.settings.loopback and not office.accounts:
        return LOCAL, True
    return _by_account(request, office), True


def _by_account(request: Request, office: Office) -> Who | None:
    person = request.session.get("person")
    if person is None:
        return None
    with office.db.session() as session:
        row = session.get(PersonRow, int(person))
        if row is None or not row.active or row.epoch != request.session.get("epoch"):
            return None
        return Who(row.name, Role(row.role), person_id=row.id)


def _by_token(header: str, office: Office) -> Who | None:
    kind, _, token = header.partition(" ")
    if kind.lower() != "bearer" or not token:
        return None
    hashed = sha256(token.strip().encode()).hexdigest()
    with office.db.session() as session:
        row = session.query(TokenRow).filter_by(sha256=hashed).one_or_none()
        if row is None or row.revoked_at is not None:
            return None
        person = session.get(PersonRow, row.person_id)
        if person is None or not person.active:
            return None
        row.used_at = now()
        return Who(person.name, Role(person.role), person_id=person.id)


def _by_link(link: int, office: Office) -> Who | None:
    with office.db.session() as session:
        row = session.get(LinkRow, link)
        if row is None or row.revoked_at is not None or row.ends_at <= now():
            return None
        return Who(f"link: {row.label}", Role.LINK, job_id=row.job_id)


def form_token(request: Request) -> str:
    """The token a form of ours carries; one for each session."""
    session: dict[str, Any] = request.session
    if "form" not in session:
        session["form"] = secrets.token_urlsafe(18)
    return str(session["form"])


async def _from_our_page(request: Request) -> None:
    """Refuse what another site makes a browser send."""
    origin = request.headers.get("origin")
    if origin and urlsplit(origin).netloc != request.headers.get("host"):
        raise Forbidden("this came from a page of another site; open the page here and send it again")
    given = request.headers.get(TOKEN_HEADER)
    kind = request.headers.get("content-type", "")
    if given is None and kind.startswith(("application/x-www-form-urlencoded", "multipart/form-data")):
        form = await request.form(**FORM_LIMITS)
        field = form.get(TOKEN_FIELD)
        given = field if isinstance(field, str) else None
    expected = request.session.get("form")
    if not expected or not given or not secrets.compare_digest(str(given).encode(), str(expected).encode()):
        raise Forbidden("the page this came from is too old; load it again, then send it again")
