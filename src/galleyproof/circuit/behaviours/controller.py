"""The panel controller and its expansion modules: points, and the program that joins them.

Every rule of the program is a small behaviour of its own, so that a change under one hood does not run the whole
program again. Inner values are slots named ``TAG>what``: ``H-1>demand``, ``Z1>released``, ``EF-1>run``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from galleyproof.circuit.behaviours._curves import sensor_degc
from galleyproof.circuit.behaviours._registry import Made, behaviour
from galleyproof.circuit.rules import After, Levels, Rule, Values
from galleyproof.design.model import (
    POINT_PART,
    FanLogic,
    HoodLogic,
    LightLogic,
    OutputLogic,
    Point,
    PointKind,
    SwitchLogic,
)

EXCITATION_V = 5.0
PULL_UP_OHM = 10000.0
LOOP_MADE_V = 12.0
"""A supervised loop or wetted input counts as made above this [V]."""
OPEN = "open"
SHORT = "short"
LOGIC_V = 18.0
"""Least supply of a controller or module [V]."""
READING_S = 1.0
"""How long a controller waits for an input that has not been read before it takes it for open (common practice) [s]."""
UNREAD = "not read"


def _used(made: Made) -> list[Point]:
    return [p for p in made.design.points if p.device == made.tag]


def _life(made: Made) -> Iterable[Rule]:
    """Alive while it has its 24 V; its sources of excitation, wetting and data follow."""
    sources = [f"{POINT_PART[PointKind.HOOD_SENSOR]}_{i}" for i in range(1, made.kind.points.get("hood sensor", 0) + 1)]
    sources += [f"room_{i}" for i in range(1, made.kind.points.get("room sensor", 0) + 1)]
    sources += [f"fire_{i}_x" for i in range(1, made.kind.points.get("supervised fire input", 0) + 1)]
    talks = ["talk"] if made.kind.points.get("serial link") else []
    if talks:
        sources.append("serial")
    if made.kind.points.get("display port"):
        sources.append("port")

    def act(inputs: Values, _now: Values) -> Values:
        alive = inputs[0] >= LOGIC_V
        return (alive, *([1.0 if alive else 0.0] * len(sources)), *([alive] * len(talks)))

    yield Rule(
        made.tag,
        "supply",
        (made.slot("logic.dc"),),
        (made.slot("alive"), *made.slots(sources), *made.slots(talks)),
        (False, *([0.0] * len(sources)), *([False] * len(talks))),
        act,
        {made.slot("logic.dc"): Levels((LOGIC_V,), signed=True)},
    )


def _points(made: Made, controller: str) -> Iterable[Rule]:
    """Points in use: what inputs read and what outputs do."""
    alive, master = made.slot("alive"), f"{controller}.alive"
    for point in _used(made):
        part, use = point.name, point.used_for
        if point.kind in (PointKind.HOOD_SENSOR, PointKind.ROOM_SENSOR):
            curve = str(made.design.device_by_tag[use].ratings["curve"])
            yield Rule(
                made.tag,
                f"reads {use}",
                (alive, made.slot(f"{part}.dc")),
                (f"{use}>reads",),
                (None,),
                _thermometer(curve),
            )
        elif point.kind in (PointKind.FIRE_INPUT, PointKind.DIGITAL_INPUT):
            yield Rule(
                made.tag,
                f"senses {use}",
                (alive, made.slot(f"{part}.dc")),
                (f"{use}>made",),
                (None,),
                lambda inputs, _now: (inputs[1] >= LOOP_MADE_V if inputs[0] else None,),
                {made.slot(f"{part}.dc"): Levels((LOOP_MADE_V,), signed=True)},
            )
        elif point.kind is PointKind.RELAY_OUTPUT:
            yield Rule(
                made.tag,
                f"switches {use}",
                (alive, master, f"{use}>wanted"),
                (made.slot(f"{part}_no"), made.slot(f"{part}_nc")),
                (False, True),
                lambda inputs, _now: ((all(inputs)), not all(inputs)),
            )
        elif point.kind is PointKind.SPEED_OUTPUT:
            yield Rule(
                made.tag,
                f"gives {use}",
                (alive, master, f"{use}>level", made.slot(f"{part}_bleed.dc")),
                (made.slot(part), made.slot(f"{part}_gives")),
                (0.0, True),
                _push,
            )


def _push(inputs: Values, now: Values) -> Values:
    """A 0-10 V output: gives current, takes none. The gap between letting go and taking on keeps it from buzzing."""
    alive, master, level, volts = inputs
    given = level if alive and master else 0.0
    over = volts - 10.0 * given
    return (given, over < (0.05 if now[1] else 0.02))


def _thermometer(curve: str) -> Any:
    def act(inputs: Values, _now: Values) -> Values:
        alive, volts = inputs
        if not alive:
            return (None,)
        if volts > 0.98 * EXCITATION_V:
            return (OPEN,)
        if volts < 0.004 * EXCITATION_V:
            return (SHORT,)
        ohm = PULL_UP_OHM * volts / (EXCITATION_V - volts)
        return (round(sensor_degc(curve, ohm) * 1.8 + 32.0, 1),)

    return act


@behaviour("module")
def module(made: Made, _roles: Mapping[str, Any]) -> Iterable[Rule]:
    """An expansion module: points that live while it and the controller have power."""
    yield from _life(made)
    yield from _points(made, made.design.program.controller)


@behaviour("controller")
def controller(made: Made, _roles: Mapping[str, Any]) -> Iterable[Rule]:
    """The controller: its own points, and every rule of the design's program."""
    yield from _life(made)
    yield from _points(made, made.tag)
    program = made.design.program
    if program.controller != made.tag:
        return
    alive = made.slot("alive")
    for zone, uses in program.fire_inputs.items():
        yield Rule(
            made.tag, f"fire {zone}", (alive, *(f"{u}>made" for u in uses)), (f"{zone}>released",), (False,), _released
        )
    for hood in program.hoods:
        yield _hood(made.tag, hood)
    for switch in program.switches:
        yield _switch(made.tag, switch)
    for fan in program.fans:
        yield from _fan(made, alive, fan)
    for lights in program.lights:
        yield _lights(made.tag, lights)
    yield Rule(
        made.tag,
        "alarm",
        tuple(f"{h.hood}>fault" for h in program.hoods) + tuple(f"{z}>released" for z in program.fire_inputs),
        (f"{made.tag}>alarm",),
        (False,),
        lambda inputs, _now: (any(inputs),),
    )
    for output in program.outputs:
        yield _output(made.tag, alive, output)


def _released(inputs: Values, _now: Values) -> Values:
    """An open loop is a release: a broken wire must not hide one, nor a module that does not answer."""
    alive, *loops = inputs
    if not alive:
        return (False,)
    if None in loops and False not in loops:
        # waking up, a controller reads its inputs before it judges them
        return (After(READING_S, True),)
    return (not all(loops),)


def _hood(owner: str, hood: HoodLogic) -> Rule:
    low, high = hood.idle_below_degf, hood.full_above_degf

    def act(inputs: Values, _now: Values) -> Values:
        if any(t in (OPEN, SHORT) for t in inputs):
            return (1.0, True)
        temperatures = [t for t in inputs if t is not None]
        if not temperatures:
            return (0.0, False)
        # the largest of the sensors' demands, never the mean
        demand = (max(temperatures) - low) / (high - low)
        return (round(min(max(demand, 0.0), 1.0), 3), False)

    return Rule(
        owner,
        f"hood {hood.hood}",
        tuple(f"{s}>reads" for s in hood.sensors),
        (f"{hood.hood}>demand", f"{hood.hood}>fault"),
        (0.0, False),
        act,
    )


def _switch(owner: str, switch: SwitchLogic) -> Rule:
    def act(inputs: Values, _now: Values) -> Values:
        if None in inputs:
            return (UNREAD,)
        if len(inputs) > 1 and inputs[1]:
            return ("hand",)
        if inputs[0]:
            return ("auto" if len(inputs) > 1 else "on",)
        return ("off",)

    uses = (switch.on_input, switch.hand_input) if switch.hand_input else (switch.on_input,)
    return Rule(
        owner, f"switch {switch.switch}", tuple(f"{u}>made" for u in uses), (f"{switch.switch}>set",), (UNREAD,), act
    )


def _as_set(made: Made, fan: FanLogic) -> FanLogic:
    """A fan's logic as somebody set it on site, where that is not as ordered."""
    ratings = made.device.ratings
    on_release = ratings.get(f"{fan.fan} on release", fan.on_release)
    return replace(fan, on_release=str(on_release), waits=bool(ratings.get(f"{fan.fan} waits", fan.waits)))


def _fan(made: Made, alive: str, fan: FanLogic) -> Iterable[Rule]:
    program = made.design.program
    owner = made.tag
    fan = _as_set(made, fan)
    switches = tuple(
        s.switch
        for s in program.switches
        if s.does == "fans" and not fan.follows and (not s.acts_on or fan.fan in s.acts_on)
    )
    zones = tuple(z for z in fan.zones if z in program.fire_inputs)
    n_h, n_s, n_z = len(fan.hoods), len(switches), len(zones)
    follows = {f.fan: f for f in program.fans}
    leaders = tuple(follows[f] for f in fan.follows if f in follows)
    proofs = tuple(f"{leader.proof}>made" if leader.proof else f"{leader.fan}>run" for leader in leaders)
    speeds = tuple(f"{leader.fan}>speed" for leader in leaders)
    inputs = (
        alive,
        *(f"{z}>released" for z in zones),
        *(f"{h}>demand" for h in fan.hoods),
        *(f"{s}>set" for s in switches),
        *proofs,
        *speeds,
        *((f"{fan.permit}>made",) if fan.permit else ()),
        *((f"{fan.fan}>allowed",) if fan.waits else ()),
    )

    def act(values: Values, now: Values) -> Values:
        if not values[0]:
            return (False, False, 0.0)
        released = any(values[1 : 1 + n_z])
        demands = values[1 + n_z : 1 + n_z + n_h]
        sets = values[1 + n_z + n_h : 1 + n_z + n_h + n_s]
        rest = values[1 + n_z + n_h + n_s :]
        if leaders:
            proven = [bool(p) for p in rest[: len(leaders)]]
            leading = [s for s, p in zip(rest[len(leaders) : 2 * len(leaders)], proven, strict=True) if p]
            on = any(proven)
            speed = max(fan.min_speed, *leading) if leading else 0.0
            tail = rest[2 * len(leaders) :]
        else:
            demand = max(demands, default=0.0)
            on = demand > 0.0 or any(s in ("on", "hand") for s in sets)
            speed = 1.0 if "hand" in sets else fan.min_speed + (1.0 - fan.min_speed) * demand
            tail = rest
        if fan.waits and not tail[-1] and not any(d > 0.0 for d in demands):
            on = False
        if released and fan.on_release != "as before":
            on = fan.on_release in ("full speed", "low speed")
            speed = {"full speed": 1.0, "low speed": fan.min_speed}.get(fan.on_release, 0.0)
        permitted = bool(tail[0]) if fan.permit else True
        run = on and permitted
        return (on, run, round(speed, 3) if run else 0.0)

    yield Rule(
        owner,
        f"fan {fan.fan}",
        inputs,
        (f"{fan.fan}>on", f"{fan.fan}>run", f"{fan.fan}>speed"),
        (False, False, 0.0),
        act,
    )
    for use, source, suffix in ((fan.run, "run", "wanted"), (fan.opens, "on", "wanted"), (fan.speed, "speed", "level")):
        if use:
            yield Rule(
                owner,
                f"{use} follows",
                (f"{fan.fan}>{source}",),
                (f"{use}>{suffix}",),
                (0.0,) if suffix == "level" else (False,),
                lambda values, _now: (values[0],),
            )
    if fan.waits:
        # after an outage a person has to turn the switch off and on again, or press reset
        yield Rule(
            owner,
            f"{fan.fan} waits for a hand",
            (alive, "reset", *(f"{s}>set" for s in switches)),
            (f"{fan.fan}>allowed",),
            (False,),
            lambda values, now: (
                bool(values[0]) and (now[0] or bool(values[1]) or all(s == "off" for s in values[2:])),
            ),
        )


def _lights(owner: str, lights: LightLogic) -> Rule:
    off_on_release = lights.on_release == "off"

    def act(values: Values, _now: Values) -> Values:
        on = values[0] in ("on", "hand", "auto")
        return (on and not (off_on_release and any(values[1:])),)

    return Rule(
        owner,
        f"lights {lights.relay}",
        (f"{lights.switch}>set", *(f"{z}>released" for z in lights.zones)),
        (f"{lights.relay}>wanted",),
        (False,),
        act,
    )


def _output(owner: str, alive: str, output: OutputLogic) -> Rule:
    what, _, zone = output.on.partition(" ")
    source = {"fire": f"{zone}>released", "armed": f"{zone}>released"}.get(what, f"{owner}>alarm")

    def act(values: Values, _now: Values) -> Values:
        live, value = values
        return ({"fire": value, "armed": not value, "healthy": not value, "alarm": value}.get(what, True) and live,)

    return Rule(owner, f"output {output.relay}", (alive, source), (f"{output.relay}>wanted",), (False,), act)
