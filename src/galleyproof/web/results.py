"""Sizes, air and the year of a job for their pages. Runs in the calculator's processes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from galleyproof.errors import GalleyproofError, InputError, Problem
from galleyproof.web.computed import NAME
from galleyproof.web.work import Progress

if TYPE_CHECKING:
    from galleyproof.air.model import AirReport
    from galleyproof.sizing.model import Sizes

__all__ = ["Aired", "SizedJob", "Wire", "aired", "sized"]


@dataclass(frozen=True, slots=True)
class Aired:
    """The air side of a job, or what is wrong with its text."""

    report: AirReport | None
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class Wire:
    """What the table of conductors says of one besides its size.

    Attributes:
        number: On its label.
        ends: Both landings, in words.
        purpose: What it does.
        circuit: Circuit of the number that sizes it.
        length_ft: One way. [ft]
        made: ``factory`` or ``field``.
    """

    number: int
    ends: str
    purpose: str
    length_ft: float
    made: str


@dataclass(frozen=True, slots=True)
class SizedJob:
    """Everything electrical that has a size, or what is wrong with the text.

    Attributes:
        sizes: All sizes; None when the text cannot be taken.
        titles: What each group of numbers is about, by its circuit.
        wires: Conductors by key.
        problems: What is wrong.
    """

    sizes: Sizes | None
    titles: Mapping[str, str] = field(default_factory=dict)
    wires: Mapping[str, Wire] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()


def aired(text: str, progress: Progress) -> Aired:
    """The air check."""
    from galleyproof.air.job_air import check_air
    from galleyproof.job.read import read_job

    try:
        return Aired(check_air(read_job(text, NAME)))
    except InputError as error:
        return Aired(None, error.problems)
    except GalleyproofError as error:
        return Aired(None, (Problem(NAME, 0, "air", " ".join(str(error).split())),))


def sized(text: str, progress: Progress) -> SizedJob:
    """All sizes."""
    from galleyproof.design.build import build_design
    from galleyproof.job.read import read_job
    from galleyproof.library.reader import load_library
    from galleyproof.package.words import circuit_title
    from galleyproof.sizing.whole_job import size

    try:
        job = read_job(text, NAME)
        design = build_design(job)
        sizes = size(job, design, load_library())
    except InputError as error:
        return SizedJob(None, problems=error.problems)
    except GalleyproofError as error:
        return SizedJob(None, problems=(Problem(NAME, 0, "sizing", " ".join(str(error).split())),))
    circuits = {c.tag: circuit_title(job, c) for c in job.circuits}
    boards = {p.tag: f"{p.tag}: the panelboard and its feeder" for p in job.panelboards}
    panel = {job.panel.tag: f"{job.panel.tag}: the panel and its control power"}
    wires = {c.key: Wire(c.number, f"{c.a} to {c.b}", c.purpose, c.length_ft, c.made) for c in design.conductors}
    return SizedJob(sizes, {**boards, **circuits, **panel}, wires)
