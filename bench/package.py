"""The package as a whole process: seconds and memory.

Measured as an installed one runs: its bytecode is kept from a first run, which does not count. Processor seconds are
those of the process and of its copies together; they do not depend on what else the machine does.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from time import perf_counter

from bench.figures import Figure, at_most

ROUNDS = 3
LIMITS = {"school-kitchen": 3.0, "hospital": 8.0}
"""Longest run of each example that is taken. [s]"""

_WATCHED = """
import resource, sys
from galleyproof.cli import main
status = main(sys.argv[1:])
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, file=sys.stderr)
sys.exit(status)
"""


def measure(examples: Path) -> Iterator[Figure]:
    """Figures of the examples that have a limit; the slowest run counts."""
    with tempfile.TemporaryDirectory() as cache:
        env = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"} | {"PYTHONPYCACHEPREFIX": cache}
        for name, limit in LIMITS.items():
            path = examples / f"{name}.yaml"
            _run(path, env)
            runs = [_run(path, env) for _ in range(ROUNDS)]
            wall, processor, largest_kb = (max(run[i] for run in runs) for i in range(3))
            yield at_most(f"package {name}, whole process, slowest of {ROUNDS}", wall, limit, "s")
            yield Figure("  processor time of it, its copies included", f"{processor:.2f} s")
            yield at_most(f"package {name}, most memory", largest_kb / 1024, 500.0, "MB")


def _run(path: Path, env: dict[str, str]) -> tuple[float, float, float]:
    """Seconds of wall and of processor, and most memory [kB] of one run."""
    with tempfile.TemporaryDirectory() as folder:
        call = [sys.executable, "-c", _WATCHED, "package", str(path), "-o", f"{folder}/out"]
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        start = perf_counter()
        done = subprocess.run(call, capture_output=True, text=True, check=False, env=env)
        wall = perf_counter() - start
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    # 0 all well, 1 findings; anything else did not do the work
    if done.returncode not in (0, 1):
        raise RuntimeError(f"{path.stem}: exit {done.returncode}: {done.stderr[-2000:]}")
    processor = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return wall, processor, float(done.stderr.split()[-1])
