"""All findings of jobs, of every rule, with progress shown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from galleyproof.cli.files import Loaded
from galleyproof.cli.proving import progress
from galleyproof.errors import GalleyproofError, Problem
from galleyproof.library.model import DeviceType
from galleyproof.review.whole import Review, review


def review_all(loaded: Sequence[Loaded], library: Mapping[str, DeviceType]) -> tuple[dict[str, Review], list[Problem]]:
    """The review of each job by its name, and what no rule can take."""
    reviews: dict[str, Review] = {}
    problems: list[Problem] = []
    with progress(len(loaded)) as tell:
        for done, one in enumerate(loaded):

            def told(at: int, of: int, done: int = done, name: str = one.name) -> None:
                tell(name, (done + at / of) / len(loaded))

            try:
                reviews[one.name] = review(one.job, one.design, library, progress=told)
            except GalleyproofError as error:
                problems.append(Problem(one.name, 0, "", " ".join(str(error).split())))
    return reviews, problems
