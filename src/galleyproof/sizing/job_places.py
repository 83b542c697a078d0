"""How warm and how wet it is where a run passes."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from galleyproof.job.model import Job, Route
from galleyproof.sizing.conductors import degc_of_degf, rooftop_ambient_degc
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, practice

__all__ = ["ambient_of_run", "is_outdoors"]

_OUTDOOR_WORDS = ("roof", "yard", "dock", "outdoor", "outside")
_KITCHEN_WORDS = ("kitchen", "hood", "servery", "scullery")


def is_outdoors(place: str) -> bool:
    """Whether a place lies in the open, by its name: a roof, a yard, a loading dock."""
    return any(word in place.lower() for word in _OUTDOOR_WORDS)


def ambient_of_run(
    job: Job, places: Sequence[str], routes: Sequence[Route], *, edition: NecEdition = "2023"
) -> Reasoned[float]:
    """Warmest air along a run.

    Args:
        job: Gives the temperatures of panel, kitchen and roof.
        places: Where it begins and ends.
        routes: What it takes on its way; a roof route says how high above the roof it runs.
        edition: ``2020`` or ``2023``.

    Returns:
        Ambient. [degC]

    Code basis:
        NFPA 70-2023, 310.15(B)(1) and (B)(2); the warmest part of the run counts, 310.14(A)(2) with its exception
        (a short warm part of 10 ft or 10 percent) left aside, which is cautious.
    """
    low = tuple(min((route.above_roof for route in routes if route.to == place), default=1.0) for place in places)
    site = (job.site.panel_ambient, job.site.kitchen_ambient, job.site.roof_ambient)
    return _ambient(tuple(places), low, site, job.panel.place, edition)


@lru_cache(maxsize=512)
def _ambient(
    places: tuple[str, ...],
    above_roof_inch: tuple[float, ...],
    site: tuple[float, float, float],
    panel_place: str,
    edition: NecEdition,
) -> Reasoned[float]:
    panel_degf, kitchen_degf, roof_degf = site
    r = Reasoning(edition)
    found: list[tuple[float, str]] = []
    for place, low in zip(places, above_roof_inch, strict=True):
        if is_outdoors(place):
            outdoor = degc_of_degf(roof_degf)
            value = r.take(rooftop_ambient_degc(outdoor, low, edition=edition)) if "roof" in place.lower() else outdoor
            words = f"{place}: outdoors {roof_degf:g} degF"
        elif place == panel_place:
            warmest = max(panel_degf, kitchen_degf if _in_kitchen(place) else -40.0)
            value, words = degc_of_degf(warmest), f"{place}: around the panel {warmest:g} degF"
        elif _in_kitchen(place):
            value = degc_of_degf(kitchen_degf)
            words = f"{place}: kitchen {kitchen_degf:g} degF"
        else:
            value = 30.0
            words = f"{place}: 86 degF, the temperature of the tables, where the job says nothing"
        found.append((value, words))
    value, words = max(found)
    r.step(f"warmest along the run, {words}", value, "degC", practice("ambient of a run", "its warmest part"))
    return r.done(value, "degC")


def _in_kitchen(place: str) -> bool:
    return any(word in place.lower() for word in _KITCHEN_WORDS)
