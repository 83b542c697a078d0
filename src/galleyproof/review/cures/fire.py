"""Fire switches, what hangs on their poles, and what happens in a release."""

from __future__ import annotations

from collections.abc import Iterator

from galleyproof.findings import Finding
from galleyproof.job.model import FireSystem, Job, Pole, PoleUse
from galleyproof.review.cures.registry import cure
from galleyproof.review.edits import NEW, Edit, Move, one
from galleyproof.review.whole import Papers

MAX_POLES = 4


def system_of(job: Job, tag: str) -> FireSystem | None:
    """A fire system by its tag."""
    return next((s for s in job.fire_systems if s.tag == tag), None)


def pole_moves(system: FireSystem, use: PoleUse, side: str, why: str) -> Iterator[Move]:
    """A pole for a use: a spare one, else one more."""
    at = ("fire_systems", system.tag, "poles")
    pole = Pole(use=use, side=side)  # type: ignore[arg-type]
    for n, spare in enumerate(system.poles):
        if spare.use == "spare":
            edits = (Edit((*at, n, "use"), use), Edit((*at, n, "side"), side))
            yield Move(tuple(e for e in edits if getattr(spare, str(e.path[-1])) != e.value), why, 2.0)
    if len(system.poles) < MAX_POLES:
        yield one((*at, NEW), pole, f"{why}, on one pole more of the switch", 3.0)


@cure("FIRE-NO-LOOP")
def loop_pole(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """A pole for the panel's loop."""
    system = system_of(job, finding.item)
    if system:
        yield from pole_moves(system, "panel loop", "armed side", "the panel hears of a release by an open loop")


@cure("FIRE-LOOP-REVERSED")
def loop_side(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """The loop on the side that is closed while armed."""
    system = system_of(job, finding.item)
    for n, pole in enumerate(system.poles if system else ()):
        if pole.use == "panel loop" and pole.side == "released side":
            path = ("fire_systems", finding.item, "poles", n, "side")
            yield one(path, "armed side", "an open loop, a broken wire too, is then the alarm", 2.0)


@cure("FIRE-PARALLEL")
def joined(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """Switches in series."""
    path = ("fire_systems", finding.item, "switches_joined")
    yield one(path, "in series", "any one of the switches then opens the loop", 2.0)


@cure("ALARM-FROM-PANEL", "ALARM-NO-POLE")
def alarm_source(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """The alarm from a pole of every fire switch, not from a controller that may be dead."""
    edits: list[Edit] = []
    weight = 2.0
    if job.building_alarm and job.building_alarm.taken_from != "fire switch":
        edits.append(Edit(("building_alarm", "taken_from"), "fire switch"))
    for system in job.fire_systems:
        if any(p.use == "building alarm" for p in system.poles):
            continue
        moves = list(pole_moves(system, "building alarm", "released side", ""))
        if not moves:
            return
        edits += moves[0].edits
        weight += moves[0].weight
    if edits:
        yield Move(tuple(edits), "the alarm then comes from the fire switch itself, whatever the panel does", weight)


@cure("SHUTDOWN-SIDE")
def shutdown_side(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """Both sides of the shutdown pole."""
    system = system_of(job, finding.item)
    for n, pole in enumerate(system.poles if system else ()):
        if pole.use == "shutdown" and pole.side != "both sides":
            path = ("fire_systems", finding.item, "poles", n, "side")
            yield one(path, "both sides", "coils that trip and coils that hold each get their side", 2.0)


@cure("HAND-AROUND-FIRE")
def hand_around_fire(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """The switch to an input of the panel."""
    yield one(("switches", finding.item, "wired"), "to a panel input", "no position of the switch hides a release", 2.0)


@cure("FIRE-LOW-SPEED", "FIRE-SEQUENCE", "FIRE-RUN-NO-SPEED")
def on_release(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """Full speed in a release; where a switch forces the run input, the panel alone gives run and speed."""
    fan = next((f for f in job.exhaust_fans if f.tag == finding.item), None)
    if fan is None:
        return
    full = Edit(("exhaust_fans", fan.tag, "on_release"), "full speed")
    yield Move((full,), "the panel runs the fan at full speed in a release", 1.0)
    if fan.forced_by:
        by = Edit(("exhaust_fans", fan.tag, "forced_by"), None)
        yield Move((full, by), "the panel alone gives run and speed in a release", 2.0)


@cure("FIRE-MAKEUP")
def makeup_on_release(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """Make-up stops; the authority's answer is not ours to write."""
    path = ("makeup_units", finding.item, "on_release")
    yield one(path, "stops", "make-up stops in a release unless the authority confirms that it may run")
