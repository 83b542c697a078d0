"""The suppression system's switch and the building's alarm module."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from galleyproof.circuit.behaviours._registry import Made, behaviour
from galleyproof.circuit.rules import Levels, Rule, Values


@behaviour("fire_switch")
def fire_switch(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """Snap-action poles: ``armed_parts`` closed while armed, ``released_parts`` closed while released."""
    armed = tuple(roles["armed_parts"])
    released = tuple(roles["released_parts"])
    # a system that nobody has charged and armed yet sits in its released position
    waiting = made.device.ratings.get("sits") == "released"

    def act(inputs: Values, _now: Values) -> Values:
        gone = waiting or inputs[0] == "released" or inputs[1] == "pulled"
        return (*([not gone] * len(armed)), *([gone] * len(released)))

    yield Rule(
        made.tag,
        "fire switch",
        (f"fire {made.word('zone')}", f"release {made.tag}"),
        (*made.slots(armed), *made.slots(released)),
        (True,) * len(armed) + (False,) * len(released),
        act,
    )


@behaviour("alarm_module")
def alarm_module(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """The building alarm's input: in alarm while the contact on its terminals is closed (``sense_part``)."""

    def act(inputs: Values, _now: Values) -> Values:
        return (abs(inputs[0]) > 6.0,)

    yield Rule(
        made.tag,
        "alarm module",
        (made.slot(f"{roles['sense_part']}.dc"),),
        (made.slot("on"),),
        (False,),
        act,
        {made.slot(f"{roles['sense_part']}.dc"): Levels((6.0,))},
    )
