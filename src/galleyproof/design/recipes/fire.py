"""Fire switches: the supervised loop of the panel, the shutdown pole, the alarm pole; spare fire outputs."""

from __future__ import annotations

import math

from galleyproof.design.builder import Builder, natural
from galleyproof.design.model import EnergyClass, OutputLogic, PointKind, Role, TerminalId
from galleyproof.design.recipes._registry import recipe
from galleyproof.job.model import FireSystem, Pole, switch_tags

# On a bare snap switch NC is closed while nothing presses it. Sitting in an armed release it is pressed, so its NC
# contact is open then: the letters name the released side (common practice; measure to be sure).
_SIDE = {"armed side": "A", "released side": "R", "NC": "R", "NO": "A", "to be measured": "A", "both sides": "A"}


def side_mark(pole: Pole, n: int) -> str:
    """Mark of the throw a pole's use is landed on."""
    return f"{n}{_SIDE[pole.side]}"


@recipe("fire systems")
def build(b: Builder) -> None:
    """Every switch of every system; every pole by its use."""
    around: dict[TerminalId, TerminalId] = {}
    issued = b.job.issued.conductors

    def turn(system: FireSystem) -> tuple[float, object]:
        """As issued, new ones last: a conductor that leads from one system to the next then stays where it is."""
        keys = [f"{system.tag}/loop{n}/+/in" for n, _ in enumerate(system.poles, 1)]
        return min(issued.get(k, math.inf) for k in keys), natural(system.tag)

    for system in sorted(b.job.fire_systems, key=turn):
        for tag in switch_tags(system):
            b.device(
                tag,
                f"fire_switch_{len(system.poles)}",
                f"fire switch of {system.tag}",
                system.place,
                system.tag,
                zone=system.zone,
            )
        for n, pole in enumerate(system.poles, 1):
            if pole.use == "panel loop":
                _loop(b, system, pole, n, around)
            elif pole.use == "shutdown":
                _shutdown(b, system, pole, n)
    alarm = b.job.building_alarm
    if alarm is not None:
        b.device(alarm.tag, "alarm_module", "building alarm module", alarm.place, alarm.tag)
        if alarm.taken_from == "panel contact":
            _panel_alarm(b, alarm.tag)
        else:
            _alarm(b, alarm.tag)


def _loop(b: Builder, system: FireSystem, pole: Pole, n: int, around: dict[TerminalId, TerminalId]) -> None:
    use = f"{system.tag}/loop{n}"
    seen = b.point(PointKind.FIRE_INPUT, use)
    b.fire_inputs[system.zone] = (*b.fire_inputs.get(system.zone, ()), use)
    cls = EnergyClass.CLASS2
    tags = switch_tags(system)
    why = f"supervised loop of {system.tag}"
    start = b.landing(cls, f"{use}/+")
    end = b.landing(cls, f"{use}/-")
    b.wire(f"{use}/+/in", seen("+"), start, cls, Role.SIGNAL, system.tag, why, colour="black")
    b.wire(f"{use}/-/in", seen("-"), end, cls, Role.SIGNAL, system.tag, why, colour="white")
    b.jumper(f"{use}/jumper", start, end, system.tag, f"fitted for shipping; take it out when {system.tag} is landed")
    closed = side_mark(pole, n)

    def beside(at: TerminalId, key: str) -> TerminalId:
        """A further place bridged to one that holds its two conductors already."""
        place = b.landing(cls, f"{use}/{key}")
        b.bridge(at, place)
        return place

    if system.switches_joined == "in parallel":
        for i, tag in enumerate(tags, 1):
            plus, minus = (start, end) if i == 1 else (beside(start, f"+/{i}"), beside(end, f"-/{i}"))
            b.wire(f"{use}/+/{i}", plus, TerminalId(tag, f"{n}C"), cls, Role.SIGNAL, system.tag, why, colour="black")
            b.wire(f"{use}/-/{i}", minus, TerminalId(tag, closed), cls, Role.SIGNAL, system.tag, why, colour="white")
    else:
        at = start
        for i, tag in enumerate(tags, 1):
            b.wire(f"{use}/+/{i}", at, TerminalId(tag, f"{n}C"), cls, Role.SIGNAL, system.tag, why, colour="black")
            at = TerminalId(tag, closed)
        b.wire(f"{use}/-/1", at, end, cls, Role.SIGNAL, system.tag, why, colour="white")
    for switch in b.job.switches:
        if switch.wired == "around the fire contact" and switch.does == "fans":
            for mark, at in (("3", start), ("4", end)):
                key, hand = f"{switch.tag}/{mark}", TerminalId(switch.tag, mark)
                place = beside(at, key)
                # one contact around several loops: the first loop has the wire, the others follow from strip to strip
                b.wire(f"{use}/{key}", place, around.get(hand, hand), cls, Role.SIGNAL, system.tag, why)
                around[hand] = place


def _shutdown(b: Builder, system: FireSystem, pole: Pole, n: int) -> None:
    """The second pole carries the shutdown circuit straight to coils: nothing of the panel can hold it up."""
    assert system.shutdown_circuit is not None
    circuit = system.shutdown_circuit
    cls = EnergyClass.CLASS1
    line = b.circuit(circuit).lines[0]
    why = f"shutdown pole of {system.tag}"
    use = f"{system.tag}/shutdown{n}"
    wires = {"armed": f"{n}A", "released": f"{n}R"}
    if pole.side in ("NC", "NO", "to be measured"):
        # nobody knows the side: both buses end up on the one the letters suggest
        wires = dict.fromkeys(wires, side_mark(pole, n))
    at = b.tap(circuit, line, use, cls)
    tags = switch_tags(system)
    for i, tag in enumerate(tags, 1):
        # armed sides in series, released sides side by side: any one switch does the whole
        b.wire(f"{use}/{i}/C", at, TerminalId(tag, f"{n}C"), cls, Role.CONTROL, system.tag, f"{why}, common")
        at = TerminalId(tag, wires["armed"])
        if pole.side != "armed side":
            b.wire(
                f"{use}/{i}/R",
                TerminalId(tag, wires["released"]),
                b.bus(cls, f"{system.zone}/released", f"{use}/{i}"),
                cls,
                Role.CONTROL,
                system.tag,
                f"{why}, released side",
            )
    if pole.side != "released side":
        b.wire(
            f"{use}/A", at, b.bus(cls, f"{system.zone}/armed", use), cls, Role.CONTROL, system.tag, f"{why}, armed side"
        )


def _alarm(b: Builder, alarm: str) -> None:
    """One pair from the module through every switch: a terminal takes a wire in and a wire out, never a star.

    The pair visits the switches in the order in which their conductors were issued, new ones last.
    """
    poles = [(s, p, n) for s in b.job.fire_systems for n, p in enumerate(s.poles, 1) if p.use == "building alarm"]
    issued = b.job.issued.conductors

    def turn(at: tuple[FireSystem, Pole, int]) -> tuple[float, object]:
        system, _pole, n = at
        key = f"{system.tag}/alarm{n}/Z1/1"
        return issued.get(key, math.inf), natural(key)

    before = {"Z1": TerminalId(alarm, "Z1"), "Z2": TerminalId(alarm, "Z2")}
    for system, pole, n in sorted(poles, key=turn):
        why = f"building alarm from {system.tag}"
        side = side_mark(pole, n)[-1]
        for i, tag in enumerate(switch_tags(system), 1):
            for mark, end in ((f"{n}C", "Z1"), (f"{n}{side}", "Z2")):
                here = TerminalId(tag, mark)
                key = f"{system.tag}/alarm{n}/{end}/{i}"
                b.wire(key, here, before[end], EnergyClass.CLASS2, Role.SIGNAL, system.tag, why)
                before[end] = here


def _panel_alarm(b: Builder, alarm: str) -> None:
    """A panel contact per zone, all side by side on the module's one pair."""
    cls, why = EnergyClass.CLASS2, "building alarm from the panel"
    for system in b.job.fire_systems:
        use = f"{system.tag}/alarm"
        out = b.point(PointKind.RELAY_OUTPUT, use)
        for role in ("c", "no"):
            place = b.bus(cls, f"{alarm}/{role}", use)
            b.wire(f"{use}/{role}/in", out(role), place, cls, Role.SIGNAL, system.tag, why)
        b.outputs.append(OutputLogic(use, f"fire {system.zone}"))
    for i, role in enumerate(("c", "no"), 1):
        place = b.bus(cls, f"{alarm}/{role}", "out")
        b.wire(f"{alarm}/Z{i}", place, TerminalId(alarm, f"Z{i}"), cls, Role.SIGNAL, alarm, why)


@recipe("fire outputs")
def outputs(b: Builder) -> None:
    """Spare dry contacts C, NO, NC on the strip, for others."""
    for output in b.job.fire_outputs:
        out = b.point(PointKind.RELAY_OUTPUT, output.tag)
        for role in ("c", "no", "nc"):
            b.wire(
                f"{output.tag}/{role}",
                out(role),
                b.landing(EnergyClass.CLASS2, f"{output.tag}/{role}"),
                EnergyClass.CLASS2,
                Role.CONTROL,
                output.tag,
                f"dry contact for {output.use}, to {output.to}",
            )
        b.outputs.append(OutputLogic(output.tag, f"fire {output.zone}"))
