"""Motors, drives, overloads, contactors and disconnects that the job states."""

from __future__ import annotations

import math
from collections.abc import Iterator

from galleyproof.findings import Finding
from galleyproof.job.checks.power import NAMEPLATES
from galleyproof.job.model import Drive, Ec, Job, MakeupByPanel, Starter, Vfd
from galleyproof.review.cures.registry import cure
from galleyproof.review.cures.tags import volts_of
from galleyproof.review.edits import Move, Path, one
from galleyproof.review.whole import Papers

# Usual ratings of contactors for squirrel-cage motors and of safety switches: common practice. [A]
CONTACTORS_A = (9.0, 12.0, 18.0, 25.0, 32.0, 40.0, 50.0, 65.0, 80.0, 95.0, 115.0, 150.0, 185.0, 225.0)
SWITCHES_A = (30.0, 60.0, 100.0, 200.0, 400.0, 600.0)


def drive_of(job: Job, item: str) -> tuple[Path, Drive, str] | None:
    """Where the drive of a fan or unit stands, the drive, and its circuit."""
    for fan in job.exhaust_fans:
        if fan.tag == item:
            return ("exhaust_fans", item, "drive"), fan.drive, fan.circuit
    for unit in job.makeup_units:
        if unit.tag == item and isinstance(unit.control, MakeupByPanel):
            return ("makeup_units", item, "control", "drive"), unit.control.drive, unit.circuit
    return None


def number_a(papers: Papers, item: str, what: str) -> float | None:
    """A number of the sizes [A]."""
    number = papers.sizes.by_key.get(f"{item} {what}")
    return float(number.result.value) if number is not None else None


@cure("OVERLOAD-HIGH", "OVERLOAD-LOW")
def overload(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """The largest setting that is allowed."""
    found = drive_of(job, finding.item)
    most = number_a(papers, finding.item, "largest overload setting")
    if found is not None and isinstance(found[1], Starter) and most is not None:
        value = math.floor(round(most * 10.0, 6)) / 10.0
        yield one((*found[0], "overload_set"), value, f"at most {most:.4g} A, and above the nameplate", 1.0)


@cure("CONTACTOR-SMALL")
def contactor(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """The next usual contactor."""
    found = drive_of(job, finding.item)
    least = number_a(papers, finding.item, "smallest contactor")
    value = next((a for a in CONTACTORS_A if least is not None and a >= least), None)
    if found is not None and isinstance(found[1], Starter) and value is not None:
        yield one((*found[0], "contactor_amps"), value, f"its motor takes {least:.4g} A", 3.0)


@cure("DISCONNECT-SMALL")
def disconnect(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """The next usual switch."""
    item = finding.item.removesuffix("-QB")
    least = number_a(papers, finding.item, "smallest disconnect")
    value = next((a for a in SWITCHES_A if least is not None and a >= least), None)
    for section in ("exhaust_fans", "makeup_units"):
        if value is not None and any(x.tag == item for x in getattr(job, section)):
            yield one((section, item, "disconnect_amps"), value, f"{least:.4g} A is needed", 3.0)


@cure("DRIVE-SMALL", "DRIVE-SINGLE-PHASE")
def drive(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """A drive that gives, on the supply it has, what its motor takes."""
    found = drive_of(job, finding.item)
    if found is None:
        return
    path, spec, _ = found
    if not isinstance(spec, Vfd):
        return
    least = number_a(papers, finding.item, "smallest drive output")
    if spec.rated_output_amps is not None and least is not None and spec.rated_output_amps < least:
        value = math.ceil(round(least * 10.0, 6)) / 10.0
        yield one((*path, "rated_output_amps"), value, f"a drive of {value:g} A output or more", 3.0)
    flc = number_a(papers, finding.item, "full-load current")
    if spec.input_phases == 1 and spec.rated_input_amps is not None and flc is not None:
        # about the root of three times the motor's current at least, and the losses: more is tried in steps
        for n in range(8):
            value = float(math.ceil(flc * math.sqrt(3.0) * (1.0 + 0.1 * n)))
            why = f"a drive whose single-phase rating is {value:g} A input"
            yield one((*path, "rated_input_amps"), value, why, 3.0 + 0.01 * n)


@cure("MOTOR-VOLTS")
def volts(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """A motor for the voltage it gets."""
    found = drive_of(job, finding.item)
    if found is not None and not isinstance(found[1], Ec):
        path, _, circuit = found
        given = volts_of(job, circuit)
        for n, value in enumerate(NAMEPLATES.get(given, ()) if given else ()):
            yield one((*path, "motor", "volts"), value, f"a motor for the {given:g} V it gets", 3.0 + 0.01 * n)
    for unit in job.makeup_units:
        given = volts_of(job, unit.circuit) if unit.tag == finding.item else None
        if given and not isinstance(unit.control, MakeupByPanel):
            for n, value in enumerate(NAMEPLATES.get(given, ())):
                path = ("makeup_units", unit.tag, "control", "motor", "volts")
                yield one(path, value, f"a unit for the {given:g} V it gets", 3.0 + 0.01 * n)
