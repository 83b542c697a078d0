"""`galleyproof plan` and `diagnose` as their users start them: the sheet, its data, sessions recorded and typed."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from tests.cli.test_processes import CAFE, ROOT, run

STARTED = [sys.executable, "-m", "galleyproof"]
ENV = {**os.environ, "COLUMNS": "100", "PYTHONWARNINGS": "error", "OPENBLAS_NUM_THREADS": "1"}


def words(text: str) -> str:
    """A text without its layout."""
    return " ".join(text.split())


def typed(answers: str) -> subprocess.CompletedProcess[str]:
    """A search with answers typed into it."""
    done = subprocess.run(
        [*STARTED, "diagnose", str(CAFE)], input=answers, capture_output=True, text=True, cwd=ROOT, env=ENV,
        timeout=90, check=False,
    )  # fmt: skip
    assert "Traceback" not in done.stderr + done.stdout
    return done


def recorded(folder: Path, text: str, *more: str) -> subprocess.CompletedProcess[str]:
    """A search in a recorded session."""
    file = folder / "session.yaml"
    file.write_text(text, encoding="utf-8")
    return run("diagnose", CAFE, "--readings", file, *more)


@pytest.fixture(scope="module")
def plan() -> dict[str, Any]:
    """The café's plan as data."""
    done = run("plan", CAFE, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    data: dict[str, Any] = json.loads(done.stdout)
    return data


# plan ---------------------------------------------------------------------------------------------------------------


def test_the_data_of_a_plan(plan: dict[str, Any]) -> None:
    """The summary adds up with the lines, every slip stands behind one of them, and the optimum is proven."""
    summary = plan["summary"]
    assert {"probes", "slips", "caught", "uncatchable", "gap"} <= set(summary)
    assert summary["gap"] == 0
    assert summary["probes"] == len(plan["probes"])
    assert summary["caught"] + summary["uncatchable"] == summary["slips"]
    assert len({slip for line in plan["probes"] for slip in line["catches"]}) == summary["caught"]
    assert len(plan["uncatchable"]) == summary["uncatchable"]
    for line in plan["probes"]:
        assert line["do"]
        assert line["expected"]
        assert line["hazard"] < 3 or line["caution"]
    assert len({line["probe"] for line in plan["probes"]}) == len(plan["probes"])
    stages = list(dict.fromkeys(line["stage"] for line in plan["probes"] if not line["acceptance"]))
    order = ["dead", "control power", "line power", "functional"]
    assert stages == [stage for stage in order if stage in stages]


def test_the_sheet(plan: dict[str, Any]) -> None:
    """Exit 0; every line numbered, the acceptance list last, what no reading tells behind it."""
    done = run("plan", CAFE)
    assert (done.returncode, done.stderr) == (0, "")
    said = words(done.stdout)
    summary = plan["summary"]
    assert f"{summary['slips']} slips, {summary['caught']} caught by {summary['probes']} readings" in said
    assert f"[ ] {summary['probes']}. " in said
    assert f"[ ] {summary['probes'] + 1}. " not in said
    assert said.index("Stage: dead") < said.index("Acceptance list") < said.index("No reading tells")
    assert "gap 0" in said
    assert "qualified persons only" in said


def test_a_plan_of_what_is_no_job_is_bad_input(tmp_path: Path) -> None:
    """Exit 2, the file named, nothing on the standard output."""
    file = tmp_path / "none.yaml"
    file.write_text("galleyproof: 1\nhods: []\n", encoding="utf-8")
    done = run("plan", file)
    assert (done.returncode, done.stdout) == (2, "")
    assert "none.yaml:2" in done.stderr


# recorded sessions --------------------------------------------------------------------------------------------------


def test_a_recorded_session_names_the_slip(tmp_path: Path) -> None:
    """A sensor that reads open on the display: its own pair is suspected, with a reason; exit 1."""
    text = 'readings_file: 1\njob: SM-101\nreadings:\n  - {probe: "control: display TS-1>reads", reading: open}\n'
    done = recorded(tmp_path, text, "--json")
    assert (done.returncode, done.stderr) == (1, "")
    data = json.loads(done.stdout)
    assert {"readings", "fits", "sure", "suspects", "next"} <= set(data)
    assert data["readings"] == 1
    assert data["fits"]
    assert "TS-1" in data["suspects"][0]["slips"][0]["slip"]
    assert data["suspects"][0]["why"]
    assert data["next"]["do"]


def test_the_meter_is_asked_about_before_a_recorded_reading_is_believed(tmp_path: Path) -> None:
    """Field case X05: about 0 V where 10 V are expected may be the other range."""
    text = 'readings_file: 1\nreadings:\n  - {probe: "cooking: volts DC EF-1:0-10V EF-1:GND", reading: "0 v"}\n'
    assert "does the meter stand on DC volts" in words(recorded(tmp_path, text).stdout)
    (asked,) = json.loads(recorded(tmp_path, text, "--json").stdout)["doubts"]
    assert asked["probe"] == "cooking: volts DC EF-1:0-10V EF-1:GND"
    assert "does the meter stand on DC volts" in asked["ask"]


def test_complaints_and_no_reading(tmp_path: Path) -> None:
    text = "readings_file: 1\njob: SM-101\ncomplaints:\n  - EF-1 does not run in fire\n"
    done = recorded(tmp_path, text)
    assert done.returncode == 1
    assert "Suspects" in done.stdout
    assert "Next" in done.stdout


def test_every_error_of_a_session_at_once(tmp_path: Path) -> None:
    """A complaint nobody understands, a probe that is none, a reading that is none: exit 2, each with its line."""
    text = """readings_file: 1
job: SM-101
complaints:
  - it smells funny
readings:
  - {probe: "control: display TS-11>reads", reading: open}
  - {probe: "control: display TS-1>reads", reading: maybe}
"""
    done = recorded(tmp_path, text)
    assert (done.returncode, done.stdout) == (2, "")
    for line, what in ((4, "complaint 1"), (6, "reading 1"), (7, "reading 2")):
        assert f"session.yaml:{line}" in done.stderr
        assert what in done.stderr
    assert "TS-1>reads" in done.stderr


def test_a_folder_is_refused() -> None:
    """A diagnosis is of one job: exit 2, and it says so."""
    done = run("diagnose", ROOT / "examples")
    assert (done.returncode, done.stdout) == (2, "")
    assert "a diagnosis is of one job" in words(done.stderr)


# one question at a time ---------------------------------------------------------------------------------------------


def test_a_typed_session_with_every_command() -> None:
    """Complaint, why, a word that is no reading, skip, an answer, undo twice, and done."""
    done = typed("say it smells funny\nsay EF-1 does not run in fire\nwhy\nmaybe so\nskip\nhelp\nundo\nundo\ndone\n")
    said = words(done.stdout)
    assert done.returncode in (0, 1)
    assert "does not run" in said
    assert "you would read" in said
    assert "is no answer here" in said or "is no reading here" in said
    assert said.count("take the last answer back") == 2
    assert "taken back" in said
    assert "there is nothing to take back" in said
    assert "Suspects" in said


def test_a_complaint_without_its_word_is_shown_how() -> None:
    done = typed("EF-1 does not run\n118 pounds\ndone\n")
    said = words(done.stdout)
    assert "write: say EF-1 does not run" in said
    assert "say 118 pounds" not in said


@pytest.mark.parametrize("answers", ["", "\n\nsay EF-1 does not run in fire\n"])
def test_the_end_of_the_input_ends_the_session(answers: str) -> None:
    done = typed(answers)
    assert done.returncode in (0, 1)
    assert done.stderr == ""
    assert "Suspects" in done.stdout


def test_an_interrupt_ends_it_without_a_traceback() -> None:
    """Ctrl-C at the first question."""
    with subprocess.Popen(
        [*STARTED, "diagnose", str(CAFE)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        text=True, cwd=ROOT, env=ENV,
    ) as process:  # fmt: skip
        assert process.stdout is not None
        seen = ""
        while not seen.endswith("\n> "):
            seen += process.stdout.read(1)
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=60)
    assert "Traceback" not in out + err
    assert process.returncode not in (0, None)
