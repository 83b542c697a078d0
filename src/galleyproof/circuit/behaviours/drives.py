"""Variable frequency drives."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from galleyproof.circuit.behaviours._registry import Made, behaviour
from galleyproof.circuit.behaviours.fans import asked, lines_live, speed_from_volts
from galleyproof.circuit.rules import After, Levels, Rule, Values

REFERENCE_OHM = 100_000.0
"""Input of a 0-10 V reference (common practice) [ohm]."""
MILLIAMP_OHM = 250.0
"""The same input set for 4-20 mA (common practice) [ohm]."""
NOISE_OHM = 400.0
"""What rectified noise on the pair loads it with: 10 V behind 100 ohm then read 8 V, as the trade reports [ohm]."""
KEYPAD_SPEED = 0.35
"""A speed somebody once left on the keypad [ratio]."""


@behaviour("drive")
def drive(made: Made, roles: Mapping[str, Any]) -> Iterable[Rule]:
    """A drive: ``line_parts``, ``run_part``, ``reference_part``, ``output_parts`` (sources), ``own_parts``.

    ``fault_parts`` are contacts closed while it is healthy. With the run contact made it turns at the reference,
    never below its least speed; when the contact opens it ramps down and has stopped after ``stop_time_s``. A short on
    its output stops it until a hand resets it. With one line of three lost its electronics live on and show a fault.
    """
    rated = made.number("input_v")
    stop_s = made.number("stop_time_s")
    least = made.number("least_speed")
    limit_a = made.number("output_a")
    # a drive that takes its start from its own keypad does not listen to its run input
    ratings = made.device.ratings
    keypad = ratings.get("start_from") == "keypad"
    by_hand = ratings.get("speed_from") == "keypad"
    gone = ratings.get("electronics") == "destroyed"
    stands = ratings.get("fault") == "stands"
    # the way into its reference: a set-up for milliamperes loads it, a shield on noisy ground while it runs
    reference_ohm = MILLIAMP_OHM if ratings.get("reference") == "milliamperes" else REFERENCE_OHM
    noisy = ratings.get("shield") == "on noisy ground"
    lines = tuple(roles["line_parts"])
    outputs = tuple(roles["output_parts"])
    own = tuple(roles.get("own_parts", ()))
    healthy_parts = tuple(roles.get("fault_parts", ()))
    inputs = (
        *made.slots(lines, ".ac"),
        made.slot(f"{roles['run_part']}.dc"),
        made.slot(f"{roles['reference_part']}.dc"),
        *made.slots(outputs, ".amps_ac"),
        "reset",
    )

    def act(values: Values, now: Values) -> Values:
        n = len(lines)
        live = max(abs(v) for v in values[:n]) >= 0.8 * rated and not gone
        lost = live and not lines_live(values[:n], rated)
        run = abs(values[n]) > 5.0 and not keypad
        amps = max(abs(i) for i in values[n + 2 : n + 2 + len(outputs)])
        faulted = live and (lost or stands or ((now[1] or amps > 3.0 * limit_a) and not values[-1]))
        turning = now[0]
        speed: Any = 0.0
        if live and not faulted:
            if run:
                speed = KEYPAD_SPEED if by_hand else max(speed_from_volts(values[n + 1]), least)
            elif turning:
                speed = After(stop_s, 0.0)
        shown = turning if isinstance(speed, After) else speed
        loaded = NOISE_OHM if noisy and shown else reference_ohm
        return (
            speed,
            faulted,
            loaded,
            *([shown] * len(outputs)),
            *([1.0 if live else 0.0] * len(own)),
            *([live and not faulted] * len(healthy_parts)),
        )

    slots = (
        made.slot("turns"),
        made.slot("faulted"),
        made.slot(str(roles["reference_part"])),
        *made.slots(outputs),
        *made.slots(own),
        *made.slots(healthy_parts),
    )
    initial = (0.0, False, reference_ohm, *([0.0] * len(outputs)), *([0.0] * len(own)), *([False] * len(healthy_parts)))
    looks: dict[str, Any] = dict.fromkeys(made.slots(lines, ".ac"), Levels((0.8 * rated,)))
    looks |= dict.fromkeys(made.slots(outputs, ".amps_ac"), Levels((3.0 * limit_a,)))
    looks[made.slot(f"{roles['run_part']}.dc")] = Levels((5.0,))
    looks[made.slot(f"{roles['reference_part']}.dc")] = asked
    yield Rule(made.tag, "drive", inputs, slots, initial, act, looks)
