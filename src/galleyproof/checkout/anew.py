"""Meter readings around an island that a slip puts together anew: every reading on it at once, as flat arrays.

An entry is one probe: two leads, and the step it is read in. What its leads stand on elsewhere is kept as it is on the
right wiring, and looked up again only where that goes another way too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from galleyproof.checkout.bench import LEAST_LOADED_V, MOST_OHM, Key
from galleyproof.checkout.leads import OPEN, LeadSet, Numbers, Places, Potential, differing
from galleyproof.checkout.timeline import Parted
from galleyproof.circuit.dead import DeadIsland
from galleyproof.circuit.island import Island
from galleyproof.circuit.meter import OPEN_OHM

Flags = NDArray[np.bool_]
NOTHING: Places = np.empty(0, dtype=np.int64)
FIXED = -1
"""Stands for the island of a node of fixed potential."""


@dataclass
class Entries:
    """Probes of meters; the last axis is an entry, a first axis of two its red and its black lead.

    Attributes:
        probe: Index of the probe.
        step: Step it is read in.
        node: Nodes of the leads.
        isle: Islands under them, or FIXED.
        is_dc: Whether volts DC are read.
        is_amps: Whether it is a clamp.
        by_ohm: Input resistance of a voltmeter, resistance of a conductor. [ohm]
        loads: Whether the meter loads what it reads.
        base: What is read on the right wiring.
        ac: AC potentials on the right wiring. [V]
        dc: DC potentials. [V]
        floats: Whether they mean nothing.
        to_earth: With every source dead, what lies between a lead and the earth. [ohm]
    """

    probe: Places
    step: Places
    node: Places
    isle: Places
    is_dc: Flags
    is_amps: Flags
    by_ohm: Numbers
    loads: Flags
    base: Numbers
    ac: NDArray[np.complex128]
    dc: Numbers
    floats: Flags
    to_earth: Numbers

    def some(self, at: Places) -> Entries:
        """Some of them."""
        return Entries(*(getattr(self, f.name)[..., at] for f in fields(self)))


@dataclass(frozen=True, slots=True)
class Ground:
    """How islands stand after each step.

    Attributes:
        island: An island by its index.
        parted: Steps by the values of its key slots.
        potentials: An island's solution by the values of its key slots.
        dead: An island with its sources dead, by the same.
        volts: Potentials of a node of fixed potential after a step. [V], [V]
    """

    island: Callable[[int], Island]
    parted: Callable[[int], Parted]
    potentials: Callable[[Island, Key], Potential]
    dead: Callable[[Island, Key], DeadIsland]
    volts: Callable[[int, int], tuple[complex, float]]


class Around:
    """All entries of one kind, and those around each island.

    Args:
        sets: Sets of leads, all of which read ohms, or none.
        island_of: Index of the island of a node, None for one of fixed potential.
        right: How the right wiring stands.
        dead: Whether the sets read ohms.
    """

    def __init__(
        self, sets: Sequence[LeadSet], island_of: Callable[[int], int | None], right: Ground, *, dead: bool
    ) -> None:
        self._dead = dead
        self._right = right
        at = [np.nonzero(s.probe_at >= 0) for s in sets]

        def flat(of: Callable[[LeadSet, Places, Places], Any], kind: Any) -> Any:
            parts = [of(s, *rc) for s, rc in zip(sets, at, strict=True)]
            return np.concatenate([np.empty(0, kind), *parts]).astype(kind)

        node = np.stack([flat(lambda s, r, c: s.a[r], np.int64), flat(lambda s, r, c: s.b[r], np.int64)])
        isles = {n: FIXED if (k := island_of(n)) is None else k for n in np.unique(node).tolist()}
        isle = np.array([[isles[n] for n in row] for row in node.tolist()], dtype=np.int64).reshape(node.shape)
        self.all = Entries(
            flat(lambda s, r, c: s.probe_at[r, c], np.int64),
            flat(lambda s, r, c: c, np.int64),
            node,
            isle,
            flat(lambda s, r, c: s.is_dc[r], np.bool_),
            flat(lambda s, r, c: s.is_amps[r], np.bool_),
            flat(lambda s, r, c: s.by_ohm[r], np.float64),
            flat(lambda s, r, c: s.loads[r], np.bool_),
            flat(lambda s, r, c: s.base[r, c], np.float64),
            np.zeros(node.shape, np.complex128),
            np.zeros(node.shape),
            np.zeros(node.shape, np.bool_),
            np.zeros(node.shape),
        )
        self._look(self.all, np.unique(isle[isle >= 0]).tolist(), np.ones(node.shape, np.bool_), right)
        self._fix(self.all, np.unique(node[isle == FIXED]).tolist(), right)
        self._of: dict[int, Places] = {
            k: np.flatnonzero((isle == k).any(axis=0)) for k in np.unique(isle).tolist() if k >= 0
        }
        self._around: dict[tuple[int, ...], tuple[Entries, Flags]] = {}

    def _look(self, e: Entries, islands: Iterable[int], where: Flags, ground: Ground) -> None:
        """Look up what leads stand on that are on some islands."""
        apart = e.isle[0] != e.isle[1]
        for k in islands:
            island, parted = ground.island(k), ground.parted(k)
            which = np.broadcast_to(parted.which[e.step], e.node.shape)
            mine = where & (e.isle == k)
            for u in np.unique(which[mine]).tolist():
                here = mine & (which == u)
                key = parted.keys[u]
                if not self._dead:
                    places = np.array([island.place[n] for n in e.node[here].tolist()], dtype=np.int64)
                    _, ac, dc, floats = ground.potentials(island, key)
                    e.ac[here], e.dc[here], e.floats[here] = ac[places], dc[places], floats[places]
                here = here & apart & (self._dead | e.loads)
                if here.any():
                    dead = ground.dead(island, key)
                    places = dead.places(e.node[here].tolist())
                    e.to_earth[here] = dead.between(places, np.full(len(places), len(island.nodes)))

    def _fix(self, e: Entries, nodes: Iterable[int], ground: Ground) -> None:
        """Look up some nodes of fixed potential."""
        if self._dead:
            return
        for node in nodes:
            here = (e.isle == FIXED) & (e.node == node)
            steps = np.broadcast_to(e.step, e.node.shape)[here].tolist()
            volts = {step: ground.volts(step, node) for step in set(steps)}
            e.ac[here] = [volts[step][0] for step in steps]
            e.dc[here] = [volts[step][1] for step in steps]

    def forget(self) -> None:
        """Drop what was put together around islands."""
        self._around.clear()

    def _bundle(self, islands: tuple[int, ...]) -> tuple[Entries, Flags]:
        """Entries around islands, and which leads are on them."""
        found = self._around.get(islands)
        if found is None:
            parts = [self._of[k] for k in islands if k in self._of]
            at = np.unique(np.concatenate(parts)) if len(parts) > 1 else parts[0] if parts else NOTHING
            e = self.all.some(at)
            on = np.zeros(e.isle.shape, dtype=np.bool_)
            for k in islands:
                on |= e.isle == k
            found = self._around[islands] = (e, on)
        return found

    def read(
        self,
        islands: tuple[int, ...],
        island: Island,
        parted: Parted,
        ground: Ground,
        moved: frozenset[int],
        fixed: frozenset[int],
    ) -> tuple[dict[int, float], list[int]]:
        """Changed readings; and the probes that only read what a raceway couples in.

        Args:
            islands: Indices of the islands that are put together anew.
            island: What stands in their place.
            parted: Steps by the values of its key slots.
            ground: How everything stands.
            moved: Islands that go another way.
            fixed: Nodes of fixed potential that do.
        """
        e, on = self._bundle(islands)
        if not len(e.probe):
            return {}, []
        also = moved.intersection(e.isle[~on].tolist()) if moved else moved
        held = fixed.intersection(e.node[~on].tolist()) if fixed else fixed
        if also or held:
            e = e.some(np.arange(len(e.probe)))
            self._look(e, also, ~on, ground)
            self._fix(e, held, ground)
        which = parted.which[e.step]
        used = np.flatnonzero(np.bincount(which, minlength=len(parted.keys)))
        place_of = np.empty(len(parted.keys), dtype=np.int64)
        place_of[used] = np.arange(len(used))
        row = place_of[which]
        keys = [parted.keys[u] for u in used.tolist()]
        free = len(island.nodes)
        place = np.full(on.shape, free, dtype=np.int64)
        place[on] = np.searchsorted(np.array(island.nodes), e.node[on])
        if self._dead:
            ohm = self._ways(e, place, np.arange(len(row)), row, island, keys, ground)
            now = np.where(ohm > OPEN_OHM, OPEN, ohm)
            differ = differing(e.base, now)
            values = [float("inf") if v >= OPEN else v for v in now[differ].tolist()]
            return dict(zip(e.probe[differ].tolist(), values, strict=True)), []
        solved = [ground.potentials(island, key) for key in keys]
        # all solutions in one row
        at = np.broadcast_to(row, on.shape)[on] * len(island.place) + place[on]
        ac, dc, floats = e.ac.copy(), e.dc.copy(), e.floats.copy()
        ac[on] = np.concatenate([s[1] for s in solved])[at]
        dc[on] = np.concatenate([s[2] for s in solved])[at]
        floats[on] = np.concatenate([s[3] for s in solved])[at]
        now = np.where(e.is_dc, dc[0] - dc[1], np.abs(ac[0] - ac[1]))
        ghosts: list[int] = []
        both = floats[0] & floats[1]
        quiet = (floats[0] | floats[1]) & ~(both & on[0] & on[1]) & ~e.is_amps & (e.node[0] != e.node[1])
        ghost = quiet & ~e.is_dc & ~both
        now[quiet] = 0.0
        now[e.is_amps] /= e.by_ohm[e.is_amps]
        loaded = np.flatnonzero(e.loads & (np.abs(now) > LEAST_LOADED_V))
        if len(loaded):
            meter, ways = e.by_ohm[loaded], self._ways(e, place, loaded, row, island, keys, ground)
            now[loaded] *= meter / (meter + np.minimum(ways, MOST_OHM))
        differ = differing(e.base, now) & ~ghost
        # what was a ghost and is none any more has been read with the others
        ghosts = e.probe[ghost].tolist()
        return dict(zip(e.probe[differ].tolist(), now[differ].tolist(), strict=True)), ghosts

    def _ways(
        self, e: Entries, place: Places, some: Places, row: Places, island: Island, keys: Sequence[Key], ground: Ground
    ) -> Numbers:
        """What lies between the leads of some entries with every source dead. [ohm]."""
        deads: dict[int, tuple[DeadIsland, list[int]]] = {}
        for u in np.flatnonzero(np.bincount(row[some], minlength=len(keys))).tolist():
            dead = ground.dead(island, keys[u])
            deads.setdefault(id(dead), (dead, []))[1].append(u)
        # a lead that stands elsewhere reaches this island through the earth
        total: Numbers = np.where(place[:, some] == len(island.nodes), e.to_earth[:, some], 0.0).sum(axis=0)
        for dead, rows in deads.values():
            here = slice(None) if len(deads) == 1 else np.isin(row[some], rows, kind="sort")
            mine = some[here]
            total[here] += dead.between(place[0, mine], place[1, mine])
        return total
