"""Coils that move contacts: relays, contactors, overloads, valves, dampers, reset relays."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from galleyproof.circuit.behaviours._registry import Made, behaviour
from galleyproof.circuit.rules import After, Levels, Rule, Values

PICK_UP_RATIO = 0.80
"""Least coil voltage that surely pulls in: IEC 60947-4-1 asks for 85 %, relays do at 80 % [ratio]."""
DROP_OUT_RATIO = 0.20
"""Coil voltage at which it surely lets go: IEC 60947-4-1, 20 % to 75 % AC [ratio]."""

AS_DRAWN = "as drawn"
"""What a person says of a setting that is right."""


def pulled(volts: float, rated_v: float, was: bool) -> bool:
    """Whether a coil is in, given that between the two limits it stays as it was."""
    if volts >= PICK_UP_RATIO * rated_v:
        return True
    if volts <= DROP_OUT_RATIO * rated_v:
        return False
    return was


def coil_levels(rated_v: float) -> Levels:
    """What a coil tells apart; see ``pulled``. [V]."""
    return Levels((DROP_OUT_RATIO * rated_v, PICK_UP_RATIO * rated_v))


def coil_volts(ac: complex, dc: float, form: str) -> float:
    """What a coil feels of its own form [V]."""
    return abs(ac) if form == "ac" else abs(dc)


@behaviour("relay")
def relay(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """A coil moves contacts: ``coil_part``, ``make_parts``, ``break_parts``, ``volts`` (rating name), ``form``.

    With ``held_by_part`` (an overload's own contact is in the coil circuit and needs nothing here).
    """
    form = str(roles["form"])
    rated = made.number(str(roles.get("volts", "coil_v")))
    make = tuple(roles.get("make_parts", ()))
    broken = tuple(roles.get("break_parts", ()))
    coil = made.slot(f"{roles['coil_part']}.{form}")

    def act(inputs: Values, now: Values) -> Values:
        energised = pulled(abs(inputs[0]), rated, now[0])
        return (energised, *([energised] * len(make)), *([not energised] * len(broken)))

    yield Rule(
        made.tag,
        "relay",
        (coil,),
        (made.slot("in"), *made.slots(make), *made.slots(broken)),
        (False, *([False] * len(make)), *([True] * len(broken))),
        act,
        {coil: coil_levels(rated)},
    )


@behaviour("overload")
def overload(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """Heaters trip contacts: ``heater_parts``, ``break_parts``, ``make_parts``; reset by hand only.

    A bimetal relay is not a sure protection against a lost phase: it trips on current, after a while.
    """
    setting_a = made.number("overload_a")
    heaters = tuple(roles["heater_parts"])
    broken = tuple(roles["break_parts"])
    make = tuple(roles.get("make_parts", ()))
    # nobody has pressed its button since it tripped
    left = made.device.ratings.get("overload") == "tripped"
    # where its dial stands, to a person who holds it against the drawing
    dial = str(made.device.ratings.get("dial", AS_DRAWN))

    def act(inputs: Values, now: Values) -> Values:
        *amps, reset = inputs
        tripped = now[0] or left
        hot = max(abs(i) for i in amps) > 1.25 * setting_a
        state: Any = tripped
        if reset and not now[1] and not hot and not left:
            # trip-free: a button held in does not close it a second time
            state = False
        elif hot and not tripped:
            state = After(30.0, True)
        shown = tripped if isinstance(state, After) else state
        return (state, bool(reset), dial, *([not shown] * len(broken)), *([shown] * len(make)))

    yield Rule(
        made.tag,
        "overload",
        (*made.slots(heaters, ".amps_ac"), "reset"),
        (made.slot("tripped"), made.slot("button"), made.slot("dial"), *made.slots(broken), *made.slots(make)),
        (False, False, dial, *([True] * len(broken)), *([False] * len(make))),
        act,
        dict.fromkeys(made.slots(heaters, ".amps_ac"), Levels((1.25 * setting_a,))),
    )


@behaviour("valve")
def valve(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """A valve that is open only while its coil is in: ``coil_part``, ``form``."""
    form = str(roles["form"])
    rated = made.number("coil_v")
    # dirt under the seat or a stem that does not move: the coil pulls, and the gas does not hear it
    stuck = made.device.ratings.get("seat")

    def act(inputs: Values, now: Values) -> Values:
        return (pulled(abs(inputs[0]), rated, now[0]) if stuck is None else stuck == "open",)

    yield Rule(
        made.tag,
        "valve",
        (made.slot(f"{roles['coil_part']}.{form}"),),
        (made.slot("open"),),
        (False,),
        act,
        {made.slot(f"{roles['coil_part']}.{form}"): coil_levels(rated)},
    )


@behaviour("damper")
def damper(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """A spring-return damper: opens in ``travel_s`` while powered; ``end_part`` closes when it is open."""
    form = str(roles["form"])
    rated = made.number("coil_v")
    travel_s = made.number("travel_s")
    end = roles.get("end_part")

    def act(inputs: Values, now: Values) -> Values:
        powered = abs(inputs[0]) >= PICK_UP_RATIO * rated
        is_open = now[0]
        following: Any = is_open
        if powered and not is_open:
            following = After(travel_s, True)
        elif is_open and not powered:
            # the spring takes its time too; the end contact leaves its place at once
            following = After(travel_s / 2.0, False)
        return (following, bool(powered and is_open)) if end else (following,)

    outputs = (made.slot("open"), made.slot(str(end))) if end else (made.slot("open"),)
    yield Rule(
        made.tag,
        "damper",
        (made.slot(f"{roles['motor_part']}.{form}"),),
        outputs,
        (False,) * len(outputs),
        act,
        {made.slot(f"{roles['motor_part']}.{form}"): Levels((PICK_UP_RATIO * rated,))},
    )


@behaviour("push_button")
def push_button(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """Contacts that are made while a hand presses: ``make_parts``."""
    make = tuple(roles["make_parts"])
    yield Rule(
        made.tag,
        "push button",
        ("reset",),
        made.slots(make),
        (False,) * len(make),
        lambda inputs, _now: (bool(inputs[0]),) * len(make),
    )


@behaviour("indicator")
def indicator(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """A lamp, horn, light or appliance that works while its ``load_parts`` have their volts.

    ``form`` is ``ac`` or ``dc``; a three-phase load works when all its pairs are there.
    """
    form = str(roles["form"])
    rated = made.number(str(roles.get("volts", "load_v")))
    parts = tuple(roles["load_parts"])

    def act(inputs: Values, _now: Values) -> Values:
        return (min(abs(v) for v in inputs) >= 0.8 * rated,)

    volts = made.slots(parts, f".{form}")
    yield Rule(made.tag, "load", volts, (made.slot("on"),), (False,), act, dict.fromkeys(volts, Levels((0.8 * rated,))))
