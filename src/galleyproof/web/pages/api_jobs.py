"""The interface for programs: jobs and their saves."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Header, Query, Response
from pydantic import BaseModel, Field

from galleyproof.errors import InputError
from galleyproof.store.errors import RefusedError
from galleyproof.store.jobs import Head, Save, add_job, archive_job, find_jobs, job_head, save_job, save_of, saves_of
from galleyproof.web.lineup.text import Text, read_text
from galleyproof.web.office import Here
from galleyproof.web.problems import ProblemLine
from galleyproof.web.program import API, ERRORS, Changer, JobText, Line, Reader, Visitor, whole_number

routes = APIRouter(prefix=API, tags=["jobs"], responses=ERRORS)


class JobOut(BaseModel):
    """A job as lists show it."""

    id: int
    name: str
    number: str = Field(description="The shop's job number.")
    revision: str
    save: int = Field(description="Number of the save that stands; it is the ETag too.")
    archived: bool
    saved_at: datetime
    saved_by: str


class JobsOut(BaseModel):
    """A page of the list of jobs, the last saved first."""

    jobs: list[JobOut]
    next_skip: int | None = Field(description="The skip of the next page; null on the last one.")


class WholeJobOut(JobOut):
    """A job with its text."""

    text: str
    sha256: str = Field(description="Of the text.")
    problems: list[ProblemLine] = Field(description="What is wrong with the text, if it is a draft.")


class SaveOut(BaseModel):
    """One save of a job."""

    number: int
    said: str
    undoes: int | None
    sha256: str
    made_at: datetime
    made_by: str


class WholeSaveOut(SaveOut):
    """One save with its text."""

    text: str


class NewJob(BaseModel):
    """A job to be added."""

    text: JobText
    said: Line = Field("added by a program", description="What it is, for the list of saves.")
    draft: bool = Field(False, description="Take a text with mistakes in it too.")


class NewSave(NewJob):
    """A text to be saved over the one that stands."""

    said: Line = Field("saved by a program", description="What was changed.")
    based_on: int | None = Field(
        None, ge=1, le=10**9, description="Number of the save the change was made from; or send it as If-Match."
    )


class Archived(BaseModel):
    """Whether a job is put away."""

    archived: bool


@routes.get("/jobs", summary="Find jobs")
def find(
    here: Here,
    _who: Visitor,
    words: Annotated[str, Query(max_length=400, description="Words that name or number hold, all of them.")] = "",
    archived: bool = False,
    limit: Annotated[int, Query(ge=1, le=200)] = 50,
    skip: Annotated[int, Query(ge=0, le=10**6)] = 0,
) -> JobsOut:
    """Jobs whose name or number holds all of some words."""
    with here.db.session(reads=True) as session:
        found = find_jobs(session, words, archived=archived, at_most=limit + 1, skip=skip)
    more = skip + limit if len(found) > limit and skip + limit <= 10**6 else None
    return JobsOut(jobs=[_job(head) for head in found[:limit]], next_skip=more)


@routes.post("/jobs", status_code=201, summary="Add a job")
def add(new: NewJob, here: Here, who: Changer, response: Response) -> WholeJobOut:
    """Store a new job from its text.

    A text with mistakes is refused with all of them, unless it is said to be a draft.
    """
    text = _taken(new)
    with here.db.session() as session:
        head = add_job(session, who, text.text, *text.titles(), new.said)
        save = save_of(session, head.id)
    response.headers["location"] = f"{API}/jobs/{head.id}"
    return _whole(head, save, text, response)


@routes.get("/jobs/{job}", summary="One job with its text")
def get(job: int, here: Here, _who: Reader, response: Response) -> WholeJobOut:
    """The job as it stands."""
    with here.db.session(reads=True) as session:
        head, save = job_head(session, job), save_of(session, job)
    return _whole(head, save, read_text(save.text), response)


@routes.put(
    "/jobs/{job}",
    summary="Save a job",
    responses={
        409: {**ERRORS[400], "description": "Somebody else saved first; standing_text is what stands now."},
        428: {**ERRORS[400], "description": "Neither If-Match nor based_on says which save the change was made from."},
    },
)
def save(
    job: int,
    new: NewSave,
    here: Here,
    who: Changer,
    response: Response,
    if_match: Annotated[str | None, Header(description='The ETag the change was made from: "3"')] = None,
) -> WholeJobOut:
    """Save a text over the one it was made from; nothing of anybody else is overwritten."""
    based_on = new.based_on if new.based_on is not None else whole_number(if_match)
    if based_on is None:
        from starlette.exceptions import HTTPException

        raise HTTPException(428, "say which save the change was made from: If-Match with the ETag, or based_on")
    text = _taken(new)
    with here.db.session() as session:
        head = job_head(session, job)
        save_job(session, who, job, text.text, based_on, *text.titles(head.name, head.number), new.said)
        session.expire_all()
        head, stored = job_head(session, job), save_of(session, job)
    return _whole(head, stored, text, response)


@routes.put("/jobs/{job}/archived", summary="Put a job away, or take it out again")
def archive(job: int, wanted: Archived, here: Here, who: Changer) -> JobOut:
    """An archived job stays as it is and is out of the list."""
    with here.db.session() as session:
        archive_job(session, who, job, wanted.archived)
        session.flush()
        session.expire_all()
        return _job(job_head(session, job))


@routes.get("/jobs/{job}/saves", summary="Every save of a job")
def saves(job: int, here: Here, _who: Reader) -> list[SaveOut]:
    """The newest first."""
    with here.db.session(reads=True) as session:
        job_head(session, job)
        found = saves_of(session, job)
    return [SaveOut.model_validate(_save(one)) for one in found]


@routes.get("/jobs/{job}/saves/{number}", summary="One save with its text")
def one_save(job: int, number: int, here: Here, _who: Reader) -> WholeSaveOut:
    """As it was saved."""
    with here.db.session(reads=True) as session:
        found = save_of(session, job, number)
    return WholeSaveOut.model_validate({**_save(found), "text": found.text})


def _taken(new: NewJob) -> Text:
    """The text, read.

    Raises:
        InputError: There are mistakes in it and it is not said to be a draft.
        RefusedError: It is empty.
    """
    if not new.text.strip():
        raise RefusedError("the text is empty; send the whole job")
    text = read_text(new.text)
    if text.problems and not new.draft:
        raise InputError(text.problems)
    return text


def _job(head: Head) -> JobOut:
    return JobOut.model_validate(_head(head))


def _head(head: Head) -> dict[str, object]:
    return {
        "id": head.id,
        "name": head.name,
        "number": head.number,
        "revision": head.revision,
        "save": head.head,
        "archived": head.archived,
        "saved_at": head.saved_at,
        "saved_by": head.saved_by,
    }


def _save(one: Save) -> dict[str, object]:
    return {
        "number": one.number,
        "said": one.said,
        "undoes": one.undoes,
        "sha256": one.sha256,
        "made_at": one.made_at,
        "made_by": one.made_by,
    }


def _whole(head: Head, save: Save, text: Text, response: Response) -> WholeJobOut:
    response.headers["etag"] = f'"{save.number}"'
    problems = [ProblemLine(line=p.line, where=p.where, what=p.what) for p in text.problems]
    return WholeJobOut.model_validate({**_head(head), "text": save.text, "sha256": save.sha256, "problems": problems})
