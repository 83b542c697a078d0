"""How far the savings can lie from the one figure: many years with other cooking, least speed and efficiency.

Each drawn year moves the cooking intensity of all hoods together, the least speed of all fans together, and the
efficiencies of fans and of heating: errors that go together widen the range, errors that cancel would narrow it. A
year falls into few states, so that a thousand years are one array operation; the result is that of ``year`` with the
same inputs to the last digits.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from galleyproof.air.steps import AirError, require
from galleyproof.savings.money import Rates
from galleyproof.savings.plant import Plant
from galleyproof.savings.weather import Array
from galleyproof.savings.year import (
    BTU_PER_KWH,
    BTU_PER_THERM,
    Case,
    Year,
    demand_share,
    exhaust_kw,
    makeup_flow,
    makeup_kw,
    speeds,
    tracked_cfm,
)

__all__ = ["Band", "Draws", "Widths", "draw", "drawn_savings"]


@dataclass(frozen=True, slots=True)
class Widths:
    """Half-widths of what is drawn, evenly up and down.

    Attributes:
        intensity_ratio: Of cooking, as a share of it. [-]
        min_speed_ratio: Of the least speed, as a share of full speed. [-]
        efficiency_ratio: Of efficiencies, as a share of them. [-]
    """

    intensity_ratio: float = 0.2
    min_speed_ratio: float = 0.1
    efficiency_ratio: float = 0.05

    def __post_init__(self) -> None:
        for name in ("intensity_ratio", "min_speed_ratio", "efficiency_ratio"):
            value = getattr(self, name)
            require(name.replace("_", " "), value, "-", least=0.0)
            if value >= 1.0:
                raise AirError(f"a half-width of {value:.0%} leaves nothing; below 100 %")


@dataclass(frozen=True, slots=True)
class Band:
    """Where a figure lies.

    Attributes:
        low: One year in ten lies below. [unit of the figure]
        middle: Half of the years lie below. [unit of the figure]
        high: One year in ten lies above. [unit of the figure]
    """

    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True)
class Draws:
    """Savings of demand control against another case, one element per drawn year.

    Attributes:
        fan_kwh: Exhaust and make-up fans. [kWh]
        fan_ratio: The same over what the other case takes. [-]
        electric_kwh: All electric energy. [kWh]
        therm: Gas. [therm]
        site_ratio: All energy at the meter over what the other case takes. [-]
        cost: Money; None without prices. [currency]
        carbon_kg: Carbon dioxide; None without factors. [kg]
    """

    fan_kwh: Array
    fan_ratio: Array
    electric_kwh: Array
    therm: Array
    site_ratio: Array
    cost: Array | None
    carbon_kg: Array | None

    def band(self, name: str) -> Band:
        """The range of one figure by its name.

        Raises:
            AirError: It was not computed.
        """
        values = getattr(self, name)
        if values is None:
            raise AirError(f"{name} was not computed; name prices or carbon factors")
        low, middle, high = np.quantile(values, (0.1, 0.5, 0.9))
        return Band(float(low), float(middle), float(high))


@dataclass(frozen=True, slots=True)
class Factors:
    """What is drawn, one element per year.

    Attributes:
        intensity: Times the cooking intensity, which stays at most 1. [-]
        min_speed: Added to the least speed, which stays between 0.1 and 1. [-]
        fan: Times the efficiency of fans, motors and drives. [-]
        heat: Times the efficiency of heating and cooling. [-]
    """

    intensity: Array
    min_speed: Array
    fan: Array
    heat: Array


def draw(widths: Widths, years: int, seed: int) -> Factors:
    """Draw the inputs of many years.

    Args:
        widths: Half-widths.
        years: How many. [-]
        seed: Start of the row of draws; the same seed gives the same years. [-]
    """
    require("years", years, "-", least=1)
    rows = np.random.default_rng(seed).uniform(-1.0, 1.0, size=(years, 4))
    return Factors(
        intensity=1.0 + widths.intensity_ratio * rows[:, 0],
        min_speed=widths.min_speed_ratio * rows[:, 1],
        fan=1.0 + widths.efficiency_ratio * rows[:, 2],
        heat=1.0 + widths.efficiency_ratio * rows[:, 3],
    )


def drawn_savings(year: Year, factors: Factors, against: Case, rates: Rates | None = None) -> Draws:
    """Savings of demand control in each drawn year.

    Args:
        year: The kitchen's year with its best inputs.
        factors: What was drawn.
        against: The case it is compared with.
        rates: Prices and carbon.
    """
    plant, usage = year.plant, year.usage
    hours = usage.state_hours
    on = np.array([s.running for s in usage.states])
    variable = np.array([f.variable for f in plant.fans])
    cooking = np.array([s.intensities for s in usage.states])
    share = demand_share(plant, np.minimum(factors.intensity[:, None, None] * cooking, 1.0))
    own = np.array([f.min_speed_ratio for f in plant.fans])
    least = np.clip(own + factors.min_speed[:, None], np.minimum(0.1, own), 1.0)[:, None, :]
    speed = np.where(variable, least + (1.0 - least) * share, 1.0) * on[:, None]
    controlled = _totals(year, speed, "demand control", hours, factors)
    fixed = _totals(year, speeds(plant, usage.states, against)[None], against, hours, factors)
    saved = [f - c for f, c in zip(fixed, controlled, strict=True)]
    fans, other_kwh, therm = saved
    site = [(fan + kwh) * BTU_PER_KWH + gas * BTU_PER_THERM for fan, kwh, gas in (fixed, controlled)]
    electric = fans + other_kwh
    cost = carbon = None
    if rates is not None and rates.priced:
        cost = rates.cost(electric, therm)
    if rates is not None and rates.counted:
        carbon = rates.carbon_kg(electric, therm)
    return Draws(
        fan_kwh=fans,
        fan_ratio=_over(fans, fixed[0]),
        electric_kwh=electric,
        therm=therm,
        site_ratio=_over(site[0] - site[1], site[0]),
        cost=cost,
        carbon_kg=carbon,
    )


def _totals(year: Year, speed: Array, case: Case, hours: Array, factors: Factors) -> tuple[Array, Array, Array]:
    """Fan energy [kWh], other electric energy [kWh] and gas [therm] of each drawn year."""
    plant: Plant = year.plant
    fan_kwh = sum(
        (exhaust_kw(fan, speed[..., n], case) @ hours for n, fan in enumerate(plant.fans)), np.zeros(len(speed))
    )
    flow = speed * np.array([f.design_cfm for f in plant.fans])
    other, therm = np.zeros(len(factors.heat)), np.zeros(len(factors.heat))
    by_state: dict[int, tuple[Array, Array]] = {}
    for unit, air in zip(plant.units, year.treated, strict=True):
        if id(air) not in by_state:
            share = year.usage.share
            by_state[id(air)] = (share.T @ air.heat_btuh_per_cfm, share.T @ air.cool_btuh_per_cfm)
        heat_hours, cool_hours = by_state[id(air)]
        cfm = makeup_flow(unit, tracked_cfm(plant, unit, flow))
        fan_kwh = fan_kwh + makeup_kw(unit, cfm, case) @ hours
        heat = (cfm @ heat_hours) / (unit.treatment.heat_ratio * factors.heat)
        cool = (cfm @ cool_hours) / (unit.treatment.cooling_cop * factors.heat)
        other = other + cool / BTU_PER_KWH
        if unit.treatment.electric_heat:
            other = other + heat / BTU_PER_KWH
        else:
            therm = therm + heat / BTU_PER_THERM
    return fan_kwh / factors.fan, other, therm


def _over(part: Array, whole: Array) -> Array:
    return np.divide(part, whole, out=np.zeros_like(part), where=whole > 0.0)
