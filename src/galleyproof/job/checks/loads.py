"""Appliances, shutdowns, set-points: what one item says must agree with itself and its partner."""

from __future__ import annotations

from collections.abc import Iterator

from galleyproof.errors import Problem
from galleyproof.job.checks.registry import check
from galleyproof.job.model import Appliance, Hood
from galleyproof.job.register import Register
from galleyproof.yamltext import Path


@check()
def set_points(r: Register) -> Iterator[Problem]:
    """Idle below full, and a least speed between nothing and everything."""
    for path, hood in r.each("hoods"):
        if hood.idle_below >= hood.full_above:
            what = (
                f"{hood.idle_below:g} degF is not below full_above, {hood.full_above:g} degF; "
                "the fan idles below the first and runs fully above the second"
            )
            yield r.say((*path, "idle_below"), what)
    for section in ("exhaust_fans", "makeup_units"):
        for path, fan in r.each(section):
            if not 0.0 < fan.min_speed <= 1.0:
                what = f"{fan.min_speed:.4g} of full speed; a least speed lies above 0 % and at or below 100 %"
                yield r.say((*path, "min_speed"), f"{100 * fan.min_speed:.4g} % is {what}")


@check("shutdowns")
def appliances(r: Register) -> Iterator[Problem]:
    """What an appliance of each fuel must state, and by what it is shut down."""
    for path, hood in r.each("hoods"):
        for i, appliance in enumerate(hood.appliances):
            at = (*path, "appliances", i)
            if appliance.fuel == "electric":
                yield from _electric(r, at, appliance, hood)
            elif appliance.fuel == "gas":
                yield from _gas(r, at, appliance, hood)


def _electric(r: Register, at: Path, appliance: Appliance, hood: Hood) -> Iterator[Problem]:
    if appliance.load is None:
        yield r.say((*at, "load"), "is missing; an electric appliance states its load, like 8.3 kW")
    if appliance.circuit is None:
        yield r.say((*at, "circuit"), "is missing; an electric appliance names the circuit that feeds it")
    by = r.shutdowns.get(appliance.shut_down_by or "")
    if by is None:
        return
    if by.kind == "gas valve":
        what = f"{by.tag} is a gas valve; an electric appliance names a shunt trip or a held-in contactor"
        yield r.say((*at, "shut_down_by"), what)
    elif appliance.circuit and by.circuit != appliance.circuit and by.circuit in r.circuits:
        what = f"{by.tag} opens circuit {by.circuit}, but the appliance is fed from {appliance.circuit}"
        yield r.say((*at, "shut_down_by"), f"{what}; name the shutdown of that circuit")
    yield from _zone(r, at, appliance, hood)


def _gas(r: Register, at: Path, appliance: Appliance, hood: Hood) -> Iterator[Problem]:
    by = r.shutdowns.get(appliance.shut_down_by or "")
    valves = [s.tag for s in r.shutdowns.values() if s.kind == "gas valve" and s.zone == hood.zone]
    listed = f"gas valves of zone {hood.zone}: {', '.join(valves) or 'none'}"
    if by is not None and by.kind != "gas valve":
        yield r.say((*at, "shut_down_by"), f"{by.tag} is a {by.kind}, not a gas valve; {listed}")
    elif appliance.shut_down and appliance.shut_down_by is None and not valves:
        what = f"a release shuts its gas, but zone {hood.zone} has no gas valve"
        yield r.say((*at, "shut_down_by"), f"{what}; add one to the shutdowns, or write shut_down: false")
    else:
        yield from _zone(r, at, appliance, hood)


def _zone(r: Register, at: Path, appliance: Appliance, hood: Hood) -> Iterator[Problem]:
    by = r.shutdowns.get(appliance.shut_down_by or "")
    if by is not None and by.zone != hood.zone:
        what = f"{by.tag} belongs to zone {by.zone}, but hood {hood.tag} is in zone {hood.zone}"
        yield r.say((*at, "shut_down_by"), f"{what}; name a shutdown of the hood's own zone")


@check()
def shunt_trip(r: Register) -> Iterator[Problem]:
    """A shunt-trip shutdown of a breaker without the accessory."""
    for path, shutdown in r.each("shutdowns"):
        if shutdown.kind != "shunt trip":
            continue
        circuit = r.circuits.get(shutdown.circuit)
        if circuit is not None and circuit.shunt_trip is None:
            what = f"circuit {circuit.tag} has no shunt-trip accessory; add shunt_trip: {{}} to it"
            yield r.say((*path, "circuit"), what)


@check()
def circuit_shut_down_twice(r: Register) -> Iterator[Problem]:
    """Two shutdowns of one circuit."""
    first: dict[str, str] = {}
    for path, shutdown in r.each("shutdowns"):
        if shutdown.kind == "gas valve":
            continue
        if shutdown.circuit in first:
            what = f"circuit {shutdown.circuit} is already shut down by {first[shutdown.circuit]}; keep one"
            yield r.say((*path, "circuit"), what)
        first.setdefault(shutdown.circuit, shutdown.tag)
