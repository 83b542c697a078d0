"""Breakers, conductors and raceways that the job states."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from galleyproof.design.recipes.hoods import LIGHT_CONTACT_A
from galleyproof.findings import Finding
from galleyproof.job.model import Circuit, Job
from galleyproof.review.cures.registry import cure
from galleyproof.review.cures.tags import feeds, free_circuits, new_circuit, volts_of
from galleyproof.review.edits import GONE, NEW, Edit, Move, Path, one
from galleyproof.review.whole import Papers
from galleyproof.tables.protection import standard_ratings_a
from galleyproof.units import AWG_SIZES

STEPS = 8
"""Standard ratings or sizes looked at on either side of what is stated. [-]"""

RATING = "{:g} A satisfies both its loads and its conductors"
CARRIES = "the conductors carry, and keep, what they have to"

# Interrupting and short-circuit ratings as they are usual in the trade: common practice. [A]
FAULT_RATINGS_A = (5000.0, 10000.0, 14000.0, 18000.0, 22000.0, 25000.0, 35000.0, 42000.0, 65000.0, 100000.0, 200000.0)


def nearest(values: Iterable[float], stated: float) -> Iterator[tuple[float, float]]:
    """Other values, the nearest first on either side, each with a weight that grows with its distance."""
    ordered = sorted(values)
    above, below = [v for v in ordered if v > stated], [v for v in reversed(ordered) if v < stated]
    for n in range(STEPS):
        for side in (above, below):
            if n < len(side):
                yield side[n], 0.01 * n


def circuit_of(papers: Papers, item: str) -> Circuit | None:
    """The circuit that an item is, or whose numbers name the item."""
    tags = [item, *(n.circuit for n in papers.sizes.of_item.get(item, ()))]
    return next((c for t in tags for c in papers.job.circuits if c.tag == t), None)


# --- protection -------------------------------------------------------------------------------------------------


@cure("OCPD-HIGH", "OCPD-LOW", "OCPD-RATING", "OCPD-NONE", "PROMISE-WORKS")
def rating(_job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """Another standard rating."""
    circuit = circuit_of(papers, finding.item)
    if circuit is None:
        circuit = next(
            (c for h in papers.job.hoods for a in h.appliances if a.tag == finding.item for c in papers.job.circuits
             if c.tag == a.circuit), None
        )  # fmt: skip
    if circuit is None:
        return
    path = ("circuits", circuit.tag, "breaker")
    first = {"OCPD-HIGH": "largest", "OCPD-RATING": ""}.get(finding.code, "smallest")
    for n in papers.sizes.of_item.get(circuit.tag, ()):
        # what sizing itself comes to is tried before everything around it
        value = n.result.value
        if first and n.what.startswith(first) and isinstance(value, float) and value != circuit.breaker:
            yield one(path, value, RATING.format(value), 2.9)
    yield from _ratings(papers, path, circuit.breaker, circuit.device == "breaker")


def _ratings(papers: Papers, path: Path, stated: float, breaker: bool) -> Iterator[Move]:
    edition = "2020" if papers.sizes.edition == "2020" else "2023"
    values = standard_ratings_a("inverse_time_breaker" if breaker else "fuse", edition).value  # type: ignore[arg-type]
    for value, far in nearest(values, stated):
        yield one(path, value, RATING.format(value), 3.0 + far)


@cure("FEEDER-LOW", "FEEDER-HIGH")
def feeder_rating(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """Another standard rating for a feeder."""
    board = next((p for p in job.panelboards if p.tag == finding.item), None)
    if board is not None and board.feeder is not None and board.feeder.protection is not None:
        path = ("panelboards", board.tag, "feeder", "protection")
        yield from _ratings(papers, path, board.feeder.protection, board.feeder.device == "breaker")


@cure("OCPD-INTERRUPT")
def interrupting(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """A device that can open what is available."""
    circuit = next((c for c in job.circuits if c.tag == finding.item), None)
    board = next((p for p in job.panelboards if circuit and p.tag == circuit.panelboard), None)
    supply = next((s for s in job.supplies if board and s.tag == board.supply), None)
    if circuit is not None and supply is not None:
        path = ("circuits", circuit.tag, "interrupting_rating")
        yield from fault_rating(path, supply.available_fault, "the device can open what is available")


def fault_rating(path: Path, available_a: float, why: str) -> Iterator[Move]:
    """The smallest usual rating that is enough."""
    value = next((a for a in FAULT_RATINGS_A if a >= available_a), None)
    if value is not None:
        yield one(path, value, why, 3.0)


# --- conductors -------------------------------------------------------------------------------------------------


@cure("WIRE-TERMINAL", "WIRE-PROTECTION", "WIRE-DERATED", "WIRE-THIN", "DROP-HIGH", "DROP-TOTAL")
def conductor(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """A larger size, or a smaller device where that is what fails; how terminals are marked is not ours to claim."""
    board = next((p for p in job.panelboards if p.tag == finding.item), None)
    if board is not None and board.feeder is not None:
        yield from _larger(("panelboards", board.tag, "feeder", "awg"), board.feeder.awg)
        return
    circuit = circuit_of(papers, finding.item)
    if circuit is None:
        return
    yield from _larger(("circuits", circuit.tag, "awg"), circuit.awg)
    if job.panel.power_awg is not None:
        yield from _larger(("panel", "power_awg"), job.panel.power_awg)
    if finding.code == "WIRE-PROTECTION":
        path = ("circuits", circuit.tag, "breaker")
        for move in _ratings(papers, path, circuit.breaker, circuit.device == "breaker"):
            if move.edits[0].value < circuit.breaker:
                yield move


@cure("TERMINAL-SMALL")
def thinner(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """A stated size that the terminal takes, as long as it still carries what it has to."""
    circuit = circuit_of(papers, finding.item)
    stated: list[tuple[Path, str | None]] = [(("panel", "power_awg"), job.panel.power_awg)]
    if circuit is not None:
        stated.append((("circuits", circuit.tag, "awg"), circuit.awg))
    if circuit is None or circuit.tag == job.panel.circuit:
        stated.append((("panel", "control_awg"), job.panel.control_awg))
    for path, size in stated:
        below = AWG_SIZES[: AWG_SIZES.index(size)] if size is not None else ()
        for n, smaller in enumerate(reversed(below[-3:])):
            yield one(path, smaller, "the terminal takes it, and it still carries what it has to", 3.0 + 0.01 * n)


def _larger(path: Path, stated: str | None, why: str = CARRIES) -> Iterator[Move]:
    """The next larger sizes; last, a size that sizing chooses."""
    if stated is None:
        return
    start = AWG_SIZES.index(stated) + 1
    for n, size in enumerate(AWG_SIZES[start : start + STEPS]):
        yield one(path, size, why, 3.0 + 0.01 * n)
    yield one(path, None, "the size is left to sizing", 3.5)


@cure("GROUND-THIN")
def ground(_job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """A larger equipment ground."""
    circuit = circuit_of(papers, finding.item)
    if circuit is not None:
        yield from _larger(
            ("circuits", circuit.tag, "ground_awg"), circuit.ground_awg, "the ground fits its device and its conductors"
        )


@cure("CONTROL-THIN", "COIL-PICKUP")
def control(job: Job, _finding: Finding, papers: Papers) -> Iterator[Move]:
    """Larger control conductors, or a smaller device ahead of them."""
    yield from _larger(("panel", "control_awg"), job.panel.control_awg)
    circuit = next((c for c in job.circuits if c.tag == job.panel.circuit), None)
    if circuit is not None:
        path = ("circuits", circuit.tag, "breaker")
        for move in _ratings(papers, path, circuit.breaker, circuit.device == "breaker"):
            if move.edits[0].value < circuit.breaker:
                yield move


@cure("INSULATION-WET")
def insulation(_job: Job, _finding: Finding, _papers: Papers) -> Iterator[Move]:
    """Insulation for wet places."""
    yield one(("wiring", "insulation"), "THWN-2", "insulation that may lie in wet places", 3.0)


# --- raceways ---------------------------------------------------------------------------------------------------


@cure("RACEWAY-FULL")
def larger_raceway(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """The size its contents need, or their own raceways."""
    stated = next((r for r in job.raceways if r.tag == finding.item), None)
    if stated is None:
        return
    number = papers.sizes.by_key.get(f"{stated.tag} trade size")
    if stated.trade_size is not None and number is not None and number.result.value != stated.trade_size:
        path = ("raceways", stated.tag, "trade_size")
        yield one(path, number.result.value, "its contents then fill no more than is allowed", 3.0)
    yield one(("raceways", stated.tag), GONE, "its runs get raceways of their own", 4.0)


@cure("RACEWAY-CLASSES")
def apart(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """What may not lie together gets raceways of its own: runs of one class are taken out."""
    stated = next((r for r in job.raceways if r.tag == finding.item), None)
    if stated is None:
        return
    classes = {c.tag: str(c.energy_class) for c in papers.design.cables}
    for cls in dict.fromkeys(classes[r] for r in stated.runs if r in classes):
        kept = tuple(r for r in stated.runs if classes.get(r) != cls)
        if kept:
            gone = ", ".join(r for r in stated.runs if classes.get(r) == cls)
            yield one(("raceways", stated.tag, "runs"), kept, f"{gone} ({cls}) in a raceway of its own", 4.0)
    yield one(("raceways", stated.tag), GONE, "every run gets a raceway with its own class", 4.5)


@cure("RACEWAY-RUN")
def known_runs(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """Only runs that the design has."""
    stated = next((r for r in job.raceways if r.tag == finding.item), None)
    if stated is None:
        return
    known = {c.tag for c in papers.design.cables}
    others = {run for r in job.raceways if r.tag < stated.tag for run in r.runs}
    runs = tuple(r for r in stated.runs if r in known and r not in others)
    if runs and runs != stated.runs:
        yield one(("raceways", stated.tag, "runs"), runs, "names runs that the design has, once", 1.0)
    elif not runs:
        yield one(("raceways", stated.tag), GONE, "it holds nothing that the design has", 1.0)
    kept = tuple(r for r in stated.reclassified if r in stated.runs)
    if kept != stated.reclassified:
        yield one(("raceways", stated.tag, "reclassified"), kept, "reclassifies only what lies in it", 1.0)


# --- lights -----------------------------------------------------------------------------------------------------


@cure("OCPD-LOW", "DROP-NONE", "TERMINAL-SMALL", "LIGHTS-OVER")
def lights_apart(job: Job, finding: Finding, papers: Papers) -> Iterator[Move]:
    """The lights of one hood on a circuit of their own, where several share one."""
    circuit = circuit_of(papers, finding.item)
    if circuit is None:
        lit = next((h for h in job.hoods if h.lights and finding.item.startswith(f"{h.tag}-E")), None)
        circuit = next((c for c in job.circuits if lit and lit.lights and c.tag == lit.lights.circuit), None)
    mine = [h for h in job.hoods if circuit and h.lights and h.lights.circuit == circuit.tag]
    if circuit is None or len(feeds(job, circuit.tag)) < 2:
        return
    for hood in mine:
        path = ("hoods", hood.tag, "lights", "circuit")
        why = f"the lights of {hood.tag} on a circuit of their own"
        for other in free_circuits(job, circuit):
            yield one(path, other.tag, why, 4.0)
        made = new_circuit(job, circuit, f"lights of {hood.tag}")
        yield Move((Edit(("circuits", NEW), made), Edit(path, made.tag)), why, 5.0)


@cure("LIGHTS-OVER")
def lights_over(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """Lamps of fewer watts: the job cannot split the lights of one hood over two contacts."""
    hood = next((h for h in job.hoods if h.tag == finding.item), None)
    volts = volts_of(job, hood.lights.circuit) if hood and hood.lights else None
    if hood is None or hood.lights is None or volts is None:
        return
    load = LIGHT_CONTACT_A * volts
    if hood.lights.load > load:
        yield one(("hoods", hood.tag, "lights", "load"), load, f"lamps of {load:g} W together fit one contact", 3.0)
