"""The control panel: its rating, its place, its enclosure, its control power, and the coils it feeds."""

from __future__ import annotations

from collections.abc import Iterator

from galleyproof.findings import Finding
from galleyproof.job.model import Job
from galleyproof.review.cures.power import fault_rating
from galleyproof.review.cures.registry import cure
from galleyproof.review.edits import Edit, Move, one
from galleyproof.review.whole import Papers
from galleyproof.sizing.control_power import STANDARD_VA

# Usual coils of shunt trips and gas valves: common practice. [V]
COILS_V = (24.0, 120.0, 208.0, 240.0, 277.0)
# An enclosure grows in steps of usual sizes: common practice. [in]
STEP_INCH = 6.0
MAX_STEPS = 6


@cure("SCCR-LOW")
def rating(job: Job, _finding: Finding, _papers: Papers) -> Iterator[Move]:
    """A panel for the fault current; that less of it reaches the panel is not ours to claim."""
    available = max(s.available_fault for s in job.supplies)
    yield from fault_rating(("panel", "short_circuit_rating"), available, f"the panel withstands {available:g} A")


@cure("CLEARANCE")
def clearance(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """The depth that is needed, kept clear; or a place with nothing opposite."""
    number = papers.sizes.by_key.get(f"{finding.item} working depth")
    if number is not None and float(number.result.value) > job.panel.clear_in_front:
        depth = float(number.result.value)
        yield one(("panel", "clear_in_front"), depth, f"{depth:g} in stay clear in front of the panel", 2.0)
    if job.panel.facing != "open room":
        yield one(("panel", "facing"), "open room", "the panel hangs where nothing stands opposite", 3.0)


@cure("PANEL-HOT")
def enclosure(job: Job, _finding: Finding, _papers: Papers) -> Iterator[Move]:
    """A larger enclosure: higher, wider, then both."""
    box = job.panel.enclosure
    if box is None:
        return
    for n in range(1, MAX_STEPS + 1):
        high = Edit(("panel", "enclosure", "height"), box.height + n * STEP_INCH)
        wide = Edit(("panel", "enclosure", "width"), box.width + n * STEP_INCH)
        why = "a larger enclosure carries the heat off"
        yield Move((high,), why, 3.0 + 0.01 * n)
        yield Move((wide,), why, 3.005 + 0.01 * n)
        yield Move((high, wide), why, 3.0 + 0.01 * n)


@cure("CONTROL-POWER-OVER", "CONTROL-POWER-TIGHT", "TRANSFORMER-FUSE")
def transformer(job: Job, _finding: Finding, _papers: Papers) -> Iterator[Move]:
    """A larger control transformer, where the job has chosen one."""
    stated = job.panel.control_transformer
    for n, va in enumerate(v for v in STANDARD_VA if stated is not None and v > stated):
        yield one(("panel", "control_transformer"), float(va), f"a control transformer of {va:g} VA", 3.0 + 0.01 * n)


@cure("COIL-WINDOW")
def coil(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """A coil for the voltage that stands on its circuit."""
    shutdown = next((s for s in job.shutdowns if s.tag == finding.item), None)
    for n, volts in enumerate(COILS_V):
        why = f"a coil for the {volts:g} V that stand on its circuit"
        if shutdown is not None and shutdown.kind == "gas valve":
            yield one(("shutdowns", shutdown.tag, "volts"), volts, why, 3.0 + 0.01 * n)
        elif shutdown is not None and shutdown.kind == "shunt trip":
            yield one(("circuits", shutdown.circuit, "shunt_trip", "coil"), volts, why, 3.0 + 0.01 * n)
