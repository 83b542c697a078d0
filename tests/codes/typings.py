"""The second typing of the published tables, and how its headings and labels map to the shipped files."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from galleyproof.tables import Cell, Table, load

FOLDER = Path(__file__).parent / "second_typing"


@dataclass(frozen=True)
class Pair:
    """One second typing beside the table it was typed for.

    `keys` and `columns` map second heading -> shipped heading; `relabel` rewrites a second cell by its
    shipped heading; `prepare` turns the typed rows into another shape first; `differences` are the cells
    known to differ, each settled in docs/tables.md: (key, shipped heading, second value).
    """

    second: str
    shipped: str
    keys: dict[str, str]
    columns: dict[str, str]
    relabel: dict[str, Callable[[str], str]] = field(default_factory=dict)
    prepare: Callable[[list[dict[str, str]]], list[dict[str, str]]] = lambda rows: rows
    differences: frozenset[tuple[tuple[str, ...], str, str]] = frozenset()
    rows_only_second: int = 0
    rows_only_shipped: int = 0


@dataclass(frozen=True)
class Comparison:
    """What came out of comparing one pair."""

    cells: int
    differences: frozenset[tuple[tuple[str, ...], str, str]]
    rows_only_second: int
    rows_only_shipped: int


def read(name: str) -> list[dict[str, str]]:
    """The typed rows; the first line of each file is a comment about its origin."""
    first, *lines = (FOLDER / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    assert first.startswith("# origin: second typing"), name
    return list(csv.DictReader(lines))


def text(cell: Cell) -> str:
    return "" if cell is None else f"{cell:g}" if isinstance(cell, float) else cell


def same(table: Table, heading: str, shipped: str, second: str) -> bool:
    if shipped == "" or second == "" or table.column(heading).kind != "number":
        return shipped == second
    return float(shipped) == float(second)


def compare(pair: Pair) -> Comparison:
    """Every cell that both typings hold."""
    table = load(pair.shipped)
    shipped = {tuple(text(r.cell(h)) for h in pair.keys.values()): r for r in table.all_rows()}
    assert len(shipped) == len(table.rows), f"{pair.second}: keys do not tell the shipped rows apart"

    def cell(row: dict[str, str], heading: str, to: str) -> str:
        value = pair.relabel.get(to, str)(row[heading])
        return text(float(value)) if value and table.column(to).kind == "number" else value

    cells, differing, seen, extra = 0, set(), set(), 0
    for row in pair.prepare(read(pair.second)):
        key = tuple(cell(row, heading, to) for heading, to in pair.keys.items())
        if key not in shipped:
            extra += 1
            continue
        assert key not in seen, f"{pair.second}: {key} is typed twice"
        seen.add(key)
        for heading, to in pair.columns.items():
            cells += 1
            value = cell(row, heading, to)
            if not same(table, to, text(shipped[key].cell(to)), value):
                differing.add((key, to, value))
    return Comparison(cells, frozenset(differing), extra, len(shipped) - len(seen))


def _choose(choices: dict[str, str]) -> Callable[[str], str]:
    return lambda value: choices[value]


def _same_names(*names: str) -> dict[str, str]:
    return {n: n for n in names}


def _annex_c(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    return [
        {
            "raceway": r["raceway"],
            "trade_size": h.removeprefix("ts_"),
            "size": r["size_awg_kcmil"],
            "count": r[h],
        }
        for r in rows
        for h in r
        if h.startswith("ts_")
    ]


def _class_2(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    """Split `5.0*V`, `100/V` and plain numbers into the shipped columns."""
    out = []
    for r in rows:
        new = {k: r[k] for k in ("supply", "source_kind", "class", "vmax_over", "vmax_to", "va_max")}
        for heading in ("i_max_a", "max_ocpd_a", "nameplate_va", "nameplate_a"):
            value = r[heading]
            over, times = re.fullmatch(r"([\d.]+)/V", value), re.fullmatch(r"([\d.]+)\*V", value)
            new[heading] = "" if over or times else value
            new[f"{heading}_over"] = over[1] if over else ""
            new[f"{heading}_times"] = times[1] if times else ""
        out.append(new)
    return out


def _ratings(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    return [
        {
            **r,
            "breaker_2020": "yes" if r["inverse_time_breaker"] == "yes" else "no",
            "breaker_2023": "no" if r["inverse_time_breaker"] == "no" else "yes",
        }
        for r in rows
    ]


_DUTY_ALIASES: dict[str, tuple[tuple[str, str], ...]] = {
    "oven": (("standard_oven", "any"),),
    "convection oven": (("convection_oven", "any"),),
    "combination oven": (("combination_oven", "any"),),
    "deck or pastry oven": (("deck_oven", "any"),),
    "countertop conveyor oven": (("countertop_conveyor_oven", "any"),),
    "rotary or revolving oven": (),
    "steam-jacketed kettle": (("steam_jacketed_kettle", "any"),),
    "pasta cooker": (("pasta_cooker", "any"),),
    "compartment steamer": (("compartment_steamer", "any"),),
    "cheesemelter": (("cheesemelter", "any"),),
    "rethermalizer": (("rethermalizer", "any"),),
    "discrete element range": (("discrete_element_range", "electric"),),
    "hot-top range": (("hot_top_range", "any"),),
    "griddle": (("griddle", "any"),),
    "double-sided griddle": (("double_sided_griddle", "any"),),
    "open deep-fat fryer": (("open_fryer", "any"),),
    "pressure fryer": (("pressure_fryer", "any"),),
    "conveyor pizza oven": (("conveyor_oven", "any"),),
    "tilting skillet": (("tilting_skillet", "any"),),
    "rotisserie": (("rotisserie", "any"),),
    "underfired broiler": (("underfired_broiler", "gas"), ("underfired_broiler", "electric")),
    "open-burner range": (("open_burner_range", "gas"),),
    "chain broiler": (("chain_broiler", "gas"), ("chain_broiler", "electric")),
    "wok range": (("wok_range", "gas"), ("wok_range", "electric")),
    "upright broiler": (("overfired_broiler", "gas"), ("overfired_broiler", "electric")),
    "salamander": (("salamander", "any"),),
    "solid fuel": (("solid_fuel_appliance", "solid"),),
    "dishwasher": (("dishwasher", "any"),),
}


def _duties(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    return [
        {"scheme": "imc", "appliance": appliance, "fuel": fuel, "duty": r["duty"]}
        for r in rows
        for appliance, fuel in _DUTY_ALIASES[r["appliance"]]
    ]


def _hood_type(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    """The second typing holds Type I rows and one Type II row; the other Type II rows repeat light duty."""
    out = []
    for r in rows:
        if r["duty"] == "dishwashing":
            out.append({"type": "II", "style": "any", "duty": "dishwasher", "rate": r["cfm_per_ft"]})
            continue
        new = {"type": "I", "style": r["hood_style"], "duty": r["duty"], "rate": r["cfm_per_ft"]}
        out += [new, {**new, "type": "II"}] if r["duty"] == "light" else [new]
    return out


_STYLES = {
    "wall canopy": "wall_canopy",
    "single island canopy": "single_island_canopy",
    "double island canopy per side": "double_island_canopy_per_side",
    "backshelf/pass-over": "back_shelf_pass_over",
    "eyebrow": "eyebrow",
    "any": "any",
}
_FLC = ("flc_115v_a", "flc_200v_a", "flc_208v_a", "flc_230v_a", "flc_460v_a", "flc_575v_a")
_AMPACITY = ("cu_60c_a", "cu_75c_a", "cu_90c_a", "al_60c_a", "al_75c_a", "al_90c_a")
_TABLE_9_R = ("r_cu_pvc", "r_cu_al_conduit", "r_cu_steel", "r_al_pvc", "r_al_al_conduit", "r_al_steel")


def _table_9_heading(second: str) -> str:
    return second.replace("_al_conduit", "_aluminum") + "_ohm_per_kft"


def _not_allowed(value: str) -> str:
    return "" if value == "x" else value


PAIRS: tuple[Pair, ...] = (
    Pair("nfpa70_2023_table_430_248", "nfpa70_2023_table_430_248", {"hp": "hp"}, _same_names(*_FLC[:4])),
    Pair("nfpa70_2023_table_430_250", "nfpa70_2023_table_430_250", {"hp": "hp"}, _same_names(*_FLC)),
    Pair(
        "nfpa70_2023_table_430_52_c_1",
        "nfpa70_2023_table_430_52_c_1",
        {"motor_type": "motor_kind"},
        {
            "nontime_delay_fuse_pct": "nontime_delay_fuse_pct",
            "dual_element_time_delay_fuse_pct": "time_delay_fuse_pct",
            "instantaneous_trip_breaker_pct": "instantaneous_trip_breaker_pct",
            "inverse_time_breaker_pct": "inverse_time_breaker_pct",
        },
        {
            "motor_kind": _choose(
                {
                    "single-phase": "single_phase",
                    "ac polyphase other than wound-rotor": "ac_polyphase_other_than_wound_rotor",
                    "squirrel cage other than Design B energy-efficient": (
                        "squirrel_cage_other_than_design_B_energy_efficient_or_premium"
                    ),
                    "Design B energy-efficient and premium": "design_B_energy_efficient_or_premium",
                    "synchronous": "synchronous",
                    "wound-rotor": "wound_rotor",
                    "dc constant voltage": "dc_constant_voltage",
                }
            )
        },
    ),
    Pair(
        "nfpa70_2023_430_52_c_1_exception",
        "nfpa70_2023_430_52_c_3",
        {"device": "device", "condition": "case"},
        {"max_percent_of_flc": "max_pct"},
        {
            "device": _choose(
                {
                    "nontime-delay fuse": "nontime_delay_fuse",
                    "dual-element time-delay fuse": "time_delay_fuse",
                    "inverse time breaker": "inverse_time_breaker",
                    "fuse 601-6000 A class": "fuse_601_to_6000_a",
                    "instantaneous trip breaker": "instantaneous_trip_breaker",
                }
            ),
            "case": _choose(
                {
                    "not exceeding 600 A": "rating_to_600_a",
                    "": "any",
                    "FLC 100 A or less": "flc_to_100_a",
                    "FLC over 100 A": "flc_over_100_a",
                    "other than Design B energy-efficient": "other_than_design_b_energy_efficient",
                    "Design B energy-efficient": "design_b_energy_efficient_or_premium",
                }
            ),
        },
    ),
    Pair(
        "nfpa70_2023_430_32",
        "nfpa70_2023_430_32",
        {"rule": "rule", "condition": "case"},
        {"percent": "max_pct"},
        {
            "case": _choose(
                {
                    "service factor 1.15 or more": "service_factor_1_15_or_more",
                    "temperature rise 40 C or less": "rise_40_degc_or_less",
                    "all others": "other",
                    "FLC up to 9 A": "flc_to_9_a",
                    "FLC 9.1 to 20 A": "flc_to_20_a",
                    "FLC over 20 A": "flc_over_20_a",
                }
            )
        },
    ),
    Pair(
        "nfpa70_2023_240_6_a",
        "nfpa70_2023_240_6_a",
        {"rating_a": "rating_a"},
        _same_names("breaker_2020", "breaker_2023", "fuse"),
        prepare=_ratings,
    ),
    Pair(
        "nfpa70_2023_240_4_d",
        "nfpa70_2023_240_4_d",
        _same_names("size_awg", "material"),
        _same_names("max_ocpd_a"),
        {"material": lambda value: value.replace("/", "_")},
    ),
    Pair(
        "nfpa70_2023_table_402_5",
        "nfpa70_2023_table_402_5",
        _same_names("size_awg"),
        _same_names("ampacity_a"),
    ),
    Pair(
        "nfpa70_2023_table_250_122",
        "nfpa70_2023_table_250_122",
        {"ocpd_not_exceeding_a": "ocpd_to_a"},
        {"cu_awg_kcmil": "cu_size", "al_awg_kcmil": "al_size"},
    ),
    Pair(
        "nfpa70_2023_table_450_3_b",
        "nfpa70_2023_table_450_3_b",
        {"protection_method": "method", "winding": "winding", "rated_current_from_a": "rated_from_a"},
        {"rated_current_below_a": "rated_below_a", "max_percent": "max_pct", "rounding": "next_up"},
        {
            "method": lambda value: value.replace(" ", "_"),
            "next_up": lambda value: "yes" if value == "next_up" else "no",
        },
        rows_only_shipped=1,  # the motor control circuit row of 430.72(C)(4)
    ),
    Pair(
        "nfpa70_2023_table_430_72_b",
        "nfpa70_2023_table_430_72_b",
        _same_names("size_awg"),
        {"col_A_a": "separate_a", "col_B_a": "tapped_inside_a", "col_C_a": "tapped_leaving_a"},
        differences=frozenset(
            {(("14",), "separate_a", "15"), (("12",), "separate_a", "20"), (("10",), "separate_a", "30")}
        ),
    ),
    Pair(
        "nfpa70_2023_table_310_16",
        "nfpa70_2023_table_310_16",
        {"size_awg_kcmil": "size"},
        _same_names(*_AMPACITY),
    ),
    Pair(
        "nfpa70_2023_table_310_15_b_1_1",
        "nfpa70_2023_table_310_15_b_1_1",
        {"ambient_to_c": "ambient_to_degc"},
        {"ambient_from_c": "ambient_from_degc", **_same_names("factor_60c", "factor_75c", "factor_90c")},
    ),
    Pair(
        "nfpa70_2023_table_310_15_c_1",
        "nfpa70_2023_table_310_15_c_1",
        _same_names("conductors_from"),
        _same_names("conductors_to", "percent"),
        rows_only_shipped=1,  # 1 to 3 conductors at 100 percent is the table's heading, not a printed row
    ),
    Pair(
        "nfpa70_2023_ch9_table_1",
        "nfpa70_2023_ch9_table_1",
        _same_names("conductors"),
        {"max_fill_percent": "max_fill_pct"},
        {"conductors": lambda v: {"over 2": "over_2", "nipple 24 in or less": "nipple"}.get(v, v)},
    ),
    Pair(
        "nfpa70_2023_ch9_table_4",
        "nfpa70_2023_ch9_table_4",
        _same_names("raceway", "trade_size"),
        {
            "internal_dia_in": "inside_diameter_inch",
            "area_100_in2": "area_sqin",
            "area_60_in2": "area_60_sqin",
            "area_53_one_wire_in2": "area_53_sqin",
            "area_31_two_wires_in2": "area_31_sqin",
            "area_40_over_two_in2": "area_40_sqin",
        },
        rows_only_second=22,  # 3/8 and the trade sizes above 2 are not shipped
    ),
    Pair(
        "nfpa70_2023_ch9_table_5",
        "nfpa70_2023_ch9_table_5",
        {"type": "insulation", "size_awg_kcmil": "size"},
        {"approx_dia_in": "diameter_inch", "approx_area_in2": "area_sqin", "approx_area_mm2": "area_mm2"},
        {"insulation": lambda v: "TFFN" if v == "TFN/TFFN" else v},
    ),
    Pair(
        "nfpa70_2023_ch9_table_8",
        "nfpa70_2023_ch9_table_8",
        {"size_awg_kcmil": "size", "strands": "strands"},
        {
            "circular_mils": "circular_mils",
            "area_mm2": "area_mm2",
            "strand_dia_in": "strand_diameter_inch",
            "overall_dia_in": "overall_diameter_inch",
            "overall_area_in2": "overall_area_sqin",
            **_same_names("r_cu_uncoated_ohm_per_kft", "r_cu_coated_ohm_per_kft", "r_al_ohm_per_kft"),
        },
    ),
    Pair(
        "nfpa70_2023_ch9_table_9",
        "nfpa70_2023_ch9_table_9",
        {"size_awg_kcmil": "size"},
        {
            "xl_pvc_al": "x_nonmagnetic_ohm_per_kft",
            "xl_steel": "x_steel_ohm_per_kft",
            **{h: _table_9_heading(h) for h in _TABLE_9_R},
            **{h: _table_9_heading(h) for h in (f"z085{r[1:]}" for r in _TABLE_9_R)},
        },
    ),
    Pair(
        "nfpa70_2023_annex_c_thhn",
        "nfpa70_2023_annex_c_thhn",
        _same_names("raceway", "trade_size", "size"),
        {"count": "max_count"},
        prepare=_annex_c,
        differences=frozenset(
            {
                (("EMT", "1-1/4", "6"), "max_count", "12"),
                (("LFMC", "2", "14"), "max_count", "133"),
                (("FMC", "1", "8"), "max_count", "8"),
                (("FMC", "1", "350"), "max_count", "0"),
                (("FMC", "2", "300"), "max_count", "2"),
            }
        ),
    ),
    Pair(
        "nfpa70_2023_table_110_26_a_1",
        "nfpa70_2023_table_110_26_a_1",
        _same_names("v_to_ground_from", "v_to_ground_to"),
        {f"cond{i}_{u}": f"condition_{i}_{u}" for i in (1, 2, 3) for u in ("ft", "m")},
    ),
    Pair(
        "nfpa70_2023_table_110_28",
        "nfpa70_2023_table_110_28",
        _same_names("location", "condition"),
        _same_names("types"),
        {
            "condition": _choose(
                {
                    "incidental contact": "contact",
                    "rain snow and sleet": "rain",
                    "sleet (mechanism operable)": "sleet_operable",
                    "windblown dust": "windblown_dust",
                    "hosedown": "hosedown",
                    "corrosive agents": "corrosion",
                    "temporary submersion": "temporary_submersion",
                    "prolonged submersion": "prolonged_submersion",
                    "falling dirt": "falling_dirt",
                    "falling liquids and light splashing": "light_splashing",
                    "circulating dust lint fibers flyings": "circulating_dust",
                    "settling dust lint fibers flyings": "settling_dust",
                    "hosedown and splashing water": "hosedown",
                    "oil and coolant seepage": "oil_seepage",
                    "oil or coolant spraying": "oil_spray",
                }
            )
        },
    ),
    Pair(
        "nfpa70_2023_ch9_table_11",
        "nfpa70_2023_ch9_table_11",
        {
            "supply": "supply",
            "source_kind": "source",
            "class": "circuit_class",
            "vmax_over": "v_over",
            "vmax_to": "v_to",
        },
        {
            "va_max": "max_va",
            "i_max_a": "max_a",
            "i_max_a_over": "max_a_times_v",
            "max_ocpd_a": "max_ocpd_a",
            "max_ocpd_a_over": "max_ocpd_a_times_v",
            "nameplate_va": "nameplate_va",
            "nameplate_va_times": "nameplate_va_per_v",
            "nameplate_a": "nameplate_a",
            "nameplate_a_over": "nameplate_a_times_v",
        },
        {"source": lambda v: v.removesuffix(" limited").replace(" ", "_")},
        prepare=_class_2,
    ),
    Pair(
        "iec60228_2004_tables_1_2",
        "iec60228_2004_tables_1_2",
        _same_names("area_mm2"),
        {
            "cu_plain_ohm_per_km": "cu_plain_ohm_per_km",
            "cu_metal_coated_ohm_per_km": "cu_coated_ohm_per_km",
            "al_ohm_per_km": "al_ohm_per_km",
        },
        rows_only_second=6,  # 25 mm2 to 120 mm2 are not shipped
    ),
    Pair(
        "iec60751_2022_pt100",
        "iec60751_2022_pt100",
        {"t_c": "t_degc"},
        {"pt100_ohm_printed": "pt100_ohm_printed"},
        differences=frozenset({(("25",), "pt100_ohm_printed", "109.73")}),
        rows_only_second=17,
        rows_only_shipped=4,  # -200, -100, 500 and 600 degC
    ),
    Pair(
        "imc_2021_507_5",
        "imc_2021_507_exhaust_rates",
        {"type": "hood_type", "style": "style", "duty": "duty"},
        {"rate": "min_cfm_per_ft"},
        {
            "style": _choose(_STYLES),
            "duty": lambda v: v.replace("-", "_"),
            "min_cfm_per_ft": _not_allowed,
        },
        prepare=_hood_type,
    ),
    Pair(
        "ashrae90_1_2019_table_6_5_7_2_2",
        "ashrae90_1_2019_table_6_5_7_2_2",
        {"hood_style": "style", "duty": "duty"},
        {"cfm_per_ft": "max_cfm_per_ft"},
        {
            "style": _choose(_STYLES),
            "duty": lambda v: v.replace("-", "_"),
            "max_cfm_per_ft": _not_allowed,
        },
    ),
    Pair(
        "imc_2021_duty_classes",
        "imc_2021_202_duty_classes",
        _same_names("scheme", "appliance", "fuel"),
        _same_names("duty"),
        {"duty": lambda v: "type_ii_only" if v == "type II" else v.replace("-", "_")},
        prepare=_duties,
        rows_only_shipped=13,  # two fryers more, and the eleven rows of the EN quick method
    ),
    Pair(
        "common_air_density_ratio",
        "common_practice_air_density_altitude",
        _same_names("altitude_ft"),
        {"ratio": "density_ratio_printed"},
        rows_only_shipped=2,
    ),
    Pair(
        "vdi2052_2017_factors",
        "en16282_1_2017_method",
        {"factor": "key"},
        _same_names("value"),
        {
            "key": lambda v: {
                "plume_coefficient_m43_w13_h": "plume_constant",
                "height_offset_times_dhyd": "height_offset_per_hydraulic_diameter",
                "reduction_free": "arrangement_free",
                "reduction_wall": "arrangement_wall",
            }.get(v, v)
        },
        rows_only_second=3,  # two exponents and a corner factor
        rows_only_shipped=20,
    ),
)
