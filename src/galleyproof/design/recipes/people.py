"""Wall switches, operator display and the building link."""

from __future__ import annotations

from galleyproof.design.builder import Builder, in_order
from galleyproof.design.model import EnergyClass, Role, SwitchLogic, TerminalId
from galleyproof.design.recipes._proof import input_pair
from galleyproof.design.recipes._registry import recipe


@recipe("wall switches")
def switches(b: Builder) -> None:
    """On-off on one input, hand-off-auto on two."""
    for switch in b.job.switches:
        tag = switch.tag
        hoa = switch.kind == "hand-off-auto"
        b.device(tag, "switch_hoa" if hoa else "switch_on_off", f"wall switch, {switch.does}", switch.place, tag)
        on = input_pair(b, f"{tag}/on", TerminalId(tag, "1"), TerminalId(tag, "2"), tag, f"{switch.does} switch")
        hand = ""
        if hoa and switch.wired == "to a panel input":
            hand = input_pair(
                b, f"{tag}/hand", TerminalId(tag, "3"), TerminalId(tag, "4"), tag, f"{switch.does} switch, hand"
            )
        b.switches.append(SwitchLogic(tag, switch.does, in_order(switch.acts_on), on, hand))


@recipe("operator display")
def display(b: Builder) -> None:
    """On a patch cable from the controller's display port."""
    if b.job.display is None:
        return
    tag = b.job.display.tag
    b.device(tag, "display", "operator display", b.job.display.place, tag, supplied_by="panel")
    for i in range(1, 5):
        b.wire(
            f"{tag}/patch/{i}",
            TerminalId(f"{b.panel}-K@1controller", f"P{i}"),
            TerminalId(tag, str(i)),
            EnergyClass.DATA,
            Role.SIGNAL,
            tag,
            "patch cable of the display",
            awg="24",
            cord=True,
        )


@recipe("building link")
def link(b: Builder) -> None:
    """RS-485: two data conductors and a signal ground; a resistor at each end of the line."""
    station = b.job.building_link
    if station is None:
        return
    far = station.end_of_line in ("both ends", "far end only")
    near = station.end_of_line in ("both ends", "panel only")
    b.device(
        station.tag,
        "link_station_end" if far else "link_station",
        "building management link",
        station.place,
        station.tag,
    )
    for mark in ("A", "B", "SG"):
        strip = b.through(
            f"{station.tag}/{mark}",
            TerminalId(f"{b.panel}-K@1controller", mark),
            TerminalId(station.tag, mark),
            EnergyClass.DATA,
            Role.COMMON if mark == "SG" else Role.SIGNAL,
            station.tag,
            "building link",
            awg="22",
        )
        if near and mark != "SG":
            if mark == "A":
                b.inside("R", "link", "end_resistor", "end-of-line resistor", station.tag)
            place = b.landing(EnergyClass.DATA, f"{station.tag}/{mark}/end")
            b.bridge(strip, place)
            b.wire(
                f"{station.tag}/end/{mark}",
                place,
                TerminalId(f"{b.panel}-R@link", "1" if mark == "A" else "2"),
                EnergyClass.DATA,
                Role.SIGNAL,
                station.tag,
                "end-of-line resistor",
                awg="22",
            )
