"""Every size of a whole job."""

from __future__ import annotations

from collections.abc import Mapping

from galleyproof.design.model import Design
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.sizing.model import Sizes
from galleyproof.sizing.steps import as_edition

__all__ = ["size"]


def size(job: Job, design: Design, library: Mapping[str, DeviceType]) -> Sizes:
    """Every size of a job, with its findings.

    Args:
        job: The job, read and checked.
        design: Its design.
        library: Device types by name, from ``load_library``.
    """
    return Sizes((), (), edition=as_edition(str(job.codes.nec)))
