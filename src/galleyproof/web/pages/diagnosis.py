"""The diagnosis: what the check-out's readings say is wrong, and what somebody on the phone says."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from hashlib import sha256
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Form, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from galleyproof.checkout.log import COMPLAINT, Entry
from galleyproof.checkout.words import said, said_range
from galleyproof.errors import GalleyproofError, Problem
from galleyproof.store.database import now
from galleyproof.store.errors import NotFoundError
from galleyproof.store.jobs import Head, job_head
from galleyproof.store.people import Right, Who
from galleyproof.store.readings import add_readings
from galleyproof.web.access import Needs
from galleyproof.web.asked import SaveNumber
from galleyproof.web.book import Book
from galleyproof.web.call import (
    MOST_TAKEN,
    MOST_WORDS,
    Asked,
    CallError,
    Line,
    Taken,
    as_taken,
    asked_of,
    line_of,
    observation,
    probes_offered,
    read_taken,
    sentences,
)
from galleyproof.web.causes import Weighed, causes_of, likely
from galleyproof.web.check_out_state import State, expected_of
from galleyproof.web.checked import Checked, checked
from galleyproof.web.computed import CHECKED_OUT
from galleyproof.web.desk import Question
from galleyproof.web.office import Here, Office
from galleyproof.web.page import JobPage, Part, show
from galleyproof.web.record import moment
from galleyproof.web.standing import look

routes = APIRouter()
Site = Annotated[Who, Depends(Needs(Right.SITE))]
Measure = Annotated[Who, Depends(Needs(Right.MEASURE))]
Words = Annotated[str, Form(max_length=MOST_WORDS)]
Many = Annotated[list[str], Form(max_length=MOST_TAKEN + 1)]


@dataclass(frozen=True, slots=True)
class Seen:
    """One thing in the log that the search takes.

    Attributes:
        id: Of its entry.
        words: What was read or noticed.
        value: The reading; empty for a complaint.
        expected: What it reads on the right wiring; empty for a complaint.
        beyond: Whether it is out of tolerance.
        by: Who read it.
        at: When, by their device.
        place: Place in the plan, from 1; None outside it.
        key: Key of the probe.
    """

    id: str
    words: str
    value: str
    expected: str
    beyond: bool
    by: str
    at: str
    place: int | None
    key: str


@dataclass(frozen=True, kw_only=True)
class DiagnosisPage(Weighed, JobPage):
    """What the log says, or a call."""

    template: ClassVar[str] = "diagnosis.html"
    here: ClassVar[str] = "diagnosis"
    ready: bool
    problems: tuple[Problem, ...]
    fault: str
    save: int
    call: bool
    seen: tuple[Seen, ...]
    within: int
    sentences: tuple[str, ...]
    offered: tuple[tuple[str, str], ...]


@dataclass(frozen=True, kw_only=True)
class CallPart(Weighed, Part):
    """What was said in a call, what it says, and what to ask for next."""

    template: ClassVar[str] = "_call.html"
    job: Head
    save: int
    lines: tuple[Line, ...]
    skipped: tuple[str, ...]
    include: bool
    of_log: int
    problem: str
    typed: str
    read: str
    choices: tuple[str, ...]
    asked: Asked | None


@routes.get("/jobs/{job}/diagnosis")
def diagnosis(request: Request, here: Here, job: int, who: Site, call: bool = False) -> HTMLResponse:
    """The page."""
    with here.db.session(reads=True) as session:
        head = job_head(session, job)
    standing = look(here, job, CHECKED_OUT)
    book: Book = standing.result or Book()
    there = None
    if book.written and standing.shown is not None:
        there = checked(here, job, standing.shown.number)
    state = there.state if there is not None else None
    taken = () if call or state is None else state.observations
    told = None
    if there is not None and there.book is not None:
        if taken:
            told = here.desk.ask(there.save.sha256, there.save.text, there.book, Question(taken))
        else:
            here.desk.prepare(there.save.sha256, there.save.text, there.book)
    listed = causes_of(there.open, told) if there is not None and state is not None else ()
    asked = (
        asked_of(there.open, told.probe, told.here) if there is not None and told is not None and told.probe else None
    )
    seen = () if call or state is None else _seen(state)
    return show(
        request,
        DiagnosisPage(
            title="Diagnosis",
            job=head,
            standing=standing.standing,
            ready=state is not None,
            problems=book.problems,
            fault=book.words,
            save=there.save.number if there is not None else 0,
            call=call,
            seen=tuple(s for s in seen if s.beyond),
            within=sum(not s.beyond for s in seen),
            causes=listed,
            shown=likely(listed),
            fits=told is None or told.fits,
            sure=told is not None and told.sure,
            next_key=asked.key if asked is not None else "",
            next_words=asked.words if asked is not None else "",
            next_first=asked.first if asked is not None else "",
            on_site=False,
            asks=False,
            sentences=sentences(book) if call and book.written else (),
            offered=tuple(probes_offered(there.open)) if call and state is not None and there is not None else (),
        ),
    )


def _seen(state: State) -> tuple[Seen, ...]:
    """What the search takes from the log, complaints and readings out of tolerance among it."""
    from galleyproof.checkout.diagnosis import where

    book = state.book
    found = []
    for entry, observed in state.taken:
        if observed.text:
            found.append(Seen(entry.id, entry.read, "", "", True, entry.by, moment(entry.taken_at), None, ""))
            continue
        index, reading = observed.either[0]
        probe = book.checkout.probes[index]
        expected = expected_of(book, probe.key)
        place = book.place_in_plan.get(probe.key)
        words = where(probe)
        found.append(
            Seen(
                entry.id,
                words,
                said(probe.kind, reading),
                said_range(probe, expected),
                not expected.holds(reading),
                entry.by,
                moment(entry.taken_at),
                None if place is None else place + 1,
                probe.key,
            )
        )
    return tuple(found)


@routes.post("/jobs/{job}/diagnosis/call")
def call(
    request: Request,
    here: Here,
    job: int,
    who: Site,
    taken: Many = [],  # noqa: B006  a form's default, never changed
    skipped: Many = [],  # noqa: B006
    include: Annotated[bool, Form()] = False,
    complaint: Words = "",
    probe: Words = "",
    read: Words = "",
    asked: Words = "",
    answer: Words = "",
    drop: Annotated[int, Form(ge=-1, le=MOST_TAKEN)] = -1,
    skip: Words = "",
    save: SaveNumber = None,
) -> HTMLResponse:
    """One more thing said, one taken back, or a question that cannot be answered; nothing is stored."""
    there = checked(here, job, save)
    book = there.open
    known = list(read_taken(taken))
    out = [*skipped[:MOST_TAKEN], *([skip] if skip else [])]
    problem = typed = given = ""
    choices: tuple[str, ...] = ()
    if 0 <= drop < len(known):
        del known[drop]
    try:
        for one in _said(complaint, asked, answer, skip):
            observation(book, one)
            known.append(one)
        if probe and not skip:
            typed, given = probe, read
            found = as_taken(book, probe, read)
            if isinstance(found, Taken):
                observation(book, found)
                known.append(found)
                typed = given = ""
            else:
                choices = found
    except GalleyproofError as error:
        problem = str(error)
    return show(request, _call_part(here, there, known, out, include, problem, typed, given, choices))


def _said(complaint: str, asked: str, answer: str, skip: str) -> list[Taken]:
    found = []
    if complaint.strip():
        found.append(Taken("", complaint.strip()))
    if asked and answer.strip() and not skip:
        found.append(Taken(asked, answer.strip()))
    return found


def _call_part(
    office: Office,
    there: Checked,
    known: list[Taken],
    skipped: list[str],
    include: bool,
    problem: str,
    typed: str,
    read: str,
    choices: tuple[str, ...],
) -> CallPart:
    state, book = there.known(), there.open
    with office.db.session(reads=True) as session:
        head = job_head(session, there.save.job_id)
    of_log = state.observations if include else ()
    told = None
    try:
        everything = (*of_log, *(observation(book, t) for t in known))
    except GalleyproofError as error:
        raise CallError(f"{error}; begin the call again") from error
    if there.book is not None and everything:
        question = Question(everything, frozenset(skipped))
        told = office.desk.ask(there.save.sha256, there.save.text, there.book, question)
    listed = causes_of(book, told)
    asked = asked_of(book, told.probe, told.here) if told is not None and told.probe else None
    return CallPart(
        job=head,
        save=there.save.number,
        lines=tuple(line_of(book, t) for t in known),
        skipped=tuple(skipped),
        include=include,
        of_log=len(state.observations),
        problem=problem,
        typed=typed,
        read=read,
        choices=choices,
        causes=listed,
        shown=likely(listed),
        fits=told is None or told.fits,
        sure=told is not None and told.sure,
        next_key="",
        next_words="",
        next_first="",
        on_site=False,
        asks=asked is not None,
        asked=asked,
    )


@routes.post("/jobs/{job}/diagnosis/write")
def write(
    here: Here,
    job: int,
    who: Measure,
    taken: Many = [],  # noqa: B006  a form's default, never changed
    told_by: Annotated[str, Form(max_length=80)] = "",
    save: SaveNumber = None,
) -> Response:
    """Write what was said in a call to the check-out's log, as asked."""
    there = checked(here, job, save)
    known = read_taken(taken)
    for one in known:
        observation(there.open, one)
    by = " ".join(told_by.split())
    if not by:
        raise CallError("say who read it: the log names who took each reading")
    _add(here, job, who, there, [(t.probe or COMPLAINT, t.said, None) for t in known], f"{by}, by phone")
    return Response(status_code=204, headers={"hx-redirect": f"/jobs/{job}/diagnosis"})


@routes.post("/jobs/{job}/diagnosis/notice")
def notice(here: Here, job: int, who: Measure, complaint: Words = "", save: SaveNumber = None) -> RedirectResponse:
    """Something somebody noticed, to the log."""
    there = checked(here, job, save)
    observation(there.open, Taken("", complaint.strip()))
    _add(here, job, who, there, [(COMPLAINT, complaint.strip(), None)], who.name)
    return RedirectResponse(f"/jobs/{job}/diagnosis", 303)


@routes.post("/jobs/{job}/diagnosis/take-back")
def take_back(here: Here, job: int, who: Measure, entry: Annotated[str, Form(max_length=64)]) -> RedirectResponse:
    """Take an entry back by another one that names it; both stay in the log."""
    there = checked(here, job, None)
    own = next((e for e in there.entries if e.id == entry), None)
    if own is None:
        raise NotFoundError("this log has no such entry; load the page again")
    _add(here, job, who, there, [(own.probe, "", own)], who.name)
    return RedirectResponse(f"/jobs/{job}/diagnosis", 303)


def _add(
    office: Office, job: int, who: Who, there: Checked, said: list[tuple[str, str, Entry | None]], by: str
) -> None:
    """Entries of the office itself: its device is made of its key, its numbers go on."""
    device = sha256(f"office {office.key}".encode()).hexdigest()[:32]
    last = max((e.sequence for e in there.entries if e.device == device), default=0)
    name = " ".join(there.open.job_name.split())[:120].strip() or "job"
    entries = [
        Entry(
            id=secrets.token_hex(16),
            job=there.print if other is None else other.job,
            job_name=name,
            probe=probe,
            read=read,
            taken_at=now().isoformat(timespec="seconds"),
            sequence=last + n,
            device=device,
            by=by[:120],
            replaces=None if other is None else other.id,
        )
        for n, (probe, read, other) in enumerate(said, 1)
    ]
    with office.db.session() as session:
        add_readings(session, who, job, entries)
