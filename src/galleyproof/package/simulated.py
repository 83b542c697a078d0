"""A job's machine brought into named states, and what every device then does, in words."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Any

from galleyproof.circuit.machine import Machine, State
from galleyproof.circuit.world import build_machine
from galleyproof.design.model import Design
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.proof.judge import found_words
from galleyproof.proof.promises import effect_slots


class Simulated:
    """One design, simulated.

    Args:
        job: The job.
        design: Its design, or one that is not wholly wired yet.
        library: Device types.

    Raises:
        CircuitError: The network has no solution.
    """

    def __init__(self, job: Job, design: Design, library: Mapping[str, DeviceType]) -> None:
        self.job = job
        self.design = design
        self.machine: Machine = build_machine(job, design, library)
        self.slots: dict[str, str] = effect_slots(job, design)
        self.zones = tuple(dict.fromkeys(f.zone for f in job.fire_systems))
        self.present = {f"supply {c.tag}": "present" for c in job.circuits}
        self.lost = {f"supply {c.tag}": "lost" for c in job.circuits}
        self.switches = {f"switch {s.tag}": "on" if s.kind == "on-off" else "auto" for s in job.switches}
        self.heat = {f"heat {h.tag}": "on" for h in job.hoods}
        self.released = {f"fire {z}": "released" for z in self.zones}
        self.armed = {f"fire {z}": "armed" for z in self.zones}

    @cached_property
    def dark(self) -> State:
        """Nothing supplied."""
        return self.machine.dark()

    @cached_property
    def ready(self) -> State:
        """Everything supplied, every reset pressed once, switches off, nothing hot, armed."""
        return self.pressed(self.apply(self.dark, self.present))

    @cached_property
    def cooking(self) -> State:
        """Switches on and heat under every hood."""
        return self.apply(self.ready, {**self.switches, **self.heat})

    @cached_property
    def fire(self) -> State:
        """Every zone released while everything cooks."""
        return self.apply(self.cooking, self.released)

    def apply(self, state: State, events: Mapping[str, Any]) -> State:
        """The state after outside events; those of things that are not wired yet are left out."""
        there = {k: v for k, v in events.items() if k in self.machine.slot}
        return self.machine.apply(state, there)

    def pressed(self, state: State) -> State:
        """The state after a hand pressed every reset and let go."""
        return self.apply(self.apply(state, {"reset": True}), {"reset": False})

    def value(self, state: State, tag: str) -> Any:
        """What a device does, as the machine has it."""
        return self.machine.get(state, self.slots[tag])

    def words(self, state: State, tag: str) -> str:
        """What a device does, in a word or two."""
        value = self.value(state, tag)
        kind = self.design.device_by_tag[tag].type
        if kind == "horn":
            return "sounds" if value else "silent"
        if kind == "alarm_module":
            return "alarm" if value else "quiet"
        if kind == "gas_valve" or kind.startswith("damper_"):
            return "open" if value else "shut"
        return found_words(value).removeprefix("runs at ")
