"""Run contacts and speed pairs: dry or wet, and whose voltage."""

from __future__ import annotations

import math
from dataclasses import dataclass

from galleyproof.design.builder import Builder
from galleyproof.design.model import EnergyClass, OutputLogic, PointKind, Role, TerminalId
from galleyproof.design.recipes._registry import FanView
from galleyproof.job.model import RunCommand


def speed_pair(b: Builder, tag: str, plus: TerminalId, minus: TerminalId, standby: Standby | None = None) -> str:
    """A 0-10 V (or PWM) pair from a panel output; returns the use of its point."""
    use = f"{tag}/speed"
    out = b.point(PointKind.SPEED_OUTPUT, use)
    start = out("+")
    if standby is not None:
        # the relay holds the panel's signal while the controller lives, and falls back to the fan's own 10 V
        relay = standby.relay
        b.wire(f"{use}/held", start, TerminalId(relay, "14"), EnergyClass.CLASS2, Role.SIGNAL, tag, f"speed of {tag}")
        why = f"own 10 V of {tag}, for a dead panel"
        _way(b, f"{use}/own", TerminalId(relay, "12"), standby.own_10, Role.SIGNAL, tag, why, "red")
        start = TerminalId(relay, "11")
    _way(b, f"{use}/+", start, plus, Role.SIGNAL, tag, f"speed signal of {tag}, +", "black")
    _way(b, f"{use}/-", out("-"), minus, Role.COMMON, tag, f"speed signal of {tag}, common", "white")
    return use


@dataclass(frozen=True, slots=True)
class Standby:
    """A relay held in while the controller lives; fallen out, it runs a fan at full speed by the fan's own voltage."""

    relay: str
    own_10: TerminalId


def standby_relay(b: Builder, fan: FanView, own_10: TerminalId) -> Standby | None:
    """The standby relay of a fan that has to run without the panel."""
    if not fan.standby:
        return None
    tag = fan.tag
    use = f"{tag}/standby"
    out = b.point(PointKind.RELAY_OUTPUT, use)
    b.outputs.append(OutputLogic(use, "alive"))
    relay = b.inside("K", use, "relay_24", f"standby relay of {tag}", tag)
    cls, why = EnergyClass.CLASS2, f"standby of {tag}"
    b.wire(f"{use}/c", b.rail("+24", use), out("c"), cls, Role.CONTROL, tag, why)
    b.wire(f"{use}/no", out("no"), TerminalId(relay, "A1"), cls, Role.CONTROL, tag, why)
    b.wire(f"{use}/0", TerminalId(relay, "A2"), b.rail("0V", use), cls, Role.COMMON, tag, why)
    return Standby(relay, own_10)


def _way(
    b: Builder, key: str, inner: TerminalId, outer: TerminalId, role: Role, of: str, why: str, colour: str
) -> None:
    if b.in_panel(outer):
        b.wire(key, inner, outer, EnergyClass.CLASS2, role, of, why, colour=colour)
    else:
        b.through(key, inner, outer, EnergyClass.CLASS2, role, of, why, colour=colour)


def run_contact(
    b: Builder,
    fan: FanView,
    first: TerminalId,
    second: TerminalId,
    command: RunCommand,
    standby: Standby | None = None,
) -> str:
    """The panel's contact between two terminals of the equipment, or its coil on somebody's voltage."""
    tag = fan.tag
    use = f"{tag}/run"
    out = b.point(PointKind.RELAY_OUTPUT, use)
    if command.kind == "wet":
        wet_run(b, tag, out("c"), out("no"), command, first, second)
    else:
        _way(b, f"{use}/1", out("c"), first, Role.CONTROL, tag, f"run contact of {tag}", "black")
        _way(b, f"{use}/2", out("no"), second, Role.CONTROL, tag, f"run contact of {tag}", "white")
    if standby is not None:
        for mark, end in (("21", first), ("22", second)):
            key, why = f"{use}/standby/{mark}", f"run of {tag} for a dead panel"
            _way(b, key, TerminalId(standby.relay, mark), end, Role.CONTROL, tag, why, "red")
    if fan.forced_by:
        if standby is not None:
            # a run terminal takes two conductors: the third goes to the relay contact that lies across the pair
            first, second = TerminalId(standby.relay, "21"), TerminalId(standby.relay, "22")
        force(b, fan, first, second)
    return use


def wet_run(
    b: Builder,
    tag: str,
    common: TerminalId,
    made: TerminalId,
    command: RunCommand,
    first: TerminalId,
    second: TerminalId,
) -> None:
    """An interposing relay in the panel on the command's voltage; its contact makes the equipment's run pair."""
    relay = b.inside("K", f"{tag}/run", "relay_120", f"interposing run relay of {tag}", tag)
    hot, neutral = control_voltage(b, command, f"{tag}/run")
    cls = EnergyClass.CLASS1
    b.wire(f"{tag}/run/hot", hot, common, cls, Role.CONTROL, tag, f"run command supply of {tag}")
    b.wire(f"{tag}/run/coil", made, TerminalId(relay, "A1"), cls, Role.CONTROL, tag, f"run command of {tag}")
    b.wire(f"{tag}/run/N", TerminalId(relay, "A2"), neutral, cls, Role.NEUTRAL, tag, f"run command of {tag}")
    _way(b, f"{tag}/run/1", TerminalId(relay, "11"), first, Role.CONTROL, tag, f"run contact of {tag}", "black")
    _way(b, f"{tag}/run/2", TerminalId(relay, "14"), second, Role.CONTROL, tag, f"run contact of {tag}", "white")


def control_voltage(b: Builder, command: RunCommand, use: str) -> tuple[TerminalId, TerminalId]:
    """Hot and neutral of a wet command: the panel's own 120 V, or a building circuit."""
    cls = EnergyClass.CLASS1
    if command.circuit:
        name = b.circuit(command.circuit).lines[0]
        return b.tap(command.circuit, name, use, cls), b.tap(command.circuit, "N", use, cls)
    return b.bus(cls, "L", use), b.bus(cls, "N", use)


def force(b: Builder, fan: FanView, first: TerminalId, second: TerminalId) -> None:
    """The released side of a fire-switch pole across the run pair: for each fan a pole of its own."""
    system = next((f for f in b.job.fire_systems if f.tag == fan.forced_by), None)
    if system is None:
        return
    poles = [i for i, p in enumerate(system.poles, 1) if p.use == "exhaust run"]
    # fans that have a pole by an issue keep it
    issued = b.job.issued.conductors
    mates = [f.tag for f in b.job.exhaust_fans if f.forced_by == fan.forced_by]
    turn = sorted(mates, key=lambda tag: issued.get(f"{tag}/forced/1", math.inf)).index(fan.tag)
    if turn >= len(poles):
        what = (
            "a pole across two run pairs joins them, and each fan starts the other: add a pole" if poles else "add one"
        )
        no = "no further" if poles else "no"
        b.refuse(
            f"fan {fan.tag}", f"forced_by {fan.forced_by}, but that switch has {no} pole with use: exhaust run; {what}"
        )
        return
    pole = poles[turn]
    key = f"{fan.tag}/forced"
    _way(
        b,
        f"{key}/1",
        first,
        TerminalId(system.tag, f"{pole}C"),
        Role.CONTROL,
        fan.tag,
        f"fire run of {fan.tag}",
        "black",
    )
    _way(
        b,
        f"{key}/2",
        second,
        TerminalId(system.tag, f"{pole}R"),
        Role.CONTROL,
        fan.tag,
        f"fire run of {fan.tag}",
        "white",
    )
