"""Somebody on the phone says what they see: kept in the page, held against the table, written down only when asked."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from galleyproof.checkout.words import answers, said, said_range, understood
from galleyproof.errors import GalleyproofError
from galleyproof.web.book import Book
from galleyproof.web.check_out_state import UNITS, expected_of
from galleyproof.web.checked import opened

if TYPE_CHECKING:
    from galleyproof.checkout.beliefs import Observation
    from galleyproof.web.book import OpenBook

__all__ = ["MOST_TAKEN", "CallError", "Taken", "as_taken", "matching", "observation", "read_taken", "written"]

MOST_TAKEN = 200
"""Most things said in one call. [-]"""
MOST_FOUND = 12
"""Probes offered for a few words. [-]"""
MOST_WORDS = 300


class CallError(GalleyproofError, ValueError):
    """What was said cannot be taken; the message says how to say it."""


@dataclass(frozen=True, slots=True)
class Taken:
    """One thing that was said.

    Attributes:
        probe: Key of the probe that was read; empty for a complaint.
        said: The reading as typed, or the complaint.
    """

    probe: str
    said: str


@dataclass(frozen=True, slots=True)
class Line:
    """A thing taken, for the page.

    Attributes:
        words: What was read or noticed.
        value: The reading; empty for a complaint.
        expected: What it reads on the right wiring; empty for a complaint.
        beyond: Whether it is out of tolerance.
        packed: As the page hands it back.
    """

    words: str
    value: str
    expected: str
    beyond: bool
    packed: str


def written(taken: Taken) -> str:
    """As a page carries it."""
    return json.dumps([taken.probe, taken.said], ensure_ascii=False)


def read_taken(values: Sequence[str]) -> tuple[Taken, ...]:
    """What a page carried.

    Raises:
        CallError: It was not made by our page.
    """
    if len(values) > MOST_TAKEN:
        raise CallError(f"a call holds at most {MOST_TAKEN} things said; write them to the check-out and begin again")
    found = []
    for value in values:
        try:
            probe, words = json.loads(value)
        except ValueError:
            raise CallError("the page sent something it never had; load it again") from None
        if not isinstance(probe, str) or not isinstance(words, str) or len(probe) + len(words) > 2 * MOST_WORDS:
            raise CallError("the page sent something it never had; load it again")
        found.append(Taken(probe, words))
    return tuple(found)


def observation(book: OpenBook, taken: Taken) -> Observation:
    """What the search makes of it.

    Raises:
        GalleyproofError: It cannot be understood.
    """
    from galleyproof.checkout.beliefs import Observation
    from galleyproof.checkout.complaints import complaint

    if not taken.probe:
        return complaint(book.checkout, taken.said)
    index = book.at.get(taken.probe)
    if index is None:
        raise CallError(f"there is no probe {taken.probe!r} in this job; choose one of those offered")
    return Observation(((index, understood(book.checkout.probes[index], taken.said)),))


def as_taken(book: OpenBook, text: str, read: str) -> Taken | tuple[str, ...]:
    """A reading at a probe named in full or by some words of it; several probes are given back to choose from.

    Raises:
        CallError: No probe is meant.
    """
    if text in book.at:
        return Taken(text, read)
    keys = matching(book, text)
    if len(keys) == 1:
        return Taken(keys[0], read)
    if not keys:
        raise CallError(f"no reading of this job is about {text!r}; name its terminals, like {_example(book)}")
    return keys


def _example(book: OpenBook) -> str:
    first = next((r.probe for r in book.plan.readings if r.probe.red is not None), None)
    return "a device" if first is None else f"{first.red} {first.black}"


def matching(book: OpenBook, text: str) -> tuple[str, ...]:
    """Keys of probes that hold every word, those of the plan first."""
    words = text.lower().replace(" to ", " ").split()
    if not words:
        return ()
    found = [k for k in book.at if all(w in k.lower() for w in words)]
    return tuple(sorted(found, key=lambda k: k not in book.place_in_plan)[:MOST_FOUND])


def line_of(book: OpenBook, taken: Taken) -> Line:
    """One thing taken, for the page."""
    from galleyproof.checkout.diagnosis import where

    if not taken.probe:
        return Line(taken.said, "", "", True, written(taken))
    probe = book.checkout.probes[book.at[taken.probe]]
    expected = expected_of(book, taken.probe)
    reading = understood(probe, taken.said)
    words = where(probe)
    return Line(
        words, said(probe.kind, reading), said_range(probe, expected), not expected.holds(reading), written(taken)
    )


@dataclass(frozen=True, slots=True)
class Asked:
    """A probe to be read, for the page.

    Attributes:
        key: Its key.
        words: What to do.
        first: State to bring the installation into; empty when it stands so already.
        caution: Before it.
        expected: What it reads on the right wiring.
        answers: Words it can be answered with; empty when a number is asked for.
        units: Endings a number may have.
    """

    key: str
    words: str
    first: str
    caution: str
    expected: str
    answers: tuple[str, ...]
    units: tuple[str, ...]


def asked_of(book: OpenBook, key: str, here: str) -> Asked:
    """A probe to be read, for the page.

    Args:
        book: The check-out.
        key: Its key.
        here: Preparation the installation is in.
    """
    from galleyproof.checkout.model import CAUTIONS

    probe = book.checkout.probes[book.at[key]]
    preparation = book.preparation_of(probe)
    first = ""
    if preparation.key != here:
        first = preparation.words + (f" (with {preparation.needs})" if preparation.needs else "")
    expected = said_range(probe, expected_of(book, key))
    caution = probe.caution or CAUTIONS[probe.stage]
    return Asked(key, probe.words, first, caution, expected, answers(probe), UNITS.get(probe.kind, ()))


@lru_cache(maxsize=6)
def sentences(book: Book) -> tuple[str, ...]:
    """Complaints that can be followed up in a job, one for each thing a person may notice at each device."""
    from galleyproof.fieldsheet.sayings import WHEN, sayings

    endings = tuple(w for w in WHEN if w)
    found = (s.text for s in sayings(opened(book).checkout))
    return tuple(dict.fromkeys(t for t in found if not t.endswith(endings)))


def probes_offered(book: OpenBook) -> Iterable[tuple[str, str]]:
    """Key and words of the probes of the plan."""
    return tuple((r.probe.key, r.probe.words) for r in book.plan.readings)
