"""What must have a counterpart: hoods and fans, zones and fire systems, motors and their circuits."""

from __future__ import annotations

from collections.abc import Iterator

from galleyproof.errors import Problem
from galleyproof.job.checks.registry import check
from galleyproof.job.register import Register
from galleyproof.yamltext import Path, hint


@check("exhaust_fans")
def hood_without_fan(r: Register) -> Iterator[Problem]:
    """A hood served by no exhaust fan."""
    served = {tag for fan in r.exhaust_fans.values() for tag in fan.serves}
    for path, hood in r.each("hoods"):
        if hood.tag not in served:
            fans = ", ".join(r.exhaust_fans) or "none"
            what = f"no exhaust fan serves this hood; add {hood.tag} to serves of one (exhaust fans: {fans})"
            yield r.say(path, what)


@check("fire_systems")
def hood_without_fire_system(r: Register) -> Iterator[Problem]:
    """A hood in a zone that no fire system protects."""
    zones = r.zones()
    for path, hood in r.each("hoods"):
        if hood.zone not in zones:
            listed = ", ".join(zones) or "none"
            what = f"no fire system has zone {hood.zone}{hint(hood.zone, zones)}; protected zones: {listed}"
            yield r.say((*path, "zone"), what)


@check("hoods")
def fire_system_without_hood(r: Register) -> Iterator[Problem]:
    """A fire system whose zone has no hood."""
    zones = dict.fromkeys(hood.zone for hood in r.hoods.values())
    for path, system in r.each("fire_systems"):
        if system.zone not in zones:
            listed = ", ".join(zones) or "none"
            what = f"no hood is in zone {system.zone}{hint(system.zone, zones)}; zones of hoods: {listed}"
            yield r.say((*path, "zone"), what)


@check()
def zone_with_two_fire_systems(r: Register) -> Iterator[Problem]:
    """Two fire systems of one zone."""
    first: dict[str, str] = {}
    for path, system in r.each("fire_systems"):
        if system.zone in first:
            what = (
                f"zone {system.zone} already has fire system {first[system.zone]}; "
                "give each system a zone of its own, or one system more switches"
            )
            yield r.say((*path, "zone"), what)
        first.setdefault(system.zone, system.tag)


@check()
def named_twice_in_a_list(r: Register) -> Iterator[Problem]:
    """The same tag twice in one list of tags."""
    for section, key in (("exhaust_fans", "serves"), ("makeup_units", "tracks"), ("switches", "acts_on")):
        for path, item in r.each(section):
            tags: tuple[str, ...] = getattr(item, key)
            for i, tag in enumerate(tags):
                if tag in tags[:i]:
                    yield r.say((*path, key, i), f"{tag} stands here twice; name it once")


@check()
def fan_with_two_dampers(r: Register) -> Iterator[Problem]:
    """Two dampers in the path of one fan."""
    first: dict[str, str] = {}
    for path, damper in r.each("dampers"):
        if damper.fan in first:
            what = f"fan {damper.fan} already has damper {first[damper.fan]}; one damper per fan can be wired"
            yield r.say((*path, "fan"), what)
        first.setdefault(damper.fan, damper.tag)


@check()
def motor_shares_its_circuit(r: Register) -> Iterator[Problem]:
    """A motor on a circuit that also feeds something else (a motor branch circuit feeds its motor only).

    Feeding several motors from one circuit is possible under NFPA 70-2023 430.53, with conditions that the
    job file does not state.
    """
    uses: dict[str, list[tuple[bool, str, Path]]] = {}
    for path, fan in r.each("exhaust_fans"):
        uses.setdefault(fan.circuit, []).append((True, f"exhaust fan {fan.tag}", (*path, "circuit")))
    for path, unit in r.each("makeup_units"):
        uses.setdefault(unit.circuit, []).append((True, f"make-up unit {unit.tag}", (*path, "circuit")))
    for path, hood in r.each("hoods"):
        if hood.lights:
            at: Path = (*path, "lights", "circuit")
            uses.setdefault(hood.lights.circuit, []).append((False, f"the lights of hood {hood.tag}", at))
        for i, appliance in enumerate(hood.appliances):
            if appliance.circuit:
                at = (*path, "appliances", i, "circuit")
                uses.setdefault(appliance.circuit, []).append((False, f"appliance {appliance.tag}", at))
    if r.panel:
        uses.setdefault(r.panel.circuit, []).append((False, f"panel {r.panel.tag}", ("panel", "circuit")))
    for circuit, users in uses.items():
        motor = next((u for u in users if u[0]), None)
        if motor is None:
            continue
        for user in users:
            if user is not motor:
                what = f"circuit {circuit} already feeds {motor[1]}; a motor has a circuit of its own"
                yield r.say(user[2], f"{what}, take another here")


@check("switches")
def lights_without_switch(r: Register) -> Iterator[Problem]:
    """Lights that no wall switch works, or that name a switch for fans."""
    for path, hood in r.each("hoods"):
        if hood.lights is None:
            continue
        named = r.switches.get(hood.lights.switch or "")
        if named is not None and named.does != "lights":
            what = f"{named.tag} is a switch for {named.does}; name one with does: lights"
            yield r.say((*path, "lights", "switch"), what)
        elif hood.lights.switch is None and not any(
            s.does == "lights" and (not s.acts_on or hood.tag in s.acts_on) for s in r.switches.values()
        ):
            what = "no wall switch works these lights; add one with does: lights, or name it by switch"
            yield r.say((*path, "lights"), what)
