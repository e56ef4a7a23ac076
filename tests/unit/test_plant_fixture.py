import numpy as np
import pytest

from sim.plant import fixture


def test_coefficient_gives_back_the_point_it_came_from():
    k = fixture.coefficient(1.5e-4, 300e3)
    assert fixture.flow_m3_s(k, 300e3) == pytest.approx(1.5e-4, rel=1e-12)


@pytest.mark.parametrize("pressure", [0.0, -1.0, -1e5])
def test_no_flow_without_pressure(pressure):
    assert fixture.flow_m3_s(2e-7, pressure) == 0.0


def test_flow_rises_with_pressure_slower_than_in_proportion():
    flows = np.array([fixture.flow_m3_s(2e-7, p) for p in np.linspace(1e4, 5e5, 40)])
    assert (np.diff(flows) > 0).all()
    assert (np.diff(flows, 2) < 0).all()
