"""Situations a person may ask a live drawing for: a few choices in words, each combination a way from dark.

A situation is reached step by step, as in the grid of the proof, because latches remember the way.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from galleyproof.errors import GalleyproofError

if TYPE_CHECKING:
    from galleyproof.job.model import Job

__all__ = ["Asked", "Choice", "Event", "Preset", "SituationError", "asked_of", "choices", "presets", "way"]


FEW = 4
"""So many things are named one by one. [-]"""


class SituationError(GalleyproofError, ValueError):
    """A choice that this job does not have."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a person chose; the values are those of ``choices``.

    Attributes:
        power: ``on``, ``dark``, ``lost TAG``, ``back TAG``, ``lost all`` or ``back all``.
        when: Whether power is lost ``after`` the release or ``before`` it.
        switches: ``off``, ``on``, ``hand``, or one switch alone: ``SW-1 auto``.
        heat: ``off``, ``on``, or a hood's tag.
        fire: ``armed``, ``all``, a zone, or ``pull TAG``.
        then: What came after the release: nothing, ``held``, ``let go``, ``re-armed`` or ``reset``.
        fault: Empty, or a fact of the outside world with its value: ``sensor TS-1 open``.
    """

    power: str = "on"
    when: str = "after"
    switches: str = "on"
    heat: str = "on"
    fire: str = "armed"
    then: str = ""
    fault: str = ""

    @property
    def query(self) -> str:
        """As the parameters of a request; what is as usual is left out."""
        return urlencode({f.name: v for f in fields(self) if (v := getattr(self, f.name)) != f.default})


@dataclass(frozen=True, slots=True)
class Choice:
    """One question with its answers: value and words of each."""

    name: str
    words: str
    answers: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Event:
    """One step of the way: what happens, and what it sets."""

    words: str
    sets: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Preset:
    """A situation people ask for by name."""

    name: str
    asked: Asked


def zones(job: Job) -> tuple[str, ...]:
    """Fire zones of a job."""
    return tuple(dict.fromkeys(f.zone for f in job.fire_systems))


def choices(job: Job) -> tuple[Choice, ...]:
    """The questions of a job; one that has a single answer is left out."""
    return tuple(c for c in _questions(job) if len(c.answers) > 1)


def _questions(job: Job) -> tuple[Choice, ...]:
    from galleyproof.job.model import switch_tags

    circuits = [c.tag for c in job.circuits]
    power = [("on", "all present"), ("dark", "everything dark from the start"), ("lost all", "whole supply lost")]
    power += [("back all", "whole supply lost, then back")]
    power += [(f"lost {c}", f"{c} lost") for c in circuits] + [(f"back {c}", f"{c} lost, then back") for c in circuits]
    fire = [("armed", "armed"), *((z, f"{z} released") for z in zones(job))]
    if len(zones(job)) > 1:
        fire.append(("all", "all zones released"))
    fire += [
        (f"pull {tag}", f"{tag} alone pulled") for f in job.fire_systems if f.switches > 1 for tag in switch_tags(f)
    ]
    then = [("", "as it is"), ("held", "a reset held down"), ("let go", "a reset pressed and let go")]
    then += [("re-armed", "armed again, no reset"), ("reset", "armed again and reset by hand")]
    heat = [("off", "off"), ("on", "on under every hood")]
    if len(job.hoods) > 1:
        heat += [(h.tag, f"under {h.tag} only") for h in job.hoods]
    return (
        Choice("switches", "Wall switches", tuple(_switches(job))),
        Choice("heat", "Cooking heat", tuple(heat)),
        Choice("fire", "Fire systems", tuple(fire)),
        Choice("then", "After the release", tuple(then)),
        Choice("power", "Power", tuple(power)),
        Choice("when", "Power goes", (("after", "after the release"), ("before", "before the release"))),
        Choice("fault", "Fault or other hand", (("", "none"), *_faults(job))),
    )


def presets(job: Job) -> tuple[Preset, ...]:
    """Situations people ask for by name, in the order of a day."""
    ready = Asked(switches="off", heat="off")
    burning = Asked(fire="all" if len(zones(job)) > 1 else zones(job)[0])
    return (
        Preset("Dark", Asked(power="dark", switches="off", heat="off")),
        Preset("Ready, all off", ready),
        Preset("Switches on", replace(ready, switches=_on(job))),
        Preset("Cooking", Asked(switches=_on(job))),
        Preset("Fire", replace(burning, switches=_on(job))),
        Preset("Armed again", replace(burning, switches=_on(job), then="re-armed")),
        Preset("Reset by hand", replace(burning, switches=_on(job), then="reset")),
        Preset("Control power lost", Asked(switches=_on(job), power=f"lost {job.panel.circuit}")),
        Preset("Outage, then back", Asked(switches=_on(job), power="back all")),
    )


def way(job: Job, asked: Asked) -> tuple[Event, ...]:
    """The way to a situation, from dark.

    Raises:
        SituationError: The job has no such answer.
    """
    known = {c.name: {value for value, _ in c.answers} for c in _questions(job)}
    for f in fields(asked):
        value = getattr(asked, f.name)
        if value not in known[f.name] and value != f.default:
            raise SituationError(f"{f.name} cannot be {value!r} in this job; choose again on the drawing")
    return () if asked.power == "dark" else tuple(_way(job, asked))


def _way(job: Job, asked: Asked) -> Iterator[Event]:
    circuits = [c.tag for c in job.circuits]
    yield Event("Power on: every supply present", {f"supply {c}": "present" for c in circuits})
    yield Event("A hand presses every reset", {"reset": True})
    yield Event("and lets go", {"reset": False})
    positions = _positions(job, asked.switches)
    if positions:
        names = [f"{k.removeprefix('switch ')} {v}" for k, v in positions.items()]
        what = "fans at hand, lights on" if asked.switches == "hand" else "all on or at auto"
        yield Event(f"Switches: {', '.join(names) if len(names) <= FEW else what}", positions)
    hoods = [h.tag for h in job.hoods] if asked.heat == "on" else [asked.heat] if asked.heat != "off" else []
    if hoods:
        words = ", ".join(hoods) if len(hoods) <= FEW else "every hood"
        yield Event(f"Heat under {words}", {f"heat {h}": "on" for h in hoods})
    if asked.fault:
        kind, _, rest = asked.fault.partition(" ")
        tag, _, value = rest.rpartition(" ")
        yield Event(f"{tag} {value}", {f"{kind} {tag}": value})
    what, _, which = asked.power.partition(" ")
    gone = circuits if which == "all" else [which]
    name = "Whole supply" if which == "all" else which
    lost = Event(f"{name} lost", {f"supply {c}": "lost" for c in gone})
    back = Event(f"{name} back", {f"supply {c}": "present" for c in gone})
    before = asked.when == "before" and asked.fire != "armed"
    if what in ("lost", "back") and before:
        yield lost
    yield from _fire(job, asked)
    if what in ("lost", "back") and not before:
        yield lost
    if what == "back":
        yield back


def _fire(job: Job, asked: Asked) -> Iterator[Event]:
    if asked.fire == "armed":
        return
    if asked.fire.startswith("pull "):
        tag = asked.fire.removeprefix("pull ")
        released, armed = {f"release {tag}": "pulled"}, {f"release {tag}": "at rest"}
        yield Event(f"{tag} pulled", released)
        again = f"{tag} put back"
    else:
        which = list(zones(job)) if asked.fire == "all" else [asked.fire]
        armed = {f"fire {z}": "armed" for z in which}
        name = "All zones" if asked.fire == "all" else asked.fire
        yield Event(f"{name} released", {f"fire {z}": "released" for z in which})
        again = f"{name} armed again"
    if asked.then in ("held", "let go"):
        yield Event("A reset is held down", {"reset": True})
        if asked.then == "let go":
            yield Event("and let go", {"reset": False})
    elif asked.then in ("re-armed", "reset"):
        yield Event(again, armed)
        if asked.then == "reset":
            yield Event("A hand presses every reset", {"reset": True})
            yield Event("and lets go", {"reset": False})


def _on(job: Job) -> str:
    return "on" if job.switches else "off"


def _switches(job: Job) -> Iterator[tuple[str, str]]:
    yield "off", "all off"
    if job.switches:
        yield "on", "all on (or at auto)"
    if any(s.does == "fans" and s.kind == "hand-off-auto" for s in job.switches):
        yield "hand", "fans at hand"
    if len(job.switches) > 1:
        for switch in job.switches:
            for position in ("on",) if switch.kind == "on-off" else ("auto", "hand"):
                yield f"{switch.tag} {position}", f"{switch.tag} {position} only"


def _positions(job: Job, chosen: str) -> dict[str, str]:
    """Positions of the wall switches, as the grid of the proof sets them."""
    on = {s.tag: "on" if s.kind == "on-off" else "auto" for s in job.switches}
    if chosen == "off":
        return {}
    if chosen in ("on", "hand"):
        if chosen == "hand":
            on |= {s.tag: "hand" for s in job.switches if s.does == "fans" and s.kind == "hand-off-auto"}
        return {f"switch {tag}": position for tag, position in on.items()}
    tag, _, position = chosen.rpartition(" ")
    return {f"switch {tag}": position}


def _faults(job: Job) -> Iterator[tuple[str, str]]:
    from galleyproof.job.model import MakeupByUnit

    for tag in [s.tag for h in job.hoods for s in h.sensors] + [s.tag for s in job.room_sensors]:
        for state in ("open", "short"):
            yield f"sensor {tag} {state}", f"{tag} {state}"
    for unit in job.makeup_units:
        if isinstance(unit.control, MakeupByUnit):
            if unit.control.hand_switch != "none":
                for position in ("off", "hand"):
                    yield f"switch {unit.tag}-S1 {position}", f"{unit.tag}-S1 at {position}"
            for master in unit.control.second_masters:
                yield f"master {master.tag} calls", f"{master.tag} calls ({master.what})"


def asked_of(job: Job, name: str) -> Asked | None:
    """The choices that lead to a situation of the proof's grid, by its name; None when they cannot."""
    asked = Asked(switches="off", heat="off")
    for part in name.split(" · "):
        change = _part(job, part)
        if change is None:
            return None
        asked = replace(asked, **change)
    return asked


def _part(job: Job, part: str) -> dict[str, str] | None:
    """What one part of a name chooses."""
    plain = {
        "all off": {},
        "switches off": {},
        "switches on": {"switches": "on"},
        "switches at hand": {"switches": "hand"},
        "heat on": {"heat": "on"},
        "reset held down": {"then": "held"},
        "reset let go": {"then": "let go"},
    }
    if part in plain:
        return plain[part]
    fires = {("all zones" if a == "all" else a): a for a in ("all", *zones(job))}
    supplies = {"whole supply": "all", **{c.tag: c.tag for c in job.circuits}}
    for which, fire in fires.items():
        known = {
            f"{which} released": {"fire": fire},
            f"{which} re-armed, no reset": {"fire": fire, "then": "re-armed"},
            f"{which} re-armed and reset by hand": {"fire": fire, "then": "reset"},
            f"outage, then {which} released": {"fire": fire, "power": "lost all", "when": "before"},
            f"outage, {which} released, then power back": {"fire": fire, "power": "back all", "when": "before"},
        }
        if part in known:
            return known[part]
        for said, tag in supplies.items():
            if part == f"{said} lost, then {which} released":
                return {"fire": fire, "power": f"lost {tag}", "when": "before"}
    for said, tag in supplies.items():
        if part in (f"{said} lost", f"{said} back"):
            return {"power": f"{part.removeprefix(said).strip()} {tag}"}
    for question in _questions(job):
        for value, _ in question.answers:
            if part == value and question.name == "fault":
                return {"fault": value}
            if part == f"{value} only" and question.name == "switches":
                return {"switches": value}
            if part == f"heat under {value} only" and question.name == "heat":
                return {"heat": value}
            if question.name == "fault" and value == f"sensor {part}":
                return {"fault": value}
            if question.name == "fire" and value.startswith("pull ") and part == f"{value[5:]} alone released":
                return {"fire": value}
    return None
