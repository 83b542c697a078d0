"""The field sheet of a job's text. Runs in the calculator's process."""

from __future__ import annotations

from dataclasses import dataclass

from galleyproof.errors import CircuitError, GalleyproofError, InputError
from galleyproof.web.work import Progress

__all__ = ["FieldSheet", "made"]


@dataclass(frozen=True, slots=True)
class FieldSheet:
    """One file that needs no network.

    Attributes:
        page: Its text; empty when there is none.
        why: Why there is none.
    """

    page: str = ""
    why: str = ""


def made(text: str, progress: Progress) -> FieldSheet:
    """Simulate every slip at every probe and put everything into one file."""
    from galleyproof.design.build import build_design
    from galleyproof.fieldsheet.whole import compute, write_sheet
    from galleyproof.job.read import read_job
    from galleyproof.library.reader import load_library
    from galleyproof.sizing.whole_job import size

    library = load_library()
    try:
        job = read_job(text, "job")
        design = build_design(job)
        try:
            sizes = size(job, design, library)
        except GalleyproofError:
            sizes = None  # the drawings say so
        computed = compute(
            job, design, library, sizes, lambda n, of: progress(0.9 * n / max(of, 1), f"slip {n:,} of {of:,}")
        )
    except InputError as error:
        return FieldSheet(why=f"{error.problems[0]}")
    except CircuitError as error:
        return FieldSheet(why=" ".join(str(error).split()))
    progress(0.95, "the page")
    return FieldSheet(write_sheet(job, text, computed))
