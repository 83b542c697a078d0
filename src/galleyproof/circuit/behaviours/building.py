"""The building's side: breakers, shunt trips, supplies, transformers, wall switches, links."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from galleyproof.circuit.behaviours._registry import Made, behaviour
from galleyproof.circuit.rules import After, Levels, Rule, Values

SHUNT_PICK_UP_RATIO = 0.75
"""Coil window of a shunt trip: 75 % to 110 % of rated volts (IEC 60947-2 allows 70 % to 110 %) [ratio]."""

UNDERVOLTAGE_RATIO = 0.35
"""Below this an undervoltage release surely trips: IEC 60947-2, 35 % to 70 % [ratio]."""

WEAK_A, WEAK_S = 1.0, 20.0
"""A pole that gives way does so after some time under more than a standing current (common practice) [A], [s]."""


@behaviour("breaker")
def breaker(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """A circuit breaker: ``pole_parts`` (contacts), ``way_parts`` (resistances that carry its current).

    Optional ``shunt_part`` (coil), ``cut_off_part`` (contact that opens with the poles). Trips at once from 5 times
    its rating, after a minute from 1.35 times, or by its shunt coil; only a hand closes it again.
    """
    rated = made.number("trip_a")
    poles = tuple(roles["pole_parts"])
    ways = tuple(roles["way_parts"])
    shunt = roles.get("shunt_part")
    cut_off = roles.get("cut_off_part")
    coil_v = made.number("coil_v") if shunt else 0.0
    supply = f"supply {made.tag}"
    # the other accessory of the same look: it trips when its volts are missing
    undervoltage = made.device.ratings.get("accessory") == "undervoltage"
    # a fuse or pole that gives way under current, and stays open: its number
    weak = int(str(made.device.ratings.get("weak_pole", 0)))
    # its coil pulls and the latch does not let go
    jammed = made.device.ratings.get("latch") == "jammed"

    def act(inputs: Values, now: Values) -> Values:
        present = inputs[0] == "present"
        reset = inputs[1]
        amps = max(abs(a) for a in inputs[2 : 2 + len(ways)])
        if undervoltage:
            pulls = max(abs(inputs[-2]), abs(inputs[-1])) < UNDERVOLTAGE_RATIO * coil_v
        else:
            pulls = bool(shunt) and not jammed and max(abs(inputs[-2]), abs(inputs[-1])) >= SHUNT_PICK_UP_RATIO * coil_v
        tripped = now[0]
        state: Any = tripped
        # trip-free: a handle held in the reset position does not close it a second time
        pressed = reset and not now[1]
        if pulls or amps > 5.0 * rated:
            state = True
        elif tripped and pressed:
            state = False
        elif amps > 1.35 * rated and not tripped:
            state = After(60.0, True)
        shown = tripped if isinstance(state, After) else state
        closed = present and not shown
        extra: Values = (not shown,) if cut_off else ()
        closes = [closed] * len(poles)
        if weak:
            lost = bool(now[-1])
            closes[weak - 1] = closed and not lost
            extra += (True if lost else After(WEAK_S, True) if abs(inputs[1 + weak]) > WEAK_A else False,)
        return (state, bool(reset), *closes, *extra)

    inputs = (supply, "reset", *made.slots(ways, ".amps_ac"))
    if shunt:
        inputs += (made.slot(f"{shunt}.ac"), made.slot(f"{shunt}.dc"))
    outputs = (made.slot("tripped"), made.slot("handle"), *made.slots(poles))
    initial: Values = (False, False, *([False] * len(poles)))
    if cut_off:
        outputs += (made.slot(str(cut_off)),)
        initial += (True,)
    if weak:
        outputs += (made.slot("lost"),)
        initial += (False,)
    looks: dict[str, Levels] = {}
    for n, way in enumerate(made.slots(ways, ".amps_ac"), 1):
        looks[way] = Levels(tuple(sorted({1.35 * rated, 5.0 * rated} | ({WEAK_A} if n == weak else set()))))
    if shunt:
        for s in inputs[-2:]:
            looks[s] = Levels(((UNDERVOLTAGE_RATIO if undervoltage else SHUNT_PICK_UP_RATIO) * coil_v,))
    yield Rule(made.tag, "breaker", inputs, outputs, initial, act, looks)


@behaviour("protector")
def protector(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """A supplementary protector inside the panel: ``pole_parts``, ``way_parts``; trips like a breaker."""
    rated = made.number("trip_a")
    poles = tuple(roles["pole_parts"])
    ways = tuple(roles["way_parts"])

    def act(inputs: Values, now: Values) -> Values:
        amps = max(abs(a) for a in inputs[1:])
        # trip-free, as a breaker
        pressed = inputs[0] and not now[1]
        tripped = (now[0] and not pressed) or amps > 5.0 * rated
        return (tripped, bool(inputs[0]), *([not tripped] * len(poles)))

    yield Rule(
        made.tag,
        "protector",
        ("reset", *made.slots(ways, ".amps_ac")),
        (made.slot("tripped"), made.slot("handle"), *made.slots(poles)),
        (False, False, *([True] * len(poles))),
        act,
        dict.fromkeys(made.slots(ways, ".amps_ac"), Levels((5.0 * rated,))),
    )


@behaviour("fuelled")
def fuelled(made: Made, _roles: Mapping[str, Any]) -> Iterable[Rule]:
    """A gas appliance has fuel while its ``valve`` (a rating) is open."""
    yield Rule(
        made.tag,
        "fuel",
        (f"{made.word('valve')}.open",),
        (made.slot("on"),),
        (False,),
        lambda inputs, _now: (bool(inputs[0]),),
    )


SAG_RATIO = 0.25
"""What an overloaded small transformer loses at the load it is chosen too small for (common practice) [ratio]."""

LEAST_SAG = 0.002
"""A change of its level that is not followed [ratio]."""


@behaviour("power_supply")
def power_supply(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """A DC supply: ``input_part`` (load), ``output_part`` (source); shuts down above its rated current."""
    volts = made.number("input_v")
    max_a = made.number("output_a")
    output = str(roles["output_part"])
    # an unregulated one of too little power does not shut down: its volts sag with the load
    soft_a = float(str(made.device.ratings.get("sags_at_a", 0.0)))

    def act(inputs: Values, now: Values) -> Values:
        fed = abs(inputs[0]) >= 0.75 * volts
        if soft_a:
            level = round(max(1.0 - SAG_RATIO * abs(inputs[1]) / soft_a, 0.3), 3) if fed else 0.0
            # its volts move its own load: a step that nobody could read is not taken
            return (now[0] if fed and abs(level - now[0]) < LEAST_SAG else level, False)
        over = now[1] or abs(inputs[1]) > 1.5 * max_a
        if not fed:
            over = False
        return (1.0 if fed and not over else 0.0, over)

    yield Rule(
        made.tag,
        "power supply",
        (made.slot(f"{roles['input_part']}.ac"), made.slot(f"{output}.amps_dc")),
        (made.slot(output), made.slot("overloaded")),
        (0.0, False),
        act,
        {
            made.slot(f"{roles['input_part']}.ac"): Levels((0.75 * volts,)),
            **({} if soft_a else {made.slot(f"{output}.amps_dc"): Levels((1.5 * max_a,))}),
        },
    )


@behaviour("transformer")
def transformer(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """A control transformer: the secondary ``output_part`` follows the primary ``input_part``."""
    volts = made.number("input_v")

    def act(inputs: Values, _now: Values) -> Values:
        return (round(min(abs(inputs[0]) / volts, 1.2), 3),)

    yield Rule(
        made.tag,
        "transformer",
        (made.slot(f"{roles['input_part']}.ac"),),
        (made.slot(str(roles["output_part"])),),
        (0.0,),
        act,
    )


@behaviour("wall_switch")
def wall_switch(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """A switch a person turns: ``on_parts`` made at on/auto, ``hand_parts`` at hand."""
    on = tuple(roles.get("on_parts", ()))
    hand = tuple(roles.get("hand_parts", ()))

    def act(inputs: Values, _now: Values) -> Values:
        position = inputs[0]
        return (*([position in ("on", "auto")] * len(on)), *([position == "hand"] * len(hand)))

    yield Rule(
        made.tag,
        "wall switch",
        (f"switch {made.tag}",),
        (*made.slots(on), *made.slots(hand)),
        (False,) * (len(on) + len(hand)),
        act,
    )


@behaviour("second_master")
def second_master(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """Another controller's contact: ``make_parts`` closed while it calls, ``break_parts`` open then."""
    make = tuple(roles.get("make_parts", ()))
    broken = tuple(roles.get("break_parts", ()))

    def act(inputs: Values, _now: Values) -> Values:
        calls = inputs[0] == "calls"
        return (*([calls] * len(make)), *([not calls] * len(broken)))

    yield Rule(
        made.tag,
        "second master",
        (f"master {made.tag}",),
        (*made.slots(make), *made.slots(broken)),
        (False,) * len(make) + (True,) * len(broken),
        act,
    )


@behaviour("listener")
def listener(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """Something on line while it sees enough volts between its data conductors: ``data_part``, ``least_v``."""
    least = float(roles.get("least_v", 0.2))
    power = roles.get("power_part")
    # a station with another's address, speed or range hears nothing that is meant for it
    deaf = made.device.ratings.get("settings") == "another's"
    inputs = [made.slot(f"{roles['data_part']}.dc")]
    if power:
        inputs.append(made.slot(f"{power}.dc"))

    def act(values: Values, _now: Values) -> Values:
        powered = len(values) == 1 or abs(values[1]) >= 18.0
        return (powered and values[0] >= least and not deaf,)

    looks = {inputs[0]: Levels((least,), signed=True)}
    if power:
        looks[inputs[1]] = Levels((18.0,))

    yield Rule(made.tag, "listener", tuple(inputs), (made.slot("online"),), (False,), act, looks)
