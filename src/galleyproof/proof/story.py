"""Fed from, switched by, lost when, for one load: followed on the network itself, control supply included.

The terminals a load is fed and commanded at are followed back to what feeds them, and so are the pairs that close by
contacts elsewhere, the coils of all contacts on the way, and the supplies those hang on.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import combinations

from galleyproof.circuit.machine import Machine, State
from galleyproof.circuit.rules import Rule
from galleyproof.design.model import Design, Role, TerminalId
from galleyproof.proof.trace import Wiring, commanded, inlets


@dataclass(frozen=True, slots=True)
class Mover:
    """Contacts of one device on a way, and what moves them.

    Attributes:
        device: Tag of the device that has them.
        contacts: Each as its two terminal marks, ``31-34``.
        moved_by: What moves them, in words.
        listens: What the controller's program looks at to decide, by the use of its points.
        coil: The way its coil gets its voltage by; empty when it has none or is told before.
    """

    device: str
    contacts: tuple[str, ...]
    moved_by: str
    listens: tuple[str, ...] = ()
    coil: tuple[Way, ...] = ()


@dataclass(frozen=True, slots=True)
class Way:
    """One way power or a signal comes by.

    Attributes:
        what: ``power``, ``fuel``, ``signal``, ``control supply``, ``coil``, or the purpose of a run pair.
        device: Tag of the device that gets it.
        marks: Its terminals.
        sources: Devices it comes from; empty for a pair that the device itself supplies.
        conductors: For each of the terminals the numbers on its way, from the device backwards.
        switches: Contacts on the way; any one that opens cuts it.
        listens: For a signal of the controller: what its program looks at.
    """

    what: str
    device: str
    marks: tuple[str, ...]
    sources: tuple[str, ...]
    conductors: tuple[tuple[int, ...], ...]
    switches: tuple[Mover, ...]
    listens: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Story:
    """Fed from, switched by, lost when, for one load.

    Attributes:
        load: Device tag.
        title: What it is.
        place: Where it stands.
        situation: Empty for the state given; else the release in which a device that rests there was looked at.
        ways: All ways, the load's own power first.
        lost_when: Single events after which it no longer works.
        watched: Whether the proof looks at what this device does, so that ``lost_when`` means something.
    """

    load: str
    title: str
    place: str
    situation: str
    ways: tuple[Way, ...]
    lost_when: tuple[str, ...]
    watched: bool


def tell(
    design: Design,
    machine: Machine,
    state: State,
    load: str,
    lost_when: tuple[str, ...],
    *,
    zones: Iterable[str] = (),
    watched: bool = True,
) -> Story:
    """The three questions for one load.

    Args:
        design: The design.
        machine: Its machine.
        state: A state in which the load works, as ``reference_state`` gives.
        load: Device tag.
        lost_when: From the proof: what stops it.
        zones: Fire zones; a shunt coil is dead while armed and is followed in their release.
        watched: Whether the proof watches this device.

    Raises:
        KeyError: There is no such device.
    """
    device = design.device_by_tag[load]
    fires = tuple(zones)
    ways = _told(design, machine, state, load, fires)
    situation = ""
    for zone in fires:
        # a horn or an alarm module rests in daily use
        if ways:
            break
        released = machine.apply(state, {f"fire {zone}": "released"})
        ways = _told(design, machine, released, load, fires)
        situation = f"{zone} released" if ways else ""
    return Story(load, device.title, device.place, situation, ways, lost_when, watched)


def _told(design: Design, machine: Machine, state: State, load: str, zones: tuple[str, ...]) -> tuple[Way, ...]:
    teller = _Teller(design, machine, state, zones)
    # what burns gas is lost with its valve: the valve's own power is followed in its place
    valve = str(design.device_by_tag[load].ratings.get("valve", ""))
    asked = valve or load
    terminals = inlets(design, machine, asked)
    ways = teller.ways(t for t in terminals if not commanded(t))
    ways += teller.ways((t for t in terminals if commanded(t)), f"run command of {asked}")
    ways += teller.pairs(asked)
    waiting = [*_sources(ways), *teller.bus_owners(TerminalId(asked, "24V"))]
    driving = {asked}
    if valve:
        ways.insert(0, Way("fuel", load, (), (valve,), (), ()))
    told: set[str] = set()
    while waiting:
        tag = waiting.pop(0)
        source = design.device_by_tag.get(tag)
        if tag in told or source is None or source.parent is None:
            continue
        told.add(tag)
        if source.type.startswith(("controller", "module_")):
            waiting += teller.bus_owners(TerminalId(tag, "24V"))
            continue
        lines = [TerminalId(tag, m) for m in ("L", "L1", "L2", "L3") if TerminalId(tag, m) in teller.terminals]
        drives = any(tag in w.sources for w in ways if w.device in driving and w.what == "power")
        found = teller.ways(lines, "power" if drives else "control supply")
        if drives:
            driving.add(tag)
            found += teller.pairs(tag) + teller.signals(tag)
        ways += found
        waiting += _sources(found)
    return tuple(ways)


def _sources(ways: Iterable[Way]) -> list[str]:
    """Devices that ways come from or that move contacts on them, control ways included."""
    found: list[str] = []
    for way in ways:
        found += way.sources
        for mover in way.switches:
            if mover.listens:
                found.append(mover.device)
            found += _sources(mover.coil)
    return found


class _Teller:
    def __init__(self, design: Design, machine: Machine, state: State, zones: tuple[str, ...]) -> None:
        self.design = design
        self.machine = machine
        self.state = state
        self.zones = zones
        self.wiring = Wiring(design, machine)
        self.terminals: Mapping[TerminalId, int] = machine.network.terminals
        self.links = {link.name: link for link in machine.network.links}
        self.rule_of: dict[str, Rule] = {o: r for r in machine.rules for o in r.outputs}
        self.branches = {b.name: b for b in machine.network.branches}
        self._coils_told: set[str] = set()

    # ways --------------------------------------------------------------------------------------------------
    def ways(self, terminals: Iterable[TerminalId], what: str = "") -> list[Way]:
        """One way for each terminal; those that differ in the phase only are joined."""
        found: list[Way] = []
        for terminal in terminals:
            way = self.way(terminal, self.state, what)
            if terminal.device in way.sources or not (way.sources or way.conductors[0]):
                # a voltage the device gives itself is told with the pair that brings it back
                continue
            for i, other in enumerate(found):
                alike = (other.what, other.device, other.sources) == (way.what, way.device, way.sources)
                if alike and [m.device for m in other.switches] == [m.device for m in way.switches]:
                    found[i] = _joined(other, way)
                    break
            else:
                found.append(way)
        return found

    def way(self, terminal: TerminalId, state: State, what: str = "") -> Way:
        """The way from a terminal back to its source."""
        node = self.terminals[terminal]
        tree = self.wiring.reach(node, state)
        ends = self.wiring.sources(node, state)
        chain: list[str] = []
        if ends:
            at = next(iter(ends))
            while at != node:
                at, through = tree[at]
                chain.append(through)
            chain.reverse()
        names = dict.fromkeys(n for end in ends for n in self._names(end, ends[end]))
        listens: tuple[str, ...] = ()
        for source in self.machine.network.sources:
            if source.slot and source.a in ends:
                listens += self.listens(source.slot)
        cuts = [n for n in chain if n in self.links and not self.wiring.sources(node, state, without=n)]
        return Way(
            what or ("signal" if self._is_signal(terminal) else "power"),
            terminal.device,
            (terminal.mark,),
            tuple(names),
            (self._numbers(chain),),
            self.movers(cuts, state),
            listens,
        )

    def pairs(self, tag: str) -> list[Way]:
        """Ways on which a device's own voltage goes out and comes back: run pairs closed by contacts elsewhere."""
        own = {node: t for t, node in self.terminals.items() if t.device == tag and node not in self.machine.fixed}
        found: list[Way] = []
        for a, b in combinations(own, 2):
            tree = self.wiring.reach(a, self.state)
            if b not in tree:
                continue
            chain: list[str] = []
            at = b
            while at != a:
                at, through = tree[at]
                chain.append(through)
            chain.reverse()
            contacts = [n for n in chain if n in self.links and not n.startswith(f"{tag}.")]
            cuts = [n for n in contacts if b not in self.wiring.reach(a, self.state, without=n)]
            purpose = next((self.wiring.keys[n].purpose for n in chain if n in self.wiring.keys), "")
            if contacts and purpose:
                marks = (own[a].mark, own[b].mark)
                movers = self.movers(cuts, self.state)
                if not cuts:
                    movers = tuple(
                        replace(m, moved_by=f"{m.moved_by}; another contact lies beside it")
                        for m in self.movers(contacts, self.state)
                    )
                found.append(Way(purpose, tag, marks, (), (self._numbers(chain),), movers))
        return found

    def signals(self, tag: str) -> list[Way]:
        """Speed signals that a drive gets from the controller."""
        landed = [
            end
            for conductor in self.design.conductors
            if conductor.role is Role.SIGNAL
            for end in (conductor.a, conductor.b)
            if end.device == tag
        ]
        return [w for w in self.ways(dict.fromkeys(landed), "signal") if w.sources]

    def _names(self, end: int, name: str) -> tuple[str, ...]:
        """What stands at the end of a way: a breaker, a drive, or the supply that holds a bus up."""
        ac, dc, slots = self.machine.fixed.get(end, (0j, 0.0, ""))
        owners = tuple(dict.fromkeys(s.rpartition(".")[0] for s in slots.split("*") if s))
        return owners if dc and not ac and owners else (name,)

    def bus_owners(self, terminal: TerminalId) -> tuple[str, ...]:
        """Supplies that hold up the bus a terminal hangs on."""
        node = self.terminals.get(terminal)
        return self._names(node, "") if node in self.machine.fixed and node is not None else ()

    def _is_signal(self, terminal: TerminalId) -> bool:
        at = self.design.conductors_at.get(terminal, ())
        return any(c.role is Role.SIGNAL for c in at)

    def _numbers(self, chain: Iterable[str]) -> tuple[int, ...]:
        return tuple(self.wiring.keys[n].number for n in chain if n in self.wiring.keys)

    # contacts ----------------------------------------------------------------------------------------------
    def movers(self, names: Iterable[str], state: State) -> tuple[Mover, ...]:
        """Contacts by what moves them, in the order of the way."""
        groups: dict[tuple[str, str], list[str]] = {}
        for name in names:
            rule = self.rule_of.get(self.links[name].slot)
            if rule and rule.name.startswith("gives "):
                continue  # the output stage of a signal: what it gives is told with the signal
            groups.setdefault((name.rpartition(".")[0], rule.name if rule else ""), []).append(name)
        return tuple(self._mover(device, links, state) for (device, _), links in groups.items())

    def _mover(self, device: str, links: list[str], state: State) -> Mover:
        contacts = tuple(self._marks(device, n) for n in links)
        slot = self.links[links[0]].slot
        rule = self.rule_of.get(slot)
        if rule is None:
            return Mover(device, contacts, "by hand, at the device")
        coil = tuple(self._coils(rule, state))
        listens: tuple[str, ...] = ()
        at_rest = slot.endswith("_nc")
        if rule.name == "breaker":
            words = "opens by hand or on overcurrent"
            if any(".shunt." in i for i in rule.inputs):
                words += ", and when its shunt coil gets voltage"
        elif rule.name in ("protector", "overload"):
            words = "opens by itself on overcurrent"
        elif rule.name == "relay":
            words = "closed while its coil has no voltage" if at_rest else "closed while its coil has voltage"
            if not coil and any(i.endswith((".ac", ".dc")) for i in rule.inputs):
                words += " (told above)"
        elif rule.name.startswith("switches "):
            listens = self.listens(slot)
            words = f"the controller's program for {rule.name.removeprefix('switches ')}"
        elif rule.name == "fire switch":
            zones = [i.removeprefix("fire ") for i in rule.inputs if i.startswith("fire ")]
            words = f"moves with the fire system of zone {', '.join(zones)}"
        elif rule.name == "second master":
            words = "moves by itself: another master of this unit"
        elif rule.name == "damper":
            words = "closed while the damper stands open"
        elif rule.name == "drive":
            words = "the drive: healthy or not"
        elif rule.name in ("current switch", "air-flow switch"):
            words = "closed while the fan is proven to move"
        elif rule.name in ("wall switch", "push button"):
            words = "by hand"
        else:
            words = rule.name
        return Mover(device, contacts, words, listens, coil)

    def _marks(self, device: str, name: str) -> str:
        link = self.links[name]
        return "-".join(self._mark(device, node, name) for node in (link.a, link.b))

    def _mark(self, device: str, node: int, link: str) -> str:
        """The device's terminal at a node, or behind the heater or trip element that sits between."""
        nodes = [node, *(o for o, n, _ in self.wiring.edges.get(node, ()) if n != link and n.startswith(f"{device}."))]
        marks = [t.mark for n in nodes for t in self.wiring.terminals_at.get(n, ()) if t.device == device]
        return marks[0] if marks else "inside"

    def _coils(self, rule: Rule, state: State) -> Iterator[Way]:
        """Ways of the coils a rule watches, each told once."""
        for name in dict.fromkeys(i.rpartition(".")[0] for i in rule.inputs if i.endswith((".ac", ".dc"))):
            branch = self.branches.get(name)
            if branch is None or name in self._coils_told or rule.name not in ("relay", "breaker"):
                continue
            ends = [
                t for n in (branch.a, branch.b) for t in self.wiring.terminals_at.get(n, ()) if t.device == rule.owner
            ]
            for zone, there in self._states(rule, state):
                hot = next((t for t in ends if self.wiring.sources(self.terminals[t], there)), None)
                if hot is not None:
                    self._coils_told.add(name)
                    yield self.way(hot, there, f"coil, in a release of {zone}" if zone else "coil")
                    break

    def _states(self, rule: Rule, state: State) -> Iterator[tuple[str, State]]:
        """States in which a coil may have voltage: as it is; a shunt coil in a release, before its breaker trips."""
        yield "", state
        if rule.name == "breaker":
            for zone in self.zones:
                there = self.machine.apply(self.state, {f"fire {zone}": "released"})
                for slot in rule.outputs:
                    there.values[self.machine.slot[slot]] = self.state.values[self.machine.slot[slot]]
                yield zone, there

    # program -----------------------------------------------------------------------------------------------
    def listens(self, slot: str) -> tuple[str, ...]:
        """Uses of the controller inputs that a slot depends on through the program."""
        found: dict[str, None] = {}
        seen: set[str] = set()
        waiting = [slot]
        while waiting:
            rule = self.rule_of.get(waiting.pop(0))
            if rule is None or rule.name + rule.owner in seen:
                continue
            seen.add(rule.name + rule.owner)
            if rule.name.startswith(("senses ", "reads ")):
                found[rule.name.partition(" ")[2]] = None
            else:
                waiting += [i for i in rule.inputs if ">" in i]
        return tuple(found)


def _joined(a: Way, b: Way) -> Way:
    movers = tuple(
        replace(m, contacts=tuple(dict.fromkeys((*m.contacts, *n.contacts))))
        for m, n in zip(a.switches, b.switches, strict=True)
    )
    return replace(
        a,
        marks=tuple(dict.fromkeys((*a.marks, *b.marks))),
        conductors=(*a.conductors, *b.conductors),
        switches=movers,
    )
