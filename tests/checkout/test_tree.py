"""On tables small enough to try every order of questions: the search costs little more than the best there is.

Perfect readings, one state of the installation (so that no walking between states counts), the search's own measure of
cost: minutes, and hazard weighed in minutes. The best tree is found by dynamic programming over sets of suspects
(as Garey 1972 does it for two answers, from memory; here with as many branches as a reading has classes).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from itertools import count

import numpy as np
import pytest
from tests.checkout.support import slips, table
from tests.design.support import LIBRARY

from galleyproof.checkout.beliefs import ALL_RIGHT
from galleyproof.checkout.diagnosis import HAZARD_MINUTES, Diagnosis
from galleyproof.checkout.model import Checkout, Reading
from galleyproof.checkout.signatures import Signatures
from galleyproof.checkout.whole import Bench
from galleyproof.design.build import build_design
from galleyproof.job.sample import job_of
from galleyproof.proof.slips import Slip, all_slips

MOST_SLIPS, MOST_PROBES, MOST_GROUPS = 60, 25, 13


@cache
def whole(name: str) -> tuple[Signatures, tuple[Slip, ...]]:
    """Table and slips of a small kitchen."""
    if name == "ferry-cafe":
        return table(), slips()
    job = job_of(1)
    design = build_design(job)
    found = all_slips(design, LIBRARY)
    return Bench(job, design, LIBRARY).signatures(found), found


def reduced(name: str, preparation: str, seed: int) -> tuple[Signatures, tuple[Slip, ...]]:
    """Some probes of one preparation, and some slips that they show."""
    full, all_of_them = whole(name)
    rng = np.random.default_rng(seed)
    showing = {i for probes in full.shows.values() for i in probes}
    of_it = [i for i in sorted(showing) if full.checkout.probes[i].preparation == preparation]
    chosen = sorted(rng.permutation(of_it)[:MOST_PROBES].tolist())
    place = {i: n for n, i in enumerate(chosen)}
    kept: list[tuple[Slip, Mapping[int, Reading]]] = []
    kinds: set[frozenset[tuple[int, str]]] = set()
    for s in rng.permutation(len(all_of_them)).tolist():
        changed = {place[i]: r for i, r in full.changed[s].items() if i in place}
        if not any(i in place for i in full.shows[full.slips[s]]) or len(kept) == MOST_SLIPS:
            continue
        kind = frozenset((i, r if isinstance(r, str) else f"{r:.1f}") for i, r in changed.items())
        if kind in kinds or len(kinds) < MOST_GROUPS:
            kinds.add(kind)
            kept.append((all_of_them[s], changed))
    prep = replace(full.checkout.preparation(preparation), after="")
    checkout = Checkout(full.checkout.steps, (prep,), tuple(full.checkout.probes[i] for i in chosen))
    made = Signatures(
        checkout, tuple(full.right[i] for i in chosen), tuple(s.key for s, _ in kept), tuple(c for _, c in kept)
    )
    return made, tuple(s for s, _ in kept)


class Tree:
    """All orders of questions on one table. Suspects are groups, and nothing being wrong; sets of them are bits."""

    def __init__(self, made: Signatures, slips_of_it: tuple[Slip, ...]) -> None:
        self.made = made
        priors = np.array([s.prior for s in slips_of_it])
        priors *= (1.0 - ALL_RIGHT) / priors.sum()
        self.groups = made.groups
        self.weight = [ALL_RIGHT, *(float(priors[list(g)].sum()) for g in self.groups)]
        self.cost = [p.minutes + HAZARD_MINUTES * p.hazard for p in made.checkout.probes]
        owner = {s: n for n, g in enumerate(self.groups, 1) for s in g}
        self.parts: list[dict[int, int]] = [{} for _ in self.cost]
        self.class_of: list[dict[int, int]] = [{} for _ in self.cost]
        table_of_it = made.classes
        probe_of = np.repeat(table_of_it.probes, np.diff(table_of_it.first))
        for s, c in zip(table_of_it.slip_of.tolist(), table_of_it.class_of.tolist(), strict=True):
            self.class_of[int(probe_of[c])][owner[s]] = c
        for probe, classes in enumerate(self.class_of):
            for suspect in range(len(self.weight)):
                c = classes.get(suspect, -1)
                self.parts[probe][c] = self.parts[probe].get(c, 0) | 1 << suspect
        self.everyone = (1 << len(self.weight)) - 1
        self._best: dict[int, float] = {}

    def mass(self, suspects: int) -> float:
        return sum(w for n, w in enumerate(self.weight) if suspects >> n & 1)

    def split(self, suspects: int, probe: int) -> list[int]:
        return [part & suspects for part in self.parts[probe].values() if part & suspects]

    def best(self, suspects: int) -> float:
        """Least mean cost, weighed by how likely these suspects are."""
        if suspects & (suspects - 1) == 0:
            return 0.0
        found = self._best.get(suspects)
        if found is None:
            mass = self.mass(suspects)
            found = float("inf")
            for probe, minutes in enumerate(self.cost):
                parts = self.split(suspects, probe)
                if len(parts) > 1 and minutes * mass < found:
                    found = min(found, minutes * mass + sum(self.best(part) for part in parts))
            self._best[suspects] = found
        return found

    def searched(self, slips_of_it: tuple[Slip, ...]) -> float:
        """Mean cost of the search, until one suspect is left."""
        total = 0.0
        for suspect, weight in enumerate(self.weight):
            search = Diagnosis(self.made, slips_of_it, here=self.made.checkout.preparations[0].key)
            left = self.everyone
            for n in count():
                if left & (left - 1) == 0:
                    break
                asked = {i for o in search.taken for i, _ in o.either}
                advice = search.next_probe(lambda p, asked=asked: self.made.checkout.probes.index(p) not in asked)
                assert advice is not None, (n, bin(left))
                probe = self.made.checkout.probes.index(advice.probe)
                slip = self.groups[suspect - 1][0] if suspect else -1
                search.add(probe, self.made.reading(slip, probe))
                left &= self.parts[probe][self.class_of[probe].get(suspect, -1)]
                total += weight * self.cost[probe]
        return total


CASES = [
    ("ferry-cafe", "dead", 1),
    ("ferry-cafe", "control", 2),
    ("ferry-cafe", "cooking", 3),
    ("ferry-cafe", "Z1 released", 4),
    ("one hood", "dead", 5),
    ("one hood", "cooking", 6),
]


@pytest.mark.parametrize(("name", "preparation", "seed"), CASES)
def test_the_search_costs_little_more_than_the_best_tree(name: str, preparation: str, seed: int) -> None:
    """At most 1.15 times the mean cost of the optimal tree."""
    made, of_it = reduced(name, preparation, seed)
    assert 10 <= len(of_it) <= MOST_SLIPS
    tree = Tree(made, of_it)
    assert len(tree.weight) > 5
    best = tree.best(tree.everyone)
    searched = tree.searched(of_it)
    assert best <= searched * (1 + 1e-9)
    assert searched <= 1.15 * best, (searched / best, len(tree.weight), len(of_it))
