"""What a design is made of. Frozen values; no behaviour beyond look-ups."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from typing import Any, Literal

from galleyproof.findings import Finding


@dataclass(frozen=True, slots=True, order=True)
class TerminalId:
    """One landing point: device tag and mark, written ``CP1-X2:14``."""

    device: str
    mark: str

    def __str__(self) -> str:
        return f"{self.device}:{self.mark}"


class EnergyClass(StrEnum):
    """What may share a raceway."""

    LINE = "line voltage"
    CLASS1 = "Class 1"
    CLASS2 = "Class 2"
    DATA = "data"


class Role(StrEnum):
    """What a conductor carries."""

    LINE = "line"
    NEUTRAL = "neutral"
    GROUND = "equipment ground"
    CONTROL = "control"
    COMMON = "common"
    SIGNAL = "signal"
    LOAD = "load"


@dataclass(frozen=True, slots=True)
class Device:
    """A thing with terminals.

    Attributes:
        tag: Unique name, ``EF-1`` or ``CP1-Q2``.
        type: Key of its device type in the library.
        title: What it is, in words.
        place: Where it stands; the panel's own devices have the panel's place.
        parent: Tag of the panel it is built into, or None.
        ratings: Numbers and words its type asks for, by the type's rating names.
        supplied_by: Who brings it: ``panel`` (ships with it), ``others`` (stands on site).
        of: The job item it was made for (``EF-1`` for its starter), for grouping.
    """

    tag: str
    type: str
    title: str
    place: str
    parent: str | None = None
    ratings: Mapping[str, Any] = field(default_factory=dict)
    supplied_by: Literal["panel", "others"] = "others"
    of: str = ""


@dataclass(frozen=True, slots=True)
class Conductor:
    """Joins exactly two terminals.

    Attributes:
        key: Stable identity made by its recipe: ``EF-1/run/1``; never shown, never reused.
        number: The number on its label; issued once.
        a: First landing; currents are positive from ``a`` to ``b``.
        b: Second landing.
        made: ``factory`` (inside the panel, or a cord that ships) or ``field``.
        role: See Role.
        energy_class: See EnergyClass.
        awg: Size label, ``14``.
        colour: Insulation colour in words.
        length_ft: One way. [ft]
        cable: Tag of the cable or raceway group it runs in; empty for factory conductors.
        of: The job item it belongs to.
        purpose: What it does, in words.
    """

    key: str
    number: int
    a: TerminalId
    b: TerminalId
    made: Literal["factory", "field"]
    role: Role
    energy_class: EnergyClass
    awg: str
    colour: str
    length_ft: float
    cable: str
    of: str
    purpose: str


@dataclass(frozen=True, slots=True)
class Bridge:
    """A terminal-strip bar, plug-in comb or connector pin: joins two terminals without a conductor."""

    a: TerminalId
    b: TerminalId


@dataclass(frozen=True, slots=True)
class Jumper:
    """A factory jumper fitted for shipping; the installer takes it out when the field device is landed."""

    key: str
    a: TerminalId
    b: TerminalId
    of: str
    purpose: str


@dataclass(frozen=True, slots=True)
class Stray:
    """A connection that no recipe made: what a wiring mistake leaves between two terminals.

    Attributes:
        key: Of the conductor it stands for, or a name of its own.
        a: First terminal; an inner node of a device is written with its mark, ``~1``.
        b: Second terminal.
        ohm: Resistance; infinite for a conductor that is left off. [ohm]
    """

    key: str
    a: TerminalId
    b: TerminalId
    ohm: float


@dataclass(frozen=True, slots=True)
class Cable:
    """Conductors in one jacket or raceway group.

    Attributes:
        tag: ``W-EF-1-P``.
        energy_class: Common to all its conductors.
        from_place: Where it starts.
        to_place: Where it ends.
        route: Tags of the job's routes it takes, joined by `` + ``; empty when the job states none.
        length_ft: One way. [ft]
        conductors: Keys of the conductors in it.
    """

    tag: str
    energy_class: EnergyClass
    from_place: str
    to_place: str
    route: str
    length_ft: float
    conductors: tuple[str, ...]


class PointKind(StrEnum):
    """Kinds of controller points."""

    HOOD_SENSOR = "hood sensor"
    ROOM_SENSOR = "room sensor"
    FIRE_INPUT = "supervised fire input"
    DIGITAL_INPUT = "wetted digital input"
    RELAY_OUTPUT = "dry relay output"
    SPEED_OUTPUT = "0-10 V output"


@dataclass(frozen=True, slots=True)
class Point:
    """One point of the controller or of an expansion module.

    Attributes:
        device: ``CP1-K1``.
        kind: See PointKind.
        index: 1-based place among its kind on that device.
        marks: Terminal marks by role, e.g. ``{"c": "11", "no": "14", "nc": "12"}`` or ``{"+": "Y1", "-": "M1"}``.
        used_for: ``EF-1/run``.
    """

    device: str
    kind: PointKind
    index: int
    marks: Mapping[str, str]
    used_for: str

    @property
    def name(self) -> str:
        """Part name of the point inside its device: ``relay_1``."""
        return f"{POINT_PART[self.kind]}_{self.index}"

    def terminal(self, role: str) -> TerminalId:
        """Terminal of one of the point's roles."""
        return TerminalId(self.device, self.marks[role])


POINT_PART: Mapping[PointKind, str] = {
    PointKind.HOOD_SENSOR: "hood",
    PointKind.ROOM_SENSOR: "room",
    PointKind.FIRE_INPUT: "fire",
    PointKind.DIGITAL_INPUT: "input",
    PointKind.RELAY_OUTPUT: "relay",
    PointKind.SPEED_OUTPUT: "speed",
}


# --- what the controller is told to do ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class FanLogic:
    """The controller's rule for one fan it commands.

    Attributes:
        fan: Tag of the fan or make-up unit.
        hoods: Tags of hoods whose demand drives it (an exhaust fan).
        follows: Tags of exhaust fans it tracks (a make-up unit).
        zones: Fire zones in which a release concerns it.
        run: ``used_for`` of its relay output, or empty (EC fan without run contact).
        speed: ``used_for`` of its speed output, or empty (starter).
        proof: ``used_for`` of the digital input that proves it, or empty.
        permit: ``used_for`` of the digital input that must be made before it runs (damper end switch).
        opens: ``used_for`` of the relay output that opens its damper.
        min_speed: Lowest speed in demand control. [ratio]
        on_release: What it does in a release: ``full speed``, ``low speed``, ``stop`` or ``as before``.
    """

    fan: str
    hoods: tuple[str, ...] = ()
    follows: tuple[str, ...] = ()
    zones: tuple[str, ...] = ()
    run: str = ""
    speed: str = ""
    proof: str = ""
    permit: str = ""
    opens: str = ""
    min_speed: float = 0.5
    on_release: str = "full speed"
    waits: bool = False
    """After an outage it waits for a hand."""


@dataclass(frozen=True, slots=True)
class HoodLogic:
    """Demand of one hood from its sensors: idle below, full above, straight between."""

    hood: str
    zone: str
    sensors: tuple[str, ...]
    idle_below_degf: float
    full_above_degf: float


@dataclass(frozen=True, slots=True)
class LightLogic:
    """Light contacts that follow one switch."""

    relay: str
    switch: str
    zones: tuple[str, ...]
    on_release: Literal["stay as switched", "off"]


@dataclass(frozen=True, slots=True)
class SwitchLogic:
    """A wall switch as the controller sees it: ``used_for`` of one or two digital inputs."""

    switch: str
    does: Literal["fans", "lights"]
    acts_on: tuple[str, ...]
    on_input: str
    hand_input: str = ""


@dataclass(frozen=True, slots=True)
class OutputLogic:
    """A relay output that follows a condition.

    ``on`` is ``fire ZONE`` (energised in a release), ``armed ZONE`` (held in while armed), ``healthy`` (held in
    while no alarm stands) or ``alive`` (held in while the controller runs).
    """

    relay: str
    on: str


@dataclass(frozen=True, slots=True)
class Program:
    """Everything the controller is set to; printed as the sequence of operation."""

    controller: str
    hoods: tuple[HoodLogic, ...] = ()
    fans: tuple[FanLogic, ...] = ()
    lights: tuple[LightLogic, ...] = ()
    switches: tuple[SwitchLogic, ...] = ()
    outputs: tuple[OutputLogic, ...] = ()
    fire_inputs: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Zone -> ``used_for`` of its supervised inputs."""


@dataclass(frozen=True)
class Design:
    """The result of all recipes on one job.

    ``findings`` are what the recipes themselves noticed; nothing is silently repaired.
    """

    devices: tuple[Device, ...]
    conductors: tuple[Conductor, ...]
    bridges: tuple[Bridge, ...]
    jumpers: tuple[Jumper, ...]
    cables: tuple[Cable, ...]
    points: tuple[Point, ...]
    program: Program
    panel: str
    findings: tuple[Finding, ...] = ()
    landings: Mapping[str, TerminalId] = field(default_factory=dict)
    """Landing key -> strip terminal it was given (what the job's ``issued`` block keeps)."""
    names: Mapping[str, str] = field(default_factory=dict)
    """Panel device or point key -> tag or place it was given (kept in the ``issued`` block too)."""
    strays: tuple[Stray, ...] = ()
    """Connections that are not as drawn; empty but in a design with a slip in it."""
    dead: tuple[tuple[str, str], ...] = ()
    """Device tag and part name of parts that are open for good; empty but in a design with a slip in it."""

    @cached_property
    def device_by_tag(self) -> dict[str, Device]:
        """Devices by tag."""
        return {d.tag: d for d in self.devices}

    @cached_property
    def conductor_by_key(self) -> dict[str, Conductor]:
        """Conductors by key."""
        return {c.key: c for c in self.conductors}

    @cached_property
    def point_by_use(self) -> dict[str, Point]:
        """Points by what they are used for."""
        return {p.used_for: p for p in self.points}

    @cached_property
    def conductors_at(self) -> dict[TerminalId, tuple[Conductor, ...]]:
        """Conductors landed on each terminal."""
        at: dict[TerminalId, list[Conductor]] = {}
        for c in self.conductors:
            at.setdefault(c.a, []).append(c)
            at.setdefault(c.b, []).append(c)
        return {t: tuple(cs) for t, cs in at.items()}
