"""Ways: what one slot does over the whole tree of situations, each known by a number of its own.

Way 0 is that of the right wiring. Equal ways of a slot have one number, whichever slip leads there, so that what hangs
on a way is worked out once.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from galleyproof.circuit.machine import State
from galleyproof.proof.board import Board, preorder

Column = NDArray[np.int64]
"""Code of a slot's value after each step, by place."""
Moment = tuple[float, int]
"""Seconds since the step's events, and round. [s], [-]"""
Wave = tuple[tuple[Moment, Any], ...]
"""Changes of a slot within one step, in order."""
Moves = Mapping[int, Wave]
"""Waves of a slot by the place of their step; the number of steps stands for the dark."""
RIGHT = 0


class Ways:
    """Every way met so far.

    Args:
        parents: Parent of each step, -1 for none.

    Attributes:
        place_of: Place of each step on a walk through the tree.
        end: Place behind the last step below each.
        values: Every value met; a column holds places in this row.
    """

    def __init__(self, parents: Sequence[int]) -> None:
        self.parents = tuple(parents)
        self.place_of, self.end = preorder(parents)
        self._above = [-1] * len(self.parents)
        for step, parent in enumerate(self.parents):
            self._above[self.place_of[step]] = self.place_of[parent] if parent >= 0 else -1
        self.values: list[Any] = []
        self._code: dict[tuple[type, Any], int] = {}
        self._number: dict[tuple[int, Any], int] = {}
        self._columns: dict[tuple[int, int], Column] = {}
        self._moves: dict[tuple[int, int], Moves | Callable[[], Moves]] = {}
        self._late: dict[tuple[int, int], frozenset[int]] = {}
        self._count = 0

    def code(self, value: Any) -> int:
        """Place of a value among all met."""
        key = (type(value), value)
        found = self._code.get(key)
        if found is None:
            found = self._code[key] = len(self.values)
            self.values.append(value)
        return found

    def column(self, slot: int, way: int) -> Column:
        """Codes of what a slot ends each step with, by place."""
        return self._columns[slot, way]

    def moves(self, slot: int, way: int) -> Moves:
        """Steps in which a slot moves, by place."""
        found = self._moves[slot, way]
        if not isinstance(found, Mapping):
            found = self._moves[slot, way] = found()
        return found

    def late(self, slot: int, way: int) -> frozenset[int]:
        """Steps, by place, in which a slot moves after a delay."""
        found = self._late.get((slot, way))
        if found is None:
            places = (place for place, wave in self.moves(slot, way).items() if wave[-1][0][0] > 0.0)
            found = self._late[slot, way] = frozenset(places)
        return found

    def settled(self, column: Column, moves: Moves) -> dict[int, list[tuple[float, Any]]]:
        """What a slot stands at whenever the devices have come to rest, where that is not what it stood at before."""
        found: dict[int, list[tuple[float, Any]]] = {}
        for place, wave in moves.items():
            last = {moment[0]: value for moment, value in wave}
            above = self._above[place] if place < len(self._above) else -1
            stands = self.values[column[above]] if above >= 0 else None
            for time_s, value in last.items():
                if above < 0 or value != stands:
                    found.setdefault(place, []).append((time_s, value))
                stands = value
        return found

    def after(self, slot: int, way: int) -> list[Any]:
        """Values of a slot after each step, in the order of steps."""
        column = self.column(slot, way)
        return [self.values[c] for c in column[self.place_of].tolist()]

    def known(self, slot: int, mark: Any) -> int | None:
        """Number of a way by what marks it, or None."""
        return self._number.get((slot, mark))

    def add(self, slot: int, mark: Any, column: Column, moves: Moves | Callable[[], Moves]) -> int:
        """A way met for the first time; its number."""
        self._count += 1
        way = self._number[slot, mark] = self._count
        self._columns[slot, way], self._moves[slot, way] = column, moves
        return way

    def set_right(self, slot: int, column: Column, moves: Moves | Callable[[], Moves]) -> None:
        """The way of the right wiring."""
        self._columns[slot, RIGHT], self._moves[slot, RIGHT] = column, moves

    def of_states(
        self,
        right: Mapping[int, Any],
        dark: Mapping[int, Any],
        states: Sequence[Sequence[Mapping[int, Any]]],
    ) -> dict[int, tuple[Column, Moves]]:
        """Columns and moves from what was passed through in each step.

        Args:
            right: Slots that are looked at, with their values in the dark on the right wiring.
            dark: Their values before the first step.
            states: For each step their values at once, and after each delay, the last one at rest.
        """
        n = len(self.parents)
        found: dict[int, tuple[Column, Moves]] = {}
        for s in right:
            column = np.zeros(n, dtype=np.int64)
            moves: dict[int, Wave] = {}
            if dark[s] != right[s]:
                moves[n] = (((0.0, 1), dark[s]),)
            for step, history in enumerate(states):
                parent = self.parents[step]
                value = dark[s] if parent < 0 else states[parent][-1][s]
                changes: list[tuple[Moment, Any]] = []
                for state in history:
                    if state[s] != value:
                        value = state[s]
                        changes.append(((state[-1], 1), value))
                p = self.place_of[step]
                column[p] = self.code(value)
                if changes:
                    moves[p] = tuple(changes)
            found[s] = (column, moves)
        return found


def seen_in(state: State, slots: Mapping[int, int]) -> dict[int, Any]:
    """Values of some slots in a state, and its time under -1.

    Args:
        state: The state.
        slots: Slot -> its number in the state's machine.
    """
    found: dict[int, Any] = {s: state.values[mine] for s, mine in slots.items()}
    found[-1] = state.time_s
    return found


def right_ways(ways: Ways, board: Board, codes: Coded, slots: Sequence[int]) -> None:
    """The ways of the right wiring, from its walk."""
    arrays, n = board.arrays, len(ways.parents)
    event_at = arrays.event_at
    step_of = np.repeat(np.arange(n), np.diff(event_at[: n + 1]))
    # the changes of each slot side by side, in the order of steps
    order = np.argsort(arrays.event_slot[: len(step_of)], kind="stable")
    begins = np.searchsorted(arrays.event_slot[order], np.arange(len(arrays.watch) + 1))
    for s in slots:
        mine = order[begins[s] : begins[s + 1]]
        ways.set_right(s, codes(board.row[:n, s]), _told_of(board, mine, step_of[mine]))


def _told_of(board: Board, events: Any, steps: Any) -> Callable[[], Moves]:
    """Waves of a slot by its changes on the right wiring, put together when they are asked for."""
    arrays, value = board.arrays, board.numbers.value
    times, turns, numbers = (a[events] for a in (arrays.event_s, arrays.event_turn, arrays.event_value))

    def moves() -> Moves:
        found: dict[int, list[tuple[Moment, Any]]] = {}
        for step, time_s, turn, number in zip(
            steps.tolist(), times.tolist(), turns.tolist(), numbers.tolist(), strict=True
        ):
            found.setdefault(step, []).append(((time_s, turn), value(number)))
        return {step: tuple(changes) for step, changes in found.items()}

    return moves


class Coded:
    """Codes of values by the numbers a board knows them by."""

    def __init__(self, ways: Ways, board: Board) -> None:
        self._ways, self._board = ways, board
        self._code_of = np.full(len(board.arrays.re), -1, np.int64)

    def __call__(self, numbers: Any) -> Column:
        """Codes of a row of numbers."""
        found: Column = self._code_of[numbers]
        if found.size and found.min() < 0:
            for n in set(numbers[found < 0].tolist()):
                self._code_of[n] = self._ways.code(self._board.numbers.value(n))
            found = self._code_of[numbers]
        return found


def walked_ways(ways: Ways, board: Board, codes: Coded, library: Any) -> dict[int, int]:
    """Ways of the watched slots that went another way in the last walk."""
    arrays = board.arrays
    count = int(library.told(arrays.at))
    found: dict[int, int] = {}
    for s, mark in zip(arrays.told_slot[:count].tolist(), arrays.told_mark[:count].tolist(), strict=True):
        way = ways.known(s, mark)
        if way is None:
            library.column_of(arrays.at, s)
            way = ways.add(s, mark, codes(arrays.column), _moves(ways, board, s))
        found[s] = way
    return found


def _moves(ways: Ways, board: Board, slot: int) -> Callable[[], Moves]:
    """What the last walk has told of a slot, put together when it is asked for."""
    arrays, value = board.arrays, board.numbers.value
    mine = np.flatnonzero(arrays.out_slot[: board.struct.n_out] == slot)
    steps, times, turns, numbers = (a[mine] for a in (arrays.out_step, arrays.out_s, arrays.out_turn, arrays.out_value))

    def moves() -> Moves:
        told: dict[int, list[tuple[Moment, Any]]] = {}
        for step, time_s, turn, number in zip(
            steps.tolist(), times.tolist(), turns.tolist(), numbers.tolist(), strict=True
        ):
            changes = told.setdefault(step, [])
            if number >= 0:
                changes.append(((time_s, turn), value(number)))
        found = dict(ways.moves(slot, RIGHT))
        for step, changes in told.items():
            if changes:
                found[step] = tuple(changes)
            else:
                found.pop(step, None)
        return found

    return moves
