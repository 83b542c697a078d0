"""Electrical mistakes planted in the school kitchen: each is cured by the value a reviewer would ask for.

Expected sizes come from the tables and clauses named beside them, or are usual in the trade.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.design.support import LIBRARY, example

from galleyproof.design.build import build_design
from galleyproof.job.model import Enclosure, Job, Raceway
from galleyproof.job.read import read_job
from galleyproof.job.write import dump_job
from galleyproof.review.edits import NEW, Edit, Path, applied
from galleyproof.review.search import find_cure
from galleyproof.review.whole import Review, review, weighty

SCHOOL = example("school-kitchen")


@dataclass(frozen=True)
class Plant:
    """What is made wrong, the finding it gives, and where which values cure it."""

    edits: tuple[Edit, ...]
    finds: str
    path: Path
    values: tuple[object, ...]


def circuit(tag: str, key: str, value: object) -> Edit:
    """A value of a circuit."""
    return Edit(("circuits", tag, key), value)


def fan(tag: str, *keys: str, value: object) -> Edit:
    """A value of an exhaust fan."""
    return Edit(("exhaust_fans", tag, *keys), value)


PLANTS = {
    # 2 hp at 208 V takes 7.5 A (Table 430.250); 250 % of it is 18.75 A, next size up 20 A (430.52(C)(1), 240.6(A))
    "motor breaker too large": Plant(
        (circuit("LP-2/2", "breaker", 60.0),), "OCPD-HIGH", ("circuits", "LP-2/2", "breaker"), (20.0,)
    ),
    # 14.4 kW on three phases of 208 V is 40 A, on for hours 50 A (210.20(A))
    "breaker below a continuous load": Plant(
        (circuit("LP-2/20", "breaker", 40.0),), "OCPD-LOW", ("circuits", "LP-2/20", "breaker"), (50.0, 60.0)
    ),
    # 18 A is no rating of 240.6(A)
    "a rating nobody makes": Plant(
        (circuit("LP-2/2", "breaker", 18.0),), "OCPD-RATING", ("circuits", "LP-2/2", "breaker"), (15.0, 20.0)
    ),
    # 50 A needs 8 AWG copper at 75 degC terminals (Table 310.16: 50 A)
    "wire too thin for its load": Plant(
        (circuit("LP-2/20", "awg", "12"),), "WIRE-THIN", ("circuits", "LP-2/20", "awg"), ("8",)
    ),
    # Table 250.122: 10 AWG copper behind 50 A
    "ground too thin": Plant(
        (circuit("LP-2/20", "ground_awg", "14"),), "GROUND-THIN", ("circuits", "LP-2/20", "ground_awg"), ("10",)
    ),
    # 110.9: not below the 10 kA that are available
    "breaker that cannot open the fault": Plant(
        (circuit("LP-2/2", "interrupting_rating", 5000.0),),
        "OCPD-INTERRUPT", ("circuits", "LP-2/2", "interrupting_rating"), (10000.0,),
    ),
    # 430.32(A)(1): 125 % of 7.5 A is 9.375 A
    "overload set too high": Plant(
        (fan("EF-1", "drive", "overload_set", value=20.0),),
        "OVERLOAD-HIGH", ("exhaust_fans", "EF-1", "drive", "overload_set"), (9.3,),
    ),
    # 7.5 A: the next usual contactor is one of 9 A (common practice)
    "contactor too small": Plant(
        (fan("EF-1", "drive", "contactor_amps", value=6.0),),
        "CONTACTOR-SMALL", ("exhaust_fans", "EF-1", "drive", "contactor_amps"), (9.0,),
    ),
    # 430.110(A): 115 % of 7.5 A; safety switches begin at 30 A (common practice)
    "disconnect too small": Plant(
        (fan("EF-1", "disconnect_amps", value=5.0),),
        "DISCONNECT-SMALL", ("exhaust_fans", "EF-1", "disconnect_amps"), (30.0,),
    ),
    # 3 hp at 208 V takes 10.6 A (Table 430.250)
    "drive too small": Plant(
        (fan("EF-2", "drive", "rated_output_amps", value=7.0),),
        "DRIVE-SMALL", ("exhaust_fans", "EF-2", "drive", "rated_output_amps"), (10.6,),
    ),
    # 22 kA are available: the next usual rating is 22 kA (409.22(A), common practice)
    "panel on more fault current than it takes": Plant(
        (Edit(("supplies", "U1", "available_fault"), 22000.0),),
        "SCCR-LOW", ("panel", "short_circuit_rating"), (22000.0,),
    ),
    # 36 in at 120 V to ground opposite a grounded wall (Table 110.26(A)(1))
    "too little room in front": Plant(
        (Edit(("panel", "clear_in_front"), 20.0),), "CLEARANCE", ("panel", "clear_in_front"), (36.0,)
    ),
    # 725.136(A): Class 2 and power not in one raceway
    "Class 2 in a power raceway": Plant(
        (Edit(("raceways", NEW), Raceway(tag="RX-1", runs=("W-EF-1-P", "W-EF-1-S"))),),
        "RACEWAY-CLASSES", ("raceways", "RX-1", "runs"), (("W-EF-1-P",), ("W-EF-1-S",)),
    ),
    # nine conductors of three motor circuits, and grounds, do not fit 1/2 in EMT (chapter 9 Table 1: 40 %)
    "raceway too small": Plant(
        (Edit(("raceways", NEW), Raceway(tag="RX-1", runs=("W-EF-1-P", "W-EF-2-P", "W-MAU-1-P"), trade_size="1/2")),),
        "RACEWAY-FULL", ("raceways", "RX-1", "trade_size"), ("3/4", "1"),
    ),
    # heat leaves through the walls: only a larger box helps
    "enclosure too small for its drive": Plant(
        (Edit(("panel", "enclosure"), Enclosure(width=16.0, height=16.0, depth=8.0)),),
        "PANEL-HOT", ("panel", "enclosure", "height"), tuple(16.0 + 6.0 * n for n in range(1, 7)),
    ),
}  # fmt: skip


def seen(job: Job) -> Review:
    """A job under every rule."""
    return review(job, build_design(job), LIBRARY)


@pytest.mark.parametrize("name", PLANTS)
def test_a_planted_mistake_is_cured_by_the_value_it_needs(name: str) -> None:
    """Exactly its finding is there, one value clears it, and the changed file proves it."""
    plant = PLANTS[name]
    wrong = seen(applied(SCHOOL, plant.edits))
    assert {f.code for f in weighty(wrong.findings)} == {plant.finds}
    cure = find_cure(wrong, LIBRARY)
    assert cure.left == ()
    ((edit, smallest),) = [(c.edit, cure.smallest) for c in cure.changes]
    assert edit.path == plant.path
    assert edit.value in plant.values
    assert smallest
    assert weighty(seen(read_job(dump_job(cure.job))).findings) == ()


def test_a_breaker_that_needs_a_thicker_wire_is_proposed_with_it() -> None:
    """One value alone would only move the finding: 12 AWG stated behind 30 A for a load of 40 A.

    The load on for hours needs 50 A (210.20(A)), and 50 A needs 8 AWG (Table 310.16, 75 degC).
    """
    wrong = seen(applied(SCHOOL, [circuit("LP-2/20", "breaker", 30.0), circuit("LP-2/20", "awg", "10")]))
    cure = find_cure(wrong, LIBRARY)
    assert cure.left == ()
    assert {(c.edit.path[-1], c.edit.value) for c in cure.changes} == {("breaker", 50.0), ("awg", "8")}


def test_what_no_change_clears_says_what_would_come_up_instead() -> None:
    """Lights 300 ft away on 12 AWG: a size that keeps the voltage is too thick for the terminals on the way."""
    edits = [circuit("LP-2/3", "awg", "12"), Edit(("routes", "R-1", "length"), 300.0)]
    cure = find_cure(seen(applied(SCHOOL, edits)), LIBRARY)
    assert {x.finding.code for x in cure.left} == {"DROP-HIGH"}
    ((why),) = {x.why for x in cure.left}
    assert "TERMINAL-SMALL" in why


def test_mistakes_of_different_trades_are_cured_together() -> None:
    """A breaker, a sequence, a flow: three values, each where its mistake is."""
    edits = [
        circuit("LP-2/2", "breaker", 60.0),
        fan("EF-1", "on_release", value="stop"),
        Edit(("hoods", "H-2", "idle_below"), 85.0),
    ]
    wrong = seen(applied(SCHOOL, edits))
    assert {f.code for f in weighty(wrong.findings)} == {"OCPD-HIGH", "FIRE-SEQUENCE", "AIR-IDLE-TEMPERATURE"}
    cure = find_cure(wrong, LIBRARY)
    assert cure.left == ()
    assert {c.edit.path for c in cure.changes} == {e.path for e in edits}
    assert cure.groups == 3


@settings(max_examples=6, deadline=None)
@given(st.lists(st.sampled_from(sorted(PLANTS)), min_size=2, max_size=4, unique_by=lambda name: PLANTS[name].path[:2]))
def test_any_few_of_them_together_are_cured_and_no_value_is_idle(names: list[str]) -> None:
    """Mistakes at different places: everything is cleared, and without any one value something is back."""
    wrong = applied(SCHOOL, [e for name in names for e in PLANTS[name].edits])
    cure = find_cure(seen(wrong), LIBRARY)
    assert cure.left == ()
    assert weighty(seen(cure.job).findings) == ()
    for change in cure.changes:
        fewer = applied(wrong, [c.edit for c in cure.changes if c is not change])
        assert weighty(seen(fewer).findings), change.edit.path
