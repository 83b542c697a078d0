"""Schedules become a job: which column is what, how it would look, and then it comes in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from galleyproof.errors import InputError
from galleyproof.store.attachments import Attachment, drop_upload, upload_of
from galleyproof.store.errors import ConflictError, RefusedError
from galleyproof.store.jobs import Head, add_job, find_jobs, save_of
from galleyproof.store.people import Right, Who
from galleyproof.web.access import FORM_LIMITS, Needs
from galleyproof.web.lineup.begin import SYSTEMS, new_text
from galleyproof.web.lineup.kinds import KINDS, VALUES, Kind, RowField
from galleyproof.web.lineup.matching import (
    OFTEN,
    PARENT,
    Brought,
    Column,
    Matched,
    Seen,
    brought_in,
    guess,
    looked_at,
    rematched,
    units_of,
)
from galleyproof.web.lineup.saving import keep
from galleyproof.web.lineup.sheets import Sheet, read_sheets
from galleyproof.web.lineup.text import Text, read_text
from galleyproof.web.office import Here, Office
from galleyproof.web.page import Page, show

routes = APIRouter()

Editor = Annotated[Who, Depends(Needs(Right.EDIT))]
SAMPLES = 3
"""Values shown of each column. [-]"""
SHOWN = 40
"""Rows shown of each sheet before it comes in. [-]"""


@dataclass(frozen=True, slots=True)
class ColumnChoice:
    """One column with what it may be."""

    title: str
    samples: tuple[str, ...]
    chosen: Column
    options: tuple[tuple[str, str], ...]
    units: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SheetChoice:
    """One sheet with what its rows and columns may be."""

    name: str
    rows: int
    matched: Matched
    columns: tuple[ColumnChoice, ...]
    seen: Seen | None
    shown: int


@dataclass(frozen=True, kw_only=True)
class MatchPage(Page):
    """What is what, and how it would come in."""

    template: ClassVar[str] = "match.html"
    number: int
    file: str
    sheets: tuple[SheetChoice, ...]
    kinds: tuple[tuple[str, str], ...]
    systems: tuple[str, ...]
    jobs: tuple[Head, ...]
    chosen: dict[str, str]
    looked: bool
    wrong: str
    lost: tuple[str, ...]
    to_come: tuple[str, ...]


def _kinds() -> tuple[tuple[str, str], ...]:
    often = [(name, KINDS[name].title) for name in OFTEN]
    rest = [(k.name, k.title) for k in KINDS.values() if k.name not in OFTEN]
    return (("", "left out"), *often, *rest, (VALUES, "single values (block, key, value)"))


@routes.get("/import/{upload}")
def match(request: Request, upload: int, here: Here, who: Editor) -> HTMLResponse:
    """The columns with our guesses."""
    file = _file(here, who, upload)
    sheets = read_sheets(file.name, file.content)
    return show(request, _page(here, file, sheets, [guess(s) for s in sheets], {}))


@routes.post("/import/{upload}")
async def matched(request: Request, upload: int, here: Here, who: Editor) -> Response:
    """What the person says the columns are: shown how it would come in, or brought in."""
    form = await request.form(**FORM_LIMITS)
    fields = {key: value for key, value in form.items() if isinstance(value, str)}
    return await run_in_threadpool(_matched, request, here, who, upload, fields)


def _file(office: Office, who: Who, upload: int) -> Attachment:
    with office.db.session(reads=True) as session:
        return upload_of(session, who, upload)


def _matched(request: Request, office: Office, who: Who, upload: int, fields: dict[str, str]) -> Response:
    file = _file(office, who, upload)
    sheets = read_sheets(file.name, file.content)
    found = [_given(n, sheet, fields) for n, sheet in enumerate(sheets)]
    if fields.get("do") == "match":
        return show(request, _page(office, file, sheets, found, fields))
    try:
        text, base, brought = _made(office, fields, list(zip(sheets, found, strict=True)))
    except (RefusedError, InputError, LookupError) as error:
        return show(request, _page(office, file, sheets, found, fields, wrong=str(error)), 422)
    if fields.get("do") != "import" or (brought.lost and fields.get("sure") != "true"):
        page = _page(office, file, sheets, found, fields, brought=brought, looked=True)
        return show(request, page)
    said = f"brought in from {file.name}"
    with office.db.session() as session:
        drop_upload(session, upload)
        if base is None:
            name, number = fields.get("name", "").strip(), fields.get("number", "").strip()
            head = add_job(session, who, text.text, *text.titles(name or file.name, number), said)
            return RedirectResponse(f"/jobs/{head.id}/line-up", 303)
    job, save = base
    try:
        keep(office, who, job, save, text, said)
    except ConflictError as error:
        from galleyproof.web.pages.merge import merge_page

        return merge_page(request, office, job, text.text, save, str(error))
    return RedirectResponse(f"/jobs/{job}/line-up", 303)


def _made(
    office: Office, fields: dict[str, str], sheets: list[tuple[Sheet, Matched]]
) -> tuple[Text, tuple[int, int] | None, Brought]:
    """The text with everything in it, the job and save it goes over (None for a new job), and what came in."""
    if not any(m.kind for _, m in sheets):
        raise RefusedError("say of at least one sheet what its rows are")
    into = fields.get("into", "")
    whole = any(m.kind == VALUES for _, m in sheets)
    if into.isascii() and into.isdecimal() and len(into) < 10:
        with office.db.session(reads=True) as session:
            save = save_of(session, int(into))
        base = read_text(save.text)
        if not base.tables:
            raise RefusedError("the text of that job has to be put right first; open it as text")
        brought = brought_in(base, sheets, emptied=False)
        return base.changed(brought.tree), (int(into), save.number), brought
    name, number = " ".join(fields.get("name", "").split()), " ".join(fields.get("number", "").split())
    if whole:
        base = read_text("galleyproof: 1\n")
    else:
        if (
            not (name and number and name.isprintable() and number.isprintable())
            or len(name) > 200
            or len(number) > 200
        ):
            raise RefusedError("give the new job a name and a number of at most 200 characters")
        system = next((s for s in SYSTEMS if s == fields.get("system")), SYSTEMS[0])
        base = read_text(new_text(name, number, system))
    brought = brought_in(base, sheets, emptied=True)
    text = base.changed(brought.tree)
    return text, None, brought


def _given(n: int, sheet: Sheet, fields: dict[str, str]) -> Matched:
    """What the form says of one sheet; columns anew when its kind or the row of its titles was changed."""
    kind = fields.get(f"s{n}-kind", "")
    kind = kind if kind in KINDS or kind == VALUES else ""
    head = fields.get(f"s{n}-head", "1")
    row = min(int(head), len(sheet.rows)) if head.isdecimal() and len(head) < 6 else 1
    if (kind, str(row)) != (fields.get(f"s{n}-was-kind"), fields.get(f"s{n}-was-head")):
        return rematched(sheet, kind, row)
    columns = []
    for c in range(len(sheet.rows[0])):
        f = fields.get(f"s{n}-c{c}", "")
        known = f in _fields(kind)
        columns.append(Column(f, fields.get(f"s{n}-u{c}", "")) if known else Column())
    return Matched(kind, row, tuple(columns))


def _fields(kind: str) -> dict[str, RowField | None]:
    if kind == VALUES:
        return dict.fromkeys(("block", "key", "value"))
    found = KINDS.get(kind)
    return {} if found is None else {**_parents(found), **{f.name: f for f in found.fields}}


def _parents(kind: Kind) -> dict[str, RowField | None]:
    return {f"{PARENT}{n}": RowField((f"{PARENT}{n}",), noun, None) for n, (_, noun) in enumerate(kind.parents)}


def _page(
    office: Office,
    file: Attachment,
    sheets: tuple[Sheet, ...],
    found: list[Matched],
    fields: dict[str, str],
    *,
    brought: Brought | None = None,
    looked: bool = False,
    wrong: str = "",
) -> MatchPage:
    with office.db.session(reads=True) as session:
        jobs = find_jobs(session)
    choices = tuple(_choice(s, m, looked) for s, m in zip(sheets, found, strict=True))
    to_come: list[str] = []
    if brought is not None:
        for name, n in brought.new.items():
            to_come.append(f"{KINDS[name].title}: {n} new")
        for name, n in brought.changed.items():
            to_come.append(f"{KINDS[name].title}: {n} that are there, changed")
    return MatchPage(
        title="Match the columns",
        number=file.id,
        file=file.name,
        sheets=choices,
        kinds=_kinds(),
        systems=SYSTEMS,
        jobs=jobs,
        chosen={key: fields.get(key, "") for key in ("into", "name", "number", "system")},
        looked=looked,
        wrong=wrong,
        lost=tuple(brought.lost) if brought is not None else (),
        to_come=tuple(to_come),
    )


def _choice(sheet: Sheet, matched: Matched, looked: bool) -> SheetChoice:
    fields = _fields(matched.kind)
    options = tuple((name, f.title if f is not None else name) for name, f in fields.items())
    titles = sheet.rows[matched.head - 1] if 0 < matched.head <= len(sheet.rows) else ("",) * len(sheet.rows[0])
    below = sheet.rows[matched.head :]
    columns = []
    for n, title in enumerate(titles):
        samples = tuple(row[n] for row in below if row[n])[:SAMPLES]
        chosen = matched.columns[n] if n < len(matched.columns) else Column()
        units = units_of(fields.get(chosen.field))
        columns.append(ColumnChoice(title or f"column {n + 1}", samples, chosen, options, units))
    seen = looked_at(sheet, matched) if looked and matched.kind else None
    return SheetChoice(sheet.name, len(below), matched, tuple(columns), seen, SHOWN)
