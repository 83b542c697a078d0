"""What the search found, in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from galleyproof.web.desk import Found, Suspected

if TYPE_CHECKING:
    from galleyproof.web.book import OpenBook

__all__ = ["Cause", "Weighed", "causes_of", "likely"]

FAR = 0.05
"""A cause less likely than this stands behind a fold. [ratio]"""
MOST_OTHERS = 6
"""Slips of a group named one by one. [-]"""


@dataclass(frozen=True, slots=True)
class Cause:
    """One suspect, for a page.

    Attributes:
        sentence: What was done wrong.
        percent: How likely, in words: ``97 %``.
        others: Sentences of slips that no reading tells from it, the first few.
        more: Number of further ones. [-]
        at: Devices all of them have in common; empty when there is none.
        why: What one would read with it beside what was read.
        right: Whether it says that nothing is wrong.
        chance: How likely. [ratio]
    """

    sentence: str
    percent: str
    others: tuple[str, ...]
    more: int
    at: str
    why: tuple[str, ...]
    right: bool
    chance: float


@dataclass(frozen=True, kw_only=True)
class Weighed:
    """What every page says of causes: the likeliest, whether they fit, and what tells them apart."""

    causes: tuple[Cause, ...]
    shown: int
    fits: bool
    sure: bool
    next_key: str
    next_words: str
    next_first: str
    on_site: bool
    asks: bool


def causes_of(book: OpenBook, found: Found | None) -> tuple[Cause, ...]:
    """The suspects in words, the likeliest first.

    Args:
        book: The check-out.
        found: What the search said.
    """
    return () if found is None else tuple(_cause(book, s) for s in found.suspects)


def likely(causes: tuple[Cause, ...]) -> int:
    """How many of them are shown at once: the first, and those not far behind. [-]."""
    return max(1, min(3, sum(c.chance >= FAR for c in causes)))


def _cause(book: OpenBook, s: Suspected) -> Cause:
    slips = book.slip_by_key
    if not s.slips:
        sentence = "nothing that a reading could show is wrong"
    else:
        sentence = " and ".join(slips[k].sentence for k in s.slips)
    shared = {t.device for t in slips[s.slips[0]].terminals} if s.slips and s.others else set()
    for key in s.others:
        shared &= {t.device for t in slips[key].terminals}
    others = tuple(slips[k].sentence for k in s.others) if s.slips else ()
    return Cause(
        sentence,
        _percent(s.chance),
        others[:MOST_OTHERS],
        max(0, len(others) - MOST_OTHERS),
        ", ".join(sorted(shared)),
        s.why,
        not s.slips,
        s.chance,
    )


def _percent(chance: float) -> str:
    if chance > 0.995:
        return "over 99 %"
    return "under 1 %" if chance < 0.01 else f"{100 * chance:.0f} %"
