"""``galleyproof savings``: what demand control saves in a year of weather."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from galleyproof.cli import text
from galleyproof.cli.check import heading
from galleyproof.cli.files import Loaded, load_jobs, one_problem, put, read_bytes, stems
from galleyproof.cli.main import ALL_WELL, BAD_INPUT, FOUND
from galleyproof.errors import GalleyproofError, InputError, Problem
from galleyproof.savings.chart import chart_svg
from galleyproof.savings.read import read_weather
from galleyproof.savings.spread import Band
from galleyproof.savings.study import BINS, Saving, Study, study
from galleyproof.savings.weather import Weather
from galleyproof.savings.year import CASES, Energy
from galleyproof.yamltext import hint

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table


def run(args: Namespace) -> int:
    """Show the year of each job, or why one number is what it is."""
    loaded, problems, many = load_jobs([args.job])
    try:
        weather = weather_of(Path(args.weather))
    except InputError as error:
        text.complain([*problems, *error.problems])
        return BAD_INPUT
    studies: list[tuple[Loaded, Study]] = []
    for one in loaded:
        try:
            studies.append((one, study(one.job, weather, args.weather)))
        except InputError as error:
            problems += error.problems
        except GalleyproofError as error:
            problems.append(Problem(one.name, 0, "savings", " ".join(str(error).split())))
    if args.why is not None:
        having = [(one, found) for one, found in studies if args.why in found.reasons]
        if studies and not having:
            known: Mapping[str, Any] = {item: None for _, found in studies for item in found.reasons}
            what = f"there is no item {args.why!r} in the year{hint(args.why, known)}; items: {', '.join(known)}"
            problems += one_problem(args.job, what).problems
        studies = having
    if args.chart is not None:
        problems += _charts(Path(args.chart), studies)
    if args.json:
        data = [_why_data(one, found, args.why) if args.why else _data(one, found) for one, found in studies]
        if many:
            print(text.dump({"jobs": data}), end="")
        elif data:
            print(text.dump(data[0]), end="")
    elif studies:
        out = text.console()
        for i, (one, found) in enumerate(studies):
            if i:
                out.print()
            out.print(heading(one), style="bold")
            if args.why is not None:
                _why(out, found, args.why)
            else:
                _tables(out, found)
    text.complain(problems)
    if problems:
        return BAD_INPUT
    return FOUND if any(text.weighs(found.findings) for _, found in studies) else ALL_WELL


def weather_of(path: Path) -> Weather:
    """Read a weather file.

    Raises:
        InputError: It cannot be read, or with every problem found in it.
    """
    raw = read_bytes(path)
    try:
        words = raw.decode("utf-8")
    except UnicodeDecodeError:
        words = raw.decode("latin-1")  # names of stations in older files; the numbers are plain ASCII
    return read_weather(words, str(path))


def _charts(path: Path, studies: list[tuple[Loaded, Study]]) -> list[Problem]:
    """One file, or with several jobs one beside it for each, named after the job."""
    short = stems([one for one, _ in studies])
    problems: list[Problem] = []
    for one, found in studies:
        file = path if len(studies) == 1 else path.with_name(f"{path.stem}-{short[one.name]}{path.suffix}")
        try:
            put(file, chart_svg(found, one.job.job.name))
        except InputError as error:
            problems += error.problems
    return problems


# --- words ------------------------------------------------------------------------------------------------------


def _tables(out: Console, found: Study) -> None:
    weather, usage = found.year.weather, found.year.usage
    text.show(
        out,
        f"Weather: {weather.station} ({weather.kind}), {weather.air_degf.min():.0f} to {weather.air_degf.max():.0f} "
        f"degF; the exhaust runs {usage.running_hours:,.0f} of {weather.hours:,} hours",
    )
    out.print()
    text.show(out, _year(found))
    out.print()
    text.show(out, _saved(found))
    out.print()
    text.show(out, _field(found))
    if found.findings:
        out.print()
        text.show(out, text.findings_table(found.findings))
    out.print()
    spread = found.made.use.spread
    text.show(
        out,
        f"In brackets: eight of ten of {spread.years:,} drawn years (cooking ± {spread.intensity:.0%}, least speed "
        f"± {spread.min_speed:.0%} of full speed, efficiencies ± {spread.efficiency:.0%}). An estimate for comparing, "
        "no promise; published results bound it and do not shape it. Why a number: --why ITEM",
    )


def _year(found: Study) -> Table:
    made = text.table("A year", *(case.capitalize() for case in CASES), right=[c.capitalize() for c in CASES])
    energies = [found.energy(case) for case in CASES]

    def row(title: str, values: list[float], unit: str) -> None:
        if any(values):
            made.add_row(title, *(f"{v:,.0f} {unit}" for v in values))

    row("Exhaust fans", [e.exhaust_kwh for e in energies], "kWh")
    row("Make-up fans", [e.supply_kwh for e in energies], "kWh")
    row("Heating, gas", [e.heat_therm for e in energies], "therm")
    row("Heating, electric", [e.heat_kwh for e in energies], "kWh")
    row("Cooling and drying", [e.cool_kwh for e in energies], "kWh")
    design = energies[0].exhaust_kcf
    if design > 0.0:
        made.add_row("Mean exhaust over design", *(f"{e.exhaust_kcf / design:.0%}" for e in energies))
    if found.rates.priced:
        row("Cost", [found.rates.cost(e.electric_kwh, e.heat_therm) for e in energies], found.rates.currency)
    if found.rates.counted:
        row("Carbon dioxide", [found.rates.carbon_kg(e.electric_kwh, e.heat_therm) for e in energies], "kg")
    return made


def _saved(found: Study) -> Table:
    titles = [f"Against {one.against}" for one in found.savings]
    made = text.table("Demand control saves", *titles, right=titles)
    for title, name, unit, percent in _figures(found):
        cells = []
        for one in found.savings:
            value = getattr(one, name)
            if value is None:
                cells.append("never" if name == "payback_years" else "")
                continue
            cells.append(f"{_figure(value, unit, percent)}{_range(one.bands.get(name), unit, percent)}")
        made.add_row(title, *cells)
    return made


def _figures(found: Study) -> Iterator[tuple[str, str, str, bool]]:
    yield "Fan energy", "fan_kwh", "kWh", False
    yield "of all fan energy", "fan_ratio", "", True
    yield "Electric energy", "electric_kwh", "kWh", False
    yield "Gas", "therm", "therm", False
    yield "of all energy", "site_ratio", "", True
    if found.rates.priced:
        yield "Cost", "cost", found.rates.currency, False
    if found.rates.counted:
        yield "Carbon dioxide", "carbon_kg", "kg", False
    if found.made.use.investment is not None and found.rates.priced:
        yield "Simple payback", "payback_years", "years", False


def _figure(value: float, unit: str, percent: bool) -> str:
    if percent:
        return f"{value:.1%}"
    return f"{value:,.1f} {unit}" if unit == "years" else f"{value:,.0f} {unit}"


def _range(band: Band | None, unit: str, percent: bool) -> str:
    if band is None:
        return ""
    if percent:
        return f" [{band.low:.1%} to {band.high:.1%}]"
    digits = 1 if unit == "years" else 0
    return f" [{band.low:,.{digits}f} to {band.high:,.{digits}f}]"


def _field(found: Study) -> Table:
    made = text.table(
        "Published results (a bound)", "What", "Low", "Typical", "High", "Known", right=["Low", "Typical", "High"]
    )
    for one in found.field:
        cells = ("" if v is None else f"{v:.0%}" for v in (one.low_ratio, one.typical_ratio, one.high_ratio))
        made.add_row(one.short, one.quantity, *cells, f"{one.basis}; {one.status}")
    return made


def _why(out: Console, found: Study, item: str) -> None:
    from rich.padding import Padding
    from rich.text import Text

    for why in found.reasons[item]:
        out.print()
        text.show(out, Text(f"{item}: {why.title}: {why.value}", style="bold"))
        for line in why.lines:
            text.show(out, Padding(Text(line), (0, 0, 0, 2)))


# --- data -------------------------------------------------------------------------------------------------------


def _why_data(one: Loaded, found: Study, item: str) -> dict[str, Any]:
    return {"job": one.name, "item": item, "why": [asdict(why) for why in found.reasons[item]]}


def _data(one: Loaded, found: Study) -> dict[str, Any]:
    weather, usage = found.year.weather, found.year.usage
    return {
        "job": one.name,
        "weather": {
            "station": weather.station,
            "kind": weather.kind,
            "hours": weather.hours,
            "latitude_deg": weather.latitude_deg,
            "elevation_ft": weather.elevation_ft,
            "mean_degf": float(weather.air_degf.mean()),
        },
        "use": {"assumed": found.made.assumed, "running_hours": usage.running_hours, "states": len(usage.states)},
        "currency": found.rates.currency if found.rates.priced else None,
        "year": {case: _energy(found, found.energy(case)) for case in CASES},
        "savings": [_saving(saving) for saving in found.savings],
        "months": [asdict(month) for month in found.months],
        "histogram": [
            {"from_ratio": low, "to_ratio": high, "fan_hours": hours}
            for low, high, hours in zip(BINS, BINS[1:], found.histogram, strict=False)
        ],
        "field_results": [
            {
                "study": r.study,
                "quantity": r.quantity,
                "low_ratio": r.low_ratio,
                "typical_ratio": r.typical_ratio,
                "high_ratio": r.high_ratio,
                "basis": r.basis,
                "status": r.status,
                "remark": r.remark,
            }
            for r in found.field
        ],
        "findings": [text.finding_data(f) for f in text.by_weight(found.findings)],
    }


def _energy(found: Study, energy: Energy) -> dict[str, Any]:
    rates = found.rates
    return {
        **asdict(energy),
        "cost": rates.cost(energy.electric_kwh, energy.heat_therm) if rates.priced else None,
        "carbon_kg": rates.carbon_kg(energy.electric_kwh, energy.heat_therm) if rates.counted else None,
    }


def _saving(saving: Saving) -> dict[str, Any]:
    return asdict(saving)
