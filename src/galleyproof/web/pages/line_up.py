"""The line-up: the whole job as tables and forms, every value stored as it is typed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar

from fastapi import APIRouter, Depends, Form, Query, Request
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from pydantic import BaseModel, Field

from galleyproof.errors import InputError, Problem
from galleyproof.store.errors import ConflictError, NotFoundError, RefusedError
from galleyproof.store.jobs import Head, Save, job_head, save_of
from galleyproof.store.people import Right, Who
from galleyproof.store.undo import Walk, walk_of
from galleyproof.web.access import Needs
from galleyproof.web.lineup.edit import (
    Change,
    add,
    issued_under,
    references_to,
    remove,
    rename,
    set_value,
    set_values,
    users_of,
)
from galleyproof.web.lineup.plan import SECTIONS, Section, section_of
from galleyproof.web.lineup.saving import ClashError, Stored, change_job, keep, step
from galleyproof.web.lineup.text import Text, read_text
from galleyproof.web.lineup.view import (
    Adder,
    Known,
    Table,
    cell_at,
    counts,
    entry_of,
    form_of,
    known_tags,
    name_of,
    parse_path,
    path_name,
    section_view,
    wrong_by_path,
)
from galleyproof.web.lineup.view import Form as BlockForm
from galleyproof.web.office import Here, Office
from galleyproof.web.page import JobPage, Part, show
from galleyproof.yamltext import MAX_BYTES, Path

routes = APIRouter()

MOST_PROBLEMS = 200
"""Problems listed on a page; the number of all is told. [-]"""
MOST_SAVES = 2**31 - 1
"""Largest number of a save that a database takes. [-]"""
MOST_PASTED = 2000
"""Cells pasted at once. [-]"""

Reader = Annotated[Who, Depends(Needs(Right.READ))]
Editor = Annotated[Who, Depends(Needs(Right.EDIT))]


@dataclass(frozen=True, slots=True)
class Listed:
    """A problem with the cell it is about."""

    words: str
    section: str
    cell: str


@dataclass(frozen=True, kw_only=True)
class _Shown:
    """What the tables and forms of one section are made from."""

    sections: tuple[Section, ...]
    section: Section
    counts: dict[str, int]
    parts: tuple[BlockForm | Table | Adder, ...]
    kinds: tuple[str, ...]
    item: BlockForm | None
    problems: tuple[Listed, ...]
    more_problems: int
    known: Known
    walk: Walk
    saved: Save


@dataclass(frozen=True, kw_only=True)
class LineUpPage(_Shown, JobPage):
    """One section of the line-up."""

    template: ClassVar[str] = "line-up.html"
    here: ClassVar[str] = "line-up"


@dataclass(frozen=True, kw_only=True)
class LineUpBody(_Shown, Part):
    """The tables and forms of one section alone."""

    template: ClassVar[str] = "_line-up-body.html"
    job: Head


@dataclass(frozen=True, kw_only=True)
class TextPage(JobPage):
    """The job as text, with what is wrong in it."""

    template: ClassVar[str] = "job-text.html"
    here: ClassVar[str] = "line-up"
    text: str
    based_on: int
    problems: tuple[Problem, ...]
    readable: bool


# --- showing ------------------------------------------------------------------------------------------------


def _given(office: Office, job: int, section: Section, item: str) -> dict[str, Any] | None:
    """Fields of the page; None when the text has to be put right first."""
    with office.db.session(reads=True) as session:
        head, save, walk = job_head(session, job), save_of(session, job), walk_of(session, job)
    text = read_text(save.text)
    if not text.tables:
        return None
    parts = section_view(text, section)
    listed = list_problems(text)
    return {
        "job": head,
        "sections": SECTIONS,
        "section": section,
        "counts": counts(text),
        "parts": parts,
        "kinds": tuple(type(p).__name__ for p in parts),
        "item": form_of(text, entry_of(text, parse_path(item), section)) if item else None,
        "problems": listed[:MOST_PROBLEMS],
        "more_problems": max(0, len(listed) - MOST_PROBLEMS),
        "known": known_tags(text),
        "walk": walk,
        "saved": save,
    }


def list_problems(text: Text) -> tuple[Listed, ...]:
    """Everything wrong in a text, with the cells."""
    found = []
    for problem in text.problems:
        path = text.paths.get(problem, ())
        words = f"{problem.where}: {problem.what}" if problem.where else problem.what
        found.append(Listed(words, section_of(str(path[0])).key if path else "", path_name(path)))
    return tuple(found)


@routes.get("/jobs/{job}/line-up")
def first(job: int, here: Here, who: Reader) -> RedirectResponse:
    """The first section."""
    return RedirectResponse(f"/jobs/{job}/line-up/{SECTIONS[0].key}", 303)


@routes.get("/jobs/{job}/line-up/{section}")
def line_up(
    request: Request,
    job: int,
    section: str,
    here: Here,
    who: Reader,
    item: Annotated[str, Query(max_length=200)] = "",
) -> Response:
    """One section, with everything about one entry of it."""
    chosen = _section(section)
    given = _given(here, job, chosen, item)
    if given is None:
        return RedirectResponse(f"/jobs/{job}/text", 303)
    return show(request, LineUpPage(title=f"Line-up: {chosen.name}", **given))


@routes.get("/jobs/{job}/line-up/{section}/body")
def body(
    request: Request,
    job: int,
    section: str,
    here: Here,
    who: Reader,
    item: Annotated[str, Query(max_length=200)] = "",
) -> Response:
    """The same without the page around it, after a change of entries."""
    given = _given(here, job, _section(section), item)
    if given is None:
        return Response(status_code=204, headers={"hx-redirect": f"/jobs/{job}/text"})
    return show(request, LineUpBody(**given))


def _section(key: str) -> Section:
    found = next((s for s in SECTIONS if s.key == key), None)
    if found is None:
        raise NotFoundError(
            f"the line-up has no section {key[:40]!r}; its sections: {', '.join(s.name for s in SECTIONS)}"
        )
    return found


# --- changing -----------------------------------------------------------------------------------------------


SaveNumber = Annotated[int, Field(ge=1, le=MOST_SAVES)]


class Asked(BaseModel):
    """What a page asks to be changed.

    Attributes:
        path: Place in the job.
        based_on: Save the person saw.
        value: What was typed.
        old: A tag.
        new: The tag instead of it.
        sure: Whether the person was told what breaks.
    """

    based_on: SaveNumber
    path: Annotated[str, Field(max_length=200)] = ""
    value: Annotated[str, Field(max_length=20_000)] = ""
    old: Annotated[str, Field(max_length=200)] = ""
    new: Annotated[str, Field(max_length=200)] = ""
    sure: bool = False


def _answer(stored: Stored, **more: Any) -> JSONResponse:
    """What the page has to know after a change."""
    text = stored.change.text
    listed = list_problems(text)
    return JSONResponse(
        {
            "save": stored.save,
            "over": stored.over,
            "said": stored.change.said,
            "left_out": list(stored.change.left_out),
            "wrong": wrong_by_path(text),
            "counts": counts(text),
            "problems": [{"words": p.words, "section": p.section, "cell": p.cell} for p in listed[:MOST_PROBLEMS]],
            "more": max(0, len(listed) - MOST_PROBLEMS),
            "name": text.titles("")[0],
            **more,
        }
    )


def _change(
    office: Office, who: Who, job: int, asked: Asked | Pasted, make: Callable[[Text], Change]
) -> Stored | JSONResponse:
    try:
        return change_job(office, who, job, asked.based_on, make)
    except ClashError as clash:
        return JSONResponse(
            {"error": str(clash), "mine": clash.mine, "based_on": clash.based_on, "merge": f"/jobs/{job}/merge"}, 409
        )
    except ConflictError as error:
        return JSONResponse({"error": str(error)}, 409)
    except (RefusedError, InputError, LookupError) as error:
        return JSONResponse({"error": str(error)}, 404 if isinstance(error, NotFoundError) else 400)


@routes.post("/jobs/{job}/line-up-cell")
def cell(job: int, asked: Asked, here: Here, who: Editor) -> JSONResponse:
    """A value as typed."""
    path = _path(asked.path)
    before: dict[str, str] = {}

    def make(text: Text) -> Change:
        before["tag"] = cell_at(text, path)
        return set_value(text, path, asked.value)

    stored = _change(here, who, job, asked, make)
    if isinstance(stored, JSONResponse):
        return stored
    text = stored.change.text
    more: dict[str, Any] = {"value": cell_at(text, path)}
    old, new = before.get("tag", ""), cell_at(text, path)
    names = path[-1] == "tag" or (path[0] == "fire_systems" and path[-1] == "zone")
    if names and old and new and old != new:
        uses = references_to(text, old)
        if uses:
            where = [name_of(text, p[:-1] if isinstance(p[-1], int) else p) for p in uses[:12]]
            more["rename"] = {"old": old, "new": new, "count": len(uses), "where": where}
        more["issued"] = {"old": old, "count": issued_under(text, old)}
    # another kind has other fields, another name stands in other lists
    more["redraw"] = path[-1] in ("kind", "tag", "zone") or bool(stored.change.left_out)
    return _answer(stored, **more)


class Pasted(BaseModel):
    """Cells pasted from a table.

    Attributes:
        based_on: Save the person saw.
        cells: Place and text of each.
    """

    based_on: SaveNumber
    cells: Annotated[
        list[tuple[Annotated[str, Field(max_length=200)], Annotated[str, Field(max_length=20_000)]]],
        Field(min_length=1, max_length=MOST_PASTED),
    ]


@routes.post("/jobs/{job}/line-up-paste")
def paste(job: int, asked: Pasted, here: Here, who: Editor) -> JSONResponse:
    """Several values at once, as one change."""
    values = [(_path(name), value) for name, value in asked.cells]
    stored = _change(here, who, job, asked, lambda text: set_values(text, values))
    return stored if isinstance(stored, JSONResponse) else _answer(stored)


@routes.post("/jobs/{job}/line-up-add")
def add_entry(job: int, asked: Asked, here: Here, who: Editor) -> JSONResponse:
    """A new entry of a list, or an optional block."""
    path = _path(asked.path)
    stored = _change(here, who, job, asked, lambda text: add(text, path))
    return stored if isinstance(stored, JSONResponse) else _answer(stored, place=path_name(stored.change.place))


@routes.post("/jobs/{job}/line-up-remove")
def remove_entry(job: int, asked: Asked, here: Here, who: Editor) -> JSONResponse:
    """An entry or a block taken away; first it is said what names it."""
    path = _path(asked.path)
    if not asked.sure:
        with here.db.session(reads=True) as session:
            text = read_text(save_of(session, job, asked.based_on).text)
        uses = users_of(text, path)
        if uses:
            return JSONResponse({"ask": name_of(text, path), "uses": list(uses)})
    stored = _change(here, who, job, asked, lambda text: remove(text, path))
    return stored if isinstance(stored, JSONResponse) else _answer(stored)


@routes.post("/jobs/{job}/line-up-rename")
def rename_uses(job: int, asked: Asked, here: Here, who: Editor) -> JSONResponse:
    """A new tag in every place that still names the old one."""
    stored = _change(here, who, job, asked, lambda text: rename(text, asked.old, asked.new))
    return stored if isinstance(stored, JSONResponse) else _answer(stored)


@routes.post("/jobs/{job}/line-up-back")
def back(job: int, asked: Asked, here: Here, who: Editor) -> JSONResponse:
    """The last change taken back."""
    return _step(here, who, job, asked, forth=False)


@routes.post("/jobs/{job}/line-up-again")
def again(job: int, asked: Asked, here: Here, who: Editor) -> JSONResponse:
    """What was taken back, made again."""
    return _step(here, who, job, asked, forth=True)


def _step(office: Office, who: Who, job: int, asked: Asked, *, forth: bool) -> JSONResponse:
    try:
        number = step(office, who, job, asked.based_on, forth=forth)
    except (ConflictError, RefusedError) as error:
        return JSONResponse({"error": str(error)}, 409 if isinstance(error, ConflictError) else 400)
    with office.db.session(reads=True) as session:
        save = save_of(session, job, number)
    return _answer(Stored(number, Change(read_text(save.text), save.said)))


def _path(name: str) -> Path:
    path = parse_path(name)
    if not path:
        raise RefusedError("no place was named; load the page again")
    return path


# --- as text ------------------------------------------------------------------------------------------------


@routes.get("/jobs/{job}/text")
def as_text(request: Request, job: int, here: Here, who: Reader) -> HTMLResponse:
    """The job as text, for what no table can show."""
    with here.db.session(reads=True) as session:
        head, save = job_head(session, job), save_of(session, job)
    return show(request, _text_page(head, save.text, save.number))


def _text_page(head: Head, words: str, based_on: int) -> TextPage:
    text = read_text(words)
    return TextPage(
        title="Job as text",
        job=head,
        text=words,
        based_on=based_on,
        problems=text.problems[:MOST_PROBLEMS],
        readable=text.tables,
    )


@routes.post("/jobs/{job}/text")
def save_text(
    request: Request,
    job: int,
    here: Here,
    who: Editor,
    text: Annotated[str, Form(max_length=MAX_BYTES)],
    based_on: Annotated[int, Form(ge=1, le=MOST_SAVES)],
) -> Response:
    """Store the whole text, right or wrong."""
    words = text.replace("\r\n", "\n")
    with here.db.session(reads=True) as session:
        standing = save_of(session, job)
    if words == standing.text:
        return RedirectResponse(f"/jobs/{job}/text", 303)
    try:
        keep(here, who, job, based_on, read_text(words), "changed as text")
    except ConflictError as error:
        from galleyproof.web.pages.merge import merge_page

        return merge_page(request, here, job, words, based_on, str(error))
    return RedirectResponse(f"/jobs/{job}/text", 303)
