"""Sensors joined to each other, and sensors that are not as ordered."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from galleyproof.design.model import Conductor
from galleyproof.proof.slips._registry import Found, kind
from galleyproof.proof.slips._site import Site
from galleyproof.proof.slips.model import Bridged, Change, Move, Refit


def _couples(site: Site) -> Iterator[tuple[tuple[str, list[Conductor]], tuple[str, list[Conductor]]]]:
    """Hood sensors next to each other, each with its two conductors."""
    found = []
    for device in site.devices_of("temperature_sensor"):
        wires = [c for c, _, _ in site.field_at(device.tag)]
        if len(wires) == 2 and device.ratings.get("hood"):
            found.append((device.tag, wires))
    yield from pairwise(found)


@kind("sensors in series", 2.0)
def series(site: Site) -> Iterable[Found]:
    """Two sensors chained on the first one's pair; the second input stays empty."""
    for (one, first), (other, second) in _couples(site):
        back = first[1]
        here, there = site.terminal_at(back, one), site.terminal_at(second[1], other)
        start = site.terminal_at(second[0], other)
        change = Change(
            opened=tuple(c.key for c in second),
            moved=(Move(back.key, site.end_at(back, one), there),),  # type: ignore[arg-type]
            bridged=(Bridged(f"chain {one} {other}", here, start),),
        )
        words = f"{one} and {other} are chained in series on the pair of {one}; the input of {other} is empty"
        yield Found(f"{one}/{other}", (here, start, there), words, change)


@kind("sensors in parallel", 2.0)
def parallel(site: Site) -> Iterable[Found]:
    """Two sensors on the first one's pair; the second input stays empty."""
    for (one, first), (other, second) in _couples(site):
        ends = [site.terminal_at(c, one) for c in first]
        others = [site.terminal_at(c, other) for c in second]
        change = Change(
            opened=tuple(c.key for c in second),
            bridged=tuple(Bridged(f"parallel {a} {b}", a, b) for a, b in zip(ends, others, strict=True)),
        )
        words = f"{one} and {other} are in parallel on the pair of {one}; the input of {other} is empty"
        yield Found(f"{one}/{other}", (*ends, *others), words, change)


@kind("sensors averaged", 1.0)
def averaged(site: Site) -> Iterable[Found]:
    """The sensors of a hood joined to one network on the first one's pair, the others' inputs empty.

    Only k times k equal ones, k in series in k branches, read like one; and a mean hides the hood that is hot.
    """
    of_hood: dict[str, list[tuple[str, list[Conductor]]]] = {}
    for device in site.devices_of("temperature_sensor"):
        wires = [c for c, _, _ in site.field_at(device.tag)]
        if len(wires) == 2 and device.ratings.get("hood"):
            of_hood.setdefault(str(device.ratings["hood"]), []).append((device.tag, wires))
    for hood, found in of_hood.items():
        if len(found) == 3:
            # two in series, the third beside them
            (one, first), (other, second), (third, rest) = found
            back = first[1]
            ends = [site.terminal_at(c, one) for c in first]
            middle = [site.terminal_at(c, other) for c in second]
            last = [site.terminal_at(c, third) for c in rest]
            change = Change(
                opened=tuple(c.key for c in (*second, *rest)),
                moved=(Move(back.key, site.end_at(back, one), middle[1]),),  # type: ignore[arg-type]
                bridged=(
                    Bridged(f"chain {one} {other}", ends[1], middle[0]),
                    Bridged(f"beside {ends[0]} {last[0]}", ends[0], last[0]),
                    Bridged(f"beside {middle[1]} {last[1]}", middle[1], last[1]),
                ),
            )
            words = f"{one} and {other} in series and {third} beside them hang on the pair of {one}: two thirds of one"
            yield Found(f"{hood}/mixed", (*ends, *middle, *last), words, change, (hood,))
        if len(found) >= 3:
            ends = [site.terminal_at(c, found[0][0]) for c in found[0][1]]
            bridged = [
                Bridged(f"parallel {a} {site.terminal_at(c, tag)}", a, site.terminal_at(c, tag))
                for tag, wires in found[1:]
                for a, c in zip(ends, wires, strict=True)
            ]
            opened = tuple(c.key for _, wires in found[1:] for c in wires)
            words = f"all {len(found)} sensors of {hood} are in parallel on the pair of {found[0][0]}"
            at = tuple(site.terminal_at(c, tag) for tag, wires in found for c in wires)
            yield Found(f"{hood}/parallel", at, words, Change(opened=opened, bridged=tuple(bridged)), (hood,))


@kind("wrong thermistor curve", 2.0)
def curve(site: Site) -> Iterable[Found]:
    """A 10 kohm thermistor of the other curve: right at room temperature, wrong when it is hot."""
    for device in site.devices_of("temperature_sensor"):
        fitted = str(device.ratings["curve"])
        if fitted.startswith("NTC"):
            other = "NTC 10k curve 3" if fitted.endswith("2") else "NTC 10k curve 2"
            yield _refit(site, device.tag, other, f"{device.tag} is an {other}; ordered was {fitted}")


@kind("sensor outside its hood", 2.0)
def elsewhere(site: Site) -> Iterable[Found]:
    """Wired right, and left hanging in the room: it never feels the heat."""
    for device in site.devices_of("temperature_sensor"):
        if device.ratings.get("hood"):
            at = tuple(t for _, _, t in site.field_at(device.tag))
            words = f"{device.tag} does not hang in {device.ratings['hood']}: it feels the room"
            yield Found(device.tag, at, words, Change(refits=(Refit(device.tag, "hangs", "elsewhere"),)), (device.tag,))


@kind("wrong sensor", 1.0)
def other_sensor(site: Site) -> Iterable[Found]:
    """A Pt1000 for a thermistor, or the reverse."""
    for device in site.devices_of("temperature_sensor"):
        fitted = str(device.ratings["curve"])
        other = "Pt1000" if fitted.startswith("NTC") else "NTC 10k curve 2"
        yield _refit(site, device.tag, other, f"{device.tag} is a {other}; ordered was {fitted}")


def _refit(site: Site, tag: str, other: str, words: str) -> Found:
    terminals = tuple(t for _, _, t in site.field_at(tag))
    return Found(tag, terminals, words, Change(refits=(Refit(tag, "fitted_curve", other),)), (tag,))
