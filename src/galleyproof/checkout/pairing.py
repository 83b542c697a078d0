"""Which pairs of slips are worth simulating, by what has been read so far.

To simulate every pair would take hours. Two slips mostly read as one of them wherever only that one shows; so a pair's
weight can be guessed from the readings of its slips alone, and only those are simulated whose guess matters. Where two
slips do to each other what neither does alone no guess helps: then those are tried that sit where the odd readings are.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from galleyproof.checkout.model import Probe

if TYPE_CHECKING:
    from galleyproof.checkout.beliefs import Beliefs, Seen

Pair = tuple[int, int]

MOST_LIKELY, MOST_OF_PARTS, MOST_NEARBY = 16, 8, 12
"""Pairs tried after one reading: of those likely by guess, of slips that each explain a part, of those nearby. [-]"""
MOST_BEHIND, MOST_ALIKE = 24, 24
"""The same: of those where the first slip hides the second, of those that read much like the likeliest pair. [-]"""
MEMBERS = 6
"""Slips in the likeliest hypotheses beside which a second one is looked for. [-]"""
WORTH = 0.01
"""Share of the likeliest hypothesis below which a pair's guessed weight does not matter yet. [ratio]"""
LEADS = 0.5
"""Share of all hypotheses from which one leads, so that those are tried that stand behind it or beside it. [ratio]"""
HIDDEN_FROM = 0.3
"""Share of what shows a slip that another one changes too, from which the two are simulated. [ratio]"""
ALIKE_FROM = 0.2
"""Share of their wrong readings from which two slips read alike. [ratio]"""
WIDEST = 80
"""Slips that each explain a part, of which pairs are made. [-]"""


class Pairing:
    """Looks for pairs.

    Args:
        beliefs: What has been seen, and what single slips and known pairs make of it.
    """

    def __init__(self, beliefs: Beliefs) -> None:
        self._beliefs = beliefs
        self._tried: set[Pair] = set()
        self._counts = np.bincount(beliefs.signatures.classes.slip_of, minlength=len(beliefs.slips))
        self._shown = self._counts > 0
        self._at: dict[str, list[int]] = {}
        for n, slip in enumerate(beliefs.slips):
            for device in {*slip.devices, *(t.device for t in slip.terminals)}:
                self._at.setdefault(device, []).append(n)

    def pairs(self) -> Iterator[Pair]:
        """Pairs to simulate now, none of them twice."""
        beliefs = self._beliefs
        if not any(seen.odd for seen in beliefs.seen):
            return
        yield from self._new(self._likely(), MOST_LIKELY)
        members, changed = beliefs.best()
        if beliefs.lead() >= LEADS:
            if len(members) == 1:
                yield from self._new(self._hidden(members[0]), MOST_BEHIND)
            else:
                yield from self._new(self._alike(members), MOST_ALIKE)
        unexplained = beliefs.unexplained(changed)
        if len(unexplained) >= beliefs.more_than_misread():
            yield from self._new(self._of_parts(), MOST_OF_PARTS)
        yield from self._new(self._nearby(members, unexplained), MOST_NEARBY)

    def _new(self, found: Iterable[Pair], most: int) -> Iterator[Pair]:
        fresh = (p for p in ((min(p), max(p)) for p in found) if p not in self._tried)
        for pair in islice(fresh, most):
            self._tried.add(pair)
            yield pair

    def _members(self) -> list[int]:
        """Slips of the likeliest hypotheses, the likeliest first."""
        beliefs = self._beliefs
        singles, pairs = beliefs.singles(), beliefs.of_pairs()
        names = list(beliefs.pairs)
        ranked = [(float(singles[s]), (int(s),)) for s in np.argsort(-singles, kind="stable")[: 2 * MEMBERS]]
        ranked += [(float(pairs[n]), names[n]) for n in np.argsort(-pairs, kind="stable")[:MEMBERS]]
        found: dict[int, int] = {}
        for _, slips in sorted(ranked, key=lambda one: -one[0]):
            for s in slips:
                found.setdefault(int(beliefs.group_of[s]), s)
        return list(found.values())[:MEMBERS]

    def _likely(self) -> list[Pair]:
        """Pairs by their guessed weights, the likeliest first; of a group that no probe separates the commonest."""
        beliefs = self._beliefs
        least = WORTH * beliefs.likeliest()
        found: list[tuple[float, Pair]] = []
        for first in self._members():
            weights = beliefs.alongside(first)
            seen: set[int] = set()
            for s in np.argsort(-weights, kind="stable")[: 4 * MOST_LIKELY].tolist():
                group = int(beliefs.group_of[s])
                if weights[s] < least or len(seen) > MOST_LIKELY:
                    break
                if group not in seen and group != beliefs.group_of[first]:
                    seen.add(group)
                    found.append((float(weights[s]), (first, s)))
        return [pair for _, pair in sorted(found, key=lambda one: -one[0])]

    def _of_parts(self) -> Iterator[Pair]:
        """Pairs of slips that each explain a part of what was read wrong."""
        beliefs = self._beliefs
        odd = [n for n, seen in enumerate(beliefs.seen) if seen.odd]
        table = np.array([seen.explained for seen in beliefs.seen])
        explains = table[odd]
        spoils = (~table).sum(axis=0) - (~explains).sum(axis=0)
        by_group: dict[int, int] = {}
        for s in np.flatnonzero(explains.any(axis=0)).tolist():
            g = int(beliefs.group_of[s])
            if g not in by_group or beliefs.prior[s] > beliefs.prior[by_group[g]]:
                by_group[g] = s
        useful = sorted(
            by_group.values(), key=lambda s: (int(spoils[s]) - int(explains[:, s].sum()), -beliefs.prior[s])
        )[:WIDEST]
        mine = explains[:, useful].astype(np.int64)
        count = mine.sum(axis=0)
        together = count[:, None] + count[None, :] - mine.T @ mine
        more = np.triu(together > np.maximum(count[:, None], count[None, :]), 1)
        found: list[tuple[float, int, int]] = []
        for i, j in np.argwhere(more).tolist():
            a, b = useful[i], useful[j]
            missed = len(odd) - int(together[i, j]) + 0.5 * int(spoils[a] + spoils[b])
            found.append((missed - 0.1 * math.log(beliefs.prior[a] * beliefs.prior[b]), a, b))
        return ((a, b) for _, a, b in sorted(found))

    def _hidden(self, first: int) -> list[Pair]:
        """Slips that show mostly where a first one changes the reading too, the most hidden first.

        No guess tells what the two read there.
        """
        beliefs = self._beliefs
        share = beliefs.hidden(first)
        behind = self._shown & (share >= HIDDEN_FROM) & (beliefs.group_of != beliefs.group_of[first])
        ranked = sorted(np.flatnonzero(behind).tolist(), key=lambda s: (-share[s], -beliefs.prior[s], s))
        return [(first, s) for s in ranked]

    def _alike(self, pair: Sequence[int]) -> list[Pair]:
        """A pair with one of its slips replaced by another that reads much like it, the likest first."""
        prior = self._beliefs.prior
        found: list[tuple[float, float, Pair]] = []
        for kept, replaced in (tuple(pair), tuple(reversed(pair))):
            share = self._likeness(replaced)
            likes = [s for s in np.flatnonzero(share >= ALIKE_FROM).tolist() if s not in (kept, replaced)]
            found += [(-float(share[s]), -float(prior[s]), (kept, s)) for s in likes]
        return [p for _, _, p in sorted(found)]

    def _likeness(self, slip: int) -> NDArray[np.float64]:
        """Share of the wrong readings of each slip and another one that both have."""
        table = self._beliefs.signatures.classes
        own = np.zeros(int(table.first[-1]), dtype=np.bool_)
        own[table.of_slip(slip)] = True
        both = np.bincount(table.slip_of[own[table.class_of]], minlength=len(self._counts))
        share: NDArray[np.float64] = both / np.maximum(self._counts + self._counts[slip] - both, 1)
        return share

    def _nearby(self, members: Sequence[int], unexplained: Iterable[Seen]) -> Iterator[Pair]:
        """Slips where two or more readings are that the likeliest hypothesis leaves unexplained, beside its own."""
        beliefs = self._beliefs
        probes = beliefs.signatures.checkout.probes
        places = Counter(p for seen in unexplained for p in {p for i, _, _ in seen.columns for p in _places(probes[i])})
        score: dict[int, float] = {}
        for place, count in sorted(places.items()):
            there = self._at.get(place, ())
            for s in there if count > 1 else ():
                # few slips sit there: the place says much
                score[s] = score.get(s, 0.0) + count / len(there)
        for s in sorted(score, key=lambda s: (-score[s], -beliefs.prior[s], s)):
            yield from ((m, s) for m in members if beliefs.group_of[m] != beliefs.group_of[s])


def _places(probe: Probe) -> set[str]:
    """Devices a reading is about."""
    return {probe.about, *(t.device for t in (probe.red, probe.black) if t is not None)}
