"""What the network itself gives away: nets with two sources, neutrals shared across circuits."""

from __future__ import annotations

from collections.abc import Iterator

from galleyproof.circuit.machine import Machine, State
from galleyproof.design.model import Design
from galleyproof.findings import Citation, Finding, Severity
from galleyproof.job.model import Job
from galleyproof.proof.trace import Wiring

LOCKOUT = Citation("NFPA 70", "2023", "210.7", "disconnect all ungrounded conductors that feed one device")
NEUTRAL = Citation("NFPA 70", "2023", "210.4")


def network_findings(job: Job, design: Design, machine: Machine, state: State | None) -> Iterator[Finding]:
    """Findings of one running state."""
    if state is None:
        return
    wiring = Wiring(design, machine)
    seen: set[tuple[str, str]] = set()
    for circuit in job.circuits:
        for i in range(len(circuit.lines)):
            start = (circuit.tag, str(2 * i + 2))
            for other in wiring.breakers_joined(start, state):
                pair = (min(other, circuit.tag), max(other, circuit.tag))
                if other != circuit.tag and pair not in seen:
                    seen.add(pair)
                    yield Finding(
                        "TWO-SOURCES",
                        Severity.ERROR,
                        f"{pair[0]}, {pair[1]}",
                        f"{pair[0]} and {pair[1]} feed the same conductors: with one of them off the wiring stays live",
                        "separate them; until then both breakers are on the lock-out list",
                        (LOCKOUT,),
                    )
    yield from _neutrals(job, wiring, state)


def _neutrals(job: Job, wiring: Wiring, state: State) -> Iterator[Finding]:
    """A load whose line side comes from one circuit and whose neutral goes home with another."""
    homes = {c.tag: c.tag for c in job.circuits}
    homes |= {fan.tag: fan.circuit for fan in job.exhaust_fans}
    homes |= {unit.tag: unit.circuit for unit in job.makeup_units}
    homes |= {a.tag: a.circuit for h in job.hoods for a in h.appliances if a.circuit}
    homes |= {s.tag: s.circuit for s in job.shutdowns if s.kind == "held-in contactor"}
    seen: set[tuple[str, ...]] = set()
    for device in wiring.design.devices:
        ends = wiring.neutral_ends(device)
        for mark in ends:
            ways = wiring.neutral_home(device.tag, mark, state)
            circuits = tuple(sorted({homes[w] for w in ways if w in homes}))
            if len(circuits) > 1 and circuits not in seen:
                seen.add(circuits)
                yield Finding(
                    "SHARED-NEUTRAL",
                    Severity.ERROR,
                    device.tag,
                    f"the neutral of {device.tag} goes home with {' and '.join(circuits)}: if it opens, one circuit's "
                    "loads lie in series with the other's across the lines",
                    "give every circuit its own neutral to the panelboard",
                    (NEUTRAL,),
                )
