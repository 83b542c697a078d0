"""What every key of the air side means, in words for an engineer."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

_EFFICIENCIES = {
    "fan_efficiency": "efficiency of the fan, for its static pressure",
    "belt_efficiency": "efficiency of the belt; none for direct drive",
    "motor_efficiency": "efficiency of the motor",
    "drive_efficiency": "efficiency of the frequency drive or of the electronics",
}

AIR_MEANINGS: Final[Mapping[str, Mapping[str, str]]] = MappingProxyType(
    {
        "AirSide": {
            "kitchen_at": "temperature the kitchen is kept at, for its balance and its make-up air",
            "kitchen_pressure": "what the kitchen shall have against the next room; negative is below it",
            "opening": "free area of doors, pass windows and grilles to the next room, for its pressure",
            "transfer": "air that is meant to come from other rooms, at design",
            "transfer_at": "temperature of that air; without it, that of the kitchen",
            "infiltration": "air that comes in through cracks, at design",
            "others": "units besides the make-up units that bring outdoor air into the kitchen",
            "energy_code": "the adopted energy code; without it no ceiling is checked",
            "cold_start": "coldest air the fans start with, for their motors",
            "delays": "times of the demand control",
        },
        "OtherAir": {
            "tag": "its name",
            "airflow": "outdoor air it brings in, the same at every operating point",
            "supplied_at": "temperature it blows in at; without it, that of the kitchen",
        },
        "EnergyChoice": {
            "code": "which one is adopted",
            "threshold": "total hood exhaust above which its kitchen rules hold, where it differs from the code's own",
            "transfer_share": "transfer air over all replacement air; without it, from the balance at design",
            "recovery_effectiveness": "sensible effectiveness of heat recovery, where there is one",
            "recovery_share": "share of the exhaust that goes through it",
            "tempered_share": "share of the make-up air that is neither heated above 60 degF nor cooled by machine",
        },
        "Delays": {
            "ramp_up": "from idle to full speed",
            "ramp_down": "from full speed to idle",
            "hold": "at the raised speed after the last sign of cooking",
            "off_after": "from the last heat until the fans stop by themselves",
            "override": "how long a hand at full speed lasts",
            "heat_start": "from the first heat until the exhaust runs; the code allows 15 minutes",
        },
        "HoodAir": {
            "type": "Type I for grease and smoke, Type II for heat and moisture",
            "airflow": "its design exhaust; without it, its part of its fan's by what each hood needs",
            "supplied_inside": "air blown straight into its cavity, which does not count as exhaust",
            "loss": "loss of hood and filters at its design exhaust",
            "collar_at": "temperature in its collar while cooking",
            "appliance_line": "length of the line of appliances, end to end",
            "open_ends": "ends without a wall or a full end panel",
            "front_overhang": "overhang beyond the appliances at the front",
            "end_panels": "panels at its open ends",
            "lip_height": "front lip above the cooking surface",
            "captures_from": "lowest exhaust at which hot idling appliances were seen captured",
            "listing_least": "lowest exhaust its listing allows",
            "flue": "exhaust that flue gas of appliances vented by the hood needs",
            "plume": "plan of the appliances, for the thermal-plume method; without it there is no second opinion",
            "readings": "readings of test and balance",
        },
        "PlumePlan": {
            "free_height": "top of the appliances to the lower edge of the hood",
            "length": "plan of the appliances",
            "width": "plan of the appliances",
            "stands": "whether they stand free or against a wall",
            "simultaneity": "share of their load that cooks at the same time",
            "supply": "how supply air enters the room",
        },
        "HoodReading": {
            "at": "where the fan was held",
            "airflow": "exhaust of this hood",
            "collar": "temperature in the collar",
        },
        "FanAir": {
            "air_at": "temperature of the air it moves while cooking",
            "selected_for": "what air its static pressure and its brake power hold for",
            "ducts": "pieces of duct between hoods and fan, in the order of the air",
            "fixed_loss": "loss that does not go with the flow: wind at the outlet, a listed device",
            "curve": "points of its curve at full speed in standard air: flow rises, pressure falls",
            "brake_power": "power at its shaft at the design point",
            **_EFFICIENCIES,
            "design_frequency": "drive output at the design airflow; without it, the line's",
            "least_frequency": "lowest drive output that motor and bearings stand",
            "most_frequency": "highest drive output; without it, the line's",
            "stable_speed": "lowest speed at which fan and outlet are stable in wind",
            "readings": "readings of test and balance",
        },
        "DuctPiece": {
            "name": "what it is, in your words",
            "shape": "its cross-section",
            "length": "straight length",
            "fittings": "elbows, transitions, entries and outlets in it",
            "material": "for its roughness",
            "carries": "tags of the hoods whose air it carries; empty means all of the fan's",
        },
        "RoundDuct": {"kind": "a round duct", "diameter": "inside"},
        "RectangularDuct": {"kind": "a rectangular duct", "width": "inside", "height": "inside"},
        "OvalDuct": {"kind": "a flat oval duct", "major": "inside, the long axis", "minor": "inside, the short axis"},
        "DuctFitting": {
            "name": "what it is, in your words",
            "loss_coefficient": "its loss over the velocity pressure of its duct, from a fitting table",
        },
        "CurvePoint": {
            "airflow": "flow of the point",
            "static_pressure": "static pressure there, in standard air",
            "power": "brake power there, in standard air",
        },
        "FanReading": {
            "at": "where the fan was held",
            "airflow": "flow of the fan",
            "frequency": "drive output",
            "amps": "motor current",
            "static_pressure": "suction at its inlet, as a positive number",
            "collar": "temperature of the air it moved",
            "kitchen_pressure": "kitchen against the next room; negative is below it",
        },
        "MakeupAir": {
            "follows": "how its flow follows the exhaust it tracks",
            "heats_to": "discharge temperature when heating",
            "cools_to": "discharge temperature when cooling",
            "serves_the_load": "whether it also heats or cools the room, so that 10 degF are no limit",
            "heat": "what heats it",
            "heat_efficiency": "efficiency of its heater",
            "least_airflow": "flow below which its burner or coil cannot work",
            "static_pressure": "at its design airflow",
            **_EFFICIENCIES,
            "readings": "readings of test and balance",
        },
        "FollowRatio": {
            "kind": "a fixed share of the exhaust",
            "share": "make-up over the exhaust it tracks; above 100 % when it also replaces air of fans it does not "
            "track",
        },
        "FollowOffset": {"kind": "a fixed flow below the exhaust", "below": "exhaust less make-up"},
        "FollowNot": {"kind": "one flow whenever any of its fans runs"},
        "MakeupReading": {
            "at": "where its exhaust was held",
            "airflow": "flow of the unit",
            "frequency": "output of its drive",
            "amps": "motor current",
            "discharge": "temperature it blew in at",
        },
    }
)
"""Meaning of every key of the air side, by model and key."""
