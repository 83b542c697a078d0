"""The registry of kinds: each generator with how often the trade sees its slip."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from galleyproof.design.model import TerminalId
from galleyproof.proof.slips._site import Site
from galleyproof.proof.slips.model import Change, Slip


@dataclass(frozen=True, slots=True)
class Found:
    """What a generator finds; the registry makes the slip of it.

    Attributes:
        name: What it is about; unique within its kind.
        terminals: Where a person finds it.
        sentence: What was done, in words.
        change: What it does.
        devices: Tags of other devices it touches, beside those of the terminals.
        weight: Multiplies the kind's prior where one is likelier than another.
    """

    name: str
    terminals: tuple[TerminalId, ...]
    sentence: str
    change: Change
    devices: tuple[str, ...] = ()
    weight: float = 1.0


Generator = Callable[[Site], Iterable[Found]]


@dataclass(frozen=True, slots=True)
class Protection:
    """A protection that is lost without a sign.

    Attributes:
        until: What it comes to, with ``{tag}`` for the device.
        test: Who finds it, how and when.
    """

    until: str
    test: str


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of slip.

    Attributes:
        name: ``left off``.
        prior: How often the trade sees one, relative to the other kinds (common practice).
        generate: Finds every one in a design.
        protection: Set when what is lost is protection itself: nothing works differently, and no situation of the
            grid can show it.
    """

    name: str
    prior: float
    generate: Generator
    protection: Protection | None = None


KINDS: dict[str, Kind] = {}


def kind(name: str, prior: float, *, protection: Protection | None = None) -> Callable[[Generator], Generator]:
    """Register a generator under the name of its kind."""

    def register(function: Generator) -> Generator:
        if name in KINDS:
            raise ValueError(f"the kind of slip {name} is registered twice")
        KINDS[name] = Kind(name, prior, function, protection)
        return function

    return register


def slips_of(site: Site, only: Iterable[str] | None = None, kinds: Mapping[str, Kind] = KINDS) -> tuple[Slip, ...]:
    """Every slip of a design, by kind; a change that two kinds find is told once, by the first."""
    found: list[Slip] = []
    seen: set[Change] = set()
    wanted = set(kinds if only is None else only)
    for entry in kinds.values():
        if entry.name not in wanted:
            continue
        for f in entry.generate(site):
            if f.change in seen:
                continue
            seen.add(f.change)
            devices = dict.fromkeys((*f.devices, *(t.device for t in f.terminals)))
            found.append(
                Slip(
                    f"{entry.name.replace(' ', '-')}/{f.name}",
                    entry.name,
                    tuple(devices),
                    f.terminals,
                    entry.prior * f.weight,
                    f.sentence,
                    f.change,
                )
            )
    return tuple(found)
