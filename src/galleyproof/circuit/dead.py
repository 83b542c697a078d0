"""Ohms between the nodes of a dead island: all of them from one factorisation."""

from __future__ import annotations

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
        parent = list(range(free + 1))

        def root(n: int) -> int:
            place = local[n]
            place = min(place, free)
            while parent[place] != place:
                parent[place] = parent[parent[place]]
                place = parent[place]
            return place

        for link in island.links:
            if at[link.slot]:
                a, b = root(link.a), root(link.b)
                if a != b:
                    parent[min(a, b)] = max(a, b)
        edges: list[tuple[int, int, float]] = []
        for branch in island.branches:
            if branch.name == without:
                continue
            g = admittance(branch, at[branch.slot] if branch.slot else None)[1]
            a, b = root(branch.a), root(branch.b)
            if a != b and g > 0.0:
                edges.append((a, b, g))
        for source in island.sources:
            a, b = root(source.a), root(source.b)
            if a != b:
                edges.append((a, b, 1.0 / source.ohm))
        self._island = island
        roots = [root(n) for n in island.nodes]
        self._root: Places = np.array([*roots, free], dtype=np.int64)
        group, grounded = _groups(free, sorted(set(roots) - {free}), edges)
        self._group: Places = np.array(group, dtype=np.int64)
        self._grounded = np.zeros(free + 1, dtype=np.bool_)
        self._grounded[list(grounded)] = True
        # a part that hangs on nothing gets one node tied, for only differences mean anything there
        tied = {g for g in set(group) if g not in grounded} | {free}
        matrix = np.zeros((free + 1, free + 1))
        for a, b, g in edges:
            matrix[a, a] += g
            matrix[b, b] += g
            matrix[a, b] -= g
            matrix[b, a] -= g
        kept = [n for n in sorted(set(roots)) if n not in tied]
        self._inverse = np.zeros((free + 1, free + 1))
        if kept:
            inside = np.ix_(kept, kept)
            self._inverse[inside] = np.linalg.inv(matrix[inside])

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
        return float(self.between(self.places([a]), self.places([b]))[0])


def _groups(earth: int, roots: Sequence[int], edges: Sequence[tuple[int, int, float]]) -> tuple[list[int], set[int]]:
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
