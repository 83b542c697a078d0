"""What it takes to bring outdoor air to where a make-up unit blows it in, hour by hour and per cfm.

Enthalpies are those of ``air.psychro``; flow is counted as 70 degF air at the altitude of the site, so that dry air at
sea level takes the trade's 1.08 Btu/(h cfm degF). Cooling and drying is one ideal coil: it leaves air at the wanted
temperature or dew point, whichever is colder, and water at that temperature.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from galleyproof.air.psychro import density_ratio, pressure_at_altitude_psia, sensible_factor_btuh_per_cfm_degf, state
from galleyproof.savings.plant import Treatment
from galleyproof.savings.weather import Array, Weather, saturation_psia

__all__ = ["Treated", "enthalpy_btu_per_lb", "humidity_lb_per_lb", "treat"]

_CP_AIR = 0.240  # Btu per lb and degF, as in air.psychro
_WATER_OVER_AIR = 0.621945


@dataclass(frozen=True, slots=True)
class Treated:
    """One hour per element.

    Attributes:
        dry_air_lb_per_h: Dry air in one cfm, the same every hour. [lb/(h cfm)]
        outdoor_lb_per_lb: Humidity ratio outdoors. [lb/lb]
        coil_degf: Behind the cooling coil; outdoor temperature where it is off. [degF]
        supply_degf: Where it is blown in. [degF]
        supply_lb_per_lb: Humidity ratio there. [lb/lb]
        heat_btuh_per_cfm: Heat put in. [Btu/(h cfm)]
        cool_btuh_per_cfm: Heat taken out by the coil. [Btu/(h cfm)]
        water_lb_per_h_cfm: Water taken out. [lb/(h cfm)]
    """

    dry_air_lb_per_h: float
    outdoor_lb_per_lb: Array
    coil_degf: Array
    supply_degf: Array
    supply_lb_per_lb: Array
    heat_btuh_per_cfm: Array
    cool_btuh_per_cfm: Array
    water_lb_per_h_cfm: Array


def enthalpy_btu_per_lb(air_degf: Array, humidity_lb_per_lb: Array) -> Array:
    """Enthalpy of moist air per pound of dry air, for arrays.

    Args:
        air_degf: Temperatures. [degF]
        humidity_lb_per_lb: Water per dry air. [lb/lb]

    Returns:
        ``air.psychro.AirState.enthalpy_btu_per_lb`` element by element. [Btu/lb]
    """
    return _CP_AIR * air_degf + humidity_lb_per_lb * (1061.0 + 0.444 * air_degf)


def humidity_lb_per_lb(dew_point_degf: Array, pressure_psia: float) -> Array:
    """Humidity ratio from the dew point, for arrays.

    Args:
        dew_point_degf: Dew points. [degF]
        pressure_psia: Barometer. [psia]

    Returns:
        Water per dry air. [lb/lb]
    """
    vapor = saturation_psia(dew_point_degf)
    return _WATER_OVER_AIR * vapor / (pressure_psia - vapor)


def treat(weather: Weather, treatment: Treatment, altitude_ft: float) -> Treated:
    """Every hour of a year through a make-up unit.

    Args:
        weather: The year; its dew points at the barometer of the site.
        treatment: What is done.
        altitude_ft: Of the site. [ft]
    """
    pressure = pressure_at_altitude_psia(altitude_ft)
    flow = sensible_factor_btuh_per_cfm_degf(density_ratio(altitude_ft, 70.0).value).value / _CP_AIR
    air = weather.air_degf
    outdoor = humidity_lb_per_lb(weather.dew_point_degf, pressure)
    coil, humidity = air, outdoor
    dried = np.zeros(air.shape, dtype=bool)
    if treatment.max_dew_point_degf is not None:
        limit = state(
            treatment.max_dew_point_degf, dew_point_degf=treatment.max_dew_point_degf, pressure_psia=pressure
        ).humidity_lb_per_lb
        dried = outdoor > limit
        coil = np.where(dried, np.minimum(coil, treatment.max_dew_point_degf), coil)
        humidity = np.where(dried, limit, humidity)
    if treatment.cools_to_degf is not None:
        warm = coil > treatment.cools_to_degf
        coil = np.where(warm, treatment.cools_to_degf, coil)
        limit = state(treatment.cools_to_degf, relative_humidity_ratio=1.0, pressure_psia=pressure).humidity_lb_per_lb
        humidity = np.where(warm, np.minimum(humidity, limit), humidity)
    supply = coil
    if treatment.heats_to_degf is not None:
        cold = (coil < treatment.heats_to_degf) & (~dried | treatment.reheats)
        supply = np.where(cold, treatment.heats_to_degf, coil)
    water = flow * (outdoor - humidity)
    removed = enthalpy_btu_per_lb(air, outdoor) - enthalpy_btu_per_lb(coil, humidity)
    cool = np.maximum(0.0, flow * removed - water * (coil - 32.0))
    heat = flow * (_CP_AIR + 0.444 * humidity) * (supply - coil)
    return Treated(flow, outdoor, coil, supply, humidity, heat, cool, water)
