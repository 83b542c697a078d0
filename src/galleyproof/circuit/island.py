"""Galvanic islands: each is solved on its own, once per state, and remembered.

Nodes of fixed potential (the earth, stiff buses and the buses that follow from them) cut the network: the parts on
either side do not feel each other. Within an island closed links join nodes; what then hangs together without a fixed
node floats, and one of its nodes is taken as zero, because only differences mean anything there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from galleyproof.circuit.elements import Branch, Link, Reading, Source
from galleyproof.errors import CircuitError

MAX_CONDUCTANCE_S = 1e4
"""A sensor shorted to nothing counts as 0.1 milliohm [S]."""


@dataclass(frozen=True)
class Solution:
    """Node potentials of one island in one state, and the readings taken from them."""

    volts_ac: tuple[complex, ...]
    volts_dc: tuple[float, ...]
    floating: tuple[bool, ...]
    readings: tuple[Any, ...]
    drawn_dc: tuple[float, ...]
    """DC current drawn from each fixed node the island touches [A]."""


def admittance(branch: Branch, value: Any) -> tuple[complex, float]:
    """Admittance of a branch with its slot at ``value`` [S], [S]."""
    if branch.how == "factor":
        return branch.y_ac * value, branch.g_dc * value
    if branch.how == "ohm":
        g = MAX_CONDUCTANCE_S if value <= 1.0 / MAX_CONDUCTANCE_S else (0.0 if value == float("inf") else 1.0 / value)
        return complex(g), g
    return branch.y_ac, branch.g_dc


class Island:
    """One cut-out piece of a network.

    ``key_slots`` are the slots whose values decide its solution; ``solve`` takes their values in that order.
    """

    __slots__ = (
        "_branch_at",
        "_key_index",
        "_local",
        "_memo",
        "_source_at",
        "branches",
        "fixed_nodes",
        "key_slots",
        "links",
        "nodes",
        "readings",
        "sources",
    )

    def __init__(
        self,
        nodes: Sequence[int],
        branches: Sequence[Branch],
        sources: Sequence[Source],
        links: Sequence[Link],
        fixed: Sequence[tuple[int, complex, float, str]],
    ) -> None:
        """Build an island.

        Args:
            nodes: Its free nodes.
            branches: Its admittances.
            sources: Its sources behind a resistance.
            links: Its links.
            fixed: Per fixed node it touches: node, AC volts, DC volts, and the slots that multiply them, joined
                by ``*`` (empty for the earth).
        """
        self.nodes = tuple(nodes)
        self.branches = tuple(branches)
        self.sources = tuple(sources)
        self.links = tuple(links)
        self.fixed_nodes = tuple(fixed)
        self._local = {n: i for i, n in enumerate(self.nodes)}
        for i, (n, *_rest) in enumerate(self.fixed_nodes):
            self._local[n] = len(self.nodes) + i
        slots: list[str] = [k.slot for k in self.links]
        slots += [b.slot for b in self.branches if b.slot]
        slots += [s.slot for s in self.sources if s.slot]
        for *_, names in self.fixed_nodes:
            slots += [n for n in names.split("*") if n]
        self.key_slots = tuple(dict.fromkeys(slots))
        self._key_index = {s: i for i, s in enumerate(self.key_slots)}
        self._branch_at = {b.name: i for i, b in enumerate(self.branches)}
        self._source_at = {s.name: i for i, s in enumerate(self.sources)}
        self.readings: tuple[Reading, ...] = ()
        self._memo: dict[tuple[Any, ...], Solution] = {}

    @property
    def place(self) -> Mapping[int, int]:
        """Place of each node in a solution; buses of fixed potential stand behind the free nodes."""
        return self._local

    def set_readings(self, readings: Sequence[Reading]) -> None:
        """Say which readings the machine wants from this island."""
        self.readings = tuple(readings)
        self._memo.clear()

    @property
    def solved(self) -> int:
        """Number of states solved so far."""
        return len(self._memo)

    def solve(self, key: tuple[Any, ...]) -> Solution:
        """Potentials and readings with the key slots at ``key``.

        Raises:
            CircuitError: If two stiff buses of different potential are joined without any resistance.
        """
        found = self._memo.get(key)
        if found is None:
            found = self._memo[key] = self._solve(key)
        return found

    def _solve(self, key: tuple[Any, ...]) -> Solution:
        at = self._key_index
        free = len(self.nodes)
        total = free + len(self.fixed_nodes)
        # closed links join nodes
        parent = list(range(total))

        def root(i: int) -> int:
            while parent[i] != i:
                parent[i] = parent[parent[i]]
                i = parent[i]
            return i

        local = self._local
        for link in self.links:
            if key[at[link.slot]]:
                a, b = root(local[link.a]), root(local[link.b])
                if a != b:
                    # the fixed node, which has the higher number, stays the root
                    parent[min(a, b)] = max(a, b)
        fixed_ac: dict[int, complex] = {}
        fixed_dc: dict[int, float] = {}
        for i, (_node, v_ac, v_dc, names) in enumerate(self.fixed_nodes):
            factor = 1.0
            for name in names.split("*"):
                if name:
                    factor *= float(key[at[name]])
            r = root(free + i)
            held_ac, held_dc = v_ac * factor, v_dc * factor
            if r in fixed_ac and (abs(fixed_ac[r] - held_ac) > 1e-9 or abs(fixed_dc[r] - held_dc) > 1e-9):
                raise CircuitError(
                    f"{self.name_of(i)}: a closed contact joins two stiff buses of different voltage "
                    f"({abs(fixed_ac[r]) or fixed_dc[r]:.1f} V and {abs(held_ac) or held_dc:.1f} V) without any "
                    "conductor between them; "
                    "give the source an internal resistance"
                )
            fixed_ac[r], fixed_dc[r] = held_ac, held_dc
        edges = []
        for branch in self.branches:
            y, g = admittance(branch, key[at[branch.slot]] if branch.slot else None)
            edges.append((root(local[branch.a]), root(local[branch.b]), y, g))
        injections = []
        for source in self.sources:
            level = float(key[at[source.slot]]) if source.slot else 1.0
            g = 1.0 / source.ohm
            a, b = root(local[source.a]), root(local[source.b])
            edges.append((a, b, complex(g), g))
            injections.append((a, b, source.v_ac * level * g, source.v_dc * level * g))
        at_root = [root(i) for i in range(total)]
        roots = set(at_root)
        in_ac = any(v for v in fixed_ac.values()) or any(i for _, _, i, _ in injections)
        in_dc = any(v for v in fixed_dc.values()) or any(i for _, _, _, i in injections)
        ac: dict[int, complex] = {}
        dc: dict[int, complex] = {}
        float_ac: dict[int, bool] = {}
        float_dc: dict[int, bool] = {}
        # without a source of one form nothing stands at its volts, and the other form tells what floats
        if in_ac or not in_dc:
            ac, float_ac = _nodal(
                roots, [(a, b, y) for a, b, y, _ in edges], [(a, b, i) for a, b, i, _ in injections], fixed_ac
            )
        if in_dc:
            dc, float_dc = _nodal(
                roots, [(a, b, g) for a, b, _, g in edges], [(a, b, i) for a, b, _, i in injections], fixed_dc
            )
        else:
            dc, float_dc = dict.fromkeys(roots, 0.0), float_ac
        if not float_ac:
            ac, float_ac = dict.fromkeys(roots, 0j), float_dc
        volts_ac = tuple([ac[r] for r in at_root])
        volts_dc = tuple([dc[r].real for r in at_root])
        floating = tuple([float_ac[r] and float_dc[r] for r in at_root])
        drawn = [0.0] * len(self.fixed_nodes)
        holders = {root(free + i): i for i in range(len(self.fixed_nodes))}
        for a, b, _y, g in edges if in_dc else ():
            if a != b:
                flow = g * (dc[a].real - dc[b].real)
                if a in holders:
                    drawn[holders[a]] += flow
                if b in holders:
                    drawn[holders[b]] -= flow
        for a, b, _ac, current in injections:
            if a in holders:
                drawn[holders[a]] -= current
            if b in holders:
                drawn[holders[b]] += current
        readings = self._read(volts_ac, volts_dc, key)
        return Solution(volts_ac, volts_dc, floating, readings, tuple(drawn))

    def name_of(self, fixed_index: int) -> str:
        """Name for messages: the links of this island."""
        return ", ".join(k.name for k in self.links) or f"node {self.fixed_nodes[fixed_index][0]}"

    def _read(self, volts_ac: Sequence[complex], volts_dc: Sequence[float], key: tuple[Any, ...]) -> tuple[Any, ...]:
        values: list[Any] = []
        for r in self.readings:
            v: complex | float
            if r.of == "volts":
                a, b = self._local[r.a], self._local[r.b]
                v = volts_ac[a] - volts_ac[b] if r.form == "ac" else volts_dc[a] - volts_dc[b]
            else:
                v = self.current(r.branch, r.form, volts_ac, volts_dc, key)
            values.append(v)
        return tuple(values)

    def current(
        self,
        name: str,
        form: str,
        volts_ac: Sequence[complex],
        volts_dc: Sequence[float],
        key: tuple[Any, ...],
    ) -> complex | float:
        """Current from the first node to the second through a branch or a source [A]."""
        if name in self._branch_at:
            branch = self.branches[self._branch_at[name]]
            y, g = admittance(branch, key[self._key_index[branch.slot]] if branch.slot else None)
            a, b = self._local[branch.a], self._local[branch.b]
            return y * (volts_ac[a] - volts_ac[b]) if form == "ac" else g * (volts_dc[a] - volts_dc[b])
        source = self.sources[self._source_at[name]]
        level = float(key[self._key_index[source.slot]]) if source.slot else 1.0
        a, b = self._local[source.a], self._local[source.b]
        if form == "ac":
            return (volts_ac[a] - volts_ac[b] - source.v_ac * level) / source.ohm
        return (volts_dc[a] - volts_dc[b] - source.v_dc * level) / source.ohm

    def volts(self, node: int, solution: Solution) -> tuple[complex, float]:
        """AC and DC potential of a node in a solution [V], [V]."""
        i = self._local[node]
        return solution.volts_ac[i], solution.volts_dc[i]

    def is_floating(self, node: int, solution: Solution) -> bool:
        """True when the node's potential to earth means nothing in this solution."""
        return solution.floating[self._local[node]]


def _nodal(
    roots: set[int],
    edges: list[tuple[int, int, Any]],
    injections: list[tuple[int, int, Any]],
    fixed: dict[int, Any],
) -> tuple[dict[int, complex], dict[int, bool]]:
    """Nodal analysis with fixed nodes; every floating part gets one node tied to zero."""
    edges = [(a, b, y) for a, b, y in edges if y and a != b]
    parent = {r: r for r in roots}

    def root(i: int) -> int:
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = parent[i]
        return i

    for a, b, _ in edges:
        # fixed nodes do not carry a connection onward
        if a in fixed or b in fixed:
            continue
        ra, rb = root(a), root(b)
        if ra != rb:
            parent[max(ra, rb)] = min(ra, rb)
    held = {root(a if b in fixed else b) for a, b, _ in edges if (a in fixed) != (b in fixed)}
    live = {root(n) for a, b, i in injections if i for n in (a, b) if n not in fixed}
    live |= {root(n) for a, b, _ in edges for n in (a, b) if n not in fixed and (a in fixed or b in fixed)}
    volts: dict[int, complex] = {}
    floating: dict[int, bool] = {}
    members: dict[int, list[int]] = {}
    for r in sorted(roots):
        if r in fixed:
            volts[r] = fixed[r]
            floating[r] = False
        else:
            members.setdefault(root(r), []).append(r)
    edges_of: dict[int, list[tuple[int, int, Any]]] = {}
    for a, b, y in edges:
        n = a if a not in fixed else b
        if n not in fixed:
            edges_of.setdefault(root(n), []).append((a, b, y))
    injections_of: dict[int, list[tuple[int, int, Any]]] = {}
    for a, b, i in injections:
        n = a if a not in fixed else b
        if n not in fixed and i:
            injections_of.setdefault(root(n), []).append((a, b, i))
    for group, nodes in members.items():
        tied = group not in held
        for n in nodes:
            floating[n] = tied
        if group not in live:
            for n in nodes:
                volts[n] = 0.0
            continue
        unknown = nodes[1:] if tied else nodes
        if tied:
            volts[nodes[0]] = 0.0
        volts.update(_solve_group(unknown, edges_of.get(group, []), injections_of.get(group, []), fixed))
    return volts, floating


def _solve_group(
    unknown: list[int],
    edges: list[tuple[int, int, Any]],
    injections: list[tuple[int, int, Any]],
    fixed: dict[int, Any],
) -> dict[int, complex]:
    """Solve one connected group of unknown nodes."""
    n = len(unknown)
    if n == 0:
        return {}
    at = {node: i for i, node in enumerate(unknown)}
    if n <= 5:
        rows: list[list[Any]] = [[0.0] * (n + 1) for _ in range(n)]
        for a, b, y in edges:
            _stamp_rows(rows, at.get(a), at.get(b), y, fixed.get(a, 0.0), fixed.get(b, 0.0), n)
        for a, b, current in injections:
            if (i := at.get(a)) is not None:
                rows[i][n] += current
            if (i := at.get(b)) is not None:
                rows[i][n] -= current
        return dict(zip(unknown, _eliminate(rows, n), strict=True))
    matrix = np.zeros((n, n), dtype=complex)
    right = np.zeros(n, dtype=complex)
    for a, b, y in edges:
        ia, ib = at.get(a), at.get(b)
        if ia is not None:
            matrix[ia, ia] += y
            if ib is None:
                right[ia] += y * fixed.get(b, 0.0)
        if ib is not None:
            matrix[ib, ib] += y
            if ia is None:
                right[ib] += y * fixed.get(a, 0.0)
        if ia is not None and ib is not None:
            matrix[ia, ib] -= y
            matrix[ib, ia] -= y
    for a, b, current in injections:
        if (i := at.get(a)) is not None:
            right[i] += current
        if (i := at.get(b)) is not None:
            right[i] -= current
    return dict(zip(unknown, np.linalg.solve(matrix, right).tolist(), strict=True))


def _stamp_rows(rows: list[list[Any]], ia: int | None, ib: int | None, y: Any, va: Any, vb: Any, n: int) -> None:
    if ia is not None:
        rows[ia][ia] += y
        if ib is None:
            rows[ia][n] += y * vb
        else:
            rows[ia][ib] -= y
    if ib is not None:
        rows[ib][ib] += y
        if ia is None:
            rows[ib][n] += y * va
        else:
            rows[ib][ia] -= y


def _eliminate(rows: list[list[Any]], n: int) -> list[Any]:
    """Gaussian elimination with partial pivoting; faster than an array call for the many tiny islands."""
    for k in range(n):
        best = max(range(k, n), key=lambda r: abs(rows[r][k]))
        if best != k:
            rows[k], rows[best] = rows[best], rows[k]
        pivot_row = rows[k]
        pivot = pivot_row[k]
        for r in range(k + 1, n):
            row = rows[r]
            if row[k]:
                factor = row[k] / pivot
                for c in range(k + 1, n + 1):
                    row[c] -= factor * pivot_row[c]
    values: list[Any] = [0.0] * n
    for k in range(n - 1, -1, -1):
        row = rows[k]
        total = row[n]
        for c in range(k + 1, n):
            total -= row[c] * values[c]
        values[k] = total / row[k]
    return values
