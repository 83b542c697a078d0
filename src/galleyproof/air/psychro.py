"""Moist air: density, enthalpy, humidity; the standard atmosphere; heat and mixing of air streams.

Formulas of the ASHRAE Handbook - Fundamentals (2021), psychrometrics chapter, in its inch-pound form; equation
numbers there are from memory. Perfect-gas relations: good to about 0.7 percent for enthalpy and volume at the
pressures of the lower atmosphere. Pressure is absolute, in psi, as in the source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from galleyproof.air.steps import AirError, Reasoned, Reasoning, require, total
from galleyproof.findings import Citation

__all__ = [
    "STANDARD_DENSITY_LB_PER_CUFT",
    "STANDARD_PRESSURE_PSIA",
    "AirState",
    "Stream",
    "density_ratio",
    "dew_point_degf",
    "heating_btu",
    "mixed",
    "pressure_at_altitude_psia",
    "saturation_pressure_psia",
    "sensible_factor_btuh_per_cfm_degf",
    "sensible_heat_btuh",
    "sensible_heat_ratio",
    "state",
]

FUNDAMENTALS = Citation("ASHRAE Fundamentals", "2021", "chapter 1")
"""The psychrometrics chapter; results were compared with a program of another hand in tests/outside."""

STANDARD_PRESSURE_PSIA = 14.696
STANDARD_DENSITY_LB_PER_CUFT = 0.075
REFERENCE_DEGF = 70.0
"""Temperature at which a density ratio is 1 at sea level."""

_RANKINE = 459.67
_GAS_FT_LBF_PER_LB_R = 53.350
_WATER_OVER_AIR = 0.621945
_TRIPLE_DEGF = 32.018  # the formulas over ice and over water meet here
_CP_AIR = 0.240  # Btu per lb and degF
_MAX_SATURATION_DEGF, _MIN_SATURATION_DEGF = 392.0, -148.0


def pressure_at_altitude_psia(altitude_ft: float) -> float:
    """Barometer of the standard atmosphere.

    Args:
        altitude_ft: Above sea level, -16,000 to 36,000. [ft]

    Returns:
        Absolute pressure. [psia]

    Raises:
        AirError: Outside.
    """
    require("altitude", altitude_ft, "ft", least=-16_000.0, most=36_000.0)
    return STANDARD_PRESSURE_PSIA * math.pow(1.0 - 6.8754e-6 * altitude_ft, 5.2559)


def density_ratio(altitude_ft: float, air_degf: float) -> Reasoned[float]:
    """Air density over that of 70 degF air at sea level, dry air, any temperature a duct can have.

    Args:
        altitude_ft: Above sea level. [ft]
        air_degf: Above -140 degF, at most 2000. [degF]

    Returns:
        Ratio. [-]

    Raises:
        AirError: Outside.

    Leaves out:
        Humidity: moist air is lighter by up to about 2 percent in a hood collar.
    """
    require("air temperature", air_degf, "degF", least=-140.0, most=2000.0)
    pressure = pressure_at_altitude_psia(altitude_ft) / STANDARD_PRESSURE_PSIA
    note = Reasoning()
    note.step(f"barometer at {altitude_ft:g} ft over sea level", pressure, "-", FUNDAMENTALS)
    ratio = pressure * (_RANKINE + REFERENCE_DEGF) / (_RANKINE + air_degf)
    note.step(f"density ratio at {air_degf:g} degF, dry air", ratio, "-", FUNDAMENTALS)
    return note.done(ratio, "-")


def saturation_pressure_psia(air_degf: float) -> float:
    """Vapour pressure of water, over ice below 32.018 degF.

    Args:
        air_degf: -148 to 392. [degF]

    Returns:
        Pressure. [psia]

    Raises:
        AirError: Outside.

    Code basis:
        Hyland and Wexler, as in ASHRAE Fundamentals chapter 1, equations 5 and 6.
    """
    require("air temperature", air_degf, "degF", least=_MIN_SATURATION_DEGF, most=_MAX_SATURATION_DEGF)
    t = air_degf + _RANKINE
    if air_degf <= _TRIPLE_DEGF:
        log_p = (
            -1.0214165e4 / t
            - 4.8932428
            - 5.3765794e-3 * t
            + 1.9202377e-7 * t**2
            + 3.5575832e-10 * t**3
            - 9.0344688e-14 * t**4
            + 4.1635019 * math.log(t)
        )
    else:
        log_p = (
            -1.0440397e4 / t
            - 1.1294650e1
            - 2.7022355e-2 * t
            + 1.2890360e-5 * t**2
            - 2.4780681e-9 * t**3
            + 6.5459673 * math.log(t)
        )
    return math.exp(log_p)


@dataclass(frozen=True, slots=True)
class AirState:
    """Moist air at one place.

    Attributes:
        air_degf: Dry-bulb temperature. [degF]
        humidity_lb_per_lb: Water per dry air. [lb/lb]
        pressure_psia: Barometer. [psia]
    """

    air_degf: float
    humidity_lb_per_lb: float
    pressure_psia: float = STANDARD_PRESSURE_PSIA

    def __post_init__(self) -> None:
        require("air temperature", self.air_degf, "degF", above=-_RANKINE)
        require("humidity ratio", self.humidity_lb_per_lb, "lb/lb", least=0.0)
        require("barometer", self.pressure_psia, "psia", above=0.0)

    @property
    def enthalpy_btu_per_lb(self) -> float:
        """Enthalpy per pound of dry air; zero at 0 degF dry air and 32 degF liquid water [Btu/lb]."""
        t = self.air_degf
        return _CP_AIR * t + self.humidity_lb_per_lb * (1061.0 + 0.444 * t)

    @property
    def volume_cuft_per_lb(self) -> float:
        """Volume per pound of dry air [ft3/lb]."""
        absolute = self.air_degf + _RANKINE
        moist = 1.0 + 1.607858 * self.humidity_lb_per_lb
        return _GAS_FT_LBF_PER_LB_R * absolute * moist / (144.0 * self.pressure_psia)

    @property
    def density_lb_per_cuft(self) -> float:
        """Air and water together, per volume [lb/ft3]."""
        return (1.0 + self.humidity_lb_per_lb) / self.volume_cuft_per_lb

    @property
    def vapor_pressure_psia(self) -> float:
        """Part of the pressure that is water vapour [psia]."""
        w = self.humidity_lb_per_lb
        return self.pressure_psia * w / (_WATER_OVER_AIR + w)

    @property
    def relative_humidity_ratio(self) -> float:
        """Vapour pressure over that of saturation, 0 to 1 [-]."""
        return self.vapor_pressure_psia / saturation_pressure_psia(self.air_degf)

    @property
    def dew_point_degf(self) -> float:
        """Temperature at which the vapour is saturated [degF]."""
        return dew_point_degf(self.vapor_pressure_psia, self.air_degf)

    @property
    def wet_bulb_degf(self) -> float:
        """Thermodynamic wet-bulb temperature [degF]."""
        too_dry = self.vapor_pressure_psia < saturation_pressure_psia(_MIN_SATURATION_DEGF)
        low = _MIN_SATURATION_DEGF if too_dry else self.dew_point_degf

        def excess(wet: float) -> float:
            return _humidity_from_wet_bulb(self.air_degf, wet, self.pressure_psia) - self.humidity_lb_per_lb

        return _bisect(excess, low, self.air_degf)


def state(
    air_degf: float,
    *,
    relative_humidity_ratio: float | None = None,
    wet_bulb_degf: float | None = None,
    dew_point_degf: float | None = None,
    pressure_psia: float = STANDARD_PRESSURE_PSIA,
) -> AirState:
    """Moist air from its temperature and exactly one measure of its humidity.

    Args:
        air_degf: Dry bulb. [degF]
        relative_humidity_ratio: 0 to 1. [-]
        wet_bulb_degf: At most the dry bulb. [degF]
        dew_point_degf: At most the dry bulb. [degF]
        pressure_psia: Barometer. [psia]

    Raises:
        AirError: None or several measures given, or one that such air cannot have.
    """
    require("barometer", pressure_psia, "psia", above=0.0)
    given = [relative_humidity_ratio, wet_bulb_degf, dew_point_degf]
    if sum(g is not None for g in given) != 1:
        raise AirError("air needs exactly one of relative humidity, wet bulb and dew point beside its temperature")
    if relative_humidity_ratio is not None:
        require("relative humidity", relative_humidity_ratio, "-", least=0.0, most=1.0, cure="write it as 0 to 1")
        vapor = relative_humidity_ratio * saturation_pressure_psia(air_degf)
        return AirState(air_degf, _humidity(vapor, pressure_psia), pressure_psia)
    if wet_bulb_degf is not None:
        require("wet bulb", wet_bulb_degf, "degF", most=air_degf, cure="it cannot lie above the dry bulb")
        w = _humidity_from_wet_bulb(air_degf, wet_bulb_degf, pressure_psia)
        if w < -1e-9:  # rounding alone may leave a dry state a hair below zero
            raise AirError(
                f"wet bulb {wet_bulb_degf:g} degF is too low for {air_degf:g} degF: even dry air is not so cold"
            )
        return AirState(air_degf, max(0.0, w), pressure_psia)
    assert dew_point_degf is not None  # the count above leaves only this one
    require("dew point", dew_point_degf, "degF", most=air_degf, cure="it cannot lie above the dry bulb")
    return AirState(air_degf, _humidity(saturation_pressure_psia(dew_point_degf), pressure_psia), pressure_psia)


def dew_point_degf(vapor_pressure_psia: float, highest_degf: float = _MAX_SATURATION_DEGF) -> float:
    """Temperature at which a vapour pressure is that of saturation.

    Args:
        vapor_pressure_psia: Above zero. [psia]
        highest_degf: Where to stop looking: the air's own temperature. [degF]

    Returns:
        Dew point. [degF]

    Raises:
        AirError: Drier than saturated air at -148 degF.
    """
    lowest = saturation_pressure_psia(_MIN_SATURATION_DEGF)
    require("vapour pressure", vapor_pressure_psia, "psia", least=lowest, cure="the air is too dry to have a dew point")
    top = min(highest_degf, _MAX_SATURATION_DEGF)
    if vapor_pressure_psia >= saturation_pressure_psia(top):
        return top
    return _bisect(lambda t: saturation_pressure_psia(t) - vapor_pressure_psia, _MIN_SATURATION_DEGF, top)


def sensible_factor_btuh_per_cfm_degf(ratio: float = 1.0) -> Reasoned[float]:
    """The factor of ``heat = factor x cfm x temperature difference``: 1.08 for standard air, less with altitude.

    Args:
        ratio: Density ratio of the air that is counted in cfm. [-]

    Returns:
        60 min/h x 0.075 lb/ft3 x 0.24 Btu/(lb degF) x ratio. [Btu/(h cfm degF)]
    """
    require("density ratio", ratio, "-", above=0.0)
    note = Reasoning()
    factor = 60.0 * STANDARD_DENSITY_LB_PER_CUFT * _CP_AIR * ratio
    note.step(f"60 min/h x 0.075 lb/ft3 x 0.24 Btu/(lb degF) x {ratio:.4g}", factor, "Btu/(h cfm degF)", FUNDAMENTALS)
    return note.done(factor, "Btu/(h cfm degF)")


def sensible_heat_btuh(air_cfm: float, rise_degf: float, ratio: float = 1.0) -> Reasoned[float]:
    """Heat that changes the temperature of an air stream.

    Args:
        air_cfm: Flow. [cfm]
        rise_degf: Temperature difference; negative cools. [degF]
        ratio: Density ratio of that flow. [-]

    Returns:
        Heat flow. [Btu/h]
    """
    require("airflow", air_cfm, "cfm", least=0.0)
    require("temperature difference", rise_degf, "degF")
    note = Reasoning()
    factor = note.take(sensible_factor_btuh_per_cfm_degf(ratio))
    heat = note.step(f"{factor:.4g} x {air_cfm:g} cfm x {rise_degf:g} degF", factor * air_cfm * rise_degf, "Btu/h")
    return note.done(heat, "Btu/h")


def heating_btu(outdoor_degf: Iterable[float], air_cfm: float, discharge_degf: float, ratio: float = 1.0) -> float:
    """Heat for make-up air over a row of hours; hours warmer than the discharge need none.

    Args:
        outdoor_degf: One temperature per hour. [degF]
        air_cfm: Make-up flow in these hours. [cfm]
        discharge_degf: Temperature it is heated to. [degF]
        ratio: Density ratio. [-]

    Returns:
        Heat. [Btu]

    Raises:
        AirError: An hour without a temperature: it would count as a warm one.

    Leaves out:
        Days have no mean here on purpose: a daily mean hides the cold hours of a mild day.
    """
    require("airflow", air_cfm, "cfm", least=0.0)
    require("discharge temperature", discharge_degf, "degF")
    factor = sensible_factor_btuh_per_cfm_degf(ratio).value
    hours = (require("outdoor temperature", t, "degF", cure="fill the missing hour") for t in outdoor_degf)
    return factor * air_cfm * total(max(0.0, discharge_degf - t) for t in hours)


def sensible_heat_ratio(sensible_w: float, moisture_kg_per_s: float, vapor_kj_per_kg: float) -> float:
    """Sensible over total heat that a room or hood gives to its air, as a psychrometric chart's protractor has it.

    Args:
        sensible_w: Sensible heat. [W]
        moisture_kg_per_s: Water vapour added. [kg/s]
        vapor_kj_per_kg: Enthalpy of that vapour. [kJ/kg]

    Returns:
        Ratio. [-]
    """
    require("sensible heat", sensible_w, "W", least=0.0)
    require("moisture", moisture_kg_per_s, "kg/s", least=0.0)
    require("enthalpy of the vapour", vapor_kj_per_kg, "kJ/kg", least=0.0)
    all_w = sensible_w + moisture_kg_per_s * vapor_kj_per_kg * 1000.0
    require("total heat", all_w, "W", above=0.0)
    return sensible_w / all_w


@dataclass(frozen=True, slots=True)
class Stream:
    """One flow of air into a mix.

    Attributes:
        air_cfm: Volume flow at its own state. [cfm]
        air: Its state.
    """

    air_cfm: float
    air: AirState

    def __post_init__(self) -> None:
        require("airflow of a stream", self.air_cfm, "cfm", least=0.0)

    @property
    def dry_air_lb_per_min(self) -> float:
        """Dry air it carries [lb/min]."""
        return self.air_cfm / self.air.volume_cuft_per_lb


def mixed(streams: Iterable[Stream]) -> AirState:
    """Adiabatic mix: dry air, water and enthalpy are conserved.

    Args:
        streams: At least one with flow; all at one barometer.

    Raises:
        AirError: No flow, or different barometers.

    Leaves out:
        Fog: a mix of cold and humid air can come out above saturation, and then holds its water as vapour here.
    """
    parts = tuple(streams)
    flow = total(s.dry_air_lb_per_min for s in parts)
    require("mixed airflow", flow, "lb/min", above=0.0)
    pressures = {s.air.pressure_psia for s in parts}
    if len(pressures) != 1:
        raise AirError(f"streams at different barometers cannot be mixed: {sorted(pressures)} psia")
    w = total(s.dry_air_lb_per_min * s.air.humidity_lb_per_lb for s in parts) / flow
    h = total(s.dry_air_lb_per_min * s.air.enthalpy_btu_per_lb for s in parts) / flow
    return AirState((h - 1061.0 * w) / (_CP_AIR + 0.444 * w), w, pressures.pop())


def _humidity(vapor_psia: float, pressure_psia: float) -> float:
    if vapor_psia >= pressure_psia:
        raise AirError(
            f"vapour pressure {vapor_psia:.4g} psia reaches the barometer, {pressure_psia:.4g} psia: that is steam"
        )
    return _WATER_OVER_AIR * vapor_psia / (pressure_psia - vapor_psia)


def _humidity_from_wet_bulb(dry: float, wet: float, pressure_psia: float) -> float:
    """Equations 33 (water) and 35 (ice)."""
    saturated = _humidity(saturation_pressure_psia(wet), pressure_psia)
    if wet >= 32.0:
        return ((1093.0 - 0.556 * wet) * saturated - _CP_AIR * (dry - wet)) / (1093.0 + 0.444 * dry - wet)
    return ((1220.0 - 0.04 * wet) * saturated - _CP_AIR * (dry - wet)) / (1220.0 + 0.444 * dry - 0.48 * wet)


def _bisect(rising: Callable[[float], float], low: float, high: float) -> float:
    """Root of a rising function, to the last bits."""
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        if rising(middle) > 0.0:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)
