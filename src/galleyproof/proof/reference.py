"""The situation in which most of a kitchen works: a trace starts from it."""

from __future__ import annotations

from galleyproof.circuit.machine import Machine, State
from galleyproof.errors import CircuitError
from galleyproof.job.model import Job
from galleyproof.proof.grid import grid
from galleyproof.proof.model import Step

REFERENCE_NAMES = ("switches on · heat on", "switches off · heat on")
"""Steps of the grid in which most is running, the best first; a job without wall switches has only the second."""


def reference_path(job: Job) -> tuple[Step, ...]:
    """The steps that lead from dark to the reference situation.

    Raises:
        CircuitError: The grid has no such situation.
    """
    steps = grid(job)
    index = {step.name: i for i, step in reversed(list(enumerate(steps)))}
    for name in REFERENCE_NAMES:
        if name in index:
            path: list[Step] = []
            at = index[name]
            while at >= 0:
                path.append(steps[at])
                at = steps[at].parent
            return tuple(reversed(path))
    raise CircuitError("the grid has no situation in which the kitchen cooks")


def reference_state(job: Job, machine: Machine) -> State:
    """The state with everything supplied, the fire systems armed, switches on and heat under every hood.

    Args:
        job: The job.
        machine: The machine of its design.

    Raises:
        CircuitError: The grid has no such situation.
    """
    state = machine.dark()
    for step in reference_path(job):
        state = machine.apply(state, step.events)
    return state
