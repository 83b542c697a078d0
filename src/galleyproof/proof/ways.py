"""Ways: what one slot does over the whole tree of situations, each known by a number of its own.

Way 0 is that of the right wiring. Equal ways of a slot have one number, whichever slip leads there, so that what hangs
on a way is worked out once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from galleyproof.circuit.machine import State
from galleyproof.proof.board import Board, preorder
from galleyproof.proof.compiled import KINDS

Bools = NDArray[np.bool_]
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
        above: Place of the step above each, by place; -1 for none.
        values: Every value met; a column holds places in this row.
    """

    def __init__(self, parents: Sequence[int]) -> None:
        self.parents = tuple(parents)
        self.place_of, self.end = preorder(parents)
        self.above = np.full(len(self.parents), -1)
        for step, parent in enumerate(self.parents):
            self.above[self.place_of[step]] = self.place_of[parent] if parent >= 0 else -1
        self._below = self.above >= 0
        self.values: list[Any] = []
        self._code: dict[tuple[type, Any], int] = {}
        self._number: dict[tuple[int, Any], int] = {}
        self._columns: dict[tuple[int, int], Column] = {}
        self._moves: dict[tuple[int, int], Moves] = {}
        self._late: dict[tuple[int, int], Bools] = {}
        self._other: dict[tuple[int, int], Bools] = {}
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
        return self._moves[slot, way]

    def late(self, slot: int, way: int) -> Bools:
        """Whether a slot moves after a delay, by place."""
        found = self._late.get((slot, way))
        if found is None:
            moves = self.moves(slot, way)
            if isinstance(moves, Waves):
                found = self.late(slot, RIGHT).copy() if way != RIGHT else np.zeros(len(self.parents), np.bool_)
                moves.mark_late(found)
            else:
                found = np.zeros(len(self.parents), np.bool_)
                found[[p for p, wave in moves.items() if wave[-1][0][0] > 0.0 and p < len(found)]] = True
            self._late[slot, way] = found
        return found

    def other(self, slot: int, way: int) -> Bools:
        """Where a slot may come by another way to what it ends a step with than on the right wiring, by place."""
        found = self._other.get((slot, way))
        if found is None:
            moves = self.moves(slot, way)
            if isinstance(moves, Waves):
                stands = self.column(slot, way) != self.column(slot, RIGHT)
                found = self._below & stands[self.above]
                moves.mark_told(found)
            else:
                found = np.ones(len(self.parents), np.bool_)
            self._other[slot, way] = found
        return found

    def names(self, slot: int, way: int, places: Column) -> Sequence[Any]:
        """For each of some steps what names the wave of a slot there: equal names, equal waves."""
        moves = self.moves(slot, way)
        return moves.names(places) if isinstance(moves, Waves) else [moves.get(p, ()) for p in places.tolist()]

    def settled(self, column: Column, moves: Moves) -> dict[int, list[tuple[float, Any]]]:
        """What a slot stands at whenever the devices have come to rest, where that is not what it stood at before."""
        found: dict[int, list[tuple[float, Any]]] = {}
        for place, wave in moves.items():
            last = {moment[0]: value for moment, value in wave}
            above = self.above[place] if place < len(self.above) else -1
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

    def add(self, slot: int, mark: Any, column: Column, moves: Moves) -> int:
        """A way met for the first time; its number."""
        self._count += 1
        way = self._number[slot, mark] = self._count
        self._columns[slot, way], self._moves[slot, way] = column, moves
        return way

    def set_right(self, slot: int, column: Column, moves: Moves) -> None:
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
        told = np.empty(len(mine), KINDS["Told"])
        told["step"], told["s"] = step_of[mine], arrays.event_s[mine]
        told["turn"], told["value"] = arrays.event_turn[mine], arrays.event_value[mine]
        ways.set_right(s, codes(board.row[:n, s]), Waves(board.numbers.value, told))


class Waves(Mapping[int, Wave]):
    """Waves of a slot by place, each put together when it is asked for.

    Args:
        value_of: Value by its number.
        told: What is told of the slot, as the compiled walk does.
        right: Waves of the steps that are not among them.
    """

    def __init__(self, value_of: Callable[[int], Any], told: Any, right: Waves | None = None) -> None:
        self._told, self._value_of, self._right = told, value_of, right

    @cached_property
    def _places(self) -> Column:
        """Places of the steps of all that is told, in order."""
        self._told = self._told[np.argsort(self._told["step"], kind="stable")]
        places: Column = self._told["step"].astype(np.int64)
        return places

    @cached_property
    def _rows(self) -> Any:
        """Seconds, rounds and numbers of values in the order of places: those of one step tell its wave."""
        return np.array([self._told[what] for what in ("s", "turn", "value")], np.float64).T.copy()

    @cached_property
    def _bytes(self) -> bytes:
        return bytes(self._rows.tobytes())

    def wave(self, place: int) -> Wave:
        """Changes of the slot within a step; none if it does not move there."""
        begin, end = np.searchsorted(self._places, (place, place + 1)).tolist()
        if begin == end:
            return self._right.wave(place) if self._right is not None else ()
        rows = self._rows[begin:end].tolist()
        return tuple([((s, int(turn)), self._value_of(int(n))) for s, turn, n in rows if n >= 0])

    def names(self, places: Column) -> list[bytes]:
        """For each of some steps what names the wave there: equal names, equal waves."""
        begins = np.searchsorted(self._places, places).tolist()
        ends = np.searchsorted(self._places, places, side="right").tolist()
        right = self._right.names(places) if self._right is not None else None
        row = self._rows.itemsize * 3
        return [
            self._bytes[row * a : row * b] if a < b else right[n] if right is not None else b""
            for n, (a, b) in enumerate(zip(begins, ends, strict=True))
        ]

    def __getitem__(self, place: int) -> Wave:
        found = self.wave(place)
        if not found:
            raise KeyError(place)
        return found

    def __iter__(self) -> Iterator[int]:
        told = dict.fromkeys(self._places[self._rows[:, 2] >= 0].tolist())
        yield from told
        if self._right is not None:
            mine = set(self._places.tolist())
            yield from (place for place in self._right if place not in mine)

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def mark_late(self, late: Bools) -> None:
        """Set where the slot moves after a delay, in what is known of the right wiring."""
        places = self._places[: np.searchsorted(self._places, len(late))]
        late[places] = False
        late[places[self._rows[: len(places), 0] > 0.0]] = True

    def mark_told(self, told: Bools) -> None:
        """Set where the slot may move otherwise than on the right wiring."""
        told[self._places[: np.searchsorted(self._places, len(told))]] = True


class Coded:
    """Codes of values by the numbers a board knows them by."""

    def __init__(self, ways: Ways, board: Board) -> None:
        self._ways, self._board = ways, board
        self._code_of = np.full(len(board.arrays.re), -1, np.int64)

    def __call__(self, numbers: Any) -> Column:
        """Codes of a row of numbers."""
        found: Column = self._code_of.take(numbers)
        if found.size and found.min() < 0:
            for n in set(numbers[found < 0].tolist()):
                self._code_of[n] = self._ways.code(self._board.numbers.value(n))
            found = self._code_of.take(numbers)
        return found


def walked_ways(ways: Ways, board: Board, codes: Coded, library: Any) -> dict[int, int]:
    """Ways of the watched slots that went another way in the last walk."""
    arrays = board.arrays
    count = int(library.told(arrays.at))
    found: dict[int, int] = {}
    for s, mark in zip(arrays.told_slot[:count].tolist(), arrays.told_mark[:count].tolist(), strict=True):
        way = ways.known(s, mark)
        if way is None:
            told = arrays.told_of[: library.column_of(arrays.at, s)].copy()
            right = ways.moves(s, RIGHT)
            assert isinstance(right, Waves)
            waves = Waves(board.numbers.value, told, right)
            way = ways.add(s, mark, codes(arrays.column), waves)
        found[s] = way
    return found
