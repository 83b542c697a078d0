"""The sections of the line-up in the order of the work, and which values stand in their tables."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

__all__ = ["COLUMNS", "HIDDEN", "INNER", "SECTIONS", "Section", "section_of"]


@dataclass(frozen=True, slots=True)
class Section:
    """One page of the line-up.

    Attributes:
        key: Last part of its address.
        name: What it is called.
        parts: Keys of the job it shows, in this order.
    """

    key: str
    name: str
    parts: tuple[str, ...]


SECTIONS: Final = (
    Section("who", "Job and codes", ("job", "codes", "site")),
    Section("power", "Power and panel", ("supplies", "panelboards", "circuits", "panel")),
    Section("hoods", "Hoods", ("hoods",)),
    Section("exhaust", "Exhaust fans", ("exhaust_fans",)),
    Section("make-up", "Make-up and dampers", ("makeup_units", "dampers")),
    Section("fire", "Fire and shutdowns", ("fire_systems", "shutdowns", "building_alarm", "fire_outputs")),
    Section("controls", "Sensors and switches", ("room_sensors", "switches", "display", "building_link")),
    Section("wiring", "Routes and wiring", ("routes", "raceways", "wiring")),
    Section("authority", "Authority", ("authority",)),
    Section("use", "Kitchen use", ("kitchen_use",)),
    Section("air", "Air", ("air",)),
    Section("promises", "Own promises", ("promises",)),
)
"""Every part of a job stands in one of them, besides ``HIDDEN``."""

HIDDEN: Final = ("galleyproof", "issued")
"""What the tool writes itself: the format of the text, and numbers already issued."""

COLUMNS: Final = MappingProxyType(
    {
        "hoods": "tag style length depth duty listed_rate zone lights.load lights.circuit idle_below full_above",
        "exhaust_fans": "tag place serves circuit drive.kind drive.motor.hp drive.motor.volts drive.motor.phases "
        "drive.motor.nameplate_amps airflow static_pressure min_speed on_release",
        "makeup_units": "tag place tracks circuit control.kind control.motor.hp control.motor.volts "
        "control.motor.phases control.motor.nameplate_amps airflow min_speed on_release",
        "ducts": "name shape.kind shape.diameter shape.width shape.height shape.major shape.minor length material "
        "carries",
    }
)
"""Values in the table of a list whose entries hold blocks; all others have their single values there."""

INNER: Final = MappingProxyType(
    {"hoods": ("appliances", "sensors"), "fire_systems": ("poles",), "makeup_units": (), "exhaust_fans": ()}
)
"""Lists inside the entries of a list that have a table of their own on the same page."""


def section_of(key: str) -> Section:
    """The section that shows a key of the job; the first for what none shows."""
    return next((s for s in SECTIONS if key in s.parts), SECTIONS[0])
