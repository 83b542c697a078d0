"""How sizes are shown, on sizes laid out by hand: three numbers of a 2 hp, 208 V fan on a 60 A breaker."""

from __future__ import annotations

import json

import pytest
from tests.design.support import EXAMPLES

import galleyproof.cli.size
from galleyproof.cli.main import main
from galleyproof.findings import Finding, Severity
from galleyproof.sizing.model import Number, RacewaySize, Sizes
from galleyproof.sizing.motors import Motor, branch_min_ampacity_a, branch_ocpd_max_a, full_load_a
from galleyproof.sizing.raceways import Filling

SCHOOL = str(EXAMPLES / "school-kitchen.yaml")


def by_hand(*_: object) -> Sizes:
    """NFPA 70-2023 Table 430.250: 2 hp at 208 V is 7.5 A; 125 % of it 9.375 A; 250 % of it, next size up, 20 A."""
    current = full_load_a(Motor(2.0, 208.0, 3))
    breaker = branch_ocpd_max_a(current, "inverse_time_breaker")
    numbers = (
        Number("EF-1 full-load current", "LP-2/2", "EF-1", "full-load current", current),
        Number("EF-1 least ampacity", "LP-2/2", "EF-1", "least ampacity", branch_min_ampacity_a(current), "25 A"),
        Number("LP-2/2 largest breaker", "LP-2/2", "LP-2/2", "largest breaker", breaker, "60 A", False),
    )
    finding = Finding(
        "BREAKER-OVER", Severity.ERROR, "LP-2/2", "60 A is more than 20 A", "breaker: 20 A", breaker.basis
    )
    contents = (Filling("12", 3), Filling("12", 1))
    raceway = RacewaySize(
        "RW-1", "EMT", "1/2", 0.17, 0.4, "power", "electrical room", "roof", 55.0, contents, 3, ("LP-2/2",), (), (), "k"
    )
    return Sizes(numbers, (finding,), (raceway,))


@pytest.fixture(autouse=True)
def _sizes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(galleyproof.cli.size, "size", by_hand)
    monkeypatch.setenv("COLUMNS", "120")


def said(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    """Exit status, output, error output."""
    status = main(["size", SCHOOL, *words])
    out = capsys.readouterr()
    return status, out.out, out.err


def test_the_table_groups_by_circuit_and_marks_what_does_not_hold(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = said(capsys)
    assert (status, err) == (1, "")
    lines = [" ".join(line.split()) for line in out.splitlines()]
    assert "LP-2/2 EF-1, 208Y/120 V, lines L1 L2 L3, breaker 20 A" in lines
    assert "EF-1 full-load current 7.5 A 430.6(A)(1); Table 430.250" in lines
    assert "EF-1 least ampacity 9.375 A 25 A yes 430.22" in lines
    assert "LP-2/2 largest breaker 20 A 60 A no 430.52(C)(1); 240.6(A)" in lines
    assert (
        "RW-1 1/2 EMT electrical room to roof, 55 ft 3 × 12 AWG THWN-2; 1 × 12 AWG THWN-2 (power) 17% of 40%" in lines
    )
    assert "3 numbers, 1 raceway and 0 conductors by NFPA 70-2023: 1 error." in lines


def test_why_tells_steps_clauses_and_what_was_passed_over(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = said(capsys, "--why", "LP-2/2 largest breaker")
    assert status == 1
    told = " ".join(out.split())
    assert "LP-2/2 largest breaker: 20 A given: 60 A does not hold" in told
    steps = [line.strip() for line in out.splitlines() if line.strip()[:2] in ("1.", "2.", "3.")]
    assert [s.split(" = ")[1].split("  [")[0] for s in steps] == ["7.5 A", "18.75 A", "20 A"]
    assert "[Table 430.52(C)(1)]" in steps[1]
    assert "passed over: inverse-time breaker above 20 A" in told


@pytest.mark.parametrize("item", ["EF-1", "ef-1 ampacity", "LP-2/2"])
def test_an_item_a_circuit_or_words_of_a_key_find_their_numbers(capsys: pytest.CaptureFixture[str], item: str) -> None:
    status, out, _ = said(capsys, "--why", item, "--json")
    keys = [n["key"] for n in json.loads(out)["numbers"]]
    assert status == 1
    assert (
        keys
        == {
            "EF-1": ["EF-1 full-load current", "EF-1 least ampacity"],
            "ef-1 ampacity": ["EF-1 least ampacity"],
            "LP-2/2": ["LP-2/2 largest breaker", "EF-1 full-load current", "EF-1 least ampacity"],
        }[item]
    )


@pytest.mark.parametrize(
    ("item", "near"), [("EF-9", "'EF-1'"), ("widest breaker", "'LP-2/2 largest breaker'"), ("", "'EF-1")]
)
def test_an_unknown_item_names_the_nearest(capsys: pytest.CaptureFixture[str], item: str, near: str) -> None:
    status, out, err = said(capsys, "--why", item)
    assert (status, out) == (2, "")
    assert f"nothing called {item!r} is sized" in err
    assert near in err


def test_data_holds_everything_with_its_clauses(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = said(capsys, "--json")
    data = json.loads(out)
    assert status == 1
    assert data["edition"] == "2023"
    assert data["summary"] == {"errors": 1, "warnings": 0, "notes": 0, "numbers": 3, "raceways": 1, "conductors": 0}
    breaker = data["numbers"][2]
    assert (breaker["value"], breaker["unit"], breaker["given"], breaker["ok"]) == (20.0, "A", "60 A", False)
    assert [s["value"] for s in breaker["steps"]] == [7.5, 18.75, 20.0]
    assert {"standard": "NFPA 70", "edition": "2023", "place": "Table 430.250", "note": ""} in breaker["clauses"]
    assert data["raceways"][0]["contents"][0] == {
        "count": 3,
        "size": "12",
        "insulation": "THWN-2",
        "diameter_inch": None,
    }
    assert [f["code"] for f in data["findings"]] == ["BREAKER-OVER"]
