"""The single-slip study of the hospital beside libngspice, in one process and one run; growth with hoods.

The simulator would have to solve every slip's network in every settled state of the grid, line frequency and DC. It
gets a random sample of slips, each in a state of the grid of the right wiring, as whole netlists written beforehand;
its time for them is scaled to all slips and states. Results are not read, so only its own work counts. The project's
time is that of the whole study: networks, behaviours, delays, every promise of every slip in every situation, and the
words. Both are seconds of this process's own processor time on one core, so that a busy machine changes little.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path
from time import process_time

import numpy as np
from tests.outside.spice import spice

from bench.figures import Figure, at_least, at_most
from galleyproof.circuit.export import Form, export_network
from galleyproof.circuit.machine import State
from galleyproof.circuit.network import build_network
from galleyproof.circuit.world import build_machine
from galleyproof.design.build import build_design
from galleyproof.job.read import read_job
from galleyproof.job.sample import job_of
from galleyproof.library.reader import load_library
from galleyproof.proof.grid import grid
from galleyproof.proof.slips import all_slips, apply
from galleyproof.proof.study import study

SAMPLE = 60
HOODS = (1, 2, 4, 8, 16)


def measure(job_file: Path) -> Iterator[Figure]:
    """Figures of one job."""
    job = read_job(job_file.read_bytes(), job_file.name)
    design, library = build_design(job), load_library()
    slips = all_slips(design, library)
    start = process_time()
    done = study(job, design, library, slips)
    ours = process_time() - start
    machine, steps = build_machine(job, design, library), grid(job)
    after = {-1: machine.dark()}
    settled: list[State] = []
    for index, step in enumerate(steps):
        after[index] = machine.apply(after[step.parent], step.events, history=settled)
    networks = len(settled) * len(slips)
    simulator = spice()
    rng = random.Random("bench")
    forms: tuple[Form, Form] = ("ac", "dc")
    texts = []
    for slip in rng.sample(list(slips), SAMPLE):
        state = rng.choice(settled)
        network = build_network(apply(design, slip), library, machine.network.frequency_hz)

        def value_of(slot: str, state: State = state) -> object:
            return machine.get(state, slot) if slot in machine.slot else False

        texts += [(form, simulator.prepared(export_network(network, value_of, form).text())) for form in forms]
    load_s = run_s = 0.0
    for form, text in texts:
        start = process_time()
        simulator.load(text)
        loaded = process_time()
        simulator.run(form, machine.network.frequency_hz)
        run_s += process_time() - loaded
        load_s += loaded - start
    scale = networks / SAMPLE
    counts = ", ".join(f"{done.count(v)} {v}" for v in ("hidden", "announced", "obvious", "harmless"))
    yield Figure(f"study {job_file.stem}: {len(slips):,} slips in {done.situations:,} situations", counts)
    yield Figure("  slips times situations", f"{done.evaluations:,}, {done.evaluations / ours:,.0f} a second")
    yield Figure("  slips that needed the plain way", str(done.plainly))
    yield at_most(f"single-slip study of {job_file.stem}", ours, 2.0, "s")
    yield Figure(f"libngspice, {SAMPLE} slip networks, AC and DC", f"{load_s:.3f} s reading + {run_s:.3f} s solving")
    yield Figure(f"libngspice, scaled to {networks:,} networks", f"{(load_s + run_s) * scale:,.0f} s")
    faster = (load_s + run_s) * scale / ours
    yield at_least("study faster than libngspice, networks one after another", faster, 100, "x")
    yield Figure("  were libngspice given its networks without reading them", f"{run_s * scale / ours:,.0f} x")
    yield Figure(
        "  counting one state a situation only",
        f"{faster * done.situations / len(settled):,.0f} x",
    )
    yield from growth()


def growth() -> Iterator[Figure]:
    """Cost against the number of hoods."""
    library = load_library()
    seconds = []
    for hoods in HOODS:
        job = job_of(hoods)
        design = build_design(job)
        slips = all_slips(design, library)
        start = process_time()
        done = study(job, design, library, slips)
        seconds.append(process_time() - start)
        yield Figure(
            f"study, {hoods} hood{'s' if hoods > 1 else ''}",
            f"{seconds[-1]:.2f} s: {len(slips):,} slips in {done.situations:,} situations",
        )
    slope = float(np.polyfit(np.log(HOODS), np.log(seconds), 1)[0])
    yield at_most("growth exponent of the study over 1 to 16 hoods", slope, 1.3, "")
