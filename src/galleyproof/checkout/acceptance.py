"""The acceptance list: what officials look at, in the order in which they ask for it.

Fuel and power off; reset only by hand; supply off; exhaust on during and after; alarm received (common practice of
acceptance tests under NFPA 96). These stand at the end of every plan, whether or not they catch a slip of their own.
"""

from __future__ import annotations

from collections.abc import Iterator

from galleyproof.checkout.model import Checkout
from galleyproof.design.model import Design
from galleyproof.job.model import Job
from galleyproof.proof.promises import effect_slots


def acceptance(job: Job, design: Design, checkout: Checkout) -> tuple[int, ...]:
    """Indices of the probes of the acceptance list, in its order.

    Args:
        job: The job.
        design: Its design.
        checkout: All possible probes.
    """
    at = {(p.preparation, p.slot): i for i, p in enumerate(checkout.probes) if p.slot}
    slots = effect_slots(job, design)
    found: list[int] = []
    for zone in dict.fromkeys(f.zone for f in job.fire_systems):
        for preparation, tag in _asked(job, design, zone):
            index = at.get((preparation, slots.get(tag, "")))
            if index is not None:
                found.append(index)
    return tuple(dict.fromkeys(found))


def _asked(job: Job, design: Design, zone: str) -> Iterator[tuple[str, str]]:
    """Preparation and device of each line for one zone."""
    released = f"{zone} released"
    again = f"{zone} re-armed, nothing pressed"
    hoods = [h for h in job.hoods if h.zone == zone]
    protected = [a.tag for h in hoods for a in h.appliances if a.shut_down]
    protected += [s.tag for s in job.shutdowns if s.zone == zone and s.kind == "gas valve"]
    fans = [f.tag for f in job.exhaust_fans if {h.tag for h in hoods} & set(f.serves)]
    supplies = [u.tag for u in job.makeup_units if set(u.tracks) & set(fans)]
    alarms = [d.tag for d in design.devices if d.type == "alarm_module"]
    alarms += [d.tag for d in design.devices if d.type == "horn"]
    yield from ((released, tag) for tag in protected)
    yield from ((again, tag) for tag in protected)
    yield from ((released, tag) for tag in supplies)
    yield from ((released, tag) for tag in fans)
    yield from ((again, tag) for tag in fans)
    yield from ((released, tag) for tag in alarms)
