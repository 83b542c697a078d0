"""Cost against the number of hoods.

The exponent is the slope of a straight line through log(seconds) against log(hoods), by least squares. The number of
situations grows too (supplies and fire zones come with the hoods), so it is shown beside the seconds.
"""

from __future__ import annotations

from collections.abc import Iterator
from time import perf_counter

import numpy as np

from bench.figures import Figure, at_most
from galleyproof.design.build import build_design
from galleyproof.job.sample import job_of
from galleyproof.library.reader import load_library
from galleyproof.proof.prove import prove

HOODS = (1, 2, 4, 8, 16, 32)
ROUNDS = 5


def measure() -> Iterator[Figure]:
    """Figures for a job of each size: from the job in memory to its design and its proof."""
    library = load_library()
    seconds = []
    for hoods in HOODS:
        job = job_of(hoods)
        best = float("inf")
        for _ in range(ROUNDS):
            start = perf_counter()
            design = build_design(job)
            built = perf_counter()
            proof = prove(job, design, library)
            if perf_counter() - start < best:
                best, design_s = perf_counter() - start, built - start
        seconds.append(best)
        yield Figure(
            f"design and proof, {hoods} hood{'s' if hoods > 1 else ''}",
            f"{best:.3f} s, {design_s:.3f} s of it design; {proof.situations} situations, "
            f"{len(design.conductors)} conductors (best of {ROUNDS})",
        )
    slope = float(np.polyfit(np.log(HOODS), np.log(seconds), 1)[0])
    yield at_most("growth exponent over 1 to 32 hoods", slope, 1.3, "")
    yield Figure("  of the last doubling alone", f"{float(np.log2(seconds[-1] / seconds[-2])):.2f}")
