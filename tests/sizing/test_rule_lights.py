"""Hood lights on contacts and circuits."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from galleyproof.sizing import lights
from galleyproof.sizing.lights import LightLoad
from galleyproof.sizing.steps import SizingError

loads = st.lists(
    st.tuples(st.floats(20.0, 1200.0), st.sampled_from(["LP-1/2", "LP-1/4"])), min_size=1, max_size=12
).map(lambda rows: [LightLoad(f"H-{n}", w, circuit) for n, (w, circuit) in enumerate(rows, start=1)])


@settings(max_examples=40, deadline=None)
@given(loads, st.randoms(use_true_random=False))
def test_every_hood_is_on_one_contact_within_its_rating(hoods: list[LightLoad], random):
    found = lights.group_lights(hoods, 120.0)
    names = [name for contact in found.value for name in contact.names]
    by_name = {h.name: h for h in hoods}
    assert sorted(names) == sorted(by_name)
    for contact in found.value:
        assert contact.load_w <= 1200.0 + 1e-6
        assert contact.load_w == pytest.approx(math.fsum(by_name[n].load_w for n in contact.names))
        assert {by_name[n].circuit for n in contact.names} == {contact.circuit}
    shuffled = list(hoods)
    random.shuffle(shuffled)
    assert lights.group_lights(shuffled, 120.0) == found


@settings(max_examples=40, deadline=None)
@given(loads)
def test_at_most_one_contact_of_a_circuit_is_half_empty(hoods: list[LightLoad]):
    """Two contacts of 600 W or less would have been one."""
    for circuit in {h.circuit for h in hoods}:
        contacts = [c for c in lights.group_lights(hoods, 120.0).value if c.circuit == circuit]
        assert len([c for c in contacts if c.load_w <= 600.0]) <= 1


def test_a_contact_of_1450_watts_is_over():
    """1,450 W at 120 V is 12.1 A, above the 10 A of a light contact."""
    used = lights.contact_use_ratio(1450.0, 120.0)
    assert used.value == pytest.approx(1450.0 / 1200.0)
    with pytest.raises(SizingError, match=r"H-1: 1450 W is above the 1200 W of one contact; switch them over"):
        lights.group_lights([LightLoad("H-1", 1450.0)], 120.0)


def test_a_circuit_carries_80_percent():
    """1,920 W on 20 A and 120 V is 80 percent: just enough; one watt more is not (NFPA 70 210.20(A))."""
    assert lights.circuit_min_a(1920.0, 120.0).value == pytest.approx(20.0)
    assert lights.circuit_min_a(1921.0, 120.0).value > 20.0
    assert "210.20(A)" in str(lights.circuit_min_a(1920.0, 120.0).basis)


def test_power_factor_counts_in_current_and_on_the_contact():
    assert lights.lights_a(900.0, 120.0, 0.9).value == pytest.approx(900.0 / 108.0)
    assert lights.contact_max_w(120.0, 0.9).value == pytest.approx(1080.0)


def test_inrush_of_filaments_and_drivers():
    """10 to 15 times for cold filaments (common practice); drivers only by their maker."""
    steady = 600.0 / 120.0
    peak = lights.inrush_peak_a(600.0, 120.0, "incandescent").value
    assert 10.0 * steady <= peak <= 15.0 * steady
    unknown = lights.inrush_peak_a(600.0, 120.0, "electronic driver")
    assert unknown.value is None
    assert "rated for electronic ballasts" in " ".join(unknown.lines())
    known = lights.inrush_peak_a(600.0, 120.0, "electronic driver", drivers=6, peak_each_a=30.0)
    assert known.value == 180.0
    assert lights.inrush_peak_a(50.0, 120.0, "electronic driver", drivers=1, peak_each_a=30.0).value == 30.0


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: lights.lights_a(-1.0, 120.0), "load_w=-1 W"),
        (lambda: lights.lights_a(100.0, 0.0), "supply_v=0 V"),
        (lambda: lights.lights_a(100.0, 120.0, 1.1), "power_factor=1.1"),
        (lambda: lights.contact_max_w(120.0, contact_a=0.0), "contact_a=0 A"),
        (lambda: lights.inrush_peak_a(100.0, 120.0, "candle"), "choose one of incandescent, electronic driver"),
        (lambda: lights.inrush_peak_a(100.0, 120.0, "electronic driver", peak_each_a=9.0), "at least 1"),
        (lambda: lights.group_lights([LightLoad("H-1", 10), LightLoad("H-1", 20)], 120.0), "two light loads"),
    ],
)
def test_refusals(call, words: str):
    with pytest.raises(SizingError, match=words):
        call()
