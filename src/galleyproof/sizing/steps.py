"""What the electrical rules add to a reasoning: clauses in the numbering of the adopted edition."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import cast

from galleyproof import reasoning
from galleyproof.errors import GalleyproofError
from galleyproof.findings import Citation
from galleyproof.reasoning import PRACTICE, Reasoned, Step, practice, remembered, rounded, shown
from galleyproof.tables.editions import NecEdition, check_edition, in_edition

__all__ = [
    "PRACTICE",
    "NecEdition",
    "Reasoned",
    "Reasoning",
    "SizingError",
    "Step",
    "as_edition",
    "listed",
    "nec",
    "practice",
    "remembered",
    "rounded",
    "shown",
]


class SizingError(GalleyproofError, ValueError):
    """Nothing fits, or an input no rule can take; the message gives the rule, the value and the cure."""


@lru_cache(maxsize=512)
def nec(place: str, edition: NecEdition = "2023", note: str = "") -> Citation:
    """A clause of NFPA 70 in the adopted edition.

    Args:
        place: Section or table, as the 2023 edition numbers it.
        edition: ``2020`` or ``2023``.
        note: What was departed from.

    Raises:
        TableError: Another edition.
    """
    numbered = in_edition(Citation("NFPA 70", "2023", place), edition)
    return Citation("NFPA 70", edition, numbered.place, note)


@dataclass(slots=True)
class Reasoning(reasoning.Reasoning):
    """Collects the steps of one number.

    Attributes:
        edition: Edition whose numbering the citations get.
    """

    edition: NecEdition = "2023"

    def __post_init__(self) -> None:
        check_edition(self.edition)

    def _cite(self, basis: tuple[Citation, ...]) -> tuple[Citation, ...]:
        return tuple(_in(c, self.edition) for c in basis)


def listed(items: Iterable[float], unit: str) -> str:
    """Several values of one unit in words."""
    return ", ".join(shown(float(v), unit) for v in items)


@lru_cache(maxsize=4096)
def _in(citation: Citation, edition: NecEdition) -> Citation:
    return in_edition(citation, edition)


def as_edition(edition: str) -> NecEdition:
    """An edition read from a job, checked.

    Raises:
        TableError: Not an edition that is carried.
    """
    check_edition(edition)
    return cast(NecEdition, edition)
