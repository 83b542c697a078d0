"""A job laid out for the compiled walk: its units as arrays, the run of the right wiring, and a slip's units in place.

A *unit* is an island, a device's rule, or the sum of what islands draw from a bus.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

import numpy as np

from galleyproof.circuit.machine import Machine
from galleyproof.circuit.rules import Levels, Rule
from galleyproof.errors import CircuitError
from galleyproof.proof.compiled import DONE, FULL, GONE, RULE, STIFF, SUM, SUMS_COUNT, Arrays, Ask
from galleyproof.proof.model import Step
from galleyproof.proof.numbers import Numbers
from galleyproof.proof.packed import looks_of, packed
from galleyproof.proof.patch import NeedsPlainWayError, same_answers

ROOM_SLOTS, ROOM_UNITS, ROOM_WIRES = 400, 64, 40_000
"""Room for what slips add. [-]"""
MOST_CODES = 65_000
"""Different values of the right wiring, counted by two bytes. [-]"""
FIRST_LAW = 1 << 30
"""Laws of rules begin here; below are islands, one number for each that was ever laid."""
MOST_ISLANDS, ROOM_INTS, ROOM_FLOATS = 400_000, 200_000, 200_000
MEMO, ROWS = 1 << 17, 1 << 23
PUT_OFF, LEAST_NODES, LEAST_PARTS = 1024, 200, 1000
MOST_EVENTS, MOST_OUT, TAKEN, AGAIN = 200_000, 1_000_000, 1 << 13, 1 << 18


def preorder(parents: Sequence[int]) -> tuple[list[int], list[int]]:
    """Place of each step on a walk through their tree, and the place behind the last one below it.

    Args:
        parents: Parent of each step, -1 for none; a parent stands before its children.
    """
    n = len(parents)
    kids: list[list[int]] = [[] for _ in range(n + 1)]
    for index, parent in enumerate(parents):
        kids[parent].append(index)
    at, end = [0] * n, [n] * n
    count = 0
    stack = [(k, False) for k in reversed(kids[-1])]
    while stack:
        index, done = stack.pop()
        if done:
            end[index] = count
            continue
        at[index] = count
        count += 1
        stack.append((index, True))
        stack += [(k, False) for k in reversed(kids[index])]
    return at, end


def _once(rows: Any) -> tuple[Any, list[int]]:
    """Equal rows once, and for each row where it now stands."""
    at: dict[bytes, int] = {}
    stands = [at.setdefault(row.tobytes(), len(at)) for row in rows]
    found: dict[int, int] = {}
    for n, k in enumerate(stands):
        found.setdefault(k, n)
    return rows[list(found.values())], stands


class Board:
    """A machine laid out.

    Args:
        machine: The job's, as it should be.
        steps: The tree of situations.
        watched: Slots of which walks tell.
        library: The compiled walk.

    Attributes:
        slot: Number of each slot, those of slips' rules among them.
        numbers: Numbers of values.
        place_of: Place of each step on a walk through the tree.
        end: Place behind the last step below each.
        row: Numbers of all slots' values after each step, by place; the last row is the dark.
    """

    def __init__(self, machine: Machine, steps: Sequence[Step], watched: Collection[int], library: Any) -> None:
        self.machine, self.steps = machine, tuple(steps)
        self._walk = library
        self.arrays = Arrays()
        self.struct = self.arrays.struct
        self._failed: BaseException | None = None
        self.struct.ask = Ask(self._asked)
        self.slot = dict(machine.slot)
        self.numbers = Numbers(self.arrays, library)
        dark = self._lay_slots()
        self._lay_units()
        self._lay_islands()
        self._lay_tree(dark)
        self._lay_walk(watched)
        self._walk_right()

    # once ---------------------------------------------------------------------------------------------------
    def _lay_slots(self) -> list[Any]:
        """Slots: the machine's, what each island draws from a bus that is watched, and room. Gives the dark."""
        machine = self.machine
        dark: list[Any] = list(machine.dark().values)
        self.drawn: list[list[tuple[int, int]]] = []
        self.buses: dict[int, list[int]] = {}
        for k in range(len(machine.islands)):
            mine = []
            for place, amps in machine.watched_buses(k):
                mine.append((place, len(dark)))
                self.buses.setdefault(amps, []).append(len(dark))
                dark.append(0.0)
            self.drawn.append(mine)
        self.spare: dict[int, int] = {}
        for amps, parts in self.buses.items():
            self.spare[amps] = len(dark)
            parts.append(len(dark))
            dark.append(0.0)
        self.looks = looks_of(machine)
        for island in machine.islands:
            for r in island.readings:
                s = self.slot[r.slot]
                look = self.looks.get(s)
                dark[s] = look(dark[s]) if look is not None else complex(dark[s]) if r.form == "ac" else dark[s]
        self.next_slot = len(dark)
        self.struct.n_slots = len(dark) + ROOM_SLOTS
        self.struct.slot_words = (self.struct.n_slots >> 6) + 1
        return dark

    def _lay_units(self) -> None:
        machine, slot, arrays, struct = self.machine, self.slot, self.arrays, self.struct
        islands, rules = machine.islands, machine.rules
        ins = [tuple(slot[s] for s in i.key_slots) for i in islands]
        outs = [(*(slot[r.slot] for r in i.readings), *(s for _, s in self.drawn[k])) for k, i in enumerate(islands)]
        ins += [tuple(slot[s] for s in r.inputs) for r in rules]
        outs += [tuple(slot[s] for s in r.outputs) for r in rules]
        ins += [tuple(parts) for parts in self.buses.values()]
        outs += [(amps,) for amps in self.buses]
        self.n_units = len(ins)
        struct.n_units = self.n_units + ROOM_UNITS
        for name in ("kind", "swapped", "law", "in_at", "in_n", "out_at", "out_n", "level_of_sum"):
            arrays.lay(name, struct.n_units)
        struct.ins_used = self._lay_lists("ins", "in_at", "in_n", ins)
        struct.outs_used = self._lay_lists("outs", "out_at", "out_n", outs)
        struct.ins_most, struct.outs_most = len(arrays.ins), len(arrays.outs)
        writer = arrays.lay("writer", struct.n_slots, -1)
        for u, mine in enumerate(outs):
            writer[list(mine)] = u
        readers: list[list[int]] = [[] for _ in range(struct.n_slots)]
        for u, mine in enumerate(ins):
            for s in dict.fromkeys(mine):
                readers[s].append(u)
        arrays.give("reader_at", np.cumsum([0, *map(len, readers)]))
        arrays.give("readers", np.array([u for mine in readers for u in mine], np.int32))
        arrays.lay("more_at", struct.n_slots, -1)
        arrays.lay("more", 2 * ROOM_WIRES)
        first_rule, first_sum = len(islands), len(islands) + len(rules)
        arrays.kind[first_rule:first_sum] = RULE
        arrays.kind[first_sum : self.n_units] = SUM
        arrays.kind[self.n_units :] = GONE
        self._laws: dict[Any, list[tuple[int, Rule]]] = {}
        self._next_law = FIRST_LAW
        self.rule_of: dict[int, Rule] = {first_rule + r: rule for r, rule in enumerate(rules)}
        for u, rule in self.rule_of.items():
            arrays.law[u] = self.law_of(rule)
        for n, amps in enumerate(self.buses):
            look = self.looks.get(amps)
            if isinstance(look, Levels) and not look.signed:
                arrays.level_of_sum[first_sum + n] = look.bounds[0]

    def _lay_lists(self, name: str, at: str, count: str, lists: Sequence[Sequence[int]]) -> int:
        flat = [s for mine in lists for s in mine]
        self.arrays.lay(name, len(flat) + ROOM_WIRES)[: len(flat)] = flat
        lengths = [len(mine) for mine in lists]
        getattr(self.arrays, count)[: len(lists)] = lengths
        getattr(self.arrays, at)[: len(lists)] = np.cumsum([0, *lengths])[:-1]
        return len(flat)

    def law_of(self, rule: Rule) -> int:
        """Number of what a rule does: those of equal devices share what they have answered."""
        code = getattr(rule.act, "__code__", rule.act)
        known = self._laws.setdefault((code, len(rule.inputs), len(rule.outputs)), [])
        for law, other in known:
            if same_answers(other, rule):
                return law
        law = self._next_law
        self._next_law += 1
        known.append((law, rule))
        return law

    def _lay_islands(self) -> None:
        arrays = self.arrays
        laid = [
            packed(island, [p for p, _ in self.drawn[k]], self.slot, self.looks)
            for k, island in enumerate(self.machine.islands)
        ]
        self.ints_used = sum(len(i) for i, _ in laid)
        self.floats_used = sum(len(f) for _, f in laid)
        arrays.lay("ints", self.ints_used + ROOM_INTS)[: self.ints_used] = [x for i, _ in laid for x in i]
        arrays.lay("floats", self.floats_used + ROOM_FLOATS)[: self.floats_used] = [x for _, f in laid for x in f]
        n = len(laid)
        arrays.lay("isle_int", MOST_ISLANDS)[:n] = np.cumsum([0, *(len(i) for i, _ in laid)])[:-1]
        arrays.lay("isle_float", MOST_ISLANDS)[:n] = np.cumsum([0, *(len(f) for _, f in laid)])[:-1]
        arrays.law[:n] = range(n)
        self.island_of = {self.slot[r.slot]: k for k, i in enumerate(self.machine.islands) for r in i.readings}
        self.next_island = n
        # a slip can make one of several islands
        islands = self.machine.islands
        nodes = self.most_nodes = LEAST_NODES + 3 * max((len(i.place) for i in islands), default=0)
        most = max((len(i.branches) + len(i.sources) + len(i.readings) for i in islands), default=0)
        parts = self.most_parts = LEAST_PARTS + 3 * most
        for name in ("parent_of", "root_of", "group", "spot", "fixed", "held", "live", "seen", "loose_ac", "loose_dc"):
            arrays.lay(name, nodes)
        for name in ("held_ac", "held_dc", "ac", "dc"):
            arrays.lay(name, nodes)
        for name in ("end_a", "end_b", "dc_a", "dc_b", "from_", "to", "y_ac", "y_dc", "j_ac", "j_dc"):
            arrays.lay(name, parts)
        arrays.lay("matrix", nodes * (nodes + 1))
        arrays.lay("read_ac", parts)
        arrays.lay("read_dc", parts)

    def _lay_tree(self, dark: Sequence[Any]) -> None:
        arrays, struct, number = self.arrays, self.struct, self.numbers.of
        parents = [s.parent for s in self.steps]
        self.place_of, ends = preorder(parents)
        n = len(parents)
        struct.n_steps, struct.words = n, (n >> 6) + 1
        row = self.row = arrays.lay("row", (n + 1, struct.n_slots))
        row[:, : len(dark)] = [number(v) for v in dark]
        # what the right wiring comes to is not known yet
        arrays.lay("row_at", n + 1)
        arrays.lay("column_at", struct.n_slots)
        arrays.lay("right_rows", 1)
        arrays.lay("right_value", 1)
        parent, end = arrays.lay("parent", n, n), arrays.lay("end", n)
        events: list[tuple[int, int, int]] = []
        for index, step in enumerate(self.steps):
            p = self.place_of[index]
            above = self.place_of[step.parent] if step.parent >= 0 else n
            parent[p], end[p] = above, ends[index]
            # nothing but the world's slots moves as yet
            row[p] = row[above]
            for name, value in step.events.items():
                s, v = self.slot[name], number(value)
                if row[above, s] != v:
                    events.append((p, s, v))
                    row[p, s] = v
        arrays.lay("bits", (struct.n_slots, struct.words))
        arrays.lay("unit_bits", (struct.n_units, struct.words))
        self.end = np.array(ends)
        self._world = [np.array([e[i] for e in events], np.int32) for i in range(3)]
        step_at, slots, values = self._world
        none = np.zeros(len(events))
        self._lay_events(step_at, slots, none, none.astype(np.int32), values)

    def _lay_events(self, step: Any, slot: Any, time_s: Any, turn: Any, value: Any) -> None:
        """Changes in the order of steps and moments."""
        arrays = self.arrays
        order = np.lexsort((turn, time_s, step))
        arrays.give("event_at", np.searchsorted(step[order], np.arange(len(self.steps) + 2)))
        arrays.give("event_slot", slot[order])
        arrays.give("event_s", time_s[order])
        arrays.give("event_turn", turn[order])
        arrays.give("event_value", value[order])
        arrays.give("by_slot", np.lexsort((slot[order], step[order])))
        events, steps, words = len(order), len(self.steps), self.struct.slot_words
        self.struct.known_size = 1 << (2 * max(events, steps)).bit_length()
        arrays.lay("known_moves", self.struct.known_size, -1)
        arrays.lay("known_lists", self.struct.known_size, -1)
        for name in ("changes", "moves", "moves_in", "slots_in"):
            arrays.lay(name, events)
        arrays.lay("list_of", steps)
        arrays.lay("list_at", steps + 1)
        arrays.lay("moving", (steps, words))
        arrays.lay("move_at", (steps, words))
        self._walk.lay_moves(arrays.at)

    def _lay_walk(self, watched: Collection[int]) -> None:
        arrays, struct = self.arrays, self.struct
        slots, units = struct.n_slots, struct.n_units
        by_slot = "now before written heard role mine theirs pending due_s due waiting moved move_value largest own"
        by_unit = "stood_in stood_out placed working works ever awake queued follows restless queue woken following"
        for name in (*by_slot.split(), "followed"):
            arrays.lay(name, slots)
        for name in by_unit.split():
            arrays.lay(name, units)
        arrays.lay("heard_bits", struct.slot_words)
        arrays.lay("written_bits", struct.slot_words)
        arrays.lay("stood_unit", 6 * units)
        struct.put_off_most = PUT_OFF
        arrays.lay("changed", 4 * MOST_EVENTS)
        arrays.lay("told_slot", slots)
        arrays.lay("told_mark", slots)
        arrays.lay("column", struct.n_steps)
        arrays.lay("crew_n", PUT_OFF)
        arrays.lay("crew_set", PUT_OFF)
        arrays.lay("node", PUT_OFF)
        arrays.lay("saved", (PUT_OFF, slots))
        arrays.lay("crew", (PUT_OFF, units))
        arrays.lay("own_crew", units)
        arrays.lay("own_saved", slots)
        arrays.lay("touched", struct.words)
        arrays.lay("watch", slots, -1)[sorted(watched)] = 1
        struct.memo_size, struct.memo_rows, struct.rows_used = MEMO, ROWS, 1
        arrays.lay("memo_mark", MEMO)
        arrays.lay("memo_at", MEMO)
        arrays.lay("rows", ROWS)
        struct.event_most, struct.out_most = MOST_EVENTS, MOST_OUT
        for name in ("step", "agenda", "base"):
            arrays.lay(name, MOST_EVENTS)
        for name in ("out", "told_of"):
            arrays.lay(name, MOST_OUT)
        struct.taken_size, struct.again_most, struct.asked_size = TAKEN, AGAIN, TAKEN
        for name in ("taken", "asked", "asked_run", "asked_place"):
            arrays.lay(name, TAKEN)
        arrays.lay("again", AGAIN)
        # an answer, and what a unit reads, are at most all slots
        arrays.lay("key", 2 * slots + 1)
        arrays.lay("given", 2 * slots)
        arrays.lay("values", 2 * slots)
        # any odd numbers do, as long as they are the same in every run
        salt = np.random.default_rng(1).integers(0, 1 << 63, slots, np.uint64)
        arrays.give("salt", 2 * salt + np.uint64(1))
        struct.placed_island = -1

    def _walk_right(self) -> None:
        """The run of the right wiring: its rows, and the changes of every slot."""
        struct, arrays = self.struct, self.arrays
        for sums in (0, 1):
            struct.sums, struct.n_out = sums, 0
            self._walk.all_to_work(self.arrays.at)
            reason = self._walk.walked_first(self.arrays.at)
            if reason != SUMS_COUNT:
                break
        self._told(reason)
        self.sums = int(struct.sums)
        out = arrays.out[: struct.n_out]
        step, slot, value = self._world
        none = np.zeros(len(step))
        self._lay_events(
            np.concatenate([out["step"], step]),
            np.concatenate([out["slot"], slot]),
            np.concatenate([out["s"], none]),
            np.concatenate([out["turn"], none.astype(np.int32)]),
            np.concatenate([out["value"], value]),
        )
        self._lay_right()
        self._walk.set_bits(self.arrays.at)
        arrays.give("right_bits", arrays.unit_bits.copy())

    def _lay_right(self) -> None:
        """The rows of the right wiring, equal rows and equal columns once: small enough to stay near at hand."""
        arrays, used = self.arrays, self.next_slot
        rows, row_at = _once(self.row)
        columns, column_at = _once(np.ascontiguousarray(rows[:, :used].T))
        known = np.zeros(int(self.struct.n_values), np.bool_)
        known[columns] = True
        values = np.flatnonzero(known)
        if len(values) > MOST_CODES:
            raise NeedsPlainWayError("more values than the compiled walk has room for")
        columns = np.cumsum(known)[columns] - 1
        self.struct.n_columns = len(columns) + ROOM_SLOTS
        arrays.give("right_value", np.append(values, np.zeros(ROOM_SLOTS)))
        arrays.give("row_at", row_at)
        arrays.lay("column_at", self.struct.n_slots)[:used] = column_at
        arrays.lay("right_rows", (len(rows), self.struct.n_columns))[:, : len(columns)] = columns.T

    def add_slot(self, name: str, value: Any) -> None:
        """A slot that the machine does not have.

        Raises:
            NeedsPlainWayError: There is no room for it.
        """
        s, arrays = self.next_slot, self.arrays
        if s >= self.struct.n_slots:
            raise NeedsPlainWayError("more slots than the compiled walk has room for")
        self.slot[name] = s
        self.next_slot += 1
        room = self.struct.n_slots - s
        arrays.right_value[-room] = self.numbers.of(value)
        arrays.column_at[s] = self.struct.n_columns - room
        arrays.right_rows[:, -room] = len(arrays.right_value) - room

    def _asked(self, unit: int, n: int, key: Any, given: Any) -> int:
        """A rule's answer, asked for by the walk."""
        try:
            rule = self.rule_of[unit]
            k = len(rule.inputs)
            met = [*map(self.numbers.value, key[1:n])]
            after = rule.act(tuple(met[:k]), tuple(met[k:]))
            for i, v in enumerate(after):
                given[i] = self.numbers.answer(v)
            return len(after)
        except BaseException as error:  # noqa: BLE001 - carried over the compiled walk, and raised behind it
            self._failed = error
            return -1

    def _told(self, reason: int) -> None:
        """Raise what ended a walk before its end."""
        if self._failed is not None:
            failed, self._failed = self._failed, None
            raise failed
        if reason == STIFF:
            raise CircuitError("a closed contact joins two stiff buses of different voltage without any conductor")
        if reason != DONE:
            raise NeedsPlainWayError("more than the compiled walk has room for")

    # walking --------------------------------------------------------------------------------------------------
    def walk(self) -> None:
        """Walk through the tree with what has been put in place.

        Raises:
            CircuitError: The network has no solution in some state.
            NeedsPlainWayError: There is no room for it.
        """
        struct = self.struct
        reason = self._walk.walked(self.arrays.at)
        if reason == SUMS_COUNT:
            struct.sums = 1
            reason = self._walk.walked(self.arrays.at)
        if reason == FULL:
            # what was remembered of slips long gone is in the way
            self.arrays.memo_at[:] = 0
            struct.memo_used, struct.rows_used = 0, 1
            reason = self._walk.walked(self.arrays.at)
        self._told(reason)

    def restless(self) -> tuple[str, ...]:
        """Devices that started and dropped out without end in the last walk."""
        if not self.struct.restless_seen:
            return ()
        units = np.flatnonzero(self.arrays.restless).tolist()
        return tuple(sorted({self.rule_of[u].owner for u in units if u in self.rule_of}))
