"""A second opinion on a hood's exhaust: the thermal-plume method of EN 16282-1 (sister text VDI 2052-1).

Formulas, constants and appliance factors come from one restatement of the standard; its own printed results were
not seen. SI inside, as in the source. Limits that a reader must know:

- Only electric appliances have factors; none for griddles, charbroilers or gas were seen, so such a hood gets none.
- The plan of the appliances and the free height decide a lot (power 5/3); the job must state them.
- The method is meant for kitchens of 25 kW connected load and more.
- It sizes the extract of a hood on cooking; it says nothing about idling, cross-draughts or a hood's listing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from galleyproof.air.exhaust import Duty
from galleyproof.air.steps import AirError, Reasoned, Reasoning, require, total
from galleyproof.findings import Citation, Cited
from galleyproof.tables import air as tables
from galleyproof.tables import load

__all__ = [
    "Arrangement",
    "Block",
    "PlumeAppliance",
    "Spill",
    "appliance_factors",
    "block_exhaust_m3h",
    "convective_heat_w",
    "heat_exhaust_m3h",
    "hydraulic_diameter_m",
    "kitchen_exhaust_m3h",
    "moisture_exhaust_m3h",
    "plume_m3h",
    "quick_capture_m3h",
    "quick_floor_m3h",
    "sensible_heat_w",
]

Arrangement: TypeAlias = Literal["free", "wall"]
Spill: TypeAlias = Literal["mixed radial", "mixed plane", "displacement ceiling", "displacement wall"]

POINT_SOURCE = Citation("EN 16282-1", "2017", "plume method", "seen second-hand, in one restatement")


@dataclass(frozen=True, slots=True)
class PlumeAppliance:
    """One appliance as the method sees it.

    Attributes:
        name: In words.
        connected_kw: Connected load. [kW]
        sensible_w_per_kw: Sensible heat per connected load. [W/kW]
        moisture_g_per_h_kw: Moisture per connected load. [g/(h kW)]
    """

    name: str
    connected_kw: float
    sensible_w_per_kw: float
    moisture_g_per_h_kw: float

    def __post_init__(self) -> None:
        require(f"{self.name}: connected load", self.connected_kw, "kW", least=0.0)
        require(f"{self.name}: sensible heat", self.sensible_w_per_kw, "W/kW", least=0.0)
        require(f"{self.name}: moisture", self.moisture_g_per_h_kw, "g/(h kW)", least=0.0)


@dataclass(frozen=True, slots=True)
class Block:
    """Appliances that stand together under one hood.

    Attributes:
        appliances: What stands there.
        length_m: Plan. [m]
        width_m: Plan. [m]
        free_height_m: Top of the appliances (middle of an oven's opening) to the hood's lower edge. [m]
        arrangement: Free-standing, or against a wall.
        simultaneity_ratio: Share of the load that cooks at the same time. [-]
        spill: How supply air enters the room.
    """

    appliances: tuple[PlumeAppliance, ...]
    length_m: float
    width_m: float
    free_height_m: float
    arrangement: Arrangement = "free"
    simultaneity_ratio: float = 1.0
    spill: Spill = "mixed plane"


_KIND_WORDS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("electric_pressure_cooker", ("pressure cooker",)),
    ("electric_combination_oven_large", ("combination oven", "combi oven", "combi")),
    ("electric_high_pressure_steamer", ("high-pressure steamer", "pressure steamer")),
    (
        "electric_tilting_frying_pan",
        ("tilting frying pan", "tilting pan", "tilting skillet", "braising pan", "bratt pan"),
    ),
    ("electric_pressure_boiling_pan_150_l", ("pressure boiling pan",)),
    ("electric_boiling_pan_80_l", ("boiling pan", "kettle")),
    ("electric_deep_fryer", ("deep fryer", "deep-fat fryer", "fryer")),
    ("electric_cooker_range", ("electric cooker", "electric range", "element range", "cooker", "range")),
)


def appliance_factors(kind: str, fuel: str, connected_kw: float) -> PlumeAppliance | None:
    """Factors of an appliance as people call it.

    Args:
        kind: ``fryer``, ``combination oven`` ...
        fuel: Only ``electric`` has factors.
        connected_kw: Connected load. [kW]

    Returns:
        The appliance; None where no factor was seen.
    """
    if fuel != "electric":
        return None
    words = kind.lower()
    label = next((label for label, names in _KIND_WORDS if any(n in words for n in names)), None)
    if label is None or "induction" in words:
        return None
    row = load("en16282_1_2017_appliances").exact(appliance=label)
    return PlumeAppliance(kind, connected_kw, row.number("sensible_w_per_kw"), row.number("moisture_g_per_h_kw"))


def sensible_heat_w(appliances: Iterable[PlumeAppliance]) -> float:
    """Sensible heat of all appliances of a block together. [W]."""
    return total(a.connected_kw * a.sensible_w_per_kw for a in appliances)


def convective_heat_w(sensible_w: float) -> Reasoned[float]:
    """The part of the sensible heat that rises with the plume.

    Args:
        sensible_w: Sensible heat. [W]

    Returns:
        Convective heat. [W]
    """
    require("sensible heat", sensible_w, "W", least=0.0)
    note = Reasoning()
    share = note.look_up("convective share of the sensible heat", _number("convective_share"), "-")
    return note.done(note.step(f"{share:g} x {sensible_w:.6g} W", share * sensible_w, "W"), "W")


def hydraulic_diameter_m(length_m: float, width_m: float) -> float:
    """Hydraulic diameter of a rectangular plan: ``2 L B / (L + B)``.

    Args:
        length_m: Plan. [m]
        width_m: Plan. [m]

    Returns:
        Diameter. [m]
    """
    require("plan length", length_m, "m", above=0.0)
    require("plan width", width_m, "m", above=0.0)
    return 2.0 * length_m * width_m / (length_m + width_m)


def plume_m3h(
    convective_w: float,
    rise_m: float,
    diameter_m: float = 0.0,
    *,
    arrangement: Arrangement = "free",
    simultaneity_ratio: float = 1.0,
) -> Reasoned[float]:
    """Air that a plume carries at the height of the hood's edge.

    Args:
        convective_w: Convective heat of the source. [W]
        rise_m: Free height above the source. [m]
        diameter_m: Hydraulic diameter of the source; 0 for a point source measured from its virtual origin. [m]
        arrangement: Free-standing, or against a wall.
        simultaneity_ratio: Share of the load at work. [-]

    Returns:
        ``k r (phi Q)^(1/3) (h + 1.7 d)^(5/3)``. [m3/h]
    """
    require("convective heat", convective_w, "W", least=0.0)
    require("free height", rise_m, "m", least=0.0)
    require("hydraulic diameter", diameter_m, "m", least=0.0)
    _simultaneity(simultaneity_ratio)
    note = Reasoning()
    k = note.look_up("plume constant", _number("plume_constant"), "m^(4/3) W^(-1/3) h^(-1)")
    r = note.look_up(f"arrangement {arrangement}", _number(f"arrangement_{arrangement}"), "-")
    offset = note.look_up("height per hydraulic diameter", _number("height_offset_per_hydraulic_diameter"), "-")
    virtual = rise_m + offset * diameter_m
    flow = k * r * float((simultaneity_ratio * convective_w) ** (1.0 / 3.0)) * float(virtual ** (5.0 / 3.0))
    note.step(
        f"{k:g} x {r:g} x ({simultaneity_ratio:g} x {convective_w:.6g} W)^(1/3) x "
        f"({rise_m:g} m + {offset:g} x {diameter_m:.4g} m)^(5/3)",
        flow, "m3/h", POINT_SOURCE,
    )  # fmt: skip
    return note.done(flow, "m3/h")


def heat_exhaust_m3h(block: Block, *, supplied_inside_m3h: float = 0.0) -> Reasoned[float]:
    """Extract of a block because of its heat: plume times spill factor, plus air blown into the hood.

    Args:
        block: The appliances.
        supplied_inside_m3h: Air blown straight into the hood. [m3/h]

    Returns:
        Extract. [m3/h]
    """
    require("air supplied inside the hood", supplied_inside_m3h, "m3/h", least=0.0)
    note = Reasoning()
    sensible = note.step("sensible heat of the appliances", sensible_heat_w(_some(block)), "W", POINT_SOURCE)
    convective = note.take(convective_heat_w(sensible))
    diameter = hydraulic_diameter_m(block.length_m, block.width_m)
    note.step(f"hydraulic diameter of {block.length_m:g} m x {block.width_m:g} m", diameter, "m")
    plume = note.take(
        plume_m3h(
            convective,
            block.free_height_m,
            diameter,
            arrangement=block.arrangement,
            simultaneity_ratio=block.simultaneity_ratio,
        )
    )
    spill = note.look_up(f"spill factor, {block.spill} supply", _number(f"spill_{block.spill.replace(' ', '_')}"), "-")
    flow = spill * plume + supplied_inside_m3h
    note.step(f"{spill:g} x {plume:.5g} m3/h + {supplied_inside_m3h:g} m3/h into the hood", flow, "m3/h")
    return note.done(flow, "m3/h")


def moisture_exhaust_m3h(block: Block) -> Reasoned[float]:
    """Extract of a block because of its moisture.

    Args:
        block: The appliances.

    Returns:
        Extract. [m3/h]
    """
    _simultaneity(block.simultaneity_ratio)
    note = Reasoning()
    grams = total(a.connected_kw * a.moisture_g_per_h_kw for a in _some(block)) * block.simultaneity_ratio
    note.step(f"moisture, simultaneity {block.simultaneity_ratio:g}", grams, "g/h", POINT_SOURCE)
    out = note.look_up("moisture of the extract", _number("extract_moisture_g_per_kg"), "g/kg")
    inside = note.look_up("moisture of the supply", _number("supply_moisture_g_per_kg"), "g/kg")
    density = note.look_up("air density", _number("air_density_kg_per_m3"), "kg/m3")
    flow = grams / (density * (out - inside))
    note.step(f"{grams:.6g} g/h / ({density:g} kg/m3 x {out - inside:g} g/kg)", flow, "m3/h")
    return note.done(flow, "m3/h")


def block_exhaust_m3h(block: Block, *, supplied_inside_m3h: float = 0.0) -> Reasoned[float]:
    """Design extract of a block: the larger of heat and moisture.

    Args:
        block: The appliances.
        supplied_inside_m3h: Air blown straight into the hood. [m3/h]

    Returns:
        Extract. [m3/h]
    """
    note = Reasoning()
    heat = note.take(heat_exhaust_m3h(block, supplied_inside_m3h=supplied_inside_m3h))
    moisture = note.take(moisture_exhaust_m3h(block))
    name = "heat" if heat >= moisture else "moisture"
    flow = note.step(f"{name} governs ({heat:.5g} for heat, {moisture:.5g} for moisture)", max(heat, moisture), "m3/h")
    return note.done(flow, "m3/h")


def kitchen_exhaust_m3h(hooded: Sequence[float], unhooded: Sequence[float] = ()) -> Reasoned[float]:
    """Extract of a whole kitchen; what stands without a hood counts as a tenth at least, all through the hoods.

    Args:
        hooded: Extract of each hooded block. [m3/h]
        unhooded: Extract of each block without a hood. [m3/h]

    Returns:
        Extract. [m3/h]
    """
    for flow in (*hooded, *unhooded):
        require("extract of a block", flow, "m3/h", least=0.0)
    note = Reasoning()
    hoods, others = total(hooded), total(unhooded)
    note.step("hooded blocks", hoods, "m3/h")
    note.step("blocks without a hood", others, "m3/h")
    share = note.look_up("these count as at least", _number("unhooded_share_min"), "-")
    counted = max(others, share * hoods)
    whole = note.step(f"{hoods:.6g} + {counted:.5g} m3/h", hoods + counted, "m3/h", POINT_SOURCE)
    return note.done(whole, "m3/h")


def quick_capture_m3h(free_perimeter_m: float, free_height_m: float, duty: Duty) -> Reasoned[float]:
    """Quick method: capture velocity through the free faces between appliance and hood.

    Args:
        free_perimeter_m: Edge of the hood that is open to the room. [m]
        free_height_m: Appliance to hood. [m]
        duty: ``light``, ``medium`` or ``heavy`` of the EN grouping (an open-burner range is medium there).

    Returns:
        Extract. [m3/h]

    Raises:
        AirError: A duty the method does not have.
    """
    require("free perimeter", free_perimeter_m, "m", above=0.0)
    require("free height", free_height_m, "m", above=0.0)
    if duty not in ("light", "medium", "heavy"):
        raise AirError(f"the quick method has no {duty} duty; it has light, medium and heavy")
    note = Reasoning()
    speed = note.look_up(f"capture velocity, {duty} duty", _number(f"quick_capture_{duty}_m_per_s"), "m/s")
    flow = 3600.0 * speed * free_perimeter_m * free_height_m
    note.step(f"3600 x {speed:g} m/s x {free_perimeter_m:.4g} m x {free_height_m:.4g} m", flow, "m3/h", POINT_SOURCE)
    return note.done(flow, "m3/h")


def quick_floor_m3h(floor_m2: float, use: Literal["general", "grill", "wash"] = "general") -> Reasoned[float]:
    """Quick method: extract by the floor area of a kitchen or of one of its parts.

    Args:
        floor_m2: Floor. [m2]
        use: The kitchen in general; its roasting and grilling part; its dishwashing part.

    Returns:
        Extract. [m3/h]
    """
    require("floor", floor_m2, "m2", above=0.0)
    note = Reasoning()
    rate = note.look_up(f"extract per floor area, {use}", _number(f"quick_floor_{use}"), "m3/(h m2)")
    return note.done(note.step(f"{rate:g} x {floor_m2:g} m2", rate * floor_m2, "m3/h", POINT_SOURCE), "m3/h")


def _some(block: Block) -> tuple[PlumeAppliance, ...]:
    if not block.appliances:
        raise AirError("a block without appliances has no plume; name what stands under the hood")
    return block.appliances


def _simultaneity(ratio: float) -> None:
    require("simultaneity", ratio, "-", above=0.0, most=1.0, cure="write it as 0 to 1")


def _number(key: str) -> Cited[float]:
    return tables.en16282_number(key)
