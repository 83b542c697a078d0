"""Sizing: every conductor, protection, raceway, feeder and panel, with the steps of each number."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse

from galleyproof.errors import Problem
from galleyproof.store.errors import NotFoundError
from galleyproof.store.jobs import job_head, save_of
from galleyproof.store.people import Right, Who
from galleyproof.units import format_awg
from galleyproof.web.access import Needs
from galleyproof.web.computed import SIZED
from galleyproof.web.lineup.findings import Placed, counted, placed
from galleyproof.web.lineup.text import read_text
from galleyproof.web.office import Here
from galleyproof.web.page import JobPage, Part, show
from galleyproof.web.results import SizedJob, Wire
from galleyproof.web.standing import look

if TYPE_CHECKING:
    from galleyproof.sizing.model import Number, RacewaySize, SizedConductor
    from galleyproof.sizing.raceways import Filling

routes = APIRouter()

Reader = Annotated[Who, Depends(Needs(Right.READ))]
MOST = 1000
"""Rows of a table at once; a search leaves fewer. [-]"""


@dataclass(frozen=True, slots=True)
class NumberRow:
    """One number in a table."""

    number: Number
    size: str
    by: str


@dataclass(frozen=True, slots=True)
class Group:
    """Numbers of one circuit."""

    tag: str
    title: str
    rows: tuple[NumberRow, ...]


@dataclass(frozen=True, slots=True)
class RacewayRow:
    """One raceway."""

    raceway: RacewaySize
    holds: str
    fill: str


@dataclass(frozen=True, slots=True)
class WireRow:
    """One conductor."""

    wire: Wire
    sized: SizedConductor
    size: str
    ampacity: str


@dataclass(frozen=True, kw_only=True)
class SizingPage(JobPage):
    """All sizes of a job."""

    template: ClassVar[str] = "sizing.html"
    here: ClassVar[str] = "sizing"
    tab: str
    asked: str
    groups: tuple[Group, ...]
    raceways: tuple[RacewayRow, ...]
    wires: tuple[WireRow, ...]
    more: int
    findings: tuple[Placed, ...]
    words: str
    edition: str
    problems: tuple[Problem, ...]
    known: bool
    shown: int | None


@dataclass(frozen=True, kw_only=True)
class WhyPart(Part):
    """The steps of one number."""

    template: ClassVar[str] = "_why.html"
    number: Number
    edition: str


Tab = Literal["numbers", "raceways", "conductors", "findings"]


@routes.get("/jobs/{job}/sizing")
def sizing(
    request: Request,
    job: int,
    here: Here,
    who: Reader,
    tab: Tab = "numbers",
    words: Annotated[str, Query(max_length=100)] = "",
) -> HTMLResponse:
    """One of the tables, left with the rows that hold all of some words."""
    with here.db.session(reads=True) as session:
        head = job_head(session, job)
    seen = look(here, job, SIZED)
    found: SizedJob | None = seen.result
    sizes = found.sizes if found is not None else None
    asked = tuple(words.casefold().split())
    groups: tuple[Group, ...] = ()
    raceways: tuple[RacewayRow, ...] = ()
    wires: tuple[WireRow, ...] = ()
    more = 0
    if found is not None and sizes is not None:
        if tab == "numbers":
            groups, more = _groups(found, asked)
        elif tab == "raceways":
            raceways = tuple(
                _raceway(r) for r in sizes.raceways if _holds(asked, f"{r.tag} {r.from_place} {r.to_place} {r.kind}")
            )
        elif tab == "conductors":
            wires, more = _wires(found, asked)
    listed = placed(sizes.findings, read_text(seen.shown.text)) if sizes is not None and seen.shown else ()
    page = SizingPage(
        title="Sizing",
        job=head,
        standing=seen.standing,
        tab=tab,
        asked=" ".join(words.split()),
        groups=groups,
        raceways=raceways,
        wires=wires,
        more=more,
        findings=listed if tab == "findings" else (),
        words=counted(sizes.findings) if sizes is not None else "",
        edition=sizes.edition if sizes is not None else "",
        problems=found.problems if found is not None else (),
        known=sizes is not None,
        shown=seen.standing.shown,
    )
    return show(request, page)


def _holds(asked: tuple[str, ...], text: str) -> bool:
    low = text.casefold()
    return all(word in low for word in asked)


def _groups(found: SizedJob, asked: tuple[str, ...]) -> tuple[tuple[Group, ...], int]:
    from galleyproof.package.words import deciding, places, value

    assert found.sizes is not None
    made, left, more = [], MOST, 0
    for tag, numbers in found.sizes.of_circuit.items():
        title = found.titles.get(tag, tag)
        fitting = [n for n in numbers if _holds(asked, f"{n.key} {n.item} {n.what} {title}")]
        more += max(0, len(fitting) - left)
        taken = fitting[:left]
        left -= len(taken)
        if taken:
            edition = found.sizes.edition
            made.append(Group(tag, title, tuple(NumberRow(n, value(n), places(deciding(n), edition)) for n in taken)))
    return tuple(made), more


def _raceway(r: RacewaySize) -> RacewayRow:
    fill = f"{r.fill_ratio:.0%} of {r.max_fill_ratio:.0%}" if r.trade_size else ""
    return RacewayRow(r, "; ".join(map(_filling, r.contents)), fill)


def _filling(f: Filling) -> str:
    if f.cable_diameter_inch is not None:
        return f"{f.count} × {f.size}, {f.cable_diameter_inch:g} in across"
    return f"{f.count} × {format_awg(f.size)} {f.insulation}"


def _wires(found: SizedJob, asked: tuple[str, ...]) -> tuple[tuple[WireRow, ...], int]:
    assert found.sizes is not None
    rows = []
    for key, one in found.sizes.conductors.items():
        wire = found.wires[key]
        if _holds(asked, f"{wire.number} {wire.ends} {wire.purpose} {one.raceway} {one.why_key}"):
            ampacity = "" if one.ampacity_a is None else f"{one.ampacity_a:.4g} A"
            rows.append(WireRow(wire, one, format_awg(one.awg), ampacity))
    rows.sort(key=lambda row: row.wire.number)
    return tuple(rows[:MOST]), max(0, len(rows) - MOST)


@routes.get("/jobs/{job}/sizing/why")
def why(
    request: Request,
    job: int,
    here: Here,
    who: Reader,
    key: Annotated[str, Query(max_length=200)],
    save: Annotated[int, Query(ge=1, le=2**31 - 1)],
) -> HTMLResponse:
    """The steps of one number of a save."""
    with here.db.session(reads=True) as session:
        text = save_of(session, job, save).text
    answer = here.work.wait(SIZED, text, 5.0)
    found: SizedJob | None = answer.result if answer.done else None
    number = found.sizes.by_key.get(key) if found is not None and found.sizes is not None else None
    if number is None or found is None or found.sizes is None:
        raise NotFoundError(f"nothing called {key[:80]!r} is sized in save {save}; load the page again")
    return show(request, WhyPart(number=number, edition=found.sizes.edition))
