"""What the keys of wiring, raceways, feeders and the enclosure mean, in words for an engineer."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

WIRING_MEANINGS: Final[Mapping[str, Mapping[str, str]]] = MappingProxyType(
    {
        "Wiring": {
            "material": "of power conductors in the field; control conductors are copper",
            "insulation": "type of insulation",
            "terminals": "temperature marking of the terminals, where a circuit says nothing else",
            "least_power_awg": "thinnest power conductor the job takes",
            "least_trade_size": "smallest raceway the job takes",
            "branch_drop": "voltage drop allowed from the panelboard to a load; advice of the code, so a warning",
            "total_drop": "voltage drop allowed from the feeder's start to a load",
            "starting_drop": "voltage drop allowed while a motor starts across the line",
            "sharing": "which runs between the same two places take one raceway; classes never mix",
            "raceway": "kind of raceway where no route says it",
        },
        "Raceway": {
            "tag": "its name",
            "runs": "tags of the runs it takes, as `galleyproof size` lists them: `W-EF-1-P`",
            "kind": "kind of raceway; without it, as the route",
            "trade_size": "its size, when it is settled; checked, not changed",
            "reclassified": "Class 2 runs among them that are wired and protected as Class 1",
        },
        "Feeder": {
            "length": "from where the feeder begins to the panelboard",
            "protection": "rating of the device at its start; checked when given",
            "device": "what protects it",
            "awg": "size of its conductors, when it is settled; checked, not changed",
            "raceway": "kind of raceway",
            "other_continuous": "continuous load on each line that this job does not know",
        },
        "Enclosure": {
            "width": "outside width",
            "height": "outside height",
            "depth": "outside depth",
            "wall": "what it is made of",
            "mounting": "on a wall, or with air all around",
            "max_inside": "lowest temperature limit of the parts inside",
        },
    }
)
