"""Weather files that cannot be taken say where, what and how to cure it; those that can give their year."""

import numpy as np
import pytest
from tests.savings.weather_files import TITLES, epw, tmy3, to_degf, year

from galleyproof.errors import WeatherError
from galleyproof.savings.read import read_weather

WRITERS = {"EPW": epw, "TMY3": tmy3}
FIRST = {"EPW": 9, "TMY3": 3}  # line of the first record
NOON_10_JUNE = 24 * (31 + 28 + 31 + 30 + 31 + 9) + 11


@pytest.fixture(params=WRITERS)
def kind(request):
    return request.param


def refused(text, *, line=None, words=()):
    with pytest.raises(WeatherError) as caught:
        read_weather(text, "quay.wx")
    first = caught.value.problems[0]
    assert first.file == "quay.wx"
    if line is not None:
        assert first.line == line, caught.value
    for word in words:
        assert word in str(first), first
    return caught.value.problems


def test_a_sound_file_gives_its_year(kind):
    hours = year()
    weather = read_weather(WRITERS[kind](hours), "quay.wx")
    assert (weather.kind, weather.hours, weather.latitude_deg, weather.southern) == (kind, 8760, 43.5, False)
    assert weather.elevation_ft == pytest.approx(40.0 / 0.3048)
    assert weather.first_weekday == (3 if kind == "EPW" else None)
    # half a tenth of a kelvin is what the file's rounding takes
    np.testing.assert_allclose(weather.air_degf, [h.air_degc * 1.8 + 32 for h in hours], atol=0.0901)
    assert [(m, d, h) for m, d, h in zip(weather.month, weather.day, weather.hour, strict=True)] == [
        (h.month, h.day, h.hour) for h in hours
    ]


def test_nobody_can_change_a_year():
    weather = read_weather(epw(year()))
    with pytest.raises(ValueError, match="read-only"):
        weather.air_degf[0] = 0.0


def test_a_missing_hour(kind):
    hours = year()
    del hours[NOON_10_JUNE]
    words = ("06-10 hour 13", "an hour is missing before it, from 06-10 hour 12")
    (only,) = refused(WRITERS[kind](hours), line=FIRST[kind] + NOON_10_JUNE, words=words)
    assert "needs all its hours" in only.what


def test_missing_days(kind):
    hours = year()
    del hours[NOON_10_JUNE : NOON_10_JUNE + 48]
    refused(WRITERS[kind](hours), line=FIRST[kind] + NOON_10_JUNE, words=("48 hours are missing",))


def test_an_hour_twice(kind):
    hours = year()
    hours.insert(NOON_10_JUNE, hours[NOON_10_JUNE])
    refused(WRITERS[kind](hours), line=FIRST[kind] + NOON_10_JUNE + 1, words=("06-10 hour 12", "twice"))


def test_an_hour_out_of_order(kind):
    hours = year()
    hours.append(hours.pop(NOON_10_JUNE))
    refused(WRITERS[kind](hours), words=("06-10 hour 13", "missing before it"))


def test_a_file_that_stops(kind):
    text = WRITERS[kind](year()[:5000])
    refused(text, line=FIRST[kind] + 4999, words=("end of the file", "5,000 of 8,760 hours", "take the whole file"))


@pytest.mark.parametrize("text", ["", "\n", "hello", "LOCATION,a", "1,2,3,4,5,6,7\n"])
def test_a_file_that_is_none(text):
    refused(text)


def test_a_leap_day_is_taken_whole():
    weather = read_weather(epw(year(leap=True)))
    assert weather.hours == 8784
    assert (weather.month[24 * 59], weather.day[24 * 59]) == (2, 29)


def test_a_leap_day_in_part_is_not():
    hours = year(leap=True)
    del hours[24 * 59 + 3 : 24 * 60]
    refused(epw(hours), words=("03-01 hour 1", "21 hours are missing before it, from 02-29 hour 4"))


@pytest.mark.parametrize(
    ("kind", "column", "sentinel"),
    [
        ("EPW", 6, "99.9"),
        ("EPW", 7, "99.9"),
        ("EPW", 9, "999999"),
        ("EPW", 6, "9999"),
        ("EPW", 6, ""),
        ("TMY3", 2, "-9900"),
        ("TMY3", 3, "9999"),
        ("TMY3", 5, "-9900"),
    ],
)
def test_a_missing_value(kind, column, sentinel):
    lines = WRITERS[kind](year()).splitlines()
    at = FIRST[kind] - 1 + NOON_10_JUNE
    parts = lines[at].split(",")
    parts[column] = sentinel
    lines[at] = ",".join(parts)
    (only,) = refused("\n".join(lines), line=at + 1, words=("06-10 hour 12", "marked as missing"))
    assert "nothing is guessed" in only.what


def test_missing_humidity_harms_nobody():
    hours = year()
    for hour in hours:
        hour.humidity_pct = 999
    assert read_weather(epw(hours)).hours == 8760


def test_a_word_for_a_number():
    refused(epw(year()).replace("?9?9?9?9E0,", "?9?9?9?9E0,x", 1), line=9, words=("dry bulb", "is no number"))


def test_a_file_in_degf(kind):
    refused(WRITERS[kind](to_degf(year())), words=("degC", "degF"))


def test_a_mild_file_in_degf_shows_in_its_humidity(kind):
    # never above 60 "degrees", so that no single value is impossible
    hours = to_degf(year(mean_degc=4.0, swing_k=5.0, day_k=2.0, spread_k=8.0))
    assert max(h.air_degc for h in hours) < 60.0
    (only,) = refused(
        WRITERS[kind](hours), line=FIRST[kind], words=("fit each other only if the temperatures are degF",)
    )
    assert "convert them" in only.what


def test_degf_among_degc(kind):
    found = refused(WRITERS[kind](to_degf(year(), lambda h: h.month == 3)), words=("03-01 hour 1", "dry bulb", "25 K"))
    assert all("03-" in p.where or "04-01" in p.where or "more problems" in p.what for p in found)


def test_pressure_in_another_unit():
    refused(epw(year(pressure_pa=1008.0)), line=9, words=("pressure", "1008 Pa", "a tenth from", "unit"))


def test_elevation_in_feet():
    refused(epw(year(pressure_pa=85_000.0), elevation=4700.0), line=9, words=("elevation", "metres"))


def test_a_column_in_another_unit():
    titles = ("Dry-bulb (F)", *TITLES[1:])
    words = ("Dry-bulb (F)", "another unit", "Dry-bulb (C)")
    (only,) = refused(tmy3(year(), titles=titles), line=2, words=words)
    assert "convert" in only.what


def test_a_column_that_is_not_there():
    refused(
        tmy3(year(), titles=("Dry-bulb (C)", "Dew-point (C)", "RHum (%)", "Wind")), line=2, words=("Pressure (mbar)",)
    )


@pytest.mark.parametrize(("latitude", "southern"), [(43.5, True), (-43.5, False)])
def test_seasons_of_the_other_hemisphere(kind, latitude, southern):
    text = WRITERS[kind](year(southern=southern), latitude=latitude)
    refused(text, line=1, words=("latitude", "warm months", "check its sign"))


def test_southern_seasons(kind):
    weather = read_weather(WRITERS[kind](year(southern=True), latitude=-43.5))
    assert weather.southern
    january = weather.air_degf[weather.month == 1].mean()
    assert january > weather.air_degf[weather.month == 7].mean() + 30.0


def test_the_tropics_have_no_seasons_to_check():
    assert read_weather(epw(year(26.0, 0.5), latitude=-3.0)).southern


def test_a_file_of_several_records_an_hour():
    refused(epw(year()).replace("DATA PERIODS,1,1", "DATA PERIODS,1,4"), line=8, words=("4 records an hour",))


def test_many_problems_are_not_all_printed():
    hours = year()
    for hour in hours:
        hour.pressure_pa = 50.0
    assert len(refused(epw(hours))) == 21
