"""Tags that are free, and circuits that are."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count

from galleyproof.job.checks.power import circuit_v
from galleyproof.job.model import Circuit, Job, MakeupByPanel, MakeupByUnit, Vfd

__all__ = ["feeds", "free_circuits", "new_circuit", "next_tag", "shunted", "volts_of"]


def _tags(job: Job) -> Iterator[str]:
    for section in (
        "supplies", "panelboards", "circuits", "hoods", "exhaust_fans", "makeup_units", "dampers", "fire_systems",
        "shutdowns", "fire_outputs", "room_sensors", "switches", "routes",
    ):  # fmt: skip
        yield from (entry.tag for entry in getattr(job, section))
    for hood in job.hoods:
        yield from (s.tag for s in hood.sensors)
        yield from (a.tag for a in hood.appliances)
    yield from (f.proving.tag for f in job.exhaust_fans if f.proving)
    for unit in job.makeup_units:
        if isinstance(unit.control, MakeupByUnit):
            yield from (m.tag for m in unit.control.second_masters)
    yield from (x.tag for x in (job.panel, job.building_alarm, job.display, job.building_link) if x)


def next_tag(job: Job, letters: str, *, start: int = 1) -> str:
    """The first free tag of some letters: ``CS-3``."""
    taken = set(_tags(job))
    return next(tag for n in count(start) if (tag := f"{letters}-{n}") not in taken)


def feeds(job: Job, circuit: str) -> list[str]:
    """Tags of everything in the job that a circuit feeds, commands included."""
    found = [job.panel.tag] if job.panel.circuit == circuit else []
    for hood in job.hoods:
        if hood.lights and hood.lights.circuit == circuit:
            found.append(hood.tag)
        found += [a.tag for a in hood.appliances if a.circuit == circuit]
    found += [f.tag for f in job.exhaust_fans if f.circuit == circuit]
    found += [u.tag for u in job.makeup_units if u.circuit == circuit]
    found += [s.tag for s in job.fire_systems if s.shutdown_circuit == circuit]
    found += [s.tag for s in job.shutdowns if s.kind == "held-in contactor" and s.circuit == circuit]
    for fan in job.exhaust_fans:
        if isinstance(fan.drive, Vfd) and fan.drive.run_command.circuit == circuit:
            found.append(fan.tag)
    for unit in job.makeup_units:
        if isinstance(unit.control, MakeupByPanel):
            command = unit.control.drive.run_command if isinstance(unit.control.drive, Vfd) else None
        else:
            command = unit.control.run_command
        if command and command.circuit == circuit:
            found.append(unit.tag)
    return found


def shunted(job: Job) -> frozenset[str]:
    """Circuits that some release trips."""
    return frozenset(s.circuit for s in job.shutdowns if s.kind == "shunt trip")


def free_circuits(job: Job, like: Circuit) -> Iterator[Circuit]:
    """Circuits that feed nothing of the job, are tripped by no release, and give the same volts.

    A circuit with a note feeds something that the job does not describe, unless the note says that it is spare.
    """
    for circuit in job.circuits:
        same = circuit.panelboard == like.panelboard and len(circuit.lines) == len(like.lines)
        spare = circuit.note is None or "spare" in circuit.note.lower()
        if same and spare and circuit.tag not in shunted(job) and not feeds(job, circuit.tag):
            yield circuit


def new_circuit(job: Job, like: Circuit, note: str) -> Circuit:
    """A breaker more in the same panelboard, on the first places that are free, with lines and size of another."""
    stem = like.tag.rpartition("/")[0] or like.panelboard
    poles = len(like.lines)
    taken: set[int] = set()
    for circuit in job.circuits:
        board, _, number = circuit.tag.rpartition("/")
        if board == stem and number.isdigit():
            taken.update(int(number) + 2 * n for n in range(len(circuit.lines)))
    tags = {c.tag for c in job.circuits}
    place = next(n for n in count(1) if not taken & {n + 2 * i for i in range(poles)} and f"{stem}/{n}" not in tags)
    own = {"tag": f"{stem}/{place}", "shunt_trip": None, "awg": None, "ground_awg": None, "note": note}
    return like.model_copy(update=own)


def volts_of(job: Job, circuit: str) -> float | None:
    """What a circuit gives between its line and neutral, or between its lines [V]."""
    found = next((c for c in job.circuits if c.tag == circuit), None)
    board = next((p for p in job.panelboards if found and p.tag == found.panelboard), None)
    supply = next((s for s in job.supplies if board and s.tag == board.supply), None)
    return circuit_v(found, supply) if found and supply else None
