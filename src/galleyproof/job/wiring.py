"""What a job says about its conductors, raceways and protection beyond the breaker's rating.

Nothing here has to be said: where it is not, sizing takes what is usual and says so. A size that is stated is
checked and never changed.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from galleyproof.job.part import Part
from galleyproof.job.quantities import Amps, AwgSize, DegF, Feet, Inches, Ratio, Tag, Text

ProtectiveDevice = Literal["breaker", "dual-element fuse", "non-time-delay fuse"]
RacewayKind = Literal["EMT", "RMC", "PVC", "FMC", "LFMC", "open cable"]
TradeSize = Literal["1/2", "3/4", "1", "1-1/4", "1-1/2", "2"]
TerminalMark = Literal["not marked", "60 degC", "75 degC"]


class Wiring(Part):
    """How the job is wired, where a circuit or a raceway says nothing of its own."""

    material: Literal["copper", "aluminum"] = "copper"
    insulation: Literal["THHN", "THWN", "THWN-2", "XHHW", "XHHW-2"] = "THWN-2"
    terminals: TerminalMark = "75 degC"
    least_power_awg: AwgSize = "14"
    least_trade_size: TradeSize = "1/2"
    branch_drop: Ratio = 0.03
    total_drop: Ratio = 0.05
    starting_drop: Ratio = 0.15
    sharing: Literal["each run apart", "power runs apart", "runs of a class together"] = "power runs apart"
    raceway: RacewayKind = "EMT"


class Raceway(Part):
    """A raceway that takes the runs named here and no others.

    ``runs`` are the tags the design gives its runs (``W-EF-1-P``); ``galleyproof size`` lists them. A run of
    Class 2 that shall share with power is named under ``reclassified`` too: it is then Class 1 in everything.
    """

    tag: Tag
    runs: Annotated[tuple[Text, ...], Field(min_length=1)]
    kind: RacewayKind | None = None
    trade_size: TradeSize | None = None
    reclassified: tuple[Text, ...] = ()


class Feeder(Part):
    """Feeder of a panelboard, as far as this job's circuits load it."""

    length: Feet
    protection: Amps | None = None
    device: ProtectiveDevice = "breaker"
    awg: AwgSize | None = None
    raceway: RacewayKind = "EMT"
    other_continuous: Amps | None = None


class Enclosure(Part):
    """The panel's enclosure, outside dimensions."""

    width: Inches
    height: Inches
    depth: Inches
    wall: Literal["painted steel", "stainless steel", "plastic"] = "painted steel"
    mounting: Literal["wall", "free-standing"] = "wall"
    max_inside: DegF = 122.0
