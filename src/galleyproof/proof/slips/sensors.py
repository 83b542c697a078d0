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


@kind("wrong thermistor curve", 2.0)
def curve(site: Site) -> Iterable[Found]:
    """A 10 kohm thermistor of the other curve: right at room temperature, wrong when it is hot."""
    for device in site.devices_of("temperature_sensor"):
        fitted = str(device.ratings["curve"])
        if fitted.startswith("NTC"):
            other = "NTC 10k curve 3" if fitted.endswith("2") else "NTC 10k curve 2"
            yield _refit(site, device.tag, other, f"{device.tag} is an {other}; ordered was {fitted}")


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
