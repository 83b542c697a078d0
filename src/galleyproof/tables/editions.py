"""The same table under the number another edition of NFPA 70 gives it.

The tables of this package are those of the 2023 edition. For a job under the 2020 edition the figures are the
same as far as known, except where a look-up takes ``edition`` itself (standard ratings, small conductors);
only the numbers of two tables moved.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Literal, TypeAlias

from galleyproof.findings import Citation
from galleyproof.tables.reader import TableError

__all__ = ["EDITIONS", "NecEdition", "check_edition", "in_edition"]

NecEdition: TypeAlias = Literal["2020", "2023"]
EDITIONS: tuple[NecEdition, ...] = ("2020", "2023")

_PLACES_2020 = {
    "Table 310.15(B)(1)(1)": "Table 310.15(B)(1)",
    "Table 430.52(C)(1)": "Table 430.52",
}
_UNCHANGED = "figures of the 2023 edition, unchanged as far as known"


def check_edition(edition: str) -> None:
    """Refuse an edition whose differences are not known here.

    Raises:
        TableError: Not one of ``EDITIONS``.
    """
    if edition not in EDITIONS:
        raise TableError(f"edition={edition!r} of NFPA 70 is not known here; known: {', '.join(EDITIONS)}")


def in_edition(citation: Citation, edition: str) -> Citation:
    """The citation as the adopted edition numbers it; other standards come back as they are.

    Args:
        citation: From a look-up of this package.
        edition: ``2020`` or ``2023``.

    Raises:
        TableError: Another edition.
    """
    check_edition(edition)
    if citation.standard != "NFPA 70" or citation.edition == edition:
        return citation
    place = _PLACES_2020.get(citation.place, citation.place) if edition == "2020" else citation.place
    note = f"{citation.note}; {_UNCHANGED}" if citation.note else _UNCHANGED
    return replace(citation, edition=edition, place=place, note=note)
