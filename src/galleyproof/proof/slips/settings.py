"""What is set otherwise than ordered: no meter shows a setting, what it does tells."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from galleyproof.design.model import PointKind, TerminalId
from galleyproof.proof.slips._registry import Found, kind
from galleyproof.proof.slips._site import Site
from galleyproof.proof.slips.model import Change, Refit


def _supply(controller: str) -> tuple[TerminalId, ...]:
    """Where a person finds a controller."""
    return (TerminalId(controller, "24V"),)


@kind("sequence reversed", 1.0)
def reversed_sequence(site: Site) -> Iterable[Found]:
    """Exhaust off and make-up on in a release: what some believe the sequence to be."""
    program = site.design.program
    exhaust = [f.fan for f in program.fans if not f.follows]
    supply = [f.fan for f in program.fans if f.follows]
    refits = [Refit(program.controller, f"{tag} on release", "stop") for tag in exhaust]
    refits += [Refit(program.controller, f"{tag} on release", "full speed") for tag in supply]
    if refits:
        then = f" and starts {', '.join(supply)}" if supply else ""
        words = f"{program.controller} is set to the reversed sequence: a release stops {', '.join(exhaust)}{then}"
        yield Found(
            program.controller, _supply(program.controller), words, Change(refits=tuple(refits)), (*exhaust, *supply)
        )


@kind("make-up set to run on", 1.0)
def runs_on(site: Site) -> Iterable[Found]:
    """A make-up unit that a release does not stop."""
    program = site.design.program
    for f in program.fans:
        if f.follows and f.on_release == "stop":
            words = f"{program.controller} is set to let {f.fan} run in a release"
            refit = Refit(program.controller, f"{f.fan} on release", "as before")
            yield Found(f.fan, _supply(program.controller), words, Change(refits=(refit,)), (f.fan,))


@kind("restart set otherwise", 1.0)
def restart(site: Site) -> Iterable[Found]:
    """A fan that waits for a hand after an outage and should not, or the reverse: two-wire for three-wire control."""
    program = site.design.program
    for f in program.fans:
        if not f.follows:
            does = "restarts by itself" if f.waits else "waits for a hand"
            words = f"{program.controller} is set so that {f.fan} {does} after an outage"
            refit = Refit(program.controller, f"{f.fan} waits", not f.waits)
            yield Found(f.fan, _supply(program.controller), words, Change(refits=(refit,)), (f.fan,))


@kind("link set otherwise", 3.0)
def link(site: Site) -> Iterable[Found]:
    """Another's address, another speed, an address out of range: ohms and volts are right, and nothing is heard."""
    for device in site.devices_of("link_station"):
        at = (TerminalId(device.tag, "A"), TerminalId(device.tag, "B"))
        words = f"the link at {device.tag} is set otherwise: address used twice, speed or range; the wiring is right"
        yield Found(device.tag, at, words, Change(refits=(Refit(device.tag, "settings", "another's"),)))


def _speed_signals(site: Site) -> Iterator[tuple[str, str, str]]:
    """Speed outputs that end at an EC fan: controller or module, use, fan."""
    for point in site.design.points:
        fan = point.used_for.partition("/")[0]
        device = site.design.device_by_tag.get(fan)
        if point.kind is PointKind.SPEED_OUTPUT and device is not None and device.type.startswith("ec_fan"):
            yield point.device, point.used_for, fan


@kind("signal of the other kind", 2.0)
def other_signal(site: Site) -> Iterable[Found]:
    """Pulses into an input for volts, or volts into one for pulses: the fan hunts or jumps."""
    for controller, use, fan in _speed_signals(site):
        pulses = site.design.device_by_tag[fan].type.endswith("_pwm")
        mark = "PWM" if pulses else "0-10V"
        at = (TerminalId(fan, mark), TerminalId(fan, "GND"))
        jump = Refit(fan, "signal", "of the other kind")
        gives, takes = ("0-10 V", "pulses") if pulses else ("pulses", "0-10 V")
        set_so = Refit(controller, f"signal {use}", "0-10 V" if pulses else "PWM")
        words = f"{controller} gives {gives} to {at[0]}, which takes {takes}"
        yield Found(f"{fan}/output", at, words, Change(refits=(set_so, jump)), (controller,))
        words = f"{fan} at {at[0]} is one that takes {'0-10 V' if pulses else 'pulses'}; ordered was {takes}"
        yield Found(f"{fan}/input", at, words, Change(refits=(jump,)))


@kind("input set for milliamperes", 2.0)
def milliamperes(site: Site) -> Iterable[Found]:
    """A reference input set for 4-20 mA loads a 0-10 V output: it reads right with the input lifted only."""
    for device in site.devices_of("vfd_"):
        at = (TerminalId(device.tag, "ref+"), TerminalId(device.tag, "ref-"))
        words = f"the reference of {device.tag} between {at[0]} and {at[1]} is set for 4-20 mA"
        yield Found(device.tag, at, words, Change(refits=(Refit(device.tag, "reference", "milliamperes"),)))
    for device in site.devices_of("ec_fan"):
        if not device.type.endswith("_pwm"):
            at = (TerminalId(device.tag, "0-10V"), TerminalId(device.tag, "GND"))
            words = f"the signal input of {device.tag} between {at[0]} and {at[1]} is set for 4-20 mA"
            yield Found(device.tag, at, words, Change(refits=(Refit(device.tag, "reference_ohm", 250.0),)))


@kind("speed from the keypad", 2.0)
def keypad_speed(site: Site) -> Iterable[Found]:
    """The drive starts from its run input and takes its speed from its own keypad."""
    for device in site.devices_of("vfd_"):
        at = (TerminalId(device.tag, "ref+"), TerminalId(device.tag, "ref-"))
        words = f"{device.tag} takes its speed from its keypad, not from {at[0]}"
        yield Found(device.tag, at, words, Change(refits=(Refit(device.tag, "speed_from", "keypad"),)))
