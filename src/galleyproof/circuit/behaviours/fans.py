"""What turns: motors, EC fans, packaged make-up units."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Mapping
from typing import Any

from galleyproof.circuit.behaviours._registry import Made, behaviour
from galleyproof.circuit.behaviours.relays import DROP_OUT_RATIO
from galleyproof.circuit.rules import After, Levels, Rule, Turning, Values

LEAST_SPEED_V = 1.0
"""Below this an EC fan or drive stands still on its 0-10 V reference (common practice) [V]."""


def speed_from_volts(volts: float) -> float:
    """Speed asked for by a 0-10 V reference [ratio]."""
    return 0.0 if volts < LEAST_SPEED_V else round(min(volts / 10.0, 1.0), 2)


def asked(volts: float) -> float:
    """The reference that stands for all that ask for the same speed. [V]."""
    return 10.0 * speed_from_volts(volts)


def lines_live(volts: tuple[complex, ...], rated_v: float) -> bool:
    """Whether every pair of supply terminals has its volts."""
    return min(abs(v) for v in volts) >= 0.8 * rated_v


NO_LOAD_RATIO = 0.5
"""Draw of an induction motor without its load over its rated one (common practice) [ratio]."""


@behaviour("motor_1")
def motor_1(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """A single-phase motor: ``winding_part``."""
    rated = made.number("motor_v")
    still = made.device.ratings.get("belt") == "off" or made.device.ratings.get("rotor") == "locked"

    def act(inputs: Values, _now: Values) -> Values:
        return (1.0 if abs(inputs[0]) >= 0.8 * rated and not still else 0.0,)

    winding = made.slot(f"{roles['winding_part']}.ac")
    yield Rule(made.tag, "motor", (winding,), (made.slot("speed"),), (0.0,), act, {winding: Levels((0.8 * rated,))})


@behaviour("motor_3")
def motor_3(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """A three-phase motor: ``winding_part`` (a load3 that varies).

    Speed is negative when the phases run backwards. With a phase lost a turning motor keeps turning and draws about
    twice its current; a standing one stalls. On a drive the speed follows the voltage (rating ``on_drive``).
    """
    rated = made.number("motor_v")
    on_drive = made.word("on_drive") == "yes"
    part = str(roles["winding_part"])
    # without its belt the motor turns and the wheel does not: that is what a person sees, and the clamp
    bare = made.device.ratings.get("belt") == "off"
    locked = made.device.ratings.get("rotor") == "locked"
    pairs = (made.slot(f"{part}_ab.ac"), made.slot(f"{part}_bc.ac"), made.slot(f"{part}_ca.ac"))

    def act(inputs: Values, now: Values) -> Values:
        sizes = sorted(abs(v) for v in inputs)
        full = sizes[2] / rated
        if full < (0.08 if on_drive else 0.8):
            return (0.0, 1.0)
        if bare:
            return (0.0, NO_LOAD_RATIO)
        if locked:
            return (0.0, 5.0)
        if sizes[0] < 0.7 * sizes[2]:
            return (math.copysign(min(abs(now[0]), 0.9), now[0]), 2.0) if now[0] else (0.0, 5.0)
        forward = cmath.phase(inputs[0] / inputs[1]) > 0
        # the drive's frequency stands for its volts; the few volts lost on the leads do not slow the motor
        speed = round(min(full / 0.99, 1.0), 2) if on_drive else 1.0
        return (speed if forward else -speed, 1.0)

    looks = dict.fromkeys(pairs, Turning(pairs, rated, on_drive))
    yield Rule(made.tag, "motor", pairs, (made.slot("speed"), made.slot(part)), (0.0, 1.0), act, looks)


@behaviour("ec_fan")
def ec_fan(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """An EC fan: ``line_parts`` (loads), ``reference_part`` (resistor), optional ``run_part``, ``own_parts`` (sources).

    Runs at the speed its reference asks for while it has power and its run contact, if any, is made.
    """
    rated = made.number("motor_v")
    lines = tuple(roles["line_parts"])
    run = roles.get("run_part")
    own = tuple(roles.get("own_parts", ()))
    # a signal of the other kind is no speed: the fan jumps between standing and full
    jumps = made.device.ratings.get("signal") == "of the other kind"
    health = made.device.ratings.get("electronics")
    gone, stands = health == "destroyed", health == "on a fault"
    inputs = (*made.slots(lines, ".ac"), made.slot(f"{roles['reference_part']}.dc"))
    if run:
        inputs += (made.slot(f"{run}.dc"),)

    def act(values: Values, _now: Values) -> Values:
        live = lines_live(values[: len(lines)], rated) and not gone
        called = not run or abs(values[len(lines) + 1]) > 5.0
        speed = speed_from_volts(values[len(lines)]) if live and called and not stands else 0.0
        if jumps:
            speed = 1.0 if speed >= 0.5 else 0.0
        return (speed, *([1.0 if live else 0.0] * len(own)))

    looks: dict[str, Any] = dict.fromkeys(made.slots(lines, ".ac"), Levels((0.8 * rated,)))
    looks[made.slot(f"{roles['reference_part']}.dc")] = asked
    if run:
        looks[made.slot(f"{run}.dc")] = Levels((5.0,))
    yield Rule(made.tag, "EC fan", inputs, (made.slot("speed"), *made.slots(own)), (0.0,) * (1 + len(own)), act, looks)


@behaviour("ec_load")
def ec_load(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """The power an EC fan or unit draws follows the cube of its speed, over a standing draw: ``load_part``."""

    def act(inputs: Values, _now: Values) -> Values:
        return (round(0.03 + 0.97 * abs(inputs[0]) ** 3, 4),)

    yield Rule(made.tag, "draw", (made.slot("speed"),), (made.slot(str(roles["load_part"])),), (0.03,), act)


@behaviour("makeup_unit")
def makeup_unit(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """A packaged make-up unit: ``line_parts``, ``run_part`` (coil of the run pair), ``form``, ``own_parts``.

    Optional ``reference_part``. It starts ``start_delay_s`` after the call (own damper, purge and proving) and stops
    at once; that is normal and no failed interlock. With three phases and ``across_the_line`` it turns as they do,
    backwards when two of them are exchanged.
    """
    rated = made.number("motor_v")
    run_v = made.number("run_v")
    delay_s = made.number("start_delay_s")
    lines = tuple(roles["line_parts"])
    own = tuple(roles.get("own_parts", ()))
    reference = roles.get("reference_part")
    form = str(roles["form"])
    least = float(str(made.device.ratings.get("run_least", 0.7)))
    # its own thermostat, limit or burner control holds it; the run pair reads as if nothing were wrong
    locked_out = made.device.ratings.get("lockout") == "locked out"
    turned = len(lines) == 3 and made.device.ratings.get("across_the_line") == "yes"
    inputs = (*made.slots(lines, ".ac"), made.slot(f"{roles['run_part']}.{form}"))
    if reference:
        inputs += (made.slot(f"{reference}.dc"),)

    def act(values: Values, now: Values) -> Values:
        volts = values[: len(lines)]
        sizes = [abs(v) for v in volts]
        # a motor on the line runs on, humming, until a phase is far down
        live = max(sizes) >= 0.8 * rated and min(sizes) >= 0.7 * max(sizes) if turned else lines_live(volts, rated)
        # its relay lets go far below the volts it pulls in at
        enough = DROP_OUT_RATIO if now[1] else least
        called = live and abs(values[len(lines)]) >= enough * run_v
        wanted = 0.0
        if called and not locked_out:
            wanted = max(speed_from_volts(values[-1]), 0.2) if reference else 1.0
            if turned and cmath.phase(volts[0] / volts[1]) <= 0:
                wanted = -wanted
        speed: Any = wanted
        if wanted and not now[0]:
            speed = After(delay_s, wanted)
        return (speed, called, *([1.0 if live else 0.0] * len(own)))

    of_lines = made.slots(lines, ".ac")
    looks: dict[str, Any] = dict.fromkeys(of_lines, Levels((0.8 * rated,)))
    if turned:
        looks = dict.fromkeys(of_lines, Turning((of_lines[0], of_lines[1], of_lines[2]), rated, on_drive=False))
    looks[made.slot(f"{roles['run_part']}.{form}")] = Levels(tuple(sorted((DROP_OUT_RATIO * run_v, least * run_v))))
    if reference:
        looks[made.slot(f"{reference}.dc")] = asked
    yield Rule(
        made.tag,
        "make-up unit",
        inputs,
        (made.slot("speed"), made.slot("called"), *made.slots(own)),
        (0.0, False, *([0.0] * len(own))),
        act,
        looks,
    )
