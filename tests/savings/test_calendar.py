"""Day types, week and holidays on a calendar, counted by hand."""

import pytest
from tests.savings.kitchens import fan, hood, plant_of, run, unit, weather_of
from tests.savings.weather_files import epw, year

from galleyproof.air.steps import AirError
from galleyproof.savings.calendar import Cooking, Day, Holiday, Schedule, lay_out
from galleyproof.savings.money import Rates, simple_payback_years
from galleyproof.savings.plant import PartLoad, Plant, Treatment
from galleyproof.savings.read import read_weather
from galleyproof.savings.spread import Widths

OPEN, CLOSED = Day("open", ((480, 960),)), Day("closed")
WEEK = ("open",) * 5 + ("closed",) * 2
COLD = weather_of(40.0)


def days(schedule, weather=COLD):
    return lay_out(schedule, weather, ["H-1"]).day_names


def test_a_year_that_begins_on_monday_has_261_weekdays():
    # 2001 began on a Monday: 52 whole weeks and one Monday more
    names = days(Schedule((OPEN, CLOSED), WEEK))
    assert (len(names), names.count("open")) == (365, 261)
    assert names[:7] == WEEK


@pytest.mark.parametrize(("january_1", "weekdays"), [(0, 261), (5, 260), (6, 260), (3, 261)])
def test_the_weekday_of_new_year(january_1, weekdays):
    # 2005 began on a Saturday, 2006 on a Sunday, 2009 on a Thursday
    assert days(Schedule((OPEN, CLOSED), WEEK, january_1=january_1)).count("open") == weekdays


def test_the_weather_files_own_weekday_counts_when_nobody_says():
    sunday = weather_of(40.0, first_weekday=6)
    assert days(Schedule((OPEN, CLOSED), WEEK), sunday)[0] == "closed"
    assert days(Schedule((OPEN, CLOSED), WEEK, january_1=0), sunday)[0] == "open"


def test_holidays_over_the_turn_of_the_year():
    schedule = Schedule((OPEN, CLOSED), ("open",) * 7, (Holiday((12, 24), (1, 2), "closed"),))
    names = days(schedule)
    assert names.count("closed") == 10
    assert names[:3] == ("closed", "closed", "open")
    assert names[-8:] == ("closed",) * 8


def test_a_leap_day_is_a_day():
    weather = read_weather(epw(year(leap=True)))
    names = days(Schedule((OPEN, CLOSED), ("open",) * 7, (Holiday((2, 29), (2, 29), "closed"),)), weather)
    assert (len(names), names.count("closed"), names[59]) == (366, 1, "closed")


def test_hours_after_midnight_belong_to_the_evening_before():
    """Open Friday 18:00 to 02:00: on Saturday morning the kitchen still runs, on Friday morning it does not."""
    late = Day("late", ((18 * 60, 26 * 60),), (Cooking((20 * 60, 25 * 60), 1.0),))
    week = ("closed", "closed", "closed", "closed", "late", "closed", "closed")
    usage = lay_out(Schedule((CLOSED, late), week), COLD, ["H-1"])
    assert usage.running_hours == pytest.approx(52 * 8)
    running = usage.share[:, [s.running for s in usage.states]].sum(axis=1)
    friday, saturday = 4 * 24, 5 * 24
    assert running[friday : friday + 2].tolist() == [0.0, 0.0]
    assert running[saturday : saturday + 3].tolist() == [1.0, 1.0, 0.0]
    cooks = usage.share[:, [s.intensities == (1.0,) for s in usage.states]].sum(axis=1)
    assert cooks[saturday : saturday + 2].tolist() == [1.0, 0.0]


def test_a_late_last_day_begins_the_year():
    late = Day("late", ((18 * 60, 26 * 60),))
    usage = lay_out(Schedule.every_day(late), COLD, ["H-1"])
    assert usage.running_hours == pytest.approx(365 * 8)


def test_minutes_weigh_by_their_share_of_the_hour():
    usage = lay_out(Schedule.every_day(Day("d", ((390, 405),))), COLD, ["H-1"])
    assert usage.running_hours == pytest.approx(365 * 0.25)


def test_overlapping_spans_take_the_greatest():
    cooking = (Cooking((480, 720), 0.4), Cooking((600, 660), 0.9), Cooking((480, 720), 0.2, ("H-1",)))
    usage = lay_out(Schedule.every_day(Day("d", ((480, 720),), cooking)), COLD, ["H-1", "H-2"])
    assert {s.intensities for s in usage.states if s.running} == {(0.4, 0.4), (0.9, 0.9)}


def test_hoods_on_one_fan_follow_the_worst():
    cooking = (Cooking((0, 1440), 0.2, ("H-1",)), Cooking((0, 1440), 0.8, ("H-2",)))
    one = Day("d", ((0, 1440),), cooking)
    shared = Plant((hood("H-1"), hood("H-2")), (fan("EF-1", ("H-1", "H-2")),))
    apart = Plant((hood("H-1"), hood("H-2")), (fan("EF-1", ("H-1",)), fan("EF-2", ("H-2",))))
    assert run(shared, COLD, one).cases["demand control"].speed[0].tolist() == pytest.approx([0.9])
    assert run(apart, COLD, one).cases["demand control"].speed[0].tolist() == pytest.approx([0.6, 0.9])


def test_two_speed_fans_go_to_low_in_their_hours_only():
    one = Day("d", ((0, 1440),), (), ((0, 360),))
    year = run(plant_of(Treatment(), kw=2.0, low=0.5), COLD, one)
    expected = 2.0 * 365 * (6 * 0.5**3 + 18)
    assert year.cases["two-speed"].energy.exhaust_kwh == pytest.approx(expected)


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: Schedule((OPEN,), WEEK), "no day type closed"),
        (lambda: lay_out(Schedule.every_day(Day("d", (), (Cooking((0, 9), 1.0, ("H-9",)),))), COLD, ["H-1"]), "H-9"),
        (lambda: Cooking((0, 60), 1.4), "cooking intensity is 1.4"),
        (lambda: Plant((hood("H-1"),), (fan("EF-1", ("H-2",)),)), "EF-1 serves H-2"),
        (lambda: Plant((hood("H-1"),), (fan("EF-1", ()),)), "EF-1 serves no hood"),
        (lambda: Plant((hood(),), (fan(),), (unit(Treatment(), tracks=("EF-9",)),)), "MAU-1 tracks EF-9"),
        (lambda: Treatment(heats_to_degf=70.0, cools_to_degf=60.0), "fight each other"),
        (lambda: Treatment(heat_ratio=0.0), "heating efficiency is 0"),
        (lambda: PartLoad((0.5, 0.4), (1.0, 1.0)), "must rise"),
        (lambda: PartLoad((), ()), "at least one"),
        (lambda: Rates(per_kwh=-0.1), "price of electric energy is -0.1 USD/kWh"),
        (lambda: Rates(per_therm=-1.0, currency="EUR"), "price of gas is -1 EUR/therm"),
        (lambda: Rates(per_kwh=0.1).cost(1.0, 1.0), "prices are not known"),
        (lambda: Rates().carbon_kg(1.0, 1.0), "carbon factors are not known"),
        (lambda: simple_payback_years(-1.0, 5.0), "investment is -1"),
        (lambda: Widths(1.0), "leaves nothing"),
        (lambda: Widths(min_speed_ratio=-0.1), "min speed ratio is -0.1"),
    ],
)
def test_what_cannot_be_is_refused(make, said):
    with pytest.raises(AirError) as caught:
        make()
    assert said in str(caught.value)


def test_payback_by_hand():
    assert simple_payback_years(9000.0, 1500.0) == 6.0
    assert simple_payback_years(9000.0, 0.0) is None
    assert simple_payback_years(9000.0, -3.0) is None
    assert Rates(per_kwh=0.2, per_therm=1.5).cost(100.0, 10.0) == pytest.approx(35.0)
    assert Rates(kg_per_kwh=0.4, kg_per_therm=5.3).carbon_kg(100.0, 10.0) == pytest.approx(93.0)
