"""Exhaust of every hood of a job: code minimum, listing, energy-code ceiling and plume side by side."""

from __future__ import annotations

from dataclasses import replace

from galleyproof.air import plume
from galleyproof.air._facts import HOOD_RULES, Facts, Notes, air_rule, hood_rule, number
from galleyproof.air.energy import EnergyCode, KitchenFacts, ceiling_applies, energy_code, options
from galleyproof.air.exhaust import (
    DUTIES,
    appliance_duty,
    max_listed_exhaust_cfm,
    min_hood_length_ft,
    net_exhaust_cfm,
    overhang_advice,
)
from galleyproof.air.model import EnergyVerdict, HoodRow
from galleyproof.air.steps import AirError, Reasoned
from galleyproof.findings import Severity
from galleyproof.job.airside import EnergyChoice
from galleyproof.job.model import Hood
from galleyproof.reasoning import practice

CFM_PER_M3H = 1.0 / 1.699010796
"""1 cfm is 0.0283168466 m3 in 60 s."""
_M_PER_INCH = 0.0254
_CANOPIES = ("wall canopy", "single island", "double island")
_SLACK = 1.005
"""Half a percent: what rounding a schedule to whole cfm may cost. [-]"""


def adopted(choice: EnergyChoice) -> EnergyCode:
    """The rules of the code a job names, with the job's own threshold where it differs."""
    code = energy_code(choice.code)
    if choice.threshold is None:
        return code
    return replace(
        code,
        cap_threshold_cfm=code.cap_threshold_cfm and choice.threshold,
        option_threshold_cfm=code.option_threshold_cfm and choice.threshold,
        demand_threshold_cfm=code.demand_threshold_cfm and choice.threshold,
    )


def energy_verdict(facts: Facts, transfer_share_ratio: float | None, notes: Notes) -> EnergyVerdict | None:
    """Whether the adopted energy code caps the hoods and which of its options the job fulfils.

    Args:
        facts: The job.
        transfer_share_ratio: Transfer air over all replacement air at design, from the balance. [-]
        notes: Where findings go.
    """
    choice = facts.job.air.energy_code
    if choice is None:
        return None
    code = adopted(choice)
    share = choice.transfer_share if choice.transfer_share is not None else transfer_share_ratio
    ceiling = ceiling_applies(facts.total_cfm, code, transfer_share_ratio=share)
    notes.why("kitchen", f"ceiling on hood rates, {code.name}", ceiling)
    cut = code.demand_reduction_min_ratio
    slow = [f for f in facts.job.exhaust_fans if cut is not None and facts.least_ratio(f) <= 1.0 - cut + 1e-9]
    units = facts.job.makeup_units
    follow = None
    if cut is not None and units:
        follow = all(facts.unit_least_ratio(u) <= 1.0 - cut + 1e-9 for u in units)
    found = options(
        KitchenFacts(
            total_cfm=facts.total_cfm,
            demand_controlled_cfm=sum(f.airflow for f in slow),
            makeup_can_follow=follow,
            transfer_share_ratio=share,
            recovery_effectiveness_ratio=choice.recovery_effectiveness,
            recovery_share_ratio=choice.recovery_share,
            tempered_share_ratio=choice.tempered_share,
        ),
        code,
    )
    if found and not any(o.fulfilled for o in found):
        said = "; ".join(f"{o.name}: {o.why}" for o in found)
        notes.find(
            "AIR-ENERGY-OPTION", Severity.ERROR if all(o.fulfilled is False for o in found) else Severity.WARNING,
            "kitchen",
            f"{facts.total_cfm:,.0f} cfm of hoods need one of these by {code.name}, and none is shown: {said}",
            "fulfil one of them, or state under air: energy_code what the job does",
            *(c for o in found for c in o.basis),
        )  # fmt: skip
    threshold = code.cap_threshold_cfm
    return EnergyVerdict(code.name, facts.total_cfm, threshold, ceiling, found)


def exhaust_table(facts: Facts, energy: EnergyVerdict | None, notes: Notes) -> tuple[HoodRow, ...]:
    """One row per hood, with findings on the hood itself."""
    rows = tuple(_row(facts, hood, energy, notes) for hood in facts.job.hoods)
    for fan in facts.job.exhaust_fans:
        together = sum(facts.shares[fan.tag, h] for h in fan.serves)
        if abs(together - fan.airflow) > 0.02 * fan.airflow:
            notes.find(
                "AIR-FAN-SPLIT", Severity.ERROR, fan.tag,
                f"its hoods are to draw {together:,.0f} cfm together, but {fan.tag} moves {fan.airflow:,.0f} cfm",
                "make the hoods' airflow and the fan's agree", *air_rule("air_balance_on_plans"),
            )  # fmt: skip
    return rows


def _row(facts: Facts, hood: Hood, energy: EnergyVerdict | None, notes: Notes) -> HoodRow:
    design = facts.hood_cfm[hood.tag]
    net = design
    if hood.air.supplied_inside is not None:
        net = _net(facts, hood, design, notes)
    code = _code_minimum(facts, hood, notes)
    needed = facts.needed(hood)
    ceiling = _ceiling(facts, hood, notes)
    binds = energy is not None and energy.ceiling.value and hood.air.type == "I"
    second, why_not = _plume(hood, notes)
    if needed is not None:
        notes.why(hood.tag, "exhaust it needs", needed)
        if net * _SLACK < needed.value:
            which = "its listed rate" if hood.listed_rate is not None else "the minimum of a hood without a listing"
            notes.find(
                "AIR-EXHAUST-LOW", Severity.ERROR, hood.tag,
                f"exhausts {net:,.0f} cfm, less than {which}, {needed.value:,.0f} cfm",
                f"give it {needed.value:,.0f} cfm or more, or another hood", *needed.basis,
            )  # fmt: skip
    if ceiling is not None and binds and net > ceiling * _SLACK:
        assert energy is not None
        notes.find(
            "AIR-CEILING", Severity.ERROR, hood.tag,
            f"exhausts {net:,.0f} cfm, more than the {ceiling:,.0f} cfm {energy.code} allows it in a kitchen of "
            f"{energy.total_cfm:,.0f} cfm",
            "take a listed hood of a lower rate, or less exhaust", *energy.ceiling.basis,
            *max_listed_exhaust_cfm(hood.style, hood.length / 12.0, facts.duties(hood)).basis,
        )  # fmt: skip
    _hood_itself(facts, hood, notes)
    return HoodRow(
        tag=hood.tag,
        fan=", ".join(facts.fans_of[hood.tag]),
        style=hood.style,
        length_ft=hood.length / 12.0,
        duty=facts.duty(hood),
        design_cfm=design,
        net_cfm=net,
        code_cfm=code,
        listed_cfm=hood.listed_rate,
        ceiling_cfm=ceiling,
        ceiling_applies=bool(binds),
        plume_cfm=second,
        plume_why_not=why_not,
        needed_cfm=None if needed is None else needed.value,
        differ=_differ(hood, code, ceiling, bool(binds), second),
        advice=overhang_advice(hood.style),
    )


def _net(facts: Facts, hood: Hood, design: float, notes: Notes) -> float:
    inside = hood.air.supplied_inside
    assert inside is not None
    choice = facts.job.air.energy_code
    share = adopted(choice).hood_supply_share_max_ratio if choice is not None else None
    try:
        found = net_exhaust_cfm(design, inside, max_inside_ratio=1.0 if share is None else share)
    except AirError as error:
        notes.find("AIR-SUPPLY-INSIDE", Severity.ERROR, hood.tag, str(error), "blow less into the hood")
        return 0.0
    notes.why(hood.tag, "net exhaust", found)
    if share is not None and inside > share * design * _SLACK:
        notes.find(
            "AIR-SUPPLY-INSIDE", Severity.ERROR, hood.tag,
            f"{inside:,.0f} cfm is blown into it, {inside / design:.0%} of its exhaust; "
            f"{choice.code if choice else ''} allows {share:.0%}",
            "move that air out of the hood, to the room", *found.basis,
        )  # fmt: skip
    return found.value


def _code_minimum(facts: Facts, hood: Hood, notes: Notes) -> float | None:
    try:
        found = facts.code_minimum(hood)
    except AirError as error:
        if hood.listed_rate is None:
            notes.find(
                "AIR-STYLE", Severity.ERROR, hood.tag, str(error), "take another style of hood, or a listed one",
                *hood_rule("mixed_duty"),
            )  # fmt: skip
        return None
    notes.why(hood.tag, "minimum of a hood without a listing", found)
    return found.value


def _ceiling(facts: Facts, hood: Hood, notes: Notes) -> float | None:
    if hood.air.type == "II":
        return None
    try:
        found = max_listed_exhaust_cfm(hood.style, hood.length / 12.0, facts.duties(hood))
    except AirError:
        return None
    notes.why(hood.tag, "ceiling for a listed hood in a large kitchen", found)
    return found.value


def _plume(hood: Hood, notes: Notes) -> tuple[float | None, str]:
    plan = hood.air.plume
    if not hood.appliances:
        return None, "no appliance stands under it"
    if plan is None:
        return None, "no plan of the appliances (air: plume)"
    known: list[plume.PlumeAppliance] = []
    for appliance in hood.appliances:
        found = None
        if appliance.load is not None:
            found = plume.appliance_factors(appliance.kind, appliance.fuel, appliance.load / 1000.0)
        if found is None:
            return None, f"no factor was seen for {appliance.tag}, a {appliance.fuel} {appliance.kind}"
        known.append(found)
    block = plume.Block(
        appliances=tuple(known),
        length_m=plan.length * _M_PER_INCH,
        width_m=plan.width * _M_PER_INCH,
        free_height_m=plan.free_height * _M_PER_INCH,
        arrangement=plan.stands,
        simultaneity_ratio=plan.simultaneity,
        spill=plan.supply,
    )
    inside = 0.0 if hood.air.supplied_inside is None else hood.air.supplied_inside / CFM_PER_M3H
    flow = plume.block_exhaust_m3h(block, supplied_inside_m3h=inside)
    notes.why(hood.tag, "second opinion by the thermal plume", flow)
    return flow.value * CFM_PER_M3H, ""


def _differ(
    hood: Hood, code: float | None, ceiling: float | None, binds: bool, second: float | None
) -> tuple[str, ...]:
    said: list[str] = []
    if code is not None:
        said.append("the code's figure is a minimum for hoods without a listing, by style, duty and length only")
    if hood.listed_rate is not None:
        said.append("the listing is what this hood was tested to capture with; it stands in place of the code's figure")
    if ceiling is not None:
        bound = "binds here" if binds else "does not bind here"
        said.append(f"the energy code's figure is a ceiling for listed hoods in a large kitchen; it {bound}")
    if second is not None:
        said.append(
            "the plume method goes by the heat and moisture of the appliances and the free height, knows electric "
            "appliances only, and sizes nothing else"
        )
    return tuple(said)


def _hood_itself(facts: Facts, hood: Hood, notes: Notes) -> None:
    """Duty, overhang, lip, solid fuel, type."""
    listed = hood.listed_rate is not None
    heavier = [a for a in hood.appliances if DUTIES.index(a.duty) > DUTIES.index(hood.duty)]
    if heavier:
        which = ", ".join(f"{a.tag} is {a.duty}" for a in heavier)
        notes.find(
            "AIR-DUTY", Severity.WARNING, hood.tag,
            f"its duty is written as {hood.duty}, but {which}; the heaviest below governs all of it",
            f"write duty: {facts.duty(hood)}", *hood_rule("mixed_duty"),
        )  # fmt: skip
    for appliance in hood.appliances:
        table = appliance_duty(appliance.kind, appliance.fuel)
        if table is not None and DUTIES.index(table.value) > DUTIES.index(appliance.duty):
            notes.find(
                "AIR-DUTY-TABLE", Severity.NOTE, appliance.tag,
                f"{appliance.fuel} {appliance.kind} is usually {table.value} duty; the job says {appliance.duty}",
                "confirm it against the adopted code's definitions", *table.basis,
            )  # fmt: skip
    if not hood.appliances:
        notes.find(
            "AIR-HOOD-EMPTY", Severity.NOTE, hood.tag, f"no appliance stands under it; its own duty, {hood.duty}, is "
            "taken", "name the appliances under it",
        )  # fmt: skip
    if hood.air.type == "II" and facts.duty(hood) not in ("light", "dishwasher"):
        notes.find(
            "AIR-TYPE", Severity.ERROR, hood.tag, f"a Type II hood over {facts.duty(hood)} duty",
            "take a Type I hood", *hood_rule("type_1_trigger"),
        )  # fmt: skip
    _geometry(hood, listed, notes)
    _solid_fuel(facts, hood, notes)


def _geometry(hood: Hood, listed: bool, notes: Notes) -> None:
    weight = Severity.NOTE if listed else Severity.ERROR
    other = "; its listing may allow less" if listed else ""
    canopy = hood.style in _CANOPIES
    overhang = number(HOOD_RULES, "canopy_overhang_min_inch")
    short: list[str] = []
    if canopy and hood.air.appliance_line is not None:
        least: Reasoned[float] = min_hood_length_ft(hood.air.appliance_line / 12.0, open_ends=hood.air.open_ends)
        notes.why(hood.tag, "length for its overhang", least)
        if hood.length / 12.0 < least.value - 1e-6:
            short.append(
                f"{hood.length / 12.0:.4g} ft long over {hood.air.appliance_line / 12.0:.4g} ft of appliances with "
                f"{hood.air.open_ends} open ends needs {least.value:.4g} ft"
            )
    if canopy and hood.air.front_overhang is not None and hood.air.front_overhang < overhang - 1e-6:
        short.append(f"its front overhang is {hood.air.front_overhang:g} in, {overhang:g} in is asked for")
    if short:
        notes.find(
            "AIR-OVERHANG", weight, hood.tag, "; ".join(short) + other,
            "take a longer or deeper hood, close the ends with full end panels, or move the appliances",
            *hood_rule("canopy_overhang_min_inch"),
        )  # fmt: skip
    if hood.air.lip_height is not None:
        key = "canopy_lip_height_max_ft" if canopy else "noncanopy_height_max_ft"
        most = number(HOOD_RULES, key)
        if hood.style != "eyebrow" and hood.air.lip_height / 12.0 > most + 1e-6:
            notes.find(
                "AIR-LIP", weight, hood.tag,
                f"its lip hangs {hood.air.lip_height / 12.0:.3g} ft above the cooking surface, {most:g} ft at "
                f"most{other}",
                "hang it lower", *hood_rule(key),
            )  # fmt: skip
    if canopy and hood.air.open_ends and hood.air.end_panels == "none" and hood.air.appliance_line is not None:
        notes.find(
            "AIR-END-PANELS", Severity.NOTE, hood.tag, "it has open ends without end panels",
            "partial end panels help more against cross-draught than airflow does", practice("end panels"),
        )  # fmt: skip


def _solid_fuel(facts: Facts, hood: Hood, notes: Notes) -> None:
    solid = [a for a in hood.appliances if a.fuel == "solid"]
    if not solid:
        return
    shares: list[str] = []
    for fan in (facts.fans[t] for t in facts.fans_of[hood.tag]):
        if len(fan.serves) > 1:
            rest = ", ".join(t for t in fan.serves if t != hood.tag)
            shares.append(f"its exhaust fan {fan.tag} also serves {rest}")
    others = [a.tag for a in hood.appliances if a.fuel != "solid"]
    if others:
        shares.append(f"{', '.join(others)} stands under the same hood")
    if shares:
        notes.find(
            "AIR-SOLID-FUEL", Severity.ERROR, hood.tag,
            f"{', '.join(a.tag for a in solid)} burns solid fuel, and {' and '.join(shares)}",
            "give solid fuel a hood and an exhaust system of its own",
            *hood_rule("extra_heavy_separate_hood"), *air_rule("shared_duct"),
        )  # fmt: skip
