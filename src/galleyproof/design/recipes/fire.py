"""Fire switches: the supervised loop of the panel, the shutdown pole, the alarm pole; spare fire outputs."""

from __future__ import annotations

from galleyproof.design.builder import Builder
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
    for system in b.job.fire_systems:
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
                _loop(b, system, pole, n)
            elif pole.use == "shutdown":
                _shutdown(b, system, pole, n)
            elif pole.use == "building alarm":
                _alarm(b, system, pole, n)
    alarm = b.job.building_alarm
    if alarm is not None:
        b.device(alarm.tag, "alarm_module", "building alarm module", alarm.place, alarm.tag)
        if alarm.taken_from == "panel contact":
            _panel_alarm(b, alarm.tag)


def _loop(b: Builder, system: FireSystem, pole: Pole, n: int) -> None:
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
    if system.switches_joined == "in parallel":
        for i, tag in enumerate(tags, 1):
            b.wire(f"{use}/+/{i}", start, TerminalId(tag, f"{n}C"), cls, Role.SIGNAL, system.tag, why, colour="black")
            b.wire(f"{use}/-/{i}", end, TerminalId(tag, closed), cls, Role.SIGNAL, system.tag, why, colour="white")
    else:
        at = start
        for i, tag in enumerate(tags, 1):
            b.wire(f"{use}/+/{i}", at, TerminalId(tag, f"{n}C"), cls, Role.SIGNAL, system.tag, why, colour="black")
            at = TerminalId(tag, closed)
        b.wire(f"{use}/-/1", at, end, cls, Role.SIGNAL, system.tag, why, colour="white")
    for switch in b.job.switches:
        if switch.wired == "around the fire contact" and switch.does == "fans":
            for mark, at in (("3", start), ("4", end)):
                b.wire(
                    f"{use}/{switch.tag}/{mark}", at, TerminalId(switch.tag, mark), cls, Role.SIGNAL, system.tag, why
                )


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
        b.wire(f"{use}/{i}/C", at, TerminalId(tag, f"{n}C"), cls, Role.CONTROL, system.tag, why)
        at = TerminalId(tag, wires["armed"])
        if pole.side != "armed side":
            b.wire(
                f"{use}/{i}/R",
                TerminalId(tag, wires["released"]),
                b.bus(cls, f"{system.zone}/released", f"{use}/{i}"),
                cls,
                Role.CONTROL,
                system.tag,
                why,
            )
    if pole.side != "released side":
        b.wire(f"{use}/A", at, b.bus(cls, f"{system.zone}/armed", use), cls, Role.CONTROL, system.tag, why)


def _alarm(b: Builder, system: FireSystem, pole: Pole, n: int) -> None:
    alarm = b.job.building_alarm
    if alarm is None or alarm.taken_from != "fire switch":
        return
    why = f"building alarm from {system.tag}"
    side = side_mark(pole, n)[-1]
    cls = EnergyClass.CLASS2
    several = sum(any(p.use == "building alarm" for p in f.poles) for f in b.job.fire_systems) > 1
    before: dict[str, TerminalId] = {}
    for mark in ("Z1", "Z2"):
        before[mark] = TerminalId(alarm.tag, mark)
        if several:
            # the pairs of all zones meet on the strip; from there one pair goes to the module
            use = f"{alarm.tag}/{mark}"
            if f"{cls}:{use}" not in b.buses:
                b.wire(use, b.bus(cls, use, "0"), before[mark], cls, Role.SIGNAL, alarm.tag, "building alarm")
            before[mark] = b.bus(cls, use, system.tag)
    for i, tag in enumerate(switch_tags(system), 1):
        for mark, end in ((f"{n}C", "Z1"), (f"{n}{side}", "Z2")):
            here = TerminalId(tag, mark)
            b.wire(f"{system.tag}/alarm{n}/{end}/{i}", here, before[end], cls, Role.SIGNAL, system.tag, why)
            before[end] = here


def _panel_alarm(b: Builder, tag: str) -> None:
    for system in b.job.fire_systems:
        use = f"{system.tag}/alarm"
        out = b.point(PointKind.RELAY_OUTPUT, use)
        for i, role in enumerate(("c", "no"), 1):
            b.through(
                f"{use}/{role}",
                out(role),
                TerminalId(tag, f"Z{i}"),
                EnergyClass.CLASS2,
                Role.SIGNAL,
                system.tag,
                "building alarm from the panel",
            )
        b.outputs.append(OutputLogic(use, f"fire {system.zone}"))


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
