"""Voltages of the building's systems and first sizes of the conductors a recipe makes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from galleyproof.job.model import Circuit, Job


@dataclass(frozen=True, slots=True)
class System:
    """One voltage system.

    Attributes:
        type: Device type of its panelboard.
        line_v: Line to line. [V]
        neutral_v: Line to neutral, by line; empty without a neutral. [V]
        colours: Insulation colours of L1, L2, L3 and neutral (common practice).
    """

    type: str
    line_v: float
    neutral_v: Mapping[str, float]
    colours: tuple[str, str, str, str]


_LOW = ("black", "red", "blue", "white")
_HIGH = ("brown", "orange", "yellow", "gray")
SYSTEMS: Mapping[str, System] = {
    "120/240 V 1-phase": System("panelboard_120_240", 240.0, {"L1": 120.0, "L2": 120.0}, _LOW),
    # the high leg carries an orange marking: NFPA 70 110.15
    "120/240 V high-leg delta": System(
        "panelboard_high_leg",
        240.0,
        {"L1": 120.0, "L2": 208.0, "L3": 120.0},
        ("black", "orange", "blue", "white"),
    ),
    "208Y/120 V": System("panelboard_208y120", 208.0, dict.fromkeys(("L1", "L2", "L3"), 120.0), _LOW),
    "240 V delta": System("panelboard_240d", 240.0, {}, _LOW),
    "480Y/277 V": System("panelboard_480y277", 480.0, dict.fromkeys(("L1", "L2", "L3"), 277.0), _HIGH),
    "480 V delta": System("panelboard_480d", 480.0, {}, _HIGH),
    "600Y/347 V": System("panelboard_600y347", 600.0, dict.fromkeys(("L1", "L2", "L3"), 347.0), _HIGH),
}


def system_of(job: Job, circuit: Circuit) -> System:
    """Voltage system a circuit belongs to."""
    board = next(p for p in job.panelboards if p.tag == circuit.panelboard)
    supply = next(s for s in job.supplies if s.tag == board.supply)
    return SYSTEMS[supply.system]


def circuit_v(job: Job, circuit: Circuit) -> float:
    """Volts between a circuit's load conductors: line to neutral for one line, line to line otherwise [V]."""
    system = system_of(job, circuit)
    if len(circuit.lines) == 1:
        return system.neutral_v.get(circuit.lines[0], system.line_v)
    return system.line_v


def pole_ohm(job: Job, circuit: Circuit) -> float:
    """Source impedance a circuit sees, from the available fault current [ohm].

    Taken per circuit: the panelboard's bus is stiff, so circuits do not pull each other's voltage down.
    """
    board = next(p for p in job.panelboards if p.tag == circuit.panelboard)
    supply = next(s for s in job.supplies if s.tag == board.supply)
    volts = max(SYSTEMS[supply.system].neutral_v.values(), default=SYSTEMS[supply.system].line_v / 3**0.5)
    return round(volts / supply.available_fault, 6)
