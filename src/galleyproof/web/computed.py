"""What the pages show, computed from a job's text. Runs in the calculator's processes.

What computes is loaded inside the functions: the server starts without it.
"""

from __future__ import annotations

import gc
from dataclasses import dataclass
from typing import TYPE_CHECKING

from galleyproof.errors import InputError, Problem
from galleyproof.web.work import Kind, Progress

if TYPE_CHECKING:
    from galleyproof.review.whole import Review

__all__ = ["CHECKED_OUT", "DRAWN", "REVIEWED", "Drawn", "Reviewed", "SheetPicture", "drawn", "reviewed"]

NAME = "job"
"""What messages call the text, since it is no file."""

REVIEWED = Kind("review", f"{__name__}:reviewed", False, "design, proof, sizes and air")
DRAWN = Kind("drawings", f"{__name__}:drawn", False, "drawing sheets")
CHECKED_OUT = Kind("check-out", "galleyproof.web.book:checked_out", True, "check-out sheet")


@dataclass(frozen=True, slots=True)
class Reviewed:
    """A job seen by every rule, or what is wrong with its text.

    Attributes:
        review: Design, sizes, air, proof and findings; None when the text cannot be taken.
        problems: What is wrong with the text, with its lines.
    """

    review: Review | None
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class SheetPicture:
    """A drawn sheet."""

    number: str
    title: str
    svg: str
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class Drawn:
    """All sheets of a job; none when its text cannot be taken."""

    sheets: tuple[SheetPicture, ...]


def reviewed(text: str, progress: Progress) -> Reviewed:
    """Read, design, size and prove."""
    from galleyproof.design.build import build_design
    from galleyproof.job.read import read_job
    from galleyproof.library.reader import load_library
    from galleyproof.review.whole import review

    gc.disable()  # a design is many small objects that all live to the end
    try:
        job = read_job(text, NAME)
        design = build_design(job)
    except InputError as error:
        return Reviewed(None, error.problems)
    finally:
        gc.enable()
    done = review(job, design, load_library(), progress=lambda n, of: progress(n / max(of, 1), "promises"))
    return Reviewed(done)


def drawn(text: str, progress: Progress) -> Drawn:
    """Draw every sheet."""
    from galleyproof.design.build import build_design
    from galleyproof.drawing.sheets import draw_sheets
    from galleyproof.drawing.svg import write_svg
    from galleyproof.job.read import read_job
    from galleyproof.library.reader import load_library
    from galleyproof.sizing.whole_job import size

    try:
        job = read_job(text, NAME)
        design = build_design(job)
    except InputError:
        return Drawn(())
    library = load_library()
    drawing = draw_sheets(job, design, size(job, design, library), library=library)
    return Drawn(tuple(SheetPicture(s.number, s.title, write_svg(s), s.width, s.height) for s in drawing.sheets))
