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
from galleyproof.errors import GalleyproofError


class ComplaintError(GalleyproofError, ValueError):
    """A complaint that cannot be understood; the message says which forms can."""


@dataclass(frozen=True, slots=True)
class _Form:
    words: str
    pattern: re.Pattern[str]
    slot: str
    """Ending of the slots it speaks of."""
    reading: Callable[[re.Match[str]], Reading]
    when: tuple[str, ...]
    """States it speaks of when the complaint names none, by how their keys begin or end."""


def _form(words: str, pattern: str, slot: str, reading: Reading | None, *when: str) -> _Form:
    return _Form(words, re.compile(pattern, re.IGNORECASE), slot, lambda _m: reading or 0.0, when)


def _number(match: re.Match[str]) -> Reading:
    said = match["value"].lower()
    return said if said in ("open", "short") else float(said)


FORMS = (
    _form(
        "FAN does not run", r"\b(does not|won't|will not|doesn't|never) (run|turn|start)", ".speed", "stands", "cooking"
    ),
    _form("FAN stops after some seconds", r"\bstops after\b", ".speed", "stands", "released", "cooking"),
    _form("FAN runs slowly", r"\b(runs|turns|stays) (slow|slowly|at low speed)", ".speed", "turns slowly", "cooking"),
    _form(
        "FAN turns the wrong way",
        r"\b(wrong way|backwards|reverse|reversed)\b",
        ".speed",
        "turns the wrong way",
        "cooking",
        "on",
    ),
    _form(
        "FAN does not stop (or runs all the time)",
        r"\b(does not|won't|will not|doesn't|never) stop|\b(all the time|keeps running)\b",
        ".speed",
        "turns at full speed",
        "line",
        "released",
    ),
    _Form(
        "SENSOR reads NUMBER (or open, short)",
        re.compile(r"\breads? (?P<value>[+-]?\d+(?:\.\d+)?|open|short)", re.IGNORECASE),
        ">reads",
        _number,
        ("control",),
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
    _form("alarm without a fire", r"\balarm (without|with no|but no)\b|\bfalse alarm\b", ">alarm", "yes", "control"),
    _form("no alarm in a release", r"\bno alarm\b", ".on", "no", "released"),
    _form(
        "the drive's display is dark",
        r"\bdisplay\b.*\b(dark|dead|blank)\b|\bno display\b",
        ".display",
        "dark",
        "line",
        "on",
    ),
    _form("the drive is in local", r"\bin (local|hand)\b", ".display", "in local", "on", "cooking"),
    _form("LINK is not on line", r"\bnot on ?line\b|\boffline\b|\bdoes(n't| not) answer\b", ".online", "no", "line"),
    _form("LIGHTS stay dark", r"\b(stays?|are|is) (dark|off)\b|\bdo(es)? not (light|come on)", ".on", "no", "on"),
    _form("LIGHTS stay on", r"\bstays? (lit|on)\b|\bdo(es)? not go (off|out)", ".on", "yes", "line", "released"),
    _form("VALVE does not open", r"\b(does not|won't|will not|doesn't) open", ".open", "no", "cooking", "line"),
    _form("VALVE does not shut", r"\b(does not|won't|will not|doesn't) (shut|close)", ".open", "yes", "released"),
    _form(
        "APPLIANCE comes back by itself",
        r"\b(comes?|came|goes) (back|on) by itself|\breopens\b",
        "",
        "yes",
        "nothing pressed",
        "outage and back",
    ),
)
"""In the order in which they are tried."""

_WHEN: Mapping[str, tuple[str, ...]] = {
    r"\b(in (a |the )?(fire|release)|released)\b": ("released",),
    r"\b(after (an |the )?outage|power (comes )?back)\b": ("outage and back", "lost and back"),
    r"\b(switch(es)? off|at night|with nothing on)\b": ("line",),
    r"\b(switch(es)? on)\b": ("on",),
    r"\b(when cooking|while cooking|heat)\b": ("cooking",),
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
    for form in FORMS:
        match = form.pattern.search(said)
        if match:
            found = tuple(_meant(checkout, form, match, said))
            if found:
                return Observation(found, said)
    forms = "; ".join(f.words for f in FORMS)
    raise ComplaintError(f"{said!r} is no complaint that can be followed up here; say it like one of these: {forms}")


def _meant(checkout: Checkout, form: _Form, match: re.Match[str], said: str) -> Iterator[tuple[int, Reading]]:
    when = next((states for pattern, states in _WHEN.items() if re.search(pattern, said, re.IGNORECASE)), form.when)
    named = {p.about for p in checkout.probes if re.search(rf"(?<![\w/-]){re.escape(p.about)}(?![\w/-])", said)}
    for i, probe in enumerate(checkout.probes):
        if probe.kind not in ("look", "display") or not probe.slot.endswith(form.slot):
            continue
        if named and probe.about not in named:
            continue
        if _in(probe, when):
            yield i, form.reading(match)


def _in(probe: Probe, states: tuple[str, ...]) -> bool:
    return any(probe.preparation == s or probe.preparation.endswith(f" {s}") for s in states)
