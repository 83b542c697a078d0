"""``galleyproof air`` as its users start it: exit status, tables, reasoning, data."""

from __future__ import annotations

import json
from pathlib import Path

from tests.cli.test_processes import CAFE, ROOT, run

SCHOOL = ROOT / "examples" / "school-kitchen.yaml"


def edited(tmp_path: Path, *edits: tuple[str, str]) -> Path:
    """The school with edits, as a file of its own."""
    text = SCHOOL.read_text(encoding="utf-8")
    for old, new in edits:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    file = tmp_path / "kitchen.yaml"
    file.write_text(text, encoding="utf-8")
    return file


def test_a_good_kitchen_is_exit_zero_and_shows_every_table() -> None:
    """Exit 0; exhaust, balance, make-up, ducts, fans, limits, maps, delays, readings, caution."""
    done = run("air", SCHOOL)
    assert (done.returncode, done.stderr) == (0, "")
    for title in (
        "three methods side by side",
        "Balance at every operating point",
        "Make-up units",
        "Hoods that share a fan",
        "Ducts",
        "Fans and motors",
        "the highest of seven reasons",
        "Temperature to speed",
        "Delays",
        "Start-up readings",
    ):
        assert title in done.stdout
    said = " ".join(done.stdout.split())
    assert "Why they differ" in said
    assert "qualified persons only" in said
    assert "never an approval" in said
    for row in ("1. flow that still captures idling appliances", "7. fan stability and wind"):
        assert row in said


def test_a_finding_is_exit_one(tmp_path: Path) -> None:
    """A riser of 6.25 sq ft: 384 fpm at idle; exit 1 with code, cure and clause."""
    wide = ("{kind: rectangular, width: 20 in, height: 20 in}", "{kind: rectangular, width: 30 in, height: 30 in}")
    done = run("air", edited(tmp_path, wide))
    said = " ".join(done.stdout.split())
    assert done.returncode == 1
    assert "AIR-DUCT-IDLE" in said
    assert "384 fpm" in said
    assert "506.3.4" in said


def test_bad_input_is_exit_two(tmp_path: Path) -> None:
    """A curve that rises is refused with its place; nothing on the standard output."""
    file = edited(
        tmp_path, ("airflow: 4000 cfm, static_pressure: 2.2 inwc", "airflow: 4000 cfm, static_pressure: 3.2 inwc")
    )
    done = run("air", file)
    assert (done.returncode, done.stdout) == (2, "")
    (line,) = done.stderr.splitlines()
    assert line.startswith("kitchen.yaml:") or "kitchen.yaml:" in line
    assert "curve point 2: static_pressure" in line
    assert "leave those points out" in line


def test_a_missing_file_is_exit_two(tmp_path: Path) -> None:
    """No traceback, the name is told."""
    done = run("air", tmp_path / "none.yaml")
    assert done.returncode == 2
    assert "none.yaml" in done.stderr


def test_json_has_every_part() -> None:
    """The same parts for every job; numbers are numbers, in the units of their names."""
    done = run("air", SCHOOL, "--json")
    data = json.loads(done.stdout)
    assert done.returncode == 0
    assert set(data) == {
        "job", "summary", "exhaust", "energy_code", "balance", "planned_transfer_cfm", "makeup", "shared_fans", "ducts",
        "fans", "hood_setpoints", "fan_setpoints", "delays", "start_up", "findings",
    }  # fmt: skip
    assert set(data["summary"]) == {"errors", "warnings", "notes"}
    assert [h["tag"] for h in data["exhaust"]] == ["H-1", "H-2", "H-3"]
    design = data["balance"][0]
    assert design["point"] == "all at design"
    assert design["exhaust_cfm"] == 8400.0
    assert abs(design["makeup_cfm"] + design["other_cfm"] + design["transfer_cfm"] - 8400.0) < 1e-6
    for limits in data["fan_setpoints"]:
        assert [r["number"] for r in limits["minimum"]["reasons"]] == [1, 2, 3, 4, 5, 6, 7]
    for finding in data["findings"]:
        assert set(finding) == {"code", "severity", "item", "message", "cure", "clauses", "evidence"}


def test_why_tells_the_reasoning_of_one_item() -> None:
    """Steps with their clauses; letter case does not matter; --json gives the same numbers."""
    done = run("air", CAFE, "--why", "h-1")
    assert done.returncode == 0
    assert "exhaust it needs" in done.stdout
    assert "507.2.10.2" in done.stdout
    assert "3200 cfm" in done.stdout
    data = json.loads(run("air", CAFE, "--why", "H-1", "--json").stdout)
    assert data["item"] == "H-1"
    assert any("400 cfm/ft x 8 ft" in step for number in data["numbers"] for step in number["steps"])
    kitchen = run("air", CAFE, "--why", "kitchen").stdout
    assert "balance, all idle" in kitchen


def test_why_of_an_unknown_item_names_the_nearest() -> None:
    """Exit 2: what is nearest, and what there is."""
    done = run("air", CAFE, "--why", "EF-9")
    assert (done.returncode, done.stdout) == (2, "")
    assert "'EF-9'" in done.stderr
    assert "nearest: 'EF-1'" in done.stderr
    for item in ("kitchen", "H-1", "MAU-1"):
        assert item in done.stderr


def test_a_folder_is_taken_whole() -> None:
    """Every good kitchen, one after the other; --json makes a list of them."""
    done = run("air", ROOT / "examples", "--json")
    assert done.returncode == 0
    jobs = json.loads(done.stdout)["jobs"]
    assert [Path(j["job"]).stem for j in jobs] == ["ferry-cafe", "hospital", "school-kitchen"]


def test_the_findings_join_the_check(tmp_path: Path) -> None:
    """What the air check finds, ``check`` lists too: one code, one item."""
    wide = ("{kind: rectangular, width: 20 in, height: 20 in}", "{kind: rectangular, width: 30 in, height: 30 in}")
    data = json.loads(run("check", edited(tmp_path, wide), "--json").stdout)
    assert [f["item"] for f in data["findings"] if f["code"] == "AIR-DUCT-IDLE"] == ["EF-2"]


def test_same_job_same_bytes() -> None:
    """Two runs print the same bytes."""
    assert run("air", CAFE).stdout == run("air", CAFE).stdout
