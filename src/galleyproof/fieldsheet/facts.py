"""Everything a field sheet says of its job, as plain data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from galleyproof.checkout.beliefs import (
    ALL_RIGHT,
    LEAST_PULSES_HZ,
    MISREAD,
    OFF_SCALE_DEGF,
    SECOND_SLIP,
    STRAY,
    SURE,
    TWO_SLIPS,
    UNEXPLAINED,
)
from galleyproof.checkout.diagnosis import ALIKE, HAZARD_MINUTES, LEAST_BITS, MOST_TIMES, where
from galleyproof.checkout.doubts import GHOST_V, LEAST_AMPS, NOTHING, WORTH_ASKING
from galleyproof.checkout.log import MOST_ENTRIES, MOST_READ
from galleyproof.checkout.model import CAUTIONS, Checkout, Stage
from galleyproof.checkout.plan import Plan
from galleyproof.checkout.signatures import Signatures
from galleyproof.checkout.standing import OPEN_OHM
from galleyproof.checkout.words import (
    AS_GOOD_AS,
    CELSIUS,
    LIKE_NONE,
    LIKE_OPEN,
    OPEN_FROM_OHM,
    UNITS_AS_WELL,
    answers,
    said,
    said_range,
)
from galleyproof.circuit.meter import LOW_IMPEDANCE_OHM, VOLTMETER_OHM
from galleyproof.design.model import Design, TerminalId
from galleyproof.drawing.model import Drawing
from galleyproof.fieldsheet.sayings import sayings
from galleyproof.fieldsheet.spots import spots
from galleyproof.job.model import Job
from galleyproof.proof.slips import Slip

FORMAT = 1
GENERAL = (
    "For qualified persons only. Lock out, tag out and test dead before a conductor is touched; wear the protective "
    "equipment the work asks for.",
    "Tell the fire-alarm contractor and the suppression contractor before the fire switch is touched. The suppression "
    "system's own wiring belongs to its licensed contractor.",
    "The adopted local code and the authority having jurisdiction prevail over everything on this sheet.",
    "A licensed engineer or electrician reviews this sheet before use. It approves nothing.",
)
START = "line"
"""Preparation in which somebody who calls is taken to stand, as the diagnosis does."""


def facts(
    job: Job,
    fingerprint: str,
    signatures: Signatures,
    slips: Sequence[Slip],
    plan: Plan,
    drawing: Drawing,
    design: Design,
) -> dict[str, Any]:
    """The data of a page.

    Args:
        job: The job.
        fingerprint: SHA-256 of its text as issued.
        signatures: What every slip reads.
        slips: The slips, in the order of the signatures.
        plan: The check-out plan.
        drawing: All sheets.
        design: The design.
    """
    checkout = signatures.checkout
    at = {p.key: i for i, p in enumerate(checkout.probes)}
    return {
        "format": FORMAT,
        "job": {
            "name": job.job.name,
            "number": job.job.number,
            "revision": job.job.revision,
            "date": job.job.date or "",
            "panel": job.panel.tag,
            "print": fingerprint,
        },
        "general": list(GENERAL),
        "stages": [{"name": s.value, "caution": CAUTIONS[s]} for s in Stage],
        "preparations": _preparations(checkout),
        "probes": _probes(signatures),
        "plan": [[at[r.probe.key], int(r.required)] for r in plan.readings],
        "covers": plan.words(),
        "slips": _slips(signatures, slips, design),
        "sayings": [[s.about, s.text, [[i, r] for i, r in s.either], int(s.number)] for s in sayings(checkout)],
        "sheets": [[s.number, s.title, s.width, s.height] for s in drawing],
        "spots": {k: [list(v) for v in found] for k, found in _spots(checkout, slips, drawing).items()},
        "start": START,
        "constants": {
            "ALIKE": ALIKE,
            "ALL_RIGHT": ALL_RIGHT,
            "AS_GOOD_AS": {k: dict(v) for k, v in AS_GOOD_AS.items()},
            "CELSIUS": list(CELSIUS),
            "GHOST_V": list(GHOST_V),
            "HAZARD_MINUTES": HAZARD_MINUTES,
            "LEAST_BITS": LEAST_BITS,
            "LEAST_AMPS": LEAST_AMPS,
            "LEAST_PULSES_HZ": LEAST_PULSES_HZ,
            "LIKE_NONE": {k: list(v) for k, v in LIKE_NONE.items()},
            "LIKE_OPEN": list(LIKE_OPEN),
            "LOW_IMPEDANCE_OHM": LOW_IMPEDANCE_OHM,
            "MISREAD": MISREAD,
            "MOST_ENTRIES": MOST_ENTRIES,
            "MOST_READ": MOST_READ,
            "MOST_TIMES": MOST_TIMES,
            "NOTHING": NOTHING,
            "OFF_SCALE_DEGF": list(OFF_SCALE_DEGF),
            "OPEN_FROM_OHM": OPEN_FROM_OHM,
            "OPEN_OHM": OPEN_OHM,
            "SECOND_SLIP": SECOND_SLIP,
            "STRAY": STRAY,
            "SURE": SURE,
            "TWO_SLIPS": TWO_SLIPS,
            "UNEXPLAINED": UNEXPLAINED,
            "UNITS_AS_WELL": {k: dict(v) for k, v in UNITS_AS_WELL.items()},
            "VOLTMETER_OHM": VOLTMETER_OHM,
            "WORTH_ASKING": WORTH_ASKING,
        },
    }


def _preparations(checkout: Checkout) -> list[list[Any]]:
    stages = list(Stage)
    return [[p.key, stages.index(p.stage), p.words, p.minutes, p.after, p.needs] for p in checkout.preparations]


def _probes(signatures: Signatures) -> dict[str, Any]:
    """Probes column by column; what repeats is named once."""
    checkout = signatures.checkout
    preparation = {p.key: n for n, p in enumerate(checkout.preparations)}
    found: dict[str, Any] = {
        "key": [p.key for p in checkout.probes],
        "preparation": [preparation[p.preparation] for p in checkout.probes],
        "red": [str(p.red or "") for p in checkout.probes],
        "black": [str(p.black or "") for p in checkout.probes],
        "slot": [p.slot for p in checkout.probes],
        "minutes": [p.minutes for p in checkout.probes],
        "hazard": [p.hazard for p in checkout.probes],
        "meter": [p.meter_ohm for p in checkout.probes],
        "rises": [i for i, p in enumerate(checkout.probes) if p.rises],
        "words": [p.words for p in checkout.probes],
        "where": [where(p) for p in checkout.probes],
        "expect": [said_range(p, e) for p, e in zip(checkout.probes, signatures.expected, strict=True)],
        "right": [said(p.kind, r) for p, r in zip(checkout.probes, signatures.right, strict=True)],
    }
    for name, column in (
        ("kind", [p.kind for p in checkout.probes]),
        ("about", [p.about for p in checkout.probes]),
        ("place", [p.place for p in checkout.probes]),
        ("caution", [p.caution for p in checkout.probes]),
        ("answers", [answers(p) for p in checkout.probes]),
    ):
        each: Mapping[object, int] = {v: n for n, v in enumerate(dict.fromkeys(column))}
        found[name] = {"each": list(each), "of": [each[v] for v in column]}
    return found


def _slips(signatures: Signatures, slips: Sequence[Slip], design: Design) -> dict[str, Any]:
    across: dict[TerminalId, set[str]] = {}
    for c in design.conductors:
        for near, far in ((c.a, c.b), (c.b, c.a)):
            across.setdefault(near, set()).update(t for t in (far.device, c.of) if t)
    group = [0] * len(slips)
    for n, members in enumerate(signatures.groups):
        for s in members:
            group[s] = n
    return {
        "key": [s.key for s in slips],
        "sentence": [s.sentence for s in slips],
        "prior": [s.prior for s in slips],
        "group": group,
        "shows": [int(bool(signatures.shows[s.key])) for s in slips],
        # devices at the other ends of the conductors that land there, and those the conductors are for
        "across": [sorted({d for t in s.terminals for d in across.get(t, ())}) for s in slips],
        "terminals": [[str(t) for t in s.terminals] for s in slips],
    }


def _spots(checkout: Checkout, slips: Sequence[Slip], drawing: Drawing) -> dict[str, Any]:
    terminals = {str(t) for p in checkout.probes for t in (p.red, p.black) if t is not None}
    terminals |= {str(t) for s in slips for t in s.terminals}
    return dict(spots(drawing, terminals, {p.about for p in checkout.probes}))
