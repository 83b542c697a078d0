"""Meter leads in sets: all readings between the same islands at once, as arrays.

Where the leads of two probes stand on the same islands, one solution of those islands gives both readings. A set knows
its pairs of leads once, however many states they are read in; a row is a pair, a column a step of the script.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from galleyproof.checkout.bench import LEAST_LOADED_V, LOW_IMPEDANCE, MOST_OHM, Key, Standing
from galleyproof.checkout.model import LEAST_DIFFERENCE
from galleyproof.circuit.dead import DeadIsland
from galleyproof.circuit.island import Island, Solution
from galleyproof.circuit.meter import OPEN_OHM
from galleyproof.proof.settled import Settled

Numbers = NDArray[np.float64]
Places = NDArray[np.int64]
Potential: TypeAlias = tuple[Solution, NDArray[np.complex128], Numbers, NDArray[np.bool_]]
"""A solution, its AC and DC potentials, and what floats."""
OPEN = 1e300
"""Stands for an open circuit, so that two of them can be compared. [ohm]"""


@dataclass(frozen=True, slots=True)
class Pair:
    """Two leads, or the ends of a conductor in a clamp.

    Attributes:
        kind: ``ohms``, ``volts AC``, ``volts DC``, ``amps AC``.
        a: Node of the red lead.
        b: Node of the black one.
        by_ohm: Input resistance of a voltmeter, resistance of a conductor. [ohm]
    """

    kind: str
    a: int
    b: int
    by_ohm: float


@dataclass
class LeadSet:
    """Pairs of leads on the same islands.

    Attributes:
        islands: Indices of the islands under them, two at most.
        dead: Whether ohms are read, with every source dead, or volts and amperes.
        pairs: Rows.
        probe_at: Row, step -> index of the probe that reads it, or -1.
        steps: Steps in which anything is read.
        base: Reading of every row and step on the right wiring.
        ghosts: Whether it is what a raceway couples in.
    """

    islands: tuple[int, ...]
    dead: bool
    pairs: list[Pair] = field(default_factory=list)
    probe_at: Places = field(default_factory=lambda: np.empty((0, 0), dtype=np.int64))
    steps: Places = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    base: Numbers = field(default_factory=lambda: np.empty((0, 0)))
    ghosts: NDArray[np.bool_] = field(default_factory=lambda: np.empty((0, 0), dtype=np.bool_))
    slots: frozenset[int] = frozenset()

    def finish(self) -> None:
        """Put the rows together as arrays; once, when all are there."""
        self.a = np.array([p.a for p in self.pairs], dtype=np.int64)
        self.b = np.array([p.b for p in self.pairs], dtype=np.int64)
        self.is_dc = np.array([p.kind == "volts DC" for p in self.pairs])
        self.is_amps = np.array([p.kind == "amps AC" for p in self.pairs])
        self.by_ohm = np.array([p.by_ohm for p in self.pairs])
        self.loads = ~self.is_amps & (self.by_ohm < LOW_IMPEDANCE)
        self.any_load = bool(self.loads.any())
        self.any_amps = bool(self.is_amps.any())


@dataclass(frozen=True, slots=True)
class Standpoint:
    """Where the leads of a set stand, once it is known which islands are under them.

    Attributes:
        islands: Islands as they are, each once.
        fixed: Nodes of fixed potential under leads that no island of these touches.
        a: Place of the red lead among the nodes of all islands and the fixed ones.
        b: Place of the black one.
        same: Whether both are on one island.
        on: For each island: places of both leads in it; the earth's where a lead is elsewhere.
    """

    islands: tuple[Island, ...]
    fixed: tuple[int, ...]
    a: Places
    b: Places
    same: NDArray[np.bool_]
    on: tuple[tuple[Places, Places], ...]


def standpoint(leads: LeadSet, indices: Sequence[int], there: Standing) -> Standpoint:
    """Where the leads of a set stand.

    Args:
        leads: The set.
        indices: Indices of the islands under it as it stands.
        there: The installation as it stands.
    """
    islands = tuple(there.island(k) for k in indices)
    offset = 0
    place: dict[int, int] = {}
    for island in islands:
        for node, p in island.place.items():
            place.setdefault(node, offset + p)
        offset += len(island.place)
    fixed: list[int] = []
    rows: list[list[int]] = []
    for nodes in (leads.a.tolist(), leads.b.tolist()):
        for n in nodes:
            if n not in place:
                place[n] = offset + len(fixed)
                fixed.append(n)
        rows.append([place[n] for n in nodes])
    of = [[there.island_of(n) for n in nodes.tolist()] for nodes in (leads.a, leads.b)]
    same = np.array([x is not None and x == y for x, y in zip(*of, strict=True)], dtype=np.bool_)
    on = []
    for k, island in zip(indices, islands, strict=True):
        free = len(island.nodes)
        ends = []
        for nodes, at in zip((leads.a.tolist(), leads.b.tolist()), of, strict=True):
            ends.append(np.array([island.place[n] if x == k else free for n, x in zip(nodes, at, strict=True)]))
        on.append((ends[0], ends[1]))
    return Standpoint(
        islands, tuple(fixed), np.array(rows[0], dtype=np.int64), np.array(rows[1], dtype=np.int64), same, tuple(on)
    )


class Potentials:
    """Islands as they stand, each state worked out once.

    Args:
        settled: What solves them; None leaves it to the islands themselves.
    """

    def __init__(self, settled: Settled | None = None) -> None:
        self._settled = settled
        self._known: dict[tuple[Island, Key], Potential] = {}

    def of(self, island: Island, key: Key) -> Potential:
        """The solution, AC and DC potentials, and what floats.

        Raises:
            CircuitError: Two stiff buses of different potential are joined without any resistance.
        """
        found = self._known.get((island, key))
        if found is None:
            if self._settled is not None and self._settled.holds(island):
                found = self._settled.stands(island, key)
            else:
                solution = island.solve(key)
                found = (
                    solution,
                    np.array(solution.volts_ac, dtype=np.complex128),
                    np.array(solution.volts_dc, dtype=np.float64),
                    np.array(solution.floating, dtype=np.bool_),
                )
            self._known[island, key] = found
        return found


def ohms_read(at: Standpoint, dead: Sequence[DeadIsland]) -> Numbers:
    """What an ohmmeter shows on every row. [ohm].

    Args:
        at: Where the leads stand.
        dead: The islands with their sources dead.
    """
    total = _ways(at, dead)
    return np.where(total > OPEN_OHM, OPEN, total)


def _ways(at: Standpoint, dead: Sequence[DeadIsland]) -> Numbers:
    total = np.zeros(len(at.a))
    for (a, b), island in zip(at.on, dead, strict=True):
        # a lead that stands elsewhere reaches this island through the earth
        total = total + island.between(a, b)
    return total


def volts_read(
    leads: LeadSet,
    at: Standpoint,
    solved: Sequence[Potential],
    fixed: Sequence[tuple[complex, float]],
    dead: Callable[[], Sequence[DeadIsland]],
) -> tuple[Numbers, NDArray[np.bool_]]:
    """What a voltmeter or a clamp shows on every row, and where it is only what a raceway couples in.

    Args:
        leads: The set.
        at: Where the leads stand.
        solved: The islands as they stand.
        fixed: Potentials of the nodes in ``at.fixed``. [V], [V]
        dead: The islands with their sources dead, asked for when a meter loads what it reads.
    """
    ac = np.concatenate([*(s[1] for s in solved), np.array([v for v, _ in fixed], dtype=np.complex128)])
    dc = np.concatenate([*(s[2] for s in solved), np.array([v for _, v in fixed], dtype=np.float64)])
    floats = np.concatenate([*(s[3] for s in solved), np.zeros(len(fixed), dtype=np.bool_)])
    shown = np.where(leads.is_dc, dc[at.a] - dc[at.b], np.abs(ac[at.a] - ac[at.b]))
    ghost = np.zeros(len(shown), dtype=np.bool_)
    if floats.any():
        loose_a, loose_b = floats[at.a], floats[at.b]
        both = loose_a & loose_b
        quiet = (loose_a | loose_b) & ~(both & at.same) & ~leads.is_amps & (leads.a != leads.b)
        shown[quiet] = 0.0
        ghost = quiet & ~leads.is_dc & ~both
    if leads.any_amps:
        shown[leads.is_amps] /= leads.by_ohm[leads.is_amps]
    if leads.any_load:
        loaded = leads.loads & (np.abs(shown) > LEAST_LOADED_V)
        if loaded.any():
            ways = np.minimum(_ways(at, dead()), MOST_OHM)[loaded]
            meter = leads.by_ohm[loaded]
            shown[loaded] *= meter / (meter + ways)
    return shown, ghost


def differing(base: Numbers, now: Numbers) -> NDArray[np.bool_]:
    """Where readings differ, rounding aside; what is not a number differs from nothing."""
    return np.abs(base - now) > 1e-6 * np.maximum(np.abs(base), np.abs(now)) + LEAST_DIFFERENCE


def unpacked(value: float) -> float:
    """A reading as it is told, open circuits as infinity."""
    return float("inf") if value >= OPEN else value


def row_of(at: Iterable[tuple[int, int]], steps: int) -> Places:
    """Probes of one pair of leads by step, -1 where there is none.

    Args:
        at: Steps and probes.
        steps: Number of steps.
    """
    row = np.full(steps, -1, dtype=np.int64)
    for step, probe in at:
        row[step] = probe
    return row
