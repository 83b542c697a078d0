"""Mistakes planted in the good examples and searched for, with a meter's error and 2 % misread values.

Slips are drawn as often as the trade sees them. No search can need fewer readings on average than the entropy of what
there is to find, divided by the most that one reading can tell; that bound is far below what any search reaches, for
most readings have two answers, and a search that begins without a complaint has to look at everything first.

A search goes on until it ends by itself. How sure it has to be before it ends was set on searches drawn with the seed
20261125, which the tests still use; what is measured here is drawn with another one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from statistics import mean, median
from time import process_time

from tests.checkout.planted import Planted

from bench.figures import Figure, at_least
from galleyproof.checkout.whole import Bench
from galleyproof.design.build import build_design
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.proof.slips import all_slips

TRIALS = 1000
PAIRS = 200
SEED = 4821
"""Of what is drawn here; nothing was set by it. [-]"""
SOON = 80
"""Readings, about a day's work, within which pairs are counted apart. [-]"""


def measure(job_files: Sequence[Path], trials: int = TRIALS, pairs: int = PAIRS) -> Iterator[Figure]:
    """Figures of each job."""
    library = load_library()
    for job_file in job_files:
        job = read_job(job_file.read_bytes(), job_file.name)
        design = build_design(job)
        bench, slips = Bench(job, design, library), all_slips(design, library)
        planted = Planted(bench.signatures(slips), slips, SEED)
        ends = [planted.one(slip) for slip in planted.drawn(trials)]
        share = 100.0 * mean(right for right, _ in ends)
        yield at_least(f"{job_file.stem}: planted slips that end first, of {trials:,}", share, 99.0, "%")
        least = planted.bits() / planted.most_bits()
        yield Figure(
            f"  {planted.bits():.1f} bits to find, {planted.most_bits():.1f} the most one reading tells",
            f"{_readings([n for _, n in ends])}; none needs fewer than {least:.1f}",
        )
        both: list[tuple[bool, bool, int]] = []
        start = process_time()
        while len(both) < pairs:
            a, b = planted.pair()
            changed = bench.pair(a, b)
            if changed is not None:
                both.append(planted.two(a, b, changed, bench.pair))
        spent = process_time() - start
        named = 100.0 * mean(right for right, _, _ in both)
        yield at_least(f"  both named, of {pairs:,} random pairs", named, 85.0, "%")
        missed = sum(told and not right for right, told, _ in both)
        alike = sum(not told and not right for right, told, _ in both)
        yield Figure("  not named", f"{missed} that a probe could tell, {alike} that none tells from what is named")
        soon = 100.0 * mean(right and n <= SOON for right, _, n in both)
        yield Figure("  readings for two", f"{_readings([n for *_, n in both])}; {soon:.0f} % named within {SOON}")
        yield Figure("  a search for two, the pairs it tries simulated", f"{spent / max(pairs, 1):.1f} s")


def _readings(counts: Sequence[int]) -> str:
    return f"{mean(counts):.1f} readings on average, {median(counts):.0f} in the middle, {max(counts)} at most"
