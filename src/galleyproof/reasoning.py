"""One number and the whole reasoning behind it: steps that a reviewer can follow by hand, each with its clause.

Every rule of ``sizing`` and ``air`` returns a ``Reasoned``. ``Reasoning`` writes one down while a rule works it
out; rules that build on others take their steps over, so the last number of a chain carries the whole chain.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Generic, TypeAlias, TypeVar

from galleyproof.findings import Citation, Cited

__all__ = [
    "PRACTICE",
    "Reasoned",
    "Reasoning",
    "Step",
    "doubtful",
    "practice",
    "remembered",
    "rounded",
    "shown",
    "source",
]

T = TypeVar("T")
StepValue: TypeAlias = float | str | None
V = TypeVar("V", bound=StepValue)

PRACTICE = Citation("common practice")

_DOUBT_WORDS = ("from memory", "second-hand", "disputed", "doubtful")


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
        sources = f" [{'; '.join(source(c) for c in self.basis)}]" if self.basis else ""
        return f"{self.text}{result}{sources}"


@dataclass(frozen=True, slots=True)
class Reasoned(Generic[T]):
    """A value with everything it rests on.

    Attributes:
        value: The result. [unit]
        unit: Unit of the value, ``AWG``, ``A``, ``cfm``, ``-``.
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
        return tuple(source(c) for c in self.basis if doubtful(c))


@dataclass(slots=True)
class Reasoning:
    """Collects the steps of one number while a rule works it out."""

    _steps: list[Step] = field(default_factory=list, init=False)
    _passed: list[str] = field(default_factory=list, init=False)

    def step(self, text: str, value: V, unit: str, *basis: Citation) -> V:
        """Write down one line and hand its value on."""
        self._add(Step(text, value, unit, self._cite(basis)))
        return value

    def remark(self, text: str, *basis: Citation) -> None:
        """Write down a line without a value."""
        self.step(text, None, "-", *basis)

    def look_up(self, text: str, found: Cited[T], unit: str) -> T:
        """Write down a table look-up and hand its value on."""
        value = found.value
        self.step(text, value if isinstance(value, float | int | str) else None, unit, *found.basis)
        return value

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

    def _cite(self, basis: tuple[Citation, ...]) -> tuple[Citation, ...]:
        return basis

    def _add(self, one: Step) -> None:
        if one not in self._steps:  # a chain that forks and meets again tells its beginning once
            self._steps.append(one)


def shown(value: StepValue, unit: str = "-") -> str:
    """A value as the steps write it: seven significant digits at most, the unit behind it."""
    text = f"{value:.7g}" if isinstance(value, float) else str(value)
    return text if unit in ("-", "") else f"{text} {unit}"


def rounded(value: float, unit: str = "-") -> str:
    """A computed value as findings say it: four significant digits, the unit behind it; the steps hold the rest."""
    text = f"{value:.4g}" if abs(value) < 10_000 else f"{value:.0f}"
    return text if unit in ("-", "") else f"{text} {unit}"


def source(citation: Citation) -> str:
    """A citation with its note."""
    return f"{citation}, {citation.note}" if citation.note else str(citation)
