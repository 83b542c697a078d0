"""Where the parts of sizing a job write down their numbers and findings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

from galleyproof.findings import Citation, Finding, Severity
from galleyproof.sizing.model import Number
from galleyproof.sizing.steps import NecEdition, Reasoned
from galleyproof.tables.editions import in_edition

__all__ = ["Ledger"]


def _cited_in(result: Reasoned[Any], edition: NecEdition) -> Reasoned[Any]:
    """The same result with its clauses numbered as the edition has them; some rules know one edition only."""
    if all(c.edition == edition or c.standard != "NFPA 70" for c in result.basis):
        return result
    steps = tuple(replace(s, basis=tuple(_in(c, edition) for c in s.basis)) for s in result.steps)
    return replace(result, steps=steps, basis=tuple(dict.fromkeys(_in(c, edition) for c in result.basis)))


@lru_cache(maxsize=2048)
def _in(citation: Citation, edition: NecEdition) -> Citation:
    return in_edition(citation, edition)


@dataclass(slots=True)
class Ledger:
    """Numbers and findings of one job, in the order they were worked out.

    Attributes:
        edition: Edition of NFPA 70.
        numbers: By key.
        findings: In order.
    """

    edition: NecEdition
    numbers: dict[str, Number] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)

    def add(
        self,
        item: str,
        what: str,
        result: Reasoned[Any],
        circuit: str,
        *,
        given: str = "",
        ok: bool = True,
    ) -> str:
        """Write down a number; gives its key."""
        key = f"{item} {what}"
        if self.edition != "2023":
            result = _cited_in(result, self.edition)
        self.numbers[key] = Number(key, circuit, item, what, result, given, ok)
        return key

    def find(
        self,
        code: str,
        severity: Severity,
        item: str,
        message: str,
        cure: str,
        basis: Sequence[Citation] = (),
        evidence: tuple[str, ...] = (),
    ) -> None:
        """Write down a finding; the same one only once."""
        clauses = tuple(dict.fromkeys(_in(c, self.edition) for c in basis))
        finding = Finding(code, severity, item, message, cure, clauses, evidence)
        if finding not in self.findings:
            self.findings.append(finding)

    def error(self, code: str, item: str, message: str, cure: str, basis: Sequence[Citation] = ()) -> None:
        """Something a rule forbids."""
        self.find(code, Severity.ERROR, item, message, cure, basis)

    def warn(self, code: str, item: str, message: str, cure: str, basis: Sequence[Citation] = ()) -> None:
        """Something that goes against advice or does not work well."""
        self.find(code, Severity.WARNING, item, message, cure, basis)

    def note(self, code: str, item: str, message: str, cure: str, basis: Sequence[Citation] = ()) -> None:
        """Something to know or to confirm."""
        self.find(code, Severity.NOTE, item, message, cure, basis)
