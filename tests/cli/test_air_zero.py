"""Nothing is printed as a negative zero: a pressure too small to show is none, whichever way it points."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from pathlib import Path

import pytest
from rich.console import Console

from galleyproof.air.job_air import check_air
from galleyproof.air.model import AirReport
from galleyproof.cli import air_tables as in_terminal
from galleyproof.job.read import read_job
from galleyproof.package import air_pages
from galleyproof.web.air_tables import grids

EXAMPLE = Path(__file__).parents[2] / "examples" / "ferry-cafe.yaml"
NEGATIVE_ZERO = re.compile(r"(?<![\w.,-])-0(?:\.0*)?(?![\d.,])")


@pytest.fixture
def report() -> AirReport:
    """An air report whose every pressure is a hair below zero."""
    found = check_air(read_job(EXAMPLE.read_text(encoding="utf-8"), "cafe"))
    assert found.balances
    return replace(found, balances=tuple(replace(b, room_pressure_inwc=-0.00001) for b in found.balances))


def test_the_sign_is_looked_for() -> None:
    assert all(NEGATIVE_ZERO.search(f"x {zero} y") for zero in ("-0", "-0.0000", "-0.0"))
    assert not any(NEGATIVE_ZERO.search(f"x {no} y") for no in ("-0.0001", "10-0", "-0,5", "0.0000"))


def test_no_table_in_the_terminal_has_a_negative_zero(report: AirReport) -> None:
    console = Console(width=200, file=io.StringIO())
    with console.capture() as shown:
        for _, table, _ in in_terminal.sections(report):
            console.print(table)
    said = shown.get()
    assert "0.0000" in said
    assert not NEGATIVE_ZERO.search(said)


def test_no_table_on_the_page_has_a_negative_zero(report: AirReport) -> None:
    cells = [cell for grid in grids(report) for row in grid.rows for cell in row.cells]
    assert "0.0000" in cells
    assert not [cell for cell in cells if NEGATIVE_ZERO.search(cell)]


@pytest.mark.parametrize(("value", "form"), [(-0.00001, ".4f"), (-0.2, ",.0f"), (-0.0, ".3g"), (-0.001, ".0%")])
def test_no_cell_of_the_package_is_a_negative_zero(value: float, form: str) -> None:
    assert air_pages._n(value, form) == format(0.0, form)
