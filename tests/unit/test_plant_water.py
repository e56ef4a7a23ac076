import numpy as np
import pytest

from sim.plant import water

GRID_C = np.linspace(0.0, 40.0, 81)


def test_density_is_greatest_near_4_degrees():
    rho = np.array([water.density_kg_m3(t) for t in GRID_C])
    assert 3.5 <= GRID_C[rho.argmax()] <= 4.5
    after = rho[GRID_C >= 4.5]
    assert (np.diff(after) < 0).all()


def test_viscosity_falls_and_vapour_pressure_rises_with_temperature():
    assert (np.diff([water.viscosity_pa_s(t) for t in GRID_C]) < 0).all()
    assert (np.diff([water.vapour_pressure_pa(t) for t in GRID_C]) > 0).all()


def test_cold_water_is_more_than_half_again_as_viscous_as_at_20():
    # why a cartridge that is fine in summer may starve the house in winter
    assert water.viscosity_pa_s(2.0) > 1.6 * water.viscosity_pa_s(20.0)


def test_vapour_pressure_ends_at_the_critical_point():
    """22.064 MPa at 647.096 K (IAPWS R2-83(1992)); 1e-7 K below it the slope, 0.27 MPa/K, takes 0.03 Pa."""
    assert water.vapour_pressure_pa(647.096 - 273.15 - 1e-7) == pytest.approx(22.064e6, abs=0.5)
