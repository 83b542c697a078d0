"""Volts, amperes and watts of one load, and the ampere rounding of Annex D.

Three-phase voltage is line to line; nothing here is a rule of a code except ``rounded_load_a``.
"""

from __future__ import annotations

import math

from galleyproof.sizing.checks import need_above_zero, need_choice, need_finite, need_not_negative, need_share
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, nec, practice, shown

__all__ = [
    "apparent_va",
    "delta_lines_a",
    "line_a",
    "line_to_neutral_v",
    "power_factor",
    "real_w",
    "rounded_load_a",
    "vector_va",
]

_POWER = practice("definition of apparent power")


def apparent_va(load_a: float, supply_v: float, phases: int) -> Reasoned[float]:
    """Apparent power of a balanced load.

    Args:
        load_a: Current in each line. [A]
        supply_v: Line to line for three phases, between the two conductors otherwise. [V]
        phases: 1 or 3. [-]

    Returns:
        Apparent power. [VA]

    Examples:
        >>> apparent_va(20, 120, 1).value
        2400.0
    """
    r = Reasoning()
    _check(supply_v, phases)
    need_not_negative("load_a", load_a, "A")
    factor = math.sqrt(3.0) if phases == 3 else 1.0
    value = float(factor * supply_v * load_a)
    r.step(f"{_root(phases)}{supply_v:g} V x {shown(float(load_a), 'A')}", value, "VA", _POWER)
    return r.done(value, "VA")


def real_w(load_a: float, supply_v: float, phases: int, power_factor_ratio: float = 1.0) -> Reasoned[float]:
    """Real power of a balanced load.

    Args:
        load_a: Current in each line. [A]
        supply_v: As for ``apparent_va``. [V]
        phases: 1 or 3. [-]
        power_factor_ratio: Above 0, at most 1. [-]

    Returns:
        Power. [W]
    """
    r = Reasoning()
    need_share("power_factor_ratio", power_factor_ratio)
    va = r.take(apparent_va(load_a, supply_v, phases))
    value = va * power_factor_ratio
    r.step(f"times power factor {power_factor_ratio:g}", value, "W", _POWER)
    return r.done(value, "W")


def line_a(load_va: float, supply_v: float, phases: int, *, efficiency_ratio: float = 1.0) -> Reasoned[float]:
    """Current of a balanced load in each line.

    Args:
        load_va: Apparent power that the load gives or takes. [VA]
        supply_v: As for ``apparent_va``. [V]
        phases: 1 or 3. [-]
        efficiency_ratio: 1 where ``load_va`` is the power taken; less where it is the power given. [-]

    Returns:
        Current. [A]

    Examples:
        >>> round(line_a(225_000, 480, 3).value, 1)
        270.6
    """
    r = Reasoning()
    _check(supply_v, phases)
    need_not_negative("load_va", load_va, "VA")
    need_share("efficiency_ratio", efficiency_ratio)
    value = load_va / ((math.sqrt(3.0) if phases == 3 else 1.0) * supply_v * efficiency_ratio)
    over = "" if efficiency_ratio == 1.0 else f" x efficiency {efficiency_ratio:g}"
    r.step(f"{shown(float(load_va), 'VA')} / ({_root(phases)}{supply_v:g} V{over})", value, "A", _POWER)
    return r.done(value, "A")


def line_to_neutral_v(line_to_line_v: float) -> Reasoned[float]:
    """Voltage of a wye from line to neutral.

    Args:
        line_to_line_v: System voltage. [V]

    Returns:
        Voltage. [V]
    """
    r = Reasoning()
    need_above_zero("line_to_line_v", line_to_line_v, "V")
    value = line_to_line_v / math.sqrt(3.0)
    r.step(f"{line_to_line_v:g} V / sqrt(3)", value, "V", practice("geometry of a wye"))
    return r.done(value, "V")


def delta_lines_a(ab_a: float, bc_a: float, ca_a: float) -> Reasoned[tuple[float, float, float]]:
    """Line currents of loads connected line to line, all at the same power factor.

    Args:
        ab_a: Load from L1 to L2. [A]
        bc_a: Load from L2 to L3. [A]
        ca_a: Load from L3 to L1. [A]

    Returns:
        Currents of L1, L2 and L3: sqrt(3) times the load where all three are equal, not twice. [A]

    Code basis:
        Phasor sum; two loads that meet at a line are 120 degrees apart and the line carries their difference.
    """
    r = Reasoning()
    for name, value in (("ab_a", ab_a), ("bc_a", bc_a), ("ca_a", ca_a)):
        need_not_negative(name, value, "A")

    def line(x: float, y: float) -> float:
        return math.sqrt(x * x + y * y + x * y)

    lines = (line(ab_a, ca_a), line(ab_a, bc_a), line(bc_a, ca_a))
    for name, value in zip(("L1", "L2", "L3"), lines, strict=True):
        r.step(f"{name}: sqrt(x^2 + y^2 + x y) of the two loads that meet there", value, "A", practice("phasor sum"))
    return r.done(lines, "A")


def vector_va(active_w: float, reactive_var: float) -> Reasoned[float]:
    """Apparent power of an active and a reactive part.

    Args:
        active_w: Active power. [W]
        reactive_var: Reactive power. [var]

    Returns:
        Apparent power. [VA]
    """
    r = Reasoning()
    need_finite("active_w", active_w, "W")
    need_finite("reactive_var", reactive_var, "var")
    value = math.hypot(active_w, reactive_var)
    r.step(f"sqrt({active_w:g}^2 + {reactive_var:g}^2)", value, "VA", _POWER)
    return r.done(value, "VA")


def power_factor(active_w: float, reactive_var: float) -> Reasoned[float]:
    """Active over apparent power.

    Args:
        active_w: Active power. [W]
        reactive_var: Reactive power. [var]

    Returns:
        Power factor. [-]

    Raises:
        SizingError: No power at all.
    """
    r = Reasoning()
    va = r.take(vector_va(active_w, reactive_var))
    need_above_zero("apparent power", va, "VA")
    r.step(f"{active_w:g} W / {shown(va, 'VA')}", active_w / va, "-", _POWER)
    return r.done(active_w / va, "-")


def rounded_load_a(load_a: float, *, edition: NecEdition = "2023") -> Reasoned[int]:
    """Whole amperes of a load the way the examples of Annex D may round.

    A fraction of 0.5 and more goes up, a smaller one may be dropped. Galleyproof sizes by the unrounded current
    everywhere; this is for comparing with a calculation that was rounded.

    Args:
        load_a: Current. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        Current. [A]

    Code basis:
        NFPA 70-2023, Annex D, introduction; 220.5(B).
    """
    r = Reasoning(edition)
    need_not_negative("load_a", load_a, "A")
    value = math.floor(round(load_a, 9) + 0.5)
    r.step(f"{shown(load_a, 'A')} to whole amperes", value, "A", nec("220.5(B)", edition), nec("Annex D", edition))
    return r.done(value, "A")


def _check(supply_v: float, phases: int) -> None:
    need_above_zero("supply_v", supply_v, "V")
    need_choice("phases", phases, (1, 3))


def _root(phases: int) -> str:
    return "sqrt(3) x " if phases == 3 else ""
