"""A difference as tables for people: the same on paper, on a terminal and on a page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from galleyproof import units
from galleyproof.design.difference import Change, Difference, rerouted_fields
from galleyproof.design.model import Conductor

Row = tuple[str, ...]

NUMBERS_STAY = "Numbers that are issued stay: galleyproof wires OLD --issue, then make the revision from it."
"""What keeps conductors from being numbered anew."""


@dataclass(frozen=True, slots=True)
class Schedule:
    """One kind of change.

    Attributes:
        title: What changed.
        columns: Titles of the columns.
        rows: A row for each item.
    """

    title: str
    columns: Row
    rows: tuple[Row, ...]


def schedules(d: Difference) -> tuple[Schedule, ...]:
    """Everything that changed, by kind; kinds of which there is nothing are left out."""
    return tuple(s for s in _schedules(d) if s.rows)


def _schedules(d: Difference) -> Iterator[Schedule]:
    conductor = ("No.", "From", "To", "Made", "Size", "Colour", "Length", "Cable", "Purpose")
    for title, some in (("Conductors added", d.added), ("Conductors removed", d.removed)):
        yield Schedule(title, conductor, tuple(_conductor(c) for c in some))
    yield Schedule(
        "Conductors re-landed",
        ("No.", "Old landing", "New landing", "Purpose"),
        tuple(
            (str(p.new.number), f"{p.old.a} - {p.old.b}", f"{p.new.a} - {p.new.b}", p.new.purpose) for p in d.relanded
        ),
    )
    yield Schedule(
        "Conductors re-sized",
        ("No.", "From", "To", "Old size", "New size", "Purpose"),
        tuple(
            (*_ends(p.new), units.format_awg(p.old.awg), units.format_awg(p.new.awg), p.new.purpose) for p in d.resized
        ),
    )
    yield Schedule(
        "Conductors re-numbered",
        ("Old No.", "New No.", "From", "To", "Purpose"),
        tuple((str(p.old.number), *_ends(p.new), p.new.purpose) for p in d.renumbered),
    )
    yield Schedule(
        "Conductors changed otherwise",
        ("No.", "From", "To", "What", "Old", "New"),
        tuple((*_ends(p.new), *_what(c)) for p in d.rerouted for c in rerouted_fields(p)),
    )
    for title, devices in (("Devices added", d.devices_added), ("Devices removed", d.devices_removed)):
        yield Schedule(title, ("Tag", "What", "Place"), tuple((x.tag, x.title, x.place) for x in devices))
    for title, changes in (
        ("Devices altered", d.devices_altered),
        ("Jumpers and bars", d.jumpers),
        ("Controller's program", d.program),
    ):
        yield Schedule(title, ("Item", "What", "Old", "New"), _rows(changes))


def _rows(changes: Iterable[Change]) -> tuple[Row, ...]:
    return tuple((c.item, *_what(c)) for c in changes)


def _what(c: Change) -> tuple[str, str, str]:
    return (c.what.replace("_ft", " [ft]").replace("_", " "), c.old, c.new)


def _ends(c: Conductor) -> tuple[str, str, str]:
    return (str(c.number), str(c.a), str(c.b))


def _conductor(c: Conductor) -> Row:
    return (*_ends(c), c.made, units.format_awg(c.awg), c.colour, f"{c.length_ft:g} ft", c.cable, c.purpose)
