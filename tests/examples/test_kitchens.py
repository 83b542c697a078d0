"""The kitchens of Saltmarrow keep every promise; every wrong job gives exactly its finding."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from galleyproof.design.build import build_design
from galleyproof.findings import Severity
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.proof import causes
from galleyproof.proof.model import Proof
from galleyproof.proof.prove import prove

FOLDER = Path(__file__).parents[2] / "examples"
GOOD = sorted(FOLDER.glob("*.yaml"))
WRONG = sorted((FOLDER / "wrong").glob("*.yaml"))
STATIC = {"LIGHTS-OVER", "SHUNT-OWN-LOAD", "SHUTDOWN-TRIPS-ITSELF"}
"""Mistakes that break no promise in the simulation: a contact wears, a coil is let go only after it has worked."""


def proof_of(path: Path) -> Proof:
    """Proof of one example."""
    job = read_job(path.read_bytes(), path.name)
    return prove(job, build_design(job), load_library())


def must_find(path: Path) -> str:
    """The code a wrong job names in its head."""
    found = re.search(r"^# must find: (\S+)$", path.read_text(encoding="utf-8"), re.MULTILINE)
    assert found, f"{path.name} does not say what must be found"
    return found[1]


def test_there_are_enough_examples() -> None:
    """Three kitchens, and at least twelve jobs with one mistake each."""
    assert [p.stem for p in GOOD] == ["ferry-cafe", "hospital", "school-kitchen"]
    assert len(WRONG) >= 12
    assert len({must_find(p) for p in WRONG}) >= 12


@pytest.mark.parametrize("path", GOOD, ids=lambda p: p.stem)
def test_every_promise_of_a_good_kitchen_holds(path: Path) -> None:
    """Every promise is asked by some situation and broken by none; nothing above a note is found."""
    proof = proof_of(path)
    assert [(v.promise.key, v.failures[:1]) for v in proof.verdicts if v.broken] == []
    assert [v.promise.key for v in proof.verdicts if not v.situations] == []
    assert [f for f in proof.findings if f.severity is not Severity.NOTE] == []


@pytest.mark.parametrize("path", WRONG, ids=lambda p: p.stem)
def test_a_wrong_job_gives_exactly_its_finding(path: Path) -> None:
    """One finding above a note, with the code the file names, and the broken promises under it."""
    proof = proof_of(path)
    found = [f for f in proof.findings if f.severity is not Severity.NOTE]
    assert [f.code for f in found] == [must_find(path)]
    broken = {v.promise.key for v in proof.verdicts if not v.holds}
    assert set(found[0].evidence) == broken
    assert bool(broken) != (found[0].code in STATIC)
    assert found[0].cure


@pytest.mark.parametrize("path", [p for p in WRONG if must_find(p) not in STATIC], ids=lambda p: p.stem)
def test_the_simulation_sees_it_without_being_told(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With no root cause known, the broken promises come out as findings of their own."""
    monkeypatch.setattr(causes, "_FINDERS", [])
    found = [f for f in proof_of(path).findings if f.severity is not Severity.NOTE]
    assert found
    assert all(f.code.startswith("PROMISE-") for f in found)
