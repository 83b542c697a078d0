"""Proof that a fan moves and that a damper is open."""

from __future__ import annotations

from galleyproof.design.builder import Builder
from galleyproof.design.model import EnergyClass, PointKind, Role, TerminalId
from galleyproof.design.recipes._registry import FanPoints, FanView

CURRENT_SHARE = 0.08
"""A current switch is set to this share of full-load current: above standby, below the least speed [ratio]."""


def input_pair(b: Builder, use: str, first: TerminalId, second: TerminalId, of: str, why: str) -> str:
    """A wetted digital input and the contact it looks at."""
    seen = b.point(PointKind.DIGITAL_INPUT, use)
    cls = EnergyClass.CLASS2
    for role, outer, colour in (("+", first, "black"), ("-", second, "white")):
        key = f"{use}/{role}"
        if b.in_panel(outer):
            b.wire(key, seen(role), outer, cls, Role.SIGNAL, of, why, colour=colour)
        else:
            b.through(key, seen(role), outer, cls, Role.SIGNAL, of, why, colour=colour)
    return use


def proving_switch(b: Builder, fan: FanView, points: FanPoints) -> str:
    """A current switch around one conductor, or an air-flow switch in the duct."""
    assert fan.proving is not None
    proving = fan.proving
    if proving.kind == "current switch":
        amps = float(b._devices[fan.tag].ratings["motor_va"]) / b.volts(fan.circuit)
        if len(b.circuit(fan.circuit).lines) == 3:
            amps /= 3**0.5
        b.device(
            proving.tag,
            "current_switch",
            f"current switch of {fan.tag}",
            fan.place,
            fan.tag,
            around=points.around,
            least_a=round(CURRENT_SHARE * amps, 3),
        )
    else:
        b.device(proving.tag, "airflow_switch", f"air-flow switch of {fan.tag}", fan.place, fan.tag, fan=fan.tag)
    return input_pair(
        b,
        f"{fan.tag}/proof",
        TerminalId(proving.tag, "1"),
        TerminalId(proving.tag, "2"),
        fan.tag,
        f"proof that {fan.tag} moves",
    )


def damper_points(b: Builder, fan: FanView) -> tuple[str, str]:
    """The relay that opens a fan's damper and the input that proves it open."""
    damper = fan.damper
    if damper is None:
        return "", ""
    low = damper.volts < 60.0
    kind = ("damper_24" if low else "damper_120") + ("_end" if damper.end_switch else "")
    tag = damper.tag
    b.device(tag, kind, f"damper of {fan.tag}", damper.place, fan.tag, coil_v=damper.volts, damper_va=damper.load)
    use = f"{tag}/open"
    out = b.point(PointKind.RELAY_OUTPUT, use)
    if low:
        cls = EnergyClass.CLASS2
        hot, back = b.rail("+24", use), b.rail("0V", use)
    else:
        cls = EnergyClass.CLASS1
        hot, back = b.bus(cls, "L", use), b.bus(cls, "N", use)
    b.wire(f"{use}/c", hot, out("c"), cls, Role.CONTROL, tag, f"supply of {tag}")
    b.through(f"{use}/1", out("no"), TerminalId(tag, "1"), cls, Role.CONTROL, tag, f"opens {tag}")
    b.wire(f"{use}/2", back, TerminalId(tag, "2"), cls, Role.COMMON if low else Role.NEUTRAL, tag, f"return of {tag}")
    if not damper.end_switch:
        return use, ""
    end = input_pair(b, f"{tag}/end", TerminalId(tag, "3"), TerminalId(tag, "4"), tag, f"end switch: {tag} is open")
    return use, end
