"""What a log of readings says now: which entries stand, where two disagree, what the diagnosis takes, how far it got.

A repair starts a new chapter: what was read before it no longer speaks of the installation as it is.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from galleyproof.checkout.log import COMPLAINT, REPAIR, SPOKEN, Entry, in_order
from galleyproof.checkout.model import Checkout, Probe, Reading, Stage
from galleyproof.checkout.words import ReadingError, understood
from galleyproof.errors import InputError, Problem
from galleyproof.yamltext import hint

if TYPE_CHECKING:
    from galleyproof.checkout.beliefs import Observation
    from galleyproof.checkout.plan import Plan

OPEN_OHM = 1e6
"""A meter may show more than this as an open circuit. [ohm]"""


@dataclass(frozen=True, slots=True)
class Conflict:
    """Readings of one probe that do not agree.

    Attributes:
        probe: What was read.
        entries: The entries that stand, in their order.
    """

    probe: Probe
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class StageProgress:
    """How far one stage of the plan is.

    Attributes:
        stage: Which one.
        planned: Readings the plan asks for. [-]
        within: Read, and as expected. [-]
        beyond: Read, and not as expected, or read in ways that do not agree. [-]
    """

    stage: Stage
    planned: int
    within: int
    beyond: int

    @property
    def read(self) -> int:
        """Readings taken. [-]."""
        return self.within + self.beyond

    @property
    def done(self) -> bool:
        """Whether everything is read and as expected."""
        return self.within == self.planned


def standing(entries: Iterable[Entry]) -> dict[str, tuple[Entry, ...]]:
    """Probe -> entries that stand: nobody replaced them and they are more than the taking back of another one.

    An entry counts as replaced when one of the same probe of the same job names it; entries that replace each other in
    a ring all stand.

    Args:
        entries: The log.
    """
    ordered = in_order(entries)
    replaced = _replaced({e.id: e for e in ordered})
    found: dict[str, list[Entry]] = {}
    for entry in ordered:
        if entry.id not in replaced and not entry.takes_back:
            found.setdefault(entry.probe, []).append(entry)
    return {probe: tuple(own) for probe, own in found.items()}


def _replaced(by_id: Mapping[str, Entry]) -> set[str]:
    target = {}
    for entry in by_id.values():
        other = by_id.get(entry.replaces or "")
        if other is not None and other.probe == entry.probe and other.job == entry.job:
            target[entry.id] = other.id
    ring: set[str] = set()
    walked: set[str] = set()
    for start in target:
        path: list[str] = []
        at: str | None = start
        while at is not None and at not in walked:
            walked.add(at)
            path.append(at)
            at = target.get(at)
        if at in path:
            ring.update(path[path.index(at) :])
    return {other for entry, other in target.items() if entry not in ring}


def chapters(entries: Iterable[Entry]) -> dict[str, int]:
    """Id of each entry -> number of repairs before it. [-].

    Args:
        entries: The log.
    """
    ordered = in_order(entries)
    repairs = {e.id for e in standing(ordered).get(REPAIR, ())}
    found = {}
    n = 0
    for entry in ordered:
        found[entry.id] = n
        n += entry.id in repairs
    return found


def usable(entries: Iterable[Entry], checkout: Checkout) -> tuple[tuple[tuple[Entry, Observation], ...], list[Problem]]:
    """Standing readings and complaints as the diagnosis takes them, in their order, and what cannot be used.

    Args:
        entries: The log.
        checkout: All possible probes of the job.
    """
    from galleyproof.checkout.beliefs import Observation  # takes a while to load: arithmetic on arrays
    from galleyproof.checkout.complaints import ComplaintError, complaint

    at = {p.key: i for i, p in enumerate(checkout.probes)}
    found: list[tuple[Entry, Observation]] = []
    problems: list[Problem] = []
    stand = {e.id for own in standing(entries).values() for e in own}
    for entry in in_order(entries):
        if entry.id not in stand or (entry.probe in SPOKEN and entry.probe != COMPLAINT):
            continue
        where = f"reading of {entry.taken_at} by {entry.by}"
        try:
            if entry.probe == COMPLAINT:
                found.append((entry, complaint(checkout, entry.read)))
            elif entry.probe in at:
                probe = at[entry.probe]
                found.append((entry, Observation(((probe, understood(checkout.probes[probe], entry.read)),))))
            else:
                what = f"there is no probe {entry.probe!r} in this job{hint(entry.probe, at)}"
                problems.append(Problem(entry.job_name, 0, where, what))
        except (ComplaintError, ReadingError) as error:
            problems.append(Problem(entry.job_name, 0, where, str(error)))
    return tuple(found), problems


def observations(entries: Iterable[Entry], checkout: Checkout) -> tuple[Observation, ...]:
    """What the diagnosis takes: readings and complaints that stand, from the last repair on, in their order.

    Args:
        entries: The log.
        checkout: All possible probes of the job.

    Raises:
        InputError: With every entry that is not of this job or cannot be understood.
    """
    log = tuple(entries)
    found, problems = usable(log, checkout)
    if problems:
        raise InputError(problems)
    chapter = chapters(log)
    last = len(standing(log).get(REPAIR, ()))
    return tuple(o for e, o in found if chapter[e.id] == last)


def conflicts(entries: Iterable[Entry], checkout: Checkout) -> tuple[Conflict, ...]:
    """Probes where two readings that stand differ by more than their meters explain, in the order of the probes.

    Args:
        entries: The log; what cannot be understood is left out.
        checkout: All possible probes of the job.
    """
    log = tuple(entries)
    chapter = chapters(log)
    by_probe: dict[int, list[tuple[Entry, Reading]]] = {}
    for entry, seen in usable(log, checkout)[0]:
        if not seen.text:
            at, reading = seen.either[0]
            by_probe.setdefault(at, []).append((entry, reading))
    found = []
    for i, own in sorted(by_probe.items()):
        probe = checkout.probes[i]
        odd = [
            e.id
            for e, r in own
            if any(chapter[o.id] == chapter[e.id] and not agree(probe, (e, r), (o, other)) for o, other in own)
        ]
        if odd:
            found.append(Conflict(probe, tuple(e for e, _ in own if e.id in odd)))
    return tuple(found)


def agree(probe: Probe, one: tuple[Entry, Reading], other: tuple[Entry, Reading]) -> bool:
    """Whether two readings of one probe may be one truth read with two meters.

    Args:
        probe: What was read.
        one: An entry and its reading in the probe's unit.
        other: Another.
    """
    from galleyproof.checkout.doubts import GHOST_V  # as above
    from galleyproof.checkout.signatures import margin

    (a, x), (b, y) = one, other
    if isinstance(x, str) or isinstance(y, str):
        return x == y
    if math.isinf(x) or math.isinf(y):
        return x == y or (probe.kind == "ohms" and min(x, y) > OPEN_OHM)
    if abs(x - y) <= max(margin(probe.kind, x), margin(probe.kind, y)):
        return True
    low = [e.meter.low_impedance for e in (a, b) if e.meter is not None]
    # what a raceway couples in shows on an ordinary meter and is gone on a low-impedance one
    return probe.kind == "volts AC" and len(set(low)) == 2 and any(GHOST_V[0] <= v <= GHOST_V[1] for v in (x, y))


def progress(entries: Iterable[Entry], checkout: Checkout, plan: Plan) -> tuple[StageProgress, ...]:
    """How far the plan is, stage by stage, those without readings left out.

    The last reading that stands counts; one out of tolerance from before a repair has to be read again.

    Args:
        entries: The log; what cannot be understood is left out.
        checkout: All possible probes of the job.
        plan: The plan.
    """
    log = tuple(entries)
    chapter = chapters(log)
    last = len(standing(log).get(REPAIR, ()))
    at = {p.key: i for i, p in enumerate(checkout.probes)}
    latest: dict[int, tuple[Entry, Reading]] = {}
    for entry, seen in usable(log, checkout)[0]:
        if not seen.text:
            latest[seen.either[0][0]] = (entry, seen.either[0][1])
    torn = {at[c.probe.key] for c in conflicts(log, checkout) if chapter[c.entries[-1].id] == last}
    found = []
    for stage in Stage:
        planned = [(at[r.probe.key], r.expected) for r in plan.readings if r.probe.stage is stage]
        within = beyond = 0
        for probe, expected in planned:
            if probe in latest:
                entry, reading = latest[probe]
                right = expected.holds(reading)
                if right and probe not in torn:
                    within += 1
                elif chapter[entry.id] == last:
                    beyond += 1
        if planned:
            found.append(StageProgress(stage, len(planned), within, beyond))
    return tuple(found)


def signed_after(entries: Sequence[Entry], signature: Entry) -> tuple[Entry, ...]:
    """Entries made after a signature, which it does not cover.

    Args:
        entries: The log.
        signature: One of its entries.
    """
    ordered = in_order(entries)
    return ordered[ordered.index(signature) + 1 :]
