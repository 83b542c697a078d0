"""A slip's units put into the board's places: an island put together anew, a rule that answers otherwise."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from galleyproof.circuit.island import Island
from galleyproof.circuit.rules import Levels, Rule
from galleyproof.proof.board import MOST_ISLANDS, Board
from galleyproof.proof.compiled import GONE, ISLAND, RULE, SUM
from galleyproof.proof.packed import Look, packed, row_of
from galleyproof.proof.patch import NeedsPlainWayError, Patch

ALL_SUMS = 2
"""Buses are summed, and their sums taken as they are."""


class Placing:
    """Puts slips on a board, one at a time.

    Args:
        board: The board.
        library: The compiled walk.
    """

    def __init__(self, board: Board, library: Any) -> None:
        self._board, self._walk = board, library
        self._room_from = board.ints_used, board.floats_used
        self._rules_before: dict[int, Rule | None] = {}

    def place(self, patch: Patch) -> None:
        """Put a slip's units in their places; ``take_away`` has to follow.

        Raises:
            NeedsPlainWayError: There is no room for them.
        """
        anew = [rule for rule in (*patch.rules.values(), *patch.more) if rule is not None]
        looks = self._looks_with(anew)
        if patch.island is not None:
            first, *rest = patch.islands
            drawn = self._drawn_by(patch)
            which = self._lay_island(patch.island, [p for p, _ in drawn], looks)
            outs = [*(self._board.slot[r.slot] for r in patch.island.readings), *(s for _, s in drawn)]
            self._put(first, ISLAND, which, [self._board.slot[s] for s in patch.island.key_slots], outs)
            for k in rest:
                self._put(k, GONE, 0, (), ())
        for k in self._looked_at_anew(looks) - set(patch.islands):
            # the same island, its readings told apart as the changed rules tell them apart
            island = self._board.machine.islands[k]
            which = self._lay_island(island, [p for p, _ in self._board.drawn[k]], looks)
            outs = [*(self._board.slot[r.slot] for r in island.readings), *(s for _, s in self._board.drawn[k])]
            self._put(k, ISLAND, which, [self._board.slot[s] for s in island.key_slots], outs)
        for rule in anew:
            self._make_room(rule)
        first_rule = len(self._board.machine.islands)
        for r, changed in patch.rules.items():
            if changed is None:
                self._put(
                    first_rule + r, GONE, 0, (), [self._board.slot[s] for s in self._board.machine.rules[r].outputs]
                )
            else:
                self._put_rule(first_rule + r, changed)
        for n, rule in enumerate(patch.more):
            self._put_rule(self._board.n_units + n, rule)
        summed = {s for rule in anew for name in rule.inputs if (s := self._board.slot[name]) in self._board.buses}
        first_sum = first_rule + len(self._board.machine.rules)
        for n, (amps, parts) in enumerate(self._board.buses.items()):
            if amps in summed:
                # on the right wiring nobody could be moved by the sum, and it was left out
                self._put(first_sum + n, SUM, 0, parts, (amps,))
        self._board.struct.sums = ALL_SUMS if summed else self._board.sums
        self._board.struct.placed_island = patch.islands[0] if patch.islands else -1

    def take_away(self) -> None:
        """Everything stands as it did before a slip's units were put in their places."""
        self._walk.take_away(self._board.arrays.at)
        self._board.ints_used, self._board.floats_used = self._room_from
        for u, rule in self._rules_before.items():
            if rule is None:
                self._board.rule_of.pop(u, None)
            else:
                self._board.rule_of[u] = rule
        self._rules_before.clear()

    def _put(self, unit: int, kind: int, law: int, ins: Sequence[int], outs: Sequence[int]) -> None:
        n, m = len(ins), len(outs)
        reads, tells = row_of("i", n).pack(*ins), row_of("i", m).pack(*outs)
        if not self._walk.put(self._board.arrays.at, unit, kind, law, n, reads, m, tells):
            self.take_away()
            raise NeedsPlainWayError("more units than the compiled walk has room for")

    def _put_rule(self, unit: int, rule: Rule) -> None:
        slot = self._board.slot
        self._rules_before[unit] = self._board.rule_of.get(unit)
        self._board.rule_of[unit] = rule
        self._put(unit, RULE, self._board.law_of(rule), [slot[s] for s in rule.inputs], [slot[s] for s in rule.outputs])

    def _looks_with(self, anew: Sequence[Rule]) -> Mapping[int, Look]:
        """How readings are looked at with some rules in place."""
        other: dict[int, Look | None] = {}
        for rule in anew:
            for name in rule.inputs:
                s = self._board.slot.get(name, -1)
                known, look = other.get(s, self._board.looks.get(s)), rule.looks.get(name)
                if known is None or known == look:
                    continue
                if isinstance(known, Levels) and isinstance(look, Levels) and known.signed == look.signed:
                    other[s] = known.among(look)
                else:
                    other[s] = None
        if not other:
            return self._board.looks
        looks = {**self._board.looks, **{s: look for s, look in other.items() if look is not None}}
        return {s: look for s, look in looks.items() if other.get(s, look) is not None}

    def _looked_at_anew(self, looks: Mapping[int, Look]) -> set[int]:
        """Islands with a reading that is looked at otherwise than on the right wiring."""
        if looks is self._board.looks:
            return set()
        return {
            self._board.island_of[s]
            for s, look in self._board.looks.items()
            if looks.get(s) != look and s in self._board.island_of
        }

    def _lay_island(self, island: Island, drawn: Sequence[int], looks: Mapping[int, Look]) -> int:
        ints, floats = packed(island, drawn, self._board.slot, looks)
        which = self._board.next_island
        a, b = self._board.ints_used, self._board.floats_used
        arrays = self._board.arrays
        too_large = (
            a + len(ints) > len(arrays.ints)
            or b + len(floats) > len(arrays.floats)
            or len(island.nodes) + len(island.fixed_nodes) > self._board.most_nodes
            or len(island.readings) > self._board.most_parts
            or len(island.branches) + len(island.sources) > self._board.most_parts
        )
        if which >= MOST_ISLANDS or too_large:
            raise NeedsPlainWayError("an island larger than the compiled walk has room for")
        self._board.next_island += 1
        self._board.ints_used += len(ints)
        self._board.floats_used += len(floats)
        # several times as fast as giving an array a list
        row_of("i", len(ints)).pack_into(arrays.ints, 4 * a, *ints)
        row_of("d", len(floats)).pack_into(arrays.floats, 8 * b, *floats)
        arrays.isle_int[which], arrays.isle_float[which] = a, b
        return which

    def _make_room(self, rule: Rule) -> None:
        """Slots for what a changed rule writes and the rules of the design do not."""
        for name, value in zip(rule.outputs, rule.initial, strict=True):
            if name in self._board.slot:
                continue
            self._board.add_slot(name, value)

    def _drawn_by(self, patch: Patch) -> list[tuple[int, int]]:
        """Where a new island tells what it draws; slots of those it replaces that it does not need stay at 0."""
        assert patch.island is not None
        free = [
            (amps, s)
            for k in patch.islands
            for (_, s), (_, amps) in zip(self._board.drawn[k], self._board.machine.watched_buses(k), strict=True)
        ]
        found: list[tuple[int, int]] = []
        for place, (node, *_) in enumerate(patch.island.fixed_nodes):
            amps = self._board.machine.bus_slot(node)
            if amps is None:
                continue
            mine = next((f for f in free if f[0] == amps), None)
            if mine is not None:
                free.remove(mine)
            found.append((place, mine[1] if mine else self._board.spare[amps]))
        return found + [(-1, s) for _, s in free]
