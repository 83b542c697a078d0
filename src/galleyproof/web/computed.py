"""What the pages show, computed from a job's text. Runs in the calculator's processes.

What computes is loaded inside the functions: the server starts without it.
"""

from __future__ import annotations

import gc
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from galleyproof.errors import InputError, Problem
from galleyproof.web.work import Kind, Progress

if TYPE_CHECKING:
    from galleyproof.design.model import TerminalId
    from galleyproof.drawing.model import Sheet
    from galleyproof.review.whole import Review
    from galleyproof.web.situations import Choice, Preset

__all__ = [
    "ADVISED",
    "AIRED",
    "CHECKED_OUT",
    "CURED",
    "DRAWN",
    "FIELD_SHEET",
    "ISSUED",
    "PACKED",
    "PACKED_WHOLE",
    "RECORDED",
    "REVIEWED",
    "SEQUENCED",
    "SIZED",
    "STUDIED",
    "YEARED",
    "Drawn",
    "Reviewed",
    "SheetPicture",
    "drawn",
    "reviewed",
]

NAME = "job"
"""What messages call the text, since it is no file."""

REVIEWED = Kind("review", f"{__name__}:reviewed", False, "design, proof, sizes and air")
STUDIED = Kind("slips", "galleyproof.web.studied:studied", True, "every slip in every situation")
ADVISED = Kind("changes", "galleyproof.web.studied:advised", True, "changes that take hidden slips away")
SEQUENCED = Kind("sequence", "galleyproof.web.studied:sequenced", False, "sequence and promises")
DRAWN = Kind("drawings", f"{__name__}:drawn", False, "drawing sheets")
AIRED = Kind("air", "galleyproof.web.results:aired", False, "the air side")
SIZED = Kind("sizes", "galleyproof.web.results:sized", False, "design and sizes")
YEARED = Kind("year", "galleyproof.web.year:year_of", False, "the year in its weather")
CURED = Kind("cure", "galleyproof.web.lineup.findings:cured", True, "the smallest change that clears the findings")
PACKED = Kind("package", "galleyproof.web.packed:packed", True, "package", large=True, linked=True)
ISSUED = Kind("issue", "galleyproof.web.issuing:ready", True, "set to be issued", large=True, linked=True)
PACKED_WHOLE = Kind(
    "whole-package",
    "galleyproof.web.packed:packed_whole",
    True,
    "package with every wiring mistake",
    large=True,
    linked=True,
)
RECORDED = Kind("record", "galleyproof.web.record:recorded", False, "record of the check-out")
FIELD_SHEET = Kind("field-sheet", "galleyproof.web.field_sheet:made", True, "field sheet", large=True)
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
    """A drawn sheet.

    Attributes:
        number: As the title block says it.
        title: What it shows.
        svg: The picture.
        width_mm: Of the paper. [mm]
        height_mm: Of the paper. [mm]
        series: Title of its series.
        links: Areas that lead to other sheets: left, top, width, height [mm], the other sheet's number.
        subjects: Keys of conductors and tags of devices drawn on it.
        backwards: Keys of conductors whose line is drawn from their second landing to the first.
    """

    number: str
    title: str
    svg: str
    width_mm: float
    height_mm: float
    series: str = ""
    links: tuple[tuple[float, float, float, float, str], ...] = ()
    subjects: frozenset[str] = frozenset()
    backwards: frozenset[str] = frozenset()

    @property
    def number_of_series(self) -> int:
        """The part of its number that all sheets of its series share."""
        return int(self.number.partition(".")[0])


@dataclass(frozen=True, slots=True)
class Drawn:
    """All sheets of a job; none when its text cannot be taken.

    Attributes:
        sheets: In their order.
        problems: What is wrong with the text, with its lines.
        choices: What a live drawing may be asked for.
        presets: Situations people ask for by name.
    """

    sheets: tuple[SheetPicture, ...]
    problems: tuple[Problem, ...] = ()
    choices: tuple[Choice, ...] = ()
    presets: tuple[Preset, ...] = ()


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
    from galleyproof.web.situations import choices, presets

    try:
        job = read_job(text, NAME)
        design = build_design(job)
    except InputError as error:
        return Drawn((), error.problems)
    library = load_library()
    drawing = draw_sheets(job, design, size(job, design, library), library=library)
    first = {c.key: c.a for c in design.conductors}
    return Drawn(tuple(_picture(s, write_svg(s), first) for s in drawing.sheets), (), choices(job), presets(job))


def _picture(sheet: Sheet, svg: str, first: Mapping[str, TerminalId]) -> SheetPicture:
    ports = {(p.conductor, p.terminal): (p.x, p.y) for p in sheet.ports}
    backwards = set()
    for key, line in sheet.conductors.items():
        begins = ports.get((key, first[key])) if key in first else None
        (ax, ay), (bx, by) = line.points[0], line.points[-1]
        if begins is not None and math.dist(begins, (bx, by)) < math.dist(begins, (ax, ay)):
            backwards.add(key)
    links = tuple((k.x, k.y, k.width, k.height, k.sheet) for k in sheet.links)
    subjects = frozenset(i.subject for i in sheet.items if i.subject)
    turned = frozenset(backwards)
    return SheetPicture(
        sheet.number, sheet.title, svg, sheet.width, sheet.height, sheet.series, links, subjects, turned
    )
