"""How much a hood must exhaust, how much it may, and what its listing says.

Three different rules that are often taken for one: the mechanical code's minimum for a hood without a listing,
the rate of a listing, and the energy code's ceiling for listed hoods in a large facility.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal, TypeAlias

from galleyproof.air.steps import AirError, Reasoned, Reasoning, require
from galleyproof.findings import Citation, Cited
from galleyproof.tables import TableError
from galleyproof.tables import air as tables

__all__ = [
    "DUTIES",
    "Duty",
    "HoodType",
    "Style",
    "appliance_duty",
    "heaviest_duty",
    "listed_exhaust_cfm",
    "max_listed_exhaust_cfm",
    "min_hood_length_ft",
    "min_unlisted_exhaust_cfm",
    "net_exhaust_cfm",
    "overhang_advice",
    "unhooded_room_exhaust_cfm",
]

Style: TypeAlias = Literal["wall canopy", "single island", "double island", "back shelf", "eyebrow", "pass-over"]
Duty: TypeAlias = Literal["light", "medium", "heavy", "extra-heavy", "dishwasher"]
HoodType: TypeAlias = Literal["I", "II"]

DUTIES: tuple[Duty, ...] = ("dishwasher", "light", "medium", "heavy", "extra-heavy")
"""From light to heavy."""

_TABLE_STYLE = {
    "wall canopy": "wall_canopy",
    "single island": "single_island_canopy",
    "double island": "double_island_canopy_per_side",
    "back shelf": "back_shelf_pass_over",
    "pass-over": "back_shelf_pass_over",
    "eyebrow": "eyebrow",
}
_CANOPIES = ("wall canopy", "single island", "double island")

_RULES = "imc_2021_507_hood_rules"


def heaviest_duty(duties: Iterable[Duty]) -> Duty:
    """The duty that governs one hood.

    Args:
        duties: Of every appliance under it, or of both sides of a double island.

    Raises:
        AirError: None, or one that is not a duty.
    """
    found = tuple(duties)
    if not found:
        raise AirError("a hood needs at least one duty; name the duty of the appliances under it")
    for duty in found:
        if duty not in DUTIES:
            raise AirError(f"{duty!r} is not a duty; duties: {', '.join(DUTIES)}")
    return max(found, key=DUTIES.index)


def min_unlisted_exhaust_cfm(
    style: Style, length_ft: float, duties: Sequence[Duty], *, hood_type: HoodType = "I"
) -> Reasoned[float]:
    """Least net exhaust of a hood without a listing.

    Args:
        style: Style of the hood.
        length_ft: Front edge; of one side for a double island, which counts twice. [ft]
        duties: Of every appliance below; the heaviest sets the rate of the whole hood.
        hood_type: ``I`` or ``II``; Type II knows ``light`` and ``dishwasher``.

    Returns:
        Net exhaust. [cfm]

    Raises:
        AirError: A length that is not positive, no duty, or a style the code does not allow for the duty.

    Code basis:
        IMC-2021, 507.2.10 and 507.3.4.
    """
    note = Reasoning()
    rate, sides = _rate(note, "code minimum", style, length_ft, duties, hood_type)
    flow = note.step(_product(rate, length_ft, sides), rate * length_ft * sides, "cfm", _cite("length_basis"))
    return note.done(flow, "cfm")


def max_listed_exhaust_cfm(style: Style, length_ft: float, duties: Sequence[Duty]) -> Reasoned[float]:
    """Most net exhaust the energy code lets a listed Type I hood have in a large facility.

    Whether it applies is the energy code's own threshold: see ``energy.ceiling_applies``.

    Args:
        style: Style of the hood.
        length_ft: Front edge; of one side for a double island, which counts twice. [ft]
        duties: Of every appliance below; the heaviest sets the rate.

    Returns:
        Net exhaust. [cfm]

    Raises:
        AirError: As for ``min_unlisted_exhaust_cfm``.

    Code basis:
        ASHRAE 90.1-2019, Table 6.5.7.2.2.
    """
    note = Reasoning()
    rate, sides = _rate(note, "ceiling", style, length_ft, duties, "I")
    flow = note.step(_product(rate, length_ft, sides), rate * length_ft * sides, "cfm")
    return note.done(flow, "cfm")


def listed_exhaust_cfm(rate_cfm: float) -> Reasoned[float]:
    """The rate of a listing: for a listed hood it stands in place of the code's table.

    Args:
        rate_cfm: Of the whole hood, from its listing sheet. [cfm]
    """
    require("listed rate", rate_cfm, "cfm", above=0.0, cure="take it from the hood's listing sheet")
    note = Reasoning()
    note.step("rate of the hood's listing, in place of the table", rate_cfm, "cfm", _cite("listed_hood"))
    return note.done(rate_cfm, "cfm")


def net_exhaust_cfm(total_cfm: float, supplied_inside_cfm: float, *, max_inside_ratio: float) -> Reasoned[float]:
    """What counts against the code: exhaust less the air blown straight into the hood.

    Args:
        total_cfm: Through the hood's collar. [cfm]
        supplied_inside_cfm: Blown into its cavity. [cfm]
        max_inside_ratio: Largest share of the exhaust the energy code allows inside (0.10 in the codes seen). [-]

    Returns:
        Net exhaust. [cfm]

    Raises:
        AirError: More supplied than exhausted.
    """
    require("exhaust", total_cfm, "cfm", above=0.0)
    require("air supplied inside the hood", supplied_inside_cfm, "cfm", least=0.0, most=total_cfm)
    require("largest share supplied inside", max_inside_ratio, "-", least=0.0, most=1.0, cure="write it as 0 to 1")
    note = Reasoning()
    net = total_cfm - supplied_inside_cfm
    note.step(f"{total_cfm:g} cfm - {supplied_inside_cfm:g} cfm", net, "cfm", _cite("net_rate_basis"))
    share = supplied_inside_cfm / total_cfm
    verdict = "within" if share <= max_inside_ratio else "ABOVE"
    note.step(f"share supplied inside, {verdict} {max_inside_ratio:.0%}", share, "-")
    return note.done(net, "cfm")


def unhooded_room_exhaust_cfm(appliances: int) -> Reasoned[float]:
    """Room exhaust where light appliances stand without a hood.

    Args:
        appliances: How many of them. [-]

    Returns:
        Exhaust of the space. [cfm]
    """
    require("number of appliances", appliances, "-", least=0)
    note = Reasoning()
    rate = note.look_up("room exhaust per area", _number("unhooded_exhaust_cfm_per_sqft"), "cfm/ft2")
    area = note.look_up("area counted for each appliance", _number("unhooded_area_min_sqft"), "ft2")
    flow = note.step(f"{appliances} x {area:g} ft2 x {rate:g} cfm/ft2", appliances * area * rate, "cfm")
    return note.done(flow, "cfm")


def min_hood_length_ft(appliances_ft: float, *, open_ends: int) -> Reasoned[float]:
    """Length of a canopy that overhangs its appliances as the code asks.

    Args:
        appliances_ft: Line of appliances, end to end. [ft]
        open_ends: 0, 1 or 2; an end closed by a wall or a full end panel needs no overhang. [-]

    Returns:
        Inside length. [ft]
    """
    require("appliance line", appliances_ft, "ft", above=0.0)
    if open_ends not in (0, 1, 2):
        raise AirError(f"open ends is {open_ends}; a line of appliances has 0, 1 or 2 of them")
    note = Reasoning()
    overhang = note.look_up("overhang on each open side", _number("canopy_overhang_min_inch"), "in")
    length = appliances_ft + open_ends * overhang / 12.0
    note.step(f"{appliances_ft:g} ft + {open_ends} open ends x {overhang:g} in", length, "ft")
    return note.done(length, "ft")


def overhang_advice(style: Style) -> tuple[str, ...]:
    """What to look at on the hood itself; sentences for the air schedule."""
    if style in _CANOPIES:
        inch = _number("canopy_overhang_min_inch").value
        lip = _number("canopy_lip_height_max_ft").value
        return (
            f"overhang of {inch:g} in on every open side, lip at most {lip:g} ft above the cooking surface "
            f"({_cite('canopy_overhang_min_inch')})",
            "end panels on open ends help more than airflow against cross-draught (common practice)",
        )
    if style == "eyebrow":
        return ("sits on the face of its appliance, above the opening (from memory)",)
    setback = _number("noncanopy_setback_max_ft").value
    height = _number("noncanopy_height_max_ft").value
    return (
        f"edge at most {setback:g} ft behind the appliance front, lip at most {height:g} ft above the cooking surface "
        f"({_cite('noncanopy_setback_max_ft')})",
    )


_KIND_WORDS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("underfired_broiler", ("charbroiler", "chargrill", "under-fired broiler", "underfired broiler")),
    ("chain_broiler", ("chain broiler", "conveyor broiler")),
    ("overfired_broiler", ("over-fired broiler", "overfired broiler", "upright broiler")),
    ("open_burner_range", ("open-burner range", "open burner range")),
    ("wok_range", ("wok",)),
    ("salamander", ("salamander",)),
    ("discrete_element_range", ("discrete-element range", "element range")),
    ("hot_top_range", ("hot-top range", "hot top range", "solid-top range")),
    ("double_sided_griddle", ("double-sided griddle", "clamshell griddle")),
    ("griddle", ("griddle", "plancha")),
    ("doughnut_fryer", ("doughnut fryer",)),
    ("kettle_fryer", ("kettle fryer",)),
    ("pressure_fryer", ("pressure fryer",)),
    ("open_fryer", ("fryer",)),
    ("countertop_conveyor_oven", ("countertop conveyor",)),
    ("conveyor_oven", ("conveyor oven", "pizza oven")),
    ("tilting_skillet", ("tilting skillet", "tilting pan", "tilting frying pan", "braising pan", "bratt pan")),
    ("rotisserie", ("rotisserie",)),
    ("combination_oven", ("combination oven", "combi oven", "combi")),
    ("convection_oven", ("convection oven",)),
    ("deck_oven", ("deck oven", "pastry oven")),
    ("rethermalizer", ("rethermalizer",)),
    ("steam_jacketed_kettle", ("kettle", "boiling pan")),
    ("pasta_cooker", ("pasta cooker",)),
    ("compartment_steamer", ("steamer",)),
    ("cheesemelter", ("cheesemelter",)),
    ("standard_oven", ("oven",)),
    ("dishwasher", ("dishwasher",)),
    ("bain_marie", ("bain-marie", "bain marie")),
    ("stock_pot_stove", ("stock-pot stove", "stock pot stove")),
)
"""What people call an appliance, to the label of the duty table; more particular names come first."""


_EN_LABELS = {
    "steam_jacketed_kettle": "boiling_pan",
    "compartment_steamer": "steaming_oven",
    "hot_top_range": "solid_top_range",
}
"""What the EN quick method calls the same appliance."""


def appliance_duty(kind: str, fuel: str, scheme: Literal["imc", "en16282_quick"] = "imc") -> Reasoned[Duty] | None:
    """Duty class of an appliance as people call it.

    Args:
        kind: ``griddle``, ``fryers``, ``open-burner range`` ...
        fuel: ``gas``, ``electric``, ``solid`` or ``steam``; open flames of solid fuel are always the heaviest.
        scheme: The mechanical code's classes, or those of the EN quick method.

    Returns:
        The duty; None where the name says too little (``range``) or the table has no such row.

    Code basis:
        IMC-2021, chapter 2 definitions, mostly from memory; EN 16282-1 quick method.
    """
    words = kind.lower()
    label = next((label for label, names in _KIND_WORDS if any(n in words for n in names)), None)
    if fuel == "solid":
        label = "solid_fuel_appliance"
    if label is None:
        return None
    if scheme == "en16282_quick":
        label = _EN_LABELS.get(label, label)
    try:
        found = tables.duty_class(label, fuel, scheme)
    except TableError:
        return None
    duty: Duty = _DUTY_OF_TABLE[found.value]
    note = Reasoning()
    note.remark(f"{fuel} {kind}: {duty} duty", *found.basis)
    return note.done(duty, "-")


_DUTY_OF_TABLE: dict[str, Duty] = {
    "light": "light",
    "medium": "medium",
    "heavy": "heavy",
    "extra_heavy": "extra-heavy",
    "type_ii_only": "dishwasher",
}


def _rate(
    note: Reasoning, which: str, style: Style, length_ft: float, duties: Sequence[Duty], hood_type: HoodType
) -> tuple[float, int]:
    """Rate per foot and the number of sides that count."""
    if style not in _TABLE_STYLE:
        raise AirError(f"{style!r} is not a hood style; styles: {', '.join(_TABLE_STYLE)}")
    require("hood length", length_ft, "ft", above=0.0, cure="give the length of the front edge")
    duty = heaviest_duty(duties)
    different = [d for d in DUTIES if d in duties]
    if len(different) > 1:
        note.remark(f"duties {', '.join(different)} under one hood: {duty} governs all of it", _cite("mixed_duty"))
    table_style, table_duty = _TABLE_STYLE[style], duty.replace("-", "_")
    if hood_type == "II" and duty == "dishwasher":
        table_style = "any"
    try:
        if which == "ceiling":
            found = tables.listed_hood_max_cfm_per_ft(table_style, table_duty)
        else:
            found = tables.unlisted_hood_min_cfm_per_ft(hood_type, table_style, table_duty)
    except TableError as reason:
        raise AirError(
            f"a Type {hood_type} {style} hood has no {which} for {duty} duty ({reason}); take another style of hood"
        ) from None
    sides = 2 if style == "double island" else 1
    per_side = ", per side" if sides == 2 else ""
    rate = note.look_up(f"{which}, Type {hood_type} {style}, {duty} duty{per_side}", found, "cfm/ft")
    return rate, sides


def _product(rate: float, length_ft: float, sides: int) -> str:
    return f"{rate:g} cfm/ft x {length_ft:g} ft" + (f" x {sides} sides" if sides > 1 else "")


def _number(key: str) -> Cited[float]:
    rule = tables.rule(_RULES, key)
    assert rule.value.value is not None  # every key used here is a rule with a number
    return Cited(rule.value.value, rule.basis)


def _cite(key: str) -> Citation:
    return tables.rule(_RULES, key).basis[0]
