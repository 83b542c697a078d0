"""What a rule of the air side cannot take: an AirError with the rule, the value and the cure."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from galleyproof.air import balance, commissioning, ducts, energy, exhaust, fans, plume, psychro, setpoints
from galleyproof.air.balance import Exhaust, HoodDemand, Kitchen, Makeup, Offset, OperatingPoint, OtherAir, Ratio
from galleyproof.air.fans import FanCurve, FanPoint, System
from galleyproof.air.plume import Block, PlumeAppliance
from galleyproof.air.steps import AirError, Reasoning, require
from galleyproof.errors import GalleyproofError
from galleyproof.tables import TableError

NAN = math.nan
CURVE = FanCurve(((1000.0, 3.0), (2000.0, 2.0), (3000.0, 1.0)), (1.0, 1.2, 1.3))
SYSTEM = System(2000.0, 1.9)
BLOCK = Block((PlumeAppliance("fryer", 10.0, 90.0, 1030.0),), 1.0, 1.0, 1.0)
KITCHEN = Kitchen((Exhaust("EF-1", 1000.0),), (Makeup("MUA-1", 800.0, ("EF-1",), Ratio(0.8)),))
FULL = OperatingPoint("all at design", (("EF-1", 1.0),))
READING = setpoints.TabReading(1000.0, 50.0, 4.0, 1.0)
FACTS = setpoints.IdleFacts(1000.0, captured_cfm=500.0)
NINETY_ONE = energy.energy_code("ASHRAE 90.1")


def drive(**given: float) -> setpoints.DriveSetpoints:
    return setpoints.drive_setpoints(READING, **{"design_cfm": 1100.0, "idle_cfm": 600.0, "full_load_a": 6.0, **given})


def hp(value: float) -> Any:
    return Reasoning().done(value, "hp")


# What the message must have: the rule that was asked, the value as given, and what to do where it is not plain.
REFUSED: dict[str, tuple[Callable[[], object], tuple[str, ...]]] = {
    # hoods
    "hood without appliances": (
        lambda: exhaust.min_unlisted_exhaust_cfm("wall canopy", 8.0, ()),
        ("at least one duty", "name the duty of the appliances"),
    ),
    "hood of no length": (
        lambda: exhaust.min_unlisted_exhaust_cfm("wall canopy", 0.0, ("heavy",)),
        ("hood length is 0 ft", "above 0 ft", "front edge"),
    ),
    "hood length that is no number": (
        lambda: exhaust.max_listed_exhaust_cfm("wall canopy", NAN, ("heavy",)),
        ("hood length is nan ft", "finite"),
    ),
    "style that does not exist": (
        lambda: exhaust.min_unlisted_exhaust_cfm("dome", 8.0, ("heavy",)),  # type: ignore[arg-type]
        ("'dome' is not a hood style", "wall canopy"),
    ),
    "duty that does not exist": (
        lambda: exhaust.heaviest_duty(["enormous"]),  # type: ignore[list-item]
        ("'enormous' is not a duty", "extra-heavy"),
    ),
    "extra-heavy under a back shelf": (
        lambda: exhaust.min_unlisted_exhaust_cfm("back shelf", 8.0, ("extra-heavy",)),
        ("Type I back shelf hood", "extra-heavy duty", "take another style"),
    ),
    "heavy duty under a Type II hood": (
        lambda: exhaust.min_unlisted_exhaust_cfm("wall canopy", 8.0, ("heavy",), hood_type="II"),
        ("Type II wall canopy hood", "heavy duty"),
    ),
    "negative listed rate": (lambda: exhaust.listed_exhaust_cfm(-1.0), ("listed rate is -1 cfm", "listing sheet")),
    "more air into a hood than out": (
        lambda: exhaust.net_exhaust_cfm(1000.0, 1200.0, max_inside_ratio=0.1),
        ("supplied inside the hood is 1200 cfm", "at most 1000 cfm"),
    ),
    "share as a percentage": (
        lambda: exhaust.net_exhaust_cfm(1000.0, 90.0, max_inside_ratio=10.0),
        ("largest share supplied inside is 10", "write it as 0 to 1"),
    ),
    "three open ends": (lambda: exhaust.min_hood_length_ft(9.0, open_ends=3), ("open ends is 3", "0, 1 or 2")),
    "fewer than no appliances": (lambda: exhaust.unhooded_room_exhaust_cfm(-1), ("number of appliances is -1",)),
    # plume
    "block without appliances": (
        lambda: plume.heat_exhaust_m3h(replace(BLOCK, appliances=())),
        ("a block without appliances", "name what stands under the hood"),
    ),
    "appliance of negative load": (
        lambda: PlumeAppliance("fryer", -10.0, 90.0, 1030.0),
        ("fryer: connected load is -10 kW",),
    ),
    "plan of no length": (lambda: plume.heat_exhaust_m3h(replace(BLOCK, length_m=0.0)), ("plan length is 0 m",)),
    "hood below its appliances": (
        lambda: plume.heat_exhaust_m3h(replace(BLOCK, free_height_m=-0.1)),
        ("free height is -0.1 m",),
    ),
    "simultaneity as a percentage": (
        lambda: plume.moisture_exhaust_m3h(replace(BLOCK, simultaneity_ratio=60.0)),
        ("simultaneity is 60", "write it as 0 to 1"),
    ),
    "simultaneity of a plume as a percentage": (
        lambda: plume.heat_exhaust_m3h(replace(BLOCK, simultaneity_ratio=60.0)),
        ("simultaneity is 60", "write it as 0 to 1"),
    ),
    "negative supply into the hood": (
        lambda: plume.heat_exhaust_m3h(BLOCK, supplied_inside_m3h=-5.0),
        ("supplied inside the hood is -5 m3/h",),
    ),
    "negative block": (lambda: plume.kitchen_exhaust_m3h([100.0, -1.0]), ("extract of a block is -1 m3/h",)),
    "quick method for extra-heavy duty": (
        lambda: plume.quick_capture_m3h(7.0, 1.0, "extra-heavy"),
        ("no extra-heavy duty", "light, medium and heavy"),
    ),
    # moist air
    "altitude of a satellite": (
        lambda: psychro.pressure_at_altitude_psia(100_000.0),
        ("altitude is 100000 ft", "at most 36000 ft"),
    ),
    "air hotter than any duct": (
        lambda: psychro.density_ratio(0.0, 2500.0),
        ("air temperature is 2500 degF", "at most 2000 degF"),
    ),
    "air colder than any place": (
        lambda: psychro.saturation_pressure_psia(-200.0),
        ("air temperature is -200 degF", "at least -148 degF"),
    ),
    "relative humidity as a percentage": (
        lambda: psychro.state(75.0, relative_humidity_ratio=50.0),
        ("relative humidity is 50", "write it as 0 to 1"),
    ),
    "wet bulb above dry bulb": (
        lambda: psychro.state(75.0, wet_bulb_degf=80.0),
        ("wet bulb is 80 degF", "at most 75 degF", "cannot lie above the dry bulb"),
    ),
    "wet bulb below that of dry air": (
        lambda: psychro.state(110.0, wet_bulb_degf=40.0),
        ("wet bulb 40 degF is too low for 110 degF",),
    ),
    "dew point above dry bulb": (
        lambda: psychro.state(75.0, dew_point_degf=80.0),
        ("dew point is 80 degF", "cannot lie above the dry bulb"),
    ),
    "two measures of humidity": (
        lambda: psychro.state(75.0, relative_humidity_ratio=0.5, wet_bulb_degf=60.0),
        ("exactly one of",),
    ),
    "no measure of humidity": (lambda: psychro.state(75.0), ("exactly one of",)),
    "steam": (lambda: psychro.state(250.0, relative_humidity_ratio=1.0), ("reaches the barometer", "steam")),
    "dew point of dry air": (
        lambda: psychro.AirState(75.0, 0.0).dew_point_degf,
        ("vapour pressure is 0 psia", "too dry"),
    ),
    "below absolute zero": (lambda: psychro.AirState(-500.0, 0.0), ("air temperature is -500 degF",)),
    "negative humidity": (lambda: psychro.AirState(75.0, -0.001), ("humidity ratio is -0.001 lb/lb",)),
    "missing hour": (
        lambda: psychro.heating_btu([30.0, NAN, 30.0], 1000.0, 55.0),
        ("outdoor temperature is nan degF", "fill the missing hour"),
    ),
    "streams at two barometers": (
        lambda: psychro.mixed(
            [
                psychro.Stream(1.0, psychro.AirState(70.0, 0.0)),
                psychro.Stream(1.0, psychro.AirState(70.0, 0.0, 12.0)),
            ]
        ),
        ("different barometers", "12.0"),
    ),
    "mix of nothing": (lambda: psychro.mixed([]), ("mixed airflow is 0 lb/min",)),
    "negative stream": (lambda: psychro.Stream(-1.0, psychro.AirState(70.0, 0.0)), ("airflow of a stream is -1 cfm",)),
    # ducts
    "duct without diameter": (lambda: ducts.Round(0.0), ("duct diameter is 0 in", "give its inside size")),
    "duct of negative size": (lambda: ducts.Rectangular(-10.0, -10.0), ("duct width is -10 in", "inside size")),
    "oval with its axes exchanged": (
        lambda: ducts.Flat(major_inch=12.0, minor_inch=20.0),
        ("long axis of the duct is 12 in", "exchange the two"),
    ),
    "negative flow in a duct": (lambda: ducts.velocity_fpm(-1.0, ducts.Round(10.0)), ("airflow is -1 cfm",)),
    "negative length": (lambda: ducts.Duct("riser", ducts.Round(10.0), -3.0), ("riser: length is -3 ft",)),
    "loss coefficient that is no number": (lambda: ducts.Fitting("elbow", NAN), ("elbow: loss coefficient is nan",)),
    "negative hood loss": (
        lambda: ducts.Run((), hood_inwc=-0.5, design_cfm=1000.0),
        ("loss of hood and filters is -0.5 in wc",),
    ),
    "no viscosity": (lambda: ducts.reynolds(900.0, 12.0, viscosity=0.0), ("viscosity is 0",)),
    "rough beyond Colebrook": (lambda: ducts.colebrook(1e5, 0.2), ("relative roughness is 0.2", "at most 0.1")),
    "no flow for Colebrook": (lambda: ducts.colebrook(0.0, 0.001), ("Reynolds number is 0",)),
    "idle above design": (
        lambda: ducts.velocity_check(1000.0, 1200.0, ducts.Round(12.0)),
        ("idle flow is 1200 cfm", "at most 1000 cfm", "cannot exceed the design flow"),
    ),
    # fans
    "curve of one point": (lambda: FanCurve(((1000.0, 2.0),)), ("at least two points", "not 1")),
    "curve whose flow does not rise": (
        lambda: FanCurve(((1000.0, 3.0), (900.0, 2.0))),
        ("points 1 and 2", "1000 to 900 cfm does not rise", "order the points"),
    ),
    "curve with a hump": (
        lambda: FanCurve(((500.0, 2.5), (1000.0, 3.0), (2000.0, 2.0))),
        ("points 1 and 2", "2.5 to 3 in wc does not fall", "unstable", "leave those points out"),
    ),
    "curve with a flat piece": (
        lambda: FanCurve(((1000.0, 3.0), (2000.0, 2.0), (3000.0, 2.0))),
        ("points 2 and 3", "does not fall"),
    ),
    "curve below zero": (
        lambda: FanCurve(((1000.0, 3.0), (2000.0, -1.0))),
        ("point 2: pressure is -1 in wc",),
    ),
    "curve with a hole": (lambda: FanCurve(((1000.0, 3.0), (NAN, 1.0))), ("point 2: flow is nan cfm",)),
    "curve with too few powers": (
        lambda: FanCurve(((1000.0, 3.0), (2000.0, 2.0)), (1.0,)),
        ("1 brake horsepowers for 2 points",),
    ),
    "off the curve": (
        lambda: CURVE.pressure_inwc(3500.0),
        ("flow on the fan curve is 3500 cfm", "at most 3000 cfm", "take a curve that reaches it"),
    ),
    "fan that stalls": (
        lambda: fans.operating_point(CURVE, System(500.0, 4.0)),
        ("100% speed", "first point", "1000 cfm", "stalls", "another fan"),
    ),
    "fan that runs off its curve": (
        lambda: fans.operating_point(CURVE, System(5000.0, 0.5)),
        ("3000 cfm", "curve that reaches further"),
    ),
    "no speed": (lambda: fans.operating_point(CURVE, SYSTEM, speed_ratio=0.0), ("speed ratio is 0",)),
    "flow beyond any speed": (
        lambda: fans.speed_for_flow(CURVE, System(500.0, 4.0), 500.0),
        ("500 cfm at 4 in wc lies on no speed", "take another fan"),
    ),
    "more fixed pressure than pressure": (
        lambda: System(1000.0, 1.0, fixed_inwc=1.5),
        ("fixed pressure is 1.5 in wc", "at most 1 in wc"),
    ),
    "fan point without flow": (lambda: FanPoint(0.0, 1.0), ("flow of the fan is 0 cfm",)),
    "fan efficiency as a percentage": (
        lambda: fans.brake_power_hp(1000.0, 1.0, 55.0),
        ("fan efficiency is 55", "write it as 0 to 1"),
    ),
    "motor efficiency as a percentage": (
        lambda: fans.electric_input_kw(1.0, motor_ratio=86.5),
        ("motor efficiency is 86.5", "write it as 0 to 1"),
    ),
    "point without power": (
        lambda: fans.max_flow_for_motor_cfm(FanPoint(1000.0, 1.0), 2.0),
        ("no brake horsepower", "fan table"),
    ),
    "power that falls with speed": (lambda: fans.power_fraction(0.5, -1.0), ("exponent is -1",)),
    "negative hours": (lambda: fans.profile_energy_kwh(1.0, [(-1.0, 1.0)]), ("hours is -1 h",)),
    "motor of no size": (lambda: fans.motor_check(hp(1.0), motor_hp=0.0), ("motor is 0 hp",)),
    "service factor below one": (
        lambda: fans.motor_check(hp(1.0), motor_hp=1.0, service_factor=0.9),
        ("service factor is 0.9",),
    ),
    "power that is no number": (lambda: fans.motor_check(hp(NAN), motor_hp=1.0), ("brake horsepower", "nan hp")),
    # balance
    "fan the point does not name": (
        lambda: balance.balance(replace(KITCHEN, exhausts=(Exhaust("EF-2", 900.0),)), FULL),
        ("'all at design' says nothing about EF-2", "name every exhaust fan"),
    ),
    "make-up that follows nobody": (
        lambda: balance.makeup_cfm(Makeup("MUA-1", 800.0, ("EF-9",), Ratio(0.8)), {"EF-1": 1000.0}),
        ("MUA-1 tracks EF-9", "name the fans it follows"),
    ),
    "negative exhaust": (
        lambda: balance.balance(replace(KITCHEN, exhausts=(Exhaust("EF-1", -5.0),)), FULL),
        ("EF-1: design flow is -5 cfm",),
    ),
    "negative outdoor air": (
        lambda: balance.balance(replace(KITCHEN, others=(OtherAir("RTU-1", -5.0),)), FULL),
        ("RTU-1: flow is -5 cfm",),
    ),
    "negative share": (
        lambda: balance.makeup_cfm(Makeup("MUA-1", 800.0, ("EF-1",), Ratio(-0.8)), {"EF-1": 1000.0}),
        ("MUA-1: make-up over exhaust is -0.8",),
    ),
    "offset that is no number": (
        lambda: balance.makeup_cfm(Makeup("MUA-1", 800.0, ("EF-1",), Offset(NAN)), {"EF-1": 1000.0}),
        ("MUA-1: exhaust less make-up is nan cfm",),
    ),
    "turndown as a percentage": (
        lambda: balance.makeup_cfm(Makeup("MUA-1", 800.0, ("EF-1",), Ratio(0.8), 50.0), {"EF-1": 1000.0}),
        ("MUA-1: lowest flow over design is 50",),
    ),
    "room hotter than any": (
        lambda: balance.balance(replace(KITCHEN, room_degf=5000.0), FULL),
        ("air temperature is 5000 degF",),
    ),
    "opening of no size": (
        lambda: balance.kitchen_pressure_inwc(500.0, 0.0),
        ("opening is 0 sq ft", "doors, windows and grilles"),
    ),
    "shortfall of nothing known": (
        lambda: balance.exhaust_shortfall_cfm(8000.0, NAN),
        ("air that can enter is nan cfm",),
    ),
    "shared fan without hoods": (lambda: balance.shared_fan([]), ("without hoods", "name the hoods")),
    "hood that asks for less than nothing": (
        lambda: balance.shared_fan([HoodDemand("H-1", 1000.0, -0.1)]),
        ("H-1: demand is -0.1",),
    ),
    # set-points
    "map that starts above its end": (
        lambda: setpoints.SpeedMap(120.0, 90.0, 0.5),
        ("full-speed temperature is 90 degF", "above 120 degF", "above the idle temperature"),
    ),
    "map from nowhere": (lambda: setpoints.SpeedMap(-math.inf, 90.0, 0.5), ("idle temperature is -inf degF",)),
    "idle speed as a percentage": (
        lambda: setpoints.SpeedMap(90.0, 120.0, 50.0),
        ("idle speed is 50", "write it as 0 to 1"),
    ),
    "hood without sensors": (
        lambda: setpoints.hood_speed(setpoints.SpeedMap(90.0, 120.0, 0.5), ()),
        ("a hood needs a sensor",),
    ),
    "capture at no flow": (
        lambda: setpoints.minimum_speed(replace(FACTS, captured_cfm=0.0)),
        ("idle flow is 0 cfm",),
    ),
    "flue gas that is none": (
        lambda: setpoints.minimum_speed(replace(FACTS, flue_cfm=0.0)),
        ("flow for flue gas is 0 cfm", "leave it out"),
    ),
    "reduction as a percentage": (
        lambda: setpoints.minimum_speed(replace(FACTS, reduction_ratio=50.0)),
        ("reduction is 50",),
    ),
    "idle set above design": (
        lambda: drive(idle_cfm=1500.0),
        ("idle flow is 1500 cfm", "cannot exceed the design flow"),
    ),
    "suction entered as negative": (
        lambda: setpoints.drive_setpoints(
            replace(READING, measured_inwc=-1.0), design_cfm=1100.0, idle_cfm=600.0, full_load_a=6.0
        ),
        ("measured static pressure is -1 in wc", "enter suction as positive"),
    ),
    "no current": (
        lambda: setpoints.drive_setpoints(
            replace(READING, measured_a=0.0), design_cfm=1100.0, idle_cfm=600.0, full_load_a=6.0
        ),
        ("measured current is 0 A",),
    ),
    "highest frequency that is no number": (lambda: drive(max_hz=NAN), ("highest frequency is nan Hz",)),
    "idle exhaust above design exhaust": (
        lambda: setpoints.tracking_limits(KITCHEN.makeups[0], 1000.0, 1200.0),
        ("idle exhaust is 1200 cfm", "exchange the two"),
    ),
    "delay before now": (lambda: setpoints.TIMINGS[0].verdict(-1.0), (setpoints.TIMINGS[0].name, "-1 s")),
    # commissioning
    "negative amperes": (
        lambda: commissioning.compare("EF-1", {"amps": 4.0}, {"amps": -4.0}),
        ("EF-1: measured amps is -4 A",),
    ),
    "suction read as negative": (
        lambda: commissioning.compare("EF-1", {"static": 1.0}, {"static": -1.0}),
        ("EF-1: measured static is -1 in wc", "enter suction as positive"),
    ),
    "reading that is no number": (
        lambda: commissioning.compare("EF-1", {"flow": 1000.0}, {"flow": NAN}),
        ("EF-1: measured flow is nan cfm",),
    ),
    # energy codes
    "transfer share as a percentage": (
        lambda: energy.KitchenFacts(8000.0, transfer_share_ratio=50.0),
        ("transfer air over replacement air is 50", "write it as 0 to 1"),
    ),
    "negative total": (lambda: energy.ceiling_applies(-1.0, NINETY_ONE), ("total exhaust is -1 cfm",)),
    "code without that figure": (
        lambda: energy.transfer_needed_cfm(6000.0, energy.EnergyCode("Saltmarrow bylaw")),
        ("Saltmarrow bylaw has no transfer_share_min_ratio", "adopted figure"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_refused_with_rule_value_and_cure(name: str):
    attempt, parts = REFUSED[name]
    with pytest.raises(AirError) as refusal:
        attempt()
    message = str(refusal.value)
    for part in parts:
        assert part in message, message
    assert isinstance(refusal.value, GalleyproofError)
    assert isinstance(refusal.value, ValueError)


def test_an_unknown_energy_code_is_named_with_those_that_are_carried():
    with pytest.raises(TableError, match=r"'Saltmarrow bylaw' is not an energy code .* IECC"):
        energy.energy_code("Saltmarrow bylaw")


@pytest.mark.parametrize("value", [NAN, math.inf, -math.inf])
def test_a_number_must_be_finite_even_without_bounds(value: float):
    with pytest.raises(AirError, match="it must be a finite number"):
        require("anything", value, "cfm")


def test_a_number_at_its_bound_is_taken():
    assert require("x", 1.0, "-", least=1.0, most=1.0) == 1.0
    with pytest.raises(AirError):
        require("x", 1.0, "-", above=1.0)


@pytest.mark.parametrize("reading", [NAN, math.inf, -math.inf, None])
def test_a_reading_that_is_none_is_a_broken_sensor_and_no_error(reading: float | None):
    """The kitchen must run on: full speed, not a refusal (practice: sensor fault sends the hood to full)."""
    speed_map = setpoints.SpeedMap(90.0, 120.0, 0.5)
    assert setpoints.hood_speed(speed_map, [85.0, reading]).value == 1.0


def test_what_is_level_is_not_refused():
    """Zero is a value: an idle make-up, a closed room, a duct without flow."""
    assert balance.makeup_cfm(KITCHEN.makeups[0], {"EF-1": 0.0}).value == 0.0
    assert ducts.friction_rate_inwc_per_100ft(0.0, ducts.Round(10.0)).value == 0.0
    assert balance.kitchen_pressure_inwc(0.0, 5.0).value == 0.0
    # psychrolib, 70 degF at its driest, 1e-7 lb/lb
    assert psychro.AirState(70.0, 0.0).wet_bulb_degf == pytest.approx(43.5, abs=0.1)
