"""The package of a job as a draft, in one zip file. Runs in the calculator's processes."""

from __future__ import annotations

from dataclasses import dataclass

from galleyproof.errors import InputError, Problem
from galleyproof.web.work import Progress, link_and_text

__all__ = ["Packed", "packed", "packed_whole"]

STEPS = ("sizes", "air side", "promises", "drawings", "silent faults", "check-out sheet", "documents")


@dataclass(frozen=True, slots=True)
class Packed:
    """A package, or what is wrong with the job's text.

    Attributes:
        content: The zip file; empty when the text cannot be taken.
        problems: What is wrong with the text, with its lines.
    """

    content: bytes
    problems: tuple[Problem, ...] = ()


def packed(given: str, progress: Progress) -> Packed:
    """The package without the wiring mistakes."""
    return _packed(given, progress, whole=False)


def packed_whole(given: str, progress: Progress) -> Packed:
    """The package with every wiring mistake and the check-out sheet."""
    return _packed(given, progress, whole=True)


def _packed(given: str, progress: Progress, *, whole: bool) -> Packed:
    from galleyproof.design.build import build_design
    from galleyproof.job.read import read_job
    from galleyproof.library.reader import load_library
    from galleyproof.package.facts import gather
    from galleyproof.package.whole import make_package
    from galleyproof.store.issued import pack

    def told(words: str) -> None:
        progress((STEPS.index(words) if words in STEPS else 0) / len(STEPS), words)

    link, text = link_and_text(given)
    try:
        job = read_job(text, "job")
        design = build_design(job)
    except InputError as error:
        return Packed(b"", error.problems)
    facts = gather(job, design, load_library(), whole=whole, told=told)
    told("documents")
    return Packed(pack(make_package(facts, text.encode(), link)))
