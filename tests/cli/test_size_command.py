"""`galleyproof size` as its users start it: the table, the reasoning of one number, the data."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from tests.cli.test_processes import CAFE, ROOT, WRONG, run

SCHOOL = ROOT / "examples" / "school-kitchen.yaml"


def words(text: str) -> str:
    """A text without its layout."""
    return " ".join(text.split())


def test_the_table_has_every_circuit_the_raceways_and_control_power() -> None:
    """Exit 0; each circuit that feeds something has its block, the panel its own, every raceway its row."""
    done = run("size", SCHOOL)
    assert (done.returncode, done.stderr) == (0, "")
    heads = [line for line in done.stdout.splitlines() if re.match(r"(LP-2|CP1)\S*   ", line)]
    tags = {line.split()[0] for line in heads}
    assert tags >= {"LP-2/1", "LP-2/2", "LP-2/3", "LP-2/8", "LP-2/14", "LP-2/20", "LP-2/26", "LP-2/30", "CP1"}
    assert "Raceways and open cables" in done.stdout
    said = words(done.stdout)
    # Table 430.250: 2 hp at 208 V takes 7.5 A; 430.52(C)(1): 250 %, next rating up, 20 A
    assert "EF-1 full-load current 7.5 A 430.6(A)(1); Table 430.250" in said
    assert re.search(r"LP-2/2 largest breaker 20 A 20 A breaker yes 430\.52\(C\)\(1\)", said)
    assert "qualified persons only" in said


def test_why_prints_the_steps_in_order_with_their_clauses() -> None:
    """The branch conductor of the fryers: 14.4 kW on three phases of 208 V, on for hours, needs 50 A, so 8 AWG."""
    done = run("size", SCHOOL, "--why", "LP-2/20 branch conductor")
    assert (done.returncode, done.stderr) == (0, "")
    lines = [line.strip() for line in done.stdout.splitlines()]
    numbers = [int(m.group(1)) for line in lines if (m := re.match(r"(\d+)\. ", line))]
    assert numbers == list(range(1, len(numbers) + 1))
    assert len(numbers) > 5
    said = words(done.stdout)
    assert "LP-2/20 branch conductor: 8 AWG" in said
    assert "Table 310.16" in said


@pytest.mark.parametrize(("item", "near"), [("EF-9", "EF-2"), ("LP-2/99", "LP-2/"), ("no such thing", "nearest")])
def test_an_unknown_item_is_bad_input_with_the_nearest(item: str, near: str) -> None:
    """Exit 2, nothing on the standard output."""
    done = run("size", SCHOOL, "--why", item)
    assert (done.returncode, done.stdout) == (2, "")
    assert "school-kitchen.yaml" in done.stderr
    assert near in done.stderr


def test_data_holds_every_number_with_citations() -> None:
    """Every number has steps and at least one clause; raceways and conductors point at the number that says why."""
    data = json.loads(run("size", SCHOOL, "--json").stdout)
    keys = {n["key"] for n in data["numbers"]}
    assert len(keys) == len(data["numbers"]) == data["summary"]["numbers"] > 100
    for number in data["numbers"]:
        assert number["steps"], number["key"]
        assert number["clauses"], number["key"]
        assert number["text"]
    assert all(number["ok"] for number in data["numbers"] if number["given"])
    assert {r["why"] for r in data["raceways"]} <= keys
    assert {c["why"] for c in data["conductors"]} <= keys
    wires = json.loads(run("wires", SCHOOL, "--json").stdout)
    assert len(data["conductors"]) == len(wires["conductors"])
    assert {"standard": "NFPA 70", "edition": "2023", "place": "Table 430.250", "note": ""} in data["clauses"]


def test_a_finding_of_sizing_is_exit_one_here_and_in_check(tmp_path: Path) -> None:
    """A 60 A breaker on a 2 hp motor: both commands name it, with its cure and its clause."""
    file = tmp_path / "job.yaml"
    text = SCHOOL.read_text("utf-8")
    old = "{tag: LP-2/2, panelboard: LP-2, lines: [L1, L2, L3], breaker: 20 A, note: EF-1}"
    assert old in text
    file.write_text(text.replace(old, old.replace("20 A", "60 A")), "utf-8")
    for verb in ("size", "check"):
        done = run(verb, file)
        assert done.returncode == 1
        assert "OCPD-HIGH" in done.stdout
        assert "430.52(C)(1)" in done.stdout
    row = next(
        line for line in run("size", file).stdout.splitlines() if "largest breaker" in line and "LP-2/2 " in line
    )
    assert row.split()[-2:] == ["no", "430.52(C)(1);"]
    done = run("check", file, "--cure", "--write")
    assert done.returncode == 0
    assert file.read_text("utf-8") == text


def test_a_folder_is_sized_job_by_job() -> None:
    """Every job of the folder, then a line for each; a number that only some have is shown for those."""
    done = run("size", WRONG)
    assert done.returncode in (0, 1)
    for file in WRONG.glob("*.yaml"):
        assert file.name in done.stdout
    done = run("size", ROOT / "examples", "--why", "EF-10")
    assert done.returncode == 0
    assert "hospital.yaml" in done.stdout
    assert "2 jobs of the folder without EF-10" in done.stdout


def test_bad_input_is_exit_two(tmp_path: Path) -> None:
    """A motor size that the table does not have: its neighbours are named."""
    file = tmp_path / "job.yaml"
    file.write_text(SCHOOL.read_text("utf-8").replace("hp: 3 hp", "hp: 4 hp"), "utf-8")
    done = run("size", file)
    assert (done.returncode, done.stdout) == (2, "")
    assert "EF-2" in done.stderr
    assert "nearest: 3 hp, 5 hp" in done.stderr


def test_same_job_same_bytes() -> None:
    """Two runs say the same."""
    assert run("size", CAFE, "--json").stdout == run("size", CAFE, "--json").stdout
