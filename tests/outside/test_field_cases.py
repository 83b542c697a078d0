"""Field cases: what electricians report, played in small kitchens. ``field_cases.csv`` has the facts.

A case is reproduced when the kitchen with its cause reads what the case reads, and the search, told no more than
that, names the cause first: the slip, or the group that no probe tells it from. Where a drawing error or a choice is
the cause, the finding that names it takes the place of the search.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from tests.outside.field_kitchens import RIGHT, field
from tests.outside.field_played import PLAYED, Played
from tests.outside.field_static import STATIC

pytestmark = pytest.mark.outside

HERE = Path(__file__).parent
with (HERE / "field_cases.csv").open(encoding="utf-8", newline="") as file:
    CASES = {row["id"]: row for row in csv.DictReader(file)}
PAGE = (HERE.parents[1] / "docs" / "field-cases.md").read_text(encoding="utf-8")
LISTED = dict(re.findall(r"^\| ([A-Z]\d\d) \| .+ \| (.+) \|$", PAGE.partition("## Outside the model")[2], re.MULTILINE))
CHECKS = [(number, check) for number, checks in STATIC.items() for check in checks]


@pytest.mark.parametrize("played", PLAYED, ids=lambda p: f"{p.case}-{p.slip}")
def test_a_case_reads_as_reported_and_is_found(played: Played) -> None:
    """Readings as the case states them, one by one; then the search on them."""
    kitchen = field(played.kitchen)
    off = [(t.probe, kitchen.shown(played.slip, t.probe)) for t in played.takes if not t.holds(
        kitchen.reading(played.slip, t.probe)
    )]  # fmt: skip
    assert not off
    first = kitchen.first({t.probe: t.value for t in played.takes if t.told}, played.complaints)
    named = (*first.slips, *first.others)
    if played.slip == RIGHT:
        assert first.slips == ()
    else:
        assert first.slips
        assert {played.slip, *played.also} & set(named), first


@pytest.mark.parametrize(("number", "check"), CHECKS, ids=lambda x: x if isinstance(x, str) else x.__name__)
def test_a_case_is_answered_by_the_job(number: str, check: Callable[[], None]) -> None:
    """A finding, a number, or the order of things."""
    assert number in CASES
    check()


def test_every_case_is_played_or_listed() -> None:
    """None is forgotten, none stands in both places, and at least 40 of 52 are reproduced."""
    assert len(CASES) == 52
    reproduced = {p.case for p in PLAYED} | set(STATIC)
    assert reproduced <= set(CASES)
    assert reproduced.isdisjoint(LISTED)
    assert reproduced | set(LISTED) == set(CASES)
    assert len(reproduced) >= 40
    assert all(len(reason) > 40 for reason in LISTED.values())


def test_the_page_counts_right() -> None:
    """docs/field-cases.md says how many, and has a row for each that is reproduced."""
    reproduced = {p.case for p in PLAYED} | set(STATIC)
    before = PAGE.partition("## Outside the model")[0]
    rows = re.findall(r"^\| ([A-Z]\d\d) \|", before, re.MULTILINE)
    assert sorted(rows) == sorted(reproduced)
    assert f"{len(reproduced)} of {len(CASES)} cases" in before
