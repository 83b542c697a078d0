"""The year: three ways to run the same kitchen through the same weather, hour by hour.

Fan power is summed state by state (the mean of the powers), never taken from a mean speed. Heat goes with flow.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, TypeAlias

import numpy as np

from galleyproof.air.balance import Constant, Offset, Ratio
from galleyproof.savings.calendar import State, Usage
from galleyproof.savings.plant import FanPart, PartLoad, Plant, UnitPart
from galleyproof.savings.treatment import Treated, treat
from galleyproof.savings.weather import Array, Weather

__all__ = [
    "BTU_PER_KWH",
    "BTU_PER_THERM",
    "CASES",
    "Case",
    "CaseYear",
    "Energy",
    "Hours",
    "Year",
    "demand_share",
    "exhaust_kw",
    "makeup_flow",
    "makeup_kw",
    "run_year",
    "speeds",
]

Case: TypeAlias = Literal["constant volume", "two-speed", "demand control"]
CASES: tuple[Case, ...] = ("constant volume", "two-speed", "demand control")

BTU_PER_KWH = 3412.141633
BTU_PER_THERM = 100_000.0


@dataclass(frozen=True, slots=True)
class Energy:
    """Energy of a year.

    Attributes:
        exhaust_kwh: Exhaust fans. [kWh]
        supply_kwh: Make-up fans. [kWh]
        heat_btu: Heat put into make-up air. [Btu]
        heat_therm: Gas bought for it. [therm]
        heat_kwh: Electric energy bought for it. [kWh]
        cool_btu: Heat taken out of make-up air, drying included. [Btu]
        cool_kwh: Electric energy bought for it. [kWh]
        water_lb: Water taken out. [lb]
        exhaust_kcf: Air exhausted. [1000 ft3]
        makeup_kcf: Air blown in. [1000 ft3]
    """

    exhaust_kwh: float
    supply_kwh: float
    heat_btu: float
    heat_therm: float
    heat_kwh: float
    cool_btu: float
    cool_kwh: float
    water_lb: float
    exhaust_kcf: float
    makeup_kcf: float

    @property
    def fan_kwh(self) -> float:
        """Both sorts of fans [kWh]."""
        return self.exhaust_kwh + self.supply_kwh

    @property
    def electric_kwh(self) -> float:
        """All electric energy [kWh]."""
        return self.fan_kwh + self.heat_kwh + self.cool_kwh

    @property
    def site_btu(self) -> float:
        """All energy bought, electric and gas, at the meter [Btu]."""
        return self.electric_kwh * BTU_PER_KWH + self.heat_therm * BTU_PER_THERM


@dataclass(frozen=True, slots=True)
class Hours:
    """One case, one element per hour of the year.

    Attributes:
        exhaust_cfm: Mean exhaust in the hour. [cfm]
        makeup_cfm: Mean make-up in the hour. [cfm]
        exhaust_kw: Exhaust fans. [kW]
        supply_kw: Make-up fans. [kW]
        heat_btuh: Heat put in. [Btu/h]
        cool_btuh: Heat taken out. [Btu/h]
        heat_therm: Gas bought. [therm/h]
        heat_kw: Electric heating bought. [kW]
        cool_kw: Cooling bought. [kW]
        water_lb: Water taken out. [lb/h]
    """

    exhaust_cfm: Array
    makeup_cfm: Array
    exhaust_kw: Array
    supply_kw: Array
    heat_btuh: Array
    cool_btuh: Array
    heat_therm: Array
    heat_kw: Array
    cool_kw: Array
    water_lb: Array


@dataclass(frozen=True, slots=True)
class CaseYear:
    """One way to run the kitchen.

    Attributes:
        case: Which.
        speed: Speed of each fan (column) in each state (row). [-]
        unit_cfm: Flow of each make-up unit (column) in each state (row). [cfm]
        hours: Hour by hour.
        energy: The year.
        exhaust_kwh: Each exhaust fan. [kWh]
        supply_kwh: Each make-up fan. [kWh]
    """

    case: Case
    speed: Array
    unit_cfm: Array
    hours: Hours
    energy: Energy
    exhaust_kwh: Array
    supply_kwh: Array


@dataclass(frozen=True, slots=True)
class Year:
    """All cases of a kitchen.

    Attributes:
        plant: The kitchen.
        usage: Its states.
        weather: The year.
        treated: What is done to each make-up unit's air.
        cases: Each case by its name.
    """

    plant: Plant
    usage: Usage
    weather: Weather
    treated: tuple[Treated, ...]
    cases: MappingProxyType[Case, CaseYear]


def run_year(plant: Plant, usage: Usage, weather: Weather) -> Year:
    """Run the kitchen through the year in every case.

    Args:
        plant: The kitchen.
        usage: Its states, from ``calendar.lay_out``.
        weather: The year.
    """
    done: dict[tuple[object, float], Treated] = {}
    for unit in plant.units:
        key = (unit.treatment, plant.altitude_ft)
        if key not in done:
            done[key] = treat(weather, unit.treatment, plant.altitude_ft)
    treated = tuple(done[u.treatment, plant.altitude_ft] for u in plant.units)
    cases = {case: _run(plant, usage, treated, case) for case in CASES}
    return Year(plant, usage, weather, treated, MappingProxyType(cases))


# --- speeds -----------------------------------------------------------------------------------------------------


def demand_share(plant: Plant, intensity_ratio: Array) -> Array:
    """How far between idle and full speed the worst hood of each fan asks for.

    Args:
        plant: The kitchen.
        intensity_ratio: Cooking; last axis hoods. [-]

    Returns:
        0 for idle to 1 for full speed; last axis fans. [-]
    """
    share = np.empty_like(intensity_ratio)
    for n, hood in enumerate(plant.hoods):
        collar = hood.idle_degf + intensity_ratio[..., n] * (hood.full_degf - hood.idle_degf)
        low, high = hood.speed_map.idle_below_degf, hood.speed_map.full_above_degf
        share[..., n] = np.clip((collar - low) / (high - low), 0.0, 1.0)
    place = {hood.tag: n for n, hood in enumerate(plant.hoods)}
    worst = [share[..., [place[t] for t in fan.hoods]].max(axis=-1) for fan in plant.fans]
    return np.stack(worst, axis=-1)


def speeds(plant: Plant, states: Sequence[State], case: Case) -> Array:
    """Speed of each fan in each state.

    Args:
        plant: The kitchen.
        states: Rows of the result.
        case: How the fans are run.

    Returns:
        Speed over full, 0 while the exhaust is off; states by fans. [-]
    """
    on = np.array([s.running for s in states])[:, None]
    variable = np.array([f.variable for f in plant.fans])
    if case == "constant volume":
        ratio = np.ones((len(states), len(plant.fans)))
    elif case == "two-speed":
        low = np.array([s.low for s in states])[:, None]
        ratio = np.where(low & variable, plant.two_speed_ratio, 1.0)
    else:
        least = np.array([f.min_speed_ratio for f in plant.fans])
        share = demand_share(plant, np.array([s.intensities for s in states]))
        ratio = np.where(variable, least + (1.0 - least) * share, 1.0)
    return np.where(on, ratio, 0.0)


# --- power and flow ---------------------------------------------------------------------------------------------


def _power(ratio: Array, full_kw: float, exponent: float, drive_ratio: float, part_load: PartLoad) -> Array:
    load = ratio**exponent
    relative = np.interp(load, part_load.load_ratio, part_load.relative_ratio)
    return np.asarray(full_kw / drive_ratio * load / relative, dtype=np.float64)


def exhaust_kw(fan: FanPart, speed: Array, case: Case) -> Array:
    """Electric power of a fan at each speed.

    Args:
        fan: The fan.
        speed: Over full speed. [-]
        case: With a drive under demand control, else without.

    Returns:
        Power. [kW]
    """
    if case == "demand control":
        return _power(speed, fan.full_kw, fan.exponent, fan.drive_ratio, fan.part_load)
    return np.asarray(fan.full_kw * speed**fan.exponent, dtype=np.float64)


def makeup_flow(unit: UnitPart, tracked_cfm: Array) -> Array:
    """What a unit gives while its exhaust moves so much: ``air.balance.makeup_cfm`` for arrays.

    Args:
        unit: The unit.
        tracked_cfm: Exhaust of the fans it follows. [cfm]

    Returns:
        Flow. [cfm]
    """
    match unit.law:
        case Ratio(share):
            wanted = share * tracked_cfm
        case Offset(offset):
            wanted = tracked_cfm - offset
        case Constant():
            wanted = np.full(tracked_cfm.shape, unit.design_cfm)
    held = np.clip(wanted, unit.min_ratio * unit.design_cfm, unit.design_cfm)
    return np.where(tracked_cfm > 0.0, held, 0.0)


def makeup_kw(unit: UnitPart, air_cfm: Array, case: Case) -> Array:
    """Electric power of a unit's fan at each flow.

    Args:
        unit: The unit.
        air_cfm: Flow. [cfm]
        case: With a drive under demand control, else without.

    Returns:
        Power. [kW]
    """
    ratio = air_cfm / unit.design_cfm
    if case == "demand control":
        return _power(ratio, unit.full_kw, unit.exponent, unit.drive_ratio, unit.part_load)
    return np.asarray(unit.full_kw * ratio**unit.exponent, dtype=np.float64)


def tracked_cfm(plant: Plant, unit: UnitPart, flow_cfm: Array) -> Array:
    """Sum of the fans a unit follows; the last axis of ``flow_cfm`` is fans [cfm]."""
    place = {fan.tag: n for n, fan in enumerate(plant.fans)}
    return np.asarray(flow_cfm[..., [place[t] for t in unit.tracks]].sum(axis=-1), dtype=np.float64)


def _run(plant: Plant, usage: Usage, treated: tuple[Treated, ...], case: Case) -> CaseYear:
    share = usage.share
    speed = speeds(plant, usage.states, case)
    flow = speed * np.array([f.design_cfm for f in plant.fans])
    fan_kw = np.stack([exhaust_kw(f, speed[:, n], case) for n, f in enumerate(plant.fans)], axis=1)
    hours, states = share.shape
    unit_cfm = np.zeros((states, len(plant.units)))
    unit_kw = np.zeros((states, len(plant.units)))
    zero = np.zeros(hours)
    heat, cool, therm, heat_kw, cool_kw, water = (zero.copy() for _ in range(6))
    for n, (unit, air) in enumerate(zip(plant.units, treated, strict=True)):
        unit_cfm[:, n] = makeup_flow(unit, tracked_cfm(plant, unit, flow))
        unit_kw[:, n] = makeup_kw(unit, unit_cfm[:, n], case)
        mean_cfm = share @ unit_cfm[:, n]
        put_in, taken = mean_cfm * air.heat_btuh_per_cfm, mean_cfm * air.cool_btuh_per_cfm
        heat += put_in
        cool += taken
        water += mean_cfm * air.water_lb_per_h_cfm
        bought = put_in / unit.treatment.heat_ratio
        if unit.treatment.electric_heat:
            heat_kw += bought / BTU_PER_KWH
        else:
            therm += bought / BTU_PER_THERM
        cool_kw += taken / unit.treatment.cooling_cop / BTU_PER_KWH
    by_hour = Hours(
        exhaust_cfm=share @ flow.sum(axis=1),
        makeup_cfm=share @ unit_cfm.sum(axis=1),
        exhaust_kw=share @ fan_kw.sum(axis=1),
        supply_kw=share @ unit_kw.sum(axis=1),
        heat_btuh=heat,
        cool_btuh=cool,
        heat_therm=therm,
        heat_kw=heat_kw,
        cool_kw=cool_kw,
        water_lb=water,
    )
    state_hours = usage.state_hours
    energy = Energy(
        exhaust_kwh=float(by_hour.exhaust_kw.sum()),
        supply_kwh=float(by_hour.supply_kw.sum()),
        heat_btu=float(heat.sum()),
        heat_therm=float(therm.sum()),
        heat_kwh=float(heat_kw.sum()),
        cool_btu=float(cool.sum()),
        cool_kwh=float(cool_kw.sum()),
        water_lb=float(water.sum()),
        exhaust_kcf=float(by_hour.exhaust_cfm.sum()) * 0.06,
        makeup_kcf=float(by_hour.makeup_cfm.sum()) * 0.06,
    )
    return CaseYear(case, speed, unit_cfm, by_hour, energy, state_hours @ fan_kw, state_hours @ unit_kw)
