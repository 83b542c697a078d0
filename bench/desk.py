"""The search behind the pages, on the hospital: how long an answer takes, and what a check-out weighs where it is kept.

Milliseconds are this process's own processor time. People look for one planted mistake each from a reading that shows
it; then for two at once, where pairs have to be simulated on the way.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from pathlib import Path
from time import process_time

from bench.figures import Figure, at_least, at_most
from galleyproof.checkout.beliefs import Observation
from galleyproof.checkout.model import Reading
from galleyproof.checkout.signatures import Signatures
from galleyproof.web.book import checked_out, open_book, table_of
from galleyproof.web.desk import Desk, Question

ALONE, TWO, READINGS = 25, 6, 40


def measure(job_file: Path) -> Iterator[Figure]:
    """Figures of one job."""
    text = job_file.read_text(encoding="utf-8")
    start = process_time()
    book = checked_out(text, lambda _share, _words: None)
    yield Figure("the hospital's check-out for its pages, simulated and planned", f"{process_time() - start:.1f} s")
    yield at_most("what the server keeps of it", (len(book.pages) + len(book.table)) / 1e6, 10.0, "MB")
    start = process_time()
    opened = open_book(book)
    table = table_of(book, opened)
    yield at_most("unpacked", process_time() - start, 1.0, "s")
    desk = Desk(processes=False)
    desk.ask("hospital", text, book, None)
    draw = random.Random(20)
    shown = [n for n, key in enumerate(table.slips) if table.shows[key]]
    took: list[float] = []
    found = 0
    for _ in range(ALONE):
        slip = draw.choice(shown)
        ended = _search(desk, text, book, table, table.changed[slip], draw.choice(table.shows[table.slips[slip]]), took)
        group = next({table.slips[m] for m in g} for g in table.groups if slip in g)
        found += bool(ended) and ended[0] in group
    yield at_least(f"of {ALONE} planted mistakes found", found, ALONE - 1, "")
    took.sort()
    yield at_most("an answer with one mistake, median", 1000 * took[len(took) // 2], 100.0, "ms")
    yield at_most("an answer with one mistake, 95th percentile", 1000 * took[int(0.95 * len(took))], 300.0, "ms")
    pairs: list[float] = []
    for _ in range(TWO):
        a, b = draw.sample(shown, 2)
        both = {**table.changed[a], **table.changed[b]}
        _search(desk, text, book, table, both, table.shows[table.slips[a]][0], pairs)
    pairs.sort()
    yield Figure("an answer with two mistakes, median", f"{1000 * pairs[len(pairs) // 2]:.0f} ms")
    yield Figure("an answer with two mistakes, the longest (pairs are simulated)", f"{1000 * pairs[-1]:.0f} ms")


def _search(
    desk: Desk,
    text: str,
    book: object,
    table: Signatures,
    wrong: Mapping[int, Reading],
    first: int,
    took: list[float],
) -> tuple[str, ...]:
    """Follow the readings asked for; gives the first suspect's slips."""
    place = {p.key: i for i, p in enumerate(table.checkout.probes)}
    taken = [Observation(((first, wrong[first]),))]
    while True:
        start = process_time()
        answer = desk.ask("hospital", text, book, Question(tuple(taken)))  # type: ignore[arg-type]
        took.append(process_time() - start)
        assert answer is not None
        if answer.sure or not answer.probe or len(taken) >= READINGS:
            return answer.suspects[0].slips
        i = place[answer.probe]
        taken.append(Observation(((i, wrong.get(i, table.right[i])),)))
