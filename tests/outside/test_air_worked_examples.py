"""The worked examples of air, one test each, by id; the source of each is in the row and in the test's message."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from tests.outside.air_answers import ANSWERS, NOT_RUN, Example, examples

pytestmark = pytest.mark.outside

ROWS = examples()
PAGE = Path(__file__).parents[2] / "docs" / "deviations.md"


@pytest.mark.parametrize("row", [r for r in ROWS if r.id in ANSWERS], ids=lambda r: r.id)
def test_worked_example(row: Example):
    """The rule gives the published value within the row's own tolerance, which is absolute in the row's unit."""
    answer = ANSWERS[row.id]()
    assert math.isfinite(answer)
    assert abs(answer - row.expected) <= row.tolerance, (
        f"{row.id}: {row.given}; {row.asked}: {answer:.6g}, expected {row.expected:g} "
        f"+- {row.tolerance:g} {row.unit} ({row.source})"
    )


def test_every_example_is_run_or_has_a_reason():
    """155 rows; none is both, none is lost, none of the answers is to a question that is not there."""
    ids = [row.id for row in ROWS]
    assert len(ids) == len(set(ids)) == 155
    assert not set(ANSWERS) & set(NOT_RUN)
    assert set(ANSWERS) | set(NOT_RUN) == set(ids)
    assert all(len(reason) > 20 for reason in NOT_RUN.values())


def test_the_page_of_deviations_names_every_example_that_is_not_run():
    """A range like `heat_gain_01 to heat_gain_04` names all of it."""
    page = PAGE.read_text(encoding="utf-8").partition("## Air")[2]
    named = set(re.findall(r"\b[a-z_]+_\d\d\b", page))
    for first, last in re.findall(r"\b([a-z_]+_\d\d) to ([a-z_]+_\d\d)\b", page):
        stem = first[:-2]
        named |= {f"{stem}{n:02}" for n in range(int(first[-2:]), int(last[-2:]) + 1)}
    assert named == set(NOT_RUN)
    assert f"{len(ANSWERS)} are run" in page
    assert f"The other {len(NOT_RUN)}" in page


def test_no_tolerance_is_wide():
    """A wide tolerance would let a wrong rule through; the widest is a dew point read from a chart, 0.5 of 7 degC."""
    for row in ROWS:
        assert 0.0 < row.tolerance <= 0.08 * abs(row.expected), row.id
