"""The package as a whole process: seconds and memory."""

from __future__ import annotations

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
    for name, limit in LIMITS.items():
        slowest, largest_kb = 0.0, 0
        for _ in range(ROUNDS):
            with tempfile.TemporaryDirectory() as folder:
                call = [
                    sys.executable,
                    "-c",
                    _WATCHED,
                    "package",
                    str(examples / f"{name}.yaml"),
                    "-o",
                    f"{folder}/out",
                ]
                start = perf_counter()
                done = subprocess.run(call, capture_output=True, text=True, check=False)
                slowest = max(slowest, perf_counter() - start)
            # 0 all well, 1 findings; anything else did not do the work
            if done.returncode not in (0, 1):
                raise RuntimeError(f"{name}: exit {done.returncode}: {done.stderr[-2000:]}")
            largest_kb = max(largest_kb, int(done.stderr.split()[-1]))
        yield at_most(f"package {name}, whole process, slowest of {ROUNDS}", slowest, limit, "s")
        yield at_most(f"package {name}, most memory", largest_kb / 1024, 500.0, "MB")
