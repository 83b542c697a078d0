"""EC-motor fan: power straight from its breaker, a speed pair (polarity matters), perhaps a run contact."""

from __future__ import annotations

from galleyproof.design.builder import Builder
from galleyproof.design.model import TerminalId
from galleyproof.design.recipes._motor import straight_feed
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
    around = straight_feed(b, tag, fan.circuit, fan.place, disconnect=fan.disconnect)
    signal = "PWM" if motor.signal == "PWM" else "0-10V"
    standby = standby_relay(b, fan, TerminalId(tag, "+10V"))
    speed = speed_pair(b, tag, TerminalId(tag, signal), TerminalId(tag, "GND"), standby)
    run = ""
    if motor.run_contact and motor.signal != "PWM":
        dry = RunCommand(kind="dry", volts=24.0, owner="the unit")
        run = run_contact(b, fan, TerminalId(tag, "run+"), TerminalId(tag, "run"), dry, standby)
    return FanPoints(run=run, speed=speed, around=around)
