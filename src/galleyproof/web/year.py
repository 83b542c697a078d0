"""The year of a job in its weather, as its page shows it. Runs in the calculator's processes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from galleyproof.errors import GalleyproofError, InputError, Problem
from galleyproof.findings import Finding
from galleyproof.web.computed import NAME
from galleyproof.web.work import Progress

if TYPE_CHECKING:
    from galleyproof.air.model import Why
    from galleyproof.savings.spread import Band
    from galleyproof.savings.study import Saving, Study

__all__ = ["YearOfJob", "given", "year_of"]

BETWEEN = "\0"
"""Stands between a job and its weather; neither text holds it."""


@dataclass(frozen=True, slots=True)
class YearOfJob:
    """What the page says of a year.

    Attributes:
        weather: The weather and the running hours, in a sentence.
        cases: Names of the three cases.
        year: Energy of each case: title, then a text for each case.
        against: What demand control is compared with.
        saved: What it saves: title, then figure and range for each comparison.
        field: Published results: name, quantity, low, typical, high, how well known.
        range_words: What the range means.
        assumed: Whether the job does not say how its kitchen is used.
        chart: SVG.
        findings: What to look at.
        reasons: Steps by item.
        problems: Why there is no year; all else is then empty.
    """

    weather: str = ""
    cases: tuple[str, ...] = ()
    year: tuple[tuple[str, tuple[str, ...]], ...] = ()
    against: tuple[str, ...] = ()
    saved: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = ()
    field: tuple[tuple[str, ...], ...] = ()
    range_words: str = ""
    assumed: bool = False
    chart: str = ""
    findings: tuple[Finding, ...] = ()
    reasons: tuple[tuple[str, tuple[Why, ...]], ...] = ()
    problems: tuple[Problem, ...] = ()


def given(text: str, file: str, weather: str) -> str:
    """A job and its weather as one text to compute from."""
    return BETWEEN.join((text, file.replace(BETWEEN, ""), weather.replace(BETWEEN, "")))


def year_of(text: str, progress: Progress) -> YearOfJob:
    """Run a job through its weather.

    Args:
        text: From ``given``.
        progress: Told nothing; it is quick.
    """
    from galleyproof.job.read import read_job
    from galleyproof.savings.chart import chart_svg
    from galleyproof.savings.read import read_weather
    from galleyproof.savings.study import study
    from galleyproof.savings.year import CASES

    job_text, _, rest = text.partition(BETWEEN)
    file, _, weather = rest.partition(BETWEEN)
    if not weather:
        raise GalleyproofError("a year needs a weather file; give one on the page Savings")
    try:
        job = read_job(job_text, NAME)
        found = study(job, read_weather(weather, file), file)
    except InputError as error:
        return YearOfJob(problems=error.problems)
    except GalleyproofError as error:
        return YearOfJob(problems=(Problem(NAME, 0, "savings", " ".join(str(error).split())),))
    air, usage, spread = found.year.weather, found.year.usage, found.made.use.spread
    return YearOfJob(
        weather=f"{air.station} ({air.kind}), {air.air_degf.min():.0f} to {air.air_degf.max():.0f} degF. The exhaust "
        f"runs {usage.running_hours:,.0f} of {air.hours:,} hours.",
        cases=tuple(case.capitalize() for case in CASES),
        year=tuple(_year(found)),
        against=tuple(f"Against {one.against}" for one in found.savings),
        saved=tuple(_saved(found)),
        field=tuple(_field(found)),
        range_words=f"Eight of ten of {spread.years:,} drawn years lie in the range: cooking ± {spread.intensity:.0%}, "
        f"least speed ± {spread.min_speed:.0%} of full speed, efficiencies ± {spread.efficiency:.0%}. An estimate for "
        "comparing, no promise; published results bound it and do not shape it.",
        assumed=found.made.assumed,
        chart=chart_svg(found, job.job.name),
        findings=found.findings,
        reasons=tuple(found.reasons.items()),
    )


def _year(found: Study) -> Iterator[tuple[str, tuple[str, ...]]]:
    from galleyproof.savings.year import CASES

    energies = [found.energy(case) for case in CASES]

    def row(title: str, values: list[float], unit: str) -> Iterator[tuple[str, tuple[str, ...]]]:
        if any(values):
            yield title, tuple(f"{v:,.0f} {unit}" for v in values)

    yield from row("Exhaust fans", [e.exhaust_kwh for e in energies], "kWh")
    yield from row("Make-up fans", [e.supply_kwh for e in energies], "kWh")
    yield from row("Heating, gas", [e.heat_therm for e in energies], "therm")
    yield from row("Heating, electric", [e.heat_kwh for e in energies], "kWh")
    yield from row("Cooling and drying", [e.cool_kwh for e in energies], "kWh")
    rates = found.rates
    if rates.priced:
        yield from row("Cost", [rates.cost(e.electric_kwh, e.heat_therm) for e in energies], rates.currency)
    if rates.counted:
        yield from row("Carbon dioxide", [rates.carbon_kg(e.electric_kwh, e.heat_therm) for e in energies], "kg")


def _saved(found: Study) -> Iterator[tuple[str, tuple[tuple[str, str], ...]]]:
    from galleyproof.package.savings_page import figures

    for title, name, unit in figures(found):
        yield title, tuple(_cell(one, name, unit) for one in found.savings)


def _cell(one: Saving, name: str, unit: str) -> tuple[str, str]:
    value: float | None = getattr(one, name)
    if value is None:
        return ("never" if name == "payback_years" else "not asked for"), ""
    return _said(value, unit), _range(one.bands.get(name), unit)


def _said(value: float, unit: str) -> str:
    if unit == "%":
        return f"{value:.1%}"
    return f"{value:,.1f} {unit}" if unit == "years" else f"{value:,.0f} {unit}"


def _range(band: Band | None, unit: str) -> str:
    if band is None:
        return ""
    low, high = (_said(v, unit).removesuffix(f" {unit}") for v in (band.low, band.high))
    return f"{low} to {high}"


def _field(found: Study) -> Iterator[tuple[str, ...]]:
    for r in found.field:
        shares = ("" if v is None else f"{v:.0%}" for v in (r.low_ratio, r.typical_ratio, r.high_ratio))
        yield (r.short, r.quantity, *shares, f"{r.basis}; {r.status}")
