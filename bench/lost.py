"""Two hundred kills on each database: what was acknowledged is there."""

from __future__ import annotations

import tempfile
from pathlib import Path
from time import perf_counter

from tests.killing import Tally, kill_often, lost

from bench.figures import Figure

KILLS = 200


def measure(kills: int = KILLS) -> list[Figure]:
    """Kill the server at random moments while people write, on a file and on PostgreSQL."""
    with tempfile.TemporaryDirectory() as folder:
        figures = [_told("SQLite", f"sqlite:///{Path(folder) / 'jobs.db'}", kills, seed=11)]
    figures.append(_postgres(kills))
    return figures


def _postgres(kills: int) -> Figure:
    from tests.postgres import Server, programs

    found = programs()
    if found is None:
        return Figure("kills on PostgreSQL", "not installed here", f"{kills}, none lost", False)
    server = Server(found)
    server.stop()
    server.start(safe=True)

    def power_cut() -> None:
        server.stop()
        server.start(safe=True)

    try:
        return _told("PostgreSQL, its own power cut 20 times", server.new_url(), kills, seed=12, power_cut=power_cut)
    finally:
        server.remove()


def _told(where: str, url: str, kills: int, **given: object) -> Figure:
    began = perf_counter()
    tally: Tally = kill_often(url, kills, **given)  # type: ignore[arg-type]
    missing = lost(url, tally)
    value = (
        f"{len(tally.saves):,} saves, {len(tally.entries):,} readings acknowledged, {tally.cut_off:,} cut off, "
        f"{len(missing)} lost, {perf_counter() - began:.0f} s"
    )
    good = tally.kills == kills and not missing and not tally.strange
    return Figure(f"{kills} kills on {where}", value, "none lost", good)
