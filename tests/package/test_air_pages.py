"""Air schedule, balance, set-points and start-up record print what the job says and what a hand can work out."""

from __future__ import annotations

from functools import cache

from tests.design.support import LIBRARY, design_of, example

from galleyproof.package.air_pages import air_pages
from galleyproof.package.facts import Facts, gather
from galleyproof.package.model import Section, Table
from galleyproof.package.records import start_up
from galleyproof.package.sequence import sequence
from galleyproof.package.simulated import Simulated


@cache
def facts() -> Facts:
    return gather(example("school-kitchen"), design_of("school-kitchen"), LIBRARY)


def page(key: str) -> Section:
    return next(s for s in air_pages(facts()) if s.key == key)


def rows(section: Section) -> list[tuple[str, ...]]:
    return [r for b in section.blocks if isinstance(b, Table) for r in b.rows if not isinstance(r, str)]


def test_the_schedule_has_every_hood_with_its_minimum() -> None:
    """IMC 507.2: 12 ft heavy wall canopy at 400 cfm/ft, 8 ft medium at 300, 9 ft medium single island at 500."""
    by_hood = {r[0]: r for r in rows(page("air")) if r[0].startswith("H-")}
    assert {tag: row[4] for tag, row in by_hood.items()} == {"H-1": "4,800", "H-2": "2,400", "H-3": "4,500"}
    assert {r[0] for r in rows(page("air"))} >= {"EF-1", "EF-2"}


def test_the_balance_closes_on_the_page() -> None:
    """8,400 cfm out; 6,700 of make-up and 1,700 of transfer in."""
    design = next(r for r in rows(page("balance")) if r[0] == "all at design")
    out, makeup, other, transfer = (float(c.replace(",", "")) for c in design[1:5])
    assert out == 3600 + 4800
    assert out == makeup + other + transfer


def test_set_points_are_on_their_sheet_in_the_sequence_and_on_the_start_up_record() -> None:
    limits = {r[0]: r for r in rows(page("set-points")) if r[0].startswith("EF-")}
    assert limits["EF-2"][1] == "50%"
    said = " ".join(c for r in rows(sequence(facts(), Simulated(facts().job, facts().design, LIBRARY))) for c in r)
    assert "50%" in said
    assert "130 °F" in said
    record = " ".join(c for r in rows(start_up(facts())) for c in r)
    assert "4,800" in record
    assert "EF-2" in record
