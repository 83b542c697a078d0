"""Readings in words and words into readings."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from galleyproof.checkout.model import Expectation, Probe, Reading
from galleyproof.errors import GalleyproofError

YES, NO = "yes", "no"
_NUMBER = re.compile(r"^([+-]?(?:[0-9]{1,3}(?:,[0-9]{3})+|[0-9]*)(?:\.[0-9]+)?)\s*(.*)$")
_NEARLY = re.compile(
    r"^(?:about|approximately|approx\.?|around|roughly|nearly|almost|ghost|ca\.?|~|<)\s*", re.IGNORECASE
)
_BETWEEN = re.compile(r"^([0-9]+(?:\.[0-9]+)?)\s*(?:-|–|to)\s*([0-9]+(?:\.[0-9]+)?)\s*([^0-9]*)$", re.IGNORECASE)
_ABOVE = re.compile(r"^(?:>|more than|above|over)\s*", re.IGNORECASE)
_SCALE = {
    "ohms": {
        "": 1.0,
        "ohm": 1.0,
        "ohms": 1.0,
        "Ω": 1.0,
        "kohm": 1e3,
        "kΩ": 1e3,
        "k": 1e3,
        "Mohm": 1e6,
        "MΩ": 1e6,
        "M": 1e6,
    },
    "volts AC": {"": 1.0, "V": 1.0, "VAC": 1.0, "V AC": 1.0, "mV": 1e-3},
    "volts DC": {"": 1.0, "V": 1.0, "VDC": 1.0, "V DC": 1.0, "mV": 1e-3},
    "amps AC": {"": 1.0, "A": 1.0, "amps": 1.0, "mA": 1e-3},
    "hertz": {"": 1.0, "Hz": 1.0, "kHz": 1e3},
    "display": {"": 1.0, "degF": 1.0, "°F": 1.0, "F": 1.0},
}
LIKE_OPEN = (
    "ol", "open", "o.l", "o.l.", "inf", "infinity", "infinite", "overload", "over limit", "over range", "out of range",
    "open circuit", "open line", "open loop", "open (ol)", "no continuity", "ovld", "ol ω", "ol kω", "ol mω", "ol mohm",
)  # fmt: skip
"""What people write for ohms that are none."""
LIKE_NONE: Mapping[str, tuple[str, ...]] = {
    "ohms": ("short", "shorted", "dead short", "short circuit", "continuity", "beeps", "zero"),
    "volts AC": ("dead", "nothing", "none", "zero", "no volts", "no voltage"),
    "volts DC": ("dead", "nothing", "none", "zero", "no volts", "no voltage", "no signal"),
    "amps AC": ("dead", "nothing", "none", "zero", "no amps", "no current"),
    "hertz": ("nothing", "none", "zero", "no pulses"),
}
"""What people write for 0."""
UNITS_AS_WELL: Mapping[str, Mapping[str, float]] = {
    "ohms": {"kohms": 1e3, "k ohm": 1e3, "k ohms": 1e3, "kilohm": 1e3, "kilohms": 1e3, "meg": 1e6, "megohm": 1e6,
             "megohms": 1e6},
    "volts AC": {"volt": 1.0, "volts": 1.0, "volts ac": 1.0, "millivolts": 1e-3},
    "volts DC": {"volt": 1.0, "volts": 1.0, "volts dc": 1.0, "millivolts": 1e-3},
    "amps AC": {"amp": 1.0, "ampere": 1.0, "amperes": 1.0, "a ac": 1.0, "aac": 1.0},
    "hertz": {"hertz": 1.0, "cycles": 1.0},
    "display": {"deg": 1.0, "degrees": 1.0, "deg f": 1.0, "degrees f": 1.0, "fahrenheit": 1.0},
}  # fmt: skip
"""Units in small letters that are understood beside those offered."""
CELSIUS = ("°c", "c", "degc", "deg c", "degrees c", "celsius")
OPEN_FROM_OHM = 1e6
"""Above this ohms that are only bounded from below are an open circuit. [ohm]"""
LOOKS = {
    ".display": ("dark", "stopped", "runs", "in local", "fault"),
    ".speed": ("stands", "turns slowly", "turns at full speed", "turns the wrong way"),
    ".dial": ("as drawn", "low", "high"),
}


def _all(said: str, answer: str) -> dict[str, str]:
    return dict.fromkeys(said.split("|"), answer)


AS_GOOD_AS: Mapping[str, Mapping[str, str]] = {
    ".speed": {
        **_all("off|stopped|dead|still|hums|not running|not turning|does not run", "stands"),
        **_all("slow|slowly|low|low speed|half speed|runs slowly|minimum|min", "turns slowly"),
        **_all("full|full speed|fast|maximum|max|flat out", "turns at full speed"),
        **_all("wrong way|backwards|backward|reverse|reversed", "turns the wrong way"),
    },
    ".display": {
        **_all("blank|dead|off|black", "dark"),
        **_all("stop|ready|standby", "stopped"),
        **_all("running|run", "runs"),
        **_all("local|hand|keypad|manual", "in local"),
        **_all("faulted|tripped|trip|error|overcurrent|undervoltage|overvoltage|overload|phase loss", "fault"),
    },
    ".dial": {"right": "as drawn", "ok": "as drawn", "too low": "low", "too high": "high"},
    ".on": {"lit": YES, "works": YES, **_all("dark|dead|out|dim|flickers|does not work", NO)},
    ".open": {"open": YES, "shut": NO, "closed": NO},
    ".tripped": {"tripped": YES, "middle": YES, "in the middle": YES, "closed": NO, "on": NO},
    ".online": {"online": YES, "offline": NO, "dead": NO},
    ">reads": {"ol": "open", "open circuit": "open", "shorted": "short", "short circuit": "short", "blank": "nothing",
               "dead": "nothing"},
}  # fmt: skip
"""Ending of a slot -> what people say -> the answer it stands for."""


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
    low = given.lower()
    words = answers(probe)
    alike = next((own for ending, own in AS_GOOD_AS.items() if probe.slot.endswith(ending)), {})
    if words:
        whole = {"y": YES, "n": NO, "on": YES, "off": NO} if YES in words else {}
        found = [w for w in words if w == {**whole, **alike}.get(low, low)] or [
            w for w in words if low and w.startswith(low)
        ]
        if len(found) != 1:
            raise ReadingError(f"{text!r} is no answer here; say one of: {', '.join(words)}")
        return found[0]
    if probe.slot.endswith(">reads") and alike.get(low, low) in ("open", "short", "nothing"):
        return alike.get(low, low)
    if probe.kind == "ohms" and low in LIKE_OPEN:
        return math.inf
    if low in LIKE_NONE.get(probe.kind, ()):
        return 0.0
    units = _SCALE.get(probe.kind, {"": 1.0})
    value = _number(probe.kind, given)
    if value is not None:
        if probe.kind in ("ohms", "volts AC", "amps AC", "hertz") and value < 0.0:
            raise ReadingError(f"{text!r}: {probe.kind} are never negative; give the size alone")
        return value
    extra = " or OL" if probe.kind == "ohms" else " or open, short, nothing" if probe.slot.endswith(">reads") else ""
    raise ReadingError(
        f"{text!r} is no reading here; give a number, alone or with one of: {', '.join(u for u in units if u)}{extra}"
    )


def _number(kind: str, given: str) -> float | None:
    """A number with its unit: ``24.1``, ``about 24 v``, ``23 to 25 V``, ``> 20 Mohm``; None when it is none."""
    above = _ABOVE.match(given)
    rest = given[above.end() :] if above else _NEARLY.sub("", given)
    between = _BETWEEN.match(rest)
    if between:
        scaled = _scaled(kind, between[3].strip(), 0.5 * (float(between[1]) + float(between[2])))
    else:
        match = _NUMBER.match(rest)
        if match is None or match[1] in ("", "+", "-"):
            return None
        scaled = _scaled(kind, match[2], float(match[1].replace(",", "")))
    # the end of a meter's scale is no value
    return math.inf if scaled is not None and above and kind == "ohms" and scaled >= OPEN_FROM_OHM else scaled


def _scaled(kind: str, unit: str, value: float) -> float | None:
    """A value in the unit of its kind; None for a unit that is not of it. Only m and M are told apart by their size."""
    units = _SCALE.get(kind, {"": 1.0})
    low = unit.lower()
    if unit in units:
        return value * units[unit]
    if low in UNITS_AS_WELL.get(kind, {}):
        return value * UNITS_AS_WELL[kind][low]
    if kind == "display" and low in CELSIUS:
        return value * 1.8 + 32.0
    found = [] if unit[:1] in ("m", "M") else [f for u, f in units.items() if u.lower() == low]
    return value * found[0] if found else None
