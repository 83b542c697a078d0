"""Sentences offered on the page mean what the same words mean to the office."""

from __future__ import annotations

from tests.checkout.support import bench

from galleyproof.checkout.complaints import complaint
from galleyproof.fieldsheet.sayings import sayings


def test_every_sentence_is_understood_as_offered() -> None:
    checkout = bench().checkout
    found = sayings(checkout)
    for saying in found:
        assert complaint(checkout, saying.text).either == saying.either, saying.text
        assert {checkout.probes[i].about for i, _ in saying.either} == {saying.about} or not saying.about
    texts = [s.text for s in found]
    assert len(set(texts)) == len(texts)
    for wanted in ("EF-1 does not run", "EF-1 does not run in a release", "GV-1 does not shut", "alarm without a fire"):
        assert wanted in texts
    # those that mean the same are offered once
    assert len({(s.about, s.either, s.number) for s in found}) == len(found)
    assert all(s.text.endswith(" 0") for s in found if s.number)
    assert [s.text for s in found if s.number] == ["TS-1 reads 0"]
