"""Hoods: names of appliances, listed rates, advice, and the factors of the plume method."""

from __future__ import annotations

import pytest

from galleyproof.air import exhaust, plume
from galleyproof.tables import load

# What people write on a hood schedule, and the class the trade gives it (ASHRAE and IMC classes, from memory).
DUTIES = [
    ("Gas charbroiler, 3 ft", "gas", "heavy"),
    ("open-burner range, six burners", "gas", "heavy"),
    ("Wok", "gas", "heavy"),
    ("upright broiler", "gas", "heavy"),
    ("conveyor broiler", "electric", "heavy"),
    ("salamander", "electric", "heavy"),
    ("flat griddle", "gas", "medium"),
    ("clamshell griddle", "electric", "medium"),
    ("fryers, two vats", "gas", "medium"),
    ("kettle fryer", "gas", "medium"),
    ("doughnut fryer", "electric", "medium"),
    ("element range", "electric", "medium"),
    ("solid-top range", "gas", "medium"),
    ("tilting skillet", "electric", "medium"),
    ("conveyor oven", "gas", "medium"),
    ("combi oven", "electric", "light"),
    ("convection oven", "gas", "light"),
    ("countertop conveyor oven", "electric", "light"),
    ("steamer", "electric", "light"),
    ("steam-jacketed kettle", "steam", "light"),
    ("cheesemelter", "electric", "light"),
    ("charcoal grill", "solid", "extra-heavy"),
    ("pizza oven, wood fired", "solid", "extra-heavy"),
    ("dishwasher, conveyor type", "electric", "dishwasher"),
]


@pytest.mark.parametrize(("kind", "fuel", "duty"), DUTIES)
def test_duty_of_an_appliance_as_people_call_it(kind: str, fuel: str, duty: str):
    found = exhaust.appliance_duty(kind, fuel)
    assert found is not None
    assert found.value == duty
    assert found.basis


@pytest.mark.parametrize(("kind", "fuel"), [("range", "gas"), ("", "gas"), ("espresso machine", "electric")])
def test_a_name_that_says_too_little_has_no_duty(kind: str, fuel: str):
    assert exhaust.appliance_duty(kind, fuel) is None


def test_duties_say_what_they_rest_on():
    """Most classes of the mechanical code are from memory, and the groups of the quick method are not the IMC's."""
    for kind, fuel, _ in DUTIES:
        found = exhaust.appliance_duty(kind, fuel)
        assert found is not None
        assert {c.standard for c in found.basis} == {"IMC"}
        assert found.doubts
    quick = exhaust.appliance_duty("griddle", "gas", "en16282_quick")
    assert quick is not None
    assert {c.standard for c in quick.basis} == {"EN 16282-1"}
    assert quick.doubts


@pytest.mark.parametrize(
    ("kind", "duty"),
    [
        ("boiling pan", "light"),
        ("steamer", "light"),
        ("bain-marie", "light"),
        ("stock-pot stove", "light"),
        ("deep fryer", "medium"),
        ("tilting pan", "medium"),
        ("solid-top range", "medium"),
        ("open-burner range", "medium"),
        ("griddle", "medium"),
        ("charbroiler", "heavy"),
    ],
)
def test_groups_of_the_quick_method(kind: str, duty: str):
    """EN 16282-1 quick method, groups as seen in one restatement; every row of the table is reached by a name."""
    found = exhaust.appliance_duty(kind, "gas", "en16282_quick")
    assert found is not None
    assert found.value == duty


def test_the_quick_method_has_no_class_for_what_its_table_leaves_out():
    assert exhaust.appliance_duty("convection oven", "gas", "en16282_quick") is None


def test_a_listing_stands_in_place_of_the_table():
    found = exhaust.listed_exhaust_cfm(2650.0)
    assert found.value == 2650.0
    assert "listing" in found.lines()[0]
    assert found.doubts  # the exception for listed hoods was not seen


def test_net_exhaust_says_when_too_much_is_blown_inside():
    """400 of 4400 cfm is 9 percent; 600 is 14 percent, above the 10 percent of the codes seen."""
    assert any("within 10%" in line for line in exhaust.net_exhaust_cfm(4400.0, 400.0, max_inside_ratio=0.1).lines())
    too_much = exhaust.net_exhaust_cfm(4400.0, 600.0, max_inside_ratio=0.1)
    assert too_much.value == 3800.0
    assert any("ABOVE 10%" in line for line in too_much.lines())


@pytest.mark.parametrize(("ends", "feet"), [(0, 9.0), (1, 9.5), (2, 10.0)])
def test_each_open_end_takes_its_overhang(ends: int, feet: float):
    """IMC 507.1.6.1: 6 in on each open side."""
    assert exhaust.min_hood_length_ft(9.0, open_ends=ends).value == feet


@pytest.mark.parametrize(
    ("style", "words"),
    [
        ("wall canopy", ("6 in", "4 ft", "end panels")),
        ("single island", ("6 in", "4 ft")),
        ("double island", ("6 in", "4 ft")),
        ("back shelf", ("1 ft behind", "3 ft above")),
        ("pass-over", ("1 ft behind", "3 ft above")),
        ("eyebrow", ("above the opening", "from memory")),
    ],
)
def test_advice_on_the_hood_itself(style: exhaust.Style, words: tuple[str, ...]):
    """IMC 507.1.6: overhang and lip height of canopies, setback and height of back shelves."""
    text = " ".join(exhaust.overhang_advice(style))
    assert all(word in text for word in words)


@pytest.mark.parametrize(
    ("kind", "sensible", "moisture"),
    [
        ("deep fryer", 90.0, 1030.0),
        ("tilting pan", 450.0, 588.0),
        ("combi oven", 120.0, 265.0),
        ("range", 200.0, 118.0),
        ("kettle", 35.0, 441.0),
        ("pressure steamer", 25.0, 294.0),
    ],
)
def test_plume_factors(kind: str, sensible: float, moisture: float):
    """Inputs of the annex's canteen, as seen in one restatement."""
    found = plume.appliance_factors(kind, "electric", 12.0)
    assert found is not None
    assert (found.sensible_w_per_kw, found.moisture_g_per_h_kw, found.connected_kw) == (sensible, moisture, 12.0)


@pytest.mark.parametrize(("kind", "fuel"), [("fryer", "gas"), ("griddle", "electric"), ("induction range", "electric")])
def test_no_plume_where_no_factor_was_seen(kind: str, fuel: str):
    assert plume.appliance_factors(kind, fuel, 12.0) is None


def test_every_factor_named_is_in_the_table():
    """A name that leads to a missing row would refuse instead of giving a plume."""
    labels = {row.label("appliance") for row in load("en16282_1_2017_appliances").all_rows()}
    names = ("pressure cooker", "combination oven", "high-pressure steamer", "bratt pan", "pressure boiling pan")
    for name in (*names, "boiling pan", "fryer", "cooker"):
        assert plume.appliance_factors(name, "electric", 1.0) is not None
    assert len(labels) == 12
