"""The check-out on a tablet: its page, its plan, its log."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, ClassVar

from fastapi import APIRouter, Depends, Query, Request, Response
from fastapi.responses import HTMLResponse, JSONResponse
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from galleyproof.checkout.log import COMPLAINT, SIGNATURE, SPOKEN, Entry, write_log
from galleyproof.checkout.words import understood
from galleyproof.errors import GalleyproofError, Problem
from galleyproof.store.errors import NotFoundError, RefusedError, UnavailableError
from galleyproof.store.jobs import job_head
from galleyproof.store.people import Right, Role, Who
from galleyproof.store.readings import add_readings, readings_mark
from galleyproof.web.access import Needs
from galleyproof.web.asked import SaveNumber
from galleyproof.web.book import Book
from galleyproof.web.causes import Weighed, causes_of, likely
from galleyproof.web.check_out_state import as_data, older_counts, plan_data, probe_data
from galleyproof.web.check_out_words import signature_fault
from galleyproof.web.checked import Checked, checked, found
from galleyproof.web.computed import CHECKED_OUT, DRAWN, RECORDED
from galleyproof.web.office import Here
from galleyproof.web.page import JobPage, Part, show
from galleyproof.web.record import asked
from galleyproof.web.standing import look

routes = APIRouter()
Site = Annotated[Who, Depends(Needs(Right.SITE))]
Measure = Annotated[Who, Depends(Needs(Right.MEASURE))]
RECORD_S = 30.0
"""The record is waited for this long. [s]"""
MOST_SENT = 500
"""Entries taken in one sending. [-]"""
Key = Annotated[str, Query(max_length=300)]


@dataclass(frozen=True, kw_only=True)
class CheckOutPage(JobPage):
    """One probe at a time; the page's own script fills it."""

    template: ClassVar[str] = "check_out.html"
    here: ClassVar[str] = "check-out"
    save: int
    ready: bool
    problems: tuple[Problem, ...]
    fault: str
    words: str
    older_same: int
    older_gone: int
    signer: str


@dataclass(frozen=True, kw_only=True)
class CausesPart(Weighed, Part):
    """The most likely causes, in words, and what tells them apart."""

    template: ClassVar[str] = "_causes.html"


class Sent(BaseModel):
    """Entries as a device sends them."""

    model_config = ConfigDict(extra="forbid")

    entries: Annotated[list[dict[str, Any]], Field(max_length=MOST_SENT)]


@routes.get("/jobs/{job}/check-out")
def check_out(request: Request, here: Here, job: int, who: Site) -> HTMLResponse:
    """The page."""
    with here.db.session(reads=True) as session:
        head = job_head(session, job)
    seen = look(here, job, CHECKED_OUT)
    book: Book = seen.result or Book()
    same = gone = 0
    words = ""
    if book.written and seen.shown is not None:
        there = checked(here, job, seen.shown.number)
        if there.state is not None:
            same, gone = older_counts(there.state, there.print)
            words = there.state.book.plan.words()
        here.work.ask(DRAWN, there.save.text)  # its sheets are wanted next
        if there.book is not None:
            here.desk.prepare(there.save.sha256, there.save.text, there.book)
    return show(
        request,
        CheckOutPage(
            title="Check-out",
            job=head,
            standing=seen.standing,
            save=seen.shown.number if seen.shown is not None else 0,
            ready=book.written,
            problems=book.problems,
            fault=book.words,
            words=words,
            older_same=same,
            older_gone=gone,
            # whoever came by a link gave their name there; nobody knows who sits at an office without accounts
            signer="" if who.role is Role.LOCAL else who.name.partition(" (link: ")[0],
        ),
    )


@routes.get("/jobs/{job}/check-out/plan")
def plan(here: Here, job: int, who: Site, save: SaveNumber = None) -> JSONResponse:
    """The plan of a save, and what the log says of it."""
    there = checked(here, job, save)
    return JSONResponse({**plan_data(there.open, there.print, there.save.number), "log": _log_data(here, job, there)})


@routes.get("/jobs/{job}/check-out/state")
def state(here: Here, job: int, who: Site, save: SaveNumber = None, mark: str = "") -> JSONResponse:
    """What the log says, if it is not what the page knows already."""
    with here.db.session(reads=True) as session:
        now = readings_mark(session, job)
    if mark == now:
        return JSONResponse({"mark": now, "same": True})
    return JSONResponse(_log_data(here, job, checked(here, job, save)))


@routes.post("/jobs/{job}/check-out/entries")
def entries(here: Here, job: int, who: Measure, sent: Sent, save: SaveNumber = None) -> JSONResponse:
    """Take entries down; each is stored or refused for itself, and one sent twice is stored once."""
    there = checked(here, job, save)
    stored: list[str] = []
    refused: list[dict[str, str]] = []
    for given in sent.entries:
        name = str(given.get("id", ""))[:64]
        try:
            entry = Entry.model_validate(given)
            _check(there, entry)
            with here.db.session() as session:
                add_readings(session, who, job, (entry,))
            stored.append(name)
        except ValidationError as error:
            first = error.errors()[0]
            words = f"{'.'.join(map(str, first['loc']))}: {str(first['msg']).removeprefix('Value error, ')}"
            refused.append({"id": name, "words": words})
        except UnavailableError:
            raise  # the device keeps what is not stored, and sends it again
        except GalleyproofError as error:
            refused.append({"id": name, "words": str(error)})
    after = checked(here, job, save)
    log = _log_data(here, job, after) if after.state is not None else None
    return JSONResponse({"stored": stored, "refused": refused, "log": log})


def _check(there: Checked, entry: Entry) -> None:
    """Whether an entry may be stored.

    Without a book (it is being computed) everything is: what cannot be understood is then said to be so later.

    Raises:
        ReadingError: It cannot be understood.
        RefusedError: A signature over what is still open, or one that is none.
    """
    if any(entry.id == known.id for known in there.entries):
        return
    if entry.probe == SIGNATURE and not entry.takes_back:
        if there.state is None:
            raise RefusedError(f"{there.why}; sign when it is there")
        fault = signature_fault(entry.read)
        if fault:
            raise RefusedError(fault)
        open_ones = there.state.unnoted
        if open_ones:
            count = f"{len(open_ones)} readings are" if len(open_ones) > 1 else "1 reading is"
            raise RefusedError(
                f"{count} still open or out of tolerance without a note, the first is {open_ones[0]!r}; read them, or "
                "write on each why it was not"
            )
        return
    if there.state is None or entry.takes_back or entry.job != there.print:
        return
    if entry.probe == COMPLAINT:
        from galleyproof.checkout.complaints import complaint

        complaint(there.state.book.checkout, entry.read)
    elif entry.probe not in SPOKEN:
        probe = there.state.book.probe(entry.probe)
        if probe is None:
            raise RefusedError(f"there is no probe {entry.probe!r} in save {there.save.number}; load the page again")
        understood(probe, entry.read)


@routes.get("/jobs/{job}/check-out/probe")
def probe(here: Here, job: int, who: Site, key: Key, save: SaveNumber = None) -> JSONResponse:
    """One probe, of the plan or any other."""
    there = checked(here, job, save)
    wanted = there.open.probe(key)
    if wanted is None:
        raise NotFoundError(f"there is no probe {key!r} in save {there.save.number}")
    return JSONResponse(probe_data(there.open, wanted))


@routes.get("/jobs/{job}/check-out/causes")
def causes(
    request: Request,
    here: Here,
    job: int,
    who: Site,
    save: SaveNumber = None,
    stage: Annotated[str, Query(max_length=40)] = "",
) -> HTMLResponse:
    """What the readings say is wrong, and the probe that tells the most likely causes apart."""
    there = checked(here, job, save)
    told = found(here, there, there.known().observations, stage)
    listed = causes_of(there.open, told)
    next_one = there.open.probe(told.probe) if told is not None else None
    first = ""
    if told is not None and next_one is not None and next_one.preparation != told.here:
        preparation = there.open.preparation_of(next_one)
        first = preparation.words + (f" (with {preparation.needs})" if preparation.needs else "")
    return show(
        request,
        CausesPart(
            causes=listed,
            shown=likely(listed),
            fits=told is None or told.fits,
            sure=told is not None and told.sure,
            next_key=next_one.key if next_one is not None else "",
            next_words=next_one.words if next_one is not None else "",
            next_first=first,
            on_site=True,
            asks=False,
        ),
    )


@routes.get("/jobs/{job}/check-out/log")
def log(here: Here, job: int, who: Site) -> Response:
    """The whole log as a file."""
    there = checked(here, job, None, 0.0)
    name = f"readings-{job}.json"
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(write_log(there.entries), media_type="application/json", headers=headers)


@routes.get("/jobs/{job}/check-out/record")
def record(here: Here, job: int, who: Site, save: SaveNumber = None) -> Response:
    """Check-out record, acceptance list and start-up record, filled with what was read."""
    there = checked(here, job, save)
    answer = here.work.wait(RECORDED, asked(there), RECORD_S)
    if not answer.done:
        raise NotFoundError(f"the record is not ready yet: {answer.words}; ask for it again")
    headers = {"content-disposition": f'attachment; filename="check-out-record-{job}-{there.save.number}.pdf"'}
    return Response(answer.result, media_type="application/pdf", headers=headers)


def _log_data(here: Here, job: int, there: Checked) -> dict[str, Any]:
    with here.db.session(reads=True) as session:
        mark = readings_mark(session, job)
    return {**as_data(there.known()), "mark": mark, "save": there.save.number}
