"""What people say on the phone, as observations: ``EF-1 does not run``, ``TS-2 reads -40``, ``breaker will not reset``.

A complaint names what is seen and perhaps when; it says nothing of where it was measured. It becomes a look in the
state it speaks of; without a tag it may be about any device of its kind.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from galleyproof.checkout.beliefs import Observation
from galleyproof.checkout.model import Checkout, Probe, Reading
from galleyproof.circuit.behaviours.sensing import COLD_DEGF, NOISE_DEGF
from galleyproof.errors import GalleyproofError


class ComplaintError(GalleyproofError, ValueError):
    """A complaint that cannot be understood; the message says which forms can."""


Slots = tuple[str, ...]
_Subject = tuple[Slots, str]
"""Endings of slots, and how the tags of their devices end."""
_NOT = r"\b(?:does not|do not|did not|will not|won't|doesn't|don't|never)"


@dataclass(frozen=True, slots=True)
class _Form:
    words: str
    pattern: re.Pattern[str]
    slot: Slots
    """Endings of the slots it speaks of."""
    reading: Callable[[re.Match[str]], Reading]
    when: tuple[str, ...]
    """States it speaks of when the complaint names none, by how their keys begin or end."""
    also: tuple[tuple[Reading, tuple[str, ...]], ...] = ()
    """Other readings that the same words may stand for, each in its states."""


def _form(
    words: str,
    pattern: str,
    slot: str | Slots,
    reading: Reading | None,
    *when: str,
    also: tuple[tuple[Reading, tuple[str, ...]], ...] = (),
) -> _Form:
    slots = (slot,) if isinstance(slot, str) else slot
    return _Form(words, re.compile(pattern, re.IGNORECASE), slots, lambda _m: reading or 0.0, when, also)


def _number(match: re.Match[str]) -> Reading:
    said = (match["value"] or match.groupdict().get("word") or match.groupdict().get("state") or "").lower()
    if said in ("open", "ol"):
        return "open"
    if said.startswith("short"):
        return "short"
    value = float(said)
    return value * 1.8 + 32.0 if match["unit"] and match["unit"].upper().endswith("C") else value


_DEGREES = r"(?P<value>[+-]?\d+(?:\.\d+)?)\s*(?P<unit>(?:deg|°)? ?[CF]\b)?"

FORMS = (
    _form(
        "the panel is dead",
        r"\b(panel|controller)\b.*\b(dead|dark|blank|no power|without power)\b|\bno power (at|on|to|in) the panel\b",
        ">reads",
        "nothing",
        "control",
    ),
    _form(
        "alarm without a fire",
        r"\balarm (without|with no|but no)\b|\bfalse alarm\b|"
        r"\b(alarm|horn)\b.*\b(all the time|stays on|keeps|won't (clear|stop)|does not (clear|stop))\b",
        ">alarm",
        "yes",
        "control",
    ),
    _form(
        "FAN does not run (or is dead, stands)",
        rf"{_NOT} (run|turn|start|work|spin|come on)\b|\bnot (running|turning|working|spinning|starting)\b|"
        r"\b(dead|no air|no power|stands)\b",
        ".speed",
        "stands",
        "cooking",
    ),
    _form(
        "FAN stops after some seconds (or cycles on and off)",
        r"\bstops (after|again)\b|\bcycles\b|\bon and off\b|\bstarts and stops\b|\b(drops|cuts) out\b",
        ".speed",
        "stands",
        "released",
        "cooking",
    ),
    _form(
        "FAN runs slowly (or does not speed up)",
        r"\b(runs|turns|stays|stuck) (only )?(slow|slowly|(at|on) (low|minimum|min|least|idle|half)\b)|"
        rf"{_NOT} (speed up|ramp up|go up|come up|get up|(get|come|go) to full|reach full|respond|react)|"
        r"\bnever (speeds up|gets|reaches|comes (up|to))\b|\btoo slow\b|\bat [1-4]?\d ?hz\b|"
        r"\b(weak|little|not enough) (draw|air)",
        ".speed",
        "turns slowly",
        "cooking",
    ),
    _form(
        "FAN turns the wrong way",
        r"\bwrong (way|direction|rotation)\b|\b(backwards?|reverse|reversed)\b|\brotation is wrong\b|"
        r"\bblows (down|out|instead)",
        ".speed",
        "turns the wrong way",
        "cooking",
        "on",
    ),
    _form(
        "FAN is always at full speed (or does not slow down)",
        r"\b(stuck|stays|runs|always|only)\b.*\b(at|on) (full|high|maximum|max|100)\b|\bflat out\b|"
        r"\bat [56]\d ?hz\b|"
        rf"{_NOT} (slow|ramp|go|come) down",
        ".speed",
        "turns at full speed",
        "on",
        "line",
    ),
    _form(
        "FAN does not stop (or runs all the time)",
        rf"{_NOT} (stop|shut off|shut down|turn off|switch off|go off)|\b(all the time|keeps running|all night)\b|"
        r"\b(runs|starts|started) (by itself|on its own|uncalled)|\b(runs|running|came on|on) with\b.*\b(cold|off)\b",
        ".speed",
        "turns at full speed",
        "line",
        "released",
        also=(("turns slowly", ("line",)),),
    ),
    _Form(
        "SENSOR reads NUMBER (or open, short)",
        re.compile(
            r"\b(?:reads?|shows?|displays?|says|indicates)(?: about| only)? "
            rf"(?:{_DEGREES}|(?P<word>open|short(?:ed)?|OL)\b)|\b(?P<state>open|shorted)$",
            re.IGNORECASE,
        ),
        (">reads",),
        _number,
        ("control",),
    ),
    _Form(
        "SENSOR is stuck at NUMBER",
        re.compile(rf"\bstuck (?:at|on) {_DEGREES}", re.IGNORECASE),
        (">reads",),
        _number,
        ("warmed", "cooking"),
    ),
    _form(
        "SENSOR does not react to heat",
        rf"{_NOT} (react|respond|change|move|follow)\b|\bstuck\b",
        ">reads",
        COLD_DEGF,
        "warmed",
        "cooking",
    ),
    _form(
        "SENSOR jumps while a drive runs",
        r"\b(jumps?|jumping|erratic|wild|unsteady|fluctuates?)\b",
        ">reads",
        NOISE_DEGF,
        "on",
        "cooking",
    ),
    _form(
        "FAN hunts",
        r"\b(hunts?|hunting|surges?|surging|jumps?|erratic|unsteady|fluctuates?|up and down)\b",
        ".speed",
        "turns at full speed",
        "on",
        also=(("turns slowly", ("cooking",)),),
    ),
    _form(
        "BREAKER will not reset (or trips)",
        r"\b(will not|won't|does not|doesn't) (reset|hold|stay)|\btrips?\b|\btripped\b",
        ".tripped",
        "yes",
        "line",
        "reset by hand",
        "cooking",
        "on",
    ),
    _form("no alarm in a release", r"\bno alarm\b", ".on", "no", "released"),
    _form(
        "the drive's display is dark",
        r"\bdisplay\b.*\b(dark|dead|blank)\b|\bno display\b|\b(dead|blank|no power)\b",
        ".display",
        "dark",
        "line",
        "on",
    ),
    _form(
        "the drive shows a fault",
        r"\bfault(s|ed)?\b|\b(trips?|tripped|error)\b|\b(over-?current|under-?voltage|over-?voltage|phase loss)\b",
        ".display",
        "fault",
        "on",
        "cooking",
        "line",
    ),
    _form(
        "the drive is in local",
        r"\b(in|says|shows|at) (local|hand|manual)\b|\bfrom (the |its )?keypad\b",
        ".display",
        "in local",
        "on",
        "cooking",
    ),
    _form(
        "the drive shows stop",
        r"\b(shows|says|display|stays|is|at)\b.*\b(stop|stopped|ready|standby|0 ?hz)\b",
        ".display",
        "stopped",
        "on",
        "cooking",
    ),
    _form(
        "LINK is not on line",
        r"\bnot on ?line\b|\boff ?line\b|\b(does(n't| not)|not) (answer|communicat|respond|show up)|"
        r"\bno (comms?|communication)\b|\b(comms?|communication)\b.*\b(lost|down|fail|error|intermittent|drops)|"
        r"\bdrops (out|off)\b|\b(can't|cannot|does not) see\b|\btimes? out\b|\bdead\b",
        ".online",
        "no",
        "line",
    ),
    _form(
        "LIGHTS stay dark (or flicker)",
        rf"\b(stays?|are|is|lights?) (dark|off|out|dead|dim)\b|{_NOT} (light|come on|work|turn on|burn)|"
        r"\bno lights?\b|\bnot (on|working|lit)\b|\b(dim|dead|flickers?|flickering)\b",
        ".on",
        "no",
        "on",
    ),
    _form(
        "LIGHTS stay on",
        rf"\bstays? (lit|on)\b|{_NOT} (go|turn|switch) (off|out)\b|"
        r"\b(always on|keeps? burning|(burn|burning|on) all)\b",
        ".on",
        "yes",
        "line",
        "released",
    ),
    _form("VALVE does not open", r"\b(does not|won't|will not|doesn't) open", ".open", "no", "cooking", "line"),
    _form("VALVE does not shut", r"\b(does not|won't|will not|doesn't) (shut|close)", ".open", "yes", "released"),
    _form(
        "APPLIANCE comes back by itself",
        r"\b(comes?|came|goes) (back|on) by itself|\breopens\b",
        (".on", ".open"),
        "yes",
        "nothing pressed",
        "outage and back",
    ),
    _form("FAN trips", r"\btrips?\b|\btripped\b", ".speed", "stands", "cooking", "on"),
)
"""In the order in which they are tried."""

_SUBJECTS: tuple[tuple[str, Slots, str], ...] = (
    (r"\b(fans?|motors?|blowers?|exhaust|make-?up|supply air|speed)\b", (".speed",), ""),
    (r"\b(lights?|lamps?|fixtures?)\b", (".on",), r"-E\d+$"),
    (r"\b(sensors?|thermistors?|rtds?|temperatures?)\b", (">reads",), ""),
    (r"\b(drives?|vfds?|inverters?)\b", (".display",), ""),
    (r"\b(breakers?)\b", (".tripped",), ""),
    (r"\b(valves?|gas|dampers?)\b", (".open", ".on"), ""),
    (r"\b(link|trunk|comms?|communication|bms|bas|building system)\b", (".online",), ""),
)
"""Words for a kind of device, the endings of its slots, and how its tags end where that matters."""

_OF_DRIVE = r"\b(drives?|vfds?|inverters?|keypad|hand|local|manual)\b"

_WHEN: Mapping[str, tuple[str, ...]] = {
    r"\b(in (a |the )?(fire|release)|released)\b": ("released",),
    r"\b(after (an |the )?outage|power (comes )?back)\b": ("outage and back", "lost and back"),
    r"\b(switch(es)? off|at night|with nothing on)\b": ("line",),
    r"\b(switch(es)? on)\b": ("on",),
    r"\b(when cooking|while cooking|heat)\b": ("cooking",),
    r"\b(when|while)(ever)? (a |the )?(fan|drive|motor)s? (runs?|is running|starts)\b": ("on", "cooking"),
    r"\b(re-?armed|after (a |the )?reset)\b": ("nothing pressed", "reset by hand"),
}


def complaint(checkout: Checkout, text: str) -> Observation:
    """An observation from what a person says.

    Args:
        checkout: All possible probes.
        text: The complaint.

    Raises:
        ComplaintError: No form fits, or nothing in this job is meant.
    """
    said = " ".join(text.split())
    for subject in _subjects(checkout, said):
        for form in FORMS:
            match = form.pattern.search(said)
            if match:
                found = tuple(_meant(checkout, form, match, said, subject))
                if found:
                    return Observation(found, said)
    forms = "; ".join(f.words for f in FORMS)
    raise ComplaintError(f"{said!r} is no complaint that can be followed up here; say it like one of these: {forms}")


def _named(checkout: Checkout, said: str) -> frozenset[str]:
    """Tags that a complaint names."""
    tags = {p.about for p in checkout.probes}
    return frozenset(t for t in tags if re.search(rf"(?<![\w/-]){re.escape(t)}(?![\w/-])", said))


def _subjects(checkout: Checkout, said: str) -> list[_Subject | None]:
    """What a complaint may be about, the first word for a kind of device first; None where anything may be."""
    if _named(checkout, said):
        return [None]
    found = []
    for pattern, slots, tags in _SUBJECTS:
        match = re.search(pattern, said, re.IGNORECASE)
        if match:
            # the breaker of a fan is a breaker
            found.append((-1 if slots == (".tripped",) else match.start(), slots, tags))
    return [(slots, tags) for _, slots, tags in sorted(found)] or [None]


def _meant(
    checkout: Checkout, form: _Form, match: re.Match[str], said: str, subject: _Subject | None
) -> Iterator[tuple[int, Reading]]:
    spoken = next((states for pattern, states in _WHEN.items() if re.search(pattern, said, re.IGNORECASE)), ())
    named = _named(checkout, said)
    about = [p for p in checkout.probes if p.kind in ("look", "display") and p.slot.endswith(form.slot)]
    of_drive = form.slot == (".display",) and re.search(_OF_DRIVE, said, re.IGNORECASE)
    if of_drive and not any(p.about in named for p in about):
        # somebody who names the fan speaks of its drive
        named = frozenset()
    readings = [(form.reading(match), form.when), *form.also]
    for i, probe in enumerate(checkout.probes):
        if probe.kind not in ("look", "display") or not probe.slot.endswith(form.slot):
            continue
        if named and probe.about not in named:
            continue
        if subject and not (probe.slot.endswith(subject[0]) and re.search(subject[1], probe.about)):
            continue
        for n, (reading, states) in enumerate(readings):
            when = states if not spoken else spoken if n == 0 else tuple(s for s in states if s in spoken)
            if _in(probe, when):
                yield i, reading


def _in(probe: Probe, states: tuple[str, ...]) -> bool:
    return any(probe.preparation == s or probe.preparation.endswith(f" {s}") for s in states)
