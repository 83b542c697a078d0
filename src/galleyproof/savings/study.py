"""One job in one weather: the year, what demand control saves, how sure that is, and what to look at.

An estimate for comparing. It leaves out what a kitchen does that its schedule does not say, the room's own heating and
cooling, transfer air, heat that fans put into make-up air, and the difference of clock time in summer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from galleyproof.air.model import Why
from galleyproof.errors import Problem, WeatherError
from galleyproof.findings import Finding
from galleyproof.job.model import Job
from galleyproof.job.usage import KitchenUse
from galleyproof.savings.calendar import lay_out
from galleyproof.savings.evidence import FieldResult, field_results
from galleyproof.savings.money import Rates, simple_payback_years
from galleyproof.savings.notes import findings_of
from galleyproof.savings.of_job import JobYear, of_job
from galleyproof.savings.reasons import reasons_of
from galleyproof.savings.spread import Band, Widths, draw, drawn_savings
from galleyproof.savings.weather import Array, Weather
from galleyproof.savings.year import CASES, Case, CaseYear, Energy, Year, run_year

__all__ = ["AGAINST", "BINS", "Month", "Saving", "Study", "study"]

AGAINST: tuple[Case, ...] = ("constant volume", "two-speed")
BINS = tuple(n / 20 for n in range(21))
"""Edges of the speed histogram: steps of 5 percent. [-]"""


@dataclass(frozen=True, slots=True)
class Saving:
    """What demand control saves against another case.

    Attributes:
        against: That case.
        fan_kwh: Exhaust and make-up fans. [kWh]
        fan_ratio: The same over what the other case takes. [-]
        electric_kwh: All electric energy. [kWh]
        therm: Gas. [therm]
        site_ratio: All energy at the meter over what the other case takes. [-]
        cost: Money; None without prices. [currency]
        carbon_kg: Carbon dioxide; None without factors. [kg]
        payback_years: Investment over money; None without either, or where nothing is saved. [a]
        bands: Range of each figure over the drawn years, by its name; payback too where there is one.
    """

    against: Case
    fan_kwh: float
    fan_ratio: float
    electric_kwh: float
    therm: float
    site_ratio: float
    cost: float | None
    carbon_kg: float | None
    payback_years: float | None
    bands: dict[str, Band]


@dataclass(frozen=True, slots=True)
class Month:
    """One month of one case.

    Attributes:
        month: 1 to 12. [-]
        case: Which case.
        fan_kwh: Exhaust and make-up fans. [kWh]
        heat_therm: Gas. [therm]
        heat_kwh: Electric heating. [kWh]
        cool_kwh: Cooling and drying. [kWh]
    """

    month: int
    case: Case
    fan_kwh: float
    heat_therm: float
    heat_kwh: float
    cool_kwh: float


@dataclass(frozen=True, slots=True)
class Study:
    """Everything about one job in one weather.

    Attributes:
        made: The job made ready.
        year: The year of every case.
        rates: Prices and carbon.
        savings: Against constant volume and against two-speed.
        months: Every month of every case.
        histogram: Fan-hours of demand control in each step of speed, first the hours at rest left out. [h]
        field: Published field results, for the eye.
        findings: What to look at.
        reasons: Reasoning by item.
    """

    made: JobYear
    year: Year
    rates: Rates
    savings: tuple[Saving, ...]
    months: tuple[Month, ...]
    histogram: tuple[float, ...]
    field: tuple[FieldResult, ...]
    findings: tuple[Finding, ...]
    reasons: dict[str, tuple[Why, ...]]

    def energy(self, case: Case) -> Energy:
        """The year of one case."""
        return self.year.cases[case].energy


def study(job: Job, weather: Weather, weather_file: str = "weather") -> Study:
    """Run a job through a year of weather.

    Args:
        job: The job.
        weather: The year.
        weather_file: Its name, for messages.

    Raises:
        WeatherError: The weather is of the other hemisphere than the job.
    """
    made = of_job(job)
    _hemisphere(made.use, weather, weather_file)
    usage = lay_out(made.schedule, weather, [h.tag for h in made.plant.hoods])
    year = run_year(made.plant, usage, weather)
    rates = rates_of(made.use)
    spread = made.use.spread
    factors = draw(Widths(spread.intensity, spread.min_speed, spread.efficiency), spread.years, spread.seed)
    savings = []
    for against in AGAINST:
        before, after = year.cases[against].energy, year.cases["demand control"].energy
        draws = drawn_savings(year, factors, against, rates)
        kwh, therm = before.electric_kwh - after.electric_kwh, before.heat_therm - after.heat_therm
        cost = rates.cost(kwh, therm) if rates.priced else None
        names = ["fan_kwh", "fan_ratio", "electric_kwh", "therm", "site_ratio"]
        names += ["cost"] if rates.priced else []
        names += ["carbon_kg"] if rates.counted else []
        bands = {name: draws.band(name) for name in names}
        payback = None
        if made.use.investment is not None and cost is not None:
            payback = simple_payback_years(made.use.investment, cost)
            if bands["cost"].low > 0.0:
                short, middle, long = (
                    made.use.investment / value
                    for value in (bands["cost"].high, bands["cost"].middle, bands["cost"].low)
                )
                bands["payback_years"] = Band(short, middle, long)
        savings.append(
            Saving(
                against=against,
                fan_kwh=before.fan_kwh - after.fan_kwh,
                fan_ratio=_over(before.fan_kwh - after.fan_kwh, before.fan_kwh),
                electric_kwh=kwh,
                therm=therm,
                site_ratio=_over(before.site_btu - after.site_btu, before.site_btu),
                cost=cost,
                carbon_kg=rates.carbon_kg(kwh, therm) if rates.counted else None,
                payback_years=payback,
                bands=bands,
            )
        )
    return Study(
        made=made,
        year=year,
        rates=rates,
        savings=tuple(savings),
        months=tuple(m for case in CASES for m in _months(year.cases[case], weather)),
        histogram=_histogram(year),
        field=(*field_results("total saving"), *field_results("fan saving"), *field_results("mean flow")),
        findings=findings_of(job, made, year),
        reasons=reasons_of(made, year, rates),
    )


def rates_of(use: KitchenUse) -> Rates:
    """Prices and carbon factors of a job's block."""
    prices, carbon = use.prices, use.carbon
    return Rates(
        currency="USD" if prices is None else prices.currency,
        per_kwh=None if prices is None else prices.per_kwh,
        per_therm=None if prices is None else prices.per_therm,
        kg_per_kwh=None if carbon is None else carbon.kg_per_kwh,
        kg_per_therm=None if carbon is None else carbon.kg_per_therm,
    )


def _hemisphere(use: KitchenUse, weather: Weather, weather_file: str) -> None:
    half = "southern" if weather.southern else "northern"
    if use.hemisphere is not None and use.hemisphere != half:
        what = f"is of the {half} hemisphere, latitude {weather.latitude_deg:g}; the job's kitchen stands in the "
        what += f"{use.hemisphere} one (kitchen_use: hemisphere): take a file from near the kitchen"
        raise WeatherError([Problem(weather_file, 1, weather.station, what)])


def _months(one: CaseYear, weather: Weather) -> list[Month]:
    def by_month(values: Array) -> Array:
        return np.bincount(weather.month, weights=values, minlength=13)[1:].astype(np.float64)

    fans = by_month(one.hours.exhaust_kw + one.hours.supply_kw)
    therm, heat, cool = by_month(one.hours.heat_therm), by_month(one.hours.heat_kw), by_month(one.hours.cool_kw)
    return [Month(n + 1, one.case, float(fans[n]), float(therm[n]), float(heat[n]), float(cool[n])) for n in range(12)]


def _histogram(year: Year) -> tuple[float, ...]:
    """Fan-hours by speed; a fan at full speed counts in the last step."""
    speed = year.cases["demand control"].speed
    hours = np.broadcast_to(year.usage.state_hours[:, None], speed.shape)
    on = speed > 0.0
    # a speed that is an edge but for its last bit belongs to the step above
    counts, _ = np.histogram(np.minimum(speed[on] + 1e-9, 1.0), bins=np.array(BINS), weights=hours[on])
    return tuple(float(c) for c in counts)


def _over(part: float, whole: float) -> float:
    return part / whole if whole > 0.0 else 0.0
