"""Ohms between the nodes of a dead island: all of them from one factorisation."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from galleyproof.circuit.island import Island, admittance


class DeadIsland:
    """One island in one state of its contacts, every source dead.

    Sources stand for their inner resistance; buses of fixed potential are tied to the earth.

    Args:
        island: The island.
        key: Values of its key slots.
        without: Name of a branch that is lifted.
    """

    def __init__(self, island: Island, key: tuple[Any, ...], without: str = "") -> None:
        at = {s: i for i, s in enumerate(island.key_slots)}
        fixed = {n for n, *_ in island.fixed_nodes}
        parent: dict[int, int] = {n: n for n in island.nodes}
        parent |= dict.fromkeys(fixed, -1)
        parent[-1] = -1

        def root(n: int) -> int:
            while parent[n] != n:
                n = parent[n]
            return n

        for link in island.links:
            if key[at[link.slot]]:
                a, b = root(link.a), root(link.b)
                if a != b:
                    parent[max(a, b)] = min(a, b)
        edges = [
            (root(b.a), root(b.b), admittance(b, key[at[b.slot]] if b.slot else None)[1])
            for b in island.branches
            if b.name != without
        ]
        edges += [(root(s.a), root(s.b), 1.0 / s.ohm) for s in island.sources]
        edges = [(a, b, g) for a, b, g in edges if a != b and g > 0.0]
        roots = sorted({root(n) for n in island.nodes} - {-1})
        self._root = {n: root(n) for n in (*island.nodes, *fixed)}
        self._group, self._grounded = _groups(roots, edges)
        self._at: dict[int, int] = {}
        self._inverse: dict[int, NDArray[np.float64]] = {}
        members: dict[int, list[int]] = {}
        for n in roots:
            members.setdefault(self._group[n], []).append(n)
        for group, nodes in members.items():
            # a part that hangs on nothing gets one node tied, for only differences mean anything there
            free = nodes if group in self._grounded else nodes[1:]
            self._at |= {n: i for i, n in enumerate(free)}
            matrix = np.zeros((len(free), len(free)))
            for a, b, g in edges:
                ia = self._at.get(a) if self._group.get(a) == group else None
                ib = self._at.get(b) if self._group.get(b) == group else None
                if ia is not None:
                    matrix[ia, ia] += g
                if ib is not None:
                    matrix[ib, ib] += g
                if ia is not None and ib is not None:
                    matrix[ia, ib] -= g
                    matrix[ib, ia] -= g
            self._inverse[group] = np.asarray(np.linalg.inv(matrix), dtype=np.float64) if free else matrix

    def ohms(self, a: int, b: int) -> float:
        """Resistance between two nodes, a bus of fixed potential standing for the earth. [ohm].

        Args:
            a: Node of this island, or -1 for the earth.
            b: The other.
        """
        ra, rb = (-1 if n == -1 else self._root[n] for n in (a, b))
        if ra == rb:
            return 0.0
        if ra == -1:
            ra, rb = rb, ra
        group = self._group[ra]
        inverse = self._inverse[group]
        ia = self._at.get(ra)
        if rb == -1:
            if group not in self._grounded:
                return float("inf")
            return float(inverse[ia, ia]) if ia is not None else 0.0
        if self._group[rb] != group:
            return self.ohms(a, -1) + self.ohms(b, -1)
        ib = self._at.get(rb)
        aa = inverse[ia, ia] if ia is not None else 0.0
        bb = inverse[ib, ib] if ib is not None else 0.0
        ab = inverse[ia, ib] if ia is not None and ib is not None else 0.0
        return float(aa + bb - 2.0 * ab)


def _groups(roots: list[int], edges: list[tuple[int, int, float]]) -> tuple[dict[int, int], set[int]]:
    """Connected parts, the earth carrying no connection on; and those that hang on the earth."""
    parent = {n: n for n in roots}

    def root(n: int) -> int:
        while parent[n] != n:
            n = parent[n]
        return n

    for a, b, _ in edges:
        if a != -1 and b != -1:
            ra, rb = root(a), root(b)
            if ra != rb:
                parent[max(ra, rb)] = min(ra, rb)
    grounded = {root(a if b == -1 else b) for a, b, _ in edges if (a == -1) != (b == -1)}
    return {n: root(n) for n in roots}, grounded
