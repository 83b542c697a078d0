"""Heat of an enclosure: laws that hold whatever the figures are, and refusals."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from galleyproof.sizing import enclosure
from galleyproof.sizing.enclosure import HeatLoad
from galleyproof.sizing.steps import SizingError

watts = st.floats(1.0, 2000.0)
sides = st.floats(6.0, 90.0)
degrees = st.floats(32.0, 120.0)


@settings(max_examples=30, deadline=None)
@given(sides, sides, sides, watts, degrees)
def test_the_walls_give_off_what_the_parts_lose(w: float, h: float, d: float, heat_w: float, ambient_degf: float):
    """Back from the temperature inside to the heat: the balance closes."""
    surface = enclosure.cooling_surface_sqft(w, h, d)
    inside = enclosure.inside_degf(heat_w, surface, ambient_degf)
    back = enclosure.max_heat_w(surface, ambient_degf, inside.value)
    assert back.value == pytest.approx(heat_w, rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(sides, sides, sides, watts, st.floats(1.0, 200.0), st.floats(1.0, 30.0))
def test_more_heat_hotter_room_or_worse_wall_is_never_cooler(w, h, d, heat_w, more_w, warmer):
    surface = enclosure.cooling_surface_sqft(w, h, d).value
    usual = enclosure.inside_degf(heat_w, surface, 86.0).value
    assert enclosure.inside_degf(heat_w + more_w, surface, 86.0).value > usual
    assert enclosure.inside_degf(heat_w, surface, 86.0 + warmer).value > usual
    assert enclosure.inside_degf(heat_w, surface, 86.0, "stainless steel").value > usual
    assert enclosure.inside_degf(heat_w, enclosure.cooling_surface_sqft(w, h, d, "free-standing"), 86.0).value < usual
    assert enclosure.inside_degf(heat_w, enclosure.cooling_surface_sqft(w + 1.0, h, d), 86.0).value < usual


def test_order_of_the_parts_does_not_matter():
    parts = [HeatLoad("drive", 120.0, 2), HeatLoad("supply", 18.0), HeatLoad("controller", 8.0)]
    one, two = enclosure.total_heat_w(parts), enclosure.total_heat_w(parts[::-1])
    assert one == two
    assert one.value == 266.0
    assert enclosure.total_heat_w([*parts, HeatLoad("spare", 50.0, 0)]).value == 266.0


def test_steps_can_be_followed_by_hand():
    """The numbers of the line give its value: (1.4 x 24 x 10 + 1.4 x 24 x 30 + 1.8 x 10 x 30) / 144."""
    (line,) = enclosure.cooling_surface_sqft(24.0, 30.0, 10.0).lines()
    assert "(1.4 x 24 x 10 + 1.4 x 24 x 30 + 1.8 x 10 x 30) in2 / 144" in line
    assert f"{(1.4 * 240 + 1.4 * 720 + 1.8 * 300) / 144:.7g} sq ft" in line


@pytest.mark.parametrize(("wall", "metric"), [("painted steel", 5.5), ("stainless steel", 3.6), ("plastic", 3.5)])
def test_walls_by_their_printed_figures(wall, metric: float):
    """W/(m2 K) as printed in two public tables, the smaller where they differ (common practice)."""
    assert enclosure.wall_w_per_sqft_degf(wall).value == pytest.approx(metric * 0.3048**2 / 1.8)


def test_losses_close_the_energy_balance():
    """Input less output; the share is the maker's or the usual one."""
    assert enclosure.drive_heat_w(970.0).value == pytest.approx(30.0)
    assert enclosure.supply_heat_w(85.0).value == pytest.approx(15.0)
    assert enclosure.drive_heat_w(1000.0, 1.0).value == 0.0


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: enclosure.cooling_surface_sqft(0.0, 24.0, 8.0), "width_inch=0 in"),
        (lambda: enclosure.cooling_surface_sqft(20.0, math.nan, 8.0), "height_inch=nan in"),
        (lambda: enclosure.cooling_surface_sqft(20.0, 24.0, 8.0, "ceiling"), "choose one of wall, free-standing"),
        (lambda: enclosure.inside_degf(-1.0, 10.0, 86.0), "heat=-1 W"),
        (lambda: enclosure.inside_degf(10.0, 0.0, 86.0), "surface=0 sq ft"),
        (lambda: enclosure.inside_degf(10.0, 10.0, math.inf), "must be a temperature"),
        (lambda: enclosure.max_heat_w(10.0, 104.0, 104.0), "move it to a cooler place"),
        (lambda: enclosure.fan_airflow_cfm(100.0, 110.0, 104.0), "draw cooler air"),
        (lambda: enclosure.wall_w_per_sqft_degf("oak"), "painted steel"),
        (lambda: enclosure.drive_heat_w(100.0, 1.2), "efficiency_ratio=1.2 of a drive"),
        (lambda: enclosure.total_heat_w([HeatLoad("fan", 1.0, -1)]), "fan: count=-1"),
    ],
)
def test_refusals(call, words: str):
    with pytest.raises(SizingError, match=words.replace("(", r"\(").replace(")", r"\)")):
        call()


def test_thin_air_needs_more_of_it():
    low, high = (enclosure.fan_airflow_cfm(300.0, 86.0, 104.0, density_ratio=d).value for d in (1.0, 0.8))
    assert high == pytest.approx(low / 0.8)
