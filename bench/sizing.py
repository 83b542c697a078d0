"""Sizing: the hospital in a fresh process, and a year's archive of a thousand jobs on two cores.

The archive is made of jobs of one to sixteen hoods whose lengths, temperatures, ways of sharing raceways and editions
differ, so that no two ask the same.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter

from bench.figures import Figure, at_most
from galleyproof.cli.main import collect_seldom
from galleyproof.design.build import build_design
from galleyproof.job.model import Codes, Job, Route, Site
from galleyproof.job.sample import job_of
from galleyproof.job.wiring import Wiring
from galleyproof.library.reader import load_library
from galleyproof.sizing import size

ROUNDS = 3
JOBS = 1000
CORES = 2
MAX_HOODS = 16
# Memory is flat when the last four fifths of the archive add no more than this. [MB]
MAX_GROWTH_MB = 20.0

_SHARING = ("power runs apart", "each run apart", "runs of a class together")
_FRESH = """
import json, sys
from pathlib import Path
from time import perf_counter
from galleyproof.design.build import build_design
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.sizing import size
file = Path(sys.argv[1])
job = read_job(file.read_bytes(), file.name)
design, library = build_design(job), load_library()
start = perf_counter()
first = size(job, design, library)
cold = perf_counter() - start
start = perf_counter()
size(job, design, library)
print(json.dumps([cold, perf_counter() - start, len(first.numbers), len(first.conductors), len(first.raceways)]))
"""


@dataclass(frozen=True)
class Share:
    """What one core did.

    Attributes:
        seconds: From jobs in memory to their sizes, designs included. [s]
        sizing_s: Of it sizing. [s]
        numbers: Numbers worked out.
        early_mb: Largest memory after a fifth of the jobs. [MB]
        late_mb: The same after all. [MB]
    """

    seconds: float
    sizing_s: float
    numbers: int
    early_mb: float
    late_mb: float


def job_number(n: int) -> Job:
    """One job of the archive, the same each time."""
    job = job_of(1 + n % MAX_HOODS)
    routes = tuple(
        Route(tag=r.tag, to=r.to, length=r.length + float((7 * n + 13 * k) % 120)) for k, r in enumerate(job.routes)
    )
    return job.model_copy(
        update={
            "routes": routes,
            "codes": Codes(nec=2023 if n % 3 else 2020),
            "site": Site(roof_ambient=86.0 + n % 45, kitchen_ambient=80.0 + n % 25),
            "wiring": Wiring(sharing=_SHARING[n % 3], least_power_awg="12" if n % 2 else "14"),
        }
    )


def _archive(numbers: range) -> Share:
    collect_seldom()  # as every command does
    library = load_library()
    jobs = [job_number(n) for n in numbers]
    start, sizing_s, count, early = perf_counter(), 0.0, 0, 0.0
    for done, job in enumerate(jobs, start=1):
        design = build_design(job)
        began = perf_counter()
        count += len(size(job, design, library).numbers)
        sizing_s += perf_counter() - began
        if done == len(jobs) // 5:
            early = _memory_mb()
    return Share(perf_counter() - start, sizing_s, count, early, _memory_mb())


def _memory_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def measure(hospital: Path) -> Iterator[Figure]:
    """Figures of the hospital and of the archive."""
    runs = [_fresh(hospital) for _ in range(ROUNDS)]
    cold = max(run[0] for run in runs)
    yield at_most(f"{hospital.name} sized after start, nothing remembered, slowest of {ROUNDS}", cold, 0.3, "s")
    _, warm, numbers, conductors, raceways = runs[-1]
    yield Figure(
        "  the same again",
        f"{warm:.3f} s; {numbers:.0f} numbers, {conductors:.0f} conductors, {raceways:.0f} raceways",
    )
    start = perf_counter()
    with ProcessPoolExecutor(CORES) as pool:
        shares = list(pool.map(_archive, [range(core, JOBS, CORES) for core in range(CORES)]))
    seconds = perf_counter() - start
    yield at_most(f"{JOBS} jobs of 1 to {MAX_HOODS} hoods on {CORES} cores, designs included", seconds, 60.0, "s")
    yield Figure(
        "  of it sizing, each core",
        ", ".join(f"{share.sizing_s:.1f} s" for share in shares) + f"; {sum(s.numbers for s in shares)} numbers",
    )
    growth = max(share.late_mb - share.early_mb for share in shares)
    yield at_most(
        f"memory from job {JOBS // 5 // CORES} to job {JOBS // CORES} of a core "
        f"(up to {max(s.late_mb for s in shares):.0f} MB)",
        growth,
        MAX_GROWTH_MB,
        "MB",
    )


def _fresh(job_file: Path) -> list[float]:
    done = subprocess.run([sys.executable, "-c", _FRESH, str(job_file)], capture_output=True, check=True, text=True)
    return [float(v) for v in json.loads(done.stdout)]
