"""Every example job, walked over its whole grid: the networks that the checks of the solver are made on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from galleyproof.circuit.elements import Network
from galleyproof.circuit.island import Island, Solution
from galleyproof.circuit.machine import Machine, State
from galleyproof.circuit.world import build_machine
from galleyproof.design.build import build_design
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.proof.grid import grid

EXAMPLES = Path(__file__).parents[2] / "examples"
GOOD = ("ferry-cafe", "school-kitchen", "hospital")
ALL = (*GOOD, *sorted(f"wrong/{p.stem}" for p in (EXAMPLES / "wrong").glob("*.yaml")))


@dataclass(frozen=True)
class Case:
    """One island in one state, with the solution the machine holds for it."""

    island: Island
    key: tuple[Any, ...]
    solution: Solution

    def value_of(self, slot: str) -> Any:
        """Value of a slot in this state."""
        return self.key[self.island.key_slots.index(slot)]


@dataclass(frozen=True)
class Walk:
    """A job's machine and every state it passes through on its grid.

    Attributes:
        steps: Steps of the grid.
        states: Dark, then all states of all steps in order, those within a delay included.
        cases: Every distinct island and state among them.
    """

    name: str
    machine: Machine
    steps: int
    states: tuple[State, ...]
    cases: tuple[Case, ...]

    def part(self, island: Island) -> Network:
        """The network with this island's elements only, and the stiff buses it stands on."""
        needed = {n for n, *_ in island.fixed_nodes}
        for source in reversed(self.machine.network.stiff):
            if source.a in needed:
                needed.add(source.b)
        stiff = tuple(s for s in self.machine.network.stiff if s.a in needed)
        return replace(
            self.machine.network, branches=island.branches, sources=island.sources, links=island.links, stiff=stiff
        )


def machine_of(name: str) -> tuple[Machine, list[Any]]:
    """Machine and grid of an example."""
    path = EXAMPLES / f"{name}.yaml"
    job = read_job(path.read_bytes(), path.name)
    return build_machine(job, build_design(job), load_library()), list(grid(job))


@cache
def walk(name: str) -> Walk:
    """Walk an example over its grid."""
    machine, steps = machine_of(name)
    after = {-1: machine.dark()}
    states = [after[-1]]
    for index, step in enumerate(steps):
        history: list[State] = []
        after[index] = machine.apply(after[step.parent], step.events, history=history)
        states.extend(history)
    return Walk(name, machine, len(steps), tuple(states), tuple(_cases(machine, states)))


def _cases(machine: Machine, states: list[State]) -> Iterator[Case]:
    slots = [[machine.slot[s] for s in island.key_slots] for island in machine.islands]
    seen: dict[tuple[int, tuple[Any, ...]], Solution] = {}
    for state in states:
        for k, island in enumerate(machine.islands):
            key = tuple([state.values[s] for s in slots[k]])
            solution = state.solutions[k]
            assert solution is not None, f"island {k} was never solved"
            known = seen.setdefault((k, key), solution)
            # a settled state must hold the solution of the values it shows
            assert known is solution, f"a state holds a stale solution of the island of {island.name_of(0)}"
    for (k, key), solution in seen.items():
        yield Case(machine.islands[k], key, solution)
