"""Circuits: on the wrong breaker, on the high leg, sharing a neutral that is open, fed a second time at the far end."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import combinations

from galleyproof.design.model import Conductor, EnergyClass, Role, TerminalId
from galleyproof.library.model import Coil
from galleyproof.proof.slips._registry import Found, Protection, kind
from galleyproof.proof.slips._site import Site, called, hot_bus
from galleyproof.proof.slips.model import Bridged, Change, Move, Refit
from galleyproof.proof.slips.supply import _board, _hot, _phase

COUPLED_SHARE = 0.4
"""What a long run beside live conductors leaves on a small AC coil (field cases: 30 to 60 V of 120 V). [ratio]"""
SENSITIVE_VA = 0.05
"""What a solid-state input takes (common practice). [VA]"""
SENSITIVE_SHARE = 68.0 / 120.0
"""What couples into it (a field case: 68 V of 120 V). [ratio]"""


TOO_MANY_VOLTS = Protection(
    "what stands behind {tag} for 120 V gets 208 V and burns out, one part after the other",
    "a licensed electrician measures that very conductor to the neutral before anything is connected to it, and again "
    "before a part that burnt out is replaced",
)


@kind("fed from a shunt-tripped breaker", 2.0)
def shunted(site: Site) -> Iterable[Found]:
    """A circuit that must live through a release hangs on a breaker that the release opens."""
    shunts = [d for d in site.devices_of("breaker_") if "shunt" in d.type]
    appliances = {d.tag for d in site.devices_of("appliance_", "contactor_held")}
    for breaker, mine in _hot(site):
        own = site.design.device_by_tag[breaker]
        if "shunt" in own.type or {t.device for c in mine for t in (c.a, c.b)} & appliances:
            continue
        other = next(
            (s for s in shunts if _board(site, s.tag) == _board(site, breaker) and len(mine) <= int(s.type[8])), None
        )
        if other is None:
            continue
        loads = [TerminalId(other.tag, str(2 * i + 2)) for i in range(len(mine))]
        moves = tuple(Move(c.key, site.end_at(c, breaker), t) for c, t in zip(mine, loads, strict=True))  # type: ignore[arg-type]
        words = f"{mine[0].purpose} hangs on {other.tag} at {loads[0]}, which a release trips, instead of {breaker}"
        at = (site.terminal_at(mine[0], breaker), loads[0])
        yield Found(breaker, at, words, Change(moved=moves), (other.tag,))


@kind("on the high leg", 2.0, protection=TOO_MANY_VOLTS)
def high_leg(site: Site) -> Iterable[Found]:
    """A breaker for a load to neutral in a space of the high leg: 208 V for 120 V."""
    boards = {d.tag for d in site.devices_of("panelboard_high_leg")}
    for bridge in site.design.bridges:
        if bridge.a.device not in boards or bridge.a.mark == "L2":
            continue
        breaker = site.design.device_by_tag[bridge.b.device]
        if not breaker.type.startswith("breaker_1"):
            continue
        there = TerminalId(bridge.a.device, "L2")
        change = Change(unbridged=(bridge,), bridged=(Bridged(f"space {breaker.tag}", there, bridge.b, 0.001),))
        words = f"{breaker.tag} sits in a space of the high leg {there} instead of {bridge.a}"
        yield Found(breaker.tag, (there, bridge.b), words, change, weight=1.0)


def _homes(site: Site) -> list[tuple[str, Conductor, TerminalId]]:
    """Neutral home runs that land in the panel: circuit, conductor, where it lands."""
    found = []
    for c in site.wires:
        here = next((t for t in (c.a, c.b) if t.device in site.strips), None)
        board = any(site.design.device_by_tag[t.device].type.startswith("panelboard_") for t in (c.a, c.b))
        if c.role is Role.NEUTRAL and here is not None and board:
            found.append((c.of, c, here))
    return found


@kind("shared neutral open", 1.5)
def shared_neutral(site: Site) -> Iterable[Found]:
    """Two circuits go home over one neutral, and that one is open: their loads stand in series across two lines."""
    phases = {tag: _phase(site, _board(site, tag), tag, site.terminal_at(cs[0], tag)) for tag, cs in _hot(site)}
    for (one, first, a), (other, second, b) in combinations(_homes(site), 2):
        if phases.get(one) == phases.get(other) or site.node(a) == site.node(b):
            continue
        change = Change(opened=(first.key, second.key), bridged=(Bridged(f"share {a} {b}", a, b),))
        words = f"{one} and {other} share a neutral that is open: {a} and {b} are joined and do not go home"
        yield Found(f"{one}/{other}", (a, b), words, change, (one, other))


@kind("second feed at the far end", 1.0)
def second_feed(site: Site) -> Iterable[Found]:
    """Another circuit's hot conductor landed at the far end of a switched lamp string."""
    hot = list(_hot(site))
    for lamp in site.devices_of("hood_light"):
        mine = next((c for c, _, t in site.field_at(lamp.tag) if t.mark == "L"), None)
        if mine is None:
            continue
        own = _own(site, lamp.tag)
        phase = {_phase(site, _board(site, t), t, site.terminal_at(cs[0], t)) for t, cs in hot if t == own}
        for tag, cs in hot:
            if (
                tag == own
                or len(cs) != 1
                or _phase(site, _board(site, tag), tag, site.terminal_at(cs[0], tag)) not in phase
            ):
                continue
            there = next(t for t in (cs[0].a, cs[0].b) if t.device != tag)
            here = TerminalId(lamp.tag, "L")
            words = f"a conductor of {tag} from {there} feeds {here} a second time, behind its switch"
            yield Found(
                f"{lamp.tag}/{tag}",
                (here, there),
                words,
                Change(bridged=(Bridged(f"feed {here} {there}", here, there),)),
            )
            break


def _own(site: Site, lamp: str) -> str:
    """The circuit a lamp's neutral goes home with."""
    neutral = next((c for c, _, t in site.field_at(lamp) if t.mark == "N"), None)
    if neutral is None:
        return ""
    strip = next((t for t in (neutral.a, neutral.b) if t.device in site.strips), None)
    return next((of for of, _, home in _homes(site) if strip is not None and site.node(home) == site.node(strip)), "")


def _leaves(share: float, coil: complex) -> float:
    """Series resistance that leaves a share of the volts on an impedance. [ohm]."""
    return math.sqrt((abs(coil) / share) ** 2 - coil.imag**2) - coil.real


@kind("coupled volts", 1.0)
def coupled(site: Site) -> Iterable[Found]:
    """A long run beside live conductors: enough volts stay to hold a small AC coil, or to wake an input."""
    hot = hot_bus(site)
    for device in site.devices_of("makeup_", "gas_valve", "contactor_held"):
        for coil in site.parts(device.tag, Coil):
            c = next((c for c, _, t in site.field_at(device.tag) if t.mark == coil.a and c.role is Role.CONTROL), None)
            if (
                not isinstance(coil, Coil)
                or hot is None
                or c is None
                or c.energy_class is not EnergyClass.CLASS1
                or coil.form != "ac"
            ):
                continue
            branch = next((b for b in site.network.branches if b.name == f"{device.tag}.{coil.name}"), None)
            if branch is None:
                continue
            at = TerminalId(device.tag, coil.a)
            ohm = _leaves(COUPLED_SHARE, 1.0 / branch.y_ac)
            words = f"on its long run to {at} {called(c)} takes coupled volts that hold the coil of {device.tag}"
            yield Found(f"{device.tag}/holds", (at,), words, Change(bridged=(Bridged(f"coupled {at}", hot, at, ohm),)))
            if device.type.startswith("makeup_"):
                volts = float(site.design.device_by_tag[device.tag].ratings.get("run_v", 120.0))
                turn = branch.y_ac / abs(branch.y_ac)
                ohm = _leaves(SENSITIVE_SHARE, volts * volts / (SENSITIVE_VA * turn))
                refits = (Refit(device.tag, "run_va", SENSITIVE_VA), Refit(device.tag, "run_least", 0.5))
                change = Change(bridged=(Bridged(f"coupled {at}", hot, at, ohm),), refits=refits)
                words = f"{device.tag} has a solid-state input at {at} that takes coupled volts of its run for a call"
                yield Found(f"{device.tag}/wakes", (at,), words, change)


@kind("line and neutral exchanged in the panel", 1.5)
def at_the_strip(site: Site) -> Iterable[Found]:
    """A circuit's line and neutral landed the wrong way round in the panel: its switch then stands in the neutral."""
    for of, neutral, here in _homes(site):
        line = next((c for c in site.wires if c.of == of and c.role is Role.LINE and c.cable == neutral.cable), None)
        there = next((t for t in (line.a, line.b) if t.device in site.strips), None) if line else None
        if line is None or there is None:
            continue
        moves = (
            Move(line.key, "a" if line.a == there else "b", here),
            Move(neutral.key, "a" if neutral.a == here else "b", there),
        )
        words = f"line and neutral of {of} have changed places at {there} and {here}: its switch stands in the neutral"
        yield Found(of, (there, here), words, Change(moved=moves))
