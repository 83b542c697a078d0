"""From a slip to the few units it changes: its islands put together anew, its devices' rules.

The rest of the job is left as it is. What comes out is the same network that ``slips.apply`` and the plain builder
give, cut to the islands the slip touches.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from galleyproof.circuit.behaviours import BEHAVIOURS, Made
from galleyproof.circuit.elements import EARTH, Branch, Link, Reading, Source
from galleyproof.circuit.island import Island
from galleyproof.circuit.machine import Machine
from galleyproof.circuit.network import NetworkBuilder, collect, conductor_ohm
from galleyproof.circuit.rules import Rule
from galleyproof.design.model import Bridge, Design, TerminalId
from galleyproof.errors import CircuitError
from galleyproof.library.model import Contact, DeviceType, Load3
from galleyproof.proof.slips.model import Change, Refit, landing

Element = Branch | Source | Link


class NeedsPlainWayError(CircuitError):
    """A change this module does not know; the plain machine has to be built for it."""


@dataclass
class Patch:
    """What a slip changes.

    Attributes:
        islands: Indices of the islands that are put together anew; empty if none.
        island: The new island, or None.
        terminals: Terminals that stand on another node than in the design.
        rules: Index of a rule -> the rule in its place, None where it is gone.
        more: Rules beside those of the design.
    """

    islands: tuple[int, ...] = ()
    island: Island | None = None
    terminals: dict[TerminalId, int] = field(default_factory=dict)
    rules: dict[int, Rule | None] = field(default_factory=dict)
    more: list[Rule] = field(default_factory=list)


@dataclass
class _Edit:
    """Elements taken out and put in, and the islands touched."""

    gone: set[str] = field(default_factory=set)
    new: list[Element] = field(default_factory=list)
    islands: set[int] = field(default_factory=set)


class Patcher:
    """Makes patches for one design.

    Args:
        design: The design as it should be.
        library: Device types.
        machine: Its machine.
    """

    def __init__(self, design: Design, library: Mapping[str, DeviceType], machine: Machine) -> None:
        self.design = design
        self.library = library
        self.machine = machine
        self.raw = collect(design, library)
        self.node_of = self.raw.merged()
        self.island_at: dict[str, int] = {}
        self.element: dict[str, Element] = {}
        for k, island in enumerate(machine.islands):
            mine: tuple[Element, ...] = (*island.branches, *island.sources, *island.links)
            for e in mine:
                self.island_at[e.name] = k
                self.element[e.name] = e
        self.of_device: dict[str, list[str]] = {}
        for name in self.element:
            self.of_device.setdefault(name.partition(".")[0], []).append(name)
        self._at_raw: dict[int, list[Element]] = {}
        raw_elements: tuple[Element, ...] = (*self.raw.branches, *self.raw.sources, *self.raw.links)
        for e in raw_elements:
            self._at_raw.setdefault(e.a, []).append(e)
            self._at_raw.setdefault(e.b, []).append(e)
        self._stiff = {n for s in self.raw.sources if s.ohm == 0 for n in (s.a, s.b)} | {EARTH}
        self._buses = {s.name: s for s in machine.network.stiff}
        self._rules_of: dict[str, list[int]] = {}
        for r, rule in enumerate(machine.rules):
            self._rules_of.setdefault(rule.owner, []).append(r)
        self._fresh = len(machine.network.node_names)
        self._nodes_of: dict[str, dict[tuple[str, str], int]] = {}
        for key, n in self.raw.node.items():
            self._nodes_of.setdefault(key[0], {})[key] = n
        self._named = {n: name for name, n in self.raw.node.items() if not name[1].startswith("~")}
        self._last: tuple[Change, Patch] | None = None

    # finding ----------------------------------------------------------------------------------------------------
    def node(self, terminal: TerminalId) -> int:
        """Node of a terminal or inner node."""
        raw = self.raw.node.get((terminal.device, terminal.mark))
        if raw is None:
            raise NeedsPlainWayError(str(terminal))
        return self.node_of[raw]

    def patch(self, change: Change) -> Patch:
        """The units a change concerns.

        Raises:
            NeedsPlainWayError: If it changes more than this module can.
        """
        if self._last is not None and self._last[0] is change:
            return self._last[1]
        edit, patch = _Edit(), Patch()
        self._conductors(change, edit)
        for n, bridged in enumerate(change.bridged):
            g = 1.0 / bridged.ohm
            self._put(edit, Branch(f"{bridged.key}~{n}", self.node(bridged.a), self.node(bridged.b), complex(g), g))
        fresh = iter(range(self._fresh, self._fresh + 10_000))
        for tag, part in change.dead:
            self._dead(edit, tag, part, fresh)
        for bridge in change.unbridged:
            self._split(edit, patch, bridge, fresh)
        for tag in dict.fromkeys(r.device for r in change.refits):
            self._refit(edit, patch, tag, [r for r in change.refits if r.device == tag], fresh)
        if edit.islands:
            patch.islands = tuple(sorted(edit.islands))
            patch.island = self._island(edit)
        self._last = (change, patch)
        return patch

    # editing ----------------------------------------------------------------------------------------------------
    def _take(self, edit: _Edit, name: str) -> None:
        if name in self.island_at:
            edit.gone.add(name)
            edit.islands.add(self.island_at[name])

    def _put(self, edit: _Edit, element: Element) -> None:
        if element.a == element.b:
            return
        edit.new.append(element)
        for n in (element.a, element.b):
            k = self.machine.island_of.get(n)
            if k is not None:
                edit.islands.add(k)
        if not edit.islands and element.a in self.machine.fixed and element.b in self.machine.fixed:
            raise NeedsPlainWayError(element.name)

    def _conductors(self, change: Change, edit: _Edit) -> None:
        opened, loose = set(change.opened), dict(change.loose)
        for key in dict.fromkeys((*change.opened, *loose, *(m.conductor for m in change.moved))):
            conductor = landing(self.design.conductor_by_key[key], change.moved)
            ohm = conductor_ohm(conductor.awg, conductor.length_ft) + loose.get(key, 0.0)
            g = 0.0 if key in opened else 1.0 / ohm
            self._take(edit, key)
            self._put(edit, Branch(key, self.node(conductor.a), self.node(conductor.b), complex(g), g))

    def _dead(self, edit: _Edit, tag: str, part: str, fresh: Iterator[int]) -> None:
        kind = self.library[self.design.device_by_tag[tag].type]
        spec = next((p for p in kind.parts if getattr(p, "name", "") == part), None)
        if spec is None:
            raise NeedsPlainWayError(f"{tag}.{part}")
        pairs = ("_ab", "_bc", "_ca") if isinstance(spec, Load3) else ("",)
        for name in (f"{tag}.{part}{p}" for p in pairs):
            self._take(edit, name)
            if not isinstance(spec, Contact):
                edit.new.append(Branch(name, next(fresh), next(fresh), 1 + 0j, 1.0))

    def _split(self, edit: _Edit, patch: Patch, bridge: Bridge, fresh: Iterator[int]) -> None:
        """A node falls into two where a bridge is missing."""
        node = self.node(bridge.a)
        start = self.raw.node[bridge.b.device, bridge.b.mark]
        beside: dict[int, list[int]] = {}
        skipped = False
        for a, b, made_by in self.raw.joins:
            if self.node_of[a] != node:
                continue
            if made_by == bridge and not skipped:
                skipped = True
                continue
            beside.setdefault(a, []).append(b)
            beside.setdefault(b, []).append(a)
        part = _reach(start, beside)
        if self.raw.node[bridge.a.device, bridge.a.mark] in part:
            return
        if part & self._stiff:
            part = _reach(self.raw.node[bridge.a.device, bridge.a.mark], beside)
            if part & self._stiff:
                raise NeedsPlainWayError(f"{bridge.a} to {bridge.b}")
        split = next(fresh)
        patch.terminals |= {TerminalId(*self._named[n]): split for n in part if n in self._named}
        for e in dict.fromkeys(e for n in part for e in self._at_raw.get(n, ())):
            self._take(edit, e.name)
            ends = [split if n in part else self.node_of[n] for n in (e.a, e.b)]
            self._put(edit, replace(e, a=ends[0], b=ends[1]))

    def _refit(self, edit: _Edit, patch: Patch, tag: str, refits: Iterable[Refit], fresh: Iterator[int]) -> None:
        device = self.design.device_by_tag[tag]
        for refit in refits:
            if refit.rating == "type":
                device = replace(device, type=str(refit.value))
            else:
                device = replace(device, ratings={**device.ratings, refit.rating: refit.value})
        kind = self.library[device.type]
        made = NetworkBuilder(self.design, self.library)
        made.parent = list(range(len(self.raw.parent)))
        made.names = list(self.raw.names)
        made.node = dict(self._nodes_of.get(tag, {}))
        made.device(device)
        numbers: dict[int, int] = {}

        def final(raw: int) -> int:
            if raw < len(self.node_of):
                return self.node_of[raw]
            return numbers.setdefault(raw, next(fresh))

        elements: dict[str, Element] = {}
        found: tuple[Element, ...] = (*made.branches, *made.sources, *made.links)
        for e in found:
            elements[e.name] = replace(e, a=final(e.a), b=final(e.b))
        for name in self.of_device.get(tag, ()):
            if elements.get(name) != self.element[name]:
                self._take(edit, name)
                if name in elements:
                    self._put(edit, elements[name])
        for name, e in elements.items():
            # stiff buses cut the islands; one that changes cuts them elsewhere
            if name not in self.element and e.a != e.b and self._buses.get(name) != e:
                raise NeedsPlainWayError(tag)
        rules: list[Rule] = []
        for spec in kind.behaviours:
            rules.extend(BEHAVIOURS[spec.do](Made(device, kind, self.design), spec.roles))
        self._rerule(patch, tag, rules)

    def _rerule(self, patch: Patch, tag: str, rules: Iterable[Rule]) -> None:
        """Rules of a refitted device: those that do something else, are new, or are gone."""
        owned = {self.machine.rules[r].outputs[:1]: r for r in self._rules_of.get(tag, [])}
        rules = list(rules)
        written = {name for rule in rules for name in rule.outputs}
        for rule in rules:
            if any(name not in self.machine.slot and name not in written for name in rule.inputs):
                raise NeedsPlainWayError(f"{tag}: {rule.name}")
            index = owned.pop(rule.outputs[:1], None)
            if index is None:
                patch.more.append(rule)
            elif not same_rule(self.machine.rules[index], rule):
                patch.rules[index] = rule
        patch.rules.update(dict.fromkeys(owned.values()))

    # building ---------------------------------------------------------------------------------------------------
    def _island(self, edit: _Edit) -> Island:
        islands = [self.machine.islands[k] for k in sorted(edit.islands)]
        replaced: dict[str, Element] = {e.name: e for e in edit.new}
        gone, new, fixed = edit.gone, edit.new, self.machine.fixed
        branches = [e for i in islands for e in i.branches if e.name not in gone]
        sources = [e for i in islands for e in i.sources if e.name not in gone]
        links = [e for i in islands for e in i.links if e.name not in gone]
        branches += [e for e in new if isinstance(e, Branch)]
        sources += [e for e in new if isinstance(e, Source)]
        links += [e for e in new if isinstance(e, Link)]
        ends = {e.a for e in branches}
        ends.update([e.b for e in branches])
        rest: list[Element] = [*sources, *links]
        for part in rest:
            ends.update((part.a, part.b))
        touched = sorted([n for n in ends if n in fixed])
        nodes = sorted(ends.difference(touched).union(*(i.nodes for i in islands)))
        island = Island(nodes, branches, sources, links, [(n, *fixed[n]) for n in touched])
        island.set_readings([_reading(r, replaced) for i in islands for r in i.readings])
        return island


def _reading(reading: Reading, replaced: Mapping[str, Element]) -> Reading:
    """A reading between the ends where its part now stands."""
    element: Any = replaced.get(reading.branch)
    return reading if element is None else replace(reading, a=element.a, b=element.b)


def same_rule(one: Rule, other: Rule) -> bool:
    """Whether two rules do the same: equal slots, and one function over equal values."""
    if (one.inputs, one.outputs, one.initial) != (other.inputs, other.outputs, other.initial):
        return False
    return _same_function(one.act, other.act)


def same_answers(one: Rule, other: Rule) -> bool:
    """Whether two rules answer the same, whatever their slots are called."""
    return _same_function(one.act, other.act)


def _same_function(one: Any, other: Any) -> bool:
    if one is other:
        return True
    if getattr(one, "__code__", None) is None or one.__code__ is not getattr(other, "__code__", None):
        return False
    if one.__defaults__ != other.__defaults__:
        return False
    for a, b in zip(one.__closure__ or (), other.__closure__ or (), strict=True):
        mine, theirs = a.cell_contents, b.cell_contents
        if callable(mine):
            if not _same_function(mine, theirs):
                return False
        elif type(mine) is not type(theirs) or mine != theirs:
            return False
    return True


def _reach(start: int, beside: Mapping[int, Iterable[int]]) -> set[int]:
    seen = {start}
    stack = [start]
    while stack:
        for n in beside.get(stack.pop(), ()):
            if n not in seen:
                seen.add(n)
                stack.append(n)
    return seen
