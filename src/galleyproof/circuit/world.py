"""The outside world of a job: its facts, their values, and the machine they move."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from galleyproof.circuit.behaviours import rules_of
from galleyproof.circuit.machine import Machine
from galleyproof.circuit.network import build_network
from galleyproof.design.model import Design
from galleyproof.job.model import Job, MakeupByUnit, switch_tags
from galleyproof.library.model import DeviceType


def facts(job: Job) -> dict[str, tuple[Any, ...]]:
    """Every fact of the outside world and the values it can take; the first is the value from dark."""
    known: dict[str, tuple[Any, ...]] = {"reset": (False, True)}
    for circuit in job.circuits:
        known[f"supply {circuit.tag}"] = ("lost", "present")
    for zone in dict.fromkeys(f.zone for f in job.fire_systems):
        known[f"fire {zone}"] = ("armed", "released")
    for system in job.fire_systems:
        for tag in switch_tags(system):
            known[f"release {tag}"] = ("at rest", "pulled")
    for hood in job.hoods:
        known[f"heat {hood.tag}"] = ("off", "on")
        for sensor in hood.sensors:
            known[f"sensor {sensor.tag}"] = ("ok", "open", "short")
    for room in job.room_sensors:
        known[f"sensor {room.tag}"] = ("ok", "open", "short")
    for switch in job.switches:
        positions = ("off", "auto", "hand") if switch.kind == "hand-off-auto" else ("off", "on")
        known[f"switch {switch.tag}"] = positions
    for unit in job.makeup_units:
        if isinstance(unit.control, MakeupByUnit):
            if unit.control.hand_switch != "none":
                known[f"switch {unit.tag}-S1"] = ("auto", "off", "hand")
            for master in unit.control.second_masters:
                known[f"master {master.tag}"] = ("rests", "calls")
    return known


def build_machine(job: Job, design: Design, library: Mapping[str, DeviceType]) -> Machine:
    """Network and behaviours of a design, ready for situations.

    Raises:
        CircuitError: If a type, rating, part or behaviour is missing.
    """
    frequency = job.supplies[0].frequency
    network = build_network(design, library, frequency)
    world = {name: values[0] for name, values in facts(job).items()}
    return Machine(network, rules_of(design, library), world)
