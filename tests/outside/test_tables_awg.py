"""AWG geometry against the published rule d = 0.005 in x 92^((36-n)/39) (ASTM B258)."""

from __future__ import annotations

import math

import pytest

from galleyproof.tables import conductors, load

pytestmark = pytest.mark.outside

# The gauge is fixed by two published diameters: 36 AWG is 0.0050 in, 4/0 AWG is 0.4600 in; 39 equal
# ratios lie between.
NUMBERS = {**{str(n): n for n in range(1, 25)}, "1/0": 0, "2/0": -1, "3/0": -2, "4/0": -3}


@pytest.mark.parametrize(("size", "n"), NUMBERS.items())
def test_row_follows_the_rule(size: str, n: int):
    row = load("astm_b258_2018_awg").exact(size=size)
    diameter = 0.005 * 92 ** ((36 - n) / 39)
    assert row.number("n") == n
    assert row.number("diameter_inch") == pytest.approx(diameter, abs=0.00005)
    assert row.number("diameter_mm") == pytest.approx(diameter * 25.4, abs=0.00005)
    assert row.number("circular_mils") == pytest.approx((diameter * 1000) ** 2, abs=0.05)
    area = math.pi / 4 * (diameter * 25.4) ** 2
    assert row.number("area_mm2") == pytest.approx(area, abs=0.00005)
    assert row.number("r20_cu_solid_ohm_per_km") == pytest.approx(17.241 / area, abs=0.00006)
    assert conductors.awg_diameter_inch(size).value == pytest.approx(diameter, rel=1e-12)
    assert conductors.awg_area_mm2(size).value == pytest.approx(area, rel=1e-12)


def test_every_row_is_checked():
    assert {r.label("size") for r in load("astm_b258_2018_awg").all_rows()} == set(NUMBERS)


@pytest.mark.parametrize(("size", "diameter_inch"), [("12", 0.0808), ("4/0", 0.46)])
def test_published_diameters(size: str, diameter_inch: float):
    """University physics table of wire gauges."""
    assert conductors.awg_diameter_inch(size).value == pytest.approx(diameter_inch, abs=0.00005)


def test_39_steps_span_the_ratio_92():
    """From the definition: the diameters of 4/0 and 36 AWG are in the ratio 92, over 39 steps."""
    assert conductors.awg_diameter_inch("4/0").value / 0.005 == pytest.approx(92.0)


def test_table_8_prints_the_rule():
    """NFPA 70 chapter 9 Table 8 rounds the circular mils of the rule to three or four digits."""
    checked = 0
    for row in load("nfpa70_2023_ch9_table_8").all_rows():
        if row.label("size") in NUMBERS:
            rule = (conductors.awg_diameter_inch(row.label("size")).value * 1000) ** 2
            assert row.number("circular_mils") == pytest.approx(rule, rel=0.003)
            checked += 1
    assert checked == 21


def test_order_is_by_thickness():
    """Circular mils of Table 8 rise along AWG_ORDER."""
    areas = [conductors.circular_mils(s).value for s in conductors.AWG_ORDER if _in_table_8(s)]
    assert len(areas) == 20
    assert areas == sorted(areas)
    diameters = [conductors.awg_diameter_inch(s).value for s in conductors.AWG_ORDER if s in NUMBERS]
    assert len(diameters) == 28
    assert diameters == sorted(diameters)


def _in_table_8(size: str) -> bool:
    return bool(load("nfpa70_2023_ch9_table_8").all_rows(size=size))
