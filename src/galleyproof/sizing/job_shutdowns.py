"""Shunt trips, held-in contactors and the circuits of appliances: coils, pole spaces, ground-fault protection."""

from __future__ import annotations

from collections.abc import Mapping

from galleyproof.job.model import ContactorShutdown, GasShutdown, Job, ShuntShutdown
from galleyproof.sizing import shutdowns
from galleyproof.sizing.job_circuits import Needs
from galleyproof.sizing.job_control import ControlSizes
from galleyproof.sizing.job_ledger import Ledger
from galleyproof.sizing.panel import v_to_ground
from galleyproof.sizing.shutdowns import ShutdownCoil
from galleyproof.sizing.steps import nec

__all__ = ["report_shutdowns"]


def report_shutdowns(job: Job, needs: Mapping[str, Needs], control: ControlSizes, ledger: Ledger) -> None:
    """Numbers and findings of everything a release works.

    Args:
        job: Shutdowns and appliances.
        needs: Circuits with their loads.
        control: Voltages that reach the coils.
        ledger: Gets them.
    """
    circuits = {c.tag: c for c in job.circuits}
    for shutdown in sorted(job.shutdowns, key=lambda s: s.tag):
        if isinstance(shutdown, ShuntShutdown):
            circuit = circuits[shutdown.circuit]
            if circuit.shunt_trip is None:
                continue
            _window(shutdown.tag, shutdown.circuit, "shunt trip", circuit.shunt_trip.coil, None, control, needs, ledger)
            spaces = shutdowns.pole_spaces(len(circuit.lines), shunt_trip=True)
            ledger.add(shutdown.tag, "pole spaces", spaces, shutdown.circuit)
            lasts = shutdowns.shunt_coil_lasts(cut_off_contact=circuit.shunt_trip.cut_off_contact)
            ledger.add(shutdown.tag, "coil after tripping", lasts, shutdown.circuit, ok=lasts.value)
            if not lasts.value:
                ledger.note(
                    "SHUNT-COIL",
                    shutdown.tag,
                    f"the shunt coil of {shutdown.circuit} has no cut-off contact and stays under voltage as long as "
                    "the release stands",
                    "take a shunt trip with a cut-off contact, or one whose maker allows continuous voltage",
                    lasts.basis,
                )
        elif isinstance(shutdown, ContactorShutdown):
            _window(shutdown.tag, shutdown.tag, "contactor", 120.0, None, control, needs, ledger)
        elif isinstance(shutdown, GasShutdown):
            _window(
                shutdown.tag,
                shutdown.tag,
                "gas valve",
                shutdown.volts,
                shutdown.pull_in,
                control,
                needs,
                ledger,
            )
    _ground_faults(job, needs, ledger)


def _window(
    tag: str,
    device: str,
    kind: ShutdownCoil,
    rated_v: float,
    min_ratio: float | None,
    control: ControlSizes,
    needs: Mapping[str, Needs],
    ledger: Ledger,
) -> None:
    found = control.coils.get(device)
    if found is None:
        return
    coil, left = found
    answer = shutdowns.coil_in_window(kind, rated_v, left, coil.source_v, min_ratio=min_ratio)
    circuit = coil.feed.circuit if coil.feed.circuit in needs else tag
    ledger.add(tag, "coil in its window", answer, circuit, ok=answer.value)
    too_high = coil.source_v > 1.10 * rated_v + 1e-9
    if not answer.value and too_high:
        ledger.error(
            "COIL-WINDOW",
            tag,
            f"coil of {tag} is made for {rated_v:g} V; {coil.source_v:g} V stands on its circuit",
            f"take a coil of {coil.source_v:g} V",
            answer.basis,
        )


def _ground_faults(job: Job, needs: Mapping[str, Needs], ledger: Ledger) -> None:
    """Whether each appliance circuit asks for ground-fault protection; never in place of a shunt trip."""
    boards = {b.tag: b for b in job.panelboards}
    supplies = {s.tag: s for s in job.supplies}
    for tag in sorted(needs):
        need = needs[tag]
        if not any(load.kind == "appliance" for load in need.loads):
            continue
        system = supplies[boards[need.circuit.panelboard].supply].system
        asked = shutdowns.ground_fault_asked(
            v_to_ground(system, need.circuit.lines, edition=ledger.edition),
            need.circuit.breaker,
            need.phases,
            cord_and_plug=True,
            edition=ledger.edition,
        )
        ledger.add(tag, "ground-fault protection", asked, tag)
        if not asked.value:
            continue
        names = ", ".join(load.item for load in need.loads if load.kind == "appliance")
        ledger.note(
            "GROUND-FAULT",
            tag,
            f"{tag} feeds {names}: on a receptacle it needs ground-fault protection for persons; hard-wired it does "
            "not, lists of appliances aside",
            "; ".join(shutdowns.never_substitutes(edition=ledger.edition)),
            (nec("210.8(B)", ledger.edition), *asked.basis),
        )
