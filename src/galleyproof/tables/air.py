"""Air-side tables: hood rates, duty classes, density, fan laws, duct roughness, rules of the codes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from galleyproof.findings import Citation, Cited
from galleyproof.tables.reader import Row, TableError, load

__all__ = [
    "RULE_TABLES",
    "Rule",
    "density_ratio",
    "duct_roughness_ft",
    "duty_class",
    "en16282_number",
    "fan_constant",
    "fan_law_exponent",
    "listed_hood_max_cfm_per_ft",
    "rule",
    "unlisted_hood_min_cfm_per_ft",
]

RULE_TABLES: tuple[str, ...] = (
    "imc_2021_507_hood_rules",
    "imc_mixed_506_508_rules",
    "energy_codes_mixed_kitchen_rules",
    "nfpa96_mixed_fire_sequence",
)
"""Tables with one rule per row, for ``rule``."""

EN_QUICK = Citation("EN 16282-1", "2017", "quick method", "seen second-hand, in one restatement")
"""The table of duty classes is the mechanical code's; its rows of the other scheme rest on this."""


def _allowed(row: Row, column: str) -> Cited[float]:
    value = row.number_or_none(column)
    if value is None:
        raise TableError(f"{row.citation()} does not allow {row.key}")
    return Cited(value, (row.citation(column),))


@cache
def unlisted_hood_min_cfm_per_ft(hood_type: str, style: str, duty: str) -> Cited[float]:
    """Least net exhaust of a hood without a listing, per foot of front edge.

    Args:
        hood_type: ``I`` or ``II``.
        style: ``wall_canopy``, ``single_island_canopy``, ``double_island_canopy_per_side``,
            ``back_shelf_pass_over`` or ``eyebrow``; ``any`` for Type II dishwashers.
        duty: ``light``, ``medium``, ``heavy``, ``extra_heavy`` or ``dishwasher``: the heaviest below.

    Returns:
        Rate; double islands per side. [cfm/ft]

    Raises:
        TableError: No such row, or the style is not allowed for the duty.

    Code basis:
        IMC-2021, 507.2.10 and 507.3.4.

    Examples:
        >>> unlisted_hood_min_cfm_per_ft("I", "wall_canopy", "heavy").value
        400.0
    """
    row = load("imc_2021_507_exhaust_rates").exact(hood_type=hood_type, style=style, duty=duty)
    return _allowed(row, "min_cfm_per_ft")


@cache
def listed_hood_max_cfm_per_ft(style: str, duty: str) -> Cited[float]:
    """Most net exhaust of a listed Type I hood in a large facility, per foot of front edge.

    Args:
        style: As for ``unlisted_hood_min_cfm_per_ft``.
        duty: ``light``, ``medium``, ``heavy`` or ``extra_heavy``.

    Returns:
        Cap. [cfm/ft]

    Raises:
        TableError: No such row, or the style is not allowed for the duty.

    Code basis:
        ASHRAE 90.1-2019, Table 6.5.7.2.2. Whether it applies depends on the
        adopted code's threshold: see ``rule``.
    """
    row = load("ashrae90_1_2019_table_6_5_7_2_2").exact(style=style, duty=duty)
    return _allowed(row, "max_cfm_per_ft")


@cache
def duty_class(appliance: str, fuel: str, scheme: str = "imc") -> Cited[str]:
    """Duty class of an appliance.

    Args:
        appliance: Label of the table: ``open_burner_range``, ``griddle`` ...
        fuel: ``gas``, ``electric``, ``solid``; rows for ``any`` fuel serve each of them.
        scheme: ``imc`` or ``en16282_quick``.

    Returns:
        ``light``, ``medium``, ``heavy``, ``extra_heavy`` or ``type_ii_only``.

    Raises:
        TableError: No such appliance.

    Code basis:
        IMC-2021, chapter 2 definitions, mostly from memory; EN 16282-1 quick method.
    """
    table = load("imc_2021_202_duty_classes")
    rows = table.all_rows(scheme=scheme, appliance=appliance, fuel="any")
    row = rows[0] if rows else table.exact(scheme=scheme, appliance=appliance, fuel=fuel)
    if scheme == "en16282_quick":
        return Cited(row.label("duty"), (EN_QUICK,))
    return row.cited_label("duty")


def density_ratio(altitude_ft: float, air_degf: float) -> Cited[float]:
    """Air density over that of 70 degF air at sea level, straight lines between the rows.

    Args:
        altitude_ft: 0 to 10,000. [ft]
        air_degf: 70 to 700. [degF]

    Returns:
        Ratio. [-]

    Raises:
        TableError: Outside the table.

    Code basis:
        Common practice: fan-engineering table, computed column.
    """
    table = load("common_practice_air_density_factor")
    altitudes = sorted({row.number("altitude_ft") for row in table.all_rows()})
    if not altitudes[0] <= altitude_ft <= altitudes[-1]:
        raise TableError(
            f"altitude_ft={altitude_ft:g} ft is outside {table.place}, {altitudes[0]:g} to {altitudes[-1]:g} ft"
        )
    low = max(a for a in altitudes if a <= altitude_ft)
    high = min(a for a in altitudes if a >= altitude_ft)
    below = table.interpolate("t_degf", air_degf, "factor_computed", altitude_ft=low)
    above = table.interpolate("t_degf", air_degf, "factor_computed", altitude_ft=high)
    share = 0.0 if high == low else (altitude_ft - low) / (high - low)
    return Cited(below + (above - below) * share, (table.citation("factor_computed"),))


@cache
def duct_roughness_ft(material: str) -> Cited[float]:
    """Absolute roughness of a duct material.

    Args:
        material: ``galvanized_steel``, ``welded_steel``, ``pvc``, ``aluminum``, ``fibrous_liner`` ...

    Returns:
        Roughness. [ft]

    Raises:
        TableError: No such material.
    """
    return load("common_practice_duct_roughness").exact(material=material).cited("roughness_ft")


@cache
def fan_law_exponent(change_of: str, effect_on: str) -> Cited[float]:
    """Exponent of a fan law: effect ratio = change ratio ^ exponent.

    Args:
        change_of: ``speed``, ``flow``, ``pressure``, ``density`` or ``diameter``.
        effect_on: ``flow``, ``pressure``, ``shaft_power`` or ``speed``.

    Returns:
        Exponent. [-]

    Raises:
        TableError: No such law.
    """
    return load("common_practice_fan_laws").exact(change_of=change_of, effect_on=effect_on).cited("exponent")


@cache
def fan_constant(key: str) -> Cited[float]:
    """A constant of the fan formulas.

    Args:
        key: ``air_hp_divisor``, ``kw_per_hp``, ``velocity_pressure_fpm`` or ``velocity_fpm_any_density``.

    Returns:
        Value; the table's ``meaning`` column gives the formula. [see there]

    Raises:
        TableError: No such key.
    """
    return load("common_practice_fan_constants").exact(key=key).cited("value")


@cache
def en16282_number(key: str) -> Cited[float]:
    """A number of the EN 16282-1 method.

    Args:
        key: ``plume_constant``, ``convective_share``, ``arrangement_wall``, ``spill_mixed_plane`` ...

    Returns:
        Value. [unit column of the table]

    Raises:
        TableError: No such key.
    """
    return load("en16282_1_2017_method").exact(key=key).cited("value")


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule of a code.

    Attributes:
        key: Name of the rule.
        value: Its number; None for a rule without one. [unit]
        value_to: Upper end where the source gives a range. [unit]
        unit: Unit of both.
        meaning: The rule in our words.
    """

    key: str
    value: float | None
    value_to: float | None
    unit: str
    meaning: str


@cache
def rule(table_name: str, key: str, standard: str = "") -> Cited[Rule]:
    """One rule by its key.

    Args:
        table_name: One of ``RULE_TABLES``.
        key: Name of the rule.
        standard: Needed where several codes set the same rule: ``ASHRAE 90.1``, ``California Title 24`` ...

    Returns:
        The rule; its citation says when it is from memory.

    Raises:
        TableError: No such rule, or several standards set it and none was named.

    Examples:
        >>> rule("imc_mixed_506_508_rules", "duct_velocity_min_fpm", "IMC").value.value
        500.0
    """
    if table_name not in RULE_TABLES:
        raise TableError(f"{table_name!r} holds no rules; tables: {', '.join(RULE_TABLES)}")
    table = load(table_name)
    rows = table.all_rows(key=key)
    if not standard and len(rows) > 1:
        named = ", ".join(r.label("standard") for r in rows)
        raise TableError(f"key={key} of {table_name} is set by several standards; name one: {named}")
    row = table.exact(key=key, standard=standard) if standard else table.exact(key=key)
    found = Rule(
        key=key,
        value=row.number_or_none("value"),
        value_to=row.number_or_none("value_to"),
        unit=row.label("unit"),
        meaning=row.label("meaning"),
    )
    return Cited(found, (row.citation("value"),))
