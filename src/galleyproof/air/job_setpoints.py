"""Set-points of a job: maps, the seven reasons for a least speed, drive limits, delays."""

from __future__ import annotations

from galleyproof.air._facts import HOOD_RULES, Facts, Notes, air_rule, hood_rule, number
from galleyproof.air.balance import Constant, Offset, Ratio
from galleyproof.air.job_balance import makeup_of
from galleyproof.air.job_ducts import carried_cfm, grease, shape_of
from galleyproof.air.job_exhaust import adopted
from galleyproof.air.job_fans import full_load_a, highest_ratio
from galleyproof.air.model import DelayRow, FanRow, FanSetpoints, HoodSetpoints
from galleyproof.air.setpoints import (
    TIMINGS,
    DriveSetpoints,
    IdleFacts,
    MinimumSpeed,
    SpeedMap,
    TabReading,
    drive_setpoints,
    expected_amps,
    minimum_speed,
)
from galleyproof.air.steps import AirError
from galleyproof.findings import Severity
from galleyproof.job.model import ExhaustFan, Motor
from galleyproof.reasoning import practice

_USUAL_RISE_DEGF = 5.0
"""Least distance of the idle temperature above the hottest kitchen, common practice. [degF]"""
_SLACK = 0.005

# Reasons that have a finding of their own elsewhere: duct velocity in job_ducts, make-up in job_balance.
_TOLD_ELSEWHERE = (4, 6)


def hood_setpoints(facts: Facts, notes: Notes) -> tuple[HoodSetpoints, ...]:
    """The map of every hood, and whether its fan would ever idle in summer."""
    rows = []
    hottest = facts.job.site.kitchen_ambient
    for hood in facts.job.hoods:
        fans = [facts.fans[t] for t in facts.fans_of[hood.tag]]
        for fan in fans:
            least = facts.least_ratio(fan)
            rows.append(HoodSetpoints(hood.tag, fan.tag, SpeedMap(hood.idle_below, hood.full_above, least), hottest))
        if all(facts.least_ratio(fan) >= 1.0 for fan in fans):
            continue
        over = hood.idle_below - hottest
        if over < _USUAL_RISE_DEGF:
            notes.find(
                "AIR-IDLE-TEMPERATURE", Severity.WARNING if over <= 0.0 else Severity.NOTE, hood.tag,
                f"idles below {hood.idle_below:g} degF in a kitchen of up to {hottest:g} degF"
                + (": it never idles in summer" if over <= 0.0 else ""),
                f"idle_below: {hottest + _USUAL_RISE_DEGF:g} degF or more, and full_above with it",
                practice("temperature-to-speed map", "idle temperature 5 to 10 degF above the hottest kitchen"),
            )  # fmt: skip
    return tuple(rows)


def idle_facts(facts: Facts, fan: ExhaustFan) -> IdleFacts:
    """What the job says about the least speed of a fan; of several hoods the worst decides."""
    design = fan.airflow
    hoods = [facts.hoods[h] for h in fan.serves if facts.hood_cfm[h] > 0.0]

    def worst(flows: list[tuple[str, float | None]]) -> float | None:
        known = [flow / facts.hood_cfm[tag] for tag, flow in flows if flow is not None]
        return max(known) * design if known else None

    captured = [(h.tag, h.air.captures_from) for h in hoods]
    everywhere = bool(captured) and all(flow is not None for _, flow in captured)
    ducts = [
        shape_of(piece).area_sqft * design / carried_cfm(facts, fan, piece)
        for piece in fan.air.ducts
        if grease(facts, fan, piece) and carried_cfm(facts, fan, piece) > 0.0
    ]
    energy = facts.job.air.energy_code
    line = facts.line_hz[fan.circuit]
    return IdleFacts(
        design_cfm=design,
        design_hz=fan.air.design_frequency or line,
        captured_cfm=worst(captured) if everywhere else None,
        listing_cfm=worst([(h.tag, h.air.listing_least) for h in hoods]),
        flue_cfm=worst([(h.tag, h.air.flue) for h in hoods]),
        reduction_ratio=None if energy is None else adopted(energy).demand_reduction_min_ratio,
        duct_sqft=max(ducts, default=None),
        duct_reading="at design" if facts.job.authority.duct_velocity == "at design" else "at all times",
        min_hz=fan.air.least_frequency,
        makeup_min_ratio=_makeup_bound(facts, fan),
        stable_ratio=fan.air.stable_speed,
    )


def _makeup_bound(facts: Facts, fan: ExhaustFan) -> float | None:
    """Exhaust of this fan over design below which a unit that follows it cannot come down any further [-]."""
    bounds = []
    for unit in facts.job.makeup_units:
        if fan.tag not in unit.tracks:
            continue
        made = makeup_of(facts, unit)
        lowest = made.min_ratio * made.design_cfm
        match made.law:
            case Ratio(share):
                tracked = lowest / share
            case Offset(below):
                tracked = lowest + below
            case Constant():
                tracked = made.design_cfm
        others = sum(facts.fans[t].airflow * facts.least_ratio(facts.fans[t]) for t in unit.tracks if t != fan.tag)
        bounds.append((tracked - others) / fan.airflow)
    worst = max(bounds, default=0.0)
    return worst if worst > 0.0 else None


def fan_setpoints(facts: Facts, fans: tuple[FanRow, ...], notes: Notes) -> tuple[FanSetpoints, ...]:
    """Limits of the speed of every fan."""
    rows = {row.tag: row for row in fans}
    return tuple(_fan(facts, fan, rows[fan.tag], notes) for fan in facts.job.exhaust_fans)


def _fan(facts: Facts, fan: ExhaustFan, row: FanRow, notes: Notes) -> FanSetpoints:
    least = minimum_speed(idle_facts(facts, fan))
    slows = facts.least_ratio(fan) < 1.0
    set_ratio = facts.least_ratio(fan)
    notes.why_lines(fan.tag, "least speed: the seven reasons", f"{least.ratio:.1%}", least.lines())
    if slows:
        _least(facts, fan, least, notes)
    if fan.drive.kind != "VFD":
        amps = row.expected_a
        return FanSetpoints(fan.tag, set_ratio, least, None, None, amps, None, "schedule", None)
    line = facts.line_hz[fan.circuit]
    drive = _drive(facts, fan, set_ratio, notes)
    if drive is not None:
        return FanSetpoints(
            fan.tag, set_ratio, least, drive.design_hz, drive.idle_hz, drive.design_a, drive.idle_a,
            "test and balance", drive,
        )  # fmt: skip
    design_hz = fan.air.design_frequency or line * (row.speed_ratio or 1.0)
    most = line * highest_ratio(facts, fan)
    if fan.air.design_frequency is not None and design_hz > most * (1.0 + 1e-9):
        _limit(fan, f"its design airflow takes {design_hz:.1f} Hz, the drive may give {most:g} Hz", notes)
    idle_a = None
    if row.expected_a is not None and row.full_load_a is not None:
        idle_a = expected_amps(row.expected_a, set_ratio, full_load_a=row.full_load_a).value
    return FanSetpoints(
        fan.tag, set_ratio, least, design_hz, design_hz * set_ratio, row.expected_a, idle_a, "schedule", None
    )


def _least(facts: Facts, fan: ExhaustFan, least: MinimumSpeed, notes: Notes) -> None:
    over = [
        r for r in least.reasons
        if r.raises and r.ratio is not None and r.number not in _TOLD_ELSEWHERE and fan.min_speed < r.ratio - _SLACK
    ]  # fmt: skip
    if over:
        said = "; ".join(f"{r.what} asks for {r.ratio:.0%} ({r.how})" for r in over)
        highest = max(r.ratio or 0.0 for r in over)
        notes.find(
            "AIR-MIN-SPEED", Severity.ERROR, fan.tag, f"may come down to {fan.min_speed:.0%}, but {said}",
            f"min_speed: {highest:.0%} or more", *(c for r in over for c in r.basis),
        )  # fmt: skip
    open_hoods = [h for h in fan.serves if facts.hoods[h].air.captures_from is None]
    if open_hoods:
        notes.find(
            "AIR-IDLE-UNPROVEN", Severity.NOTE, fan.tag,
            f"idles at {fan.min_speed:.0%}; nobody has yet seen {', '.join(open_hoods)} capture at its idle flow",
            "prove it with hot idling appliances and smoke, and write captures_from",
            *hood_rule("reduced_rate_no_load"),
        )  # fmt: skip


def _drive(facts: Facts, fan: ExhaustFan, set_ratio: float, notes: Notes) -> DriveSetpoints | None:
    """Limits of a drive from the reading at design; None before it is whole."""
    reading = next((r for r in fan.air.readings if r.at == "design"), None)
    motor = fan.drive.motor
    rated = full_load_a(motor) if isinstance(motor, Motor) else None
    if reading is None or rated is None:
        return None
    if reading.airflow is None or reading.frequency is None or reading.amps is None:
        return None
    most = facts.line_hz[fan.circuit] * highest_ratio(facts, fan)
    try:
        found = drive_setpoints(
            TabReading(reading.airflow, reading.frequency, reading.amps, reading.static_pressure),
            design_cfm=fan.airflow, idle_cfm=set_ratio * fan.airflow, full_load_a=rated, max_hz=most,
        )  # fmt: skip
    except AirError as error:
        _limit(fan, f"its readings give no set-points: {error}", notes)
        return None
    notes.why_lines(fan.tag, "drive limits from test and balance", f"{found.design_hz:.1f} Hz", found.steps)
    if not found.reachable:
        _limit(
            fan,
            f"by its readings the design airflow takes {found.design_hz:.1f} Hz and {found.design_a:.3g} A; "
            f"{most:g} Hz and {rated:.3g} A are the most",
            notes,
        )
    return found


def _limit(fan: ExhaustFan, why: str, notes: Notes) -> None:
    notes.find(
        "AIR-DRIVE-LIMIT", Severity.ERROR, fan.tag, why, "another sheave or fan, less pressure, or repeat the reading",
        practice("drive set-points by the fan laws"),
    )  # fmt: skip


def delay_rows(facts: Facts, notes: Notes) -> tuple[DelayRow, ...]:
    """Every delay of the job against the trade's range, and the one that a code fixes."""
    delays = facts.job.air.delays
    values = (delays.ramp_up, delays.ramp_down, delays.hold, delays.off_after, delays.override)
    rows = [DelayRow(t.name, v, t, t.verdict(v)) for t, v in zip(TIMINGS, values, strict=True)]
    for row in rows:
        if row.verdict != "usual" and row.usual is not None:
            notes.find(
                "AIR-DELAY", Severity.NOTE, "delays",
                f"{row.name}: {row.value_s:g} s is {row.verdict}; usual are {row.usual.low_s:g} to "
                f"{row.usual.high_s:g} s",
                "keep it only where the kitchen asks for it", practice("delays", "starting points, from memory"),
            )  # fmt: skip
    most_s = 60.0 * number(HOOD_RULES, "heat_sensor_delay_max_min")
    late = delays.heat_start > most_s
    rows.append(DelayRow("exhaust start after the first heat", delays.heat_start, None, "long" if late else "usual"))
    if late:
        notes.find(
            "AIR-HEAT-START", Severity.ERROR, "delays",
            f"the exhaust starts {delays.heat_start / 60.0:g} min after the first heat; {most_s / 60.0:g} min is "
            "the limit",
            "a shorter heat_start", *hood_rule("heat_sensor_delay_max_min"), *air_rule("gas_interlock"),
        )  # fmt: skip
    return tuple(rows)
