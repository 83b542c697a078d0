"""Start-up readings of a job against what its schedule and its set-points let expect."""

from __future__ import annotations

from collections.abc import Iterable

from galleyproof.air._facts import Facts, Notes
from galleyproof.air.balance import Balance
from galleyproof.air.commissioning import IDLE_TOLERANCES, TOLERANCES, FanRecord, Quantity, compare
from galleyproof.air.model import FanRow, FanSetpoints, UnitRow
from galleyproof.air.psychro import density_ratio
from galleyproof.air.setpoints import expected_amps
from galleyproof.findings import Severity
from galleyproof.job.airside import FanReading
from galleyproof.job.model import ExhaustFan
from galleyproof.reasoning import practice

_POINT = {"design": "all at design", "idle": "all idle"}


def records(
    facts: Facts,
    fans: Iterable[FanRow],
    setpoints: Iterable[FanSetpoints],
    units: Iterable[UnitRow],
    balances: Iterable[Balance],
    notes: Notes,
) -> tuple[FanRecord, ...]:
    """One record for every reading of a fan, a hood or a make-up unit."""
    rows = {row.tag: row for row in fans}
    limits = {one.tag: one for one in setpoints}
    pressures = {b.point: b.room_pressure_inwc for b in balances}
    found: list[FanRecord] = []
    for fan in facts.job.exhaust_fans:
        for reading in fan.air.readings:
            expected = _expected(facts, fan, reading, rows[fan.tag], limits[fan.tag], pressures)
            name = f"{fan.tag} at {reading.at}"
            found.append(_compare(name, fan.tag, expected, _measured(reading), notes, idle=reading.at == "idle"))
    for hood in facts.job.hoods:
        for taken in hood.air.readings:
            ratio = 1.0 if taken.at == "design" else facts.hood_least_ratio(hood.tag)
            wanted: dict[Quantity, float] = {"flow": facts.hood_cfm[hood.tag] * ratio}
            if taken.at == "design" and taken.collar is not None:
                wanted["collar temperature"] = hood.air.collar_at
            have = _known({"flow": taken.airflow, "collar temperature": taken.collar})
            found.append(_compare(f"{hood.tag} at {taken.at}", hood.tag, wanted, have, notes))
    by_tag = {row.tag: row for row in units}
    for unit in facts.job.makeup_units:
        flows = by_tag[unit.tag].limits
        for read in unit.air.readings:
            flow = flows.design_cfm if read.at == "design" else flows.idle_cfm
            have = _known({"flow": read.airflow})
            found.append(_compare(f"{unit.tag} at {read.at}", unit.tag, {"flow": flow}, have, notes))
    return tuple(found)


def _expected(
    facts: Facts,
    fan: ExhaustFan,
    reading: FanReading,
    row: FanRow,
    limits: FanSetpoints,
    pressures: dict[str, float | None],
) -> dict[Quantity, float]:
    """What the schedule lets expect; only what it says something about."""
    ratio = 1.0 if reading.at == "design" else limits.set_ratio
    found: dict[Quantity, float] = {"flow": fan.airflow * ratio}
    if fan.drive.kind == "VFD":
        if reading.at == "idle" and limits.idle_hz is not None:
            found["frequency"] = limits.idle_hz
        elif reading.at == "design" and (fan.air.design_frequency is not None or row.speed_ratio is not None):
            found["frequency"] = fan.air.design_frequency or facts.line_hz[fan.circuit] * (row.speed_ratio or 1.0)
    degf = fan.air.air_at if reading.collar is None else reading.collar
    air = density_ratio(facts.job.site.altitude, degf).value
    # what the described ducts need at that flow; without ducts what the fan was selected for
    whole = row.system_inwc is not None and bool(fan.air.ducts)
    found["static"] = (row.system_inwc if whole and row.system_inwc else row.scheduled_inwc) * air * ratio**2
    if reading.at == "design" and row.expected_a is not None:
        # brake power holds for the air the fan was selected for; amperes follow the air that was there
        found["amps"] = row.expected_a
    elif reading.at == "idle" and limits.idle_a is not None:
        found["amps"] = limits.idle_a
    elif reading.at == "idle" and row.expected_a is not None and row.full_load_a is not None:
        found["amps"] = expected_amps(row.expected_a, ratio, full_load_a=row.full_load_a).value
    if reading.at == "design" and reading.collar is not None:
        found["collar temperature"] = fan.air.air_at
    pressure = pressures.get(_POINT[reading.at])
    if reading.kitchen_pressure is not None:
        found["room pressure"] = facts.job.air.kitchen_pressure if pressure is None else pressure
    return found


def _measured(reading: FanReading) -> dict[Quantity, float]:
    return _known(
        {
            "flow": reading.airflow,
            "frequency": reading.frequency,
            "static": reading.static_pressure,
            "amps": reading.amps,
            "collar temperature": reading.collar,
            "room pressure": reading.kitchen_pressure,
        }
    )


def _known(values: dict[Quantity, float | None]) -> dict[Quantity, float]:
    return {quantity: value for quantity, value in values.items() if value is not None}


def _compare(
    name: str,
    item: str,
    expected: dict[Quantity, float],
    measured: dict[Quantity, float],
    notes: Notes,
    *,
    idle: bool = False,
) -> FanRecord:
    record = compare(name, expected, measured, IDLE_TOLERANCES if idle else TOLERANCES)
    off = [r for r in record.rows if not r.passed]
    if off:
        said = "; ".join(f"{r.quantity} {r.measured:.4g} {r.unit}, expected {r.expected:.4g} {r.unit}" for r in off)
        why = ", then ".join(f"{c.name} ({c.look})" for c in record.likely[:3])
        notes.find(
            "AIR-START-UP", Severity.WARNING, item, f"{name}: {said}",
            f"look first for {why}" if why else "repeat the readings", practice("directions of effect"),
        )  # fmt: skip
    if record.missing:
        notes.find(
            "AIR-READING-OPEN", Severity.NOTE, item, f"{name}: {', '.join(record.missing)} not measured yet",
            "take the reading", practice("start-up record"),
        )  # fmt: skip
    lines = [
        f"{r.quantity}: {r.measured:.4g} {r.unit}, expected {r.expected:.4g} within {r.band:.3g}: {r.direction}"
        for r in record.rows
    ]
    lines += [f"likely: {c.name}; explains {', '.join(c.explains)}; look at {c.look}" for c in record.likely]
    notes.why_lines(item, f"start-up, {name}", "passed" if record.passed else "see below", tuple(lines))
    return record
