"""Hood lights: what one contact and one circuit carry, how hoods are grouped, and the rush at switching on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from galleyproof.sizing.checks import need_above_zero, need_choice, need_not_negative, need_share
from galleyproof.sizing.conductors import continuous_min_a
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, SizingError, nec, practice, shown

__all__ = [
    "CONTACT_A",
    "LampKind",
    "LightContact",
    "LightLoad",
    "circuit_min_a",
    "contact_max_w",
    "contact_use_ratio",
    "group_lights",
    "inrush_peak_a",
    "lights_a",
]

LampKind: TypeAlias = Literal["incandescent", "electronic driver"]

CONTACT_A = 10.0
"""Common practice: lighting load of one contact of a small lighting contactor. [A]"""
# Cold tungsten has about a tenth of its hot resistance, and the line may stand at its crest: 10 to 15 times. [-]
_COLD_FILAMENT_RATIO = 15.0


@dataclass(frozen=True, slots=True)
class LightLoad:
    """Lights of one hood.

    Attributes:
        name: Tag of the hood.
        load_w: Of all its lamps, ballasts and drivers included. [W]
        circuit: Tag of the circuit that feeds it; a contact switches one circuit only.
    """

    name: str
    load_w: float
    circuit: str = ""


@dataclass(frozen=True, slots=True)
class LightContact:
    """One contact and the hoods on it.

    Attributes:
        circuit: Tag of the circuit.
        names: Hoods, in order.
        load_w: Sum. [W]
    """

    circuit: str
    names: tuple[str, ...]
    load_w: float


def lights_a(load_w: float, supply_v: float, power_factor: float = 1.0) -> Reasoned[float]:
    """Steady current of lights.

    Args:
        load_w: Ballasts and drivers included. [W]
        supply_v: Between the two conductors. [V]
        power_factor: 1 for filament lamps; electronic drivers are marked, 0.9 is usual. [-]

    Returns:
        Current. [A]

    Raises:
        SizingError: A load, voltage or power factor that cannot be.

    Code basis:
        Definition of power factor; NFPA 70 220.18(B) counts ballasts and drivers, not lamps.
    """
    r = Reasoning()
    need_not_negative("load_w", load_w, "W")
    need_above_zero("supply_v", supply_v, "V")
    need_share("power_factor", power_factor)
    value = load_w / (supply_v * power_factor)
    over = "" if power_factor == 1.0 else f" x power factor {power_factor:g}"
    r.step(f"{shown(float(load_w), 'W')} / ({supply_v:g} V{over})", value, "A", nec("220.18(B)"))
    return r.done(value, "A")


def contact_max_w(supply_v: float, power_factor: float = 1.0, contact_a: float = CONTACT_A) -> Reasoned[float]:
    """Largest lighting load of one contact.

    Args:
        supply_v: Of the lights. [V]
        power_factor: Of the lights. [-]
        contact_a: Lighting rating of the contact. [A]

    Returns:
        Load. [W]

    Raises:
        SizingError: A rating, voltage or power factor that cannot be.

    Code basis:
        Common practice for the rating where the contactor's own is not known; NFPA 70 404.14 and 110.3(B): within
        its rating.

    Examples:
        >>> contact_max_w(120.0).value
        1200.0
    """
    r = Reasoning()
    need_above_zero("supply_v", supply_v, "V")
    need_above_zero("contact_a", contact_a, "A")
    need_share("power_factor", power_factor)
    value = contact_a * supply_v * power_factor
    times = "" if power_factor == 1.0 else f" x power factor {power_factor:g}"
    note = practice("lighting rating of a contact") if contact_a == CONTACT_A else nec("110.3(B)")
    r.step(f"one contact: {shown(float(contact_a), 'A')} x {supply_v:g} V{times}", value, "W", note)
    return r.done(value, "W")


def contact_use_ratio(
    load_w: float, supply_v: float, power_factor: float = 1.0, contact_a: float = CONTACT_A
) -> Reasoned[float]:
    """How much of a light contact's rating is used; above 1 it is overloaded.

    Args:
        load_w: Of all lights on the contact. [W]
        supply_v: Of the lights. [V]
        power_factor: Of the lights. [-]
        contact_a: Lighting rating of the contact. [A]

    Returns:
        Ratio. [-]

    Examples:
        >>> round(contact_use_ratio(1450.0, 120.0).value, 3)
        1.208
    """
    r = Reasoning()
    limit_w = r.take(contact_max_w(supply_v, power_factor, contact_a))
    need_not_negative("load_w", load_w, "W")
    value = load_w / limit_w
    r.step(f"{shown(float(load_w), 'W')} of {shown(limit_w, 'W')}", value, "-")
    return r.done(value, "-")


def circuit_min_a(
    load_w: float, supply_v: float, power_factor: float = 1.0, *, edition: NecEdition = "2023"
) -> Reasoned[float]:
    """Smallest breaker rating and conductor ampacity of a light circuit: kitchen lights burn three hours and more.

    Args:
        load_w: Of all lights on the circuit. [W]
        supply_v: Of the lights. [V]
        power_factor: Of the lights. [-]
        edition: ``2020`` or ``2023``.

    Returns:
        125 percent of the current. [A]

    Code basis:
        NFPA 70-2023, 210.19(A)(1) and 210.20(A).

    Examples:
        >>> circuit_min_a(1440.0, 120.0).value
        15.0
    """
    r = Reasoning(edition)
    steady = r.take(lights_a(load_w, supply_v, power_factor))
    return r.done(r.take(continuous_min_a(steady, edition=edition)), "A")


def inrush_peak_a(
    load_w: float,
    supply_v: float,
    kind: LampKind,
    *,
    power_factor: float = 1.0,
    drivers: int = 0,
    peak_each_a: float | None = None,
) -> Reasoned[float | None]:
    """Peak of the current when lights are switched on.

    Args:
        load_w: Of all lights on the contact. [W]
        supply_v: Of the lights. [V]
        kind: ``incandescent`` or ``electronic driver``.
        power_factor: Of the lights. [-]
        drivers: How many drivers or ballasts. [-]
        peak_each_a: Peak of one driver, as its maker states. [A]

    Returns:
        Peak; None where drivers' makers have not said: the steps then say what to ask for. [A]

    Raises:
        SizingError: Another kind, or values that cannot be.

    Code basis:
        Common practice: cold filaments take 10 to 15 times their current; capacitors of drivers up to 100 times,
        for less than a millisecond, so that only the maker's figure counts.
    """
    r = Reasoning()
    need_choice("kind", kind, ("incandescent", "electronic driver"))
    steady = r.take(lights_a(load_w, supply_v, power_factor))
    if kind == "incandescent":
        value = _COLD_FILAMENT_RATIO * steady
        r.step(f"cold filaments: 15 x {shown(steady, 'A')}", value, "A", practice("inrush of filament lamps"))
        return r.done(value, "A")
    if peak_each_a is None:
        r.remark(
            "inrush of the drivers is not known: use a contactor rated for electronic ballasts and drivers, "
            "or ask the maker of the lamps for the peak",
            practice("inrush of electronic drivers", "may exceed 100 times the steady current"),
        )
        return r.done(None, "A")
    need_above_zero("peak_each_a", peak_each_a, "A")
    if drivers < 1:
        raise SizingError(f"drivers={drivers}: give how many drivers the contact switches, at least 1")
    value = drivers * peak_each_a
    r.step(f"{drivers} drivers x {shown(float(peak_each_a), 'A')}, all at once", value, "A", practice("maker's figure"))
    return r.done(value, "A")


def group_lights(
    loads: Sequence[LightLoad], supply_v: float, power_factor: float = 1.0, contact_a: float = CONTACT_A
) -> Reasoned[tuple[LightContact, ...]]:
    """Hoods put onto contacts, each contact within its rating and on one circuit.

    The largest load goes first, each onto the first contact that still has room: never more than 11/9 of the least
    possible number of contacts, and two thirds of one more.

    Args:
        loads: Lights of each hood; order does not matter.
        supply_v: Of the lights. [V]
        power_factor: Of the lights. [-]
        contact_a: Lighting rating of one contact. [A]

    Returns:
        Contacts, in the order of circuit and first hood.

    Raises:
        SizingError: One hood alone is above a contact's rating, or two hoods of one name.

    Code basis:
        NFPA 70 110.3(B); common practice for the rating.

    Examples:
        >>> [c.names for c in group_lights([LightLoad("H-1", 700), LightLoad("H-2", 600)], 120.0).value]
        [('H-1',), ('H-2',)]
    """
    r = Reasoning()
    limit_w = r.take(contact_max_w(supply_v, power_factor, contact_a))
    names = [one.name for one in loads]
    if len(set(names)) != len(names):
        raise SizingError("two light loads of one name: give each hood once, with all its lamps")
    filled: list[tuple[str, list[LightLoad]]] = []
    for load in sorted(loads, key=lambda one: (one.circuit, -one.load_w, one.name)):
        need_not_negative(f"{load.name}: load_w", load.load_w, "W")
        if load.load_w > limit_w + 1e-9:
            raise SizingError(
                f"lights of {load.name}: {load.load_w:g} W is above the {limit_w:g} W of one contact; switch them over "
                "two contacts or take lamps of fewer watts"
            )
        for circuit, on in filled:
            if circuit == load.circuit and math.fsum(o.load_w for o in on) + load.load_w <= limit_w + 1e-9:
                on.append(load)
                break
        else:
            filled.append((load.circuit, [load]))
    contacts = []
    for circuit, on in filled:
        hoods = tuple(sorted(one.name for one in on))
        total = math.fsum(one.load_w for one in on)
        contacts.append(LightContact(circuit, hoods, total))
    contacts.sort(key=lambda one: (one.circuit, one.names))
    for n, contact in enumerate(contacts, start=1):
        where = f" of {contact.circuit}" if contact.circuit else ""
        r.step(f"contact {n}{where}: {', '.join(contact.names)}", contact.load_w, "W")
    if len(contacts) > 1:
        total = math.fsum(one.load_w for one in contacts)
        r.pass_over(f"all {total:g} W on one contact: {limit_w:g} W allowed, and one circuit only")
    return r.done(tuple(contacts), "contacts")
