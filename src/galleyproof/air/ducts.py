"""Air in ducts: velocity, friction by Colebrook, fittings by loss coefficient, at the density that is really there.

Loss coefficients of fittings and the losses of hoods and filters are inputs: no table of them is carried.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, TypeAlias

from galleyproof.air.steps import Reasoned, Reasoning, require, total
from galleyproof.findings import Citation, Cited
from galleyproof.tables import air as tables

__all__ = [
    "STANDARD_VISCOSITY_LB_PER_FT_S",
    "Duct",
    "Fitting",
    "Flat",
    "Rectangular",
    "Round",
    "Run",
    "Shape",
    "VelocityCheck",
    "VelocityReading",
    "colebrook",
    "friction_inwc",
    "friction_rate_inwc_per_100ft",
    "max_duct_area_sqft",
    "min_duct_velocity_fpm",
    "reynolds",
    "run_loss_inwc",
    "velocity_at_pressure_fpm",
    "velocity_check",
    "velocity_fpm",
    "velocity_pressure_inwc",
    "viscosity_lb_per_ft_s",
]

STANDARD_DENSITY_LB_PER_CUFT = 0.075
STANDARD_VISCOSITY_LB_PER_FT_S = 1.22e-5
LAMINAR_BELOW = 2040.0
"""Reynolds number below which pipe flow stays laminar. [-]"""

DARCY = Citation("ASHRAE Fundamentals", "2021", "chapter 21", "Darcy and Colebrook equations; chapter from memory")


@dataclass(frozen=True, slots=True)
class Round:
    """A round duct.

    Attributes:
        diameter_inch: Inside. [in]
    """

    diameter_inch: float

    def __post_init__(self) -> None:
        require("duct diameter", self.diameter_inch, "in", above=0.0, cure="give its inside size")

    @property
    def area_sqft(self) -> float:
        """Cross-section [sq ft]."""
        return math.pi / 4.0 * (self.diameter_inch / 12.0) ** 2

    @property
    def hydraulic_inch(self) -> float:
        """Four times area over perimeter [in]."""
        return self.diameter_inch

    @property
    def equivalent_inch(self) -> float:
        """Round duct with the same loss at the same flow [in]."""
        return self.diameter_inch


@dataclass(frozen=True, slots=True)
class Rectangular:
    """A rectangular duct.

    Attributes:
        width_inch: Inside. [in]
        height_inch: Inside. [in]
    """

    width_inch: float
    height_inch: float

    def __post_init__(self) -> None:
        require("duct width", self.width_inch, "in", above=0.0, cure="give its inside size")
        require("duct height", self.height_inch, "in", above=0.0, cure="give its inside size")

    @property
    def area_sqft(self) -> float:
        """Cross-section [sq ft]."""
        return self.width_inch * self.height_inch / 144.0

    @property
    def hydraulic_inch(self) -> float:
        """Four times area over perimeter [in]."""
        return 2.0 * self.width_inch * self.height_inch / (self.width_inch + self.height_inch)

    @property
    def equivalent_inch(self) -> float:
        """Round duct with the same loss at the same flow, ``1.30 (ab)^0.625 / (a+b)^0.25`` [in]."""
        a, b = self.width_inch, self.height_inch
        return 1.30 * math.pow(a * b, 0.625) / math.pow(a + b, 0.25)


@dataclass(frozen=True, slots=True)
class Flat:
    """A flat oval duct: two half circles with flat sides between them.

    Attributes:
        major_inch: Inside, the long axis. [in]
        minor_inch: Inside, the short axis. [in]
    """

    major_inch: float
    minor_inch: float

    def __post_init__(self) -> None:
        require("short axis of the duct", self.minor_inch, "in", above=0.0, cure="give its inside size")
        require("long axis of the duct", self.major_inch, "in", least=self.minor_inch, cure="exchange the two")

    @property
    def area_sqft(self) -> float:
        """Cross-section [sq ft]."""
        return (math.pi * self.minor_inch**2 / 4.0 + self.minor_inch * (self.major_inch - self.minor_inch)) / 144.0

    @property
    def perimeter_inch(self) -> float:
        """Wetted edge [in]."""
        return math.pi * self.minor_inch + 2.0 * (self.major_inch - self.minor_inch)

    @property
    def hydraulic_inch(self) -> float:
        """Four times area over perimeter [in]."""
        return 4.0 * self.area_sqft * 144.0 / self.perimeter_inch

    @property
    def equivalent_inch(self) -> float:
        """Round duct with the same loss at the same flow, ``1.55 A^0.625 / P^0.25`` [in]."""
        return 1.55 * math.pow(self.area_sqft * 144.0, 0.625) / math.pow(self.perimeter_inch, 0.25)


Shape: TypeAlias = Round | Rectangular | Flat


def velocity_fpm(air_cfm: float, shape: Shape) -> float:
    """Mean velocity.

    Args:
        air_cfm: Flow. [cfm]
        shape: The duct's cross-section.

    Returns:
        Velocity. [fpm]

    Raises:
        AirError: A flow below zero.
    """
    require("airflow", air_cfm, "cfm", least=0.0)
    return air_cfm / _area(shape)


def velocity_pressure_inwc(air_fpm: float, density_lb_per_cuft: float = STANDARD_DENSITY_LB_PER_CUFT) -> float:
    """Velocity pressure ``rho (V / 1097)^2``.

    Args:
        air_fpm: Velocity. [fpm]
        density_lb_per_cuft: Of the air in the duct. [lb/ft3]

    Returns:
        Pressure. [in wc]
    """
    require("velocity", air_fpm, "fpm", least=0.0)
    require("density", density_lb_per_cuft, "lb/ft3", above=0.0)
    return density_lb_per_cuft * float((air_fpm / tables.fan_constant("velocity_fpm_any_density").value) ** 2)


def velocity_at_pressure_fpm(pressure_inwc: float, density_lb_per_cuft: float = STANDARD_DENSITY_LB_PER_CUFT) -> float:
    """The reverse of ``velocity_pressure_inwc``.

    Args:
        pressure_inwc: Velocity pressure. [in wc]
        density_lb_per_cuft: Of the air in the duct. [lb/ft3]

    Returns:
        Velocity. [fpm]
    """
    require("velocity pressure", pressure_inwc, "in wc", least=0.0)
    require("density", density_lb_per_cuft, "lb/ft3", above=0.0)
    return tables.fan_constant("velocity_fpm_any_density").value * math.sqrt(pressure_inwc / density_lb_per_cuft)


def viscosity_lb_per_ft_s(air_degf: float) -> float:
    """Dynamic viscosity of air by Sutherland's law; within 2 percent up to 800 degF, 3 percent up to 1000.

    Args:
        air_degf: Temperature. [degF]

    Returns:
        Viscosity. [lb/(ft s)]
    """
    kelvin = (require("air temperature", air_degf, "degF", least=-140.0, most=2000.0) + 459.67) / 1.8
    pascal_s = 1.458e-6 * math.pow(kelvin, 1.5) / (kelvin + 110.4)
    return pascal_s / 1.4881639


def reynolds(
    air_fpm: float,
    diameter_inch: float,
    density_lb_per_cuft: float = STANDARD_DENSITY_LB_PER_CUFT,
    viscosity: float = STANDARD_VISCOSITY_LB_PER_FT_S,
) -> float:
    """Reynolds number.

    Args:
        air_fpm: Velocity. [fpm]
        diameter_inch: Hydraulic diameter. [in]
        density_lb_per_cuft: Of the air in the duct. [lb/ft3]
        viscosity: Dynamic viscosity. [lb/(ft s)]

    Returns:
        Number. [-]
    """
    require("velocity", air_fpm, "fpm", least=0.0)
    require("diameter", diameter_inch, "in", above=0.0)
    require("density", density_lb_per_cuft, "lb/ft3", above=0.0)
    require("viscosity", viscosity, "lb/(ft s)", above=0.0)
    return density_lb_per_cuft * (air_fpm / 60.0) * (diameter_inch / 12.0) / viscosity


def colebrook(reynolds_number: float, relative_roughness_ratio: float) -> float:
    """Darcy friction factor; ``64/Re`` while the flow is laminar.

    Args:
        reynolds_number: Above zero. [-]
        relative_roughness_ratio: Roughness over hydraulic diameter, 0 to 0.1. [-]

    Returns:
        Friction factor. [-]

    Leaves out:
        Between laminar and about Re 4000 the true factor is undefined; Colebrook's is taken.
    """
    require("Reynolds number", reynolds_number, "-", above=0.0)
    require("relative roughness", relative_roughness_ratio, "-", least=0.0, most=0.1)
    if reynolds_number < LAMINAR_BELOW:
        return 64.0 / reynolds_number
    x = 8.0  # 1/sqrt(f)
    for _ in range(60):
        inside = relative_roughness_ratio / 3.7 + 2.51 * x / reynolds_number
        value = x + 2.0 * math.log10(inside)
        slope = 1.0 + 2.0 / math.log(10.0) * (2.51 / reynolds_number) / inside
        step = value / slope
        x -= step
        if abs(step) < 1e-14 * abs(x):
            break
    return 1.0 / (x * x)


def friction_inwc(friction_factor: float, length_ft: float, diameter_inch: float, pressure_inwc: float) -> float:
    """Friction of a straight duct: ``f (L / D) VP``.

    Args:
        friction_factor: Darcy. [-]
        length_ft: Length. [ft]
        diameter_inch: Hydraulic diameter. [in]
        pressure_inwc: Velocity pressure. [in wc]

    Returns:
        Loss. [in wc]
    """
    require("friction factor", friction_factor, "-", least=0.0)
    require("velocity pressure", pressure_inwc, "in wc", least=0.0)
    require("length", length_ft, "ft", least=0.0)
    require("diameter", diameter_inch, "in", above=0.0)
    return friction_factor * (12.0 * length_ft / diameter_inch) * pressure_inwc


def friction_rate_inwc_per_100ft(
    air_cfm: float,
    shape: Shape,
    *,
    roughness_ft: float | None = None,
    density_lb_per_cuft: float = STANDARD_DENSITY_LB_PER_CUFT,
    viscosity: float = STANDARD_VISCOSITY_LB_PER_FT_S,
) -> Reasoned[float]:
    """Friction per 100 ft of straight duct.

    Args:
        air_cfm: Flow at the duct's own state. [cfm]
        shape: Cross-section; a rectangle is taken by its hydraulic diameter and its own velocity.
        roughness_ft: Absolute; welded steel when not given. [ft]
        density_lb_per_cuft: Of the air in the duct. [lb/ft3]
        viscosity: Dynamic viscosity. [lb/(ft s)]

    Returns:
        Loss. [in wc per 100 ft]
    """
    note = Reasoning()
    speed = note.step(f"{air_cfm:g} cfm / {_area(shape):.4g} sq ft", velocity_fpm(air_cfm, shape), "fpm")
    if roughness_ft is None:
        roughness = note.look_up("roughness of welded steel", tables.duct_roughness_ft("welded_steel"), "ft")
    else:
        roughness = note.step("roughness as given", roughness_ft, "ft")
    if air_cfm == 0.0:
        return note.done(0.0, "in wc/100 ft")
    diameter = note.step("hydraulic diameter", shape.hydraulic_inch, "in")
    number = note.step("Reynolds number", reynolds(speed, diameter, density_lb_per_cuft, viscosity), "-")
    factor = note.step("friction factor by Colebrook", colebrook(number, 12.0 * roughness / diameter), "-", DARCY)
    pressure = note.step("velocity pressure", velocity_pressure_inwc(speed, density_lb_per_cuft), "in wc")
    loss = note.step("f x (100 ft / D) x VP", friction_inwc(factor, 100.0, diameter, pressure), "in wc/100 ft")
    return note.done(loss, "in wc/100 ft")


@dataclass(frozen=True, slots=True)
class Fitting:
    """An elbow, transition, entry or outlet.

    Attributes:
        name: In words.
        loss_coefficient: Loss over the velocity pressure of its duct, from a fitting table or a maker's sheet. The
            straight way through a junction can have a small negative one. [-]
    """

    name: str
    loss_coefficient: float

    def __post_init__(self) -> None:
        require(f"{self.name}: loss coefficient", self.loss_coefficient, "-", least=-1.0)


@dataclass(frozen=True, slots=True)
class Duct:
    """A length of one duct with the fittings in it.

    Attributes:
        name: In words.
        shape: Cross-section.
        length_ft: Straight length. [ft]
        fittings: What is in it.
        roughness_ft: Absolute; welded steel when not given. [ft]
    """

    name: str
    shape: Shape
    length_ft: float
    fittings: tuple[Fitting, ...] = ()
    roughness_ft: float | None = None

    def __post_init__(self) -> None:
        require(f"{self.name}: length", self.length_ft, "ft", least=0.0)


@dataclass(frozen=True, slots=True)
class Run:
    """The path from the hood's edge to the fan and its outlet.

    Attributes:
        ducts: In the order of the air.
        hood_inwc: Loss of hood and filters at ``design_cfm``; goes with the square of the flow. [in wc]
        fixed_inwc: Part that does not change with the flow (wind at the outlet, a listed device). [in wc]
        design_cfm: Flow at which ``hood_inwc`` holds. [cfm]
    """

    ducts: tuple[Duct, ...]
    hood_inwc: float
    design_cfm: float
    fixed_inwc: float = 0.0

    def __post_init__(self) -> None:
        require("loss of hood and filters", self.hood_inwc, "in wc", least=0.0)
        require("design flow of the hood loss", self.design_cfm, "cfm", above=0.0)
        require("part that does not go with the flow", self.fixed_inwc, "in wc", least=0.0)


def run_loss_inwc(
    run: Run,
    air_cfm: float,
    *,
    density_lb_per_cuft: float = STANDARD_DENSITY_LB_PER_CUFT,
    viscosity: float = STANDARD_VISCOSITY_LB_PER_FT_S,
) -> Reasoned[float]:
    """Pressure that the fan must make for a flow.

    Args:
        run: The path.
        air_cfm: Flow at the duct's own state. [cfm]
        density_lb_per_cuft: Of the air in the ducts. [lb/ft3]
        viscosity: Dynamic viscosity. [lb/(ft s)]

    Returns:
        Loss. [in wc]
    """
    require("airflow", air_cfm, "cfm", least=0.0)
    require("density", density_lb_per_cuft, "lb/ft3", above=0.0)
    note = Reasoning()
    ratio = density_lb_per_cuft / STANDARD_DENSITY_LB_PER_CUFT
    hood = run.hood_inwc * (air_cfm / run.design_cfm) ** 2 * ratio
    parts = [note.step(f"hood and filters at {air_cfm:g} cfm", hood, "in wc")]
    for duct in run.ducts:
        rate = friction_rate_inwc_per_100ft(
            air_cfm,
            duct.shape,
            roughness_ft=duct.roughness_ft,
            density_lb_per_cuft=density_lb_per_cuft,
            viscosity=viscosity,
        ).value
        parts.append(
            note.step(
                f"{duct.name}: {duct.length_ft:g} ft at {rate:.4g} in wc/100 ft",
                rate * duct.length_ft / 100.0,
                "in wc",
                DARCY,
            )
        )
        pressure = velocity_pressure_inwc(velocity_fpm(air_cfm, duct.shape), density_lb_per_cuft)
        for fitting in duct.fittings:
            loss = fitting.loss_coefficient * pressure
            text = f"{duct.name}: {fitting.name}, {fitting.loss_coefficient:g} x {pressure:.4g} in wc"
            parts.append(note.step(text, loss, "in wc"))
    if run.fixed_inwc:
        parts.append(note.step("part that does not go with the flow", run.fixed_inwc, "in wc"))
    return note.done(note.step("all parts together", total(parts), "in wc"), "in wc")


VelocityReading: TypeAlias = Literal["at design", "at all times"]
"""How the authority reads the minimum duct velocity: the clause does not say at which flow."""


def min_duct_velocity_fpm() -> Cited[float]:
    """The clause value for grease ducts.

    Returns:
        Velocity. [fpm]

    Code basis:
        IMC 506.3.4; NFPA 96 8.2.1.1 (from memory).
    """
    found = tables.rule("imc_mixed_506_508_rules", "duct_velocity_min_fpm", "IMC")
    assert found.value.value is not None
    fire = tables.rule("imc_mixed_506_508_rules", "duct_velocity_min_fpm", "NFPA 96")
    return Cited(found.value.value, (*found.basis, *fire.basis))


@dataclass(frozen=True, slots=True)
class VelocityCheck:
    """A grease duct against the clause.

    Attributes:
        design_fpm: At design flow. [fpm]
        idle_fpm: At the lowest flow. [fpm]
        min_fpm: Clause value. [fpm]
        fulfilled: Under the reading that was asked for.
        only_at_design: It fulfils one reading and not the other: ask the authority.
        basis: Clauses.
    """

    design_fpm: float
    idle_fpm: float
    min_fpm: float
    fulfilled: bool
    only_at_design: bool
    basis: tuple[Citation, ...]


def velocity_check(
    design_cfm: float, idle_cfm: float, shape: Shape, *, reading: VelocityReading = "at all times"
) -> VelocityCheck:
    """Velocity of a grease duct at design and at idle.

    Args:
        design_cfm: Exhaust at design. [cfm]
        idle_cfm: Lowest exhaust. [cfm]
        shape: The duct.
        reading: How the clause is read; the stricter one unless the authority has said otherwise.

    Raises:
        AirError: Idle above design.
    """
    require("idle flow", idle_cfm, "cfm", least=0.0, most=design_cfm, cure="it cannot exceed the design flow")
    least = min_duct_velocity_fpm()
    design, idle = velocity_fpm(design_cfm, shape), velocity_fpm(idle_cfm, shape)
    at_design, always = design >= least.value, idle >= least.value
    return VelocityCheck(
        design_fpm=design,
        idle_fpm=idle,
        min_fpm=least.value,
        fulfilled=at_design if reading == "at design" else at_design and always,
        only_at_design=at_design and not always,
        basis=least.basis,
    )


def max_duct_area_sqft(lowest_cfm: float) -> Reasoned[float]:
    """Largest duct that still has the clause velocity at the lowest flow.

    Args:
        lowest_cfm: Lowest exhaust. [cfm]

    Returns:
        Cross-section. [sq ft]
    """
    require("lowest flow", lowest_cfm, "cfm", above=0.0)
    note = Reasoning()
    least = note.look_up("grease duct velocity, at least", min_duct_velocity_fpm(), "fpm")
    return note.done(note.step(f"{lowest_cfm:g} cfm / {least:g} fpm", lowest_cfm / least, "sq ft"), "sq ft")


def _area(shape: Shape) -> float:
    return shape.area_sqft  # a shape that exists has a size
