"""Every worked example of the collection through the public functions, each by its id.

``worked_examples_electrical.csv`` holds what was given and asked, the expected value with its tolerance, and the
source in words: 160 published and seen, 13 published and from memory, 13 computed when the collection was made.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tests.outside.worked_answers import ANSWERS, NOT_APPLICABLE, Example, read_examples

pytestmark = pytest.mark.outside

EXAMPLES = read_examples()
DEVIATIONS_PAGE = Path(__file__).parents[2] / "docs" / "deviations.md"
APPLICABLE = [pytest.param(e, id=e.id) for e in EXAMPLES if e.id not in NOT_APPLICABLE]


@pytest.mark.parametrize("example", APPLICABLE)
def test_example(example: Example):
    value = ANSWERS[example.id]()
    assert example.met_by(value), (
        f"{example.given}: {example.asked}: {value!r}, expected {example.expected_value} {example.unit} "
        f"(tolerance {example.tolerance}; {example.source}; {example.notes})"
    )


def test_every_example_is_run_or_has_its_reason():
    ids = [e.id for e in EXAMPLES]
    assert len(ids) == len(set(ids)) == 186
    assert set(ANSWERS).isdisjoint(NOT_APPLICABLE)
    assert set(ids) == set(ANSWERS) | set(NOT_APPLICABLE)
    assert all(len(reason) > 20 for reason in NOT_APPLICABLE.values())


def test_the_file_says_where_each_value_comes_from():
    for e in EXAMPLES:
        assert e.source
        assert e.confidence.startswith(("high", "medium", "computed here"))
        assert "http" not in "".join((e.given, e.asked, e.source, e.notes))


def test_a_wrong_answer_is_not_met():
    """The comparison itself can fail: beyond the tolerance, another size, another kind of value."""
    by_id = {e.id: e for e in EXAMPLES}
    assert not by_id["motor_branch_conductor_02"].met_by(27.52)
    assert not by_id["motor_branch_conductor_03"].met_by("8")
    assert not by_id["motor_branch_conductor_03"].met_by(10)
    assert not by_id["motor_branch_ocpd_02"].met_by(60.001)
    assert not by_id["motor_branch_ocpd_02"].met_by(None)


def deviations() -> list[tuple[str, str, str]]:
    """Example id, printed and own value of each row of the page's table."""
    rows = re.findall(
        r"^\| `(\w+)` \| ([^|]+) \| ([^|]+) \|", DEVIATIONS_PAGE.read_text(encoding="utf-8"), re.MULTILINE
    )
    return [(name, printed.strip(), own.strip()) for name, printed, own in rows]


@pytest.mark.parametrize(("name", "printed", "own"), deviations())
def test_agreed_deviation_is_as_said(name: str, printed: str, own: str):
    """The page's own value is what the functions give, to the printed digits, and it is not what the source prints."""
    assert name in {e.id for e in EXAMPLES}
    value = ANSWERS[name]()
    assert own != printed
    own_number, own_unit = own.split(" ", 1)
    assert own_unit == printed.split(" ", 1)[1]
    if isinstance(value, str):
        assert value == own_number
    else:
        digits = len(own_number.partition(".")[2])
        assert f"{value:.{digits}f}" == own_number


def test_there_are_agreed_deviations():
    assert len(deviations()) >= 10
