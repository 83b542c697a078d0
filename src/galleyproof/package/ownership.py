"""Who commands what and whose voltage it is; what proves what; what a release does to each load; how to read."""

from __future__ import annotations

from galleyproof.job.model import Ec, ExhaustFan, MakeupByUnit, MakeupUnit, RunCommand, Vfd
from galleyproof.package.facts import Facts
from galleyproof.package.model import Block, Column, Items, Para, Table
from galleyproof.package.simulated import Simulated
from galleyproof.package.words import listed


def commands(facts: Facts) -> list[Block]:
    """The matrix of command ownership: run, speed, whose voltage, who else may stop or start it."""
    rows = []
    for fan in facts.job.exhaust_fans:
        run, speed = _drive(fan)
        rows.append((fan.tag, run, speed, "fire system, heat, wall switch through the panel"))
    for unit in facts.job.makeup_units:
        run, speed = _unit(unit)
        masters = [f"{m.tag} ({m.what}) may {m.may} it" for m in getattr(unit.control, "second_masters", ())]
        rows.append((unit.tag, run, speed, "; ".join(masters) or "nobody but the panel"))
    columns = (
        Column("Fan or unit"),
        Column("Run command", 2.6),
        Column("Speed", 2.6),
        Column("Who else has a say", 2.2),
    )
    rules = (
        "A dry contact carries the voltage of the equipment that owns it; never bring a second one to it, and never "
        "join the 24 V of two units: one may have a rectifier to ground that shorts the other's transformer.",
        "Of a 0-10 V pair only signal and common are landed; a +10 V terminal of the fan or unit itself stays free, so "
        "that no two sources stand against each other.",
        "Each 0-10 V output here feeds one input. Inputs in parallel each draw 10 V over their resistance (100 kΩ: "
        "0.1 mA); the sum must stay below what the output gives.",
        "Every sensor has a home run to an input of its own; sensors are never joined in series or in parallel.",
        "The controls of the panel's coils are switched in the ungrounded conductor.",
    )
    return [Table(columns, tuple(rows), "Who commands what, and whose voltage"), Items(rules)]


def _wired(command: RunCommand) -> str:
    source = f"from {command.circuit}" if command.circuit else f"of {command.owner}"
    return f"{command.kind}, {command.volts:g} V {source}"


def _drive(fan: ExhaustFan) -> tuple[str, str]:
    drive = fan.drive
    if isinstance(drive, Vfd):
        return _wired(drive.run_command), "0-10 V from the panel, two wires, the panel is the source"
    if isinstance(drive, Ec):
        motor = drive.motor
        load = f"two wires, the panel is the source, input of {motor.input_impedance_kohm:g} kΩ"
        return "by its speed signal" + (" and a run contact" if motor.run_contact else ""), f"{motor.signal}, {load}"
    return "coil of its starter, 24 V DC of the panel", "one speed"


def _unit(unit: MakeupUnit) -> tuple[str, str]:
    control = unit.control
    if isinstance(control, MakeupByUnit):
        pair = control.kind == "run and speed pairs"
        speed = "0-10 V from the panel, two wires, the panel is the source" if pair else "by itself"
        return _wired(control.run_command), speed
    return "driven from the panel", "as its drive"


def proofs(facts: Facts) -> list[Block]:
    """What proves that something moves, and what each kind of proof cannot tell (common practice)."""
    kinds = (
        ("current switch", "the motor draws current", "a slipped belt, a reversed fan, a shut damper"),
        ("air-flow switch", "air moves in the duct", "how much, and it fouls with grease"),
        ("end switch", "the blade stands open", "that air moves; linkage behind the switch"),
        ("auxiliary contact", "the starter is pulled in", "everything after it: overload leads, disconnect, belt"),
        ("interlock relay", "the leader's coil has voltage", "that the leader turns"),
    )
    here: dict[str, list[str]] = {}
    for fan in facts.job.exhaust_fans:
        if fan.proving is not None:
            here.setdefault(fan.proving.kind, []).append(f"{fan.proving.tag} on {fan.tag}")
    for damper in facts.job.dampers:
        if damper.end_switch:
            here.setdefault("end switch", []).append(f"{damper.tag} before {damper.fan}")
    rows = tuple((kind, tells, blind, listed(here.get(kind, ()))) for kind, tells, blind in kinds)
    columns = (Column("Proof"), Column("Tells", 1.6), Column("Does not tell", 2.4), Column("In this job", 1.6))
    return [Table(columns, rows, "What proves what"), Para("Common practice.", "note")]


def loads(facts: Facts, on: Simulated) -> list[Block]:
    """Every load by what a release does to it, with the accessory that does it and the poles it takes."""
    job = facts.job
    shutdowns = {s.tag: s for s in job.shutdowns}
    released = on.fire
    rows: list[tuple[str, str, str, str]] = []
    for hood in job.hoods:
        for a in hood.appliances:
            by = shutdowns.get(a.shut_down_by or "")
            how = f"{by.tag}, {by.kind}{f' of {by.circuit}' if by.kind == 'shunt trip' else ''}" if by else "nothing"
            kind = f"{'heats' if a.shut_down else 'does not heat'}: {a.kind}, {a.fuel}"
            rows.append((a.tag, kind, on.words(released, a.tag) if a.tag in on.slots else "not simulated", how))
        if hood.lights is not None:
            tag = f"{hood.tag}-E1"
            rows.append((tag, "hood lights", on.words(released, tag), "authority: " + job.authority.lights_on_release))
    rows += [
        (f.tag, "exhaust: must run", on.words(released, f.tag), f"asked: {f.on_release}") for f in job.exhaust_fans
    ]
    rows += [(u.tag, "make-up air", on.words(released, u.tag), f"asked: {u.on_release}") for u in job.makeup_units]
    spaces = []
    if facts.sizes is not None:
        spaces = [f"{n.item} takes {n.text}" for n in facts.sizes.numbers if n.what == "pole spaces"]
    columns = (Column("Load"), Column("What it is", 2.4), Column("In a release", 1), Column("By", 2.6))
    blocks: list[Block] = [Table(columns, tuple(rows), "Every load by what a release does to it")]
    if spaces:
        blocks.append(Para(f"Pole spaces in the panelboard, the accessory counted: {'; '.join(spaces)}."))
    return blocks


READING = (
    "A supply is read hot to neutral, never hot to ground, and under load; a signal is read where it is received.",
    "Between 10 V and 100 V AC on a conductor that should be dead: read again with a low-impedance meter before "
    "anything is concluded. What then falls to nothing was coupled in from its neighbours.",
    "Full voltage and nothing works: load it. An open neutral or a loose landing gives full voltage to a meter and "
    "nothing to a load; read the neutral's drop under load.",
    "A chain of contacts that does not close: leave one lead at the return, walk the other from contact to contact; "
    "full voltage before the open one, 0 V behind it. Lift nothing.",
    "Data link, dead, both end-of-line resistors of 120 Ω in place: about 60 Ω between A and B. Halve the run and read "
    "again to find the bad half.",
    "A new control transformer or supply that burns as well: unland its load side, read the current of one branch "
    "after the other.",
    "Rotation is seen at the shaft. Amperes prove nothing: a reversed exhaust fan still moves half its air at normal "
    "amperes.",
)


def reading_rules() -> list[Block]:
    """How to read, whatever is on the sheet (common practice)."""
    return [Para("How to read (common practice)", "bold"), Items(READING)]
