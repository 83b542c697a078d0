"""A network and its rules, compiled; states and their settling to a fixed point.

Everything is a slot. A *unit* reads slots and writes slots: an island (solved once per state and remembered) or a
rule. When a slot changes, the units that read it run again, until nothing changes. What does not settle is chatter.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from operator import itemgetter
from typing import Any

from galleyproof.circuit.elements import EARTH, Network, Reading, Source
from galleyproof.circuit.island import Island, Solution
from galleyproof.circuit.rules import After, Rule
from galleyproof.errors import CircuitError

MAX_ROUNDS = 120
"""Rounds without rest after which a loop is called chatter (each round lets every device move once). [-]"""


@dataclass(slots=True)
class State:
    """Values of all slots, and what is still to come.

    ``pending`` maps (rule, output) to (when, value); ``chatter`` names the devices of a loop that never settled.
    """

    values: list[Any]
    solutions: list[Solution | None]
    pending: dict[tuple[int, int], tuple[float, Any]] = field(default_factory=dict)
    time_s: float = 0.0
    chatter: tuple[str, ...] = ()

    def copy(self) -> State:
        """An independent copy; solutions are shared because they never change."""
        return State(self.values.copy(), self.solutions.copy(), dict(self.pending), self.time_s, self.chatter)


class Machine:
    """A compiled network with rules.

    Args:
        network: From ``build_network``.
        rules: All behaviours of all devices.
        world: Slots of the outside world with their values from dark.
    """

    def __init__(self, network: Network, rules: Sequence[Rule], world: Mapping[str, Any]) -> None:
        self.network = network
        self.rules = tuple(rules)
        self.names: list[str] = []
        self.slot: dict[str, int] = {}
        self._initial: list[Any] = []
        self._readings: dict[str, Reading] = {}
        for name, value in world.items():
            self._add(name, value)
        for link in network.links:
            self._add_part(link.slot, link.normal)
        for branch in network.branches:
            if branch.slot:
                self._add_part(branch.slot, 1.0 if branch.how == "factor" else 10000.0)
        for source in (*network.sources, *network.stiff):
            if source.slot:
                self._add_part(source.slot, 0.0)
        written: dict[str, str] = {}
        for rule in self.rules:
            for name, value in zip(rule.outputs, rule.initial, strict=True):
                if name in written:
                    raise CircuitError(f"{rule.owner}: {rule.name} and {written[name]} both set {name}")
                written[name] = rule.name
                self._add(name, value)
        self.islands: list[Island] = []
        self.island_of: dict[int, int] = {}
        self.fixed: dict[int, tuple[complex, float, str]] = {}
        self._cut()
        self._claim_readings()
        self._wire_units()

    # compilation -------------------------------------------------------------------------------------------
    def _add(self, name: str, value: Any) -> int:
        if name in self.slot:
            self._initial[self.slot[name]] = value
        else:
            self.slot[name] = len(self.names)
            self.names.append(name)
            self._initial.append(value)
        return self.slot[name]

    def _add_part(self, name: str, value: Any) -> None:
        """A part's slot; one that the outside world moves keeps the world's value."""
        if name not in self.slot:
            self._add(name, value)

    def _cut(self) -> None:
        """Cut the network into islands at nodes of fixed potential."""
        net = self.network
        self.fixed = {EARTH: (0j, 0.0, "")}
        for s in net.stiff:
            ac, dc, names = self.fixed[s.b]
            if ac or dc:
                raise CircuitError(f"{s.name}: a stiff source may stand only on a bus of zero volts")
            self.fixed[s.a] = (s.v_ac, s.v_dc, "*".join(n for n in (names, s.slot) if n))
        parent = list(range(len(net.node_names)))

        def root(i: int) -> int:
            while parent[i] != i:
                parent[i] = parent[parent[i]]
                i = parent[i]
            return i

        ends = [(x.a, x.b) for group in (net.branches, net.sources, net.links) for x in group]
        for a, b in ends:
            if a not in self.fixed and b not in self.fixed:
                ra, rb = root(a), root(b)
                if ra != rb:
                    parent[max(ra, rb)] = min(ra, rb)
        groups: dict[tuple[str, int], dict[str, list[Any]]] = {}

        def group_of(a: int, b: int) -> dict[str, list[Any]]:
            free = a if a not in self.fixed else b
            # a part between two fixed nodes is an island of its own
            key = ("free", root(free)) if free not in self.fixed else ("fixed", len(groups))
            return groups.setdefault(key, {"branches": [], "sources": [], "links": []})

        for branch in net.branches:
            if branch.a != branch.b:
                group_of(branch.a, branch.b)["branches"].append(branch)
        for source in net.sources:
            group_of(source.a, source.b)["sources"].append(source)
        for link in net.links:
            group_of(link.a, link.b)["links"].append(link)
        for parts in groups.values():
            elements = [*parts["branches"], *parts["sources"], *parts["links"]]
            nodes = sorted({n for e in elements for n in (e.a, e.b)})
            fixed = [(n, *self.fixed[n]) for n in nodes if n in self.fixed]
            free = [n for n in nodes if n not in self.fixed]
            island = Island(free, parts["branches"], parts["sources"], parts["links"], fixed)
            for n in free:
                self.island_of[n] = len(self.islands)
            self.islands.append(island)
        self._branch_island: dict[str, int] = {}
        for k, island in enumerate(self.islands):
            self._branch_island.update({b.name: k for b in island.branches})
            self._branch_island.update({s.name: k for s in island.sources})

    def _claim_readings(self) -> None:
        """Find what each reading slot asks for and give it to the island that knows."""
        net = self.network
        ends: dict[str, tuple[int, int]] = {b.name: (b.a, b.b) for b in net.branches}
        ends |= {s.name: (s.a, s.b) for s in net.sources}
        ends |= {k.name: (k.a, k.b) for k in net.links}
        stiff: dict[str, Source] = {s.name: s for s in net.stiff}
        wanted: dict[int, list[Reading]] = {}
        self.drawn_slots: dict[int, tuple[int, str, int]] = {}
        self._differences: list[tuple[str, str, int, int]] = []
        for name in sorted({n for rule in self.rules for n in rule.inputs}):
            if name in self.slot:
                continue
            part, _, what = name.rpartition(".")
            if what not in ("ac", "dc", "amps_ac", "amps_dc"):
                raise CircuitError(f"a behaviour asks for {name}, which nothing provides")
            form = "ac" if what.endswith("ac") else "dc"
            if what == "amps_ac" and part in stiff:
                raise CircuitError(f"a behaviour asks for {name}; only the DC current of a stiff bus is summed")
            if what == "amps_dc" and part in stiff:
                self._add(name, 0j if form == "ac" else 0.0)
                continue
            if part not in ends:
                raise CircuitError(f"a behaviour asks for {name}, but no part is called {part}")
            a, b = ends[part]
            self._add(name, 0j if form == "ac" else 0.0)
            if what.startswith("amps"):
                island = self._branch_island.get(part)
                if island is None:
                    raise CircuitError(f"a behaviour asks for the current of {part}, which is a contact")
            else:
                ia, ib = self.island_of.get(a), self.island_of.get(b)
                if ia is not None and ib is not None and ia != ib:
                    raise CircuitError(f"{name}: its two ends hang on different islands")
                island = ia if ia is not None else ib
                if island is None:
                    island = self._branch_island.get(part)
                if island is None:
                    raise CircuitError(f"{name}: both ends are stiff buses")
            of = "amps" if what.startswith("amps") else "volts"
            wanted.setdefault(island, []).append(Reading(name, form, of, a, b, part))  # type: ignore[arg-type]
        for k, readings in wanted.items():
            self.islands[k].set_readings(readings)
        # currents drawn from watched stiff buses are summed over all islands
        self._bus_watch: dict[int, int] = {}
        for s in net.stiff:
            slot = self.slot.get(f"{s.name}.amps_dc")
            if slot is not None:
                self._bus_watch[s.a] = slot

    def _wire_units(self) -> None:
        units = [
            (tuple(self.slot[s] for s in island.key_slots), tuple(self.slot[r.slot] for r in island.readings))
            for island in self.islands
        ]
        units += [
            (tuple(self.slot[s] for s in rule.inputs), tuple(self.slot[s] for s in rule.outputs)) for rule in self.rules
        ]
        self.units = units
        self.readers: list[list[int]] = [[] for _ in self.names]
        for u, (inputs, _) in enumerate(units):
            for s in dict.fromkeys(inputs):
                self.readers[s].append(u)
        # for the inner loop: whom a slot wakes, and each unit's reads and writes, ready to be used as they are
        self._wakes = [dict.fromkeys(units) for units in self.readers]
        self._read = [_getter(inputs) for inputs, _ in units[: len(self.islands)]]
        self._do = [
            (rule.act, _getter(inputs), _getter(outputs), outputs)
            for rule, (inputs, outputs) in zip(self.rules, units[len(self.islands) :], strict=True)
        ]
        self._watched = [
            [(i, self._bus_watch[n]) for i, (n, *_r) in enumerate(island.fixed_nodes) if n in self._bus_watch]
            for island in self.islands
        ]

    # running -----------------------------------------------------------------------------------------------
    def dark(self) -> State:
        """Nothing supplied, everything at rest; settled."""
        state = State(self._initial.copy(), [None] * len(self.islands))
        self._settle(state, range(len(self.units)))
        self._elapse(state)
        return state

    def get(self, state: State, name: str) -> Any:
        """Value of a slot."""
        return state.values[self.slot[name]]

    def apply(self, state: State, events: Mapping[str, Any], *, history: list[State] | None = None) -> State:
        """A new state after outside events, settled, with all delays elapsed.

        Args:
            state: Where it starts; it is left alone.
            events: World slot -> new value.
            history: If given, the states passed through are appended: at once, then after each delay.
        """
        new = state.copy()
        new.time_s = 0.0
        new.chatter = ()
        new.pending = {key: (when - state.time_s, value) for key, (when, value) in state.pending.items()}
        dirty: dict[int, None] = {}
        for name, value in events.items():
            s = self.slot.get(name)
            if s is None:
                raise CircuitError(f"there is no {name} in this job")
            if new.values[s] != value:
                new.values[s] = value
                dirty.update(self._wakes[s])
        self._settle(new, dirty)
        if history is not None:
            # the last one is handed over itself: no state is changed once it is returned
            history.append(new.copy() if new.pending and not new.chatter else new)
        self._elapse(new, history)
        return new

    def _elapse(self, state: State, history: list[State] | None = None) -> None:
        """Let pending delays pass, one moment at a time."""
        for _ in range(200):
            if not state.pending or state.chatter:
                return
            when = min(t for t, _ in state.pending.values())
            state.time_s = max(state.time_s, when)
            dirty: dict[int, None] = {}
            for key in [k for k, (t, _) in state.pending.items() if t <= when]:
                unit, output = key
                _, value = state.pending.pop(key)
                s = self.units[unit][1][output]
                if state.values[s] != value:
                    state.values[s] = value
                    dirty.update(self._wakes[s])
                # the rule itself has more to say once its delay is over
                dirty[unit] = None
            self._settle(state, dirty)
            if history is not None:
                history.append(state.copy() if state.pending and not state.chatter else state)
        owners = sorted({self.rules[u - len(self.islands)].owner for u, _ in state.pending})
        state.chatter = tuple(owners)

    def _settle(self, state: State, dirty: Iterable[int]) -> None:
        """Run units until nothing changes; side by side first, one by one if that goes in circles."""
        queue = dict.fromkeys(dirty)
        for _ in range(MAX_ROUNDS):
            if not queue:
                return
            queue = self._round(state, queue)
        changed: set[str] = set()
        for _ in range(MAX_ROUNDS):
            if not queue:
                return
            # one device after the other: a real race has a winner
            following: dict[int, None] = {}
            for u in sorted(queue):
                after = self._round(state, {u: None})
                if u >= len(self.islands) and after:
                    changed.add(self.rules[u - len(self.islands)].owner)
                following.update(after)
            queue = following
        state.chatter = tuple(sorted(changed)) or ("unknown",)

    def _round(self, state: State, queue: dict[int, None]) -> dict[int, None]:
        values, pending, wakes = state.values, state.pending, self._wakes
        islands = len(self.islands)
        # islands first: devices then see one consistent picture
        rule_units = [u for u in queue if u >= islands]
        following: dict[int, None] = {}
        if len(rule_units) < len(queue):
            for u in queue:
                if u >= islands:
                    continue
                solution = self.islands[u].solve(self._read[u](values))
                old = state.solutions[u]
                if solution is old:
                    continue
                state.solutions[u] = solution
                for s, value in zip(self.units[u][1], solution.readings, strict=True):
                    if values[s] != value:
                        values[s] = value
                        following.update(wakes[s])
                for i, s in self._watched[u]:
                    change = solution.drawn_dc[i] - (old.drawn_dc[i] if old else 0.0)
                    if abs(change) > 1e-9:
                        values[s] = round(values[s] + change, 9)
                        following.update(wakes[s])
            following.update(dict.fromkeys(rule_units))
            return following
        writes: list[tuple[int, Any]] = []
        do = self._do
        for u in rule_units:
            act, read, read_now, outputs = do[u - islands]
            now = read_now(values)
            after = act(read(values), now)
            if after == now:
                if pending:
                    for i in range(len(now)):
                        pending.pop((u, i), None)
                continue
            for i, value in enumerate(after):
                if isinstance(value, After):
                    waiting = pending.get((u, i))
                    if now[i] == value.value:
                        pending.pop((u, i), None)
                    elif waiting is None or waiting[1] != value.value:
                        pending[u, i] = (state.time_s + value.seconds, value.value)
                    continue
                if pending:
                    pending.pop((u, i), None)
                if value != now[i]:
                    writes.append((outputs[i], value))
        for s, value in writes:
            values[s] = value
            following.update(wakes[s])
        return following

    def watched_buses(self, island: int) -> list[tuple[int, int]]:
        """Stiff buses an island draws from whose current someone reads: place among its fixed nodes, slot."""
        return list(self._watched[island])

    def bus_slot(self, node: int) -> int | None:
        """Slot of the current drawn from a stiff bus, if someone reads it."""
        return self._bus_watch.get(node)

    # looking -----------------------------------------------------------------------------------------------
    def island_with(self, element: str) -> int | None:
        """Index of the island that holds a branch or a source, or None."""
        return self._branch_island.get(element)

    def volts(self, state: State, node: int) -> tuple[complex, float]:
        """AC and DC potential of a node against earth [V], [V]."""
        k = self.island_of.get(node)
        if k is None:
            ac, dc, names = self.fixed.get(node, (0j, 0.0, ""))
            factor = 1.0
            for name in names.split("*"):
                if name:
                    factor *= float(self.get(state, name))
            return ac * factor, dc * factor
        solution = state.solutions[k]
        if solution is None:
            return 0j, 0.0
        return self.islands[k].volts(node, solution)


def _getter(slots: tuple[int, ...]) -> Callable[[Sequence[Any]], tuple[Any, ...]]:
    """What takes the values of some slots as a tuple, as fast as can be."""
    if len(slots) > 1:
        return itemgetter(*slots)
    if not slots:
        return lambda _values: ()
    (only,) = slots
    return lambda values: (values[only],)
