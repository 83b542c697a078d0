"""The drive table against an open library of fluid dynamics; the field results against what may be said of them."""

import numpy as np
import pytest
from fluids.constants import hp
from fluids.pump import VFD_efficiency

from galleyproof.savings.evidence import drive_part_load, field_results, highest_seen

pytestmark = pytest.mark.outside


@pytest.mark.parametrize(("rated_hp", "row_hp"), [(1.5, 3), (3, 3), (5, 5), (7.5, 5), (10, 10), (20, 20), (25, 20)])
def test_drives_at_part_load(rated_hp, row_hp):
    """fluids rounds to four digits and interpolates between loads the same way."""
    curve = drive_part_load(rated_hp).value
    full = VFD_efficiency(row_hp * hp, load=1.0)
    for load in (0.016, 0.05, 0.125, 0.2, 0.3, 0.5, 0.6, 0.9, 1.0):
        relative = np.interp(load, curve.load_ratio, curve.relative_ratio)
        assert relative == pytest.approx(VFD_efficiency(row_hp * hp, load=load) / full, abs=2e-4)


@pytest.mark.parametrize("rated_hp", [0.5, 3, 5, 10, 20, 100])
def test_less_speed_never_takes_more_power(rated_hp):
    curve = drive_part_load(rated_hp).value
    load = np.linspace(0.0, 1.0, 2001)
    power = load / np.interp(load, curve.load_ratio, curve.relative_ratio)
    assert (np.diff(power) > 0.0).all()


def test_field_results_say_how_well_they_are_known():
    for quantity in ("total saving", "fan saving", "mean flow"):
        found = field_results(quantity)
        assert found
        for one in found:
            assert any(v is not None for v in (one.low_ratio, one.typical_ratio, one.high_ratio))
            assert one.status in ("seen", "second-hand", "from memory")
    # the four army sites: a lower bound, told by an interested party
    army = [r for r in field_results("total saving") if "site" in r.study]
    assert [(r.low_ratio, r.typical_ratio, r.status) for r in army] == [(0.3, None, "second-hand")] * 4


def test_what_was_not_seen_is_no_bound():
    assert highest_seen("total saving") == 0.7
    assert highest_seen("fan saving") == 0.587  # the 0.7 of the handbooks is from memory
