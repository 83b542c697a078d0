"""Mistakes planted in the good examples and searched for, with a meter's error and 2 % misread values.

Slips are drawn as often as the trade sees them. No search can need fewer readings on average than the entropy of what
there is to find, divided by the most that one reading can tell; that bound is far below what any search reaches, for
most readings have two answers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from statistics import mean

from tests.checkout.planted import Planted

from bench.figures import Figure, at_least
from galleyproof.checkout.whole import Bench
from galleyproof.design.build import build_design
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.proof.slips import all_slips

TRIALS = 1000
PAIRS = 200


def measure(job_files: Sequence[Path], trials: int = TRIALS, pairs: int = PAIRS) -> Iterator[Figure]:
    """Figures of each job."""
    library = load_library()
    for job_file in job_files:
        job = read_job(job_file.read_bytes(), job_file.name)
        design = build_design(job)
        bench, slips = Bench(job, design, library), all_slips(design, library)
        planted = Planted(bench.signatures(slips), slips, 20261125)
        ends = [planted.one(slip) for slip in planted.drawn(trials)]
        share = 100.0 * mean(right for right, _ in ends)
        yield at_least(f"{job_file.stem}: planted slips that end first, of {trials:,}", share, 99.0, "%")
        least = planted.bits() / planted.most_bits()
        yield Figure(
            f"  {planted.bits():.1f} bits to find, {planted.most_bits():.1f} the most one reading tells",
            f"{mean(n for _, n in ends):.1f} readings; none needs fewer than {least:.1f}",
        )
        named = tried = 0
        while tried < pairs:
            a, b = planted.pair()
            changed = bench.pair(a, b)
            if changed is None:
                continue
            tried += 1
            named += planted.two(a, b, changed, bench.pair)
        yield at_least(f"  both named, of {pairs:,} random pairs", 100.0 * named / tried, 85.0, "%")
