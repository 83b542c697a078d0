"""What every operation of the interface for programs shares: its rule, its errors, the answer while it is computed."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import Depends, Query
from fastapi.responses import JSONResponse
from pydantic import AfterValidator, BaseModel, Field, StringConstraints

from galleyproof.errors import InputError
from galleyproof.store.jobs import Save, save_of
from galleyproof.store.people import Right, Who
from galleyproof.web.access import ProgramNeeds
from galleyproof.web.office import Office
from galleyproof.web.problems import MEDIA, ProblemLine, ProblemOut
from galleyproof.web.work import Kind
from galleyproof.yamltext import MAX_BYTES

__all__ = [
    "API",
    "ERRORS",
    "LATER",
    "Changer",
    "JobText",
    "LaterOut",
    "Line",
    "Measurer",
    "Reader",
    "Result",
    "SaveNumber",
    "Visitor",
    "computed",
    "whole_number",
]

API = "/api/v1"
PATIENCE_S = 1.0
"""How long a request waits for a result before it says that it is being computed. [s]"""

Reader = Annotated[Who, Depends(ProgramNeeds(Right.READ))]
Changer = Annotated[Who, Depends(ProgramNeeds(Right.EDIT))]
Visitor = Annotated[Who, Depends(ProgramNeeds(Right.SITE))]
Measurer = Annotated[Who, Depends(ProgramNeeds(Right.MEASURE))]


def _storable(text: str) -> str:
    """Text that every database takes."""
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        raise ValueError("holds half of a character; send UTF-8 text") from None
    if "\0" in text:
        raise ValueError("holds a zero byte; send plain text")
    return text


Line = Annotated[str, StringConstraints(max_length=400), AfterValidator(_storable)]
"""A text on one line."""
JobText = Annotated[
    str,
    StringConstraints(max_length=MAX_BYTES),
    AfterValidator(_storable),
    Field(description="The whole job as YAML 1.2, as a job file has it."),
]
SaveNumber = Annotated[
    int | None, Query(ge=1, le=10**9, description="Number of a save; without it the one that stands.")
]


class LaterOut(BaseModel):
    """It is being computed: ask again."""

    state: str = Field(description="waiting or running", examples=["running"])
    share: float = Field(description="How much is done, 0 to 1.")
    words: str = Field(description="What is being done.")
    save: int = Field(description="Number of the save it is computed from.")


class Result(BaseModel):
    """What every computed answer has."""

    save: int = Field(description="Number of the save it was computed from.")
    problems: list[ProblemLine] = Field(description="What is wrong with the text; then nothing could be computed.")


def _error(description: str) -> dict[str, Any]:
    return {"description": description, "content": {MEDIA: {"schema": {"$ref": "#/components/schemas/ProblemOut"}}}}


ERRORS: dict[int | str, dict[str, Any]] = {
    400: _error("A rule forbids it, or the body cannot be read."),
    401: _error("No token, or one that was never made, was revoked, or whose owner may not sign in."),
    403: _error("Not with this role; or, on a computer without accounts, from a page of another site."),
    404: _error("No such job, save or sheet."),
    413: _error("The body is too large."),
    422: _error("A parameter, the body or the job's text cannot be taken; what is wrong stands in it."),
    503: _error("The database did not take it, nothing was stored; or the calculation was cut off."),
}
"""What every operation may answer beside what it is for."""
LATER: dict[int | str, dict[str, Any]] = {
    202: {"model": LaterOut, "description": "It is being computed: ask again after the time in Retry-After."},
}
"""What an operation answers while its result is being computed."""

assert ProblemOut.__name__ == "ProblemOut"  # the name the references above go by


def whole_number(text: str | None) -> int | None:
    """The number of a save in an ``If-Match`` header: ``"3"``; None when there is none in it."""
    plain = (text or "").strip().removeprefix("W/").strip('"')
    return int(plain) if plain.isascii() and plain.isdigit() and len(plain) <= 9 else None


def computed(office: Office, job: int, number: int | None, kind: Kind) -> tuple[Save, Any]:
    """A save of a job and a result for it; a response instead of the result while there is none.

    Raises:
        NotFoundError: There is no such job or save.
        InputError: It cannot be computed; the message says why.
    """
    with office.db.session(reads=True) as session:
        save = save_of(session, job, number)
    answer = office.work.wait(
        kind, office.given(kind, job, save.text), PATIENCE_S, owner=job if number is None else None
    )
    if answer.done:
        return save, answer.result
    if answer.state == "failed":
        from galleyproof.errors import Problem

        raise InputError([Problem("job", 0, kind.words, answer.words)])
    later = LaterOut(state=answer.state, share=answer.share, words=answer.words, save=save.number)
    return save, JSONResponse(later.model_dump(), 202, headers={"retry-after": "1"})
