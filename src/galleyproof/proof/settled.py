"""Islands at rest by the compiled walk: the volts of every node, and the ohms between nodes with every source dead.

The same as ``Island.solve`` and ``DeadIsland`` give, in a fraction of the time.
"""

from __future__ import annotations

from array import array
from typing import Any

import numpy as np

from galleyproof.circuit.dead import DeadIsland
from galleyproof.circuit.island import Island, Solution
from galleyproof.errors import CircuitError
from galleyproof.proof.board import Board
from galleyproof.proof.compiled import DONE
from galleyproof.proof.packed import parts_of, row_of

Key = tuple[Any, ...]
Laid = tuple[Any, Any, int, int]
"""Whole numbers and quantities of an island, and where they stand."""


class Settled:
    """Solves islands one at a time, whichever they are.

    Args:
        board: Whose room is used.
        library: The compiled walk.
    """

    def __init__(self, board: Board, library: Any) -> None:
        self._board, self._walk = board, library
        self._laid: dict[Island, Laid] = {}
        self._last: tuple[Island, Laid] | None = None
        self._stay = frozenset(board.machine.islands)

    def holds(self, island: Island) -> bool:
        """Whether there is room for an island."""
        parts = len(island.branches) + len(island.sources)
        return len(island.place) < self._board.most_nodes and parts <= self._board.most_parts

    def stands(self, island: Island, key: Key) -> tuple[Solution, Any, Any, Any]:
        """Volts of an island with its key slots at ``key``.

        Returns:
            The solution without its readings, AC and DC potentials, and what floats. [V], [V]

        Raises:
            CircuitError: Two stiff buses of different potential are joined without any resistance.
        """
        ints, floats = self._of(island)[2:]
        n = len(island.place)
        ac, dc, loose = np.empty(n, np.complex128), np.empty(n), np.empty(n, np.bool_)
        values = array("d", key)
        at = self._board.arrays.at
        reason = self._walk.stands(
            at, ints, floats, values.buffer_info()[0], ac.ctypes.data, dc.ctypes.data, loose.ctypes.data
        )
        if reason != DONE:
            raise CircuitError("a closed contact joins two stiff buses of different voltage without any conductor")
        solution = Solution(tuple(ac.tolist()), tuple(dc.tolist()), tuple(loose.tolist()), (), ())
        return solution, ac, dc, loose

    def dead(self, island: Island, key: Key, without: str = "") -> DeadIsland:
        """An island with every source dead.

        Args:
            island: The island.
            key: Values of its key slots, those of supplies at nothing.
            without: Name of a branch that is lifted.
        """
        ints, floats = self._of(island)[2:]
        n = len(island.nodes) + 1
        of, part = np.empty(n, np.int32), np.empty(n, np.int32)
        grounded, inverse = np.empty(n, np.bool_), np.empty((n, n))
        values = array("d", key)
        lifted = next((i for i, b in enumerate(island.branches) if b.name == without), -1) if without else -1
        self._walk.dead_ways(
            self._board.arrays.at,
            ints,
            floats,
            values.buffer_info()[0],
            lifted,
            of.ctypes.data,
            part.ctypes.data,
            grounded.ctypes.data,
            inverse.ctypes.data,
        )
        return DeadIsland.of(island, of, part, grounded, inverse)

    def _of(self, island: Island) -> Laid:
        found = self._laid.get(island)
        if found is not None:
            return found
        if self._last is not None and self._last[0] is island:
            return self._last[1]
        numbers, quantities = parts_of(island)
        ints: Any = np.empty(len(numbers), np.int32)
        floats: Any = np.empty(len(quantities))
        row_of("i", len(numbers)).pack_into(ints, 0, *numbers)
        row_of("d", len(quantities)).pack_into(floats, 0, *quantities)
        laid = (ints, floats, ints.ctypes.data, floats.ctypes.data)
        if island in self._stay:
            self._laid[island] = laid
        else:
            # a slip's island is asked for its states one after the other, and then never again
            self._last = (island, laid)
        return laid
