"""Motor on a starter in the panel, single- or three-phase."""

from __future__ import annotations

from galleyproof.design.builder import Builder
from galleyproof.design.model import EnergyClass, PointKind, Role, TerminalId
from galleyproof.design.recipes._motor import amps_of, motor_device, motor_leads
from galleyproof.design.recipes._registry import FanPoints, FanView, drive_recipe
from galleyproof.job.model import Starter


@drive_recipe("starter")
def build(b: Builder, fan: FanView) -> FanPoints:
    """Contactor with overload; coil on 24 V through the panel's relay and the overload's own contact."""
    assert isinstance(fan.drive, Starter)
    motor = fan.drive.motor
    tag = fan.tag
    if fan.standby:
        b.refuse(
            f"exhaust fan {tag}",
            "on_control_power_loss: exhaust runs is not offered with a starter, whose coil is held by the panel; "
            "take a VFD or EC drive, or on_control_power_loss: exhaust stops",
        )
    ways = [w for w in b.ways(fan.circuit) if w[0] != "N"]
    neutral = len(ways) == 1
    contactor = b.inside(
        "Q",
        f"{tag}/starter",
        f"motor_contactor_{len(ways)}",
        f"starter of {tag}",
        tag,
        overload_a=fan.drive.overload_set or amps_of(b, tag, motor),
    )
    awg = b.power_awg(fan.circuit)
    leads: list[tuple[str, TerminalId]] = []
    for i, (name, _start, role, colour) in enumerate(ways):
        b.wire(
            f"{tag}/line/{name}",
            b.tap(fan.circuit, name, tag),
            TerminalId(contactor, f"{2 * i + 1}/L{i + 1}"),
            EnergyClass.LINE,
            role,
            tag,
            f"line side of {tag}'s starter",
            awg=awg,
            colour=colour,
        )
        leads.append((name, TerminalId(contactor, f"{2 * i + 2}/T{i + 1}")))
    if neutral:
        leads.append(("N", b.tap(fan.circuit, "N", tag)))
    motor_device(b, fan, motor, on_drive=False)
    motor_leads(b, fan, leads)
    run = f"{tag}/run"
    out = b.point(PointKind.RELAY_OUTPUT, run)
    cls = EnergyClass.CLASS2
    b.wire(f"{run}/c", b.rail("+24", run), out("c"), cls, Role.CONTROL, tag, f"run command of {tag}")
    b.wire(f"{run}/no", out("no"), TerminalId(contactor, "95"), cls, Role.CONTROL, tag, f"run command of {tag}")
    b.wire(
        f"{run}/ol",
        TerminalId(contactor, "96"),
        TerminalId(contactor, "A1"),
        cls,
        Role.CONTROL,
        tag,
        f"overload contact of {tag}",
    )
    b.wire(f"{run}/0", TerminalId(contactor, "A2"), b.rail("0V", run), cls, Role.COMMON, tag, f"coil return of {tag}")
    proof = ""
    if fan.proving is None:
        proof = f"{tag}/aux"
        seen = b.point(PointKind.DIGITAL_INPUT, proof)
        for mark, end in (("13", "+"), ("14", "-")):
            b.wire(
                f"{proof}/{end}",
                seen(end),
                TerminalId(contactor, mark),
                cls,
                Role.SIGNAL,
                tag,
                f"auxiliary contact of {tag}'s starter",
            )
    return FanPoints(run=run, proof=proof, around=f"{tag}/motor/{ways[0][0]}")
