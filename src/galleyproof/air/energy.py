"""The energy codes' kitchen rules: when hood rates are capped, and which option a large kitchen takes.

Thresholds and shares are parameters of the adopted code, never constants. ``demand_reduction_min_ratio`` is what
the system must be ABLE to cut; ``demand_share_min_ratio`` is the share of all exhaust that must be so controlled.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from galleyproof.air.steps import AirError, Reasoned, Reasoning, require, shown
from galleyproof.findings import Citation
from galleyproof.tables import TableError
from galleyproof.tables import air as tables

__all__ = [
    "ENERGY_CODES",
    "EnergyCode",
    "KitchenFacts",
    "Option",
    "ceiling_applies",
    "demand_controlled_cfm",
    "energy_code",
    "options",
    "reduced_flow_cfm",
    "transfer_needed_cfm",
]

_TABLE = "energy_codes_mixed_kitchen_rules"

ENERGY_CODES: tuple[str, ...] = (
    "ASHRAE 90.1",
    "California Title 24",
    "Washington State Energy Code",
    "IECC",
)
"""Codes with at least a threshold in the table; IECC's own is from memory and doubtful."""


@dataclass(frozen=True, slots=True)
class EnergyCode:
    """What one energy code asks of a kitchen; None where it has no such rule (or none is known).

    Attributes:
        name: The code.
        cap_threshold_cfm: Total hood exhaust above which hood rates are capped. [cfm]
        option_threshold_cfm: Total above which one of the options is needed. [cfm]
        demand_threshold_cfm: Total above which demand control is not an option but mandatory. [cfm]
        transfer_share_min_ratio: Transfer air over replacement air that fulfils the option. [-]
        cap_waiver_transfer_ratio: Share of transfer air that waives the cap. [-]
        demand_share_min_ratio: Share of the exhaust under demand control. [-]
        demand_reduction_min_ratio: Share of exhaust and make-up that controls must be able to cut. [-]
        recovery_effectiveness_min_ratio: Sensible effectiveness of heat recovery. [-]
        recovery_share_min_ratio: Share of the exhaust through it. [-]
        tempered_share_min_ratio: Share of make-up air neither warmed above 60 degF nor cooled by machine. [-]
        hood_supply_share_max_ratio: Air blown into a hood over its exhaust. [-]
        basis: Clauses, with their doubts.
    """

    name: str
    cap_threshold_cfm: float | None = None
    option_threshold_cfm: float | None = None
    demand_threshold_cfm: float | None = None
    transfer_share_min_ratio: float | None = None
    cap_waiver_transfer_ratio: float | None = None
    demand_share_min_ratio: float | None = None
    demand_reduction_min_ratio: float | None = None
    recovery_effectiveness_min_ratio: float | None = None
    recovery_share_min_ratio: float | None = None
    tempered_share_min_ratio: float | None = None
    hood_supply_share_max_ratio: float | None = None
    basis: tuple[tuple[str, Citation], ...] = ()

    def cite(self, key: str) -> tuple[Citation, ...]:
        """Clause of one of the rules; empty for a code written by hand."""
        return tuple(citation for name, citation in self.basis if name == key)


_KEYS = {
    "cap_threshold_cfm": "hood_rate_cap_threshold_cfm",
    "option_threshold_cfm": "option_threshold_cfm",
    "demand_threshold_cfm": "demand_threshold_cfm",
    "transfer_share_min_ratio": "option_transfer_share_min",
    "cap_waiver_transfer_ratio": "hood_rate_cap_waiver_transfer_share",
    "demand_share_min_ratio": "option_demand_share_min",
    "demand_reduction_min_ratio": "option_demand_reduction_min",
    "recovery_effectiveness_min_ratio": "option_recovery_effectiveness_min",
    "recovery_share_min_ratio": "option_recovery_share_min",
    "tempered_share_min_ratio": "option_tempered_share_min",
    "hood_supply_share_max_ratio": "hood_supply_share_max",
}


@cache
def energy_code(name: str) -> EnergyCode:
    """The rules of one code from the published table.

    Args:
        name: One of ``ENERGY_CODES``.

    Raises:
        TableError: Not one of them.
    """
    if name not in ENERGY_CODES:
        raise TableError(f"{name!r} is not an energy code that is carried; codes: {', '.join(ENERGY_CODES)}")
    values: dict[str, float] = {}
    basis: list[tuple[str, Citation]] = []
    for attribute, key in _KEYS.items():
        try:
            found = tables.rule(_TABLE, key, name)
        except TableError:
            continue
        if found.value.value is not None:
            values[attribute] = found.value.value
            basis.append((attribute, found.basis[0]))
    return EnergyCode(name=name, basis=tuple(basis), **values)


def ceiling_applies(total_cfm: float, code: EnergyCode, *, transfer_share_ratio: float | None = None) -> Reasoned[bool]:
    """Whether hood rates are capped in this kitchen.

    Args:
        total_cfm: Exhaust of all kitchen hoods of the facility. [cfm]
        code: The adopted code.
        transfer_share_ratio: Transfer air over replacement air, where known. [-]

    Returns:
        Whether the table of ``exhaust.max_listed_exhaust_cfm`` holds.
    """
    require("total exhaust", total_cfm, "cfm", least=0.0)
    if transfer_share_ratio is not None:
        _share("transfer air over replacement air", transfer_share_ratio)
    note = Reasoning()
    if code.cap_threshold_cfm is None:
        note.remark(f"{code.name} has no threshold for hood rates that is known here")
        return note.done(False, "-")
    note.step("total hood exhaust", total_cfm, "cfm")
    limit = note.step(f"threshold of {code.name}", code.cap_threshold_cfm, "cfm", *code.cite("cap_threshold_cfm"))
    applies = total_cfm > limit
    waiver = code.cap_waiver_transfer_ratio
    if applies and waiver is not None and transfer_share_ratio is not None and transfer_share_ratio >= waiver:
        cited = code.cite("cap_waiver_transfer_ratio")
        note.step("waived by its share of transfer air", transfer_share_ratio, "-", *cited)
        applies = False
    note.remark("the ceiling applies" if applies else "the ceiling does not apply")
    return note.done(applies, "-")


def demand_controlled_cfm(total_cfm: float, code: EnergyCode) -> Reasoned[float]:
    """How much of the exhaust must be under demand control to take that option.

    Args:
        total_cfm: Exhaust of all kitchen hoods. [cfm]
        code: The adopted code; all of it where demand control is mandatory.

    Returns:
        Exhaust under control, at least. [cfm]
    """
    require("total exhaust", total_cfm, "cfm", least=0.0)
    note = Reasoning()
    mandatory = code.demand_threshold_cfm is not None
    share = 1.0 if mandatory else _known(code, "demand_share_min_ratio", code.demand_share_min_ratio)
    basis = code.cite("demand_threshold_cfm" if mandatory else "demand_share_min_ratio")
    note.step("share of the exhaust under demand control, at least", share, "-", *basis)
    return note.done(note.step(f"{share:g} x {total_cfm:g} cfm", share * total_cfm, "cfm"), "cfm")


def reduced_flow_cfm(design_cfm: float, code: EnergyCode) -> Reasoned[float]:
    """Flow that a demand-controlled hood must be able to come down to: a capability, not an order to idle there.

    Args:
        design_cfm: Design exhaust. [cfm]
        code: The adopted code.

    Returns:
        Flow, at most. [cfm]
    """
    require("design exhaust", design_cfm, "cfm", least=0.0)
    note = Reasoning()
    cut = note.step("reduction it must be able to make", _cut(code), "-", *code.cite("demand_reduction_min_ratio"))
    return note.done(note.step(f"(1 - {cut:g}) x {design_cfm:g} cfm", (1.0 - cut) * design_cfm, "cfm"), "cfm")


def transfer_needed_cfm(replacement_cfm: float, code: EnergyCode) -> Reasoned[float]:
    """Transfer air that fulfils the transfer option.

    Args:
        replacement_cfm: All replacement air. [cfm]
        code: The adopted code.

    Returns:
        Transfer air, at least. [cfm]
    """
    require("replacement air", replacement_cfm, "cfm", least=0.0)
    note = Reasoning()
    share = _known(code, "transfer_share_min_ratio", code.transfer_share_min_ratio)
    note.step("transfer share of the replacement air, at least", share, "-", *code.cite("transfer_share_min_ratio"))
    return note.done(note.step(f"{share:g} x {replacement_cfm:g} cfm", share * replacement_cfm, "cfm"), "cfm")


@dataclass(frozen=True, slots=True)
class KitchenFacts:
    """What the options ask about; None for what nobody has said.

    Attributes:
        total_cfm: Exhaust of all hoods. [cfm]
        demand_controlled_cfm: Part of it whose fans follow the cooking and can come down far enough. [cfm]
        makeup_can_follow: Whether the replacement air can be cut as far.
        transfer_share_ratio: Transfer air over replacement air. [-]
        recovery_effectiveness_ratio: Sensible effectiveness of heat recovery. [-]
        recovery_share_ratio: Share of the exhaust through it. [-]
        tempered_share_ratio: Share of make-up neither warmed above 60 degF nor cooled by machine. [-]
    """

    total_cfm: float
    demand_controlled_cfm: float = 0.0
    makeup_can_follow: bool | None = None
    transfer_share_ratio: float | None = None
    recovery_effectiveness_ratio: float | None = None
    recovery_share_ratio: float | None = None
    tempered_share_ratio: float | None = None

    def __post_init__(self) -> None:
        require("total exhaust", self.total_cfm, "cfm", least=0.0)
        require("exhaust under demand control", self.demand_controlled_cfm, "cfm", least=0.0)
        for name, value in (
            ("transfer air over replacement air", self.transfer_share_ratio),
            ("effectiveness of heat recovery", self.recovery_effectiveness_ratio),
            ("share of the exhaust with heat recovery", self.recovery_share_ratio),
            ("share of make-up air that is tempered", self.tempered_share_ratio),
        ):
            if value is not None:
                _share(name, value)


@dataclass(frozen=True, slots=True)
class Option:
    """One way to fulfil the energy code.

    Attributes:
        name: ``transfer air``, ``demand control``, ``heat recovery`` or ``tempered air``.
        fulfilled: None where the facts do not say.
        why: The comparison in words, with the numbers.
        basis: Clauses.
    """

    name: str
    fulfilled: bool | None
    why: str
    basis: tuple[Citation, ...] = ()


def options(facts: KitchenFacts, code: EnergyCode) -> tuple[Option, ...]:
    """Every option the code has, weighed against what is known; empty below its threshold.

    Args:
        facts: What is known of the kitchen.
        code: The adopted code.

    Returns:
        The options; a code that makes demand control mandatory has only that one.
    """
    threshold = code.option_threshold_cfm if code.demand_threshold_cfm is None else code.demand_threshold_cfm
    if threshold is None or facts.total_cfm <= threshold:
        return ()
    found = [_demand(facts, code)]
    if code.demand_threshold_cfm is not None:
        return tuple(found)
    if code.transfer_share_min_ratio is not None:
        found.append(
            _at_least(
                "transfer air",
                facts.transfer_share_ratio,
                code.transfer_share_min_ratio,
                "of the replacement air",
                code.cite("transfer_share_min_ratio"),
            )
        )
    if code.recovery_effectiveness_min_ratio is not None:
        found.append(_recovery(facts, code))
    if code.tempered_share_min_ratio is not None:
        found.append(
            _at_least(
                "tempered air",
                facts.tempered_share_ratio,
                code.tempered_share_min_ratio,
                "of the make-up air",
                code.cite("tempered_share_min_ratio"),
            )
        )
    return tuple(found)


def _demand(facts: KitchenFacts, code: EnergyCode) -> Option:
    need = demand_controlled_cfm(facts.total_cfm, code)
    enough = facts.demand_controlled_cfm >= need.value * (1.0 - 1e-9)
    basis = (*need.basis, *code.cite("demand_reduction_min_ratio"), *code.cite("demand_threshold_cfm"))
    why = (
        f"{facts.demand_controlled_cfm:.0f} cfm can be cut by {_cut(code):.0%}, "
        f"{need.value:.0f} of {facts.total_cfm:.0f} cfm needed"
    )
    if facts.makeup_can_follow is None:
        return Option("demand control", None if enough else False, f"{why}; make-up not stated", basis)
    follows = "make-up follows" if facts.makeup_can_follow else "make-up cannot be cut as far"
    return Option("demand control", enough and facts.makeup_can_follow, f"{why}; {follows}", basis)


def _at_least(name: str, value: float | None, least: float, of: str, basis: tuple[Citation, ...]) -> Option:
    if value is None:
        return Option(name, None, f"not stated; {least:.0%} {of} needed", basis)
    return Option(name, value >= least, f"{value:.0%} {of}, {least:.0%} needed", basis)


def _recovery(facts: KitchenFacts, code: EnergyCode) -> Option:
    effectiveness, share = code.recovery_effectiveness_min_ratio, code.recovery_share_min_ratio
    basis = (*code.cite("recovery_effectiveness_min_ratio"), *code.cite("recovery_share_min_ratio"))
    least_share = 0.5 if share is None else share  # one code's row says it in words: on at least half
    need = f"effectiveness {shown(effectiveness)} on {least_share:.0%} of the exhaust needed"
    if facts.recovery_effectiveness_ratio is None or facts.recovery_share_ratio is None or effectiveness is None:
        return Option("heat recovery", None, f"not stated; {need}", basis)
    enough = facts.recovery_effectiveness_ratio >= effectiveness and facts.recovery_share_ratio >= least_share
    have = f"effectiveness {facts.recovery_effectiveness_ratio:g} on {facts.recovery_share_ratio:.0%} of the exhaust"
    return Option("heat recovery", enough, f"{have}, {need}", basis)


def _share(name: str, value: float) -> None:
    require(name, value, "-", least=0.0, most=1.0, cure="write it as 0 to 1")


def _cut(code: EnergyCode) -> float:
    return _known(code, "demand_reduction_min_ratio", code.demand_reduction_min_ratio)


def _known(code: EnergyCode, name: str, value: float | None) -> float:
    if value is None:
        raise AirError(f"{code.name} has no {name} that is known here; give an EnergyCode with the adopted figure")
    return value
