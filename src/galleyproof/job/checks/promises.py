"""The job's own promises: facts, devices and effects that exist."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Final

from galleyproof import units
from galleyproof.errors import Problem
from galleyproof.job.checks.registry import check
from galleyproof.job.model import ExhaustFan, MakeupUnit, OwnPromise
from galleyproof.job.register import Register
from galleyproof.yamltext import Path, either, hint

FACTS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "fire": ("armed", "released", "re-armed"),
        "heat": ("off", "on"),
        "switch": ("off", "on", "hand", "auto"),
        "supply": ("present", "lost", "returned"),
        "sensor": ("ok", "open", "short"),
    }
)
"""Facts a row may ask for, with the values each can have; written ``fire ZONE``, ``heat HOOD`` and so on."""

EFFECTS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "fan": ("runs", "runs at N %", "at least N cfm", "off", "stands"),
        "valve or damper": ("open", "shut"),
        "appliance or lights": ("on", "off"),
        "alarm": ("alarm", "no alarm", "on", "off"),
    }
)
"""What a row may expect of each sort of device."""

_SPEED = re.compile(r"runs at (?:100|[1-9]?[0-9])(?:\.[0-9]+)? ?%")
_FLOW = "at least "


def flow_of(effect: str) -> float | None:
    """Flow that an effect asks for, ``at least 2,400 cfm`` [cfm]; None for any other effect.

    Raises:
        UnitError: It asks for a flow that cannot be read.
    """
    return units.parse(effect.removeprefix(_FLOW), "airflow") if effect.startswith(_FLOW) else None


@check(
    "hoods",
    "exhaust_fans",
    "makeup_units",
    "dampers",
    "fire_systems",
    "shutdowns",
    "switches",
    "building_alarm",
)
def own_promises(r: Register) -> Iterator[Problem]:
    """Facts with their items and values; devices with their effects."""
    items = items_of(r)
    devices = devices_of(r)
    for path, row in r.each("promises"):
        yield from _facts(r, (*path, "when"), row, items)
        yield from _effects(r, (*path, "expect"), row, devices)


def _facts(r: Register, path: Path, row: OwnPromise, items: Mapping[str, list[str]]) -> Iterator[Problem]:
    for fact, value in row.when.items():
        kind, _, item = fact.partition(" ")
        at = (*path, fact)
        if fact == "reset":
            if value not in ("not yet", "pressed"):
                yield r.say(at, f"{value!r} is not one of 'not yet' or 'pressed'")
        elif kind not in FACTS:
            forms = ", ".join(f"'{k} {n}'" for k, n in _FORMS.items())
            yield r.say(at, f"{fact!r} is no fact{hint(kind, FACTS)}; facts are {forms}, 'reset'")
        elif item not in items[kind]:
            known = items[kind]
            listed = ", ".join(known[:12]) or "none"
            yield r.say(at, f"there is no {_FORMS[kind].lower()} {item}{hint(item, known)}; here: {listed}")
        elif value not in FACTS[kind]:
            yield r.say(at, f"{value!r} is not one of {either(FACTS[kind])}{hint(value, FACTS[kind])}")


_FORMS = {"fire": "ZONE", "heat": "HOOD", "switch": "SWITCH", "supply": "CIRCUIT", "sensor": "SENSOR"}


def items_of(r: Register) -> dict[str, list[str]]:
    """Items a row may speak of, by the kind of fact."""
    return {
        "fire": list(r.zones()),
        "heat": list(r.hoods),
        "switch": list(r.switches),
        "supply": list(r.circuits),
        "sensor": [s.tag for h in r.hoods.values() for s in h.sensors],
    }


def devices_of(r: Register) -> dict[str, str]:
    """Devices a row may speak of, each with its sort."""
    found = dict.fromkeys([*r.exhaust_fans, *r.makeup_units], "fan")
    for hood in r.hoods.values():
        found |= {a.tag: "appliance or lights" for a in hood.appliances}
        if hood.lights:
            found[f"{hood.tag}-E1"] = "appliance or lights"
    found |= {s.tag: "valve or damper" for s in r.shutdowns.values() if s.kind == "gas valve"}
    found |= {d.tag: "valve or damper" for _, d in r.each("dampers")}
    alarm = r.sections["building_alarm"]
    if alarm is not None:
        found[alarm.tag] = "alarm"
    return found


def _effects(r: Register, path: Path, row: OwnPromise, devices: Mapping[str, str]) -> Iterator[Problem]:
    fans: dict[str, ExhaustFan | MakeupUnit] = {**r.exhaust_fans, **r.makeup_units}
    for device, effect in row.expect.items():
        at = (*path, device)
        sort = devices.get(device)
        if sort is None:
            if device not in r.broken:
                listed = ", ".join(list(devices)[:12])
                yield r.say(at, f"{device} does nothing that can be promised{hint(device, devices)}; here: {listed}")
        elif sort == "fan" and effect.startswith(_FLOW):
            yield from _flow(r, at, effect, fans[device])
        elif effect not in EFFECTS[sort] and not (sort == "fan" and _SPEED.fullmatch(effect)):
            said = either(EFFECTS[sort])
            yield r.say(at, f"{effect!r} is not what a {sort} does: {said}{hint(effect, EFFECTS[sort])}")


def _flow(r: Register, at: Path, effect: str, fan: ExhaustFan | MakeupUnit) -> Iterator[Problem]:
    try:
        flow = flow_of(effect)
    except units.UnitError as error:
        yield r.say(at, str(error))
        return
    if flow is not None and not 0.0 < flow <= fan.airflow:
        what = f"{flow:g} cfm is asked of a fan whose design airflow is {fan.airflow:g} cfm"
        yield r.say(at, f"{what}; ask for more than nothing and no more than that")
