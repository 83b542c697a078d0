"""Fans, make-up units, dampers, and who commands them."""

from __future__ import annotations

from collections.abc import Iterator

from galleyproof.findings import Finding
from galleyproof.job.model import Ec, Job, MakeupByUnit, Proving
from galleyproof.review.cures.registry import cure
from galleyproof.review.cures.tags import next_tag
from galleyproof.review.edits import GONE, Edit, Move, one
from galleyproof.review.whole import Papers


@cure("TWO-MASTERS")
def second_masters(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """Every other master may stop the unit, not start it."""
    unit = next((u for u in job.makeup_units if u.tag == finding.item), None)
    if unit is None or not isinstance(unit.control, MakeupByUnit):
        return
    for master in unit.control.second_masters:
        if master.may == "start" and master.tag in finding.message:
            path = ("makeup_units", unit.tag, "control", "second_masters", master.tag, "may")
            yield one(path, "stop", f"{master.tag} in series with the panel's contact", 2.0)


@cure("HAND-AROUND-PANEL")
def hand_around_panel(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """The hand position in series."""
    path = ("makeup_units", finding.item, "control", "hand_switch")
    yield one(
        path, "in series with the run pair", "the hand position can stop the unit, not start it past the panel", 2.0
    )


@cure("MAKEUP-UNPROVEN")
def proving(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """A proving switch on every fan the unit follows: an air-flow switch where current says little of the speed."""
    unit = next((u for u in job.makeup_units if u.tag == finding.item), None)
    if unit is None:
        return
    edits: list[Edit] = []
    changed = job
    for fan in job.exhaust_fans:
        if fan.tag in unit.tracks and fan.proving is None:
            ec = isinstance(fan.drive, Ec)
            tag = next_tag(changed, "AF" if ec else "CS", start=len(edits) + 1)
            switch = Proving(tag=tag, kind="air-flow switch" if ec else "current switch")
            edits.append(Edit(("exhaust_fans", fan.tag, "proving"), switch))
    if edits:
        yield Move(tuple(edits), "make-up follows exhaust that is proved to move", 3.0 * len(edits))


@cure("DAMPER-UNPROVEN")
def end_switch(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """A damper with an end switch."""
    yield one(("dampers", finding.item, "end_switch"), True, "the fan waits until the damper is open", 3.0)


@cure("RUNS-PAST-DAMPER")
def past_damper(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """No damper in the way of a fan that others start, or nobody but the panel starts it."""
    fan = next((f for f in job.exhaust_fans if f.tag == finding.item), None)
    for damper in job.dampers:
        if damper.fan == finding.item:
            yield one(("dampers", damper.tag), GONE, "an exhaust fan needs no damper here", 2.0)
    if fan is not None and fan.forced_by:
        yield one(("exhaust_fans", fan.tag, "forced_by"), None, "the panel alone starts the fan", 2.0)
