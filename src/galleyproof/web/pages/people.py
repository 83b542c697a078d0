"""Everybody with an account, for administrators."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Form, Request, Response
from fastapi.responses import RedirectResponse

from galleyproof.store import accounts
from galleyproof.store.accounts import MAX_NAME, MIN_PASSWORD, ROLES, Person
from galleyproof.store.errors import RefusedError
from galleyproof.store.people import Right, Role, Who
from galleyproof.web.access import Needs
from galleyproof.web.office import Here, Office
from galleyproof.web.page import Page, show

routes = APIRouter()

Administrator = Annotated[Who, Depends(Needs(Right.PEOPLE))]

MEANINGS = {
    Role.ENGINEER: "makes and changes jobs, issues sets, makes links for installers",
    Role.INSTALLER: "sees drawings, check-out and diagnosis of every job; enters readings and signs",
    Role.REVIEWER: "sees everything of every job; says something about a revision; changes nothing",
    Role.ADMINISTRATOR: "all of it; and adds people and reads the log",
}
"""What each role may do, in words."""


@dataclass(frozen=True, kw_only=True)
class PeoplePage(Page):
    """The list, and a form for one more.

    Attributes:
        people: Those who may sign in first.
        roles: Roles with what they may do.
        name: As typed.
        role: As chosen.
        wrong: What is wrong with what was typed.
        min_password: Shortest password. [character]
        max_name: Longest name. [character]
    """

    template: ClassVar[str] = "people.html"
    people: tuple[Person, ...]
    name: str
    role: str
    wrong: str
    roles: tuple[tuple[str, str], ...] = tuple((role.value, MEANINGS[role]) for role in ROLES)
    min_password: int = MIN_PASSWORD
    max_name: int = MAX_NAME


def _page(
    request: Request, office: Office, *, name: str = "", role: str = Role.ENGINEER.value, wrong: str = ""
) -> Response:
    with office.db.session(reads=True) as session:
        found = accounts.people(session)
    page = PeoplePage(title="People", people=found, name=name, role=role, wrong=wrong)
    return show(request, page, 400 if wrong else 200)


@routes.get("/people")
def people(request: Request, here: Here, _who: Administrator) -> Response:
    """Everybody with an account."""
    return _page(request, here)


@routes.post("/people")
def add(
    request: Request,
    here: Here,
    who: Administrator,
    name: Annotated[str, Form()] = "",
    password: Annotated[str, Form()] = "",
    role: Annotated[str, Form()] = "",
) -> Response:
    """Give somebody an account."""
    try:
        with here.db.session() as session:
            accounts.add_person(session, who, name, password, _role(role))
    except RefusedError as error:
        return _page(request, here, name=name, role=role, wrong=str(error))
    return RedirectResponse("/people", 303)


@routes.post("/people/{person}/role")
def role(here: Here, who: Administrator, person: int, role: Annotated[str, Form()] = "") -> Response:
    """Give an account another role."""
    with here.db.session() as session:
        accounts.change_role(session, who, person, _role(role))
    return RedirectResponse("/people", 303)


@routes.post("/people/{person}/password")
def password(here: Here, who: Administrator, person: int, password: Annotated[str, Form()] = "") -> Response:
    """Give an account a new password, for somebody who forgot theirs."""
    with here.db.session() as session:
        accounts.change_password(session, who, person, password)
    return RedirectResponse("/people", 303)


@routes.post("/people/{person}/off")
def off(here: Here, who: Administrator, person: int) -> Response:
    """Let somebody in no more."""
    with here.db.session() as session:
        accounts.switch_off(session, who, person)
    return RedirectResponse("/people", 303)


@routes.post("/people/{person}/on")
def on(here: Here, who: Administrator, person: int) -> Response:
    """Let somebody in again."""
    with here.db.session() as session:
        accounts.switch_on(session, who, person)
    return RedirectResponse("/people", 303)


def _role(text: str) -> Role:
    try:
        role = Role(text)
    except ValueError:
        role = None
    if role not in ROLES:
        raise RefusedError(f"{text!r} is no role of an account; choose one of {', '.join(ROLES)}")
    return role
