"""The interface for programs: the check-out sheet, the readings, the diagnosis."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Response
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field

from galleyproof.checkout.log import Entry, read_log
from galleyproof.errors import InputError, Problem
from galleyproof.store.jobs import job_head
from galleyproof.store.readings import add_readings, readings_of
from galleyproof.web.computed import CHECKED_OUT
from galleyproof.web.office import Here, Office
from galleyproof.web.problems import ProblemLine
from galleyproof.web.program import API, ERRORS, LATER, Measurer, Result, SaveNumber, Visitor, computed

if TYPE_CHECKING:
    from galleyproof.web.book import OpenBook

routes = APIRouter(prefix=API, tags=["check-out"], responses=ERRORS)

MOST_ENTRIES = 20_000
"""Most entries of one sending. [-]"""


class ProbeOut(BaseModel):
    """A reading to take."""

    probe: str
    stage: str
    preparation: str
    do: str
    place: str
    about: str
    expected: str
    caution: str
    minutes: float
    hazard: float
    acceptance: bool
    catches: list[str] = Field(description="Slips that it shows.")


class PreparationOut(BaseModel):
    """What to bring about before readings can be taken."""

    preparation: str
    stage: str
    do: str
    minutes: float
    needs: str
    after: str


class UncatchableOut(BaseModel):
    """A wiring mistake that no reading shows."""

    slip: str
    sentence: str


class PlanOut(Result):
    """The shortest check-out sheet, stage by stage."""

    cautions: dict[str, str] = Field(description="The caution of each stage; read it first.")
    preparations: list[PreparationOut]
    probes: list[ProbeOut]
    slips: int
    caught: int
    uncatchable: list[UncatchableOut]
    minutes: float
    gap: float = Field(description="How far the plan may be from the least, 0 when it is the least.")


class LogOut(BaseModel):
    """The log of readings, as tablets export it."""

    readings_log: int = Field(1, description="The form of the log.")
    entries: list[Entry]


class LogIn(BaseModel):
    """Entries to be added to the log."""

    readings_log: int = Field(1, ge=1, le=1, description="The form of the log.")
    entries: list[Entry] = Field(max_length=MOST_ENTRIES)


class AddedOut(BaseModel):
    """What became of entries that were sent."""

    added: int = Field(description="How many were new.")
    already: int = Field(description="How many were there already; they are left as they are.")


class SuspectOut(BaseModel):
    """A wiring mistake that explains the readings, or two at once."""

    slips: list[str] = Field(description="Keys; none: nothing that a reading could show is wrong.")
    sentences: list[str]
    others: list[str] = Field(description="Slips that no reading tells from it.")
    chance: float = Field(description="Of the whole group, 0 to 1.")
    why: list[str]


class NextOut(BaseModel):
    """The reading that tells most for its effort and hazard."""

    probe: str
    stage: str
    do: str
    caution: str
    bits: float
    minutes: float


class DiagnosisOut(Result):
    """What the readings that stand say."""

    taken: int = Field(description="Readings and complaints that stand and are understood.")
    suspects: list[SuspectOut]
    fits: bool = Field(description="False when nothing explains what was read.")
    sure: bool = Field(description="Whether one group is left that matters.")
    next_probe: NextOut | None


@routes.get("/jobs/{job}/check-out", responses=LATER, response_model=PlanOut, summary="The check-out sheet")
def plan(job: int, here: Here, _who: Visitor, save: SaveNumber = None) -> Any:
    """The fewest, safest and quickest readings that show every wiring mistake a reading can show."""
    from galleyproof.checkout.words import said_range

    number, found = _book(here, job, save)
    if isinstance(found, Response):
        return found
    made = found.plan
    return PlanOut(
        save=number,
        problems=[],
        cautions={stage.value: words for stage, words in made.cautions()},
        preparations=[
            PreparationOut(
                preparation=p.key, stage=p.stage.value, do=p.words, minutes=p.minutes, needs=p.needs, after=p.after
            )
            for p in made.preparations
        ],
        probes=[
            ProbeOut(
                probe=r.probe.key,
                stage=r.probe.stage.value,
                preparation=r.probe.preparation,
                do=r.probe.words,
                place=r.probe.place,
                about=r.probe.about,
                expected=said_range(r.probe, r.expected),
                caution=r.probe.caution,
                minutes=r.probe.minutes,
                hazard=r.probe.hazard,
                acceptance=r.required,
                catches=list(r.catches),
            )
            for r in made.readings
        ],
        slips=made.slips,
        caught=made.caught,
        uncatchable=[UncatchableOut(slip=key, sentence=found.slip_by_key[key].sentence) for key in made.uncatchable],
        minutes=made.minutes,
        gap=made.gap,
    )


@routes.get("/jobs/{job}/readings", summary="The log of readings")
def log(job: int, here: Here, _who: Visitor) -> LogOut:
    """Every entry in the order they were made."""
    with here.db.session(reads=True) as session:
        job_head(session, job)
        entries = readings_of(session, job)
    return LogOut(readings_log=1, entries=list(entries))


@routes.post("/jobs/{job}/readings", summary="Add readings")
def add(job: int, sent: LogIn, here: Here, who: Measurer) -> AddedOut:
    """Add entries, all of them or none. One that is there already is left as it is, so sending again does no harm."""
    entries = read_log(sent.model_dump_json(), "log")
    with here.db.session() as session:
        new = add_readings(session, who, job, entries)
    return AddedOut(added=new, already=len(entries) - new)


@routes.get("/jobs/{job}/diagnosis", responses=LATER, response_model=DiagnosisOut, summary="What the readings say")
def diagnosis(job: int, here: Here, _who: Visitor, save: SaveNumber = None) -> Any:
    """Wiring mistakes that explain the readings that stand, the likeliest first, and the reading to take next."""
    from galleyproof.web.checked import checked, found

    number, book = _book(here, job, save)
    if isinstance(book, Response):
        return book
    state = checked(here, job, number)
    known = state.known()
    taken = known.observations
    said = found(here, state, taken)
    if said is None:
        return DiagnosisOut(save=number, problems=[], taken=0, suspects=[], fits=True, sure=False, next_probe=None)
    probe = book.probe(said.probe)
    return DiagnosisOut(
        save=number,
        problems=[ProblemLine(line=0, where=e.probe, what="means nothing in this save") for e in known.strange],
        taken=len(taken),
        suspects=[
            SuspectOut(
                slips=list(s.slips),
                sentences=[book.slip_by_key[key].sentence for key in s.slips],
                others=list(s.others),
                chance=s.chance,
                why=list(s.why),
            )
            for s in said.suspects
        ],
        fits=said.fits,
        sure=said.sure,
        next_probe=None
        if probe is None
        else NextOut(
            probe=probe.key,
            stage=probe.stage.value,
            do=probe.words,
            caution=probe.caution,
            bits=said.bits,
            minutes=said.minutes,
        ),
    )


def _book(office: Office, job: int, save: int | None) -> tuple[int, OpenBook | JSONResponse]:
    """The check-out of a save.

    Raises:
        InputError: The text cannot be taken, or its network has no solution.
    """
    from galleyproof.web.checked import opened

    row, made = computed(office, job, save, CHECKED_OUT)
    if isinstance(made, JSONResponse):
        return row.number, made
    if made.problems:
        raise InputError(made.problems)
    if not made.written:
        raise InputError([Problem("job", 0, "check-out", made.words)])
    return row.number, opened(made)
