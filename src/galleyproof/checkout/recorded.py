"""A recorded session: readings and complaints in a small YAML file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from galleyproof.checkout.beliefs import Observation
from galleyproof.checkout.complaints import ComplaintError, complaint
from galleyproof.checkout.model import Checkout
from galleyproof.checkout.words import ReadingError, understood
from galleyproof.errors import InputError, Problem
from galleyproof.yamltext import Words, collect, hint, load

Line = Annotated[str, Field(min_length=1, max_length=200)]


class Taken(BaseModel):
    """One reading: which probe, by its key, and what was read."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    probe: Line
    reading: Line


class Session(BaseModel):
    """A recorded session."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    readings_file: Literal[1] = 1
    job: Line | None = None
    meter: Line | None = None
    complaints: tuple[Line, ...] = ()
    readings: tuple[Taken, ...] = ()


def read_session(text: str | bytes, file: str, checkout: Checkout) -> tuple[Observation, ...]:
    """Observations of a recorded session, complaints first, in the order of the file.

    Args:
        text: The file.
        file: Its name, for messages.
        checkout: All possible probes of the job.

    Raises:
        InputError: With every problem of the file at once.
    """
    document = load(text, file)
    outcome = collect(document, Session, Words())
    problems = [*document.problems, *outcome.problems]
    if outcome.value is None or problems:
        raise InputError(problems)
    at = {p.key: i for i, p in enumerate(checkout.probes)}
    found: list[Observation] = []
    for n, said in enumerate(outcome.value.complaints):
        try:
            found.append(complaint(checkout, said))
        except ComplaintError as error:
            problems.append(Problem(file, document.line(("complaints", n)), f"complaint {n + 1}", str(error)))
    for n, taken in enumerate(outcome.value.readings):
        line = document.line(("readings", n))
        if taken.probe not in at:
            what = f"there is no probe {taken.probe!r} in this job{hint(taken.probe, at)}"
            problems.append(Problem(file, line, f"reading {n + 1}", what))
            continue
        index = at[taken.probe]
        try:
            found.append(Observation(((index, understood(checkout.probes[index], taken.reading)),)))
        except ReadingError as error:
            problems.append(Problem(file, line, f"reading {n + 1}", str(error)))
    if problems:
        raise InputError(problems)
    return tuple(found)
