"""Islands and looks as the compiled walk takes them: lists of places and of quantities."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cache
from struct import Struct
from typing import Any

from galleyproof.circuit.island import Island
from galleyproof.circuit.machine import Machine
from galleyproof.circuit.rules import Levels, Turning
from galleyproof.proof.compiled import AC, ASKED, LEVELS, PLAIN, RAW_AC, RAW_DC, SIGNED

Look = Callable[[Any], Any]
HOW = {"": 0, "factor": 1, "ohm": 2}


def looks_of(machine: Machine) -> dict[int, Look]:
    """For each reading, what stands for all values that those who read it cannot tell apart.

    Left out are readings that somebody takes as they are, or that two look at differently.
    """
    looks: dict[int, Look] = {}
    exact: set[int] = set()
    for rule in machine.rules:
        for name in rule.inputs:
            s, look = machine.slot[name], rule.looks.get(name)
            if look is None or looks.get(s, look) != look:
                exact.add(s)
            else:
                looks[s] = look
    return {s: look for s, look in looks.items() if s not in exact}


@cache
def row_of(kind: str, length: int) -> Struct:
    """What puts whole numbers (``i``) or quantities (``d``) side by side in memory."""
    return Struct(f"{length}{kind}")


def parts_of(island: Island) -> tuple[list[int], list[float]]:
    """An island without its readings, as ``isle_of`` in walk.c reads it.

    Returns:
        Whole numbers: counts, then links, fixed nodes, branches, sources; and their quantities.
    """
    local = island.place
    key = {s: i for i, s in enumerate(island.key_slots)}
    parts = (island.nodes, island.fixed_nodes, island.links, island.branches, island.sources)
    ints = [*(len(part) for part in parts), 0, 0, 0]
    floats: list[float] = []
    for link in island.links:
        ints += (local[link.a], local[link.b], key[link.slot])
    for _, v_ac, v_dc, names in island.fixed_nodes:
        places = [key[n] for n in names.split("*") if n]
        ints += (len(places), *places)
        floats += (v_ac.real, v_ac.imag, v_dc)
    # what hangs on no slot has an empty one
    key[""] = -1
    for b in island.branches:
        y = b.y_ac
        ints += (local[b.a], local[b.b], HOW[b.how], key[b.slot])
        floats += (y.real, y.imag, b.g_dc)
    for s in island.sources:
        ints += (local[s.a], local[s.b], key[s.slot])
        floats += (s.v_ac.real, s.v_ac.imag, s.v_dc, s.ohm)
    return ints, floats


def packed(
    island: Island, drawn: Sequence[int], slot: Mapping[str, int], looks: Mapping[int, Look]
) -> tuple[list[int], list[float]]:
    """An island as ``solved`` in walk.c reads it.

    Args:
        island: The island.
        drawn: Places among its fixed nodes whose DC current is told; -1 for one that it does not touch.
        slot: Number of each slot.
        looks: How readings are looked at.

    Returns:
        Whole numbers: counts, then links, fixed nodes, branches, sources, readings, drawn; and their quantities.
    """
    local = island.place
    motors = _motors(island, slot, looks)
    ints, floats = parts_of(island)
    ints[5:8] = len(island.readings), len(drawn), len(motors)
    branch_at: dict[str, int] = {}
    source_at: dict[str, int] = {}
    if any(r.of != "volts" for r in island.readings):
        branch_at = {b.name: n for n, b in enumerate(island.branches)}
        source_at = {s.name: n for n, s in enumerate(island.sources)}
    for r in island.readings:
        look = looks.get(slot[r.slot])
        form = AC if r.form == "ac" else PLAIN
        bounds: tuple[float, ...] = ()
        if isinstance(look, Levels):
            how, bounds = (SIGNED if look.signed else LEVELS), look.bounds
        elif look is None or isinstance(look, Turning):
            how = RAW_AC if form == AC else RAW_DC
        else:
            how = ASKED
        if r.of == "volts":
            ints += (0, form, local[r.a], local[r.b], 0, how, len(bounds))
        elif r.branch in branch_at:
            ints += (1, form, 0, 0, branch_at[r.branch], how, len(bounds))
        else:
            ints += (2, form, 0, 0, source_at[r.branch], how, len(bounds))
        floats += bounds
    return [*ints, *drawn, *(i for places, _ in motors for i in places)], [*floats, *(rated for _, rated in motors)]


def _motors(
    island: Island, slot: Mapping[str, int], looks: Mapping[int, Look]
) -> list[tuple[tuple[int, int, int, int], float]]:
    """Windings of three phases all of whose volts are read here: places of the readings, on a drive; rated volts."""
    turning = [look for r in island.readings if isinstance(look := looks.get(slot[r.slot]), Turning)]
    if not turning:
        return []
    at = {r.slot: n for n, r in enumerate(island.readings)}
    found: dict[Turning, tuple[int, int, int, int]] = {}
    for look in turning:
        if all(p in at and looks.get(slot[p]) == look for p in look.pairs):
            ab, bc, ca = (at[p] for p in look.pairs)
            found[look] = (ab, bc, ca, int(look.on_drive))
    return [(places, look.rated_v) for look, places in found.items()]
