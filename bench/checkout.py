"""Check-out and diagnosis of the hospital: how long the table of readings, the plan, the next probe and pairs take.

Seconds are this process's own processor time on one core. The reference simulator solves the same slip networks in the
same run: for a random sample of slips, each in a random state of the check-out's script, the line-frequency and the DC
network as one text each, written beforehand, results not read. Its time is scaled to every slip in every state.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path
from statistics import median
from time import process_time

import numpy as np
from tests.checkout.planted import Planted
from tests.outside.spice import spice

from bench.figures import Figure, at_least, at_most
from galleyproof.checkout.acceptance import acceptance
from galleyproof.checkout.beliefs import Beliefs, Observation
from galleyproof.checkout.diagnosis import Diagnosis
from galleyproof.checkout.plan import make_plan
from galleyproof.checkout.signatures import Signatures
from galleyproof.checkout.whole import Bench
from galleyproof.circuit.export import Form, export_network
from galleyproof.circuit.network import build_network
from galleyproof.design.build import build_design
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.proof.slips import Slip, all_slips, apply

SAMPLE = 40
SEARCHES = 12
READINGS = 20
PAIRS = 40_000


def measure(job_file: Path) -> Iterator[Figure]:
    """Figures of one job."""
    job = read_job(job_file.read_bytes(), job_file.name)
    design, library = build_design(job), load_library()
    start = process_time()
    bench = Bench(job, design, library)
    probes_s = process_time() - start
    slips = all_slips(design, library)
    start = process_time()
    table = bench.signatures(slips)
    table_s = process_time() - start
    entries = sum(len(c) for c in table.changed)
    yield Figure(
        f"probes of {job_file.stem}, with their readings",
        f"{probes_s:.2f} s: {len(bench.checkout.probes):,} probes in {len(bench.checkout.preparations)} states",
    )
    yield Figure(
        "every slip at every probe",
        f"{table_s:.2f} s: {len(slips):,} slips, {entries:,} readings that differ, {len(slips) / table_s:,.0f} slips/s",
    )
    start = process_time()
    plan = make_plan(bench.checkout, table.expected, table.shows, acceptance(job, design, bench.checkout))
    plan_s = process_time() - start
    yield at_most("plan: cover proven to its optimum, and the order of work, from the readings", plan_s, 2.0, "s")
    yield Figure("  " + plan.words(), f"gap {plan.gap:g}")
    yield Figure(
        "  plan from the job in memory, probes and every slip included", f"{probes_s + table_s + plan_s:.1f} s"
    )
    yield from _simulator(bench, slips, table_s)
    yield from _next(table, slips)
    yield from _pairs(bench, table, slips)


def _simulator(bench: Bench, slips: tuple[Slip, ...], ours: float) -> Iterator[Figure]:
    """The same slip networks by the reference simulator."""
    simulator = spice()
    rng = random.Random("bench")
    right = bench.standing
    steps = [p.step for p in bench.checkout.preparations]
    texts: list[tuple[Form, str]] = []
    forms: tuple[Form, Form] = ("ac", "dc")
    hertz = right.machine.network.frequency_hz
    for slip in rng.sample(list(slips), SAMPLE):
        step = rng.choice(steps)
        network = build_network(apply(bench.design, slip), bench.library, hertz)

        def value_of(slot: str, step: int = step) -> object:
            return right.value(step, slot) if slot in right.machine.slot else False

        texts += [(form, simulator.prepared(export_network(network, value_of, form).text())) for form in forms]
    start = process_time()
    for form, text in texts:
        simulator.load(text)
        simulator.run(form, hertz)
    spent = process_time() - start
    scale = len(slips) * len(steps) / SAMPLE
    yield Figure(f"libngspice, {SAMPLE} slip networks, AC and DC", f"{spent:.3f} s")
    yield Figure(f"  scaled to {len(slips) * len(steps):,} networks", f"{spent * scale:,.0f} s")
    yield Figure("  every slip at every probe, faster", f"{spent * scale / ours:,.0f} x")


def _next(table: Signatures, slips: tuple[Slip, ...]) -> Iterator[Figure]:
    """Seconds to the next question, over whole searches."""
    planted = Planted(table, slips, 4)
    seconds = []
    for slip in planted.drawn(SEARCHES):
        search = Diagnosis(table, slips)
        for _ in range(READINGS):
            start = process_time()
            advice = None if search.sure else search.next_probe()
            seconds.append(process_time() - start)
            if advice is None:
                break
            probe = planted.place[advice.probe.key]
            search.add(probe, planted.taken(probe, table.reading(slip, probe)))
    yield at_most(f"next probe, median of {len(seconds)}", 1000.0 * median(seconds), 50.0, "ms")
    yield Figure("  longest", f"{1000.0 * max(seconds):.0f} ms")


def _pairs(bench: Bench, table: Signatures, slips: tuple[Slip, ...]) -> Iterator[Figure]:
    """Two slips at once: how often nothing feels both, and how fast such pairs are held against readings."""
    rng = random.Random("pairs")
    pairs = [tuple(rng.sample(range(len(slips)), 2)) for _ in range(PAIRS)]
    apart = np.array([bench.are_apart(slips[a], slips[b]) for a, b in pairs])
    yield Figure(f"of {PAIRS:,} random pairs nothing feels both slips", f"{apart.mean():.0%}")
    chosen = [pair for pair, alone in zip(pairs, apart.tolist(), strict=True) if alone][:10_000]
    start = process_time()
    for a, b in chosen:
        bench.apart(slips[a], slips[b])
    yield Figure(
        "  every probe's reading of such a pair", f"{len(chosen) / (process_time() - start):,.0f} pairs a second"
    )
    beliefs = Beliefs(table, slips)
    planted = Planted(table, slips, 5)
    a, b = chosen[0]
    both = bench.apart(slips[a], slips[b]) or {}
    for i in list(both)[:READINGS]:
        beliefs.observe(Observation(((i, planted.taken(i, both[i])),)))
    firsts = rng.sample(range(len(slips)), 300)
    counted = sum(bench.are_apart(slips[f], slip) for f in firsts for slip in slips)
    start = process_time()
    for f in firsts:
        beliefs.seconds(f)
    spent = process_time() - start
    yield at_least(
        f"pairs nothing feels both of, held against {READINGS} readings", counted / spent, 200_000, "pairs a second"
    )
    sampled = rng.sample([p for p, alone in zip(pairs, apart.tolist(), strict=True) if not alone], 40)
    start = process_time()
    for a, b in sampled:
        bench.pair(slips[a], slips[b])
    yield Figure(
        "pairs that something feels both of, simulated", f"{40 / (process_time() - start):,.0f} pairs a second"
    )
