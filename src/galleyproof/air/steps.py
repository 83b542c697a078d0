"""One number of the air side and the whole reasoning behind it, in the form the electrical sizes have.

Rooms of one floor do not import each other, so the form is repeated here, not shared.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Generic, TypeAlias, TypeVar

from galleyproof.errors import GalleyproofError
from galleyproof.findings import Citation, Cited

__all__ = [
    "AirError",
    "Reasoned",
    "Reasoning",
    "Step",
    "doubtful",
    "practice",
    "remembered",
    "require",
    "shown",
]

T = TypeVar("T")
StepValue: TypeAlias = float | str | None

_DOUBT_WORDS = ("from memory", "second-hand", "disputed", "doubtful")


class AirError(GalleyproofError, ValueError):
    """An input that no rule of the air side can take; the message gives the rule, the value and the cure."""


def practice(place: str = "", note: str = "") -> Citation:
    """A fact of the trade that no published source was found for."""
    return Citation("common practice", "", place, note)


def remembered(place: str, note: str = "") -> Citation:
    """A published fact that was not seen in its source."""
    return Citation("from memory", "", place, note)


def doubtful(citation: Citation) -> bool:
    """Whether a citation itself says that it was not seen, or that it is disputed."""
    text = f"{citation.standard} {citation.note}".lower()
    return any(word in text for word in _DOUBT_WORDS)


@dataclass(frozen=True, slots=True)
class Step:
    """One line of a calculation.

    Attributes:
        text: What was done, with the numbers that went in: ``400 cfm/ft x 10 ft``.
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
class Reasoned(Generic[T]):
    """A value with everything it rests on.

    Attributes:
        value: The result. [unit]
        unit: Unit of the value, ``cfm``, ``fpm``, ``-``.
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

    @property
    def doubts(self) -> tuple[str, ...]:
        """The clauses that were not seen in their source, or that are disputed."""
        return tuple(_source(c) for c in self.basis if doubtful(c))


@dataclass(slots=True)
class Reasoning:
    """Collects the steps of one number while a rule works it out."""

    _steps: list[Step] = field(default_factory=list)
    _passed: list[str] = field(default_factory=list)

    def step(self, text: str, value: float, unit: str, *basis: Citation) -> float:
        """Write down one line and hand its value on."""
        self._add(Step(text, value, unit, basis))
        return value

    def remark(self, text: str, *basis: Citation) -> None:
        """Write down a line without a value."""
        self._add(Step(text, None, "-", basis))

    def look_up(self, text: str, found: Cited[float], unit: str) -> float:
        """Write down a table look-up and hand its value on."""
        return self.step(text, found.value, unit, *found.basis)

    def take(self, reasoned: Reasoned[T]) -> T:
        """Take over the steps of an earlier number and hand its value on."""
        for one in reasoned.steps:
            self._add(one)
        for text in reasoned.passed_over:
            self.pass_over(text)
        return reasoned.value

    def pass_over(self, text: str) -> None:
        """Note an alternative that was not taken, with the reason."""
        if text not in self._passed:
            self._passed.append(text)

    def done(self, value: T, unit: str) -> Reasoned[T]:
        """The number with all that was written down."""
        basis = tuple(dict.fromkeys(c for one in self._steps for c in one.basis))
        return Reasoned(value, unit, tuple(self._steps), basis, tuple(self._passed))

    def _add(self, one: Step) -> None:
        if one not in self._steps:  # a chain that forks and meets again tells its beginning once
            self._steps.append(one)


def shown(value: StepValue, unit: str = "-") -> str:
    """A value as the steps write it: six significant digits at most, the unit behind it."""
    text = f"{value:.6g}" if isinstance(value, float | int) else str(value)
    return text if unit in ("-", "") else f"{text} {unit}"


def require(name: str, value: float, unit: str, *, above: float | None = None, least: float | None = None,
            most: float | None = None, cure: str = "") -> float:  # fmt: skip
    """Hand a number on if it lies where the rule can take it.

    Args:
        name: What it is, in words.
        value: The number. [unit]
        unit: Its unit, for the message.
        above: It must be greater. [unit]
        least: It must be this or more. [unit]
        most: It must be this or less. [unit]
        cure: What to do, for the message.

    Raises:
        AirError: It is not finite or outside.
    """
    wanted = _wanted(unit, above, least, most)
    inside = (
        math.isfinite(value)
        and (above is None or value > above)
        and (least is None or value >= least)
        and (most is None or value <= most)
    )
    if not inside:
        raise AirError(f"{name} is {shown(value, unit)}; it must be {wanted}{'; ' + cure if cure else ''}")
    return value


def _wanted(unit: str, above: float | None, least: float | None, most: float | None) -> str:
    parts = ["a finite number"]
    if above is not None:
        parts.append(f"above {shown(above, unit)}")
    if least is not None:
        parts.append(f"at least {shown(least, unit)}")
    if most is not None:
        parts.append(f"at most {shown(most, unit)}")
    return " and ".join(", ".join(parts).rsplit(", ", 1))


def total(values: Iterable[float]) -> float:
    """A sum that does not depend on the order of its terms."""
    return math.fsum(values)


def _source(citation: Citation) -> str:
    return f"{citation}, {citation.note}" if citation.note else str(citation)
