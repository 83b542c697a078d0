"""Errors of the interface for programs, as RFC 9457 problem details."""

from __future__ import annotations

from http import HTTPStatus

from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field

from galleyproof.errors import Problem

__all__ = ["MEDIA", "ProblemLine", "ProblemOut", "problem", "problem_line"]

MEDIA = "application/problem+json"


class ProblemLine(BaseModel):
    """One thing wrong in a job's text."""

    line: int = Field(description="Line of the text, the first is 1; 0 when it is about the whole text.")
    where: str = Field(description="The item and its key, in words.")
    what: str = Field(description="What is wrong, what is allowed, how to cure it.")


class ProblemOut(BaseModel):
    """What went wrong (RFC 9457)."""

    type: str = "about:blank"
    title: str = Field(description="The name of the status, or what happened in a few words.")
    status: int
    detail: str = Field(description="Place, rule, value received and cure, as one text for people.")
    problems: list[ProblemLine] | None = Field(None, description="Of a job's text: everything wrong in it.")
    standing_text: str | None = Field(None, description="With 409: the text somebody else saved in the meantime.")
    standing_save: int | None = Field(None, description="With 409: the number of that save.")
    saved_by: str | None = Field(None, description="With 409: who saved it.")


def problem_line(one: Problem) -> dict[str, object]:
    """A problem of a text as the interface tells it."""
    return {"line": one.line, "where": one.where, "what": one.what}


def problem(status: int, title: str, detail: str, **more: object) -> JSONResponse:
    """The response that tells it."""
    body = {"type": "about:blank", "title": title or HTTPStatus(status).phrase, "status": status, "detail": detail}
    headers = {"www-authenticate": "Bearer"} if status == 401 else None
    return JSONResponse({**body, **more}, status_code=status, media_type=MEDIA, headers=headers)
