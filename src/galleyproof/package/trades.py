"""Who supplies, who wires, who tests: scope by trade, packing list, list to confirm with the authority."""

from __future__ import annotations

from collections.abc import Iterable

from galleyproof.design.builder import natural
from galleyproof.design.model import Cable, Conductor, Design, EnergyClass, TerminalId
from galleyproof.package.facts import Facts, open_questions
from galleyproof.package.model import BLANK, BOX, Block, Column, Items, Para, Section, Table
from galleyproof.package.words import clauses

ELECTRICIAN = "electrical contractor"
CONTROLS = "controls contractor"
SUPPRESSION = "suppression contractor"
ALARM = "fire-alarm contractor"
GAS = "gas contractor"
BUILDING = "building-management contractor"
MAKER = "panel maker"
HOODS = "hood and fan supplier"


def trade_at(design: Design, tag: str) -> str:
    """Who touches the terminals of a device."""
    device = design.device_by_tag[tag]
    if device.type.startswith("fire_switch"):
        return SUPPRESSION
    if device.type == "alarm_module":
        return ALARM
    if device.type.startswith("link_"):
        return BUILDING
    return ""


def supplier(design: Design, tag: str) -> str:
    """Who brings a device (common practice; the contract may say otherwise)."""
    device = design.device_by_tag[tag]
    if device.supplied_by == "panel":
        return MAKER
    kinds = (
        ("fire_switch", SUPPRESSION),
        ("alarm_module", ALARM),
        ("link_", BUILDING),
        ("gas_valve", GAS),
        ("motor_", HOODS),
        ("makeup_", HOODS),
        ("hood_light", HOODS),
        ("ec_", HOODS),
        ("temperature_sensor", MAKER),
        ("current_switch", MAKER),
        ("air_flow_switch", MAKER),
        ("damper_", HOODS),
        ("appliance_", "kitchen supplier"),
        ("gas_appliance", "kitchen supplier"),
        ("master_", HOODS),
    )
    return next((who for start, who in kinds if device.type.startswith(start)), ELECTRICIAN)


def trade_of(design: Design, cable: Cable) -> str:
    """Who pulls a cable and lands it where no other trade owns the device."""
    return CONTROLS if cable.energy_class in (EnergyClass.CLASS2, EnergyClass.DATA) else ELECTRICIAN


def landers(design: Design, conductors: Iterable[Conductor]) -> dict[str, list[str]]:
    """Who lands which devices' ends of some conductors, where it is not the one who pulls them."""
    found: dict[str, list[str]] = {}
    for c in conductors:
        for end in (c.a, c.b):
            who = trade_at(design, end.device)
            if who and end.device not in found.setdefault(who, []):
                found[who].append(end.device)
    return found


def tester(design: Design, cable: Cable) -> str:
    """Who proves a cable."""
    owners = landers(design, (design.conductor_by_key[k] for k in cable.conductors))
    return " with the ".join(["start-up technician", *owners]) if owners else "start-up technician"


def scope(facts: Facts) -> Section:
    """Scope by trade: equipment, then cables."""
    design = facts.design
    equipment = []
    for d in sorted(design.devices, key=lambda d: natural(d.tag)):
        if d.parent is None and not d.type.startswith(("panelboard", "breaker")):
            wires = trade_at(design, d.tag) or _wires(design, d.tag)
            equipment.append((d.tag, d.title, d.place, supplier(design, d.tag), wires))
    cables = []
    for c in sorted(design.cables, key=lambda c: natural(c.tag)):
        mine = [design.conductor_by_key[k] for k in c.conductors]
        other = "; ".join(f"{who}: at {', '.join(tags)}" for who, tags in landers(design, mine).items())
        lands = f"{trade_of(design, c)}{f'; {other}' if other else ''}"
        cables.append((c.tag, lands, tester(design, c)))
    blocks: tuple[Block, ...] = (
        Para(
            "As the trade usually divides it (common practice); the contract prevails. The suppression system's own "
            "wiring and its releases belong to its licensed contractor alone."
        ),
        Table(
            (
                Column("Tag", 1),
                Column("What", 2.2),
                Column("Place", 1.2),
                Column("Supplied by", 1.5),
                Column("Wired by", 1.5),
            ),
            tuple(equipment),
            "Equipment",
        ),
        Table(
            (
                Column("Cable", 1.5),
                Column("Pulled and landed by", 3.2),
                Column("Tested by", 2.2),
            ),
            tuple(cables),
            "Cables",
        ),
        Table(
            (Column("Trade", 1.4), Column("Starts after", 2.4), Column("Hands over", 2.6)),
            (
                (ELECTRICIAN, "panel mounted, drawings reviewed", "circuits locked out, raceways and power conductors"),
                (CONTROLS, "raceways stand", "sensors, switches, signals and links landed and marked"),
                (SUPPRESSION, "loop and shutdown cables at the hood", "switch landed and measured on both sides"),
                (ALARM, "the switch or panel contact is landed", "signal received and named at the building panel"),
                (GAS, "valve body in the pipe, coil reachable", "pipe tested; valve shut until start-up"),
                ("start-up technician", "all of the above signed", "check-out sheet, start-up record, acceptance list"),
            ),
            "Order of hand-over",
        ),
    )
    return Section("scope", "Scope by trade", blocks)


def _wires(design: Design, tag: str) -> str:
    if design.device_by_tag[tag].type == "gas_appliance":
        return f"{GAS} (pipe only)"
    found = dict.fromkeys(
        trade_of(design, c)
        for c in design.cables
        if any(tag in (e.device for e in ends(design.conductor_by_key[k])) for k in c.conductors)
    )
    return ", ".join(found) or ("patch cable, " + CONTROLS)


def ends(conductor: Conductor) -> tuple[TerminalId, TerminalId]:
    """Both landings."""
    return (conductor.a, conductor.b)


def packing(facts: Facts) -> Section:
    """What arrives, with the receiving check."""
    design, panel = facts.design, facts.job.panel
    inside = [d for d in design.devices if d.parent == panel.tag]
    lines = [(panel.tag, f"control panel, {len(inside)} devices built in and wired", "1")]
    loose = [d for d in design.devices if d.parent is None and supplier(design, d.tag) == MAKER]
    lines += [(d.tag, d.title, "1") for d in sorted(loose, key=lambda d: natural(d.tag))]
    lines += [(d.tag, "patch cable of the operator display", "1") for d in loose if d.type == "display"]
    if design.jumpers:
        tags = ", ".join(f"{j.a} to {j.b}" for j in design.jumpers)
        lines.append(("jumpers", f"fitted in the panel for shipping: {tags}", str(len(design.jumpers))))
    conductors = sum(c.made == "field" for c in design.conductors)
    lines.append(("labels", f"{conductors} conductor labels, two of each", str(2 * conductors)))
    lines.append(("papers", "this package, printed, in the pocket of the panel door", "1"))
    rows = tuple((BOX, tag, what, n, BLANK, BOX, BLANK) for tag, what, n in lines)
    columns = (
        Column("Here", 0.4),
        Column("Tag", 1.0),
        Column("What", 3.2),
        Column("Sent", 0.5, True),
        Column("Counted", 0.8),
        Column("Whole", 0.5),
        Column("Serial number", 1.6),
    )
    blocks: tuple[Block, ...] = (
        Table(columns, rows, "Packing list and receiving check"),
        Items(
            (
                "Count every line before the driver leaves; write the count down.",
                "Look for crushed corners, wet cartons, loose devices inside the panel; open the door.",
                "Write every shortage and every damage on the bill of lading before signing it, and take pictures.",
                "Copy serial numbers of the panel, of drives and of fans; the start-up record asks for them.",
                "Keep the panel dry and upright until it hangs; leave the factory jumpers where they are.",
            ),
            numbered=True,
        ),
        Table(
            (Column("Received by", 2), Column("Date", 1), Column("Bill of lading no.", 1.5), Column("Remarks", 3)),
            ((BLANK,) * 4, (BLANK,) * 4),
        ),
    )
    return Section("packing", "Packing list and receiving check", blocks)


QUESTIONS = {
    "exhaust_on_release": (
        "Shall exhaust start in a release when it stood, or only be kept running?",
        "The panel starts it: satisfies both readings.",
    ),
    "lights_on_release": ("Shall hood lights go off in a release?", "They stay as switched unless told otherwise."),
    "unheated_receptacles": (
        "Shall receptacles that do not heat (refrigerators, timers) under the hood be tripped too?",
        "Tripped: satisfies both readings.",
    ),
    "supply_air_near_hood": (
        "Which make-up air stops: only what is supplied inside the hood, or anything near it?",
        "All make-up units that serve the zone stop: satisfies both readings.",
    ),
    "building_signal": ("Is the signal to the building an alarm, supervisory, or none?", "Alarm."),
    "gaseous_agent": ("Does a gaseous agent ask that exhaust stops?", "Not applicable without a gaseous agent."),
    "duct_velocity": ("Does the least duct velocity hold at design only, or at all times?", "At all times."),
}


def authority(facts: Facts) -> Section:
    """What codes and officials answer differently, and everything else that is open."""
    rows = []
    for key, answer in facts.job.authority:
        question, taken = QUESTIONS.get(key, (key.replace("_", " "), ""))
        rows.append((question, str(answer), taken if answer == "not yet confirmed" else "as answered", BLANK))
    editions = (
        f"NFPA 70-{facts.job.codes.nec}, IMC {facts.job.codes.imc}, NFPA 96-{facts.job.codes.nfpa_96}: confirm that "
        "these editions are adopted, with which amendments."
    )
    found = open_questions(facts)
    blocks: list[Block] = [
        Para(editions, "bold"),
        Table(
            (
                Column("Question", 3),
                Column("Answer in the job", 1.5),
                Column("Drawn as", 2),
                Column("Confirmed by, date", 1.6),
            ),
            tuple(rows),
            "To confirm with the authority having jurisdiction",
        ),
        Table(
            (Column("What is asked for", 2.6), Column("Where", 3.2)),
            _sources(facts),
            "Requirement and source",
        ),
    ]
    if found:
        blocks.append(
            Table(
                (Column("Open", 5), Column("Answered by, date", 1.6)),
                tuple((q, BLANK) for q in found),
                "Open questions",
            )
        )
    return Section("authority", "To confirm with the authority", tuple(blocks))


def _sources(facts: Facts) -> tuple[tuple[str, ...], ...]:
    """Each kind of promise once, with the clause it rests on."""
    if facts.proof is None:
        return (("promises", "not yet computed"),)
    found: dict[str, str] = {}
    for v in facts.proof.verdicts:
        found.setdefault(v.promise.kind, f"{clauses((v.promise.clause,))}: {v.promise.text}")
    return tuple((kind.replace("-", " "), words) for kind, words in found.items())


def findings(facts: Facts) -> Section:
    """Every finding with its cure and its clauses."""
    rows = [
        (str(f.severity), f.code, f.item, f"{f.message}." + (f" Cure: {f.cure}." if f.cure else ""), clauses(f.basis))
        for f in facts.findings
    ]
    columns = (
        Column("Weight", 0.8),
        Column("Code", 1.4),
        Column("Item", 1.2),
        Column("What was found", 5),
        Column("Clauses", 2),
    )
    blocks: list[Block] = [Table(columns, tuple(rows))] if rows else [Para("Nothing was found.")]
    blocks += [Para(f"{what}; {facts.status.lower()} without it.", "missing") for what in facts.failed]
    return Section("findings", "Findings", tuple(blocks), wide=True)
