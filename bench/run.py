"""Speed and scale figures, each beside its target: ``python bench/run.py``.

Ends with 1 when a target is missed.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT))
# Threads inside one small matrix only cost time; must be said before the arrays are loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from rich.console import Console  # noqa: E402 - after the setting above
from rich.table import Table  # noqa: E402

from bench import (  # noqa: E402
    against_simulator,
    app,
    checkout,
    claims,
    commands,
    desk,
    drawings,
    growth,
    live,
    lost,
    package,
    planted,
    savings,
    sizing,
    study,
)

GOOD = ("ferry-cafe", "school-kitchen", "hospital")
"""Examples without a planted fault in their own wiring."""
ALL = (None, None, 300)
"""How many slips of each the plan's claims are tried on; None for all."""


def main() -> int:
    """Run every bench and print one table."""
    hospital = ROOT / "examples" / "hospital.yaml"
    parts = (
        ("against the reference simulator", against_simulator.measure(hospital)),
        ("whole commands", commands.measure(hospital)),
        ("growth", growth.measure()),
        ("drawings", drawings.measure(sorted((ROOT / "examples").glob("*.yaml")))),
        ("the app", app.measure(ROOT / "examples")),
        ("the live drawing", live.measure(hospital)),
        ("the package", package.measure(ROOT / "examples")),
        ("the year", savings.measure(hospital)),
        ("sizing", sizing.measure(hospital)),
        ("the study of every slip", study.measure(hospital)),
        ("check-out and diagnosis", checkout.measure(hospital)),
        ("the search behind the pages", desk.measure(hospital)),
        (
            "the plan's claims",
            claims.measure(dict(zip((ROOT / "examples" / f"{n}.yaml" for n in GOOD), ALL, strict=True))),
        ),
        ("killed while people write", lost.measure()),
        ("planted mistakes", planted.measure([ROOT / "examples" / f"{name}.yaml" for name in GOOD])),
    )
    table = Table(title="Speed and scale", title_justify="left")
    for column in ("what", "figure", "target", "met"):
        table.add_column(column, overflow="fold")
    missed = 0
    for title, figures in parts:
        table.add_section()
        table.add_row(f"[bold]{title}")
        for figure in figures:
            met = {None: "", True: "met", False: "[bold]NOT MET"}[figure.met]
            table.add_row(figure.what, figure.value, figure.target, met)
            missed += figure.met is False
    Console(width=None if sys.stdout.isatty() else 150).print(table)
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
