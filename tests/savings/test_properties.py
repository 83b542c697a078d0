"""What must hold for every kitchen, however it is used."""

import itertools

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.savings.kitchens import day, fan, hood, run, unit, weather_of

from galleyproof.air.balance import Constant, Offset, Ratio
from galleyproof.savings.calendar import Cooking
from galleyproof.savings.evidence import drive_part_load
from galleyproof.savings.plant import FLAT, Plant, Treatment
from galleyproof.savings.spread import Widths, draw, drawn_savings
from galleyproof.savings.year import CASES, demand_share, speeds

HOURS = np.arange(8760)
WEATHER = weather_of(
    55.0 - 25.0 * np.cos(2 * np.pi * HOURS / 8760) - 9.0 * np.cos(2 * np.pi * HOURS / 24),
    45.0 - 25.0 * np.cos(2 * np.pi * HOURS / 8760),
)
TREATMENT = Treatment(heats_to_degf=58.0, cools_to_degf=75.0, max_dew_point_degf=57.0, heat_ratio=0.8)

spans = st.tuples(st.integers(0, 1500), st.integers(5, 900)).map(lambda s: (min(s[0], 1435), min(s[0], 1435) + s[1]))
ratios = st.integers(0, 20).map(lambda n: n / 20)
laws = st.one_of(
    st.sampled_from([Ratio(0.7), Ratio(0.85), Ratio(1.0)]), st.sampled_from([Offset(150.0), Offset(600.0)]),
    st.just(Constant()),
)  # fmt: skip


@st.composite
def kitchens(draw_from, least=None):
    """A plant with one to three hoods on one or two fans, and a day."""
    n = draw_from(st.integers(1, 3))
    tags = [f"H-{i}" for i in range(1, n + 1)]
    idle = [draw_from(st.sampled_from([85.0, 90.0, 97.0, 110.0])) for _ in tags]
    hoods = tuple(
        hood(t, idle=i, full=i + draw_from(st.sampled_from([20.0, 40.0]))) for t, i in zip(tags, idle, strict=True)
    )
    own = draw_from(st.integers(2, 19)) / 20 if least is None else least
    drive = draw_from(st.sampled_from([1.0, 0.96]))
    curve = drive_part_load(3.0).value if drive < 1.0 else FLAT
    fans = [fan("EF-1", tuple(tags[:1]), cfm=2000.0, least=own, drive=drive, curve=curve)]
    if n > 1:
        fans.append(fan("EF-2", tuple(tags), cfm=3000.0, least=own, drive=drive, curve=curve, kw=2.0))
    names = tuple(f.tag for f in fans)
    units = (unit(TREATMENT, "MAU-1", names, cfm=2500.0 * n, least=draw_from(ratios), law=draw_from(laws), kw=1.0),)
    cooking = tuple(
        Cooking(draw_from(spans), draw_from(ratios), draw_from(st.sampled_from([(), *[(t,) for t in tags]])))
        for _ in range(draw_from(st.integers(0, 4)))
    )
    low = draw_from(st.lists(spans, max_size=2))
    return Plant(hoods, tuple(fans), units), day(
        cooking=cooking, runs=tuple(draw_from(st.lists(spans, max_size=3))), low_speed=low
    )


def with_least(plant, least):
    """The same plant with another least speed."""
    fans = tuple(
        fan(f.tag, f.hoods, cfm=f.design_cfm, least=least, kw=f.full_kw, drive=f.drive_ratio, curve=f.part_load)
        for f in plant.fans
    )
    return Plant(plant.hoods, fans, plant.units, plant.altitude_ft, plant.two_speed_ratio)


@settings(max_examples=30, deadline=None)
@given(kitchens(), st.tuples(ratios, ratios))
def test_a_higher_least_speed_never_saves_more(made, leasts):
    plant, one_day = made
    low, high = sorted(leasts)
    saved = []
    for least in (low, high):
        cases = run(with_least(plant, least), WEATHER, one_day).cases
        before, after = cases["constant volume"].energy, cases["demand control"].energy
        saved.append(
            [getattr(before, k) - getattr(after, k) for k in ("exhaust_kwh", "supply_kwh", "heat_btu", "cool_btu")]
        )
    for less, more in zip(saved[1], saved[0], strict=True):
        assert less <= more + 1e-6 * max(1.0, abs(more))


@settings(max_examples=20, deadline=None)
@given(kitchens(), st.randoms(use_true_random=False))
def test_the_order_of_hoods_fans_and_spans_is_irrelevant(made, chance):
    plant, one_day = made
    hoods, fans, cooking = list(plant.hoods), list(plant.fans), list(one_day.cooking)
    for items in (hoods, fans, cooking):
        chance.shuffle(items)
    again = Plant(tuple(hoods), tuple(fans), plant.units, plant.altitude_ft, plant.two_speed_ratio)
    other = day(cooking=tuple(cooking), runs=one_day.runs, low_speed=one_day.low_speed)
    first, second = run(plant, WEATHER, one_day), run(again, WEATHER, other)
    for case in CASES:
        for name in ("exhaust_kwh", "supply_kwh", "heat_btu", "cool_btu", "water_lb", "makeup_kcf"):
            one, two = (getattr(y.cases[case].energy, name) for y in (first, second))
            assert abs(one - two) <= 1e-9 * max(abs(one), 1.0)


@settings(max_examples=25, deadline=None)
@given(kitchens())
def test_shares_of_every_hour_and_bounds_of_every_speed(made):
    plant, one_day = made
    year = run(plant, WEATHER, one_day)
    np.testing.assert_allclose(year.usage.share.sum(axis=1), 1.0, rtol=0, atol=1e-12)
    assert (year.usage.share >= 0.0).all()
    for case in CASES:
        one = year.cases[case]
        on = np.array([s.running for s in year.usage.states])
        assert (one.speed[~on] == 0.0).all()
        least = np.array([f.min_speed_ratio for f in plant.fans])
        if case == "demand control":
            assert (one.speed[on] >= least - 1e-12).all()
        assert (one.speed <= 1.0 + 1e-12).all()
        assert one.energy.exhaust_kwh <= year.cases["constant volume"].energy.exhaust_kwh / 0.85


@settings(max_examples=15, deadline=None)
@given(kitchens(), st.integers(0, 2**32 - 1))
def test_the_range_surrounds_its_middle(made, seed):
    plant, one_day = made
    year = run(plant, WEATHER, one_day)
    draws = drawn_savings(year, draw(Widths(), 60, seed), "constant volume")
    for name in ("fan_kwh", "fan_ratio", "therm", "site_ratio"):
        band = draws.band(name)
        assert band.low <= band.middle <= band.high


def test_hotter_collars_never_slow_a_fan():
    plant = Plant((hood("H-1"), hood("H-2", idle=95.0)), (fan("EF-1", ("H-1", "H-2")),))
    grid = np.array(list(itertools.product(np.linspace(0, 1, 9), repeat=2)))
    share = demand_share(plant, grid)[:, 0].reshape(9, 9)
    assert (np.diff(share, axis=0) >= 0.0).all()
    assert (np.diff(share, axis=1) >= 0.0).all()


def test_speed_is_that_of_the_map():
    """The array form of the map against the set-point rule itself."""
    from galleyproof.savings.calendar import State

    one = hood(least=0.35, idle=84.0, full=141.0)
    plant = Plant((one,), (fan(least=0.35),))
    intensities = np.linspace(0.0, 1.0, 41)
    states = [State(True, (float(x),), False) for x in intensities]
    ours = speeds(plant, states, "demand control")[:, 0]
    theirs = [one.speed_map.speed_ratio(84.0 + float(x) * 57.0) for x in intensities]
    np.testing.assert_allclose(ours, theirs, rtol=1e-12)
