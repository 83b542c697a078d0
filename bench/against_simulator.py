"""The grid of the hospital: the project's solver beside libngspice, in one process and one run.

The simulator gets the same networks one after another: for every settled state of the grid (each situation, and the
moments within its delays, on which promises are judged too) the line-frequency and the DC network, one text each.
Texts are written beforehand and results are not read, so only its own work counts; reading a text in is part of it,
and is also shown apart. A sample of states, spread evenly over the grid, is measured and scaled to all of them. The
project's time is that of the whole proof: network, behaviours, delays and every promise.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from statistics import median
from time import perf_counter

from tests.outside.spice import spice

from bench.figures import Figure, at_least
from galleyproof.circuit.export import Form, export_network
from galleyproof.circuit.machine import Machine, State
from galleyproof.circuit.world import build_machine
from galleyproof.design.build import build_design
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.proof.grid import grid
from galleyproof.proof.prove import prove

ROUNDS = 5
SAMPLE = 100


FORMS: tuple[Form, Form] = ("ac", "dc")


def _text(machine: Machine, state: State, form: Form) -> str:
    return export_network(machine.network, lambda slot: machine.get(state, slot), form).text()


def measure(job_file: Path) -> Iterator[Figure]:
    """Figures of one job."""
    job = read_job(job_file.read_bytes(), job_file.name)
    design, library = build_design(job), load_library()
    machine, steps = build_machine(job, design, library), grid(job)
    after = {-1: machine.dark()}
    settled: list[State] = []
    for index, step in enumerate(steps):
        after[index] = machine.apply(after[step.parent], step.events, history=settled)
    networks = len(settled)
    sample = [settled[round(k * (networks - 1) / (SAMPLE - 1))] for k in range(SAMPLE)]
    simulator = spice()
    texts = [(form, simulator.prepared(_text(machine, state, form))) for state in sample for form in ("ac", "dc")]
    del after, settled, sample
    hertz = machine.network.frequency_hz
    proofs: list[float] = []
    load_s = run_s = 0.0
    for turn in range(ROUNDS):
        start = perf_counter()
        proof = prove(job, design, library)
        proofs.append(perf_counter() - start)
        for form, text in texts[turn::ROUNDS]:
            start = perf_counter()
            simulator.load(text)
            loaded = perf_counter()
            simulator.run(form, hertz)
            run_s += perf_counter() - loaded
            load_s += loaded - start
    ours = median(proofs)
    scale = networks / SAMPLE
    yield Figure(
        f"prove {job_file.stem}: {proof.situations} situations, {networks} settled states",
        f"{ours:.3f} s (median of {ROUNDS})",
    )
    yield Figure(f"libngspice, {SAMPLE} of the states, AC and DC", f"{load_s:.3f} s reading + {run_s:.3f} s solving")
    yield Figure(f"libngspice, scaled to {networks} states", f"{(load_s + run_s) * scale:.1f} s")
    yield at_least("prove faster than libngspice, networks one after another", (load_s + run_s) * scale / ours, 50, "x")
    yield Figure(
        "  counting one state a situation only", f"{(load_s + run_s) * proof.situations / SAMPLE / ours:.1f} x"
    )
    yield Figure("  were libngspice given its networks without reading them", f"{run_s * scale / ours:.1f} x")
