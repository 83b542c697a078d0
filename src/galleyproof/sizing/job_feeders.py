"""Feeders of the panelboards, as far as this job's circuits load them.

Each line is added up by itself and the most loaded one counts. Motors and line-to-neutral loads add as plain numbers
(430.24), resistive loads between two lines as phasors: three equal ones give sqrt(3) times one, not twice.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from galleyproof.design.power import SYSTEMS
from galleyproof.job.model import Job, Panelboard
from galleyproof.job.wiring import Feeder, ProtectiveDevice
from galleyproof.sizing import motors
from galleyproof.sizing.conductors import Surroundings, conductor_size, ocpd_for_load_a, terminal_column_degc
from galleyproof.sizing.grounds import egc_size
from galleyproof.sizing.job_circuits import DEVICE_WORDS, Needs, rated_device
from galleyproof.sizing.job_conductors import wire_of
from galleyproof.sizing.job_ledger import Ledger
from galleyproof.sizing.power import delta_lines_a
from galleyproof.sizing.raceways import Filling, trade_size_for
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, SizingError, shown
from galleyproof.sizing.voltage_drop import Run, drop_ratio, size_for_drops
from galleyproof.tables.conductors import awg_index
from galleyproof.tables.raceways import Raceway
from galleyproof.tables.reader import TableError

__all__ = ["feeder_drops"]

_KINDS: dict[str, Raceway | None] = {
    "EMT": "EMT",
    "RMC": "RMC",
    "PVC": "PVC40",
    "FMC": "FMC",
    "LFMC": "LFMC",
    "open cable": None,
}
_POWER_FACTOR = 0.9
"""Common practice: power factor of a mixed feeder. [-]"""


@dataclass(frozen=True, slots=True)
class _Line:
    name: str
    motors: tuple[Reasoned[float], ...]
    continuous_a: float
    noncontinuous_a: float

    @property
    def load_a(self) -> float:
        return sum(m.value for m in self.motors) + self.continuous_a + self.noncontinuous_a


def feeder_drops(job: Job, needs: Mapping[str, Needs], ledger: Ledger) -> dict[str, Reasoned[float]]:
    """Numbers of every feeder; gives the running drop of those whose length is known, by panelboard.

    Args:
        job: Panelboards and feeders.
        needs: Circuits with their loads.
        ledger: Gets the numbers, and has those of the branch devices.
    """
    drops = {}
    for board in sorted(job.panelboards, key=lambda b: b.tag):
        mine = [n for n in needs.values() if n.circuit.panelboard == board.tag]
        if not mine:
            continue
        lines = [_line(name, mine, board) for name in _lines(job, board)]
        line = max(lines, key=lambda one: (_need(one), one.name))
        min_a = _least_ampacity(line, lines, ledger.edition)
        ledger.add(board.tag, "feeder least ampacity", min_a, board.tag)
        device: ProtectiveDevice = board.feeder.device if board.feeder is not None else "breaker"
        largest = _largest(line, mine, device, ledger)
        feeder = board.feeder
        if feeder is None:
            if largest is not None:
                ledger.add(board.tag, f"largest feeder {DEVICE_WORDS[device]}", largest, board.tag)
            continue
        drop = _feeder(job, board, feeder, line, min_a, largest, ledger)
        if drop is not None:
            drops[board.tag] = drop
    return drops


def _lines(job: Job, board: Panelboard) -> tuple[str, ...]:
    supply = next(s for s in job.supplies if s.tag == board.supply)
    return ("L1", "L2") if supply.system == "120/240 V 1-phase" else ("L1", "L2", "L3")


def _line(name: str, needs: Sequence[Needs], board: Panelboard) -> _Line:
    currents: list[Reasoned[float]] = []
    continuous = noncontinuous = 0.0
    pairs: dict[bool, dict[tuple[str, ...], float]] = {True: {}, False: {}}
    for need in needs:
        lines = tuple(sorted(need.circuit.lines))
        for load in need.loads:
            if load.is_motor:
                if name in lines:
                    currents.append(load.current)
            elif len(lines) == 2:
                kept = pairs[load.continuous]
                kept[lines] = kept.get(lines, 0.0) + load.current.value
            elif name in lines:
                if load.continuous:
                    continuous += load.current.value
                else:
                    noncontinuous += load.current.value
    continuous += _of_pairs(name, pairs[True])
    noncontinuous += _of_pairs(name, pairs[False])
    if board.feeder is not None and board.feeder.other_continuous is not None:
        continuous += board.feeder.other_continuous
    return _Line(name, tuple(currents), round(continuous, 9), round(noncontinuous, 9))


def _of_pairs(name: str, pairs: Mapping[tuple[str, ...], float]) -> float:
    if not pairs:
        return 0.0
    ab, bc, ca = (pairs.get(pair, 0.0) for pair in (("L1", "L2"), ("L2", "L3"), ("L1", "L3")))
    if bc == ca == 0.0:
        return ab if name in ("L1", "L2") else 0.0
    return dict(zip(("L1", "L2", "L3"), delta_lines_a(ab, bc, ca).value, strict=True))[name]


def _need(line: _Line) -> float:
    largest = max((m.value for m in line.motors), default=0.0)
    return line.load_a + 0.25 * (largest + line.continuous_a)


def _least_ampacity(line: _Line, lines: Sequence[_Line], edition: NecEdition) -> Reasoned[float]:
    r = Reasoning(edition)
    if len({round(_need(one), 6) for one in lines}) > 1:
        each = ", ".join(f"{one.name} {one.load_a:.4g} A" for one in lines)
        r.remark(f"most loaded line: {line.name} ({each})")
    return r.done(
        r.take(
            motors.feeder_min_ampacity_a(
                line.motors,
                other_continuous_a=line.continuous_a,
                other_noncontinuous_a=line.noncontinuous_a,
                edition=edition,
            )
        ),
        "A",
    )


def _largest(line: _Line, needs: Sequence[Needs], device: ProtectiveDevice, ledger: Ledger) -> Reasoned[float] | None:
    """430.62 and 430.63; None without a motor: then only the conductors limit the device."""
    branch: list[tuple[float, float, Reasoned[float]]] = []
    for need in needs:
        machines = [one for one in need.loads if one.is_motor]
        number = ledger.numbers.get(f"{need.tag} largest {DEVICE_WORDS[device]}")
        if machines and number is not None and line.name in need.circuit.lines:
            branch.append((number.result.value, max(one.current.value for one in machines), number.result))
    if not branch or not line.motors:
        return None
    _, own_a, largest = max(branch, key=lambda one: one[:2])
    rest = list(line.motors)
    rest.remove(next(m for m in line.motors if m.value == own_a))
    other = round(1.25 * line.continuous_a + line.noncontinuous_a, 9)
    try:
        return motors.feeder_ocpd_max_a(
            largest, rest, rated_device(device), other_loads_a=other, edition=ledger.edition
        )
    except TableError:
        return None


def _feeder(
    job: Job,
    board: Panelboard,
    feeder: Feeder,
    line: _Line,
    min_a: Reasoned[float],
    largest: Reasoned[float] | None,
    ledger: Ledger,
) -> Reasoned[float] | None:
    edition, tag = ledger.edition, board.tag
    least = ocpd_for_load_a(min_a, rated_device(feeder.device), edition=edition)
    _device(board, feeder, least, largest, ledger)
    ocpd_a = feeder.protection or least.value
    column = terminal_column_degc(ocpd_a, marked_degc=_mark(job), edition=edition)
    wire = wire_of(job, wet=False)
    supply = next(s for s in job.supplies if s.tag == board.supply)
    form = "1-phase" if supply.system == "120/240 V 1-phase" else "3-phase"
    metal = "pvc" if feeder.raceway in ("PVC", "open cable") else "steel"
    run = Run(
        feeder.length,
        round(line.load_a, 9),
        SYSTEMS[supply.system].line_v,
        form,  # type: ignore[arg-type]
        _POWER_FACTOR,
        wire.material,
        metal,  # type: ignore[arg-type]
    )
    allowed = max(job.wiring.total_drop - job.wiring.branch_drop, 0.0)
    try:
        needed = conductor_size(
            min_a,
            column,
            wire,
            Surroundings(30.0, 3),
            ocpd_a=ocpd_a,
            ocpd_by_article_430=bool(line.motors),
            edition=edition,
        )
        sized = size_for_drops(needed, ((run, allowed, "running"),), edition=edition) if allowed else needed
    except (SizingError, TableError) as refused:
        ledger.error(
            "CONDUCTOR-NONE",
            tag,
            f"feeder of {tag}: {refused}",
            "take parallel conductors, or feed the board by two feeders",
            min_a.basis,
        )
        return None
    thin = feeder.awg is not None and awg_index(feeder.awg) < awg_index(needed.value)
    given = "" if feeder.awg is None else f"{feeder.awg} {_unit(feeder.awg)}"
    awg = feeder.awg or sized.value
    drop = drop_ratio(awg, run, edition=edition)
    ledger.add(tag, "feeder conductor", sized, tag, given=given, ok=not thin)
    if thin:
        ledger.error(
            "WIRE-THIN",
            tag,
            f"feeder of {tag}, {given}: {needed.value} {_unit(needed.value)} is needed",
            f"take {needed.value} {_unit(needed.value)}",
            needed.basis,
        )
    ledger.add(tag, "feeder running drop", drop, tag, given=f"at most {allowed:.1%}", ok=drop.value <= allowed + 1e-9)
    ground = egc_size(ocpd_a, awg, needed.value, wire.material, wire.material, edition=edition)
    ledger.add(tag, "feeder equipment ground", ground, tag)
    kind = _KINDS[feeder.raceway]
    if kind is not None:
        neutral = bool(SYSTEMS[supply.system].neutral_v)
        filling = (
            Filling(awg, (3 if form == "3-phase" else 2) + int(neutral), wire.insulation),
            Filling(ground.value, 1, wire.insulation),
        )
        try:
            size = trade_size_for(filling, kind, at_least=job.wiring.least_trade_size, edition=edition)
        except SizingError as refused:
            ledger.error(
                "RACEWAY-FULL", tag, f"feeder of {tag}: {refused}", "take two feeders, or a raceway above 2 in"
            )
        else:
            ledger.add(tag, "feeder raceway", size, tag)
    return drop


def _device(
    board: Panelboard,
    feeder: Feeder,
    least: Reasoned[float],
    largest: Reasoned[float] | None,
    ledger: Ledger,
) -> None:
    tag, words = board.tag, DEVICE_WORDS[feeder.device]
    given = "" if feeder.protection is None else f"{shown(float(feeder.protection), 'A')} {words}"
    low = feeder.protection is not None and feeder.protection < least.value - 1e-9
    ledger.add(tag, f"smallest feeder {words}", least, tag, given=given, ok=not low)
    if low:
        ledger.error(
            "FEEDER-LOW",
            tag,
            f"feeder of {tag}: {given}; its loads need {shown(least.value, 'A')}",
            f"take a {words} of {shown(least.value, 'A')}",
            least.basis,
        )
    if largest is None:
        return
    high = feeder.protection is not None and feeder.protection > max(largest.value, least.value) + 1e-9
    ledger.add(tag, f"largest feeder {words}", largest, tag, given=given, ok=not high)
    if high:
        ledger.error(
            "FEEDER-HIGH",
            tag,
            f"feeder of {tag}: {given}; {shown(largest.value, 'A')} at most is allowed for its motors",
            f"take a {words} of {shown(max(largest.value, least.value), 'A')} at most",
            largest.basis,
        )


def _mark(job: Job) -> int | None:
    said = job.wiring.terminals
    return None if said == "not marked" else int(said.split()[0])


def _unit(size: str) -> str:
    return "kcmil" if size.isdigit() and int(size) >= 250 else "AWG"
