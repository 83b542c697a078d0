"""Probes that look closer: inside the panel, around a conductor, at what a signal is made of.

They tell apart what the field landings cannot: a coil that gets no volts from one that does not move, a command that
was given from one that was obeyed, a real voltage from one that a raceway couples in.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from galleyproof.checkout.model import Kind, Probe, Stage
from galleyproof.circuit.meter import VOLTMETER_OHM
from galleyproof.design.model import Conductor, EnergyClass, PointKind, Role, TerminalId

if TYPE_CHECKING:
    from galleyproof.checkout.probes import Makers

LIGHT = (EnergyClass.CLASS2, EnergyClass.DATA)
FLAG_AT = ("line", "on", "cooking")
"""States in which one looks at the flag of an overload."""
CLAMP_AT = ("on", "cooking")
"""States in which a clamp is put around a conductor: something runs."""
RETURNS_AT = ("line", "reset held", "cooking")
"""States in which a return is read, beside every release: something wants to flow home."""
TO_GROUND = "neutral to ground"
GHOSTS_AT = ("line", "switches off again", "released")
"""States in which a conductor that should be dead is read with an ordinary meter."""


def closer(makers: Makers) -> Iterator[Probe]:
    """All of them.

    Args:
        makers: Makes probes of the job.
    """
    yield from _fire_switch(makers)
    yield from _coils(makers)
    yield from _signals(makers)
    yield from _returns(makers)
    yield from _clamps(makers)
    yield from _ghosts(makers)
    yield from _displays(makers)


def _fire_switch(makers: Makers) -> Iterator[Probe]:
    """The pole itself, at the switch: made or open, whatever the way to the panel."""
    for device in makers.design.devices:
        if not device.type.startswith("fire_switch"):
            continue
        landed = {t.mark for c in makers.design.conductors for t in (c.a, c.b) if t.device == device.tag}
        zone = str(device.ratings["zone"])
        for pole in range(1, 5):
            for side in ("A", "R"):
                if {f"{pole}C", f"{pole}{side}"} <= landed:
                    for prep in ("dead", f"dead, {zone} released"):
                        a, b = TerminalId(device.tag, f"{pole}C"), TerminalId(device.tag, f"{pole}{side}")
                        yield makers.meter(prep, "ohms", a, b, device.tag, line=False, note="the pole itself")


def _coils(makers: Makers) -> Iterator[Probe]:
    """Coils of the panel's relays and contactors, and across contacts that hang in a chain of commands."""
    design = makers.design
    landed = {t for c in design.conductors for t in (c.a, c.b)}
    for device in design.devices:
        if device.parent != design.panel:
            continue
        if device.type.startswith(("relay_", "motor_contactor", "light_contactor")):
            form = "ac" if device.type == "relay_120" else "dc"
            a, b = TerminalId(device.tag, "A1"), TerminalId(device.tag, "A2")
            yield from makers.live_pair(a, b, form, device.tag, light=form == "dc", high=False)
        if device.type == "relay_120":
            for x, y in (("11", "14"), ("21", "24")):
                a, b = TerminalId(device.tag, x), TerminalId(device.tag, y)
                if a in landed and b in landed:
                    yield from makers.live_pair(a, b, "ac", device.tag, light=False, high=False)


def _signals(makers: Makers) -> Iterator[Probe]:
    """At drives: run input, reference, own supply. At EC fans: own supply, and what the signal is made of."""
    for device in makers.design.devices:
        pairs: tuple[tuple[str, str], ...] = ()
        if device.type.startswith("vfd_"):
            pairs = (("run", "ref-"), ("ref+", "ref-"), ("+10V", "ref-"))
        elif device.type.startswith("ec_fan"):
            signal = "PWM" if device.type.endswith("_pwm") else "0-10V"
            pairs = (("+10V", "GND"), ("+10V", signal))
        for x, y in pairs:
            a, b = TerminalId(device.tag, x), TerminalId(device.tag, y)
            yield from makers.live_pair(a, b, "dc", device.tag, light=True, high=False)
    for point in makers.design.points:
        if point.kind is not PointKind.SPEED_OUTPUT:
            continue
        tag = point.used_for.partition("/")[0]
        cable = [c for c in makers.design.conductors if c.made == "field" and c.key.startswith(f"{point.used_for}/")]
        ends = [makers.far(c) for c in sorted(cable, key=lambda c: c.role is Role.COMMON)]
        for prep in CLAMP_AT if len(ends) == 2 else ():
            made = makers.meter(prep, "hertz", ends[0], ends[1], tag, line=False)
            yield replace(made, slot=point.used_for)


def _returns(makers: Makers) -> Iterator[Probe]:
    """A circuit's neutral in the panel to the equipment ground: next to nothing, or it does not go home."""
    for cable in makers.cables.values():
        for c in cable:
            near = makers.near(c)
            ground = makers.ground(near)
            if c.role is not Role.NEUTRAL or ground is None or not makers.in_panel(near):
                continue
            if makers.design.device_by_tag[makers.far(c).device].type.startswith("panelboard"):
                for prep in (p for p in makers.preps if p in RETURNS_AT or p.endswith(" released")):
                    if makers.preps[prep].stage in (Stage.DEAD, Stage.CONTROL):
                        continue
                    high = makers.is_high(cable)
                    yield makers.meter(prep, "volts AC", near, ground, c.of, line=True, high=high, note=TO_GROUND)


def _clamps(makers: Makers) -> Iterator[Probe]:
    """Amperes of every line of a motor, at its panel or breaker end."""
    turning = {f.tag for f in makers.job.exhaust_fans} | {u.tag for u in makers.job.makeup_units}
    for cable in makers.cables.values():
        if not any(c.of in turning for c in cable):
            continue
        for c in cable:
            if c.role not in (Role.LINE, Role.LOAD) or c.energy_class is not EnergyClass.LINE:
                continue
            near = makers.near(c)
            device = makers.design.device_by_tag[near.device]
            if makers.in_panel(near) or device.type.startswith("breaker_"):
                for prep in CLAMP_AT:
                    yield _clamp(makers, prep, c, near)


def _clamp(makers: Makers, prep: str, c: Conductor, near: TerminalId) -> Probe:
    made = makers.meter(prep, "amps AC", near, near, c.of, line=True, high=makers.is_high([c]))
    words = f"clamp, AC amperes: around conductor {c.number} at {near}, at {made.place}; everything landed"
    return replace(made, key=f"{prep}: amps AC {c.key}", slot=c.key, black=None, words=words)


def _ghosts(makers: Makers) -> Iterator[Probe]:
    """Switched conductors that should be dead, with an ordinary meter: what the low-impedance range hides."""
    for tag, cable in makers.cables.items():
        wires = [c for c in cable if c.role is not Role.GROUND]
        if wires[0].energy_class in LIGHT or not any(c.role in (Role.CONTROL, Role.LOAD) for c in wires):
            continue
        starts = [c for c in wires if c.role in (Role.CONTROL, Role.LOAD)]
        backs = [c for c in wires if c.role is Role.NEUTRAL]
        for prep in makers.preps.values():
            if prep.stage is Stage.DEAD or not prep.key.endswith(GHOSTS_AT):
                continue
            for a, b in ((makers.far(s), makers.far(r)) for s in starts for r in backs):
                if makers.right.volts(prep.step, a, b, "ac", VOLTMETER_OHM) > 1.0:
                    continue
                kind: Kind = "volts AC"
                made = makers.meter(prep.key, kind, a, b, wires[0].of or tag, line=True, high=makers.is_high(cable))
                words = made.words.replace("low-impedance range", "ordinary range")
                note = "; between 10 and 100 V read it again with the low-impedance range before you conclude anything"
                # a moment more than the low-impedance reading, which is the one to take first
                yield replace(
                    made,
                    key=f"{prep.key}: volts AC, ordinary meter {a} {b}",
                    meter_ohm=VOLTMETER_OHM,
                    words=words + note,
                    minutes=made.minutes + 0.3,
                )


def _displays(makers: Makers) -> Iterator[Probe]:
    """What drives and overloads show, and whether the building's controller hears the panel."""
    slots = makers.right.machine.slot
    for device in makers.design.devices:
        if device.type.startswith("motor_contactor"):
            amps = f"{float(str(device.ratings['overload_a'])):g} A"
            question = (
                f"the dial of the overload of {device.tag}: does it stand at the {amps} of the drawing, and does the "
                "motor's nameplate ask for that (as drawn, low, high)"
            )
            yield makers.look("dead", f"{device.tag}.dial", device.tag, question, "the panel")
    for prep in makers.preps.values():
        if prep.stage in (Stage.DEAD, Stage.CONTROL):
            continue
        for device in makers.design.devices:
            if device.type.startswith("vfd_"):
                question = f"the display of the drive {device.tag}: dark, stopped, runs (hertz), in local, or a fault"
                yield makers.look(prep.key, f"{device.tag}.display", device.tag, question, "the panel")
            elif device.type.startswith("motor_contactor") and prep.key in FLAG_AT:
                question = f"the overload of {device.tag}: has it tripped (its flag, or its button out)"
                yield makers.look(prep.key, f"{device.tag}.tripped", device.tag, question, "the panel")
            elif device.type.startswith("link_station") and f"{device.tag}.online" in slots and prep.key == "line":
                question = f"{device.tag}: is the panel there, steadily, with values that change"
                yield makers.look(prep.key, f"{device.tag}.online", device.tag, question, device.place)
