"""``galleyproof package`` as a process and as a command: files, exit status, refusals, speed of nothing half-done."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys

import pytest
from tests.package.support import SCHOOL, document, school, school_package, text_with

from galleyproof.cli.main import ALL_WELL, BAD_INPUT, FOUND, main
from galleyproof.job.read import read_job
from galleyproof.package.whole import MANIFEST, NAMES

DATE = ("revision: A", "revision: A\n  date: 2026-03-04")


def content(folder):
    """Every file of a folder by its name in it."""
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


@pytest.fixture
def job(tmp_path):
    def write(*changes: str):
        path = tmp_path / "job.yaml"
        path.write_bytes(text_with(*changes))
        return str(path)

    return write


def test_a_process_writes_the_same_bytes_as_any_other(tmp_path):
    call = [sys.executable, "-m", "galleyproof", "package", str(SCHOOL), "-o", str(tmp_path / "out")]
    # another day, another place, another language: none of it may show
    env = {**os.environ, "TZ": "Pacific/Auckland", "LC_ALL": "C", "SOURCE_DATE_EPOCH": "1"}
    done = subprocess.run(call, capture_output=True, text=True, env=env, check=False, cwd=tmp_path)
    assert done.returncode == ALL_WELL, done.stderr
    assert "the job has no date" in done.stdout
    assert content(tmp_path / "out") == school_package()


def test_the_manifest_names_every_file_with_its_sum():
    data = json.loads(school_package()[MANIFEST])
    sheets = [f"sheets/{s.number}.svg" for s in school().drawing]
    assert [f["name"] for f in data["files"]] == [*(n for n in NAMES if n != MANIFEST), *sheets]
    assert len(sheets) > 8
    for one in data["files"]:
        content = school_package()[one["name"]]
        assert one["bytes"] == len(content)
        assert one["sha256"] == hashlib.sha256(content).hexdigest()
    assert (data["status"], data["number"], data["revision"]) == ("DRAFT", "SM-214", "A")


def test_a_draft_holds_the_job_file_as_it_is():
    assert school_package()["job.yaml"] == SCHOOL.read_bytes()


def test_data_on_request(job, tmp_path, capsys):
    assert main(["package", job(), "-o", str(tmp_path / "out"), "--json"]) == ALL_WELL
    data = json.loads(capsys.readouterr().out)
    assert data["status"] == "DRAFT"
    assert {f["name"] for f in data["files"]} == set(school_package())
    assert data["open"] == ["the job has no date"]


def refused(arguments, capsys):
    assert main(arguments) == BAD_INPUT
    return capsys.readouterr().err


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ((), "the job has no date"),
        # a breaker far above what the motor's circuit allows
        ((*DATE, "lines: [L1, L2, L3], breaker: 20 A, note: EF-1", "lines: [L1, L2, L3], breaker: 60 A, note: EF-1"),
         "a size is in error"),
        # gas that comes back by itself breaks the promise of the hand reset
        ((*DATE, "{kind: gas valve, tag: GV-1,", "{kind: gas valve, reset: by itself, tag: GV-1,"), "a promise fails"),
    ],
)  # fmt: skip
def test_the_word_issued_is_refused(job, tmp_path, capsys, monkeypatch, changes, why):
    # neither the study nor the plan has a say in it
    monkeypatch.setattr("galleyproof.proof.study.study", lambda *_a, **_k: None)
    monkeypatch.setattr("galleyproof.package.facts._plan", lambda *_a: None)
    told = refused(["package", job(*changes), "-o", str(tmp_path / "out"), "--issued"], capsys)
    assert "may not be called issued" in told
    assert why in told
    assert not (tmp_path / "out").exists()


def test_an_issued_set_says_so_and_holds_the_numbers(job, tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("galleyproof.proof.study.study", lambda *_a, **_k: None)
    monkeypatch.setattr("galleyproof.package.facts._plan", lambda *_a: None)
    out = tmp_path / "out"
    assert main(["package", job(*DATE), "-o", str(out), "--issued"]) == ALL_WELL
    made = document((out / "package.pdf").read_bytes())
    assert "ISSUED" in made.pages[0]
    assert "2026-03-04" in made.pages[0]
    assert not any("DRAFT" in made.pages[n] for n in (0, 1, 2, 8, len(made.pages) - 1))
    issued = read_job((out / "job.yaml").read_bytes(), "job.yaml").issued
    assert len(issued.conductors) == 189
    assert json.loads((out / MANIFEST).read_text())["status"] == "ISSUED"
    # and never changes again
    assert "issued set" in refused(["package", job(*DATE), "-o", str(out)], capsys)


def test_a_broken_promise_is_printed_and_shown_by_the_exit_status(job, tmp_path, capsys):
    path = job("{kind: gas valve, tag: GV-1,", "{kind: gas valve, reset: by itself, tag: GV-1,")
    assert main(["package", path, "-o", str(tmp_path / "out")]) == FOUND
    cover = document((tmp_path / "out" / "package.pdf").read_bytes()).pages[0]
    assert "promise fails: GV-1 stays shut after an outage until a hand resets it" in cover


def test_a_folder_with_other_things_is_bad_input(job, tmp_path, capsys):
    assert "belongs to no package" in refused(["package", job(), "-o", str(tmp_path)], capsys)
    assert [p.name for p in tmp_path.iterdir()] == ["job.yaml"]


@pytest.mark.parametrize("name", ["../../../etc/passwd", "x" * 200])
def test_names_of_files_hold_nothing_of_the_job(job, tmp_path, name):
    assert main(["package", job("number: SM-214", f"number: '{name}'"), "-o", str(tmp_path / "out")]) == ALL_WELL
    assert set(content(tmp_path / "out")) == set(school_package())
    assert sorted(p.name for p in tmp_path.iterdir()) == ["job.yaml", "out"]


def test_a_job_that_does_not_read_leaves_nothing(tmp_path, capsys):
    (tmp_path / "job.yaml").write_text("galleyproof: 1\n")
    told = refused(["package", str(tmp_path / "job.yaml"), "-o", str(tmp_path / "out")], capsys)
    assert "job.yaml" in told
    assert not (tmp_path / "out").exists()
