"""Sizes and ratings that the job states."""

from __future__ import annotations

from collections.abc import Iterator

from galleyproof.design.recipes.hoods import LIGHT_CONTACT_A
from galleyproof.findings import Finding
from galleyproof.job.model import Job
from galleyproof.review.cures.registry import cure
from galleyproof.review.cures.tags import volts_of
from galleyproof.review.edits import Move, one
from galleyproof.sizing.model import Sizes


@cure("LIGHTS-OVER")
def lights_over(job: Job, finding: Finding, _sizes: Sizes) -> Iterator[Move]:
    """Lamps of fewer watts: the job cannot split the lights of one hood over two contacts."""
    hood = next((h for h in job.hoods if h.tag == finding.item), None)
    volts = volts_of(job, hood.lights.circuit) if hood and hood.lights else None
    if hood is None or hood.lights is None or volts is None:
        return
    load = LIGHT_CONTACT_A * volts
    if hood.lights.load > load:
        yield one(("hoods", hood.tag, "lights", "load"), load, f"lamps of {load:g} W together fit one contact", 3.0)
