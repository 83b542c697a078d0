"""The savings page: a year with demand control beside constant volume and two-speed, with its range and its bound."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from galleyproof.package.facts import Facts
from galleyproof.package.model import Block, Column, Para, Picture, Row, Section, Table, missing

if TYPE_CHECKING:
    from galleyproof.savings.spread import Band
    from galleyproof.savings.study import Saving, Study


def savings_page(facts: Facts) -> Section:
    """What demand control saves in a year of the weather that was given.

    Args:
        facts: The job with everything computed of it.
    """
    year = facts.savings
    if year is None:
        how = "it needs a weather file: galleyproof package JOB -o DIR --weather FILE"
        return Section("savings", "Savings", (missing("What demand control saves in a year", how),))
    from galleyproof.savings.chart import chart_svg

    weather = year.year.weather
    spread = year.made.use.spread
    identity = facts.job.job
    blocks: tuple[Block, ...] = (
        Para(
            f"Weather: {weather.station} ({weather.kind}), {weather.air_degf.min():.0f} to "
            f"{weather.air_degf.max():.0f} °F; the exhaust runs {year.year.usage.running_hours:,.0f} of "
            f"{weather.hours:,} hours."
        ),
        _cases(year),
        _saved(year),
        Picture(
            chart_svg(year, f"{identity.number} {identity.name}"),
            "Energy of every month in the three cases, hours at every speed, and field results beside this job's own",
        ),
        Para(
            f"In brackets: eight of ten of {spread.years:,} drawn years (cooking ± {spread.intensity:.0%}, least speed "
            f"± {spread.min_speed:.0%} of full speed, efficiencies ± {spread.efficiency:.0%}). An estimate for "
            "comparing, no promise; published field results bound it and do not shape it.",
            "note",
        ),
    )
    return Section("savings", "Savings", blocks)


def _cases(year: Study) -> Table:
    from galleyproof.savings.year import CASES

    energies = [year.energy(case) for case in CASES]
    found: list[Row] = []

    def row(title: str, values: list[float], unit: str) -> None:
        if any(values):
            found.append((title, *(f"{v:,.0f} {unit}" for v in values)))

    row("Exhaust fans", [e.exhaust_kwh for e in energies], "kWh")
    row("Make-up fans", [e.supply_kwh for e in energies], "kWh")
    row("Heating, gas", [e.heat_therm for e in energies], "therm")
    row("Heating, electric", [e.heat_kwh for e in energies], "kWh")
    row("Cooling and drying", [e.cool_kwh for e in energies], "kWh")
    if year.rates.priced:
        row("Cost", [year.rates.cost(e.electric_kwh, e.heat_therm) for e in energies], year.rates.currency)
    if year.rates.counted:
        row("Carbon dioxide", [year.rates.carbon_kg(e.electric_kwh, e.heat_therm) for e in energies], "kg")
    columns = (Column("A year", 1.4), *(Column(case.capitalize(), 1.0, right=True) for case in CASES))
    return Table(columns, tuple(found), "The year in three cases")


def _saved(year: Study) -> Table:
    columns = (
        Column("Demand control saves", 1.2),
        *(Column(f"Against {one.against}", 1.4, right=True) for one in year.savings),
    )
    rows = tuple((title, *(_cell(one, name, unit) for one in year.savings)) for title, name, unit in figures(year))
    return Table(columns, rows, "What demand control saves")


def figures(year: Study) -> Iterator[tuple[str, str, str]]:
    """What is said of a saving: title, name of the figure, its unit; only what the job has prices for."""
    yield "Fan energy", "fan_kwh", "kWh"
    yield "of all fan energy", "fan_ratio", "%"
    yield "Electric energy", "electric_kwh", "kWh"
    yield "Gas", "therm", "therm"
    yield "of all energy", "site_ratio", "%"
    if year.rates.priced:
        yield "Cost", "cost", year.rates.currency
    if year.rates.counted:
        yield "Carbon dioxide", "carbon_kg", "kg"
    if year.made.use.investment is not None and year.rates.priced:
        yield "Simple payback", "payback_years", "years"


def _cell(one: Saving, name: str, unit: str) -> str:
    value: float | None = getattr(one, name)
    if value is None:
        return "never" if name == "payback_years" else "not asked for"
    band = one.bands.get(name)
    return f"{_said(value, unit)}{_range(band, unit)}"


def _said(value: float, unit: str) -> str:
    if unit == "%":
        return f"{value:.1%}"
    return f"{value:,.1f} {unit}" if unit == "years" else f"{value:,.0f} {unit}"


def _range(band: Band | None, unit: str) -> str:
    if band is None:
        return ""
    low, high = (_said(v, unit).removesuffix(f" {unit}") for v in (band.low, band.high))
    return f" [{low} to {high}]"
