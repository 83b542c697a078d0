"""Commands as whole processes, from start to exit, output included."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from time import perf_counter

from bench.figures import Figure, at_most

ROUNDS = 3


def _seconds(arguments: list[str]) -> float:
    start = perf_counter()
    done = subprocess.run([sys.executable, "-m", "galleyproof", *arguments], capture_output=True, check=False)
    seconds = perf_counter() - start
    # 0 all well, 1 findings; anything else did not do the work
    if done.returncode not in (0, 1):
        raise RuntimeError(f"{arguments}: exit {done.returncode}: {done.stderr.decode()[-2000:]}")
    return seconds


def measure(job_file: Path) -> Iterator[Figure]:
    """Figures of one job; the slowest run counts."""
    for verb in ("check", "prove"):
        worst = max(_seconds([verb, str(job_file)]) for _ in range(ROUNDS))
        yield at_most(f"{verb} {job_file.name}, whole process, slowest of {ROUNDS}", worst, 3.0, "s")
    worst = max(_seconds(["--help"]) for _ in range(ROUNDS))
    yield at_most(f"--help, whole process, slowest of {ROUNDS}", worst, 0.4, "s")
