"""What the job-level air checks share: design flows of hoods, least speeds, and a place to write findings."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, cast

from galleyproof.air.exhaust import Duty, heaviest_duty, listed_exhaust_cfm, min_unlisted_exhaust_cfm
from galleyproof.air.model import Why
from galleyproof.air.steps import AirError, Reasoned
from galleyproof.findings import Citation, Finding, Severity
from galleyproof.job.model import ExhaustFan, Hood, Job, MakeupUnit
from galleyproof.reasoning import shown
from galleyproof.tables import air as tables

HOOD_RULES = "imc_2021_507_hood_rules"
AIR_RULES = "imc_mixed_506_508_rules"


def hood_rule(key: str) -> tuple[Citation, ...]:
    """Clause of a rule about hoods."""
    return tables.rule(HOOD_RULES, key).basis


def air_rule(key: str, standard: str = "") -> tuple[Citation, ...]:
    """Clause of a rule about ducts and make-up air."""
    return tables.rule(AIR_RULES, key, standard).basis


def number(table: str, key: str) -> float:
    """Number of a rule that has one."""
    value = tables.rule(table, key).value.value
    assert value is not None  # every key asked for here is a rule with a number
    return value


@dataclass
class Notes:
    """Findings and reasons, as the parts of the check come upon them."""

    findings: list[Finding] = field(default_factory=list)
    reasons: dict[str, list[Why]] = field(default_factory=dict)

    def find(self, code: str, severity: Severity, item: str, message: str, cure: str, *basis: Citation) -> None:
        """Note a finding."""
        self.findings.append(Finding(code, severity, item, message, cure, tuple(dict.fromkeys(basis))))

    def found(self, code: str, item: str | None = None) -> bool:
        """Whether such a finding was noted already."""
        return any(f.code == code and item in (None, f.item) for f in self.findings)

    def why(self, item: str, title: str, reasoned: Reasoned[Any]) -> None:
        """Keep the reasoning behind a number."""
        value = reasoned.value
        text = shown(value, reasoned.unit) if isinstance(value, (float, int, str)) else str(value)
        self.why_lines(item, title, text, reasoned.lines())

    def why_lines(self, item: str, title: str, value: str, lines: tuple[str, ...]) -> None:
        """Keep a reasoning that is already in lines."""
        self.reasons.setdefault(item, []).append(Why(title, value, lines))


@dataclass
class Facts:
    """A job with what follows from it at once."""

    job: Job

    @cached_property
    def hoods(self) -> dict[str, Hood]:
        """Hoods by tag."""
        return {h.tag: h for h in self.job.hoods}

    @cached_property
    def fans(self) -> dict[str, ExhaustFan]:
        """Exhaust fans by tag."""
        return {f.tag: f for f in self.job.exhaust_fans}

    @cached_property
    def fan_of(self) -> dict[str, str]:
        """Hood to the fan that serves it; the first where several do."""
        found: dict[str, str] = {}
        for fan in self.job.exhaust_fans:
            for hood in fan.serves:
                found.setdefault(hood, fan.tag)
        return found

    @cached_property
    def line_hz(self) -> dict[str, float]:
        """Line frequency of each circuit."""
        supplies = {s.tag: s.frequency for s in self.job.supplies}
        boards = {b.tag: supplies.get(b.supply, 60.0) for b in self.job.panelboards}
        return {c.tag: boards.get(c.panelboard, 60.0) for c in self.job.circuits}

    def duties(self, hood: Hood) -> tuple[Duty, ...]:
        """The hood's own duty and those of all appliances below."""
        return tuple(dict.fromkeys([cast(Duty, hood.duty), *(cast(Duty, a.duty) for a in hood.appliances)]))

    def duty(self, hood: Hood) -> Duty:
        """The heaviest of them."""
        return heaviest_duty(self.duties(hood))

    def needed(self, hood: Hood) -> Reasoned[float] | None:
        """What a hood needs: its listing, or the code's minimum; None where the code allows no such hood. [cfm]."""
        if hood.listed_rate is not None:
            return listed_exhaust_cfm(hood.listed_rate)
        try:
            return self.code_minimum(hood)
        except AirError:
            return None

    def code_minimum(self, hood: Hood) -> Reasoned[float]:
        """The code's minimum for a hood without a listing [cfm].

        Raises:
            AirError: The code allows no such hood.
        """
        return min_unlisted_exhaust_cfm(hood.style, hood.length / 12.0, self.duties(hood), hood_type=hood.air.type)

    @cached_property
    def hood_cfm(self) -> dict[str, float]:
        """Design exhaust of each hood: stated, else its part of what its fan has left, by what each needs [cfm]."""
        found: dict[str, float] = {h.tag: h.air.airflow for h in self.job.hoods if h.air.airflow is not None}
        for fan in self.job.exhaust_fans:
            mine = [self.hoods[t] for t in fan.serves if self.fan_of[t] == fan.tag]
            open_ones = [h for h in mine if h.air.airflow is None]
            left = max(0.0, fan.airflow - sum(found.get(h.tag, 0.0) for h in mine))
            weights = [w.value if (w := self.needed(h)) is not None else h.length for h in open_ones]
            for hood, weight in zip(open_ones, weights, strict=True):
                found[hood.tag] = left * weight / sum(weights)
        return found

    def least_ratio(self, fan: ExhaustFan) -> float:
        """Lowest flow over design: 1 for a fan on a starter [-]."""
        return 1.0 if fan.drive.kind == "starter" else fan.min_speed

    def unit_can_slow(self, unit: MakeupUnit) -> bool:
        """Whether the panel can change a unit's speed."""
        control = unit.control
        if control.kind == "driven from the panel":
            return control.drive.kind != "starter"
        return control.kind == "run and speed pairs"

    def unit_least_ratio(self, unit: MakeupUnit) -> float:
        """Lowest flow over design of fan and burner [-]."""
        if not self.unit_can_slow(unit):
            return 1.0
        burner = 0.0 if unit.air.least_airflow is None else unit.air.least_airflow / unit.airflow
        return min(1.0, max(unit.min_speed, burner))

    @cached_property
    def total_cfm(self) -> float:
        """Exhaust of all fans [cfm]."""
        return sum(f.airflow for f in self.job.exhaust_fans)
