"""Slips tried over the whole tree of situations: for each only what it changes, where the compiled walk is there.

Without it, and for what a patch cannot hold, the whole changed design is built anew and walked by the plain machine.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from galleyproof.circuit.machine import Machine, State
from galleyproof.circuit.world import build_machine
from galleyproof.design.model import Design
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.proof.board import Board
from galleyproof.proof.compiled import library as compiled_library
from galleyproof.proof.grid import grid
from galleyproof.proof.known import Known
from galleyproof.proof.model import Step
from galleyproof.proof.patch import NeedsPlainWayError, Patcher
from galleyproof.proof.placing import Placing
from galleyproof.proof.settled import Settled
from galleyproof.proof.slips.model import Change, apply
from galleyproof.proof.ways import RIGHT, Coded, Ways, right_ways, seen_in, walked_ways


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of a slip.

    Attributes:
        over: Watched slots that go another way, and which.
        restless: Devices that start and drop out without end.
        reach: Units that could have acted otherwise; None when that is not known, or not asked for.
    """

    over: Mapping[int, int]
    restless: tuple[str, ...] = ()
    reach: frozenset[int] | None = frozenset()


class Trials:
    """A job ready for slips.

    Args:
        job: The job.
        design: Its design.
        library: Device types.
        watched: Names of slots whose ways are asked for; all of the machine's by default.
        steps: The tree of situations; the proof's grid by default.
        walk: The compiled walk; None tries everything on the plain machine.
        reaches: Whether it is told which units could have acted otherwise.
    """

    def __init__(
        self,
        job: Job,
        design: Design,
        library: Mapping[str, DeviceType],
        watched: Collection[str] | None = None,
        steps: Sequence[Step] | None = None,
        *,
        walk: Any = "as built",
        reaches: bool = True,
    ) -> None:
        self.job, self.design, self.library = job, design, library
        self.machine: Machine = build_machine(job, design, library)
        self.steps: tuple[Step, ...] = grid(job) if steps is None else tuple(steps)
        self.patcher = Patcher(design, library, self.machine)
        names = self.machine.slot if watched is None else watched
        self.slot = dict(self.machine.slot)
        self.watched = sorted({self.slot[name] for name in names})
        self.ways = Ways([s.parent for s in self.steps])
        self.dark = tuple(self.machine.dark().values)
        self._walk = compiled_library() if walk == "as built" else walk
        self._reaches = reaches
        self._board = self._laid()
        if self._board is not None:
            board = self._board
            self._placing = Placing(board, self._walk)
            self._codes = Coded(self.ways, board)
            self._known: Known[Tried] = Known(board, self._walk)
            right_ways(self.ways, board, self._codes, self.watched)
        else:
            for s, way in self._plain_ways(self.machine)[0].items():
                self.ways.set_right(s, *way)

    def _laid(self) -> Board | None:
        """The job laid out for the compiled walk, where there is one and the job has room on it."""
        if self._walk is None:
            return None
        try:
            return Board(self.machine, self.steps, self.watched, self._walk)
        except NeedsPlainWayError:
            return None

    def settled(self) -> Settled | None:
        """What solves islands at rest by the compiled walk, where it is there."""
        return Settled(self._board, self._walk) if self._board is not None else None

    def over(self, change: Change) -> Tried:
        """What comes of a slip, by what it changes.

        Raises:
            NeedsPlainWayError: The change is more than a patch can hold, or there is no compiled walk.
            CircuitError: The network has no solution.
        """
        if self._board is None:
            raise NeedsPlainWayError("there is no compiled walk")
        board, patch = self._board, self.patcher.patch(change)
        if patch.island is None and not patch.rules and not patch.more:
            return Tried({})
        try:
            self._placing.place(patch)
            unit = patch.islands[0] if patch.islands else -1
            if patch.rules or patch.more or patch.island is None:
                return self._walked(board)
            a = board.arrays
            reads = a.ins[a.in_at[unit] : a.in_at[unit] + a.in_n[unit]]
            # what is drawn from a bus stands behind the readings; nobody reads it unless buses are summed
            told = int(a.out_n[unit]) if board.struct.sums else len(patch.island.readings)
            tells = a.outs[a.out_at[unit] : a.out_at[unit] + told]
            group = (patch.islands, reads.tobytes(), tells.tobytes())
            found = self._known.find(group)
            if found is None:
                summed = board.struct.sums
                found = self._walked(board)
                if board.struct.sums == summed:
                    self._known.keep(group, found)
            return found
        finally:
            self._placing.take_away()

    def _walked(self, board: Board) -> Tried:
        board.walk()
        reach = None
        if self._reaches:
            units = np.flatnonzero(board.arrays.ever).tolist() + board.arrays.placed[: board.struct.placed_n].tolist()
            reach = frozenset(units)
        return Tried(walked_ways(self.ways, board, self._codes, self._walk), board.restless(), reach)

    def plainly(self, change: Change) -> Tried:
        """The same by the plain machine of the whole changed design.

        Raises:
            CircuitError: The network has no solution.
        """
        found, restless = self._plain_ways(build_machine(self.job, apply(self.design, change), self.library))
        over: dict[int, int] = {}
        for s, (column, moves) in found.items():
            right = self.ways.column(s, RIGHT)
            alike = [self.ways.values[c] for c in right] == [self.ways.values[c] for c in column]
            if alike and self.ways.settled(column, moves) == self.ways.settled(right, self.ways.moves(s, RIGHT)):
                continue
            mark = (column.tobytes(), tuple(sorted(moves.items())))
            way = self.ways.known(s, mark)
            over[s] = self.ways.add(s, mark, column, moves) if way is None else way
        return Tried(over, restless, None)

    def _plain_ways(self, machine: Machine) -> tuple[dict[int, Any], tuple[str, ...]]:
        """Ways of all watched slots by a plain machine, and who chatters in it."""
        names = {number: name for name, number in self.slot.items()}
        # what a changed design does not have any more stays as it is in the dark
        mine = {s: machine.slot[names[s]] for s in self.watched if names[s] in machine.slot}
        gone = {s: self.dark[s] for s in self.watched if s not in mine}
        dark = machine.dark()
        states = {-1: dark}
        seen: list[list[Mapping[int, Any]]] = []
        restless: dict[str, None] = {}
        for index, step in enumerate(self.steps):
            history: list[State] = []
            after = states[index] = machine.apply(states[step.parent], step.events, history=history)
            restless.update(dict.fromkeys(after.chatter))
            seen.append([{**gone, **seen_in(state, mine)} for state in history])
        right = {s: self.dark[s] for s in self.watched}
        return self.ways.of_states(right, {**gone, **seen_in(dark, mine)}, seen), tuple(sorted(restless))
