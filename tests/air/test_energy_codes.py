"""The energy codes' kitchen rules: each option fulfilled, broken, and not known."""

from __future__ import annotations

from dataclasses import replace

import pytest

from galleyproof.air.energy import ENERGY_CODES, EnergyCode, KitchenFacts, Option, ceiling_applies, energy_code, options
from galleyproof.tables import TableError

NINETY_ONE = energy_code("ASHRAE 90.1")
TITLE_24 = energy_code("California Title 24")
WASHINGTON = energy_code("Washington State Energy Code")

FACTS = KitchenFacts(total_cfm=8000.0)


def by_name(facts: KitchenFacts, code: EnergyCode) -> dict[str, Option]:
    return {option.name: option for option in options(facts, code)}


def test_options_of_each_code():
    """90.1 6.5.7.2.3 has three, Title 24 140.9(b)2B four (partly from memory), Washington C403.7.7.1.3 only one."""
    assert list(by_name(FACTS, NINETY_ONE)) == ["demand control", "transfer air", "heat recovery"]
    assert list(by_name(FACTS, TITLE_24)) == ["demand control", "transfer air", "heat recovery", "tempered air"]
    assert list(by_name(FACTS, WASHINGTON)) == ["demand control"]
    assert options(FACTS, energy_code("IECC")) == ()


@pytest.mark.parametrize(("total", "code", "asked"), [
    (5000.0, NINETY_ONE, False), (5000.1, NINETY_ONE, True),
    (2000.0, WASHINGTON, False), (2000.1, WASHINGTON, True),
])  # fmt: skip
def test_threshold_itself_is_still_free(total: float, code: EnergyCode, asked: bool):
    """'Greater than 5,000 cfm' in the code's words."""
    assert bool(options(replace(FACTS, total_cfm=total), code)) is asked
    assert ceiling_applies(total, code).value is asked


@pytest.mark.parametrize(
    ("controlled", "follows", "verdict"),
    [
        (6000.0, True, True),
        (6000.0, False, False),
        (6000.0, None, None),
        (5999.0, True, False),
        (5999.0, None, False),
        (8000.0, True, True),
    ],
)
def test_demand_control(controlled: float, follows: bool | None, verdict: bool | None):
    """75 percent of 8000 cfm, and the replacement air can be cut as far."""
    facts = replace(FACTS, demand_controlled_cfm=controlled, makeup_can_follow=follows)
    found = by_name(facts, NINETY_ONE)["demand control"]
    assert found.fulfilled is verdict
    assert "6000 of 8000 cfm needed" in found.why
    assert found.basis


def test_where_demand_control_is_mandatory_all_of_the_exhaust_counts():
    facts = replace(FACTS, demand_controlled_cfm=6000.0, makeup_can_follow=True)
    assert by_name(facts, WASHINGTON)["demand control"].fulfilled is False
    assert by_name(replace(facts, demand_controlled_cfm=8000.0), WASHINGTON)["demand control"].fulfilled is True


@pytest.mark.parametrize(("share", "verdict"), [(None, None), (0.49, False), (0.50, True), (0.80, True)])
def test_transfer_air(share: float | None, verdict: bool | None):
    found = by_name(replace(FACTS, transfer_share_ratio=share), NINETY_ONE)["transfer air"]
    assert found.fulfilled is verdict
    assert "50%" in found.why


@pytest.mark.parametrize(
    ("effectiveness", "share", "verdict"),
    [(None, None, None), (0.40, None, None), (0.40, 0.50, True), (0.39, 0.90, False), (0.60, 0.49, False)],
)
@pytest.mark.parametrize("code", [NINETY_ONE, TITLE_24], ids=["90.1", "Title 24"])
def test_heat_recovery(code: EnergyCode, effectiveness: float | None, share: float | None, verdict: bool | None):
    """40 percent on at least half of the exhaust (from memory in both codes)."""
    facts = replace(FACTS, recovery_effectiveness_ratio=effectiveness, recovery_share_ratio=share)
    found = by_name(facts, code)["heat recovery"]
    assert found.fulfilled is verdict
    assert any("from memory" in citation.note for citation in found.basis)


@pytest.mark.parametrize(("share", "verdict"), [(None, None), (0.74, False), (0.75, True)])
def test_tempered_air(share: float | None, verdict: bool | None):
    assert by_name(replace(FACTS, tempered_share_ratio=share), TITLE_24)["tempered air"].fulfilled is verdict


def test_title_24_waives_its_ceiling_for_transfer_air():
    """140.9(b)1B exception 1: three quarters transfer air; 90.1 has no such exception here."""
    assert ceiling_applies(8000.0, TITLE_24).value
    assert ceiling_applies(8000.0, TITLE_24, transfer_share_ratio=0.74).value
    waived = ceiling_applies(8000.0, TITLE_24, transfer_share_ratio=0.75)
    assert not waived.value
    assert any("waived" in line for line in waived.lines())
    assert ceiling_applies(8000.0, NINETY_ONE, transfer_share_ratio=0.90).value


def test_a_code_written_by_hand():
    """The adopted figure always goes first; a code without a threshold caps nothing and says so."""
    own = EnergyCode("Saltmarrow bylaw", option_threshold_cfm=1000.0, demand_share_min_ratio=1.0,
                     demand_reduction_min_ratio=0.4)  # fmt: skip
    found = ceiling_applies(8000.0, own)
    assert not found.value
    assert any("no threshold" in line for line in found.lines())
    assert own.cite("cap_threshold_cfm") == ()
    only = options(replace(FACTS, demand_controlled_cfm=8000.0, makeup_can_follow=True), own)
    assert [(o.name, o.fulfilled) for o in only] == [("demand control", True)]
    assert "cut by 40%" in only[0].why


def test_the_codes_that_are_carried():
    for name in ENERGY_CODES:
        assert energy_code(name).cap_threshold_cfm in (2000.0, 5000.0)
        assert energy_code(name).cite("cap_threshold_cfm")
    with pytest.raises(TableError, match=r"ASHRAE 90\.1"):
        energy_code("90.1")
