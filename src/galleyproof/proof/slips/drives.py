"""Motors, drives and signals: other voltage, own +10 V, sink for source, a drive landed anew or set otherwise."""

from __future__ import annotations

from collections.abc import Iterable

from galleyproof.design.model import Role, TerminalId
from galleyproof.proof.slips._registry import Found, kind
from galleyproof.proof.slips._site import Site
from galleyproof.proof.slips.landed_wrong import swap
from galleyproof.proof.slips.model import Bridged, Change, Move, Refit

_SIGNALS = (("0-10V", "GND"), ("PWM", "GND"), ("ref+", "ref-"))
LEAST_SPEED = 0.8
"""A least frequency of 48 Hz of 60, left over from another job (common practice). [ratio]"""


@kind("motor for the other voltage", 2.0)
def other_voltage(site: Site) -> Iterable[Found]:
    """A dual-voltage motor whose leads are joined for the other one."""
    for device in site.devices_of("motor_1", "motor_3"):
        volts = float(device.ratings["motor_v"])
        for factor, words in ((2.0, "the higher"), (0.5, "the lower")):
            wrong = f"{volts * factor:g} V instead of {volts:g} V"
            yield Found(
                f"{device.tag}/{factor:g}",
                tuple(TerminalId(device.tag, m) for m in site.marks(device.tag) if m != "PE"),
                f"the leads of {device.tag} are joined for {words} voltage: {wrong}",
                Change(refits=(Refit(device.tag, "motor_v", volts * factor),)),
                # a motor for 208 or 240 V is left as it came, for the higher voltage; one for 480 V has only the lower
                weight=1.0 if (factor > 1.0) == (volts < 300.0) else 0.3,
            )


@kind("own supply tied to the signal", 2.0)
def own_ten(site: Site) -> Iterable[Found]:
    """The unit's own +10 V landed together with the signal of the panel: two sources on one wire."""
    for device in site.devices_of("ec_fan", "vfd_"):
        marks = site.marks(device.tag)
        for plus, _ in _SIGNALS:
            if plus in marks and "+10V" in marks:
                a, b = TerminalId(device.tag, "+10V"), TerminalId(device.tag, plus)
                words = f"{a} is joined to {b}: the unit's own 10 V stands on the panel's signal"
                yield Found(device.tag, (a, b), words, Change(bridged=(Bridged(f"tie {a} {b}", a, b),)))


@kind("sink for source", 2.0)
def sink(site: Site) -> Iterable[Found]:
    """The run contact wired to the common instead of the unit's own 24 V: the input is never driven."""
    for device in site.devices_of("ec_fan", "vfd_"):
        marks = site.marks(device.tag)
        common = next((m for _, m in _SIGNALS if m in marks), "")
        plus = TerminalId(device.tag, "run+")
        for c in site.landed(plus) if "run+" in marks and common else ():
            end = site.end_at(c, device.tag)
            there = TerminalId(device.tag, common)
            words = f"conductor {c.number} ({c.purpose}) is landed on {there} instead of {plus}: sinking for sourcing"
            yield Found(device.tag, (plus, there), words, Change(moved=(Move(c.key, end, there),)))  # type: ignore[arg-type]


@kind("drive waits for its keypad", 3.0)
def keypad(site: Site) -> Iterable[Found]:
    """Run input and reference are there, and the drive is set to its own keypad."""
    for device in site.devices_of("vfd_"):
        terminals = tuple(TerminalId(device.tag, m) for m in ("run+", "run"))
        words = f"{device.tag} takes its start from its keypad, not from its run input"
        yield Found(device.tag, terminals, words, Change(refits=(Refit(device.tag, "start_from", "keypad"),)))


@kind("drive's reference reversed", 1.5)
def reference_reversed(site: Site) -> Iterable[Found]:
    """Plus and common have changed places at the drive, as after one was replaced: it stays at its least speed."""
    for device in site.devices_of("vfd_"):
        plus, minus = TerminalId(device.tag, "ref+"), TerminalId(device.tag, "ref-")
        pairs = [(c, d) for c in site.landed(plus) for d in site.landed(minus) if c.cable == d.cable and c.of == d.of]
        for one, other in pairs[:1]:
            words = f"conductors {one.number} and {other.number} are exchanged at {plus} and {minus}: it is reversed"
            yield Found(device.tag, (plus, minus), words, Change(moved=swap(one, other, device.tag, site)))


@kind("drive's reference without common", 1.5)
def no_common(site: Site) -> Iterable[Found]:
    """Only the plus of the pair is landed at the drive."""
    for device in site.devices_of("vfd_"):
        at = TerminalId(device.tag, "ref-")
        for c in [c for c in site.landed(at) if c.role is Role.COMMON][:1]:
            words = f"conductor {c.number} ({c.purpose}) is not landed on {at}: the reference has no common"
            yield Found(device.tag, (at,), words, Change(opened=(c.key,)))


@kind("run on another input", 2.0)
def other_input(site: Site) -> Iterable[Found]:
    """The run contact comes in on an input of the drive that is not set to start it."""
    for device in site.devices_of("vfd_"):
        at = TerminalId(device.tag, "run")
        for c in site.landed(at)[:1]:
            words = f"conductor {c.number} ({c.purpose}) is landed on another input of {device.tag}, not on {at}"
            yield Found(device.tag, (at,), words, Change(opened=(c.key,)))


@kind("least speed set too high", 1.5)
def least_speed(site: Site) -> Iterable[Found]:
    """The drive does not go down with its reference."""
    for device in site.devices_of("vfd_"):
        at = (TerminalId(device.tag, "ref+"), TerminalId(device.tag, "ref-"))
        words = f"{device.tag} is set to a least speed of {LEAST_SPEED:.0%}: it does not follow {at[0]} further down"
        yield Found(device.tag, at, words, Change(refits=(Refit(device.tag, "least_speed", LEAST_SPEED),)))


@kind("drive stands on a fault", 4.0)
def on_a_fault(site: Site) -> Iterable[Found]:
    """It has tripped, or trips at once, and its wiring is right: the fault's own name on the display says more."""
    for device in site.devices_of("vfd_"):
        at = (TerminalId(device.tag, "L1"),)
        words = (
            f"{device.tag} stands on a fault of its own, behind {at[0]}: its motor current or another of its settings "
            "is wrong, or nobody has reset it; read which one on its display"
        )
        yield Found(device.tag, at, words, Change(refits=(Refit(device.tag, "fault", "stands"),)))
