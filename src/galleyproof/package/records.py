"""Sheets that are filled in: silent faults and their tests, check-out, acceptance, start-up."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from galleyproof.checkout.words import said_range
from galleyproof.package.facts import Facts
from galleyproof.package.model import BLANK, BOX, Block, Column, Items, Para, Row, Section, Table, missing
from galleyproof.package.ownership import reading_rules
from galleyproof.package.simulated import Simulated
from galleyproof.package.words import plural

if TYPE_CHECKING:
    from galleyproof.checkout.plan import Plan

WHOLE = "run galleyproof package with --whole: every wiring mistake is then simulated"


def silent(facts: Facts) -> Section:
    """Faults that nobody would notice, and the test that keeps them from staying."""
    title = "Silent faults and their tests"
    if facts.study is None:
        latent = [f for f in facts.findings if "LATENT" in f.code]
        blocks: list[Block] = [missing("Every wiring mistake in every situation", WHOLE)]
        if latent:
            blocks.append(
                Table(
                    (Column("Item", 1), Column("Stays silent", 5)),
                    tuple((f.item, f"{f.message}. {f.cure}") for f in latent),
                )
            )
        blocks.append(missing("Test intervals"))
        return Section("silent", title, tuple(blocks))
    from galleyproof.proof.study import CLASSES

    done = facts.study
    hidden = [o for o in done.outcomes if o.verdict == "hidden"]
    tests: dict[str, list[str]] = {}
    for o in hidden:
        tests.setdefault(o.test, []).append(f"{o.slip.sentence}: {o.seen}")
    rows: list[Row] = []
    for test, found in tests.items():
        rows.append(test or "no test known")
        rows += [(str(i), words) for i, words in enumerate(found, 1)]
    counts = ", ".join(f"{done.count(c):,} {c}" for c in CLASSES)
    blocks = [
        Para(
            f"{plural(len(done.outcomes), 'wiring mistake')} tried in {plural(done.situations, 'situation')}: {counts}."
            " Hidden: all looks well until the fire, the outage or the broken sensor comes. Each test below stands "
            "over what it finds.",
        ),
        Table(
            (Column("No.", 0.3, True), Column("What would stay silent", 6)),
            tuple(rows),
            "Hidden mistakes by the test that finds them",
        ),
    ]
    return Section("silent", title, tuple(blocks))


def check_out(facts: Facts) -> Section:
    """The shortest check-out sheet, with boxes and room for readings."""
    title = "Check-out sheet"
    plan = facts.plan
    if plan is None:
        lacking = missing("The shortest list of readings that catches every slip", WHOLE)
        return Section("check-out", title, (lacking, *reading_rules()))
    blocks: list[Block] = [
        Para(f"{plan.words()}; about {plan.minutes:.0f} minutes of work, {_optimal(plan)}."),
        *(Para(f"{stage}: {words}", "caution") for stage, words in plan.cautions()),
        *reading_rules(),
        Table(_READINGS, tuple(_lines(plan)), "Readings, in order"),
    ]
    if plan.uncatchable:
        lines = tuple(f"{facts.slips[key]}." for key in plan.uncatchable)
        blocks += [Para("No reading tells these; look at the work itself:", "bold"), Items(lines)]
    return Section("check-out", title, tuple(blocks), wide=True)


_READINGS = (
    Column("Done", 0.4),
    Column("No.", 0.4, True),
    Column("Do", 5.2),
    Column("Place", 1.2),
    Column("Expect", 1.8),
    Column("Reading", 1.2),
)


def _optimal(plan: Plan) -> str:
    return "proven the least that does it" if plan.gap == 0.0 else f"proven within {plan.gap:.2%} of the least"


def _lines(plan: Plan) -> list[Row]:
    """All but the acceptance list, which has a section of its own."""
    words = {p.key: p for p in plan.preparations}
    rows: list[Row] = []
    preparation = stage = ""
    for n, r in enumerate(plan.readings, 1):
        if r.required:
            continue
        probe = r.probe
        if probe.stage != stage or probe.preparation != preparation:
            stage, preparation = probe.stage, probe.preparation
            prep = words[preparation]
            needs = f" (with {prep.needs})" if prep.needs else ""
            rows.append(f"{stage.capitalize()}: {prep.words}{needs}")
        caution = f" Caution: {probe.caution}" if probe.caution else ""
        rows.append((BOX, str(n), probe.words + caution, probe.place, said_range(probe, r.expected), BLANK))
    return rows


def acceptance_list(facts: Facts, on: Simulated) -> Section:
    """The acceptance list in the order in which officials ask, each line with what the simulated wiring does."""
    job = facts.job
    blocks: list[Block] = [
        Para(
            "In the order in which officials ask: fuel and power off, reset only by hand, supply off, exhaust on "
            "during and after, alarm received (common practice of acceptance tests under NFPA 96). "
            "Expectations are read off the simulated wiring."
        ),
        Para(
            "With the suppression contractor and the fire-alarm contractor present, and after the people in the "
            "kitchen were told.",
            "caution",
        ),
    ]
    columns = (
        Column("Done", 0.4),
        Column("No.", 0.4, True),
        Column("Look at", 2.4),
        Column("Expect", 2),
        Column("Found", 1.6),
    )
    for zone in on.zones:
        released = on.apply(on.cooking, {f"fire {zone}": "released"})
        armed = on.apply(released, {f"fire {zone}": "armed"})
        cold = on.apply(on.ready, {f"fire {zone}": "released"})
        hoods = [h for h in job.hoods if h.zone == zone]
        fuel = [a.tag for h in hoods for a in h.appliances if a.shut_down and a.tag in on.slots]
        fuel += [s.tag for s in job.shutdowns if s.zone == zone and s.kind == "gas valve"]
        fans = [f.tag for f in job.exhaust_fans if {h.tag for h in hoods} & set(f.serves)]
        supply = [u.tag for u in job.makeup_units if set(u.tracks) & set(fans)]
        alarms = [d.tag for d in facts.design.devices if d.type in ("alarm_module", "horn")]
        rows: list[Row] = []
        n = 0
        for heading, state, tags in (
            ("While cooking, the system is released: fuel and power off", released, fuel),
            ("Re-armed, nothing pressed: stays off until a hand resets it", armed, fuel),
            ("Released: supply air", released, supply),
            ("Released while cooking: exhaust during and after", released, fans),
            ("Released while everything stood: exhaust", cold, fans),
            ("Released: alarm received", released, alarms),
        ):
            if tags:
                rows.append(heading)
            for tag in tags:
                n += 1
                what = f"{tag} {facts.design.device_by_tag[tag].title}"
                said = on.words(state, tag)
                rows.append((BOX, str(n), what, f"runs at {said}" if said.endswith("%") else said, BLANK))
        blocks.append(Table(columns, tuple(rows), f"Zone {zone}"))
    blocks.append(_signatures(("Installer", "Suppression contractor", "Fire-alarm contractor", "Authority")))
    return Section("acceptance", "Acceptance list", tuple(blocks))


def _signatures(who: tuple[str, ...]) -> Table:
    columns = (Column("For", 1.4), Column("Name", 2), Column("Signature", 2.4), Column("Date", 1))
    return Table(columns, tuple((w, BLANK, BLANK, BLANK) for w in who), "Signed")


def start_up(facts: Facts) -> Section:
    """The start-up record: readings the technician fills in, beside what is expected."""
    blocks: list[Block] = []
    columns = (
        Column("Item", 1.2),
        Column("Reading", 2.0),
        Column("Expected", 1.4),
        Column("At design", 1.1),
        Column("At idle", 1.1),
    )
    rows: list[Row] = []
    air = facts.air
    for fan in facts.job.exhaust_fans:
        rows.append(f"{fan.tag}, {fan.airflow:,.0f} cfm, serves {', '.join(fan.serves)}")
        limits = next((s for s in air.fan_setpoints if s.tag == fan.tag), None) if air is not None else None
        rows.append((fan.tag, "rotation seen at the shaft, not by amperes", "right way", BOX, ""))
        rows.append((fan.tag, "airflow, cfm", f"{fan.airflow:,.0f}", BLANK, BLANK))
        amps = _pair(limits.design_a, limits.idle_a, "A") if limits else "not yet computed"
        rows.append((fan.tag, "motor current, each line, A", amps, BLANK, BLANK))
        hertz = _pair(limits.design_hz, limits.idle_hz, "Hz") if limits else "not yet computed"
        if fan.drive.kind == "VFD":
            rows.append((fan.tag, "drive output, Hz", hertz, BLANK, BLANK))
        rows.append((fan.tag, "static pressure at the fan, in wc", f"{fan.static_pressure:g} scheduled", BLANK, BLANK))
    for unit in facts.job.makeup_units:
        rows.append(f"{unit.tag}, {unit.airflow:,.0f} cfm, follows {', '.join(unit.tracks)}")
        rows.append((unit.tag, "rotation seen at the shaft", "right way", BOX, ""))
        rows.append((unit.tag, "airflow, cfm", f"{unit.airflow:,.0f}", BLANK, BLANK))
        rows.append((unit.tag, "stops with its last exhaust fan", "stops", BOX, ""))
    for hood in facts.job.hoods:
        rows.append(f"{hood.tag}, {hood.style}, zone {hood.zone}")
        cup = "cup of hot water held to it, display follows"
        rows += [(s.tag, f"{s.kind}: {cup}", "rises", BOX, "") for s in hood.sensors]
        low, high = f"{hood.idle_below:g} °F", f"{hood.full_above:g} °F"
        rows.append(
            (hood.tag, "exhaust starts by itself when heat comes, minutes", f"idle {low}, full {high}", BLANK, "")
        )
        rows.append((hood.tag, "smoke stays inside the hood, cooking at full", "held", BOX, ""))
    blocks.append(
        Para("A reversed exhaust fan still moves half its air at normal amperes: look at the shaft.", "caution")
    )
    blocks.append(Table(columns, tuple(rows), "Readings"))
    if air is not None and air.records:
        recorded = tuple(
            (
                r.tag,
                str(q.quantity),
                f"{q.expected:.4g} {q.unit}",
                f"{q.measured:.4g} {q.unit}",
                "pass" if q.passed else q.direction,
            )
            for r in air.records
            for q in r.rows
        )
        heads = (
            Column("At", 1.6),
            Column("What", 1.6),
            Column("Expected", 1),
            Column("Measured", 1),
            Column("Verdict", 1),
        )
        blocks.append(Table(heads, recorded, "Readings already in the job"))
    blocks.append(
        Table(
            (Column("Serial numbers", 1.4), Column("Panel"), Column("Drives"), Column("Fans"), Column("Make-up units")),
            (("as received", BLANK, BLANK, BLANK, BLANK),),
        )
    )
    blocks.append(_first_steps(facts))
    blocks.append(_signatures(("Start-up technician", "Installer", "Owner's representative")))
    return Section("start-up", "Start-up record", tuple(blocks))


def _pair(design: float | None, idle: float | None, unit: str) -> str:
    def one(x: float | None) -> str:
        return "not yet computed" if x is None else f"{x:.3g} {unit}"

    return one(None) if design is None and idle is None else f"{one(design)} / {one(idle)}"


def _first_steps(facts: Facts) -> Table:
    """What a person without tools may look at before calling."""
    job = facts.job
    switches = ", ".join(s.tag for s in job.switches if s.does == "fans") or "no wall switch; heat starts it"
    resets = ", ".join(d.tag for d in facts.design.devices if d.type == "push_button") or "none"
    rows: Mapping[str, str] = {
        "The display": f"{job.display.tag if job.display else 'the panel door'}: which alarm stands there? Note it.",
        "The wall switch": f"{switches}: is it on?",
        "The panel's circuit": f"{job.panel.circuit}: is the breaker on? If it tripped, do not close it twice; call.",
        "The fire system": "armed, with its indicator in place? Only its contractor resets a released one.",
        "The hand reset": f"{resets}: press once after an outage; gas comes back only so.",
        "Each fan's disconnect": "closed? Filters in place and clean?",
    }
    heads = (Column("Look at", 1.2), Column("And", 4))
    return Table(heads, tuple(rows.items()), "Before calling: what anyone may look at, without tools")
