"""Installation steps in an order that is safe: the half-wired job is simulated after every step.

A step lands both ends of some cables. After it the panel may be powered, so the job as far as it is wired is simulated
armed, cooking, released and re-armed. A step after which a protected appliance would keep its fuel or power through a
release, a make-up unit would run without its exhaust, the gas would come back by itself or a breaker would trip is put
back, and the next step that is safe takes its turn. What nothing makes safe is said.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from galleyproof.circuit.machine import State
from galleyproof.design.builder import natural
from galleyproof.design.model import Cable, Conductor, Design, EnergyClass, Stray
from galleyproof.errors import CircuitError
from galleyproof.job.model import Job
from galleyproof.package.facts import Facts
from galleyproof.package.model import Block, Column, Items, Para, Row, Section, Table
from galleyproof.package.simulated import Simulated
from galleyproof.package.trades import landers, trade_of
from galleyproof.package.words import listed, plural
from galleyproof.proof.judge import working

JUMPER_OHM = 0.05
"""Of a factory jumper (common practice). [ohm]"""
LIVE_V = 5.0
"""Above this a conductor counts as live (a measuring voltage of an input is not). [V]"""


@dataclass(frozen=True, slots=True)
class Wanted:
    """One step before its place in the order is known.

    Attributes:
        title: What is done.
        who: The trade that pulls and lands.
        with_whom: Trades that land their own devices, with the devices.
        cables: Tags of the cables it lands.
        jumpers: Keys of the factory jumpers taken out just before.
    """

    title: str
    who: str
    with_whom: tuple[str, ...]
    cables: tuple[str, ...]
    jumpers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Step:
    """One step at its place.

    Attributes:
        wanted: What is done.
        off: Circuits that must be locked out while it is done.
        then: What the panel does after it, in sentences.
        without_jumper: What the panel does once its jumper is out and nothing is landed yet; empty without a jumper.
        moved: Why it did not stand earlier; empty where it stands as wanted.
        unsafe: Dangers that no order takes away; empty when it is safe.
    """

    wanted: Wanted
    off: tuple[str, ...]
    then: tuple[str, ...]
    without_jumper: tuple[str, ...] = ()
    moved: str = ""
    unsafe: tuple[str, ...] = ()


# --- what is to be done ---------------------------------------------------------------------------------------------


def wanted_steps(job: Job, design: Design) -> tuple[Wanted, ...]:
    """Steps in the order in which the trade would take them."""
    by_phase: dict[tuple[int, str, str], list[Cable]] = {}
    for cable in sorted(design.cables, key=lambda c: natural(c.tag)):
        phase, title = _phase(job, design, cable)
        by_phase.setdefault((phase, title, trade_of(design, cable)), []).append(cable)
    found = []
    jumper_of: dict[str, list[str]] = {}
    for jumper in design.jumpers:
        at = {jumper.a, jumper.b}
        tag = next((c.cable for c in design.conductors if c.cable and {c.a, c.b} & at), "")
        jumper_of.setdefault(tag, []).append(jumper.key)
    for (_, title, who), cables in sorted(by_phase.items(), key=lambda kv: (kv[0][0], natural(kv[0][1]), kv[0][2])):
        mine = [design.conductor_by_key[k] for c in cables for k in c.conductors]
        others = tuple(f"{other} at {', '.join(tags)}" for other, tags in landers(design, mine).items())
        tags = tuple(c.tag for c in cables)
        out = tuple(k for t in tags for k in jumper_of.get(t, ()))
        found.append(Wanted(title, who, others, tags, out))
    return tuple(found)


def _phase(job: Job, design: Design, cable: Cable) -> tuple[int, str]:
    conductors = [design.conductor_by_key[k] for k in cable.conductors]
    ends = {e.device for c in conductors for e in (c.a, c.b)}
    types = {design.device_by_tag[t].type for t in ends}
    purposes = " ".join(c.purpose for c in conductors)
    of = {c.of for c in conductors}
    if any(t.startswith("fire_switch") for t in types):
        tags = sorted(t for t in ends if design.device_by_tag[t].type.startswith("fire_switch"))
        if "alarm_module" in types:
            return 60, f"building alarm at {listed(tags)}"
        system = tags[0].split("/")[0]
        if cable.energy_class is EnergyClass.CLASS1:
            return 76, f"shutdown pole of fire switch {system}"
        return 50, f"loop of fire switch {system}"
    if "alarm_module" in types:
        return 60, "building alarm at the panel"
    if job.panel.circuit in purposes.split() or f"W-{job.panel.circuit}-P" == cable.tag:
        return 10, "control supply and ground of the panel"
    if any(f"W-{s.shutdown_circuit}-" in cable.tag for s in job.fire_systems if s.shutdown_circuit):
        return 12, "supply of the shutdown coils"
    appliances = {t for t in ends if design.device_by_tag[t].type.startswith("appliance_")}
    line = cable.energy_class is EnergyClass.LINE
    if appliances or (line and any(design.device_by_tag[t].type.startswith("contactor_held") for t in ends)):
        return 90, "power of the appliances under the hoods"
    if cable.energy_class is EnergyClass.CLASS1 or "gas_valve" in types:
        return 40, "coils of the shutdowns: shunt trips, contactors, gas valves"
    units = {u.tag for u in job.makeup_units}
    if of & units:
        return 80, f"make-up air, {next(u.place for u in job.makeup_units if u.tag in of)}"
    fans = {f.tag for f in job.exhaust_fans} & of
    if fans:
        return 70, f"exhaust, {next(f.place for f in job.exhaust_fans if f.tag in fans)}"
    if line:
        for fan in job.exhaust_fans:
            if cable.tag.startswith(f"W-{fan.circuit}-"):
                return 70, f"exhaust, {fan.place}"
        return 75, "hood lights and their supply"
    if any(t == "temperature_sensor" for t in types):
        return 20, f"temperature sensors, {cable.to_place}"
    if any(t.startswith("link_") for t in types):
        return 30, "building link"
    return 25, f"switches and other control wiring, {cable.to_place}"


# --- simulation -----------------------------------------------------------------------------------------------------


def half_wired(design: Design, landed: Iterable[str], jumpers: Iterable[str]) -> Design:
    """The design with the conductors of some cables landed, those of the factory, and some jumpers still in.

    Args:
        design: The whole design.
        landed: Tags of cables.
        jumpers: Keys of jumpers that are still fitted.
    """
    there, still = set(landed), set(jumpers)
    landed_now = tuple(c for c in design.conductors if not c.cable or c.cable in there)
    # one that is not landed stays in the network, with no way through it
    loose = tuple(Stray(c.key, c.a, c.b, math.inf) for c in design.conductors if c.cable and c.cable not in there)
    fitted = tuple(Stray(j.key, j.a, j.b, JUMPER_OHM) for j in design.jumpers if j.key in still)
    return replace(design, conductors=landed_now, strays=(*design.strays, *loose, *fitted))


def dangers(on: Simulated, whole: Mapping[str, bool]) -> tuple[str, ...]:
    """What could hurt if the job stayed wired as far as this.

    Args:
        on: The half-wired job.
        whole: Gas valves and appliances -> True where the finished job takes them away in a release.
    """
    found: list[str] = []
    job = on.job
    ready = on.ready
    released = on.fire
    armed = on.apply(released, on.armed)
    back = on.apply(on.apply(on.cooking, on.lost), on.present)
    for tag, protected in whole.items():
        kind = "gas" if on.slots[tag].endswith(".open") else "power"
        if protected and working(on.value(released, tag)):
            found.append(f"{tag} would keep its {kind} through a release")
        elif protected and working(on.value(armed, tag)):
            found.append(f"{tag} would get its {kind} back by re-arming alone")
        if kind == "gas" and working(on.value(back, tag)):
            found.append(f"{tag} would open by itself after an outage")
    for unit in job.makeup_units:
        for name, state in (("ready", ready), ("cooking", on.cooking), ("in a release", released)):
            alone = not any(working(on.value(state, f)) for f in unit.tracks)
            if working(on.value(state, unit.tag)) and alone:
                found.append(f"{unit.tag} would run without {' or '.join(unit.tracks)} ({name})")
    for hood in job.hoods:
        fans = [f.tag for f in job.exhaust_fans if hood.tag in f.serves]
        still = not any(working(on.value(on.cooking, f)) for f in fans)
        hot = [a.tag for a in hood.appliances if a.tag in on.slots and working(on.value(on.cooking, a.tag))]
        if still:
            found += [f"{tag} could cook without {' or '.join(fans)}" for tag in hot]
    tripped = [c.tag for c in job.circuits if _tripped(on, ready, c.tag)]
    found += [f"{tag} would trip when it is closed" for tag in tripped]
    return tuple(dict.fromkeys(found))


def _tripped(on: Simulated, state: State, circuit: str) -> bool:
    slot = f"{circuit}.pole_1"
    return slot in on.machine.slot and not on.machine.get(state, slot)


def plan_steps(
    job: Job,
    design: Design,
    library: Mapping[str, object],
    wanted: Sequence[Wanted] | None = None,
    *,
    simulate: Callable[[Design], Simulated] | None = None,
) -> tuple[Step, ...]:
    """The steps in a safe order, each with what the panel does after it.

    Args:
        job: The job.
        design: Its design.
        library: Device types.
        wanted: Steps in the order somebody would like; those of ``wanted_steps`` by default.
        simulate: For tests: how a design is simulated.

    Raises:
        CircuitError: The finished design has no solution.
    """
    made = simulate or (lambda d: Simulated(job, d, library))  # type: ignore[arg-type]
    finished = made(design)
    released = finished.fire
    watched = [t for t, s in finished.slots.items() if s.endswith(".on") and _burns(design, t)]
    watched += [s.tag for s in job.shutdowns if s.kind == "gas valve"]
    whole = {tag: not working(finished.value(released, tag)) for tag in watched}
    live = _live(finished)
    waiting = list(wanted if wanted is not None else wanted_steps(job, design))
    fitted = {j.key for j in design.jumpers}
    landed: list[str] = []
    steps: list[Step] = []
    put_back: dict[str, str] = {}
    while waiting:
        chosen: tuple[Wanted, Simulated | None, tuple[str, ...]] | None = None
        for step in waiting:
            on, unsafe = _tried(made, half_wired(design, [*landed, *step.cables], fitted - set(step.jumpers)), whole)
            if not unsafe:
                chosen = (step, on, ())
                break
            put_back.setdefault(step.title, unsafe[0])
            chosen = chosen or (step, on, unsafe)
        assert chosen is not None
        step, on, unsafe = chosen
        between: tuple[str, ...] = ()
        if step.jumpers:
            try:
                between = behaviour(made(half_wired(design, landed, fitted - set(step.jumpers))), brief=True)
            except CircuitError as error:
                between = (str(error),)
        fitted -= set(step.jumpers)
        landed += step.cables
        waiting.remove(step)
        conductors = [c for c in design.conductors if c.cable in step.cables]
        off = _off(job, conductors, live)
        then = behaviour(on) if on is not None else ("Has no solution: leave every breaker locked out",)
        moved = put_back.get(step.title, "") if not unsafe else ""
        steps.append(Step(step, off, then, between, moved, unsafe))
    return tuple(steps)


def _burns(design: Design, tag: str) -> bool:
    kind = design.device_by_tag[tag].type
    return kind.startswith("appliance_") or kind == "gas_appliance"


def _tried(
    made: Callable[[Design], Simulated], design: Design, whole: Mapping[str, bool]
) -> tuple[Simulated | None, tuple[str, ...]]:
    try:
        on = made(design)
        return on, dangers(on, whole)
    except CircuitError as error:
        return None, (f"it has no solution: {' '.join(str(error).split())}",)


def _live(on: Simulated) -> dict[str, set[str]]:
    """Conductor -> circuits that can make it live in the finished job, by themselves or with the control supplies."""
    job = on.job
    controls = {job.panel.circuit, *(s.shutdown_circuit for s in job.fire_systems if s.shutdown_circuit)}
    found: dict[str, set[str]] = {c.key: set() for c in on.design.conductors}
    nodes = {c.key: [on.machine.network.terminals[t] for t in (c.a, c.b)] for c in on.design.conductors}
    asks = {**on.switches, **on.heat}
    base = on.pressed(on.apply(on.dark, {f"supply {c}": "present" for c in controls}))
    base = on.apply(base, asks)
    out = on.apply(base, on.released)

    every = {n for ends in nodes.values() for n in ends}

    def hot(state: State) -> set[str]:
        alive = {n for n in every if _volts(on, state, n) > LIVE_V}
        return {key for key, ends in nodes.items() if not alive.isdisjoint(ends)}

    quiet = hot(base) | hot(out)
    for circuit in job.circuits:
        event = {f"supply {circuit.tag}": "present"}
        if circuit.tag in controls:
            alone = on.pressed(on.apply(on.dark, event))
            now = hot(alone) | hot(on.apply(alone, asks)) | hot(on.apply(alone, on.released))
            before: set[str] = set()
        else:
            now, before = hot(on.apply(base, event)) | hot(on.apply(out, event)), quiet
        for key in now - before:
            found[key].add(circuit.tag)
    for key in quiet:
        if not found[key]:
            found[key] |= {c for c in controls if c}
    return found


def _volts(on: Simulated, state: State, node: int) -> float:
    ac, dc = on.machine.volts(state, node)
    return max(abs(ac), abs(dc))


def _off(job: Job, conductors: Sequence[Conductor], live: Mapping[str, set[str]]) -> tuple[str, ...]:
    """Circuits to lock out: those that can make a conductor live, and the panel's own when its strips are touched."""
    found = {tag for c in conductors for tag in live[c.key]}
    if any(e.device.startswith(f"{job.panel.tag}-") for c in conductors for e in (c.a, c.b)):
        found.add(job.panel.circuit)
    return tuple(c.tag for c in job.circuits if c.tag in found)


def behaviour(on: Simulated, *, brief: bool = False) -> tuple[str, ...]:
    """What a panel does as far as it is wired, when everything landed is made live."""
    ready = on.ready
    said = [f"Switches off: {_does(on, ready)}"]
    if not brief:
        said.append(f"Switches on and heat: {_does(on, on.cooking)}")
        said.append(f"Released: {_does(on, on.fire)}")
    if ready.chatter:
        said.append(f"Never settles: {', '.join(ready.chatter)}")
    return tuple(said)


def _does(on: Simulated, state: State) -> str:
    """What is at work in a state, devices that do the same together."""
    busy: dict[str, list[str]] = {}
    for tag in on.slots:
        if working(on.value(state, tag)):
            words = on.words(state, tag)
            busy.setdefault(f"runs at {words}" if words.endswith("%") else words, []).append(tag)
    said = [f"{_many(ts)} {v.replace('runs', 'run', 1) if len(ts) > 1 else v}" for v, ts in busy.items()]
    return "; ".join(said) or "nothing moves, no alarm"


def _many(tags: Sequence[str]) -> str:
    return ", ".join(tags) if len(tags) <= 8 else f"{', '.join(tags[:7])} and {len(tags) - 7} more"


# --- the section ----------------------------------------------------------------------------------------------------


def installation(facts: Facts) -> Section:
    """Installation steps in order, with who does each, what must be off, and what the panel does then."""
    job, design = facts.job, facts.design
    steps = plan_steps(job, design, facts.library)
    columns = (
        Column("No.", 0.35, True),
        Column("Do", 2.6),
        Column("Who", 1.5),
        Column("Locked out meanwhile", 1.6),
        Column("What the panel does then, were it switched on", 3.6),
    )
    every = "every circuit of this job"
    rows: list[Row] = [
        (
            "1",
            f"hang {job.panel.tag} in {job.panel.place}, check it against the packing list; working space kept free",
            "electrical contractor",
            every,
            "nothing: not supplied",
        ),
        (
            "2",
            f"{plural(len(facts.sizes.raceways), 'raceway') if facts.sizes else 'raceways'} and every cable pulled "
            "and marked at both ends; nothing landed",
            "electrical contractor, controls contractor",
            every,
            "nothing: not supplied",
        ),
    ]
    moved = []
    for n, step in enumerate(steps, 3):
        w = step.wanted
        do = f"{w.title}: land {', '.join(w.cables)}"
        then = ". ".join(step.then)
        if w.jumpers:
            jumpers = [j for j in design.jumpers if j.key in w.jumpers]
            out = ", ".join(f"{j.a} to {j.b}" for j in jumpers)
            do = (
                f"{w.title}: take the factory jumper out ({out}) only when the loop is ready, then land "
                f"{', '.join(w.cables)}"
            )
            then = f"Jumper out and loop not landed: {'. '.join(step.without_jumper)}. Landed: {then}"
        if step.unsafe:
            then = (
                f"NOT SAFE in any order: {'; '.join(step.unsafe)}. Keep every circuit locked out until the next steps "
                f"are done. {then}"
            )
        if step.moved:
            moved.append(f"Step {n} ({w.title}) was put back: {step.moved}.")
        who = "; ".join((w.who, *w.with_whom))
        rows.append((str(n), do, who, listed(step.off), then))
    last = len(steps) + 3
    rows.append(
        (
            str(last),
            "check-out sheet from dead to functional, then the acceptance list",
            "start-up technician with all trades",
            "as each stage says",
            "as the sheet says",
        )
    )
    blocks: list[Block] = [
        Para(
            "Before the fire loop or the alarm is touched, tell the fire-alarm contractor and the suppression "
            "contractor: taking the loop's jumper out is a release to the panel.",
            "caution",
        ),
        Para(
            "After each step the job was simulated as far as it is then wired, as if everything landed were made live; "
            "an order that would leave an appliance unprotected, a make-up unit without its exhaust, or a breaker that "
            "trips was changed. Everything stays locked out until the check-out all the same."
        ),
        Table(columns, tuple(rows)),
    ]
    if moved:
        blocks += [Para("Changed order", "bold"), Items(tuple(moved))]
    return Section("steps", "Installation steps", tuple(blocks), wide=True)
