"""Runs told apart by what an island has answered.

A walk asks the island that a slip has put in place for its states one after the other, and what it asks next hangs on
what was answered alone. So two slips in the same place whose islands give the same answers, as far as they are asked,
come to the same; the second need not be walked.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

import numpy as np

from galleyproof.proof.board import Board

Run = TypeVar("Run")
Group = tuple[tuple[int, ...], bytes, bytes]
"""Islands replaced, slots read, slots written that anybody reads; slots as whole numbers of four bytes."""


@dataclass(slots=True)
class _Fork(Generic[Run]):
    """A state that is asked for next, and where each answer leads; or a run that is over."""

    state: Any = None
    ways: dict[bytes, _Fork[Run]] = field(default_factory=dict)
    run: Run | None = None


class Known(Generic[Run]):
    """Runs so far, by the place of the slip."""

    def __init__(self, board: Board, library: Any) -> None:
        self._board, self._library = board, library
        self._first: dict[Group, _Fork[Run]] = {}

    def find(self, group: Group) -> Run | None:
        """A run that the island in place comes to as well, or None; asks it for the states that tell."""
        board = self._board
        arrays = board.arrays
        unit = group[0][0]
        answers = len(group[2]) // 4
        fork = self._first.get(group)
        while fork is not None and fork.run is None:
            place = int(self._library.asked_at(arrays.at, unit, fork.state.ctypes.data))
            if place < 0:
                return None
            fork = fork.ways.get(arrays.rows[place : place + answers].tobytes())
        if fork is None or (not board.struct.sums and self._library.sums_count(arrays.at)):
            return None
        return fork.run

    def keep(self, group: Group, run: Run) -> None:
        """Remember the run that has just been walked."""
        board = self._board
        rows = board.arrays.rows
        reads, answers = len(group[1]) // 4, len(group[2]) // 4
        fork = self._first.setdefault(group, _Fork())
        for place in board.arrays.asked[: board.struct.asked_n].tolist():
            if fork.state is None:
                fork.state = np.array(rows[place - reads : place], np.int32)
            fork = fork.ways.setdefault(rows[place : place + answers].tobytes(), _Fork())
        fork.run = run
