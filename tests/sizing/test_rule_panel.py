"""Feeds of the panel, its short-circuit rating, terminals and working space."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from galleyproof.sizing import panel
from galleyproof.sizing.motors import Motor, full_load_a
from galleyproof.sizing.steps import SizingError
from galleyproof.tables.protection import standard_ratings_a
from galleyproof.tables.reader import TableError

SIZES = ("14", "12", "10", "8", "6", "4", "2", "1/0", "4/0")


def test_feed_of_motors_and_control():
    """125 percent of the largest motor, the other, and 125 percent of what burns all day (409.20, 430.24)."""
    mca = panel.feed_mca_a([16.7, 7.5], continuous_a=4.0, noncontinuous_a=1.0)
    assert mca.value == pytest.approx(1.25 * 16.7 + 7.5 + 1.25 * 4.0 + 1.0)
    assert any(c.place == "409.20" for c in mca.basis)
    # 45 A is the largest breaker of the 16.7 A motor (430.52); 45 + 7.5 + 6 = 58.5, so 50 A
    mocp = panel.feed_mocp_a(
        mca, "inverse_time_breaker", largest_branch_a=45.0, other_motor_currents=[7.5], other_loads_a=6.0
    )
    assert mocp.value == 50.0
    assert "409.21(C)" in " ".join(mocp.lines())


def test_feed_device_is_never_below_the_load():
    """A sum that rounds down below the load: the smallest rating that carries it, and the reason is said."""
    mocp = panel.feed_mocp_a(22.0, "inverse_time_breaker", largest_branch_a=15.0, other_loads_a=8.0)
    assert mocp.value == 25.0
    assert "below the 22 A it has to carry" in " ".join(mocp.passed_over)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.floats(0.5, 40.0), min_size=1, max_size=4),
    st.floats(0.0, 30.0),
    st.floats(0.0, 5.0),
    st.integers(1, 3),
)
def test_feed_grows_with_its_load(motors_a: list[float], continuous_a: float, more_a: float, times: int):
    mca = panel.feed_mca_a(motors_a, continuous_a=continuous_a)
    more = panel.feed_mca_a([a * times for a in motors_a], continuous_a=continuous_a + more_a)
    assert more.value >= mca.value
    device = panel.feed_mocp_a(mca, "inverse_time_breaker")
    assert device.value in standard_ratings_a("inverse_time_breaker").value
    assert device.value >= mca.value


def test_weakest_part_and_its_use():
    rated = panel.weakest_rating_a([("main breaker", 22_000.0), ("contactor Q1", 5_000.0), ("terminals", 10_000.0)])
    assert rated.value == 5_000.0
    assert "contactor Q1" in " ".join(rated.lines())
    assert panel.short_circuit_use_ratio(10_000.0, rated).value == 2.0
    assert panel.short_circuit_use_ratio(10_000.0, rated).passed_over


@settings(max_examples=40, deadline=None)
@given(
    st.floats(500.0, 60_000.0),
    st.sampled_from([(208.0, 3), (480.0, 3), (120.0, 1), (277.0, 1)]),
    st.sampled_from(SIZES),
    st.floats(0.0, 500.0),
    st.sampled_from(["steel", "pvc", "aluminum"]),
)
def test_fault_falls_along_the_run_and_plain_sums_give_less(available, supply, size, run_ft, raceway):
    volts, phases = supply
    cautious = panel.fault_at_end_a(available, volts, size, run_ft, phases, raceway).value
    plain = panel.fault_at_end_a(available, volts, size, run_ft, phases, raceway, plain_sum=True).value
    assert plain <= cautious * (1.0 + 1e-12)
    assert cautious <= available * (1.0 + 1e-12)
    longer = panel.fault_at_end_a(available, volts, size, run_ft + 50.0, phases, raceway).value
    assert longer <= cautious * (1.0 + 1e-12)


@pytest.mark.parametrize("angle_deg", range(0, 91, 5))
def test_no_source_angle_gives_more_than_the_cautious_sum(angle_deg: int):
    """The network solved as phasors for every angle of the source impedance."""
    volts, available, size, run_ft = 208.0, 10_000.0, "6", 60.0
    from galleyproof.tables.conductors import ac_impedance, resistance_at_degc

    z = ac_impedance(size).value
    run = complex(resistance_at_degc(z.r_ohm_per_kft, 25.0).value, z.x_ohm_per_kft) * run_ft / 1000.0
    source = volts / math.sqrt(3.0) / available
    turned = source * complex(math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg)))
    true_a = volts / math.sqrt(3.0) / abs(turned + run)
    assert true_a <= panel.fault_at_end_a(available, volts, size, run_ft, 3).value * (1.0 + 1e-12)
    assert true_a >= panel.fault_at_end_a(available, volts, size, run_ft, 3, plain_sum=True).value * (1.0 - 1e-12)


def test_terminals():
    assert panel.terminal_takes("12", 1, "10").value is True
    assert panel.terminal_takes("10", 2, "10", 2).value is True
    thick, many = panel.terminal_takes("8", 1, "10"), panel.terminal_takes("14", 3, "10", 2)
    assert (thick.value, many.value) == (False, False)
    assert "larger terminal" in thick.passed_over[0]
    assert "second terminal" in many.passed_over[0]


@pytest.mark.parametrize(
    ("system", "lines", "volts"),
    [
        ("208Y/120 V", ("L1", "L2", "L3"), 120.0),
        ("480Y/277 V", ("L1", "L2", "L3"), 277.0),
        ("120/240 V high-leg delta", ("L1", "L3"), 120.0),
        ("120/240 V high-leg delta", ("L1", "L2", "L3"), 208.0),
        ("480 V delta", ("L1", "L2", "L3"), 480.0),
    ],
)
def test_voltage_to_ground(system: str, lines: tuple[str, ...], volts: float):
    """Article 100: of an ungrounded system the greatest voltage to another conductor; the high leg stands at 208 V."""
    assert panel.v_to_ground(system, lines).value == volts


def test_working_space_is_at_least_that_of_the_panel():
    space = panel.working_space(120.0, "open room", width_inch=48.0, top_inch=84.0).value
    assert (space.depth_inch, space.width_inch, space.height_inch, space.condition) == (36.0, 48.0, 84.0, 1)
    small = panel.working_space(120.0, "open room", width_inch=20.0, top_inch=70.0).value
    assert (small.width_inch, small.height_inch) == (30.0, 78.0)


@pytest.mark.parametrize(
    ("call", "error", "words"),
    [
        (lambda: panel.feed_mca_a([]), SizingError, "at least one current"),
        (lambda: panel.feed_mca_a([math.nan]), SizingError, "current=nan A"),
        (lambda: panel.feed_mocp_a(0.0, "fuse"), SizingError, "mca=0 A"),
        (lambda: panel.weakest_rating_a([]), SizingError, "at least one"),
        (lambda: panel.weakest_rating_a([("Q1", -5.0)]), SizingError, "Q1: short-circuit rating=-5 A"),
        (lambda: panel.short_circuit_use_ratio(10_000.0, 0.0), SizingError, "rating=0 A"),
        (lambda: panel.fault_at_end_a(1e4, 208.0, "12", 10.0, 2), SizingError, "choose one of 1, 3"),
        (lambda: panel.fault_at_end_a(1e4, 208.0, "12", -1.0, 3), SizingError, "run_ft=-1 ft"),
        (lambda: panel.fault_at_end_a(1e4, 208.0, "18", 10.0, 3), TableError, "18"),
        (lambda: panel.v_to_ground("230 V"), SizingError, "208Y/120 V"),
        (lambda: panel.working_space(120.0, "window"), SizingError, "grounded wall"),
        (lambda: panel.working_space(2400.0, "open room"), TableError, "2400"),
        (lambda: panel.terminal_takes("12", 1, "10", 0), SizingError, "capacity=0"),
    ],
)
def test_refusals(call, error: type[Exception], words: str):
    with pytest.raises(error, match=words):
        call()


def test_a_motor_feed_by_the_table():
    """Feed of one 5 hp 208 V motor: its own branch device (430.52) may stand ahead of the panel."""
    flc = full_load_a(Motor(5.0, 208.0, 3))
    mca = panel.feed_mca_a([flc])
    assert mca.value == pytest.approx(20.875)
    assert panel.feed_mocp_a(mca, "inverse_time_breaker", largest_branch_a=45.0).value == 45.0
