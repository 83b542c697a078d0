"""Whole cables at the wrong device: hood 2's sensor on hood 3's pair, a run pair at the wrong make-up unit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from galleyproof.design.model import Conductor, Role
from galleyproof.proof.slips._registry import Found, kind
from galleyproof.proof.slips._site import Site
from galleyproof.proof.slips.model import Change, Move

Landings = dict[str, tuple[Conductor, str]]


def _signals(site: Site, tag: str, *, power: bool) -> dict[str, Landings]:
    """Cables at a device: what they do (their marks) -> mark -> conductor and end."""
    groups: dict[str, Landings] = {}
    for c, end, t in site.field_at(tag):
        if (c.role in (Role.LINE, Role.NEUTRAL, Role.LOAD)) == power:
            groups.setdefault(c.cable, {})[t.mark] = (c, end)
    return {" ".join(sorted(g)): g for g in groups.values()}


def _exchange(one: str, a: Landings, other: str, b: Landings) -> Change:
    from galleyproof.design.model import TerminalId

    moves = [Move(c.key, end, TerminalId(other, mark)) for mark, (c, end) in sorted(a.items())]  # type: ignore[arg-type]
    moves += [Move(c.key, end, TerminalId(one, mark)) for mark, (c, end) in sorted(b.items())]  # type: ignore[arg-type]
    return Change(moved=tuple(moves))


def _pairs(site: Site, types: tuple[str, ...], *, power: bool) -> Iterator[Found]:
    """Neighbours among the devices with the same terminals; the likeliest to be confused stand side by side."""
    last: dict[str, tuple[str, Landings]] = {}
    for device in site.devices_of(*types):
        for marks, landings in _signals(site, device.tag, power=power).items():
            before = last.get(marks)
            last[marks] = (device.tag, landings)
            if before is None or before[0] == device.tag:
                continue
            tag, theirs = before
            terminals = tuple(t for c, e in (*theirs.values(), *landings.values()) for t in (c.a if e == "a" else c.b,))
            yield Found(
                f"{tag}/{device.tag}/{marks.replace(' ', ',')}",
                terminals,
                f"the cables of {tag} and {device.tag} ({next(iter(theirs.values()))[0].purpose}) have changed places "
                f"at {', '.join(str(t) for t in terminals)}",
                _exchange(tag, theirs, device.tag, landings),
            )


@kind("cables exchanged", 5.0)
def exchanged(site: Site) -> Iterable[Found]:
    """Sensors, switches, proving switches, valves and lights of one kind."""
    kinds = (
        "temperature_sensor",
        "switch_",
        "current_switch",
        "airflow_switch",
        "fire_switch",
        "gas_valve",
        "contactor_held",
        "damper_",
        "hood_light",
    )
    for start in kinds:
        yield from _pairs(site, (start,), power=start == "hood_light")


@kind("pair at the wrong unit", 4.0)
def wrong_unit(site: Site) -> Iterable[Found]:
    """Run and speed pairs of two units that take the same."""
    yield from _pairs(site, ("makeup_",), power=False)
    yield from _pairs(site, ("ec_fan_",), power=False)


@kind("fans exchanged", 2.0)
def fans(site: Site) -> Iterable[Found]:
    """The motor leads of two fans."""
    yield from _pairs(site, ("motor_1", "motor_3"), power=True)


@kind("one signal for all", 2.0)
def one_signal(site: Site) -> Iterable[Found]:
    """The speed pairs of several EC fans on the output of the first: their inputs load it together."""
    pairs = [
        (device.tag, landings)
        for device in site.devices_of("ec_fan_")
        for landings in _signals(site, device.tag, power=False).values()
        if "GND" in landings and set(landings) & {"0-10V", "PWM"}
    ]
    if len(pairs) < 2:
        return
    first = {mark: c for mark, (c, _) in pairs[0][1].items()}
    moves = []
    for _, landings in pairs[1:]:
        for mark, (c, end) in sorted(landings.items()):
            if mark in first:
                near, other = ("b" if end == "a" else "a"), first[mark]
                to = other.b if other.a.device == pairs[0][0] else other.a
                moves.append(Move(c.key, near, to))  # type: ignore[arg-type]
    words = (
        f"the speed pairs of {', '.join(t for t, _ in pairs)} all hang on the output of {pairs[0][0]} at {moves[0].to}"
    )
    yield Found(
        "/".join(t for t, _ in pairs), (moves[0].to,), words, Change(moved=tuple(moves)), tuple(t for t, _ in pairs)
    )
