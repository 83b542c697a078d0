"""What a slip is, and the design as it then stands on site.

A slip is a small change of the network. ``apply`` is the plain way to see what it does: it hands back the whole design
with the slip in it, and ``circuit.world.build_machine`` builds that like any other. The study takes a quicker way and
is tested against this one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields, replace
from typing import Any, Literal

from galleyproof.circuit.network import conductor_ohm
from galleyproof.design.model import Bridge, Conductor, Design, Stray, TerminalId
from galleyproof.errors import CircuitError

OPEN_OHM = float("inf")
"""Resistance of what is not connected. [ohm]"""
TOUCH_OHM = 0.05
"""Resistance of two bare ends that touch, a strand across or a jumper (common practice). [ohm]"""
LOOSE_OHM = 200.0
"""A loose or corroded landing: enough to starve a load, little to an input (common practice). [ohm]"""

End = Literal["a", "b"]


@dataclass(frozen=True, slots=True)
class Move:
    """One end of a conductor landed elsewhere.

    Attributes:
        conductor: Its key.
        end: Which of its ends, as the design has them.
        to: Where it is landed.
    """

    conductor: str
    end: End
    to: TerminalId


@dataclass(frozen=True, slots=True)
class Bridged:
    """Two terminals that should not be joined, joined: a short, a jumper left in, a welded contact.

    Attributes:
        key: Name of the connection, unlike any conductor's key.
        a: One terminal; an inner node of a device is written with its mark, ``~1``.
        b: The other.
        ohm: Resistance between them. [ohm]
    """

    key: str
    a: TerminalId
    b: TerminalId
    ohm: float = TOUCH_OHM


@dataclass(frozen=True, slots=True)
class Refit:
    """A device that is not as ordered: another type, or another value of one rating.

    Attributes:
        device: Its tag.
        rating: The rating that differs; ``type`` stands for the device type itself.
        value: What it is instead.
    """

    device: str
    rating: str
    value: Any


@dataclass(frozen=True, slots=True)
class Change:
    """The change of the network. Everything is empty but what the slip touches.

    Attributes:
        opened: Keys of conductors left off, at either end.
        loose: Conductor key and the resistance of its bad landing. [-], [ohm]
        moved: Ends landed elsewhere; an exchange is two moves.
        bridged: Terminals joined.
        unbridged: Bridges of the design that are missing.
        dead: Device tag and part name of parts that are open for good: a burnt coil, a contact that never closes.
        refits: Devices that are not as ordered.
    """

    opened: tuple[str, ...] = ()
    loose: tuple[tuple[str, float], ...] = ()
    moved: tuple[Move, ...] = ()
    bridged: tuple[Bridged, ...] = ()
    unbridged: tuple[Bridge, ...] = ()
    dead: tuple[tuple[str, str], ...] = ()
    refits: tuple[Refit, ...] = ()

    def __add__(self, other: Change) -> Change:
        """Both changes at once."""
        return Change(*(getattr(self, f.name) + getattr(other, f.name) for f in fields(self)))


@dataclass(frozen=True, slots=True)
class Slip:
    """One wiring mistake.

    Attributes:
        key: Stable identity: ``left-off/EF-1/run/1``.
        kind: Its generator: ``left off``.
        devices: Tags of the devices it touches, for grouping.
        terminals: Where a person finds it.
        prior: How often the trade sees it, relative to the others.
        sentence: What was done at which terminals, in words.
        change: What it does to the network.
    """

    key: str
    kind: str
    devices: tuple[str, ...]
    terminals: tuple[TerminalId, ...]
    prior: float
    sentence: str
    change: Change


def apply(design: Design, slip: Slip | Change) -> Design:
    """The design with the slip in it.

    Args:
        design: The design as it should be.
        slip: A slip, or its change.

    Raises:
        CircuitError: If the change names a conductor, bridge or device that the design does not have.
    """
    change = slip.change if isinstance(slip, Slip) else slip
    _check(change.opened, design.conductor_by_key, "conductor")
    _check((key for key, _ in change.loose), design.conductor_by_key, "conductor")
    _check((m.conductor for m in change.moved), design.conductor_by_key, "conductor")
    _check((tag for tag, _ in change.dead), design.device_by_tag, "device")
    _check((r.device for r in change.refits), design.device_by_tag, "device")
    _check(change.unbridged, dict.fromkeys(design.bridges), "bridge")
    opened, loose = set(change.opened), dict(change.loose)
    conductors: list[Conductor] = []
    strays: list[Stray] = list(design.strays)
    for conductor in design.conductors:
        landed = landing(conductor, change.moved)
        if conductor.key in opened:
            strays.append(Stray(conductor.key, landed.a, landed.b, OPEN_OHM))
        elif conductor.key in loose:
            ohm = loose[conductor.key] + conductor_ohm(conductor.awg, conductor.length_ft)
            strays.append(Stray(conductor.key, landed.a, landed.b, ohm))
        else:
            conductors.append(landed)
    strays += [Stray(b.key, b.a, b.b, b.ohm) for b in change.bridged]
    gone = set(change.unbridged)
    refits: dict[str, list[Refit]] = {}
    for refit in change.refits:
        refits.setdefault(refit.device, []).append(refit)
    devices = []
    for device in design.devices:
        for refit in refits.get(device.tag, ()):
            if refit.rating == "type":
                device = replace(device, type=str(refit.value))
            else:
                device = replace(device, ratings={**device.ratings, refit.rating: refit.value})
        devices.append(device)
    return replace(
        design,
        devices=tuple(devices),
        conductors=tuple(conductors),
        bridges=tuple(b for b in design.bridges if b not in gone),
        strays=tuple(strays),
        dead=(*design.dead, *change.dead),
    )


def landing(conductor: Conductor, moves: Iterable[Move]) -> Conductor:
    """A conductor with its ends where the moves put them."""
    for move in moves:
        if move.conductor == conductor.key:
            conductor = replace(conductor, a=move.to) if move.end == "a" else replace(conductor, b=move.to)
    return conductor


def _check(names: Iterable[Any], known: Any, what: str) -> None:
    for name in names:
        if name not in known:
            raise CircuitError(f"the slip names a {what} {name}, which the design does not have")


Generator = Callable[[Design, Any], Iterable[Slip]]
"""``generator(design, library) -> slips``; the registry holds one per kind."""
