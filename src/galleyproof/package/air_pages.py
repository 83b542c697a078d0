"""Air schedule, balance table, set-point sheet; then the savings page."""

from __future__ import annotations

from collections.abc import Sequence

from galleyproof.package.facts import Facts
from galleyproof.package.model import MISSING, Block, Column, Items, Para, Section, Table, missing


def air_pages(facts: Facts) -> tuple[Section, ...]:
    """Three sections, or one that says what is missing; then the year."""
    from galleyproof.package.savings_page import savings_page

    if facts.air is None:
        return (Section("air", "Air schedule", (missing("The air side"),)), savings_page(facts))
    return (_schedule(facts), _balance(facts), _setpoints(facts), savings_page(facts))


def _n(value: float | None, form: str = ",.0f", empty: str = "–") -> str:
    return empty if value is None else format(value, f"z{form}")


def _heads(*titles: str, wide: Sequence[str] = (), left: Sequence[str] = ()) -> tuple[Column, ...]:
    return tuple(Column(t, 2 if t in wide else 1, t not in left and t not in wide) for t in titles)


def _schedule(facts: Facts) -> Section:
    air = facts.air
    assert air is not None
    hoods = tuple(
        (
            h.tag,
            h.fan,
            f"{h.style}, {h.length_ft:g} ft, {h.duty}",
            _n(h.design_cfm),
            _n(h.code_cfm),
            _n(h.listed_cfm),
            _n(h.ceiling_cfm) + ("" if h.ceiling_applies or h.ceiling_cfm is None else " *"),
            _n(h.plume_cfm, empty=MISSING),
        )
        for h in air.hoods
    )
    fans = tuple(
        (
            f.tag,
            _n(f.design_cfm),
            _n(f.idle_cfm),
            _n(f.scheduled_inwc, ".3g"),
            _n(f.system_inwc, ".3g", MISSING),
            _n(f.speed_ratio, ".0%", MISSING),
            _n(f.shaft_hp, ".3g", MISSING),
            "EC" if f.motor_hp is None else f"{f.motor_hp:g}",
            f"{f.motor.verdict}" if f.motor is not None else MISSING,
        )
        for f in air.fans
    )
    ducts = tuple(
        (d.fan, d.name, d.size, _n(d.design_fpm), _n(d.idle_fpm), _n(d.min_fpm, empty="none"), _n(d.loss_inwc, ".3g"))
        for d in air.ducts
    )
    left = ("Hood", "Fan", "Duct", "Size", "Verdict")
    blocks: list[Block] = [
        Table(
            _heads(
                "Hood",
                "Fan",
                "Style, length, duty",
                "Design",
                "Code min.",
                "Listing",
                "Ceiling",
                "Plume",
                wide=("Style, length, duty",),
                left=left,
            ),
            hoods,
            "Exhaust of each hood, cfm: three methods side by side",
        ),
        Para("* this ceiling does not bind in this job. Plume: a second opinion, not a rule.", "note"),
        Table(
            _heads(
                "Fan",
                "Design cfm",
                "Idle cfm",
                "Sched. in wc",
                "System in wc",
                "Speed",
                "bhp",
                "Motor hp",
                "Verdict",
                left=left,
            ),
            fans,
            "Fans and motors",
        ),
    ]
    if ducts:
        heads = _heads("Fan", "Duct", "Size", "Design fpm", "Idle fpm", "Least fpm", "in wc", left=left)
        blocks.append(Table(heads, ducts, "Ducts"))
    differ = tuple(dict.fromkeys(line for h in air.hoods for line in h.differ))
    if differ:
        blocks += [Para("Why the methods differ:", "bold"), Items(differ)]
    return Section("air", "Air schedule", tuple(blocks), wide=True)


def _balance(facts: Facts) -> Section:
    air = facts.air
    assert air is not None
    rows = tuple(
        (
            b.point,
            _n(b.exhaust_cfm),
            _n(b.makeup_cfm),
            _n(b.other_cfm),
            _n(b.transfer_cfm),
            _n(b.room_pressure_inwc, ".4f", MISSING),
        )
        for b in air.balances
    )
    units = tuple(
        (
            u.tag,
            ", ".join(u.tracks),
            u.law,
            _n(u.limits.design_cfm),
            _n(u.limits.idle_cfm),
            _n(u.difference_degf, ".3g", MISSING),
        )
        for u in air.units
    )
    shared = tuple(
        (
            s.fan,
            s.cooks,
            f"{s.speed_ratio:.0%}",
            ", ".join(f"{x.tag} {x.over_cfm:,.0f} cfm" for x in s.shares if x.over_cfm > 0) or "nothing",
        )
        for s in air.shared
    )
    planned = "not stated" if air.transfer_cfm is None else f"{air.transfer_cfm:,.0f} cfm"
    blocks: list[Block] = [
        Table(
            _heads(
                "Operating point", "Exhaust", "Make-up", "Other", "Transfer", "Room in wc", wide=("Operating point",)
            ),
            rows,
            "The kitchen at every operating point, cfm",
        ),
        Para(f"Transfer and infiltration planned: {planned}. A negative figure goes out of the kitchen.", "note"),
    ]
    if units:
        blocks.append(
            Table(
                _heads(
                    "Unit", "Tracks", "Law", "Design cfm", "Idle cfm", "°F off", wide=("Law",), left=("Unit", "Tracks")
                ),
                units,
                "Make-up units",
            )
        )
    if shared:
        blocks.append(
            Table(
                _heads(
                    "Fan",
                    "Only this hood cooks",
                    "Fan speed",
                    "The others get too much",
                    wide=("The others get too much",),
                    left=("Fan", "Only this hood cooks"),
                ),
                shared,
                "Hoods that share a fan",
            )
        )
    return Section("balance", "Balance table", tuple(blocks))


def _setpoints(facts: Facts) -> Section:
    air = facts.air
    assert air is not None
    maps = tuple(
        (
            h.tag,
            h.fan,
            f"{h.speed_map.idle_below_degf:g} °F",
            f"{h.speed_map.full_above_degf:g} °F",
            f"{h.speed_map.min_speed_ratio:.0%}",
            f"{h.kitchen_degf:g} °F",
        )
        for h in air.hood_setpoints
    )
    limits = tuple(
        (
            s.tag,
            f"{s.set_ratio:.0%}",
            _n(s.minimum.ratio, ".0%", MISSING),
            _n(s.design_hz, ".3g"),
            _n(s.idle_hz, ".3g"),
            _n(s.design_a, ".3g", MISSING),
            _n(s.idle_a, ".3g", MISSING),
            ", ".join(r.what for r in s.minimum.reasons if r.governs) or "nothing known",
            s.source,
        )
        for s in air.fan_setpoints
    )
    delays = tuple(
        (
            d.name,
            f"{d.value_s:g} s",
            "at most 900 s by code" if d.usual is None else f"{d.usual.low_s:g} to {d.usual.high_s:g} s",
            d.verdict,
        )
        for d in air.delays
    )
    blocks: tuple[Block, ...] = (
        Table(
            _heads("Hood", "Fan", "Idles below", "Full above", "Least speed", "Hottest kitchen", left=("Hood", "Fan")),
            maps,
            "Temperature to speed",
        ),
        Table(
            _heads(
                "Fan",
                "Set",
                "Needed",
                "Hz full",
                "Hz idle",
                "A full",
                "A idle",
                "Governed by",
                "From",
                wide=("Governed by",),
                left=("Fan", "From"),
            ),
            limits,
            "Speed limits",
        ),
        Table(_heads("Delay", "Set", "Usual", "Verdict", left=("Delay", "Verdict")), delays, "Delays"),
    )
    return Section("set-points", "Set-point sheet", blocks)
