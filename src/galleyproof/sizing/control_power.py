"""Control power: what a transformer or supply must give, its protection on both sides, and Class 2 limits."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from galleyproof.findings import Citation
from galleyproof.sizing.checks import need_above_zero, need_choice, need_not_negative
from galleyproof.sizing.power import line_a
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, SizingError, nec, practice, shown
from galleyproof.tables import class2, protection
from galleyproof.tables.class2 import PowerLimits, Supply

__all__ = [
    "MAX_USE_RATIO",
    "STANDARD_VA",
    "CoilLoad",
    "TransformerMethod",
    "class2_limits",
    "class2_ocpd_max_a",
    "inrush_of",
    "inrush_withstand_a",
    "sealed_va",
    "selection_inrush_va",
    "smallest_transformer_va",
    "transformer_primary_max_a",
    "transformer_primary_ocpd_a",
    "transformer_secondary_max_a",
    "transformer_secondary_ocpd_a",
    "transformer_winding_a",
    "use_ratio",
]

TransformerMethod: TypeAlias = Literal["primary_only", "primary_and_secondary", "motor_control_circuit"]

MAX_USE_RATIO = 0.8
"""Common practice: above this share of a rating the next change of the job overloads it. [-]"""

# Common practice: nominal powers of control transformers. [VA]
STANDARD_VA = (50.0, 75.0, 100.0, 150.0, 200.0, 250.0, 300.0, 350.0, 500.0, 750.0, 1000.0, 1500.0, 2000.0, 3000.0)
# Common practice: ratings of small control fuses below the first standard rating of 240.6(A). [A]
_SMALL_FUSES_A = (0.1, 0.125, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.75, 0.8)
# Common practice: magnetising current of a small transformer, over its rated current, for 0.01 s. [-]
_MAGNETISING_RATIO = 40.0


@dataclass(frozen=True, slots=True)
class CoilLoad:
    """Equal loads on a transformer or supply.

    Attributes:
        name: What it is, in words.
        sealed_va: Each, while it holds. [VA]
        inrush_va: Each, while it pulls in; equal to ``sealed_va`` for anything but a coil. [VA]
        count: How many. [-]
        together: How many may pull in at the same moment; None: all. [-]
    """

    name: str
    sealed_va: float
    inrush_va: float
    count: int = 1
    together: int | None = None


def sealed_va(loads: Sequence[CoilLoad]) -> Reasoned[float]:
    """Steady load of everything on one supply.

    Args:
        loads: Every controller, module, relay, damper, valve and sensor.

    Returns:
        Sum; power factors are not told apart, which is cautious. [VA]

    Code basis:
        Common practice.
    """
    r = Reasoning()
    parts = []
    for load in sorted(loads, key=lambda one: one.name):
        _check_load(load)
        parts.append(load.count * load.sealed_va)
        r.step(f"{load.count} x {load.name}, {load.sealed_va:g} VA", parts[-1], "VA")
    total = math.fsum(parts)
    r.step("steady load", total, "VA", practice("control power", "sum of the apparent powers"))
    return r.done(total, "VA")


def selection_inrush_va(steady: Reasoned[float] | float, inrush: float, *, plain_sum: bool = False) -> Reasoned[float]:
    """Inrush that a control transformer is chosen by.

    Args:
        steady: Everything that holds already. [VA]
        inrush: Everything that pulls in at once. [VA]
        plain_sum: The cautious variant: sum instead of root of squares.

    Returns:
        Apparent power. [VA]

    Code basis:
        Common practice: root of the sum of squares, as selection guides of control transformers print it.

    Examples:
        >>> round(selection_inrush_va(60.0, 240.0).value, 1)
        247.4
    """
    r = Reasoning()
    steady_va = r.take(steady) if isinstance(steady, Reasoned) else float(steady)
    need_not_negative("steady", steady_va, "VA")
    need_not_negative("inrush", inrush, "VA")
    guide = practice("selection guides of control transformers")
    if plain_sum:
        value = steady_va + inrush
        r.step(f"{steady_va:g} VA + {inrush:g} VA, the cautious variant", value, "VA", guide)
    else:
        value = math.hypot(steady_va, inrush)
        r.step(f"sqrt({steady_va:g}^2 + {inrush:g}^2)", value, "VA", guide)
        r.pass_over(f"plain sum {steady_va + inrush:g} VA: cautious variant, coils pull in at a low power factor")
    return r.done(value, "VA")


def inrush_of(loads: Sequence[CoilLoad]) -> Reasoned[float]:
    """Selection inrush of a whole supply: the coils that may pull in together over all that holds.

    Args:
        loads: See ``sealed_va``.

    Returns:
        Apparent power. [VA]
    """
    r = Reasoning()
    steady = sealed_va(loads)
    pulling = math.fsum(
        (one.count if one.together is None else min(one.together, one.count)) * one.inrush_va
        for one in loads
        if one.inrush_va > one.sealed_va
    )
    return r.done(r.take(selection_inrush_va(steady, pulling)), "VA")


def use_ratio(load: Reasoned[float] | float, rated: float, unit: str = "VA") -> Reasoned[float]:
    """How much of a rating is used; compare with ``MAX_USE_RATIO``.

    Args:
        load: Steady load. [unit]
        rated: Rating. [unit]
        unit: ``VA``, ``W`` or ``A``.

    Returns:
        Ratio; above 1 it is overloaded. [-]

    Code basis:
        Common practice for the 80 percent.
    """
    r = Reasoning()
    need_above_zero("rated", rated, unit)
    value = r.take(load) if isinstance(load, Reasoned) else float(load)
    need_not_negative("load", value, unit)
    r.step(f"{shown(value, unit)} of {shown(float(rated), unit)}", value / rated, "-")
    return r.done(value / rated, "-")


def smallest_transformer_va(
    loads: Sequence[CoilLoad], *, max_use_ratio: float = MAX_USE_RATIO, inrush_ratio: float | None = None
) -> Reasoned[float]:
    """Smallest usual control transformer for its loads.

    Args:
        loads: See ``sealed_va``.
        max_use_ratio: Share of the rating that may be used. [-]
        inrush_ratio: Inrush at 85 percent secondary voltage over the rating, from the maker's curve; None: inrush
            is not looked at, and the steps say so. [-]

    Returns:
        Nominal power. [VA]

    Raises:
        SizingError: Above the largest usual one.

    Code basis:
        Common practice.
    """
    r = Reasoning()
    steady = r.take(sealed_va(loads))
    need_above_zero("max_use_ratio", max_use_ratio, "-")
    needed = steady / max_use_ratio
    r.step(f"at most {max_use_ratio:.0%} used", needed, "VA", practice("control power", "room for the next change"))
    if inrush_ratio is None:
        r.remark("inrush not looked at: the maker's regulation curve is not known")
    else:
        need_above_zero("inrush_ratio", inrush_ratio, "-")
        pulling = r.take(inrush_of(loads)) / inrush_ratio
        r.step(f"inrush over {inrush_ratio:g} times the rating", pulling, "VA", practice("maker's regulation curve"))
        needed = max(needed, pulling)
    for nominal in STANDARD_VA:
        if nominal >= needed - 1e-9:
            r.step("next usual power", nominal, "VA", practice("powers of control transformers"))
            return r.done(nominal, "VA")
        r.pass_over(f"{nominal:g} VA: {needed:.4g} VA needed")
    raise SizingError(f"{needed:.4g} VA is above the largest usual control transformer: split the load over two")


def transformer_winding_a(rated_va: float, winding_v: float, phases: int = 1) -> Reasoned[float]:
    """Rated current of a winding.

    Args:
        rated_va: Of the transformer. [VA]
        winding_v: Of the winding. [V]
        phases: 1 or 3. [-]

    Returns:
        Current. [A]
    """
    return line_a(rated_va, winding_v, phases)


def transformer_primary_max_a(
    primary_a: Reasoned[float] | float, method: TransformerMethod, *, edition: NecEdition = "2023"
) -> Reasoned[float]:
    """Limit of the primary device, before it becomes a rating.

    Args:
        primary_a: Rated primary current. [A]
        method: Which windings have a device; ``motor_control_circuit`` is 430.72(C)(4), below 2 A.
        edition: ``2020`` or ``2023``.

    Returns:
        Limit. [A]

    Raises:
        TableError: No row for this current.

    Code basis:
        NFPA 70-2023, Table 450.3(B); 430.72(C)(4).

    Examples:
        >>> transformer_primary_max_a(3.125, "primary_and_secondary").value
        7.8125
    """
    return _limit(primary_a, method, edition)[0]


def transformer_primary_ocpd_a(
    primary_a: Reasoned[float] | float, method: TransformerMethod, *, edition: NecEdition = "2023"
) -> Reasoned[float]:
    """Largest standard fuse on the primary side.

    Args:
        primary_a: Rated primary current. [A]
        method: See ``transformer_primary_max_a``.
        edition: ``2020`` or ``2023``.

    Returns:
        Rating: next one up only at 125 percent, otherwise not above the limit. [A]

    Raises:
        SizingError: The limit is below the smallest usual fuse.

    Code basis:
        NFPA 70-2023, Table 450.3(B) and note 1; 240.6(A).
    """
    limit, next_up = _limit(primary_a, method, edition)
    return _fuse(limit, next_up, edition)


def transformer_secondary_max_a(
    secondary_a: Reasoned[float] | float, *, edition: NecEdition = "2023"
) -> Reasoned[float]:
    """Limit of the secondary device, where the primary has one too.

    Args:
        secondary_a: Rated secondary current. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        Limit. [A]

    Code basis:
        NFPA 70-2023, Table 450.3(B).
    """
    return _limit(secondary_a, "secondary", edition)[0]


def transformer_secondary_ocpd_a(
    secondary_a: Reasoned[float] | float, *, edition: NecEdition = "2023"
) -> Reasoned[float]:
    """Largest standard fuse on the secondary side.

    Args:
        secondary_a: Rated secondary current. [A]
        edition: ``2020`` or ``2023``.

    Returns:
        Rating. [A]

    Code basis:
        NFPA 70-2023, Table 450.3(B) and note 1; 240.6(A).
    """
    limit, next_up = _limit(secondary_a, "secondary", edition)
    return _fuse(limit, next_up, edition)


def inrush_withstand_a(primary_a: Reasoned[float] | float) -> Reasoned[float]:
    """Current that a primary fuse must carry for 0.01 s when the transformer is switched on.

    Args:
        primary_a: Rated primary current. [A]

    Returns:
        Forty times the rated current; a fuse's curve must lie above it. [A]

    Code basis:
        Common practice.
    """
    r = Reasoning()
    rated = r.take(primary_a) if isinstance(primary_a, Reasoned) else float(primary_a)
    need_above_zero("primary_a", rated, "A")
    value = _MAGNETISING_RATIO * rated
    r.step(f"40 x {shown(rated, 'A')} at 0.01 s", value, "A", practice("magnetising inrush of small transformers"))
    return r.done(value, "A")


def class2_limits(
    supply: Supply, source_v: float, *, inherently_limited: bool, edition: NecEdition = "2023"
) -> Reasoned[PowerLimits]:
    """Limits of a Class 2 source of one voltage.

    Args:
        supply: ``ac`` or ``dc``.
        source_v: Largest source voltage. [V]
        inherently_limited: The source limits itself; otherwise an overcurrent device does.
        edition: ``2020`` or ``2023``.

    Returns:
        Limits, see ``tables.class2``.

    Raises:
        TableError: No Class 2 source of this voltage.

    Code basis:
        NFPA 70-2023, chapter 9 Tables 11(A) and 11(B), from memory.
    """
    r = Reasoning(edition)
    found = class2.power_limits(supply, source_v, inherently_limited=inherently_limited)
    limits = found.value
    kind = "limits itself" if inherently_limited else "limited by an overcurrent device"
    r.step(f"{source_v:g} V {supply} source, {kind}: marked at most", limits.nameplate_va, "VA", *found.basis)
    r.step("marked current at most", limits.nameplate_a, "A", *found.basis)
    if limits.max_ocpd_a is not None:
        r.step("overcurrent device at most", limits.max_ocpd_a, "A", *found.basis)
    return r.done(limits, "-")


def class2_ocpd_max_a(supply: Supply, source_v: float, *, edition: NecEdition = "2023") -> Reasoned[float]:
    """Largest overcurrent device of a Class 2 source that does not limit itself.

    Args:
        supply: ``ac`` or ``dc``.
        source_v: Largest source voltage. [V]
        edition: ``2020`` or ``2023``.

    Returns:
        Rating. [A]

    Raises:
        TableError: No Class 2 source of this voltage.
        SizingError: The table asks for no device.

    Code basis:
        NFPA 70-2023, chapter 9 Tables 11(A) and 11(B), from memory.
    """
    limits = class2_limits(supply, source_v, inherently_limited=False, edition=edition)
    if limits.value.max_ocpd_a is None:
        raise SizingError(f"{source_v:g} V {supply}: the table asks for no overcurrent device")
    r = Reasoning(edition)
    r.take(limits)
    return r.done(limits.value.max_ocpd_a, "A")


def _limit(
    rated: Reasoned[float] | float, method: TransformerMethod | Literal["secondary"], edition: NecEdition
) -> tuple[Reasoned[float], bool]:
    r = Reasoning(edition)
    need_choice("method", method, ("primary_only", "primary_and_secondary", "motor_control_circuit", "secondary"))
    rated_a = r.take(rated) if isinstance(rated, Reasoned) else float(rated)
    need_above_zero("rated current", rated_a, "A")
    if method == "secondary":
        found = protection.transformer_secondary_limit(rated_a)
        words = "secondary device"
    else:
        found = protection.transformer_primary_limit(rated_a, method)
        words = f"primary device, {method.replace('_', ' ')}"
    value = found.value.max_ratio * rated_a
    r.step(f"{words}: {found.value.max_ratio:.0%} of {shown(rated_a, 'A')}", value, "A", *found.basis)
    return r.done(value, "A"), found.value.next_up


def _fuse(limit: Reasoned[float], next_up: bool, edition: NecEdition) -> Reasoned[float]:
    r = Reasoning(edition)
    limit_a = round(float(r.take(limit)), 9)
    ratings = protection.standard_ratings_a("fuse", edition)
    if next_up:
        up = protection.next_standard_up_a(limit_a, "fuse", edition)
        r.step("next standard rating up", up.value, "A", nec("Table 450.3(B)", edition, "note 1"), *up.basis)
        return r.done(up.value, "A")
    basis: tuple[Citation, ...] = ratings.basis
    below = [a for a in ratings.value if a <= limit_a]
    words = "largest standard fuse not above it"
    if not below:
        below = [a for a in _SMALL_FUSES_A if a <= limit_a]
        basis = (practice("ratings of small control fuses"),)
        words = "largest usual small fuse not above it"
    if not below:
        raise SizingError(f"no usual fuse up to {limit_a:.3g} A: protect this transformer together with another")
    r.step(words, below[-1], "A", *basis)
    above = next((a for a in ratings.value if a > limit_a), None)
    if above is not None and below[-1] != limit_a:
        r.pass_over(f"{above:g} A: above the limit, and only 125 percent may be rounded up")
    return r.done(below[-1], "A")


def _check_load(load: CoilLoad) -> None:
    need_not_negative(f"{load.name}: sealed_va", load.sealed_va, "VA")
    need_not_negative(f"{load.name}: inrush_va", load.inrush_va, "VA")
    if load.count < 0:
        raise SizingError(f"{load.name}: count={load.count}: zero or more")
