"""What people say on the phone, as observations: ``EF-1 does not run``, ``TS-2 reads -40``, ``breaker will not reset``.

A complaint names what is seen and perhaps when; it says nothing of where it was measured. It becomes a look in the
state it speaks of; without a tag or a name it may be about any device of its kind.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from galleyproof.checkout.beliefs import Observation
from galleyproof.checkout.called import NAMES, Thing
from galleyproof.checkout.forms import FORMS, VALUE, Form, Says
from galleyproof.checkout.model import Checkout, Probe, Reading
from galleyproof.errors import GalleyproofError


class ComplaintError(GalleyproofError, ValueError):
    """A complaint that cannot be understood; the message says which forms can."""


_FIRE = r"fire|release|trip test|fire test|discharge"
_WHEN: Mapping[str, tuple[str, ...]] = {
    rf"\b(in|during|on|at) (a |an |the )?({_FIRE})\b|(?<!nothing )(?<!not )\breleased\b|"
    r"\bwhen (it|the (system|suppression|pull station|hood system|fire switch)) (is |was )?(pulled|dumps|fires|trips|"
    r"goes off)\b": ("released",),
    r"\b(after|following) (an |a |the )?(outage|power (failure|loss|cut)|blackout)|\bpower (comes )?(back|returns)\b": (
        "outage and back",
        "lost and back",
    ),
    r"\b(switch(es)? (is |are )?off|at night|with nothing on|(hood|fan|exhaust|it) (is|was) off|when off|"
    r"without (the )?(exhaust|hood|fan))\b": ("line",),
    r"\b(switch(es)? (is |are )?on|(hood|fan|exhaust) (is|was) on|cold hood)\b": ("on",),
    r"\b((when|while) cooking|(under|with|in) heat)\b": ("cooking",),
    r"\b(when|while)(ever)? (a |the )?(fan|drive|motor)s? (runs?|is running|starts)\b": ("on", "cooking"),
    r"\bre-?armed\b": ("nothing pressed", "reset by hand"),
    r"\bafter (a |the )?reset\b": ("reset by hand",),
}
DIALS = {"low": "low", "small": "low", "high": "high", "large": "high"}
_CLAUSES = re.compile(r"\s*[,;]\s*|\s+(?:and|but)\s+", re.IGNORECASE)


def complaint(checkout: Checkout, text: str) -> Observation:
    """An observation from what a person says.

    Args:
        checkout: All possible probes.
        text: The complaint.

    Raises:
        ComplaintError: No form fits, or nothing in this job is meant.
    """
    said = " ".join(text.replace("\u2019", "'").split())
    for part in dict.fromkeys((*_CLAUSES.split(said), said)):
        found = _understood(checkout, part, said)
        if found:
            return Observation(found, said)
    forms = "; ".join(f.words for f in FORMS)
    raise ComplaintError(f"{said!r} is no complaint that can be followed up here; say it like one of these: {forms}")


def _understood(checkout: Checkout, part: str, said: str) -> tuple[tuple[int, Reading], ...]:
    """What a clause says; its subject and its state may stand in the whole sentence only."""
    when, rest = _state(part)
    when = when or _state(said)[0]
    for form in FORMS:
        match = form.pattern.search(rest)
        if match is None or (form.states and when is None):
            continue
        # the subject stands before its verb, or somewhere in the clause, or in another clause
        abouts = [_about(checkout, text) for text in (rest[: match.start()], rest, said)]
        if form.names and not any(abouts):
            continue
        for about in [a for a in abouts if a is not None] or abouts[:1]:
            found = tuple(dict.fromkeys(_meant(checkout, form, match, form.at or when, about)))
            if found:
                return found
    return ()


def _state(part: str) -> tuple[tuple[str, ...] | None, str]:
    """States a clause names, and the clause without them: a hood that is off is then no complaint."""
    for pattern, states in _WHEN.items():
        match = re.search(pattern, part, re.IGNORECASE)
        if match:
            return states, f"{part[: match.start()]} {part[match.end() :]}"
    return None, part


# who is meant ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _About:
    """Tags of what a sentence is about.

    Attributes:
        tags: What is seen.
        guards: The breakers and overloads of that.
    """

    tags: frozenset[str]
    guards: frozenset[str]


def _about(checkout: Checkout, said: str) -> _About | None:
    known = {p.about for p in checkout.probes} | {t.tag for t in checkout.things}
    tags = {tag for tag in known if _has_tag(said, tag)}
    if tags:
        return _of([t for t in checkout.things if t.tag in tags], tags)
    named = _named(checkout, said)
    return _of([t for t in checkout.things if named.intersection(t.names)], set()) if named else None


def _of(meant: Iterable[Thing], tags: set[str]) -> _About:
    things = list(meant)
    seen = frozenset({*tags, *(s for t in things for s in t.shown_by)})
    return _About(seen, frozenset(g for t in things for g in t.guards))


def _has_tag(said: str, tag: str) -> bool:
    if not tag or _bare(tag) not in _bare(said):
        return False
    plain = re.escape(tag).replace(r"\-", "[- ]?")
    return bool(re.search(rf"(?<![\w/-]){plain}(?![\w/-])", said, re.IGNORECASE))


def _bare(text: str) -> str:
    return text.lower().replace("-", "").replace(" ", "")


def _named(checkout: Checkout, said: str) -> set[str]:
    """Names that are said, the longest first: a supply fan is not just any fan."""
    left = re.sub(r"\bmake[- ]?up\b", "make-up", said.lower())
    # a place or a state is no subject
    left = re.sub(r"\b(fire|light|fan|wall) switch(es)?\b|\bhood (is|was) (on|off)\b|\bcold hood\b", " ", left)
    found: set[str] = set()
    # also of what this job has not: lights that flicker where there are none are nobody else's
    for name in sorted({n for t in checkout.things for n in t.names} | NAMES, key=lambda n: (-len(n), n)):
        pattern = rf"\b{re.escape(name)}(e?s)?\b"
        if name in left and re.search(pattern, left):
            left = re.sub(pattern, " ", left)
            found.add(name)
    return found


# what is meant --------------------------------------------------------------------------------------------------


def _meant(
    checkout: Checkout, form: Form, match: re.Match[str], when: tuple[str, ...] | None, about: _About | None
) -> Iterator[tuple[int, Reading]]:
    lights = {t.tag for t in checkout.things if t.lights}
    for says in form.says:
        readings = _readings(says, match)
        called = {s for t in checkout.things if {*says.called} & {*t.names} for s in (t.tag, *t.shown_by)}
        found = False
        for i, probe in enumerate(checkout.probes):
            if probe.kind not in ("look", "display") or not probe.slot.endswith(says.slot):
                continue
            if about is not None and not _fits(probe, says, about):
                continue
            if checkout.things and says.lights is not None and (probe.about in lights) != says.lights:
                continue
            if says.called and probe.about not in called:
                continue
            if when and says.only and not _in(probe, says.when):
                continue
            if _in(probe, when or says.when):
                found = True
                yield from ((i, r) for r in readings)
        # nobody in particular is meant: the first kind of device that there is
        if found and about is None:
            return


def _fits(probe: Probe, says: Says, about: _About) -> bool:
    if says.whole:
        return True
    return probe.about in (about.guards | about.tags if says.guards else about.tags)


def _readings(says: Says, match: re.Match[str]) -> tuple[Reading, ...]:
    if says.readings != (VALUE,):
        return says.readings
    said = match.groupdict()
    value = (said["value"] or said.get("word") or said.get("state") or "").lower()
    if value in ("open", "ol", "nothing") or value.startswith("short"):
        return ("open" if value == "ol" else "short" if value.startswith("short") else value,)
    if value in DIALS:
        return (DIALS[value],)
    unit = (said["unit"] or "").upper()
    return (float(value) * 1.8 + 32.0 if unit.endswith("C") else float(value),)


def _in(probe: Probe, when: tuple[str, ...]) -> bool:
    return any(probe.preparation == s or probe.preparation.endswith(f" {s}") for s in when)
