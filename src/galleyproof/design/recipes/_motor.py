"""What starters and drives share: the motor, its disconnect and its leads."""

from __future__ import annotations

from galleyproof.design.builder import Builder
from galleyproof.design.model import EnergyClass, Role, TerminalId
from galleyproof.design.power import system_of
from galleyproof.design.recipes._registry import FanView
from galleyproof.design.sizes import ground_awg
from galleyproof.job.model import Motor
from galleyproof.tables import motors
from galleyproof.tables.reader import TableError


def motor_amps(motor: Motor) -> float:
    """Full-load current: nameplate, or the code table's [A]."""
    if motor.nameplate_amps:
        return motor.nameplate_amps
    column_v = motors.motor_column_v(motor.volts, motor.phases).value
    find = motors.flc_three_phase_a if motor.phases == 3 else motors.flc_single_phase_a
    return find(motor.hp, column_v).value


def amps_of(b: Builder, tag: str, motor: Motor) -> float:
    """Full-load current of a job's motor [A]; one the table does not have is refused."""
    try:
        return motor_amps(motor)
    except TableError as error:
        b.refuse(f"{tag}: motor", f"{error}; state nameplate_amps, or take a motor the table has")
        return 1.0


def straight_feed(b: Builder, tag: str, circuit: str, place: str, *, disconnect: bool) -> str:
    """Power straight from its breaker, over a disconnect beside the equipment; gives the key of its first conductor."""
    ways = b.ways(circuit)
    key = f"{tag}/power"
    inlets = [TerminalId(tag, f"L{i + 1}") for i in range(len(ways))]
    if not disconnect:
        b.feed(circuit, key, inlets, TerminalId(tag, "PE"), tag)
        return f"{key}/{ways[0][0]}"
    switch = b.device(f"{tag}-QB", f"disconnect_{len(ways)}", f"disconnect of {tag}", place, tag)
    line_side = [TerminalId(switch, str(2 * i + 1)) for i in range(len(ways))]
    b.feed(circuit, key, line_side, TerminalId(tag, "PE"), tag)
    for i, (name, _start, role, colour) in enumerate(ways):
        b.wire(
            f"{key}/{name}/2",
            TerminalId(switch, str(2 * i + 2)),
            inlets[i],
            EnergyClass.LINE,
            role,
            tag,
            f"power of {tag}",
            awg=b.power_awg(circuit),
            colour=colour,
        )
    return f"{key}/{ways[0][0]}"


def motor_device(b: Builder, fan: FanView, motor: Motor, *, on_drive: bool) -> None:
    """The motor as the field device that carries the fan's tag."""
    amps = amps_of(b, fan.tag, motor)
    volts = b.volts(fan.circuit)
    ratings: dict[str, object] = {
        "motor_v": volts,
        "motor_va": round(amps * volts * (3**0.5 if motor.phases == 3 else 1.0), 1),
    }
    if motor.phases == 3:
        ratings["on_drive"] = "yes" if on_drive else "no"
    b.device(fan.tag, f"motor_{motor.phases}", f"{fan.title}, {motor.hp:g} hp", fan.place, fan.tag, ratings)


def motor_leads(b: Builder, fan: FanView, leads: list[tuple[str, TerminalId]]) -> None:
    """From the panel over the strip and the disconnect to the motor, with its ground."""
    tag = fan.tag
    three = len(leads) == 3
    marks = ("U1", "V1", "W1") if three else ("U1", "U2")
    # a drive may be fed from fewer lines than its motor has leads: those take the system's own phase colours
    system = system_of(b.job, b.circuits[fan.circuit])
    colours = list(system.colours[:3]) if three else [c for _n, _t, _r, c in b.ways(fan.circuit)]
    awg = b.power_awg(fan.circuit)
    switch = ""
    if fan.disconnect:
        switch = b.device(f"{tag}-QB", f"disconnect_{len(leads)}", f"disconnect of {tag}", fan.place, tag)
    for i, (name, inner) in enumerate(leads):
        role = Role.NEUTRAL if name == "N" else Role.LOAD
        outer = TerminalId(switch, str(2 * i + 1)) if switch else TerminalId(tag, marks[i])
        colour = colours[i]
        if name == "N":
            # already on the strip: the neutral needs no way through a device
            b.wire(
                f"{tag}/motor/N",
                inner,
                outer,
                EnergyClass.LINE,
                role,
                tag,
                f"motor lead of {tag}",
                awg=awg,
                colour=colour,
            )
        else:
            b.through(
                f"{tag}/motor/{name}",
                inner,
                outer,
                EnergyClass.LINE,
                role,
                tag,
                f"motor lead of {tag}",
                awg=awg,
                colour=colour,
            )
        if switch:
            b.wire(
                f"{tag}/motor/{name}/2",
                TerminalId(switch, str(2 * i + 2)),
                TerminalId(tag, marks[i]),
                EnergyClass.LINE,
                role,
                tag,
                f"motor lead of {tag}",
                awg=awg,
                colour=colour,
            )
    b.wire(
        f"{tag}/motor/PE",
        b.ground(f"{tag}/motor"),
        TerminalId(tag, "PE"),
        EnergyClass.LINE,
        Role.GROUND,
        tag,
        f"equipment ground of {tag}",
        awg=ground_awg(b.circuit(fan.circuit).breaker),
        colour="green",
    )
