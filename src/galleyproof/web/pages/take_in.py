"""Readings of a field sheet, or of another office, taken into a job's log: a file, or the texts of a run of codes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, File, Form, Request, UploadFile
from fastapi.responses import HTMLResponse

from galleyproof.checkout.codes import MARK, join
from galleyproof.checkout.log import MOST_BYTES, Entry, read_log
from galleyproof.checkout.words import said_range
from galleyproof.errors import GalleyproofError, InputError
from galleyproof.store.errors import UnavailableError
from galleyproof.store.jobs import job_head
from galleyproof.store.people import Right, Who
from galleyproof.store.readings import add_readings
from galleyproof.web.access import Needs
from galleyproof.web.check_out_state import expected_of
from galleyproof.web.checked import checked
from galleyproof.web.office import Here
from galleyproof.web.page import JobPage, show

routes = APIRouter()
Measure = Annotated[Who, Depends(Needs(Right.MEASURE))]
MOST_PROBLEMS = 12
"""Problems of a file told at once. [-]"""


@dataclass(frozen=True, slots=True)
class Beside:
    """Readings of one probe that do not agree.

    Attributes:
        key: Key of the probe.
        words: What was to be read.
        expected: What it reads on the right wiring.
        entries: The readings.
        place: Its place in the plan, from 1; None outside it.
    """

    key: str
    words: str
    expected: str
    entries: tuple[Entry, ...]
    place: int | None


@dataclass(frozen=True, kw_only=True)
class TakeInPage(JobPage):
    """Where a log is handed over, and what came of it."""

    template: ClassVar[str] = "take_in.html"
    here: ClassVar[str] = "check-out"
    problems: tuple[str, ...]
    more: int
    given: int
    new: int
    beside: tuple[Beside, ...]


@routes.get("/jobs/{job}/check-out/take-in")
def ask(request: Request, here: Here, job: int, who: Measure) -> HTMLResponse:
    """Where a log is handed over."""
    return _page(request, here, job)


@routes.post("/jobs/{job}/check-out/take-in")
def take_in(
    request: Request,
    here: Here,
    job: int,
    who: Measure,
    file: Annotated[UploadFile | None, File()] = None,
    codes: Annotated[str, Form(max_length=MOST_BYTES)] = "",
) -> HTMLResponse:
    """Take a log in: all of its entries or none; what is there already stays as it is."""
    try:
        entries = _entries(file, codes)
        with here.db.session() as session:
            new = add_readings(session, who, job, entries)
    except InputError as error:
        return _page(request, here, job, problems=tuple(f"{p}" for p in error.problems), status=422)
    except UnavailableError:
        raise
    except GalleyproofError as error:
        return _page(request, here, job, problems=(str(error),), status=422)
    return _page(request, here, job, given=len(entries), new=new)


def _entries(file: UploadFile | None, codes: str) -> tuple[Entry, ...]:
    """The entries handed over.

    Raises:
        InputError: They cannot be read.
    """
    if codes.strip():
        parts = [line.strip() for line in codes.replace(MARK, f"\n{MARK}").splitlines() if line.strip()]
        return read_log(join(parts), "codes")
    data = file.file.read(MOST_BYTES + 1) if file is not None else b""
    return read_log(data, (file.filename or "the file")[:80] if file is not None else "the file")


def _page(
    request: Request,
    office: Here,
    job: int,
    *,
    problems: tuple[str, ...] = (),
    given: int = 0,
    new: int = 0,
    status: int = 200,
) -> HTMLResponse:
    with office.db.session(reads=True) as session:
        head = job_head(session, job)
    page = TakeInPage(
        title="Take in a log",
        job=head,
        problems=problems[:MOST_PROBLEMS],
        more=max(0, len(problems) - MOST_PROBLEMS),
        given=given,
        new=new,
        beside=_beside(office, job) if given else (),
    )
    return show(request, page, status)


def _beside(office: Here, job: int) -> tuple[Beside, ...]:
    there = checked(office, job, None, 0.3)
    if there.state is None:
        return ()
    book = there.state.book
    found = []
    for key, entries in there.state.torn.items():
        made = book.checkout.probes[book.at[key]]
        place = book.place_in_plan.get(key)
        expected = said_range(made, expected_of(book, key))
        found.append(Beside(key, made.words, expected, entries, None if place is None else place + 1))
    return tuple(found)
