"""Small kitchens with one thing changed, sized whole."""

from __future__ import annotations

from functools import cache
from typing import Any

from tests.design.support import (
    LIBRARY,
    LINES,
    design_of,
    ec,
    example,
    fan,
    hood,
    kitchen,
    makeup,
    shutdown_system,
    vfd,
)

from galleyproof.design.build import build_design
from galleyproof.findings import Finding, Severity
from galleyproof.job import model as m
from galleyproof.sizing import Sizes, size

__all__ = [
    "LINES",
    "circuit",
    "codes",
    "ec",
    "example",
    "fan",
    "hood",
    "kitchen",
    "makeup",
    "motor_job",
    "routed",
    "serious",
    "shutdown_system",
    "sized",
    "sized_example",
    "vfd",
    "with_circuit",
]


def sized(job: m.Job) -> Sizes:
    """A job built and sized."""
    return size(job, build_design(job), LIBRARY)


@cache
def sized_example(name: str) -> Sizes:
    """An example sized."""
    return size(example(name), design_of(name), LIBRARY)


def serious(sizes: Sizes) -> list[Finding]:
    """Errors and warnings; notes are for information."""
    return [f for f in sizes.findings if f.severity is not Severity.NOTE]


def codes(sizes: Sizes) -> list[tuple[str, str]]:
    """Code and item of every error and warning."""
    return [(f.code, f.item) for f in serious(sizes)]


def circuit(job: m.Job, tag: str, **changes: Any) -> m.Circuit:
    """A circuit of a job with something changed."""
    found = next(c for c in job.circuits if c.tag == tag)
    return found.model_copy(update=changes)


def with_circuit(job: m.Job, tag: str, **changes: Any) -> m.Job:
    """A job with one circuit changed."""
    changed = circuit(job, tag, **changes)
    return job.model_copy(update={"circuits": tuple(changed if c.tag == tag else c for c in job.circuits)})


def routed(job: m.Job, to: str, length_ft: float, **more: Any) -> m.Job:
    """A job with the length of one route stated."""
    others = tuple(r for r in job.routes if r.to != to)
    route = m.Route(**{"tag": "R-9", "to": to, "length": length_ft, **more})
    return job.model_copy(update={"routes": (*others, route)})


def motor_job(
    hp: float,
    volts: float = 208.0,
    breaker: float = 20.0,
    *,
    route_ft: float = 50.0,
    drive: m.Drive | None = None,
    **circuit_more: Any,
) -> m.Job:
    """EF-1 with a three-phase motor on a starter, on circuit LP-1/2, with its routes stated."""
    chosen = drive or m.Starter(kind="starter", motor=m.Motor(hp=hp, volts=volts, phases=3))
    job = kitchen(chosen, LINES)
    job = with_circuit(job, "LP-1/2", breaker=breaker, **circuit_more)
    return routed(routed(job, "roof", route_ft, tag="R-1"), "electrical room", 40.0, tag="R-2")
