"""A meter is a part of the network it reads."""

from __future__ import annotations

from pathlib import Path

import pytest

from galleyproof.circuit.machine import Machine, State
from galleyproof.circuit.meter import LOW_IMPEDANCE_OHM, ohms, volts
from galleyproof.circuit.world import build_machine
from galleyproof.design.build import build_design
from galleyproof.design.model import TerminalId
from galleyproof.errors import CircuitError
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library

EXAMPLE = Path(__file__).parents[2] / "examples" / "school-kitchen.yaml"


@pytest.fixture(scope="module")
def school() -> tuple[Machine, State, State]:
    """The school kitchen dark, and with everything supplied."""
    job = read_job(EXAMPLE.read_bytes(), EXAMPLE.name)
    machine = build_machine(job, build_design(job), load_library())
    dark = machine.dark()
    return machine, dark, machine.apply(dark, {f"supply {c.tag}": "present" for c in job.circuits})


def test_terminated_pair_reads_sixty_ohm_dead(school: tuple[Machine, State, State]) -> None:
    """Two 120 ohm end resistors in parallel: about 60 ohm (field case N02, common practice)."""
    machine, dark, _ = school
    assert ohms(machine, dark, TerminalId("BL-1", "A"), TerminalId("BL-1", "B")).value == pytest.approx(60, abs=2)


def test_armed_loop_is_closed_and_released_side_open(school: tuple[Machine, State, State]) -> None:
    """A snap switch in an armed release: armed side 0 ohm, released side open (common practice)."""
    machine, dark, _ = school
    common = TerminalId("FS-1", "3C")
    assert ohms(machine, dark, common, TerminalId("FS-1", "3A")).value == 0
    assert ohms(machine, dark, common, TerminalId("FS-1", "3R")).value > 1000


def test_hot_to_neutral_at_the_breaker(school: tuple[Machine, State, State]) -> None:
    """208Y/120 V: 208 over the root of three is 120.1 V from line to neutral, on either meter."""
    machine, _, live = school
    for meter_ohm in (10e6, LOW_IMPEDANCE_OHM):
        shown = volts(machine, live, TerminalId("LP-2/1", "2"), TerminalId("LP-2", "N"), "ac", meter_ohm)
        assert shown.value == pytest.approx(120.1, abs=0.3)


def test_wrong_range_shows_nothing(school: tuple[Machine, State, State]) -> None:
    """A DC range on 120 V AC shows about 0 (field case X05)."""
    machine, _, live = school
    assert volts(machine, live, TerminalId("LP-2/1", "2"), TerminalId("LP-2", "N"), "dc").value == pytest.approx(
        0, abs=0.5
    )


def test_no_ohms_on_a_live_circuit(school: tuple[Machine, State, State]) -> None:
    """An ohm reading with a supply present is refused, naming the breakers to open."""
    machine, _, live = school
    with pytest.raises(CircuitError, match=r"no ohm reading on a live circuit: open .*LP-2/1"):
        ohms(machine, live, TerminalId("BL-1", "A"), TerminalId("BL-1", "B"))


def test_sensor_reads_its_curve_in_parallel_with_its_input(school: tuple[Machine, State, State]) -> None:
    """In circuit the ohmmeter sees the 10 kohm pull-up beside the sensor (10.5 kohm at 75 F, curve 2)."""
    machine, dark, _ = school
    shown = ohms(machine, dark, TerminalId("TS-2", "1"), TerminalId("TS-2", "2")).value
    assert shown == pytest.approx(1 / (1 / 10_480 + 1 / 10_000), rel=0.02)


def test_unknown_terminal_is_named(school: tuple[Machine, State, State]) -> None:
    """A lead on a terminal that does not exist is an error that names it."""
    machine, dark, _ = school
    with pytest.raises(CircuitError, match="XX-9:1"):
        ohms(machine, dark, TerminalId("XX-9", "1"), TerminalId("BL-1", "B"))
