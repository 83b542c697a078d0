"""A job's wiring kept ready, so that a drawing can be asked for any situation and answers at once.

Everything here is computed by the core: states by the machine, readings by the bench's meters, what a slip does by the
machine of the design with the slip in it.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from galleyproof.checkout.bench import Standing
from galleyproof.checkout.probes import LIVE_V
from galleyproof.circuit.elements import EARTH
from galleyproof.circuit.machine import State
from galleyproof.design.build import build_design
from galleyproof.design.model import Conductor, Design, Role, TerminalId
from galleyproof.job.model import Job
from galleyproof.job.read import read_job
from galleyproof.library.model import DeviceType
from galleyproof.library.reader import load_library
from galleyproof.package.simulated import Simulated
from galleyproof.proof.slips import Slip, all_slips, apply
from galleyproof.proof.slips.model import landing
from galleyproof.sizing.model import Sizes
from galleyproof.sizing.whole_job import size
from galleyproof.store.errors import NotFoundError
from galleyproof.web.situations import Asked, Event, way

__all__ = ["NO_V", "Live", "Moment", "Volts", "Walk", "Wired"]

NO_V = 0.2
"""Below this a conductor counts as without volts: less than any signal says. [V]"""
DROP_V, DROP_SHARE = 2.0, 0.1
"""A conductor whose ends differ by more than both is told end by end. [V], [ratio]"""
WAYS, WRONG = 40, 6
"""Ways kept of each wiring, and wirings with a slip kept of each job. [-]"""


@dataclass(frozen=True, slots=True)
class Volts:
    """What stands on one end of a conductor.

    Attributes:
        ac: Size against its return. [V]
        dc: Against its return, with its sign. [V]
        kind: ``line`` from 50 V, ``low`` below, ``none``, or ``loose``: it hangs on nothing that has a potential.
    """

    ac: float
    dc: float
    kind: str

    @property
    def words(self) -> str:
        """As a label: ``120 V AC``, ``24.1 V DC``; both where both stand."""
        if self.kind == "loose":
            return "hangs on nothing"
        parts = [f"{v:.0f} V {form}" if abs(v) >= LIVE_V else f"{v:.1f} V {form}" for v, form in self._shown()]
        return ", ".join(parts) or "0 V"

    def _shown(self) -> list[tuple[float, str]]:
        return [(v, form) for v, form in ((self.ac, "AC"), (self.dc, "DC")) if abs(v) >= NO_V]


@dataclass(frozen=True, slots=True)
class Moment:
    """A state on the way to a situation.

    Attributes:
        words: What happened: an event, or the delays that passed after it.
        time_s: After the event. [s]
        changes: What devices then do differently, in words.
        state: The state.
        event: Number of the event it follows; 0 for the dark. [-]
    """

    words: str
    time_s: float
    changes: tuple[str, ...]
    state: State
    event: int = 0


class Walk(Standing):
    """Meters on states that were reached one after the other.

    Args:
        design: The design as it stands, a slip included.
        on: Its simulation.
        moments: The states.
    """

    def __init__(self, design: Design, on: Simulated, moments: Sequence[Moment]) -> None:
        super().__init__(design, on.machine, ())
        self._moments = tuple(moments)
        self._potential: dict[tuple[int, int], tuple[complex, float, bool]] = {}
        self._against: dict[tuple[int, int, int], Volts] = {}

    def against(self, step: int, node: int, back: int) -> Volts:
        """What stands on a node against its return, or against earth where the two have nothing in common."""
        key = (step, node, back)
        found = self._against.get(key)
        if found is None:
            found = self._against[key] = self._volts_against(step, node, back)
        return found

    def _volts_against(self, step: int, node: int, back: int) -> Volts:
        (ac, dc, loose), (ac_back, dc_back, loose_back) = self._at(step, node), self._at(step, back)
        if (loose or loose_back) and self.island_of(node) != self.island_of(back):
            if loose:
                return Volts(0.0, 0.0, "loose")
            ac_back, dc_back = 0j, 0.0
        size, level = abs(ac - ac_back), dc - dc_back
        most = max(size, abs(level))
        return Volts(size, level, "line" if most >= LIVE_V else "low" if most >= NO_V else "none")

    def _at(self, step: int, node: int) -> tuple[complex, float, bool]:
        """Potential of a node against earth, and whether it means nothing. [V], [V], [-]."""
        key = (step, node)
        found = self._potential.get(key)
        if found is None:
            found = self._potential[key] = (*self.node_volts(step, node), self.floats(step, node))
        return found

    def state(self, step: int) -> State:
        """A state by its place on the way."""
        return self._moments[step].state


class Wired:
    """One wiring of a job, as designed or with a slip in it.

    Args:
        job: The job.
        design: The wiring.
        library: Device types.
        returns: Return of each conductor, by its key; None: earth.
        ends: Where each conductor is landed, as it stands.

    Raises:
        CircuitError: The network has no solution.
    """

    def __init__(
        self,
        job: Job,
        design: Design,
        library: Mapping[str, DeviceType],
        returns: Mapping[str, TerminalId | None],
        ends: Sequence[Conductor],
    ) -> None:
        self.job, self.design = job, design
        self.on = Simulated(job, design, library)
        self._returns, self._ends = returns, ends
        self._ways: OrderedDict[Asked, tuple[Moment, ...]] = OrderedDict()

    def walk(self, asked: Asked) -> Walk:
        """Meters on all states of a way, by their place on it."""
        return Walk(self.design, self.on, self.way(asked))

    def way(self, asked: Asked) -> tuple[Moment, ...]:
        """All states on the way to a situation, dark first.

        Raises:
            SituationError: The job has no such situation.
            CircuitError: The network has no solution on the way.
        """
        if asked not in self._ways:
            self._ways[asked] = self._walked(way(self.job, asked))
            while len(self._ways) > WAYS:
                self._ways.popitem(last=False)
        return self._ways[asked]

    def _walked(self, events: Sequence[Event]) -> tuple[Moment, ...]:
        on = self.on
        found = [Moment("Everything dark", 0.0, (), on.dark)]
        for number, event in enumerate(events, 1):
            history: list[State] = []
            before = found[-1].state
            there = {k: v for k, v in event.sets.items() if k in on.machine.slot}
            on.machine.apply(before, there, history=history)
            for n, state in enumerate(history):
                if n and state.time_s == history[n - 1].time_s and state.values == history[n - 1].values:
                    continue
                words = event.words if not n else f"{state.time_s - history[0].time_s:g} s after: {event.words}"
                found.append(Moment(words, state.time_s, self._changes(before, state), state, number))
                before = state
        return tuple(found)

    def _changes(self, before: State, after: State) -> tuple[str, ...]:
        on = self.on
        found = []
        for tag in on.slots:
            was, now = on.words(before, tag), on.words(after, tag)
            if was != now:
                found.append(f"{tag}: {was} → {now}")
        moved: dict[str, None] = {}
        for link in on.machine.network.links:
            if bool(on.machine.get(before, link.slot)) != bool(on.machine.get(after, link.slot)):
                moved[link.name.split(".")[0]] = None
        if moved:
            found.append(f"contacts move in {', '.join(moved)}")
        if after.chatter:
            found.append(f"{', '.join(after.chatter)} keep switching each other without end")
        return tuple(found)

    def volts(self, walk: Walk, step: int, conductor: Conductor) -> tuple[Volts, Volts]:
        """What stands on both ends of a conductor, as it is landed, against its own return."""
        ref = self._returns[conductor.key]
        back = EARTH if ref is None else walk.node(ref)
        a, b = (walk.against(step, walk.node(end), back) for end in (conductor.a, conductor.b))
        return a, b

    def volts_of(self, walk: Walk, step: int, key: str) -> tuple[Volts, Volts]:
        """The same by the conductor's key: a slip may have landed it elsewhere."""
        return self.volts(walk, step, next(c for c in self._ends if c.key == key))

    def all_volts(self, asked: Asked) -> list[list[tuple[Volts, Volts]]]:
        """The same for every conductor, in the order of the design as it should be, at every moment of a way."""
        walk, tours = self.walk(asked), []
        ends = self._nodes
        nodes = list(dict.fromkeys(n for three in ends for n in three))
        before: dict[int, tuple[complex, float, bool]] = {}
        pairs: list[tuple[Volts, Volts]] = []
        state: State | None = None
        for step, moment in enumerate(self.way(asked)):
            # what hangs on an island that solved as before stands as before
            old, state = state, moment.state
            moved = set()
            for n in nodes:
                k = walk.island_of(n)
                if k is not None and old is not None and state.solutions[k] is old.solutions[k]:
                    continue
                now = (*walk.node_volts(step, n), walk.floats(step, n))
                if before.get(n) != now:
                    before[n] = now
                    moved.add(n)
            against = walk.against
            pairs = [
                pairs[i]
                if pairs and a not in moved and b not in moved and back not in moved
                else (against(step, a, back), against(step, b, back))
                for i, (a, b, back) in enumerate(ends)
            ]
            tours.append(pairs)
        return tours

    @cached_property
    def _nodes(self) -> tuple[tuple[int, int, int], ...]:
        """Nodes of both ends and of the return of each conductor."""
        node = self.on.machine.network.terminals
        refs = ((c, self._returns[c.key]) for c in self._ends)
        return tuple((node[c.a], node[c.b], EARTH if ref is None else node[ref]) for c, ref in refs)


class Live:
    """One text of a job, ready for questions.

    Args:
        text: The job.

    Raises:
        InputError: The text cannot be taken.
        CircuitError: The network has no solution.
    """

    def __init__(self, text: str) -> None:
        self.job: Job = read_job(text, "job")
        self.design: Design = build_design(self.job)
        self.library = load_library()
        self.returns = {c.key: self._return_of(c) for c in self.design.conductors}
        self.right = Wired(self.job, self.design, self.library, self.returns, self.design.conductors)
        self.lock = threading.RLock()
        self._wrong: OrderedDict[str, Wired] = OrderedDict()

    @cached_property
    def sizes(self) -> Sizes:
        """Sizes with their reasons."""
        return size(self.job, self.design, self.library)

    @cached_property
    def by_number(self) -> Mapping[int, Conductor]:
        """Conductors by the number on their label."""
        return {c.number: c for c in self.design.conductors}

    @cached_property
    def slips(self) -> Mapping[str, Slip]:
        """Every slip by its key."""
        return {s.key: s for s in all_slips(self.design, self.library)}

    @cached_property
    def slips_of(self) -> Mapping[str, tuple[Slip, ...]]:
        """Slips that touch each conductor, by its key."""
        at: dict[TerminalId, list[str]] = {}
        for c in self.design.conductors:
            at.setdefault(c.a, []).append(c.key)
            at.setdefault(c.b, []).append(c.key)
        found: dict[str, dict[str, Slip]] = {}
        for slip in self.slips.values():
            change = slip.change
            keys = [*change.opened, *(k for k, _ in change.loose), *(m.conductor for m in change.moved)]
            joined = [(b.a, b.b) for b in change.bridged] + [(b.a, b.b) for b in change.unbridged]
            for a, b in joined:
                keys += [*at.get(a, ()), *at.get(b, ())]
            for key in dict.fromkeys(keys):
                found.setdefault(key, {})[slip.key] = slip
        return {key: tuple(slips.values()) for key, slips in found.items()}

    def conductor(self, number: int) -> Conductor:
        """A conductor by its number.

        Raises:
            NotFoundError: There is none.
        """
        found = self.by_number.get(number)
        if found is None:
            raise NotFoundError(f"this job has no conductor {number}; its number may be of an older revision")
        return found

    def slip(self, key: str) -> Slip:
        """A slip by its key.

        Raises:
            NotFoundError: There is none.
        """
        found = self.slips.get(key)
        if found is None:
            raise NotFoundError(f"this job has no slip {key}; choose it again from the list of slips")
        return found

    def wrong(self, key: str) -> Wired:
        """The wiring with a slip in it.

        Raises:
            NotFoundError: There is no such slip.
            CircuitError: Such a network has no solution.
        """
        slip = self.slip(key)
        if key not in self._wrong:
            ends = [landing(c, slip.change.moved) for c in self.design.conductors]
            self._wrong[key] = Wired(self.job, apply(self.design, slip), self.library, self.returns, ends)
            while len(self._wrong) > WRONG:
                self._wrong.popitem(last=False)
        self._wrong.move_to_end(key)
        return self._wrong[key]

    def _return_of(self, c: Conductor) -> TerminalId | None:
        """The conductor that belongs to it as its return: neutral or common of its cable, at the same device."""
        if c.role in (Role.NEUTRAL, Role.GROUND, Role.COMMON) or not c.cable:
            return None
        for other in self._cables.get(c.cable, ()):
            if other.role in (Role.NEUTRAL, Role.COMMON):
                for mine, end in ((c.a, other.a), (c.a, other.b), (c.b, other.b), (c.b, other.a)):
                    if mine.device == end.device:
                        return end
                return other.a
        return None

    @cached_property
    def _cables(self) -> Mapping[str, tuple[Conductor, ...]]:
        found: dict[str, list[Conductor]] = {}
        for c in self.design.conductors:
            if c.cable:
                found.setdefault(c.cable, []).append(c)
        return {tag: tuple(cs) for tag, cs in found.items()}

    def cable_of(self, c: Conductor) -> tuple[Conductor, ...]:
        """Conductors of the same cable, itself included."""
        return self._cables.get(c.cable, (c,))
