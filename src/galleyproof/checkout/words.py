"""Readings in words and words into readings."""

from __future__ import annotations

import math
import re

from galleyproof.checkout.model import Expectation, Probe, Reading
from galleyproof.errors import GalleyproofError

YES, NO = "yes", "no"
_OPEN = ("ol", "open", "o.l", "o.l.", "inf", "infinity", "infinite")
_NUMBER = re.compile(r"^([+-]?(?:\d[\d,]*)?(?:\.\d+)?)\s*(.*)$")
_SCALE = {
    "ohms": {"": 1.0, "ohm": 1.0, "ohms": 1.0, "Ω": 1.0, "kohm": 1e3, "kΩ": 1e3, "k": 1e3, "Mohm": 1e6, "MΩ": 1e6},
    "volts AC": {"": 1.0, "V": 1.0, "VAC": 1.0, "V AC": 1.0, "mV": 1e-3},
    "volts DC": {"": 1.0, "V": 1.0, "VDC": 1.0, "V DC": 1.0, "mV": 1e-3},
    "amps AC": {"": 1.0, "A": 1.0, "amps": 1.0, "mA": 1e-3},
    "hertz": {"": 1.0, "Hz": 1.0, "kHz": 1e3},
    "display": {"": 1.0, "degF": 1.0, "°F": 1.0, "F": 1.0},
}
LOOKS = {
    ".display": ("dark", "stopped", "runs", "in local", "fault"),
    ".speed": ("stands", "turns slowly", "turns at full speed", "turns the wrong way"),
}


class ReadingError(GalleyproofError, ValueError):
    """A reading that cannot be understood; the message says what can."""


def said(kind: str, reading: Reading) -> str:
    """A reading in words."""
    if isinstance(reading, str):
        return reading
    if kind == "ohms":
        if math.isinf(reading):
            return "open (OL)"
        return f"{reading / 1000:.2f} kΩ" if reading >= 1000 else f"{max(reading, 0.0):.1f} Ω"
    if kind == "display":
        return f"{reading:.0f} °F"
    if kind == "amps AC":
        return f"{reading:.1f} A"
    if kind == "hertz":
        return f"{reading:.0f} Hz"
    return f"{reading:.1f} V {kind.removeprefix('volts ')}"


def said_range(probe: Probe, expected: Expectation) -> str:
    """What to expect, in words: ``22.9 to 25.0 V DC``."""
    if isinstance(expected.low, str) or isinstance(expected.high, str):
        return str(expected.value)
    low, high = expected.low, expected.high
    if probe.kind == "ohms":
        if math.isinf(high):
            return "open (OL), above 1 MΩ"
        low = max(low, 0.0)
        if low < 0.5 and high < 10.0:
            return f"below {high:.1f} Ω"
        return f"{low / 1000:.2f} to {high / 1000:.2f} kΩ" if high >= 1000 else f"{low:.0f} to {high:.0f} Ω"
    if probe.kind == "display":
        return f"{low:.0f} to {high:.0f} °F"
    if probe.kind == "amps AC":
        return f"below {high:.1f} A" if low <= 0.0 else f"{low:.1f} to {high:.1f} A"
    if probe.kind == "hertz":
        return f"0 to {high:.0f} Hz: no pulses" if low <= 0.0 else f"{low:.0f} to {high:.0f} Hz"
    if probe.kind == "volts AC":
        return f"below {high:.0f} V AC" if low <= 0.0 else f"{low:.0f} to {high:.0f} V AC"
    if low < 0.0 < high:
        return f"within {max(-low, high):.1f} V DC of 0"
    return f"{low:.1f} to {high:.1f} V DC"


def answers(probe: Probe) -> tuple[str, ...]:
    """Words a look can be answered with; empty when a number is asked for."""
    if probe.kind not in ("look", "display"):
        return ()
    for ending, words in LOOKS.items():
        if probe.slot.endswith(ending):
            return words
    if probe.slot.endswith(">reads"):
        return ()
    return (YES, NO)


def understood(probe: Probe, text: str) -> Reading:
    """A reading as a person writes it.

    Args:
        probe: What was asked.
        text: ``24.1``, ``5.2 kΩ``, ``OL``, ``yes``, ``stands``, ``open``.

    Raises:
        ReadingError: It is not one of the answers, or not a number in a unit of the probe.
    """
    given = " ".join(text.split())
    words = answers(probe)
    if words:
        low = given.lower()
        whole = {"y": YES, "n": NO, "on": YES, "off": NO} if YES in words else {}
        found = [w for w in words if w == whole.get(low, low)] or [w for w in words if low and w.startswith(low)]
        if len(found) != 1:
            raise ReadingError(f"{text!r} is no answer here; say one of: {', '.join(words)}")
        return found[0]
    if probe.slot.endswith(">reads") and given.lower() in ("open", "short", "nothing"):
        return given.lower()
    if probe.kind == "ohms" and given.lower() in _OPEN:
        return math.inf
    units = _SCALE.get(probe.kind, {"": 1.0})
    match = _NUMBER.match(given)
    if match and match[1] not in ("", "+", "-") and match[2] in units:
        value = float(match[1].replace(",", "")) * units[match[2]]
        if probe.kind in ("ohms", "volts AC", "amps AC", "hertz") and value < 0.0:
            raise ReadingError(f"{text!r}: {probe.kind} are never negative; give the size alone")
        return value
    extra = " or OL" if probe.kind == "ohms" else " or open, short, nothing" if probe.slot.endswith(">reads") else ""
    raise ReadingError(
        f"{text!r} is no reading here; give a number, alone or with one of: {', '.join(u for u in units if u)}{extra}"
    )
