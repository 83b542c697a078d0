"""What belongs to each motor beside its circuit: overload, contactor, disconnect, and the drive ahead of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import cast

from galleyproof.design.model import Design
from galleyproof.job.model import ExhaustFan, Job, MakeupUnit, Starter, Vfd
from galleyproof.sizing import drives, motors
from galleyproof.sizing.job_circuits import Needs
from galleyproof.sizing.job_ledger import Ledger
from galleyproof.sizing.job_loads import CircuitLoad
from galleyproof.sizing.motors import Motor
from galleyproof.sizing.steps import Reasoned, Reasoning, nec, practice, shown

__all__ = ["report_machines"]


def report_machines(job: Job, design: Design, needs: Mapping[str, Needs], ledger: Ledger) -> None:
    """Numbers and findings of every fan and make-up unit.

    Args:
        job: Settings and ratings it states.
        design: Lengths of the leads.
        needs: Circuits with their loads.
        ledger: Has the full-load currents.
    """
    items: dict[str, ExhaustFan | MakeupUnit] = {fan.tag: fan for fan in job.exhaust_fans}
    items.update({unit.tag: unit for unit in job.makeup_units})
    for tag in sorted(needs):
        for load in needs[tag].loads:
            if load.item not in items:
                continue
            spec = load.spec
            if isinstance(spec, Starter):
                _overload(load, tag, spec.overload_set, ledger, cannot_start=spec.motor.starts_hard)
                _contactor(load, spec, tag, ledger)
            elif isinstance(spec, Vfd):
                _overload(load, tag, None, ledger)
                _drive(load, spec, needs[tag], design, ledger)
            _disconnect(items[load.item], load, tag, ledger)


def _flc(load: CircuitLoad, ledger: Ledger) -> Reasoned[float]:
    return cast(Reasoned[float], ledger.numbers[f"{load.item} full-load current"].result)


def _overload(
    load: CircuitLoad, circuit: str, setting: float | None, ledger: Ledger, *, cannot_start: bool = False
) -> None:
    motor = load.motor
    if motor is None:
        return
    edition, item = ledger.edition, load.item
    if motor.nameplate_a is None:
        # the nameplate is read on site; until then the table current stands in, and the number says so
        flc = _flc(load, ledger)
        stand_in = Motor(
            motor.rated_hp, motor.supply_v, motor.phases, flc.value, motor.service_factor, motor.rise_degc, motor.kind
        )
        r = Reasoning(edition)
        r.remark(
            "nameplate current not known: worked out by the table current; set it on site from the nameplate",
            nec("430.6(A)(2)", edition),
        )
        most = r.done(r.take(motors.overload_max_a(stand_in, edition=edition)), "A")
    else:
        most = motors.overload_max_a(motor, cannot_start=cannot_start, edition=edition)
    given = "" if setting is None else f"set to {shown(float(setting), 'A')}"
    high = setting is not None and setting > most.value + 1e-9
    low = setting is not None and motor.nameplate_a is not None and setting < motor.nameplate_a - 1e-9
    ledger.add(item, "largest overload setting", most, circuit, given=given, ok=not (high or low))
    if high:
        ledger.error(
            "OVERLOAD-HIGH",
            item,
            f"overload of {item} is {given}; {shown(most.value, 'A')} at most",
            f"set it to {shown(most.value, 'A')} or less",
            most.basis,
        )
    if low:
        ledger.warn(
            "OVERLOAD-LOW",
            item,
            f"overload of {item} is {given}, below its nameplate current {shown(motor.nameplate_a or 0.0, 'A')}; it "
            "trips at full load",
            f"set it between {shown(motor.nameplate_a or 0.0, 'A')} and {shown(most.value, 'A')}",
            most.basis,
        )


def _contactor(load: CircuitLoad, spec: Starter, circuit: str, ledger: Ledger) -> None:
    least = motors.contactor_min_ac3_a(_flc(load, ledger), load.motor, edition=ledger.edition)
    rated = spec.contactor_amps
    small = rated is not None and rated < least.value - 1e-9
    given = "" if rated is None else f"{shown(float(rated), 'A')} AC-3"
    ledger.add(load.item, "smallest contactor", least, circuit, given=given, ok=not small)
    if small:
        ledger.error(
            "CONTACTOR-SMALL",
            load.item,
            f"contactor of {load.item} is rated {given}; its motor takes {shown(least.value, 'A')}",
            f"take a contactor of {shown(least.value, 'A')} AC-3 or more",
            least.basis,
        )


def _disconnect(machine: ExhaustFan | MakeupUnit, load: CircuitLoad, circuit: str, ledger: Ledger) -> None:
    if not machine.disconnect:
        return
    # behind a drive the disconnect carries the motor's current, else that of its circuit
    current = _flc(load, ledger) if load.kind == "drive" else load.current
    least = motors.disconnect_min_a([current], edition=ledger.edition)
    rated = machine.disconnect_amps
    small = rated is not None and rated < least.value - 1e-9
    given = "" if rated is None else shown(float(rated), "A")
    ledger.add(f"{load.item}-QB", "smallest disconnect", least, circuit, given=given, ok=not small)
    if small:
        ledger.error(
            "DISCONNECT-SMALL",
            f"{load.item}-QB",
            f"disconnect of {load.item} is rated {given}; {shown(least.value, 'A')} is needed",
            f"take a disconnect of {shown(least.value, 'A')} or more, rated in horsepower for the motor",
            least.basis,
        )


def _drive(load: CircuitLoad, spec: Vfd, needs: Needs, design: Design, ledger: Ledger) -> None:
    _output_rating(load, spec, needs.tag, ledger)
    leads_ft = sum(
        c.length_ft
        for c in design.conductors
        if c.made == "field" and (c.key == f"{load.item}/motor/U" or c.key.startswith(f"{load.item}/motor/U/"))
    )
    if leads_ft <= 0.0 or load.motor is None:
        return
    advice = drives.lead_advice(leads_ft, needs.volts, spec.motor_insulation)
    quiet = advice.value == "none needed"
    given = f"{leads_ft:g} ft, {spec.motor_insulation} motor"
    ledger.add(load.item, "lead length", advice, needs.tag, given=given)
    if not quiet:
        ledger.note(
            "DRIVE-LEADS",
            load.item,
            f"{leads_ft:g} ft between {load.item}'s drive and its {spec.motor_insulation} motor: {advice.value}",
            "ask the maker of the drive for its table of lead lengths; a motor for inverter duty, a filter at the "
            "drive or shorter leads help",
            advice.basis,
        )


def _output_rating(load: CircuitLoad, spec: Vfd, circuit: str, ledger: Ledger) -> None:
    edition, item = ledger.edition, load.item
    flc = _flc(load, ledger)
    derate = load.phases == 1 and spec.rated_input_amps is None
    if derate:
        least = drives.single_phase_min_output_a(flc)
    else:
        r = Reasoning(edition)
        value = r.take(flc)
        r.remark("the drive gives its motor the full-load current", practice("choice of drives"))
        least = r.done(value, "A")
    rated = spec.rated_output_amps
    small = rated is not None and rated < least.value - 1e-9
    given = "" if rated is None else shown(float(rated), "A")
    ledger.add(item, "smallest drive output", least, circuit, given=given, ok=not small)
    if not small:
        return
    if derate:
        ledger.error(
            "DRIVE-SINGLE-PHASE",
            item,
            f"{item}'s drive of {given} output is fed from one phase and gives about half of it then; its motor takes "
            f"{shown(flc.value, 'A')}",
            f"take a drive of {shown(least.value, 'A')} output, or one with a single-phase rating and state its "
            "rated_input_amps",
            least.basis,
        )
    else:
        ledger.error(
            "DRIVE-SMALL",
            item,
            f"{item}'s drive gives {given}; its motor takes {shown(least.value, 'A')}",
            f"take a drive of {shown(least.value, 'A')} output or more",
            least.basis,
        )
