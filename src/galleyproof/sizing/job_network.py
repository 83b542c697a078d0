"""What every conductor of a design carries: which device protects it, and which loads lie behind it.

The design is read as a graph of terminals. Conductors, bridges, contacts (open or closed) and small resistances link
terminals; loads hang between them. Seen from the sources, a conductor whose removal cuts something off carries the
loads whose two ends it separates; where paths lie side by side (a seal-in contact beside its button) each of them is
taken to carry all of it. Both throws of a contact count as closed, so nothing is carried less than here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from heapq import heapify, heappop, heappush

from galleyproof.design.model import Conductor, Design, Device, Role
from galleyproof.library.model import (
    BehaviourSpec,
    Coil,
    Contact,
    DeviceType,
    Earth,
    Joint,
    Load,
    Load3,
    Resistor,
    Sensor,
    Source,
)

__all__ = ["Carried", "Feed", "Network", "PartLoad", "read_network"]

_LINK_MAX_OHM = 1.0
_RAIL_V = 24.0
_SENSE_V = 5.0


@dataclass(frozen=True, slots=True, order=True)
class Feed:
    """Where a conductor gets its power.

    Attributes:
        circuit: Tag of the building circuit at the beginning; empty for a voltage of the equipment itself.
        source: Tag of what feeds it: a breaker, a protector, a supply, a transformer or a drive.
        kind: ``breaker``, ``protector``, ``supply``, ``transformer``, ``drive`` or ``own voltage``.
    """

    circuit: str
    source: str
    kind: str


@dataclass(frozen=True, slots=True)
class PartLoad:
    """A load of one device.

    Attributes:
        device: Tag.
        part: Name of the part inside it.
        coil: A coil, which pulls in only above some voltage.
        ac: Alternating current.
        rated_v: Rated voltage. [V]
        load_va: While it works. [VA]
        load_a: While it works; in each line of a three-phase load. [A]
        signal: An electronic input or a sensor: milliamperes.
    """

    device: str
    part: str
    coil: bool
    ac: bool
    rated_v: float
    load_va: float
    load_a: float
    signal: bool = False


@dataclass(frozen=True, slots=True)
class Carried:
    """What one conductor carries.

    Attributes:
        feed: Where its power comes from.
        loads: Loads behind it, each once.
    """

    feed: Feed
    loads: tuple[PartLoad, ...]

    @property
    def load_a(self) -> float:
        """Current of all loads at once [A]."""
        return sum(one.load_a for one in self.loads)


@dataclass(frozen=True)
class Network:
    """A design read for sizing.

    Attributes:
        carried: By key of the conductor.
        paths: For each load of a device, the keys of the conductors on its way from source to source.
        loads: By device and part.
        supplied: Loads by the tag of the source that feeds them, control loads and power loads alike.
        feeds: Where each load gets its power, by device and part.
    """

    carried: Mapping[str, Carried]
    paths: Mapping[tuple[str, str], tuple[str, ...]]
    loads: Mapping[tuple[str, str], PartLoad]
    supplied: Mapping[str, tuple[PartLoad, ...]]
    feeds: Mapping[tuple[str, str], Feed]

    @cached_property
    def parts_of_circuit(self) -> Mapping[str, tuple[tuple[str, str], ...]]:
        """Loads that a circuit feeds, by its tag, electronic inputs left out."""
        found: dict[str, list[tuple[str, str]]] = {}
        for key, feed in self.feeds.items():
            if not self.loads[key].signal:
                found.setdefault(feed.circuit, []).append(key)
        return {circuit: tuple(keys) for circuit, keys in found.items()}


NO_FEED = Feed("", "", "")

Node = tuple[str, str]


class _Graph:
    """Terminals with their links and loads."""

    def __init__(self) -> None:
        self.links: dict[Node, list[tuple[Node, str]]] = {}
        self.loads: list[tuple[PartLoad, tuple[Node, ...]]] = []
        self.sources: list[Node] = []
        self.breakers: set[str] = set()
        self.protectors: set[str] = set()
        self.outlets: list[tuple[str, str, Node]] = []

    def link(self, a: Node, b: Node, key: str = "") -> None:
        self.links.setdefault(a, []).append((b, key))
        self.links.setdefault(b, []).append((a, key))


def read_network(design: Design, library: Mapping[str, DeviceType]) -> Network:
    """Read a design.

    Args:
        design: The design.
        library: Device types by name.
    """
    graph = _Graph()
    for conductor in design.conductors:
        a, b = conductor.a, conductor.b
        graph.link((a.device, a.mark), (b.device, b.mark), conductor.key)
    for bridge in design.bridges:
        graph.link((bridge.a.device, bridge.a.mark), (bridge.b.device, bridge.b.mark))
    for device in design.devices:
        kind = library.get(device.type)
        if kind is not None:
            _read_device(graph, device, kind)
    walk = _Walk(graph)
    feeds = _feeds(graph)
    by_part = {(load.device, load.part): load for load, _ in graph.loads}
    supplied: dict[str, list[PartLoad]] = {}
    load_feeds: dict[tuple[str, str], Feed] = {}
    for load, ends in graph.loads:
        feed = _load_feed(ends, feeds)
        if feed is not None:
            supplied.setdefault(feed.source, []).append(load)
            load_feeds[load.device, load.part] = feed
    carried = {c.key: _carried(c, walk, feeds, load_feeds) for c in design.conductors}
    paths = {key: tuple(walk.paths.get(key, ())) for key in by_part}
    return Network(carried, paths, by_part, {tag: tuple(found) for tag, found in supplied.items()}, load_feeds)


def _read_device(graph: _Graph, device: Device, kind: DeviceType) -> None:
    tag = device.tag
    does = {behaviour.do for behaviour in kind.behaviours}
    number = _Numbers(device, kind)

    def node(end: str) -> Node:
        return (tag, end)

    if "breaker" in does:
        graph.breakers.add(tag)
    if "protector" in does:
        graph.protectors.add(tag)
    for part in kind.parts:
        if isinstance(part, Joint):
            graph.link(node(part.a), node(part.b))
        elif isinstance(part, Earth):
            graph.sources.append(node(part.a))
        elif isinstance(part, Contact):
            graph.link(node(part.a), node(part.b))
        elif isinstance(part, Source):
            graph.sources.append(node(part.a))
            graph.sources.append(node(part.b))
            for end in (part.a, part.b):
                graph.outlets.append((tag, _source_kind(does), node(end)))
        elif isinstance(part, Resistor | Sensor):
            ohm = number(part.ohm)
            if isinstance(part, Resistor) and ohm < _LINK_MAX_OHM:
                graph.link(node(part.a), node(part.b))
            elif not part.a.startswith("~") or not part.b.startswith("~"):
                volts = _SENSE_V if isinstance(part, Sensor) else _RAIL_V
                amps = volts / max(ohm, 1.0)
                load = PartLoad(tag, part.name, False, False, volts, volts * amps, amps, ohm > 500.0)
                graph.loads.append((load, (node(part.a), node(part.b))))
        elif isinstance(part, Load3):
            va, volts = _va(part, number), number(part.volts)
            load = PartLoad(tag, part.name, False, True, volts, va, va / (3**0.5 * volts))
            graph.loads.append((load, (node(part.a), node(part.b), node(part.c))))
        elif isinstance(part, Load | Coil):
            va, volts = _va(part, number), number(part.volts)
            coil = isinstance(part, Coil)
            ac = part.form == "ac" if isinstance(part, Coil) else not _is_dc(kind.behaviours, part.name)
            graph.loads.append(
                (PartLoad(tag, part.name, coil, ac, volts, va, va / volts), (node(part.a), node(part.b)))
            )


def _is_dc(behaviours: Iterable[BehaviourSpec], part: str) -> bool:
    return any(b.form == "dc" and part in b.load_parts for b in behaviours)


def _source_kind(does: set[str]) -> str:
    for behaviour, kind in (("power_supply", "supply"), ("transformer", "transformer"), ("drive", "drive")):
        if behaviour in does:
            return kind
    return "own voltage"


class _Numbers:
    """Values of a device's parts, ratings filled in."""

    def __init__(self, device: Device, kind: DeviceType) -> None:
        self._given = device.ratings
        self._specs = kind.ratings

    def __call__(self, value: float | str | None) -> float:
        if isinstance(value, str):
            name = value[1:]
            found = self._given.get(name, self._specs[name].default if name in self._specs else None)
            value = float(found) if isinstance(found, int | float | str) else 0.0
        return float(value or 0.0)


def _va(part: Load | Load3 | Coil, number: _Numbers) -> float:
    if part.va is not None:
        return number(part.va)
    dc = isinstance(part, Coil) and part.form == "dc"
    return number(part.watts) / (1.0 if dc else max(number(part.pf), 0.1))


# --- which source feeds a node ----------------------------------------------------------------------------------


# Steps from terminal to terminal; through a device is further, so that where two sources meet over contacts each
# keeps what lies on its own side.
_OUTSIDE, _INSIDE = 1, 5


def _feeds(graph: _Graph) -> dict[Node, Feed]:
    """Source of every node that hangs on a line of one, the nearest; neutrals and returns have none."""
    feeds: dict[Node, Feed] = {}
    starts = [
        (node, Feed(node[0], node[0], "breaker"))
        for node in graph.links
        if node[0] in graph.breakers and node[1].isdigit() and int(node[1]) % 2 == 0
    ]
    _spread(graph, starts, feeds)
    # a supply belongs to the circuit of its input, so sources in the panel go after what feeds them
    for kind in ("transformer", "drive", "supply"):
        starts = []
        for tag, of_kind, node in graph.outlets:
            if of_kind == kind and node not in feeds:
                behind = _input_feed(graph, tag, feeds)
                starts.append((node, Feed(behind.circuit if behind else "", tag, kind)))
        _spread(graph, starts, feeds)
    own = [(node, Feed("", tag, kind)) for tag, kind, node in graph.outlets if kind == "own voltage"]
    _spread(graph, own, feeds)
    return feeds


def _input_feed(graph: _Graph, tag: str, feeds: Mapping[Node, Feed]) -> Feed | None:
    for load, ends in graph.loads:
        if load.device == tag and load.part == "input":
            found = _load_feed(ends, feeds)
            if found is not None and found.source != tag:
                return found
    return None


def _spread(graph: _Graph, starts: Iterable[tuple[Node, Feed]], feeds: dict[Node, Feed]) -> None:
    """Label everything linked with the starts, nearest first; a protector on the way becomes the source."""
    queue = [(0, feed.source, node, feed) for node, feed in starts if node not in feeds and not _is_return(node)]
    heapify(queue)
    while queue:
        far, _, here, feed = heappop(queue)
        if here in feeds:
            continue
        feeds[here] = feed
        for there, _key in graph.links.get(here, ()):
            if there in feeds or _is_return(there):
                continue
            inside = there[0] == here[0]
            if inside and here[0] in graph.breakers:
                continue
            onward = feed
            if inside and here[0] in graph.protectors:
                onward = Feed(feed.circuit, here[0], "protector")
            heappush(queue, (far + (_INSIDE if inside else _OUTSIDE), onward.source, there, onward))


def _is_return(node: Node) -> bool:
    """Bars that everything comes home to: a neutral or ground bar says nothing about the circuit."""
    return node[1] in ("N", "PE", "0V")


def _load_feed(ends: Iterable[Node], feeds: Mapping[Node, Feed]) -> Feed | None:
    return _first([feeds[n] for n in ends if n in feeds])


def _first(found: list[Feed]) -> Feed | None:
    # a breaker or protector says more than the return of a supply
    order = {"breaker": 0, "protector": 0, "transformer": 1, "drive": 1, "supply": 2, "own voltage": 3}
    return min(found, key=lambda f: (order[f.kind], f.source)) if found else None


# --- which loads lie behind a conductor -------------------------------------------------------------------------


class _Walk:
    """Depth-first walk from all sources at once, with what each tree edge separates."""

    def __init__(self, graph: _Graph) -> None:
        self.behind: dict[str, dict[tuple[str, str], PartLoad]] = {}
        self.paths: dict[tuple[str, str], list[str]] = {}
        self.rings: dict[Node, dict[tuple[str, str], PartLoad]] = {}
        self._parent: dict[Node, tuple[Node | None, str]] = {}
        self._depth: dict[Node, int] = {}
        self._up: dict[Node, Node] = {}
        order = self._tree(graph)
        self._blocks(graph, order)
        self._load(graph)

    def _tree(self, graph: _Graph) -> list[Node]:
        root: Node = ("", "")
        self._parent[root] = (None, "")
        self._depth[root] = 0
        order = [root]
        ends = dict.fromkeys((*sorted(set(graph.sources)), *sorted(graph.links)))
        source = set(graph.sources)
        for start in ends:
            if start in self._parent:
                continue
            # what no source reaches hangs on the root too: a dry contact of somebody else's circuit
            self._parent[start] = (root, "" if start in source else "?")
            self._depth[start] = 1
            order.append(start)
            stack = [start]
            while stack:
                here = stack.pop()
                for there, key in graph.links.get(here, ()):
                    if there not in self._parent:
                        self._parent[there] = (here, key)
                        self._depth[there] = self._depth[here] + 1
                        order.append(there)
                        stack.append(there)
        return order

    def _blocks(self, graph: _Graph, order: list[Node]) -> None:
        """Join the ends of every edge outside the tree: their tree path is a ring, and its edges are no cuts."""
        root = order[0]
        self._up = {n: n for n in order}
        used: set[tuple[Node, str]] = {(n, self._parent[n][1]) for n in order}
        for source in set(graph.sources):
            if self._parent[source][0] != root:
                self._close(source, root)
        for here in order:
            spare: dict[tuple[Node, str], int] = {}
            for there, key in graph.links.get(here, ()):
                if self._parent[there][0] == here and (there, key) in used and (there, key) not in spare:
                    spare[there, key] = 1
                    continue
                if self._parent[here][0] == there and self._parent[here][1] == key and (here, key) not in spare:
                    spare[here, key] = 1
                    continue
                self._close(here, there)

    def _find(self, node: Node) -> Node:
        while self._up[node] != node:
            self._up[node] = self._up[self._up[node]]
            node = self._up[node]
        return node

    def _close(self, a: Node, b: Node) -> None:
        a, b = self._find(a), self._find(b)
        while a != b:
            if self._depth[a] < self._depth[b]:
                a, b = b, a
            above = self._parent[a][0]
            if above is None:
                return
            self._up[a] = self._find(above)
            a = self._find(a)

    def _load(self, graph: _Graph) -> None:
        for load, ends in graph.loads:
            known = [n for n in ends if n in self._parent]
            if len(known) < 2:
                continue
            key = (load.device, load.part)
            path: dict[str, None] = {}
            top = known[0]
            for other in known[1:]:
                top = self._over(top, other, path, load)
            self.paths[key] = list(path)

    def _over(self, a: Node, b: Node, path: dict[str, None], load: PartLoad) -> Node:
        """Walk from both nodes to where they meet; every conductor on the way carries the load."""
        while a != b:
            if self._depth[a] < self._depth[b]:
                a, b = b, a
            above, key = self._parent[a]
            if above is None:
                break
            if key not in ("", "?"):
                path[key] = None
                self.behind.setdefault(key, {})[load.device, load.part] = load
            ring = self._find(a)
            if ring == self._find(above) and above[0]:
                self.rings.setdefault(ring, {})[load.device, load.part] = load
            a = above
        return a

    def loads_of(self, conductor: Conductor) -> Iterator[PartLoad]:
        """Loads behind a conductor, those of its ring included."""
        own = self.behind.get(conductor.key, {})
        yield from own.values()
        a, b = (conductor.a.device, conductor.a.mark), (conductor.b.device, conductor.b.mark)
        ring = self._find(a)
        if ring == self._find(b) and ring != self._find(("", "")):
            yield from (load for key, load in self.rings.get(ring, {}).items() if key not in own)


def _carried(
    conductor: Conductor,
    walk: _Walk,
    feeds: Mapping[Node, Feed],
    load_feeds: Mapping[tuple[str, str], Feed],
) -> Carried:
    if conductor.role is Role.GROUND:
        return Carried(NO_FEED, ())
    loads = tuple(sorted(walk.loads_of(conductor), key=lambda one: (one.device, one.part)))
    ends = [(conductor.a.device, conductor.a.mark), (conductor.b.device, conductor.b.mark)]
    feed = _load_feed(ends, feeds)
    if feed is None:  # a return: it belongs to what it brings home
        found = [load_feeds[one.device, one.part] for one in loads if (one.device, one.part) in load_feeds]
        feed = _first(found)
    return Carried(feed or NO_FEED, loads)
