"""A promise may ask for a flow: proven as speed times the fan's design airflow (fan law: flow goes with speed)."""

from __future__ import annotations

from tests.design.support import LIBRARY, example

from galleyproof.design.build import build_design
from galleyproof.job.model import Job, OwnPromise
from galleyproof.proof.model import Verdict
from galleyproof.proof.promises import own_expectation
from galleyproof.proof.prove import prove

RELEASED = {"fire Z1": "released", "supply LP-1/1": "present", "supply LP-1/3": "present"}
IDLE = {"switch SW-1": "on", "heat H-1": "off", "fire Z1": "armed", "sensor TS-1": "ok"}


def verdict(when: dict[str, str], expect: dict[str, str]) -> Verdict:
    """The cafe's verdict on one row of its own; its fan moves 2,400 cfm at full speed and idles at 50 %."""
    row = OwnPromise(say="so much air", when=when, expect=expect)
    job: Job = example("ferry-cafe").model_copy(update={"promises": (row,)})
    proof = prove(job, build_design(job), LIBRARY)
    (found,) = [v for v in proof.verdicts if v.promise.kind == "own"]
    return found


def test_full_flow_in_a_release_holds() -> None:
    """A release runs the fan at full speed: 2,400 cfm."""
    found = verdict(RELEASED, {"EF-1": "at least 2,400 cfm"})
    assert found.situations > 0
    assert found.holds


def test_half_the_flow_at_idle_holds_and_more_does_not() -> None:
    """At 50 % the fan moves 1,200 cfm; 1,300 cfm is broken, and the flow found is told."""
    present = {**IDLE, "supply LP-1/1": "present", "supply LP-1/3": "present"}
    assert verdict(present, {"EF-1": "at least 1,200 cfm"}).holds
    found = verdict(present, {"EF-1": "at least 1,300 cfm"})
    assert found.situations > 0
    assert not found.holds
    assert found.failures[0].expected == "moves at least 1,300 cfm"
    assert found.failures[0].found.startswith("runs at 50%, 1,200 cfm")


def test_metric_flows_are_the_same_flow() -> None:
    """1,000 L/s is 2,118.88 cfm (1 cfm = 0.47194745 L/s)."""
    found = own_expectation("at least 1000 L/s", 2400.0)
    assert found is not None
    assert found.flow_cfm is not None
    assert abs(found.flow_cfm - 2118.88) < 0.01


def test_a_flow_of_something_that_moves_no_air_is_no_expectation() -> None:
    """A gas valve has no flow."""
    assert own_expectation("at least 100 cfm") is None
    assert own_expectation("runs at 80 %") is not None
