"""All rules together: the good kitchens are good in every respect, each wrong one is wrong in one."""

from __future__ import annotations

import pytest
from tests.design.support import GOOD, LIBRARY, WRONG, design_of, example
from tests.examples.test_examples import must_find

from galleyproof.findings import Finding, Severity
from galleyproof.review.whole import once, review, weighty


@pytest.mark.parametrize("name", [p.stem for p in WRONG])
def test_a_wrong_kitchen_is_wrong_in_its_one_thing(name: str) -> None:
    """Design, proof, sizes and air together find what the file says must be found, and nothing else."""
    found = weighty(review(example(name), design_of(name), LIBRARY).findings)
    assert [f.code for f in found] == [must_find(name)]


@pytest.mark.parametrize("name", [p.stem for p in GOOD])
def test_a_good_kitchen_is_good_in_everything(name: str) -> None:
    """Nothing above a note, and the notes of every rule are there."""
    seen = review(example(name), design_of(name), LIBRARY)
    assert weighty(seen.findings) == ()
    told = {*seen.proof.findings, *seen.sizes.findings, *seen.air.findings}
    assert set(seen.findings) == told
    assert told


def test_two_rules_that_say_the_same_are_heard_once() -> None:
    """The first of equal findings stays; another message about the same item stays beside it."""
    first = Finding("LIGHTS-OVER", Severity.ERROR, "H-1", "1450 W on a contact of 1200 W", "fewer watts")
    again = Finding("LIGHTS-OVER", Severity.ERROR, "H-1", "1450 W on a contact of 1200 W", "another contact")
    other = Finding("LIGHTS-OVER", Severity.ERROR, "H-1", "1450 W on a circuit of 15 A")
    assert once((first, again, other)) == (first, other)
