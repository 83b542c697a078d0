"""Sensors and proving switches: the kitchen's heat and the fans' movement become ohms and contacts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from galleyproof.circuit.behaviours._curves import sensor_ohm
from galleyproof.circuit.behaviours._registry import Made, behaviour
from galleyproof.circuit.rules import Levels, Rule, Values

COLD_DEGF = 75.0
HOT_DEGF = 160.0
"""Collar temperature with every appliance of the hood at work; above any usual full-speed point [degF]."""

NOISE_DEGF = 5.0
"""What a sensor seems to read while a drive's noise is on its pair: next to nothing (common practice) [degF]."""


@behaviour("temperature_sensor")
def temperature_sensor(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """Ohms of ``sensor_part`` from the heat under ``hood`` (a rating; empty for a room) and the sensor's health."""
    # what hangs in the hood need not be what was ordered, which is what the controller is set to
    curve = str(made.device.ratings.get("fitted_curve", made.word("curve")))
    # one that lies beside its hood feels the room
    hood = "" if made.device.ratings.get("hangs") == "elsewhere" else made.word("hood")
    cold = sensor_ohm(curve, (COLD_DEGF - 32.0) / 1.8)
    hot = sensor_ohm(curve, (HOT_DEGF - 32.0) / 1.8)

    # a cable beside motor leads: what the drive puts on it while it runs is no temperature
    beside = str(made.device.ratings.get("beside", ""))
    noise = sensor_ohm(curve, (NOISE_DEGF - 32.0) / 1.8)

    def act(inputs: Values, _now: Values) -> Values:
        # a broken or shorted sensor reads as such, noise or not
        if inputs[0] == "open":
            return (float("inf"),)
        if inputs[0] == "short":
            return (0.0,)
        if beside and inputs[-1]:
            return (noise,)
        return (hot if hood and inputs[1] == "on" else cold,)

    inputs = (f"sensor {made.tag}",) + ((f"heat {hood}",) if hood else ())
    if beside:
        inputs += (f"{beside}.turns",)
    yield Rule(made.tag, "sensor", inputs, (made.slot(str(roles["sensor_part"])),), (cold,), act)


@behaviour("current_switch")
def current_switch(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """A contact that closes while the conductor through it carries current: ``make_parts``, rating ``around``."""
    make = tuple(roles["make_parts"])
    least_a = made.number("least_a")

    def act(inputs: Values, _now: Values) -> Values:
        return (abs(inputs[0]) >= least_a,) * len(make)

    yield Rule(
        made.tag,
        "current switch",
        (f"{made.word('around')}.amps_ac",),
        made.slots(make),
        (False,) * len(make),
        act,
        {f"{made.word('around')}.amps_ac": Levels((least_a,))},
    )


PROVES_RATIO = 0.2
"""Speed from which an air-flow switch that is set right makes (common practice) [ratio]."""


@behaviour("airflow_switch")
def airflow_switch(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """A contact that closes while ``fan`` (a rating) moves air: ``make_parts``."""
    make = tuple(roles["make_parts"])
    # a reversed wheel still moves about half its air, so it proves too
    least = float(str(made.device.ratings.get("least_speed", PROVES_RATIO)))

    def act(inputs: Values, _now: Values) -> Values:
        return (abs(inputs[0]) >= least,) * len(make)

    yield Rule(
        made.tag,
        "air-flow switch",
        (f"{made.word('fan')}.speed",),
        made.slots(make),
        (False,) * len(make),
        act,
    )
