"""Set-points of a demand-controlled hood: from temperature to speed, the lowest speed and why, what the drive gets.

A map sets speed; codes speak of flow. With fixed ducts flow follows speed closely, but the idle flow is proved by
measuring it, not by this arithmetic.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from galleyproof.air.balance import Makeup, makeup_cfm
from galleyproof.air.ducts import VelocityReading, min_duct_velocity_fpm
from galleyproof.air.steps import AirError, Reasoned, Reasoning, practice, remembered, require
from galleyproof.findings import Citation
from galleyproof.tables import air as tables

__all__ = [
    "TIMINGS",
    "DriveSetpoints",
    "IdleFacts",
    "IdleReason",
    "MinimumSpeed",
    "SpeedMap",
    "TabReading",
    "Timing",
    "TrackingLimits",
    "drive_setpoints",
    "expected_amps",
    "hood_speed",
    "minimum_speed",
    "tracking_limits",
]


USUAL_NO_LOAD_RATIO = 0.45
"""No-load over nameplate current of small motors, 0.3 to 0.6 (from memory). [-]"""


@dataclass(frozen=True, slots=True)
class SpeedMap:
    """Temperature to speed of one hood: idle below, full above, a straight line between.

    Attributes:
        idle_below_degf: Collar temperature up to which the hood idles. [degF]
        full_above_degf: Collar temperature from which it runs at full speed. [degF]
        min_speed_ratio: Idle speed over full. [-]
    """

    idle_below_degf: float
    full_above_degf: float
    min_speed_ratio: float

    def __post_init__(self) -> None:
        require("idle speed", self.min_speed_ratio, "-", least=0.0, most=1.0, cure="write it as 0 to 1")
        require("idle temperature", self.idle_below_degf, "degF")
        cure = "it must lie above the idle temperature"
        require("full-speed temperature", self.full_above_degf, "degF", above=self.idle_below_degf, cure=cure)

    def speed_ratio(self, collar_degf: float) -> float:
        """Speed over full at a collar temperature [-]."""
        if not math.isfinite(collar_degf):
            return 1.0  # a reading that is none is a broken sensor
        span = self.full_above_degf - self.idle_below_degf
        share = min(max((collar_degf - self.idle_below_degf) / span, 0.0), 1.0)
        return 1.0 if share == 1.0 else self.min_speed_ratio + (1.0 - self.min_speed_ratio) * share


def hood_speed(speed_map: SpeedMap, collars_degf: Sequence[float | None]) -> Reasoned[float]:
    """Speed a hood asks for: the largest of its sensors' demands, never their mean.

    Args:
        speed_map: Its map.
        collars_degf: One reading per sensor; None for a sensor that is broken. [degF]

    Returns:
        Speed over full. [-]

    Raises:
        AirError: No sensor.
    """
    if not collars_degf:
        raise AirError("a hood needs a sensor; name at least one reading")
    note = Reasoning()
    demands = []
    for n, degf in enumerate(collars_degf, start=1):
        if degf is None:
            fault = practice("sensor fault", "a lost sensor sends its hood to full speed")
            demands.append(note.step(f"sensor {n} is broken", 1.0, "-", fault))
        else:
            demands.append(note.step(f"sensor {n}, {degf:g} degF", speed_map.speed_ratio(degf), "-"))
    most = practice("several sensors on one hood", "the largest demand, never the mean")
    return note.done(note.step("largest demand", max(demands), "-", most), "-")


@dataclass(frozen=True, slots=True)
class IdleFacts:
    """What is known about the lowest speed; None for what nobody has said or measured yet.

    Attributes:
        design_cfm: Exhaust at design. [cfm]
        design_hz: Drive frequency at design. [Hz]
        captured_cfm: Lowest flow at which hot idling appliances were seen captured. [cfm]
        listing_cfm: Lowest flow of the hood's listing. [cfm]
        flue_cfm: Flow that carries the flue gas of appliances vented by the hood. [cfm]
        reduction_ratio: What the energy code wants the system to be able to cut. [-]
        duct_sqft: Grease duct's cross-section. [sq ft]
        duct_reading: How the authority reads the duct velocity clause.
        min_hz: Lowest frequency of motor and bearings. [Hz]
        makeup_min_ratio: Exhaust over design below which make-up burner or coil cannot follow. [-]
        stable_ratio: Lowest speed at which fan and outlet stay stable in wind. [-]
    """

    design_cfm: float
    design_hz: float = 60.0
    captured_cfm: float | None = None
    listing_cfm: float | None = None
    flue_cfm: float | None = None
    reduction_ratio: float | None = None
    duct_sqft: float | None = None
    duct_reading: VelocityReading = "at all times"
    min_hz: float | None = None
    makeup_min_ratio: float | None = None
    stable_ratio: float | None = None


@dataclass(frozen=True, slots=True)
class IdleReason:
    """One of the seven reasons for a lowest speed.

    Attributes:
        number: 1 to 7.
        what: In words.
        ratio: Speed over design it asks for; None when it is not known or sets no bound. [-]
        how: The arithmetic, or what is missing, or why it sets no bound.
        raises: Whether it can raise the minimum; the energy code's capability never does.
        governs: Whether it set the minimum.
        basis: Clauses.
    """

    number: int
    what: str
    ratio: float | None
    how: str
    raises: bool
    governs: bool
    basis: tuple[Citation, ...]


@dataclass(frozen=True, slots=True)
class MinimumSpeed:
    """Lowest speed of a hood's fan.

    Attributes:
        ratio: Speed over design; 1 when no reason has a value, for then nobody may slow the fan. [-]
        reasons: All seven.
        able_to_halve: Whether it still comes down as far as the energy code wants; None without such a code.
    """

    ratio: float
    reasons: tuple[IdleReason, ...]
    able_to_halve: bool | None

    def lines(self) -> tuple[str, ...]:
        """All seven, each with its value."""
        return tuple(
            f"{r.number}. {r.what}: {'no value' if r.ratio is None else f'{r.ratio:.1%}'} ({r.how})"
            + (" <- governs" if r.governs else "")
            for r in self.reasons
        )


def minimum_speed(facts: IdleFacts) -> MinimumSpeed:
    """The lowest speed: the highest of the reasons that are known.

    The energy code's figure is what a system must be able to cut; it is printed and compared, and never raises the
    minimum. Speed is taken as flow over design flow: fixed ducts.

    Args:
        facts: What is known.

    Raises:
        AirError: A figure that cannot be.
    """
    design = require("design flow", facts.design_cfm, "cfm", above=0.0)
    require("design frequency", facts.design_hz, "Hz", above=0.0)

    def of_flow(flow: float | None, missing: str) -> tuple[float | None, str]:
        if flow is None:
            return None, missing
        return require("idle flow", flow, "cfm", above=0.0) / design, f"{flow:g} of {design:g} cfm"

    for name, flow in (("flow of the listing", facts.listing_cfm), ("flow for flue gas", facts.flue_cfm)):
        if flow is not None:
            require(name, flow, "cfm", above=0.0, cure="leave it out where there is none")
    listing = max((f for f in (facts.listing_cfm, facts.flue_cfm) if f is not None), default=None)
    captured = of_flow(facts.captured_cfm, "prove it with hot idling appliances and smoke")
    of_listing = of_flow(listing, "take it from the listing sheet; add flue gas of appliances vented by the hood")
    energy: tuple[float | None, str] = (None, "no energy code named")
    if facts.reduction_ratio is not None:
        cut = require("reduction", facts.reduction_ratio, "-", least=0.0, most=1.0)
        energy = (1.0 - cut, f"must be ABLE to cut {cut:.0%}; no order to idle there")
    least = min_duct_velocity_fpm()
    duct: tuple[float | None, str] = (None, "duct size not given")
    if facts.duct_sqft is not None:
        area = require("duct", facts.duct_sqft, "sq ft", above=0.0)
        if facts.duct_reading == "at design":
            duct = (None, f"{least.value:g} fpm read at design only: no bound at idle")
        else:
            duct = (least.value * area / design, f"{least.value:g} fpm x {area:.4g} sq ft / {design:g} cfm")
    motor: tuple[float | None, str] = (None, "lowest frequency not given")
    if facts.min_hz is not None:
        require("lowest frequency", facts.min_hz, "Hz", above=0.0)
        motor = (facts.min_hz / facts.design_hz, f"{facts.min_hz:g} of {facts.design_hz:g} Hz")
    for name, ratio in (("make-up's lowest exhaust", facts.makeup_min_ratio), ("stable speed", facts.stable_ratio)):
        if ratio is not None:
            require(name, ratio, "-", above=0.0, cure="leave it out where there is no such bound")
    makeup: tuple[float | None, str] = (facts.makeup_min_ratio, "exhaust at the unit's lowest flow")
    stable: tuple[float | None, str] = (facts.stable_ratio, "from the fan's sheet")
    rows: tuple[tuple[str, tuple[float | None, str], bool, tuple[Citation, ...]], ...] = (
        ("flow that still captures idling appliances", captured, True, _hood_rule("reduced_rate_no_load")),
        ("hood listing and flue gas", of_listing, True, _hood_rule("listed_hood")),
        ("energy code, a capability", energy, False, _energy_rule()),
        ("duct velocity", duct, True, least.basis),
        ("drive, motor and bearings", motor, True, (practice("lowest drive frequency", "20 to 30 Hz, from memory"),)),
        ("make-up burner and coil", makeup, True, (practice("make-up turndown"),)),
        ("fan stability and wind", stable, True, (practice("fan stability"),)),
    )
    known = [ratio for _, (ratio, _), raises, _ in rows if raises and ratio is not None]
    lowest = min(1.0, max(known)) if known else 1.0
    reasons = tuple(
        IdleReason(
            n, what, ratio, how, raises, raises and ratio is not None and bool(known) and ratio == max(known), cited
        )
        for n, (what, (ratio, how), raises, cited) in enumerate(rows, start=1)
    )
    able = None if energy[0] is None else lowest <= energy[0] + 1e-9
    return MinimumSpeed(lowest, reasons, able)


@dataclass(frozen=True, slots=True)
class TabReading:
    """What test and balance measured at one steady speed.

    Attributes:
        measured_cfm: Flow. [cfm]
        measured_hz: Drive output. [Hz]
        measured_a: Motor current, drive output. [A]
        measured_inwc: Static pressure at the fan; None when not taken. [in wc]
    """

    measured_cfm: float
    measured_hz: float
    measured_a: float
    measured_inwc: float | None = None


@dataclass(frozen=True, slots=True)
class DriveSetpoints:
    """What to enter into the drive and what to read afterwards.

    Attributes:
        design_hz: Upper set-point. [Hz]
        idle_hz: Lower set-point. [Hz]
        design_a: Motor current to expect at design. [A]
        idle_a: Motor current to expect at idle. [A]
        design_inwc: Static pressure to expect at design. [in wc]
        idle_inwc: Static pressure to expect at idle. [in wc]
        reachable: Whether frequency and current stay within the motor at design.
        steps: The reasoning.
    """

    design_hz: float
    idle_hz: float
    design_a: float
    idle_a: float
    design_inwc: float | None
    idle_inwc: float | None
    reachable: bool
    steps: tuple[str, ...]
    basis: tuple[Citation, ...]


def expected_amps(
    measured_a: float, speed_ratio: float, *, full_load_a: float, no_load_ratio: float = USUAL_NO_LOAD_RATIO
) -> Reasoned[float]:
    """Motor current of a fan at another speed, at constant volts per hertz.

    Args:
        measured_a: At the known speed. [A]
        speed_ratio: New speed over the known one. [-]
        full_load_a: Nameplate. [A]
        no_load_ratio: Magnetising current over nameplate, from the motor's sheet or read with the belt off. Where it
            is a guess the current at half speed may be off by a quarter. [-]

    Returns:
        Current at the drive's output. [A]

    Leaves out:
        Above base frequency, where the field weakens; the current into the drive, which goes with power.
    """
    require("measured current", measured_a, "A", above=0.0)
    require("speed ratio", speed_ratio, "-", least=0.0)
    require("nameplate current", full_load_a, "A", above=0.0)
    require("no-load share", no_load_ratio, "-", least=0.0, most=0.9)
    note = Reasoning()
    basis = remembered("induction motor at constant flux", "magnetising and torque current at right angles")
    share = no_load_ratio * full_load_a
    note.step(f"magnetising current, {no_load_ratio:g} of nameplate", share, "A", basis)
    idle = min(share, measured_a)
    torque = note.step("torque part of the reading", math.sqrt(measured_a**2 - idle**2), "A")
    law = tables.fan_law_exponent("speed", "pressure").basis
    part = note.step(f"torque goes with speed squared, x {speed_ratio:.4g}^2", torque * speed_ratio**2, "A", *law)
    return note.done(note.step("both together", math.hypot(idle, part), "A"), "A")


def drive_setpoints(
    reading: TabReading,
    *,
    design_cfm: float,
    idle_cfm: float,
    full_load_a: float,
    max_hz: float = 60.0,
    no_load_ratio: float = USUAL_NO_LOAD_RATIO,
) -> DriveSetpoints:
    """From one measured point to the limits of a drive, by the fan laws on a fixed system.

    Args:
        reading: Measured flow, frequency, current.
        design_cfm: Wanted at full demand. [cfm]
        idle_cfm: Wanted at idle. [cfm]
        full_load_a: Motor nameplate. [A]
        max_hz: Highest frequency allowed. [Hz]
        no_load_ratio: As for ``expected_amps``. [-]

    Raises:
        AirError: Idle above design, readings that cannot be.
    """
    require("measured flow", reading.measured_cfm, "cfm", above=0.0, cure="measure at a steady speed")
    require("measured frequency", reading.measured_hz, "Hz", above=0.0)
    if reading.measured_inwc is not None:
        require("measured static pressure", reading.measured_inwc, "in wc", least=0.0, cure="enter suction as positive")
    require("highest frequency", max_hz, "Hz", above=0.0)
    require("design flow", design_cfm, "cfm", above=0.0)
    require("idle flow", idle_cfm, "cfm", above=0.0, most=design_cfm, cure="it cannot exceed the design flow")
    note = Reasoning()
    basis = tables.fan_law_exponent("speed", "flow").basis
    hz: list[float] = []
    amps: list[float] = []
    pressures: list[float | None] = []
    for name, flow in (("design", design_cfm), ("idle", idle_cfm)):
        ratio = flow / reading.measured_cfm
        text = f"{name}: {reading.measured_hz:g} Hz x {flow:g} / {reading.measured_cfm:g} cfm"
        hz.append(note.step(text, reading.measured_hz * ratio, "Hz", *basis))
        amps.append(
            note.take(expected_amps(reading.measured_a, ratio, full_load_a=full_load_a, no_load_ratio=no_load_ratio))
        )
        static = reading.measured_inwc
        pressures.append(None if static is None else static * ratio**2)
    reachable = hz[0] <= max_hz * (1.0 + 1e-9) and amps[0] <= full_load_a * (1.0 + 1e-9)
    if hz[0] > max_hz:
        note.remark(f"design needs {hz[0]:.1f} Hz, above {max_hz:g} Hz: change the sheave or the fan")
    if amps[0] > full_load_a:
        note.remark(f"design needs {amps[0]:.2f} A, above the nameplate's {full_load_a:g} A")
    done = note.done(hz[0], "Hz")
    return DriveSetpoints(
        hz[0], hz[1], amps[0], amps[1], pressures[0], pressures[1], reachable, done.lines(), done.basis
    )


@dataclass(frozen=True, slots=True)
class TrackingLimits:
    """Make-up at both ends of its exhaust.

    Attributes:
        design_cfm: At design exhaust. [cfm]
        idle_cfm: At idle exhaust. [cfm]
        design_transfer_cfm: Exhaust less make-up at design. [cfm]
        idle_transfer_cfm: The same at idle; negative: more is blown in than drawn out. [cfm]
        clipped_at_idle: The unit cannot come down as far as its law asks.
    """

    design_cfm: float
    idle_cfm: float
    design_transfer_cfm: float
    idle_transfer_cfm: float
    clipped_at_idle: bool


def tracking_limits(unit: Makeup, design_exhaust_cfm: float, idle_exhaust_cfm: float) -> TrackingLimits:
    """What a make-up unit gives at design and at idle of the exhaust it follows.

    Args:
        unit: The unit; it must track exactly one name, which stands for all its exhaust.
        design_exhaust_cfm: Exhaust it follows, at design. [cfm]
        idle_exhaust_cfm: The same at idle. [cfm]
    """
    if len(unit.tracks) != 1:
        raise AirError(f"{unit.tag}: sum its exhaust under one name first, not {len(unit.tracks)}")
    require("idle exhaust", idle_exhaust_cfm, "cfm", least=0.0, most=design_exhaust_cfm, cure="exchange the two")
    name = unit.tracks[0]
    design = makeup_cfm(unit, {name: design_exhaust_cfm})
    idle = makeup_cfm(unit, {name: idle_exhaust_cfm})
    free = Makeup(unit.tag, unit.design_cfm, unit.tracks, unit.law, 0.0)
    unclipped = makeup_cfm(free, {name: idle_exhaust_cfm})
    return TrackingLimits(
        design.value,
        idle.value,
        design_exhaust_cfm - design.value,
        idle_exhaust_cfm - idle.value,
        idle.value > unclipped.value,
    )


@dataclass(frozen=True, slots=True)
class Timing:
    """A delay with the range the trade uses; starting points, from memory, no standard behind them.

    Attributes:
        name: In words.
        low_s: Short end. [s]
        usual_s: Where people start. [s]
        high_s: Long end. [s]
    """

    name: str
    low_s: float
    usual_s: float
    high_s: float

    def verdict(self, value_s: float) -> Literal["short", "usual", "long"]:
        """Where a value lies against the range."""
        require(self.name, value_s, "s", least=0.0)
        if value_s < self.low_s:
            return "short"
        return "long" if value_s > self.high_s else "usual"


TIMINGS: tuple[Timing, ...] = (
    Timing("ramp up, 0 to 100 %", 3.0, 10.0, 20.0),
    Timing("ramp down, 100 to 0 %", 20.0, 60.0, 180.0),
    Timing("hold after the last sign of cooking", 60.0, 180.0, 600.0),
    Timing("fans off after the last heat", 600.0, 1200.0, 3600.0),
    Timing("hand override at full speed", 60.0, 900.0, 3600.0),
)
"""Delays to set; the one fixed by code is the start by heat, at most 15 minutes after the first appliance."""


def _hood_rule(key: str) -> tuple[Citation, ...]:
    return tables.rule("imc_2021_507_hood_rules", key).basis


def _energy_rule() -> tuple[Citation, ...]:
    return tables.rule("energy_codes_mixed_kitchen_rules", "option_demand_reduction_min", "ASHRAE 90.1").basis
