"""The sequence: every promise over the grid, the job's own rows, the state table and the cause-and-effect matrix."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, ClassVar

from fastapi import APIRouter, Depends, Form, Query, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from galleyproof.errors import Problem
from galleyproof.store.errors import ConflictError, RefusedError
from galleyproof.store.jobs import job_head, save_of
from galleyproof.store.people import Right, Who
from galleyproof.web.access import Needs
from galleyproof.web.computed import SEQUENCED
from galleyproof.web.office import Here, Office
from galleyproof.web.page import JobPage, show
from galleyproof.web.standing import look

if TYPE_CHECKING:
    from galleyproof.proof.model import Verdict
    from galleyproof.web.lineup.edit import Change
    from galleyproof.web.lineup.text import Text
    from galleyproof.web.own_rows import Known, Typed
    from galleyproof.web.studied import Sequenced

routes = APIRouter()
Reader = Annotated[Who, Depends(Needs(Right.READ))]
Editor = Annotated[Who, Depends(Needs(Right.EDIT))]
Words = Annotated[str, Query(max_length=120)]
PER_PAGE = 60
TOLD = 4
"""Failing situations told of each promise. [-]"""
ROWS_MAX = 40
"""Facts or devices of one row of a form. [-]"""


@dataclass(frozen=True, slots=True)
class Kept:
    """One promise for people.

    Attributes:
        text: The promise.
        clause: What asks for it.
        holds: In how many situations it holds, in words.
        good: Whether it holds in all of them.
        own: Whether it is a row of the job's own.
        failures: Failing situation, what was expected, what was found, and the choices that show it on the drawing.
        more: Failing situations that are not told. [-]
    """

    text: str
    clause: str
    holds: str
    good: bool
    own: bool
    failures: tuple[tuple[str, str, str, str | None], ...]
    more: int


@dataclass(frozen=True, slots=True)
class Filter:
    """Which promises are shown: ``broken``, ``own`` or all; of a kind; with some words; which page of them."""

    show: str = ""
    kind: str = ""
    words: str = ""
    page: int = 1


@dataclass(frozen=True, kw_only=True)
class SequencePage(JobPage):
    """What the job does, and whether it does what it must."""

    template: ClassVar[str] = "sequence.html"
    here: ClassVar[str] = "sequence"
    save: int
    held: int
    promises: int
    situations: int
    kinds: tuple[str, ...]
    chosen: Filter
    kept: tuple[Kept, ...]
    found: int
    pages: int
    states: tuple[tuple[str, object], ...]
    causes: tuple[tuple[str, object], ...]
    own: tuple[Typed, ...]
    known: Known | None
    typed: Typed
    wrong: str
    problems: tuple[Problem, ...]


@routes.get("/jobs/{job}/sequence")
def sequence(
    request: Request,
    here: Here,
    job: int,
    who: Reader,
    shown: Annotated[str, Query(max_length=20, alias="show")] = "",
    kind: Words = "",
    words: Words = "",
    page: Annotated[int, Query(ge=1, le=10_000)] = 1,
    row: Annotated[int | None, Query(ge=0, le=10_000)] = None,
) -> HTMLResponse:
    """The page; with a row, its form is filled with that row."""
    return _page(request, here, job, Filter(shown, kind, words, page), row=row)


def _page(
    request: Request,
    office: Office,
    job: int,
    chosen: Filter,
    *,
    row: int | None = None,
    typed: Typed | None = None,
    wrong: str = "",
    status: int = 200,
) -> HTMLResponse:
    from galleyproof.web.lineup.text import read_text
    from galleyproof.web.own_rows import Typed, known, rows_of
    from galleyproof.web.studied import Sequenced

    with office.db.session(reads=True) as session:
        head, save = job_head(session, job), save_of(session, job)
    seen = look(office, job, SEQUENCED)
    done: Sequenced = seen.result or Sequenced()
    text = read_text(save.text)
    rows = rows_of(text)
    if typed is None:
        typed = rows[row] if row is not None and row < len(rows) else Typed()
    found = _chosen(done.verdicts, chosen)
    first = (chosen.page - 1) * PER_PAGE
    ways = {name: asked.query for name, asked in done.ways}
    return show(
        request,
        SequencePage(
            title="Sequence",
            job=head,
            standing=seen.standing,
            save=save.number,
            held=sum(v.holds for v in done.verdicts),
            promises=len(done.verdicts),
            situations=done.situations,
            kinds=tuple(dict.fromkeys(v.promise.kind for v in done.verdicts)),
            chosen=chosen,
            kept=tuple(_kept(v, ways) for v in found[first : first + PER_PAGE]),
            found=len(found),
            pages=max(1, -(-len(found) // PER_PAGE)),
            states=_named(done.states),
            causes=_named(done.causes),
            own=rows,
            known=known(text),
            typed=typed,
            wrong=wrong,
            problems=done.problems,
        ),
        status,
    )


def _chosen(verdicts: Iterable[Verdict], chosen: Filter) -> list[Verdict]:
    """Promises that a filter lets through, those that do not hold first."""
    found = []
    words = chosen.words.lower().split()
    for v in verdicts:
        if chosen.show == "broken" and v.holds:
            continue
        if chosen.show == "own" and v.promise.kind != "own":
            continue
        if chosen.kind and v.promise.kind != chosen.kind:
            continue
        said = f"{v.promise.text} {v.promise.device} {v.promise.clause}".lower()
        if all(w in said for w in words):
            found.append(v)
    return sorted(found, key=lambda v: v.holds)


def _kept(v: Verdict, ways: dict[str, str]) -> Kept:
    from galleyproof.package.sequence import held
    from galleyproof.package.words import clauses

    told = tuple((f.situation, f.expected, f.found, ways.get(f.situation)) for f in v.failures[:TOLD])
    own = v.promise.kind == "own"
    return Kept(v.promise.text, clauses((v.promise.clause,)), held(v), v.holds, own, told, v.broken - len(told))


def _named(blocks: Iterable[object]) -> tuple[tuple[str, object], ...]:
    return tuple((type(b).__name__, b) for b in blocks)


# --- the job's own rows -------------------------------------------------------------------------------------------


@routes.post("/jobs/{job}/promises")
def keep_row(
    request: Request,
    here: Here,
    job: int,
    who: Editor,
    based_on: Annotated[int, Form(ge=1)],
    row: Annotated[str, Form(max_length=6)] = "",
    say: Annotated[str, Form(max_length=400)] = "",
    clause: Annotated[str, Form(max_length=120)] = "",
    when: Annotated[list[str] | None, Form()] = None,
    device: Annotated[list[str] | None, Form()] = None,
    effect: Annotated[list[str] | None, Form()] = None,
) -> Response:
    """Add a row, or put one in the place of another."""
    from galleyproof.web.own_rows import Typed, with_row

    facts = tuple(f for f in (when or [])[:ROWS_MAX] if f)
    pairs = zip((device or [])[:ROWS_MAX], (effect or [])[:ROWS_MAX], strict=False)
    typed = Typed(int(row) if row.isdigit() else None, say, clause, facts, tuple((d, e) for d, e in pairs if d))
    return _stored(request, here, job, who, based_on, lambda text: with_row(text, typed), typed)


@routes.post("/jobs/{job}/promises/remove")
def remove_row(
    request: Request,
    here: Here,
    job: int,
    who: Editor,
    based_on: Annotated[int, Form(ge=1)],
    row: Annotated[int, Form(ge=0, le=10_000)],
) -> Response:
    """Take a row away."""
    from galleyproof.web.own_rows import removed

    return _stored(request, here, job, who, based_on, lambda text: removed(text, row), None)


def _stored(
    request: Request, office: Office, job: int, who: Who, based_on: int, make: Callable[[Text], Change],
    typed: Typed | None,
) -> Response:  # fmt: skip
    from galleyproof.web.lineup.saving import change_job

    try:
        change_job(office, who, job, based_on, make)
    except ConflictError as error:
        words = (
            f"{error.by} saved save {error.number} in the meantime, and both changes touch the same rows. The rows "
            "below are those that stand now; what you typed is still in the form. Look at both and save again."
        )
        return _page(request, office, job, Filter(), typed=typed, wrong=words, status=409)
    except RefusedError as error:
        return _page(request, office, job, Filter(), typed=typed, wrong=str(error), status=422)
    return RedirectResponse(f"/jobs/{job}/sequence#own", 303)
