"""How full each raceway of a job gets, and its trade size; runs are split over two raceways where none holds them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from galleyproof.design.model import Design, EnergyClass
from galleyproof.job.model import Job
from galleyproof.sizing.job_ledger import Ledger
from galleyproof.sizing.job_raceways import DATA_CABLE_INCH, Plan
from galleyproof.sizing.model import RacewaySize
from galleyproof.sizing.raceways import Filling, conductors_area_sqin, fill_share_ratio, trade_size_for
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, SizingError, nec, practice
from galleyproof.tables.conductors import awg_index
from galleyproof.tables.raceways import TRADE_SIZES, Raceway, fill_ratio, inside_area_sqin

__all__ = ["Filled", "contents_of", "fill", "report_fill"]


@dataclass(frozen=True, slots=True)
class Filled:
    """A raceway with its contents.

    Attributes:
        plan: What it is.
        contents: Equal conductors together.
        trade_size: Smallest that holds them; None for an open cable.
        refused: Why none does.
    """

    plan: Plan
    contents: tuple[Filling, ...]
    trade_size: Reasoned[str] | None
    refused: str = ""


def contents_of(plan: Plan, design: Design, sizes: Mapping[str, str], insulation: str) -> tuple[Filling, ...]:
    """Everything in a raceway, grounds included.

    Args:
        plan: The raceway.
        design: Its conductors.
        sizes: Size of each conductor. [AWG or kcmil]
        insulation: Type letters; 18 and 16 AWG are fixture wire.
    """
    cables = [c for c in plan.cables if c.energy_class is EnergyClass.DATA]
    counted: Counter[str] = Counter()
    for cable in plan.cables:
        if cable.energy_class is not EnergyClass.DATA:
            counted.update(sizes[key] for key in cable.conductors)
    counted.update(sizes[key] for key in plan.extra_grounds if key in sizes)
    found = [Filling(size, counted[size], insulation) for size in sorted(counted, key=awg_index)]
    if cables:
        found.append(Filling("data cable", len(cables), insulation, DATA_CABLE_INCH))
    return tuple(found)


def fill(plan: Plan, contents: tuple[Filling, ...], job: Job, edition: NecEdition) -> Filled:
    """Smallest trade size for a raceway's contents.

    Args:
        plan: The raceway.
        contents: From ``contents_of``.
        job: Its least trade size.
        edition: Edition of the rules.
    """
    if plan.kind is None:
        return Filled(plan, contents, None)
    found = _trade_size(contents, plan.kind, plan.short, job.wiring.least_trade_size, edition)
    return Filled(plan, contents, None, found) if isinstance(found, str) else Filled(plan, contents, found)


@lru_cache(maxsize=1024)
def _trade_size(
    contents: tuple[Filling, ...], kind: Raceway, nipple: bool, at_least: str, edition: NecEdition
) -> Reasoned[str] | str:
    """Trade size, or why there is none."""
    try:
        return trade_size_for(contents, kind, nipple=nipple, at_least=at_least, edition=edition)
    except SizingError as refused:
        return str(refused)


def report_fill(
    filled: Filled,
    count: Reasoned[int],
    circuits: tuple[str, ...],
    circuit: str,
    ledger: Ledger,
) -> RacewaySize:
    """Write down one raceway.

    Args:
        filled: From ``fill``.
        count: Current-carrying conductors.
        circuits: Whose conductors run in it.
        circuit: Where its numbers are listed.
        ledger: Gets them.
    """
    plan = filled.plan
    conductors = (*plan.conductors, *plan.extra_grounds)
    if plan.kind is None:
        r = Reasoning(ledger.edition)
        r.remark(f"open cable, {plan.energy_class}: no raceway, no fill", practice("open cable"))
        key = ledger.add(plan.tag, "cable", r.done("open cable", "-"), circuit)
        return _size(filled, "", 0.0, 1.0, count, circuits, conductors, key)
    size = _chosen(filled, circuit, ledger)
    key = f"{plan.tag} trade size"
    share, most = _shares(filled.contents, plan.kind, size, plan.short)
    return _size(filled, size, share, most, count, circuits, conductors, key)


@lru_cache(maxsize=1024)
def _shares(contents: tuple[Filling, ...], kind: Raceway, trade_size: str, nipple: bool) -> tuple[float, float]:
    """How full a raceway is, and how full it may be, over its whole inside [-]."""
    area = conductors_area_sqin(contents).value
    n = sum(one.count for one in contents)
    return area / inside_area_sqin(kind, trade_size).value, fill_ratio(n, nipple=nipple).value


def _chosen(filled: Filled, circuit: str, ledger: Ledger) -> str:
    plan, edition = filled.plan, ledger.edition
    assert plan.kind is not None
    if filled.trade_size is None:
        r = Reasoning(edition)
        r.step(filled.refused, TRADE_SIZES[-1], "in")
        given = "" if plan.trade_size is None else f"{plan.kind} {plan.trade_size}"
        ledger.add(plan.tag, "trade size", r.done(TRADE_SIZES[-1], "in"), circuit, given=given, ok=False)
        ledger.error(
            "RACEWAY-FULL",
            plan.tag,
            f"raceway {plan.tag}: {filled.refused}",
            "split its runs over two raceways, or let sizing deal them out",
            (nec("chapter 9 Table 1", edition),),
        )
        return plan.trade_size or TRADE_SIZES[-1]
    given = "" if plan.trade_size is None else f"{plan.kind} {plan.trade_size}"
    small = plan.trade_size is not None and TRADE_SIZES.index(plan.trade_size) < TRADE_SIZES.index(
        filled.trade_size.value
    )
    ledger.add(plan.tag, "trade size", filled.trade_size, circuit, given=given, ok=not small)
    if small and plan.trade_size is not None:
        used = fill_share_ratio(filled.contents, plan.kind, plan.trade_size, nipple=plan.short, edition=edition)
        n = sum(one.count for one in filled.contents)
        ledger.error(
            "RACEWAY-FULL",
            plan.tag,
            f"raceway {plan.tag}: {n} conductors fill {plan.kind} {plan.trade_size} to {used.value:.0%} of what is "
            "allowed",
            f"take {plan.kind} {filled.trade_size.value}, or take conductors out of it",
            used.basis,
        )
    return plan.trade_size or filled.trade_size.value


def _size(
    filled: Filled,
    trade_size: str,
    share: float,
    most: float,
    count: Reasoned[int],
    circuits: tuple[str, ...],
    conductors: tuple[str, ...],
    key: str,
) -> RacewaySize:
    plan = filled.plan
    return RacewaySize(
        plan.tag,
        plan.kind or "open cable",
        trade_size,
        share,
        most,
        plan.energy_class,
        plan.from_place,
        plan.to_place,
        plan.length_ft,
        filled.contents,
        count.value,
        circuits,
        tuple(cable.tag for cable in plan.cables),
        conductors,
        key,
    )
