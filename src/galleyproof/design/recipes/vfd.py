"""Motor on a variable frequency drive in the panel, three-phase or single-phase in, three-phase out."""

from __future__ import annotations

from galleyproof.design.builder import Builder
from galleyproof.design.model import EnergyClass, Role, TerminalId
from galleyproof.design.recipes._motor import amps_of, motor_device, motor_leads
from galleyproof.design.recipes._registry import FanPoints, FanView, drive_recipe
from galleyproof.design.recipes._signals import run_contact, speed_pair, standby_relay
from galleyproof.job.model import Vfd


@drive_recipe("VFD")
def build(b: Builder, fan: FanView) -> FanPoints:
    """The drive, its run contact and its reference; the motor behind a disconnect."""
    assert isinstance(fan.drive, Vfd)
    motor = fan.drive.motor
    tag = fan.tag
    volts = b.volts(fan.circuit)
    ways = list(b.ways(fan.circuit))
    single = len(ways) == 2
    amps = amps_of(b, tag, motor)
    drive = b.inside(
        "T",
        f"{tag}/drive",
        "vfd_1" if single else "vfd_3",
        f"drive of {tag}",
        tag,
        input_v=volts,
        input_a=fan.drive.rated_input_amps or amps * (3**0.5 if single else 1.0),
        output_a=amps,
        output_ln_v=round(volts / 3**0.5, 2),
        stop_time_s=fan.drive.stop_time,
        least_speed=0.2,
    )
    awg = b.power_awg(fan.circuit)
    for i, (name, _start, role, colour) in enumerate(ways):
        b.wire(
            f"{tag}/line/{name}",
            b.tap(fan.circuit, name, tag),
            TerminalId(drive, f"L{i + 1}"),
            EnergyClass.LINE,
            role,
            tag,
            f"supply of {tag}'s drive",
            awg=awg,
            colour=colour,
        )
    b.wire(
        f"{tag}/line/PE",
        b.ground(f"{tag}/drive"),
        TerminalId(drive, "PE"),
        EnergyClass.LINE,
        Role.GROUND,
        tag,
        f"equipment ground of {tag}'s drive",
        awg=awg,
        colour="green",
    )
    motor_device(b, fan, motor, on_drive=True)
    motor_leads(b, fan, [(m, TerminalId(drive, m)) for m in ("U", "V", "W")])
    standby = standby_relay(b, fan, TerminalId(drive, "+10V"))
    run = run_contact(b, fan, TerminalId(drive, "run+"), TerminalId(drive, "run"), fan.drive.run_command, standby)
    speed = speed_pair(b, tag, TerminalId(drive, "ref+"), TerminalId(drive, "ref-"), standby)
    return FanPoints(run=run, speed=speed, around=f"{tag}/motor/U")
