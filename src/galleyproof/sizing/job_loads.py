"""What hangs on each circuit of a job, with the current each load puts on its lines.

A motor counts with its table current, an EC motor, a packaged unit and the motors that the tables do not have with
their nameplate, a drive with its rated input. Whatever else the design hangs on a circuit (coils, relays, the 24 V
supply) counts with its apparent power.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, TypeAlias

from galleyproof.design.power import circuit_v
from galleyproof.job.model import (
    Appliance,
    Circuit,
    Ec,
    EcMotor,
    Job,
    MakeupByPanel,
    MakeupByUnit,
    Starter,
    Vfd,
)
from galleyproof.job.model import Motor as Nameplate
from galleyproof.sizing import drives, lights, motors
from galleyproof.sizing.job_ledger import Ledger
from galleyproof.sizing.job_network import Network
from galleyproof.sizing.motors import Motor, MotorKind, NameplateReason
from galleyproof.sizing.power import line_a
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, SizingError, nec, practice, shown
from galleyproof.tables.reader import TableError

__all__ = ["CircuitLoad", "LoadKind", "loads_by_circuit"]

LoadKind: TypeAlias = Literal["motor", "EC motor", "packaged unit", "drive", "appliance", "lights", "control"]
DriveSpec: TypeAlias = Starter | Vfd | Ec | MakeupByUnit

# Common practice where no nameplate says it: power factor of a loaded load. [-]
MOTOR_PF = 0.85
ELECTRONIC_PF = 0.95
LIGHTS_PF = {"electronic driver": 0.9, "incandescent": 1.0}
# A motor takes its nameplate voltage plus or minus a tenth: NEMA MG 1, from memory. [-]
_VOLTS_TOLERANCE = 0.10
_ROTOR: dict[str, MotorKind | None] = {
    "squirrel cage": None,
    "premium efficiency": "design_b_premium",
    "wound": "wound_rotor",
}
_REASON: dict[str, NameplateReason | None] = {
    "code table": None,
    "shaded-pole or PSC fan motor": "shaded-pole or PSC fan motor",
    "multispeed": "multispeed",
    "low speed or high torque": "low speed or high torque",
    "listed appliance": "listed appliance",
}


@dataclass(frozen=True, slots=True)
class CircuitLoad:
    """One load on one circuit.

    Attributes:
        item: Tag.
        kind: See LoadKind.
        phases: 1 or 3, as the circuit feeds it. [-]
        current: In each line it uses. [A]
        power_factor: Of the load. [-]
        continuous: Three hours and more.
        nonlinear: Its current is not a sine.
        motor: Where it is one: for protection and overload.
        spec: What the job says about its drive or unit.
        load_w: Watts of lights and appliances; 0 for others. [W]
    """

    item: str
    kind: LoadKind
    phases: int
    current: Reasoned[float]
    power_factor: float
    continuous: bool = True
    nonlinear: bool = False
    motor: Motor | None = None
    spec: DriveSpec | Appliance | None = None
    load_w: float = 0.0

    @property
    def is_motor(self) -> bool:
        """Whether article 430 rules it."""
        return self.kind in ("motor", "EC motor", "packaged unit", "drive")


def loads_by_circuit(job: Job, network: Network, ledger: Ledger) -> dict[str, tuple[CircuitLoad, ...]]:
    """Loads of every circuit, by its tag; each in the order of its tags.

    Args:
        job: The job.
        network: Its design, read for sizing.
        ledger: Gets the full-load currents, and what is wrong with a nameplate.
    """
    circuits = {c.tag: c for c in job.circuits}
    found: dict[str, list[CircuitLoad]] = {tag: [] for tag in circuits}
    for item, tag, spec in _driven(job):
        found[tag].append(_machine(item, circuits[tag], spec, job, ledger))
    for hood in job.hoods:
        if hood.lights is not None:
            volts = circuit_v(job, circuits[hood.lights.circuit])
            pf = LIGHTS_PF[hood.lights.lamps]
            current = lights.lights_a(hood.lights.load, volts, pf)
            found[hood.lights.circuit].append(
                CircuitLoad(
                    f"{hood.tag}-E1",
                    "lights",
                    1,
                    current,
                    pf,
                    nonlinear=hood.lights.lamps == "electronic driver",
                    load_w=hood.lights.load,
                )
            )
        for one in hood.appliances:
            if one.fuel == "electric" and one.circuit is not None and one.load is not None:
                circuit = circuits[one.circuit]
                phases = 3 if len(circuit.lines) == 3 else 1
                current = line_a(one.load, circuit_v(job, circuit), phases)
                found[one.circuit].append(
                    CircuitLoad(
                        one.tag,
                        "appliance",
                        phases,
                        current,
                        1.0,
                        continuous=one.continuous,
                        spec=one,
                        load_w=one.load,
                    )
                )
    power_items = {load.item for loads in found.values() for load in loads}
    for tag, va, words in _control(network, power_items):
        if tag in found:
            found[tag].append(_control_load(tag, circuits[tag], va, words, job))
    wired = {carried.feed.circuit for carried in network.carried.values()}
    for tag, loads in found.items():
        if not loads and tag in wired:
            loads.append(_nothing(tag))
    return {
        tag: tuple(sorted(loads, key=lambda one: (one.kind == "control", one.item))) for tag, loads in found.items()
    }


def _driven(job: Job) -> Iterator[tuple[str, str, DriveSpec]]:
    for fan in job.exhaust_fans:
        yield fan.tag, fan.circuit, fan.drive
    for unit in job.makeup_units:
        spec = unit.control.drive if isinstance(unit.control, MakeupByPanel) else unit.control
        yield unit.tag, unit.circuit, spec


def _machine(item: str, circuit: Circuit, spec: DriveSpec, job: Job, ledger: Ledger) -> CircuitLoad:
    volts = circuit_v(job, circuit)
    _check_volts(item, spec.motor.volts, volts, circuit.tag, ledger)
    plate = spec.motor
    if isinstance(plate, EcMotor):
        motor = Motor(None, volts, plate.phases, plate.nameplate_amps, nameplate_why="EC motor")
        flc = motors.full_load_a(motor, ledger.edition)
        kind: LoadKind = "packaged unit" if isinstance(spec, MakeupByUnit) else "EC motor"
        ledger.add(item, "full-load current", flc, circuit.tag, given=_amps(plate.nameplate_amps))
        return CircuitLoad(item, kind, plate.phases, flc, ELECTRONIC_PF, nonlinear=True, motor=motor, spec=spec)
    motor = _motor(plate, volts)
    flc, motor = _full_load(item, motor, ledger)
    ledger.add(item, "full-load current", flc, circuit.tag, given=_amps(plate.nameplate_amps))
    if not isinstance(spec, Vfd):
        kind = "packaged unit" if isinstance(spec, MakeupByUnit) else "motor"
        return CircuitLoad(item, kind, plate.phases, flc, MOTOR_PF, motor=motor, spec=spec)
    phases = 3 if len(circuit.lines) == 3 else 1
    current = _drive_input(item, spec, flc, volts, phases, ledger)
    ledger.add(item, "drive input", current, circuit.tag, given=_amps(spec.rated_input_amps))
    return CircuitLoad(item, "drive", phases, current, ELECTRONIC_PF, nonlinear=True, motor=motor, spec=spec)


def _motor(plate: Nameplate, volts: float) -> Motor:
    return Motor(
        plate.hp,
        volts,
        plate.phases,
        plate.nameplate_amps,
        plate.service_factor,
        plate.temperature_rise_kelvin,
        _ROTOR[plate.rotor],
        _REASON[plate.current_by],
    )


@lru_cache(maxsize=512)
def _full_load_a(motor: Motor, edition: NecEdition) -> Reasoned[float]:
    return motors.full_load_a(motor, edition)


def _full_load(item: str, motor: Motor, ledger: Ledger) -> tuple[Reasoned[float], Motor]:
    """Full-load current, and the motor as the rules then see it."""
    edition = ledger.edition
    try:
        return _full_load_a(motor, edition), motor
    except SizingError as refused:
        # the nameplate rules and is not known: the table stands in until it is
        plain = Motor(motor.rated_hp, motor.supply_v, motor.phases, kind=motor.kind)
        ledger.error(
            "NAMEPLATE-NEEDED",
            item,
            f"motor of {item}: {refused}",
            f"read the nameplate and state nameplate_amps of {item}",
            (nec("430.6(A)(1)", edition),),
        )
        return motors.full_load_a(plain, edition), plain
    except TableError as missing:
        if motor.nameplate_a is None:
            raise
        marked = Motor(
            None,
            motor.supply_v,
            motor.phases,
            motor.nameplate_a,
            motor.service_factor,
            motor.rise_degc,
            motor.kind,
        )
        if "is not a row" in str(missing):
            ledger.warn(
                "MOTOR-ROW",
                item,
                f"motor of {item}: {missing}; its nameplate current {motor.nameplate_a:g} A is taken",
                "check the power on the nameplate; take a motor of a power that the table has",
                (nec("430.6(A)(1)", edition),),
            )
        r = Reasoning(edition)
        r.remark(f"{missing}: the nameplate rules")
        r.step(
            f"nameplate current of {item}",
            motor.nameplate_a,
            "A",
            nec("430.6(A)(1)", edition, "no row or column of the tables serves it"),
        )
        return r.done(motor.nameplate_a, "A"), marked


def _check_volts(item: str, plate_v: float, supply_v: float, circuit: str, ledger: Ledger) -> None:
    off = supply_v / plate_v - 1.0
    if abs(off) <= _VOLTS_TOLERANCE + 1e-9:
        return
    ledger.error(
        "MOTOR-VOLTS",
        item,
        f"nameplate of {item} says {plate_v:g} V, circuit {circuit} gives {supply_v:g} V ({off:+.0%}; "
        f"a motor takes {_VOLTS_TOLERANCE:.0%} more or less)",
        f"take a motor for {supply_v:g} V, reconnect it for {supply_v:g} V if its nameplate allows, or feed it from "
        f"a {plate_v:g} V system",
        (practice("NEMA MG 1", "10 percent above and below the rated voltage, from memory"),),
    )


def _drive_input(
    item: str, spec: Vfd, flc: Reasoned[float], supply_v: float, phases: int, ledger: Ledger
) -> Reasoned[float]:
    """Current that a drive takes from its supply; says where it has to be confirmed."""
    edition = ledger.edition
    rated = spec.rated_input_amps
    rule = nec("430.122(A)", edition)
    r = Reasoning(edition)
    if phases == 3:
        value = r.take(flc)
        if rated is not None:
            r.step("rated input on the drive", rated, "A", rule)
            return r.done(rated, "A")
        note = practice("input of drives", "about the motor current where the drive's rating is not known")
        r.step("rated input of the drive not known: the motor's current", value, "A", note)
        ledger.note(
            "DRIVE-INPUT",
            item,
            f"rated input of {item}'s drive is not stated; {value:.4g} A, the current of its motor, is taken",
            f"state rated_input_amps of {item} from the drive's nameplate",
            (rule,),
        )
        return r.done(value, "A")
    current = drives.single_phase_input_a(flc, spec.motor.volts, supply_v, marked_input_a=rated, edition=edition)
    least = drives.single_phase_input_a(flc, spec.motor.volts, supply_v, edition=edition).value
    if rated is not None and rated < least - 1e-9:
        ledger.error(
            "DRIVE-SINGLE-PHASE",
            item,
            f"{item}'s drive is fed from one phase; its rated input {rated:g} A is below the {least:.4g} A that its "
            f"motor takes from one phase at least, so it is the three-phase rating",
            f"take a drive rated for single-phase input of {least:.4g} A or more at {supply_v:g} V (a three-phase "
            "drive about twice the motor's size), and state its single-phase input",
            (rule, *current.basis),
        )
    elif rated is None and spec.rated_output_amps is None:
        ledger.note(
            "DRIVE-INPUT",
            item,
            f"single-phase input of {item}'s drive is not stated; {least:.4g} A, the least possible, is taken",
            f"state rated_input_amps of {item}: its single-phase rating",
            (rule,),
        )
    return current


def _control(network: Network, power_items: set[str]) -> Iterator[tuple[str, float, tuple[str, ...]]]:
    """Apparent power of coils and control devices on each circuit, with what they are."""
    by_circuit: dict[str, dict[str, float]] = {}
    for key, load in network.loads.items():
        feed = network.feeds.get(key)
        if feed is None or not feed.circuit or feed.kind in ("supply", "drive", "own voltage"):
            continue
        if load.device in power_items or load.signal or _is_drive_input(load.device, load.part, network):
            continue
        parts = by_circuit.setdefault(feed.circuit, {})
        parts[load.device] = parts.get(load.device, 0.0) + load.load_va
    for tag, parts in by_circuit.items():
        words = tuple(f"{device} {va:.4g} VA" for device, va in sorted(parts.items()))
        yield tag, sum(v for _, v in sorted(parts.items())), words


def _is_drive_input(device: str, part: str, network: Network) -> bool:
    feed = network.feeds.get((device, "run_in"))
    return part == "input" and feed is not None and feed.kind == "drive"


def _control_load(tag: str, circuit: Circuit, va: float, words: tuple[str, ...], job: Job) -> CircuitLoad:
    r = Reasoning()
    r.remark(f"coils and control devices on {tag}: {'; '.join(words)}")
    volts = circuit_v(job, circuit)
    # a single-phase control load sits between two lines of a three-pole circuit
    current = r.take(line_a(va, volts, 1))
    return CircuitLoad(f"{tag} control", "control", 1, r.done(current, "A"), ELECTRONIC_PF)


def _nothing(tag: str) -> CircuitLoad:
    """Stands in on a circuit that is wired and feeds nothing that is counted."""
    r = Reasoning()
    r.step(f"nothing that counts hangs on {tag}; a tenth of an ampere stands in", 0.1, "A", practice("idle circuits"))
    return CircuitLoad(f"{tag} control", "control", 1, r.done(0.1, "A"), 1.0)


def _amps(value: float | None) -> str:
    return "" if value is None else f"nameplate {shown(float(value), 'A')}"


def of_kind(loads: tuple[CircuitLoad, ...], *kinds: LoadKind) -> tuple[CircuitLoad, ...]:
    """Loads of some kinds."""
    return tuple(one for one in loads if one.kind in kinds)


def by_item(loads: Mapping[str, tuple[CircuitLoad, ...]]) -> dict[str, CircuitLoad]:
    """Every load by its tag."""
    return {one.item: one for found in loads.values() for one in found}
