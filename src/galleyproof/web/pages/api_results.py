"""The interface for programs: what is computed of a job: findings, sizes, conductors, drawings, the package."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Path, Response
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field

from galleyproof.errors import InputError, Problem
from galleyproof.store.errors import NotFoundError
from galleyproof.store.jobs import job_head, note
from galleyproof.web.computed import DRAWN, PACKED, PACKED_WHOLE, REVIEWED, Reviewed
from galleyproof.web.office import Here, Office
from galleyproof.web.problems import ProblemLine
from galleyproof.web.program import API, ERRORS, LATER, Changer, LaterOut, Reader, Result, SaveNumber, Visitor, computed

if TYPE_CHECKING:
    from galleyproof.findings import Finding

routes = APIRouter(prefix=API, tags=["results"], responses=ERRORS)


class FindingOut(BaseModel):
    """What an engineer should know about the job."""

    code: str
    severity: str = Field(description="error, warning or note")
    item: str
    message: str
    cure: str
    clauses: list[str]
    evidence: list[str]


class FailureOut(BaseModel):
    """A situation in which a promise fails."""

    situation: str
    device: str
    expected: str
    found: str


class BrokenOut(BaseModel):
    """A promise that fails somewhere."""

    promise: str
    text: str
    clause: str
    situations: int
    broken: int
    failures: list[FailureOut]


class NumberOut(BaseModel):
    """A size that what is given does not satisfy."""

    key: str
    value: str
    given: str
    clauses: list[str]


class SummaryOut(Result):
    """Findings, proof and sizes of a job."""

    findings: list[FindingOut]
    promises: int = Field(description="How many were proved or refuted.")
    situations: int = Field(description="How many situations they were tried in.")
    broken: list[BrokenOut]
    sizes: int = Field(description="How many sizes were computed.")
    too_small: list[NumberOut] = Field(description="Those that what is given does not satisfy.")
    conductors: int
    field_conductors: int


class ConductorOut(BaseModel):
    """A conductor from terminal to terminal, in its computed size."""

    number: int
    from_terminal: str
    to_terminal: str
    made: str = Field(description="factory or field")
    energy_class: str
    size: str = Field(description="AWG or kcmil", examples=["12 AWG"])
    colour: str
    length_ft: float
    cable: str
    purpose: str


class ConductorsOut(Result):
    """Every conductor, by its number."""

    conductors: list[ConductorOut]


class SheetOut(BaseModel):
    """A drawing sheet."""

    number: str
    title: str
    width_mm: float
    height_mm: float
    svg: str = Field(description="Where the picture is.")


class SheetsOut(Result):
    """The drawing sheets of a job."""

    sheets: list[SheetOut]


class Wanted(BaseModel):
    """Which package."""

    whole: bool = Field(False, description="Also with every wiring mistake and the check-out sheet; takes minutes.")


class PackageOut(Result):
    """A package that can be fetched."""

    href: str
    size_bytes: int


def _problems(found: Iterable[Problem]) -> list[ProblemLine]:
    return [ProblemLine(line=p.line, where=p.where, what=p.what) for p in found]


def _findings(found: Iterable[Finding]) -> list[FindingOut]:
    return [
        FindingOut(
            code=f.code,
            severity=f.severity.value,
            item=f.item,
            message=f.message,
            cure=f.cure,
            clauses=[str(c) for c in f.basis],
            evidence=list(f.evidence),
        )
        for f in found
    ]


@routes.get("/jobs/{job}/summary", responses=LATER, response_model=SummaryOut, summary="Findings, proof and sizes")
def summary(job: int, here: Here, _who: Reader, save: SaveNumber = None) -> Any:
    """Every finding, every promise that fails, every size that what is given does not satisfy."""
    row, made = computed(here, job, save, REVIEWED)
    if isinstance(made, Response):
        return made
    assert isinstance(made, Reviewed)
    if made.review is None:
        return SummaryOut(
            save=row.number,
            problems=_problems(made.problems),
            findings=[],
            promises=0,
            situations=0,
            broken=[],
            sizes=0,
            too_small=[],
            conductors=0,
            field_conductors=0,
        )
    review = made.review
    conductors = review.papers.design.conductors
    return SummaryOut(
        save=row.number,
        problems=[],
        findings=_findings(review.findings),
        promises=len(review.proof.verdicts),
        situations=review.proof.situations,
        broken=[
            BrokenOut(
                promise=v.promise.key,
                text=v.promise.text,
                clause=str(v.promise.clause),
                situations=v.situations,
                broken=v.broken,
                failures=[
                    FailureOut(situation=f.situation, device=f.device, expected=f.expected, found=f.found)
                    for f in v.failures
                ],
            )
            for v in review.proof.verdicts
            if not v.holds
        ],
        sizes=len(review.sizes.numbers),
        too_small=[
            NumberOut(key=n.key, value=n.text, given=n.given, clauses=[str(c) for c in n.basis])
            for n in review.sizes.numbers
            if not n.ok
        ],
        conductors=len(conductors),
        field_conductors=sum(c.made == "field" for c in conductors),
    )


@routes.get("/jobs/{job}/conductors", responses=LATER, response_model=ConductorsOut, summary="Every conductor")
def conductors(job: int, here: Here, _who: Reader, save: SaveNumber = None) -> Any:
    """The list from terminal to terminal."""
    from galleyproof import units
    from galleyproof.sizing.whole_job import with_sizes

    row, made = computed(here, job, save, REVIEWED)
    if isinstance(made, Response):
        return made
    if made.review is None:
        return ConductorsOut(save=row.number, problems=_problems(made.problems), conductors=[])
    design = with_sizes(made.review.papers.design, made.review.sizes)
    found = [
        ConductorOut(
            number=c.number,
            from_terminal=str(c.a),
            to_terminal=str(c.b),
            made=c.made,
            energy_class=c.energy_class.value,
            size=units.format_awg(c.awg),
            colour=c.colour,
            length_ft=round(c.length_ft, 1),
            cable=c.cable,
            purpose=c.purpose,
        )
        for c in sorted(design.conductors, key=lambda c: c.number)
    ]
    return ConductorsOut(save=row.number, problems=[], conductors=found)


@routes.get("/jobs/{job}/sheets", responses=LATER, response_model=SheetsOut, summary="The drawing sheets")
def sheets(job: int, here: Here, _who: Visitor, save: SaveNumber = None) -> Any:
    """In the order of the set."""
    row, made = computed(here, job, save, DRAWN)
    if isinstance(made, Response):
        return made
    found = [
        SheetOut(
            number=s.number,
            title=s.title,
            width_mm=s.width_mm,
            height_mm=s.height_mm,
            svg=f"{API}/jobs/{job}/sheets/{s.number}?save={row.number}",
        )
        for s in made.sheets
    ]
    return SheetsOut(save=row.number, problems=_problems(made.problems), sheets=found)


@routes.get(
    "/jobs/{job}/sheets/{sheet}",
    responses={**LATER, 200: {"content": {"image/svg+xml": {"schema": {"type": "string"}}}}},
    response_class=Response,
    summary="One sheet as SVG",
)
def sheet(
    job: int, sheet: Annotated[str, Path(max_length=20)], here: Here, _who: Visitor, save: SaveNumber = None
) -> Response:
    """The picture of one sheet, as it is printed."""
    _, made = computed(here, job, save, DRAWN)
    if isinstance(made, Response):
        return made
    found = next((s for s in made.sheets if s.number == sheet), None)
    if found is None:
        if made.problems:
            raise InputError(made.problems)
        raise NotFoundError(f"job {job} has no sheet {sheet!r}; its sheets: {', '.join(s.number for s in made.sheets)}")
    headers = {"content-disposition": f'attachment; filename="sheet-{found.number}.svg"'}
    return Response(found.svg, media_type="image/svg+xml", headers=headers)


@routes.post(
    "/jobs/{job}/package",
    responses=LATER,
    response_model=PackageOut,
    summary="Begin to make the package",
)
def begin_package(job: int, wanted: Wanted, here: Here, who: Changer) -> Any:
    """Compute the package of the save that stands, as a draft; then fetch it."""
    with here.db.session() as session:
        job_head(session, job)
        note(session, who, "asked for a package", job, whole=wanted.whole)
    href = f"{API}/jobs/{job}/package?whole={str(wanted.whole).lower()}"
    number, made = _package(here, job, wanted.whole, None)
    if isinstance(made, Response):
        made.headers["location"] = href
        return made
    return PackageOut(save=number, problems=[], href=f"{href}&save={number}", size_bytes=len(made))


@routes.get(
    "/jobs/{job}/package",
    responses={**LATER, 200: {"content": {"application/zip": {"schema": {"type": "string", "format": "binary"}}}}},
    response_class=Response,
    summary="The package as a zip file",
)
def package(job: int, here: Here, _who: Reader, whole: bool = False, save: SaveNumber = None) -> Response:
    """PDF, workbook, labels, job file and manifest, as a draft; issued sets are made by people."""
    number, made = _package(here, job, whole, save)
    if isinstance(made, Response):
        return made
    headers = {"content-disposition": f'attachment; filename="job-{job}-save-{number}.zip"'}
    return Response(made, media_type="application/zip", headers=headers)


def _package(office: Office, job: int, whole: bool, save: int | None) -> tuple[int, bytes | JSONResponse]:
    row, made = computed(office, job, save, PACKED_WHOLE if whole else PACKED)
    if isinstance(made, JSONResponse):
        return row.number, made
    if made.problems:
        raise InputError(made.problems)
    return row.number, made.content


assert LaterOut.__name__ == "LaterOut"
