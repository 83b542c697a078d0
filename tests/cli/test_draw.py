"""``galleyproof draw`` as a real process: its list, its files, its exit status and its words."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
CAFE = ROOT / "examples" / "ferry-cafe.yaml"


def run(*words: object, seed: str = "0") -> subprocess.CompletedProcess[str]:
    """One call; another seed puts every set of texts into another order."""
    env = {**os.environ, "COLUMNS": "100", "PYTHONWARNINGS": "error", "PYTHONHASHSEED": seed}
    done = subprocess.run(
        [sys.executable, "-m", "galleyproof", "draw", *map(str, words)],
        capture_output=True, text=True, cwd=ROOT, env=env, timeout=120, check=False,
    )  # fmt: skip
    assert "Traceback" not in done.stderr + done.stdout
    return done


def test_the_list_names_every_sheet():
    done = run(CAFE, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    sheets = [row["sheet"] for row in json.loads(done.stdout)["sheets"]]
    assert {"3.1", "4.1", "5.1"} <= set(sheets)
    assert len(set(sheets)) == len(sheets)


def test_one_sheet_as_svg_twice_the_same(tmp_path):
    first, second = tmp_path / "a.svg", tmp_path / "b.svg"
    assert run(CAFE, "--sheet", "4.1", "-o", first, seed="1").returncode == 0
    assert run(CAFE, "--sheet", "4.1", "-o", second, seed="2").returncode == 0
    assert first.read_bytes() == second.read_bytes()
    assert first.read_text(encoding="utf-8").startswith("<svg ")


def test_all_sheets_as_dxf_three_times_the_same(tmp_path):
    first, *others = files = [tmp_path / f"{seed}.dxf" for seed in range(1, 4)]
    for seed, file in enumerate(files, 1):
        assert run(CAFE, "-o", file, seed=str(seed)).returncode == 0
    for other in others:
        assert first.read_bytes() == other.read_bytes()
    assert b"FIELD-LINE-VOLTAGE" in first.read_bytes()


def test_a_sheet_that_is_not_there():
    done = run(CAFE, "--sheet", "9.9")
    assert (done.returncode, done.stdout) == (2, "")
    assert "has no sheet 9.9" in done.stderr
    assert "4.1" in done.stderr


def test_svg_holds_one_sheet(tmp_path):
    done = run(CAFE, "-o", tmp_path / "all.svg")
    assert done.returncode == 2
    assert "--sheet" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_tag_of_two_hundred_characters_is_refused_with_its_line(tmp_path):
    text = CAFE.read_text(encoding="utf-8")
    tag = "H-1" + "x" * 197
    job = tmp_path / "long.yaml"
    job.write_text(text.replace("H-1", tag), encoding="utf-8")
    done = run(job, "--sheet", "4.1")
    assert (done.returncode, done.stdout) == (2, "")
    assert "long.yaml:" in done.stderr
    assert "24" in done.stderr  # the longest tag


@pytest.mark.parametrize("where", ["missing/a.svg", "."])
def test_a_file_that_cannot_be_written(tmp_path, where):
    done = run(CAFE, "--sheet", "4.1", "-o", tmp_path / where)
    assert done.returncode == 2
    assert "cannot be written" in done.stderr
    assert list(tmp_path.iterdir()) == []
