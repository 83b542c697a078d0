"""Circuits that a fire release shuts down: coils of shunt trips, contactors and gas valves, spaces, ground faults."""

from __future__ import annotations

from typing import Literal, TypeAlias

from galleyproof.findings import Citation
from galleyproof.sizing.checks import need_above_zero, need_choice, need_not_negative
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, SizingError, nec, practice

__all__ = [
    "ShutdownCoil",
    "coil_in_window",
    "coil_window_v",
    "ground_fault_asked",
    "never_substitutes",
    "pole_spaces",
    "shunt_coil_lasts",
]

ShutdownCoil: TypeAlias = Literal["shunt trip", "contactor", "gas valve"]

_IEC_SHUNT = Citation("IEC 60947-1", "", "shunt releases", "trips from 70 to 110 percent; seen in a restatement")
_IEC_CONTACTOR = Citation("IEC 60947-4-1", "", "limits of operation", "closes from 85 to 110 percent, from memory")
_VALVE = practice("gas valves", "open from 85 to 110 percent unless marked otherwise")
# Least and largest voltage at which a coil does its work, over its rated voltage. [-]
_WINDOW: dict[str, tuple[float, float, Citation]] = {
    "shunt trip": (0.70, 1.10, _IEC_SHUNT),
    "contactor": (0.85, 1.10, _IEC_CONTACTOR),
    "gas valve": (0.85, 1.10, _VALVE),
}
# 210.8(B): 150 V or less to ground; 50 A single-phase, 100 A three-phase.
_GFCI_MAX_TO_GROUND_V = 150.0
_GFCI_MAX_A = {1: 50.0, 3: 100.0}


def coil_window_v(
    kind: ShutdownCoil, rated_v: float, *, min_ratio: float | None = None, max_ratio: float | None = None
) -> Reasoned[tuple[float, float]]:
    """Voltages between which a coil does its work.

    Args:
        kind: What it is in.
        rated_v: Of the coil. [V]
        min_ratio: Marked least voltage over the rated one; None: the usual of its kind. [-]
        max_ratio: Marked largest voltage over the rated one; None: the usual of its kind. [-]

    Returns:
        Least and largest voltage. [V]

    Raises:
        SizingError: Another kind, or ratios that leave nothing.

    Code basis:
        IEC 60947-1 (shunt releases, 70 to 110 percent), IEC 60947-4-1 (contactors, 85 to 110 percent); common
        practice for valves. A marking goes before them.

    Examples:
        >>> [round(v, 6) for v in coil_window_v("shunt trip", 120.0).value]
        [84.0, 132.0]
    """
    r = Reasoning()
    need_choice("kind", kind, tuple(_WINDOW))
    need_above_zero("rated_v", rated_v, "V")
    low, high, basis = _WINDOW[kind]
    marked = practice("marked on the coil")
    low_basis, low = (basis, low) if min_ratio is None else (marked, min_ratio)
    high_basis, high = (basis, high) if max_ratio is None else (marked, max_ratio)
    need_above_zero("min_ratio", low, "-")
    need_above_zero("max_ratio", high, "-")
    if low > high:
        raise SizingError(f"min_ratio={low:g} is above max_ratio={high:g}: check the coil's marking")
    least = r.step(f"{kind}: at least {low:.0%} of {rated_v:g} V", low * rated_v, "V", low_basis)
    most = r.step(f"{kind}: at most {high:.0%} of {rated_v:g} V", high * rated_v, "V", high_basis)
    return r.done((least, most), "V")


def coil_in_window(
    kind: ShutdownCoil,
    rated_v: float,
    least: Reasoned[float] | float,
    highest_v: float | None = None,
    *,
    min_ratio: float | None = None,
    max_ratio: float | None = None,
) -> Reasoned[bool]:
    """Whether what reaches a coil lies in its window.

    Args:
        kind: What it is in.
        rated_v: Of the coil. [V]
        least: At the coil with the run's drop taken off, from ``voltage_drop.coil_v``. [V]
        highest_v: At the coil without load on the line; None: the same. [V]
        min_ratio: See ``coil_window_v``. [-]
        max_ratio: See ``coil_window_v``. [-]

    Returns:
        True when both do; the passed-over line says what does not.

    Raises:
        SizingError: See ``coil_window_v``.

    Examples:
        >>> coil_in_window("shunt trip", 120.0, 108.0).value, coil_in_window("shunt trip", 24.0, 120.0).value
        (True, False)
    """
    r = Reasoning()
    at_coil_v = r.take(least) if isinstance(least, Reasoned) else float(least)
    need_not_negative("least", at_coil_v, "V")
    top_v = at_coil_v if highest_v is None else highest_v
    need_not_negative("highest_v", top_v, "V")
    low, high = r.take(coil_window_v(kind, rated_v, min_ratio=min_ratio, max_ratio=max_ratio))
    enough = at_coil_v >= low - 1e-9
    bearable = max(top_v, at_coil_v) <= high + 1e-9
    r.step(
        f"{at_coil_v:.4g} V under load, {max(top_v, at_coil_v):.4g} V at most at the coil",
        "in its window" if enough and bearable else "outside its window",
        "-",
    )
    if not enough:
        r.pass_over(
            f"{at_coil_v:.4g} V: {low:.4g} V needed; a coil of the supply's voltage, thicker wire or a shorter run"
        )
    if not bearable:
        r.pass_over(f"{max(top_v, at_coil_v):.4g} V: {high:.4g} V allowed; a coil of the supply's voltage")
    return r.done(enough and bearable, "-")


def shunt_coil_lasts(*, cut_off_contact: bool, pulse: bool = False) -> Reasoned[bool]:
    """Whether a shunt-trip coil survives its own command.

    Args:
        cut_off_contact: The breaker's own contact opens the coil circuit when it has tripped.
        pulse: The command ends by itself within a second.

    Returns:
        True when the coil is not left on.

    Code basis:
        Common practice: shunt-trip coils are made for a moment only; a fire switch stays released for hours.
    """
    r = Reasoning()
    value = cut_off_contact or pulse
    note = practice("shunt-trip coils", "short-time duty")
    if cut_off_contact:
        r.step("cut-off contact opens the coil circuit with the breaker", "lasts", "-", note)
    elif pulse:
        r.step("the command is a pulse", "lasts", "-", note)
    else:
        r.step("a command that stays on holds the coil under voltage", "burns out", "-", note)
        r.pass_over("no cut-off contact: a shunt trip with one, or a command that ends by itself")
    return r.done(value, "-")


def pole_spaces(poles: int, *, shunt_trip: bool) -> Reasoned[int]:
    """Spaces that a breaker takes in its panelboard.

    Args:
        poles: 1, 2 or 3. [-]
        shunt_trip: It has a shunt trip.

    Returns:
        Spaces: one more with a shunt trip. [-]

    Raises:
        SizingError: Another number of poles.

    Code basis:
        Common practice for breakers of lighting panelboards; some frames hold the coil inside, the maker's table
        says so.

    Examples:
        >>> pole_spaces(3, shunt_trip=True).value
        4
    """
    r = Reasoning()
    need_choice("poles", poles, (1, 2, 3))
    value = poles + int(shunt_trip)
    extra = ", one more for its shunt trip" if shunt_trip else ""
    r.step(f"{poles}-pole breaker{extra}", value, "spaces", practice("pole spaces of breakers with accessories"))
    return r.done(value, "spaces")


def ground_fault_asked(
    to_ground: Reasoned[float] | float,
    breaker_a: float,
    phases: int,
    *,
    cord_and_plug: bool,
    edition: NecEdition = "2023",
) -> Reasoned[bool]:
    """Whether an appliance circuit of a commercial kitchen needs ground-fault protection for persons.

    Args:
        to_ground: From ``panel.v_to_ground``. [V]
        breaker_a: Rating of the circuit. [A]
        phases: 1 or 3. [-]
        cord_and_plug: The appliance stands on a receptacle; otherwise it is hard-wired.
        edition: ``2020`` or ``2023``.

    Returns:
        True when 210.8(B) asks for it.

    Raises:
        SizingError: Values that cannot be.

    Code basis:
        NFPA 70-2023, 210.8(B)(2): receptacles in kitchens, 150 V or less to ground, 50 A or less single-phase and
        100 A or less three-phase.

    Leaves out:
        Appliances named in 210.8(D) and 422.5, which need it hard-wired too (dishwashers among them).
    """
    r = Reasoning(edition)
    volts = r.take(to_ground) if isinstance(to_ground, Reasoned) else float(to_ground)
    need_not_negative("to_ground", volts, "V")
    need_above_zero("breaker_a", breaker_a, "A")
    need_choice("phases", phases, (1, 3))
    clause = nec("210.8(B)(2)", edition, "from memory")
    top_a = _GFCI_MAX_A[phases]
    value = cord_and_plug and volts <= _GFCI_MAX_TO_GROUND_V and breaker_a <= top_a
    where = "receptacle" if cord_and_plug else "hard-wired"
    r.step(
        f"{where}, {volts:g} V to ground, {breaker_a:g} A, {'single' if phases == 1 else 'three'}-phase "
        f"(limits 150 V, {top_a:g} A)",
        "asked for" if value else "not asked for",
        "-",
        clause,
    )
    if not cord_and_plug:
        r.remark(
            "some appliances need it hard-wired too: see the lists", nec("210.8(D)", edition), nec("422.5", edition)
        )
    return r.done(value, "-")


def never_substitutes(*, edition: NecEdition = "2023") -> tuple[str, ...]:
    """Why a shunt trip and ground-fault protection stand beside each other, in words, each with its clause.

    Args:
        edition: ``2020`` or ``2023``.
    """
    return (
        f"ground-fault protection does not open on a release: the shunt trip stays "
        f"({Citation('NFPA 96', '', '10.4.1', 'fuel and power off on a release')})",
        f"a shunt trip does not protect a person from a fault to ground ({nec('210.8(B)', edition)})",
        "a breaker with both is one that its maker lists with both; otherwise the receptacle has the protection "
        f"({nec('110.3(B)', edition)})",
    )
