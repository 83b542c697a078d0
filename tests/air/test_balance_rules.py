"""Balance: operating points, densities, pressure, make-up temperature, hoods on one fan; worked by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from galleyproof.air import balance as ab
from galleyproof.air.balance import Constant, Exhaust, HoodDemand, Kitchen, Makeup, OperatingPoint, OtherAir, Ratio
from galleyproof.tables import TableError

FANS = (Exhaust("EF-1", 4000.0, min_ratio=0.5), Exhaust("EF-2", 2000.0, min_ratio=0.6), Exhaust("EF-3", 500.0))
KITCHEN = Kitchen(exhausts=(Exhaust("EF-1", 4000.0, 0.5),), makeups=(Makeup("MUA-1", 3200.0, ("EF-1",), Ratio(0.8)),))
FULL = OperatingPoint("all at design", (("EF-1", 1.0),))


def test_operating_points_that_every_kitchen_must_be_looked_at():
    """Not only full flow: all idle, and each fan against the others; a fan without speed has no idle of its own."""
    points = {p.name: dict(p.ratios) for p in ab.operating_points(FANS)}
    assert points == {
        "all at design": {"EF-1": 1.0, "EF-2": 1.0, "EF-3": 1.0},
        "all idle": {"EF-1": 0.5, "EF-2": 0.6, "EF-3": 1.0},
        "EF-1 at design, the others idle": {"EF-1": 1.0, "EF-2": 0.6, "EF-3": 1.0},
        "EF-2 at design, the others idle": {"EF-1": 0.5, "EF-2": 1.0, "EF-3": 1.0},
    }


def test_one_fan_without_speed_has_one_point():
    assert [p.name for p in ab.operating_points((Exhaust("EF-1", 4000.0),))] == ["all at design"]


def test_no_point_stands_twice():
    points = ab.operating_points(
        (Exhaust("EF-1", 4000.0, 0.5), Exhaust("EF-2", 2000.0, 0.5), Exhaust("EF-3", 900.0, 0.7))
    )
    assert len({p.ratios for p in points}) == len(points) == 8


def test_at_one_temperature_the_balance_is_the_plain_sum():
    found = ab.balance(KITCHEN, FULL)
    assert (found.exhaust_cfm, found.makeup_cfm, found.transfer_cfm) == (4000.0, 3200.0, pytest.approx(800.0))
    assert found.makeup_share_ratio == pytest.approx(0.80)


def test_hot_exhaust_carries_less_mass():
    """4000 cfm at 140 degF is 4000 x 534.67/599.67 = 3566 cfm of 75 degF air; 366 cfm remain for transfer."""
    hot = replace(KITCHEN, exhausts=(Exhaust("EF-1", 4000.0, 0.5, air_degf=140.0),))
    found = ab.balance(hot, FULL)
    assert found.transfer_cfm == pytest.approx(4000.0 * 534.67 / 599.67 - 3200.0, rel=1e-9)
    assert found.transfer_cfm == pytest.approx(366.4, abs=0.1)


def test_cold_make_up_carries_more_mass():
    """3200 cfm counted at 55 degF: 3200 x 534.67/514.67 = 3324 cfm of room air."""
    cold = replace(KITCHEN, makeups=(replace(KITCHEN.makeups[0], supply_degf=55.0),))
    found = ab.balance(cold, FULL)
    assert found.transfer_cfm == pytest.approx(4000.0 - 3200.0 * 534.67 / 514.67, rel=1e-9)
    # 55 and 75 degF, weighted by mass
    masses = (3200.0 / 514.67, found.transfer_cfm / 534.67)
    mean = (55.0 * masses[0] + 75.0 * masses[1]) / sum(masses)
    assert found.entering_degf == pytest.approx(mean, abs=1e-6)


def test_altitude_changes_no_volume():
    """All streams thin alike: fans move volume."""
    high = replace(KITCHEN, altitude_ft=7000.0)
    assert ab.balance(high, FULL).transfer_cfm == pytest.approx(800.0)
    assert ab.balance(high, FULL).transfer.mass_lb_per_min < ab.balance(KITCHEN, FULL).transfer.mass_lb_per_min


def test_make_up_is_off_with_its_exhaust():
    """IMC 508.1: interlocked; the rooftop unit that nobody stops then blows the kitchen positive."""
    alone = replace(
        KITCHEN, makeups=(Makeup("MUA-1", 3200.0, ("EF-1",), Constant()),), others=(OtherAir("RTU-1", 600.0),)
    )
    off = ab.balance(alone, OperatingPoint("off", (("EF-1", 0.0),)))
    assert off.makeup_cfm == 0.0
    assert off.transfer_cfm == pytest.approx(-600.0)
    assert off.positive
    assert off.makeup_share_ratio is None


def test_nothing_moves_nothing_enters():
    off = ab.balance(KITCHEN, OperatingPoint("off", (("EF-1", 0.0),)))
    assert off.entering_degf is None
    assert not off.positive


@pytest.mark.parametrize(
    ("transfer_cfm", "sqft", "inwc"), [(800.0, 8.0, -0.00148), (-400.0, 4.0, 0.00148), (2600.0, 8.0, -0.0156)]
)
def test_pressure_across_an_opening(transfer_cfm: float, sqft: float, inwc: float):
    """(V / 4005)^2 with V = cfm / (0.65 x sq ft): 800 cfm through 8 sq ft is 153.8 fpm and 0.00148 in wc."""
    by_hand = (abs(transfer_cfm) / (0.65 * sqft) / 4005.0) ** 2
    found = ab.kitchen_pressure_inwc(transfer_cfm, sqft)
    assert abs(found.value) == pytest.approx(by_hand, rel=1e-3)
    assert found.value == pytest.approx(inwc, rel=0.005)
    assert found.doubts  # the coefficient is from memory


def test_pressure_limit_is_that_of_the_fire_code():
    """NFPA 96: at most 0.02 in wc below the next room; seen second-hand."""
    limit = ab.max_kitchen_negative_inwc()
    assert limit.value == 0.02
    assert limit.doubts


@pytest.mark.parametrize(
    ("supply", "standard", "limit", "fulfilled"),
    [(65.0, "IMC", 10.0, True), (85.0, "IMC", 10.0, True), (64.9, "IMC", 10.0, False),
     (52.0, "New York City Mechanical Code", 25.0, True), (45.0, "New York City Mechanical Code", 25.0, False)],
)  # fmt: skip
def test_make_up_temperature(supply: float, standard: str, limit: float, fulfilled: bool):
    """IMC 508.1.1: within 10 degF of the room unless the air serves its load; one city allows 25 and no more."""
    found = ab.makeup_temperature_difference_degf(supply, 75.0, standard=standard)
    assert (found.max_degf, found.fulfilled) == (limit, fulfilled)
    assert found.difference_degf == pytest.approx(abs(supply - 75.0))


def test_make_up_temperature_of_an_unknown_code():
    with pytest.raises(TableError):
        ab.makeup_temperature_difference_degf(65.0, 75.0, standard="Saltmarrow bylaw")


def test_the_worst_hood_sets_the_speed_of_a_shared_fan():
    """2000 cfm asks for all, 3000 for half: the second gets 1500 cfm more than it wants (common practice)."""
    speed, shares = ab.shared_fan([HoodDemand("H-1", 2000.0, 1.0), HoodDemand("H-2", 3000.0, 0.5)])
    assert speed.value == 1.0
    assert [(s.wanted_cfm, s.given_cfm, s.over_cfm) for s in shares] == [
        (2000.0, 2000.0, 0.0),
        (1500.0, 3000.0, 1500.0),
    ]
    assert any("that of H-1" in line for line in speed.lines())
    assert any("1500 cfm" in line for line in speed.lines())


def test_exhaust_is_short_only_of_what_cannot_enter():
    assert ab.exhaust_shortfall_cfm(8000.0, 6000.0).value == 2000.0
    assert ab.exhaust_shortfall_cfm(8000.0, 9000.0).value == 0.0
