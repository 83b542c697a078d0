"""The air side: flows, least speeds, set-points, and who follows whom."""

from __future__ import annotations

import math
from collections.abc import Iterator

from galleyproof.air.exhaust import heaviest_duty
from galleyproof.findings import Finding
from galleyproof.job.model import Ec, ExhaustFan, Hood, Job, MakeupByUnit, Motor
from galleyproof.review.cures.registry import cure
from galleyproof.review.edits import Edit, Move, one
from galleyproof.review.whole import Papers
from galleyproof.tables.motors import rated_hp_values

LEAST_RISE_DEGF = 5.0
"""Idle temperature above the hottest kitchen, least usual value: common practice. [degF]"""


def _hood(job: Job, tag: str) -> Hood | None:
    return next((h for h in job.hoods if h.tag == tag), None)


def _fan(job: Job, tag: str) -> ExhaustFan | None:
    return next((f for f in job.exhaust_fans if f.tag == tag), None)


def _up(value: float, step: float) -> float:
    """The next round value up."""
    return math.ceil(round(value / step, 6)) * step


@cure("AIR-DUTY")
def duty(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """The duty of a hood is that of the heaviest below it."""
    hood = _hood(job, finding.item)
    if hood is not None:
        heaviest = heaviest_duty(tuple(dict.fromkeys([hood.duty, *(a.duty for a in hood.appliances)])))
        yield one(("hoods", hood.tag, "duty"), heaviest, "the heaviest appliance below governs all of the hood")


@cure("AIR-EXHAUST-LOW")
def more_exhaust(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """More from its fan; a listing is not ours to claim."""
    row = next((r for r in papers.air.hoods if r.tag == finding.item), None)
    hood, fan = _hood(job, finding.item), _fan(job, row.fan) if row else None
    if hood is None or row is None or fan is None or row.needed_cfm is None or row.net_cfm <= 0.0:
        return
    why = f"{hood.tag} then gets the {row.needed_cfm:,.0f} cfm it needs"
    flow = _up(fan.airflow * row.needed_cfm / row.net_cfm, 10.0)
    if hood.air.airflow is None:
        yield one(("exhaust_fans", fan.tag, "airflow"), flow, why, 3.0)
        return
    share = _up(hood.air.airflow + row.needed_cfm - row.net_cfm, 10.0)
    own = Edit(("hoods", hood.tag, "air", "airflow"), share)
    more = Edit(("exhaust_fans", fan.tag, "airflow"), _up(fan.airflow + share - hood.air.airflow, 10.0))
    yield Move((own, more), why, 4.0)


@cure("AIR-IDLE-TEMPERATURE")
def idle_temperature(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """Idle above the hottest kitchen, with the span of the map kept where it has to move."""
    hood = _hood(job, finding.item)
    if hood is None:
        return
    idle = job.site.kitchen_ambient + LEAST_RISE_DEGF
    edits = [Edit(("hoods", hood.tag, "idle_below"), idle)]
    if hood.full_above <= idle:
        edits.append(Edit(("hoods", hood.tag, "full_above"), idle + hood.full_above - hood.idle_below))
    yield Move(tuple(edits), "the hood can idle on a hot day", 1.0)


@cure("AIR-MIN-SPEED")
def least_speed(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """The least speed that every reason asks for."""
    row = next((r for r in papers.air.fan_setpoints if r.tag == finding.item), None)
    fan = _fan(job, finding.item)
    if row is None or fan is None:
        return
    asked = max((r.ratio for r in row.minimum.reasons if r.raises and r.ratio is not None), default=0.0)
    if fan.min_speed < asked <= 1.0:
        path = ("exhaust_fans", fan.tag, "min_speed")
        yield one(path, round(_up(asked, 0.01), 4), "the least speed that capture, drive and motor ask for")


@cure("AIR-DUCT-IDLE")
def duct_idle(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """A least speed at which every grease duct keeps its velocity; the authority's answer is not ours to write."""
    fan = _fan(job, finding.item)
    ratios = [
        r.min_fpm / r.design_fpm for r in papers.air.ducts if r.fan == finding.item and r.min_fpm and r.design_fpm > 0.0
    ]
    if fan is not None and ratios and fan.min_speed < max(ratios) <= 1.0:
        path = ("exhaust_fans", fan.tag, "min_speed")
        yield one(path, round(_up(max(ratios), 0.01), 4), "every grease duct keeps its velocity at idle")


@cure("AIR-KITCHEN-POSITIVE")
def less_makeup(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """Make-up that can come down with the exhaust, or less of it."""
    worst = min(papers.air.balances, key=lambda b: b.transfer_cfm)
    for unit in job.makeup_units:
        at = ("makeup_units", unit.tag)
        if isinstance(unit.control, MakeupByUnit) and unit.control.kind == "run pair":
            kind = "run and speed pairs"
            yield one((*at, "control", "kind"), kind, f"{unit.tag} comes down with the exhaust it follows", 2.0)
        lows = [f.min_speed for f in job.exhaust_fans if f.tag in unit.tracks and f.drive.kind != "starter"]
        if lows and min(lows) < unit.min_speed:
            why = f"{unit.tag} comes down as far as its exhaust does"
            yield one((*at, "min_speed"), min(lows), why, 1.0)
        less = math.floor((unit.airflow + worst.transfer_cfm) / 10.0) * 10.0
        if less > 0.0:
            yield one((*at, "airflow"), less, f"{unit.tag} blows in no more than goes out at the worst point", 3.0)


@cure("AIR-MAKEUP-SHORT", "AIR-KITCHEN-NEGATIVE")
def more_makeup(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """Units that follow every fan, or more air from one of them."""
    worst = max(papers.air.balances, key=lambda b: b.transfer_cfm)
    short = worst.transfer_cfm - max(0.0, papers.air.balances[0].transfer_cfm)
    if papers.air.transfer_cfm is not None:
        short = worst.transfer_cfm - papers.air.transfer_cfm
    tracked = {t for u in job.makeup_units for t in u.tracks}
    loose = tuple(f.tag for f in job.exhaust_fans if f.tag not in tracked)
    for unit in job.makeup_units:
        at = ("makeup_units", unit.tag)
        if loose:
            yield one((*at, "tracks"), (*unit.tracks, *loose), f"{unit.tag} follows {', '.join(loose)} too", 1.0)
        if short > 0.0:
            why = f"{unit.tag} replaces what is short at the worst point"
            yield one((*at, "airflow"), _up(unit.airflow + short, 10.0), why, 3.0)


@cure("AIR-TRACKING")
def tracking(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """A unit that can give what its law asks for."""
    row = next((r for r in papers.air.units if r.tag == finding.item), None)
    unit = next((u for u in job.makeup_units if u.tag == finding.item), None)
    if row is not None and unit is not None and row.wanted_cfm > unit.airflow:
        yield one(("makeup_units", unit.tag, "airflow"), _up(row.wanted_cfm, 10.0), "a larger unit", 3.0)


@cure("AIR-HEAT-START")
def heat_start(_job: Job, _finding: Finding, _papers: Papers) -> Iterator[Move]:
    """The delay as it usually is."""
    yield one(("air", "delays", "heat_start"), 60.0, "the exhaust starts within a minute of the first heat")


@cure("AIR-MOTOR-OVERLOAD", "MOTOR-TOO-SMALL", "AIR-MOTOR-RESERVE")
def larger_motor(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """The next larger motors of the table."""
    fan = _fan(job, finding.item.removesuffix(" motor"))
    if fan is None or isinstance(fan.drive, Ec):
        return
    motor: Motor = fan.drive.motor
    row = next((r for r in papers.air.fans if r.tag == fan.tag), None)
    for hp in [x for x in rated_hp_values(motor.phases) if x > motor.hp][:3]:
        if row is not None and row.shaft_hp is not None and hp < row.shaft_hp:
            continue
        yield one(("exhaust_fans", fan.tag, "drive", "motor", "hp"), hp, f"a motor of {hp:g} hp carries the fan", 3.0)
