"""Run the grid and judge every promise."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from galleyproof.circuit.machine import Machine, State
from galleyproof.circuit.world import build_machine
from galleyproof.design.model import Design
from galleyproof.errors import CircuitError
from galleyproof.findings import Finding, Severity
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.proof.causes import explain
from galleyproof.proof.grid import grid
from galleyproof.proof.judge import Judge, working
from galleyproof.proof.model import Proof, Step
from galleyproof.proof.network_checks import network_findings
from galleyproof.proof.promises import effect_slots, promises_of


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
    judge = Judge(machine, promises)
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
            judge.judge(index, step, history)
            if progress and situations % 50 == 0:
                progress(index, len(steps))
        if index in (reference, reference + 1) or step.parent == -1:
            keep[step.name] = state
        if step.parent == reference and step.facts is not None and step.name.split(" · ")[-1] != "":
            _note_lost(machine, states[reference], state, effects, step, steps[reference], lost_when)
        if children[index]:
            states[index] = state
        else:
            judge.forget(index)
        if step.parent >= 0:
            children[step.parent] -= 1
            if not children[step.parent]:
                if step.parent == reference:
                    keep["reference"] = states[reference]
                del states[step.parent]
                judge.forget(step.parent)
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
