"""The set to be issued, and what stands against it. Runs in the calculator's processes, the check beside a page too."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from typing import TYPE_CHECKING

from galleyproof.errors import InputError, Problem
from galleyproof.web.work import Progress, link_and_text

if TYPE_CHECKING:
    from galleyproof.review.whole import Review

__all__ = ["Ready", "against", "ready"]

STEPS = ("sizes", "air side", "promises", "drawings", "silent faults", "check-out sheet", "documents")
MANIFEST = "manifest.json"


@dataclass(frozen=True, slots=True)
class Ready:
    """A set that can be issued, or why it cannot.

    Attributes:
        files: Name -> content; empty when it cannot be issued.
        revision: As the job calls it.
        against: What stands against it.
        problems: What is wrong with the text, with its lines.
    """

    files: Mapping[str, bytes] = field(default_factory=dict)
    revision: str = ""
    against: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()

    @property
    def sha256(self) -> str:
        """Of the manifest, which holds the hash of every file."""
        return sha256(self.files.get(MANIFEST, b"")).hexdigest()

    @property
    def sizes(self) -> tuple[tuple[str, int], ...]:
        """Name and size of every file. [byte]."""
        return tuple((name, len(content)) for name, content in self.files.items())


def ready(given: str, progress: Progress) -> Ready:
    """Compute everything a set holds; nothing but the reasons when something stands against it."""
    from galleyproof.design.build import build_design
    from galleyproof.job.read import read_job
    from galleyproof.library.reader import load_library
    from galleyproof.package.facts import blockers, gather
    from galleyproof.package.whole import make_package

    def told(words: str) -> None:
        progress((STEPS.index(words) if words in STEPS else 0) / len(STEPS), words)

    link, text = link_and_text(given)
    try:
        job = read_job(text, "job")
        design = build_design(job)
    except InputError as error:
        return Ready(problems=error.problems)
    # the quick rules first: they say no in seconds, where the wiring mistakes take minutes
    early = blockers(gather(job, design, load_library(), issued=True, told=told))
    if early:
        return Ready(against=early)
    facts = gather(job, design, load_library(), whole=True, issued=True, told=told)
    late = blockers(facts)
    if late:
        return Ready(against=late)
    told("documents")
    return Ready(make_package(facts, text.encode(), link), job.job.revision)


def against(review: Review) -> tuple[str, ...]:
    """What stands against issuing a job, as far as proof, sizes, air and findings say."""
    from galleyproof.drawing.model import Drawing
    from galleyproof.package.facts import Facts, blockers

    papers = review.papers
    nothing = Drawing("", ())
    return blockers(
        Facts(papers.job, papers.design, {}, papers.sizes, papers.air, review.proof, nothing, None, None, {}, (), True)
    )
