"""What the air check of a whole job gives: values only."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from galleyproof.air.balance import Balance, HoodShare
from galleyproof.air.commissioning import FanRecord
from galleyproof.air.energy import Option
from galleyproof.air.fans import MotorCheck
from galleyproof.air.setpoints import DriveSetpoints, MinimumSpeed, SpeedMap, Timing, TrackingLimits
from galleyproof.findings import Finding
from galleyproof.reasoning import Reasoned

__all__ = [
    "AirReport",
    "DelayRow",
    "DuctRow",
    "EnergyVerdict",
    "FanRow",
    "FanSetpoints",
    "HoodRow",
    "HoodSetpoints",
    "SharedFan",
    "UnitRow",
    "Why",
]


@dataclass(frozen=True, slots=True)
class Why:
    """One number of the report with its whole reasoning.

    Attributes:
        title: What it is: ``exhaust it needs``.
        value: The number in words.
        lines: The reasoning, one step a line.
    """

    title: str
    value: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HoodRow:
    """One hood: the methods side by side.

    Attributes:
        tag: Its tag.
        fan: The fan that serves it, or several.
        style: Its style.
        length_ft: Its length. [ft]
        duty: The heaviest duty under it.
        design_cfm: Its design exhaust, through the collar. [cfm]
        net_cfm: What of that counts. [cfm]
        code_cfm: The mechanical code's minimum for a hood without a listing; None where the code allows no such
            hood. [cfm]
        listed_cfm: Rate of its listing; None for a hood without one. [cfm]
        ceiling_cfm: The energy code's ceiling for a listed hood; None where it has none for the style. [cfm]
        ceiling_applies: Whether that ceiling binds in this job.
        plume_cfm: Second opinion of the thermal-plume method; None where it cannot be given. [cfm]
        plume_why_not: Why there is none; empty where there is one.
        needed_cfm: What it needs: its listing, or the code's minimum. [cfm]
        differ: Why the methods differ, in sentences.
        advice: What to look at on the hood itself.
    """

    tag: str
    fan: str
    style: str
    length_ft: float
    duty: str
    design_cfm: float
    net_cfm: float
    code_cfm: float | None
    listed_cfm: float | None
    ceiling_cfm: float | None
    ceiling_applies: bool
    plume_cfm: float | None
    plume_why_not: str
    needed_cfm: float | None
    differ: tuple[str, ...]
    advice: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EnergyVerdict:
    """The adopted energy code in this job.

    Attributes:
        code: Its name.
        total_cfm: Exhaust of all hoods. [cfm]
        threshold_cfm: Total above which its kitchen rules hold; None where it has none that is known. [cfm]
        ceiling: Whether hood rates are capped, with the reasoning.
        options: The ways to fulfil it; empty below the threshold.
    """

    code: str
    total_cfm: float
    threshold_cfm: float | None
    ceiling: Reasoned[bool]
    options: tuple[Option, ...]


@dataclass(frozen=True, slots=True)
class SharedFan:
    """Several hoods on one fan: what each gets while one of them cooks.

    Attributes:
        fan: Its tag.
        cooks: The hood that is at full demand; the others idle.
        speed_ratio: Speed of the fan over full. [-]
        shares: What each hood wants and gets.
    """

    fan: str
    cooks: str
    speed_ratio: float
    shares: tuple[HoodShare, ...]

    @property
    def over_cfm(self) -> float:
        """What the idle hoods get too much [cfm]."""
        return sum(s.over_cfm for s in self.shares)


@dataclass(frozen=True, slots=True)
class UnitRow:
    """One make-up unit.

    Attributes:
        tag: Its tag.
        tracks: Fans it follows.
        law: How, in words.
        limits: Flows at design and idle of those fans.
        wanted_cfm: What its law asks for at design, before its own limits. [cfm]
        difference_degf: Discharge against the kitchen; None where no temperature was given. [degF]
    """

    tag: str
    tracks: tuple[str, ...]
    law: str
    limits: TrackingLimits
    wanted_cfm: float
    difference_degf: float | None


@dataclass(frozen=True, slots=True)
class DuctRow:
    """One piece of duct.

    Attributes:
        fan: Its fan.
        name: In words.
        size: Its cross-section in words.
        area_sqft: Cross-section. [sq ft]
        design_cfm: Flow at design. [cfm]
        idle_cfm: Flow at idle. [cfm]
        design_fpm: Velocity at design. [fpm]
        idle_fpm: Velocity at idle. [fpm]
        min_fpm: What the clause asks of a grease duct; None for a duct of Type II hoods only. [fpm]
        loss_inwc: Friction and fittings at design, in the air it carries. [in wc]
    """

    fan: str
    name: str
    size: str
    area_sqft: float
    design_cfm: float
    idle_cfm: float
    design_fpm: float
    idle_fpm: float
    min_fpm: float | None
    loss_inwc: float


@dataclass(frozen=True, slots=True)
class FanRow:
    """One exhaust fan against its system and its motor.

    Attributes:
        tag: Its tag.
        design_cfm: Design airflow. [cfm]
        idle_cfm: At its least speed. [cfm]
        density_ratio: Of the air it moves while cooking, over 70 degF air at sea level. [-]
        scheduled_inwc: Static pressure it was selected for, in standard air. [in wc]
        system_inwc: What hood, filters and ducts need at design, in standard air; None without ducts. [in wc]
        governing: Path of that loss: the hood it begins at; empty without ducts.
        speed_ratio: Speed at which its curve gives the design airflow; None without a curve. [-]
        full_cfm: What it moves at full speed on that system; None without a curve. [cfm]
        shaft_hp: Brake power at design, in the air it was selected for; None where nothing was said. [hp]
        motor_hp: Nameplate; None for an EC motor. [hp]
        input_kw: Electric power at design; None without the efficiencies. [kW]
        motor: The motor against the fan; None where either is not known.
        expected_a: Motor current at design; None where not known. [A]
        full_load_a: Nameplate current, or the table's. [A]
    """

    tag: str
    design_cfm: float
    idle_cfm: float
    density_ratio: float
    scheduled_inwc: float
    system_inwc: float | None
    governing: str
    speed_ratio: float | None
    full_cfm: float | None
    shaft_hp: float | None
    motor_hp: float | None
    input_kw: float | None
    motor: MotorCheck | None
    expected_a: float | None
    full_load_a: float | None


@dataclass(frozen=True, slots=True)
class HoodSetpoints:
    """Temperature-to-speed map of one hood.

    Attributes:
        tag: The hood.
        fan: Its fan.
        speed_map: The map.
        kitchen_degf: Hottest kitchen air of the job. [degF]
    """

    tag: str
    fan: str
    speed_map: SpeedMap
    kitchen_degf: float


@dataclass(frozen=True, slots=True)
class FanSetpoints:
    """What one fan's speed is limited to.

    Attributes:
        tag: The fan.
        set_ratio: Least speed of the job. [-]
        minimum: The seven reasons and what they ask for.
        design_hz: Drive output at design; None without a drive. [Hz]
        idle_hz: Drive output at idle; None without a drive. [Hz]
        design_a: Current to expect at design; None where not known. [A]
        idle_a: Current to expect at idle; None where not known. [A]
        source: ``schedule`` before test and balance, ``test and balance`` after it.
        drive: What the readings give; None before them.
    """

    tag: str
    set_ratio: float
    minimum: MinimumSpeed
    design_hz: float | None
    idle_hz: float | None
    design_a: float | None
    idle_a: float | None
    source: Literal["schedule", "test and balance"]
    drive: DriveSetpoints | None


@dataclass(frozen=True, slots=True)
class DelayRow:
    """One delay against what the trade uses.

    Attributes:
        name: In words.
        value_s: The job's. [s]
        usual: Range of the trade; None for the one that a code fixes.
        verdict: Where it lies.
    """

    name: str
    value_s: float
    usual: Timing | None
    verdict: str


@dataclass(frozen=True)
class AirReport:
    """The air side of one job.

    Attributes:
        hoods: Exhaust table, one row per hood.
        energy: The adopted energy code; None where the job names none.
        balances: The kitchen at every operating point.
        transfer_cfm: Transfer and infiltration that the job plans with; None where it does not say. [cfm]
        shared: Hoods that share a fan.
        units: Make-up units.
        ducts: Pieces of duct.
        fans: Exhaust fans.
        hood_setpoints: Maps.
        fan_setpoints: Limits of speed.
        delays: Delays.
        records: Start-up readings against expectation, one for each place that was read.
        findings: What an engineer should know.
        reasons: Item, then the reasoning behind each of its numbers.
    """

    hoods: tuple[HoodRow, ...]
    energy: EnergyVerdict | None
    balances: tuple[Balance, ...]
    transfer_cfm: float | None
    shared: tuple[SharedFan, ...]
    units: tuple[UnitRow, ...]
    ducts: tuple[DuctRow, ...]
    fans: tuple[FanRow, ...]
    hood_setpoints: tuple[HoodSetpoints, ...]
    fan_setpoints: tuple[FanSetpoints, ...]
    delays: tuple[DelayRow, ...]
    records: tuple[FanRecord, ...]
    findings: tuple[Finding, ...]
    reasons: Mapping[str, tuple[Why, ...]] = field(default_factory=dict)
