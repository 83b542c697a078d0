"""Motors, starters and drives that are not as they should be, beside their wiring."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from galleyproof.circuit.network import number
from galleyproof.design.model import Conductor, Device, Role, TerminalId
from galleyproof.library.model import Coil, Contact, Load, Resistor
from galleyproof.proof.slips._registry import Found, Protection, kind
from galleyproof.proof.slips._site import Site
from galleyproof.proof.slips.model import Bridged, Change, Move, Refit

TOO_MUCH = 1.31
"""Amperes of a failing or wrong motor over its nameplate's (a field case: 11.5 A for 8.8 A). [ratio]"""
LITTLE_AIR = 0.7
"""Amperes of a centrifugal fan with its filters clogged: less air is less work (common practice). [ratio]"""
RAIL_V = 24.0
NEVER_A = 1000.0
"""A current switch turned to the end of its scale. [A]"""
SET_HIGH = 2.5
"""An overload dialled up until nothing trips any more (common practice). [ratio]"""
SET_LOW = 0.5
"""One left at the lower end of its dial (common practice). [ratio]"""


OVERLOAD = Protection(
    "a motor behind {tag} that is overloaded or has lost a phase burns instead of being switched off",
    "a licensed electrician compares the dial of the overload with the motor's nameplate at installation and after "
    "every change of motor",
)


def _motors(site: Site) -> Iterator[tuple[Device, tuple[TerminalId, ...]]]:
    for device in site.devices_of("motor_1", "motor_3"):
        yield device, tuple(TerminalId(device.tag, m) for m in site.marks(device.tag) if m != "PE")


@kind("motor draws too much", 1.5)
def draws_too_much(site: Site) -> Iterable[Found]:
    """Worn, wrong, or for other volts; clogged filters do the reverse."""
    for device, at in _motors(site):
        refit = Refit(device.tag, "motor_va", float(device.ratings["motor_va"]) * TOO_MUCH)
        words = (
            f"the motor {device.tag} at {at[0]} draws about {TOO_MUCH:.0%} of its nameplate: failing, or a wrong one"
        )
        yield Found(device.tag, at, words, Change(refits=(refit,)))


@kind("little air", 1.5)
def little_air(site: Site) -> Iterable[Found]:
    """Filters clogged, a damper shut by hand, a belt that slips: a centrifugal fan then draws less."""
    for device, at in _motors(site):
        refit = Refit(device.tag, "motor_va", float(device.ratings["motor_va"]) * LITTLE_AIR)
        words = f"{device.tag} at {at[0]} moves little air: filters clogged, damper shut or belt slipping"
        yield Found(device.tag, at, words, Change(refits=(refit,)))


@kind("overload set too high", 2.0, protection=OVERLOAD)
def set_too_high(site: Site) -> Iterable[Found]:
    """Nothing works differently until the motor needs it."""
    for device in site.devices_of("motor_contactor"):
        at = (TerminalId(device.tag, "2/T1"),)
        words = f"the overload of {device.tag} at {at[0]} is set too high to protect its motor"
        yield Found(device.tag, at, words, Change(refits=_dialled(device, SET_HIGH, "high")))


def _dialled(device: Device, ratio: float, shows: str) -> tuple[Refit, Refit]:
    """An overload at another setting, and what its dial shows."""
    amps = float(str(device.ratings["overload_a"])) * ratio
    return Refit(device.tag, "overload_a", amps), Refit(device.tag, "dial", shows)


@kind("overload set too low", 2.0)
def set_too_low(site: Site) -> Iterable[Found]:
    """Left at the end of its dial, or with the heaters of a smaller motor: it trips at healthy amperes."""
    for device in site.devices_of("motor_contactor"):
        at = (TerminalId(device.tag, "2/T1"),)
        words = f"the overload of {device.tag} at {at[0]} is set too low: it trips at the amperes of a healthy motor"
        yield Found(device.tag, at, words, Change(refits=_dialled(device, SET_LOW, "low")))


@kind("overload contact bypassed", 1.0, protection=OVERLOAD)
def bypassed(site: Site) -> Iterable[Found]:
    """Its break contact is not in the circuit of the coil: it trips, and the motor runs on."""
    for device in site.devices_of("motor_contactor"):
        a, b = TerminalId(device.tag, "95"), TerminalId(device.tag, "96")
        words = f"the overload contact of {device.tag} is bypassed between {a} and {b}: it trips, and nothing stops"
        yield Found(device.tag, (a, b), words, Change(bridged=(Bridged(f"bypass {a} {b}", a, b),)))


def _breaker_of(site: Site, starter: str) -> str:
    """The three-pole breaker whose conductors land where a starter takes its lines from; empty when there is none."""
    inlet = TerminalId(starter, "1/L1")
    taken = {site.node(o) for c in site.landed(inlet) for o in (c.a, c.b) if o != inlet}
    for device in site.devices_of("breaker_3"):
        ends = {site.node(t) for c, _, _ in site.field_at(device.tag) for t in (c.a, c.b)}
        if ends & taken:
            return device.tag
    return ""


@kind("phase lost while it runs", 1.0)
def lost_while_running(site: Site) -> Iterable[Found]:
    """A fuse or pole gives way under way. A turning motor turns on; a bimetal overload is no sure protection then."""
    for starter in site.devices_of("motor_contactor_3"):
        breaker = _breaker_of(site, starter.tag)
        motor = next((c.of for c in site.landed(TerminalId(starter.tag, "2/T1"))), "")
        if not breaker or not motor:
            continue
        at = TerminalId(breaker, "6")
        weak = Refit(breaker, "weak_pole", 3)
        words = f"pole 3 of {breaker} gives way while {motor} runs: nothing comes out at {at} any more"
        devices = (motor, starter.tag)
        yield Found(f"{motor}/trips", (at,), f"{words}, and the overload trips", Change(refits=(weak,)), devices)
        high = _dialled(starter, SET_HIGH, "high")
        more = f"{words}, and the overload of {starter.tag} does not trip"
        yield Found(f"{motor}/turns-on", (at,), more, Change(refits=(weak, *high)), devices, weight=0.7)


@kind("drive dead", 1.0)
def drive_dead(site: Site) -> Iterable[Found]:
    """Volts at its input, and nothing on its display."""
    for device in site.devices_of("vfd_"):
        at = (TerminalId(device.tag, "L1"),)
        words = f"the drive {device.tag} is dead: volts at {at[0]} and no display"
        yield Found(device.tag, at, words, Change(refits=(Refit(device.tag, "electronics", "destroyed"),)))


@kind("EC fan dead", 1.5)
def fan_dead(site: Site) -> Iterable[Found]:
    """Volts and signal at an EC fan, and it stands: without its own 10 V, or with it and a fault or a stuck wheel."""
    for device in site.devices_of("ec_fan"):
        at = (TerminalId(device.tag, "L1"),)
        words = f"the electronics of {device.tag} are dead: volts at {at[0]}, nothing at {device.tag}:+10V"
        yield Found(device.tag, at, words, Change(refits=(Refit(device.tag, "electronics", "destroyed"),)))
        words = f"{device.tag} stands with volts at {at[0]} and a signal: a fault of its own, or its wheel is stuck"
        yield Found(f"{device.tag}/stands", at, words, Change(refits=(Refit(device.tag, "electronics", "on a fault"),)))


@kind("lamp dead", 3.0)
def lamp_dead(site: Site) -> Iterable[Found]:
    """Its volts are there and it stays dark: the lamp, or the driver of an LED fixture."""
    for device in site.devices_of("hood_light"):
        at = (TerminalId(device.tag, "L"), TerminalId(device.tag, "N"))
        words = f"the lamp or its driver in {device.tag} is dead: volts between {at[0]} and {at[1]}, no light"
        yield Found(device.tag, at, words, Change(dead=((device.tag, "lamp"),)))


def _strip_end(site: Site, c: Conductor) -> TerminalId | None:
    return next((t for t in (c.a, c.b) if t.device in site.strips), None)


@kind("supply on the drive's output", 1.0)
def supply_on_output(site: Site) -> Iterable[Found]:
    """Supply and motor leads have changed places in the panel: the output stage does not survive it."""
    for device in site.devices_of("vfd_"):
        inner = [c for c in site.design.conductors if c.made == "factory" and device.tag in (c.a.device, c.b.device)]
        ends: dict[str, TerminalId] = {}
        for c in inner:
            here, there = (c.a, c.b) if c.a.device == device.tag else (c.b, c.a)
            if there.device in site.strips:
                ends[here.mark] = there
        moves: list[Move] = []
        for line, out in zip(("L1", "L2", "L3"), ("U", "V", "W"), strict=True):
            if line not in ends or out not in ends:
                continue
            for here_at, there_at in ((ends[line], ends[out]), (ends[out], ends[line])):
                for c in site.wires:
                    end = _strip_end(site, c)
                    if end is not None and c.role in (Role.LINE, Role.LOAD) and site.node(end) == site.node(here_at):
                        moves.append(Move(c.key, "a" if c.a == end else "b", there_at))
        if len(moves) >= 4:
            where = tuple(m.to for m in moves[:2])
            words = f"the supply of {device.tag} is landed on its output, the motor on its input, at {where[0]} and on"
            gone = tuple((device.tag, f"out_{p}") for p in "uvw")
            change = Change(moved=tuple(moves), dead=gone, refits=(Refit(device.tag, "electronics", "destroyed"),))
            yield Found(device.tag, where, words, change, (device.tag,))


@kind("noise of the drive", 1.5)
def noise(site: Site) -> Iterable[Found]:
    """A shield on noisy ground, or a sensor's pair beside motor leads: right at rest, wrong while the drive runs."""
    drives = [d.tag for d in site.devices_of("vfd_")]
    for tag in drives:
        at = (TerminalId(tag, "ref+"), TerminalId(tag, "ref-"))
        words = f"the shield of the reference at {at[0]} is bonded to a noisy ground: the signal sags while {tag} runs"
        yield Found(f"{tag}/reference", at, words, Change(refits=(Refit(tag, "shield", "on noisy ground"),)))
    for device in site.devices_of("temperature_sensor") if drives else ():
        ends = tuple(t for _, _, t in site.field_at(device.tag))
        words = f"the pair of {device.tag} runs beside motor leads: it reads next to nothing while {drives[0]} runs"
        yield Found(
            f"{device.tag}/pair", ends, words, Change(refits=(Refit(device.tag, "beside", drives[0]),)), weight=0.5
        )


def _usual_v(site: Site, tag: str) -> object:
    """Volts of a coil that the design leaves as its type has them; None where the type has no coil."""
    kind_of = site.kind(tag)
    rating = kind_of.ratings.get("coil_v") if kind_of and "coil_v" in kind_of.ratings else None
    return None if rating is None else rating.default


@kind("coil for other volts", 2.0)
def other_coil(site: Site) -> Iterable[Found]:
    """A coil of twice the volts hums and does not pull in; one of much less burns."""
    coiled = ("contactor_held", "gas_valve", "breaker_", "damper_", "motor_contactor", "light_contactor")
    for device in site.devices_of(*coiled):
        volts = device.ratings.get("coil_v", _usual_v(site, device.tag))
        coils = [p for p in site.parts(device.tag, Coil) if isinstance(p, Coil)]
        if volts is None or not coils:
            continue
        at = tuple(TerminalId(device.tag, m) for m in (coils[0].a, coils[0].b) if not m.startswith("~"))
        words = f"the coil of {device.tag} at {at[0]} is one for {2 * float(volts):g} V; ordered was {float(volts):g} V"
        yield Found(device.tag, at, words, Change(refits=(Refit(device.tag, "coil_v", 2.0 * float(volts)),)))


@kind("belt off", 1.5)
def belt_off(site: Site) -> Iterable[Found]:
    """The motor turns and the wheel does not; the amperes of a motor without its load."""
    for device, at in _motors(site):
        words = f"the belt of {device.tag} is off: the motor at {at[0]} turns, the wheel does not"
        yield Found(device.tag, at, words, Change(refits=(Refit(device.tag, "belt", "off"),)))


@kind("overload tripped", 3.0)
def overload_tripped(site: Site) -> Iterable[Found]:
    """Nobody has pressed its reset since it tripped."""
    for device in site.devices_of("motor_contactor"):
        at = (TerminalId(device.tag, "95"), TerminalId(device.tag, "96"))
        words = f"the overload of {device.tag} has tripped and was not reset: open between {at[0]} and {at[1]}"
        yield Found(device.tag, at, words, Change(refits=(Refit(device.tag, "overload", "tripped"),)))


@kind("contactor pole burnt", 1.0)
def pole_burnt(site: Site) -> Iterable[Found]:
    """One main contact no longer makes, whatever the coil does."""
    for device in site.devices_of("motor_contactor", "contactor_held", "light_contactor"):
        for part in site.parts(device.tag, Contact):
            at = tuple(TerminalId(device.tag, m) for m in (part.a, part.b) if not m.startswith("~"))
            if part.name.startswith(("main_", "pole_")) and any(site.landed(t) for t in at):
                words = f"one pole of {device.tag} is burnt: nothing passes behind {at[0]}"
                yield Found(f"{device.tag}/{part.name}", at, words, Change(dead=((device.tag, part.name),)))


@kind("proving switch set too high", 2.0)
def proves_too_late(site: Site) -> Iterable[Found]:
    """It makes at full speed and drops out when the fan slows down."""
    for device in site.devices_of("airflow_switch", "current_switch"):
        at = tuple(t for _, _, t in site.field_at(device.tag)) or (TerminalId(device.tag, "1"),)
        if device.type.startswith("airflow"):
            refit = Refit(device.tag, "least_speed", 0.8)
        else:
            refit = Refit(device.tag, "least_a", NEVER_A)
        words = f"{device.tag} at {at[0]} is set too high: it does not prove what it should"
        yield Found(device.tag, at, words, Change(refits=(refit,)))


@kind("breaker left off", 4.0)
def left_off(site: Site) -> Iterable[Found]:
    """A breaker that nobody closed, or that has tripped and does not hold."""
    for device in site.devices_of("control_breaker"):
        at = TerminalId(device.tag, "2")
        words = f"the protector {device.tag} is not closed: nothing comes out at {at}"
        yield Found(device.tag, (at,), words, Change(dead=((device.tag, "pole_1"),)))
    for device in site.devices_of("breaker_"):
        poles = tuple((device.tag, p.name) for p in site.parts(device.tag, Contact) if p.name.startswith("pole_"))
        if poles and site.field_at(device.tag):
            at = TerminalId(device.tag, "2")
            yield Found(device.tag, (at,), f"{device.tag} is not closed: nothing comes out at {at}", Change(dead=poles))


@kind("control supply too small", 1.5)
def too_small(site: Site) -> Iterable[Found]:
    """Relays, dampers and valves on a supply that nobody added up: the last to join pulls the volts down."""
    for device in site.devices_of("power_supply_24"):
        at = (TerminalId(device.tag, "+"), TerminalId(device.tag, "-"))
        words = f"{device.tag} at {at[0]} is too small and not regulated: its volts sag as loads join"
        yield Found(device.tag, at, words, Change(refits=(Refit(device.tag, "sags_at_a", _joined_a(site)),)))


def _joined_a(site: Site) -> float:
    """Amperes of everything that can hang on the 24 V rail. [A]."""
    total_w = 0.0
    for device in site.design.devices:
        kind_of = site.kind(device.tag)
        for part in kind_of.parts if kind_of else ():
            if kind_of and isinstance(part, Resistor) and (part.a, part.b) == ("24V", "0V"):
                total_w += RAIL_V**2 / number(device, kind_of, part.ohm)
            if isinstance(part, Coil | Load) and (not isinstance(part, Coil) or part.form == "dc"):
                volts = number(device, kind_of, part.volts) if kind_of else 0.0
                asked = part.watts if part.watts is not None else part.va
                if volts == RAIL_V and asked is not None and kind_of:
                    total_w += number(device, kind_of, asked)
    return total_w / RAIL_V
