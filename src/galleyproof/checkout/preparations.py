"""The states a check-out brings an installation into: dead, control power, line power, functional.

All are steps of one tree of scripts, like the proof's grid, so that whatever settles the one settles the other.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from galleyproof.checkout.model import Preparation, Stage
from galleyproof.job.model import Job, WallSwitch
from galleyproof.proof.model import Step

FIRE_CONTRACTOR = "the suppression system's licensed contractor"


class _Script:
    def __init__(self) -> None:
        self.steps: list[Step] = []
        self.made: list[Preparation] = []
        self._step_of: dict[str, int] = {"": -1}
        self._people_at: dict[str, str] = {"": ""}
        """Step -> the preparation people are in, or came from."""

    def add(
        self, key: str, stage: Stage, after: str, events: Mapping[str, Any], words: str, minutes: float, needs: str = ""
    ) -> str:
        """A preparation that people use."""
        self.way(key, after, events)
        self._people_at[key] = key
        self.made.append(Preparation(key, stage, self._step_of[key], words, minutes, self._people_at[after], needs))
        return key

    def way(self, key: str, after: str, events: Mapping[str, Any]) -> str:
        """A step on the way to one."""
        self.steps.append(Step(self._step_of[after], dict(events), None, key))
        self._step_of[key] = len(self.steps) - 1
        self._people_at[key] = self._people_at[after]
        return key


def preparations(job: Job) -> tuple[tuple[Step, ...], tuple[Preparation, ...]]:
    """The script of a job's check-out, and the preparations people use, in the order of the work.

    Args:
        job: The job.
    """
    script = _Script()
    zones = list(dict.fromkeys(f.zone for f in job.fire_systems))
    switches = {f"switch {s.tag}": _on(s) for s in job.switches}
    _dead(script, job, zones, switches)
    _control(script, job, zones, switches)
    _function(script, job, zones, switches)
    return tuple(script.steps), tuple(script.made)


def _on(switch: WallSwitch) -> str:
    return "on" if switch.kind == "on-off" else "auto"


def _dead(script: _Script, job: Job, zones: list[str], switches: Mapping[str, str]) -> None:
    circuits = ", ".join(c.tag for c in job.circuits)
    words = f"open and lock out {circuits}; test dead; close every disconnect; wall switches off; fire systems armed"
    script.add("dead", Stage.DEAD, "", {}, words, 15.0)
    if switches:
        script.add("dead, switches on", Stage.DEAD, "dead", switches, "turn every wall switch on (or to auto)", 2.0)
    for zone in zones:
        system = next(f for f in job.fire_systems if f.zone == zone)
        script.add(
            f"dead, {zone} released",
            Stage.DEAD,
            "dead",
            {f"fire {zone}": "released"},
            f"have the switch of {system.tag} moved to its released position",
            8.0,
            FIRE_CONTRACTOR,
        )


def _control(script: _Script, job: Job, zones: list[str], switches: Mapping[str, str]) -> None:
    panel = job.panel.circuit
    script.add(
        "control",
        Stage.CONTROL,
        "dead",
        {f"supply {panel}": "present"},
        f"close {panel} only; every other breaker stays locked out; wall switches off",
        3.0,
    )
    for key, value in switches.items():
        tag = key.removeprefix("switch ")
        script.add(f"control, {tag} on", Stage.CONTROL, "control", {key: value}, f"turn {tag} on (or to auto)", 1.0)
    for sensor, place in _sensors(job):
        script.add(
            f"control, {sensor} lifted",
            Stage.CONTROL,
            "control",
            {f"sensor {sensor}": "open"},
            f"lift one lead of {sensor} at the sensor itself ({place}), and land it again afterwards",
            3.0,
        )
    for hood in job.hoods:
        script.add(
            f"control, {hood.tag} warmed",
            Stage.CONTROL,
            "control",
            {f"heat {hood.tag}": "on"},
            f"warm the sensors of {hood.tag}: a cup of hot water held to each",
            5.0,
        )
    for zone in zones:
        system = next(f for f in job.fire_systems if f.zone == zone)
        script.add(
            f"control, {zone} released",
            Stage.CONTROL,
            "control",
            {f"fire {zone}": "released"},
            f"have the switch of {system.tag} moved to its released position",
            4.0,
            FIRE_CONTRACTOR,
        )


def _sensors(job: Job) -> list[tuple[str, str]]:
    found = [(s.tag, f"hood {h.tag}") for h in job.hoods for s in h.sensors]
    return found + [(s.tag, s.place) for s in job.room_sensors]


def _function(script: _Script, job: Job, zones: list[str], switches: Mapping[str, str]) -> None:
    every = {f"supply {c.tag}": "present" for c in job.circuits}
    script.way("line, made live", "control", every)
    script.way("line, reset held", "line, made live", {"reset": True})
    script.add(
        "line",
        Stage.LINE,
        "line, reset held",
        {"reset": False},
        "close every breaker; press every hand reset once; wall switches off",
        5.0,
    )
    if any(getattr(s, "reset", "") == "by hand" for s in job.shutdowns):
        script.add("reset held", Stage.FUNCTION, "line", {"reset": True}, "hold the hand reset in", 1.0)
    on = script.add("on", Stage.FUNCTION, "line", switches, "turn every wall switch on (or to auto)", 3.0)
    if switches:
        off = dict.fromkeys(switches, "off")
        lost = {f"supply {c.tag}": "lost" for c in job.circuits}
        script.way("on, outage", on, lost)
        script.add(
            "switches on, outage and back",
            Stage.FUNCTION,
            "on, outage",
            every,
            "with every wall switch on and nothing cooking, open every breaker and close them again; press nothing",
            6.0,
        )
        script.add("switches off again", Stage.FUNCTION, on, off, "turn every wall switch off again", 3.0)
    for key, value in switches.items():
        tag = key.removeprefix("switch ")
        script.add(f"{tag} on alone", Stage.FUNCTION, "line", {key: value}, f"turn {tag} on, all others off", 3.0)
    for switch in job.switches:
        if switch.kind == "hand-off-auto":
            words = f"turn {switch.tag} to hand"
            script.add(f"{switch.tag} at hand", Stage.FUNCTION, "on", {f"switch {switch.tag}": "hand"}, words, 2.0)
    for hood in job.hoods:
        if len(job.hoods) > 1:
            script.add(
                f"heat under {hood.tag} alone",
                Stage.FUNCTION,
                "line",
                {f"heat {hood.tag}": "on"},
                f"wall switches off; warm the sensors of {hood.tag} only, or cook under it",
                8.0,
            )
    heat = {f"heat {h.tag}": "on" for h in job.hoods}
    cooking = script.add(
        "cooking", Stage.FUNCTION, on, heat, "warm the sensors of every hood, or cook under each", 10.0
    )
    for unit in job.makeup_units:
        for master in getattr(unit.control, "second_masters", ()):
            script.add(
                f"{master.tag} calls",
                Stage.FUNCTION,
                cooking,
                {f"master {master.tag}": "calls"},
                f"make {master.tag} ({master.what} of {unit.tag}) act by its own test",
                6.0,
            )
    for circuit in job.circuits:
        script.add(
            f"{circuit.tag} alone open",
            Stage.FUNCTION,
            cooking,
            {f"supply {circuit.tag}": "lost"},
            f"while cooking, open {circuit.tag} alone; close it again afterwards and press every hand reset",
            2.0,
        )
    script.way("cooking, control lost", cooking, {f"supply {job.panel.circuit}": "lost"})
    script.add(
        "control power lost and back",
        Stage.FUNCTION,
        "cooking, control lost",
        {f"supply {job.panel.circuit}": "present"},
        f"while cooking, open {job.panel.circuit} for a minute and close it again; press nothing",
        4.0,
    )
    lost = {f"supply {c.tag}": "lost" for c in job.circuits}
    script.way("cooking, outage", cooking, lost)
    script.add(
        "outage and back",
        Stage.FUNCTION,
        "cooking, outage",
        every,
        "while cooking, open every breaker and close them again; press nothing",
        8.0,
    )
    for zone in zones:
        system = next(f for f in job.fire_systems if f.zone == zone)
        released = script.add(
            f"{zone} released",
            Stage.FUNCTION,
            cooking,
            {f"fire {zone}": "released"},
            f"while cooking, have the switch of {system.tag} moved to its released position; wait two minutes",
            10.0,
            FIRE_CONTRACTOR,
        )
        script.add(
            f"switches off, {zone} released",
            Stage.FUNCTION,
            "line",
            {f"fire {zone}": "released"},
            f"with every wall switch off and nothing cooking, have the switch of {system.tag} moved to its released "
            "position",
            10.0,
            FIRE_CONTRACTOR,
        )
        quiet = script.add(
            f"{zone} re-armed, nothing pressed",
            Stage.FUNCTION,
            released,
            {f"fire {zone}": "armed"},
            f"have {system.tag} re-armed; press nothing",
            4.0,
            FIRE_CONTRACTOR,
        )
        held = script.way(f"{zone} re-armed, reset held", quiet, {"reset": True})
        script.add(
            f"{zone} re-armed and reset by hand",
            Stage.FUNCTION,
            held,
            {"reset": False},
            "press every hand reset and close every tripped breaker",
            4.0,
        )
