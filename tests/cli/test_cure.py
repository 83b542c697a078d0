"""`galleyproof check --cure` as its users start it: what it proposes, and that it writes only when told."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest
from tests.cli.test_processes import CAFE, WRONG, run

from galleyproof.cli import cure
from galleyproof.cli.main import main

NEEDS_A_METER = {"contact-not-measured", "letters-taken-literally"}


@pytest.fixture
def copies(tmp_path: Path) -> Path:
    """The wrong kitchens, each value of a comment more: they have to survive."""
    folder = tmp_path / "wrong"
    shutil.copytree(WRONG, folder)
    for file in folder.glob("*.yaml"):
        lines = file.read_text("utf-8").splitlines()
        file.write_text("".join(f"{x}  # line {n}\n" if x else "\n" for n, x in enumerate(lines)), "utf-8")
    return folder


def test_without_write_no_file_is_touched_and_with_it_only_the_changes_are(copies: Path) -> None:
    """One run over the folder proposes, a second one writes; a third finds nothing but what needs a meter."""
    before = {f.name: f.read_bytes() for f in copies.iterdir()}
    done = run("check", copies, "--cure", "--json")
    assert done.returncode == 1
    assert {f.name: f.read_bytes() for f in copies.iterdir()} == before
    jobs = {Path(j["job"]).stem: j for j in json.loads(done.stdout)["jobs"]}
    for name, job in jobs.items():
        codes = [f["code"] for f in job["findings"] if f["severity"] != "note"]
        assert len(codes) == 1
        if name in NEEDS_A_METER:
            assert job["cure"]["changes"] == []
            assert [x["code"] for x in job["cure"]["left"]] == codes
            assert "measurement" in job["cure"]["left"][0]["why"]
        else:
            assert job["cure"]["changes"]
            assert job["cure"]["left"] == []
            assert [x["code"] for x in job["cure"]["cleared"]] == codes
        assert job["cure"]["written"] is False

    assert run("check", copies, "--cure", "--write").returncode == 1  # two need a meter
    for name, job in jobs.items():
        old, new = before[f"{name}.yaml"].decode(), (copies / f"{name}.yaml").read_text("utf-8")
        if name in NEEDS_A_METER:
            assert new == old
            continue
        gone = set(old.splitlines()) - set(new.splitlines())
        assert len(gone) <= len(job["cure"]["changes"])
        removed = sum(c["shall_stand"] == "left out" for c in job["cure"]["changes"])
        assert len(re.findall(r"# line \d+", old)) - len(re.findall(r"# line \d+", new)) == removed

    again = json.loads(run("check", copies, "--json").stdout)["jobs"]
    for job in again:
        weighty = [f for f in job["findings"] if f["severity"] != "note"]
        assert bool(weighty) == (Path(job["job"]).stem in NEEDS_A_METER)


def test_the_words_of_a_proposal(copies: Path) -> None:
    """Where, what stands, what shall stand, why; that nothing was written."""
    file = copies / "two-masters.yaml"
    done = run("check", file, "--cure")
    said = " ".join(done.stdout.split())
    assert done.returncode == 1
    assert "1 value of the job to change; clears 1 error" in said
    assert [w for w in ("Where", "Stands", "Shall stand", "Why", "BC-1: may", "start", "stop") if w not in said] == []
    assert "--write puts it into" in said
    done = run("check", file, "--cure", "--write")
    assert done.returncode == 0
    assert "Written into" in done.stdout
    assert ", may: stop}" in file.read_text("utf-8")


def test_a_good_job_has_nothing_to_clear() -> None:
    """Exit 0."""
    done = run("check", CAFE, "--cure")
    assert done.returncode == 0
    assert "nothing to clear" in done.stdout


def test_write_alone_is_refused(copies: Path) -> None:
    """Exit 2, and why."""
    done = run("check", copies / "two-masters.yaml", "--write")
    assert (done.returncode, done.stdout) == (2, "")
    assert "--cure" in done.stderr


def test_a_file_that_somebody_else_changed_meanwhile_stays(
    copies: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 2 with the file's name; what the other one wrote is not lost."""
    file = copies / "gas-reopens.yaml"
    looked = cure.find_cure

    def slowly(*words: object, **more: object) -> object:
        file.write_bytes(file.read_bytes() + b"# by somebody else\n")
        return looked(*words, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(cure, "find_cure", slowly)
    assert main(["check", str(file), "--cure", "--write"]) == 2
    assert "gas-reopens.yaml: was changed meanwhile" in capsys.readouterr().err
    text = file.read_text("utf-8")
    assert text.endswith("# by somebody else\n")
    assert "reset: by itself" in text
