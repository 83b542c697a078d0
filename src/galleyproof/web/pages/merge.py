"""Two changes of one job beside each other: which value shall stand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response

from galleyproof.store.errors import ConflictError
from galleyproof.store.jobs import Save, job_head, save_of
from galleyproof.store.people import Right, Who
from galleyproof.web.access import FORM_LIMITS, Needs
from galleyproof.web.lineup.merge import Difference, compare, merged
from galleyproof.web.lineup.saving import keep
from galleyproof.web.lineup.text import Text, read_text
from galleyproof.web.office import Here, Office
from galleyproof.web.page import JobPage, show
from galleyproof.yamltext import MAX_BYTES

routes = APIRouter()


@dataclass(frozen=True, kw_only=True)
class MergePage(JobPage):
    """Both changes, value by value; whole texts where one of them is no YAML."""

    template: ClassVar[str] = "merge.html"
    here: ClassVar[str] = "line-up"
    words: str
    rows: tuple[Difference, ...]
    by_value: bool
    mine: str
    based_on: int
    theirs: Save


def merge_page(request: Request, office: Office, job: int, mine: str, based_on: int, words: str) -> Response:
    """The page that asks which value shall stand."""
    with office.db.session(reads=True) as session:
        head, base, theirs = job_head(session, job), save_of(session, job, based_on), save_of(session, job)
    rows = _rows(read_text(base.text), read_text(mine), read_text(theirs.text))
    page = MergePage(
        title="Two changes",
        job=head,
        words=words,
        rows=rows or (),
        by_value=rows is not None,
        mine=mine,
        based_on=based_on,
        theirs=theirs,
    )
    return show(request, page, 409)


def _rows(base: Text, mine: Text, theirs: Text) -> tuple[Difference, ...] | None:
    if not (base.tables and mine.tables and theirs.tables):
        return None
    return compare(base.tree, mine.tree, theirs.tree)


@routes.post("/jobs/{job}/merge")
async def merge(
    request: Request,
    job: int,
    here: Here,
    who: Annotated[Who, Depends(Needs(Right.EDIT))],
) -> Response:
    """Show both changes; with choices made, store what was chosen."""
    from starlette.concurrency import run_in_threadpool

    form = await request.form(**FORM_LIMITS)
    fields = {key: value for key, value in form.items() if isinstance(value, str)}
    return await run_in_threadpool(_merge, request, here, who, job, fields)


def _merge(request: Request, office: Office, who: Who, job: int, fields: dict[str, str]) -> Response:
    mine = fields.get("mine", "").replace("\r\n", "\n")[:MAX_BYTES]
    based_on, standing = _number(fields.get("based_on")), _number(fields.get("theirs"))
    if standing is None or based_on is None:
        words = "Somebody else saved in the meantime. Choose which value shall stand."
        return merge_page(request, office, job, mine, based_on or 1, words)
    with office.db.session(reads=True) as session:
        base, theirs = save_of(session, job, based_on), save_of(session, job, standing)
    rows = _rows(read_text(base.text), read_text(mine), read_text(theirs.text))
    if rows is None:
        text = read_text(fields.get("whole", mine).replace("\r\n", "\n")[:MAX_BYTES])
    else:
        chosen = {n: fields.get(f"row-{n}", row.who if row.who != "both" else "") for n, row in enumerate(rows)}
        if any(side not in ("mine", "theirs") for side in chosen.values()):
            return merge_page(request, office, job, mine, based_on, "Choose one of both for every value.")
        text = merged(read_text(theirs.text), rows, {n: side == "mine" for n, side in chosen.items()})
    if text.text == theirs.text:
        return RedirectResponse(f"/jobs/{job}/line-up", 303)
    try:
        keep(office, who, job, standing, text, f"merged with save {standing} of {theirs.made_by}")
    except ConflictError as error:
        return merge_page(request, office, job, mine, based_on, f"{error}. Choose once more.")
    return RedirectResponse(f"/jobs/{job}/line-up", 303)


def _number(value: str | None) -> int | None:
    return int(value) if value is not None and value.isascii() and value.isdecimal() and len(value) < 10 else None
