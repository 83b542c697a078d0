"""Earlier revisions of a job, and what the newest one changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from galleyproof.design.difference import difference
from galleyproof.design.model import Design
from galleyproof.drawing.paper import Revision
from galleyproof.drawing.revision import Changed, changes_of, counts
from galleyproof.errors import GalleyproofError
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.sizing.whole_job import size, with_sizes


@dataclass(frozen=True, slots=True)
class History:
    """What came before.

    Attributes:
        rows: Of the revision table, oldest first, this revision last; empty when nothing came before.
        changes: Conductors that this revision changed.
        renumbered: How many have another number than in the last revision. [-]
    """

    rows: tuple[Revision, ...] = ()
    changes: tuple[Changed, ...] = ()
    renumbered: int = 0


NO_HISTORY = History()


def history(
    job: Job, design: Design, previous: Sequence[tuple[Job, Design]], library: Mapping[str, DeviceType]
) -> History:
    """The revision table and the changes of the newest revision.

    Args:
        job: The newest revision.
        design: Its design, in its sizes.
        previous: Earlier ones, oldest first, at least one.
        library: Device types.
    """
    chain = [*((j, _sized(j, d, library)) for j, d in previous), (job, design)]
    rows = []
    for i, (one, its_design) in enumerate(chain):
        words = "first issue" if i == 0 else _words(chain[i - 1][1], its_design)
        rows.append(Revision(one.job.revision, one.job.date or "", words))
    last = difference(chain[-2][1], design)
    return History(tuple(rows), changes_of(last), len(last.renumbered))


def _words(old: Design, new: Design) -> str:
    """What changed, in a line of the revision table."""
    found = difference(old, new)
    said = counts(changes_of(found))
    if said != "none":
        return f"conductors: {said}"
    return "no conductor changed" if found.empty else "no conductor added, removed, re-landed or re-sized"


def _sized(job: Job, design: Design, library: Mapping[str, DeviceType]) -> Design:
    try:
        return with_sizes(design, size(job, design, library))
    except GalleyproofError:
        return design
