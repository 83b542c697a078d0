"""A changed job and what the rules say about it, asked only as far as anybody needs to know."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

from galleyproof.design.build import build_design
from galleyproof.errors import GalleyproofError, JobError
from galleyproof.findings import Finding
from galleyproof.job.read import check_job, read_job
from galleyproof.job.write import dump_job
from galleyproof.review.edits import Edit, applied
from galleyproof.review.whole import Library, Review, papers_of, simulated, weighty
from galleyproof.yamltext import Document

__all__ = ["Budget", "Change", "Key", "State", "key_of"]

Key: TypeAlias = tuple[str, str]
"""Code and item of a finding."""


@dataclass(frozen=True, slots=True)
class Change:
    """One value of the job that is proposed to change.

    Attributes:
        edit: Where, and what shall stand there.
        why: What it does.
    """

    edit: Edit
    why: str


@dataclass(slots=True)
class Budget:
    """What the search may still spend."""

    papers: int
    proofs: int
    places: Document
    tried: int = 0
    progress: Callable[[int], None] | None = None

    @property
    def spent(self) -> bool:
        """Whether it is used up."""
        return self.papers <= 0 or self.proofs <= 0


class State:
    """A changed job, judged as far as anybody asks: on paper at once, by simulation when that may decide."""

    def __init__(self, before: Review, library: Library, steps: tuple[Change, ...], budget: Budget) -> None:
        self.steps = steps
        self.job = before.job
        self._library, self._budget = library, budget
        self.valid = True
        self.papers = before.papers
        self._paper: tuple[Finding, ...] = ()
        self._known = weighty(before.findings) if not steps else None
        if not steps:
            self._paper = self._known or ()
            return
        budget.papers -= 1
        budget.tried += 1
        if budget.progress:
            budget.progress(budget.tried)
        try:
            self.job = applied(before.job, (s.edit for s in steps))
            if check_job(self.job, budget.places):
                raise LookupError("what the parts of the job say does not fit together")
            self.papers = papers_of(self.job, build_design(self.job), library)
        except (GalleyproofError, LookupError):
            self.valid = False
            return
        self._paper = weighty(self.papers.findings)

    def open(self, allowed: frozenset[Key], *, on_paper: bool = False) -> tuple[Finding, ...] | None:
        """What has to go yet; simulated only when nothing stands against it on paper. None: no such job is possible."""
        found = tuple(f for f in self._paper if key_of(f) not in allowed)
        if not found and not on_paper:
            found = tuple(f for f in self.findings if key_of(f) not in allowed)
        return found if self.valid else None

    @cached_property
    def can_be_written(self) -> bool:
        """Whether a file can say the job."""
        try:
            return read_job(dump_job(self.job)) == self.job
        except JobError:
            return False

    @cached_property
    def paper_keys(self) -> frozenset[Key]:
        """Findings that need no simulation, by code and item."""
        return frozenset(key_of(f) for f in weighty(self.papers.findings))

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """All errors and warnings."""
        if self._known is not None:
            return self._known
        if not self.valid:
            return ()
        self._budget.proofs -= 1
        try:
            _, findings = simulated(self.papers, self._library)
        except GalleyproofError:
            self.valid = False
            return ()
        return weighty(findings)

    @cached_property
    def keys(self) -> frozenset[Key]:
        """Findings by code and item."""
        return frozenset(key_of(f) for f in self.findings)


def key_of(f: Finding) -> Key:
    """What makes a finding the same one in a changed job: its message may tell other values."""
    return (f.code, f.item)
