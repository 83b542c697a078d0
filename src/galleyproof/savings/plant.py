"""What moves and treats the air of a kitchen, as the year needs it: plain numbers, no job.

``Plant`` is made from a job by ``of_job.plant_of``; tests and studies make it by hand.
"""

from __future__ import annotations

from dataclasses import dataclass

from galleyproof.air.balance import Tracking
from galleyproof.air.setpoints import SpeedMap
from galleyproof.air.steps import AirError, require

__all__ = ["FLAT", "FanPart", "HoodPart", "PartLoad", "Plant", "Treatment", "UnitPart"]


@dataclass(frozen=True, slots=True)
class PartLoad:
    """How a drive's efficiency falls with its load, over that at full load.

    Attributes:
        load_ratio: Power it passes on over that at full speed, rising, ends at 1. [-]
        relative_ratio: Efficiency over that at full load. [-]
    """

    load_ratio: tuple[float, ...]
    relative_ratio: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.load_ratio) != len(self.relative_ratio) or not self.load_ratio:
            raise AirError("a part-load curve needs as many efficiencies as loads, at least one")
        if any(two <= one for one, two in zip(self.load_ratio, self.load_ratio[1:], strict=False)):
            raise AirError(f"the loads of a part-load curve must rise, not {self.load_ratio}")
        for value in self.relative_ratio:
            require("relative efficiency", value, "-", above=0.0, most=1.5)


FLAT = PartLoad((1.0,), (1.0,))
"""The same efficiency at every load."""


@dataclass(frozen=True, slots=True)
class HoodPart:
    """One hood.

    Attributes:
        tag: Its tag.
        speed_map: Temperature to speed, from the job.
        idle_degf: Collar with hot appliances that idle. [degF]
        full_degf: Collar in the rush; above ``idle_degf``. [degF]
    """

    tag: str
    speed_map: SpeedMap
    idle_degf: float
    full_degf: float


@dataclass(frozen=True, slots=True)
class FanPart:
    """One exhaust fan.

    Attributes:
        tag: Its tag.
        hoods: Tags of the hoods it serves; the worst of them sets its speed.
        design_cfm: At full speed. [cfm]
        min_speed_ratio: Least speed in demand control; 1 for a fan without speed. [-]
        variable: Whether its speed can change.
        full_kw: Electric power at full speed, without a drive. [kW]
        drive_ratio: Efficiency of the drive at full load; 1 without. [-]
        exponent: Shaft power goes with speed to this power. [-]
        part_load: Of drive and motor under demand control.
    """

    tag: str
    hoods: tuple[str, ...]
    design_cfm: float
    min_speed_ratio: float
    variable: bool
    full_kw: float
    drive_ratio: float = 1.0
    exponent: float = 3.0
    part_load: PartLoad = FLAT

    def __post_init__(self) -> None:
        require(f"{self.tag}: design flow", self.design_cfm, "cfm", least=0.0)
        require(f"{self.tag}: least speed", self.min_speed_ratio, "-", least=0.0, most=1.0)
        require(f"{self.tag}: power", self.full_kw, "kW", least=0.0)
        require(f"{self.tag}: drive efficiency", self.drive_ratio, "-", above=0.0, most=1.0)
        require(f"{self.tag}: exponent", self.exponent, "-", least=1.0, most=3.0)


@dataclass(frozen=True, slots=True)
class Treatment:
    """What is done to make-up air.

    Attributes:
        heats_to_degf: Heated to this when colder; None for no heating. [degF]
        cools_to_degf: Cooled to this when warmer; None for no cooling. [degF]
        max_dew_point_degf: Dried to this by cooling; None for no drying. [degF]
        reheats: Whether dried air is heated to ``heats_to_degf`` again.
        heat_ratio: Heat in the air over energy bought. [-]
        electric_heat: Whether that energy is electric; else gas.
        cooling_cop: Heat taken out over electric energy. [-]
    """

    heats_to_degf: float | None = None
    cools_to_degf: float | None = None
    max_dew_point_degf: float | None = None
    reheats: bool = False
    heat_ratio: float = 1.0
    electric_heat: bool = False
    cooling_cop: float = 3.0

    def __post_init__(self) -> None:
        require("heating efficiency", self.heat_ratio, "-", above=0.0, most=8.0)
        require("cooling COP", self.cooling_cop, "-", above=0.0, most=20.0)
        if self.heats_to_degf is not None and self.cools_to_degf is not None:
            cure = "heating and cooling would fight each other"
            require("cooled to", self.cools_to_degf, "degF", least=self.heats_to_degf, cure=cure)


@dataclass(frozen=True, slots=True)
class UnitPart:
    """One make-up unit.

    Attributes:
        tag: Its tag.
        tracks: Tags of the fans it follows.
        law: How it follows.
        design_cfm: At full speed. [cfm]
        min_ratio: Lowest flow over design. [-]
        full_kw: Electric power of its fan at design, without a drive. [kW]
        treatment: What is done to its air.
        drive_ratio: Efficiency of the drive at full load; 1 without. [-]
        exponent: Shaft power goes with flow to this power. [-]
        part_load: Of drive and motor under demand control.
    """

    tag: str
    tracks: tuple[str, ...]
    law: Tracking
    design_cfm: float
    min_ratio: float
    full_kw: float
    treatment: Treatment
    drive_ratio: float = 1.0
    exponent: float = 3.0
    part_load: PartLoad = FLAT


@dataclass(frozen=True, slots=True)
class Plant:
    """Everything that moves or treats air.

    Attributes:
        hoods: Hoods.
        fans: Exhaust fans.
        units: Make-up units.
        altitude_ft: Above sea level. [ft]
        two_speed_ratio: Low speed of the two-speed fans it is compared with. [-]
    """

    hoods: tuple[HoodPart, ...]
    fans: tuple[FanPart, ...]
    units: tuple[UnitPart, ...] = ()
    altitude_ft: float = 0.0
    two_speed_ratio: float = 0.67

    def __post_init__(self) -> None:
        known = {h.tag for h in self.hoods}
        for fan in self.fans:
            gone = [t for t in fan.hoods if t not in known]
            if gone or not fan.hoods:
                raise AirError(f"{fan.tag} serves {', '.join(gone) or 'no hood'}; name the hoods that are there")
        for unit in self.units:
            lost = [t for t in unit.tracks if t not in {f.tag for f in self.fans}]
            if lost or not unit.tracks:
                raise AirError(f"{unit.tag} tracks {', '.join(lost) or 'no fan'}; name the fans that are there")
        require("low speed", self.two_speed_ratio, "-", above=0.0, most=1.0)
