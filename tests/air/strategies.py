"""Whole jobs with an air side: every field stated now and then, every value such that the job reads."""

from __future__ import annotations

from collections.abc import Callable
from itertools import accumulate
from typing import Any

from hypothesis import strategies as st
from tests.strategies import quantities, small_jobs

from galleyproof.job import airside as a
from galleyproof.job import model as m

Draw = Callable[[st.SearchStrategy[Any]], Any]


def maybe(low: float, high: float) -> st.SearchStrategy[float | None]:
    """Nothing, or a quantity."""
    return st.none() | quantities(low, high)


def shapes() -> st.SearchStrategy[a.DuctShape]:
    """Round, rectangular, flat oval."""
    size = quantities(6, 48)
    return st.one_of(
        size.map(lambda d: a.RoundDuct(kind="round", diameter=d)),
        st.tuples(size, size).map(lambda s: a.RectangularDuct(kind="rectangular", width=s[0], height=s[1])),
        st.tuples(size, size).map(lambda s: a.OvalDuct(kind="flat oval", major=max(s), minor=min(s))),
    )


def fan_air(draw: Draw, fan: m.ExhaustFan) -> a.FanAir:
    """The air of one fan."""
    drive = fan.drive.kind == "VFD"
    ducts = tuple(
        a.DuctPiece(
            name=f"piece {n}",
            shape=draw(shapes()),
            length=draw(quantities(1, 120)),
            fittings=tuple(
                a.DuctFitting(name="fitting", loss_coefficient=c) for c in draw(st.lists(st.floats(0, 5), max_size=2))
            ),
            material=draw(st.sampled_from(("welded steel", "galvanized steel", "fibrous liner"))),
            carries=draw(st.sampled_from([(), fan.serves, fan.serves[:1]])),
        )
        for n in range(draw(st.integers(0, 2)))
    )
    steps = draw(st.lists(st.tuples(quantities(100, 3000), quantities(0.05, 0.5)), min_size=2, max_size=4))
    flows = list(accumulate(flow for flow, _ in steps))
    falls = list(accumulate(fall for _, fall in steps))
    curve = tuple(
        a.CurvePoint(airflow=flow, static_pressure=falls[-1] + 0.1 - fall)
        for flow, fall in zip(flows, falls, strict=True)
    )
    return a.FanAir(
        air_at=draw(quantities(60, 200)),
        selected_for=draw(st.sampled_from(("standard air", "the air it moves"))),
        ducts=ducts,
        fixed_loss=draw(quantities(0, 0.3)),
        curve=curve if draw(st.booleans()) else (),
        brake_power=draw(maybe(0.1, 10)),
        fan_efficiency=draw(maybe(0.2, 0.8)),
        belt_efficiency=draw(maybe(0.8, 0.98)),
        motor_efficiency=draw(maybe(0.6, 0.95)),
        least_frequency=draw(maybe(10, 40)) if drive else None,
        design_frequency=draw(maybe(40, 70)) if drive else None,
        stable_speed=draw(maybe(0.2, 0.6)),
        readings=tuple(
            a.FanReading(
                at=at,
                airflow=draw(maybe(100, 9000)),
                frequency=draw(maybe(10, 65)),
                amps=draw(maybe(0.5, 20)),
                static_pressure=draw(maybe(0.1, 3)),
                collar=draw(maybe(60, 180)),
                kitchen_pressure=draw(maybe(-0.05, 0.05)),
            )
            for at in draw(st.sampled_from([(), ("design",), ("idle",), ("design", "idle")]))
        ),
    )


def hood_air(draw: Draw) -> a.HoodAir:
    """The air of one hood."""
    return a.HoodAir(
        type=draw(st.sampled_from(("I", "I", "II"))),
        airflow=draw(maybe(300, 6000)),
        supplied_inside=draw(maybe(50, 800)),
        loss=draw(maybe(0.1, 1.5)),
        appliance_line=draw(maybe(24, 200)),
        open_ends=draw(st.sampled_from((0, 1, 2))),
        front_overhang=draw(maybe(1, 18)),
        lip_height=draw(maybe(24, 60)),
        captures_from=draw(maybe(100, 4000)),
        listing_least=draw(maybe(100, 4000)),
        flue=draw(maybe(50, 500)),
        plume=a.PlumePlan(free_height=42.0, length=90.0, width=36.0) if draw(st.booleans()) else None,
        readings=(a.HoodReading(at="design", airflow=draw(maybe(100, 5000)), collar=draw(maybe(70, 160))),),
    )


def makeup_air(draw: Draw) -> a.MakeupAir:
    """The air of one make-up unit."""
    follows = st.one_of(
        st.none(),
        quantities(0.1, 1.5).map(lambda s: a.FollowRatio(kind="ratio", share=s)),
        quantities(10, 5000).map(lambda b: a.FollowOffset(kind="offset", below=b)),
        st.just(a.FollowNot(kind="one flow")),
    )
    return a.MakeupAir(
        follows=draw(follows),
        heats_to=draw(maybe(50, 90)),
        cools_to=draw(maybe(50, 80)),
        serves_the_load=draw(st.booleans()),
        least_airflow=draw(maybe(100, 9000)),
        readings=(a.MakeupReading(at="idle", airflow=draw(maybe(100, 9000))),),
    )


@st.composite
def air_jobs(draw: Draw) -> m.Job:
    """Jobs of one or two hoods with an air side."""
    job: m.Job = draw(small_jobs())
    codes = ("ASHRAE 90.1", "California Title 24", "Washington State Energy Code", "IECC")
    energy = st.none() | st.builds(
        a.EnergyChoice,
        code=st.sampled_from(codes),
        threshold=maybe(500, 8000),
        transfer_share=maybe(0, 1),
        recovery_effectiveness=maybe(0, 1),
        recovery_share=maybe(0, 1),
        tempered_share=maybe(0, 1),
    )
    air = a.AirSide(
        kitchen_at=draw(quantities(60, 90)),
        kitchen_pressure=draw(quantities(-0.03, 0.01)),
        opening=draw(maybe(1, 40)),
        transfer=draw(maybe(1, 4000)),
        infiltration=draw(maybe(1, 400)),
        others=tuple(
            a.OtherAir(tag=f"RTU-{n}", airflow=f) for n, f in enumerate(draw(st.lists(quantities(1, 4000), max_size=2)))
        ),
        energy_code=draw(energy),
        cold_start=draw(quantities(-20, 70)),
        delays=a.Delays(ramp_up=draw(quantities(0, 60)), heat_start=draw(quantities(0, 2000))),
    )
    reading = draw(st.sampled_from(("at design", "at all times", "not yet confirmed")))
    return job.model_copy(
        update={
            "air": air,
            "authority": job.authority.model_copy(update={"duct_velocity": reading}),
            "hoods": tuple(h.model_copy(update={"air": hood_air(draw)}) for h in job.hoods),
            "exhaust_fans": tuple(f.model_copy(update={"air": fan_air(draw, f)}) for f in job.exhaust_fans),
            "makeup_units": tuple(u.model_copy(update={"air": makeup_air(draw)}) for u in job.makeup_units),
        }
    )
