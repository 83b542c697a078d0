"""Heat of an enclosure: what its parts lose, what its walls give off, how warm it gets inside.

The walls carry the heat by their effective cooling surface: each side counts by how freely air reaches it, as in
IEC TR 60890. Temperatures are of the air, altitude and sun are left to the caller.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from galleyproof.findings import Citation
from galleyproof.sizing.checks import need_above_zero, need_choice, need_not_negative
from galleyproof.sizing.steps import Reasoned, Reasoning, SizingError, practice, shown

__all__ = [
    "DRIVE_EFFICIENCY",
    "SUPPLY_EFFICIENCY",
    "HeatLoad",
    "Mounting",
    "WallMaterial",
    "cooling_surface_sqft",
    "drive_heat_w",
    "fan_airflow_cfm",
    "inside_degf",
    "max_heat_w",
    "supply_heat_w",
    "total_heat_w",
    "wall_w_per_sqft_degf",
]

Mounting: TypeAlias = Literal["wall", "free-standing"]
WallMaterial: TypeAlias = Literal["painted steel", "stainless steel", "plastic"]

DRIVE_EFFICIENCY = 0.97
"""Common practice where the maker states no loss: output over input of a drive at full load. [-]"""
SUPPLY_EFFICIENCY = 0.85
"""Common practice where the maker states no loss: output over input of a small DC supply. [-]"""

# Heat through a wall of still air on both sides, painted steel 5.5, stainless 3.6 to 3.7 (bright metal radiates
# little), plastic 3.5; two printed tables agree on 5.5, the smaller figure is taken where they differ. [W/(m2 K)]
_WALL_W_PER_M2_K: dict[str, float] = {"painted steel": 5.5, "stainless steel": 3.6, "plastic": 3.5}
# Share with which a side cools, IEC TR 60890: exposed top 1.4, exposed front, side or back 0.9, back on a wall 0.5;
# the bottom does not count. [-]
_TOP, _FREE_SIDE, _BACK_ON_WALL = 1.4, 0.9, 0.5
_SURFACE = Citation("IEC TR 60890", "", "surface factors", "read in public restatements, the formula as they give it")
_WALL = practice("heat through enclosure walls", "still air inside and outside; no fan, no sun")
_SQFT_PER_M2 = 1.0 / 0.3048**2
# Air at 68 degF and sea level: 1.204 kg/m3 and 1006 J/(kg K). [W/(cfm degF)]
_AIR_W_PER_CFM_DEGF = 1.204 * 1006.0 * (0.3048**3 / 60.0) / 1.8


@dataclass(frozen=True, slots=True)
class HeatLoad:
    """Something in the enclosure that gets warm.

    Attributes:
        name: What it is, in words.
        heat_w: Loss of each while it works. [W]
        count: How many. [-]
    """

    name: str
    heat_w: float
    count: int = 1


def drive_heat_w(output_w: float, efficiency_ratio: float = DRIVE_EFFICIENCY) -> Reasoned[float]:
    """Heat of a drive at full load.

    Args:
        output_w: Electric power to the motor. [W]
        efficiency_ratio: Output over input. [-]

    Returns:
        Loss. [W]

    Raises:
        SizingError: An efficiency that cannot be.

    Code basis:
        Energy balance; 97 percent is common practice, the maker's figure goes before it.

    Examples:
        >>> round(drive_heat_w(3730.0).value, 1)
        115.4
    """
    return _loss("drive", output_w, efficiency_ratio)


def supply_heat_w(output_w: float, efficiency_ratio: float = SUPPLY_EFFICIENCY) -> Reasoned[float]:
    """Heat of a DC supply or a control transformer under its load.

    Args:
        output_w: What it gives. [W]
        efficiency_ratio: Output over input. [-]

    Returns:
        Loss. [W]

    Raises:
        SizingError: An efficiency that cannot be.

    Code basis:
        Energy balance; 85 percent is common practice, the maker's figure goes before it.
    """
    return _loss("supply", output_w, efficiency_ratio)


def total_heat_w(loads: Sequence[HeatLoad]) -> Reasoned[float]:
    """Heat of everything in an enclosure at once.

    Args:
        loads: Drives, supplies, controllers, coils.

    Returns:
        Sum. [W]

    Raises:
        SizingError: A loss or a count below zero.

    Code basis:
        Energy balance.
    """
    r = Reasoning()
    parts = []
    for load in sorted(loads, key=lambda one: (one.name, one.heat_w)):
        need_not_negative(f"{load.name}: heat_w", load.heat_w, "W")
        if load.count < 0:
            raise SizingError(f"{load.name}: count={load.count}: zero or more")
        parts.append(load.count * load.heat_w)
        r.step(f"{load.count} x {load.name}, {load.heat_w:g} W", parts[-1], "W")
    total = math.fsum(parts)
    r.step("heat in the enclosure, everything at work", total, "W", practice("sum of the losses"))
    return r.done(total, "W")


def cooling_surface_sqft(
    width_inch: float, height_inch: float, depth_inch: float, mounting: Mounting = "wall"
) -> Reasoned[float]:
    """Effective cooling surface of one enclosure.

    Args:
        width_inch: Outside. [in]
        height_inch: Outside. [in]
        depth_inch: Outside. [in]
        mounting: ``wall``: its back on a wall; ``free-standing``: air on all four sides.

    Returns:
        Surface: top 1.4, free sides 0.9, back on a wall 0.5, bottom nothing. [sq ft]

    Raises:
        SizingError: A side that cannot be, or another mounting.

    Code basis:
        IEC TR 60890, surface factors.

    Leaves out:
        Neighbours that touch it, and parts that block a wall from the inside.

    Examples:
        >>> round(cooling_surface_sqft(36, 48, 16).value, 1)
        32.0
    """
    r = Reasoning()
    need_choice("mounting", mounting, ("wall", "free-standing"))
    for name, value in (("width_inch", width_inch), ("height_inch", height_inch), ("depth_inch", depth_inch)):
        need_above_zero(name, value, "in")
    back = _BACK_ON_WALL if mounting == "wall" else _FREE_SIDE
    top = _TOP * width_inch * depth_inch
    front_back = (_FREE_SIDE + back) * width_inch * height_inch
    sides = 2.0 * _FREE_SIDE * depth_inch * height_inch
    value = (top + front_back + sides) / 144.0
    r.step(
        f"{mounting}: ({_TOP:g} x {width_inch:g} x {depth_inch:g} + {_FREE_SIDE + back:g} x {width_inch:g} x "
        f"{height_inch:g} + {2.0 * _FREE_SIDE:g} x {depth_inch:g} x {height_inch:g}) in2 / 144",
        value,
        "sq ft",
        _SURFACE,
    )
    return r.done(value, "sq ft")


def wall_w_per_sqft_degf(wall: WallMaterial = "painted steel") -> Reasoned[float]:
    """Heat that a square foot of wall passes for each degree between inside and outside.

    Args:
        wall: What it is made of.

    Returns:
        Heat transmission. [W/(sq ft degF)]

    Raises:
        SizingError: Another material.

    Code basis:
        Common practice: 5.5 W/(m2 K) for painted steel.
    """
    r = Reasoning()
    need_choice("wall", wall, tuple(_WALL_W_PER_M2_K))
    metric = _WALL_W_PER_M2_K[wall]
    value = metric / _SQFT_PER_M2 / 1.8
    r.step(f"{wall}: {metric:g} W/(m2 K)", value, "W/(sq ft degF)", _WALL)
    return r.done(value, "W/(sq ft degF)")


def inside_degf(
    heat: Reasoned[float] | float,
    surface: Reasoned[float] | float,
    ambient_degf: float,
    wall: WallMaterial = "painted steel",
) -> Reasoned[float]:
    """Temperature that the air in a closed enclosure settles at.

    Args:
        heat: From ``total_heat_w``. [W]
        surface: From ``cooling_surface_sqft``. [sq ft]
        ambient_degf: Around it. [degF]
        wall: What it is made of.

    Returns:
        Temperature. [degF]

    Raises:
        SizingError: A heat, surface or temperature that cannot be.

    Code basis:
        Heat balance: heat = transmission x surface x rise.

    Leaves out:
        The warmer air at the top of a tall enclosure, sun, and altitude (thin air cools less).

    Examples:
        >>> round(inside_degf(120.0, 16.0, 86.0).value, 1)
        112.4
    """
    r = Reasoning()
    heat_w, area_sqft = _taken(r, heat), _taken(r, surface)
    need_not_negative("heat", heat_w, "W")
    need_above_zero("surface", area_sqft, "sq ft")
    _need_temperature("ambient_degf", ambient_degf)
    per_degf = r.take(wall_w_per_sqft_degf(wall))
    rise = heat_w / (per_degf * area_sqft)
    r.step(f"rise: {shown(heat_w, 'W')} / ({per_degf:.4g} W/(sq ft degF) x {area_sqft:.4g} sq ft)", rise, "degF", _WALL)
    value = ambient_degf + rise
    r.step(f"inside: {ambient_degf:g} degF around it + {rise:.4g} degF", value, "degF")
    return r.done(value, "degF")


def max_heat_w(
    surface: Reasoned[float] | float,
    ambient_degf: float,
    max_inside_degf: float,
    wall: WallMaterial = "painted steel",
) -> Reasoned[float]:
    """Heat that the walls carry off before it gets too warm inside.

    Args:
        surface: From ``cooling_surface_sqft``. [sq ft]
        ambient_degf: Around it. [degF]
        max_inside_degf: Lowest limit of any part in it. [degF]
        wall: What it is made of.

    Returns:
        Heat. [W]

    Raises:
        SizingError: The ambient is not below the limit; the message names the ways out.

    Code basis:
        See ``inside_degf``.
    """
    r = Reasoning()
    area_sqft = _taken(r, surface)
    need_above_zero("surface", area_sqft, "sq ft")
    _need_temperature("ambient_degf", ambient_degf)
    _need_temperature("max_inside_degf", max_inside_degf)
    if ambient_degf >= max_inside_degf:
        raise SizingError(
            f"ambient {ambient_degf:g} degF is not below the {max_inside_degf:g} degF its parts take: no closed "
            "enclosure helps; move it to a cooler place, cool it, or use parts for a warmer place"
        )
    per_degf = r.take(wall_w_per_sqft_degf(wall))
    value = per_degf * area_sqft * (max_inside_degf - ambient_degf)
    r.step(
        f"{per_degf:.4g} W/(sq ft degF) x {area_sqft:.4g} sq ft x ({max_inside_degf:g} - {ambient_degf:g}) degF",
        value,
        "W",
        _WALL,
    )
    return r.done(value, "W")


def fan_airflow_cfm(
    heat: Reasoned[float] | float, ambient_degf: float, max_inside_degf: float, *, density_ratio: float = 1.0
) -> Reasoned[float]:
    """Airflow of a filter fan that carries off the heat alone.

    Args:
        heat: From ``total_heat_w``. [W]
        ambient_degf: Air drawn in. [degF]
        max_inside_degf: Lowest limit of any part in it. [degF]
        density_ratio: Air density over that at sea level, see ``tables.air``. [-]

    Returns:
        Airflow; the walls are left out, which is cautious. [cfm]

    Raises:
        SizingError: The air drawn in is not cooler than the limit.

    Code basis:
        Heat balance of an air stream: 1.204 kg/m3 and 1006 J/(kg K) at 68 degF and sea level.

    Leaves out:
        Grease and flour in kitchen air, which clog a filter: a closed enclosure goes before a fan there.

    Examples:
        >>> round(fan_airflow_cfm(300.0, 86.0, 104.0).value)
        52
    """
    r = Reasoning()
    heat_w = _taken(r, heat)
    need_not_negative("heat", heat_w, "W")
    need_above_zero("density_ratio", density_ratio, "-")
    _need_temperature("ambient_degf", ambient_degf)
    _need_temperature("max_inside_degf", max_inside_degf)
    if ambient_degf >= max_inside_degf:
        raise SizingError(
            f"air of {ambient_degf:g} degF does not cool what may get {max_inside_degf:g} degF: "
            "draw cooler air or use a cooling unit"
        )
    rise = max_inside_degf - ambient_degf
    value = heat_w / (_AIR_W_PER_CFM_DEGF * density_ratio * rise)
    r.step(
        f"{shown(heat_w, 'W')} / ({_AIR_W_PER_CFM_DEGF * density_ratio:.4g} W/(cfm degF) x {rise:g} degF)",
        value,
        "cfm",
        practice("heat balance of an air stream"),
    )
    return r.done(value, "cfm")


def _loss(name: str, output_w: float, efficiency_ratio: float) -> Reasoned[float]:
    r = Reasoning()
    need_not_negative("output_w", output_w, "W")
    if not 0.0 < efficiency_ratio <= 1.0:
        raise SizingError(f"efficiency_ratio={efficiency_ratio:g} of a {name}: must be above 0 and at most 1")
    value = output_w * (1.0 / efficiency_ratio - 1.0)
    usual = efficiency_ratio == (DRIVE_EFFICIENCY if name == "drive" else SUPPLY_EFFICIENCY)
    basis = practice(f"usual efficiency of a {name}" if usual else "energy balance", "the maker's figure goes first")
    r.step(f"loss of a {name}: {shown(float(output_w), 'W')} x (1 / {efficiency_ratio:g} - 1)", value, "W", basis)
    return r.done(value, "W")


def _taken(r: Reasoning, given: Reasoned[float] | float) -> float:
    return r.take(given) if isinstance(given, Reasoned) else float(given)


def _need_temperature(name: str, value_degf: float) -> None:
    if not (math.isfinite(value_degf) and value_degf > -459.67):
        raise SizingError(f"{name}={value_degf:g} degF: must be a temperature")
