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
    def fans_of(self) -> dict[str, tuple[str, ...]]:
        """Hood to the fans that serve it."""
        return {h.tag: tuple(f.tag for f in self.job.exhaust_fans if h.tag in f.serves) for h in self.job.hoods}

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
    def shares(self) -> dict[tuple[str, str], float]:
        """Design flow of each hood through each fan that serves it, by fan and hood [cfm].

        A stated exhaust is shared out by the fans' airflow; what a fan has left goes to its other hoods by need.
        """
        found: dict[tuple[str, str], float] = {}
        for hood in self.job.hoods:
            if hood.air.airflow is None:
                continue
            fans = [self.fans[t] for t in self.fans_of[hood.tag]]
            whole = sum(f.airflow for f in fans)
            for fan in fans:
                found[fan.tag, hood.tag] = (
                    hood.air.airflow if len(fans) == 1 else hood.air.airflow * fan.airflow / whole
                )
        for fan in self.job.exhaust_fans:
            left = max(0.0, fan.airflow - sum(found.get((fan.tag, h), 0.0) for h in fan.serves))
            open_ones = [self.hoods[h] for h in fan.serves if self.hoods[h].air.airflow is None]
            weights = []
            for hood in open_ones:
                need = self.needed(hood)
                weights.append((hood.length if need is None else need.value) / len(self.fans_of[hood.tag]))
            for hood, weight in zip(open_ones, weights, strict=True):
                found[fan.tag, hood.tag] = left * weight / sum(weights)
        return found

    @cached_property
    def hood_cfm(self) -> dict[str, float]:
        """Design exhaust of each hood [cfm]."""
        return {h: sum(self.shares[f, h] for f in fans) for h, fans in self.fans_of.items()}

    def hood_least_ratio(self, hood: str) -> float:
        """Lowest flow of a hood over its design, every fan at its lowest [-]."""
        whole = self.hood_cfm[hood]
        if whole <= 0.0:
            return 1.0
        return sum(self.shares[f, hood] * self.least_ratio(self.fans[f]) for f in self.fans_of[hood]) / whole

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
