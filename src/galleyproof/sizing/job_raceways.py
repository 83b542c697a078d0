"""Which runs of a design share a raceway, and how large it has to be.

Runs of different energy classes never share. By default each power run has its own raceway and the control runs of a
class between two places go together; the job's ``wiring.sharing`` and ``raceways`` say otherwise. Leads of a drive
keep a raceway of their own, because their pulses disturb whatever lies beside them (common practice).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from galleyproof.design.builder import natural
from galleyproof.design.model import Cable, Conductor, Design, EnergyClass, Role
from galleyproof.job.model import Job, Route
from galleyproof.job.wiring import Raceway as StatedRaceway
from galleyproof.sizing.job_ledger import Ledger
from galleyproof.sizing.job_network import Network
from galleyproof.sizing.job_places import ambient_of_run, is_outdoors
from galleyproof.sizing.raceways import EnergyClassName, may_share
from galleyproof.sizing.steps import Reasoned, nec, practice
from galleyproof.tables.raceways import Raceway

__all__ = ["DATA_CABLE_INCH", "Plan", "energy_class_of", "plan_raceways", "split_plan"]

DATA_CABLE_INCH = 0.25
"""Common practice: outside diameter of a shielded pair or patch cable. [in]"""
KIND: dict[str, Raceway | None] = {
    "EMT": "EMT",
    "RMC": "RMC",
    "PVC": "PVC40",
    "FMC": "FMC",
    "LFMC": "LFMC",
    "open cable": None,
}
_LETTER = {EnergyClass.LINE: "P", EnergyClass.CLASS1: "C", EnergyClass.CLASS2: "S", EnergyClass.DATA: "D"}
NIPPLE_MAX_FT = 2.0
"""NFPA 70 310.15(C)(1)(b) and chapter 9 note 4: 24 in. [ft]"""


@dataclass(frozen=True, slots=True)
class Plan:
    """One raceway as it is meant to be, before its size is known.

    Attributes:
        tag: Name.
        kind: None for an open cable.
        cables: Runs of the design in it.
        energy_class: Of everything in it.
        from_place: Where it begins.
        to_place: Where it ends.
        length_ft: One way. [ft]
        ambient: Warmest air along it. [degC]
        wet: Inside of a raceway outdoors.
        trade_size: Stated by the job; None: to be found. [in]
        stated: The job says what goes in: it is not split.
        extra_grounds: Keys of grounds of other runs that pass through it.
    """

    tag: str
    kind: Raceway | None
    cables: tuple[Cable, ...]
    energy_class: str
    from_place: str
    to_place: str
    length_ft: float
    ambient: Reasoned[float]
    wet: bool
    trade_size: str | None = None
    stated: bool = False
    extra_grounds: tuple[str, ...] = ()

    @property
    def short(self) -> bool:
        """At most 24 in long."""
        return self.length_ft <= NIPPLE_MAX_FT

    @property
    def conductors(self) -> tuple[str, ...]:
        """Keys of the design's conductors in it."""
        return tuple(key for cable in self.cables for key in cable.conductors)


def energy_class_of(cable: Cable, reclassified: frozenset[str]) -> EnergyClass:
    """Class a run is wired by: Class 1 where the job has reclassified it."""
    return EnergyClass.CLASS1 if cable.tag in reclassified else cable.energy_class


def plan_raceways(job: Job, design: Design, network: Network, ledger: Ledger) -> tuple[Plan, ...]:
    """Every run of the design in its raceway.

    Args:
        job: Its routes, its wiring and its own raceways.
        design: Runs.
        network: Says which runs are leads of drives.
        ledger: Gets what the job's own raceways have wrong.
    """
    cables = {cable.tag: cable for cable in design.cables}
    routes = {route.tag: route for route in job.routes}
    taken: dict[str, str] = {}
    plans: list[Plan] = []
    for stated in sorted(job.raceways, key=lambda one: natural(one.tag)):
        runs = _runs_of(stated, cables, taken, ledger)
        if runs:
            plans.append(_stated_plan(job, stated, runs, routes, ledger))
    groups: dict[tuple[str, ...], list[Cable]] = {}
    for cable in design.cables:
        if cable.tag not in taken:
            groups.setdefault(_group(job, cable, network), []).append(cable)
    used: dict[str, int] = {}
    for group in sorted(groups, key=lambda g: tuple(natural(part) for part in g)):
        runs = tuple(sorted(groups[group], key=lambda c: natural(c.tag)))
        plans.append(_plan(job, _tag(runs, used), runs, routes, ledger))
    grounds = _grounds_by_device(design)
    return tuple(_with_passing_ground(plan, design, grounds) for plan in plans)


def split_plan(plan: Plan) -> tuple[Plan, Plan]:
    """Two raceways in place of one, its runs dealt out in turn."""
    return (
        replace(plan, tag=f"{plan.tag}.1", cables=plan.cables[::2]),
        replace(plan, tag=f"{plan.tag}.2", cables=plan.cables[1::2]),
    )


def _group(job: Job, cable: Cable, network: Network) -> tuple[str, ...]:
    """What a run shares its raceway with: equal groups go together."""
    sharing = job.wiring.sharing
    apart = (
        sharing == "each run apart"
        or cable.energy_class is EnergyClass.DATA
        or (cable.energy_class is EnergyClass.LINE and sharing == "power runs apart")
        or (
            any(network.carried[key].feed.kind == "drive" for key in cable.conductors if key in network.carried)
            and cable.energy_class is EnergyClass.LINE
        )
    )
    ends = (cable.from_place, cable.to_place, cable.route, _LETTER[cable.energy_class])
    return (*ends, cable.tag) if apart else (*ends, "")


def _tag(runs: Sequence[Cable], used: dict[str, int]) -> str:
    first = runs[0]
    if len(runs) == 1:
        return f"RW-{first.tag.removeprefix('W-')}"
    where = first.route.replace(" + ", "+") or first.to_place.replace(" ", "-")
    stem = f"RW-{where}-{_LETTER[first.energy_class]}"
    used[stem] = used.get(stem, 0) + 1
    return stem if used[stem] == 1 else f"{stem}-{used[stem]}"


def _plan(job: Job, tag: str, runs: tuple[Cable, ...], routes: Mapping[str, Route], ledger: Ledger) -> Plan:
    first = runs[0]
    on_way = [routes[name] for name in first.route.split(" + ") if name in routes]
    kind = on_way[-1].raceway if on_way else job.wiring.raceway
    places = (first.from_place, first.to_place)
    return Plan(
        tag,
        KIND[kind],
        runs,
        str(first.energy_class),
        *places,
        max(run.length_ft for run in runs),
        ambient_of_run(job, places, on_way, edition=ledger.edition),
        any(is_outdoors(place) for place in places),
    )


# --- the job's own raceways -------------------------------------------------------------------------------------


def _runs_of(
    stated: StatedRaceway, cables: Mapping[str, Cable], taken: dict[str, str], ledger: Ledger
) -> tuple[Cable, ...]:
    found = []
    for tag in stated.runs:
        if tag not in cables:
            ledger.error(
                "RACEWAY-RUN",
                stated.tag,
                f"raceway {stated.tag} names run {tag}, which the design does not have",
                f"name runs as the design does: {_some(cables)}",
            )
        elif tag in taken:
            ledger.error(
                "RACEWAY-RUN",
                stated.tag,
                f"run {tag} stands in raceway {taken[tag]} already",
                f"name it in {taken[tag]} or in {stated.tag}, not in both",
            )
        else:
            taken[tag] = stated.tag
            found.append(cables[tag])
    return tuple(found)


def _some(cables: Mapping[str, Cable]) -> str:
    tags = sorted(cables, key=natural)
    return ", ".join(tags[:6]) + (f" and {len(tags) - 6} more" if len(tags) > 6 else "")


def _stated_plan(
    job: Job, stated: StatedRaceway, runs: tuple[Cable, ...], routes: Mapping[str, Route], ledger: Ledger
) -> Plan:
    reclassified = frozenset(stated.reclassified)
    classes = dict.fromkeys(energy_class_of(run, reclassified) for run in runs)
    _check_classes(stated, runs, reclassified, ledger)
    by_length = max(runs, key=lambda run: run.length_ft)
    on_way = [routes[name] for run in runs for name in run.route.split(" + ") if name in routes]
    kind = stated.kind or (on_way[-1].raceway if on_way else job.wiring.raceway)
    places = tuple(dict.fromkeys(place for run in runs for place in (run.from_place, run.to_place)))
    return Plan(
        stated.tag,
        KIND[kind],
        runs,
        " and ".join(cls for cls in EnergyClass if cls in classes),
        by_length.from_place,
        by_length.to_place,
        by_length.length_ft,
        ambient_of_run(job, places, on_way, edition=ledger.edition),
        any(is_outdoors(place) for place in places),
        stated.trade_size,
        True,
    )


def _check_classes(stated: StatedRaceway, runs: Sequence[Cable], reclassified: frozenset[str], ledger: Ledger) -> None:
    for tag in sorted(reclassified - {run.tag for run in runs}):
        ledger.error(
            "RACEWAY-RUN",
            stated.tag,
            f"raceway {stated.tag} reclassifies run {tag}, which is not in it",
            "name under reclassified only runs that stand under runs",
        )
    by_class: dict[EnergyClassName, list[str]] = {}
    for run in runs:
        by_class.setdefault(_name(energy_class_of(run, reclassified)), []).append(run.tag)
    names = list(by_class)
    for n, first in enumerate(names):
        for second in names[n + 1 :]:
            answer = may_share(first, second, edition=ledger.edition)
            if not answer.value.allowed:
                ledger.error(
                    "RACEWAY-CLASSES",
                    stated.tag,
                    f"raceway {stated.tag} holds {first} ({', '.join(by_class[first])}) together with {second} "
                    f"({', '.join(by_class[second])})",
                    "; or ".join(answer.value.conditions),
                    answer.basis,
                )
    changed = sorted(tag for tag in reclassified if any(run.tag == tag for run in runs))
    if changed:
        ledger.note(
            "RACEWAY-RECLASSIFIED",
            stated.tag,
            f"{', '.join(changed)}: run as Class 1 in raceway {stated.tag}",
            "take the Class 2 marking off the equipment, protect the conductors as Class 1 and use Class 1 wiring to "
            "the very end",
            (nec("725.130(A)", ledger.edition, "exceptions"), practice("reclassified circuits")),
        )


def _name(cls: EnergyClass) -> EnergyClassName:
    names: dict[EnergyClass, EnergyClassName] = {
        EnergyClass.LINE: "line voltage",
        EnergyClass.CLASS1: "Class 1",
        EnergyClass.CLASS2: "Class 2",
        EnergyClass.DATA: "data",
    }
    return names[cls]


# --- grounds that run on ----------------------------------------------------------------------------------------


def _grounds_by_device(design: Design) -> dict[str, Conductor]:
    """Ground of each device's own power run: it runs on through the disconnect or contactor to the equipment."""
    return {
        c.b.device: c
        for c in design.conductors
        if c.made == "field" and c.role is Role.GROUND and c.energy_class is EnergyClass.LINE
    }


def _with_passing_ground(plan: Plan, design: Design, grounds: Mapping[str, Conductor]) -> Plan:
    """Behind a disconnect the ground of the run ahead lies in the raceway too: 300.3(B)."""
    if plan.energy_class != EnergyClass.LINE:
        return plan
    extra = []
    for cable in plan.cables:
        own = [design.conductor_by_key[key] for key in cable.conductors]
        if any(c.role is Role.GROUND for c in own):
            continue
        passing = next((grounds[c.b.device] for c in own if c.b.device in grounds), None)
        if passing is not None and passing.cable != cable.tag:
            extra.append(passing.key)
    return replace(plan, extra_grounds=tuple(extra))
