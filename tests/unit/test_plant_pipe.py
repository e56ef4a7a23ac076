import math

import numpy as np
import pytest
from fluids.friction import Colebrook

from sim.plant import pipe


def test_laminar_is_64_over_reynolds():
    assert pipe.friction_factor(500.0, 0.01) == 0.128


@pytest.mark.parametrize("edge", [pipe.LAMINAR_BELOW, pipe.TURBULENT_FROM])
@pytest.mark.parametrize("rough", [0.0, 1e-4, 0.02])
def test_friction_factor_is_continuous_where_regimes_meet(edge, rough):
    below = pipe.friction_factor(edge * (1 - 1e-9), rough)
    assert pipe.friction_factor(edge * (1 + 1e-9), rough) == pytest.approx(below, rel=1e-8)


def test_blend_stays_between_its_ends():
    ends = pipe.friction_factor(2000.0, 1e-4), pipe.friction_factor(4000.0, 1e-4)
    for reynolds in np.linspace(2000.0, 4000.0, 21):
        assert min(ends) <= pipe.friction_factor(reynolds, 1e-4) <= max(ends)


@pytest.mark.parametrize("reynolds", [2000.0, 2000.5, 3000.0, 3999.5, 4000.0])
def test_blend_is_straight_from_64_over_2000_to_colebrook_at_4000(reynolds):
    # From the left: 64/2000 = 0.032.
    turbulent = Colebrook(4000.0, 1e-4)
    wanted = 0.032 + (reynolds - 2000.0) / 2000.0 * (turbulent - 0.032)
    assert pipe.friction_factor(reynolds, 1e-4) == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize("reynolds", [1999.5, 4000.5])
def test_outside_the_blend_the_laws_are_whole(reynolds):
    wanted = 64.0 / reynolds if reynolds < 2000.0 else Colebrook(reynolds, 1e-4)
    assert pipe.friction_factor(reynolds, 1e-4) == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize("rough", [0.0, 1e-6, 1e-4, 1e-3, 0.05])
def test_colebrook_solves_its_own_equation(rough):
    for reynolds in np.logspace(math.log10(4000.0), 8, 25):
        x = 1.0 / math.sqrt(pipe.friction_factor(reynolds, rough))
        assert x == pytest.approx(-2.0 * math.log10(rough / 3.7 + 2.51 / reynolds * x), rel=1e-13)


def test_friction_rises_with_roughness_and_falls_with_reynolds():
    assert (np.diff([pipe.friction_factor(5e4, r) for r in np.logspace(-6, -1.5, 20)]) > 0).all()
    assert (np.diff([pipe.friction_factor(r, 1e-5) for r in np.logspace(3.7, 7, 20)]) < 0).all()


def test_quadratic_adds_pipe_and_fittings():
    args = (6e-4, 10.0, 0.02, 1.5e-6)
    both = pipe.quadratic_pa_s2_m6(*args, 4.0, 999.0, 1.1e-3)
    friction = pipe.quadratic_pa_s2_m6(*args, 0.0, 999.0, 1.1e-3)
    minor = pipe.quadratic_pa_s2_m6(6e-4, 0.0, 0.02, 1.5e-6, 4.0, 999.0, 1.1e-3)
    assert both == pytest.approx(friction + minor, rel=1e-12)
    assert minor == pytest.approx(4.0 * 999.0 / 2 / (math.pi * 0.01**2) ** 2, rel=1e-12)


def test_longer_pipe_drops_in_proportion_and_a_wider_one_far_less():
    def drop(length, bore):
        return pipe.quadratic_pa_s2_m6(6e-4, length, bore, 1.5e-6, 0.0, 999.0, 1.1e-3)

    assert drop(20.0, 0.02) == pytest.approx(2 * drop(10.0, 0.02), rel=1e-12)
    assert drop(10.0, 0.02) > 25 * drop(10.0, 0.04)


@pytest.mark.parametrize(("gpm", "stated"), [(3.0, -0.16), (12.0, 0.17)])
def test_frozen_friction_factor_errs_as_its_note_says(gpm, stated):
    bore_m, rough_m, rho, mu, gpm_m3_s = 0.785 * 0.0254, 1.5e-6, 999.1, 1.1376e-3, 6.30902e-5
    q = gpm * gpm_m3_s
    reynolds = 4 * rho * q / (math.pi * bore_m * mu)
    exact = 8 * rho / (math.pi**2 * bore_m**4) * Colebrook(reynolds, rough_m / bore_m) * 30.0 / bore_m
    frozen = pipe.quadratic_pa_s2_m6(6 * gpm_m3_s, 30.0, bore_m, rough_m, 0.0, rho, mu)
    assert frozen / exact - 1 == pytest.approx(stated, abs=0.005)
