"""One conductor of the school kitchen taken out at a time: the promises it carries break, and only those.

Which promises hang on a conductor is worked out by hand from the wiring, not from the program's output.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from galleyproof.design.build import build_design
from galleyproof.design.model import Conductor, Design
from galleyproof.job.model import Job
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.proof.prove import prove

EXAMPLE = Path(__file__).parents[2] / "examples" / "school-kitchen.yaml"


@pytest.fixture(scope="module")
def school() -> tuple[Job, Design]:
    """The school kitchen and its design."""
    job = read_job(EXAMPLE.read_bytes(), EXAMPLE.name)
    return job, build_design(job)


def landed(design: Design, one: str, other: str) -> Conductor:
    """The conductor between two devices' terminals, by what stands at its ends."""
    found = [
        c
        for c in design.conductors
        if {str(c.a), str(c.b)} == {one, other} or (one in (str(c.a), str(c.b)) and not other)
    ]
    field = [c for c in found if c.made == "field"] or found
    assert len(field) == 1, [str(c) for c in field]
    return field[0]


def broken(job: Job, design: Design, conductor: Conductor) -> set[str]:
    """Kinds of promises that break, with their device, when one conductor is left off."""
    rest = tuple(c for c in design.conductors if c.key != conductor.key)
    proof = prove(job, replace(design, conductors=rest), load_library())
    return {f"{v.promise.kind} {v.promise.device}" for v in proof.verdicts if v.broken}


CASES = {
    # a line of a three-phase motor open: it stalls and its overload trips
    "EF-1 lacks its first phase": (
        "EF-1:U1",
        {"heat-start EF-1", "fire-exhaust EF-1", "sensor-fault EF-1", "switch-on EF-1"},
    ),
    "EF-1 lacks its last phase": (
        "EF-1:W1",
        {"heat-start EF-1", "fire-exhaust EF-1", "sensor-fault EF-1", "switch-on EF-1"},
    ),
    # the damper never opens, or never proves it: its fan is not let run
    "damper command open": (
        "D-1:1",
        {"heat-start EF-2", "fire-exhaust EF-2", "sensor-fault EF-2", "switch-on EF-2"},
    ),
    "damper end switch open": (
        "D-1:3",
        {"heat-start EF-2", "fire-exhaust EF-2", "sensor-fault EF-2", "switch-on EF-2"},
    ),
    "make-up run pair open": ("MAU-1:J2", {"makeup-with MAU-1"}),
    "gas coil open": ("GV-1:1", {"works GV-1"}),
    "shunt coil open": ("LP-2/20:C1", {"fire-fuel A-1", "hand-reset A-1"}),
    "shunt neutral open": ("LP-2/26:C2", {"fire-fuel A-3", "hand-reset A-3"}),
    "held-in coil open": ("KM-1:A1", {"works A-4"}),
    "alarm pair open": ("FA-1:Z1", {"building-alarm FA-1"}),
    "lights of H-2 open": ("H-2-E1:L", {"lights H-2-E1"}),
    "lights neutral of H-3 open": ("H-3-E1:N", {"lights H-3-E1"}),
    "griddle lacks a line": ("A-3:L2", {"works A-3"}),
    "make-up lacks a line": ("MAU-1-QB:3", {"makeup-with MAU-1"}),
    "tilting pan lacks a line": ("KM-1:3/L2", {"works A-4"}),
}


@pytest.mark.parametrize("name", CASES)
def test_a_conductor_left_off_breaks_what_it_carries(name: str, school: tuple[Job, Design]) -> None:
    """Exactly the promises that hang on it."""
    job, design = school
    terminal, expected = CASES[name]
    assert broken(job, design, landed(design, terminal, "")) == expected


def test_an_open_fire_loop_is_a_release(school: tuple[Job, Design]) -> None:
    """The supervised loop opens: exhaust full, make-up off, horn, as in a fire; daily use shows it."""
    job, design = school
    found = broken(job, design, landed(design, "FS-1:1C", ""))
    assert {"quiet CP1-P1", "makeup-with MAU-1", "switch-off EF-1", "switch-off EF-2"} <= found
    assert not any(kind.startswith(("fire-exhaust", "fire-makeup", "fire-fuel")) for kind in found)


def test_the_factory_jumper_left_in_hides_every_release(school: tuple[Job, Design]) -> None:
    """With the loop's jumper left in the panel sees no release; what hangs on the second pole still works."""
    job, design = school
    (jumper,) = design.jumpers
    wire = replace(design.conductors[0], key="jumper", a=jumper.a, b=jumper.b, made="factory", length_ft=0.5)
    proof = prove(job, replace(design, conductors=(*design.conductors, wire)), load_library())
    found = {v.promise.kind for v in proof.verdicts if v.broken}
    assert found == {"fire-exhaust", "fire-makeup", "local-alarm"}
