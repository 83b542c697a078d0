"""The building's circuits: exchanged, of the wrong voltage, joined, with a borrowed neutral, with a dead pole."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from galleyproof.design.model import Conductor, Role, TerminalId
from galleyproof.library.model import Contact
from galleyproof.proof.slips._registry import Found, kind
from galleyproof.proof.slips._site import Site, called
from galleyproof.proof.slips.model import Bridged, Change, Move


def _hot(site: Site) -> Iterator[tuple[str, list[Conductor]]]:
    """Breakers with the field conductors on their load side."""
    for device in site.devices_of("breaker_"):
        mine = [c for c, _, t in site.field_at(device.tag) if t.mark in ("2", "4", "6")]
        if mine:
            yield device.tag, mine


def _board(site: Site, breaker: str) -> str:
    """The panelboard of a breaker."""
    nodes = {site.node(t) for t in site.network.terminals if t.device == breaker}
    for board in site.devices_of("panelboard_"):
        if nodes & {site.node(TerminalId(board.tag, m)) for m in site.marks(board.tag) if m.startswith("L")}:
            return board.tag
    return ""


@kind("circuits exchanged", 3.0)
def exchanged(site: Site) -> Iterable[Found]:
    """The hot conductors of two single-pole breakers side by side have changed places: the phase, or the circuit."""
    single = [(tag, cs[0]) for tag, cs in _hot(site) if len(cs) == 1]
    for (one, first), (other, second) in pairwise(single):
        if _board(site, one) != _board(site, other):
            continue
        a, b = site.terminal_at(first, one), site.terminal_at(second, other)
        moves = (
            Move(first.key, site.end_at(first, one), b),  # type: ignore[arg-type]
            Move(second.key, site.end_at(second, other), a),  # type: ignore[arg-type]
        )
        words = f"the conductors of {one} ({first.purpose}) and {other} ({second.purpose}) have changed breakers"
        yield Found(f"{one}/{other}", (a, b), words, Change(moved=moves))


@kind("wrong voltage", 2.0)
def voltage(site: Site) -> Iterable[Found]:
    """A neutral load across two lines, or a two-line load from line to neutral."""
    breakers = list(_hot(site))
    for tag, mine in breakers:
        board = _board(site, tag)
        neutral = TerminalId(board, "N")
        partners = {c.cable for c in mine}
        returns = [c for c in site.wires if c.cable in partners and c.role is Role.NEUTRAL and neutral in (c.a, c.b)]
        if returns:
            live = {_phase(site, board, tag, site.terminal_at(c, tag)) for c in mine}
            other = next(
                (
                    site.terminal_at(cs[0], t)
                    for t, cs in breakers
                    if t != tag
                    and _board(site, t) == board
                    and _phase(site, board, t, site.terminal_at(cs[0], t)) not in live
                ),
                None,
            )
            if other is not None:
                c = returns[0]
                words = f"{called(c)} is landed on {other}, a second line, instead of the neutral"
                end = "a" if c.a == neutral else "b"
                yield Found(c.key, (neutral, other), words, Change(moved=(Move(c.key, end, other),)))  # type: ignore[arg-type]
        elif len(mine) == 2 and neutral in site.network.terminals:
            c = mine[1]
            here = site.terminal_at(c, tag)
            words = f"{called(c)} is landed on the neutral {neutral} instead of {here}: line to neutral"
            yield Found(c.key, (here, neutral), words, Change(moved=(Move(c.key, site.end_at(c, tag), neutral),)))  # type: ignore[arg-type]


def _phase(site: Site, board: str, breaker: str, load: TerminalId) -> int:
    """Node of the bus behind a breaker's load terminal."""
    return site.node(TerminalId(breaker, str(int(load.mark) - 1)))


@kind("circuits back-fed", 1.5)
def back_fed(site: Site) -> Iterable[Found]:
    """Two circuits joined where their conductors land in the panel."""
    landed = [
        (tag, c, next(t for t in (c.a, c.b) if t.device in site.strips))
        for tag, cs in _hot(site)
        for c in cs[:1]
        if {c.a.device, c.b.device} & site.strips
    ]
    for (one, _, a), (other, _, b) in pairwise(landed):
        if site.node(a) != site.node(b):
            words = f"the lines of {one} and {other} are joined between {a} and {b}: each feeds the other back"
            yield Found(f"{one}/{other}", (a, b), words, Change(bridged=(Bridged(f"tie {a} {b}", a, b),)), (one, other))


@kind("neutral borrowed", 2.0)
def borrowed(site: Site) -> Iterable[Found]:
    """A load's neutral landed with another circuit's."""
    homes = [t for c in site.wires if c.role is Role.NEUTRAL for t in (c.a, c.b) if t.device in site.strips]
    homes = list(dict.fromkeys(homes))
    for c in site.wires:
        if c.role is not Role.NEUTRAL:
            continue
        here = next((t for t in (c.a, c.b) if t.device in site.strips), None)
        if here is None:
            continue
        at = homes.index(here)
        around = [*homes[at + 1 :], *homes[:at]]
        other = next((t for t in around if t.device == here.device and site.node(t) != site.node(here)), None)
        if other is not None:
            words = f"{called(c)} is landed on {other}, another circuit's neutral, instead of {here}"
            yield Found(c.key, (here, other), words, Change(moved=(Move(c.key, site.end_at(c, here.device), other),)))  # type: ignore[arg-type]


@kind("dead pole", 1.0)
def dead_pole(site: Site) -> Iterable[Found]:
    """One pole of a breaker does not make: a phase is lost upstream."""
    for tag, _ in _hot(site):
        for part in site.parts(tag, Contact):
            if part.name.startswith("pole_"):
                at = TerminalId(tag, str(2 * int(part.name[5:])))
                words = f"pole {part.name[5:]} of {tag} does not connect: nothing comes out at {at}"
                yield Found(f"{tag}/{part.name}", (at,), words, Change(dead=((tag, part.name),)))


@kind("disconnect left open", 4.0)
def disconnect(site: Site) -> Iterable[Found]:
    """A disconnect at the fan that no one closed."""
    for device in site.devices_of("disconnect_"):
        poles = tuple((device.tag, p.name) for p in site.parts(device.tag, Contact))
        terminals = tuple(TerminalId(device.tag, m) for m in site.marks(device.tag)[:2])
        yield Found(device.tag, terminals, f"the disconnect {device.tag} is left open", Change(dead=poles))
