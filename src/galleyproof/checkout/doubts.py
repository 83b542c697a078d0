"""What to ask about a reading before anything is concluded from it: the meter first, the wiring after."""

from __future__ import annotations

import math

from galleyproof.checkout.model import Expectation, Probe, Reading
from galleyproof.circuit.meter import VOLTMETER_OHM

GHOST_V = (10.0, 100.0)
"""AC volts between these on a conductor that should have none or all may be coupled (common practice). [V], [V]"""
NOTHING = 0.1
"""Share of the expected volts below which a reading is about 0. [ratio]"""
WORTH_ASKING = 5.0
"""An expected size from which another unit or the leads exchanged are asked for. [V, ohm]"""
LEAST_AMPS = 0.5
"""Expected amperes from which none is odd. [A]"""


def doubt(probe: Probe, expected: Expectation, reading: Reading) -> str:
    """What to check first when a reading is odd; empty when nothing about the meter explains it.

    Args:
        probe: What was asked for.
        expected: The reading on the right wiring.
        reading: What was read.
    """
    if isinstance(reading, str) or isinstance(expected.value, str) or expected.holds(reading):
        return ""
    if probe.kind in ("volts AC", "volts DC") and abs(reading) <= NOTHING * abs(expected.value):
        form = probe.kind.removeprefix("volts ")
        other = "DC" if form == "AC" else "AC"
        return f"about 0 V: does the meter stand on {form} volts? On {other} it shows next to nothing here"
    if probe.kind == "volts DC" and abs(expected.value) >= WORTH_ASKING and expected.holds(-reading):
        return f"the right volts with the other sign: was the red lead on {probe.red}? If it was, the pair is reversed"
    size = abs(expected.value) >= WORTH_ASKING and probe.kind in ("ohms", "volts AC", "volts DC")
    if size and (expected.holds(1000.0 * reading) or expected.holds(reading / 1000.0)):
        units = "kΩ or Ω" if probe.kind == "ohms" else "V or mV"
        return f"right but for a factor of 1000: was it {units}"
    if probe.kind == "ohms" and math.isinf(reading):
        return (
            "open: touch the leads together first; if that does not show about 0 a lead is broken, the meter's fuse is "
            "blown or it stands on another function"
        )
    if probe.kind == "amps AC" and expected.value >= LEAST_AMPS and reading <= NOTHING * expected.value:
        return "about 0 A: is the clamp shut, and around this conductor alone? Around a whole cable it shows none"
    if probe.kind == "volts AC" and GHOST_V[0] <= abs(reading) <= GHOST_V[1]:
        if probe.meter_ohm >= VOLTMETER_OHM:
            return "between 10 and 100 V: read it again with the low-impedance range; coupled volts are gone then"
        return "between 10 and 100 V: was it the low-impedance range? With an ordinary meter these may be coupled volts"
    return ""
