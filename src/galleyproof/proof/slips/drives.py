"""Motors, drives and signals: other voltage, own +10 V, sink for source, a drive that waits for its keypad."""

from __future__ import annotations

from collections.abc import Iterable

from galleyproof.design.model import TerminalId
from galleyproof.proof.slips._registry import Found, kind
from galleyproof.proof.slips._site import Site
from galleyproof.proof.slips.model import Bridged, Change, Move, Refit

_SIGNALS = (("0-10V", "GND"), ("PWM", "GND"), ("ref+", "ref-"))


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
