"""The air report as tables of a page; nothing is computed here."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from galleyproof.air.model import AirReport

__all__ = ["Grid", "GridRow", "grids"]

NONE = "–"


@dataclass(frozen=True, slots=True)
class GridRow:
    """A row about one item.

    Attributes:
        item: What it is about: the name of its reasons.
        cells: Texts.
        bad: Whether something in it does not hold.
    """

    item: str
    cells: tuple[str, ...]
    bad: bool = False


@dataclass(frozen=True, slots=True)
class Grid:
    """One table.

    Attributes:
        key: Its name in addresses.
        title: Above it, with the unit of all its numbers.
        heads: Titles of the columns; those of numbers begin with ``#``.
        rows: Rows.
        remarks: Sentences below it.
    """

    key: str
    title: str
    heads: tuple[str, ...]
    rows: tuple[GridRow, ...]
    remarks: tuple[str, ...] = ()


def _flow(value: float | None) -> str:
    return NONE if value is None else f"{value:z,.0f}"


def _number(value: float | None, digits: int = 3) -> str:
    return NONE if value is None else f"{value:z.{digits}g}"


def _share(value: float | None) -> str:
    return NONE if value is None else f"{value:.0%}"


def grids(report: AirReport) -> tuple[Grid, ...]:
    """Every table of a report that has rows."""
    made = (
        _exhaust(report),
        _balance(report),
        _units(report),
        _shared(report),
        _ducts(report),
        _fans(report),
        _limits(report),
        _maps(report),
        _delays(report),
        _records(report),
    )
    return tuple(grid for grid in made if grid.rows)


def _exhaust(report: AirReport) -> Grid:
    rows = []
    for h in report.hoods:
        ceiling = _flow(h.ceiling_cfm) + ("" if h.ceiling_applies or h.ceiling_cfm is None else " (does not bind)")
        kind = f"{h.style}, {h.length_ft:g} ft, {h.duty}"
        numbers = (_flow(h.design_cfm), _flow(h.needed_cfm), _flow(h.code_cfm), _flow(h.listed_cfm), ceiling)
        bad = h.needed_cfm is not None and h.net_cfm < h.needed_cfm
        rows.append(GridRow(h.tag, (h.tag, h.fan, kind, *numbers, _flow(h.plume_cfm)), bad))
    heads = (
        "Hood",
        "Fan",
        "Style, length, duty",
        "#Design",
        "#Needed",
        "#Code least",
        "#Listing",
        "#Ceiling",
        "#Plume",
    )
    return Grid("exhaust", "Exhaust of each hood, cfm", heads, tuple(rows), tuple(_remarks(report)))


def _remarks(report: AirReport) -> Iterator[str]:
    for line in dict.fromkeys(line for h in report.hoods for line in h.differ):
        yield f"{line[:1].upper()}{line[1:]}."
    without: dict[str, list[str]] = {}
    for h in report.hoods:
        if h.plume_why_not:
            without.setdefault(h.plume_why_not, []).append(h.tag)
    yield from (f"No plume figure for {', '.join(tags)}: {why}." for why, tags in without.items())
    yield from (f"Look at: {line}." for line in dict.fromkeys(a for h in report.hoods for a in h.advice))
    energy = report.energy
    if energy is None:
        yield "No energy code is named (air: energy code): its ceiling is shown, not checked."
        return
    limit = f"threshold {energy.threshold_cfm:,.0f} cfm" if energy.threshold_cfm is not None else "no threshold known"
    binds = "bind" if energy.ceiling.value else "do not bind"
    yield f"{energy.code}: {energy.total_cfm:,.0f} cfm of exhaust, {limit}: the ceilings {binds}."
    for option in energy.options:
        state = {True: "fulfilled", False: "not fulfilled", None: "open"}[option.fulfilled]
        yield f"Option {option.name}: {state}; {option.why}."


def _balance(report: AirReport) -> Grid:
    rows = []
    for b in report.balances:
        pressure = NONE if b.room_pressure_inwc is None else f"{b.room_pressure_inwc:z.4f}"
        cells = (_flow(b.exhaust_cfm), _flow(b.makeup_cfm), _flow(b.other_cfm), _flow(b.transfer_cfm), pressure)
        rows.append(GridRow("kitchen", (b.point, *cells), b.positive))
    planned = "not stated" if report.transfer_cfm is None else f"{report.transfer_cfm:,.0f} cfm"
    heads = ("Operating point", "#Exhaust", "#Make-up", "#Other", "#Transfer", "#Kitchen, in wc")
    remark = f"Transfer and infiltration planned: {planned}. A negative figure goes out of the kitchen."
    return Grid("balance", "Balance at every operating point, cfm", heads, tuple(rows), (remark,))


def _units(report: AirReport) -> Grid:
    rows = []
    for u in report.units:
        idle = _flow(u.limits.idle_cfm) + (" (held)" if u.limits.clipped_at_idle else "")
        cells = (u.tag, ", ".join(u.tracks), u.law, _flow(u.limits.design_cfm), idle, _number(u.difference_degf))
        rows.append(GridRow(u.tag, cells))
    heads = ("Unit", "Tracks", "How", "#Design", "#Idle", "#Off the kitchen, degF")
    return Grid("make-up", "Make-up units and their limits, cfm", heads, tuple(rows))


def _shared(report: AirReport) -> Grid:
    rows = []
    for s in report.shared:
        over = ", ".join(f"{x.tag} {x.over_cfm:,.0f} cfm" for x in s.shares if x.over_cfm > 0.0)
        rows.append(GridRow(s.fan, (s.fan, s.cooks, _share(s.speed_ratio), over or "nothing")))
    heads = ("Fan", "Only this hood cooks", "#Fan speed", "The others get too much")
    return Grid("shared", "Hoods that share a fan", heads, tuple(rows))


def _ducts(report: AirReport) -> Grid:
    rows = []
    for d in report.ducts:
        least = "none" if d.min_fpm is None else _flow(d.min_fpm)
        cells = (d.fan, d.name, d.size, _flow(d.design_fpm), _flow(d.idle_fpm), least, _number(d.loss_inwc))
        rows.append(GridRow(d.fan, cells))
    heads = ("Fan", "Duct", "Size", "#Design, fpm", "#Idle, fpm", "#Least, fpm", "#Loss, in wc")
    return Grid("ducts", "Ducts: velocity and loss in the air they carry", heads, tuple(rows))


def _fans(report: AirReport) -> Grid:
    rows = []
    for f in report.fans:
        motor = "EC" if f.motor_hp is None else f"{f.motor_hp:g}"
        verdict = "not known" if f.motor is None else f"{f.motor.verdict} ({f.motor.when})"
        numbers = (
            _flow(f.design_cfm), _number(f.scheduled_inwc), _number(f.system_inwc), _share(f.speed_ratio),
            _number(f.shaft_hp), motor, _number(f.input_kw), _number(f.density_ratio),
        )  # fmt: skip
        bad = f.motor is not None and f.motor.verdict == "overloaded"
        said = verdict if f.motor_hp is not None else "by its input"
        rows.append(GridRow(f.tag, (f.tag, *numbers, said), bad))
    heads = (
        "Fan", "#Airflow, cfm", "#Scheduled, in wc", "#System, in wc", "#Speed", "#Brake, hp", "#Motor, hp",
        "#Input, kW", "#Density ratio", "Motor",
    )  # fmt: skip
    return Grid("fans", "Fans and motors; pressures in standard air", heads, tuple(rows))


def _limits(report: AirReport) -> Grid:
    rows, remarks = [], []
    for s in report.fan_setpoints:
        governing = ", ".join(r.what for r in s.minimum.reasons if r.governs) or "nothing known"
        cells = (
            s.tag, _share(s.set_ratio), _share(s.minimum.ratio), _number(s.design_hz), _number(s.idle_hz),
            _number(s.design_a), _number(s.idle_a), governing, s.source,
        )  # fmt: skip
        rows.append(GridRow(s.tag, cells))
        remarks.append(f"{s.tag}: {'; '.join(s.minimum.lines())}")
    heads = (
        "Fan", "#Set", "#Needed", "#Full, Hz", "#Idle, Hz", "#Full, A", "#Idle, A", "Governed by", "From",
    )  # fmt: skip
    return Grid("limits", "Speed limits: the highest of seven reasons", heads, tuple(rows), tuple(remarks))


def _maps(report: AirReport) -> Grid:
    rows = []
    for h in report.hood_setpoints:
        m = h.speed_map
        cells = (f"{m.idle_below_degf:g}", f"{m.full_above_degf:g}", _share(m.min_speed_ratio), f"{h.kitchen_degf:g}")
        rows.append(GridRow(h.tag, (h.tag, h.fan, *cells)))
    heads = ("Hood", "Fan", "#Idles below, degF", "#Full above, degF", "#Least speed", "#Hottest kitchen, degF")
    return Grid("maps", "Temperature to speed", heads, tuple(rows))


def _delays(report: AirReport) -> Grid:
    rows = []
    for d in report.delays:
        usual = "at most 900 by code" if d.usual is None else f"{d.usual.low_s:g} to {d.usual.high_s:g}"
        rows.append(GridRow("kitchen", (d.name, f"{d.value_s:g}", usual, d.verdict)))
    return Grid("delays", "Delays, s", ("Delay", "#Set", "#Usual", "Verdict"), tuple(rows))


def _records(report: AirReport) -> Grid:
    rows, remarks = [], []
    for record in report.records:
        for row in record.rows:
            said = "pass" if row.passed else str(row.direction)
            cells = (record.tag, row.quantity, _number(row.expected, 4), _number(row.measured, 4), row.unit, said)
            rows.append(GridRow(record.tag, cells, not row.passed))
        remarks += [f"{record.tag}, look first for: {c.name} ({c.look})." for c in record.likely[:3]]
    heads = ("Reading", "What", "#Expected", "#Measured", "Unit", "Verdict")
    return Grid("start-up", "Start-up readings against what is expected", heads, tuple(rows), tuple(remarks))
