"""The kitchen at every operating point: what leaves must enter.

The flows are those of the schedule, all counted at the kitchen's temperature, as the plans' table of exhaust,
make-up, transfer and infiltration is.
"""

from __future__ import annotations

from galleyproof.air._facts import Facts, Notes, air_rule
from galleyproof.air.balance import (
    Balance,
    Constant,
    Exhaust,
    HoodDemand,
    Kitchen,
    Makeup,
    Offset,
    OtherAir,
    Ratio,
    Tracking,
    balance,
    kitchen_pressure_inwc,
    makeup_cfm,
    makeup_temperature_difference_degf,
    max_kitchen_negative_inwc,
    operating_points,
    shared_fan,
)
from galleyproof.air.model import SharedFan, UnitRow
from galleyproof.air.setpoints import tracking_limits
from galleyproof.air.steps import total
from galleyproof.findings import Severity
from galleyproof.job.model import MakeupUnit
from galleyproof.reasoning import practice

_SLACK_RATIO = 0.01
"""Share of the exhaust by which a schedule may miss. [-]"""


def kitchen_of(facts: Facts) -> Kitchen:
    """Everything of a job that moves air in or out."""
    job = facts.job
    return Kitchen(
        exhausts=tuple(Exhaust(f.tag, f.airflow, facts.least_ratio(f)) for f in job.exhaust_fans),
        makeups=tuple(makeup_of(facts, u) for u in job.makeup_units),
        others=tuple(OtherAir(o.tag, o.airflow) for o in job.air.others),
        room_degf=job.air.kitchen_at,
        altitude_ft=job.site.altitude,
        opening_sqft=job.air.opening,
    )


def law_of(facts: Facts, unit: MakeupUnit) -> Tracking:
    """How a unit follows: stated, else one flow for a run pair alone and the design share for all others."""
    follows = unit.air.follows
    if follows is not None and follows.kind == "ratio":
        return Ratio(follows.share)
    if follows is not None and follows.kind == "offset":
        return Offset(follows.below)
    if follows is not None or not facts.unit_can_slow(unit):
        return Constant()
    return Ratio(unit.airflow / total(facts.fans[t].airflow for t in unit.tracks))


def makeup_of(facts: Facts, unit: MakeupUnit) -> Makeup:
    """A unit as the balance sees it."""
    return Makeup(unit.tag, unit.airflow, unit.tracks, law_of(facts, unit), facts.unit_least_ratio(unit))


def law_words(law: Tracking) -> str:
    """A tracking law in words."""
    match law:
        case Ratio(share):
            return f"{share:.1%} of the exhaust it tracks"
        case Offset(below):
            return f"{below:,.0f} cfm below the exhaust it tracks"
        case Constant():
            return "one flow while any of its fans runs"


def balances_of(facts: Facts, notes: Notes) -> tuple[Balance, ...]:
    """The kitchen at every operating point, with what is wrong at the worst of them."""
    kitchen = kitchen_of(facts)
    found = tuple(balance(kitchen, point) for point in operating_points(kitchen.exhausts))
    for one in found:
        _explain(kitchen, one, notes)
    _positive(facts, found, notes)
    _short(facts, found, notes)
    _negative(facts, found, notes)
    return found


def planned_transfer_cfm(facts: Facts) -> float | None:
    """Transfer and infiltration the job plans with [cfm]; None where it says neither."""
    air = facts.job.air
    if air.transfer is None and air.infiltration is None:
        return None
    return (air.transfer or 0.0) + (air.infiltration or 0.0)


def transfer_share_ratio(design: Balance) -> float | None:
    """Transfer air over all replacement air [-]; None where nothing enters."""
    entering = design.makeup_cfm + design.other_cfm + max(0.0, design.transfer_cfm)
    return max(0.0, design.transfer_cfm) / entering if entering > 0.0 else None


def _explain(kitchen: Kitchen, one: Balance, notes: Notes) -> None:
    lines = [f"{f.tag} exhausts {f.air_cfm:,.0f} cfm" for f in one.exhaust]
    now = {f.tag: f.air_cfm for f in one.exhaust}
    for unit in kitchen.makeups:
        flow = makeup_cfm(unit, now)
        lines.append(f"{unit.tag} blows in {flow.value:,.0f} cfm: {'; '.join(str(s) for s in flow.steps)}")
    lines += [f"{f.tag} brings in {f.air_cfm:,.0f} cfm of outdoor air" for f in one.others]
    way = "comes in" if one.transfer_cfm >= 0.0 else "goes OUT"
    lines.append(f"the rest, {abs(one.transfer_cfm):,.0f} cfm, {way} by transfer and infiltration")
    if one.room_pressure_inwc is not None and kitchen.opening_sqft is not None:
        lines += kitchen_pressure_inwc(one.transfer_cfm, kitchen.opening_sqft).lines()
    numbered = tuple(f"{n}. {line}" for n, line in enumerate(lines, start=1))
    notes.why_lines("kitchen", f"balance, {one.point}", f"{one.transfer_cfm:,.0f} cfm of transfer", numbered)


def _positive(facts: Facts, found: tuple[Balance, ...], notes: Notes) -> None:
    worst = min(found, key=lambda b: b.transfer_cfm)
    if not worst.positive:
        return
    held = [u.tag for u in facts.job.makeup_units if not facts.unit_can_slow(u)]
    others = [o.tag for o in facts.job.air.others]
    ratio = [
        u.tag for u in facts.job.makeup_units if facts.unit_can_slow(u) and not isinstance(law_of(facts, u), Offset)
    ]
    cures = []
    if ratio:
        cures.append(f"let {', '.join(ratio)} follow by offset (air: follows: offset)")
    if held:
        cures.append(f"give {', '.join(held)} a speed pair or less air")
    cures.append("let the exhaust idle higher")
    also = f"; {', '.join(others)} brings in the same outdoor air all the time" if others else ""
    notes.find(
        "AIR-KITCHEN-POSITIVE", Severity.ERROR, "kitchen",
        f"{worst.point}: {worst.makeup_cfm + worst.other_cfm:,.0f} cfm blown in against {worst.exhaust_cfm:,.0f} cfm "
        f"of exhaust; {-worst.transfer_cfm:,.0f} cfm of kitchen air goes out to the next rooms{also}",
        "; or ".join(cures), *air_rule("makeup_no_harm"), *air_rule("makeup_equal"),
    )  # fmt: skip


def _short(facts: Facts, found: tuple[Balance, ...], notes: Notes) -> None:
    planned = planned_transfer_cfm(facts)
    have = max(0.0, found[0].transfer_cfm) if planned is None else planned
    said = "comes by transfer at design" if planned is None else "is planned as transfer and infiltration"
    worst = max(found, key=lambda b: b.transfer_cfm)
    if worst.transfer_cfm > have + _SLACK_RATIO * worst.exhaust_cfm:
        notes.find(
            "AIR-MAKEUP-SHORT", Severity.ERROR, "kitchen",
            f"{worst.point}: {worst.exhaust_cfm:,.0f} cfm of exhaust, {worst.makeup_cfm + worst.other_cfm:,.0f} cfm "
            f"blown in; {worst.transfer_cfm:,.0f} cfm would have to come from elsewhere, {have:,.0f} cfm {said}",
            "more make-up air at that point: let the units track every fan whose air they replace, or plan transfer",
            *air_rule("makeup_equal"), *air_rule("air_balance_on_plans"),
        )  # fmt: skip
    if planned is None and found[0].transfer_cfm > _SLACK_RATIO * found[0].exhaust_cfm:
        notes.find(
            "AIR-TRANSFER-OPEN", Severity.NOTE, "kitchen",
            f"{found[0].transfer_cfm:,.0f} cfm must come by transfer and infiltration at design; the job does not say "
            "from where",
            "state air: transfer and air: infiltration; the plans carry them", *air_rule("air_balance_on_plans"),
        )  # fmt: skip


def _negative(facts: Facts, found: tuple[Balance, ...], notes: Notes) -> None:
    limit = max_kitchen_negative_inwc()
    known = [b for b in found if b.room_pressure_inwc is not None]
    if not known:
        return
    worst = min(known, key=lambda b: b.room_pressure_inwc or 0.0)
    assert worst.room_pressure_inwc is not None
    if worst.room_pressure_inwc < -limit.value * (1.0 + 1e-6):
        notes.find(
            "AIR-KITCHEN-NEGATIVE", Severity.ERROR, "kitchen",
            f"{worst.point}: {worst.transfer_cfm:,.0f} cfm through {facts.job.air.opening:g} sq ft leaves the kitchen "
            f"at {worst.room_pressure_inwc:.3f} in wc; {-limit.value:g} in wc is the limit",
            "more make-up air, or larger openings to the next rooms", *limit.basis,
        )  # fmt: skip


def unit_rows(facts: Facts, notes: Notes) -> tuple[UnitRow, ...]:
    """Every make-up unit with its flows at both ends."""
    rows = []
    for unit in facts.job.makeup_units:
        made = makeup_of(facts, unit)
        design = total(facts.fans[t].airflow for t in unit.tracks)
        idle = total(facts.fans[t].airflow * facts.least_ratio(facts.fans[t]) for t in unit.tracks)
        alone = Makeup(unit.tag, unit.airflow, ("tracked",), made.law, made.min_ratio)
        limits = tracking_limits(alone, design, idle)
        notes.why(unit.tag, "flow at design of its exhaust", makeup_cfm(alone, {"tracked": design}))
        notes.why(unit.tag, "flow at idle of its exhaust", makeup_cfm(alone, {"tracked": idle}))
        wanted = _wanted(made.law, design, unit.airflow)
        if wanted > unit.airflow * (1.0 + _SLACK_RATIO):
            notes.find(
                "AIR-TRACKING", Severity.ERROR, unit.tag,
                f"is to give {wanted:,.0f} cfm at design ({law_words(made.law)}, {design:,.0f} cfm), but moves "
                f"{unit.airflow:,.0f} cfm at most",
                "a larger unit, or another share or offset in air: follows", practice("tracking limits"),
            )  # fmt: skip
        elif wanted <= 0.0:
            notes.find(
                "AIR-TRACKING", Severity.ERROR, unit.tag,
                f"is to stay {design - wanted:,.0f} cfm below {design:,.0f} cfm of exhaust: it would never run",
                "a smaller offset in air: follows", practice("tracking limits"),
            )  # fmt: skip
        elif limits.clipped_at_idle and not notes.found("AIR-KITCHEN-POSITIVE"):
            notes.find(
                "AIR-TRACKING-CLIPPED", Severity.NOTE, unit.tag,
                f"cannot come down as far as its law asks at idle; it stays at {limits.idle_cfm:,.0f} cfm",
                "check the kitchen's pressure at idle", practice("tracking limits"),
            )  # fmt: skip
        rows.append(
            UnitRow(unit.tag, unit.tracks, law_words(made.law), limits, wanted, _temperature(facts, unit, notes))
        )
    tracked = {t for u in facts.job.makeup_units for t in u.tracks}
    for fan in facts.job.exhaust_fans:
        if fan.tag not in tracked:
            notes.find(
                "AIR-UNTRACKED", Severity.NOTE, fan.tag, "no make-up unit tracks it; its air comes from elsewhere",
                "name it under tracks of a unit, or state where its air comes from", *air_rule("makeup_interlock"),
            )  # fmt: skip
    return tuple(rows)


def _wanted(law: Tracking, exhaust_cfm: float, design_cfm: float) -> float:
    match law:
        case Ratio(share):
            return share * exhaust_cfm
        case Offset(below):
            return exhaust_cfm - below
        case Constant():
            return design_cfm


def _temperature(facts: Facts, unit: MakeupUnit, notes: Notes) -> float | None:
    """The largest difference of its discharge from the kitchen [degF]."""
    room = facts.job.air.kitchen_at
    given = [t for t in (unit.air.heats_to, unit.air.cools_to) if t is not None]
    if not given:
        return None
    farthest = max(given, key=lambda t: abs(t - room))
    check = makeup_temperature_difference_degf(farthest, room)
    if not check.fulfilled and not unit.air.serves_the_load:
        notes.find(
            "AIR-MAKEUP-TEMPERATURE", Severity.WARNING, unit.tag,
            f"blows in at {farthest:g} degF, {check.difference_degf:g} degF from the kitchen's {room:g} degF; "
            f"{check.max_degf:g} degF is allowed unless it serves the room's load",
            "another discharge temperature, or serves_the_load: true where it does", *check.basis,
        )  # fmt: skip
    return check.difference_degf


def shared_fans(facts: Facts, notes: Notes) -> tuple[SharedFan, ...]:
    """For each fan of several hoods: each hood cooking alone, and what the others get too much."""
    rows = []
    for fan in facts.job.exhaust_fans:
        if len(fan.serves) < 2:
            continue
        least = facts.least_ratio(fan)
        mine: list[SharedFan] = []
        for cooks in fan.serves:
            demands = [
                HoodDemand(h, facts.shares[fan.tag, h], 1.0 if h == cooks else least)
                for h in fan.serves
                if facts.shares[fan.tag, h] > 0.0
            ]
            if not demands:
                continue
            speed, shares = shared_fan(demands)
            mine.append(SharedFan(fan.tag, cooks, speed.value, shares))
            notes.why(fan.tag, f"speed while only {cooks} cooks", speed)
        rows += mine
        worst = max(mine, key=lambda s: s.over_cfm, default=None)
        if worst is not None and worst.over_cfm > 0.0:
            notes.find(
                "AIR-SHARED-FAN", Severity.NOTE, fan.tag,
                f"while only {worst.cooks} cooks, its other hoods get {worst.over_cfm:,.0f} cfm more than they need",
                "measure every hood at idle as well as at design; the split at idle is not that at design",
                practice("several hoods on one fan", "the speed follows the worst hood"),
            )  # fmt: skip
    return tuple(rows)
