"""Conductors of one size: the power conductors of a circuit, and those from a drive to its motor.

A group takes one size over its whole way, as an electrician pulls it: the largest that any stretch asks for. Inside
the panel the same group is sized for the air there, without the companions and the drop of the field run.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from galleyproof.design.model import Conductor, Design, EnergyClass, Role
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.sizing import drives
from galleyproof.sizing.job_circuits import Needs
from galleyproof.sizing.job_ledger import Ledger
from galleyproof.sizing.job_loads import MOTOR_PF, CircuitLoad
from galleyproof.sizing.job_network import Network
from galleyproof.sizing.steps import Reasoned

__all__ = ["Group", "Target", "circuit_of_ground", "is_power", "power_groups"]


@dataclass(frozen=True, slots=True)
class Target:
    """A load at the end of a group's way, for its voltage drop.

    Attributes:
        item: Tag.
        load_a: Its current. [A]
        power_factor: Of the load. [-]
        across_the_line: A motor that starts at its full starting current.
        cables: Tags of the field runs of this group on the way to it.
    """

    item: str
    load_a: float
    power_factor: float
    across_the_line: bool
    cables: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Power conductors that take one size.

    Attributes:
        circuit: Tag of the circuit.
        item: Tag of the motor behind a drive; empty for the circuit's own conductors.
        min_a: Least ampacity at the terminals. [A]
        in_place_a: See ``Needs``. [A]
        by_430: See ``Needs``.
        ocpd_a: Rating of the device ahead. [A]
        volts: Between the conductors. [V]
        phases: 1 or 3. [-]
        marked_degc: Lowest marking of the terminals; None: not marked. [degC]
        stated: Size the job states. [AWG or kcmil]
        stated_ground: Size of the ground that the job states. [AWG]
        targets: Loads, for the drop.
        lines: Keys of line, load and neutral conductors.
        grounds: Keys of its equipment grounds.
    """

    circuit: str
    item: str
    min_a: Reasoned[float]
    in_place_a: float | None
    by_430: bool
    ocpd_a: float
    volts: float
    phases: int
    marked_degc: int | None
    stated: str | None
    stated_ground: str | None
    targets: tuple[Target, ...]
    lines: tuple[str, ...]
    grounds: tuple[str, ...]

    @property
    def name(self) -> str:
        """What its numbers are about."""
        return self.item or self.circuit

    @property
    def what(self) -> str:
        """What its conductors are called."""
        return "motor leads" if self.item else "branch conductor"


@dataclass(slots=True)
class _Draft:
    lines: list[str] = field(default_factory=list)
    grounds: list[str] = field(default_factory=list)


def is_power(conductor: Conductor, circuits: Mapping[str, object]) -> bool:
    """Whether a conductor belongs to a power circuit: line voltage, or the home run of a circuit for coils."""
    return conductor.energy_class is EnergyClass.LINE or conductor.of in circuits


def power_groups(
    job: Job,
    design: Design,
    network: Network,
    library: Mapping[str, DeviceType],
    needs: Mapping[str, Needs],
    ledger: Ledger,
) -> tuple[Group, ...]:
    """Every group of power conductors, by circuit.

    Args:
        job: Sizes and terminals it states.
        design: Conductors.
        network: What they carry.
        library: Markings of terminals.
        needs: Of each circuit.
        ledger: Gives the full-load currents.
    """
    drafts: dict[tuple[str, str], _Draft] = {}
    of_device = {d.tag: d.of for d in design.devices}
    for conductor in design.conductors:
        if not is_power(conductor, needs) or conductor.role is Role.GROUND:
            continue
        feed = network.carried[conductor.key].feed
        circuit = feed.circuit or (conductor.of if conductor.of in needs else "")
        if circuit not in needs:
            continue
        item = of_device.get(feed.source, "") if feed.kind == "drive" else ""
        drafts.setdefault((circuit, item), _Draft()).lines.append(conductor.key)
    by_key = design.conductor_by_key
    group_of = {key: group for group, draft in drafts.items() for key in draft.lines}
    mates = tuple(c for c in design.conductors if c.key in group_of)
    for conductor in design.conductors:
        if conductor.role is Role.GROUND:
            found = circuit_of_ground(conductor, mates, group_of)
            if found is not None:
                drafts[found].grounds.append(conductor.key)
    marks = _terminal_marks(design, library)
    groups = []
    for circuit, item in sorted(drafts):
        draft = drafts[circuit, item]
        need = needs[circuit]
        if item:
            groups.append(_lead_group(job, need, item, draft, network, by_key, marks, ledger))
        else:
            groups.append(_circuit_group(job, need, draft, network, design, marks))
    return tuple(groups)


def circuit_of_ground(
    ground: Conductor, mates: Sequence[Conductor], group_of: Mapping[str, tuple[str, str]]
) -> tuple[str, str] | None:
    """Group whose conductors an equipment ground runs with: those of its run, else those of its item."""
    for same in (
        [c for c in mates if ground.cable and c.cable == ground.cable],
        [c for c in mates if c.of == ground.of and c.made == ground.made],
        [c for c in mates if c.of == ground.of],
    ):
        if same:
            # a ground beside the input of a drive belongs to the input
            inputs = [c for c in same if not group_of[c.key][1]]
            chosen = inputs if inputs and "/line/" in ground.key else same
            return group_of[min(c.key for c in chosen)]
    return None


def _terminal_marks(design: Design, library: Mapping[str, DeviceType]) -> dict[str, int]:
    """Lowest temperature marking at both ends of each conductor [degC]."""
    by_type: dict[str, dict[str, int]] = {}
    marks: dict[str, int] = {}
    devices = design.device_by_tag
    for c in design.conductors:
        lowest = 90
        for end in (c.a, c.b):
            device = devices.get(end.device)
            kind = library.get(device.type) if device is not None else None
            if kind is None:
                continue
            of_type = by_type.get(kind.type)
            if of_type is None:
                of_type = by_type[kind.type] = {t.mark: t.temperature_c for t in kind.terminals}
            lowest = min(lowest, of_type.get(end.mark, 90))
        marks[c.key] = lowest
    return marks


def _marked(job: Job, needs: Needs, keys: list[str], marks: Mapping[str, int]) -> int | None:
    said = needs.circuit.terminals or job.wiring.terminals
    by_library = min((marks[key] for key in keys), default=75)
    if said == "not marked":
        return by_library if by_library < 75 else None
    return min(int(said.split()[0]), by_library)


def _circuit_group(
    job: Job, needs: Needs, draft: _Draft, network: Network, design: Design, marks: Mapping[str, int]
) -> Group:
    return Group(
        needs.tag,
        "",
        needs.min_a,
        needs.in_place_a,
        needs.by_430,
        needs.circuit.breaker,
        needs.volts,
        needs.phases,
        _marked(job, needs, draft.lines, marks),
        needs.circuit.awg or job.panel.power_awg,
        needs.circuit.ground_awg,
        tuple(_targets(needs, set(draft.lines), network, design)),
        tuple(draft.lines),
        tuple(draft.grounds),
    )


def _lead_group(
    job: Job,
    needs: Needs,
    item: str,
    draft: _Draft,
    network: Network,
    by_key: Mapping[str, Conductor],
    marks: Mapping[str, int],
    ledger: Ledger,
) -> Group:
    flc = ledger.numbers[f"{item} full-load current"].result
    load = next(one for one in needs.loads if one.item == item)
    assert load.motor is not None
    cables = tuple(dict.fromkeys(by_key[key].cable for key in draft.lines if by_key[key].cable))
    return Group(
        needs.tag,
        item,
        drives.output_min_ampacity_a(flc, edition=ledger.edition),
        None,
        True,
        needs.circuit.breaker,
        load.motor.supply_v,
        3,
        _marked(job, needs, draft.lines, marks),
        needs.circuit.awg or job.panel.power_awg,
        needs.circuit.ground_awg,
        (Target(item, float(flc.value), MOTOR_PF, False, cables),),
        tuple(draft.lines),
        tuple(draft.grounds),
    )


def _targets(needs: Needs, keys: set[str], network: Network, design: Design) -> Iterator[Target]:
    by_key = design.conductor_by_key
    for load in needs.loads:
        found: dict[str, None] = {}
        for part in _parts_of(load, needs.tag, network, design):
            for key in network.paths.get(part, ()):
                if key in keys and by_key[key].cable:
                    found[by_key[key].cable] = None
        if found:
            across = load.kind == "motor"
            yield Target(load.item, load.current.value, load.power_factor, across, tuple(found))


def _parts_of(load: CircuitLoad, circuit: str, network: Network, design: Design) -> Iterator[tuple[str, str]]:
    """Parts of the design's devices that are this load."""
    devices = design.device_by_tag
    for tag, part in network.parts_of_circuit.get(circuit, ()):
        one, feed = network.loads[tag, part], network.feeds[tag, part]
        if load.kind == "control":
            if feed.kind in ("breaker", "protector", "transformer") and (one.coil or part == "input"):
                yield tag, part
        elif load.kind == "drive":
            if part == "input" and tag in devices and devices[tag].of == load.item:
                yield tag, part
        elif tag == load.item and not one.coil:
            yield tag, part
