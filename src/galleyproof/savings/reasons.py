"""Why a number of the year is what it is: by fan, hood, make-up unit, and for the results."""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from galleyproof.air.job_balance import law_words
from galleyproof.air.model import Why
from galleyproof.reasoning import shown
from galleyproof.savings.money import Rates, simple_payback_years
from galleyproof.savings.of_job import JobYear
from galleyproof.savings.plant import FanPart, HoodPart, UnitPart
from galleyproof.savings.year import BTU_PER_KWH, BTU_PER_THERM, CASES, Year, exhaust_kw

__all__ = ["RESULTS", "reasons_of"]

RESULTS = ("weather", "use", "fans", "heating", "cooling", "cost")
"""Items beside the tags of the job."""


def reasons_of(made: JobYear, year: Year, rates: Rates) -> dict[str, tuple[Why, ...]]:
    """Reasoning by item; every fan, hood and unit has one, and so has each of ``RESULTS`` that was computed."""
    found: dict[str, list[Why]] = defaultdict(list)
    for tag, title, number in made.reasons:
        found[tag].append(Why(title, shown(number.value, number.unit), number.lines()))
    for hood in made.plant.hoods:
        found[hood.tag].append(_hood(hood))
    for n, fan in enumerate(made.plant.fans):
        found[fan.tag].append(_fan(n, fan, year))
    for n, unit in enumerate(made.plant.units):
        found[unit.tag] += _unit(n, unit, year)
    found["weather"].append(_weather(year))
    found["use"].append(_use(year))
    found["fans"].append(_sum(year, "fan energy", "fan_kwh", "kWh"))
    found["heating"].append(_sum(year, "heat put into make-up air", "heat_btu", "Btu"))
    found["cooling"].append(_sum(year, "heat taken out of make-up air", "cool_btu", "Btu"))
    if rates.priced:
        found["cost"].append(_cost(made, year, rates))
    return {item: tuple(whys) for item, whys in found.items()}


def _numbered(lines: list[str]) -> tuple[str, ...]:
    return tuple(f"{n}. {line}" for n, line in enumerate(lines, start=1))


def _hood(hood: HoodPart) -> Why:
    m = hood.speed_map
    lines = [
        f"idling appliances bring its collar to {hood.idle_degf:g} degF, the rush to {hood.full_degf:g} degF; straight "
        "between them with the cooking",
        f"its map: {m.min_speed_ratio:.0%} up to {m.idle_below_degf:g} degF, 100% from {m.full_above_degf:g} degF, "
        "straight between [job]",
    ]
    points = []
    for percent in (0, 25, 50, 75, 100):
        collar = hood.idle_degf + percent / 100 * (hood.full_degf - hood.idle_degf)
        lines.append(f"cooking at {percent}%: {collar:.4g} degF, speed {m.speed_ratio(collar):.1%}")
        points.append(f"{m.speed_ratio(collar):.0%}")
    return Why("speed it asks for, from idle to rush", " ".join(points), _numbered(lines))


def _fan(n: int, fan: FanPart, year: Year) -> Why:
    hours = year.usage.state_hours
    speed = year.cases["demand control"].speed[:, n]
    power = exhaust_kw(fan, speed, "demand control")
    lines = [f"speed of its worst hood: {', '.join(fan.hoods)}" if fan.variable else "no speed control: on or off"]
    for ratio in sorted({float(s) for s in speed if s > 0.0}, reverse=True):
        at = speed == ratio
        kw = float(power[at][0])
        lines.append(f"{float(hours[at].sum()):,.0f} h at {ratio:.1%}: {kw:.4g} kW")
    lines.append(f"power goes with speed to the power {fan.exponent:g}, summed time by time, never from a mean speed")
    each = [f"{case} {year.cases[case].exhaust_kwh[n]:,.0f} kWh" for case in CASES]
    lines.append(f"the year: {'; '.join(each)}")
    return Why("energy of the year", f"{year.cases['demand control'].exhaust_kwh[n]:,.0f} kWh", _numbered(lines))


def _unit(n: int, unit: UnitPart, year: Year) -> list[Why]:
    hours = year.usage.state_hours
    flow = year.cases["demand control"].unit_cfm[:, n]
    lines = [f"follows {', '.join(unit.tracks)}: {law_words(unit.law)}, {unit.min_ratio:.0%} at least [job]"]
    for cfm in sorted({round(float(f), 6) for f in flow if f > 0.0}, reverse=True):
        at = np.abs(flow - cfm) < 1e-6
        lines.append(f"{float(hours[at].sum()):,.0f} h at {cfm:,.0f} cfm")
    flows = Why("flow under demand control", f"{float(flow.max(initial=0.0)):,.0f} cfm at most", _numbered(lines))
    t, air = unit.treatment, year.treated[n]
    what = []
    if t.heats_to_degf is not None:
        bought = "electric energy" if t.electric_heat else "gas"
        what.append(f"heated to {t.heats_to_degf:g} degF by {bought}, efficiency {t.heat_ratio:g}")
        cold = year.weather.heating_degree_hours_degf(t.heats_to_degf)
        what.append(f"the weather has {cold:,.0f} degF h below that, all hours of the year")
    if t.cools_to_degf is not None:
        what.append(f"cooled to {t.cools_to_degf:g} degF, {t.cooling_cop:g} of heat for one of electric energy")
    if t.max_dew_point_degf is not None:
        again = ", then heated again" if t.reheats else ""
        what.append(f"dried to a dew point of {t.max_dew_point_degf:g} degF{again}")
    what.append(f"dry air in one cfm: {air.dry_air_lb_per_h:.4g} lb/h at {year.plant.altitude_ft:,.0f} ft")
    for case in CASES:
        cfm_hours = year.usage.share @ year.cases[case].unit_cfm[:, n]
        heat, cool = float(cfm_hours @ air.heat_btuh_per_cfm), float(cfm_hours @ air.cool_btuh_per_cfm)
        what.append(f"{case}: {heat / 1e6:,.1f} MMBtu put in, {cool / 1e6:,.1f} MMBtu taken out")
    return [flows, Why("its air", what[0], _numbered(what))]


def _weather(year: Year) -> Why:
    w = year.weather
    lines = [
        f"{w.station}, {w.kind}, latitude {w.latitude_deg:g}, {w.elevation_ft:,.0f} ft, {w.hours:,} hours",
        f"{w.air_degf.min():.1f} to {w.air_degf.max():.1f} degF, {w.air_degf.mean():.1f} degF in the mean",
        f"{w.heating_degree_hours_degf(55.0):,.0f} degF h below 55 degF, {w.heating_degree_hours_degf(65.0):,.0f} "
        f"below 65 degF; {w.cooling_degree_hours_degf(75.0):,.0f} above 75 degF",
        "hours are summed one by one: degree-days would hide the cold hours of mild days",
    ]
    return Why("weather", w.station, _numbered(lines))


def _use(year: Year) -> Why:
    usage = year.usage
    days = {name: usage.day_names.count(name) for name in dict.fromkeys(usage.day_names)}
    lines = [", ".join(f"{count} x {name}" for name, count in days.items())]
    for state, hours in sorted(zip(usage.states, usage.state_hours, strict=True), key=lambda one: -one[1]):
        if not state.running:
            lines.append(f"{hours:,.0f} h at rest")
            continue
        low, high = min(state.intensities), max(state.intensities)
        cooking = f"{low:.0%}" if low == high else f"{low:.0%} to {high:.0%}"
        lines.append(f"{hours:,.0f} h cooking at {cooking}{', a two-speed fan at low' if state.low else ''}")
    return Why("use of the kitchen", f"{usage.running_hours:,.0f} h of exhaust", _numbered(lines))


def _sum(year: Year, title: str, name: str, unit: str) -> Why:
    values = {case: float(getattr(year.cases[case].energy, name)) for case in CASES}
    lines = [f"{case}: {value:,.0f} {unit}" for case, value in values.items()]
    if name == "heat_btu":
        energy = year.cases["demand control"].energy
        lines.append(
            f"demand control buys {energy.heat_therm:,.0f} therm of {BTU_PER_THERM:,.0f} Btu and "
            f"{energy.heat_kwh:,.0f} kWh of {BTU_PER_KWH:,.2f} Btu for it"
        )
    for against in CASES[:2]:
        saved = values[against] - values["demand control"]
        lines.append(f"saved against {against}: {saved:,.0f} {unit}")
    return Why(title, f"{values['demand control']:,.0f} {unit}", _numbered(lines))


def _cost(made: JobYear, year: Year, rates: Rates) -> Why:
    lines = [f"{rates.per_kwh:g} {rates.currency} a kWh, {rates.per_therm:g} {rates.currency} a therm [job]"]
    costs = {}
    for case in CASES:
        e = year.cases[case].energy
        costs[case] = rates.cost(e.electric_kwh, e.heat_therm)
        lines.append(
            f"{case}: {e.electric_kwh:,.0f} kWh, {e.heat_therm:,.0f} therm: {costs[case]:,.0f} {rates.currency}"
        )
    for against in CASES[:2]:
        saved = costs[against] - costs["demand control"]
        line = f"saved against {against}: {saved:,.0f} {rates.currency} a year"
        if made.use.investment is not None:
            years = simple_payback_years(made.use.investment, saved)
            back = "never" if years is None else f"in {years:.1f} years, without interest"
            line += f"; {made.use.investment:,.0f} {rates.currency} come back {back}"
        lines.append(line)
    return Why("cost of energy", f"{costs['demand control']:,.0f} {rates.currency}", _numbered(lines))
