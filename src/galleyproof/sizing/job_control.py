"""Control and signal conductors of a job: by their class, by the device ahead, and so that every coil pulls in.

A run takes one size. Class 1 goes by the device ahead of it, which for the coils of a shutdown circuit is the breaker
of that circuit: 18 AWG is protected by 7 A at most. Class 2 is limited by its source. Then each coil in the field is
followed back to its supply, and the runs on its way are raised until it pulls in.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from galleyproof.design.model import Cable, Conductor, Design, EnergyClass, Role
from galleyproof.job.model import GasShutdown, Job
from galleyproof.sizing.control_wires import ControlClass, control_ocpd_max_a, control_wire_size, limited_energy_clause
from galleyproof.sizing.grounds import egc_size
from galleyproof.sizing.job_circuits import Needs
from galleyproof.sizing.job_ledger import Ledger
from galleyproof.sizing.job_network import Feed, Network, PartLoad
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, SizingError, nec, practice, shown
from galleyproof.sizing.voltage_drop import COIL_MIN_RATIO, MAX_RUN_FT, coil_v, size_for_coil
from galleyproof.tables.conductors import AWG_ORDER, awg_index, dc_resistance_ohm_per_kft
from galleyproof.tables.reader import TableError

__all__ = ["CONTROL_AWG", "Coil", "ControlSizes", "coil_inrush_ratio", "coils_of", "report_control", "size_control"]

CONTROL_AWG = "18"
"""Common practice: thinnest control conductor. [AWG]"""
_THICKEST = "10"
# Apparent power while a coil pulls in, over that while it holds; common practice where no data sheet says it. [-]
_INRUSH_RATIO = {"contactor_held": 8.0, "relay": 1.7, "gas_valve": 2.0, "makeup": 1.7}
# A shunt release trips from 70 percent: IEC 60947-1. [-]
_SHUNT_MIN_RATIO = 0.70
_SUPPLY_V = {"supply": 24.0, "protector": 120.0, "transformer": 120.0, "drive": 24.0}


@dataclass(frozen=True, slots=True)
class Coil:
    """A coil with the field conductors between it and its supply.

    Attributes:
        load: What it is.
        kind: Device type.
        feed: Where its power comes from.
        source_v: At the beginning of the run. [V]
        pull_in_a: While it pulls in. [A]
        min_ratio: Least voltage at which it does, over its rated one. [-]
        way: Field conductors on its way.
    """

    load: PartLoad
    kind: str
    feed: Feed
    source_v: float
    pull_in_a: float
    min_ratio: float
    way: tuple[Conductor, ...]


@dataclass(slots=True)
class ControlSizes:
    """Sizes of control runs and of control conductors in the panel.

    Attributes:
        runs: By tag of the run. [AWG]
        base: The same before coils were looked at. [AWG]
        inside: By energy class, feed, and whether the job's stated size is meant for them. [AWG]
        grounds: Ground in a control run. [AWG]
        coils: Every coil in the field with the voltage that reaches it.
        failed: Coils that no size helps, with the reason.
    """

    runs: dict[str, Reasoned[str]] = field(default_factory=dict)
    base: dict[str, Reasoned[str]] = field(default_factory=dict)
    inside: dict[tuple[str, Feed, bool], Reasoned[str]] = field(default_factory=dict)
    grounds: dict[str, Reasoned[str]] = field(default_factory=dict)
    coils: dict[str, tuple[Coil, Reasoned[float]]] = field(default_factory=dict)
    failed: dict[str, str] = field(default_factory=dict)


def takes_stated(job: Job, conductor: Conductor) -> bool:
    """Whether a control conductor takes the size the job states; a recipe gives some a size of their own."""
    return job.panel.control_awg is not None and conductor.awg == job.panel.control_awg


def device_a(feed: Feed, needs: Mapping[str, Needs], design: Design) -> float | None:
    """Rating of the overcurrent device at the beginning of a control circuit; None where its source limits it [A]."""
    if feed.kind == "breaker":
        return needs[feed.source].circuit.breaker if feed.source in needs else None
    if feed.kind == "protector":
        return float(design.device_by_tag[feed.source].ratings["trip_a"])
    return None


def coils_of(job: Job, design: Design, network: Network, needs: Mapping[str, Needs]) -> tuple[Coil, ...]:
    """Every coil that is reached through the field.

    Args:
        job: Pull-in voltages.
        design: Lengths.
        network: Loads and their ways.
        needs: Voltages of circuits.
    """
    by_key = design.conductor_by_key
    devices = design.device_by_tag
    valves = {s.tag: s for s in job.shutdowns if isinstance(s, GasShutdown)}
    found = []
    for (tag, part), load in sorted(network.loads.items()):
        if not load.coil:
            continue
        way = tuple(by_key[key] for key in network.paths.get((tag, part), ()) if by_key[key].made == "field")
        feed = network.feeds.get((tag, part))
        if not way or feed is None:
            continue
        kind = devices[tag].type
        source_v = _SUPPLY_V.get(feed.kind, load.rated_v)
        if feed.kind == "breaker" and feed.source in needs:
            source_v = needs[feed.source].volts
        least = COIL_MIN_RATIO
        if tag in valves:
            least = valves[tag].pull_in
        elif part == "shunt":
            least = _SHUNT_MIN_RATIO
        found.append(Coil(load, kind, feed, source_v, load.load_a * coil_inrush_ratio(kind, load), least, way))
    return tuple(found)


def coil_inrush_ratio(kind: str, load: PartLoad) -> float:
    """Apparent power of a coil while it pulls in, over that while it holds [-]; 1 for everything else."""
    if not (load.ac and load.coil):
        return 1.0
    return next((ratio for stem, ratio in _INRUSH_RATIO.items() if kind.startswith(stem)), 1.0)


def size_control(
    job: Job,
    design: Design,
    network: Network,
    needs: Mapping[str, Needs],
    power_sizes: Mapping[str, str],
    power_keys: frozenset[str],
    reclassified: frozenset[str],
    edition: NecEdition,
) -> ControlSizes:
    """Sizes of everything that is not a power conductor.

    Args:
        job: Its control size.
        design: Runs.
        network: What they carry.
        needs: Devices and voltages of the circuits.
        power_sizes: Size of each power conductor, for the drop ahead of the control runs. [AWG or kcmil]
        power_keys: Conductors that are sized elsewhere.
        reclassified: Tags of Class 2 runs that the job runs as Class 1.
        edition: Edition of the rules.
    """
    sizes = ControlSizes()
    by_key = design.conductor_by_key
    for cable in design.cables:
        if cable.energy_class in (EnergyClass.LINE, EnergyClass.DATA):
            continue
        mine = [by_key[k] for k in cable.conductors if k not in power_keys and by_key[k].role is not Role.GROUND]
        if mine:
            cls = EnergyClass.CLASS1 if cable.tag in reclassified else cable.energy_class
            sizes.runs[cable.tag] = _run_size(cable, cls, mine, network, needs, design, edition)
            sizes.base[cable.tag] = sizes.runs[cable.tag]
    for conductor in design.conductors:
        if conductor.cable or conductor.key in power_keys or conductor.role is Role.GROUND:
            continue
        if conductor.energy_class in (EnergyClass.CLASS1, EnergyClass.CLASS2):
            carried = network.carried[conductor.key]
            key = (str(conductor.energy_class), carried.feed, takes_stated(job, conductor))
            least = _least(
                conductor.energy_class, carried.feed, carried.load_a, device_a(carried.feed, needs, design), edition
            )
            known = sizes.inside.get(key)
            if known is None or awg_index(least.value) > awg_index(known.value):
                sizes.inside[key] = least
    for coil in coils_of(job, design, network, needs):
        _raise_for(coil, sizes, network, power_sizes, edition)
    for coil in coils_of(job, design, network, needs):
        left = _voltage_at(coil, sizes, network, power_sizes, job.panel.control_awg, edition)
        sizes.coils[coil.load.device] = (coil, left)
    for cable in design.cables:
        if cable.tag in sizes.runs:
            _ground(cable, sizes, network, needs, design, job.panel.control_awg, edition)
    return sizes


def _run_size(
    cable: Cable,
    cls: EnergyClass,
    conductors: list[Conductor],
    network: Network,
    needs: Mapping[str, Needs],
    design: Design,
    edition: NecEdition,
) -> Reasoned[str]:
    largest: Reasoned[str] | None = None
    for conductor in conductors:
        carried = network.carried[conductor.key]
        ahead = device_a(carried.feed, needs, design)
        found = _least(cls, carried.feed, round(carried.load_a, 9), ahead, edition)
        if largest is None or awg_index(found.value) > awg_index(largest.value):
            largest = found
    assert largest is not None, cable.tag
    return largest


@lru_cache(maxsize=2048)
def _least(cls: EnergyClass, feed: Feed, load_a: float, ahead_a: float | None, edition: NecEdition) -> Reasoned[str]:
    """Thinnest control conductor by its load and by the device ahead."""
    circuit_class: ControlClass = "Class 1" if cls is EnergyClass.CLASS1 else "Class 2"
    r = Reasoning(edition)
    by_load = r.take(control_wire_size(load_a, circuit_class, edition=edition))
    if circuit_class == "Class 2" or ahead_a is None:
        if circuit_class == "Class 1":
            r.remark(f"{feed.source or 'its owner'} limits the current of this circuit", practice("control circuits"))
        return r.done(by_load, "AWG")
    for size in AWG_ORDER[awg_index(by_load) : awg_index(_THICKEST) + 1]:
        try:
            top = control_ocpd_max_a(size, "Class 1", edition=edition)
        except TableError:
            continue
        if top.value >= ahead_a:
            r.take(top)
            r.step(
                f"protected by the {shown(ahead_a, 'A')} device {feed.source}",
                size,
                "AWG",
                limited_energy_clause("724.43", edition),
            )
            return r.done(size, "AWG")
        r.pass_over(f"{size} AWG: protected by {shown(top.value, 'A')} at most, {feed.source} is {shown(ahead_a, 'A')}")
    r.step(f"no control conductor up to {_THICKEST} AWG is protected by {shown(ahead_a, 'A')}", _THICKEST, "AWG")
    return r.done(_THICKEST, "AWG")


def _ground(
    cable: Cable,
    sizes: ControlSizes,
    network: Network,
    needs: Mapping[str, Needs],
    design: Design,
    stated: str | None,
    edition: NecEdition,
) -> None:
    by_key = design.conductor_by_key
    if not any(by_key[k].role is Role.GROUND for k in cable.conductors):
        return
    feeds = [network.carried[k].feed for k in cable.conductors if by_key[k].role is not Role.GROUND]
    ahead = max((device_a(feed, needs, design) or 0.0 for feed in feeds), default=0.0) or 15.0
    sizes.grounds[cable.tag] = egc_size(ahead, stated or sizes.runs[cable.tag].value, edition=edition)


# --- coils ------------------------------------------------------------------------------------------------------


def _raise_for(
    coil: Coil,
    sizes: ControlSizes,
    network: Network,
    power_sizes: Mapping[str, str],
    edition: NecEdition,
) -> None:
    """Raise the control runs on a coil's way until it pulls in."""
    runs = tuple(dict.fromkeys(c.cable for c in coil.way if c.cable in sizes.runs))
    run_ft = sum(_weight(c, coil, network) * c.length_ft for c in coil.way if c.cable in sizes.runs) / 2.0
    if not runs or run_ft <= 0.0:
        return
    ahead_v = _ahead_v(coil, network, power_sizes)
    start = max((sizes.runs[tag].value for tag in runs), key=awg_index)
    try:
        found = size_for_coil(
            start,
            coil.source_v,
            round(run_ft, 9),
            coil.pull_in_a,
            rated_v=coil.load.rated_v,
            min_ratio=coil.min_ratio,
            source_drop_v=ahead_v,
            edition=edition,
        )
    except SizingError as refused:
        sizes.failed[coil.load.device] = str(refused)
        return
    if awg_index(found.value) > awg_index(_THICKEST):
        need_v = coil.min_ratio * coil.load.rated_v
        sizes.failed[coil.load.device] = (
            f"{found.value} AWG would be needed to leave it {need_v:.4g} V over {run_ft:.0f} ft; control terminals "
            f"take {_THICKEST} AWG at most"
        )
        return
    if found.value == start:
        return
    for tag in runs:
        if awg_index(sizes.runs[tag].value) < awg_index(found.value):
            r = Reasoning(edition)
            r.take(sizes.runs[tag])
            r.remark(f"coil {coil.load.device} lies at its end and takes {shown(coil.pull_in_a, 'A')} to pull in")
            sizes.runs[tag] = r.done(r.take(found), "AWG")


def _weight(conductor: Conductor, coil: Coil, network: Network) -> float:
    """Current of a conductor while the coil pulls in, over that of the coil: others hold meanwhile."""
    carried = network.carried[conductor.key]
    others = sum(
        one.load_a
        for one in carried.loads
        if (one.device, one.part) != (coil.load.device, coil.load.part) and not one.signal
    )
    return (coil.pull_in_a + others) / coil.pull_in_a


def _ahead_v(coil: Coil, network: Network, power_sizes: Mapping[str, str]) -> float:
    """Lost in the power conductors ahead of the control runs [V]."""
    lost = 0.0
    for c in coil.way:
        if c.key in power_sizes:
            ohm = dc_resistance_ohm_per_kft(power_sizes[c.key], "cu").value
            lost += ohm * c.length_ft / 1000.0 * coil.pull_in_a * _weight(c, coil, network)
    return round(lost, 9)


def _voltage_at(
    coil: Coil,
    sizes: ControlSizes,
    network: Network,
    power_sizes: Mapping[str, str],
    stated: str | None,
    edition: NecEdition,
) -> Reasoned[float]:
    stretches = []
    for tag in dict.fromkeys(c.cable for c in coil.way if c.cable in sizes.runs):
        way_ft = sum(_weight(c, coil, network) * c.length_ft for c in coil.way if c.cable == tag) / 2.0
        stretches.append((stated or sizes.runs[tag].value, round(way_ft, 9)))
    ahead_v = _ahead_v(coil, network, power_sizes)
    r = Reasoning(edition)
    r.remark(
        f"{shown(coil.pull_in_a, 'A')} to pull in; a run that feeds other coils too counts longer by their current",
        practice("inrush of coils", "where no data sheet says it"),
    )
    if any(way_ft > MAX_RUN_FT for _, way_ft in stretches):
        r.step("a run longer than a mile: nothing is taken to reach it", 0.0, "V", practice("check of lengths"))
        return r.done(0.0, "V")
    if not stretches:
        left = coil.source_v - ahead_v
        r.step(f"{coil.source_v:g} V less {ahead_v:.4g} V in the conductors of its circuit", left, "V")
        return r.done(left, "V")
    return r.done(r.take(coil_v(coil.source_v, stretches, coil.pull_in_a, source_drop_v=ahead_v, edition=edition)), "V")


# --- numbers and findings ---------------------------------------------------------------------------------------


def report_control(
    sizes: ControlSizes,
    job: Job,
    design: Design,
    network: Network,
    needs: Mapping[str, Needs],
    ledger: Ledger,
) -> dict[str, str]:
    """Write down the control sizes; gives the key of the number of each run and feed."""
    stated = job.panel.control_awg
    keys: dict[str, str] = {}
    by_key = design.conductor_by_key
    thin: dict[tuple[str, float], tuple[str, list[str], Reasoned[str]]] = {}
    for cable in design.cables:
        found = sizes.runs.get(cable.tag)
        if found is None:
            continue
        feeds = [network.carried[k].feed for k in cable.conductors if by_key[k].role is not Role.GROUND]
        circuit = next((f.circuit for f in feeds if f.circuit in needs), job.panel.tag)
        base = sizes.base[cable.tag]
        low = stated is not None and awg_index(stated) < awg_index(base.value)
        keys[cable.tag] = ledger.add(
            cable.tag,
            "conductors",
            found,
            circuit,
            given=f"{stated} AWG" if stated else "",
            ok=stated is None or awg_index(stated) >= awg_index(found.value),
        )
        if low:
            feed = max(feeds, key=lambda f: device_a(f, needs, design) or 0.0)
            ahead = device_a(feed, needs, design) or 0.0
            thin.setdefault((feed.source, ahead), (circuit, [], base))[1].append(cable.tag)
        if cable.tag in sizes.grounds:
            ledger.add(cable.tag, "equipment ground", sizes.grounds[cable.tag], circuit)
    for (cls, feed, as_stated), found in sorted(sizes.inside.items(), key=lambda one: (one[0][0], one[0][1].source)):
        name = feed.source or job.panel.tag
        circuit = feed.circuit if feed.circuit in needs else job.panel.tag
        low = as_stated and awg_index(stated or CONTROL_AWG) < awg_index(found.value)
        known = ledger.numbers.get(f"{name} {cls} conductors in the panel")
        if known is not None and awg_index(known.result.value) >= awg_index(found.value) and not low:
            continue
        keys[f"{cls} {feed.source}"] = ledger.add(
            name,
            f"{cls} conductors in the panel",
            found,
            circuit,
            given=f"{stated} AWG" if as_stated else "",
            ok=not low,
        )
        if low:
            ahead = device_a(feed, needs, design) or 0.0
            thin.setdefault((feed.source, ahead), (circuit, [], found))[1].append("in the panel")
    if any(c.energy_class is EnergyClass.DATA for c in design.conductors):
        keys["data"] = _data_number(job, design, ledger)
    for (source, ahead), (_, where, base) in sorted(thin.items()):
        behind = f" behind {source} of {shown(ahead, 'A')}" if ahead else ""
        ledger.error(
            "CONTROL-THIN",
            source or job.panel.tag,
            f"control conductors of {stated} AWG{behind} ({', '.join(where)}); {base.value} AWG is needed",
            f"state control_awg: {base.value} AWG or leave it out, or protect these conductors by themselves with 7 A "
            "(18 AWG) or 10 A (16 AWG)",
            base.basis,
        )
    _report_coils(sizes, stated, ledger, needs, job)
    return keys


def _data_number(job: Job, design: Design, ledger: Ledger) -> str:
    """Data conductors have no ampacity to speak of: the cable its equipment asks for."""
    sizes = sorted({c.awg for c in design.conductors if c.energy_class is EnergyClass.DATA}, key=awg_index)
    r = Reasoning(ledger.edition)
    kind = practice("cables of links and displays", "the size the equipment asks for")
    r.step("data conductors carry signals only", " and ".join(sizes), "AWG", kind)
    return ledger.add(job.panel.tag, "data conductors", r.done(" and ".join(sizes), "AWG"), job.panel.tag)


def _report_coils(
    sizes: ControlSizes, stated: str | None, ledger: Ledger, needs: Mapping[str, Needs], job: Job
) -> None:
    for device, (coil, left) in sizes.coils.items():
        need_v = coil.min_ratio * coil.load.rated_v
        low = left.value < need_v - 1e-9
        circuit = coil.feed.circuit if coil.feed.circuit in needs else job.panel.tag
        ledger.add(
            device,
            "coil voltage",
            left,
            circuit,
            given=f"at least {shown(round(need_v, 4), 'V')}",
            ok=not low,
        )
        if not low and device not in sizes.failed:
            continue
        reason = sizes.failed.get(device)
        thickest = max(
            (sizes.runs[c.cable].value for c in coil.way if c.cable in sizes.runs), key=awg_index, default=""
        )
        if reason is not None:
            cure = "use an interposing relay near it, a coil that takes less, or a higher control voltage"
            said = f"coil of {device}: {reason}"
        else:
            cure = f"state control_awg: {thickest} AWG or leave it out, or shorten the run"
            said = (
                f"coil of {device}: {left.value:.4g} V reaches it over {stated} AWG, it needs {need_v:.4g} V to pull in"
            )
        ledger.error("COIL-PICKUP", device, said, cure, (nec("chapter 9 Table 8", ledger.edition), *left.basis))
