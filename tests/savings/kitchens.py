"""Small kitchens and simple years, made by hand."""

from __future__ import annotations

import numpy as np

from galleyproof.air.balance import Ratio
from galleyproof.air.setpoints import SpeedMap
from galleyproof.savings.calendar import Cooking, Day, Schedule, lay_out
from galleyproof.savings.plant import FLAT, FanPart, HoodPart, Plant, Treatment, UnitPart
from galleyproof.savings.weather import Weather
from galleyproof.savings.year import run_year

DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
DRY_DEGF = -140.0  # a dew point so low that the air holds no water


def weather_of(air_degf, dew_degf=DRY_DEGF, *, first_weekday=None, latitude=43.5):
    """A year from one temperature or from 8760 of them; dry unless said."""
    air = np.broadcast_to(np.asarray(air_degf, dtype=float), (8760,)).copy()
    dew = np.broadcast_to(np.asarray(dew_degf, dtype=float), (8760,)).copy()
    days = [(m, d) for m in range(1, 13) for d in range(1, DAYS[m - 1] + 1)]
    calendar = np.array([(m, d, h) for m, d in days for h in range(1, 25)])
    return Weather(
        station="Saltmarrow Quay",
        kind="EPW",
        latitude_deg=latitude,
        longitude_deg=-70.0,
        elevation_ft=0.0,
        first_weekday=first_weekday,
        air_degf=air,
        dew_point_degf=dew,
        pressure_psia=np.full(8760, 14.696),
        month=calendar[:, 0],
        day=calendar[:, 1],
        hour=calendar[:, 2],
    )


def hood(tag="H-1", *, least=0.5, idle=90.0, full=130.0):
    return HoodPart(tag, SpeedMap(90.0, 130.0, least), idle, full)


def fan(tag="EF-1", hoods=("H-1",), *, cfm=1000.0, least=0.5, variable=True, kw=1.0, drive=1.0, curve=FLAT, power=3.0):
    return FanPart(tag, hoods, cfm, least, variable, kw, drive, power, curve)


def unit(treatment, tag="MAU-1", tracks=("EF-1",), *, cfm=1000.0, least=0.0, law=None, kw=0.0):
    return UnitPart(tag, tracks, Ratio(1.0) if law is None else law, cfm, least, kw, treatment)


def plant_of(treatment=None, *, least=0.5, cfm=1000.0, kw=1.0, altitude=0.0, idle=90.0, full=130.0, low=0.67):
    """One hood, one fan and, with a treatment, one unit that replaces all of its air."""
    treatment = treatment or Treatment()
    return Plant(
        hoods=(hood(least=least, idle=idle, full=full),),
        fans=(fan(cfm=cfm, least=least, kw=kw),),
        units=(unit(treatment, cfm=cfm),),
        altitude_ft=altitude,
        two_speed_ratio=low,
    )


ALL_DAY = (0, 1440)


def day(intensity=1.0, *, runs=(ALL_DAY,), cooking=None, low_speed=(), name="day"):
    spans = tuple(Cooking(r, intensity) for r in runs) if cooking is None else cooking
    return Day(name, tuple(runs), spans, tuple(low_speed))


def run(plant, weather, one_day=None, schedule=None):
    schedule = schedule or Schedule.every_day(one_day or day())
    return run_year(plant, lay_out(schedule, weather, [h.tag for h in plant.hoods]), weather)
