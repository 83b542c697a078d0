"""Every finding of a job: of its design, its proof, its sizes and its air."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from galleyproof.air.job_air import check_air
from galleyproof.air.model import AirReport
from galleyproof.design.model import Design
from galleyproof.findings import Finding, Severity
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.proof.model import Proof
from galleyproof.proof.prove import prove
from galleyproof.sizing.model import Sizes
from galleyproof.sizing.whole_job import size

__all__ = ["Library", "Papers", "Review", "once", "papers_of", "review", "simulated", "weighty"]

Library = Mapping[str, DeviceType]


@dataclass(frozen=True)
class Papers:
    """A job seen by every rule that needs no simulation.

    Attributes:
        job: The job.
        design: Its design.
        sizes: Everything electrical that has a size.
        air: Its air side.
        findings: Theirs, each once.
    """

    job: Job
    design: Design
    sizes: Sizes
    air: AirReport
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Review:
    """A job seen by every rule.

    Attributes:
        papers: What needs no simulation.
        proof: Its promises over the grid of situations.
        findings: All findings, each once: of design and proof, then of sizes and air.
    """

    papers: Papers
    proof: Proof
    findings: tuple[Finding, ...]

    @property
    def job(self) -> Job:
        """The job."""
        return self.papers.job

    @property
    def sizes(self) -> Sizes:
        """Everything electrical that has a size."""
        return self.papers.sizes

    @property
    def air(self) -> AirReport:
        """Its air side."""
        return self.papers.air


def papers_of(job: Job, design: Design, library: Library) -> Papers:
    """Ask every rule that needs no simulation.

    Raises:
        GalleyproofError: A rule that cannot take the job at all; the message gives place and cure.
    """
    sizes, air = size(job, design, library), check_air(job)
    return Papers(job, design, sizes, air, once((*design.findings, *sizes.findings, *air.findings)))


def simulated(
    papers: Papers, library: Library, *, progress: Callable[[int, int], None] | None = None
) -> tuple[Proof, tuple[Finding, ...]]:
    """The proof, and all findings.

    Raises:
        CircuitError: The network has no solution.
    """
    proof = prove(papers.job, papers.design, library, progress=progress)
    return proof, once((*proof.findings, *papers.findings))


def review(job: Job, design: Design, library: Library, *, progress: Callable[[int, int], None] | None = None) -> Review:
    """Ask every rule about a job.

    Args:
        job: The job.
        design: Its design.
        library: Device types by name.
        progress: Told (situations done, situations in all) now and then.

    Raises:
        GalleyproofError: A rule that cannot take the job at all; the message gives place and cure.
    """
    papers = papers_of(job, design, library)
    proof, findings = simulated(papers, library, progress=progress)
    return Review(papers, proof, findings)


def weighty(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Errors and warnings."""
    return tuple(f for f in findings if f.severity is not Severity.NOTE)


def once(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Two rules that say the same of the same item are heard once, the first of them."""
    seen: dict[tuple[str, str, str], Finding] = {}
    for f in findings:
        seen.setdefault((f.code, f.item, f.message), f)
    return tuple(seen.values())
