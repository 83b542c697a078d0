"""From a job to its design."""

from __future__ import annotations

from galleyproof.design.builder import Builder
from galleyproof.design.model import Design
from galleyproof.design.recipes import recipes
from galleyproof.job.model import Issued, Job


def build_design(job: Job) -> Design:
    """All recipes on one job.

    Raises:
        DesignError: With everything that cannot be built as written.
    """
    builder = Builder(job)
    for _name, build in recipes():
        build(builder)
    return builder.finish()


def issue(job: Job, design: Design) -> Job:
    """The job with the numbers of its design written down, so that a later revision keeps them.

    Numbers of conductors that are gone stay reserved: a number once issued is never given to another.
    """
    kept = job.issued
    issued = Issued(
        conductors={**kept.conductors, **{c.key: c.number for c in design.conductors}},
        terminals={**kept.terminals, **{k: f"{t.device.split('-')[-1]}:{t.mark}" for k, t in design.landings.items()}},
        devices={**kept.devices, **design.names},
    )
    return job.model_copy(update={"issued": issued})
