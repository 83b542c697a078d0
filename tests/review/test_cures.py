"""Cures: every wrong kitchen is put right by the smallest change, or it is said why no change of the job can."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from tests.design.support import GOOD, LIBRARY, WRONG, design_of, example

from galleyproof.design.build import build_design
from galleyproof.errors import GalleyproofError
from galleyproof.findings import Finding, Severity
from galleyproof.job.model import Job
from galleyproof.job.read import read_job
from galleyproof.job.write import dump_job, update_text
from galleyproof.review.cures.registry import known_codes, moves_for, no_cure
from galleyproof.review.edits import Edit, applied
from galleyproof.review.search import Cure, find_cure
from galleyproof.review.whole import Review, review, weighty

MEASURE = {"contact-not-measured", "letters-taken-literally"}
"""Nobody can know the side of a contact without an ohmmeter."""

CURABLE = [p.stem for p in WRONG if p.stem not in MEASURE]


def seen(job: Job) -> Review:
    """A job under every rule."""
    return review(job, build_design(job), LIBRARY)


@cache
def cure_of(name: str) -> Cure:
    """The proposal for an example."""
    return find_cure(review(example(name), design_of(name), LIBRARY), LIBRARY)


@pytest.mark.parametrize("name", CURABLE)
def test_the_proposal_clears_every_finding(name: str) -> None:
    """All rules asked again about the changed file find nothing above a note."""
    cure = cure_of(name)
    assert cure.changes
    assert cure.left == ()
    assert cure.cleared == weighty(seen(example(name)).findings)
    path = next(p for p in WRONG if p.stem == name)
    text = update_text(path.read_text("utf-8"), cure.job)
    again = seen(read_job(text))
    assert weighty(again.findings) == ()
    assert again.proof.held == len(again.proof.verdicts)


@pytest.mark.parametrize("name", CURABLE)
def test_no_value_of_the_proposal_is_idle(name: str) -> None:
    """Without any one of them a finding is back, or the job no longer stands."""
    cure = cure_of(name)
    for change in cure.changes:
        fewer = applied(example(name), [c.edit for c in cure.changes if c is not change])
        try:
            rest = weighty(seen(read_job(dump_job(fewer))).findings)
        except GalleyproofError:
            continue
        assert rest, f"{change.edit.path} is not needed"


@pytest.mark.parametrize("name", CURABLE)
def test_nothing_protective_is_taken_away(name: str) -> None:
    """No promise, proving switch, shut-down or answer is dropped or invented to quieten a rule.

    What may go: a shunt trip of a circuit that feeds nothing a release has to take down.
    """
    old, new = example(name), cure_of(name).job
    assert new.promises == old.promises
    assert new.authority == old.authority
    for hood, before in zip(new.hoods, old.hoods, strict=True):
        assert [a.shut_down for a in hood.appliances] == [a.shut_down for a in before.appliances]
    for fan, before_fan in zip(new.exhaust_fans, old.exhaust_fans, strict=True):
        assert before_fan.proving is None or fan.proving == before_fan.proving
    gone = {s.tag for s in old.shutdowns} - {s.tag for s in new.shutdowns}
    protected = {a.circuit for h in old.hoods for a in h.appliances}
    assert not [s for s in old.shutdowns if s.tag in gone and (s.kind != "shunt trip" or s.circuit in protected)]


@pytest.mark.parametrize("name", sorted(MEASURE))
def test_what_needs_a_measurement_is_said_so(name: str) -> None:
    """No change is proposed, and the reason names what is needed."""
    cure = cure_of(name)
    assert cure.changes == ()
    assert cure.job == example(name)
    ((finding, why),) = [(x.finding, x.why) for x in cure.left]
    assert finding.code == "FIRE-CONTACT-UNMEASURED"
    assert "measurement on site" in why


@pytest.mark.parametrize(
    "name", ["two-masters", "gas-reopens", "fan-on-shunted-circuit", "run-circuit-on-shunted-circuit"]
)
def test_one_value_is_enough_where_one_value_is_wrong(name: str) -> None:
    """Each of these was made wrong by one value (or one entry) of a job that was right; common practice."""
    cure = cure_of(name)
    assert len(cure.changes) == 1
    assert cure.smallest


def test_mistakes_that_do_not_meet_are_cured_together() -> None:
    """Three mistakes in one job: three values, each where its mistake is; the unmeasured contact is left and said."""
    job = example("two-masters")
    wrong = applied(job, [
        Edit(("shutdowns", "GV-1", "reset"), "by itself"),
        Edit(("exhaust_fans", "EF-1", "on_release"), "stop"),
        Edit(("fire_systems", "FS-1", "poles", 2, "side"), "to be measured"),
    ])  # fmt: skip
    before = seen(wrong)
    assert {f.code for f in weighty(before.findings)} == {
        "GAS-REOPENS", "FIRE-SEQUENCE", "TWO-MASTERS", "FIRE-CONTACT-UNMEASURED",
    }  # fmt: skip
    cure = find_cure(before, LIBRARY)
    assert {c.edit.path[:2] for c in cure.changes} == {
        ("shutdowns", "GV-1"), ("exhaust_fans", "EF-1"), ("makeup_units", "MAU-1"),
    }  # fmt: skip
    assert [x.finding.code for x in cure.left] == ["FIRE-CONTACT-UNMEASURED"]
    assert {f.code for f in weighty(seen(cure.job).findings)} == {"FIRE-CONTACT-UNMEASURED"}


def test_a_fan_that_shares_its_shunted_circuit_gets_another() -> None:
    """With an appliance on the tripped circuit the shunt trip has to stay: the panel moves to a new breaker."""
    job = example("two-masters")
    wrong = applied(job, [
        Edit(("circuits", "LP-1/1", "shunt_trip"), example("two-masters").circuits[4].shunt_trip),
        Edit(("hoods", "H-1", "appliances", "A-1", "circuit"), "LP-1/1"),
        Edit(("hoods", "H-1", "appliances", "A-1", "load"), 500.0),
        Edit(("shutdowns", "SD-1", "circuit"), "LP-1/1"),
        Edit(("makeup_units", "MAU-1", "control", "second_masters", "BC-1", "may"), "stop"),
    ])  # fmt: skip
    before = seen(wrong)
    assert {f.code for f in weighty(before.findings)} >= {"FIRE-PANEL-STARVED"}
    cure = find_cure(before, LIBRARY)
    assert cure.left == ()
    assert [s.tag for s in cure.job.shutdowns] == [s.tag for s in wrong.shutdowns]
    assert cure.job.panel.circuit != "LP-1/1"


@pytest.mark.parametrize("path", GOOD, ids=lambda p: p.stem)
def test_a_good_kitchen_needs_no_cure(path: Path) -> None:
    """Nothing is proposed and nothing was tried."""
    cure = cure_of(path.stem)
    assert (cure.changes, cure.left, cure.tried) == ((), (), 0)


def test_a_finding_without_a_cure_says_what_it_needs() -> None:
    """A code nobody knows, and one with a reason."""
    job = example("ferry-cafe")
    papers = seen(job).papers
    odd = Finding("NEW-CODE", Severity.ERROR, "EF-1", "something")
    assert moves_for(papers, Finding("CHATTER", Severity.ERROR, "KM-1", "x")) == ()
    assert "decision" in no_cure(Finding("CHATTER", Severity.ERROR, "KM-1", "x"))
    assert "no change" in no_cure(odd)


def test_every_code_of_the_proof_is_known() -> None:
    """Each code that docs/promises.md lists has a cure or a reason why there is none."""
    page = (Path(__file__).parents[2] / "docs" / "promises.md").read_text("utf-8")
    rows = [line for line in page.splitlines() if line.startswith("| `") and "(note)" not in line]
    codes = {word.strip("`") for line in rows for word in line.split("|")[1].replace(",", " ").split()}
    codes = {c for c in codes if (c.isupper() and "-" in c) or c == "CHATTER"}
    assert len(codes) > 20
    assert codes <= known_codes()
