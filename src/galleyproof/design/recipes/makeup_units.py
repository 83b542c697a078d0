"""Make-up air: packaged units with a run pair (and a speed pair), or fans driven from the panel."""

from __future__ import annotations

from typing import Any

from galleyproof.design.builder import Builder, in_order, natural
from galleyproof.design.model import EnergyClass, FanLogic, PointKind, Role, TerminalId
from galleyproof.design.recipes._motor import amps_of, straight_feed
from galleyproof.design.recipes._proof import damper_points, proving_switch
from galleyproof.design.recipes._registry import DRIVES, FanView, recipe
from galleyproof.design.recipes._signals import control_voltage, speed_pair
from galleyproof.job.model import EcMotor, MakeupByPanel, MakeupByUnit, MakeupUnit


@recipe("make-up units")
def build(b: Builder) -> None:
    """One unit after the other."""
    zone_of = {h.tag: h.zone for h in b.job.hoods}
    hoods_of = {f.tag: f.serves for f in b.job.exhaust_fans}
    dampers = {d.fan: d for d in b.job.dampers}
    for unit in b.job.makeup_units:
        hoods = [h for f in unit.tracks for h in hoods_of.get(f, ())]
        zones = in_order({zone_of[h] for h in hoods if h in zone_of})
        opens = permit = ""
        if isinstance(unit.control, MakeupByPanel):
            view = FanView(
                unit.tag,
                "make-up fan",
                unit.place,
                unit.circuit,
                unit.control.drive,
                _least_speed(unit),
                unit.disconnect,
                None,
                dampers.get(unit.tag),
            )
            points = DRIVES[unit.control.drive.kind](b, view)
            run, speed = points.run, points.speed
            proof = proving_switch(b, view, points) if view.proving else ""
            opens, permit = damper_points(b, view)
        else:
            run, speed, proof = _packaged(b, unit, unit.control)
        b.fans.append(
            FanLogic(
                unit.tag,
                follows=in_order(unit.tracks),
                zones=zones,
                run=run,
                speed=speed,
                proof=proof,
                permit=permit,
                opens=opens,
                min_speed=_least_speed(unit),
                on_release="stop" if unit.on_release == "stops" else "as before",
            )
        )


def _least_speed(unit: MakeupUnit) -> float:
    """Its own least speed, or what its burner or coil needs: below that the signal must never go."""
    burner = 0.0 if unit.air.least_airflow is None else unit.air.least_airflow / unit.airflow
    return min(1.0, max(unit.min_speed, burner))


def _packaged(b: Builder, unit: MakeupUnit, control: MakeupByUnit) -> tuple[str, str, str]:
    tag = unit.tag
    motor = control.motor
    phases = motor.phases
    with_speed = control.kind == "run and speed pairs"
    wet = control.run_command.kind == "wet"
    if wet and abs(control.run_command.volts - 120.0) > 1.0:
        b.refuse(
            f"make-up unit {tag}: run_command",
            f"a wet run command of {control.run_command.volts:g} V is not offered; use 120 V, or kind: dry",
        )
    kind = f"makeup_{phases}" + ("_wet" if wet else "") + ("_speed" if with_speed else "")
    volts = b.volts(unit.circuit)
    amps = motor.nameplate_amps if isinstance(motor, EcMotor) else amps_of(b, tag, motor)
    across = phases == 3 and not with_speed and not isinstance(motor, EcMotor)
    turns: dict[str, Any] = {"across_the_line": "yes"} if across else {}
    b.device(
        tag,
        kind,
        "make-up unit",
        unit.place,
        tag,
        motor_v=volts,
        motor_va=round(amps * volts * (3**0.5 if phases == 3 else 1.0), 1),
        run_v=control.run_command.volts,
        start_delay_s=control.start_delay,
        **turns,
    )
    straight_feed(b, tag, unit.circuit, unit.place, disconnect=unit.disconnect)
    run = _run_pair(b, unit, control)
    speed = speed_pair(b, tag, TerminalId(tag, "S+"), TerminalId(tag, "S-")) if with_speed else ""
    return run, speed, ""


def _run_pair(b: Builder, unit: MakeupUnit, control: MakeupByUnit) -> str:
    """The panel's contact, with whatever else commands the unit in series or parallel."""
    tag = unit.tag
    use = f"{tag}/run"
    out = b.point(PointKind.RELAY_OUTPUT, use)
    command = control.run_command
    wet = command.kind == "wet"
    cls = EnergyClass.CLASS1 if wet else EnergyClass.CLASS2
    first = TerminalId(tag, "J1")
    chain = first
    # what may only stop the unit stands in series; the wire goes from device to device to J1
    masters = sorted(control.second_masters, key=lambda m: natural(m.tag))
    stops = [m for m in masters if m.may == "stop"]
    if control.hand_switch == "in series with the run pair":
        hand = b.device(f"{tag}-S1", "switch_hoa", f"hand switch of {tag}", unit.place, tag)
        b.wire(f"{use}/hand", TerminalId(hand, "2"), chain, cls, Role.CONTROL, tag, f"run pair of {tag}")
        chain = TerminalId(hand, "1")
    for master in stops:
        b.device(master.tag, "master_stop", f"{master.what} of {tag}", unit.place, tag)
        b.wire(f"{use}/{master.tag}", TerminalId(master.tag, "2"), chain, cls, Role.CONTROL, tag, f"run pair of {tag}")
        chain = TerminalId(master.tag, "1")
    if wet:
        hot, neutral = control_voltage(b, command, use)
        b.wire(f"{use}/hot", hot, out("c"), cls, Role.CONTROL, tag, f"run command supply of {tag}")
        b.through(f"{use}/1", out("no"), chain, cls, Role.CONTROL, tag, f"run command of {tag}")
        b.wire(f"{use}/2", neutral, TerminalId(tag, "J2"), cls, Role.NEUTRAL, tag, f"run command of {tag}")
    else:
        b.through(f"{use}/1", out("c"), chain, cls, Role.CONTROL, tag, f"run pair of {tag}", colour="black")
        b.through(
            f"{use}/2", out("no"), TerminalId(tag, "J2"), cls, Role.CONTROL, tag, f"run pair of {tag}", colour="white"
        )
    # what may also start the unit lies beside the pair, from device to device: no terminal has to take them all
    beside: list[tuple[str, str, str, tuple[str, str]]] = []
    for master in (m for m in masters if m.may == "start"):
        b.device(master.tag, "master_start", f"{master.what} of {tag}", unit.place, tag)
        beside.append((f"{use}/{master.tag}", master.tag, f"second command of {tag}", ("1", "2")))
    if control.hand_switch == "around the run pair":
        hand = b.device(f"{tag}-S1", "switch_hoa", f"hand switch of {tag}", unit.place, tag)
        beside.append((f"{use}/hand", hand, f"hand command of {tag}", ("3", "4")))
    ends = [first, TerminalId(tag, "J2")]
    if wet and beside:
        ends[1] = b.bus(EnergyClass.CLASS1, "L", f"{use}/start")
    for key, device, why, marks in beside:
        for i, mark in enumerate(marks):
            here = TerminalId(device, mark)
            b.wire(f"{key}/{mark}", here, ends[i], cls, Role.CONTROL, tag, why)
            ends[i] = here
    return use
