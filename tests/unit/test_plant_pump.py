import numpy as np
import pytest

from sim.constants import GRAVITY_M_S2
from sim.plant import pump

H0, K, KS, RHO = 55.0, 3.4e7, 0.4e7, 999.1


def test_flow_meets_the_curve_it_came_from():
    q = pump.flow_m3_s(300e3, 2.0, H0, K, 0.0, RHO)
    assert pump.head_m(q, H0, K) == pytest.approx(300e3 / (RHO * GRAVITY_M_S2) + 2.0, rel=1e-12)


def test_suction_loss_comes_off_the_head():
    q = pump.flow_m3_s(300e3, 2.0, H0, K, KS, RHO)
    needed = 300e3 / (RHO * GRAVITY_M_S2) + 2.0 + KS * q * q
    assert pump.head_m(q, H0, K) == pytest.approx(needed, rel=1e-12)


@pytest.mark.parametrize("pressure", [RHO * GRAVITY_M_S2 * (H0 - 2.0), 600e3, 1e7])
def test_no_flow_when_the_pressure_is_out_of_reach(pressure):
    assert pump.flow_m3_s(pressure * (1 + 1e-12), 2.0, H0, K, KS, RHO) == 0.0


def test_flow_falls_with_pressure_lift_and_suction_loss():
    grid = np.linspace(0.0, 500e3, 40)
    assert (np.diff([pump.flow_m3_s(p, 2.0, H0, K, KS, RHO) for p in grid]) < 0).all()
    assert (np.diff([pump.flow_m3_s(3e5, z, H0, K, KS, RHO) for z in np.linspace(-3, 8, 20)]) < 0).all()
    assert (np.diff([pump.flow_m3_s(3e5, 2.0, H0, K, s, RHO) for s in np.linspace(0, 1e8, 20)]) < 0).all()


def test_efficiency_peaks_at_the_best_point_and_is_symmetric():
    best = pump.efficiency(6e-4, 6e-4, 0.3)
    assert best == 0.3
    grid = np.linspace(0.0, 12e-4, 101)
    assert max(pump.efficiency(q, 6e-4, 0.3) for q in grid) == best
    assert pump.efficiency(4e-4, 6e-4, 0.3) == pytest.approx(pump.efficiency(8e-4, 6e-4, 0.3), rel=1e-12)


@pytest.mark.parametrize("flow", [0.0, 12e-4, 20e-4])
def test_efficiency_never_falls_below_one_percent(flow):
    assert pump.efficiency(flow, 6e-4, 0.3) == 0.01


def test_power_is_finite_at_every_flow_and_nil_without_flow():
    for q in np.linspace(0.0, 12e-4, 50):
        head = pump.head_m(q, H0, K)
        assert np.isfinite(pump.electrical_power_w(q, head, RHO, pump.efficiency(q, 6e-4, 0.3)))
    assert pump.electrical_power_w(0.0, H0, RHO, 0.01) == 0.0


def test_worst_starts_are_the_worst_over_every_demand():
    pump_flow, drawdown = 6.3e-4, 0.04
    demand = np.linspace(0.001, 0.999, 9999) * pump_flow
    starts = 3600.0 / (drawdown / demand + drawdown / (pump_flow - demand))
    assert pump.worst_starts_per_hour(pump_flow, drawdown) == pytest.approx(starts.max(), rel=1e-12)
    assert demand[starts.argmax()] == pytest.approx(pump_flow / 2, rel=1e-9)


def test_npsh_loses_one_for_one_with_lift_and_friction():
    base = pump.npsh_available_m(101325.0, 2339.0, 998.2, 0.0, 0.0)
    assert pump.npsh_available_m(101325.0, 2339.0, 998.2, 2.0, 0.5) == pytest.approx(base - 2.5, rel=1e-12)
    assert pump.npsh_available_m(101325.0, 2339.0, 998.2, -1.0, 0.0) == pytest.approx(base + 1.0, rel=1e-12)


def test_the_last_half_metre_of_head_still_gives_flow():
    """H = 40 m - B Q^2, half a metre short of shut-off: Q = sqrt(0.5/B)."""
    pressure = 998.0 * GRAVITY_M_S2 * 39.5
    assert pump.flow_m3_s(pressure, 0.0, 40.0, 2e6, 0.0, 998.0) == pytest.approx(5e-4, rel=1e-9)
