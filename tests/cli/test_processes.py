"""The command as its users start it: a real process, with its exit status and its words."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
CAFE = ROOT / "examples" / "ferry-cafe.yaml"
WRONG = ROOT / "examples" / "wrong"


def run(*words: object, cwd: Path = ROOT) -> subprocess.CompletedProcess[str]:
    """One call; no traceback may ever come out."""
    env = {**os.environ, "COLUMNS": "100", "PYTHONWARNINGS": "error"}
    done = subprocess.run(
        [sys.executable, "-m", "galleyproof", *map(str, words)],
        capture_output=True, text=True, cwd=cwd, env=env, timeout=60, check=False,
    )  # fmt: skip
    assert "Traceback" not in done.stderr + done.stdout
    return done


@pytest.mark.parametrize("verb", ["check", "wires", "prove"])
def test_a_good_job_is_exit_zero(verb: str) -> None:
    """Exit 0, nothing on the error output."""
    done = run(verb, CAFE)
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.parametrize("verb", ["check", "prove"])
def test_a_finding_is_exit_one(verb: str) -> None:
    """A job with two masters: exit 1, the finding and its cure are printed."""
    done = run(verb, WRONG / "two-masters.yaml")
    assert done.returncode == 1
    assert "TWO-MASTERS" in done.stdout
    assert "may: stop" in " ".join(done.stdout.split())


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty"),
        ("galleyproof: 1\nhods: []\n", "nearest"),
        ("a: &a [x]\nb: [*a, *a]\n", "alias"),
        ("\x00\x01", "text"),
    ],
)
def test_bad_input_is_exit_two(tmp_path: Path, text: str, said: str) -> None:
    """Exit 2; every problem begins with the file's name; nothing on the standard output."""
    file = tmp_path / "bad.yaml"
    file.write_text(text, encoding="utf-8")
    done = run("prove", file)
    assert done.returncode == 2
    assert done.stdout == ""
    lines = [line for line in done.stderr.splitlines() if line]
    assert lines
    assert all("bad.yaml" in line for line in lines)
    assert said in done.stderr


def test_a_missing_file_and_an_empty_folder(tmp_path: Path) -> None:
    """Neither is a traceback: exit 2 with the name."""
    for path in (tmp_path / "none.yaml", tmp_path):
        done = run("check", path)
        assert done.returncode == 2
        assert path.name in done.stderr


def test_prove_json_has_the_agreed_form() -> None:
    """{"summary": {...}, "promises": [{"promise", "clause", "holds", "failures": [...]}]}, and nothing else."""
    done = run("prove", WRONG / "alarm-from-panel.yaml", "--json")
    data = json.loads(done.stdout)
    assert set(data) == {"summary", "promises"}
    assert set(data["summary"]) == {"promises", "held", "situations"}
    assert data["summary"]["promises"] == len(data["promises"])
    assert data["summary"]["held"] == sum(p["holds"] for p in data["promises"]) < len(data["promises"])
    for promise in data["promises"]:
        assert set(promise) == {"promise", "clause", "holds", "failures"}
        assert promise["holds"] != bool(promise["failures"])
        for failure in promise["failures"]:
            assert set(failure) == {"situation", "device", "expected", "found"}
    assert done.returncode == 1


@pytest.mark.parametrize("words", [("check", CAFE), ("wires", CAFE), ("trace", CAFE, "EF-1"), ("compare", CAFE, CAFE)])
def test_json_everywhere(words: tuple[object, ...]) -> None:
    """Every verb gives data on --json."""
    done = run(*words, "--json")
    assert json.loads(done.stdout)
    assert done.returncode == 0


def test_wires_csv_lands_every_conductor_once() -> None:
    """One row a conductor, with both landings; numbers differ."""
    rows = list(csv.DictReader(io.StringIO(run("wires", CAFE, "--csv").stdout)))
    assert len({r["number"] for r in rows}) == len(rows) > 50
    assert {r["made"] for r in rows} == {"factory", "field"}
    pair = {(r["from"].split(":")[0], r["to"]) for r in rows}
    assert ("CP1-X3", "EF-1:0-10V") in pair
    assert ("CP1-X3", "EF-1:GND") in pair


def test_trace_answers_the_three_questions() -> None:
    """Fed from, switched by, lost when; the fan's own breaker is named."""
    said = run("trace", CAFE, "EF-1").stdout
    assert "LP-1/3" in said
    for heading in ("Fed from", "Switched by", "Lost when"):
        assert heading in said


def test_trace_of_an_unknown_load_names_the_nearest() -> None:
    """Exit 2."""
    done = run("trace", CAFE, "EF9")
    assert done.returncode == 2
    assert "EF-1" in done.stderr


def test_compare_tells_added_and_removed(tmp_path: Path) -> None:
    """A second light more: exit 1, and the new conductors are listed as added."""
    new = tmp_path / "new.yaml"
    text = CAFE.read_text(encoding="utf-8")
    new.write_text(
        text.replace("  - {tag: SW-2, ", "  - {tag: SW-3, kind: on-off, does: fans}\n  - {tag: SW-2, "),
        encoding="utf-8",
    )
    done = run("compare", CAFE, new)
    assert done.returncode == 1
    assert "SW-3" in done.stdout
    assert run("compare", CAFE, CAFE).returncode == 0


def test_issued_numbers_stay(tmp_path: Path) -> None:
    """`wires --issue` writes the numbers and keeps the comments; a sensor more then moves no landed conductor."""
    file = tmp_path / "job.yaml"
    file.write_bytes(CAFE.read_bytes())
    assert run("wires", file, "--issue").returncode == 0
    text = file.read_text(encoding="utf-8")
    assert "# the unit's own 24 V, the panel closes a contact" in text
    before = {
        (r["number"], r["from"], r["to"]) for r in csv.DictReader(io.StringIO(run("wires", file, "--csv").stdout))
    }
    old = "      - {tag: TS-1, kind: NTC 10k curve 2}"
    assert old in text
    file.write_text(text.replace(old, "      - {tag: TS-0, kind: Pt1000}\n" + old), encoding="utf-8")
    after = {(r["number"], r["from"], r["to"]) for r in csv.DictReader(io.StringIO(run("wires", file, "--csv").stdout))}
    assert before < after


def test_own_device_types(tmp_path: Path) -> None:
    """A folder of own types is read; a wrong one is refused with its file and line."""
    (tmp_path / "mine.yaml").write_text(
        "- type: horn\n  title: a horn\n  terminals:\n    - {mark: '1'}\n    - {mark: '1'}\n", encoding="utf-8"
    )
    done = run("check", CAFE, "--library", tmp_path)
    assert done.returncode == 2
    assert "mine.yaml:5" in done.stderr
    assert "twice" in done.stderr


def test_out_folder_that_cannot_be_written(tmp_path: Path) -> None:
    """A file stands where the folder should be: exit 2, and the file is untouched."""
    file = tmp_path / "taken"
    file.write_text("mine", encoding="utf-8")
    done = run("prove", CAFE, "--out", file)
    assert done.returncode == 2
    assert "taken" in done.stderr
    assert file.read_text(encoding="utf-8") == "mine"


def test_a_folder_of_jobs_is_taken_whole() -> None:
    """Every job of the folder is told; one with a finding makes the exit 1."""
    done = run("check", WRONG)
    assert done.returncode == 1
    for file in WRONG.glob("*.yaml"):
        assert file.name in done.stdout


def test_cautions_stand_where_a_person_acts() -> None:
    """The wire list, the proof and the trace carry them."""
    for words in (("wires", CAFE), ("prove", CAFE), ("trace", CAFE, "EF-1")):
        said = " ".join(run(*words).stdout.split())
        assert "qualified persons only" in said
        assert "never an approval" in said


def test_same_job_same_bytes(tmp_path: Path) -> None:
    """Two runs write the same bytes."""
    for name in ("a", "b"):
        assert run("prove", CAFE, "--out", tmp_path / name).returncode == 0
    for file in (tmp_path / "a").iterdir():
        assert file.read_bytes() == (tmp_path / "b" / file.name).read_bytes()


def test_help_loads_nothing_heavy() -> None:
    """--help answers without the solver, the models or the tables."""
    code = (
        "import sys; from galleyproof.cli import main\n"
        "try: main(['--help'])\nexcept SystemExit: pass\n"
        "print(sorted(m for m in sys.modules if m.split('.')[0] in ('numpy', 'pydantic', 'ruamel')))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
