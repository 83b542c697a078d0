"""Words that several documents share."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from galleyproof.findings import Citation
from galleyproof.job.model import Circuit, Job
from galleyproof.reasoning import shown, source
from galleyproof.sizing.model import Number

CAUTIONS = (
    "For qualified persons only. Lock out, tag out and test dead before you touch a conductor; wear the protective "
    "equipment that the work asks for.",
    "Tell the fire-alarm contractor and the suppression contractor before you touch the fire switch. The suppression "
    "system's own wiring belongs to its licensed contractor.",
    "The adopted local code and the authority having jurisdiction prevail over everything printed here.",
    "This package is reviewed by a licensed engineer or electrician before use. It is never an approval.",
)


def clauses(basis: Iterable[Citation]) -> str:
    """Clauses in one line, each once."""
    return "; ".join(dict.fromkeys(source(c) for c in basis))


def places(basis: Iterable[Citation], edition: str) -> str:
    """Clauses as a schedule prints them: those of NFPA 70 in the job's edition without its name."""
    said = []
    for c in basis:
        own = (c.standard, c.edition) == ("NFPA 70", edition) and c.place
        said.append(c.place if own else (str(c) if c.edition else c.standard))
    return "; ".join(dict.fromkeys(said))


def deciding(number: Number) -> tuple[Citation, ...]:
    """Clauses of the last step that has any: what the number itself goes by."""
    return next((step.basis for step in reversed(number.result.steps) if step.basis), number.basis)


def value(number: Number) -> str:
    """A number as a schedule prints it; a share beside a share as a percentage, too."""
    share = number.result.value
    if isinstance(share, float) and number.result.unit == "-" and "%" in number.given:
        return f"{share:.1%}"
    if isinstance(share, float):
        # four figures are more than any of these is known to
        return shown(float(f"{share:.4g}"), number.result.unit)
    return number.text


def users(job: Job, circuit: str) -> Iterator[str]:
    """What a circuit feeds, in the order of the job."""
    if job.panel.circuit == circuit:
        yield f"{job.panel.tag} control power"
    for hood in job.hoods:
        if hood.lights and hood.lights.circuit == circuit:
            yield f"lights of {hood.tag}"
        yield from (f"{a.tag} {a.kind}" for a in hood.appliances if a.circuit == circuit)
    yield from (f.tag for f in job.exhaust_fans if f.circuit == circuit)
    yield from (u.tag for u in job.makeup_units if u.circuit == circuit)
    yield from (f"shutdown coils of {s.tag}" for s in job.fire_systems if s.shutdown_circuit == circuit)


def circuit_title(job: Job, circuit: Circuit) -> str:
    """``LP-2/8 · EF-2 · 208Y/120 V · lines L1 L2 L3 · breaker 30 A``."""
    board = next((p for p in job.panelboards if p.tag == circuit.panelboard), None)
    supply = next((s for s in job.supplies if board and s.tag == board.supply), None)
    lines = f"{'line' if len(circuit.lines) == 1 else 'lines'} {' '.join(circuit.lines)}"
    device = f"{circuit.device} {circuit.breaker:g} A"
    feeds = ", ".join(users(job, circuit.tag)) or circuit.note or "feeds nothing of this job"
    parts = [circuit.tag, feeds, supply.system if supply else "", lines, device]
    return " · ".join(p for p in parts if p)


def plural(n: int, word: str) -> str:
    """``1 conductor``, ``2 conductors``."""
    return f"{n:,} {word}{'' if n == 1 else 's'}"


def listed(tags: Iterable[str]) -> str:
    """Tags with commas; ``none`` for none."""
    return ", ".join(tags) or "none"
