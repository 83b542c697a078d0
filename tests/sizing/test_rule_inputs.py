"""Bad input to the sizing rules: a clear refusal with the rule, the value and the cure, never a number or a crash.

``GOOD`` holds one sensible call of every public rule. Each of its numbers is replaced in turn by what no circuit
has (not a number, endless, below zero); a rule that answers then has not looked.
"""

from __future__ import annotations

import importlib
import inspect
import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any, get_type_hints

import pytest

from galleyproof.errors import GalleyproofError
from galleyproof.sizing import conductors as c
from galleyproof.sizing import control_power as cp
from galleyproof.sizing import control_wires, drives, enclosure, grounds, lights, neutrals, panel, power, shutdowns
from galleyproof.sizing import motors as m
from galleyproof.sizing import raceways as rw
from galleyproof.sizing import voltage_drop as vd
from galleyproof.sizing.conductors import Surroundings, Wire
from galleyproof.sizing.control_power import CoilLoad
from galleyproof.sizing.enclosure import HeatLoad
from galleyproof.sizing.lights import LightLoad
from galleyproof.sizing.motors import Motor
from galleyproof.sizing.neutrals import CircuitWires
from galleyproof.sizing.raceways import Filling, RacewayCircuit
from galleyproof.sizing.steps import SizingError
from galleyproof.sizing.voltage_drop import Run
from galleyproof.tables.reader import TableError

MODULES = (
    "conductors", "control_power", "control_wires", "drives", "enclosure", "grounds", "lights", "motors", "neutrals",
    "panel", "power", "raceways", "shutdowns", "voltage_drop",
)  # fmt: skip
MOTOR = Motor(5.0, 208.0, 3, nameplate_a=14.0, service_factor=1.15)
RUN = Run(80.0, 10.0, 120.0)
CIRCUIT = RacewayCircuit("EF-1", 20.0, CircuitWires(3), 75, 40.0, True)
EGC = grounds.egc_size(20.0, "12")

GOOD: dict[Callable[..., Any], dict[str, Any]] = {
    c.adjusted_ampacity_a: {"size": "12"},
    c.conductor_size: {"min_a": 20.0, "terminal_degc": 75, "load_a": 16.0, "ocpd_a": 20.0},
    c.continuous_min_a: {"continuous_a": 10.0, "noncontinuous_a": 2.0},
    c.insulation_degc: {"wire": Wire()},
    c.min_branch_size: {},
    c.ocpd_for_load_a: {"min_a": 18.0},
    c.ocpd_max_for_ampacity_a: {"ampacity_a": 65.0},
    c.ocpd_max_for_conductor_a: {"size": "6", "terminal_degc": 75},
    c.rooftop_ambient_degc: {"outdoor_degc": 40.0, "above_roof_inch": 0.5},
    c.terminal_column_degc: {"circuit_a": 30.0},
    c.usable_ampacity_a: {"size": "12", "terminal_degc": 60},
    cp.class2_limits: {"supply": "ac", "source_v": 24.0, "inherently_limited": False},
    cp.class2_ocpd_max_a: {"supply": "ac", "source_v": 24.0},
    cp.inrush_of: {"loads": [CoilLoad("relay", 5.0, 20.0)]},
    cp.inrush_withstand_a: {"primary_a": 0.5},
    cp.sealed_va: {"loads": [CoilLoad("relay", 5.0, 20.0)]},
    cp.selection_inrush_va: {"steady": 60.0, "inrush": 240.0},
    cp.smallest_transformer_va: {"loads": [CoilLoad("relay", 5.0, 20.0)], "max_use_ratio": 0.8, "inrush_ratio": 3.0},
    cp.transformer_primary_max_a: {"primary_a": 1.04, "method": "primary_only"},
    cp.transformer_primary_ocpd_a: {"primary_a": 1.04, "method": "primary_only"},
    cp.transformer_secondary_max_a: {"secondary_a": 1.25},
    cp.transformer_secondary_ocpd_a: {"secondary_a": 1.25},
    cp.transformer_winding_a: {"rated_va": 100.0, "winding_v": 120.0},
    cp.use_ratio: {"load": 80.0, "rated": 100.0},
    control_wires.control_ocpd_max_a: {"size": "18", "circuit_class": "Class 1"},
    control_wires.control_wire_size: {"load_a": 2.0, "circuit_class": "Class 1"},
    drives.bypass_min_ampacity_a: {"rated_input_a": 20.0, "full_load": 16.7},
    drives.drive_ocpd_max_a: {"full_load": 16.7, "device": "fuse", "marked_max_a": 25.0},
    drives.lead_advice: {"lead_ft": 60.0, "supply_v": 480.0, "rise_us": 0.1},
    drives.output_min_ampacity_a: {"full_load": 16.7},
    drives.single_phase_input_a: {"motor_a": 16.7, "motor_v": 208.0, "supply_v": 208.0, "marked_input_a": 36.0},
    drives.single_phase_min_output_a: {"motor_a": 16.7, "derate_ratio": 0.5},
    drives.supply_min_ampacity_a: {"rated_input_a": 20.0},
    enclosure.cooling_surface_sqft: {"width_inch": 24.0, "height_inch": 30.0, "depth_inch": 10.0},
    enclosure.drive_heat_w: {"output_w": 3730.0, "efficiency_ratio": 0.97},
    enclosure.fan_airflow_cfm: {"heat": 100.0, "ambient_degf": 86.0, "max_inside_degf": 104.0, "density_ratio": 1.0},
    enclosure.inside_degf: {"heat": 100.0, "surface": 16.0, "ambient_degf": 86.0},
    enclosure.max_heat_w: {"surface": 16.0, "ambient_degf": 86.0, "max_inside_degf": 104.0},
    enclosure.supply_heat_w: {"output_w": 100.0, "efficiency_ratio": 0.85},
    enclosure.total_heat_w: {"loads": [HeatLoad("drive", 100.0)]},
    enclosure.wall_w_per_sqft_degf: {},
    grounds.egc_required_cmil: {"base_size": "10", "needed_phase_size": "8", "phase_size": "6"},
    grounds.egc_size: {"ocpd_a": 40.0, "phase_size": "8"},
    grounds.shared_egc_size: {"circuits": [EGC], "phase_sizes": ["12"]},
    lights.circuit_min_a: {"load_w": 600.0, "supply_v": 120.0, "power_factor": 0.9},
    lights.contact_max_w: {"supply_v": 120.0, "power_factor": 0.9, "contact_a": 10.0},
    lights.contact_use_ratio: {"load_w": 600.0, "supply_v": 120.0, "power_factor": 0.9, "contact_a": 10.0},
    lights.group_lights: {"loads": [LightLoad("H-1", 300.0)], "supply_v": 120.0, "power_factor": 0.9, "contact_a": 9.0},
    lights.inrush_peak_a: {
        "load_w": 600.0, "supply_v": 120.0, "kind": "electronic driver", "power_factor": 0.9, "drivers": 3,
        "peak_each_a": 20.0,
    },
    lights.lights_a: {"load_w": 600.0, "supply_v": 120.0, "power_factor": 0.9},
    m.branch_min_ampacity_a: {"full_load": 22.0, "duty_ratio": 1.25},
    m.branch_ocpd_max_a: {"full_load": 22.0, "device": "inverse_time_breaker", "marked_max_a": 45.0},
    m.contactor_min_ac3_a: {"full_load": 22.0},
    m.disconnect_min_a: {"motor_currents": [22.0], "other_loads_a": 4.0},
    m.feeder_min_ampacity_a: {"motor_currents": [22.0], "other_continuous_a": 4.0, "other_noncontinuous_a": 1.0},
    m.feeder_ocpd_max_a: {
        "largest_branch_max_a": 60.0, "other_motor_currents": [7.5], "device": "fuse", "other_loads_a": 4.0,
    },
    m.full_load_a: {"motor": MOTOR},
    m.group_ocpd_max_a: {
        "largest_branch_max_a": 60.0, "other_motor_currents": [7.5], "device": "fuse", "other_loads_a": 4.0,
    },
    m.overload_max_a: {"motor": MOTOR},
    m.overload_max_ratio: {"motor": MOTOR},
    m.packaged_min_ampacity_a: {"marked_mca_a": 24.0},
    m.packaged_ocpd_max_a: {"marked_mocp_a": 35.0, "device": "fuse"},
    m.thermal_protector_max_a: {"full_load": 9.8},
    neutrals.current_carrying_count: {"circuits": [CircuitWires(3)]},
    neutrals.neutral_counts: {"use": "own"},
    neutrals.parallel_allowed: {"size": "1/0"},
    neutrals.parallel_size: {"min_a": 300.0, "sets": 2, "terminal_degc": 75, "load_a": 240.0},
    neutrals.shared_neutral_a: {"lines_a": [10.0, 8.0]},
    panel.fault_at_end_a: {"available_a": 1e4, "supply_v": 208.0, "size": "8", "run_ft": 60.0, "phases": 3, "sets": 1},
    panel.feed_mca_a: {"motor_currents": [16.7], "continuous_a": 4.0, "noncontinuous_a": 1.0},
    panel.feed_mocp_a: {
        "mca": 26.0, "device": "fuse", "largest_branch_a": 45.0, "other_motor_currents": [7.5], "other_loads_a": 4.0,
    },
    panel.short_circuit_use_ratio: {"available": 1e4, "rating": 1e4},
    panel.terminal_takes: {"size": "12", "count": 1, "max_size": "10"},
    panel.v_to_ground: {"system": "208Y/120 V"},
    panel.weakest_rating_a: {"parts": [("breaker", 1e4)]},
    panel.working_space: {"to_ground": 120.0, "facing": "open room", "width_inch": 24.0, "top_inch": 72.0},
    power.apparent_va: {"load_a": 20.0, "supply_v": 208.0, "phases": 3},
    power.delta_lines_a: {"ab_a": 14.0, "bc_a": 14.0, "ca_a": 14.0},
    power.line_a: {"load_va": 5000.0, "supply_v": 208.0, "phases": 3, "efficiency_ratio": 0.9},
    power.line_to_neutral_v: {"line_to_line_v": 208.0},
    power.power_factor: {"active_w": 350.0, "reactive_var": 550.0},
    power.real_w: {"load_a": 20.0, "supply_v": 208.0, "phases": 3, "power_factor_ratio": 0.9},
    power.rounded_load_a: {"load_a": 77.5},
    power.vector_va: {"active_w": 350.0, "reactive_var": 550.0},
    rw.conductors_area_sqin: {"filling": [Filling("12", 3)]},
    rw.fill_share_ratio: {"filling": [Filling("12", 3)], "raceway": "EMT", "trade_size": "1/2"},
    rw.max_count: {"raceway": "EMT", "trade_size": "1/2", "size": "12"},
    rw.may_share: {"first": "Class 2", "second": "data"},
    rw.settle_shared_raceway: {"circuits": [CIRCUIT], "raceway": "EMT"},
    rw.split_over_raceways: {"circuits": [CIRCUIT], "raceway": "EMT"},
    rw.trade_size_for: {"filling": [Filling("12", 3)], "raceway": "EMT"},
    shutdowns.coil_in_window: {"kind": "contactor", "rated_v": 120.0, "least": 110.0, "highest_v": 124.0},
    shutdowns.coil_window_v: {"kind": "contactor", "rated_v": 120.0, "min_ratio": 0.85, "max_ratio": 1.1},
    shutdowns.ground_fault_asked: {"to_ground": 120.0, "breaker_a": 20.0, "phases": 1, "cord_and_plug": True},
    shutdowns.pole_spaces: {"poles": 3, "shunt_trip": True},
    shutdowns.shunt_coil_lasts: {"cut_off_contact": True},
    vd.ac_drop_v: {"size": "8", "load_a": 27.0, "run_ft": 250.0, "phases": 3, "power_factor": 0.85},
    vd.coil_v: {"source_v": 24.0, "stretches": [("18", 200.0)], "load_a": 0.5, "source_drop_v": 0.2},
    vd.conductor_ohm: {"ohm_per_kft": 2.57, "length_ft": 20.0},
    vd.dc_drop_v: {"size": "16", "load_a": 4.0, "run_ft": 100.0, "conductor_degc": 60.0},
    vd.drop_over_resistance_v: {"resistance": 0.05, "load_a": 12.0},
    vd.drop_ratio: {"size": "12", "run": RUN},
    vd.effective_ohm_per_kft: {"size": "12", "power_factor": 0.85},
    vd.k_ohm_per_kft: {"size": "12"},
    vd.locked_rotor_a: {"full_load": 16.7, "ratio": 6.0},
    vd.size_for_coil: {
        "size": "18", "source_v": 24.0, "run_ft": 200.0, "load_a": 0.5, "rated_v": 24.0, "min_ratio": 0.85,
        "source_drop_v": 0.2,
    },
    vd.size_for_drop: {"size": "12", "run": RUN, "limit_ratio": 0.03},
    vd.size_for_drops: {"size": "12", "cases": [(RUN, 0.03, "running")]},
    vd.total_drop_ratio: {"feeder": 0.02, "branch": 0.03},
}  # fmt: skip

# Zero is what these may be; a temperature may be below zero, and so may reactive power (capacitors).
MAY_BE_NEGATIVE = {
    "outdoor_degc", "ambient_degf", "max_inside_degf", "conductor_degc", "active_w", "reactive_var",
}  # fmt: skip


def public_rules() -> dict[str, Callable[..., Any]]:
    found = {}
    for name in MODULES:
        module = importlib.import_module(f"galleyproof.sizing.{name}")
        for public in module.__all__:
            rule = getattr(module, public)
            if inspect.isfunction(rule) and "Reasoned" in str(get_type_hints(rule).get("return")):
                found[f"{name}.{public}"] = rule
    return found


def bad_calls() -> list[Any]:
    rows = []
    for rule, good in GOOD.items():
        for key, value in good.items():
            for bad in (math.nan, math.inf, -math.inf, -1.0):
                if bad == -1.0 and key in MAY_BE_NEGATIVE:
                    continue
                if isinstance(value, bool) or not isinstance(value, float | list):
                    continue
                if isinstance(value, list) and not isinstance(value[0], float):
                    continue
                put = [bad, *value[1:]] if isinstance(value, list) else bad
                name = f"{rule.__module__.rpartition('.')[2]}.{rule.__name__}-{key}={bad:g}"
                rows.append(pytest.param(rule, {**good, key: put}, bad, id=name))
    return rows


def test_every_public_rule_has_its_call():
    called = {f"{rule.__module__.rpartition('.')[2]}.{rule.__name__}" for rule in GOOD}
    assert called == set(public_rules())


@pytest.mark.parametrize("rule", GOOD, ids=lambda r: f"{r.__module__.rpartition('.')[2]}.{r.__name__}")
def test_good_call_answers_and_says_how(rule):
    found = rule(**GOOD[rule])
    assert found.steps
    assert found.unit


@pytest.mark.parametrize(("rule", "call", "bad"), bad_calls())
def test_what_no_circuit_has_is_refused(rule, call, bad):
    with pytest.raises(GalleyproofError) as refusal:
        rule(**call)
    text = str(refusal.value)
    assert f"{bad:g}" in text or "finite" in text  # the value received stands in the message
    assert len(text) > 20


@pytest.mark.parametrize("rule", [r for r in GOOD if "edition" in inspect.signature(r).parameters])
@pytest.mark.parametrize("edition", ["2017", "2026", ""])
def test_editions_not_carried_are_refused(rule, edition):
    with pytest.raises(TableError, match="known: 2020, 2023"):
        rule(**GOOD[rule], edition=edition)


# --- fields of what describes a circuit --------------------------------------------------------------------------

# What is described, its fields that no circuit leaves out, and a rule that looks at it.
DESCRIBED: list[tuple[Any, tuple[str, ...], Callable[[Any], Any]]] = [
    (Motor(5.0, 208.0, 3), ("rated_hp", "supply_v"), m.full_load_a),
    (Motor(None, 208.0, 3, nameplate_a=4.0, nameplate_why="EC motor"), ("nameplate_a",), m.full_load_a),
    (Motor(5.0, 208.0, 3, nameplate_a=14.0), ("nameplate_a",), m.overload_max_a),
    (RUN, ("run_ft", "load_a", "supply_v", "power_factor"), lambda run: vd.drop_ratio("12", run)),
    (CoilLoad("relay", 5.0, 20.0), ("sealed_va", "inrush_va", "count"), lambda one: cp.sealed_va([one])),
    (HeatLoad("drive", 100.0), ("heat_w", "count"), lambda one: enclosure.total_heat_w([one])),
    (LightLoad("H-1", 300.0), ("load_w",), lambda one: lights.group_lights([one], 120.0)),
    (Filling("12", 3), ("count",), lambda one: rw.trade_size_for([one], "EMT")),
    (
        Filling("cable", 1, cable_diameter_inch=0.3),
        ("cable_diameter_inch",),
        lambda one: rw.trade_size_for([one], "EMT"),
    ),
    (Surroundings(30.0, 3), ("current_carrying",), lambda at: c.adjusted_ampacity_a("12", Wire(), at)),
    (CIRCUIT, ("min_a", "ocpd_a"), lambda one: rw.settle_shared_raceway([one], "EMT")),
    (CircuitWires(3), ("lines",), lambda wires: neutrals.current_carrying_count([wires])),
]


@pytest.mark.parametrize(
    ("described", "field", "rule", "bad"),
    [
        pytest.param(one, field, rule, bad, id=f"{type(one).__name__}-{field}={bad:g}")
        for one, fields, rule in DESCRIBED
        for field in fields
        for bad in ((-1,) if isinstance(getattr(one, field), int) else (math.nan, math.inf, -1.0))
    ],
)
def test_fields_that_cannot_be_are_refused(described, field, rule, bad):
    rule(described)
    with pytest.raises(GalleyproofError):
        rule(replace(described, **{field: bad}))


def test_an_ambient_that_is_no_temperature():
    for bad in (math.nan, math.inf):
        with pytest.raises(SizingError, match="ambient_degc="):
            c.adjusted_ampacity_a("12", Wire(), Surroundings(bad))
    # frost is a temperature: the coldest row counts
    assert c.adjusted_ampacity_a("12", Wire(), Surroundings(-20.0)).value > 30.0


# --- by name: rule, value, cure ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "words"),
    [
        # a motor size that is not in the table: the nearest rows, and what to do
        (lambda: m.full_load_a(Motor(4.0, 208.0, 3)), ("4 hp", "430.250", "nearest: 3 hp, 5 hp", "listed size")),
        (lambda: m.full_load_a(Motor(15.0, 230.0, 1)), ("15 hp", "430.248", "nearest: 10 hp", "nameplate")),
        (lambda: m.full_load_a(Motor(900.0, 480.0, 3)), ("900 hp", "nearest: 500 hp")),
        (lambda: m.full_load_a(Motor(0.05, 120.0, 1)), ("0.05 hp", "nearest: 1/6 hp")),
        # voltages between columns: the spans the columns serve
        (lambda: m.full_load_a(Motor(5.0, 215.0, 3)), ("215 V", "nearest: 208 V, 230 V", "220 V to 240 V")),
        (lambda: m.full_load_a(Motor(5.0, 380.0, 3)), ("380 V", "nearest: 230 V, 460 V", "440 V to 480 V")),
        (lambda: m.full_load_a(Motor(1.0, 277.0, 1)), ("277 V", "nearest: 230 V", "nameplate current rules")),
        (lambda: m.full_load_a(Motor(3.0, 115.0, 3)), ("hp=3", "200 V, 208 V, 230 V, 460 V, 575 V")),
        (lambda: m.full_load_a(Motor(5.0, 208.0, 2)), ("phases=2", "1, 3")),
        # ambient beyond the table
        (
            lambda: c.conductor_size(20.0, 60, around=Surroundings(90.0)),
            ("90 degC", "310.15(B)(1)(1)", "85", "a cooler way"),
        ),
        (
            lambda: c.adjusted_ampacity_a("12", Wire(insulation="THWN"), Surroundings(80.0)),
            ("80 degC", "75 degC insulation", "THWN-2"),
        ),
        (lambda: c.insulation_degc(Wire(insulation="THHN", wet=True)), ("THHN", "wet places", "300.9", "use THWN-2")),
        # runs of nothing and of miles
        (lambda: vd.drop_ratio("12", Run(0.0, 10.0, 120.0)), ("run_ft=0 ft", "above zero")),
        (lambda: vd.drop_ratio("12", Run(6000.0, 10.0, 120.0)), ("run_ft=6000 ft", "longer than a mile", "its unit")),
        (lambda: vd.coil_v(24.0, [("18", 9000.0)], 0.1), ("9000 ft", "longer than a mile")),
        (
            lambda: vd.size_for_drop("12", Run(5000.0, 40.0, 120.0)),
            ("500 kcmil", "hold up to 1744 ft", "parallel conductors"),
        ),
        (lambda: vd.size_for_coil("18", 20.0, 100.0, 1.0, rated_v=24.0), ("20 V", "20.4 V", "raise the supply")),
        (lambda: vd.size_for_coil("18", 24.0, 5000.0, 30.0, rated_v=24.0), ("4/0 AWG", "interposing relay")),
        # a raceway that no trade size can hold
        (lambda: rw.trade_size_for([Filling("4/0", 12)], "EMT"), ("EMT", "trade size 2", "3.8844 in2", "split")),
        (
            lambda: rw.split_over_raceways([RacewayCircuit("M", 200.0, CircuitWires(3), 75, 250.0, True)], "EMT",
                                           max_trade_size="1"),
            ("EMT 1", "parallel conductors"),
        ),
        (lambda: rw.trade_size_for([Filling("12", 3)], "ENT"), ("raceway='ENT'", "EMT, RMC, PVC40, FMC, LFMC")),
        (lambda: rw.trade_size_for([Filling("12", 3)], "EMT", at_least="3"), ("trade_size='3'", "1-1/4, 1-1/2, 2")),
        (lambda: rw.trade_size_for([], "EMT"), ("nothing in the raceway",)),
        (lambda: rw.settle_shared_raceway([CIRCUIT, CIRCUIT], "EMT"), ("two circuits of one name", "its own")),
        # more than the tables hold
        (lambda: c.conductor_size(700.0, 75), ("700 A", "500 kcmil", "310.10(G)", "split the load")),
        (lambda: c.ocpd_for_load_a(9000.0), ("9000 A", "6000 A", "several circuits")),
        (lambda: m.packaged_ocpd_max_a(8.0, "inverse_time_breaker"), ("8 A", "10 A", "use fuses, which begin at 1 A")),
        (lambda: m.packaged_ocpd_max_a(0.5, "fuse"), ("0.5 A", "1 A", "together with others")),
        (lambda: grounds.egc_size(7000.0, "12"), ("7000 A", "250.122", "6000")),
        (
            lambda: grounds.egc_size(400.0, "500", "14", "al", "cu"),
            ("cmil", "copper ground"),
        ),
        # the table of conductors has no such size, metal, column
        (lambda: c.adjusted_ampacity_a("13"), ("size=13", "310.16")),
        (lambda: c.adjusted_ampacity_a("12", Wire(material="ag")), ("material='ag'", "cu, al")),  # type: ignore[arg-type]
        (lambda: c.conductor_size(20.0, 80), ("terminal_degc=80", "60, 75, 90")),
        (lambda: c.insulation_degc(Wire(insulation="RHW")), ("insulation='RHW'", "THWN-2")),  # type: ignore[arg-type]
        # what is missing is named
        (lambda: m.full_load_a(Motor(None, 208.0, 3)), ("horsepower or its nameplate current", "give one")),
        (lambda: m.overload_max_a(Motor(5.0, 208.0, 3)), ("430.6(A)(2)", "not known", "give it")),
        (lambda: m.feeder_min_ampacity_a([]), ("no motor and no other load", "at least one current")),
        (lambda: m.branch_ocpd_max_a(5.0, "fuse"), ("fuse", "time_delay_fuse")),  # type: ignore[arg-type]
        (lambda: m.branch_ocpd_max_a(5.0, "time_delay_fuse", "dc"), ("kind='dc'", "wound_rotor")),  # type: ignore[arg-type]
        (lambda: drives.single_phase_min_output_a(10.0, derate_ratio=0.7), ("0.7", "0.577", "single-phase rating")),
        (lambda: cp.class2_limits("ac", 48.0, inherently_limited=False), ("48 V ac", "Table 11(A)", "30 V")),
        (lambda: cp.smallest_transformer_va([CoilLoad("x", 9000.0, 1.0)]), ("1.125e+04 VA", "split the load")),
        (lambda: cp.transformer_primary_ocpd_a(0.01, "primary_and_secondary"), ("0.025 A", "together with another")),
        (lambda: control_wires.control_ocpd_max_a("18", "Class 2"), ("Class 2", "Class 1, motor control")),  # type: ignore[arg-type]
        (lambda: neutrals.shared_neutral_a([5.0]), ("1 lines", "two or three")),
        (lambda: neutrals.parallel_size(300.0, 0, 75), ("sets=0", "at least one")),
    ],
)  # fmt: skip
def test_refusal_gives_rule_value_and_cure(call, words):
    with pytest.raises((SizingError, TableError)) as refusal:
        call()
    for word in words:
        assert word in str(refusal.value)


@pytest.mark.parametrize(
    ("system_v", "column_v"), [(220.0, 230), (240.0, 230), (440.0, 460), (600.0, 575), (110.0, 115)]
)
def test_voltages_inside_the_span_of_a_column_take_it_and_say_so(system_v, column_v):
    phases = 1 if column_v == 115 else 3
    found = m.full_load_a(Motor(1.0, system_v, phases))
    assert f"({column_v} V column)" in found.steps[0].text
