"""The installation with a slip that is a patch: the right one but for what goes another way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import Any

from galleyproof.checkout.bench import Key, Standing
from galleyproof.checkout.coupling import Coupled, Coupling
from galleyproof.checkout.leads import Potential, Potentials
from galleyproof.checkout.timeline import Parted, Timeline
from galleyproof.circuit.dead import DeadIsland
from galleyproof.circuit.island import Island, Solution
from galleyproof.circuit.machine import State
from galleyproof.design.model import Conductor, Design, Device, TerminalId
from galleyproof.proof.patch import Patch
from galleyproof.proof.slips import Change, apply
from galleyproof.proof.slips.model import landing
from galleyproof.proof.ways import RIGHT


class QuickStanding(Standing):
    """The installation with a slip that is a patch: the right one but for what goes another way.

    Args:
        right: The right wiring.
        patch: What the slip puts in place.
        over: Slots that go another way, and which.
        timeline: Values of slots over the script.
        change: The slip.
        known: How the islands of the right wiring stand, shared by all slips.
    """

    def __init__(
        self,
        right: Standing,
        patch: Patch,
        over: Mapping[int, int],
        timeline: Timeline,
        change: Change,
        known: Potentials,
    ) -> None:
        self._design = right.design
        self.machine = right.machine
        self.steps = right.steps
        self.supplies = right.supplies
        self._right = right
        self._patch = patch
        self._over = over
        self._timeline = timeline
        self._change = change
        self._dead = {}
        self._clusters = {}
        self.first = patch.islands[0] if patch.islands else -1
        self._own = frozenset(patch.island.nodes) if patch.island is not None else frozenset[int]()
        self._parts: dict[int, Parted] = {}
        self.settled = right.settled
        self._known, self._mine = known, Potentials(right.settled)
        self.felt: set[int | None] = set()

    @cached_property
    def _as_it_stands(self) -> Design:
        return apply(self._design, self._change)

    @property
    def design(self) -> Design:
        """The design as it stands; put together only when a reading asks for it."""
        return self._as_it_stands

    def state(self, step: int) -> State:
        """No whole state is ever put together here."""
        raise NotImplementedError

    def value(self, step: int, slot: str) -> Any:
        """Value of a slot after a step."""
        s = self.machine.slot[slot]
        return self._timeline.column(s, self._over.get(s, RIGHT))[step]

    def island(self, k: int) -> Island:
        """An island by its index."""
        if k == self.first and self._patch.island is not None:
            return self._patch.island
        return self.machine.islands[k]

    def island_of(self, node: int) -> int | None:
        """Index of the island of a node, None for one of fixed potential."""
        return self.first if node in self._own else self.machine.island_of.get(node)

    def node(self, terminal: TerminalId) -> int:
        """Node of a terminal."""
        found = self._patch.terminals.get(terminal)
        return self.machine.network.terminals[terminal] if found is None else found

    def parted(self, k: int) -> Parted:
        """Steps by the values of an island's key slots."""
        found = self._parts.get(k)
        if found is None:
            slots = [self.machine.slot[s] for s in self.island(k).key_slots]
            found = self._parts[k] = self._timeline.parted(slots, self._over)
        return found

    def of_slots(self, slots: Sequence[int]) -> Parted:
        """Steps by the values of some slots."""
        return self._timeline.parted(slots, self._over)

    def key(self, step: int, k: int) -> Key:
        """Values of an island's key slots after a step."""
        parted = self.parted(k)
        return parted.keys[int(parted.which[step])]

    def solution(self, step: int, k: int) -> Solution | None:
        """How an island stands after a step."""
        return self.potentials(self.island(k), self.key(step, k))[0]

    def potentials(self, island: Island, key: Key) -> Potential:
        """How an island stands, by the values of its key slots."""
        return (self._mine if island is self._patch.island else self._known).of(island, key)

    def dead_with(self, island: Island, key: Key, without: str = "") -> DeadIsland:
        """An island with its sources dead, by the values of its key slots."""
        known = self if island is self._patch.island else self._right
        return Standing.dead_with(known, island, key, without)

    @cached_property
    def _landed(self) -> dict[str, Conductor | None]:
        """Conductors that the slip leaves off, loosens or moves, as they then are."""
        change = self._change
        found: dict[str, Conductor | None] = dict.fromkeys((*change.opened, *(key for key, _ in change.loose)))
        for move in change.moved:
            if move.conductor not in found:
                found[move.conductor] = landing(self._design.conductor_by_key[move.conductor], change.moved)
        return found

    def conductor(self, key: str) -> Conductor | None:
        """A conductor as it is landed; None when it carries nothing on."""
        return self._landed[key] if key in self._landed else self._design.conductor_by_key.get(key)

    def device(self, tag: str) -> Device | None:
        """A device as it stands, its settings included."""
        found = self._design.device_by_tag.get(tag)
        for refit in self._change.refits:
            if found is None or refit.device != tag:
                continue
            if refit.rating == "type":
                found = replace(found, type=str(refit.value))
            else:
                found = replace(found, ratings={**found.ratings, refit.rating: refit.value})
        return found

    def felt_by(self, step: int, node: int) -> Coupled:
        """What one that hangs on nothing feels of the others."""
        found = super().felt_by(step, node)
        self.felt.update(self.machine.island_of.get(n) for n, _ in found.from_nodes)
        return found

    @cached_property
    def coupling(self) -> Coupling:
        """What shares a raceway."""
        changed: dict[str, tuple[int, int] | None] = {
            key: None if c is None else (self.node(c.a), self.node(c.b)) for key, c in self._landed.items()
        }
        if self._patch.terminals:
            for c in self._design.conductors:
                if c.key not in changed and (c.a in self._patch.terminals or c.b in self._patch.terminals):
                    changed[c.key] = (self.node(c.a), self.node(c.b))
        return self._right.coupling.other(changed)
