"""Two saves of a job beside each other. Runs in the calculator's processes."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from galleyproof.errors import GalleyproofError, InputError, Problem
from galleyproof.web.work import Kind, Progress

if TYPE_CHECKING:
    from galleyproof.design.difference_words import Schedule
    from galleyproof.design.model import Design
    from galleyproof.drawing.model import Drawing
    from galleyproof.job.model import Job

__all__ = ["COMPARED", "Compared", "MarkedSheet", "compared", "pair"]

COMPARED = Kind("difference", f"{__name__}:compared", False, "what differs between two saves")

LONGEST = 300
"""Longest value shown. [character]"""


@dataclass(frozen=True, slots=True)
class MarkedSheet:
    """A sheet on which something changed, with its marks.

    Attributes:
        name: Part of its address: ``new-4.1``.
        of: ``changes``, ``old`` or ``new``.
        number: As the title block says it.
        title: What it shows.
        svg: The picture.
    """

    name: str
    of: str
    number: str
    title: str
    svg: str


@dataclass(frozen=True, slots=True)
class Compared:
    """What differs between two saves.

    Attributes:
        values: Place, old and new of every value of the job that was written otherwise; None when one of the texts
            cannot be taken apart.
        schedules: What differs between the designs, by kind.
        sheets: The sheets it is marked on.
        problems: Why there is no design of one of them, by which one it is.
        alike: Whether both are wired and set alike; None when there is no design of one of them.
    """

    values: tuple[tuple[str, str, str], ...] | None
    schedules: tuple[Schedule, ...] = ()
    sheets: tuple[MarkedSheet, ...] = ()
    problems: tuple[tuple[str, tuple[Problem, ...]], ...] = ()
    alike: bool | None = None


def pair(old: str, new: str) -> str:
    """Two texts as the one text that the calculation takes."""
    return json.dumps([old, new])


def compared(text: str, progress: Progress) -> Compared:
    """Values, designs and drawings of two texts beside each other."""
    from galleyproof.design.difference import difference
    from galleyproof.design.difference_words import schedules

    old, new = json.loads(text)
    values = _values(old, new)
    problems = []
    designs = []
    for which, one in (("old", old), ("new", new)):
        try:
            designs.append(_designed(one))
        except InputError as error:
            problems.append((which, error.problems))
    if problems:
        return Compared(values, problems=tuple(problems))
    progress(0.3, "conductors and devices")
    found = difference(designs[0][1], designs[1][1])
    if found.empty:
        return Compared(values, alike=True)
    progress(0.5, "marked drawings")
    return Compared(values, schedules(found), _sheets(designs[0], designs[1]), alike=False)


def _values(old: str, new: str) -> tuple[tuple[str, str, str], ...] | None:
    from galleyproof.web.lineup.merge import compare
    from galleyproof.web.lineup.text import read_text

    before, after = read_text(old), read_text(new)
    if not (before.tables and after.tables):
        return None
    rows = compare(before.tree, after.tree, before.tree)
    return tuple((row.where, _short(row.said("base")), _short(row.said("mine"))) for row in rows)


def _short(words: str) -> str:
    """As much of a value as a page has room for: whole devices and lists of issued numbers are long."""
    return words if len(words) <= LONGEST else f"{words[: LONGEST - 30]}... ({len(words):,} characters)"


def _designed(text: str) -> tuple[Job, Design]:
    """The job and its design, every conductor in its size where the rules can say it.

    Raises:
        InputError: The text cannot be taken.
    """
    from galleyproof.design.build import build_design
    from galleyproof.job.read import read_job
    from galleyproof.library.reader import load_library
    from galleyproof.sizing.whole_job import size, with_sizes

    job = read_job(text, "job")
    design = build_design(job)
    try:
        return job, with_sizes(design, size(job, design, load_library()))
    except InputError:
        raise
    except GalleyproofError:  # the conductors stand at their first size, as the command compares them
        return job, design


def _sheets(old: tuple[Job, Design], new: tuple[Job, Design]) -> tuple[MarkedSheet, ...]:
    from galleyproof.design.difference import difference
    from galleyproof.drawing.fonts import printable
    from galleyproof.drawing.paper import Revision, TitleBlock
    from galleyproof.drawing.revision import changes_of, list_of_changes, marked, sheets_by_key
    from galleyproof.drawing.sheets import draw_sheets
    from galleyproof.drawing.svg import write_svg
    from galleyproof.library.reader import load_library

    library = load_library()
    changes = changes_of(difference(old[1], new[1]))
    before: Drawing = marked(draw_sheets(*old, library=library), changes, old=True)
    after: Drawing = marked(draw_sheets(*new, library=library), changes, old=False)
    where = sheets_by_key(before, "old")
    for key, words in sheets_by_key(after, "new").items():
        where[key] = f"{where[key]}; {words}" if key in where else words
    identity = new[0].job
    revision = Revision(identity.revision, identity.date or "", f"changes since revision {old[0].job.revision}")
    block = TitleBlock(printable(identity.name), printable(identity.number), (revision,))
    listed = list_of_changes(changes, where, identity.sheet, block)
    return tuple(
        MarkedSheet(f"{of}-{s.number}", of, s.number, s.title, write_svg(s))
        for of, drawing in (("changes", listed), ("new", after), ("old", before))
        for s in drawing
    )
