"""Field cases: what electricians report, played in small kitchens. ``field_cases.csv`` has the facts.

A case is reproduced when the kitchen with its cause reads what the case reads, and the search, told no more than
that, names the cause first: the slip, or the group that no probe tells it from. Where a drawing error or a choice is
the cause, the finding that names it takes the place of the search.
"""

from __future__ import annotations

import pytest
from tests.outside.field_kitchens import RIGHT, field
from tests.outside.field_played import PLAYED, Played

pytestmark = pytest.mark.outside


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
