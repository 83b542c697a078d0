"""Protection of a single appliance that has no motor to speak of."""

from __future__ import annotations

from galleyproof.sizing.checks import need_above_zero
from galleyproof.sizing.steps import NecEdition, Reasoned, Reasoning, nec, shown
from galleyproof.tables import protection
from galleyproof.tables.protection import RatedDevice

__all__ = ["appliance_ocpd_max_a"]

_SMALL_A = 13.3
_SMALL_OCPD_A = 20.0
_MAX_RATIO = 1.5


def appliance_ocpd_max_a(
    rated: Reasoned[float] | float,
    device: RatedDevice = "inverse_time_breaker",
    *,
    edition: NecEdition = "2023",
) -> Reasoned[float]:
    """Largest device ahead of a single appliance that is not motor-operated and has no marked maximum.

    Args:
        rated: Rated current of the appliance. [A]
        device: ``inverse_time_breaker`` or ``fuse``.
        edition: ``2020`` or ``2023``.

    Returns:
        20 A up to 13.3 A; above it 150 percent, the next standard rating up where that is none. [A]

    Code basis:
        NFPA 70-2023, 422.11(E), from memory.

    Examples:
        >>> appliance_ocpd_max_a(21.65).value
        35.0
    """
    r = Reasoning(edition)
    rated_a = r.take(rated) if isinstance(rated, Reasoned) else float(rated)
    need_above_zero("rated", rated_a, "A")
    clause = nec("422.11(E)", edition, "from memory")
    if rated_a <= _SMALL_A:
        r.step(f"{shown(rated_a, 'A')} (13.3 A or less): at most", _SMALL_OCPD_A, "A", clause)
        return r.done(_SMALL_OCPD_A, "A")
    limit = round(_MAX_RATIO * rated_a, 9)
    r.step(f"150% of {shown(rated_a, 'A')}", limit, "A", clause)
    up = protection.next_standard_up_a(limit, device, edition)
    r.step("next standard rating up", up.value, "A", clause, *up.basis)
    r.pass_over("a marking on the appliance: goes before this")
    return r.done(up.value, "A")
