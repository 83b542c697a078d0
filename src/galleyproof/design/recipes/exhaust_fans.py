"""Exhaust fans: the drive's recipe, proof of movement, damper, and the controller's rule."""

from __future__ import annotations

from galleyproof.design.builder import Builder, in_order
from galleyproof.design.model import FanLogic
from galleyproof.design.recipes._proof import damper_points, proving_switch
from galleyproof.design.recipes._registry import DRIVES, FanView, recipe


@recipe("exhaust fans")
def build(b: Builder) -> None:
    """One fan after the other; each by the recipe of its drive."""
    zone_of = {h.tag: h.zone for h in b.job.hoods}
    dampers = {d.fan: d for d in b.job.dampers}
    for fan in b.job.exhaust_fans:
        view = FanView(
            fan.tag,
            "exhaust fan",
            fan.place,
            fan.circuit,
            fan.drive,
            fan.min_speed,
            fan.disconnect,
            fan.proving,
            dampers.get(fan.tag),
            fan.forced_by,
            b.job.panel.on_control_power_loss == "exhaust runs",
        )
        points = DRIVES[fan.drive.kind](b, view)
        proof = proving_switch(b, view, points) if fan.proving else points.proof
        opens, permit = damper_points(b, view)
        on_release = fan.on_release
        if on_release == "run without a speed":
            on_release = "as before"
        b.fans.append(
            FanLogic(
                fan.tag,
                hoods=in_order(fan.serves),
                zones=in_order({zone_of[h] for h in fan.serves if h in zone_of}),
                run=points.run,
                speed=points.speed,
                proof=proof,
                permit=permit,
                opens=opens,
                min_speed=fan.min_speed,
                on_release=on_release,
                waits=fan.after_outage == "waits for a hand",
            )
        )
