"""The plan's claims by brute force: every slip of an example built into a machine of its own, every probe read in it.

What is said to be caught has to move a reading of the sheet beyond its band; what is said to be told by no reading must
not move one of all possible readings. The tests draw a few slips; here all are tried, of the hospital a random draw.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from pathlib import Path

from bench.figures import Figure, at_most
from galleyproof.checkout.acceptance import acceptance
from galleyproof.checkout.plan import make_plan
from galleyproof.checkout.whole import Bench
from galleyproof.design.build import build_design
from galleyproof.errors import CircuitError
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.proof.slips import all_slips


def measure(job_files: Mapping[Path, int | None]) -> Iterator[Figure]:
    """Figures of each job.

    Args:
        job_files: Job file -> how many slips are drawn; None for all.
    """
    library = load_library()
    for job_file, most in job_files.items():
        job = read_job(job_file.read_bytes(), job_file.name)
        design = build_design(job)
        bench, slips = Bench(job, design, library), all_slips(design, library)
        table = bench.signatures(slips)
        sheet = make_plan(bench.checkout, table.expected, table.shows, acceptance(job, design, bench.checkout))
        at = {p.key: i for i, p in enumerate(bench.checkout.probes)}
        planned = {at[r.probe.key] for r in sheet.readings}
        silent = set(sheet.uncatchable)
        drawn = list(slips) if most is None else random.Random(job_file.stem).sample(list(slips), most)
        missed: list[str] = []
        told: list[str] = []
        unsolved = 0
        for slip in drawn:
            try:
                changed = bench.plainly(slip.change)
            except CircuitError:
                unsolved += 1
                continue
            wrong = {i for i, r in changed.items() if not table.expected[i].holds(r)}
            if slip.key in silent:
                told += [slip.key] * bool(wrong)
            elif not wrong & planned:
                missed.append(slip.key)
        count = sum(s.key in silent for s in drawn)
        name = f"{job_file.stem}: of {len(drawn):,} slips built anew"
        yield at_most(f"{name}, said to be caught and not ({len(drawn) - count:,})", len(missed), 0, "")
        yield at_most(f"  said to be told by no reading and told ({count:,})", len(told), 0, "")
        yield Figure("  without a solution when built anew", str(unsolved))
        for key in [*missed, *told]:
            yield Figure("  wrong", key)
