"""What to look at in a year: assumptions, weather from elsewhere, set-points that give the savings away."""

from __future__ import annotations

from collections.abc import Iterator

from galleyproof.air.balance import Constant
from galleyproof.findings import Citation, Finding, Severity
from galleyproof.job.model import Job
from galleyproof.reasoning import practice
from galleyproof.savings.evidence import highest_seen
from galleyproof.savings.of_job import JobYear
from galleyproof.savings.plant import HoodPart
from galleyproof.savings.year import Year

__all__ = ["findings_of"]

MAX_ELEVATION_FT = 1000.0
"""Difference of station and site beyond which the air is another one: 3.6 percent of density. [ft]"""
IDLING_ENOUGH = 0.05
"""Share of the way from idle to full speed that an idling hood may ask for. [-]"""

_IDLE = practice("set-up", "the idle temperature lies 5 to 10 degF above the hottest kitchen air")
_FULL = practice("set-up", "the map is set from a real heat-up and cook")
_FIELD = Citation("common practice", "", "field results", "a bound, never a calibration")


def findings_of(job: Job, made: JobYear, year: Year) -> tuple[Finding, ...]:
    """Every finding of a year."""
    return tuple(_findings(job, made, year))


def _findings(job: Job, made: JobYear, year: Year) -> Iterator[Finding]:
    weather = year.weather
    if made.assumed:
        yield Finding(
            "SAVINGS-USE-ASSUMED", Severity.NOTE, "kitchen_use",
            "the job does not say how the kitchen is used; every day is taken to run 06:00 to 22:00 with two rushes",
            "write kitchen_use: day types with hours and cooking, the week, prices",
        )  # fmt: skip
    off = weather.elevation_ft - job.site.altitude
    if abs(off) > MAX_ELEVATION_FT:
        where = "above" if off > 0 else "below"
        yield Finding(
            "SAVINGS-ELEVATION", Severity.WARNING, "weather",
            f"{weather.station} lies {abs(off):,.0f} ft {where} the site ({weather.elevation_ft:,.0f} against "
            f"{job.site.altitude:,.0f} ft): its temperatures are those of another height",
            "state the altitude of the site, or take a nearer station",
        )  # fmt: skip
    tracked = {t for unit in made.plant.units for t in unit.tracks}
    for fan in made.plant.fans:
        if fan.variable:
            for tag in fan.hoods:
                hood = next(h for h in made.plant.hoods if h.tag == tag)
                yield from _map(hood, job)
    for unit in made.plant.units:
        follows = any(f.variable for f in made.plant.fans if f.tag in unit.tracks)
        if follows and (isinstance(unit.law, Constant) or unit.min_ratio >= 1.0):
            yield Finding(
                "SAVINGS-MAKEUP-FIXED", Severity.NOTE, unit.tag,
                "gives one flow however slow its exhaust is; its heating and cooling are not cut",
                "give it a speed pair and let it follow", (practice("make-up tracking"),),
            )  # fmt: skip
    loose = [f.tag for f in made.plant.fans if f.tag not in tracked]
    if loose and made.plant.units:
        yield Finding(
            "SAVINGS-AIR-FROM-ELSEWHERE", Severity.NOTE, ", ".join(loose),
            "no make-up unit follows it; what heats and cools the air that replaces it is not counted",
            "let a unit track it, or count that plant apart",
        )  # fmt: skip
    yield from _result(year)


def _map(hood: HoodPart, job: Job) -> Iterator[Finding]:
    low, high = hood.speed_map.idle_below_degf, hood.speed_map.full_above_degf
    share = (hood.idle_degf - low) / (high - low)
    room = job.air.kitchen_at
    if room > low:
        yield Finding(
            "SAVINGS-NEVER-IDLES", Severity.WARNING, hood.tag,
            f"idles below {low:g} degF, but the kitchen itself is at {room:g} degF: its fan never comes down",
            "raise idle_below to 5 to 10 degF above the hottest kitchen air", (_IDLE,),
        )  # fmt: skip
    elif share > IDLING_ENOUGH:
        yield Finding(
            "SAVINGS-NEVER-IDLES", Severity.WARNING, hood.tag,
            f"with idling appliances its collar is at {hood.idle_degf:g} degF, above the {low:g} degF below which it "
            f"would idle: it asks for {min(share, 1.0):.0%} of the way to full speed with nothing cooking",
            "raise idle_below to the collar temperature of hot idling appliances", (_FULL,),
        )  # fmt: skip
    if hood.full_degf < high - IDLING_ENOUGH * (high - low):
        yield Finding(
            "SAVINGS-NEVER-FULL", Severity.WARNING, hood.tag,
            f"its collar reaches {hood.full_degf:g} degF in the rush, but full speed waits for {high:g} degF: the "
            "saving is bought with smoke",
            "lower full_above to what the rush reaches", (_FULL,),
        )  # fmt: skip


def _result(year: Year) -> Iterator[Finding]:
    before, after = year.cases["constant volume"].energy, year.cases["demand control"].energy
    if before.site_btu <= 0.0:
        yield Finding(
            "SAVINGS-NOTHING-RUNS", Severity.WARNING, "kitchen_use",
            "nothing runs in this year", "give the day types hours in which the exhaust runs",
        )  # fmt: skip
        return
    ratio = 1.0 - after.site_btu / before.site_btu
    most = highest_seen("total saving")
    if ratio > most:
        yield Finding(
            "SAVINGS-BEYOND-FIELD", Severity.WARNING, "kitchen",
            f"{ratio:.0%} of all energy is more than the best case that was ever quoted, {most:.0%}",
            "check the hours, the cooking and the least speeds", (_FIELD,),
        )  # fmt: skip
    elif ratio <= 0.0:
        yield Finding(
            "SAVINGS-NONE", Severity.WARNING, "kitchen",
            f"demand control takes {-ratio:.1%} more energy than constant volume: the drives' losses outweigh what "
            "little the speed comes down",
            "check the least speeds and the maps", (_FULL,),
        )  # fmt: skip
