"""The year of the hospital, and a thousand drawn years, on one core."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from time import perf_counter

from bench.figures import Figure, at_most
from galleyproof.job.read import read_job
from galleyproof.savings.calendar import lay_out
from galleyproof.savings.of_job import of_job
from galleyproof.savings.read import read_weather
from galleyproof.savings.spread import Widths, draw, drawn_savings
from galleyproof.savings.year import run_year

ROUNDS = 3
YEARS = 1000


def measure(job_file: Path) -> Iterator[Figure]:
    """Figures of one job; the slowest run counts."""
    weather_file = job_file.parent / "weather" / "greensboro-tmy3.csv"
    job = read_job(job_file.read_text(encoding="utf-8"), str(job_file))
    text = weather_file.read_text(encoding="ascii")
    reading, running, drawing = [], [], []
    for _ in range(ROUNDS):
        start = perf_counter()
        weather = read_weather(text, str(weather_file))
        reading.append(perf_counter() - start)
        start = perf_counter()
        made = of_job(job)
        usage = lay_out(made.schedule, weather, [h.tag for h in made.plant.hoods])
        year = run_year(made.plant, usage, weather)
        running.append(perf_counter() - start)
        start = perf_counter()
        drawn_savings(year, draw(Widths(), YEARS, 1), "constant volume")
        drawing.append(perf_counter() - start)
    yield at_most(f"a year of {job_file.name} in three cases, slowest of {ROUNDS}", max(running), 0.2, "s")
    yield at_most(f"{YEARS:,} drawn years of {job_file.name}, slowest of {ROUNDS}", max(drawing), 10.0, "s")
    yield at_most(f"reading 8,760 hours of weather, slowest of {ROUNDS}", max(reading), 1.0, "s")
