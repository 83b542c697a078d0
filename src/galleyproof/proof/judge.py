"""Judging promises situation by situation; only what differs from the situation before is looked at again."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from galleyproof.circuit.machine import Machine, State
from galleyproof.proof.model import Expectation, Failure, Promise, Step, Verdict

MAX_FAILURES = 50
"""Failures told per promise, the first ones of the grid; all are counted. [-]"""


def working(value: Any) -> bool:
    """Whether a device does its work: a fan turns either way, anything else is on or open."""
    return abs(value) > 0.01 if isinstance(value, float) else bool(value)


def serves(value: Any) -> bool:
    """Whether a device does what it is there for: a fan that turns backwards moves half its air at best."""
    return value > 0.01 if isinstance(value, float) else bool(value)


def meets(expect: Expectation, value: Any, others: Callable[[str], Any]) -> bool:
    """Whether what a device does is what it must do."""
    if expect.ask == "at least":
        return isinstance(value, float) and value >= expect.value
    if expect.ask in ("off", "shut"):
        return not working(value)
    if expect.ask in ("on", "open"):
        return working(value)
    together = any(working(others(o)) for o in expect.others)
    if expect.ask == "with":
        return serves(value) or not together
    return together or not working(value)


def found_words(value: Any, full_cfm: float | None = None) -> str:
    """What a device does, for people; with the flow where a promise asked for one."""
    if isinstance(value, float):
        if value < -0.01:
            return f"runs backwards at {-value:.0%}"
        if value <= 0.01:
            return "stands"
        flow = f", {value * full_cfm:,.0f} cfm" if full_cfm is not None else ""
        return f"runs at {value:.0%}{flow}"
    return "on" if value else "off"


@dataclass(frozen=True, slots=True)
class _Seen:
    """What was found in one situation."""

    facts: Mapping[str, str]
    asked: frozenset[int]
    values: list[Any]
    broken: frozenset[int]


class Judge:
    """Compares every situation with the promises it asks for."""

    def __init__(self, machine: Machine, promises: tuple[Promise, ...]) -> None:
        self.promises = promises
        self._slot = machine.slot
        self._asked: Counter[int] = Counter()
        self._broken: Counter[int] = Counter()
        self._failures: list[list[Failure]] = [[] for _ in promises]
        self._by_fact: dict[str, list[int]] = {}
        by_slot: dict[str, list[int]] = {}
        for i, promise in enumerate(promises):
            for fact, _ in promise.when:
                self._by_fact.setdefault(fact, []).append(i)
            for name in (promise.slot, *promise.expect.others):
                by_slot.setdefault(name, []).append(i)
        self._watched = [machine.slot[name] for name in by_slot]
        self._on_watched = list(by_slot.values())
        self._seen: dict[int, _Seen] = {}

    def _asks(self, i: int, facts: Mapping[str, str]) -> bool:
        return all(facts.get(fact) in values for fact, values in self.promises[i].when)

    def judge(self, index: int, step: Step, history: list[State]) -> None:
        """Judge one situation.

        Args:
            index: Number of its step.
            step: The step; it must have facts.
            history: States passed through since its last event, the last one at rest.
        """
        assert step.facts is not None
        facts = step.facts
        values = [history[-1].values[s] for s in self._watched]
        before = self._seen.get(step.parent)
        look: Iterable[int]
        if before is None:
            asked = frozenset(i for i in range(len(self.promises)) if self._asks(i, facts))
            look = asked
        else:
            changed = [f for f, v in facts.items() if before.facts.get(f) != v]
            touched = {i for f in changed for i in self._by_fact.get(f, ())}
            again = {i for i in touched if self._asks(i, facts)}
            asked = frozenset((before.asked - touched) | again) if touched else before.asked
            moved = {
                k
                for state in history
                for k, (s, old) in enumerate(zip(self._watched, before.values, strict=True))
                if state.values[s] != old
            }
            affected = {i for k in moved for i in self._on_watched[k]} | again | before.broken
            look = affected & asked
        broken = frozenset(i for i in sorted(look) if not self._kept(i, step, history))
        self._asked.update(asked)
        self._broken.update(broken)
        self._seen[index] = _Seen(facts, asked, values, broken)

    def forget(self, index: int) -> None:
        """Drop what was remembered of a step whose children are all judged."""
        self._seen.pop(index, None)

    def _kept(self, i: int, step: Step, history: list[State]) -> bool:
        promise = self.promises[i]
        slot = self._slot
        for state in history if promise.timing == "always" else history[-1:]:
            values = state.values
            value = values[slot[promise.slot]]
            if not meets(promise.expect, value, lambda name, values=values: values[slot[name]]):  # type: ignore[misc]
                if len(self._failures[i]) < MAX_FAILURES:
                    when = f" ({state.time_s:g} s later)" if state.time_s else ""
                    words = found_words(value, promise.expect.full_cfm) + when
                    self._failures[i].append(Failure(step.name, promise.device, promise.expect.words(), words))
                return False
        return True

    def verdicts(self) -> tuple[Verdict, ...]:
        """All verdicts."""
        return tuple(
            Verdict(p, self._asked[i], self._broken[i], tuple(self._failures[i])) for i, p in enumerate(self.promises)
        )
