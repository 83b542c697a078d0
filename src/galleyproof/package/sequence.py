"""The sequence of operation as a state table, and the cause-and-effect matrix: both read off the simulated wiring."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from galleyproof.circuit.machine import State
from galleyproof.package.facts import Facts
from galleyproof.package.model import Block, Column, Items, Para, Section, Table, Title, missing
from galleyproof.package.ownership import commands, proofs
from galleyproof.package.simulated import Simulated
from galleyproof.package.words import clauses, listed, plural
from galleyproof.proof.model import Verdict

SAME = "·"
"""A cell in which nothing changes."""


def sequence(facts: Facts, on: Simulated) -> Section:
    """The state table, the program's set-points, and what the words mean."""
    states = _states(on)
    columns = (Column("Device", 1.3), Column("What it is", 2.0), *(Column(name, 1.1) for name, _ in states))
    rows = [
        (tag, facts.design.device_by_tag[tag].title, *(on.words(state, tag) for _, state in states)) for tag in on.slots
    ]
    blocks: list[Block] = [
        Para(
            "Each cell was read off the simulated wiring of this job, not typed in: the state is reached step by step "
            "from dark, because latches remember the way. Speeds are shares of full speed."
        ),
        Table(columns, tuple(rows), "What every device does in every state"),
        Para("Re-armed: the fire system is armed again and nobody has pressed a reset.", "note"),
        *_program(facts),
        *_fire(facts),
        *commands(facts),
        *proofs(facts),
    ]
    return Section("sequence", "Sequence of operation", tuple(blocks), wide=True)


def _states(on: Simulated) -> list[tuple[str, State]]:
    gone = on.fire
    armed = on.apply(gone, on.armed)
    control = {f"supply {on.job.panel.circuit}": "lost"}
    lost = on.apply(on.cooking, control)
    outage = on.apply(on.apply(on.cooking, on.lost), on.present)
    found = [("Dark", on.dark), ("Ready, all off", on.ready)]
    if on.switches:
        found.append(("Switches on", on.apply(on.ready, on.switches)))
    found += [
        ("Cooking", on.cooking),
        ("Fire: released", gone),
        ("Re-armed", armed),
        ("Reset by hand", on.pressed(armed)),
        ("Control power lost", lost),
        ("Outage, then back", outage),
    ]
    return found


def _program(facts: Facts) -> list[Block]:
    program = facts.design.program
    fans = []
    for f in program.fans:
        follows = f"follows {listed(f.follows)}" if f.follows else f"demand of {listed(f.hoods)}"
        speed = f"{f.min_speed:.0%} to 100 %" if f.speed else "one speed"
        waits = "waits for a hand" if f.waits else "restarts by itself"
        permit = f"only with {f.permit.split('/')[0]} proven" if f.permit else "none"
        fans.append((f.fan, follows, speed, f.on_release, permit, waits))
    hoods = [
        (h.hood, h.zone, listed(h.sensors), f"{h.idle_below_degf:g} °F", f"{h.full_above_degf:g} °F")
        for h in program.hoods
    ]
    head = ("Fan or unit", "Driven by", "Speed", "In a release", "Permission", "After an outage")
    return [
        Table(tuple(Column(t) for t in head), tuple(fans), "What the controller is set to: fans and units"),
        Table(
            tuple(Column(t) for t in ("Hood", "Fire zone", "Sensors", "Idle below", "Full above")),
            tuple(hoods),
            "What the controller is set to: hoods",
        ),
    ]


def _fire(facts: Facts) -> list[Block]:
    """Which contact of which fire switch does what, named by the state in which it is closed."""
    rows = []
    for system in facts.job.fire_systems:
        for i, pole in enumerate(system.poles, 1):
            side = {
                "armed side": "closed while armed, opens in a release",
                "released side": "open while armed, closes in a release",
                "both sides": "armed side and released side are both landed",
            }.get(pole.side, f"{pole.side}: measure it armed and released before landing")
            rows.append((system.tag, system.zone, str(i), pole.use, pole.side, side))
    heads = ("Fire system", "Zone", "Pole", "Use", "Side", "Meaning")
    return [
        Table(tuple(Column(t, 2 if t == "Meaning" else 1) for t in heads), tuple(rows), "Fire switch, pole by pole"),
        Para(
            "The letters NO and NC on a bare switch say nothing until it sits in its release; sides are named by the "
            "state in which they are closed.",
            "note",
        ),
    ]


def cause_and_effect(facts: Facts, on: Simulated) -> Section:
    """What every cause changes, and the clause that asks for it."""
    blocks: list[Block] = [
        Para(
            "A dot: the cause changes nothing there; devices that nothing in a part changes are left out. Releases and "
            "losses begin while everything cooks, the other causes with all switches off. Every cell is simulated; "
            f"{plural(len(on.slots), 'device')} watched."
        )
    ]
    blocks += matrix(on)
    blocks.append(Title("What asks for it"))
    if facts.proof is None:
        blocks.append(missing("Promises and their proof"))
    else:
        blocks += _promises(facts.proof.verdicts, facts.proof.situations)
    return Section("cause-and-effect", "Cause and effect", tuple(blocks), wide=True)


def matrix(on: Simulated) -> list[Table]:
    """What every cause changes, ten causes to a table."""
    tables: list[Table] = []
    for part, title in _parts(_causes(on), 10):
        columns = (Column("Device", 1.3), *(Column(c[0], 1.1) for c in part))
        rows = []
        for tag in on.slots:
            cells = []
            for _, before, after in part:
                was, now = on.words(before, tag), on.words(after, tag)
                cells.append(SAME if was == now else now)
            if any(cell != SAME for cell in cells):
                rows.append((tag, *cells))
        tables.append(Table(columns, tuple(rows), title))
    return tables


Cause = tuple[str, State, State]


def _parts(causes: Sequence[Cause], many: int) -> list[tuple[Sequence[Cause], str]]:
    parts = [causes[i : i + many] for i in range(0, len(causes), many)]
    if len(parts) == 1:
        return [(parts[0], "Cause-and-effect matrix")]
    return [(part, f"Cause-and-effect matrix, part {i} of {len(parts)}") for i, part in enumerate(parts, 1)]


def _causes(on: Simulated) -> list[Cause]:
    found: list[Cause] = []

    def add(name: str, before: State, events: Mapping[str, object]) -> None:
        found.append((name, before, on.apply(before, events)))

    for zone in on.zones:
        add(f"{zone} released", on.cooking, {f"fire {zone}": "released"})
    for zone in on.zones:
        armed = on.apply(on.apply(on.cooking, {f"fire {zone}": "released"}), {f"fire {zone}": "armed"})
        found.append((f"{zone} re-armed: reset", armed, on.pressed(armed)))
    job = on.job
    add(f"{job.panel.circuit} lost (control)", on.cooking, {f"supply {job.panel.circuit}": "lost"})
    for circuit in dict.fromkeys(s.shutdown_circuit for s in job.fire_systems if s.shutdown_circuit):
        if circuit != job.panel.circuit:
            add(f"{circuit} lost (shutdown)", on.cooking, {f"supply {circuit}": "lost"})
    add("Whole supply lost", on.cooking, on.lost)
    for unit in job.makeup_units:
        for master in getattr(unit.control, "second_masters", ()):
            add(f"{master.tag} calls ({master.what})", on.cooking, {f"master {master.tag}": "calls"})
    for name, position in on.switches.items():
        add(f"{name.removeprefix('switch ')} {position}", on.ready, {name: position})
    for hood in job.hoods:
        add(f"Heat under {hood.tag}", on.ready, {f"heat {hood.tag}": "on"})
    for hood in job.hoods:
        for sensor in hood.sensors:
            add(f"{sensor.tag} open", on.ready, {f"sensor {sensor.tag}": "open"})
    return found


def held(v: Verdict) -> str:
    """In how many situations a promise holds, in words."""
    if not v.situations:
        return "NEVER ASKED"
    return f"all {v.situations:,}" if v.holds else f"NOT in {v.broken:,} of {v.situations:,}"


def _promises(verdicts: Sequence[Verdict], situations: int) -> list[Block]:
    columns = (Column("Promise", 4.2), Column("Clause", 2.2), Column("Holds in", 1.2))
    rows = [(v.promise.text, clauses((v.promise.clause,)), held(v)) for v in verdicts]
    broken = [v for v in verdicts if not v.holds]
    words = f"{len(verdicts) - len(broken):,} of {len(verdicts):,} promises hold over {situations:,} situations."
    blocks: list[Block] = [Para(words, "bold"), Table(columns, tuple(rows), "Promises with their clauses")]
    if broken:
        lines = []
        for v in broken:
            first = v.failures[0] if v.failures else None
            why = f"{first.situation}: expected {first.expected}, found {first.found}" if first else "never asked for"
            lines.append(f"{v.promise.text}: {why}")
        blocks += [Title("Promises that do not hold"), Items(tuple(lines))]
    return blocks
