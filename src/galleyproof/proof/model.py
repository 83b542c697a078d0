"""Promises, situations and verdicts: values only."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from galleyproof.findings import Citation, Finding

Ask = Literal["at least", "off", "on", "open", "shut", "only with", "with", "as asked"]


@dataclass(frozen=True, slots=True)
class Expectation:
    """What a device must do.

    Attributes:
        ask: ``at least`` (a fan turns forward at this share of full speed or more), ``off`` (stands, is dark, has no
            power), ``on``, ``open``, ``shut``, ``with`` (works when any of ``others`` does, a fan forwards), ``only
            with`` (works only then).
        value: Least speed. [ratio]
        others: Slots of the devices it goes with.
        flow_cfm: Flow the job asks for; the speed in ``value`` stands for it. [cfm]
        full_cfm: Flow at full speed, for a promise that asks for a flow. [cfm]
    """

    ask: Ask
    value: float = 0.0
    others: tuple[str, ...] = ()
    flow_cfm: float | None = None
    full_cfm: float | None = None

    def words(self) -> str:
        """For people."""
        if self.flow_cfm is not None:
            return f"moves at least {self.flow_cfm:,.0f} cfm"
        if self.ask == "at least":
            return f"runs at {self.value:.0%} or more" if self.value > 0.01 else "runs"
        if self.ask in ("with", "only with"):
            names = ", ".join(o.rsplit(".", 1)[0] for o in self.others)
            return f"works {'only when' if self.ask == 'only with' else 'when'} {names} does"
        return self.ask


@dataclass(frozen=True, slots=True)
class Promise:
    """In this situation, that effect.

    Attributes:
        key: Unique: ``fire-exhaust/EF-1/Z1``.
        kind: ``fire-exhaust``; groups promises of one clause.
        text: For people.
        clause: What asks for it.
        device: Tag of the device it is about.
        slot: Slot that shows what the device does.
        when: Facts a situation must have; each fact with the values that count.
        expect: See Expectation.
        timing: ``finally``: once all delays have passed; ``always``: at every moment after the last event.
    """

    key: str
    kind: str
    text: str
    clause: Citation
    device: str
    slot: str
    when: tuple[tuple[str, frozenset[str]], ...]
    expect: Expectation
    timing: Literal["finally", "always"] = "finally"


@dataclass(frozen=True, slots=True)
class Step:
    """One node of the tree of scripts: events after its parent's.

    Attributes:
        parent: Index of the step before it, -1 for dark.
        events: World slot -> new value.
        facts: What is then true, for promises; None for steps that are only on the way.
        name: The situation in words; empty for steps on the way.
    """

    parent: int
    events: Mapping[str, Any]
    facts: Mapping[str, str] | None
    name: str


@dataclass(frozen=True, slots=True)
class Failure:
    """A promise broken in one situation."""

    situation: str
    device: str
    expected: str
    found: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """One promise over the whole grid.

    Attributes:
        promise: The promise.
        situations: Situations that asked for it.
        broken: Situations that broke it.
        failures: The first of those, in words.
    """

    promise: Promise
    situations: int
    broken: int
    failures: tuple[Failure, ...]

    @property
    def holds(self) -> bool:
        """True when it was asked in at least one situation and never broken."""
        return self.situations > 0 and not self.broken


@dataclass(frozen=True)
class Proof:
    """Everything proving one design gives.

    Attributes:
        verdicts: One per promise.
        situations: Number of situations looked at.
        findings: Design, network and promise findings, each root cause once.
        lost_when: Load -> what stops it, from the situation in which the whole kitchen works.
        solves: Linear systems solved.
    """

    verdicts: tuple[Verdict, ...]
    situations: int
    findings: tuple[Finding, ...]
    lost_when: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    solves: int = 0

    @property
    def held(self) -> int:
        """Number of promises that hold."""
        return sum(v.holds for v in self.verdicts)
