"""``galleyproof diagnose`` with a log: of this issue of the job, of an earlier one, of another job."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.design.support import EXAMPLES

from galleyproof.checkout.log import Entry, fingerprint, write_log
from galleyproof.cli.main import main

JOB = EXAMPLES / "ferry-cafe.yaml"


def log(folder: Path, *reads: str, **other: object) -> str:
    given: dict[str, object] = {
        "job": fingerprint(JOB.read_bytes()),
        "job_name": "Saltmarrow Ferry Café",
        "probe": "dead: ohms CP1-X3:13 CP1-X3:14",
        "taken_at": "2026-11-25T14:05:09-05:00",
        "device": "a" * 32,
        "by": "R. Quayle",
    }
    entries = [
        Entry.model_validate(given | {"id": f"{n:032x}", "sequence": n, "read": read} | other)
        for n, read in enumerate(reads)
    ]
    path = folder / "log.json"
    path.write_text(write_log(entries), encoding="utf-8")
    return str(path)


def test_readings_of_a_log_count(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status = main(["diagnose", str(JOB), "--readings", log(tmp_path, "4.3 kΩ", "4.28 k"), "--json"])
    told = json.loads(capsys.readouterr().out)
    assert status == 1
    assert told["readings"] == 2
    assert told["conflicts"] == []
    assert told["suspects"][0]["slips"]
    assert "you would read 4.30 kΩ; you read 4.30 kΩ" in told["suspects"][0]["why"][0]


def test_readings_that_disagree_are_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["diagnose", str(JOB), "--readings", log(tmp_path, "OL", "0.3")])
    said = " ".join(capsys.readouterr().out.split())
    assert "readings that disagree: dead: ohms CP1-X3:13 to CP1-X3:14: OL (R. Quayle," in said


def test_an_earlier_issue_is_used_and_said_to_be_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["diagnose", str(JOB), "--readings", log(tmp_path, "OL", job="0" * 64), "--json"])
    told = capsys.readouterr()
    assert json.loads(told.out)["readings"] == 1
    assert "1 of 1 entries were taken on another issue of a job (Saltmarrow Ferry Café)" in told.err


@pytest.mark.parametrize(
    ("other", "message"),
    [
        ({"job": "0" * 64, "job_name": "Quay Bakery"}, "is a log of another job (Quay Bakery)"),
        ({"probe": "dead: ohms CP1-X3:13 CP1-X3:99"}, "there is no probe 'dead: ohms CP1-X3:13 CP1-X3:99' in this job"),
    ],
)
def test_another_jobs_log_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], other: dict[str, object], message: str
) -> None:
    assert main(["diagnose", str(JOB), "--readings", log(tmp_path, "OL", **other)]) == 2
    assert message in capsys.readouterr().err
