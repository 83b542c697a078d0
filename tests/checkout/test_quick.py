"""The quick way reads what the plain way reads."""

from __future__ import annotations

import random

import pytest
from tests.checkout.support import bench, slips

from galleyproof.checkout.model import Reading


def told(changed: dict[int, Reading] | None) -> dict[int, Reading]:
    return {i: r if isinstance(r, str) else round(r, 6) for i, r in (changed or {}).items()}


@pytest.mark.parametrize(("name", "count"), [("ferry-cafe", 60), ("school-kitchen", 25), ("hospital", 4)])
def test_slips_read_the_same_either_way(name: str, count: int) -> None:
    """A random draw of every kind; every probe in every preparation."""
    made = bench(name)
    for slip in random.Random(11).sample(list(slips(name)), count):
        assert told(made.changed(slip.change)) == told(made.plainly(slip.change)), slip.key


def test_two_slips_read_the_same_either_way() -> None:
    made = bench()
    draw = random.Random(12)
    for _ in range(15):
        a, b = draw.sample(list(slips()), 2)
        assert told(made.pair(a, b)) == told(made.plainly(a.change + b.change)), (a.key, b.key)
