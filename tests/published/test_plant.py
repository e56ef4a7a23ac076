"""Hydraulics, filters and water against independent libraries and solvers; printed numbers: `cases/`.

Grades: S seen in the source, 2 second-hand, M from memory, C computed independently from the printed formula,
A assumed inputs (the arithmetic is still checked).
"""

import math

import fluids
import numpy as np
import pytest
from fluids.friction import Colebrook, Haaland
from iapws import IAPWS95
from iapws._iapws import _Liquid
from iapws.iapws97 import _PSat_T
from scipy.integrate import solve_ivp

from sim.plant import cartridge, pipe, pump, tank, train, water
from sim.units import FOOT_M, GPM_M3_S, INCH_M, PSI_PA

# Water at 15 deg C (999.10 kg/m3, 1.13757e-3 Pa s), e = 1.5e-6 m. Computed from Darcy-Weisbach with an
# independent Colebrook and Haaland (grade C); half the last digit throughout.
PIPE_TABLE = [
    # bore in, gpm, Re, f Colebrook, f Haaland, psi per 100 ft, Hazen-Williams C 130 and C 150
    (0.785, 5, 17_692, 0.02683, 0.02667, 3.033, 3.543, 2.719),
    (0.785, 8, 28_307, 0.02400, 0.02379, 6.947, 8.454, 6.487),
    (0.785, 10, 35_384, 0.02282, 0.02259, 10.319, 12.774, 9.803),
    (1.025, 5, 13_549, 0.02864, 0.02853, 0.853, 0.967, 0.742),
    (1.025, 8, 21_679, 0.02551, 0.02533, 1.945, 2.306, 1.770),
    (1.025, 10, 27_099, 0.02420, 0.02400, 2.883, 3.484, 2.674),
    (1.049, 10, 26_479, 0.02433, 0.02413, 2.582, 3.113, 2.389),
]


@pytest.mark.parametrize("row", PIPE_TABLE, ids=lambda r: f"{r[0]} in {r[1]} gpm")
def test_pipe_drop_lies_between_hazen_williams_of_old_and_new_copper(row):
    """Second correlation (fire.ezvirtualtools.com, S), psi/ft = 4.52 Q^1.85/(C^1.85 d^4.87), C 130 to 150."""
    bore_in, gpm, *_, c130, c150 = row
    hazen = {c: 100 * 4.52 * gpm**1.85 / (c**1.85 * bore_in**4.87) for c in (130, 150)}
    assert hazen[130] == pytest.approx(c130, abs=5e-4)
    assert hazen[150] == pytest.approx(c150, abs=5e-4)
    q = gpm * GPM_M3_S
    b = pipe.quadratic_pa_s2_m6(q, 100 * FOOT_M, bore_in * INCH_M, 1.5e-6, 0.0, 999.10, 1.13757e-3)
    assert hazen[150] < train.drop_pa(q, 0.0, b) / PSI_PA < hazen[130]


@pytest.mark.parametrize("rough", [0.0, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 0.05])
def test_friction_factors_equal_an_independent_library(rough):
    """The library solves Colebrook by Lambert W (overflows beyond rough x Re of 2,500), we by Newton."""
    for reynolds in np.logspace(math.log10(4000.0), 7, 40):
        assert pipe.friction_factor_haaland(reynolds, rough) == pytest.approx(
            Haaland(reynolds, rough), rel=1e-12
        )
        if rough * reynolds < 2500:
            assert pipe.friction_factor(reynolds, rough) == pytest.approx(
                Colebrook(reynolds, rough), rel=1e-9
            )


@pytest.mark.parametrize("rough", [0.0, 1e-6, 1e-4, 1e-2, 0.05])
def test_haaland_is_within_its_accuracy_of_colebrook(rough):
    """Haaland (1983) states about 2 % from 4000 to 1e8 (from memory)."""
    for reynolds in np.logspace(math.log10(4000.0), 8, 40):
        haaland = pipe.friction_factor_haaland(reynolds, rough)
        assert haaland == pytest.approx(pipe.friction_factor(reynolds, rough), rel=0.02)


def test_laminar_pipe_is_hagen_poiseuille():
    q, length, bore, mu = 2e-6, 3.0, 0.01, 1.1e-3
    b = pipe.quadratic_pa_s2_m6(q, length, bore, 1.5e-6, 0.0, 999.0, mu)
    assert train.drop_pa(q, 0.0, b) == pytest.approx(128 * mu * length * q / (math.pi * bore**4), rel=1e-12)


@pytest.mark.parametrize("altitude_m", [-500.0, 0.0, 300.0, 1500.0, 3000.0, 5000.0, 10_000.0])
def test_air_pressure_equals_the_1976_standard_atmosphere(altitude_m):
    """Equal to ISO 2533 below 11 km; the library takes geometric height. Constants have 6 digits: 1e-5."""
    standard = fluids.ATMOSPHERE_1976(altitude_m)
    assert tank.atmosphere_at_pa(standard.H) == pytest.approx(standard.P, rel=1e-5)


@pytest.mark.parametrize("temperature_c", [0.02, 2.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0])
def test_water_equals_iapws(temperature_c):
    """IAPWS-95 and IAPWS-2008 by the iapws library; the tolerances are those our docstrings state."""
    kelvin = temperature_c + 273.15
    exact = IAPWS95(T=kelvin, P=0.101325)
    assert water.density_kg_m3(temperature_c) == pytest.approx(exact.rho, rel=5e-6)
    assert water.viscosity_pa_s(temperature_c) == pytest.approx(exact.mu, rel=1e-4)
    assert water.viscosity_pa_s(temperature_c) == pytest.approx(_Liquid(kelvin)["mu"], rel=1e-9)
    saturated = IAPWS95(T=kelvin, x=0)
    assert water.vapour_pressure_pa(temperature_c) == pytest.approx(1e6 * saturated.P, rel=2e-4)
    assert water.vapour_pressure_pa(temperature_c) == pytest.approx(1e6 * _PSat_T(kelvin), rel=2e-4)


HERMIA_ORDER = [
    (cartridge.COMPLETE, 2.0, 0.9),
    (cartridge.STANDARD, 1.5, 1.8),
    (cartridge.INTERMEDIATE, 1.0, 3.0),
    (cartridge.CAKE, 0.0, 5.0),
]


@pytest.mark.parametrize(
    ("law", "order", "reach"), HERMIA_ORDER, ids=["complete", "standard", "inter.", "cake"]
)
def test_blocking_laws_solve_hermias_equation(law, order, reach):
    """d2t/dV2 = K (dt/dV)^n, n = 2, 3/2, 1, 0: at constant pressure dt/dV is the resistance."""
    grid = np.linspace(0.0, reach, 10)
    numeric = solve_ivp(
        lambda _, r: r**order, (0.0, reach), [1.0], method="DOP853", rtol=1e-12, atol=1e-13, t_eval=grid
    )
    ours = [cartridge.resistance_ratio(x, law, 1.0) for x in grid]
    assert ours == pytest.approx(numeric.y[0], rel=1e-9)


def test_a_deep_cake_gives_a_life_that_goes_with_the_inverse_square_of_flow():
    """Upper end of the trade's n = 1 to 2: with no clean drop a cake holds mass as 1/Q, lasts as 1/Q2."""
    ratio = 1e5
    gain = 2 * cartridge.growth_for(cartridge.CAKE, 2 * ratio) / cartridge.growth_for(cartridge.CAKE, ratio)
    assert math.log2(gain) == pytest.approx(2.0, abs=1e-4)


@pytest.mark.parametrize("law", [cartridge.COMPLETE, cartridge.STANDARD, cartridge.INTERMEDIATE])
def test_life_against_flow_has_the_trade_exponent(law):
    """L2/L1 = (Q1/Q2)^n, n 1 to 2 (chemicalprocessing.com 2004/149, S).

    Clean 1.5 psi, changed at 25 psi: US EPA LT2 Toolbox Guidance Manual 8.6.1, 1 to 2 and 20 to 30 psi (S).
    """

    def life(flow):  # load reached at the terminal drop, over the rate of loading
        terminal = 25.0 / (1.5 * flow)
        growth = cartridge.growth_for(law, 25.0 / 1.5)
        return cartridge.growth_for(law, terminal) / growth / flow

    exponent = math.log2(life(0.5) / life(1.0))
    assert 1.0 < exponent < 2.0


def test_trade_exponent_in_its_example():
    """8 d at 10 gpm are 19.7 d at 5 gpm with the typical n = 1.3 (S): two of the laws bracket it."""
    printed = 19.7 / 8.0

    def gain(law):
        return 2 * cartridge.growth_for(law, 2 * 25.0 / 1.5) / cartridge.growth_for(law, 25.0 / 1.5)

    assert printed == pytest.approx(2**1.3, abs=0.05 / 8)
    assert gain(cartridge.STANDARD) < printed < gain(cartridge.INTERMEDIATE)


def test_affinity_laws():
    """Speed 0.9 on a system that is all friction: flow 0.9, head 0.81, power 0.729 (affinity laws, C)."""
    system, curve = 2.0e7, 3.4e7
    flows = [pump.flow_m3_s(0.0, 0.0, h0, curve, system, 1000.0) for h0 in (55.0, 0.81 * 55.0)]
    heads = [pump.head_m(q, h0, curve) for q, h0 in zip(flows, (55.0, 0.81 * 55.0), strict=True)]
    powers = [pump.electrical_power_w(q, h, 1000.0, 1.0) for q, h in zip(flows, heads, strict=True)]
    ratios = [b / a for a, b in (flows, heads, powers)]
    assert ratios == pytest.approx([0.9, 0.81, 0.729], rel=1e-12)
