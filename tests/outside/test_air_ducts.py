"""Air in ducts over grids, against the ``fluids`` library: friction factor, friction rate, losses, viscosity."""

from __future__ import annotations

import itertools
import math

import fluids
import pytest
import scipy.constants as sc

from galleyproof.air import ducts
from galleyproof.air.ducts import Duct, Fitting, Flat, Rectangular, Round, Run, Shape

pytestmark = pytest.mark.outside

PA_PER_INWC = 249.08891  # conventional inch of water at 4 degC (NIST SP 811)
KG_PER_M3 = sc.lb / sc.foot**3  # of one lb/ft3
M3_S = sc.foot**3 / 60.0  # of one cfm
PA_S = sc.lb / sc.foot  # of one lb/(ft s)
# The trade's rounded 1097 fpm; exactly it is 1097.8 for water of 4 degC and 1096.7 for water of 20 degC.
ROUNDED = 0.0015


@pytest.mark.parametrize(
    ("reynolds", "relative"),
    list(itertools.product((4e3, 1e4, 5e4, 1.2e5, 1e6, 1e8), (0.0, 1e-6, 1e-4, 1e-3, 0.01, 0.05))),
)
def test_colebrook(reynolds: float, relative: float):
    """Colebrook's equation solved by another hand, to the last digits."""
    expected = fluids.friction_factor(Re=reynolds, eD=relative, Method="Colebrook")
    assert ducts.colebrook(reynolds, relative) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("reynolds", [1.0, 10.0, 500.0, 2000.0, 2039.9])
def test_laminar(reynolds: float):
    """``fluids`` keeps pipe flow laminar up to the same Reynolds number, 2040."""
    assert ducts.colebrook(reynolds, 0.001) == pytest.approx(fluids.friction_factor(Re=reynolds, eD=0.001), rel=1e-12)
    assert ducts.LAMINAR_BELOW == fluids.friction.LAMINAR_TRANSITION_PIPE


@pytest.mark.parametrize("explicit", ["Clamond", "Serghides_1", "Haaland"])
@pytest.mark.parametrize("cfm", [300.0, 2000.0, 9000.0])
def test_other_formulas_for_the_friction_factor_agree(explicit: str, cfm: float):
    """Explicit formulas claim 0 to 2 percent of Colebrook's; a slip of ours would show against all of them."""
    speed = ducts.velocity_fpm(cfm, Round(16.0))
    number = ducts.reynolds(speed, 16.0)
    expected = fluids.friction_factor(Re=number, eD=0.0036 / 16.0, Method=explicit)
    assert ducts.colebrook(number, 0.0036 / 16.0) == pytest.approx(expected, rel=0.02)


AIRS = ((0.075, 1.22e-5), (0.0624, 1.22e-5), (0.0602, 1.441e-5), (0.0375, 2.0e-5))
"""Standard, 5000 ft, 200 degF and 600 degF: density [lb/ft3], viscosity [lb/(ft s)]."""


@pytest.mark.parametrize(
    ("cfm", "inch", "rough_ft", "air"),
    list(itertools.product((400.0, 1500.0, 6000.0), (8.0, 16.0, 30.0), (0.00015, 0.0003, 0.003), AIRS)),
)
def test_friction_rate(cfm: float, inch: float, rough_ft: float, air: tuple[float, float]):
    """``fluids.one_phase_dP`` over 100 ft with Colebrook's factor."""
    density, viscosity = air
    expected = fluids.one_phase_dP(
        m=cfm * M3_S * density * KG_PER_M3,
        rho=density * KG_PER_M3,
        mu=viscosity * PA_S,
        D=inch * sc.inch,
        roughness=rough_ft * sc.foot,
        L=100.0 * sc.foot,
        Method="Colebrook",
    )
    rate = ducts.friction_rate_inwc_per_100ft(
        cfm, Round(inch), roughness_ft=rough_ft, density_lb_per_cuft=density, viscosity=viscosity
    )
    assert rate.value == pytest.approx(expected / PA_PER_INWC, rel=ROUNDED)
    assert rate.unit == "in wc/100 ft"


def test_welded_steel_when_no_roughness_is_given():
    """The table's figure, from the ASHRAE roughness categories: medium-smooth, 0.00015 ft for clean carbon steel."""
    given = ducts.friction_rate_inwc_per_100ft(3000.0, Round(18.0), roughness_ft=0.00015)
    assert ducts.friction_rate_inwc_per_100ft(3000.0, Round(18.0)).value == given.value


@pytest.mark.parametrize(
    "shape",
    [Rectangular(12.0, 12.0), Rectangular(16.0, 20.0), Rectangular(10.0, 30.0), Flat(30.0, 24.0), Flat(30.0, 12.0)],
)
@pytest.mark.parametrize("fpm", [500.0, 1500.0, 2500.0])
def test_equivalent_round_duct_has_the_same_loss(shape: Shape, fpm: float):
    """What an equivalent diameter is for; the published fits hold within about 5 percent up to an aspect of 3."""
    cfm = fpm * shape.area_sqft
    own = ducts.friction_rate_inwc_per_100ft(cfm, shape, roughness_ft=0.0003).value
    round_one = ducts.friction_rate_inwc_per_100ft(cfm, Round(shape.equivalent_inch), roughness_ft=0.0003).value
    assert round_one == pytest.approx(own, rel=0.06)


@pytest.mark.parametrize("inch", [6.0, 14.0, 30.0])
def test_shapes_that_are_the_same(inch: float):
    """A flat oval without flat sides is round; the area of a square in a circle is known (geometry)."""
    flat = Flat(inch, inch)
    assert flat.area_sqft == pytest.approx(Round(inch).area_sqft, rel=1e-12)
    assert flat.hydraulic_inch == pytest.approx(inch, rel=1e-12)
    assert flat.equivalent_inch == pytest.approx(inch, rel=0.01)  # 1.55 and the powers are fitted numbers
    assert Rectangular(inch, inch).area_sqft == pytest.approx(Round(inch).area_sqft * 4.0 / math.pi, rel=1e-12)


@pytest.mark.parametrize(("cfm", "density"), [(900.0, 0.075), (2600.0, 0.075), (2600.0, 0.058)])
def test_run_with_fittings(cfm: float, density: float):
    """Parts of a run by ``fluids.one_phase_dP`` and ``fluids.dP_from_K``, added up by hand."""
    first = Duct("riser", Round(16.0), 22.0, (Fitting("entry", 0.5), Fitting("elbow", 0.22)), roughness_ft=0.0003)
    second = Duct("roof", Round(18.0), 9.0, (Fitting("outlet", 1.0),), roughness_ft=0.0003)
    run = Run((first, second), hood_inwc=0.62, design_cfm=2600.0, fixed_inwc=0.05)
    viscosity = 1.22e-5
    pascal = 0.0
    for duct, inch in ((first, 16.0), (second, 18.0)):
        pascal += fluids.one_phase_dP(
            m=cfm * M3_S * density * KG_PER_M3,
            rho=density * KG_PER_M3,
            mu=viscosity * PA_S,
            D=inch * sc.inch,
            roughness=0.0003 * sc.foot,
            L=duct.length_ft * sc.foot,
            Method="Colebrook",
        )
        speed = cfm * M3_S / (math.pi / 4.0 * (inch * sc.inch) ** 2)
        pascal += fluids.dP_from_K(sum(f.loss_coefficient for f in duct.fittings), density * KG_PER_M3, speed)
    expected = pascal / PA_PER_INWC + 0.62 * (cfm / 2600.0) ** 2 * density / 0.075 + 0.05
    found = ducts.run_loss_inwc(run, cfm, density_lb_per_cuft=density, viscosity=viscosity)
    assert found.value == pytest.approx(expected, rel=ROUNDED)


@pytest.mark.parametrize(
    ("kelvin", "micropascal_s", "claimed"),
    [
        (250.0, 15.96, 0.02),
        (300.0, 18.46, 0.02),
        (400.0, 23.01, 0.02),
        (500.0, 27.01, 0.02),
        (600.0, 30.58, 0.02),
        (700.0, 33.88, 0.02),
        (800.0, 36.98, 0.03),
    ],
)
def test_viscosity(kelvin: float, micropascal_s: float, claimed: float):
    """Property table of air at one atmosphere in heat-transfer texts (from memory): within what the rule claims."""
    ours = ducts.viscosity_lb_per_ft_s(kelvin * 1.8 - 459.67) * PA_S * 1e6
    assert ours == pytest.approx(micropascal_s, rel=claimed)
    # The upper air of fluids' standard atmosphere uses the same law; a slip in its constants would show here.
    assert ours == pytest.approx(fluids.ATMOSPHERE_1976.viscosity(kelvin) * 1e6, rel=1e-6)


def test_standard_viscosity_is_that_of_70_degf():
    """The constant of the standard air of the trade."""
    assert ducts.viscosity_lb_per_ft_s(70.0) == pytest.approx(ducts.STANDARD_VISCOSITY_LB_PER_FT_S, rel=0.003)


@pytest.mark.parametrize("fpm", [100.0, 1400.0, 4005.0])
@pytest.mark.parametrize("density", [0.075, 0.05])
def test_velocity_pressure_both_ways(fpm: float, density: float):
    """Half of density times velocity squared in SI, and back."""
    pressure = ducts.velocity_pressure_inwc(fpm, density)
    pascal = 0.5 * density * KG_PER_M3 * (fpm * sc.foot / 60.0) ** 2
    assert pressure == pytest.approx(pascal / PA_PER_INWC, rel=ROUNDED)
    assert ducts.velocity_at_pressure_fpm(pressure, density) == pytest.approx(fpm, rel=1e-12)
