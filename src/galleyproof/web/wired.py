"""A wiring in any situation, with what stands on every conductor at every moment on the way there.

States come from the machine, volts from the bench's meters; what was computed for one way serves every way that begins
like it.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from galleyproof.checkout.bench import Standing
from galleyproof.checkout.probes import LIVE_V
from galleyproof.circuit.elements import EARTH
from galleyproof.circuit.machine import State
from galleyproof.design.model import Conductor, Design, TerminalId
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.package.simulated import Simulated
from galleyproof.web.situations import Asked, Event, way

__all__ = ["CODE", "NO_V", "Moment", "Picture", "Volts", "Walk", "Wired"]

NO_V = 0.2
"""Below this a conductor counts as without volts: less than any signal says. [V]"""
DROP_V, DROP_SHARE = 2.0, 0.1
"""A conductor whose ends differ by more than both is told end by end. [V], [ratio]"""
OTHER_V, OTHER_SHARE = 0.5, 0.02
"""With a slip a conductor carries other than designed when its volts lie further off. [V], [ratio]"""
WAYS, AFTER, PICTURES = 60, 400, 400
"""Ways, beginnings of ways and pictures kept of each wiring. [-]"""
CODE = {"line": "l", "low": "w", "none": "n", "loose": "x"}
"""Kind of volts -> its letter in a picture."""


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


@dataclass(frozen=True, slots=True, eq=False)
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


@dataclass(frozen=True, slots=True)
class Picture:
    """What stands on every conductor at one moment, in the order of the design as it should be.

    Attributes:
        volts: Of both ends of each.
        kinds: One letter for each, see ``CODE``; of the end that has more.
        labels: Of each, as the sheet says it; empty without volts.
    """

    volts: tuple[tuple[Volts, Volts], ...]
    kinds: str
    labels: tuple[str, ...]

    def differs(self, other: Picture) -> str:
        """``1`` for each conductor on which something else stands than in another picture, ``0`` for the rest."""
        return "".join("1" if _differ(a, b) else "0" for a, b in zip(self.volts, other.volts, strict=True))


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
        self._after: OrderedDict[tuple[str, ...], tuple[Moment, ...]] = OrderedDict()
        self._pictures: OrderedDict[Moment, Picture] = OrderedDict()

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
        """The way, taken up where it leaves one that was gone before."""
        key: tuple[str, ...] = ()
        done = self._after.get(key)
        if done is None:
            done = self._after[key] = (Moment("Everything dark", 0.0, (), self.on.dark),)
        for number, event in enumerate(events, 1):
            key = (*key, f"{event.words} {sorted(event.sets.items())}")
            known = self._after.get(key)
            if known is None:
                known = self._after[key] = (*done, *self._next(done[-1].state, event, number))
            self._after.move_to_end(key)
            done = known
        while len(self._after) > AFTER:
            self._after.popitem(last=False)
        return done

    def _next(self, before: State, event: Event, number: int) -> Iterator[Moment]:
        on = self.on
        history: list[State] = []
        there = {k: v for k, v in event.sets.items() if k in on.machine.slot}
        on.machine.apply(before, there, history=history)
        for n, state in enumerate(history):
            if n and state.time_s == history[n - 1].time_s and state.values == history[n - 1].values:
                continue
            words = event.words if not n else f"{state.time_s - history[0].time_s:g} s after: {event.words}"
            yield Moment(words, state.time_s, self._changes(before, state), state, number)
            before = state

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

    def pictures(self, asked: Asked) -> tuple[Picture, ...]:
        """What stands on every conductor at every moment of a way."""
        walk, moments = self.walk(asked), self.way(asked)
        found: list[Picture] = []
        for step, moment in enumerate(moments):
            known = self._pictures.get(moment)
            if known is None:
                last = (moments[step - 1], found[-1]) if step else None
                known = self._pictures[moment] = self._picture(walk, step, moment, last)
                while len(self._pictures) > PICTURES:
                    self._pictures.popitem(last=False)
            found.append(known)
        return tuple(found)

    def _picture(self, walk: Walk, step: int, moment: Moment, last: tuple[Moment, Picture] | None) -> Picture:
        """One moment; what hangs on islands that stand as at the moment before is taken over from there."""
        moved: set[int] = set()
        still: set[int] = set()

        def stands(node: int) -> bool:
            if last is None or node in moved:
                return False
            if node not in still:
                k = walk.island_of(node)
                same = (
                    moment.state.solutions[k] is last[0].state.solutions[k]
                    if k is not None
                    else walk.node_volts(step, node) == walk.node_volts(step - 1, node)
                )
                (still if same else moved).add(node)
                return same
            return True

        volts: list[tuple[Volts, Volts]] = []
        kinds: list[str] = []
        labels: list[str] = []
        for i, (a, b, back) in enumerate(self._nodes):
            if last is not None and stands(a) and stands(b) and stands(back):
                volts.append(last[1].volts[i])
                kinds.append(last[1].kinds[i])
                labels.append(last[1].labels[i])
                continue
            pair = (walk.against(step, a, back), walk.against(step, b, back))
            volts.append(pair)
            kinds.append(CODE[max(pair, key=_weight).kind])
            labels.append(_label(*pair))
        return Picture(tuple(volts), "".join(kinds), tuple(labels))

    @cached_property
    def _nodes(self) -> tuple[tuple[int, int, int], ...]:
        """Nodes of both ends and of the return of each conductor."""
        node = self.on.machine.network.terminals
        refs = ((c, self._returns[c.key]) for c in self._ends)
        return tuple((node[c.a], node[c.b], EARTH if ref is None else node[ref]) for c, ref in refs)


def _weight(volts: Volts) -> float:
    return -1.0 if volts.kind == "loose" else max(volts.ac, abs(volts.dc))


def _label(a: Volts, b: Volts) -> str:
    """Volts of a conductor; end by end, its first landing first, where the ends differ."""
    apart = (a.kind == "loose") != (b.kind == "loose")
    for x, y in ((a.ac, b.ac), (a.dc, b.dc)):
        apart |= abs(x - y) > max(DROP_V, DROP_SHARE * max(abs(x), abs(y)))
    if apart:
        return " | ".join("open" if v.kind == "loose" else v.words for v in (a, b))
    most = max((a, b), key=_weight)
    return {"none": "", "loose": "open"}.get(most.kind, most.words)


def _differ(one: tuple[Volts, Volts], other: tuple[Volts, Volts]) -> bool:
    for a, b in zip(one, other, strict=True):
        if a.kind != b.kind:
            return True
        for x, y in ((a.ac, b.ac), (a.dc, b.dc)):
            if abs(x - y) > OTHER_V + OTHER_SHARE * abs(y):
                return True
    return False
