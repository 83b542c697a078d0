"""Whole jobs of every kind in a year of weather."""

import math
from dataclasses import fields

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.savings.kitchens import weather_of
from tests.strategies import small_jobs
from tests.usage_strategies import kitchen_uses

from galleyproof.savings.chart import chart_svg
from galleyproof.savings.study import study
from galleyproof.savings.treatment import enthalpy_btu_per_lb
from galleyproof.savings.year import CASES, Energy

HOURS = np.arange(8760)
WEATHER = weather_of(
    52.0 - 28.0 * np.cos(2 * np.pi * HOURS / 8760) - 8.0 * np.cos(2 * np.pi * HOURS / 24),
    44.0 - 28.0 * np.cos(2 * np.pi * HOURS / 8760),
)


@settings(max_examples=15, deadline=None)
@given(st.data())
def test_any_job_has_its_year(data):
    """Finite everywhere, energy conserved in each unit, drawn, explained and charted."""
    job = data.draw(small_jobs())
    use = data.draw(st.none() | kitchen_uses([h.tag for h in job.hoods]))
    job = job.model_copy(update={"kitchen_use": use})
    found = study(job, WEATHER)
    for case in CASES:
        energy = found.energy(case)
        assert all(math.isfinite(getattr(energy, f.name)) and getattr(energy, f.name) >= 0.0 for f in fields(Energy))
        hours = found.year.cases[case].hours
        cfm = found.year.usage.share @ found.year.cases[case].unit_cfm
        inward, outward = np.zeros(8760), np.zeros(8760)
        for n, air in enumerate(found.year.treated):
            dry = cfm[:, n] * air.dry_air_lb_per_h
            inward += dry * enthalpy_btu_per_lb(WEATHER.air_degf, air.outdoor_lb_per_lb)
            outward += dry * enthalpy_btu_per_lb(air.supply_degf, air.supply_lb_per_lb)
            outward += cfm[:, n] * air.water_lb_per_h_cfm * (air.coil_degf - 32.0)
        residual = inward + hours.heat_btuh - hours.cool_btuh - outward
        assert np.abs(residual).max() <= 1e-9 * max(1.0, np.abs(inward).max())
    for one in found.savings:
        assert all(math.isfinite(v) for band in one.bands.values() for v in (band.low, band.middle, band.high))
    for fan in job.exhaust_fans:
        assert found.reasons[fan.tag]
    assert "nan" not in chart_svg(found, job.job.name).replace(job.job.name, "")
