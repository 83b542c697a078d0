"""The air report as data: the same each time, ready for JSON."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from typing import Any

from galleyproof.air.balance import Balance
from galleyproof.air.model import AirReport
from galleyproof.cli import text
from galleyproof.findings import Citation, Finding
from galleyproof.reasoning import Reasoned

__all__ = ["report_data"]


def report_data(report: AirReport) -> dict[str, Any]:
    """Every table of the report; the reasoning stays with ``--why``."""
    return {
        "summary": text.count(report.findings),
        "exhaust": plain(report.hoods),
        "energy_code": plain(report.energy),
        "balance": [_balance(b) for b in report.balances],
        "planned_transfer_cfm": report.transfer_cfm,
        "makeup": plain(report.units),
        "shared_fans": plain(report.shared),
        "ducts": plain(report.ducts),
        "fans": plain(report.fans),
        "hood_setpoints": plain(report.hood_setpoints),
        "fan_setpoints": plain(report.fan_setpoints),
        "delays": plain(report.delays),
        "start_up": plain(report.records),
        "findings": [text.finding_data(f) for f in text.by_weight(report.findings)],
    }


def _balance(b: Balance) -> dict[str, Any]:
    return {
        "point": b.point,
        "exhaust": {f.tag: f.air_cfm for f in b.exhaust},
        "makeup": {f.tag: f.air_cfm for f in b.makeup},
        "other_outdoor_air": {f.tag: f.air_cfm for f in b.others},
        "exhaust_cfm": b.exhaust_cfm,
        "makeup_cfm": b.makeup_cfm,
        "other_cfm": b.other_cfm,
        "transfer_cfm": b.transfer_cfm,
        "kitchen_pressure_inwc": b.room_pressure_inwc,
        "positive": b.positive,
    }


def plain(value: Any) -> Any:
    """Nothing but dicts, lists, texts and numbers."""
    if isinstance(value, Citation):
        return str(value)
    if isinstance(value, Finding):
        return text.finding_data(value)
    if isinstance(value, Reasoned):
        return {"value": plain(value.value), "unit": value.unit, "clauses": [str(c) for c in value.basis]}
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, (tuple, list)):
        return [plain(v) for v in value]
    return value
