"""What leaves the kitchen must enter it, at every operating point and not only at full flow.

Mass is what balances: each stream counts with the density of its own temperature. Where all are at room
temperature this is the plain sum of cfm. Positive transfer flows into the kitchen; negative means that the kitchen
has become positive and pushes air (and smells) out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from galleyproof.air.ducts import velocity_pressure_inwc
from galleyproof.air.psychro import (
    STANDARD_DENSITY_LB_PER_CUFT,
    AirState,
    Stream,
    density_ratio,
    mixed,
    pressure_at_altitude_psia,
)
from galleyproof.air.steps import AirError, Reasoned, Reasoning, practice, remembered, require, total
from galleyproof.findings import Citation
from galleyproof.tables import air as tables

__all__ = [
    "Balance",
    "Constant",
    "Exhaust",
    "HoodDemand",
    "HoodShare",
    "Kitchen",
    "Makeup",
    "Offset",
    "OperatingPoint",
    "OtherAir",
    "Ratio",
    "balance",
    "exhaust_shortfall_cfm",
    "kitchen_pressure_inwc",
    "makeup_cfm",
    "makeup_temperature_difference_degf",
    "max_kitchen_negative_inwc",
    "operating_points",
    "shared_fan",
]

_RULES = "imc_mixed_506_508_rules"
OPENING_COEFFICIENT = 0.65
"""Contraction of air through a door or pass window, from memory. [-]"""


@dataclass(frozen=True, slots=True)
class Ratio:
    """Make-up follows exhaust by a fixed share.

    Attributes:
        share_ratio: Make-up over exhaust. [-]
    """

    share_ratio: float


@dataclass(frozen=True, slots=True)
class Offset:
    """Make-up stays a fixed flow below exhaust.

    Attributes:
        offset_cfm: Exhaust less make-up. [cfm]
    """

    offset_cfm: float


@dataclass(frozen=True, slots=True)
class Constant:
    """Make-up has one flow whenever any of its fans runs."""


Tracking: TypeAlias = Ratio | Offset | Constant


@dataclass(frozen=True, slots=True)
class Exhaust:
    """One exhaust fan.

    Attributes:
        tag: Its tag.
        design_cfm: At full speed. [cfm]
        min_ratio: Lowest flow over design; 1 for a fan without speed. [-]
        air_degf: Temperature at which its flow is counted; room when not given. [degF]
    """

    tag: str
    design_cfm: float
    min_ratio: float = 1.0
    air_degf: float | None = None


@dataclass(frozen=True, slots=True)
class Makeup:
    """One make-up air unit.

    Attributes:
        tag: Its tag.
        design_cfm: At full speed. [cfm]
        tracks: Exhaust fans it follows.
        law: How it follows.
        min_ratio: Lowest flow over design that fan and burner can do. [-]
        supply_degf: Temperature at which its flow is counted; room when not given. [degF]
    """

    tag: str
    design_cfm: float
    tracks: tuple[str, ...]
    law: Tracking
    min_ratio: float = 0.0
    supply_degf: float | None = None


@dataclass(frozen=True, slots=True)
class OtherAir:
    """Outdoor air that another unit brings into the kitchen whatever the hoods do.

    Attributes:
        tag: Its tag.
        air_cfm: Flow. [cfm]
        supply_degf: Temperature at which it is counted; room when not given. [degF]
    """

    tag: str
    air_cfm: float
    supply_degf: float | None = None


@dataclass(frozen=True, slots=True)
class Kitchen:
    """Everything that moves air in or out.

    Attributes:
        exhausts: Exhaust fans.
        makeups: Make-up units.
        others: Outdoor air of other units.
        room_degf: Kitchen air. [degF]
        transfer_degf: Air of the rooms beside it; room when not given. [degF]
        altitude_ft: Above sea level. [ft]
        opening_sqft: Free area of doors, windows and grilles to the next room; None where nobody said. [sq ft]
    """

    exhausts: tuple[Exhaust, ...]
    makeups: tuple[Makeup, ...] = ()
    others: tuple[OtherAir, ...] = ()
    room_degf: float = 75.0
    transfer_degf: float | None = None
    altitude_ft: float = 0.0
    opening_sqft: float | None = None


@dataclass(frozen=True, slots=True)
class OperatingPoint:
    """What each exhaust fan does.

    Attributes:
        name: In words.
        ratios: Flow over design of each exhaust fan; 0 when it is off. [-]
    """

    name: str
    ratios: tuple[tuple[str, float], ...]

    def of(self, tag: str) -> float:
        """Flow over design of one fan [-].

        Raises:
            AirError: The point does not name it.
        """
        for name, ratio in self.ratios:
            if name == tag:
                return ratio
        raise AirError(f"operating point {self.name!r} says nothing about {tag}; name every exhaust fan")


def operating_points(exhausts: Sequence[Exhaust]) -> tuple[OperatingPoint, ...]:
    """The points every kitchen must be looked at: all at design, all idle, and each fan against the others.

    Args:
        exhausts: Exhaust fans.
    """
    points = [
        OperatingPoint("all at design", tuple((e.tag, 1.0) for e in exhausts)),
        OperatingPoint("all idle", tuple((e.tag, e.min_ratio) for e in exhausts)),
    ]
    if len(exhausts) > 1:
        for one in exhausts:
            if one.min_ratio < 1.0:
                alone = tuple((e.tag, 1.0 if e is one else e.min_ratio) for e in exhausts)
                points.append(OperatingPoint(f"{one.tag} at design, the others idle", alone))
        for one in exhausts:
            if one.min_ratio < 1.0:
                resting = tuple((e.tag, e.min_ratio if e is one else 1.0) for e in exhausts)
                points.append(OperatingPoint(f"{one.tag} idle, the others at design", resting))
    seen: dict[tuple[tuple[str, float], ...], OperatingPoint] = {}
    for point in points:
        seen.setdefault(point.ratios, point)
    return tuple(seen.values())


def makeup_cfm(unit: Makeup, exhaust_cfm: Mapping[str, float]) -> Reasoned[float]:
    """What a make-up unit gives while its exhaust fans move so much.

    Args:
        unit: The unit.
        exhaust_cfm: Flow of every exhaust fan now. [cfm]

    Returns:
        Flow: the tracking law, held between the unit's lowest and design flow; 0 while none of its fans runs. [cfm]

    Raises:
        AirError: It tracks a fan that is not there.
    """
    missing = [tag for tag in unit.tracks if tag not in exhaust_cfm]
    if missing:
        raise AirError(f"{unit.tag} tracks {', '.join(missing)}, which moves no air here; name the fans it follows")
    for tag in unit.tracks:
        require(f"{tag}: flow", exhaust_cfm[tag], "cfm", least=0.0)
    require(f"{unit.tag}: design flow", unit.design_cfm, "cfm", least=0.0)
    require(f"{unit.tag}: lowest flow over design", unit.min_ratio, "-", least=0.0, most=1.0)
    note = Reasoning()
    tracked = note.step(f"exhaust that {unit.tag} follows", total(exhaust_cfm[t] for t in unit.tracks), "cfm")
    if tracked <= 0.0:
        note.remark("its exhaust is off, so it is off", tables.rule(_RULES, "makeup_interlock").basis[0])
        return note.done(0.0, "cfm")
    match unit.law:
        case Ratio(share):
            require(f"{unit.tag}: make-up over exhaust", share, "-", least=0.0)
            wanted = note.step(f"{share:.4g} x {tracked:g} cfm", share * tracked, "cfm", practice("tracking by ratio"))
        case Offset(offset):
            require(f"{unit.tag}: exhaust less make-up", offset, "cfm")
            wanted = note.step(
                f"{tracked:g} cfm - {offset:g} cfm", tracked - offset, "cfm", practice("tracking by offset")
            )
        case Constant():
            wanted = note.step("one flow", unit.design_cfm, "cfm")
    held = min(max(wanted, unit.min_ratio * unit.design_cfm), unit.design_cfm)
    if held != wanted:
        note.step(f"held within {unit.min_ratio:.0%} to 100% of {unit.design_cfm:g} cfm", held, "cfm")
    return note.done(held, "cfm")


@dataclass(frozen=True, slots=True)
class Flow:
    """One stream of a balance.

    Attributes:
        tag: What moves it.
        air_cfm: Volume at its own temperature. [cfm]
        mass_lb_per_min: Mass. [lb/min]
        air_degf: Its temperature. [degF]
    """

    tag: str
    air_cfm: float
    mass_lb_per_min: float
    air_degf: float


@dataclass(frozen=True, slots=True)
class Balance:
    """A kitchen at one operating point.

    Attributes:
        point: Its name.
        exhaust: Out.
        makeup: In, make-up units.
        others: In, outdoor air of other units.
        transfer: In through doors and cracks (transfer and infiltration together); negative goes out.
        entering_degf: Temperature of all air that enters, mixed; None when nothing enters. [degF]
        room_pressure_inwc: Kitchen against the next room; None where no opening is known. [in wc]
    """

    point: str
    exhaust: tuple[Flow, ...]
    makeup: tuple[Flow, ...]
    others: tuple[Flow, ...]
    transfer: Flow
    entering_degf: float | None
    room_pressure_inwc: float | None

    @property
    def exhaust_cfm(self) -> float:
        """All exhaust [cfm]."""
        return total(f.air_cfm for f in self.exhaust)

    @property
    def makeup_cfm(self) -> float:
        """All make-up [cfm]."""
        return total(f.air_cfm for f in self.makeup)

    @property
    def other_cfm(self) -> float:
        """Outdoor air of other units [cfm]."""
        return total(f.air_cfm for f in self.others)

    @property
    def transfer_cfm(self) -> float:
        """Transfer and infiltration [cfm]; negative goes out."""
        return self.transfer.air_cfm

    @property
    def positive(self) -> bool:
        """Whether more is blown in than drawn out; less than 0.1 percent of the exhaust counts as level."""
        return self.transfer.mass_lb_per_min < -1e-3 * total(f.mass_lb_per_min for f in self.exhaust)

    @property
    def makeup_share_ratio(self) -> float | None:
        """Make-up over exhaust; None while nothing is exhausted [-]."""
        return self.makeup_cfm / self.exhaust_cfm if self.exhaust_cfm > 0.0 else None

    @property
    def residual_lb_per_min(self) -> float:
        """In less out [lb/min]; zero but for rounding."""
        into = [f.mass_lb_per_min for f in (*self.makeup, *self.others, self.transfer)]
        return total([*into, *(-f.mass_lb_per_min for f in self.exhaust)])


def balance(kitchen: Kitchen, point: OperatingPoint) -> Balance:
    """Everything in and out of a kitchen at one operating point.

    Args:
        kitchen: What moves air.
        point: What the exhaust fans do.

    Returns:
        The balance; what is missing comes by transfer and infiltration.

    Raises:
        AirError: A fan the point does not name, a flow below zero.

    Code basis:
        IMC 508.1 (make-up about equal to exhaust), 508.1.2 (the schedule on the plans).
    """

    def flow(tag: str, air_cfm: float, degf: float | None) -> Flow:
        at = kitchen.room_degf if degf is None else degf
        return Flow(tag, air_cfm, air_cfm * _density(kitchen.altitude_ft, at), at)

    exhaust = tuple(
        flow(
            e.tag,
            require(f"{e.tag}: flow over design", point.of(e.tag), "-", least=0.0)
            * require(f"{e.tag}: design flow", e.design_cfm, "cfm", least=0.0),
            e.air_degf,
        )
        for e in kitchen.exhausts
    )
    now = {f.tag: f.air_cfm for f in exhaust}
    makeup = tuple(flow(u.tag, makeup_cfm(u, now).value, u.supply_degf) for u in kitchen.makeups)
    others = tuple(
        flow(o.tag, require(f"{o.tag}: flow", o.air_cfm, "cfm", least=0.0), o.supply_degf) for o in kitchen.others
    )
    missing = total([f.mass_lb_per_min for f in exhaust] + [-f.mass_lb_per_min for f in (*makeup, *others)])
    # Air that leaves has the kitchen's temperature, air that comes in that of the next room.
    side = kitchen.room_degf if kitchen.transfer_degf is None or missing < 0.0 else kitchen.transfer_degf
    transfer = Flow("transfer and infiltration", missing / _density(kitchen.altitude_ft, side), missing, side)
    entering = [f for f in (*makeup, *others, transfer) if f.mass_lb_per_min > 0.0]
    barometer = pressure_at_altitude_psia(kitchen.altitude_ft)
    mix = [Stream(f.air_cfm, AirState(f.air_degf, 0.0, barometer)) for f in entering]
    pressure = None
    if kitchen.opening_sqft is not None:
        density = _density(kitchen.altitude_ft, side)
        pressure = kitchen_pressure_inwc(transfer.air_cfm, kitchen.opening_sqft, density_lb_per_cuft=density).value
    return Balance(
        point=point.name,
        exhaust=exhaust,
        makeup=makeup,
        others=others,
        transfer=transfer,
        entering_degf=mixed(mix).air_degf if mix else None,
        room_pressure_inwc=pressure,
    )


def kitchen_pressure_inwc(
    transfer_cfm: float, opening_sqft: float, *, density_lb_per_cuft: float = STANDARD_DENSITY_LB_PER_CUFT
) -> Reasoned[float]:
    """Kitchen against the next room, from the flow through the openings between them.

    Args:
        transfer_cfm: Into the kitchen; negative goes out. [cfm]
        opening_sqft: Free area. [sq ft]
        density_lb_per_cuft: Of the air in the opening. [lb/ft3]

    Returns:
        Pressure; negative while air flows in. [in wc]

    Leaves out:
        Wind, stack effect, other rooms.
    """
    require("transfer air", transfer_cfm, "cfm")
    require("opening", opening_sqft, "sq ft", above=0.0, cure="give the free area of doors, windows and grilles")
    note = Reasoning()
    through = abs(transfer_cfm) / (OPENING_COEFFICIENT * opening_sqft)
    basis = remembered("orifice flow", f"coefficient {OPENING_COEFFICIENT:g}")
    note.step(f"{abs(transfer_cfm):g} cfm / ({OPENING_COEFFICIENT:g} x {opening_sqft:g} sq ft)", through, "fpm", basis)
    size = velocity_pressure_inwc(through, density_lb_per_cuft)
    pressure = note.step(
        "its velocity pressure, with the sign of the kitchen", -size if transfer_cfm > 0 else size, "in wc"
    )
    return note.done(pressure, "in wc")


def max_kitchen_negative_inwc() -> Reasoned[float]:
    """How far below the next room a kitchen may be.

    Returns:
        Pressure, as a positive number. [in wc]

    Code basis:
        NFPA 96 8.3.1, seen second-hand.
    """
    found = tables.rule(_RULES, "kitchen_negative_max_inwc")
    assert found.value.value is not None
    note = Reasoning()
    note.step("negative pressure from missing replacement air, at most", found.value.value, "in wc", *found.basis)
    return note.done(found.value.value, "in wc")


def exhaust_shortfall_cfm(design_cfm: float, can_enter_cfm: float) -> Reasoned[float]:
    """What the exhaust will be short of when less air can enter than it should draw.

    Args:
        design_cfm: Design exhaust. [cfm]
        can_enter_cfm: Everything that can come in. [cfm]

    Returns:
        Shortfall; 0 when enough can enter. [cfm]

    Code basis:
        IMC 508.1.
    """
    require("design exhaust", design_cfm, "cfm", least=0.0)
    require("air that can enter", can_enter_cfm, "cfm", least=0.0)
    note = Reasoning()
    short = max(0.0, design_cfm - can_enter_cfm)
    note.step(f"{design_cfm:g} cfm - {can_enter_cfm:g} cfm", short, "cfm", tables.rule(_RULES, "makeup_equal").basis[0])
    return note.done(short, "cfm")


@dataclass(frozen=True, slots=True)
class TemperatureDifference:
    """Make-up against room temperature.

    Attributes:
        difference_degf: Size of the difference. [degF]
        max_degf: What the clause allows unless the air serves the room's load. [degF]
        fulfilled: Whether it is within.
        basis: Clauses.
    """

    difference_degf: float
    max_degf: float
    fulfilled: bool
    basis: tuple[Citation, ...]


def makeup_temperature_difference_degf(
    supply_degf: float, room_degf: float, *, standard: str = "IMC"
) -> TemperatureDifference:
    """Make-up air against the room's temperature.

    Args:
        supply_degf: At the diffuser. [degF]
        room_degf: Kitchen. [degF]
        standard: ``IMC`` or ``New York City Mechanical Code``; the latter's limit holds even for the load.

    Raises:
        TableError: A code without such a rule.
    """
    found = tables.rule(_RULES, "makeup_temp_difference_max_degf", standard)
    assert found.value.value is not None
    require("make-up temperature", supply_degf, "degF")
    require("room temperature", room_degf, "degF")
    size = abs(supply_degf - room_degf)
    return TemperatureDifference(size, found.value.value, size <= found.value.value + 1e-9, found.basis)


@dataclass(frozen=True, slots=True)
class HoodDemand:
    """One hood of several on a fan.

    Attributes:
        tag: Its tag.
        design_cfm: Its share of the design flow. [cfm]
        demand_ratio: Flow it asks for over its design. [-]
    """

    tag: str
    design_cfm: float
    demand_ratio: float


@dataclass(frozen=True, slots=True)
class HoodShare:
    """What that hood gets.

    Attributes:
        tag: Its tag.
        wanted_cfm: What it asked for. [cfm]
        given_cfm: What it gets. [cfm]
        over_cfm: More than it asked for. [cfm]
    """

    tag: str
    wanted_cfm: float
    given_cfm: float
    over_cfm: float


def shared_fan(hoods: Sequence[HoodDemand]) -> tuple[Reasoned[float], tuple[HoodShare, ...]]:
    """Several hoods on one fan without balancing devices: the speed follows the worst, the others get too much.

    Args:
        hoods: All hoods of the fan.

    Returns:
        Flow of the fan over its design, and each hood's share. [-]

    Leaves out:
        The split at idle is taken as that at design; a real one must be measured hood by hood.
    """
    if not hoods:
        raise AirError("a fan without hoods has no demand; name the hoods it serves")
    for hood in hoods:
        require(f"{hood.tag}: design flow", hood.design_cfm, "cfm", least=0.0)
        require(f"{hood.tag}: demand", hood.demand_ratio, "-", least=0.0)
    note = Reasoning()
    worst = max(hoods, key=lambda h: (h.demand_ratio, h.tag))
    rule = practice("several hoods on one fan", "without listed balancing devices all branches move together")
    speed = note.step(f"the largest demand, that of {worst.tag}", worst.demand_ratio, "-", rule)
    shares = tuple(
        HoodShare(h.tag, h.demand_ratio * h.design_cfm, speed * h.design_cfm, (speed - h.demand_ratio) * h.design_cfm)
        for h in hoods
    )
    note.step("over-exhaust of the other hoods", total(s.over_cfm for s in shares), "cfm")
    return note.done(speed, "-"), shares


def _density(altitude_ft: float, air_degf: float) -> float:
    return STANDARD_DENSITY_LB_PER_CUFT * density_ratio(altitude_ft, air_degf).value
