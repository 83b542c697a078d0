"""The kitchens of Saltmarrow: the right ones prove whole, each wrong one gives its finding and no other."""

from __future__ import annotations

from functools import cache

import pytest
from tests.design.support import GOOD, LIBRARY, WRONG, design_of, example

from galleyproof.findings import Finding, Severity
from galleyproof.proof import causes
from galleyproof.proof.model import Proof
from galleyproof.proof.prove import prove

GOOD_NAMES = [p.stem for p in GOOD]
WRONG_NAMES = [p.stem for p in WRONG]

BROKEN = {
    "alarm-from-panel": {"building-alarm"},
    "appliance-left-on": {"fire-fuel", "hand-reset"},
    "contact-not-measured": {"building-alarm"},
    "damper-without-end-switch": {"damper"},
    # the breaker stays tripped after re-arming: heat and switch start nothing either
    "fan-on-shunted-circuit": {"fire-exhaust", "heat-start", "switch-on"},
    "gas-reopens": {"hand-reset", "gas-outage"},
    # at hand the panel sees neither the release nor the hand position
    "hand-around-fire-contact": {"fire-exhaust", "fire-makeup", "local-alarm", "switch-on"},
    "hand-around-run-pair": {"fire-makeup", "makeup-only-with"},
    # armed is taken for a release: full exhaust, no make-up, the horn; a release is taken for armed
    "letters-taken-literally": {"fire-exhaust", "fire-makeup", "local-alarm", "quiet", "switch-off", "makeup-with"},
    "loop-on-released-side": {"fire-exhaust", "fire-makeup", "local-alarm", "quiet", "switch-off", "makeup-with"},
    "low-speed-in-fire": {"fire-exhaust"},
    "makeup-runs-in-fire": {"fire-makeup"},
    "makeup-unproven": {"makeup-only-with"},
    "reversed-sequence": {"fire-exhaust"},
    "run-circuit-on-shunted-circuit": {"fire-exhaust", "heat-start", "switch-on"},
    "run-forced-without-speed": {"fire-exhaust"},
    # the panel dead before the release: nothing gives the coil its volts
    "shunt-fed-from-its-own-load": {"fire-fuel"},
    "switches-in-parallel": {"fire-exhaust", "local-alarm"},
    "two-masters": {"fire-makeup", "makeup-only-with"},
}
"""Kinds of promises each mistake breaks, reasoned from the mistake, not copied from the proof."""

SEEN_ON_PAPER_ONLY = {
    # too many watts on a contact shorten its life; nothing does otherwise today than it should
    "lights-over-contact",
    # the breakers open together in the model; on site the slower one may be left closed
    "shutdown-trips-itself",
}
"""Wrong examples whose evidence is empty: the grid has no situation that shows them."""


@cache
def proof_of(name: str) -> Proof:
    """The proof of an example."""
    return prove(example(name), design_of(name), LIBRARY)


def told(proof: Proof) -> list[Finding]:
    """Findings that make the exit code 1."""
    return [f for f in proof.findings if f.severity is not Severity.NOTE]


def must_find(name: str) -> str:
    """The code on the example's ``# must find:`` line."""
    text = next(p for p in WRONG if p.stem == name).read_text("utf-8")
    (line,) = [x for x in text.splitlines() if x.startswith("# must find: ")]
    return line.removeprefix("# must find: ").strip()


def test_every_example_is_covered() -> None:
    """The tables above name every wrong example once; there are at least twelve, and three right ones."""
    assert set(BROKEN) | SEEN_ON_PAPER_ONLY == set(WRONG_NAMES)
    assert not set(BROKEN) & SEEN_ON_PAPER_ONLY
    assert len(WRONG_NAMES) >= 12
    assert GOOD_NAMES == ["ferry-cafe", "hospital", "school-kitchen"]


@pytest.mark.parametrize("name", GOOD_NAMES)
def test_every_promise_of_a_good_example_holds(name: str) -> None:
    """Each promise was asked in at least one situation and broken in none; no finding above a note."""
    proof = proof_of(name)
    assert proof.verdicts
    assert [v.promise.key for v in proof.verdicts if v.situations == 0] == []
    assert [v.promise.key for v in proof.verdicts if v.broken or v.failures] == []
    assert proof.held == len(proof.verdicts)
    assert told(proof) == []


def test_the_examples_are_what_they_say() -> None:
    """Cafe: one hood, EC fan, two poles. School: three hoods, starter and drive. Hospital: 16 hoods in three zones, ten
    fans of every drive kind on 480Y/277 V, five make-up units, expansion modules."""
    cafe, school, hospital = example("ferry-cafe"), example("school-kitchen"), example("hospital")
    assert (len(cafe.hoods), len(cafe.fire_systems[0].poles), cafe.exhaust_fans[0].drive.kind) == (1, 2, "EC")
    assert [f.drive.kind for f in school.exhaust_fans] == ["starter", "VFD"]
    assert len(school.hoods) == 3
    assert sum(h.lights.load for h in school.hoods if h.lights) > 1200
    assert (len(hospital.hoods), len(hospital.exhaust_fans), len(hospital.makeup_units)) == (16, 10, 5)
    assert {h.zone for h in hospital.hoods} == {f.zone for f in hospital.fire_systems}
    assert len(hospital.fire_systems) == 3
    assert {f.drive.kind for f in hospital.exhaust_fans} == {"starter", "VFD", "EC"}
    assert "480Y/277 V" in {s.system for s in hospital.supplies}
    assert sum(d.type.startswith("module_") for d in design_of("hospital").devices) >= 2


@pytest.mark.parametrize("name", WRONG_NAMES)
def test_a_wrong_example_gives_its_finding_and_no_other(name: str) -> None:
    """Exactly one finding above a note, with the code the file asks for."""
    assert [f.code for f in told(proof_of(name))] == [must_find(name)]


@pytest.mark.parametrize("name", WRONG_NAMES)
def test_the_finding_carries_its_evidence(name: str) -> None:
    """Its evidence is the broken promises, all of them; where the simulation cannot show it, none is broken."""
    proof = proof_of(name)
    (finding,) = told(proof)
    broken = {v.promise.key: v.promise.kind for v in proof.verdicts if not v.holds}
    assert set(finding.evidence) == set(broken)
    assert set(broken.values()) == BROKEN.get(name, set())
    assert bool(finding.evidence) == (name not in SEEN_ON_PAPER_ONLY)
    assert finding.message
    assert finding.cure
    assert finding.basis


@pytest.mark.parametrize("name", sorted(BROKEN))
def test_explaining_cannot_swallow_a_broken_promise(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the finder of its cause taken out, every broken promise becomes a finding of its own."""
    job, design, code = example(name), design_of(name), must_find(name)
    finders = [f for f in causes._FINDERS if code not in {c.finding.code for c in f(job, design)}]
    assert len(finders) < len(causes._FINDERS)
    monkeypatch.setattr(causes, "_FINDERS", finders)
    bare = prove(job, design, LIBRARY)
    findings = told(bare)
    assert {f.code for f in findings} == {f"PROMISE-{kind.upper()}" for kind in BROKEN[name]}
    assert sorted(k for f in findings for k in f.evidence) == sorted(
        v.promise.key for v in proof_of(name).verdicts if not v.holds
    )
    assert {f.severity for f in findings} == {Severity.ERROR}


@pytest.mark.parametrize("name", sorted(SEEN_ON_PAPER_ONLY))
def test_what_is_seen_on_paper_only_breaks_nothing(name: str) -> None:
    """These hold every promise of the grid: the finding comes from the job itself, and says why it matters."""
    proof = proof_of(name)
    assert proof.held == len(proof.verdicts)
    (finding,) = told(proof)
    assert finding.code == must_find(name)


@pytest.mark.parametrize("name", [*GOOD_NAMES, *WRONG_NAMES])
def test_the_latent_supply_of_shunt_trips_is_noted(name: str) -> None:
    """Every job with shunt trips is told that the loss of their supply shows nowhere (field case T01)."""
    notes = [f for f in proof_of(name).findings if f.code == "SHUNT-LATENT"]
    job = example(name)
    zones = {s.zone for s in job.shutdowns if s.kind == "shunt trip"}
    assert len(notes) == len(zones)
    assert {f.severity for f in notes} == {Severity.NOTE}
    for note, system in zip(notes, [f for f in job.fire_systems if f.zone in zones], strict=True):
        assert note.item == system.tag
        assert system.shutdown_circuit in note.message


def test_the_proof_is_the_same_twice() -> None:
    """Proving an example again gives the same verdicts, findings and losses."""
    again = prove(example("school-kitchen"), design_of("school-kitchen"), LIBRARY)
    assert again == proof_of("school-kitchen")
