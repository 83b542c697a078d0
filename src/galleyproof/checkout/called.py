"""What people call the things of a job, and where one sees what each of them does.

A person says ``the shunt breaker`` or ``KM-1``; what shows whether that works is the handle of a breaker, or the
appliance behind a contactor.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from galleyproof.design.model import Design, TerminalId
from galleyproof.job.model import Job


@dataclass(frozen=True, slots=True)
class Thing:
    """Something people talk about.

    Attributes:
        tag: Its tag.
        names: What it is called beside its tag, in small letters and singular.
        shown_by: Tags of what one looks at to see what it does.
        guards: Tags of the breakers and overloads that switch it off.
        lights: Whether it is a light, which a switch turns off; an appliance is on until a release.
    """

    tag: str
    names: tuple[str, ...]
    shown_by: tuple[str, ...]
    guards: tuple[str, ...] = ()
    lights: bool = False


EXHAUST = ("exhaust fan", "hood fan", "exhaust", "hood", "fan", "motor")
MAKEUP = (
    "make-up air unit",
    "make-up air fan",
    "make-up air",
    "make-up unit",
    "make-up fan",
    "make-up",
    "supply air fan",
    "supply air",
    "supply fan",
    "supply unit",
    "fan",
)
BY_TYPE = (
    ("hood_light", ("hood light", "light", "lamp", "fixture")),
    ("gas_valve", ("gas valve", "valve", "gas")),
    ("horn", ("horn", "bell", "sounder", "buzzer")),
    ("alarm_module", ("building alarm", "fire alarm", "alarm module")),
    ("damper_", ("damper",)),
    (
        "link_station",
        (
            "building controller",
            "building management",
            "building system",
            "bms",
            "bas",
            "link",
            "trunk",
            "communication",
            "comm",
        ),
    ),
    ("temperature_sensor", ("sensor", "thermistor", "rtd", "temperature")),
)
"""How the type of a device begins, and what such a device is called; each is seen at itself."""
APPLIANCE = ("appliance", "cooking equipment", "outlet", "receptacle")
SHUNT = ("shunt-trip breaker", "shunt breaker", "shunt trip", "shunt")
STARTER = ("starter", "overload", "contactor")
DRIVE = ("drive", "vfd", "inverter", "keypad")
LIGHTS = ("light contactor", "contactor")
PANEL = ("control panel", "panel")
NAMES = frozenset(
    (
        *EXHAUST,
        *MAKEUP,
        *APPLIANCE,
        *SHUNT,
        *STARTER,
        *DRIVE,
        *LIGHTS,
        *PANEL,
        "breaker",
        *(n for _, ns in BY_TYPE for n in ns),
    )
)
"""Every name, whether a job has such a thing or not."""


def things(job: Job, design: Design) -> tuple[Thing, ...]:
    """Everything of a job that people call by a name.

    Args:
        job: The job.
        design: Its design.
    """
    return tuple(_things(job, design))


def _things(job: Job, design: Design) -> Iterator[Thing]:
    feeds = _feeds(design)
    for fan in job.exhaust_fans:
        yield Thing(fan.tag, EXHAUST, (fan.tag,), (*(s for s, f in feeds.items() if f == fan.tag), fan.circuit))
    for unit in job.makeup_units:
        yield Thing(unit.tag, MAKEUP, (unit.tag,), (*(s for s, f in feeds.items() if f == unit.tag), unit.circuit))
    for hood in job.hoods:
        yield Thing(hood.tag, (), tuple(f.tag for f in job.exhaust_fans if hood.tag in f.serves))
    appliances = [a for h in job.hoods for a in h.appliances]
    for appliance in appliances:
        guard = (appliance.circuit,) if appliance.circuit else ()
        yield Thing(appliance.tag, (appliance.kind, *APPLIANCE), (appliance.tag,), guard)
    for shutdown in job.shutdowns:
        behind = tuple(a.tag for a in appliances if a.shut_down_by == shutdown.tag)
        circuit = getattr(shutdown, "circuit", None) or ""
        if shutdown.kind == "shunt trip":
            yield Thing(shutdown.tag, SHUNT, (circuit,))
        elif shutdown.kind == "held-in contactor":
            yield Thing(shutdown.tag, ("contactor",), behind, (circuit,))
    for circuit_of in job.circuits:
        yield Thing(circuit_of.tag, ("breaker",), (circuit_of.tag,))
    sensors = [d.tag for d in design.devices if d.type == "temperature_sensor"]
    yield Thing(design.panel, PANEL, tuple(sensors), (job.panel.circuit,))
    lamps = tuple(d.tag for d in design.devices if d.type == "hood_light")
    for device in design.devices:
        if device.type.startswith("motor_contactor"):
            yield Thing(device.tag, STARTER, (device.tag, feeds[device.tag]))
        elif device.type == "light_contactor":
            yield Thing(device.tag, LIGHTS, lamps)
        elif device.type.startswith("vfd_"):
            yield Thing(device.tag, DRIVE, (device.tag, feeds[device.tag]))
        for start, names in BY_TYPE:
            if device.type.startswith(start):
                yield Thing(device.tag, names, (device.tag,), lights=start == "hood_light")


def _feeds(design: Design) -> dict[str, str]:
    """Starters and drives, and the motor each of them feeds."""
    found: dict[str, str] = {}
    for device in design.devices:
        if device.type.startswith(("motor_contactor", "vfd_")):
            outlet = TerminalId(device.tag, "U" if device.type.startswith("vfd_") else "2/T1")
            found[device.tag] = next((c.of for c in design.conductors_at.get(outlet, ()) if c.of), "")
    return found
