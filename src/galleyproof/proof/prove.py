"""Run the grid and judge every promise."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from galleyproof.circuit.machine import Machine, State
from galleyproof.circuit.world import build_machine
from galleyproof.design.model import Design
from galleyproof.errors import CircuitError
from galleyproof.findings import Finding, Severity
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.proof.causes import explain
from galleyproof.proof.grid import grid
from galleyproof.proof.model import Expectation, Failure, Promise, Proof, Step, Verdict
from galleyproof.proof.network_checks import network_findings
from galleyproof.proof.promises import effect_slots, promises_of

MAX_FAILURES = 50
"""Failures kept per promise; the first ones of the grid. [-]"""


def working(value: Any) -> bool:
    """Whether a device does its work: a fan turns either way, anything else is on or open."""
    return abs(value) > 0.01 if isinstance(value, float) else bool(value)


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
        return working(value) or not together
    return together or not working(value)


def found_words(value: Any) -> str:
    """What a device does, for people."""
    if isinstance(value, float):
        if value < -0.01:
            return f"runs backwards at {-value:.0%}"
        return f"runs at {value:.0%}" if value > 0.01 else "stands"
    return "on" if value else "off"


class _Judge:
    """Finds the promises a situation asks for, quickly: situations differ in few facts."""

    def __init__(self, machine: Machine, promises: tuple[Promise, ...]) -> None:
        self.machine = machine
        self.promises = promises
        self.asked = [0] * len(promises)
        self.failures: list[list[Failure]] = [[] for _ in promises]
        self._slots = [machine.slot[p.slot] for p in promises]

    def applies(self, facts: Mapping[str, str]) -> list[int]:
        """Indices of the promises asked in a situation."""
        found = []
        for i, promise in enumerate(self.promises):
            for fact, values in promise.when:
                if facts.get(fact) not in values:
                    break
            else:
                found.append(i)
        return found

    def judge(self, step: Step, applies: list[int], history: list[State]) -> None:
        """Compare what the devices do with what they must."""
        last = history[-1]
        slot = self.machine.slot
        for i in applies:
            promise = self.promises[i]
            self.asked[i] += 1
            moments = history if promise.timing == "always" else (last,)
            for state in moments:
                value = state.values[self._slots[i]]
                values = state.values
                if not meets(promise.expect, value, lambda o, v=values: v[slot[o]]):  # type: ignore[misc]
                    if len(self.failures[i]) < MAX_FAILURES:
                        when = f" ({state.time_s:g} s later)" if state.time_s else ""
                        words = found_words(value) + when
                        self.failures[i].append(Failure(step.name, promise.device, promise.expect.words(), words))
                    break

    def verdicts(self) -> tuple[Verdict, ...]:
        """All verdicts."""
        return tuple(Verdict(p, n, tuple(f)) for p, n, f in zip(self.promises, self.asked, self.failures, strict=True))


class _ByDifference:
    """Which promises a situation asks, from the answer for its parent and the facts that changed."""

    def __init__(self, judge: _Judge) -> None:
        self.judge = judge
        self.readers: dict[str, list[int]] = {}
        for i, promise in enumerate(judge.promises):
            for fact, _ in promise.when:
                self.readers.setdefault(fact, []).append(i)
        self.memo: dict[int, tuple[Mapping[str, str], frozenset[int]]] = {}

    def applies(self, index: int, step: Step) -> frozenset[int]:
        """Indices of the promises asked in step ``index``."""
        assert step.facts is not None
        before = self.memo.get(step.parent)
        if before is None:
            found = frozenset(self.judge.applies(step.facts))
        else:
            facts, known = before
            changed = [f for f, v in step.facts.items() if facts.get(f) != v]
            touched = {i for f in changed for i in self.readers.get(f, ())}
            again = {
                i for i in touched if all(step.facts.get(f) in values for f, values in self.judge.promises[i].when)
            }
            found = frozenset((known - touched) | again)
        self.memo[index] = (step.facts, found)
        return found


def prove(
    job: Job,
    design: Design,
    library: Mapping[str, DeviceType],
    *,
    progress: Callable[[int, int], None] | None = None,
) -> Proof:
    """Prove every promise of a job over its whole grid.

    Args:
        job: The job.
        design: Its design.
        library: Device types.
        progress: Told (situations done, situations in all) now and then.

    Raises:
        CircuitError: If the network has no solution; the message names the device.
    """
    machine = build_machine(job, design, library)
    promises = promises_of(job, design)
    judge = _Judge(machine, promises)
    by_difference = _ByDifference(judge)
    steps = grid(job)
    children = [0] * len(steps)
    for step in steps:
        if step.parent >= 0:
            children[step.parent] += 1
    states: dict[int, State] = {-1: machine.dark()}
    situations = 0
    chatter: dict[tuple[str, ...], str] = {}
    keep: dict[str, State] = {}
    effects = effect_slots(job, design)
    lost_when: dict[str, list[str]] = {}
    reference = _reference(steps)
    for index, step in enumerate(steps):
        history: list[State] = []
        state = machine.apply(states[step.parent], step.events, history=history)
        if state.chatter:
            chatter.setdefault(state.chatter, step.name)
        if step.facts is not None:
            situations += 1
            judge.judge(step, sorted(by_difference.applies(index, step)), history)
            if progress and situations % 50 == 0:
                progress(index, len(steps))
        if index in (reference, reference + 1) or step.parent == -1:
            keep[step.name] = state
        if step.parent == reference and step.facts is not None and step.name.split(" · ")[-1] != "":
            _note_lost(machine, states[reference], state, effects, step, steps[reference], lost_when)
        if children[index]:
            states[index] = state
        if step.parent >= 0:
            children[step.parent] -= 1
            if not children[step.parent]:
                if step.parent == reference:
                    keep["reference"] = states[reference]
                del states[step.parent]
    findings = list(design.findings)
    findings += network_findings(job, design, machine, keep.get("reference"))
    findings += [
        Finding(
            "CHATTER",
            Severity.ERROR,
            ", ".join(devices),
            f"never settles: {', '.join(devices)} keep switching each other ({situation})",
            "break the loop: one of these devices must hold itself, or not depend on the other",
        )
        for devices, situation in chatter.items()
    ]
    verdicts = judge.verdicts()
    findings = explain(job, design, findings, verdicts)
    solves = sum(i.solved for i in machine.islands)
    return Proof(verdicts, situations, tuple(findings), {k: tuple(v) for k, v in lost_when.items()}, solves)


def _reference(steps: tuple[Step, ...]) -> int:
    """The step in which most is running: switches on, heat on, everything supplied, armed."""
    for index, step in enumerate(steps):
        if step.name == "switches on · heat on":
            return index
    for index, step in enumerate(steps):
        if step.name == "switches off · heat on":
            return index
    raise CircuitError("the grid has no situation in which the kitchen cooks")


def _note_lost(
    machine: Machine,
    before: State,
    after: State,
    effects: Mapping[str, str],
    step: Step,
    reference: Step,
    lost_when: dict[str, list[str]],
) -> None:
    what = step.name[len(reference.name) + 3 :]
    if not what or "back" in what:
        return
    for device, slot in effects.items():
        if working(machine.get(before, slot)) and not working(machine.get(after, slot)):
            lost_when.setdefault(device, []).append(what)
