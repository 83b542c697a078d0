"""Fed from, switched by, lost when: every load, followed on the network itself."""

from __future__ import annotations

from galleyproof.package.facts import Facts
from galleyproof.package.model import Block, Column, Para, Section, Table, missing
from galleyproof.package.simulated import Simulated
from galleyproof.proof.reference import reference_state
from galleyproof.proof.story import Mover, Story, Way, tell


def stories(facts: Facts, on: Simulated) -> Section:
    """One row for each load that the proof watches, gas valves and contactors included."""
    if facts.proof is None:
        return Section("stories", "Fed from, switched by, lost when", (missing("The three questions"),))
    state = reference_state(facts.job, on.machine)
    stops = facts.proof.lost_when
    rows = []
    for tag in on.slots:
        story = tell(facts.design, on.machine, state, tag, stops.get(tag, ()), zones=on.zones, watched=True)
        rows.append((f"{tag} {story.title}", fed(story), switched(story), lost(story)))
    columns = (Column("Load", 1.5), Column("Fed from", 2.4), Column("Switched by", 4), Column("Lost when", 2))
    blocks: tuple[Block, ...] = (
        Para(
            "Answered from the network of the design with everything supplied and cooking. Numbers are conductors, "
            "from the load backwards. Whether exhaust may hang on an emergency supply is for the engineer of the "
            "building to decide; this table says what it hangs on now."
        ),
        Table(columns, tuple(rows)),
    )
    return Section("stories", "Fed from, switched by, lost when", blocks, wide=True)


def _name(story: Story, way: Way) -> str:
    return way.what if way.device == story.load else f"{way.what} of {way.device}"


def fed(story: Story) -> str:
    """What feeds a load, in words."""
    parts = []
    for way in story.ways:
        numbers = "; ".join(", ".join(map(str, n)) for n in way.conductors if n)
        by = f" by {numbers}" if numbers else ""
        source = f"from {' and '.join(way.sources)}" if way.sources else "its own voltage, out and back"
        parts.append(f"{_name(story, way)} {source}{by}")
    return ". ".join(parts) or "nothing, in this situation"


def switched(story: Story) -> str:
    """What switches it, in words."""
    parts = []
    for way in story.ways:
        said = [_mover(m) for m in way.switches]
        if way.listens:
            said.insert(0, f"the program, which looks at {', '.join(way.listens)}")
        if said:
            parts.append(f"{_name(story, way)}: {'; '.join(said)}")
    return ". ".join(parts) or "nothing, in this situation"


def _mover(mover: Mover) -> str:
    looks = f" ({', '.join(mover.listens)})" if mover.listens else ""
    coils = []
    for coil in mover.coil:
        inner = f" through {', '.join(f'{m.device} {m.contacts[0]}' for m in coil.switches)}" if coil.switches else ""
        coils.append(f"; its {coil.what} from {' and '.join(coil.sources)}{inner}")
    return f"{mover.device} {', '.join(mover.contacts)} {mover.moved_by}{looks}{''.join(coils)}"


def lost(story: Story) -> str:
    """What stops it, in words."""
    if story.situation:
        return f"at rest in daily use; works when {story.situation}"
    return "; ".join(story.lost_when) or "no single event of the grid stops it"
