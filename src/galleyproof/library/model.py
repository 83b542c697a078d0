"""The form of a device type file.

A rating is a number or a word a device brings along; a part's value is a number or ``$rating``. A behaviour is named
by ``do``; its other keys say which parts play which role. The names of behaviours are those of
``galleyproof.circuit.behaviours``; the circuit room checks them, so that this room stays below it.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

Name = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$", max_length=40)]
Mark = Annotated[str, Field(pattern=r"^[A-Za-z0-9+\-/.]+$", max_length=12)]
Value = float | Annotated[str, Field(pattern=r"^\$[a-z][a-z0-9_]*$")]


class Block(BaseModel):
    """Base of every block of a type file."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class RatingSpec(Block):
    """One rating: its unit, and a default if a device need not state it."""

    unit: str = "-"
    default: float | str | None = None
    means: str = ""


class TerminalSpec(Block):
    """One landing point of the type.

    ``capacity`` counts conductors; ``energy`` is the class of what may land there.
    """

    mark: Mark
    energy: Literal["line voltage", "Class 1", "Class 2", "data", "any"] = "any"
    capacity: Annotated[int, Field(ge=1, le=200)] = 2
    max_awg: str = "10"
    temperature_c: Literal[60, 75, 90] = 75


class TwoEnded(Block):
    """Fields of every part between two terminals (or inner nodes, written ``~name``)."""

    name: Name
    a: str
    b: str


class Joint(Block):
    """Permanent connection inside the device."""

    part: Literal["joint"]
    a: str
    b: str


class Earth(Block):
    """This terminal is the grounding electrode of the building."""

    part: Literal["earth"]
    a: str


class Contact(TwoEnded):
    """A link that is open or closed."""

    part: Literal["contact"]
    normally: Literal["open", "closed"] = "open"
    rated_a: Value | None = None


class Resistor(TwoEnded):
    """A fixed resistance [ohm]."""

    part: Literal["resistor"]
    ohm: Value


class Sensor(TwoEnded):
    """A resistance that a behaviour sets; its slot holds ohms [ohm]."""

    part: Literal["sensor"]
    ohm: Value = 10000.0


class Load(TwoEnded):
    """An impedance by rated volts and watts or volt-amperes at a power factor.

    ``varies``: a behaviour sets a factor on its admittance.
    """

    part: Literal["load"]
    volts: Value
    watts: Value | None = None
    va: Value | None = None
    pf: Value = 1.0
    dc_ohm: Value | None = None
    varies: bool = False


class Load3(Block):
    """Three equal loads in delta between three terminals: total watts or VA; parts ``name_ab/_bc/_ca``."""

    part: Literal["load3"]
    name: Name
    a: str
    b: str
    c: str
    volts: Value
    watts: Value | None = None
    va: Value | None = None
    pf: Value = 1.0
    dc_ohm: Value | None = None
    varies: bool = False


class Coil(TwoEnded):
    """A relay, contactor, valve or shunt coil."""

    part: Literal["coil"]
    form: Literal["ac", "dc"]
    volts: Value
    watts: Value | None = None
    va: Value | None = None
    pf: Value = 0.3


class Source(TwoEnded):
    """A voltage from ``b`` to ``a`` behind a resistance; 0 ohm is a stiff bus (it needs a grounded end).

    Its slot holds a factor on the volts (0 to 1); ``steady`` sources are always at 1.
    """

    part: Literal["source"]
    form: Literal["ac", "dc"]
    volts: Value
    ohm: Value
    degrees: Value = 0.0
    steady: bool = False


PartSpec = Annotated[
    Joint | Earth | Contact | Resistor | Sensor | Load | Load3 | Coil | Source, Field(discriminator="part")
]


Names = tuple[Name, ...]


class BehaviourSpec(Block):
    """A named behaviour and the parts that play its roles; which roles it knows stands with the behaviour."""

    do: Name
    form: Literal["ac", "dc"] | None = None
    volts: Name | None = None
    """Name of the rating that holds its rated volts."""
    least_v: float | None = None
    coil_part: Name | None = None
    cut_off_part: Name | None = None
    data_part: Name | None = None
    end_part: Name | None = None
    input_part: Name | None = None
    load_part: Name | None = None
    motor_part: Name | None = None
    output_part: Name | None = None
    power_part: Name | None = None
    reference_part: Name | None = None
    run_part: Name | None = None
    sense_part: Name | None = None
    sensor_part: Name | None = None
    shunt_part: Name | None = None
    winding_part: Name | None = None
    armed_parts: Names = ()
    break_parts: Names = ()
    fault_parts: Names = ()
    hand_parts: Names = ()
    heater_parts: Names = ()
    line_parts: Names = ()
    load_parts: Names = ()
    make_parts: Names = ()
    on_parts: Names = ()
    output_parts: Names = ()
    own_parts: Names = ()
    pole_parts: Names = ()
    released_parts: Names = ()
    way_parts: Names = ()

    @property
    def roles(self) -> dict[str, Any]:
        """The keys that are given, but ``do``."""
        return {k: v for k, v in self if k != "do" and v not in (None, ())}


class DeviceType(Block):
    """One device type."""

    type: Name
    title: Annotated[str, Field(min_length=3, max_length=120)]
    letter: Annotated[str, Field(pattern=r"^[A-Z]{1,2}$")] = "A"
    """Class letter of IEC 81346-2 for panel device tags."""
    size_inch: tuple[float, float, float] | None = None
    """Width, height, depth for the panel arrangement [in]."""
    heat_w: Value = 0.0
    """Heat given off inside the enclosure [W]."""
    sccr_a: Value | None = None
    """Short-circuit current rating, if it limits the panel's [A]."""
    ratings: dict[Name, RatingSpec] = Field(default_factory=dict)
    terminals: Annotated[tuple[TerminalSpec, ...], Field(min_length=1)]
    parts: tuple[PartSpec, ...] = ()
    behaviours: tuple[BehaviourSpec, ...] = ()
    points: dict[str, int] = Field(default_factory=dict)
    """Controller points this type offers, by kind."""
