"""Findings of a job beside the entries they are about, and the change that would clear them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from galleyproof.errors import GalleyproofError
from galleyproof.findings import Finding, Severity
from galleyproof.web.lineup.plan import section_of
from galleyproof.web.lineup.text import Text
from galleyproof.web.lineup.view import path_name
from galleyproof.web.work import Progress
from galleyproof.yamltext import Path
from galleyproof.yamltext.tree import Raw, label_of

__all__ = ["Cured", "Placed", "Proposed", "by_weight", "counted", "cured", "place_of", "placed"]

WORD = re.compile(r"[A-Za-z][A-Za-z0-9]*(?:[-/.][A-Za-z0-9]+)*")


@dataclass(frozen=True, slots=True)
class Placed:
    """A finding with the entry of the job it is about.

    Attributes:
        finding: The finding.
        clauses: What it rests on, in one line.
        section: Section of the line-up; empty where it is about nothing that stands there.
        entry: Place of the entry.
    """

    finding: Finding
    clauses: str
    section: str
    entry: str


def placed(findings: Iterable[Finding], text: Text) -> tuple[Placed, ...]:
    """Findings with their places, the weightiest first."""
    from galleyproof.package.words import clauses

    tags = _entries(text.tree)
    found = []
    for f in by_weight(findings):
        path = place_of(f.item, tags)
        section = section_of(str(path[0])).key if path else ""
        found.append(Placed(f, clauses(f.basis), section, path_name(path)))
    return tuple(found)


def by_weight(findings: Iterable[Finding]) -> list[Finding]:
    """Errors, then warnings, then notes; else in the order they come."""
    order = list(Severity)
    return sorted(findings, key=lambda f: order.index(f.severity))


def counted(findings: Iterable[Finding]) -> str:
    """``1 error, 2 notes``."""
    found = list(findings)
    numbers = {str(s): sum(f.severity is s for f in found) for s in Severity}
    return ", ".join(f"{n} {name}{'' if n == 1 else 's'}" for name, n in numbers.items() if n) or "no findings"


def place_of(item: str, tags: dict[str, Path]) -> Path:
    """Place of what a finding is about: the entry of its tag, or of the first tag in its words."""
    if item in tags:
        return tags[item]
    return next((tags[word] for word in WORD.findall(item) if word in tags), ())


def _entries(tree: Raw) -> dict[str, Path]:
    """Every entry by its tag; a part of an entry with a tag of its own leads to the entry."""
    found: dict[str, Path] = {}
    if not isinstance(tree, dict):
        return found
    for key, value in tree.items():
        if isinstance(value, list):
            for n, entry in enumerate(value):
                for tag in _tags(entry):
                    found.setdefault(tag, (key, n))
        elif isinstance(value, dict):
            for tag in _tags(value):
                found.setdefault(tag, (key,))
        found.setdefault(key, (key,))
    return found


def _tags(tree: Raw) -> list[str]:
    if isinstance(tree, dict):
        own = [label_of(tree)] if label_of(tree) else []
        return own + [t for v in tree.values() for t in _tags(v)]
    return [t for v in tree for t in _tags(v)] if isinstance(tree, list) else []


# --- cures --------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Proposed:
    """One value that would change."""

    where: str
    stands: str
    shall: str
    why: str


@dataclass(frozen=True, slots=True)
class Cured:
    """The smallest change found that clears the findings.

    Attributes:
        changes: Values to change; none where nothing is to clear or nothing is known.
        text: The job so changed, its comments and layout kept.
        cleared: Findings that are gone then.
        left: Findings that stay, each with the reason.
        tried: Changed jobs that were judged. [-]
        smallest: Whether no smaller change that the rules know of suffices.
        groups: Groups of findings that no change connects. [-]
        problem: Why there is no answer; empty with one.
    """

    changes: tuple[Proposed, ...] = ()
    text: str = ""
    cleared: tuple[Finding, ...] = ()
    left: tuple[tuple[Finding, str], ...] = ()
    tried: int = 0
    smallest: bool = False
    groups: int = 0
    problem: str = ""


def cured(text: str, progress: Progress) -> Cured:
    """Look for the smallest change that clears all errors and warnings of a job."""
    from galleyproof.job.write import update_text
    from galleyproof.library.reader import load_library
    from galleyproof.review.edits import at, place_words, value_words
    from galleyproof.review.search import MAX_PAPERS, find_cure
    from galleyproof.web.computed import reviewed

    before = reviewed(text, lambda share, words: progress(0.2 * share, words))
    if before.review is None:
        return Cured(problem="the job has mistakes that come first; the line-up lists them")
    try:
        found = find_cure(
            before.review,
            load_library(),
            progress=lambda n: progress(0.2 + 0.8 * min(1.0, n / MAX_PAPERS), f"{n} changed jobs judged"),
        )
        changed = update_text(text, found.job) if found.changes else ""
    except GalleyproofError as error:
        return Cured(problem=str(error))
    job = before.review.job
    rows = tuple(
        Proposed(
            place_words(job, c.edit.path),
            value_words(c.edit.path, at(job, c.edit.path)),
            value_words(c.edit.path, c.edit.value),
            c.why,
        )
        for c in found.changes
    )
    left = tuple((x.finding, x.why) for x in found.left)
    return Cured(rows, changed, found.cleared, left, found.tried, found.smallest, found.groups)
