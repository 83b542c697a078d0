"""Heat of enclosures and fault current along a run against printed examples and textbook physics."""

from __future__ import annotations

import math

import pytest

from galleyproof.sizing import enclosure, panel

pytestmark = pytest.mark.outside

# A distributor's selection page for enclosures (name left out): 300 W in a painted enclosure 48 x 36 x 16 in, its
# printed chart of rise against watts per square foot of whole surface gives 30 degF.
PRINTED_RISE_DEGF = 30.0


def test_printed_enclosure_example_is_met_on_the_safe_side():
    """The page counts all six sides; our cooling surface leaves the bottom out and halves the wall side."""
    surface = enclosure.cooling_surface_sqft(36.0, 48.0, 16.0)
    rise = enclosure.inside_degf(300.0, surface, 86.0).value - 86.0
    assert PRINTED_RISE_DEGF <= rise <= 1.2 * PRINTED_RISE_DEGF


def test_wall_mounted_surface_is_the_printed_short_form():
    """IEC TR 60890 as restated on public pages: single enclosure on a wall, A = 1.4 W (H + D) + 1.8 D H."""
    w, h, d = 24.0, 30.0, 10.0
    short_form = (1.4 * w * (h + d) + 1.8 * d * h) / 144.0
    assert enclosure.cooling_surface_sqft(w, h, d).value == pytest.approx(short_form, rel=1e-12)


def test_free_standing_surface_is_the_printed_short_form():
    """Same source: free-standing on all sides, A = 1.8 H (W + D) + 1.4 W D."""
    w, h, d = 24.0, 30.0, 10.0
    short_form = (1.8 * h * (w + d) + 1.4 * w * d) / 144.0
    assert enclosure.cooling_surface_sqft(w, h, d, "free-standing").value == pytest.approx(short_form, rel=1e-12)


def test_heat_per_degree_is_that_of_textbook_films_on_the_whole_surface():
    """Two films in series, each natural convection and radiation, over the 42 sq ft of the printed example.

    Convection at a 0.5 m wall: h = 1.42 (dT / L)^0.25 W/(m2 K); radiation of paint: 4 e s T^3 (heat-transfer
    textbooks). Films give about 4.4 W/(m2 K) of whole surface; the 5.5 belongs to the smaller effective surface.
    """
    radiation = 4.0 * 0.9 * 5.670374419e-8 * (273.15 + 35.0) ** 3
    film = 1.42 * (8.0 / 0.5) ** 0.25 + radiation  # a rise of 16 K, half of it over each film
    by_films = film / 2.0 * 42.0 * 0.3048**2 * (1.0 / 1.8)  # W/degF
    ours = enclosure.max_heat_w(enclosure.cooling_surface_sqft(36.0, 48.0, 16.0), 86.0, 87.0).value
    assert 0.85 * by_films <= ours <= 1.02 * by_films


def test_fan_airflow_by_the_trade_constant():
    """1.08 Btu/h per cfm and degF (ASHRAE handbook, standard air); 3.412 Btu/h per watt."""
    by_trade = 300.0 * 3.412 / (1.08 * 18.0)
    assert enclosure.fan_airflow_cfm(300.0, 86.0, 104.0).value == pytest.approx(by_trade, rel=0.01)


# Public fault-current work sheets (names left out), point-to-point formula f = L I / (C E), M = 1 / (1 + f):
# available A, V, size, ft, phases, raceway, printed result A.
POINT_TO_POINT = (
    (200.0, 240.0, "400", 125.0, 3, "pvc", 198.0),
    (46_296.0, 240.0, "3/0", 150.0, 1, "pvc", 8_978.0),
    (8_978.0, 240.0, "6", 40.0, 1, "pvc", 4_024.0),
    (4_024.0, 240.0, "12", 30.0, 1, "pvc", 1_530.0),
)


@pytest.mark.parametrize(("available", "volts", "size", "run_ft", "phases", "raceway", "printed"), POINT_TO_POINT)
def test_printed_point_to_point_results(available, volts, size, run_ft, phases, raceway, printed):
    """Printed C values come from another impedance table, up to 7 percent from Table 9."""
    plain = panel.fault_at_end_a(available, volts, size, run_ft, phases, raceway, plain_sum=True).value
    assert plain == pytest.approx(printed, rel=0.07)
    # the cautious sum never promises less current than the print
    assert panel.fault_at_end_a(available, volts, size, run_ft, phases, raceway).value >= printed * 0.999


def test_fault_through_nothing_is_the_source():
    assert panel.fault_at_end_a(10_000.0, 208.0, "12", 0.0, 3).value == pytest.approx(10_000.0)


def test_shorted_run_on_a_stiff_source_is_ohms_law():
    """2 x 100 ft of 12 AWG at 120 V on a source a thousand times stronger."""
    ohm_per_kft = math.hypot(2.0 * (1.0 + 0.00323 * (25.0 - 75.0)), 0.068)  # Table 9: 2.0 and 0.068 in steel
    by_hand = 120.0 / (0.2 * ohm_per_kft)
    found = panel.fault_at_end_a(1e6, 120.0, "12", 100.0, 1).value
    assert found == pytest.approx(by_hand, rel=0.001)
