"""Voltages, lines and phases: what a supply can give, and what asks for something else."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from galleyproof.errors import Problem
from galleyproof.job.checks.registry import check
from galleyproof.job.model import (
    Circuit,
    EcMotor,
    MakeupByPanel,
    Motor,
    RunCommand,
    Supply,
    SystemName,
    Vfd,
)
from galleyproof.job.register import Register
from galleyproof.yamltext import Path


@dataclass(frozen=True, slots=True)
class System:
    """One voltage system as its name says it.

    Attributes:
        lines: Its line conductors.
        line_v: Between two lines. [V]
        neutral_v: From each line to neutral; empty without a neutral. [V]
        phases: 1 or 3. [-]
    """

    lines: tuple[str, ...]
    line_v: float
    neutral_v: Mapping[str, float]
    phases: int


_THREE = ("L1", "L2", "L3")
# The high leg, L2, is 208 V from neutral (half of 240 V times the root of three) and feeds no line-to-neutral
# load: NFPA 70-2023 408.3(E)(1) and 110.15 mark it.
SYSTEMS: Final[Mapping[SystemName, System]] = MappingProxyType(
    {
        "120/240 V 1-phase": System(("L1", "L2"), 240.0, {"L1": 120.0, "L2": 120.0}, 1),
        "120/240 V high-leg delta": System(_THREE, 240.0, {"L1": 120.0, "L3": 120.0}, 3),
        "208Y/120 V": System(_THREE, 208.0, dict.fromkeys(_THREE, 120.0), 3),
        "240 V delta": System(_THREE, 240.0, {}, 3),
        "480Y/277 V": System(_THREE, 480.0, dict.fromkeys(_THREE, 277.0), 3),
        "480 V delta": System(_THREE, 480.0, {}, 3),
        "600Y/347 V": System(_THREE, 600.0, dict.fromkeys(_THREE, 347.0), 3),
    }
)

NAMEPLATES: Final[Mapping[float, tuple[float, ...]]] = MappingProxyType(
    {
        120.0: (120.0, 115.0),
        208.0: (208.0, 200.0),
        240.0: (240.0, 230.0),
        277.0: (277.0, 265.0),
        347.0: (347.0,),
        480.0: (480.0, 460.0),
        600.0: (600.0, 575.0),
    }
)
"""Nameplate voltages that belong on a nominal supply voltage. [V]

The pairs 115/120, 200/208, 230/240, 460/480 and 575/600 are the system and motor voltages of NFPA 70-2023,
tables 430.248 and 430.250; 265 V on 277 V is common practice.
"""


def available_v(system: System) -> tuple[float, ...]:
    """Nominal voltages of a system [V], lowest first."""
    return tuple(sorted({system.line_v, *system.neutral_v.values()}))


def circuit_v(circuit: Circuit, supply: Supply) -> float | None:
    """Nominal voltage that a circuit gives [V]; None when the system has none between its conductors."""
    system = SYSTEMS[supply.system]
    if len(circuit.lines) == 1:
        return system.neutral_v.get(circuit.lines[0])
    return system.line_v


@check()
def circuit_lines(r: Register) -> Iterator[Problem]:
    """Lines that the supply does not have, twice the same line, one line where there is no neutral."""
    for path, circuit in r.each("circuits"):
        found = r.supply_of(circuit.tag)
        if found is None:
            continue
        supply = found[1]
        system = SYSTEMS[supply.system]
        at = (*path, "lines")
        missing = [line for line in circuit.lines if line not in system.lines]
        if missing:
            what = f"a {supply.system} supply has no {missing[0]}; its lines are {', '.join(system.lines)}"
            yield r.say(at, what)
        elif len(set(circuit.lines)) < len(circuit.lines):
            yield r.say(at, f"{', '.join(circuit.lines)} names a line twice; each pole takes its own line")
        elif len(circuit.lines) == 1 and not system.neutral_v:
            what = f"one line needs a neutral, and a {supply.system} supply has none; take two or three lines"
            yield r.say(at, what)
        elif len(circuit.lines) == 1 and circuit.lines[0] not in system.neutral_v:
            what = (
                f"{circuit.lines[0]} is the high leg, 208 V from neutral: no load may sit there; "
                f"take {' or '.join(system.neutral_v)}"
            )
            yield r.say(at, what)


@dataclass(frozen=True, slots=True)
class Load:
    """A load with its own voltage, and the circuit that feeds it."""

    path: Path
    volts: float
    phases: int
    circuit: str
    drive: bool = False


def loads(r: Register) -> Iterator[Load]:
    """Every motor of the job."""
    for path, fan in r.each("exhaust_fans"):
        yield from _driven((*path, "drive"), fan.drive, fan.circuit)
    for path, unit in r.each("makeup_units"):
        at = (*path, "control")
        if isinstance(unit.control, MakeupByPanel):
            yield from _driven((*at, "drive"), unit.control.drive, unit.circuit)
        else:
            motor = unit.control.motor
            yield Load((*at, "motor"), motor.volts, motor.phases, unit.circuit)


def _driven(path: Path, drive: object, circuit: str) -> Iterator[Load]:
    if isinstance(drive, Vfd):
        yield Load((*path, "motor"), drive.motor.volts, drive.input_phases, circuit, drive=True)
    else:
        motor: Motor | EcMotor = drive.motor  # type: ignore[attr-defined]
        yield Load((*path, "motor"), motor.volts, motor.phases, circuit)


@check()
def motor_voltage(r: Register) -> Iterator[Problem]:
    """A motor whose nameplate does not fit its circuit."""
    for load in loads(r):
        found = r.supply_of(load.circuit)
        if found is None:
            continue
        yield from _fits(r, (*load.path, "volts"), load.volts, *found)


def _fits(r: Register, path: Path, volts: float, circuit: Circuit, supply: Supply) -> Iterator[Problem]:
    system = SYSTEMS[supply.system]
    can = available_v(system)
    given = circuit_v(circuit, supply)
    if given is None or volts in NAMEPLATES[given]:
        return
    if not any(volts in NAMEPLATES[v] for v in can):
        listed = ", ".join(f"{v:g}" for v in can)
        plates = ", ".join(f"{p:g} V" for v in can for p in NAMEPLATES[v])
        what = f"{volts:g} V is not available from a {supply.system} supply ({listed}); nameplates that fit: {plates}"
    else:
        lines = ", ".join(circuit.lines)
        plates = " or ".join(f"{p:g} V" for p in NAMEPLATES[given])
        what = (
            f"{volts:g} V does not fit circuit {circuit.tag}, which takes {lines} of a {supply.system} "
            f"supply and gives {given:g} V; take a circuit with other lines, or a nameplate of {plates}"
        )
    yield r.say(path, what)


@check()
def motor_phases(r: Register) -> Iterator[Problem]:
    """A motor or drive whose phases do not fit the lines of its circuit."""
    for load in loads(r):
        circuit = r.circuits.get(load.circuit)
        if circuit is None:
            continue
        poles = len(circuit.lines)
        key = (*load.path[:-1], "input_phases") if load.drive else (*load.path, "phases")
        what = "drive input" if load.drive else "motor"
        lines = ", ".join(circuit.lines)
        if load.phases == 3 and poles != 3:
            said = f"a three-phase {what} needs three lines; circuit {circuit.tag} takes {lines}"
            yield r.say(key, f"{said}; take a three-pole circuit")
        elif load.phases == 1 and poles == 3:
            said = f"a single-phase {what} cannot sit on three lines; circuit {circuit.tag} takes {lines}"
            yield r.say(key, f"{said}; take a circuit of one or two lines")


@check()
def drive_motor(r: Register) -> Iterator[Problem]:
    """A single-phase motor behind a drive, which gives three phases."""
    drives = [((*path, "drive"), fan.drive) for path, fan in r.each("exhaust_fans")]
    for path, unit in r.each("makeup_units"):
        if isinstance(unit.control, MakeupByPanel):
            drives.append(((*path, "control", "drive"), unit.control.drive))
    for path, drive in drives:
        if isinstance(drive, Vfd) and drive.motor.phases == 1:
            what = "a VFD gives three phases; its motor must have phases: 3 (or take kind: starter)"
            yield r.say((*path, "motor", "phases"), what)


@check()
def light_circuit(r: Register) -> Iterator[Problem]:
    """Lights sit on one line and neutral."""
    for path, hood in r.each("hoods"):
        circuit = r.circuits.get(hood.lights.circuit) if hood.lights else None
        if circuit is not None and len(circuit.lines) != 1:
            what = (
                f"hood lights need one line and neutral; circuit {circuit.tag} takes "
                f"{', '.join(circuit.lines)}; take a one-pole circuit"
            )
            yield r.say((*path, "lights", "circuit"), what)


@check()
def lights_of_one_switch(r: Register) -> Iterator[Problem]:
    """Lights that one switch works, on circuits of different voltage."""
    first: dict[str, tuple[str, float]] = {}
    for path, hood in r.each("hoods"):
        found = r.supply_of(hood.lights.circuit) if hood.lights else None
        given = circuit_v(*found) if found else None
        if hood.lights is None or given is None:
            continue
        switch = hood.lights.switch or next(
            (s.tag for s in r.switches.values() if s.does == "lights" and (not s.acts_on or hood.tag in s.acts_on)),
            "",
        )
        other, volts = first.setdefault(switch, (hood.tag, given))
        if volts != given:
            what = (
                f"{given:g} V, while the lights of hood {other} on the same switch have {volts:g} V; "
                "take one voltage for the lights of a switch"
            )
            yield r.say((*path, "lights", "circuit"), what)


@check()
def run_command(r: Register) -> Iterator[Problem]:
    """Dry or wet, and whose voltage: the three answers must agree."""
    for path, command in _run_commands(r):
        if command.kind == "dry":
            if command.owner != "the unit":
                what = f"a dry command switches the unit's own voltage, not that of {command.owner}"
                yield r.say((*path, "owner"), f"{what}; write owner: the unit, or kind: wet")
            if command.circuit:
                what = f"a dry command has no circuit, but {command.circuit} is named"
                yield r.say((*path, "circuit"), f"{what}; leave it out, or write kind: wet")
        elif command.owner == "the unit":
            what = "a wet command switches a voltage of the panel or of a building circuit, not the unit's own"
            yield r.say((*path, "owner"), f"{what}; write kind: dry, or another owner")
        elif command.owner == "a building circuit":
            yield from _wet_circuit(r, path, command)
        else:
            if command.circuit:
                what = f"the voltage is the panel's own, but circuit {command.circuit} is named; leave it out"
                yield r.say((*path, "circuit"), what)
            if command.volts != 120.0:
                what = f"{command.volts:g} V is not the panel's control voltage; write 120 V, or name a circuit"
                yield r.say((*path, "volts"), what)


def _run_commands(r: Register) -> Iterator[tuple[Path, RunCommand]]:
    for path, fan in r.each("exhaust_fans"):
        if isinstance(fan.drive, Vfd):
            yield (*path, "drive", "run_command"), fan.drive.run_command
    for path, unit in r.each("makeup_units"):
        if not isinstance(unit.control, MakeupByPanel):
            yield (*path, "control", "run_command"), unit.control.run_command
        elif isinstance(unit.control.drive, Vfd):
            yield (*path, "control", "drive", "run_command"), unit.control.drive.run_command


def _wet_circuit(r: Register, path: Path, command: RunCommand) -> Iterator[Problem]:
    if not command.circuit:
        yield r.say((*path, "circuit"), "is missing; owner: a building circuit needs the circuit's tag")
        return
    found = r.supply_of(command.circuit)
    if found is None:
        return
    circuit, supply = found
    if len(circuit.lines) != 1:
        lines = ", ".join(circuit.lines)
        what = f"a wet command needs one line and neutral; circuit {circuit.tag} takes {lines}"
        yield r.say((*path, "circuit"), f"{what}; take a one-pole circuit")
        return
    given = circuit_v(circuit, supply)
    if given is not None and command.volts not in NAMEPLATES[given]:
        what = f"{command.volts:g} V, but circuit {circuit.tag} gives {given:g} V; write the circuit's voltage"
        yield r.say((*path, "volts"), what)


@check()
def control_circuit(r: Register) -> Iterator[Problem]:
    """A shutdown circuit must be one line and neutral."""
    for path, system in r.each("fire_systems"):
        circuit = r.circuits.get(system.shutdown_circuit or "")
        if circuit is not None and len(circuit.lines) != 1:
            lines = ", ".join(circuit.lines)
            what = f"a shutdown circuit needs one line and neutral; {circuit.tag} takes {lines}"
            yield r.say((*path, "shutdown_circuit"), f"{what}; take a one-pole circuit")


@check("fire_systems")
def coil_voltage(r: Register) -> Iterator[Problem]:
    """A coil whose voltage is not that of the zone's shutdown circuit (of the panel where there is none)."""
    zones = r.zones()
    for path, shutdown in r.each("shutdowns"):
        if shutdown.zone not in zones:
            continue
        given, source = _shutdown_voltage(r, zones[shutdown.zone].tag)
        if given is None:
            continue
        if shutdown.kind == "gas valve":
            volts, at = shutdown.volts, (*path, "volts")
        elif shutdown.kind == "shunt trip":
            circuit = r.circuits.get(shutdown.circuit)
            if circuit is None or circuit.shunt_trip is None:
                continue
            if shutdown.fed_from == "load side of its own breaker":
                continue
            volts, at = circuit.shunt_trip.coil, (*path, "circuit")
        else:
            continue
        if volts not in NAMEPLATES[given]:
            what = f"the coil takes {volts:g} V, but {source} gives {given:g} V; take a coil of {given:g} V"
            yield r.say(at, what)


def _shutdown_voltage(r: Register, system: str) -> tuple[float | None, str]:
    fire = r.fire_systems[system]
    if not fire.shutdown_circuit or not any(p.use == "shutdown" for p in fire.poles):
        return 120.0, "the panel's control power"
    found = r.supply_of(fire.shutdown_circuit)
    return (circuit_v(*found) if found else None), f"shutdown circuit {fire.shutdown_circuit}"


@check()
def damper_voltage(r: Register) -> Iterator[Problem]:
    """Dampers run on the panel's 24 V or 120 V."""
    for path, damper in r.each("dampers"):
        if damper.volts not in (24.0, 120.0):
            what = f"{damper.volts:g} V is not a voltage the panel gives a damper; take 24 V or 120 V"
            yield r.say((*path, "volts"), what)


__all__ = ["NAMEPLATES", "SYSTEMS", "Load", "System", "available_v", "circuit_v", "loads"]
