"""Motor tables and protection against published worked examples.

The source stands beside each case. Where a source prints a result after rounding or with a percentage, the
table value it started from is used.
"""

from __future__ import annotations

import pytest

from galleyproof.tables import conductors, motors, protection

pytestmark = pytest.mark.outside

MAGAZINE_SINGLE_MOTOR = "trade magazine, code question on conductors for a single motor (2014)"
TEXTBOOK_2002 = "electrical calculations textbook on the 2002 edition, unit 7"
TUTORIAL = "electrician mathematics tutorial, motor conductors"
FORUM_THREE = "practitioner forum, three motors on one feeder"
MAGAZINE_FEEDER = "trade magazine, code question on motor feeder protection"
FORUM_GROUP = "practitioner forum, group of four motors on 208 V"
ANNEX_D8 = "NFPA 70 Annex D, example D8 (from memory)"
DRIVE_NOTE = "application note on conductors of drives, 430.122"


@pytest.mark.parametrize(
    ("rated_hp", "supply_v", "flc_a", "source"),
    [
        (1.0, 120, 16.0, TEXTBOOK_2002),
        (7.5, 240, 40.0, TEXTBOOK_2002),
        (5.0, 230, 28.0, TUTORIAL),
        (3.0, 208, 18.7, "practitioner forum, amps for 14 to 10 AWG on motor circuits"),
    ],
)
def test_table_430_248(rated_hp, supply_v, flc_a, source):
    assert motors.flc_single_phase_a(rated_hp, supply_v).value == flc_a, source


@pytest.mark.parametrize(
    ("rated_hp", "supply_v", "flc_a", "source"),
    [
        (7.5, 230, 22.0, MAGAZINE_SINGLE_MOTOR),
        (5.0, 208, 16.7, "practitioner forum: 20.875 A is 125 percent of it"),
        (40.0, 480, 52.0, FORUM_THREE),
        (10.0, 480, 14.0, FORUM_THREE),
        (5.0, 480, 7.6, FORUM_THREE),
        (20.0, 460, 27.0, MAGAZINE_FEEDER),
        (15.0, 208, 46.2, FORUM_GROUP),
        (10.0, 208, 30.8, FORUM_GROUP),
        (7.5, 208, 24.2, FORUM_GROUP),
        (25.0, 460, 34.0, ANNEX_D8),
        (30.0, 460, 40.0, ANNEX_D8),
        (300.0, 460, 361.0, DRIVE_NOTE),
    ],
)
def test_table_430_250(rated_hp, supply_v, flc_a, source):
    assert motors.flc_three_phase_a(rated_hp, supply_v).value == flc_a, source


@pytest.mark.parametrize(
    ("rated_hp", "supply_v", "phases", "device", "rating_a", "source"),
    [
        (7.5, 230, 3, "inverse_time_breaker", 60, MAGAZINE_SINGLE_MOTOR),
        (1.0, 120, 1, "inverse_time_breaker", 40, TEXTBOOK_2002),
        (
            5.0,
            230,
            1,
            "inverse_time_breaker",
            70,
            "electrician mathematics tutorial, motor overcurrent protection",
        ),
        (5.0, 208, 3, "inverse_time_breaker", 45, "practitioner forum, 41.75 A"),
        (5.0, 208, 3, "time_delay_fuse", 30, "practitioner forum, 29.2 A"),
        (40.0, 460, 3, "time_delay_fuse", 100, FORUM_THREE),
        (5.0, 460, 3, "time_delay_fuse", 15, FORUM_THREE),
        (10.0, 460, 3, "time_delay_fuse", 25, FORUM_THREE),
        (20.0, 460, 3, "inverse_time_breaker", 70, MAGAZINE_FEEDER),
        (10.0, 460, 3, "inverse_time_breaker", 35, MAGAZINE_FEEDER),
        (10.0, 208, 3, "inverse_time_breaker", 80, FORUM_GROUP),
        (15.0, 208, 3, "inverse_time_breaker", 125, FORUM_GROUP),
        (25.0, 460, 3, "nontime_delay_fuse", 110, ANNEX_D8),
    ],
)
def test_branch_device_goes_to_the_next_standard_rating(rated_hp, supply_v, phases, device, rating_a, source):
    flc = (motors.flc_single_phase_a if phases == 1 else motors.flc_three_phase_a)(rated_hp, supply_v).value
    kind = "single_phase" if phases == 1 else "squirrel_cage_other_than_design_B_energy_efficient_or_premium"
    limit = flc * protection.motor_ocpd_ratio(device, kind).value
    rated = "inverse_time_breaker" if device == "inverse_time_breaker" else "fuse"
    assert protection.next_standard_up_a(limit, rated).value == rating_a, source


@pytest.mark.parametrize(
    ("value_a", "device", "rating_a", "source"),
    [
        (100 + 14 + 7.6, "fuse", 110, FORUM_THREE),
        (70 + 14, "inverse_time_breaker", 80, MAGAZINE_FEEDER),
        (125 + 30.8 + 30.8 + 24.2, "inverse_time_breaker", 200, FORUM_GROUP),
        (110 + 40 + 40, "fuse", 175, ANNEX_D8),
        (7.81, "fuse", 6, "practitioner forum, control transformer at 250 percent"),
    ],
)
def test_feeder_and_ceiling_go_down(value_a, device, rating_a, source):
    assert protection.next_standard_down_a(value_a, device).value == rating_a, source


def test_wound_rotor_fuse_is_150_percent():
    """Annex D, example D8 (from memory): 30 hp wound rotor, 60 A."""
    limit = (
        motors.flc_three_phase_a(30, 460).value * protection.motor_ocpd_ratio("time_delay_fuse", "wound_rotor").value
    )
    assert limit == pytest.approx(60.0)
    assert protection.next_standard_up_a(limit, "fuse").value == 60


@pytest.mark.parametrize(
    ("nameplate_a", "service_factor", "rise_degc", "setting_a", "source"),
    [
        (14.0, None, None, 16.1, TEXTBOOK_2002),
        (28.0, 1.15, None, 35.0, "trade magazine, one device for overload and short circuit"),
        (18.0, 1.12, 40.0, 22.5, "practitioner forum; rows read as alternatives"),
        (32.0, 1.15, None, 40.0, ANNEX_D8),
        (38.0, None, 40.0, 47.5, ANNEX_D8),
    ],
)
def test_overload_setting(nameplate_a, service_factor, rise_degc, setting_a, source):
    ratio = protection.overload_max_ratio(service_factor=service_factor, rise_degc=rise_degc).value
    assert nameplate_a * ratio == pytest.approx(setting_a), source


def test_overload_that_does_not_carry_the_start():
    """Trade magazine, code quiz: service factor 1.12 gives 130 percent."""
    assert protection.overload_max_ratio(service_factor=1.12, does_not_start=True).value == pytest.approx(1.30)


def test_standard_ratings_of_two_editions():
    """240.6(A): 10 A joined the breakers in 2023; fuses had 1, 3, 6, 10 and 601 A before (public lesson)."""
    old, new = (set(protection.standard_ratings_a("inverse_time_breaker", e).value) for e in ("2020", "2023"))
    assert new - old == {10.0}
    assert old <= new
    assert set(protection.standard_ratings_a("fuse", "2020").value) - old == {1.0, 3.0, 6.0, 10.0, 601.0}


@pytest.mark.parametrize(
    ("ocpd_a", "size", "source"),
    [
        (100, "8", "public copies of Table 250.122"),
        (30, "10", "public copies of Table 250.122"),
        (300, "4", "industrial training notes, equipment grounding"),
        (50, "10", "consultant question and answer on 250.122(B)"),
        (200, "6", "consultant question and answer on 250.122(B)"),
        (20, "12", "trade magazine, code question of the day"),
    ],
)
def test_equipment_ground(ocpd_a, size, source):
    assert protection.equipment_ground_size(ocpd_a).value == size, source


@pytest.mark.parametrize(
    ("base", "small", "large", "size", "source"),
    [
        ("4", "250", "350", "2", "industrial training notes, equipment grounding"),
        ("12", "12", "6", "6", "trade magazine, code question of the day"),
        ("10", "8", "1", "3", "consultant question and answer on 250.122(B)"),
        ("6", "3/0", "500", "1", "consultant question and answer on 250.122(B)"),
    ],
)
def test_ground_enlarged_in_circular_mils(base, small, large, size, source):
    area = {s: conductors.circular_mils(s).value for s in (base, small, large)}
    assert conductors.size_for_circular_mils(area[base] * area[large] / area[small]).value == size, source


@pytest.mark.parametrize(
    ("rated_a", "method", "limit_a", "source"),
    [
        (1500 / 480, "primary_and_secondary", 7.8125, "practitioner forum, 1.5 kVA at 250 percent"),
        (
            500 / 480,
            "motor_control_circuit",
            500 / 480 * 5,
            "control transformer note: below 2 A 500 percent",
        ),
        (0.5, "primary_only", 1.5, "450.3(B), below 2 A 300 percent"),
    ],
)
def test_transformer_primary(rated_a, method, limit_a, source):
    limit = protection.transformer_primary_limit(rated_a, method).value
    assert rated_a * limit.max_ratio == pytest.approx(limit_a), source
    assert not limit.next_up


def test_transformer_secondary_rounds_up_only_at_125_percent():
    """Table 450.3(B), note 1."""
    assert protection.transformer_secondary_limit(8.99).value == protection.TransformerLimit(1.67, next_up=False)
    assert protection.transformer_secondary_limit(9.0).value == protection.TransformerLimit(1.25, next_up=True)
    assert protection.transformer_primary_limit(9.0, "primary_only").value.next_up
