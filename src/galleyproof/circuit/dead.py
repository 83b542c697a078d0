"""Ohms between the nodes of a dead island: all of them from one factorisation."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from galleyproof.circuit.island import Island, admittance

Places = NDArray[np.int64]


class DeadIsland:
    """One island in one state of its contacts, every source dead.

    Sources stand for their inner resistance; buses of fixed potential are tied to the earth.

    Args:
        island: The island.
        key: Values of its key slots.
        without: Name of a branch that is lifted.
    """

    def __init__(self, island: Island, key: tuple[Any, ...], without: str = "") -> None:
        at = dict(zip(island.key_slots, key, strict=True))
        local = island.place
        free = len(island.nodes)
        # the earth, and every bus of fixed potential with it, is the last place
        earths = [free] * len(island.fixed_nodes)
        parent = list(range(free + 1))
        joined = False
        for link in island.links:
            if at[link.slot]:
                a, b = min(local[link.a], free), min(local[link.b], free)
                while parent[a] != a:
                    a = parent[a]
                while parent[b] != b:
                    b = parent[b]
                if a != b:
                    parent[min(a, b)] = max(a, b)
                    joined = True
        roots = parent[:free]
        if joined:
            for i in range(free - 1, -1, -1):
                # what it is joined to has a higher place, and has been looked up
                if parent[i] != free and parent[i] != i:
                    roots[i] = roots[parent[i]]
        of = roots + earths
        edges: list[tuple[int, int, float]] = []
        for branch in island.branches:
            a, b = of[local[branch.a]], of[local[branch.b]]
            if a != b and branch.name != without:
                g = admittance(branch, at[branch.slot])[1] if branch.slot else branch.g_dc
                if g > 0.0:
                    edges.append((a, b, g))
        for source in island.sources:
            a, b = of[local[source.a]], of[local[source.b]]
            if a != b:
                edges.append((a, b, 1.0 / source.ohm))
        groups, grounded = _groups(free, edges)
        on_earth = np.zeros(free + 1, dtype=np.bool_)
        on_earth[list(grounded)] = True
        # a part that hangs on nothing gets one node tied, for only differences mean anything there
        kept = [n for n in sorted(set(roots)) if n != free and (n != groups[n] or n in grounded)]
        inverse = np.zeros((free + 1, free + 1))
        if kept:
            place = dict(zip(kept, range(len(kept)), strict=True))
            m = len(kept)
            flat = [0.0] * (m * m)
            for a, b, g in edges:
                i, j = place.get(a, -1), place.get(b, -1)
                if i >= 0:
                    flat[i * m + i] += g
                    if j >= 0:
                        flat[i * m + j] -= g
                        flat[j * m + i] -= g
                if j >= 0:
                    flat[j * m + j] += g
            found = np.linalg.inv(np.array(flat).reshape(m, m))
            rows = np.array(kept)
            inverse[rows[:, None], rows] = found
        self._take(island, np.array([*roots, free]), np.array(groups), on_earth, inverse)

    @classmethod
    def of(cls, island: Island, root: Any, group: Any, grounded: Any, inverse: Any) -> DeadIsland:
        """One that has been worked out elsewhere.

        Args:
            island: The island.
            root: For each place, the earth's the last, the place that stands for it.
            group: For each place the connected part it is in.
            grounded: Whether such a part hangs on the earth.
            inverse: Place by place, of the conductances with one node of each part that does not tied. [ohm]
        """
        made = object.__new__(cls)
        made._take(island, root, group, grounded, inverse)
        return made

    def _take(self, island: Island, root: Any, group: Any, grounded: Any, inverse: Any) -> None:
        self._island, self._root, self._group = island, root, group
        self._grounded, self._inverse = grounded, inverse

    def places(self, nodes: Sequence[int]) -> Places:
        """Places of nodes for ``between``; a bus of fixed potential, or -1, stands for the earth."""
        free, local = len(self._island.nodes), self._island.place
        return np.array([min(local.get(n, free), free) for n in nodes], dtype=np.int64)

    def between(self, a: Places, b: Places) -> NDArray[np.float64]:
        """Resistances between nodes. [ohm].

        Args:
            a: Places of some nodes.
            b: Places of as many others.
        """
        free = len(self._island.nodes)
        ra, rb = self._root[a], self._root[b]
        inverse = self._inverse
        aa, bb = inverse[ra, ra], inverse[rb, rb]
        # what does not hang on the earth has no way there
        to_a = np.where((ra == free) | self._grounded[self._group[ra]], aa, np.inf)
        to_b = np.where((rb == free) | self._grounded[self._group[rb]], bb, np.inf)
        same = (self._group[ra] == self._group[rb]) & (ra != free) & (rb != free)
        found = np.where(same, aa + bb - 2.0 * inverse[ra, rb], to_a + to_b)
        return np.where(ra == rb, 0.0, found)

    def ohms(self, a: int, b: int) -> float:
        """Resistance between two nodes, a bus of fixed potential standing for the earth. [ohm].

        Args:
            a: Node of this island, or -1 for the earth.
            b: The other.
        """
        free, local = len(self._island.nodes), self._island.place
        ra, rb = (int(self._root[min(local.get(n, free), free)]) for n in (a, b))
        if ra == rb:
            return 0.0
        inverse, group = self._inverse, self._group
        if group[ra] == group[rb] and free not in (ra, rb):
            return float(inverse[ra, ra] + inverse[rb, rb] - 2.0 * inverse[ra, rb])
        if any(r != free and not self._grounded[group[r]] for r in (ra, rb)):
            return math.inf
        return float(inverse[ra, ra] + inverse[rb, rb])


def _groups(earth: int, edges: Sequence[tuple[int, int, float]]) -> tuple[list[int], set[int]]:
    """Connected parts by place, the earth carrying no connection on; and those that hang on the earth."""
    parent = list(range(earth + 1))

    def root(n: int) -> int:
        while parent[n] != n:
            parent[n] = parent[parent[n]]
            n = parent[n]
        return n

    for a, b, _ in edges:
        if a != earth and b != earth:
            ra, rb = root(a), root(b)
            if ra != rb:
                # the lowest is tied where a part hangs on nothing
                parent[max(ra, rb)] = min(ra, rb)
    grounded = {root(a if b == earth else b) for a, b, _ in edges if (a == earth) != (b == earth)}
    return [root(n) for n in range(earth + 1)], grounded - {earth}
