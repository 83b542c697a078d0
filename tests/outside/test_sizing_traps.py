"""The fifteen places where a sizing calculation usually goes wrong, each as one test named for it.

The list comes with the collection of worked examples; each figure is from NFPA 70 (tables read in public copies)
unless another source stands beside it.
"""

from __future__ import annotations

import math

import pytest

from galleyproof.sizing import conductors as c
from galleyproof.sizing import control_power as cp
from galleyproof.sizing import control_wires, drives, grounds, panel, power, raceways
from galleyproof.sizing import motors as m
from galleyproof.sizing import voltage_drop as vd
from galleyproof.sizing.conductors import Surroundings
from galleyproof.sizing.motors import Motor
from galleyproof.sizing.raceways import Filling
from galleyproof.sizing.steps import SizingError
from galleyproof.tables import class2, protection, sensors
from galleyproof.tables import conductors as tables
from galleyproof.tables.reader import TableError

pytestmark = pytest.mark.outside


def said(reasoned: object) -> str:
    return " ".join(reasoned.lines())  # type: ignore[attr-defined]


def test_01_which_current():
    """430.6(A): table current for conductors and devices, nameplate for overloads; some motors only by nameplate."""
    motor = Motor(5.0, 208.0, 3, nameplate_a=14.2, service_factor=1.15)
    flc = m.full_load_a(motor)
    assert flc.value == 16.7
    assert m.branch_min_ampacity_a(flc).value == pytest.approx(1.25 * 16.7)
    assert m.branch_ocpd_max_a(flc, "inverse_time_breaker").value == 45.0  # 41.75 A up
    assert m.overload_max_a(motor).value == pytest.approx(1.25 * 14.2)
    assert "rules the overload only" in said(flc)
    for why in (
        "EC motor",
        "shaded-pole or PSC fan motor",
        "multispeed",
        "low speed or high torque",
        "listed appliance",
    ):
        by_plate = Motor(None, 208.0, 3, nameplate_a=4.4, nameplate_why=why)  # type: ignore[arg-type]
        assert m.full_load_a(by_plate).value == 4.4
        assert why in said(m.full_load_a(by_plate))
    with pytest.raises(SizingError, match="give the nameplate current"):
        m.full_load_a(Motor(1.0, 208.0, 3, nameplate_why="EC motor"))


@pytest.mark.parametrize(
    ("hp", "system_v", "phases", "flc_a"),
    # Tables 430.248 and 430.250: 208 V has its own column; web copies print 2.1 for 1-1/2 hp at 575 V and 2.0 or 2.1
    # for 1/2 hp at 230 V, the tables have 2.4 and 2.2
    [
        (5.0, 208.0, 3, 16.7),
        (5.0, 240.0, 3, 15.2),
        (5.0, 480.0, 3, 7.6),
        (0.5, 120.0, 1, 9.8),
        (1.5, 600.0, 3, 2.4),
        (0.5, 240.0, 3, 2.2),
    ],
)
def test_02_voltage_column(hp: float, system_v: float, phases: int, flc_a: float):
    assert m.full_load_a(Motor(hp, system_v, phases)).value == flc_a


def test_02_no_column_for_277_v():
    with pytest.raises(TableError, match=r"277 V is not a column.*nearest: 230 V"):
        m.full_load_a(Motor(1.0, 277.0, 1))


def test_03_terminals():
    """110.14(C)(1): 60 degC to 100 A unless marked; 75 degC above; design B, C, D motors; 90 only to start from."""
    assert c.terminal_column_degc(100.0).value == 60
    assert c.terminal_column_degc(101.0).value == 75
    assert c.terminal_column_degc(30.0, marked_degc=75).value == 75
    assert c.terminal_column_degc(30.0, design_bcd_motor=True).value == 75
    assert c.terminal_column_degc(30.0, marked_degc=90).value == 75
    # 10 AWG THWN-2 may start from 40 A (90 degC), but ends at the 30 A or 35 A of its terminals
    assert c.usable_ampacity_a("10", 60).value == 30.0
    assert c.usable_ampacity_a("10", 75).value == 35.0
    # with nine companions 40 A x 0.7 = 28 A is below both: the adjustment starts from 90 degC, not from 60
    assert c.usable_ampacity_a("10", 60, around=Surroundings(current_carrying=9)).value == pytest.approx(28.0)
    # 28 A needed: 10 AWG at 60 degC terminals; using the 75 degC column would leave 12 AWG out too, 25 A
    assert c.conductor_size(22.0, 60).value == "10"
    assert c.conductor_size(22.0, 75).value == "12"


def test_04_rounding_up_or_down():
    """Up: 430.52(C)(1), 240.4(B) to 800 A, 450.3(B) at 125 percent. Down: 430.62, 430.53(C)(4), 240.4(C)."""
    assert m.branch_ocpd_max_a(22.0, "inverse_time_breaker").value == 60.0  # 55 up
    assert m.feeder_ocpd_max_a(100.0, [14.0, 7.6], "fuse").value == 110.0  # 121.6 down
    assert m.group_ocpd_max_a(100.0, [14.0, 7.6], "fuse").value == 110.0
    assert c.ocpd_max_for_ampacity_a(65.0).value == 70.0
    assert c.ocpd_max_for_ampacity_a(65.0, multi_receptacle=True).value == 60.0
    assert c.ocpd_max_for_ampacity_a(1100.0).value == 1000.0
    # 12 A primary, 125 percent = 15 A exactly; 10 A: 12.5 up to 15; both windings 250 percent: 7.8 down to 6
    assert cp.transformer_primary_ocpd_a(10.0, "primary_only").value == 15.0
    assert cp.transformer_primary_ocpd_a(3.125, "primary_and_secondary").value == 6.0


def test_04_fractions_are_never_dropped():
    """Annex D may read 50.1 A as 50 A; Galleyproof does not, in either direction."""
    assert m.branch_ocpd_max_a(50.1 / 3.0, "nontime_delay_fuse").value == 60.0
    assert m.branch_ocpd_max_a(50.0 / 2.5, "inverse_time_breaker").value == 50.0
    assert m.feeder_ocpd_max_a(45.0, [4.9], "inverse_time_breaker").value == 45.0
    assert m.feeder_ocpd_max_a(45.0, [5.0], "inverse_time_breaker").value == 50.0
    # 3 x 34 A stays 102 A and goes to 110 A
    assert m.branch_ocpd_max_a(34.0, "nontime_delay_fuse").value == 110.0


def test_05_largest_motor_once():
    """430.24: once even with equal motors; other continuous loads have their own 125 percent."""
    assert m.feeder_min_ampacity_a([28.0] * 4).value == 119.0
    assert m.feeder_min_ampacity_a([28.0] * 4, other_continuous_a=10.0).value == 131.5
    assert m.feeder_min_ampacity_a([28.0] * 4, other_noncontinuous_a=10.0).value == 129.0


def test_06_small_conductors_and_240_4_g():
    """The caps of 240.4(D) bind lighting and other taps; motor branch circuits follow article 430."""
    motor = c.conductor_size(20.0, 75, ocpd_a=40.0, ocpd_by_article_430=True)
    light = c.conductor_size(16.0, 75, ocpd_a=20.0)
    assert motor.value == "14"
    assert "240.4(G)" in said(motor)
    assert light.value == "12"
    assert any(text.startswith("14 AWG") for text in light.passed_over)
    for size, cap in (("14", 15.0), ("12", 20.0), ("10", 30.0)):
        assert c.ocpd_max_for_conductor_a(size, 75).value == cap


def test_07_service_factor_or_rise():
    """430.32(A)(1): alternatives, not conditions together."""
    both = {
        (1.15, None): 1.25,
        (None, 40.0): 1.25,
        (1.0, 40.0): 1.25,
        (1.15, 55.0): 1.25,
        (1.0, 55.0): 1.15,
        (None, None): 1.15,
    }
    for (factor, rise), ratio in both.items():
        motor = Motor(5.0, 230.0, 3, nameplate_a=10.0, service_factor=factor, rise_degc=rise)
        assert m.overload_max_ratio(motor).value == ratio
    cannot = Motor(5.0, 230.0, 3, nameplate_a=10.0, service_factor=1.15)
    assert m.overload_max_ratio(cannot, cannot_start=True).value == 1.40


def test_08_drives():
    """430.122: input by the drive's rating, output by the motor; one phase draws sqrt(3) times as much at least."""
    flc = m.full_load_a(Motor(5.0, 208.0, 3))
    assert drives.supply_min_ampacity_a(24.0).value == 30.0
    assert drives.output_min_ampacity_a(flc).value == pytest.approx(1.25 * 16.7)
    ideal = drives.single_phase_input_a(flc, 208.0, 208.0)
    assert ideal.value == pytest.approx(math.sqrt(3.0) * 16.7)
    assert "confirm it from the drive's rating plate" in said(ideal)
    marked = drives.single_phase_input_a(flc, 208.0, 208.0, marked_input_a=36.0)
    assert marked.value == 36.0
    # a marking below equal power cannot be a single-phase rating
    assert drives.single_phase_input_a(flc, 208.0, 208.0, marked_input_a=18.0).value == ideal.value
    assert drives.supply_min_ampacity_a(marked).value == 45.0
    # the drive's instructions go before the table
    assert drives.drive_ocpd_max_a(flc, "inverse_time_breaker", marked_max_a=30.0).value == 30.0
    # without a single-phase rating: half of its output
    assert drives.single_phase_min_output_a(16.7).value == pytest.approx(33.4)


def test_09_class_2_and_power():
    """725.136 and 725.130; chapter 9 Table 11: 30 V rms, 60 V DC; wet contact 15 V AC, 30 V DC."""
    apart = raceways.may_share("line voltage", "Class 2")
    assert apart.value.allowed is False
    ways = " ".join(apart.value.conditions)
    for word in ("separate raceway", "barrier", "1/4 in", "run as Class 1", "overcurrent protection"):
        assert word in ways
    assert raceways.may_share("Class 2", "data").value.allowed is True
    # the order of the two does not matter
    assert raceways.may_share("Class 2", "line voltage").value == apart.value
    assert class2.wet_contact_max_v("ac").value == 15.0
    assert class2.wet_contact_max_v("dc").value == 30.0
    assert cp.class2_limits("ac", 30.0, inherently_limited=False).value.circuit_class == 2
    with pytest.raises(TableError, match="31 V ac"):
        cp.class2_limits("ac", 31.0, inherently_limited=False)
    assert cp.class2_limits("dc", 60.0, inherently_limited=False).value.circuit_class == 2


def test_10_equipment_grounds():
    """Table 250.122; raised in proportion for any reason, never above the phase; counts in fill, not in derating."""
    assert grounds.egc_size(20, "12").value == "12"
    raised = grounds.egc_size(20, "8", "12")
    assert raised.value == "8"
    assert "250.122(B)" in said(raised)
    # 100 A device behind 14 AWG motor conductors: the table says 8 AWG, the conductors are 14 AWG
    assert grounds.egc_size(100, "14").value == "14"
    # correction and adjustment do not raise it: the needed size has them in it
    assert grounds.egc_size(20, "8", "8").value == "12"
    circuit = raceways.RacewayCircuit("a", 12.0, raceways.CircuitWires(3), 75, 20.0)
    found = raceways.settle_shared_raceway([circuit], "EMT").value
    assert found.current_carrying == 3
    assert sum(f.count for f in found.filling) == 4


def test_11_voltage_drop():
    """Table 8 is DC at 75 degC, Table 9 to neutral; K = 12.9 is an average; 20 degC figures are 18 percent low."""
    assert vd.dc_drop_v("14", 10, 100).value == pytest.approx(2 * 10 * 3.14 * 0.1)  # stranded row
    assert vd.dc_drop_v("14", 10, 100, stranded=False).value == pytest.approx(2 * 10 * 3.07 * 0.1)
    # note 2: from 75 to 20 degC 1 - 0.00323 x 55 = 0.822; the handbook prints 2.57 or 2.525 ohm/kft at 20 degC
    assert vd.dc_drop_v("14", 10, 100, stranded=False, conductor_degc=20.0).value == pytest.approx(
        2 * 10 * 3.07 * 0.82235 * 0.1
    )
    assert 0.80 < 2.57 / 3.14 < 0.83
    # Table 9 12 AWG in steel: 2.0 and 0.068 ohm/kft to neutral
    to_neutral = 2.0 * 0.85 + 0.068 * math.sin(math.acos(0.85))
    one, three = (vd.ac_drop_v("12", 10, 100, n, 0.85).value for n in (1, 3))
    assert one == pytest.approx(2.0 * 10 * to_neutral * 0.1)
    assert three == pytest.approx(math.sqrt(3.0) * 10 * to_neutral * 0.1)
    by_k, by_table = (vd.dc_drop_v("12", 10, 100, by_k=k).value for k in (True, False))
    assert by_k == pytest.approx(by_table, rel=0.01)
    warm = tables.resistance_at_degc(1.0, 30.0, "al").value
    assert warm == pytest.approx(1.0 + 0.00330 * (30.0 - 75.0))


def test_12_conduit_fill():
    """53, 31 and 40 percent; note 7 for equal conductors only; 11 where Annex C prints 12 for 6 AWG in 1-1/4 EMT."""
    usable = [raceways.fill_share_ratio([Filling("12", n)], "EMT", "1") for n in (1, 2, 3)]
    areas = [n * 0.0133 / r.value for n, r in zip((1, 2, 3), usable, strict=True)]
    inside = 0.864
    assert areas == pytest.approx([0.53 * inside, 0.31 * inside, 0.40 * inside], rel=0.002)
    assert raceways.max_count("EMT", "1-1/4", "6").value == 11
    # 21.96 of 14 AWG in 3/4 EMT: 22 equal ones go in, the same area of two kinds does not
    assert raceways.trade_size_for([Filling("14", 22)], "EMT").value == "3/4"
    mixed = [Filling("14", 21), Filling("14", 1, "XHHW-2")]
    assert raceways.trade_size_for(mixed, "EMT").value == "1"


def test_13_lines_and_phases():
    """Three equal line-to-line loads give sqrt(3) I, not 2 I; working space goes by voltage to ground."""
    assert power.delta_lines_a(14, 14, 14).value == pytest.approx((14 * math.sqrt(3.0),) * 3)
    assert power.line_to_neutral_v(480).value == pytest.approx(277.1, abs=0.05)
    assert power.line_to_neutral_v(208).value == pytest.approx(120.1, abs=0.05)
    space = panel.working_space(panel.v_to_ground("480Y/277 V"), "grounded wall").value
    assert (space.depth_inch, space.condition) == (42.0, 2)
    assert panel.working_space(panel.v_to_ground("208Y/120 V"), "grounded wall").value.depth_inch == 36.0


def test_14_control_transformers_and_taps():
    """Primary below 2 A: 300 percent alone, 500 percent in motor control; taps that leave: 7, 10 and 45 A."""
    assert cp.transformer_primary_max_a(1.04, "primary_only").value == pytest.approx(3.12)
    assert cp.transformer_primary_max_a(1.04, "motor_control_circuit").value == pytest.approx(5.2)
    with pytest.raises(TableError, match="below 2 A only"):
        cp.transformer_primary_max_a(2.0, "motor_control_circuit")
    taps = {s: control_wires.control_ocpd_max_a(s, "motor control", "tapped_leaving").value for s in ("18", "16", "14")}
    assert taps == {"18": 7.0, "16": 10.0, "14": 45.0}
    assert protection.control_circuit_max_ocpd_a("14", "tapped_inside").value == 100.0


def test_15_sensors():
    """Pt1000: 3.85 ohm/K over 0 to 100 degC, less when hot; two-wire leads read warm; one-Beta curves drift apart."""
    slope_cold = (sensors.pt_ohm(100).value - sensors.pt_ohm(0).value) / 100.0
    slope_hot = (sensors.pt_ohm(151).value - sensors.pt_ohm(149).value) / 2.0
    assert slope_cold == pytest.approx(3.85, abs=0.005)
    assert slope_hot == pytest.approx(3.74, abs=0.01)
    loop = vd.conductor_ohm(tables.dc_resistance_ohm_per_kft("18").value, 400.0).value
    warm_by = sensors.pt_degc(sensors.pt_ohm(150).value + loop).value - 150.0
    assert warm_by == pytest.approx(loop / slope_hot, rel=0.01)
    # a Beta fitted from 25 to 50 degC against the real curve at 120 degC: more than a kelvin off
    real = sensors.ntc_10k_curve("2")
    beta = math.log(real.ohm(25.0) / real.ohm(50.0)) / (1.0 / 298.15 - 1.0 / 323.15)
    fitted = sensors.beta_curve(10_000.0, beta)
    assert abs(fitted.degc(real.ohm(50.0)) - 50.0) < 0.05
    assert abs(fitted.degc(real.ohm(120.0)) - 120.0) > 1.0


def test_edition_changes_only_the_numbers_of_tables_and_the_10_a_breaker():
    """2020 to 2023: 10 A became a breaker rating, two tables were renumbered; figures stayed."""
    for edition in ("2020", "2023"):
        flc = m.full_load_a(Motor(5.0, 208.0, 3), edition)  # type: ignore[arg-type]
        assert flc.value == 16.7
        assert all(cite.edition in ("", edition) for cite in flc.basis)
    small = {e: m.branch_ocpd_max_a(3.5, "inverse_time_breaker", edition=e).value for e in ("2020", "2023")}  # type: ignore[arg-type]
    assert small == {"2020": 15.0, "2023": 10.0}
    old = m.branch_ocpd_max_a(22.0, "inverse_time_breaker", edition="2020")
    new = m.branch_ocpd_max_a(22.0, "inverse_time_breaker")
    assert (old.value, new.value) == (60.0, 60.0)
    assert "Table 430.52" in [cite.place for cite in old.basis]
    assert "Table 430.52(C)(1)" in [cite.place for cite in new.basis]
