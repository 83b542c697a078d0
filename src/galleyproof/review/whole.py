"""Every finding of a job: of its design, its proof and its sizes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from galleyproof.design.model import Design
from galleyproof.findings import Finding, Severity
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.proof.model import Proof
from galleyproof.proof.prove import prove
from galleyproof.sizing.model import Sizes
from galleyproof.sizing.whole_job import size

__all__ = ["Review", "once", "review", "weighty"]

Library = Mapping[str, DeviceType]


@dataclass(frozen=True)
class Review:
    """A job seen by every rule.

    Attributes:
        job: The job.
        design: Its design.
        proof: Its promises over the grid of situations.
        sizes: Everything electrical that has a size.
        findings: All findings, each once: of design and proof, then of the sizes.
    """

    job: Job
    design: Design
    proof: Proof
    sizes: Sizes
    findings: tuple[Finding, ...]


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
    sizes = size(job, design, library)
    proof = prove(job, design, library, progress=progress)
    return Review(job, design, proof, sizes, once((*proof.findings, *sizes.findings)))


def weighty(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Errors and warnings."""
    return tuple(f for f in findings if f.severity is not Severity.NOTE)


def once(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Two rules that say the same of the same item are heard once, the first of them."""
    seen: dict[tuple[str, str, str], Finding] = {}
    for f in findings:
        seen.setdefault((f.code, f.item, f.message), f)
    return tuple(seen.values())
