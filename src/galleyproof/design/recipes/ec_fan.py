"""EC-motor fan: power straight from its breaker, a speed pair (polarity matters), perhaps a run contact."""

from __future__ import annotations

from galleyproof.design.builder import Builder
from galleyproof.design.model import EnergyClass, TerminalId
from galleyproof.design.recipes._registry import FanPoints, FanView, drive_recipe
from galleyproof.design.recipes._signals import run_contact, speed_pair, standby_relay
from galleyproof.job.model import Ec, RunCommand


@drive_recipe("EC")
def build(b: Builder, fan: FanView) -> FanPoints:
    """The fan's own +10 V stays unused (two sources on one pair would fight), but for a standby relay."""
    assert isinstance(fan.drive, Ec)
    motor = fan.drive.motor
    tag = fan.tag
    volts = b.volts(fan.circuit)
    kind = f"ec_fan_{motor.phases}"
    if motor.signal == "PWM":
        kind += "_pwm"
    elif motor.run_contact:
        kind += "_run"
    amps = motor.nameplate_amps
    b.device(
        tag,
        kind,
        f"{fan.title}, EC motor",
        fan.place,
        tag,
        motor_v=volts,
        motor_va=round(amps * volts * (3**0.5 if motor.phases == 3 else 1.0), 1),
        reference_ohm=motor.input_impedance_kohm * 1000.0,
    )
    power_key = f"{tag}/power"
    ways = b.ways(fan.circuit)
    inlets = [TerminalId(tag, f"L{i + 1}") for i in range(len(ways))]
    if fan.disconnect:
        switch = b.device(f"{tag}-QB", f"disconnect_{len(ways)}", f"disconnect of {tag}", fan.place, tag)
        b.feed(
            fan.circuit,
            power_key,
            [TerminalId(switch, str(2 * i + 1)) for i in range(len(ways))],
            TerminalId(tag, "PE"),
            tag,
        )
        for i, (name, _s, role, colour) in enumerate(ways):
            b.wire(
                f"{power_key}/{name}/2",
                TerminalId(switch, str(2 * i + 2)),
                inlets[i],
                EnergyClass.LINE,
                role,
                tag,
                f"power of {tag}",
                awg=b.power_awg(fan.circuit),
                colour=colour,
            )
    else:
        b.feed(fan.circuit, power_key, inlets, TerminalId(tag, "PE"), tag)
    signal = "PWM" if motor.signal == "PWM" else "0-10V"
    standby = standby_relay(b, fan, TerminalId(tag, "+10V"))
    speed = speed_pair(b, tag, TerminalId(tag, signal), TerminalId(tag, "GND"), standby)
    run = ""
    if motor.run_contact and motor.signal != "PWM":
        dry = RunCommand(kind="dry", volts=24.0, owner="the unit")
        run = run_contact(b, fan, TerminalId(tag, "run+"), TerminalId(tag, "run"), dry, standby)
    return FanPoints(run=run, speed=speed, around=f"{power_key}/{ways[0][0]}")
