"""Clauses that no worked example touches, each with the figure it asks for; phasors where a rule stands for them."""

from __future__ import annotations

import cmath
import itertools
import math

import pytest

from galleyproof.sizing import conductors as c
from galleyproof.sizing import control_power as cp
from galleyproof.sizing import control_wires, drives, grounds, neutrals
from galleyproof.sizing import motors as m
from galleyproof.sizing import raceways as rw
from galleyproof.sizing import voltage_drop as vd
from galleyproof.sizing.conductors import Surroundings, Wire
from galleyproof.sizing.control_power import CoilLoad
from galleyproof.sizing.motors import Motor
from galleyproof.sizing.neutrals import CircuitWires
from galleyproof.sizing.raceways import RacewayCircuit
from galleyproof.sizing.voltage_drop import Run
from galleyproof.tables.reader import TableError

pytestmark = pytest.mark.outside


def places(reasoned) -> set[str]:
    return {cite.place for cite in reasoned.basis}


# --- conductors -----------------------------------------------------------------------------------------------------


def test_raceway_over_a_roof_in_the_sun():
    """310.15(B)(2): less than 7/8 in above the roof adds 33 K (60 degF); XHHW-2 is excepted."""
    assert c.rooftop_ambient_degc(40.0, 0.5).value == 73.0
    assert c.rooftop_ambient_degc(40.0, 0.875).value == 40.0
    assert c.rooftop_ambient_degc(40.0, 0.5, Wire(insulation="XHHW-2")).value == 40.0
    # band of 71 to 75 degC by the formula of 310.15(B)(1): sqrt((90 - 75) / (90 - 30)) = 0.50 of 30 A
    assert c.adjusted_ampacity_a("12", Wire(), Surroundings(73.0)).value == pytest.approx(0.50 * 30.0)


def test_insulation_in_wet_places():
    """Table 310.4(1): XHHW falls to 75 degC, THWN-2 stays at 90, THHN may not be used (300.9: raceways outdoors)."""
    assert c.insulation_degc(Wire(insulation="XHHW", wet=True)).value == 75
    assert c.insulation_degc(Wire(insulation="THWN-2", wet=True)).value == 90
    assert c.insulation_degc(Wire(insulation="XHHW")).value == 90


def test_short_raceways_need_no_adjustment():
    """310.15(C)(1)(b): 24 in or less."""
    nipple = c.adjusted_ampacity_a("12", Wire(), Surroundings(current_carrying=20, short=True))
    assert nipple.value == 30.0
    assert "310.15(C)(1)(b)" in places(nipple)
    # at 50 degC 90 degC copper keeps 0.82: 10 AWG 32.8 A, one ampere short of 33.8 A; 8 AWG it is, at 75 degC terminals
    hot = Surroundings(50.0, 20, short=True)
    assert c.conductor_size(32.8, 75, around=hot).value == "10"
    assert c.conductor_size(33.8, 75, around=hot).value == "8"
    # at 30 degC there is nothing to correct, and no step that says so
    assert len(c.adjusted_ampacity_a("12").steps) == 2


def test_fixture_wires_and_their_devices():
    """Table 402.5: 18 AWG 6 A, 16 AWG 8 A; 724.43: devices of 7 A and 10 A for Class 1."""
    sizes = [control_wires.control_wire_size(a, "Class 1").value for a in (6.0, 6.1, 8.0, 8.1)]
    assert sizes == ["18", "16", "16", "14"]
    devices = [control_wires.control_ocpd_max_a(s, "Class 1").value for s in ("18", "16", "14", "12")]
    assert devices == [7.0, 10.0, 15.0, 20.0]
    assert "724.43" in places(control_wires.control_ocpd_max_a("18", "Class 1"))
    old = control_wires.control_ocpd_max_a("18", "Class 1", edition="2020")
    assert "725.43" in places(old)  # article 724 of 2023 was part of 725 before


# --- motors ---------------------------------------------------------------------------------------------------------


def test_motor_marked_in_amperes_only():
    """430.6(A)(1): treated as the horsepower of that current; the current itself is what counts."""
    flc = m.full_load_a(Motor(None, 208.0, 3, nameplate_a=9.4))
    assert flc.value == 9.4
    assert "amperes only" in flc.basis[0].note


def test_instantaneous_trip_breakers():
    """Table 430.52(C)(1): 800 percent, 1100 for design B premium; ceilings 1300 and 1700 (from memory)."""
    usual = {
        k: m.branch_ocpd_max_a(10.0, "instantaneous_trip_breaker", k).value for k in ("polyphase", "design_b_premium")
    }
    assert usual == {"polyphase": 80.0, "design_b_premium": 110.0}
    top = [
        m.branch_ocpd_max_a(10.0, "instantaneous_trip_breaker", k, cannot_start=True).value
        for k in ("polyphase", "design_b_premium")
    ]
    assert top == pytest.approx([130.0, 170.0])
    one = m.branch_ocpd_max_a(10.0, "instantaneous_trip_breaker")
    assert "listed combination motor controller" in " ".join(one.lines())


@pytest.mark.parametrize(
    ("device", "usual_a", "ceiling_a"),
    # 22 A: 175 percent 38.5 up to 40, ceiling 225 percent 49.5 down to 45; 300: 66 up to 70, 400: 88 down to 80;
    # 250: 55 up to 60, 400: 88 down to 80 (ceilings from memory)
    [("time_delay_fuse", 40.0, 45.0), ("nontime_delay_fuse", 70.0, 80.0), ("inverse_time_breaker", 60.0, 80.0)],
)
def test_a_motor_that_does_not_start(device, usual_a: float, ceiling_a: float):
    usual = m.branch_ocpd_max_a(22.0, device)
    raised = m.branch_ocpd_max_a(22.0, device, cannot_start=True)
    assert (usual.value, raised.value) == (usual_a, ceiling_a)
    assert any("does not start" in text for text in usual.passed_over)


def test_overload_table_of_the_starter_goes_before_the_percentages():
    """430.52(C)(2): a maximum marked in the overload relay table is not exceeded."""
    marked = m.branch_ocpd_max_a(22.0, "inverse_time_breaker", marked_max_a=47.0)
    assert marked.value == 45.0
    assert "430.52(C)(2)" in places(marked)


@pytest.mark.parametrize(("flc_a", "ratio"), [(9.0, 1.70), (9.1, 1.56), (20.0, 1.56), (20.1, 1.40)])
def test_thermal_protectors(flc_a: float, ratio: float):
    """430.32(A)(2)."""
    assert m.thermal_protector_max_a(flc_a).value == pytest.approx(ratio * flc_a)


def test_disconnects_and_packaged_units():
    """430.110(A) and (C)(2): 115 percent; 440.35 and 430.7(D): marked ampacity as it is; 440.22(C): marked device."""
    assert m.disconnect_min_a([16.7]).value == pytest.approx(1.15 * 16.7)
    combined = m.disconnect_min_a([16.7, 7.5], other_loads_a=5.0)
    assert combined.value == pytest.approx(1.15 * 29.2)
    assert "430.110(C)(2)" in places(combined)
    assert m.packaged_min_ampacity_a(27.4).value == 27.4
    assert m.packaged_ocpd_max_a(42.0, "inverse_time_breaker").value == 40.0


def test_contactors_by_duty():
    """IEC 60947-4-1: AC-3 not below the motor current; 430.83(A)(1): horsepower rating beside it."""
    motor = Motor(5.0, 208.0, 3)
    found = m.contactor_min_ac3_a(m.full_load_a(motor), motor)
    assert found.value == 16.7
    assert "5 hp at 208 V" in " ".join(found.lines())


# --- drives ---------------------------------------------------------------------------------------------------------


def test_drive_with_a_bypass():
    """430.122(C): the larger of both ways."""
    assert drives.bypass_min_ampacity_a(12.0, 16.7).value == pytest.approx(1.25 * 16.7)
    assert drives.bypass_min_ampacity_a(20.0, 16.7).value == 25.0


def test_half_output_is_more_cautious_than_equal_power():
    """Equal power leaves 1/sqrt(3) of the output; common practice takes half."""
    assert drives.single_phase_min_output_a(10.0, derate_ratio=1.0 / math.sqrt(3.0)).value == pytest.approx(
        17.32, abs=0.01
    )
    assert drives.single_phase_min_output_a(10.0).value == 20.0


@pytest.mark.parametrize(
    ("lead_ft", "supply_v", "insulation", "advice"),
    [
        # direct voltage 1.414 x 480 = 679 V, doubled 1358 V: above 1000 V, below 1600 V (NEMA MG 1 parts 30, 31)
        (100.0, 480.0, "general purpose", "motor for inverter duty or filter"),
        (100.0, 480.0, "inverter duty", "none needed"),
        # 1.414 x 600 = 849 V, doubled 1697 V
        (100.0, 600.0, "inverter duty", "filter at the drive"),
        # 1.414 x 208 = 294 V, doubled 588 V
        (500.0, 208.0, "general purpose", "none needed"),
        # short leads do not reflect: 5 ft of a critical 24.5 ft, 679 V x 1.2 = 817 V
        (5.0, 480.0, "general purpose", "none needed"),
    ],
)
def test_leads_of_drives(lead_ft, supply_v, insulation, advice):
    """Reflected wave: full reflection from half the pulse's travel during its rise; peak limits from memory."""
    found = drives.lead_advice(lead_ft, supply_v, insulation)
    assert found.value == advice
    assert found.steps[1].value == pytest.approx(24.5)  # 490 ft/us x 0.1 us / 2


# --- neutrals ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("use", "nonlinear", "counts"),
    [
        ("own", False, True),
        ("shared by two lines of a wye", False, True),
        ("shared by three lines of a wye", False, False),
        ("shared by three lines of a wye", True, True),
        ("split phase", False, False),
        ("none", False, False),
    ],
)
def test_which_neutrals_count(use, nonlinear: bool, counts: bool):
    """310.15(E)(1) to (3)."""
    assert neutrals.neutral_counts(use, nonlinear=nonlinear).value is counts


@pytest.mark.parametrize("lines_a", [(10.0, 10.0), (10.0, 4.0), (8.0, 8.0, 8.0), (12.0, 3.0, 7.0)])
def test_shared_neutral_is_the_worst_phasor_sum_of_lines_that_are_on(lines_a):
    """Every combination of lines on and off, lines 120 degrees apart, power factor 1."""
    phasors = [a * cmath.exp(-2j * math.pi * n / 3.0) for n, a in enumerate(lines_a)]
    worst = max(abs(sum(on)) for k in range(1, len(phasors) + 1) for on in itertools.combinations(phasors, k))
    assert neutrals.shared_neutral_a(lines_a).value == pytest.approx(worst)


def test_split_phase_neutral_carries_the_difference_at_most_one_line():
    assert neutrals.shared_neutral_a((10.0, 4.0), split_phase=True).value == 10.0


def test_third_harmonics_load_a_shared_neutral_with_root_three():
    """Pulses of less than 120 degrees do not meet: three equal ones in one wire have sqrt(3) the rms of one."""
    pulses = 1200
    one = [1.0 if n < pulses // 4 else 0.0 for n in range(pulses)]
    three = [one[n] + one[(n + pulses // 3) % pulses] + one[(n + 2 * pulses // 3) % pulses] for n in range(pulses)]
    rms = [math.sqrt(sum(v * v for v in wave) / pulses) for wave in (one, three)]
    assert rms[1] / rms[0] == pytest.approx(math.sqrt(3.0))
    assert neutrals.shared_neutral_a((9.0, 9.0, 9.0), nonlinear=True).value == pytest.approx(9.0 * math.sqrt(3.0))


def test_multiwire_conditions_and_parallels():
    """210.4(B), 300.13(B), 200.4(B); 310.10(G)(1): parallels from 1/0 AWG, control conductors excepted."""
    words = " ".join(neutrals.multiwire_conditions())
    for clause in ("210.4(A)", "210.4(B)", "300.13(B)", "200.4(B)"):
        assert clause in words
    assert neutrals.parallel_allowed("1/0").value is True
    assert neutrals.parallel_allowed("1").value is False
    assert neutrals.parallel_allowed("18", control=True).value is True
    # 300 A over two sets: 150 A each, 1/0 AWG carries 150 A at 75 degC (Table 310.16)
    assert neutrals.parallel_size(300.0, 2, 75).value == "1/0"
    assert neutrals.parallel_size(100.0, 2, 75).value == "1/0"


# --- sharing, splitting --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("first", "second", "together", "allowed"),
    [
        ("line voltage", "line voltage", True, True),
        ("line voltage", "Class 1", True, True),
        ("line voltage", "Class 1", False, False),
        ("line voltage", "Class 2", True, False),
        ("line voltage", "data", True, False),
        ("Class 1", "Class 2", True, False),
        ("Class 1", "Class 1", True, True),
        ("Class 2", "Class 2", True, True),
        ("Class 2", "data", True, True),
    ],
)
def test_who_may_share(first, second, together: bool, allowed: bool):
    """300.3(C)(1); 724.48; 725.136(A); 725.139."""
    there = rw.may_share(first, second, functionally_associated=together)
    back = rw.may_share(second, first, functionally_associated=together)
    assert there.value.allowed is back.value.allowed is allowed
    assert there.basis


def test_a_split_feeds_the_derating_back():
    """Ten circuits of 16 A: twenty conductors adjust to 50 percent (310.15(C)(1)), ten to 50, six to 80."""
    circuits = [RacewayCircuit(f"L{n}", 20.0, CircuitWires(1, "own"), 75, 20.0, load_a=16.0) for n in range(10)]
    one = rw.settle_shared_raceway(circuits, "EMT").value
    assert one.current_carrying == 20
    # 16 A / 0.5 = 32 A in the 90 degC column: 10 AWG (40 A)
    assert {size.value for _, size in one.sizes} == {"10"}
    split = rw.split_over_raceways(circuits, "EMT", max_trade_size="1/2")
    parts = split.value
    assert all(part.trade_size == "1/2" for part in parts)
    assert sorted(name for part in parts for name, _ in part.sizes) == sorted(x.name for x in circuits)
    # four raceways: at most six conductors each, 16 A / 0.8 = 20 A: 12 AWG (30 A x 0.8 = 24 A)
    assert {size.value for part in parts for _, size in part.sizes} == {"12"}
    assert split.passed_over


def test_a_ground_is_raised_only_with_its_phases():
    """250.122(B) is not named where the phase conductors are the size the load needs."""
    assert "250.122(B)" not in places(grounds.egc_size(20.0, "12", "12"))
    assert "250.122(B)" in places(grounds.egc_size(20.0, "10", "12"))


def test_one_ground_for_all_circuits():
    """250.122(C): the largest of them, 60 A device 10 AWG, 100 A device 8 AWG."""
    each = [grounds.egc_size(60.0, "6"), grounds.egc_size(100.0, "3")]
    assert grounds.shared_egc_size(each, ["6", "3"]).value == "8"


# --- voltage drop ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("form", "pf"), [("3-phase", 0.85), ("3-phase", 0.35), ("1-phase", 0.8)])
def test_drop_against_phasors(form, pf: float):
    """IR cos + IX sin against the exact difference of both ends' magnitudes.

    What the formula leaves out is the square of the part across, (IX cos - IR sin)^2 / 2V (first course on lines).
    """
    run = Run(150.0, 20.0, 208.0, form, pf)
    drop = vd.drop_ratio("10", run).value * 208.0
    # Table 9, 10 AWG in steel: 1.2 and 0.063 ohm/kft to neutral
    z = complex(1.2, 0.063) * 0.15
    per_line = 208.0 / math.sqrt(3.0) if form == "3-phase" else 208.0
    loop = z if form == "3-phase" else 2.0 * z
    current = 20.0 * cmath.exp(-1j * math.acos(pf))

    def source(end_v: float) -> float:
        return abs(end_v + loop * current)

    low, high = 0.0, per_line
    for _ in range(80):  # the load end's voltage that leaves the supply as it is
        middle = (low + high) / 2.0
        low, high = (middle, high) if source(middle) < per_line else (low, middle)
    lines = math.sqrt(3.0) if form == "3-phase" else 1.0
    across = (loop * current).imag
    left_out = lines * across**2 / (2.0 * per_line)
    assert drop + left_out == pytest.approx((per_line - low) * lines, rel=0.002)
    assert left_out < 0.04 * drop


def test_starting_is_a_case_of_its_own():
    """Six times the current, power factor 0.35, 15 percent allowed (common practice): the larger case rules."""
    assert (vd.BRANCH_LIMIT_RATIO, vd.TOTAL_LIMIT_RATIO, vd.STARTING_LIMIT_RATIO) == (0.03, 0.05, 0.15)
    start_a = vd.locked_rotor_a(16.7).value
    assert start_a == pytest.approx(100.2)
    running = Run(220.0, 16.7, 208.0, "3-phase", 0.85)
    starting = Run(220.0, start_a, 208.0, "3-phase", vd.STARTING_PF)
    both = vd.size_for_drops(
        "12", ((running, vd.BRANCH_LIMIT_RATIO, "running"), (starting, vd.STARTING_LIMIT_RATIO, "starting"))
    )
    alone = [vd.size_for_drop("12", running).value, vd.size_for_drop("12", starting, vd.STARTING_LIMIT_RATIO).value]
    assert both.value == max(alone, key=lambda size: -int(size))
    assert any("drop" in text for text in both.passed_over)


def test_feeder_and_branch_together():
    """215.2(A)(1) informational note: 3 percent each way, 5 percent together."""
    total = vd.total_drop_ratio(0.02, 0.035)
    assert total.value == pytest.approx(0.055)
    assert total.value > vd.TOTAL_LIMIT_RATIO


def test_gas_valve_coil_at_the_far_end_of_200_ft_of_18_awg():
    """24 V, 0.9 A over 2 x 200 ft of 7.95 ohm/kft (Table 8): 2.86 V lost, 21.1 V left, 20.4 V needed."""
    left = vd.coil_v(24.0, [("18", 200.0)], 0.9)
    assert left.value == pytest.approx(24.0 - 0.9 * 7.95 * 0.4, abs=1e-9)
    assert vd.size_for_coil("18", 24.0, 200.0, 0.9, rated_v=24.0).value == "18"
    assert vd.size_for_coil("18", 24.0, 200.0, 1.2, rated_v=24.0).value == "16"  # 3.8 V of 3.6 allowed
    assert vd.coil_v(24.0, [("18", 100.0), ("14", 100.0)], 0.9).value > left.value


# --- control power --------------------------------------------------------------------------------------------------


def test_a_transformer_has_room_for_the_next_change():
    """80 percent of the rating, next usual power (common practice): 90 VA steady over 0.8 is 112.5 VA, so 150 VA."""
    loads = [CoilLoad("relays", 5.0, 25.0, 8), CoilLoad("valve", 50.0, 50.0)]
    assert cp.sealed_va(loads).value == 90.0
    chosen = cp.smallest_transformer_va(loads)
    assert chosen.value == 150.0
    assert "inrush not looked at" in " ".join(chosen.lines())
    # all eight relays together: sqrt(90^2 + 200^2) = 219 VA; two at a time: sqrt(90^2 + 50^2) = 103 VA
    assert cp.inrush_of(loads).value == pytest.approx(math.hypot(90.0, 200.0))
    assert cp.sealed_va([*loads, CoilLoad("spare", 9.0, 9.0, 0)]).value == 90.0
    few = [CoilLoad("relays", 5.0, 25.0, 8, together=2), CoilLoad("valve", 50.0, 50.0)]
    assert cp.inrush_of(few).value == pytest.approx(math.hypot(90.0, 50.0))
    assert cp.use_ratio(130.0, 100.0).value == 1.3


@pytest.mark.parametrize(
    ("primary_a", "fuse_a"),
    # 250 percent, not rounded up; usual small fuses below 1 A (common practice)
    [(0.04, 0.1), (0.05, 0.125), (0.08, 0.2), (0.1, 0.25), (0.12, 0.3), (0.16, 0.4), (0.2, 0.5), (0.3, 0.75)],
)
def test_small_fuses_of_control_transformers(primary_a: float, fuse_a: float):
    assert cp.transformer_primary_ocpd_a(primary_a, "primary_and_secondary").value == fuse_a


def test_class_2_sources():
    """Chapter 9 Table 11(A), from memory: 24 V AC, limited by a device: 100 VA marked, 100/24 A; wet 30 V and less."""
    limits = cp.class2_limits("ac", 24.0, inherently_limited=False).value
    assert (limits.nameplate_va, limits.max_ocpd_a) == (100.0, pytest.approx(100.0 / 24.0))
    inherent = cp.class2_limits("ac", 24.0, inherently_limited=True).value
    assert (inherent.nameplate_va, inherent.max_ocpd_a) == (100.0, None)
    with pytest.raises(TableError, match="no Class 2 source"):
        cp.class2_limits("ac", 120.0, inherently_limited=False)
