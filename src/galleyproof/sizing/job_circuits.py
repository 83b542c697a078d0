"""What each circuit needs: least ampacity, smallest and largest device, and whether the job's device fits.

A circuit with one motor, drive, EC motor or packaged unit goes by article 430 (or its nameplate); several motors on
one circuit by 430.24 and 430.53(C)(4); anything else by 210.19 to 210.21 with 125 percent of continuous loads.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import cast

from galleyproof.design.power import circuit_v
from galleyproof.job.model import Circuit, Ec, Job, MakeupByUnit, Starter, Vfd
from galleyproof.job.wiring import ProtectiveDevice
from galleyproof.sizing import drives, motors
from galleyproof.sizing.appliances import appliance_ocpd_max_a
from galleyproof.sizing.conductors import continuous_min_a, ocpd_for_load_a
from galleyproof.sizing.job_ledger import Ledger
from galleyproof.sizing.job_loads import CircuitLoad
from galleyproof.sizing.steps import Reasoned, Reasoning, SizingError, nec, practice, rounded, shown
from galleyproof.tables import protection
from galleyproof.tables.protection import MotorDevice, RatedDevice
from galleyproof.tables.reader import TableError

__all__ = ["DEVICE_WORDS", "Needs", "circuit_needs", "rated_device"]

_DEVICES: dict[ProtectiveDevice, MotorDevice] = {
    "breaker": "inverse_time_breaker",
    "dual-element fuse": "time_delay_fuse",
    "non-time-delay fuse": "nontime_delay_fuse",
}
DEVICE_WORDS: dict[ProtectiveDevice, str] = {
    "breaker": "breaker",
    "dual-element fuse": "dual-element fuse",
    "non-time-delay fuse": "non-time-delay fuse",
}


@dataclass(frozen=True, slots=True)
class Needs:
    """What one circuit asks of its conductors and its device.

    Attributes:
        circuit: As the job has it.
        volts: Between its conductors. [V]
        phases: 1 or 3. [-]
        loads: What hangs on it.
        min_a: Least ampacity at the terminals. [A]
        in_place_a: Ampacity needed after correction and adjustment; None: the same. [A]
        by_430: Its device follows article 430: 240.4(B) to (D) do not bind the conductors.
    """

    circuit: Circuit
    volts: float
    phases: int
    loads: tuple[CircuitLoad, ...]
    min_a: Reasoned[float]
    in_place_a: float | None
    by_430: bool

    @property
    def tag(self) -> str:
        """Tag of the circuit."""
        return self.circuit.tag

    @property
    def load_a(self) -> float:
        """Everything on one line at once [A]."""
        return sum(one.current.value for one in self.loads)

    @property
    def nonlinear(self) -> bool:
        """Whether the larger part of its load is nonlinear."""
        return 2.0 * sum(one.current.value for one in self.loads if one.nonlinear) > self.load_a


def rated_device(device: ProtectiveDevice) -> RatedDevice:
    """Row of the standard ratings."""
    return "inverse_time_breaker" if device == "breaker" else "fuse"


def circuit_needs(job: Job, loads: Mapping[str, tuple[CircuitLoad, ...]], ledger: Ledger) -> dict[str, Needs]:
    """Needs of every circuit that has a load, by tag, with their numbers and findings.

    Args:
        job: The job.
        loads: From ``loads_by_circuit``.
        ledger: Gets least ampacity, smallest and largest device of each.
    """
    found = {}
    for circuit in sorted(job.circuits, key=lambda c: c.tag):
        on_it = loads.get(circuit.tag, ())
        if not on_it:
            continue
        needs = _needs(job, circuit, on_it, ledger)
        found[circuit.tag] = needs
        _protection(needs, ledger)
        _interrupting(job, circuit, ledger)
    return found


def _needs(job: Job, circuit: Circuit, loads: tuple[CircuitLoad, ...], ledger: Ledger) -> Needs:
    edition = ledger.edition
    volts = circuit_v(job, circuit)
    phases = 3 if len(circuit.lines) == 3 else 1
    machines = tuple(one for one in loads if one.is_motor)
    others = tuple(one for one in loads if not one.is_motor)
    continuous = sum(one.current.value for one in others if one.continuous)
    noncontinuous = sum(one.current.value for one in others if not one.continuous)
    if machines and len(loads) == 1:
        return Needs(circuit, volts, phases, loads, _single_min_a(machines[0], ledger), None, True)
    if machines:
        min_a = motors.feeder_min_ampacity_a(
            [one.current for one in machines],
            other_continuous_a=continuous,
            other_noncontinuous_a=noncontinuous,
            edition=edition,
        )
        return Needs(circuit, volts, phases, loads, min_a, None, True)
    r = Reasoning(edition)
    for one in others:
        r.step(f"{one.item}", r.take(one.current), "A")
    min_a = r.done(r.take(continuous_min_a(continuous, noncontinuous, edition=edition)), "A")
    return Needs(circuit, volts, phases, loads, min_a, continuous + noncontinuous, False)


def _single_min_a(load: CircuitLoad, ledger: Ledger) -> Reasoned[float]:
    edition = ledger.edition
    spec = load.spec
    if isinstance(spec, Vfd):
        if spec.bypass and load.motor is not None:
            flc = _motor_current(load, ledger)
            return drives.bypass_min_ampacity_a(load.current.value, flc, edition=edition)
        return drives.supply_min_ampacity_a(load.current, edition=edition)
    if isinstance(spec, MakeupByUnit) and spec.min_circuit_ampacity is not None:
        return motors.packaged_min_ampacity_a(spec.min_circuit_ampacity, edition=edition)
    return motors.branch_min_ampacity_a(load.current, edition=edition)


def _motor_current(load: CircuitLoad, ledger: Ledger) -> Reasoned[float]:
    """Full-load current of the motor behind a drive."""
    number = ledger.numbers.get(f"{load.item} full-load current")
    if number is None:
        raise SizingError(f"{load.item}: no full-load current")
    return cast(Reasoned[float], number.result)


# --- protection -------------------------------------------------------------------------------------------------


def _protection(needs: Needs, ledger: Ledger) -> None:
    circuit, edition = needs.circuit, ledger.edition
    tag = circuit.tag
    given = f"{shown(float(circuit.breaker), 'A')} {DEVICE_WORDS[circuit.device]}"
    ledger.add(tag, "least ampacity", needs.min_a, tag)
    rated = rated_device(circuit.device)
    _standard(circuit, rated, ledger)
    least = ocpd_for_load_a(needs.min_a, rated, edition=edition)
    low = circuit.breaker < needs.min_a.value - 1e-9
    ledger.add(tag, f"smallest {DEVICE_WORDS[circuit.device]}", least, tag, given=given, ok=not low)
    if low:
        _too_small(needs, least.value, given, ledger)
    for kind in DEVICE_WORDS:
        if kind != circuit.device and (kind == "non-time-delay fuse" or not needs.by_430):
            continue
        try:
            largest = _largest(needs, kind, ledger)
        except (TableError, SizingError) as refused:
            if kind == circuit.device:
                ledger.error(
                    "OCPD-NONE",
                    tag,
                    f"{tag}: no {DEVICE_WORDS[kind]} satisfies its rule: {refused}",
                    "take another kind of device, or a load that it can protect",
                )
            continue
        if largest is None:
            continue
        here = kind == circuit.device
        high = here and circuit.breaker > largest.value + 1e-9
        ledger.add(tag, f"largest {DEVICE_WORDS[kind]}", largest, tag, given=given if here else "", ok=not high)
        if high:
            words = ", ".join(one.item for one in needs.loads)
            ledger.error(
                "OCPD-HIGH",
                tag,
                f"{tag}: {given} for {words}; at most {shown(largest.value, 'A')} is allowed",
                f"take a {DEVICE_WORDS[kind]} of {shown(max(least.value, min(largest.value, circuit.breaker)), 'A')}"
                + ("" if least.value >= largest.value else f" (from {shown(least.value, 'A')} on)"),
                largest.basis,
            )


def _too_small(needs: Needs, least_a: float, given: str, ledger: Ledger) -> None:
    tag = needs.tag
    words = ", ".join(one.item for one in needs.loads)
    cure = f"take a {DEVICE_WORDS[needs.circuit.device]} of {shown(least_a, 'A')}, or move loads to another circuit"
    if needs.by_430:
        ledger.warn(
            "OCPD-LOW",
            tag,
            f"{tag}: {given} is below the {rounded(needs.min_a.value, 'A')} that its conductors must carry for "
            f"{words}; it trips while nothing is wrong",
            cure,
            (practice("branch devices of motors", "not below 125 percent of the running current"), *needs.min_a.basis),
        )
        return
    ledger.error(
        "OCPD-LOW",
        tag,
        f"{tag}: {given} is below the {rounded(needs.min_a.value, 'A')} that {words} need, continuous loads at "
        "125 percent",
        cure,
        needs.min_a.basis,
    )


def _standard(circuit: Circuit, rated: RatedDevice, ledger: Ledger) -> None:
    ratings = protection.standard_ratings_a(rated, ledger.edition)
    if circuit.breaker in ratings.value:
        return
    near = sorted(ratings.value, key=lambda a: abs(a - circuit.breaker))[:2]
    ledger.warn(
        "OCPD-RATING",
        circuit.tag,
        f"{circuit.tag}: {shown(float(circuit.breaker), 'A')} is no standard rating of a "
        f"{DEVICE_WORDS[circuit.device]}",
        f"take {' or '.join(shown(a, 'A') for a in sorted(near))}",
        ratings.basis,
    )


def _largest(needs: Needs, device: ProtectiveDevice, ledger: Ledger) -> Reasoned[float] | None:
    """Largest device the loads allow; None where only the conductors limit it."""
    edition = ledger.edition
    machines = tuple(one for one in needs.loads if one.is_motor)
    if len(needs.loads) == 1 and machines:
        return _single_largest(machines[0], device, ledger)
    if machines:
        singles = [_single_largest(one, device, ledger) for one in machines]
        top = max(range(len(machines)), key=lambda n: (singles[n].value, machines[n].current.value))
        rest = [one.current for n, one in enumerate(machines) if n != top]
        others = [one for one in needs.loads if not one.is_motor]
        other_a = sum(one.current.value * (1.25 if one.continuous else 1.0) for one in others)
        return motors.group_ocpd_max_a(singles[top], rest, rated_device(device), other_loads_a=other_a, edition=edition)
    power = [one for one in needs.loads if one.kind != "control"]
    if len(power) == 1 and power[0].kind == "appliance":
        return appliance_ocpd_max_a(power[0].current, rated_device(device), edition=edition)
    return None


def _single_largest(load: CircuitLoad, device: ProtectiveDevice, ledger: Ledger) -> Reasoned[float]:
    edition = ledger.edition
    spec, motor = load.spec, load.motor
    kind = motor.row_kind if motor is not None else "polyphase"
    if isinstance(spec, Vfd):
        if load.phases == 1:
            # one phase carries more than the motor's current: the drive's input stands in for it
            r = Reasoning(edition)
            clause = nec("430.130(A)(1)", edition, "departed from: the motor current does not flow on one phase")
            r.step("single-phase supply: by the input current of the drive", r.take(load.current), "A", clause)
            current = r.done(load.current.value, "A")
        else:
            current = _motor_current(load, ledger)
        return drives.drive_ocpd_max_a(
            current, rated_device(device), kind, marked_max_a=spec.max_protection, edition=edition
        )
    marked = None
    if isinstance(spec, MakeupByUnit):
        if spec.max_protection is not None:
            return motors.packaged_ocpd_max_a(spec.max_protection, rated_device(device), edition=edition)
    elif isinstance(spec, Ec):
        marked = spec.motor.max_protection
    hard = isinstance(spec, Starter) and spec.motor.starts_hard
    return motors.branch_ocpd_max_a(
        load.current, _DEVICES[device], kind, cannot_start=hard, marked_max_a=marked, edition=edition
    )


def _interrupting(job: Job, circuit: Circuit, ledger: Ledger) -> None:
    if circuit.interrupting_rating is None:
        return
    board = next(p for p in job.panelboards if p.tag == circuit.panelboard)
    supply = next(s for s in job.supplies if s.tag == board.supply)
    clause = nec("110.9", ledger.edition)
    r = Reasoning(ledger.edition)
    r.step(f"available at {supply.tag}", supply.available_fault, "A", clause)
    ok = circuit.interrupting_rating >= supply.available_fault
    rated = shown(float(circuit.interrupting_rating), "A")
    ledger.add(
        circuit.tag,
        "interrupting rating",
        r.done(supply.available_fault, "A"),
        circuit.tag,
        given=rated,
        ok=ok,
    )
    if not ok:
        ledger.error(
            "OCPD-INTERRUPT",
            circuit.tag,
            f"{circuit.tag} can open {rated}; {shown(float(supply.available_fault), 'A')} is available at {board.tag}",
            f"take a device with an interrupting rating of {shown(float(supply.available_fault), 'A')} or more",
            (clause,),
        )
