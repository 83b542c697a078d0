"""docs/architecture.md, the import contract and the rooms that exist say the same."""

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "architecture.md").read_text(encoding="utf-8")
CONTRACTS = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"]["contracts"]
MAKE = (ROOT / "Makefile").read_text(encoding="utf-8")


def floors_on_page() -> list[set[str]]:
    rows = re.findall(r"^\| (\d+) \| ([^|]+) \|", PAGE, re.MULTILINE)
    assert [int(number) for number, _ in rows] == list(range(1, len(rows) + 1))
    return [set(re.findall(r"`(\w+)`", cell)) for _, cell in rows]


def floors_of_contract() -> list[set[str]]:
    (layers,) = [contract for contract in CONTRACTS if contract["type"] == "layers"]
    return [set(re.findall(r"\w+", floor)) for floor in layers["layers"]]


def test_the_floors_on_the_page_are_those_of_the_contract():
    assert floors_on_page() == floors_of_contract()


def test_every_room_that_exists_has_its_floor():
    package = ROOT / "src" / "galleyproof"
    rooms = {path.parent.name for path in package.glob("*/__init__.py")}
    rooms |= {path.stem for path in package.glob("*.py")} - {"__init__", "__main__"}
    assert rooms <= set().union(*floors_on_page())


def test_the_edges_on_the_page_are_those_exempt_from_purity():
    (purity,) = [contract for contract in CONTRACTS if contract["type"] == "forbidden"]
    exempt = {line.split(" -> ")[0].split(".")[1] for line in purity["ignore_imports"]}
    (sentence,) = re.findall(r"Only (.+?) may touch network", PAGE)
    assert set(re.findall(r"`(\w+)`", sentence)) == exempt


def test_every_task_on_the_page_is_a_target_and_the_reverse():
    on_page = set(re.findall(r"`make (\w+)`", PAGE))
    (phony,) = re.findall(r"^\.PHONY: (.+)$", MAKE, re.MULTILINE)
    assert on_page == set(phony.split())
