"""Coils of shutdown circuits, pole spaces, ground-fault protection."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from galleyproof.sizing import shutdowns
from galleyproof.sizing.steps import SizingError
from galleyproof.sizing.voltage_drop import coil_v


@pytest.mark.parametrize(
    ("kind", "low", "high"),
    [("shunt trip", 84.0, 132.0), ("contactor", 102.0, 132.0), ("gas valve", 102.0, 132.0)],
)
def test_windows_of_120_v_coils(kind, low: float, high: float):
    """IEC 60947-1: shunt releases 70 to 110 percent; IEC 60947-4-1: contactors 85 to 110 percent."""
    assert shutdowns.coil_window_v(kind, 120.0).value == pytest.approx((low, high))


def test_a_coil_of_the_wrong_voltage():
    """A 24 V coil on 120 V burns, a 120 V coil on 24 V never trips; both are told with a cure."""
    burns = shutdowns.coil_in_window("shunt trip", 24.0, 120.0)
    weak = shutdowns.coil_in_window("shunt trip", 120.0, 24.0)
    assert (burns.value, weak.value) == (False, False)
    assert "26.4 V allowed; a coil of the supply's voltage" in burns.passed_over[0]
    assert "84 V needed" in weak.passed_over[0]


@settings(max_examples=30, deadline=None)
@given(st.floats(10.0, 1000.0), st.floats(0.1, 4.0), st.floats(1.0, 500.0))
def test_a_longer_run_never_brings_a_coil_into_its_window(run_ft: float, load_a: float, more_ft: float):
    near = shutdowns.coil_in_window("contactor", 120.0, coil_v(120.0, [("14", run_ft)], load_a))
    far = shutdowns.coil_in_window("contactor", 120.0, coil_v(120.0, [("14", run_ft + more_ft)], load_a))
    assert near.value or not far.value


def test_markings_go_before_the_usual_window():
    marked = shutdowns.coil_window_v("shunt trip", 120.0, min_ratio=0.55)
    assert marked.value == pytest.approx((66.0, 132.0))
    assert "marked on the coil" in " ".join(marked.lines())
    assert "IEC 60947-1" in " ".join(marked.lines())


def test_a_coil_left_on_burns_out():
    assert shutdowns.shunt_coil_lasts(cut_off_contact=True).value is True
    assert shutdowns.shunt_coil_lasts(cut_off_contact=False, pulse=True).value is True
    left_on = shutdowns.shunt_coil_lasts(cut_off_contact=False)
    assert left_on.value is False
    assert "cut-off contact" in left_on.passed_over[0]


@pytest.mark.parametrize("poles", [1, 2, 3])
def test_a_shunt_trip_takes_one_space_more(poles: int):
    assert shutdowns.pole_spaces(poles, shunt_trip=False).value == poles
    assert shutdowns.pole_spaces(poles, shunt_trip=True).value == poles + 1


@pytest.mark.parametrize(
    ("to_ground", "breaker_a", "phases", "cord", "asked"),
    [
        (120.0, 20.0, 1, True, True),
        (120.0, 50.0, 1, True, True),
        (120.0, 60.0, 1, True, False),
        (120.0, 100.0, 3, True, True),
        (120.0, 110.0, 3, True, False),
        (150.0, 20.0, 1, True, True),
        (277.0, 20.0, 1, True, False),
        (120.0, 20.0, 1, False, False),
    ],
)
def test_receptacles_in_kitchens(to_ground: float, breaker_a: float, phases: int, cord: bool, asked: bool):
    """210.8(B): 150 V to ground; 50 A single-phase, 100 A three-phase (from memory)."""
    found = shutdowns.ground_fault_asked(to_ground, breaker_a, phases, cord_and_plug=cord)
    assert found.value is asked
    assert found.doubts  # the clause says that it was not seen


def test_neither_stands_in_for_the_other():
    words = " ".join(shutdowns.never_substitutes())
    assert "NFPA 96 10.4.1" in words
    assert "210.8(B)" in words


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: shutdowns.coil_window_v("bell", 120.0), "shunt trip"),
        (lambda: shutdowns.coil_window_v("shunt trip", 0.0), "rated_v=0 V"),
        (lambda: shutdowns.coil_window_v("shunt trip", 120.0, min_ratio=1.2), "check the coil's marking"),
        (lambda: shutdowns.coil_in_window("shunt trip", 120.0, math.nan), "least=nan V"),
        (lambda: shutdowns.pole_spaces(4, shunt_trip=True), "choose one of 1, 2, 3"),
        (lambda: shutdowns.ground_fault_asked(120.0, 0.0, 1, cord_and_plug=True), "breaker_a=0 A"),
    ],
)
def test_refusals(call, words: str):
    with pytest.raises(SizingError, match=words):
        call()
