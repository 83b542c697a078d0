"""Every size of a whole job, from its design: the main job of the room.

What an engineer should know of the choices made here:

* **The job's sizes are checked, everything else is found.** A size that the job states (``awg`` and ``ground_awg`` of
  a circuit, ``power_awg`` and ``control_awg`` of the panel, ``trade_size`` of a raceway) is kept, and a finding says
  when it does not do. Where the job states none, the size found here is the answer, whatever the design has drawn.
* **One size over the whole way.** The conductors of a circuit take one size from the panelboard to the load, the
  largest that any stretch asks for; the leads of a drive are a way of their own. In the panel the same conductors are
  sized for the air there.
* **Ampacity starts from the terminals**: 75 degC where the device types are marked so, less where the job or a type
  says less; then the warmest part of the way and the companions in the raceway; then protection; then voltage drop.
* **Motor circuits go by article 430**, so 240.4(D) does not bind their conductors: 14 AWG may lie behind a 20 A breaker
  where the overload protects it. A job that wants no thinner power conductor says ``least_power_awg``.
* **Companions are counted before sizes are known**, because the count does not depend on them. A raceway that no
  trade size holds is dealt out over two, which lowers the counts, and everything is worked out anew until it settles.
* **Voltage drop is advice**: the size is raised until it holds. Only a stated size can miss it, and that is a warning.
* **Each circuit has a neutral and a ground of its own**; the design shares none.
* **Left out:** demand factors, motors that never run together, parallel conductors (a load above 500 kcmil is a
  finding), and the current that heats a neutral by third harmonics alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from galleyproof.design.builder import natural
from galleyproof.design.model import Design, EnergyClass, Role
from galleyproof.findings import Finding, Severity
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.sizing.conductors import Surroundings, Wire, usable_ampacity_a
from galleyproof.sizing.grounds import egc_size
from galleyproof.sizing.job_circuits import DEVICE_WORDS, Needs, circuit_needs
from galleyproof.sizing.job_conductors import GroupSize, count_in, report_group, size_group
from galleyproof.sizing.job_control import ControlSizes, device_a, report_control, size_control, takes_stated
from galleyproof.sizing.job_feeders import feeder_drops
from galleyproof.sizing.job_fill import Filled, contents_of, fill, report_fill
from galleyproof.sizing.job_groups import Group, power_groups
from galleyproof.sizing.job_ledger import Ledger
from galleyproof.sizing.job_lights import report_lights
from galleyproof.sizing.job_loads import loads_by_circuit
from galleyproof.sizing.job_motors import report_machines
from galleyproof.sizing.job_network import Network, read_network
from galleyproof.sizing.job_panel import report_panel, report_terminals
from galleyproof.sizing.job_power import report_control_power
from galleyproof.sizing.job_raceways import Plan, plan_raceways, split_plan
from galleyproof.sizing.job_shutdowns import report_shutdowns
from galleyproof.sizing.model import Number, RacewaySize, SizedConductor, Sizes
from galleyproof.sizing.steps import NecEdition, Reasoned, SizingError, as_edition, shown
from galleyproof.tables.conductors import awg_index, fixture_wire_ampacity_a
from galleyproof.tables.reader import TableError

__all__ = ["size", "with_sizes"]


def size(job: Job, design: Design, library: Mapping[str, DeviceType]) -> Sizes:
    """Every size of a job, with its findings.

    Args:
        job: The job, read and checked.
        design: Its design.
        library: Device types by name, from ``load_library``.

    Returns:
        Numbers by circuit, findings, raceways, and the size of every conductor of the design.

    Raises:
        TableError: An edition that is not carried.

    Code basis:
        NFPA 70 of the edition the job adopts; every number carries its own clauses.
    """
    ledger = Ledger(as_edition(str(job.codes.nec)))
    network = read_network(design, library)
    needs = circuit_needs(job, loads_by_circuit(job, network, ledger), ledger)
    report_machines(job, design, needs, ledger)
    feeder = feeder_drops(job, needs, ledger)
    groups = power_groups(job, design, network, library, needs, ledger)
    plans = plan_raceways(job, design, network, ledger)
    settled = _settle(job, design, network, needs, groups, plans, ledger.edition)
    keys = {}
    for found in settled.groups.values():
        board = needs[found.group.circuit].circuit.panelboard
        keys[found.group.name] = report_group(found, job, ledger, feeder.get(board))
    run_keys = report_control(settled.control, job, design, network, needs, ledger)
    circuit_of = _circuits(design, network, settled, needs, job)
    raceways, raceway_of = _raceways(settled, circuit_of, job, ledger)
    conductors = _conductors(job, design, network, needs, settled, keys, run_keys, raceway_of, ledger.edition)
    _panel_ground(job, needs, ledger)
    report_control_power(job, design, network, library, ledger)
    report_lights(job, design, network, ledger)
    report_shutdowns(job, needs, settled.control, ledger)
    report_panel(job, design, library, needs, conductors, ledger)
    report_terminals(design, library, conductors, circuit_of, ledger)
    return Sizes(
        _in_order(ledger, job),
        tuple(sorted(ledger.findings, key=_finding_order)),
        raceways,
        conductors,
        ledger.edition,
    )


def with_sizes(design: Design, sizes: Sizes | None) -> Design:
    """The design with every conductor at its size.

    Args:
        design: The design, conductors at their first sizes.
        sizes: From ``size`` of the same design; None leaves it as it is.
    """
    if sizes is None:
        return design
    found = sizes.conductors
    return replace(
        design,
        conductors=tuple(replace(c, awg=found[c.key].awg) if c.key in found else c for c in design.conductors),
    )


def _panel_ground(job: Job, needs: Mapping[str, Needs], ledger: Ledger) -> None:
    """Grounds of the panel's own parts: by the circuit that feeds its control power."""
    need = needs.get(job.panel.circuit)
    if need is not None:
        ground = egc_size(need.circuit.breaker, "14" if need.circuit.breaker <= 15.0 else "10", edition=ledger.edition)
        ledger.add(job.panel.tag, "equipment ground", ground, job.panel.tag)


# --- settling ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Settled:
    """Sizes that no longer change.

    Attributes:
        groups: Power conductors by the name of their group.
        control: Everything else.
        filled: Raceways.
        counts: Current-carrying conductors by raceway.
        sizes: Size of each conductor. [AWG or kcmil]
        group_of: Group of each line conductor.
    """

    groups: Mapping[str, GroupSize]
    control: ControlSizes
    filled: tuple[Filled, ...]
    counts: Mapping[str, Reasoned[int]]
    sizes: Mapping[str, str]
    group_of: Mapping[str, Group]


def _settle(
    job: Job,
    design: Design,
    network: Network,
    needs: Mapping[str, Needs],
    groups: tuple[Group, ...],
    plans: tuple[Plan, ...],
    edition: NecEdition,
) -> _Settled:
    """Counts, sizes, fill; raceways that nothing holds are split and all is done again."""
    group_of = {key: group for group in groups for key in group.lines}
    nonlinear = {tag: need.nonlinear for tag, need in needs.items()}
    by_key = design.conductor_by_key
    reclassified = frozenset(tag for raceway in job.raceways for tag in raceway.reclassified)
    counts: dict[str, Reasoned[int]] = {}
    control: ControlSizes | None = None
    while True:
        for plan in plans:
            if plan.tag not in counts:
                counts[plan.tag] = count_in(plan, design, network, group_of, nonlinear)
        plan_of = {cable.tag: plan for plan in plans for cable in plan.cables}
        found = {}
        for group in groups:
            runs = dict.fromkeys(by_key[key].cable for key in group.lines if by_key[key].cable)
            mine = {plan_of[run].tag: plan_of[run] for run in runs if run in plan_of}
            found[group.name] = size_group(job, group, tuple(mine.values()), counts, edition)
        sizes = _power_sizes(found, design)
        if control is None:
            keys = frozenset(key for group in groups for key in (*group.lines, *group.grounds))
            control = size_control(job, design, network, needs, sizes, keys, reclassified, edition)
        _add_control_sizes(job, design, network, control, sizes)
        filled = tuple(
            fill(plan, contents_of(plan, design, sizes, job.wiring.insulation), job, edition) for plan in plans
        )
        full = {f.plan.tag for f in filled if f.refused and not f.plan.stated and len(f.plan.cables) > 1}
        if not full:
            return _Settled(found, control, filled, counts, sizes, group_of)
        plans = tuple(part for plan in plans for part in (split_plan(plan) if plan.tag in full else (plan,)))


def _power_sizes(found: Mapping[str, GroupSize], design: Design) -> dict[str, str]:
    by_key = design.conductor_by_key
    sizes: dict[str, str] = {}
    for one in found.values():
        inside_ground = min(one.ground_awg, one.inside, key=awg_index)
        for key in one.group.lines:
            sizes[key] = one.awg if by_key[key].cable else one.inside
        for key in one.group.grounds:
            sizes[key] = one.ground_awg if by_key[key].cable else inside_ground
    return sizes


def _add_control_sizes(
    job: Job, design: Design, network: Network, control: ControlSizes, sizes: dict[str, str]
) -> None:
    stated = job.panel.control_awg
    for conductor in design.conductors:
        if conductor.key in sizes:
            continue
        size_of: str | None = None
        if conductor.cable in control.runs:
            if conductor.role is Role.GROUND:
                ground = control.grounds.get(conductor.cable)
                size_of = ground.value if ground is not None else None
            else:
                size_of = stated or control.runs[conductor.cable].value
        elif not conductor.cable and conductor.role is not Role.GROUND:
            meant = takes_stated(job, conductor)
            feed = network.carried[conductor.key].feed
            found = control.inside.get((str(conductor.energy_class), feed, meant))
            if found is not None:
                size_of = stated if meant else found.value
        sizes[conductor.key] = size_of or conductor.awg


# --- what comes out ---------------------------------------------------------------------------------------------


def _circuits(
    design: Design, network: Network, settled: _Settled, needs: Mapping[str, Needs], job: Job
) -> dict[str, str]:
    """Circuit under which each conductor is listed; the panel's tag for a voltage of the equipment itself."""
    of_ground = {key: one.group.circuit for one in settled.groups.values() for key in one.group.grounds}
    found = {}
    for conductor in design.conductors:
        group = settled.group_of.get(conductor.key)
        circuit = network.carried[conductor.key].feed.circuit
        if group is not None:
            found[conductor.key] = group.circuit
        elif conductor.key in of_ground:
            found[conductor.key] = of_ground[conductor.key]
        else:
            found[conductor.key] = circuit if circuit in needs else job.panel.tag
    return found


def _raceways(
    settled: _Settled, circuit_of: Mapping[str, str], job: Job, ledger: Ledger
) -> tuple[tuple[RacewaySize, ...], dict[str, str]]:
    found = []
    raceway_of: dict[str, str] = {}
    for filled in settled.filled:
        plan = filled.plan
        circuits = tuple(sorted({circuit_of[key] for key in plan.conductors} - {job.panel.tag}, key=natural))
        listed = circuits[0] if len(circuits) == 1 else job.panel.tag
        found.append(report_fill(filled, settled.counts[plan.tag], circuits, listed, ledger))
        raceway_of.update(dict.fromkeys(plan.conductors, plan.tag))
    return tuple(sorted(found, key=lambda one: natural(one.tag))), raceway_of


def _conductors(
    job: Job,
    design: Design,
    network: Network,
    needs: Mapping[str, Needs],
    settled: _Settled,
    keys: Mapping[str, str],
    run_keys: Mapping[str, str],
    raceway_of: Mapping[str, str],
    edition: NecEdition,
) -> dict[str, SizedConductor]:
    of_ground = {key: one for one in settled.groups.values() for key in one.group.grounds}
    insulation, material = job.wiring.insulation, job.wiring.material
    found = {}
    ampacities: dict[tuple[str, bool], float | None] = {}
    for c in design.conductors:
        awg, raceway = settled.sizes[c.key], raceway_of.get(c.key, "")
        metal = "al" if material == "aluminum" and c.cable and c.energy_class is EnergyClass.LINE else "cu"
        group = settled.group_of.get(c.key)
        if group is not None:
            one = settled.groups[group.name]
            same = (group.name, bool(c.cable))
            if same not in ampacities:
                ampacities[same] = _ampacity(one, awg, field=bool(c.cable), job=job, edition=edition)
            ampacity = ampacities[same]
            by = _protected_by(group, needs[group.circuit])
            found[c.key] = SizedConductor(
                c.key, awg, insulation, metal, ampacity, group.ocpd_a, by, keys[group.name], raceway
            )
        elif c.role is Role.GROUND:
            owner = of_ground.get(c.key)
            why = f"{owner.group.name if owner is not None else c.cable or job.panel.tag} equipment ground"
            ahead = owner.group.ocpd_a if owner is not None else None
            by = f"ground behind {shown(ahead, 'A')}: 250.122" if ahead is not None else "ground: 250.122"
            found[c.key] = SizedConductor(c.key, awg, insulation, metal, None, ahead, by, why, raceway)
        else:
            feed = network.carried[c.key].feed
            ahead = device_a(feed, needs, design)
            why = run_keys.get(c.cable, run_keys.get(f"{c.energy_class} {feed.source}", run_keys.get("data", "")))
            small = "TFFN" if awg_index(awg) < awg_index("14") else insulation
            by = _control_protected_by(c.energy_class, feed.source, ahead)
            limit = _control_ampacity(awg) if c.energy_class is EnergyClass.CLASS1 else None
            found[c.key] = SizedConductor(c.key, awg, small, "cu", limit, ahead, by, why, raceway)
    return found


def _ampacity(one: GroupSize, awg: str, *, field: bool, job: Job, edition: NecEdition) -> float | None:
    inside_degf = job.panel.enclosure.max_inside if job.panel.enclosure is not None else 104.0
    wire = one.wire if field else Wire("cu", job.wiring.insulation)
    around = one.around if field else Surroundings(round((inside_degf - 32.0) / 1.8, 9), 3)
    return _usable_a(awg, one.column_degc.value, wire, around, edition)


@lru_cache(maxsize=1024)
def _usable_a(awg: str, column: int, wire: Wire, around: Surroundings, edition: NecEdition) -> float | None:
    try:
        return usable_ampacity_a(awg, column, wire, around, edition=edition).value
    except (SizingError, TableError):
        return None


def _control_ampacity(awg: str) -> float | None:
    try:
        return fixture_wire_ampacity_a(awg).value
    except TableError:
        return None


def _protected_by(group: Group, need: Needs) -> str:
    device = f"{shown(float(group.ocpd_a), 'A')} {DEVICE_WORDS[need.circuit.device]} {need.tag}"
    if group.item:
        return f"{device} against short circuit (430.130), drive against overload (430.124)"
    if group.by_430:
        return f"{device} against short circuit (430.52, 240.4(G)), overload of the load (430.32)"
    return f"{device} (240.4)"


def _control_protected_by(cls: EnergyClass, source: str, ahead_a: float | None) -> str:
    if cls is EnergyClass.CLASS1:
        if ahead_a is None:
            return f"limited by its own source {source}".strip()
        return f"{shown(ahead_a, 'A')} device {source} (724.43)"
    if cls is EnergyClass.CLASS2:
        return f"Class 2 source {source} limits itself (725.60)" if source else "whoever feeds this dry contact"
    return "data: its equipment limits the current"


def _in_order(ledger: Ledger, job: Job) -> tuple[Number, ...]:
    """By circuit in the order an engineer reads tags, the panel's own numbers last; worked-out order within."""
    groups: dict[str, list[Number]] = {}
    for number in ledger.numbers.values():
        groups.setdefault(number.circuit, []).append(number)
    last = job.panel.tag
    return tuple(n for tag in sorted(groups, key=lambda t: (t == last, natural(t))) for n in groups[tag])


def _finding_order(finding: Finding) -> tuple[int, str, tuple[object, ...], str]:
    return (list(Severity).index(finding.severity), finding.code, natural(finding.item), finding.message)
