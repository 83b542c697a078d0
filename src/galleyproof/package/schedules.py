"""Terminal-to-terminal list, cables and raceways, circuits, bill of material: also the tables of the workbook."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from galleyproof import units
from galleyproof.design.builder import natural
from galleyproof.design.model import Conductor, Device
from galleyproof.package.facts import Facts
from galleyproof.package.model import MISSING, Block, Column, Para, Row, Section, Table, missing
from galleyproof.package.ownership import loads
from galleyproof.package.simulated import Simulated
from galleyproof.package.words import circuit_title, deciding, places, value
from galleyproof.sizing.raceways import Filling

CONDUCTORS = (
    Column("No.", 0.6, True),
    Column("From", 1.6),
    Column("To", 1.6),
    Column("Made", 0.8),
    Column("Class", 1.1),
    Column("Size", 0.8),
    Column("Insulation", 0.9),
    Column("Colour", 1.0),
    Column("Length ft", 0.7, True),
    Column("Cable", 1.4),
    Column("Raceway", 1.5),
    Column("Purpose", 2.6),
)


def conductor_row(facts: Facts, c: Conductor) -> tuple[str, ...]:
    """One conductor in the order of CONDUCTORS."""
    return (
        str(c.number),
        str(c.a),
        str(c.b),
        c.made,
        str(c.energy_class),
        units.format_awg(c.awg),
        insulation_of(facts, c),
        c.colour,
        f"{c.length_ft:g}",
        c.cable,
        raceway_of(facts, c),
        c.purpose,
    )


def raceway_of(facts: Facts, c: Conductor) -> str:
    """Tag of the raceway a conductor runs in."""
    if not c.cable:
        return "inside the panel"
    sized = facts.sizes.conductors.get(c.key) if facts.sizes is not None else None
    return sized.raceway if sized else MISSING


def insulation_of(facts: Facts, c: Conductor) -> str:
    """Type letters of a conductor."""
    sized = facts.sizes.conductors.get(c.key) if facts.sizes is not None else None
    return sized.insulation if sized else MISSING


def by_number(facts: Facts) -> list[Conductor]:
    """Conductors in the order of their numbers."""
    return sorted(facts.design.conductors, key=lambda c: c.number)


def terminals(facts: Facts) -> Section:
    """Every conductor from terminal to terminal, field work by cable, then the factory's."""
    rows: list[Row] = []
    for cable in sorted(facts.design.cables, key=lambda c: natural(c.tag)):
        way = cable.to_place if cable.from_place == cable.to_place else f"{cable.from_place} to {cable.to_place}"
        route = f", route {cable.route}" if cable.route else ""
        mine = sorted((facts.design.conductor_by_key[k] for k in cable.conductors), key=lambda c: c.number)
        within = ", ".join(dict.fromkeys(raceway_of(facts, c) for c in mine))
        kinds = ", ".join(dict.fromkeys(insulation_of(facts, c) for c in mine))
        title = f"{cable.tag}: field, {cable.energy_class}, {way}{route}, {cable.length_ft:g} ft"
        rows.append(f"{title}; raceway {within}; {kinds}")
        rows += [_landing(c) for c in mine]
    inside = [c for c in by_number(facts) if not c.cable]
    for cls in dict.fromkeys(c.energy_class for c in inside):
        rows.append(f"Without cable: factory or cord, {cls}")
        rows += [_landing(c) for c in inside if c.energy_class == cls]
    blocks: list[Block] = [
        Para(
            f"{len(facts.design.conductors):,} conductors. Numbers stay with their conductor through revisions. Sizes "
            f"are {'computed' if facts.sizes is not None else 'those of the design: ' + MISSING}."
        ),
        Table(_LANDINGS, tuple(rows)),
    ]
    if facts.design.jumpers:
        jumpers = tuple((str(j.a), str(j.b), j.of, j.purpose) for j in facts.design.jumpers)
        heads = (Column("From"), Column("To"), Column("Of"), Column("Purpose", 3))
        blocks.append(Table(heads, jumpers, "Factory jumpers, fitted for shipping"))
    return Section("terminals", "Terminal-to-terminal list", tuple(blocks))


_LANDINGS = (
    Column("No.", 0.5, True),
    Column("From", 1.5),
    Column("To", 1.5),
    Column("Size and colour", 1.4),
    Column("Purpose", 2.6),
)


def _landing(c: Conductor) -> tuple[str, ...]:
    return (str(c.number), str(c.a), str(c.b), f"{units.format_awg(c.awg)} {c.colour}", c.purpose)


RACEWAYS = (
    Column("Raceway", 1.7),
    Column("Kind", 1.0),
    Column("Trade size", 0.7),
    Column("From", 1.2),
    Column("To", 1.2),
    Column("Length ft", 0.7, True),
    Column("Class", 1.2),
    Column("Holds", 2.4),
    Column("Fill", 0.6, True),
    Column("Permitted", 0.7, True),
    Column("Cables", 3.2),
)
CABLES = (
    Column("Cable", 1.6),
    Column("Class", 1.0),
    Column("From", 1.2),
    Column("To", 1.2),
    Column("Route", 1.0),
    Column("Length ft", 0.7, True),
    Column("Conductors", 0.8, True),
    Column("Numbers", 3.0),
)


def raceway_rows(facts: Facts) -> tuple[tuple[str, ...], ...]:
    """One row for each raceway or open cable; empty without sizes."""
    if facts.sizes is None:
        return ()
    return tuple(
        (
            r.tag,
            r.kind,
            r.trade_size,
            r.from_place,
            r.to_place,
            f"{r.length_ft:g}",
            r.energy_class,
            "; ".join(_filling(f) for f in r.contents),
            f"{r.fill_ratio:.0%}" if r.trade_size else "",
            f"{r.max_fill_ratio:.0%}" if r.trade_size else "",
            ", ".join(r.cables),
        )
        for r in facts.sizes.raceways
    )


def cable_rows(facts: Facts) -> tuple[tuple[str, ...], ...]:
    """One row for each cable of the design."""
    found = []
    for c in sorted(facts.design.cables, key=lambda c: natural(c.tag)):
        numbers = sorted(facts.design.conductor_by_key[k].number for k in c.conductors)
        words = ", ".join(map(str, numbers))
        found.append(
            (
                c.tag,
                str(c.energy_class),
                c.from_place,
                c.to_place,
                c.route,
                f"{c.length_ft:g}",
                str(len(numbers)),
                words,
            )
        )
    return tuple(found)


def _filling(f: Filling) -> str:
    if f.cable_diameter_inch is not None:
        return f"{f.count} × {f.size}, {f.cable_diameter_inch:g} in across"
    return f"{f.count} × {units.format_awg(f.size)} {f.insulation}"


def cables(facts: Facts) -> Section:
    """Cable and raceway schedule."""
    raceways: Block = (
        Table(
            tuple(replace(c, width=1.3) if c.title == "Fill" else c for c in RACEWAYS if c.title != "Permitted"),
            tuple((*r[:8], f"{r[8]} of {r[9]}" if r[8] else "", r[10]) for r in raceway_rows(facts)),
            "Raceways and open cables: fill as it is, of what is permitted",
        )
        if facts.sizes is not None
        else missing("Raceways, trade sizes and fills")
    )
    rule = (
        "Class 2 and data conductors never share a raceway, box or wireway with line voltage or Class 1 unless a "
        "barrier parts them, or unless the Class 2 circuit is reclassified and wired as Class 1 (NFPA 70 725.136; "
        "reclassified ones: 725.130)."
    )
    sizes = "Trade sizes and fills by NFPA 70 chapter 9 Tables 1, 4 and 5, equal conductors by Annex C."
    moved = [f"{r.tag}: {', '.join(r.reclassified)}" for r in facts.job.raceways if r.reclassified]
    words = f"Reclassified in this job: {'; '.join(moved)}." if moved else "Nothing is reclassified in this job."
    blocks = (
        Para(rule),
        Para(words),
        raceways,
        Para(sizes, "note"),
        Table(
            tuple(c for c in CABLES if c.title != "Conductors"),
            tuple((*row[:6], row[7]) for row in cable_rows(facts)),
            "Cables and raceway groups",
        ),
    )
    return Section("cables", "Cable and raceway schedule", blocks, wide=True)


CIRCUITS = (
    Column("Circuit", 0.9),
    Column("Item", 1.1),
    Column("What", 2.0),
    Column("Size", 1.1),
    Column("Given", 1.1),
    Column("Holds", 0.6),
    Column("By", 2.4),
)


def circuit_rows(facts: Facts) -> tuple[tuple[str, ...], ...]:
    """One row for each number of the sizing; empty without sizes."""
    if facts.sizes is None:
        return ()
    edition = facts.sizes.edition
    return tuple(
        (
            n.circuit,
            n.item,
            n.what,
            value(n),
            n.given,
            "NO" if not n.ok else ("yes" if n.given else ""),
            places(deciding(n), edition),
        )
        for n in facts.sizes.numbers
    )


def circuits(facts: Facts, on: Simulated) -> Section:
    """Circuit schedule with clauses."""
    heads = (
        Column("Circuit", 0.9),
        Column("Lines", 0.8),
        Column("Poles", 0.5, True),
        Column("Device", 1.2),
        Column("Shunt trip", 1.6),
        Column("Feeds", 3.0),
    )
    rows = []
    for c in facts.job.circuits:
        trip = "no"
        if c.shunt_trip is not None:
            cut = "with" if c.shunt_trip.cut_off_contact else "without"
            trip = f"{c.shunt_trip.coil:g} V coil, {cut} cut-off contact"
        feeds = circuit_title(facts.job, c).split(" · ")[1]
        rows.append((c.tag, " ".join(c.lines), str(len(c.lines)), f"{c.breaker:g} A {c.device}", trip, feeds))
    blocks: list[Block] = [Table(heads, tuple(rows), "Circuits of the building that feed this job"), *loads(facts, on)]
    if facts.sizes is None:
        blocks.append(missing("Conductor sizes, protection and clauses", "galleyproof size says why"))
    else:
        by_tag = {c.tag: c for c in facts.job.circuits}
        sized: list[Row] = []
        before = ""
        for row in circuit_rows(facts):
            if row[0] != before:
                before = row[0]
                circuit = by_tag.get(before)
                sized.append(circuit_title(facts.job, circuit) if circuit else f"{before} · panel, board and feeder")
            _, item, what, size, given, holds, by = row
            if what == "trade size":
                continue  # stands in the raceway schedule
            verdict = {"yes": ": holds", "NO": ": DOES NOT HOLD"}.get(holds, "")
            sized.append((item, what, size, f"{given}{verdict}".removeprefix(": "), by))
        blocks += [
            Para(
                f"Clauses without a name are those of NFPA 70-{facts.sizes.edition}. Conductors and protection of "
                "motors go by the tables' full-load current, overloads by the nameplate, conductors to a "
                "drive by the drive's input current. galleyproof size JOB --why ITEM prints every step of a number."
            ),
            Table(tuple(c for c in CIRCUITS[1:] if c.title != "Holds"), tuple(sized), "Sizes with their clauses"),
        ]
    return Section("circuits", "Circuit schedule", tuple(blocks))


MATERIAL = (
    Column("Count", 0.5, True),
    Column("Item", 2.6),
    Column("Ratings", 2.8),
    Column("Tags", 2.8),
    Column("Brought by", 1.2),
)


def material_rows(facts: Facts) -> tuple[tuple[str, ...], ...]:
    """Equal devices together: the panel's own first."""
    groups: dict[tuple[str, str, str], list[Device]] = {}
    for d in sorted(facts.design.devices, key=lambda d: (d.supplied_by != "panel", d.type, natural(d.tag))):
        kind = facts.library[d.type].title if d.type in facts.library else d.type
        groups.setdefault((d.supplied_by, kind, ratings(facts, d)), []).append(d)
    return tuple(
        (str(len(ds)), kind, words, ", ".join(d.tag for d in ds), "panel maker" if by == "panel" else "others")
        for (by, kind, words), ds in groups.items()
    )


def ratings(facts: Facts, device: Device) -> str:
    """What a device's type asks for, in words; figures of the simulation are left out."""
    spec = facts.library[device.type].ratings if device.type in facts.library else {}
    said = []
    for name, given in device.ratings.items():
        if name not in spec or name.endswith("_ohm") or name in ("around", "zone", "hood", "valve", "last", "on_drive"):
            continue
        unit = spec[name].unit
        shown = f"{given:g}" if isinstance(given, float | int) and not isinstance(given, bool) else str(given)
        said.append(f"{name.replace('_', ' ')} {shown}{'' if unit == '-' else f' {unit}'}")
    return ", ".join(said)


def wire_rows(facts: Facts) -> tuple[tuple[str, ...], ...]:
    """Field wire by size and colour, with the net length."""
    feet: Counter[tuple[str, str, str]] = Counter()
    for c in facts.design.conductors:
        if c.made == "field":
            feet[(c.awg, c.colour, str(c.energy_class))] += round(c.length_ft)
    keys = sorted(feet, key=lambda k: (natural(k[0]), k[1], k[2]))
    return tuple((units.format_awg(k[0]), k[1], k[2], f"{feet[k]:,}") for k in keys)


def material(facts: Facts) -> Section:
    """Bill of material: devices, and field wire by size and colour."""
    rows = material_rows(facts)
    wire = (Column("Size"), Column("Colour"), Column("Class"), Column("Net length ft", 1, True))
    blocks: tuple[Block, ...] = (
        Table(MATERIAL, tuple(r for r in rows if r[4] == "panel maker"), "Ships with the panel"),
        Table(MATERIAL, tuple(r for r in rows if r[4] != "panel maker"), "Stands on site, by others"),
        Table(wire, wire_rows(facts), "Field wire"),
        Para("Net lengths along the routes; nothing is added for slack, waste or drops.", "note"),
    )
    return Section("material", "Bill of material", blocks)
