"""Ducts of every fan of a job: velocity against the clause at design and at idle, and what the path costs."""

from __future__ import annotations

from dataclasses import dataclass

from galleyproof.air._facts import Facts, Notes
from galleyproof.air.ducts import (
    STANDARD_DENSITY_LB_PER_CUFT,
    Duct,
    Fitting,
    Flat,
    Rectangular,
    Round,
    Run,
    Shape,
    max_duct_area_sqft,
    run_loss_inwc,
    velocity_check,
    viscosity_lb_per_ft_s,
)
from galleyproof.air.model import DuctRow
from galleyproof.air.psychro import density_ratio
from galleyproof.air.steps import Reasoned, Reasoning
from galleyproof.findings import Severity
from galleyproof.job.airside import DuctPiece
from galleyproof.job.model import ExhaustFan
from galleyproof.tables import air as tables


@dataclass(frozen=True, slots=True)
class Path:
    """The dearest way of the air from a hood to the fan.

    Attributes:
        hood: Where it begins.
        loss: Hood, filters, ducts and what does not go with the flow, in standard air. [in wc]
        fixed_inwc: The last of these. [in wc]
    """

    hood: str
    loss: Reasoned[float]
    fixed_inwc: float


def shape_of(piece: DuctPiece) -> Shape:
    """The cross-section of a piece."""
    match piece.shape.kind:
        case "round":
            return Round(piece.shape.diameter)
        case "rectangular":
            return Rectangular(piece.shape.width, piece.shape.height)
        case "flat oval":
            return Flat(piece.shape.major, piece.shape.minor)


def size_words(piece: DuctPiece) -> str:
    """``14 in round``, ``20 x 12 in``, ``20 x 12 in flat oval``."""
    match piece.shape.kind:
        case "round":
            return f"{piece.shape.diameter:g} in round"
        case "rectangular":
            return f"{piece.shape.width:g} x {piece.shape.height:g} in"
        case "flat oval":
            return f"{piece.shape.major:g} x {piece.shape.minor:g} in flat oval"


def carried_cfm(facts: Facts, fan: ExhaustFan, piece: DuctPiece) -> float:
    """Design flow of a piece [cfm]."""
    if not piece.carries:
        return fan.airflow
    return sum(facts.shares[fan.tag, h] for h in piece.carries)


def grease(facts: Facts, fan: ExhaustFan, piece: DuctPiece) -> bool:
    """Whether it carries the air of a Type I hood."""
    return any(facts.hoods[h].air.type == "I" for h in (piece.carries or fan.serves))


def made(piece: DuctPiece) -> Duct:
    """A piece as the rules see it."""
    return Duct(
        piece.name,
        shape_of(piece),
        piece.length,
        tuple(Fitting(f.name, f.loss_coefficient) for f in piece.fittings),
        tables.duct_roughness_ft(piece.material.replace(" ", "_")).value,
    )


def duct_rows(facts: Facts, notes: Notes) -> tuple[DuctRow, ...]:
    """Every piece of duct, with what is too slow at design and at idle."""
    rows = []
    for fan in facts.job.exhaust_fans:
        mine = [_row(facts, fan, piece, notes) for piece in fan.air.ducts]
        _velocity(facts, fan, mine, notes)
        rows += mine
    return tuple(rows)


def _row(facts: Facts, fan: ExhaustFan, piece: DuctPiece, notes: Notes) -> DuctRow:
    design = carried_cfm(facts, fan, piece)
    idle = design * facts.least_ratio(fan)
    shape = shape_of(piece)
    check = velocity_check(design, idle, shape)
    air = density_ratio(facts.job.site.altitude, fan.air.air_at).value
    loss = run_loss_inwc(
        Run((made(piece),), 0.0, max(design, 1.0)),
        design,
        density_lb_per_cuft=air * STANDARD_DENSITY_LB_PER_CUFT,
        viscosity=viscosity_lb_per_ft_s(fan.air.air_at),
    )
    notes.why(fan.tag, f"loss of {piece.name} in the air it carries", loss)
    return DuctRow(
        fan=fan.tag,
        name=piece.name,
        size=size_words(piece),
        area_sqft=shape.area_sqft,
        design_cfm=design,
        idle_cfm=idle,
        design_fpm=check.design_fpm,
        idle_fpm=check.idle_fpm,
        min_fpm=check.min_fpm if grease(facts, fan, piece) else None,
        loss_inwc=loss.value,
    )


def _velocity(facts: Facts, fan: ExhaustFan, rows: list[DuctRow], notes: Notes) -> None:
    slow = [r for r in rows if r.min_fpm is not None and r.design_fpm < r.min_fpm * (1.0 - 1e-9)]
    for row in slow[:1]:
        # hoods whose fan's flow is all stated for others leave a piece without any air
        largest = max_duct_area_sqft(max(row.design_cfm, 1.0))
        cure = f"a smaller duct: {row.name} at most {largest.value:.3g} sq ft"
        notes.find(
            "AIR-DUCT-VELOCITY", Severity.ERROR, fan.tag,
            f"{_listed(slow, 'design')} at design; a grease duct needs {row.min_fpm:g} fpm",
            cure if row.design_cfm > 0.0 else f"some air for the hoods of {row.name}, which carries none",
            *largest.basis,
        )  # fmt: skip
    answer = facts.job.authority.duct_velocity
    idle = [r for r in rows if r.min_fpm is not None and r not in slow and r.idle_fpm < r.min_fpm * (1.0 - 1e-9)]
    if not idle or answer == "at design":
        return
    row = min(idle, key=lambda r: r.idle_fpm)
    assert row.min_fpm is not None
    largest = max_duct_area_sqft(max(row.idle_cfm, 1.0))
    enough = facts.least_ratio(fan) * row.min_fpm / row.idle_fpm
    open_question = answer == "not yet confirmed"
    ask = "; or have the authority confirm that the clause is read at design (authority: duct_velocity)"
    notes.find(
        "AIR-DUCT-IDLE", Severity.WARNING if open_question else Severity.ERROR, fan.tag,
        f"{_listed(idle, 'idle')} at idle; a grease duct needs {row.min_fpm:g} fpm"
        + ("" if open_question else ", and the authority reads that at all times"),
        f"min_speed {enough:.0%} or more, or {row.name} at most {largest.value:.3g} sq ft"
        + (ask if open_question else ""),
        *largest.basis,
    )  # fmt: skip


def _listed(rows: list[DuctRow], at: str) -> str:
    return ", ".join(f"{r.name} has {r.design_fpm if at == 'design' else r.idle_fpm:,.0f} fpm" for r in rows)


def path_of(facts: Facts, fan: ExhaustFan) -> Path | None:
    """The dearest path of a fan, in standard air; None where the job describes neither ducts nor hood loss."""
    if not fan.air.ducts and all(facts.hoods[h].air.loss is None for h in fan.serves):
        return None
    found: list[tuple[str, Reasoned[float]]] = []
    for tag in fan.serves:
        hood = facts.hoods[tag]
        note = Reasoning()
        parts = []
        if hood.air.loss is not None:
            parts.append(
                note.step(f"hood {tag} and its filters at {facts.hood_cfm[tag]:,.0f} cfm", hood.air.loss, "in wc")
            )
        for piece in fan.air.ducts:
            if piece.carries and tag not in piece.carries:
                continue
            flow = carried_cfm(facts, fan, piece)
            loss = run_loss_inwc(Run((made(piece),), 0.0, max(flow, 1.0)), flow)
            for step in loss.steps[1:-1]:  # between the hood's part, none here, and the sum
                note.step(step.text, step.value, step.unit, *step.basis)
            parts.append(note.step(f"{piece.name} at {flow:,.0f} cfm, together", loss.value, "in wc"))
        if fan.air.fixed_loss:
            parts.append(note.step("part that does not go with the flow", fan.air.fixed_loss, "in wc"))
        found.append(
            (tag, note.done(note.step(f"from {tag} to {fan.tag}, standard air", sum(parts), "in wc"), "in wc"))
        )
    dearest, whole_loss = max(found, key=lambda f: f[1].value)
    return Path(dearest, whole_loss, fan.air.fixed_loss)
