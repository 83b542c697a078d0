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

MOST_BY_HAND = 12
"""Unknowns up to which a group is solved without an array. [-]"""


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
        "_plan",
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
        self._branch_at: dict[str, int] | None = None
        self._source_at: dict[str, int] = {}
        self.readings: tuple[Reading, ...] = ()
        self._memo: dict[tuple[Any, ...], Solution] = {}
        self._plan: _Plan | None = None

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

    def _planned(self) -> _Plan:
        """Where everything stands, found once for all states."""
        local, at = self._local, self._key_index
        return _Plan(
            [(local[k.a], local[k.b], at[k.slot]) for k in self.links],
            [(local[b.a], local[b.b], b, at[b.slot] if b.slot else -1) for b in self.branches],
            [(local[s.a], local[s.b], s, at[s.slot] if s.slot else -1) for s in self.sources],
            [[at[n] for n in names.split("*") if n] for *_, names in self.fixed_nodes],
        )

    def _solve(self, key: tuple[Any, ...]) -> Solution:
        plan = self._plan
        if plan is None:
            plan = self._plan = self._planned()
        free = len(self.nodes)
        total = free + len(self.fixed_nodes)
        # closed links join nodes
        parent = list(range(total))
        joined = False
        for a, b, slot in plan.links:
            if key[slot]:
                while parent[a] != a:
                    a = parent[a]
                while parent[b] != b:
                    b = parent[b]
                if a != b:
                    # the fixed node, which has the higher number, stays the root
                    parent[min(a, b)] = max(a, b)
                    joined = True
        at_root = parent
        if joined:
            at_root = []
            for i in parent:
                while parent[i] != i:
                    i = parent[i]
                at_root.append(i)
        fixed_ac: dict[int, complex] = {}
        fixed_dc: dict[int, float] = {}
        for i, (_node, v_ac, v_dc, _names) in enumerate(self.fixed_nodes):
            factor = 1.0
            for slot in plan.factors[i]:
                factor *= float(key[slot])
            r = at_root[free + i]
            held_ac, held_dc = v_ac * factor, v_dc * factor
            if r in fixed_ac and (abs(fixed_ac[r] - held_ac) > 1e-9 or abs(fixed_dc[r] - held_dc) > 1e-9):
                raise CircuitError(
                    f"{self.name_of(i)}: a closed contact joins two stiff buses of different voltage "
                    f"({abs(fixed_ac[r]) or fixed_dc[r]:.1f} V and {abs(held_ac) or held_dc:.1f} V) without any "
                    "conductor between them; "
                    "give the source an internal resistance"
                )
            fixed_ac[r], fixed_dc[r] = held_ac, held_dc
        edges_ac: list[tuple[int, int, complex]] = []
        edges_dc: list[tuple[int, int, float]] = []
        for a, b, branch, slot in plan.branches:
            ra, rb = at_root[a], at_root[b]
            if ra == rb:
                continue
            y, g = admittance(branch, key[slot]) if slot >= 0 else (branch.y_ac, branch.g_dc)
            if y:
                edges_ac.append((ra, rb, y))
            if g:
                edges_dc.append((ra, rb, g))
        injections_ac: list[tuple[int, int, complex]] = []
        injections_dc: list[tuple[int, int, float]] = []
        for a, b, source, slot in plan.sources:
            level = float(key[slot]) if slot >= 0 else 1.0
            g = 1.0 / source.ohm
            ra, rb = at_root[a], at_root[b]
            if ra != rb:
                edges_ac.append((ra, rb, complex(g)))
                edges_dc.append((ra, rb, g))
            injections_ac.append((ra, rb, source.v_ac * level * g))
            injections_dc.append((ra, rb, source.v_dc * level * g))
        in_ac = any(fixed_ac.values()) or any(i for *_, i in injections_ac)
        in_dc = any(fixed_dc.values()) or any(i for *_, i in injections_dc)
        roots = sorted(set(at_root)) if joined else at_root
        nothing = [0.0] * total
        ac: Sequence[complex] = nothing
        dc: Sequence[complex] = nothing
        float_ac: list[bool] = []
        float_dc: list[bool] = []
        # without a source of one form nothing stands at its volts, and the other form tells what floats
        if in_ac or not in_dc:
            ac, float_ac = _nodal(roots, total, edges_ac, injections_ac, fixed_ac)
        if in_dc:
            dc, float_dc = _nodal(roots, total, edges_dc, injections_dc, fixed_dc)
        else:
            float_dc = float_ac
        if not float_ac:
            ac, float_ac = [0j] * total, float_dc
        volts_ac = tuple([ac[r] for r in at_root])
        volts_dc = tuple([dc[r].real for r in at_root])
        floating = tuple([float_ac[r] and float_dc[r] for r in at_root])
        drawn = [0.0] * len(self.fixed_nodes)
        holders = {at_root[free + i]: i for i in range(len(self.fixed_nodes))}
        if in_dc:
            for a, b, g in edges_dc:
                flow = g * (dc[a].real - dc[b].real)
                if a in holders:
                    drawn[holders[a]] += flow
                if b in holders:
                    drawn[holders[b]] -= flow
        for a, b, current in injections_dc:
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
        at = self._branch_at
        if at is None:
            at = self._branch_at = {b.name: i for i, b in enumerate(self.branches)}
            self._source_at = {s.name: i for i, s in enumerate(self.sources)}
        if name in at:
            branch = self.branches[at[name]]
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


@dataclass(frozen=True, slots=True)
class _Plan:
    """An island's parts by the places of their ends and slots.

    Attributes:
        links: Places of both ends, place of the slot among the keys.
        branches: Places of both ends, the branch, place of its slot or -1.
        sources: The same of sources.
        factors: For each fixed node the places of the slots that multiply it.
    """

    links: list[tuple[int, int, int]]
    branches: list[tuple[int, int, Branch, int]]
    sources: list[tuple[int, int, Source, int]]
    factors: list[list[int]]


def _nodal(
    roots: Sequence[int],
    total: int,
    edges: list[tuple[int, int, Any]],
    injections: list[tuple[int, int, Any]],
    fixed: dict[int, Any],
) -> tuple[list[complex], list[bool]]:
    """Nodal analysis with fixed nodes; every floating part gets one node tied to zero.

    Args:
        roots: Nodes that stand for all joined to them, in order.
        total: Number of nodes.
        edges: Ends and admittance, of those that carry anything. [-], [-], [S]
        injections: Ends and current. [-], [-], [A]
        fixed: Nodes of fixed potential. [V]
    """
    parent = list(range(total))
    inner: list[tuple[int, int, Any]] = []
    rim: list[tuple[int, int, Any]] = []
    for edge in edges:
        a, b, _ = edge
        # fixed nodes do not carry a connection onward
        if a in fixed or b in fixed:
            rim.append(edge)
            continue
        inner.append(edge)
        while parent[a] != a:
            parent[a] = parent[parent[a]]
            a = parent[a]
        while parent[b] != b:
            parent[b] = parent[parent[b]]
            b = parent[b]
        if a != b:
            parent[max(a, b)] = min(a, b)

    def root(i: int) -> int:
        while parent[i] != i:
            i = parent[i]
        return i

    held = {root(a if b in fixed else b) for a, b, _ in rim if (a in fixed) != (b in fixed)}
    live = held | {root(n) for a, b, i in injections if i for n in (a, b) if n not in fixed}
    volts: list[complex] = [0.0] * total
    floating = [False] * total
    members: dict[int, list[int]] = {}
    for r in roots:
        if r in fixed:
            volts[r] = fixed[r]
            continue
        group = root(r)
        if group not in held:
            floating[r] = True
        if group in live:
            mine = members.get(group)
            if mine is None:
                members[group] = [r]
            else:
                mine.append(r)
    if not members:
        return volts, floating
    edges_of: dict[int, list[tuple[int, int, Any]]] = {group: [] for group in members}
    for edge in edges:
        n = edge[0] if edge[0] not in fixed else edge[1]
        if n not in fixed and (group := root(n)) in edges_of:
            edges_of[group].append(edge)
    injections_of: dict[int, list[tuple[int, int, Any]]] = {}
    for a, b, i in injections:
        n = a if a not in fixed else b
        if n not in fixed and i:
            injections_of.setdefault(root(n), []).append((a, b, i))
    for group, nodes in members.items():
        unknown = nodes if group in held else nodes[1:]
        if unknown:
            _solve_group(unknown, edges_of[group], injections_of.get(group, []), fixed, volts)
    return volts, floating


def _solve_group(
    unknown: list[int],
    edges: list[tuple[int, int, Any]],
    injections: list[tuple[int, int, Any]],
    fixed: dict[int, Any],
    volts: list[complex],
) -> None:
    """Solve one connected group of unknown nodes; their volts are written down."""
    n = len(unknown)
    at = {node: i for i, node in enumerate(unknown)}
    rows: list[list[Any]] = [[0.0] * (n + 1) for _ in range(n)]
    for a, b, y in edges:
        ia, ib = at.get(a), at.get(b)
        if ia is not None:
            row = rows[ia]
            row[ia] += y
            if ib is not None:
                row[ib] -= y
            elif b in fixed:
                row[n] += y * fixed[b]
        if ib is not None:
            row = rows[ib]
            row[ib] += y
            if ia is not None:
                row[ia] -= y
            elif a in fixed:
                row[n] += y * fixed[a]
    for a, b, current in injections:
        if (i := at.get(a)) is not None:
            rows[i][n] += current
        if (i := at.get(b)) is not None:
            rows[i][n] -= current
    if n <= MOST_BY_HAND:
        found = _eliminate(rows, n)
    else:
        matrix = np.array(rows, dtype=complex)
        found = np.linalg.solve(matrix[:, :n], matrix[:, n]).tolist()
    for node, v in zip(unknown, found, strict=True):
        volts[node] = v


def _eliminate(rows: list[list[Any]], n: int) -> list[Any]:
    """Gaussian elimination with partial pivoting; faster than an array call for the many small islands."""
    for k in range(n):
        best, most = k, abs(rows[k][k])
        below = []
        for r in range(k + 1, n):
            value = rows[r][k]
            if value:
                below.append(r)
                if (size := abs(value)) > most:
                    best, most = r, size
        if best != k:
            rows[k], rows[best] = rows[best], rows[k]
        pivot_row = rows[k]
        pivot = pivot_row[k]
        if below:
            filled = [c for c in range(k + 1, n + 1) if pivot_row[c]]
            for r in below:
                row = rows[r]
                if row[k]:
                    factor = row[k] / pivot
                    for c in filled:
                        row[c] -= factor * pivot_row[c]
    values: list[Any] = [0.0] * n
    for k in range(n - 1, -1, -1):
        row = rows[k]
        total = row[n]
        for c in range(k + 1, n):
            if row[c]:
                total -= row[c] * values[c]
        values[k] = total / row[k]
    return values
