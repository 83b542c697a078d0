"""One number and the whole reasoning behind it: steps that a reviewer can follow by hand, each with its clause.

Every rule of this room returns a ``Sized``. ``Reasoning`` writes one down while a rule works it out; rules that
build on others take their steps over, so the last number of a chain carries the whole chain.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Generic, TypeAlias, TypeVar, cast

from galleyproof.errors import GalleyproofError
from galleyproof.findings import Citation, Cited
from galleyproof.tables.editions import NecEdition, check_edition, in_edition

__all__ = [
    "PRACTICE",
    "NecEdition",
    "Reasoning",
    "Sized",
    "SizingError",
    "Step",
    "as_edition",
    "listed",
    "nec",
    "practice",
    "remembered",
    "shown",
]

T = TypeVar("T")
StepValue: TypeAlias = float | str | None


class SizingError(GalleyproofError, ValueError):
    """Nothing fits, or an input no rule can take; the message gives the rule, the value and the cure."""


PRACTICE = Citation("common practice")


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


def practice(place: str, note: str = "") -> Citation:
    """A fact of the trade that no published source was found for."""
    return Citation("common practice", "", place, note)


def remembered(place: str, note: str = "") -> Citation:
    """A published fact that was not seen in its source."""
    return Citation("from memory", "", place, note)


@dataclass(frozen=True, slots=True)
class Step:
    """One line of a calculation.

    Attributes:
        text: What was done, with the numbers that went in: ``125 percent of 22 A``.
        value: What came out; None for a remark.
        unit: Unit of the value, ``-`` for none.
        basis: Clauses it rests on.
    """

    text: str
    value: StepValue
    unit: str
    basis: tuple[Citation, ...] = ()

    def __str__(self) -> str:
        result = "" if self.value is None else f" = {shown(self.value, self.unit)}"
        sources = f" [{'; '.join(_source(c) for c in self.basis)}]" if self.basis else ""
        return f"{self.text}{result}{sources}"


@dataclass(frozen=True, slots=True)
class Sized(Generic[T]):
    """A value with everything it rests on.

    Attributes:
        value: The result. [unit]
        unit: Unit of the value, ``AWG``, ``A``, ``in``, ``-``.
        steps: The calculation in order, earlier results first.
        basis: Every clause of the steps, each once, in the order of first use.
        passed_over: Alternatives that were looked at and not taken, each with the reason.
    """

    value: T
    unit: str
    steps: tuple[Step, ...]
    basis: tuple[Citation, ...] = ()
    passed_over: tuple[str, ...] = ()

    def lines(self) -> tuple[str, ...]:
        """The whole reasoning as numbered lines, then what was passed over."""
        numbered = tuple(f"{n}. {step}" for n, step in enumerate(self.steps, start=1))
        return numbered + tuple(f"passed over: {text}" for text in self.passed_over)

    @property
    def cited(self) -> Cited[T]:
        """Value and clauses without the steps."""
        return Cited(self.value, self.basis)


@dataclass(slots=True)
class Reasoning:
    """Collects the steps of one number while a rule works it out.

    Attributes:
        edition: Edition whose numbering the citations get.
    """

    edition: NecEdition = "2023"
    _steps: list[Step] = field(default_factory=list)
    _passed: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        check_edition(self.edition)

    def step(self, text: str, value: StepValue, unit: str, *basis: Citation) -> None:
        """Write down one line."""
        self._add(Step(text, value, unit, tuple(_in(c, self.edition) for c in basis)))

    def remark(self, text: str, *basis: Citation) -> None:
        """Write down a line without a value."""
        self.step(text, None, "-", *basis)

    def look_up(self, text: str, found: Cited[T], unit: str) -> T:
        """Write down a table look-up and hand its value on."""
        value = found.value
        self.step(text, value if isinstance(value, float | int | str) else None, unit, *found.basis)
        return value

    def take(self, sized: Sized[T]) -> T:
        """Take over the steps of an earlier number and hand its value on."""
        for one in sized.steps:
            self._add(one)
        for text in sized.passed_over:
            self.pass_over(text)
        return sized.value

    def pass_over(self, text: str) -> None:
        """Note an alternative that was not taken, with the reason."""
        if text not in self._passed:
            self._passed.append(text)

    def done(self, value: T, unit: str) -> Sized[T]:
        """The number with all that was written down."""
        basis = tuple(dict.fromkeys(c for one in self._steps for c in one.basis))
        return Sized(value, unit, tuple(self._steps), basis, tuple(self._passed))

    def _add(self, one: Step) -> None:
        if one not in self._steps:  # a chain that forks and meets again tells its beginning once
            self._steps.append(one)


def shown(value: StepValue, unit: str = "-") -> str:
    """A value as the steps write it: seven significant digits at most, the unit behind it."""
    text = f"{value:.7g}" if isinstance(value, float) else str(value)
    return text if unit in ("-", "") else f"{text} {unit}"


def listed(items: Iterable[float], unit: str) -> str:
    """Several values of one unit in words."""
    return ", ".join(shown(float(v), unit) for v in items)


@lru_cache(maxsize=4096)
def _in(citation: Citation, edition: NecEdition) -> Citation:
    return in_edition(citation, edition)


def _source(citation: Citation) -> str:
    return f"{citation}, {citation.note}" if citation.note else str(citation)


def as_edition(edition: str) -> NecEdition:
    """An edition read from a job, checked.

    Raises:
        TableError: Not an edition that is carried.
    """
    check_edition(edition)
    return cast(NecEdition, edition)
