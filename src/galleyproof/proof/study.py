"""The study: every slip in every situation, sorted by what it would do and whether anyone would notice.

harmless
    every promise holds.
obvious
    a promise breaks, and something plainly does not work in daily use.
announced
    a promise breaks or not, and an alarm sounds in daily use.
hidden
    all looks well; a promise fails when the fire, the outage or the broken sensor comes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from galleyproof.design.model import Design
from galleyproof.errors import CircuitError
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.proof.collector import without_collector
from galleyproof.proof.judge import found_words
from galleyproof.proof.model import Promise, Step
from galleyproof.proof.outcomes import Break, Outcomes
from galleyproof.proof.promises import effect_slots, promises_of
from galleyproof.proof.slips import KINDS, Protection, Slip, all_slips
from galleyproof.proof.trials import Trials, Tried

Class = Literal["hidden", "announced", "obvious", "harmless"]
CLASSES: tuple[Class, ...] = ("hidden", "announced", "obvious", "harmless")

ORDER = (
    "fire-fuel",
    "fire-exhaust",
    "fire-makeup",
    "gas-outage",
    "hand-reset",
    "building-alarm",
    "local-alarm",
    "heat-start",
    "sensor-fault",
    "sensor-alarm",
    "makeup-with",
    "makeup-only-with",
    "damper",
    "control-loss",
)
"""Kinds of promises, the gravest first."""

WHEN = {
    "fire-fuel": "in fire",
    "fire-exhaust": "in fire",
    "fire-makeup": "in fire",
    "local-alarm": "in fire",
    "gas-outage": "when power comes back",
    "hand-reset": "when the fire system is armed again",
    "sensor-fault": "when a sensor fails",
    "sensor-alarm": "when a sensor fails",
    "control-loss": "when control power is lost",
}


@dataclass(frozen=True, slots=True)
class Broken:
    """A promise that a slip breaks.

    Attributes:
        promise: Its key.
        device: What it is about.
        situations: In how many situations it breaks.
        situation: One of them, in words; outside daily use if there is one.
        found: What the device does there.
    """

    promise: str
    device: str
    situations: int
    situation: str
    found: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one slip would do.

    Attributes:
        slip: The slip.
        verdict: Its class.
        broken: Promises it breaks, the gravest first.
        seen: What a person would see, in words.
        test: For a hidden one: who should try what, and how often; empty otherwise.
    """

    slip: Slip
    verdict: Class
    broken: tuple[Broken, ...]
    seen: str
    test: str = ""


@dataclass(frozen=True)
class Study:
    """Every slip of a design.

    Attributes:
        outcomes: Hidden ones first, then as they were found.
        situations: Situations each slip was tried in.
        plainly: How many slips needed the plain way, step by step.
    """

    outcomes: tuple[Outcome, ...]
    situations: int
    plainly: int = 0

    @property
    def evaluations(self) -> int:
        """Slips times situations."""
        return len(self.outcomes) * self.situations

    def count(self, verdict: Class) -> int:
        """How many slips are of a class."""
        return sum(o.verdict == verdict for o in self.outcomes)

    @property
    def hidden_weight(self) -> float:
        """Sum of the priors of the hidden ones: how likely one is, relative to other designs of the same job."""
        return sum(o.slip.prior for o in self.outcomes if o.verdict == "hidden")


def study(
    job: Job,
    design: Design,
    library: Mapping[str, DeviceType],
    slips: Sequence[Slip] | None = None,
    *,
    progress: Callable[[int, int], None] | None = None,
) -> Study:
    """Try every slip in every situation.

    Args:
        job: The job.
        design: Its design.
        library: Device types.
        slips: These slips only; all of them by default.
        progress: Told (slips done, slips in all) now and then.

    Raises:
        CircuitError: If the network of the design itself has no solution.
    """
    chosen = all_slips(design, library) if slips is None else tuple(slips)
    outcomes: list[Outcome] = []
    with without_collector():
        work = _Work(job, design, library)
        for n, slip in enumerate(chosen):
            outcomes.append(work.outcome(slip))
            if progress and n % 100 == 0:
                progress(n, len(chosen))
    outcomes.sort(key=lambda o: CLASSES.index(o.verdict))
    situations = sum(step.facts is not None for step in work.trials.steps)
    return Study(tuple(outcomes), situations, work.plainly)


_Told = tuple[Class, tuple[Broken, ...], str] | tuple[Class, tuple[Broken, ...], str, str]
"""What is told of a slip: its class, what it breaks, what a person would see, and how it is tested."""


class _Work:
    def __init__(self, job: Job, design: Design, library: Mapping[str, DeviceType]) -> None:
        self.promises: tuple[Promise, ...] = promises_of(job, design)
        effects = effect_slots(job, design)
        watched = set(effects.values())
        watched |= {name for p in self.promises for name in (p.slot, *p.expect.others)}
        self.trials = Trials(job, design, library, watched, reaches=False)
        alarms = [effects[d.tag] for d in design.devices if d.type in ("horn", "alarm_module")]
        self.outcomes = Outcomes(
            self.trials.steps,
            self.promises,
            self.trials.slot,
            self.trials.dark,
            effects,
            alarms,
            self.trials.ways,
        )
        self.plainly = 0
        self._told_of: dict[tuple[tuple[tuple[int, int], ...], tuple[str, ...]], _Told] = {}

    def outcome(self, slip: Slip) -> Outcome:
        """What one slip would do."""
        lost = KINDS[slip.kind].protection
        if lost is not None:
            return _protection(slip, lost)
        try:
            tried = self._tried(slip)
        except CircuitError as error:
            return Outcome(slip, "obvious", (), f"something burns or trips at once: {error}")
        over = {s: way for s, way in tried.over.items() if s in self.outcomes.watched}
        name = (tuple(sorted(over.items())), tried.restless)
        told = self._told_of.get(name)
        if told is None:
            told = self._told_of[name] = self._sort(over, tried.restless)
        return Outcome(slip, *told)

    def _tried(self, slip: Slip) -> Tried:
        try:
            return self.trials.over(slip.change)
        except CircuitError:
            # what a patch cannot hold; and where two buses meet, the plain machine knows which contact joins them
            self.plainly += 1
            return self.trials.plainly(slip.change)

    def _sort(self, over: Mapping[int, int], restless: tuple[str, ...]) -> _Told:
        judged = self.outcomes
        breaks = sorted(judged.breaks(over), key=lambda b: (_weight(self.promises[b.promise]), b.first))
        broken = tuple(self._told(b) for b in breaks)
        alarm = judged.alarm(over)
        if alarm >= 0:
            return ("announced", broken, f"the alarm sounds in daily use ({self._step(alarm).name})")
        if restless:
            names = ", ".join(restless)
            return ("obvious", broken, f"{names} chatter: they switch each other without end")
        slot, step = judged.shows(over)
        shown = next((b for b in breaks if b.shows), None)
        if slot >= 0:
            words = self._plainly(judged.effects[slot], slot, over, step)
            return ("obvious", broken, words)
        if shown is not None:
            promise = self.promises[shown.promise]
            words = self._plainly(promise.device, judged.slot[promise.slot], over, shown.shows_at)
            return ("obvious", broken, words)
        if not breaks:
            return ("harmless", (), "nothing works differently")
        worst = breaks[0]
        promise = self.promises[worst.promise]
        words = f"{_does(promise, worst.found)} {_when(promise, self._step(worst.first))}"
        return ("hidden", broken, f"{words}; {_until(worst)}", test_for(promise))

    def _step(self, index: int) -> Step:
        return self.trials.steps[index]

    def _told(self, b: Break) -> Broken:
        promise = self.promises[b.promise]
        return Broken(promise.key, promise.device, b.situations, self._step(b.first).name, b.found)

    def _plainly(self, device: str, slot: int, over: Mapping[int, int], step: int) -> str:
        found = found_words(self.outcomes.value(slot, over, step))
        right = found_words(self.outcomes.value(slot, {}, step))
        return f"{device} {_state(found)} where it {_should(right)} ({self._step(step).name})"


def _weight(promise: Promise) -> int:
    return ORDER.index(promise.kind) if promise.kind in ORDER else len(ORDER)


def _state(found: str) -> str:
    return f"is {found}" if found in ("on", "off") else found


def _should(right: str) -> str:
    return {"on": "should be on", "off": "should be off", "stands": "should stand"}.get(
        right, "should " + right.replace("runs", "run", 1)
    )


def _does(promise: Promise, found: str) -> str:
    """What a device does instead, in a few words."""
    tag, ask = promise.device, promise.expect.ask
    if found.startswith("runs backwards"):
        return f"{tag} {found} and moves about half its air"
    if ask == "at least":
        return f"{tag} stays at {found[8:]}" if found.startswith("runs at ") else f"{tag} {found}"
    if ask in ("off", "shut", "only with"):
        if promise.slot.endswith(".open"):
            return f"{tag} stays open"
        if found.startswith("runs"):
            return f"{tag} {'runs without its leader' if ask == 'only with' else 'keeps running'}"
        return f"{tag} stays on"
    if promise.kind in ("building-alarm", "local-alarm", "sensor-alarm"):
        return f"{tag} stays silent"
    return f"{tag} {_state(found)}"


def _when(promise: Promise, step: Step) -> str:
    plain = WHEN.get(promise.kind)
    if promise.kind == "building-alarm" and promise.expect.ask == "on":
        plain = "in fire"
    if plain is None or (plain == "in fire" and any(w in step.name for w in (" lost", " back", "outage"))):
        return f"({step.name})"
    return plain


def _until(worst: Break) -> str:
    if worst.daily:
        return "nothing shows it but the air itself"
    return "nothing shows until then"


def _protection(slip: Slip, lost: Protection) -> Outcome:
    words = f"nothing works differently; {lost.until.format(tag=slip.devices[-1])}"
    return Outcome(slip, "hidden", (), words, f"{lost.test} (common practice)")


def test_for(promise: Promise) -> str:
    """Who should try it, and how often, so that such a slip does not stay (common practice)."""
    kind = promise.kind
    if kind in ("fire-fuel", "fire-exhaust", "fire-makeup", "building-alarm", "local-alarm", "hand-reset"):
        return (
            "trip test with every half-yearly service of the fire system, by its licensed contractor: "
            f"{promise.text} (NFPA 96 11.2.1)"
        )
    if kind == "gas-outage":
        return f"yearly, by the licensed start-up technician: control supply off and on again; {promise.text}"
    if kind in ("sensor-fault", "sensor-alarm", "heat-start"):
        return "yearly, by the controls contractor: every sensor in hot water, then one conductor of it lifted"
    if kind == "control-loss":
        return f"yearly, by a licensed electrician: control supply off; {promise.text}"
    return f"yearly, by the controls contractor: {promise.text}"


def totals(done: Study) -> Counter[str]:
    """Slips by class."""
    return Counter(o.verdict for o in done.outcomes)
