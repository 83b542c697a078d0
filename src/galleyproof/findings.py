"""What a check returns: values, never exceptions. Wording and exit codes are the caller's."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Generic, TypeVar

T = TypeVar("T")


@dataclass(frozen=True, slots=True, order=True)
class Citation:
    """Where a rule or a number comes from.

    Attributes:
        standard: ``NFPA 96``, ``IMC``, ``common practice``, ``job`` or ``from memory``.
        edition: Year, or empty when clause numbers move between editions.
        place: Section, table or equation.
        note: What was rearranged or departed from, and why.
    """

    standard: str
    edition: str = ""
    place: str = ""
    note: str = ""

    def __str__(self) -> str:
        name = f"{self.standard}-{self.edition}" if self.edition else self.standard
        return f"{name} {self.place}".strip()


@dataclass(frozen=True, slots=True)
class Cited(Generic[T]):
    """A value together with what it rests on."""

    value: T
    basis: tuple[Citation, ...] = ()


class Severity(StrEnum):
    """How much a finding weighs; ERROR and WARNING make the exit code 1, NOTE does not."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing an engineer should know about a job.

    Attributes:
        code: Stable name, ``FIRE-STARVED``.
        severity: See Severity.
        item: The device, circuit or key it is about.
        message: What was found, with the values.
        cure: What would remove it.
        basis: Clauses it rests on.
        evidence: Promises that fail because of it, or the situations that show it.
    """

    code: str
    severity: Severity
    item: str
    message: str
    cure: str = ""
    basis: tuple[Citation, ...] = ()
    evidence: tuple[str, ...] = ()
