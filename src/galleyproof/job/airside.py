"""The air side of a job file: what balance, ducts, fans, set-points and start-up need to be checked.

All of it may be left out. What nobody has said is not guessed where a wrong guess would hide a mistake: the air
check then says what is missing.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from galleyproof.job.part import Part
from galleyproof.job.quantities import (
    Amps,
    Cfm,
    DegF,
    Feet,
    Hertz,
    Horsepower,
    Inches,
    Inwc,
    Ratio,
    Seconds,
    SignedInwc,
    SquareFeet,
    Tag,
    Text,
)

# --- the kitchen ------------------------------------------------------------------------------------------------


class OtherAir(Part):
    """Outdoor air that another unit brings into the kitchen whatever the hoods do."""

    tag: Tag
    airflow: Cfm
    supplied_at: DegF | None = None


class EnergyChoice(Part):
    """The adopted energy code and what the job does about it.

    ``threshold`` replaces the code's own total exhaust above which its kitchen rules hold.
    """

    code: Literal["ASHRAE 90.1", "California Title 24", "Washington State Energy Code", "IECC"]
    threshold: Cfm | None = None
    transfer_share: Ratio | None = None
    recovery_effectiveness: Ratio | None = None
    recovery_share: Ratio | None = None
    tempered_share: Ratio | None = None


class Delays(Part):
    """Times of the demand control."""

    ramp_up: Seconds = 10.0
    ramp_down: Seconds = 60.0
    hold: Seconds = 180.0
    off_after: Seconds = 1200.0
    override: Seconds = 900.0
    heat_start: Seconds = 60.0


class AirSide(Part):
    """The kitchen as a room with air in and out.

    ``kitchen_pressure`` is against the next room and negative below it.
    """

    kitchen_at: DegF = 75.0
    kitchen_pressure: SignedInwc = -0.01
    opening: SquareFeet | None = None
    transfer: Cfm | None = None
    transfer_at: DegF | None = None
    infiltration: Cfm | None = None
    others: tuple[OtherAir, ...] = ()
    energy_code: EnergyChoice | None = None
    cold_start: DegF = 50.0
    delays: Delays = Delays()


# --- hoods ------------------------------------------------------------------------------------------------------


class PlumePlan(Part):
    """What the thermal-plume method asks of the appliances under one hood."""

    free_height: Inches
    length: Inches
    width: Inches
    stands: Literal["free", "wall"] = "wall"
    simultaneity: Ratio = 1.0
    supply: Literal["mixed radial", "mixed plane", "displacement ceiling", "displacement wall"] = "mixed plane"


class HoodReading(Part):
    """What was measured at one hood."""

    at: Literal["design", "idle"]
    airflow: Cfm | None = None
    collar: DegF | None = None


class HoodAir(Part):
    """The air of one hood.

    ``airflow``: without it the fan's design airflow is shared out by what each of its hoods needs.
    ``loss``: of hood and filters together at the hood's design airflow.
    """

    type: Literal["I", "II"] = "I"
    airflow: Cfm | None = None
    supplied_inside: Cfm | None = None
    loss: Inwc | None = None
    collar_at: DegF = 100.0
    appliance_line: Inches | None = None
    open_ends: Literal[0, 1, 2] = 2
    front_overhang: Inches | None = None
    end_panels: Literal["none", "partial", "full"] = "none"
    lip_height: Inches | None = None
    captures_from: Cfm | None = None
    listing_least: Cfm | None = None
    flue: Cfm | None = None
    plume: PlumePlan | None = None
    readings: tuple[HoodReading, ...] = ()


# --- ducts and fans ---------------------------------------------------------------------------------------------


class RoundDuct(Part):
    """A round duct, inside."""

    kind: Literal["round"]
    diameter: Inches


class RectangularDuct(Part):
    """A rectangular duct, inside."""

    kind: Literal["rectangular"]
    width: Inches
    height: Inches


class OvalDuct(Part):
    """A flat oval duct, inside."""

    kind: Literal["flat oval"]
    major: Inches
    minor: Inches


DuctShape = Annotated[RoundDuct | RectangularDuct | OvalDuct, Field(discriminator="kind")]


class DuctFitting(Part):
    """An elbow, transition, entry or outlet, by its loss coefficient on the velocity pressure of its duct."""

    name: Text
    loss_coefficient: Annotated[float, Field(ge=0.0, le=20.0)]


class DuctPiece(Part):
    """A length of duct between the hoods and the fan; ``carries`` empty means all of the fan's."""

    name: Text
    shape: DuctShape
    length: Feet
    fittings: tuple[DuctFitting, ...] = ()
    material: Literal[
        "welded steel",
        "galvanized steel",
        "aluminum",
        "pvc",
        "fibrous liner",
        "flexible stretched",
        "flexible other",
    ] = "welded steel"
    carries: tuple[Tag, ...] = ()


class CurvePoint(Part):
    """One point of a fan's curve at full speed, in standard air."""

    airflow: Cfm
    static_pressure: Inwc
    power: Horsepower | None = None


class FanReading(Part):
    """What was measured at one fan at a steady speed.

    ``kitchen_pressure`` is against the next room and negative below it.
    """

    at: Literal["design", "idle"]
    airflow: Cfm | None = None
    frequency: Hertz | None = None
    amps: Amps | None = None
    static_pressure: Inwc | None = None
    collar: DegF | None = None
    kitchen_pressure: SignedInwc | None = None


class FanAir(Part):
    """The air of one exhaust fan: its path, its curve or its point, its efficiencies, its readings.

    ``brake_power``: at the design point, for the air of ``selected_for``. ``air_at``: temperature of the air it
    moves while cooking.
    """

    air_at: DegF = 100.0
    selected_for: Literal["standard air", "the air it moves"] = "standard air"
    ducts: tuple[DuctPiece, ...] = ()
    fixed_loss: Inwc = 0.0
    curve: tuple[CurvePoint, ...] = ()
    brake_power: Horsepower | None = None
    fan_efficiency: Ratio | None = None
    belt_efficiency: Ratio | None = None
    motor_efficiency: Ratio | None = None
    drive_efficiency: Ratio | None = None
    design_frequency: Hertz | None = None
    least_frequency: Hertz | None = None
    most_frequency: Hertz | None = None
    stable_speed: Ratio | None = None
    readings: tuple[FanReading, ...] = ()


# --- make-up ----------------------------------------------------------------------------------------------------


class FollowRatio(Part):
    """Make-up is a fixed share of the exhaust it tracks."""

    kind: Literal["ratio"]
    share: Ratio


class FollowOffset(Part):
    """Make-up stays a fixed flow below the exhaust it tracks."""

    kind: Literal["offset"]
    below: Cfm


class FollowNot(Part):
    """Make-up has one flow whenever any of its fans runs."""

    kind: Literal["one flow"]


Follows = Annotated[FollowRatio | FollowOffset | FollowNot, Field(discriminator="kind")]


class MakeupReading(Part):
    """What was measured at one make-up unit at a steady speed."""

    at: Literal["design", "idle"]
    airflow: Cfm | None = None
    frequency: Hertz | None = None
    amps: Amps | None = None
    discharge: DegF | None = None


class MakeupAir(Part):
    """The air of one make-up unit.

    ``follows``: without it a unit with a run pair only has one flow, any other keeps its design share of the
    exhaust it tracks. ``least_airflow``: below it burner or coil cannot work.
    """

    follows: Follows | None = None
    heats_to: DegF | None = None
    cools_to: DegF | None = None
    serves_the_load: bool = False
    heat: Literal["none", "direct-fired gas", "indirect-fired gas", "electric", "hot water"] | None = None
    heat_efficiency: Ratio | None = None
    least_airflow: Cfm | None = None
    static_pressure: Inwc | None = None
    fan_efficiency: Ratio | None = None
    belt_efficiency: Ratio | None = None
    motor_efficiency: Ratio | None = None
    drive_efficiency: Ratio | None = None
    readings: tuple[MakeupReading, ...] = ()
