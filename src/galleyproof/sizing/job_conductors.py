"""Sizes of the power conductors of a job, in their raceways, with voltage drop and equipment grounds.

A size that the job states (``awg`` of a circuit, ``power_awg`` of the panel) is checked and kept; where it states
none, the size found here is the answer, whatever the design has drawn meanwhile.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from galleyproof.design.model import Design, Role
from galleyproof.job.model import Job
from galleyproof.sizing.conductors import (
    InsulationType,
    Surroundings,
    Wire,
    conductor_size,
    terminal_column_degc,
    usable_ampacity_a,
)
from galleyproof.sizing.grounds import egc_size
from galleyproof.sizing.job_groups import Group, Target
from galleyproof.sizing.job_ledger import Ledger
from galleyproof.sizing.job_network import Network
from galleyproof.sizing.job_raceways import Plan
from galleyproof.sizing.neutrals import CircuitWires, current_carrying_count
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, SizingError, nec, practice, shown
from galleyproof.sizing.voltage_drop import (
    MAX_RUN_FT,
    STARTING_PF,
    Run,
    drop_ratio,
    locked_rotor_a,
    size_for_drops,
    total_drop_ratio,
)
from galleyproof.tables.conductors import Material, adjustment_ratio, ambient_factor, awg_index
from galleyproof.tables.reader import TableError

__all__ = ["GroupSize", "Trouble", "count_in", "report_group", "size_group", "wire_of"]

MATERIAL: dict[str, Material] = {"copper": "cu", "aluminum": "al"}
_THICKEST = "500"
# Class 1 conductors that carry at most a tenth of their ampacity do not count (724.51); 7 A of 18 AWG. [A]
_CONTROL_COUNTS_A = 0.7


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something that keeps a size from being found.

    Attributes:
        code: Of its finding.
        item: What it is about.
        message: What is wrong.
        cure: What would help.
    """

    code: str
    item: str
    message: str
    cure: str


@dataclass(frozen=True, slots=True)
class GroupSize:
    """Sizes of one group.

    Attributes:
        group: Its conductors and what they carry.
        plan: The stretch that asks for most; None when it has no field run.
        around: Of that stretch.
        wire: Material and insulation.
        column_degc: Terminal column. [degC]
        needed: By ampacity and protection. [AWG or kcmil]
        sized: Raised for voltage drop. [AWG or kcmil]
        awg: What is installed: stated, or found. [AWG or kcmil]
        inside: In the panel: stated, or found for the air there. [AWG or kcmil]
        ground: Equipment ground. [AWG or kcmil]
        ground_awg: What is installed: stated, or found. [AWG or kcmil]
        drops: Voltage-drop cases of the worst load: run, limit, name.
        troubles: What went wrong.
    """

    group: Group
    plan: Plan | None
    around: Surroundings
    wire: Wire
    column_degc: Reasoned[int]
    needed: Reasoned[str]
    sized: Reasoned[str]
    awg: str
    inside: str
    ground: Reasoned[str]
    ground_awg: str
    drops: tuple[tuple[Run, float, str], ...]
    troubles: tuple[Trouble, ...]


def wire_of(job: Job, *, wet: bool, power: bool = True) -> Wire:
    """Material and insulation that the job wires with; control conductors are copper."""
    insulation: InsulationType = job.wiring.insulation
    return Wire(MATERIAL[job.wiring.material] if power else "cu", insulation, wet)


def count_in(
    plan: Plan, design: Design, network: Network, groups: Mapping[str, Group], nonlinear: Mapping[str, bool]
) -> Reasoned[int]:
    """Current-carrying conductors of a raceway.

    Args:
        plan: The raceway.
        design: Its conductors.
        network: What they carry.
        groups: Group of each power conductor.
        nonlinear: Whether the load of a circuit is mostly nonlinear.
    """
    circuits: list[CircuitWires] = []
    by_key = design.conductor_by_key
    for cable in plan.cables:
        power: dict[str, list[Role]] = {}
        for key in cable.conductors:
            conductor = by_key[key]
            if conductor.role is Role.GROUND:
                continue
            if key in groups:
                power.setdefault(groups[key].circuit, []).append(conductor.role)
            elif network.carried[key].load_a > _CONTROL_COUNTS_A:
                circuits.append(CircuitWires(1))
        for circuit, roles in power.items():
            lines = sum(role is not Role.NEUTRAL for role in roles)
            own = Role.NEUTRAL in roles
            circuits.append(
                CircuitWires(max(lines, 1), "own" if own and lines else "none", nonlinear.get(circuit, False))
            )
    if not circuits:
        r = Reasoning()
        r.step(
            "no conductor that counts: control conductors within a tenth of their ampacity",
            1,
            "-",
            practice("control conductors"),
        )
        return r.done(1, "-")
    return current_carrying_count(circuits)


@lru_cache(maxsize=4096)
def _by_ampacity(
    min_a: float,
    column: int,
    wire: Wire,
    around: Surroundings,
    load_a: float | None,
    ocpd_a: float,
    by_430: bool,
    at_least: str,
    edition: NecEdition,
) -> Reasoned[str]:
    return conductor_size(
        min_a,
        column,
        wire,
        around,
        load_a=load_a,
        ocpd_a=ocpd_a,
        ocpd_by_article_430=by_430,
        at_least=at_least,
        edition=edition,
    )


@lru_cache(maxsize=4096)
def _for_drops(size: str, cases: tuple[tuple[Run, float, str], ...], edition: NecEdition) -> Reasoned[str]:
    return size_for_drops(size, cases, edition=edition)


@lru_cache(maxsize=4096)
def _drop(size: str, run: Run, edition: NecEdition) -> Reasoned[float]:
    return drop_ratio(size, run, edition=edition)


def size_group(
    job: Job,
    group: Group,
    plans: Sequence[Plan],
    counts: Mapping[str, Reasoned[int]],
    edition: NecEdition,
) -> GroupSize:
    """Sizes of one group over all its stretches.

    Args:
        job: Its wiring.
        group: What is to be sized.
        plans: Raceways its conductors run in.
        counts: Current-carrying conductors of each raceway, by its tag.
        edition: Edition of the rules.
    """
    troubles: list[Trouble] = []
    wet = any(plan.wet for plan in plans)
    wire = wire_of(job, wet=wet)
    if wet and wire.insulation == "THHN":
        troubles.append(
            Trouble(
                "INSULATION-WET",
                group.name,
                f"{group.what} of {group.name}: THHN in a raceway outdoors, which counts as a wet place (300.9)",
                "take THWN-2 or XHHW-2 insulation",
            )
        )
        wire = Wire(wire.material, "THWN-2", wet)
    column = terminal_column_degc(group.ocpd_a, marked_degc=group.marked_degc, edition=edition)
    at_least = job.wiring.least_power_awg
    plan, around = _worst(plans, counts, wire, troubles, group)
    needed = _needed(group, column, wire, around, at_least, edition, troubles, plan, counts)
    drops = _drop_cases(job, group, plans, wire)
    if any(run.run_ft > MAX_RUN_FT for run, _, _ in drops):
        longest = max(run.run_ft for run, _, _ in drops)
        troubles.append(
            Trouble(
                "RUN-LONG",
                group.name,
                f"{group.what} of {group.name}: {longest:.0f} ft, with what its loads share, is longer than a mile",
                "check the lengths of the routes and their units",
            )
        )
        drops = tuple(case for case in drops if case[0].run_ft <= MAX_RUN_FT)
    sized = needed
    if drops:
        try:
            found = _for_drops(needed.value, drops, edition)
        except SizingError as refused:
            troubles.append(Trouble("DROP-NONE", group.name, f"{group.what} of {group.name}: {refused}", _DROP_CURE))
        else:
            r = Reasoning(edition)
            r.take(needed)
            r.take(found)
            sized = r.done(found.value, found.unit)
    awg = group.stated or sized.value
    inside = group.stated or _inside(job, group, column.value, edition)
    ground = _ground(group, awg, needed.value, wire, edition)
    return GroupSize(
        group,
        plan,
        around,
        wire,
        column,
        needed,
        sized,
        awg,
        inside,
        ground,
        group.stated_ground or ground.value,
        drops,
        tuple(troubles),
    )


_DROP_CURE = "shorten the run, raise the voltage, split the load, or move its supply nearer"


def _worst(
    plans: Sequence[Plan],
    counts: Mapping[str, Reasoned[int]],
    wire: Wire,
    troubles: list[Trouble],
    group: Group,
) -> tuple[Plan | None, Surroundings]:
    """Stretch that takes most ampacity away; ampacity falls with it alone, so it decides for all."""
    insulation = 90 if wire.insulation != "THWN" and not (wire.insulation == "XHHW" and wire.wet) else 75
    found: list[tuple[float, str, Plan, Surroundings]] = []
    for plan in plans:
        around = Surroundings(plan.ambient.value, counts[plan.tag].value, plan.short)
        try:
            ratio = ambient_factor(around.ambient_degc, insulation).value
            ratio *= 1.0 if plan.short else _share(around.current_carrying)
        except TableError as refused:
            if all(t.code != "AMBIENT-HOT" for t in troubles):
                troubles.append(
                    Trouble(
                        "AMBIENT-HOT",
                        group.name,
                        f"{group.what} of {group.name} in {plan.tag}: {refused}",
                        "route the run through a cooler place, or take insulation for a hotter one",
                    )
                )
            around = Surroundings(30.0, around.current_carrying, plan.short)
            ratio = 0.0
        found.append((ratio, plan.tag, plan, around))
    if not found:
        return None, Surroundings()
    worst = min(found, key=lambda one: one[:2])
    return worst[2], worst[3]


@lru_cache(maxsize=64)
def _share(count: int) -> float:
    return adjustment_ratio(count).value


def _needed(
    group: Group,
    column: Reasoned[int],
    wire: Wire,
    around: Surroundings,
    at_least: str,
    edition: NecEdition,
    troubles: list[Trouble],
    plan: Plan | None,
    counts: Mapping[str, Reasoned[int]],
) -> Reasoned[str]:
    r = Reasoning(edition)
    r.take(group.min_a)
    r.take(column)
    if plan is not None:
        r.remark(f"{plan.tag} asks for most: {plan.from_place} to {plan.to_place}, {plan.length_ft:g} ft")
        r.take(plan.ambient)
        r.take(counts[plan.tag])
    try:
        found = _by_ampacity(
            group.min_a.value,
            column.value,
            wire,
            around,
            group.in_place_a,
            group.ocpd_a,
            group.by_430,
            at_least,
            edition,
        )
    except (SizingError, TableError) as refused:
        troubles.append(
            Trouble(
                "CONDUCTOR-NONE",
                group.name,
                f"{group.what} of {group.name}: {refused}",
                "split the load over more circuits, or take conductors out of the raceway",
            )
        )
        r.step("no size serves; the thickest of the tables stands in", _THICKEST, "kcmil")
        return r.done(_THICKEST, "kcmil")
    value = r.take(found)
    return r.done(value, found.unit)


def _inside(job: Job, group: Group, column: int, edition: NecEdition) -> str:
    """Size in the panel: copper, in the air its enclosure is allowed to reach, no companions to count."""
    inside_degf = job.panel.enclosure.max_inside if job.panel.enclosure is not None else 104.0
    around = Surroundings(round((inside_degf - 32.0) / 1.8, 9), 3)
    wire = Wire("cu", job.wiring.insulation, False)
    try:
        return _by_ampacity(
            group.min_a.value,
            column,
            wire,
            around,
            group.in_place_a,
            group.ocpd_a,
            group.by_430,
            job.wiring.least_power_awg,
            edition,
        ).value
    except (SizingError, TableError):
        return _THICKEST


def _ground(group: Group, awg: str, needed: str, wire: Wire, edition: NecEdition) -> Reasoned[str]:
    return egc_size(group.ocpd_a, awg, needed, wire.material, wire.material, edition=edition)


# --- voltage drop -----------------------------------------------------------------------------------------------


def _drop_cases(job: Job, group: Group, plans: Sequence[Plan], wire: Wire) -> tuple[tuple[Run, float, str], ...]:
    """Running and starting drop to the load that suffers most.

    Stretches that share conductors with other loads carry their current too, so a stretch counts with its length
    times its current over the load's own current.
    """
    lengths = {cable.tag: cable.length_ft for plan in plans for cable in plan.cables}
    current: dict[str, float] = {}
    for target in group.targets:
        for cable in target.cables:
            current[cable] = current.get(cable, 0.0) + target.load_a
    metal = "pvc" if plans and max(plans, key=lambda p: (p.length_ft, p.tag)).kind in (None, "PVC40") else "steel"
    form = "3-phase" if group.phases == 3 else "1-phase"
    cases: list[tuple[Run, float, str]] = []
    for target in group.targets:
        run_ft = _equivalent_ft(target, lengths, current)
        if run_ft <= 0.0 or target.load_a <= 0.0:
            continue
        run = Run(
            run_ft,
            target.load_a,
            group.volts,
            form,  # type: ignore[arg-type]
            target.power_factor,
            wire.material,
            metal,  # type: ignore[arg-type]
        )
        cases.append((run, job.wiring.branch_drop, f"running, {target.item}"))
        if target.across_the_line:
            start = Run(
                run_ft,
                locked_rotor_a(target.load_a).value,
                group.volts,
                form,  # type: ignore[arg-type]
                STARTING_PF,
                wire.material,
                metal,  # type: ignore[arg-type]
            )
            cases.append((start, job.wiring.starting_drop, f"starting, {target.item}"))
    return _governing(cases)


def _equivalent_ft(target: Target, lengths: Mapping[str, float], current: Mapping[str, float]) -> float:
    return round(
        sum(lengths.get(cable, 0.0) * current[cable] / target.load_a for cable in target.cables if target.load_a), 9
    )


def _governing(cases: Iterable[tuple[Run, float, str]]) -> tuple[tuple[Run, float, str], ...]:
    """The hardest case of each kind; the others of a kind and power factor follow from it."""
    hardest: dict[tuple[str, float], tuple[Run, float, str]] = {}
    for case in cases:
        run, _, name = case
        kind = (name.split(",")[0], run.power_factor)
        kept = hardest.get(kind)
        if kept is None or run.run_ft * run.load_a > kept[0].run_ft * kept[0].load_a:
            hardest[kind] = case
    return tuple(hardest[kind] for kind in sorted(hardest))


# --- numbers and findings ---------------------------------------------------------------------------------------


def report_group(found: GroupSize, job: Job, ledger: Ledger, feeder_drop: Reasoned[float] | None) -> str:
    """Write down what one group came to; gives the key of its size."""
    group, edition = found.group, ledger.edition
    for trouble in found.troubles:
        add = ledger.warn if trouble.code == "DROP-NONE" else ledger.error
        add(trouble.code, trouble.item, trouble.message, trouble.cure, found.needed.basis)
    given = "" if group.stated is None else f"{group.stated} {_unit(group.stated)}"
    thin = group.stated is not None and awg_index(group.stated) < awg_index(found.needed.value)
    ledger.add(group.name, f"{group.what} by ampacity", found.needed, group.circuit, given=given, ok=not thin)
    usable = _usable(found, edition)
    if usable is not None:
        ledger.add(group.name, f"{group.what} ampacity", usable, group.circuit)
    drop_ok = _report_drops(found, job, ledger, feeder_drop, thin)
    key = ledger.add(group.name, group.what, found.sized, group.circuit, given=given, ok=not thin and drop_ok)
    if thin:
        _report_thin(found, job, ledger)
    if group.grounds or group.stated_ground:
        _report_ground(found, ledger)
    return key


def _usable(found: GroupSize, edition: NecEdition) -> Reasoned[float] | None:
    return _usable_a(found.awg, found.column_degc.value, found.wire, found.around, edition)


@lru_cache(maxsize=4096)
def _usable_a(size: str, column: int, wire: Wire, around: Surroundings, edition: NecEdition) -> Reasoned[float] | None:
    try:
        return usable_ampacity_a(size, column, wire, around, edition=edition)
    except (SizingError, TableError):
        return None


def _report_thin(found: GroupSize, job: Job, ledger: Ledger) -> None:
    """One finding for a stated size that is too thin, named by what it fails."""
    group, stated, edition = found.group, found.group.stated or "", ledger.edition
    size = f"{stated} {_unit(stated)}"
    needed = f"{found.needed.value} {_unit(found.needed.value)}"
    why = next((text for text in found.needed.passed_over if text.startswith(f"{size}:")), "")
    why = why.removeprefix(f"{size}: ") or f"{needed} is needed"
    at_75 = found.column_degc.value < 75 and _would_do(found, stated, 75, found.around, group.ocpd_a, job, edition)
    plain = Surroundings(30.0, 3)
    alone = _would_do(found, stated, found.column_degc.value, plain, group.ocpd_a, job, edition)
    loads = _would_do(found, stated, found.column_degc.value, found.around, None, job, edition)
    subject = f"{group.what} of {group.name}, {size}: {why}"
    if at_75:
        ledger.error(
            "WIRE-TERMINAL",
            group.name,
            f"{subject}; it carries enough in the 75 degC column only",
            f"take {needed}, or equipment marked for 75 degC at both ends",
            (nec("110.14(C)(1)", edition), *found.needed.basis),
        )
    elif loads:
        ledger.error(
            "WIRE-PROTECTION",
            group.name,
            subject,
            f"take {needed}, or a smaller {'' if group.item else 'overcurrent '}device",
            (nec("240.4", edition), *found.needed.basis),
        )
    elif alone and found.plan is not None:
        ledger.error(
            "WIRE-DERATED",
            group.name,
            f"{subject} (in {found.plan.tag}, {found.around.ambient_degc:.4g} degC, "
            f"{found.around.current_carrying} current-carrying conductors)",
            f"take {needed}, or a raceway with fewer conductors or in a cooler place",
            found.needed.basis,
        )
    else:
        ledger.error("WIRE-THIN", group.name, subject, f"take {needed}", found.needed.basis)


def _would_do(
    found: GroupSize,
    size: str,
    column: int,
    around: Surroundings,
    ocpd_a: float | None,
    job: Job,
    edition: NecEdition,
) -> bool:
    group = found.group
    try:
        least = conductor_size(
            group.min_a.value,
            column,
            found.wire,
            around,
            load_a=group.in_place_a,
            ocpd_a=ocpd_a,
            ocpd_by_article_430=group.by_430,
            at_least=job.wiring.least_power_awg,
            edition=edition,
        ).value
    except (SizingError, TableError):
        return False
    return awg_index(size) >= awg_index(least)


def _report_drops(found: GroupSize, job: Job, ledger: Ledger, feeder_drop: Reasoned[float] | None, thin: bool) -> bool:
    group, edition = found.group, ledger.edition
    ok = True
    over: list[tuple[float, str, str, Reasoned[float], float]] = []
    for run, limit, name in found.drops:
        kind, item = name.split(", ", 1)
        try:
            drop = _drop(found.awg, run, edition)
        except TableError:
            continue
        if kind == "running" and feeder_drop is not None and not group.item:
            ok = _report_total(found, item, drop, feeder_drop, job, ledger) and ok
        high = drop.value > limit + 1e-9
        ok = ok and not high
        ledger.add(
            group.name,
            f"{kind} drop to {item}",
            drop,
            group.circuit,
            given=f"at most {limit:.1%}",
            ok=not high,
        )
        if high and not thin and group.stated is not None:
            over.append((drop.value / limit, kind, item, drop, limit))
    if over:
        _, kind, item, drop, limit = max(over, key=lambda one: one[0])
        ledger.warn(
            "DROP-HIGH",
            group.name,
            f"{group.what} of {group.name}, {group.stated} {_unit(group.stated or '')}: {drop.value:.1%} lost to "
            f"{item} while {kind}, {limit:.1%} allowed",
            f"take {found.sized.value} {_unit(found.sized.value)}, or shorten the run",
            drop.basis,
        )
    return ok


def _report_total(
    found: GroupSize,
    item: str,
    drop: Reasoned[float],
    feeder_drop: Reasoned[float],
    job: Job,
    ledger: Ledger,
) -> bool:
    group = found.group
    total = total_drop_ratio(feeder_drop, drop, edition=ledger.edition)
    limit = job.wiring.total_drop
    high = total.value > limit + 1e-9
    ledger.add(group.name, f"total drop to {item}", total, group.circuit, given=f"at most {limit:.1%}", ok=not high)
    if high and drop.value <= job.wiring.branch_drop + 1e-9:
        ledger.warn(
            "DROP-TOTAL",
            group.name,
            f"{item}: {feeder_drop.value:.1%} in the feeder and {drop.value:.1%} in the branch circuit, "
            f"{limit:.1%} together allowed",
            "take thicker conductors for the feeder or for the branch circuit",
            total.basis,
        )
    return not high


def _report_ground(found: GroupSize, ledger: Ledger) -> None:
    group = found.group
    stated = group.stated_ground
    thin = stated is not None and awg_index(stated) < awg_index(found.ground.value)
    given = "" if stated is None else f"{stated} {_unit(stated)}"
    ledger.add(group.name, "equipment ground", found.ground, group.circuit, given=given, ok=not thin)
    if thin:
        raised = awg_index(found.awg) > awg_index(found.needed.value)
        because = (
            f"its conductors are {found.awg} {_unit(found.awg)} where {found.needed.value} would serve, and the ground "
            "grows with them"
            if raised
            else f"behind {shown(group.ocpd_a, 'A')}"
        )
        ledger.error(
            "GROUND-THIN",
            group.name,
            f"equipment ground of {group.name}, {given}: {found.ground.value} {_unit(found.ground.value)} is needed; "
            f"{because}",
            f"take {found.ground.value} {_unit(found.ground.value)} for the equipment ground",
            found.ground.basis,
        )


def _unit(size: str) -> str:
    return "kcmil" if size.isdigit() and int(size) >= 250 else "AWG"
