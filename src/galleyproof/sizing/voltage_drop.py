"""Voltage drop along a run: running, starting, and at the far end of a control circuit.

Runs are given one way. DC and unity power factor go by the resistances of chapter 9 Table 8 at 75 degC, AC by
resistance and reactance of Table 9. A length in another conductor of the same run (a thinner neutral) is a run of
its own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from galleyproof.sizing.checks import need_above_zero, need_choice, need_finite, need_not_negative, need_share
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, SizingError, nec, practice, shown
from galleyproof.tables import conductors as tables
from galleyproof.tables.conductors import AWG_ORDER, Material, RacewayMetal, awg_index
from galleyproof.tables.reader import TableError

__all__ = [
    "BRANCH_LIMIT_RATIO",
    "MAX_RUN_FT",
    "STARTING_LIMIT_RATIO",
    "TOTAL_LIMIT_RATIO",
    "CircuitForm",
    "Run",
    "ac_drop_v",
    "coil_v",
    "conductor_ohm",
    "dc_drop_v",
    "drop_over_resistance_v",
    "drop_ratio",
    "effective_ohm_per_kft",
    "k_ohm_per_kft",
    "locked_rotor_a",
    "size_for_coil",
    "size_for_drop",
    "size_for_drops",
    "total_drop_ratio",
]

CircuitForm: TypeAlias = Literal["dc", "1-phase", "3-phase"]

BRANCH_LIMIT_RATIO = 0.03
"""Usual advice for a branch circuit: 210.19(A), informational note. [-]"""
TOTAL_LIMIT_RATIO = 0.05
"""Usual advice for feeder and branch circuit together. [-]"""
STARTING_LIMIT_RATIO = 0.15
"""Common practice: more than this at the motor while it starts makes contactors and motors doubtful. [-]"""
LOCKED_ROTOR_RATIO = 6.0
"""Common practice where nothing is marked: starting current over full-load current. [-]"""
STARTING_PF = 0.35
"""Common practice: power factor of a small motor at standstill. [-]"""
COIL_MIN_RATIO = 0.85
"""IEC 60947-4-1: a contactor or relay coil pulls in from 85 percent of its rated voltage. [-]"""
MAX_RUN_FT = 5280.0
"""A longer run is taken for a slip of the pen. [ft]"""

_K_OHM_CMIL_PER_FT = {"cu": 12.9, "al": 21.2}


@dataclass(frozen=True, slots=True)
class Run:
    """One stretch of a circuit.

    Attributes:
        run_ft: One way. [ft]
        load_a: Current in each line. [A]
        supply_v: Line to line for three phases, between the two conductors otherwise. [V]
        form: ``dc``, ``1-phase`` or ``3-phase``.
        power_factor: Of the load; at 1 a single-phase run goes by Table 8. [-]
        material: ``cu`` or ``al``.
        raceway: What the raceway is made of, for Table 9.
    """

    run_ft: float
    load_a: float
    supply_v: float
    form: CircuitForm = "1-phase"
    power_factor: float = 1.0
    material: Material = "cu"
    raceway: RacewayMetal = "steel"

    def check(self) -> None:
        """Refuse what cannot be.

        Raises:
            SizingError: A length of zero or miles, a current or a voltage that is not one.
        """
        _check_run(self.run_ft)
        need_not_negative("load_a", self.load_a, "A")
        need_above_zero("supply_v", self.supply_v, "V")
        need_choice("form", self.form, ("dc", "1-phase", "3-phase"))
        need_share("power_factor", self.power_factor)


def conductor_ohm(ohm_per_kft: float, length_ft: float) -> Reasoned[float]:
    """Resistance of one conductor.

    Args:
        ohm_per_kft: Resistance per length. [ohm/kft]
        length_ft: Of the conductor, not of the run. [ft]

    Returns:
        Resistance. [ohm]
    """
    r = Reasoning()
    need_above_zero("ohm_per_kft", ohm_per_kft, "ohm/kft")
    need_above_zero("length_ft", length_ft, "ft")
    value = ohm_per_kft * length_ft / 1000.0
    r.step(f"{shown(ohm_per_kft)} ohm/kft x {shown(float(length_ft), 'ft')}", value, "ohm")
    return r.done(value, "ohm")


def drop_over_resistance_v(resistance: Reasoned[float] | float, load_a: float) -> Reasoned[float]:
    """Voltage over a resistance.

    Args:
        resistance: Of all conductors in the loop. [ohm]
        load_a: Current. [A]

    Returns:
        Voltage. [V]
    """
    r = Reasoning()
    loop_ohm = r.take(resistance) if isinstance(resistance, Reasoned) else float(resistance)
    need_not_negative("resistance", loop_ohm, "ohm")
    need_not_negative("load_a", load_a, "A")
    value = loop_ohm * load_a
    r.step(f"{shown(loop_ohm, 'ohm')} x {shown(float(load_a), 'A')}", value, "V", practice("Ohm's law"))
    return r.done(value, "V")


def k_ohm_per_kft(size: str, material: Material = "cu") -> Reasoned[float]:
    """Resistance by the rule of thumb K over circular mils, for checking by hand.

    Args:
        size: Label. [AWG or kcmil]
        material: ``cu`` (K = 12.9) or ``al`` (K = 21.2).

    Returns:
        Resistance, within 2 percent of Table 8 stranded. [ohm/kft]

    Code basis:
        Common practice; K is the average of chapter 9 Table 8, stranded, times its circular mils.
    """
    r = Reasoning()
    need_choice("material", material, ("cu", "al"))
    k = _K_OHM_CMIL_PER_FT[material]
    area = tables.circular_mils(size)
    value = k * 1000.0 / area.value
    r.step(f"K = {k:g} ohm cmil/ft / {shown(area.value)} cmil", value, "ohm/kft", practice("K method"), *area.basis)
    return r.done(value, "ohm/kft")


def dc_drop_v(
    size: str,
    load_a: float,
    run_ft: float,
    *,
    material: Material = "cu",
    stranded: bool = True,
    conductor_degc: float = 75.0,
    by_k: bool = False,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Drop over both conductors of a two-wire run: DC, and single-phase at unity power factor.

    Args:
        size: Label. [AWG or kcmil]
        load_a: Current. [A]
        run_ft: One way. [ft]
        material: ``cu`` or ``al``.
        stranded: Class B stranding; solid rows end at 8 AWG.
        conductor_degc: Other temperatures by note 2 of the table. [degC]
        by_k: Resistance by the K method instead of the table.
        edition: ``2020`` or ``2023``.

    Returns:
        Voltage. [V]

    Raises:
        TableError: No such row.
        SizingError: No run, or miles of it.

    Code basis:
        NFPA 70-2023, chapter 9 Table 8.

    Examples:
        >>> round(dc_drop_v("16", 4.0, 100.0).value, 2)
        3.99
    """
    r = Reasoning(edition)
    _check_run(run_ft)
    need_not_negative("load_a", load_a, "A")
    need_finite("conductor_degc", conductor_degc, "degC")
    if by_k:
        ohm_per_kft = r.take(k_ohm_per_kft(size, material))
    else:
        found = tables.dc_resistance_ohm_per_kft(size, material, stranded=stranded)
        ohm_per_kft = found.value
        form = "stranded" if stranded else "solid"
        r.step(f"{_name(size)} {form}, 75 degC", ohm_per_kft, "ohm/kft", *found.basis)
        if conductor_degc != 75.0:
            warm = tables.resistance_at_degc(ohm_per_kft, conductor_degc, material)
            ohm_per_kft = warm.value
            r.step(f"at {conductor_degc:g} degC", ohm_per_kft, "ohm/kft", *warm.basis)
    value = 2.0 * load_a * ohm_per_kft * run_ft / 1000.0
    r.step(f"2 x {shown(float(load_a), 'A')} x {shown(ohm_per_kft)} ohm/kft x {run_ft:g} ft / 1000", value, "V")
    return r.done(value, "V")


def effective_ohm_per_kft(
    size: str,
    power_factor: float,
    raceway: RacewayMetal = "steel",
    material: Material = "cu",
    *,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Impedance to neutral that causes voltage drop at a power factor.

    Args:
        size: Label. [AWG or kcmil]
        power_factor: Of the load. [-]
        raceway: What the raceway is made of.
        material: ``cu`` or ``al``.
        edition: ``2020`` or ``2023``.

    Returns:
        R cos(phi) + X sin(phi), to neutral. [ohm/kft]

    Raises:
        TableError: No such row; Table 9 begins at 14 AWG copper, 12 AWG aluminum.

    Code basis:
        NFPA 70-2023, chapter 9 Table 9, note 2.
    """
    r = Reasoning(edition)
    need_share("power_factor", power_factor)
    z = tables.ac_impedance(size, material, raceway)
    sine = math.sqrt(1.0 - power_factor * power_factor)
    value = z.value.r_ohm_per_kft * power_factor + z.value.x_ohm_per_kft * sine
    r.step(
        f"{_name(size)} in {raceway}: {z.value.r_ohm_per_kft:g} x {power_factor:g} + "
        f"{z.value.x_ohm_per_kft:g} x {sine:.4g}, to neutral",
        value,
        "ohm/kft",
        *z.basis,
    )
    return r.done(value, "ohm/kft")


def ac_drop_v(
    size: str,
    load_a: float,
    run_ft: float,
    phases: int,
    power_factor: float,
    raceway: RacewayMetal = "steel",
    material: Material = "cu",
    *,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Drop between the conductors of an AC run: line to line for three phases.

    Args:
        size: Label. [AWG or kcmil]
        load_a: Current in each line. [A]
        run_ft: One way. [ft]
        phases: 1 or 3. [-]
        power_factor: Of the load. [-]
        raceway: What the raceway is made of.
        material: ``cu`` or ``al``.
        edition: ``2020`` or ``2023``.

    Returns:
        Voltage. [V]

    Code basis:
        NFPA 70-2023, chapter 9 Table 9; times 2 single-phase, times sqrt(3) line to line.

    Leaves out:
        The angle between the voltages of both ends, which is small below 10 percent.

    Examples:
        >>> round(ac_drop_v("8", 27.0, 250.0, 3, 0.85).value, 2)
        8.15
    """
    r = Reasoning(edition)
    _check_run(run_ft)
    need_choice("phases", phases, (1, 3))
    need_not_negative("load_a", load_a, "A")
    z = r.take(effective_ohm_per_kft(size, power_factor, raceway, material, edition=edition))
    factor = math.sqrt(3.0) if phases == 3 else 2.0
    value = factor * load_a * z * run_ft / 1000.0
    words = "sqrt(3)" if phases == 3 else "2"
    r.step(f"{words} x {shown(float(load_a), 'A')} x {z:.4g} ohm/kft x {run_ft:g} ft / 1000", value, "V")
    return r.done(value, "V")


def drop_ratio(size: str, run: Run, *, edition: NecEdition = "2023") -> Reasoned[float]:
    """Drop of one stretch over its voltage, by the table that fits it.

    Args:
        size: Label. [AWG or kcmil]
        run: The stretch.
        edition: ``2020`` or ``2023``.

    Returns:
        Ratio. [-]
    """
    run.check()
    r = Reasoning(edition)
    drop_v = r.take(_drop_v(size, run, edition))
    value = drop_v / run.supply_v
    r.step(f"{drop_v:.4g} V of {run.supply_v:g} V: {value:.2%}", value, "-")
    return r.done(value, "-")


def _drop_v(size: str, run: Run, edition: NecEdition) -> Reasoned[float]:
    two_wire = run.form == "dc" or (run.form == "1-phase" and run.power_factor == 1.0)
    # Table 9 begins at 14 AWG; below, reactance is nothing beside resistance
    if two_wire or (run.form == "1-phase" and awg_index(size) < awg_index("14")):
        return dc_drop_v(size, run.load_a, run.run_ft, material=run.material, edition=edition)
    phases = 3 if run.form == "3-phase" else 1
    return ac_drop_v(size, run.load_a, run.run_ft, phases, run.power_factor, run.raceway, run.material, edition=edition)


def size_for_drop(
    size: Reasoned[str] | str,
    run: Run,
    limit_ratio: float = BRANCH_LIMIT_RATIO,
    *,
    edition: NecEdition = "2023",
) -> Reasoned[str]:
    """A size raised until the drop of one run holds; see ``size_for_drops``."""
    return size_for_drops(size, ((run, limit_ratio, "running"),), edition=edition)


def size_for_drops(
    size: Reasoned[str] | str, cases: Sequence[tuple[Run, float, str]], *, edition: NecEdition = "2023"
) -> Reasoned[str]:
    """A size raised until every drop holds.

    Args:
        size: What ampacity and protection ask for. [AWG or kcmil]
        cases: Run, limit over its voltage and name of each case: ``running``, ``starting``.
        edition: ``2020`` or ``2023``.

    Returns:
        The same size or a thicker one; the thinner ones are passed over with their drop. [AWG or kcmil]

    Raises:
        SizingError: No size of the tables holds; the longest run that would is named.

    Code basis:
        NFPA 70-2023, 210.19(A) and 215.2(A)(1), informational notes: advice, not a rule.
    """
    r = Reasoning(edition)
    start = r.take(size) if isinstance(size, Reasoned) else size
    for run, limit_ratio, _ in cases:
        run.check()
        need_above_zero("limit_ratio", limit_ratio, "-")
    advice = nec("210.19(A)", edition, "informational note: advice")
    tried = AWG_ORDER[awg_index(start) : awg_index("500") + 1]
    last = start
    for candidate in tried:
        try:
            found = [(drop_ratio(candidate, run, edition=edition), limit, name) for run, limit, name in cases]
        except TableError:
            if candidate == start:
                raise  # a size that ampacity chose must be in the drop tables
            continue  # odd sizes (15, 17 AWG) are in no table
        last = candidate
        over = [(d, limit, name) for d, limit, name in found if d.value > limit + 1e-12]
        if not over:
            for d, limit, name in found:
                r.take(d)
                r.remark(f"{name}: {d.value:.2%} is within {limit:.2%}", advice)
            if candidate != start:
                r.step(f"raised from {_name(start)} for voltage drop", candidate, _unit(candidate), advice)
            return r.done(candidate, _unit(candidate))
        worst, limit, name = max(over, key=lambda one: one[0].value / one[1])
        r.pass_over(f"{_name(candidate)}: {name} drop {worst.value:.2%}, {limit:.2%} allowed")
    longest = min(
        run.run_ft * limit / drop_ratio(last, run, edition=edition).value for run, limit, _ in cases if run.load_a
    )
    raise SizingError(
        f"no size up to {_name(last)} keeps the drop within its limit; it would hold up to {longest:.0f} ft: "
        "shorten the run, raise the voltage, move the supply or use parallel conductors"
    )


def total_drop_ratio(
    feeder: Reasoned[float] | float, branch: Reasoned[float] | float, *, edition: NecEdition = "2023"
) -> Reasoned[float]:
    """Drop of feeder and branch circuit together.

    Args:
        feeder: From ``drop_ratio``. [-]
        branch: From ``drop_ratio``. [-]
        edition: ``2020`` or ``2023``.

    Returns:
        Sum; compare with ``TOTAL_LIMIT_RATIO``. [-]

    Code basis:
        NFPA 70-2023, 210.19(A) and 215.2(A)(1), informational notes.
    """
    r = Reasoning(edition)
    parts = [r.take(p) if isinstance(p, Reasoned) else float(p) for p in (feeder, branch)]
    for name, part in zip(("feeder", "branch"), parts, strict=True):
        need_not_negative(name, part, "-")
    value = parts[0] + parts[1]
    text = f"feeder {parts[0]:.2%} and branch circuit {parts[1]:.2%} together"
    r.step(text, value, "-", nec("215.2(A)(1)", edition, "informational note: advice"))
    return r.done(value, "-")


def locked_rotor_a(full_load: Reasoned[float] | float, ratio: float = LOCKED_ROTOR_RATIO) -> Reasoned[float]:
    """Starting current of a motor across the line.

    Args:
        full_load: Full-load current. [A]
        ratio: Marked or usual starting current over full-load current. [-]

    Returns:
        Current. [A]

    Code basis:
        Common practice: six times where nothing is marked.

    Leaves out:
        Drives and EC motors, which start below their full-load current.
    """
    r = Reasoning()
    flc_a = r.take(full_load) if isinstance(full_load, Reasoned) else float(full_load)
    need_above_zero("full_load", flc_a, "A")
    need_above_zero("ratio", ratio, "-")
    value = ratio * flc_a
    r.step(f"{ratio:g} x {shown(flc_a, 'A')} at start", value, "A", practice("starting current of a small motor"))
    return r.done(value, "A")


def coil_v(
    source_v: float,
    stretches: Sequence[tuple[str, float]],
    load_a: float,
    *,
    source_drop_v: float = 0.0,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Voltage that reaches a coil or valve at the far end of its run.

    Args:
        source_v: At the terminals of the supply, loaded. [V]
        stretches: Size and one-way length of each stretch of the two-wire run. [AWG, ft]
        load_a: Current of everything on the pair: at pick-up the inrush. [A]
        source_drop_v: Lost before the run: contacts, fuse. [V]
        edition: ``2020`` or ``2023``.

    Returns:
        Voltage at the coil. [V]

    Raises:
        SizingError: No stretch.

    Code basis:
        NFPA 70-2023, chapter 9 Table 8. The current is taken as at full voltage, which is cautious.

    Examples:
        >>> round(coil_v(24.0, [("18", 200.0)], 0.5).value, 2)
        22.41
    """
    r = Reasoning(edition)
    need_above_zero("source_v", source_v, "V")
    need_not_negative("source_drop_v", source_drop_v, "V")
    if not stretches:
        raise SizingError("a coil needs at least one stretch of conductor; give size and length")
    left_v = source_v - source_drop_v
    if source_drop_v:
        r.step(f"{source_v:g} V less {source_drop_v:g} V lost before the run", left_v, "V")
    for size, run_ft in stretches:
        left_v -= r.take(dc_drop_v(size, load_a, run_ft, edition=edition))
    left_v = max(0.0, left_v)
    r.step(f"left of {source_v:g} V at the coil", left_v, "V")
    return r.done(left_v, "V")


def size_for_coil(
    size: Reasoned[str] | str,
    source_v: float,
    run_ft: float,
    load_a: float,
    *,
    rated_v: float,
    min_ratio: float = COIL_MIN_RATIO,
    source_drop_v: float = 0.0,
    edition: NecEdition = "2023",
) -> Reasoned[str]:
    """A size raised until a coil at the end of its run pulls in.

    Args:
        size: Thinnest that may be used. [AWG]
        source_v: At the terminals of the supply, loaded. [V]
        run_ft: One way. [ft]
        load_a: Current at pick-up. [A]
        rated_v: Of the coil. [V]
        min_ratio: Least voltage at which it must pull in, over the rated one. [-]
        source_drop_v: Lost before the run. [V]
        edition: ``2020`` or ``2023``.

    Returns:
        Label. [AWG]

    Raises:
        SizingError: No size up to 4/0 AWG.

    Code basis:
        NFPA 70-2023, chapter 9 Table 8; 85 percent of IEC 60947-4-1 unless the coil is marked otherwise.
    """
    r = Reasoning(edition)
    start = r.take(size) if isinstance(size, Reasoned) else size
    need_above_zero("rated_v", rated_v, "V")
    need_above_zero("min_ratio", min_ratio, "-")
    min_v = min_ratio * rated_v
    limit = practice("IEC 60947-4-1", "coils pull in from 85 percent") if min_ratio == COIL_MIN_RATIO else None
    r.step(f"{min_ratio:.0%} of {rated_v:g} V needed to pull in", min_v, "V", *([limit] if limit else []))
    if source_v - source_drop_v < min_v:
        raise SizingError(
            f"only {source_v - source_drop_v:.4g} V before the run, the coil needs {min_v:.4g} V: no size helps; "
            "raise the supply voltage or use a coil of a lower one"
        )
    for candidate in AWG_ORDER[awg_index(start) : awg_index("4/0") + 1]:
        try:
            left = coil_v(source_v, [(candidate, run_ft)], load_a, source_drop_v=source_drop_v, edition=edition)
        except TableError:
            if candidate == start:
                raise
            continue
        if left.value >= min_v - 1e-12:
            r.take(left)
            if candidate != start:
                r.step(f"raised from {start} AWG so that the coil pulls in", candidate, "AWG")
            return r.done(candidate, "AWG")
        r.pass_over(f"{candidate} AWG: {left.value:.4g} V at the coil, {min_v:.4g} V needed")
    raise SizingError(
        f"no size up to 4/0 AWG leaves {min_v:.4g} V at the coil over {run_ft:g} ft: use an interposing relay near it"
    )


def _check_run(run_ft: float) -> None:
    need_above_zero("run_ft", run_ft, "ft")
    if run_ft > MAX_RUN_FT:
        raise SizingError(f"run_ft={run_ft:g} ft: longer than a mile; check the length and its unit")


def _name(size: str) -> str:
    return f"{size} {_unit(size)}"


def _unit(size: str) -> str:
    return "kcmil" if size.isdigit() and int(size) >= 250 else "AWG"
