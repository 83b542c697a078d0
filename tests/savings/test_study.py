"""A job in a year of weather: what it says of itself, planted faults, and numbers that hang together."""

from pathlib import Path

import pytest
from tests.savings.kitchens import weather_of

from galleyproof.errors import WeatherError
from galleyproof.findings import Severity
from galleyproof.job.read import read_job
from galleyproof.job.usage import CollarRange, CookingSpan, DayType, KitchenUse, Spread
from galleyproof.savings.of_job import ASSUMED_USE, of_job
from galleyproof.savings.read import read_weather
from galleyproof.savings.reasons import RESULTS
from galleyproof.savings.study import BINS, study
from galleyproof.savings.year import CASES

EXAMPLES = Path(__file__).parents[2] / "examples"
COLD = weather_of(40.0, 25.0)
LONG_DAY = DayType(
    name="long", runs=("06:00-22:00",), cooking=(CookingSpan(hours="11:00-13:00", intensity=1.0),),
    low_speed=("14:00-17:00",),
)  # fmt: skip
USE = KitchenUse(day_types=(LONG_DAY,), spread=Spread(years=50))


@pytest.fixture(scope="module")
def cafe():
    """The smallest job, in use all day, its make-up unit following its exhaust."""
    text = (EXAMPLES / "ferry-cafe.yaml").read_text(encoding="utf-8")
    job = read_job(text, "cafe")
    return job.model_copy(update={"kitchen_use": USE})


@pytest.fixture(scope="module")
def weather():
    return read_weather((EXAMPLES / "weather" / "greensboro-tmy3.csv").read_text(encoding="ascii"))


def with_fan(job, **changes):
    (fan,) = job.exhaust_fans
    return job.model_copy(update={"exhaust_fans": (fan.model_copy(update=changes),)})


def with_use(job, **changes):
    return job.model_copy(update={"kitchen_use": job.kitchen_use.model_copy(update=changes)})


def with_hood(job, **changes):
    (hood,) = job.hoods
    return job.model_copy(update={"hoods": (hood.model_copy(update=changes),)})


def codes(job, weather=COLD):
    return [f.code for f in study(job, weather).findings if f.code != "SAVINGS-MAKEUP-FIXED"]


def test_a_sound_job_has_nothing_to_look_at(cafe):
    assert codes(cafe) == []
    only = study(cafe, COLD).findings
    assert [(f.code, f.item, f.severity) for f in only] == [("SAVINGS-MAKEUP-FIXED", "MAU-1", Severity.NOTE)]


def test_a_job_that_says_nothing_of_its_use(cafe):
    job = cafe.model_copy(update={"kitchen_use": None})
    assert codes(job) == ["SAVINGS-USE-ASSUMED"]
    assert study(job, COLD).made.use is ASSUMED_USE


PLANTED = {
    "SAVINGS-NEVER-IDLES": [
        lambda job: with_use(job, collars=(CollarRange(hoods=("H-1",), idle=110.0, full=140.0),)),
        lambda job: with_hood(job, idle_below=72.0),
    ],
    "SAVINGS-NEVER-FULL": [lambda job: with_use(job, collars=(CollarRange(hoods=("H-1",), idle=88.0, full=110.0),))],
    "SAVINGS-NONE": [lambda job: with_fan(job, min_speed=1.0)],
    "SAVINGS-NOTHING-RUNS": [lambda job: with_use(job, day_types=(DayType(name="closed"),))],
}


@pytest.mark.parametrize(
    ("code", "plant"), [(code, plant) for code, plants in PLANTED.items() for plant in plants]
)  # fmt: skip
def test_a_planted_fault_gives_exactly_its_finding(cafe, code, plant):
    assert codes(plant(cafe)) == [code]


def test_a_station_on_another_height(cafe, weather):
    assert codes(cafe, weather) == []
    high = cafe.model_copy(update={"site": cafe.site.model_copy(update={"altitude": 5000.0})})
    (found,) = [f for f in study(high, weather).findings if f.code == "SAVINGS-ELEVATION"]
    assert "4,104 ft below the site" in found.message


def test_more_than_anyone_ever_saw(cafe):
    """Idling nearly always at a tenth of full speed, and the make-up unit with it."""
    idle = KitchenUse(day_types=(DayType(name="idle", runs=("00:00-24:00",)),), spread=Spread(years=50))
    (unit,) = cafe.makeup_units
    follows = unit.model_copy(
        update={"control": unit.control.model_copy(update={"kind": "run and speed pairs"}), "min_speed": 0.1}
    )
    job = with_fan(cafe, min_speed=0.1).model_copy(update={"kitchen_use": idle, "makeup_units": (follows,)})
    found = study(job, COLD)
    assert [f.code for f in found.findings] == ["SAVINGS-BEYOND-FIELD"]
    assert found.savings[0].site_ratio > 0.7


def test_a_fan_whose_air_comes_from_elsewhere():
    job = read_job((EXAMPLES / "school-kitchen.yaml").read_text(encoding="utf-8"), "school")
    first = job.makeup_units[0]
    tracks = job.exhaust_fans[0].tag
    one_unit = job.model_copy(update={"makeup_units": (first.model_copy(update={"tracks": (tracks,)}),)})
    loose = [f.item for f in study(one_unit, COLD).findings if f.code == "SAVINGS-AIR-FROM-ELSEWHERE"]
    assert loose == [", ".join(f.tag for f in job.exhaust_fans if f.tag != tracks)]


@pytest.mark.parametrize(("stated", "latitude"), [("northern", -43.5), ("southern", 43.5)])
def test_weather_of_the_other_hemisphere_is_refused(cafe, stated, latitude):
    job = with_use(cafe, hemisphere=stated)
    with pytest.raises(WeatherError) as caught:
        study(job, weather_of(40.0, latitude=latitude), "quay.epw")
    assert str(caught.value).startswith("quay.epw:1: Saltmarrow Quay: is of the")
    assert f"{stated} one" in str(caught.value)


def test_weather_of_the_own_hemisphere_is_taken(cafe):
    assert study(with_use(cafe, hemisphere="southern"), weather_of(40.0, latitude=-43.5)).year.weather.southern


@pytest.mark.parametrize("name", ["ferry-cafe", "school-kitchen", "hospital"])
def test_the_examples(name, weather):
    """Complete, without errors or warnings, each number with its reasons, months and histogram in sum the year."""
    job = read_job((EXAMPLES / f"{name}.yaml").read_text(encoding="utf-8"), name)
    found = study(job, weather)
    assert [f for f in found.findings if f.severity is not Severity.NOTE] == []
    assert not found.made.assumed
    tags = [h.tag for h in job.hoods] + [f.tag for f in job.exhaust_fans] + [u.tag for u in job.makeup_units]
    assert set(found.reasons) == {*tags, *RESULTS}
    assert all(why.lines and why.value for whys in found.reasons.values() for why in whys)
    for case in CASES:
        energy, months = found.energy(case), [m for m in found.months if m.case == case]
        assert sum(m.fan_kwh for m in months) == pytest.approx(energy.fan_kwh)
        assert sum(m.heat_therm for m in months) == pytest.approx(energy.heat_therm)
        assert sum(m.cool_kwh for m in months) == pytest.approx(energy.cool_kwh)
        one = found.year.cases[case]
        assert one.exhaust_kwh.sum() == pytest.approx(energy.exhaust_kwh)
        assert one.supply_kwh.sum() == pytest.approx(energy.supply_kwh)
    assert sum(found.histogram) == pytest.approx(found.year.usage.running_hours * len(job.exhaust_fans))
    for one in found.savings:
        assert one.fan_kwh > 0.0
        for name_of, band in one.bands.items():
            assert band.low <= band.middle <= band.high
            assert band.low <= getattr(one, name_of) <= band.high or name_of == "therm"


def test_the_histogram_by_hand(cafe):
    """2 of 16 hours in the rush at full speed, the rest idling at half speed."""
    histogram = study(cafe, COLD).histogram
    by_bin = {BINS[n]: hours for n, hours in enumerate(histogram) if hours}
    assert by_bin == {0.5: pytest.approx(14 * 365), 0.95: pytest.approx(2 * 365)}


def test_what_the_items_own_block_says_comes_first(cafe):
    """Stated efficiencies of the fan replace the stand-ins, figure by figure."""
    (fan,) = cafe.exhaust_fans
    stated = fan.air.model_copy(
        update={"brake_power": 2.0, "selected_for": "the air it moves", "motor_efficiency": 0.7, "belt_efficiency": 0.9}
    )
    (part,) = of_job(with_fan(cafe, air=stated)).plant.fans
    assert part.full_kw == pytest.approx(2.0 * 0.7457 / (0.7 * 0.9))
    thin = stated.model_copy(update={"selected_for": "standard air", "air_at": 130.0})
    (hot,) = of_job(with_fan(cafe, air=thin)).plant.fans
    assert hot.full_kw == pytest.approx(part.full_kw * (459.67 + 70.0) / (459.67 + 130.0), rel=1e-6)


def test_the_same_seed_gives_the_same_range(cafe):
    one, two = study(cafe, COLD).savings[0].bands, study(cafe, COLD).savings[0].bands
    assert one == two
    other = study(with_use(cafe, spread=Spread(years=50, seed=2)), COLD).savings[0].bands
    assert other["fan_kwh"] != one["fan_kwh"]
