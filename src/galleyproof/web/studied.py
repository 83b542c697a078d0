"""Slips, the changes that take them away, and the sequence, computed for their pages in a process of its own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from galleyproof.design.build import build_design
from galleyproof.drawing.model import Drawing
from galleyproof.errors import InputError, Problem
from galleyproof.job.model import OwnPromise
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.package.facts import Facts
from galleyproof.package.model import Block
from galleyproof.package.sequence import matrix, sequence
from galleyproof.package.simulated import Simulated
from galleyproof.proof.advice import Bought, advise
from galleyproof.proof.model import Verdict
from galleyproof.proof.study import Study, study
from galleyproof.web.computed import NAME, reviewed
from galleyproof.web.situations import Asked, asked_of
from galleyproof.web.work import Progress

__all__ = ["Advised", "Sequenced", "Studied", "advised", "sequenced", "studied"]


@dataclass(frozen=True, slots=True)
class Studied:
    """Every slip of a job, or what is wrong with its text.

    Attributes:
        study: The study; None when the text cannot be taken.
        problems: What is wrong with it.
        ways: Situation in which a slip first breaks a promise -> the choices that bring a live drawing there.
    """

    study: Study | None
    problems: tuple[Problem, ...] = ()
    ways: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Advised:
    """Changes of a job that take hidden slips away, each tried."""

    bought: tuple[Bought, ...]


@dataclass(frozen=True, slots=True)
class Sequenced:
    """What a job does in every state, and its promises over the grid.

    Attributes:
        states: State table, set-points, ownership.
        causes: Cause-and-effect matrix.
        verdicts: One per promise.
        situations: Looked at. [-]
        ways: Failing situation -> the choices that bring a live drawing there.
        own: The job's own rows.
        problems: What is wrong with the text; everything else is then empty.
    """

    states: tuple[Block, ...] = ()
    causes: tuple[Block, ...] = ()
    verdicts: tuple[Verdict, ...] = ()
    situations: int = 0
    ways: tuple[tuple[str, Asked], ...] = ()
    own: tuple[OwnPromise, ...] = ()
    problems: tuple[Problem, ...] = ()


def studied(text: str, progress: Progress) -> Studied:
    """Try every slip in every situation."""
    try:
        job = read_job(text, NAME)
        design = build_design(job)
    except InputError as error:
        return Studied(None, error.problems)
    done = study(job, design, load_library(), progress=lambda n, of: progress(n / max(of, 1), f"{n:,} of {of:,} slips"))
    names = dict.fromkeys(o.broken[0].situation for o in done.outcomes if o.broken)
    ways = {n: a.query for n in names if (a := asked_of(job, n)) is not None}
    return Studied(done, (), ways)


def advised(text: str, progress: Progress) -> Advised:
    """Try every change that fits the job."""
    try:
        job = read_job(text, NAME)
        design = build_design(job)
    except InputError:
        return Advised(())
    library = load_library()
    done = study(job, design, library, progress=lambda n, of: progress(0.3 * n / max(of, 1), "the job as it is"))
    tried = advise(job, library, done, progress=lambda n, of: progress(0.3 + 0.6 * n / max(of, 1), "with a change"))
    return Advised(tried)


def sequenced(text: str, progress: Progress) -> Sequenced:
    """Simulate every state and judge every promise."""
    seen = reviewed(text, progress)
    if seen.review is None:
        return Sequenced(problems=seen.problems)
    papers, proof, library = seen.review.papers, seen.review.proof, load_library()
    facts = Facts(
        papers.job,
        papers.design,
        library,
        papers.sizes,
        papers.air,
        proof,
        Drawing("", ()),
        study=None,
        plan=None,
        slips={},
        failed=(),
        issued=False,
    )
    on = Simulated(papers.job, papers.design, library)
    names = dict.fromkeys(f.situation for v in proof.verdicts for f in v.failures)
    ways = tuple((n, a) for n in names if (a := asked_of(papers.job, n)) is not None)
    return Sequenced(
        sequence(facts, on).blocks,
        tuple(matrix(on)),
        proof.verdicts,
        proof.situations,
        ways,
        papers.job.promises,
    )
