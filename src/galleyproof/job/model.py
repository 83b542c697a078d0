"""The model of a job file. Frozen; every quantity in its one core unit; unknown keys refused.

A field that the design cannot do without has no default. A question that must be asked (dry or wet, second
masters, armed and released side, what restarts by itself, the authority's answers) has either no default or the
explicit answer ``not yet confirmed`` / ``to be measured``.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from galleyproof.job.airside import AirSide, FanAir, HoodAir, MakeupAir
from galleyproof.job.part import Part
from galleyproof.job.quantities import (
    Altitude,
    Amps,
    AwgSize,
    BtuPerHour,
    Cfm,
    DegF,
    FaultAmps,
    Feet,
    Hertz,
    Horsepower,
    Inches,
    Inwc,
    Ratio,
    Seconds,
    Tag,
    Text,
    VoltAmps,
    Volts,
    Watts,
)
from galleyproof.job.usage import KitchenUse
from galleyproof.job.wiring import Enclosure, Feeder, ProtectiveDevice, Raceway, RacewayKind, TerminalMark, Wiring

FORMAT_VERSION = 1


# --- who and by which rules -----------------------------------------------------------------------------------


class Identity(Part):
    """What the job is called."""

    name: Text
    number: Text
    revision: Annotated[str, Field(pattern=r"^[A-Z0-9]{1,3}$")] = "A"
    date: Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$")] | None = None
    sheet: Literal["ANSI B", "ISO A3"] = "ANSI B"
    symbols: Literal["IEC", "NEMA"] = "NEMA"


class Codes(Part):
    """Adopted editions."""

    nec: Literal[2020, 2023] = 2023
    imc: Annotated[int, Field(ge=2012, le=2024)] = 2021
    nfpa_96: Annotated[int, Field(ge=2008, le=2024)] = 2021


class Site(Part):
    """Surroundings."""

    altitude: Altitude = 0.0
    panel_ambient: DegF = 86.0
    kitchen_ambient: DegF = 86.0
    roof_ambient: DegF = 104.0


# --- building power -------------------------------------------------------------------------------------------

SystemName = Literal[
    "120/240 V 1-phase",
    "120/240 V high-leg delta",
    "208Y/120 V",
    "240 V delta",
    "480Y/277 V",
    "480 V delta",
    "600Y/347 V",
]
Line = Literal["L1", "L2", "L3"]


class Supply(Part):
    """One voltage system of the building.

    The high leg of a high-leg delta is L2 (NFPA 70 408.3(E)).
    """

    tag: Tag
    system: SystemName
    frequency: Hertz = 60.0
    available_fault: FaultAmps = 10000.0


class Panelboard(Part):
    """A building panelboard whose circuits feed the job."""

    tag: Tag
    supply: Tag
    place: Text = "electrical room"
    feeder: Feeder | None = None


class ShuntTrip(Part):
    """Shunt-trip accessory of a circuit breaker."""

    coil: Volts = 120.0
    cut_off_contact: bool = True


class Circuit(Part):
    """One breaker (or set of fuses) of a panelboard; its poles follow from the lines it takes."""

    tag: Tag
    panelboard: Tag
    lines: Annotated[tuple[Line, ...], Field(min_length=1, max_length=3)]
    breaker: Amps
    device: ProtectiveDevice = "breaker"
    interrupting_rating: FaultAmps | None = None
    awg: AwgSize | None = None
    ground_awg: AwgSize | None = None
    terminals: TerminalMark | None = None
    shunt_trip: ShuntTrip | None = None
    note: Text | None = None


# --- hoods ------------------------------------------------------------------------------------------------------

SensorKind = Literal["NTC 10k curve 2", "NTC 10k curve 3", "Pt1000"]


class HoodSensor(Part):
    """Temperature sensor in the collar or plenum of a hood; always its own home run."""

    tag: Tag
    kind: SensorKind = "NTC 10k curve 2"


class RoomSensor(Part):
    """Temperature sensor of a room."""

    tag: Tag
    kind: SensorKind = "NTC 10k curve 2"
    place: Text = "kitchen"


class Lights(Part):
    """Lights of one hood."""

    load: Watts
    circuit: Tag
    switch: Tag | None = None
    lamps: Literal["electronic driver", "incandescent"] = "electronic driver"


class Appliance(Part):
    """One appliance under a hood.

    ``shut_down``: yes when the release must take its fuel or power. ``load`` is needed for electric ones,
    ``circuit`` too; gas ones name the gas valve among the shutdowns through ``shut_down_by``.
    """

    tag: Tag
    kind: Text
    duty: Literal["light", "medium", "heavy", "extra-heavy"]
    fuel: Literal["gas", "electric", "solid", "steam"]
    load: Watts | None = None
    continuous: bool = True
    heat_input: BtuPerHour | None = None
    circuit: Tag | None = None
    shut_down: bool = True
    shut_down_by: Tag | None = None


class Hood(Part):
    """One hood of the line-up."""

    tag: Tag
    style: Literal["wall canopy", "single island", "double island", "back shelf", "eyebrow", "pass-over"]
    length: Inches
    depth: Inches = 48.0
    duty: Literal["light", "medium", "heavy", "extra-heavy"]
    listed_rate: Cfm | None = None
    zone: Tag
    sensors: Annotated[tuple[HoodSensor, ...], Field(min_length=1, max_length=4)]
    lights: Lights | None = None
    appliances: tuple[Appliance, ...] = ()
    idle_below: DegF = 90.0
    full_above: DegF = 125.0
    air: HoodAir = HoodAir()


# --- commands ---------------------------------------------------------------------------------------------------


class RunCommand(Part):
    """Dry or wet, and whose voltage.

    ``dry``: the equipment has its own control voltage and the panel only closes a contact.
    ``wet``: the panel's contact switches a voltage of ``circuit`` into an interposing relay at the equipment.
    """

    kind: Literal["dry", "wet"]
    volts: Volts
    owner: Literal["the unit", "the panel", "a building circuit"]
    circuit: Tag | None = None


class SecondMaster(Part):
    """Something besides the panel that commands a unit.

    ``may``: ``stop`` stands in series with the panel's command; ``start`` in parallel to it.
    """

    tag: Tag
    what: Literal["thermostat", "duct detector", "building controller", "time clock", "hand switch"]
    may: Literal["stop", "start"]


class Motor(Part):
    """Nameplate of a motor."""

    hp: Horsepower
    volts: Volts
    phases: Literal[1, 3]
    nameplate_amps: Amps | None = None
    service_factor: Annotated[float, Field(ge=1.0, le=1.4)] = 1.15
    temperature_rise_kelvin: Annotated[float, Field(gt=0, le=150)] | None = None
    rotor: Literal["squirrel cage", "premium efficiency", "wound"] = "squirrel cage"
    current_by: Literal[
        "code table", "shaded-pole or PSC fan motor", "multispeed", "low speed or high torque", "listed appliance"
    ] = "code table"
    starts_hard: bool = False


class EcMotor(Part):
    """Nameplate of an electronically commutated fan motor (not in the code tables: nameplate rules)."""

    volts: Volts
    phases: Literal[1, 3]
    nameplate_amps: Amps
    signal: Literal["0-10 V", "PWM"] = "0-10 V"
    max_protection: Amps | None = None
    run_contact: bool = False
    input_impedance_kohm: Annotated[float, Field(gt=0, le=1000)] = 100.0


class Proving(Part):
    """Switch that proves a fan moves."""

    tag: Tag
    kind: Literal["current switch", "air-flow switch"]


class Starter(Part):
    """Across-the-line motor starter in the panel."""

    kind: Literal["starter"]
    motor: Motor
    overload_set: Amps | None = None
    contactor_amps: Amps | None = None


class Vfd(Part):
    """Variable frequency drive in the panel; the motor is three-phase, the input may be single-phase."""

    kind: Literal["VFD"]
    motor: Motor
    input_phases: Literal[1, 3] = 3
    rated_input_amps: Amps | None = None
    rated_output_amps: Amps | None = None
    max_protection: Amps | None = None
    motor_insulation: Literal["general purpose", "inverter duty"] = "inverter duty"
    bypass: bool = False
    run_command: RunCommand = RunCommand(kind="dry", volts=24.0, owner="the unit")
    stop_time: Seconds = 5.0


class Ec(Part):
    """EC-motor fan fed straight from its breaker."""

    kind: Literal["EC"]
    motor: EcMotor


Drive = Annotated[Starter | Vfd | Ec, Field(discriminator="kind")]

FireCommand = Literal["full speed", "low speed", "run without a speed", "stop", "as before"]


class ExhaustFan(Part):
    """One exhaust fan and what turns it.

    ``on_release`` is what the sequence asks in a release; anything but ``full speed`` must be meant.
    ``run without a speed``: the released side of a fire-switch pole forces the run input only.
    ``after_outage`` answers what comes back when the supply returns.
    """

    tag: Tag
    place: Text = "roof"
    serves: Annotated[tuple[Tag, ...], Field(min_length=1)]
    circuit: Tag
    drive: Drive
    airflow: Cfm
    static_pressure: Inwc = 1.0
    min_speed: Ratio = 0.5
    on_release: FireCommand = "full speed"
    forced_by: Tag | None = None
    proving: Proving | None = None
    after_outage: Literal["restarts by itself", "waits for a hand"] = "restarts by itself"
    disconnect: bool = True
    disconnect_amps: Amps | None = None
    air: FanAir = FanAir()


class MakeupByUnit(Part):
    """A packaged make-up unit with its own controls: run pair, perhaps a speed pair."""

    kind: Literal["run pair", "run and speed pairs"]
    motor: EcMotor | Motor
    min_circuit_ampacity: Amps | None = None
    max_protection: Amps | None = None
    run_command: RunCommand
    second_masters: tuple[SecondMaster, ...] = ()
    start_delay: Seconds = 30.0
    hand_switch: Literal["none", "in series with the run pair", "around the run pair"] = "none"


class MakeupByPanel(Part):
    """A make-up fan driven from the panel like an exhaust fan."""

    kind: Literal["driven from the panel"]
    drive: Drive


class MakeupUnit(Part):
    """One make-up air unit.

    ``tracks`` names the exhaust fans it replaces the air of.
    """

    tag: Tag
    place: Text = "roof"
    tracks: Annotated[tuple[Tag, ...], Field(min_length=1)]
    circuit: Tag
    control: Annotated[MakeupByUnit | MakeupByPanel, Field(discriminator="kind")]
    airflow: Cfm
    min_speed: Ratio = 0.5
    on_release: Literal["stops", "keeps running"] = "stops"
    disconnect: bool = True
    disconnect_amps: Amps | None = None
    air: MakeupAir = MakeupAir()


class Damper(Part):
    """Motorised damper in the path of a fan; it proves open before the fan runs."""

    tag: Tag
    fan: Tag
    volts: Volts = 24.0
    load: VoltAmps = 8.0
    end_switch: bool = True
    place: Text = "roof"


# --- fire -------------------------------------------------------------------------------------------------------

PoleUse = Literal["panel loop", "shutdown", "building alarm", "exhaust run", "spare"]


class Pole(Part):
    """One snap-action pole of a fire switch.

    ``side`` is the throw that ``use`` is landed on, named by the state in which it is closed. The letters NO and NC
    printed on a bare switch say nothing until it sits in its release; ``to be measured`` admits that nobody has
    looked yet.
    """

    use: PoleUse
    side: Literal["armed side", "released side", "both sides", "to be measured", "NC", "NO"]


class FireSystem(Part):
    """One suppression system with its switch; ``zone`` is the hood zone it protects."""

    tag: Tag
    zone: Tag
    place: Text = "hood"
    agent: Literal["wet chemical", "water mist", "gaseous"] = "wet chemical"
    switches: Annotated[int, Field(ge=1, le=4)] = 1
    switches_joined: Literal["in series", "in parallel"] = "in series"
    poles: Annotated[tuple[Pole, ...], Field(min_length=1, max_length=4)]
    shutdown_circuit: Tag | None = None


def switch_tags(system: FireSystem) -> tuple[str, ...]:
    """Tags of the switches of one system: ``FS-1``, then ``FS-1/2`` and so on."""
    return tuple(system.tag if i == 1 else f"{system.tag}/{i}" for i in range(1, system.switches + 1))


class BuildingAlarm(Part):
    """The building fire alarm's input module."""

    tag: Tag
    taken_from: Literal["fire switch", "panel contact"]
    place: Text = "fire alarm panel"


class FireOutput(Part):
    """A spare dry contact of the panel (C, NO, NC) that others use in a release."""

    tag: Tag
    use: Literal["alarm", "damper", "shutdown"]
    zone: Tag
    to: Text


# --- appliance shutdowns ----------------------------------------------------------------------------------------


class ShuntShutdown(Part):
    """A shunt-trip breaker opened by the release; ``circuit`` must have the accessory."""

    kind: Literal["shunt trip"]
    tag: Tag
    zone: Tag
    circuit: Tag
    fed_from: Literal["shutdown circuit", "load side of its own breaker"] = "shutdown circuit"


class ContactorShutdown(Part):
    """A contactor held in while armed; drops on release, on loss of control and on an outage."""

    kind: Literal["held-in contactor"]
    tag: Tag
    zone: Tag
    circuit: Tag
    place: Text = "kitchen"
    reset: Literal["by hand", "by itself"] = "by hand"


class GasShutdown(Part):
    """A gas valve that closes without power; the hand reset is a sealed relay in the panel."""

    kind: Literal["gas valve"]
    tag: Tag
    zone: Tag
    place: Text = "gas room"
    volts: Volts = 120.0
    load: VoltAmps = 20.0
    pull_in: Ratio = 0.85
    reset: Literal["by hand", "by itself"] = "by hand"


Shutdown = Annotated[ShuntShutdown | ContactorShutdown | GasShutdown, Field(discriminator="kind")]

# --- people, building, routes -----------------------------------------------------------------------------------


class WallSwitch(Part):
    """A switch a person turns. ``acts_on`` names fans or hoods (for lights); empty means all of them."""

    tag: Tag
    kind: Literal["on-off", "hand-off-auto"]
    does: Literal["fans", "lights"]
    acts_on: tuple[Tag, ...] = ()
    place: Text = "kitchen"
    wired: Literal["to a panel input", "around the fire contact"] = "to a panel input"


class Display(Part):
    """Operator display on a patch cable."""

    tag: Tag
    place: Text = "kitchen"


class BuildingLink(Part):
    """RS-485 link to a building management system."""

    tag: Tag
    place: Text = "plant room"
    end_of_line: Literal["both ends", "panel only", "far end only", "none"] = "both ends"


class Route(Part):
    """The path from the panel to a place."""

    tag: Tag
    to: Text
    length: Feet
    raceway: RacewayKind = "EMT"
    above_roof: Inches = 1.0


class PanelOptions(Part):
    """The control panel itself."""

    tag: Tag = "CP1"
    place: Text = "kitchen"
    circuit: Tag
    control_voltage: Literal["120 V"] = "120 V"
    short_circuit_rating: FaultAmps = 10000.0
    clear_in_front: Inches = 36.0
    facing: Literal["open room", "grounded wall", "live parts"] = "grounded wall"
    on_control_power_loss: Literal["exhaust stops", "exhaust runs"] = "exhaust stops"
    control_awg: AwgSize | None = None
    power_awg: AwgSize | None = None
    control_transformer: VoltAmps | None = None
    enclosure: Enclosure | None = None


Answer = Literal["not yet confirmed"]


class Authority(Part):
    """Answers of the authority having jurisdiction where codes and officials differ."""

    exhaust_on_release: Literal["starts", "only kept running", "not yet confirmed"] = "not yet confirmed"
    lights_on_release: Literal["stay as switched", "off", "not yet confirmed"] = "not yet confirmed"
    unheated_receptacles: Literal["tripped", "left on", "not yet confirmed"] = "not yet confirmed"
    supply_air_near_hood: Literal["stops", "keeps running", "not yet confirmed"] = "not yet confirmed"
    building_signal: Literal["alarm", "supervisory", "none", "not yet confirmed"] = "not yet confirmed"
    gaseous_agent: Literal["exhaust stops", "exhaust runs", "not applicable", "not yet confirmed"] = "not applicable"
    duct_velocity: Literal["at design", "at all times", "not yet confirmed"] = "not yet confirmed"


class OwnPromise(Part):
    """A row the user adds, in the same form as the built-in ones.

    ``when`` maps a fact to the value it must have: ``fire Z1: released``, ``heat H-1: on``, ``switch SW-1: off``,
    ``supply LP-1/3: lost``, ``sensor TS-1: open``. ``expect`` maps a device to what it does: ``runs``,
    ``runs at 100 %``, ``at least 2,400 cfm``, ``off``, ``on``, ``open``, ``shut``, ``alarm``, ``no alarm``.
    """

    say: Text
    when: dict[str, str] = Field(default_factory=dict)
    expect: Annotated[dict[str, str], Field(min_length=1)]
    clause: Text = "job"


class Issued(Part):
    """Numbers already issued: they stay with what carries them.

    ``conductors`` maps a conductor's key to its number, ``terminals`` a landing's key to its place on a strip.
    """

    conductors: dict[str, int] = Field(default_factory=dict)
    terminals: dict[str, str] = Field(default_factory=dict)
    devices: dict[str, str] = Field(default_factory=dict)


class Job(Part):
    """One whole job."""

    galleyproof: Literal[1]
    job: Identity
    codes: Codes = Codes()
    site: Site = Site()
    supplies: Annotated[tuple[Supply, ...], Field(min_length=1)]
    panelboards: Annotated[tuple[Panelboard, ...], Field(min_length=1)]
    circuits: Annotated[tuple[Circuit, ...], Field(min_length=1)]
    panel: PanelOptions
    air: AirSide = AirSide()
    hoods: Annotated[tuple[Hood, ...], Field(min_length=1)]
    exhaust_fans: Annotated[tuple[ExhaustFan, ...], Field(min_length=1)]
    makeup_units: tuple[MakeupUnit, ...] = ()
    dampers: tuple[Damper, ...] = ()
    fire_systems: Annotated[tuple[FireSystem, ...], Field(min_length=1)]
    shutdowns: tuple[Shutdown, ...] = ()
    building_alarm: BuildingAlarm | None = None
    fire_outputs: tuple[FireOutput, ...] = ()
    room_sensors: tuple[RoomSensor, ...] = ()
    switches: tuple[WallSwitch, ...] = ()
    display: Display | None = None
    building_link: BuildingLink | None = None
    routes: tuple[Route, ...] = ()
    wiring: Wiring = Wiring()
    raceways: tuple[Raceway, ...] = ()
    authority: Authority = Authority()
    kitchen_use: KitchenUse | None = None
    promises: tuple[OwnPromise, ...] = ()
    issued: Issued = Issued()
