"""Fire switches: each pole with what it is for, each user with a pole."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from galleyproof.errors import Problem
from galleyproof.job.checks.registry import check
from galleyproof.job.model import Ec
from galleyproof.job.register import Register


@check()
def shutdown_pole(r: Register) -> Iterator[Problem]:
    """A shutdown pole without the circuit it switches, or the reverse."""
    for path, system in r.each("fire_systems"):
        poles = [i for i, pole in enumerate(system.poles) if pole.use == "shutdown"]
        if poles and system.shutdown_circuit is None:
            what = "use: shutdown switches a circuit; name it by shutdown_circuit of this fire system"
            yield r.say((*path, "poles", poles[0], "use"), what)
        elif system.shutdown_circuit and not poles:
            what = f"circuit {system.shutdown_circuit} is named, but no pole has use: shutdown; add the pole"
            yield r.say((*path, "shutdown_circuit"), what)
        for i in poles[1:]:
            what = "a second pole for shutdown; the coils of a zone hang on one pole"
            yield r.say((*path, "poles", i, "use"), what)


@check("building_alarm")
def alarm_pole(r: Register) -> Iterator[Problem]:
    """An alarm pole without an alarm, or an alarm taken from a pole that is not there."""
    alarm = r.sections["building_alarm"]
    for path, system in r.each("fire_systems"):
        poles = [i for i, pole in enumerate(system.poles) if pole.use == "building alarm"]
        if poles and alarm is None:
            what = "use: building alarm, but the job has no building_alarm; add it, or write use: spare"
            yield r.say((*path, "poles", poles[0], "use"), what)
        elif alarm is not None and alarm.taken_from == "fire switch" and not poles:
            what = "the building alarm is taken from the fire switch; add a pole with use: building alarm"
            yield r.say((*path, "poles"), what)


@check()
def forced_run(r: Register) -> Iterator[Problem]:
    """A fan forced by a fire switch: the switch needs a pole for it alone, the drive a run input."""
    forced: Counter[str] = Counter()
    for path, fan in r.each("exhaust_fans"):
        system = r.fire_systems.get(fan.forced_by or "")
        if system is None:
            continue
        forced[system.tag] += 1
        poles = sum(pole.use == "exhaust run" for pole in system.poles)
        if not poles:
            what = f"fire system {system.tag} has no pole with use: exhaust run; add one"
            yield r.say((*path, "forced_by"), what)
        elif forced[system.tag] > poles:
            what = (
                f"fan {forced[system.tag]} on {system.tag}, which has {poles} with use: exhaust run; a pole across two "
                "run pairs joins them, and each fan starts the other: add a pole, or leave forced_by out here and let "
                "the panel start this fan"
            )
            yield r.say((*path, "forced_by"), what)
        if isinstance(fan.drive, Ec) and not fan.drive.motor.run_contact:
            what = f"{system.tag} closes a run input, but this EC fan has none; write run_contact: true"
            yield r.say((*path, "forced_by"), what)


@check()
def forced_speed(r: Register) -> Iterator[Problem]:
    """A release that runs a fan without a speed does so over a fire-switch pole."""
    for path, fan in r.each("exhaust_fans"):
        if fan.on_release == "run without a speed" and fan.forced_by is None:
            what = "'run without a speed' comes from a fire-switch pole; name its fire system by forced_by"
            yield r.say((*path, "on_release"), what)


@check()
def gaseous_agent(r: Register) -> Iterator[Problem]:
    """A gaseous agent reverses the ventilation rule: the authority's answer is asked."""
    authority = r.sections["authority"]
    for path, system in r.each("fire_systems"):
        if system.agent == "gaseous" and authority is not None and authority.gaseous_agent == "not applicable":
            what = (
                "a gaseous agent is used: write authority: gaseous_agent: 'exhaust stops', 'exhaust runs' or "
                "'not yet confirmed'"
            )
            yield r.say((*path, "agent"), what)


@check()
def switch_around_the_contact(r: Register) -> Iterator[Problem]:
    """Only the hand contact of a fan switch can be wired around the fire contact."""
    for path, switch in r.each("switches"):
        if switch.wired == "around the fire contact" and (switch.kind != "hand-off-auto" or switch.does != "fans"):
            what = "only the hand contact of a hand-off-auto switch for fans can be wired so"
            yield r.say((*path, "wired"), f"{what}; write wired: to a panel input")
