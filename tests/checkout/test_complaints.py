"""What people say on the phone, in their own words: who is meant, what they saw, and when.

The sentences are common practice, as electricians and kitchen staff put them; none is a form offered by the tool.
"""

from __future__ import annotations

import pytest
from tests.outside.field_kitchens import field

from galleyproof.checkout.complaints import ComplaintError, complaint

FULL, STANDS, SLOW, WRONG = "turns at full speed", "stands", "turns slowly", "turns the wrong way"


def understood(kitchen: str, said: str) -> set[tuple[str, str, object]]:
    """Preparation, tag and reading of everything it may mean."""
    made = field(kitchen)
    probes = made.bench.checkout.probes
    return {(probes[i].preparation, probes[i].about, r) for i, r in complaint(made.bench.checkout, said).either}


@pytest.mark.parametrize(
    ("kitchen", "said", "tags", "readings"),
    [
        # fans, by tag or by name, with and without apostrophes
        ("starter", "exhaust fan doesn’t come on", {"EF-1"}, {STANDS}),
        ("starter", "EF1 wont run", {"EF-1"}, {STANDS}),
        ("starter", "EF-1 not running", {"EF-1"}, {STANDS}),
        ("starter", "EF-1 hums but does not turn", {"EF-1"}, {STANDS}),
        ("starter", "the supply fan will not start", {"MAU-1"}, {STANDS}),
        ("starter", "make up air not running", {"MAU-1"}, {STANDS}),
        ("starter", "EF-1 spins the wrong direction", {"EF-1"}, {WRONG}),
        ("starter", "smoke spills out of the hood", {"EF-1"}, {SLOW, WRONG, STANDS}),
        ("drive", "EF-1 stuck at full speed", {"EF-1"}, {FULL}),
        ("drive", "EF-1 does not speed up when cooking", {"EF-1"}, {SLOW}),
        # what stands behind a starter, a contactor, a shunt trip
        ("starter", "the starter chatters", {"EF-1"}, {STANDS}),
        ("starter", "EF-1 trips out after a minute", {"CP1-Q1", "LP-1/2"}, {"yes"}),
        ("shutdowns", "KM-1 does not pull in", {"A-2"}, {"no"}),
        ("shutdowns", "contactor buzzes", {"A-2"}, {"no"}),
        ("shutdowns", "KM-1 won't drop out", {"A-2"}, {"yes"}),
        ("shutdowns", "SD-1 did not work", {"LP-1/10"}, {"no"}),
        ("shutdowns", "LP-1/10 doesn't trip", {"LP-1/10"}, {"no"}),
        ("shutdowns", "breaker LP-1/1 keeps tripping", {"LP-1/1"}, {"yes"}),
        # appliances and gas by what they are
        ("shutdowns", "griddle is dead", {"A-1"}, {"no"}),
        ("shutdowns", "A-2 does not heat", {"A-2"}, {"no"}),
        ("shutdowns", "no gas", {"GV-1"}, {"no"}),
        ("shutdowns", "GV-1 only stays open while I hold the button", {"GV-1"}, {"no"}),
        ("shutdowns", "gas valve wont stay open", {"GV-1"}, {"no"}),
        ("shutdowns", "the gas goes off when the panel breaker is opened", {"GV-1"}, {"no"}),
        # lights, panel, drive, sensor, horn
        ("lights", "hood lights won't turn on", {"H-1-E1"}, {"no"}),
        ("lights", "lights never go off", {"H-1-E1"}, {"yes"}),
        ("lights", "the lamps are dim", {"H-1-E1"}, {"no"}),
        ("shutdowns", "the panel has no power", {"TS-1"}, {"nothing"}),
        ("shutdowns", "the display is blank", {"TS-1"}, {"nothing"}),
        ("drive", "VFD display blank", {"CP1-T2"}, {"dark"}),
        ("drive", "the drive trips", {"CP1-T2"}, {"fault"}),
        ("starter", "the make-up air fan runs backwards", {"MAU-1"}, {"turns the wrong way"}),
        ("starter", "makeup air fan is dead", {"MAU-1"}, {STANDS}),
        ("drive", "TS-1 shows OL", {"TS-1"}, {"open"}),
        ("shutdowns", "horn does not sound in a release", {"CP1-P1"}, {"no"}),
        ("shutdowns", "panel says fire but nothing released", {"Z1"}, {"yes"}),
        ("shutdowns", "panel does not see the fire", {"Z1"}, {"no"}),
    ],
)
def test_who_and_what(kitchen: str, said: str, tags: set[str], readings: set[object]) -> None:
    found = understood(kitchen, said)
    assert {tag for _, tag, _ in found} == tags
    assert {r for _, _, r in found} == readings


@pytest.mark.parametrize(
    ("kitchen", "said", "states", "reading"),
    [
        ("starter", "EF-1 shuts off when the system is pulled", {"Z1 released", "switches off, Z1 released"}, STANDS),
        ("starter", "the fan stopped in the fire test", {"Z1 released", "switches off, Z1 released"}, STANDS),
        ("starter", "MAU-1 runs when the hood is off and stops when it is on", {"line"}, FULL),
        ("starter", "make-up air runs without the exhaust", {"line"}, FULL),
        ("starter", "EF-1 does not run, in a release", {"Z1 released", "switches off, Z1 released"}, STANDS),
        ("shutdowns", "A-2 never comes back after reset", {"Z1 re-armed and reset by hand"}, "no"),
        ("shutdowns", "A-1 stays on in a release", {"Z1 released", "switches off, Z1 released"}, "yes"),
    ],
)
def test_when(kitchen: str, said: str, states: set[str], reading: object) -> None:
    found = understood(kitchen, said)
    assert {prep for prep, _, _ in found} == states
    assert {r for _, _, r in found} == {reading}


def test_an_appliance_that_is_on_is_no_complaint_before_a_release() -> None:
    """Appliances are on from the start; lights are not."""
    assert {prep for prep, _, _ in understood("shutdowns", "A-1 stays on")} == {
        "Z1 released",
        "switches off, Z1 released",
    }
    assert "line" in {prep for prep, _, _ in understood("lights", "the lights stay on")}


@pytest.mark.parametrize(
    ("kitchen", "said"),
    [
        # no lights in this kitchen: a fan is not meant instead
        ("shutdowns", "lights are flickering"),
        ("starter", "the motor runs hot"),
        ("starter", "EF-1"),
        ("starter", "EF-1 runs"),
        ("lights", "lamps keep burning out"),
        ("shutdowns", "it smells funny"),
    ],
)
def test_what_no_look_can_show_is_not_guessed(kitchen: str, said: str) -> None:
    with pytest.raises(ComplaintError, match="say it like"):
        understood(kitchen, said)


@pytest.mark.parametrize(
    ("said", "reading"),
    [("the overload is set too low", "low"), ("heaters too large", "high"), ("CP1-Q1 is dialled too high", "high")],
)
def test_a_dial_is_read(said: str, reading: str) -> None:
    assert understood("starter", said) == {("dead", "CP1-Q1", reading)}


def test_a_complaint_is_never_that_all_is_right() -> None:
    """A fan that will not stop runs uncalled: that it runs in a release is what it should do."""
    made = field("starter")
    found = made.search({}, ("EF-1 won't shut off",))
    assert found.suspects(1)[0].slips
    assert {made.bench.checkout.probes[i].preparation for o in found.taken for i, _ in o.either} == {"line"}
    # with the coil dead, its contacts are welded
    coil = made.probe("line: volts DC CP1-Q1:A1 CP1-Q1:A2")
    found.add(coil, 0.0)
    assert found.suspects(1)[0].slips == ("contactor-welded/CP1-Q1",)
