"""The air report as tables for a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from galleyproof.air.model import AirReport, FanSetpoints, HoodRow
from galleyproof.cli import text

if TYPE_CHECKING:
    from rich.table import Table

Section = tuple[str, "Table | None", tuple[str, ...]]
NONE = "-"


def sections(report: AirReport) -> Iterator[Section]:
    """Title, table and remarks of every part of the report."""
    yield _exhaust(report)
    yield _balance(report)
    if report.units:
        yield _units(report)
    if report.shared:
        yield _shared(report)
    if report.ducts:
        yield _ducts(report)
    yield _fans(report)
    yield _limits(report)
    yield _maps(report)
    yield _delays(report)
    if report.records:
        yield _records(report)


def _flow(value: float | None) -> str:
    return NONE if value is None else f"{value:z,.0f}"


def _number(value: float | None, digits: int = 3) -> str:
    return NONE if value is None else f"{value:z.{digits}g}"


def _share(value: float | None) -> str:
    return NONE if value is None else f"{value:.0%}"


def _exhaust(report: AirReport) -> Section:
    right = ("Design", "Code min.", "Listing", "Ceiling", "Plume")
    made = text.table("Hood", "Fan", "Style, length, duty", *right, right=right)
    for h in report.hoods:
        ceiling = _flow(h.ceiling_cfm) + ("" if h.ceiling_applies or h.ceiling_cfm is None else " *")
        kind = f"{h.style}, {h.length_ft:g} ft, {h.duty}"
        cells = (_flow(h.design_cfm), _flow(h.code_cfm), _flow(h.listed_cfm), ceiling, _flow(h.plume_cfm))
        made.add_row(h.tag, h.fan, kind, *cells)
    return "Exhaust of each hood, cfm: three methods side by side", made, tuple(_remarks(report))


def _remarks(report: AirReport) -> Iterator[str]:
    if any(h.ceiling_cfm is not None and not h.ceiling_applies for h in report.hoods):
        yield "* does not bind here"
    reasons = dict.fromkeys(line for h in report.hoods for line in h.differ)
    if reasons:
        yield "Why they differ:"
        yield from (f"  {_capital(line)}." for line in reasons)
    without: dict[str, list[str]] = {}
    for h in report.hoods:
        if h.plume_why_not:
            without.setdefault(h.plume_why_not, []).append(h.tag)
    yield from (f"No plume figure for {', '.join(tags)}: {why}." for why, tags in without.items())
    yield from _advice(report.hoods)
    energy = report.energy
    if energy is None:
        yield "No energy code is named (air: energy_code): its ceiling is shown, not checked."
        return
    limit = f"threshold {energy.threshold_cfm:,.0f} cfm" if energy.threshold_cfm is not None else "no threshold known"
    binds = "bind" if energy.ceiling.value else "do not bind"
    yield f"{energy.code}: {energy.total_cfm:,.0f} cfm of exhaust, {limit}: the ceilings {binds}."
    for option in energy.options:
        state = {True: "fulfilled", False: "not fulfilled", None: "open"}[option.fulfilled]
        yield f"  Option {option.name}: {state}; {option.why}."


def _advice(hoods: tuple[HoodRow, ...]) -> Iterator[str]:
    for line in dict.fromkeys(a for h in hoods for a in h.advice):
        yield f"Look at: {line}."


def _capital(line: str) -> str:
    return line[:1].upper() + line[1:]


def _balance(report: AirReport) -> Section:
    right = ("Exhaust", "Make-up", "Other", "Transfer", "in wc")
    made = text.table("Operating point", *right, right=right)
    for b in report.balances:
        pressure = NONE if b.room_pressure_inwc is None else f"{b.room_pressure_inwc:z.4f}"
        cells = (_flow(b.exhaust_cfm), _flow(b.makeup_cfm), _flow(b.other_cfm), _flow(b.transfer_cfm), pressure)
        made.add_row(b.point, *cells)
    planned = "not stated" if report.transfer_cfm is None else f"{report.transfer_cfm:,.0f} cfm"
    remark = f"Transfer and infiltration planned: {planned}. A negative figure goes out of the kitchen."
    return "Balance at every operating point, cfm", made, (remark,)


def _units(report: AirReport) -> Section:
    right = ("Design", "Idle", "degF off")
    made = text.table("Unit", "Tracks", "Law", *right, right=right)
    for u in report.units:
        idle = _flow(u.limits.idle_cfm) + (" held" if u.limits.clipped_at_idle else "")
        made.add_row(
            u.tag, ", ".join(u.tracks), u.law, _flow(u.limits.design_cfm), idle, _number(u.difference_degf)
        )  # fmt: skip
    return "Make-up units and their tracking limits, cfm", made, ()


def _shared(report: AirReport) -> Section:
    made = text.table("Fan", "Only this hood cooks", "Fan speed", "The others get too much", right=("Fan speed",))
    for s in report.shared:
        over = ", ".join(f"{x.tag} {x.over_cfm:,.0f} cfm" for x in s.shares if x.over_cfm > 0.0)
        made.add_row(s.fan, s.cooks, _share(s.speed_ratio), over or "nothing")
    return "Hoods that share a fan", made, ()


def _ducts(report: AirReport) -> Section:
    right = ("Design fpm", "Idle fpm", "Least", "in wc")
    made = text.table("Fan", "Duct", "Size", *right, right=right)
    for d in report.ducts:
        least = "none" if d.min_fpm is None else _flow(d.min_fpm)
        cells = (_flow(d.design_fpm), _flow(d.idle_fpm), least, _number(d.loss_inwc))
        made.add_row(d.fan, d.name, d.size, *cells)
    return "Ducts: velocity and loss in the air they carry", made, ()


def _fans(report: AirReport) -> Section:
    right = ("cfm", "Sched.", "System", "Speed", "bhp", "Motor", "kW", "Density")
    made = text.table("Fan", *right, "Verdict", right=right)
    for f in report.fans:
        motor = "EC" if f.motor_hp is None else f"{f.motor_hp:g} hp"
        verdict = "not known" if f.motor is None else f"{f.motor.verdict} ({f.motor.when})"
        cells = (
            _flow(f.design_cfm),
            _number(f.scheduled_inwc),
            _number(f.system_inwc),
            _share(f.speed_ratio),
            _number(f.shaft_hp),
            motor,
            _number(f.input_kw),
            _number(f.density_ratio),
        )
        made.add_row(f.tag, *cells, verdict if f.motor_hp is not None else "by its input")
    return "Fans and motors; pressures in wc, standard air", made, ()


def _limits(report: AirReport) -> Section:
    right = ("Set", "Needed", "Hz full", "Hz idle", "A full", "A idle")
    made = text.table("Fan", *right, "Governed by", "From", right=right)
    remarks: list[str] = []
    for s in report.fan_setpoints:
        governing = ", ".join(r.what for r in s.minimum.reasons if r.governs) or "nothing known"
        cells = (
            _share(s.set_ratio),
            _share(s.minimum.ratio),
            _number(s.design_hz),
            _number(s.idle_hz),
            _number(s.design_a),
            _number(s.idle_a),
        )
        made.add_row(s.tag, *cells, governing, s.source)
        remarks += _seven(s)
    return "Speed limits: the highest of seven reasons", made, tuple(remarks)


def _seven(s: FanSetpoints) -> list[str]:
    return [f"{s.tag}:", *(f"  {line}" for line in s.minimum.lines())]


def _maps(report: AirReport) -> Section:
    right = ("Idles below", "Full above", "Least speed", "Hottest kitchen")
    made = text.table("Hood", "Fan", *right, right=right)
    for h in report.hood_setpoints:
        m = h.speed_map
        made.add_row(
            h.tag, h.fan, f"{m.idle_below_degf:g} degF", f"{m.full_above_degf:g} degF", _share(m.min_speed_ratio),
            f"{h.kitchen_degf:g} degF",
        )  # fmt: skip
    return "Temperature to speed", made, ()


def _delays(report: AirReport) -> Section:
    made = text.table("Delay", "Set", "Usual", "Verdict", right=("Set", "Usual"))
    for d in report.delays:
        usual = "at most 900 s by code" if d.usual is None else f"{d.usual.low_s:g} to {d.usual.high_s:g} s"
        made.add_row(d.name, f"{d.value_s:g} s", usual, d.verdict)
    return "Delays", made, ()


def _records(report: AirReport) -> Section:
    right = ("Expected", "Measured")
    made = text.table("Reading", "What", *right, "Unit", "Verdict", right=right)
    remarks: list[str] = []
    for record in report.records:
        for row in record.rows:
            made.add_row(
                record.tag, row.quantity, _number(row.expected, 4), _number(row.measured, 4), row.unit,
                "pass" if row.passed else row.direction,
            )  # fmt: skip
        remarks += [f"{record.tag}, look first for: {c.name} ({c.look})." for c in record.likely[:3]]
    return "Start-up readings against expectation", made, tuple(remarks)
