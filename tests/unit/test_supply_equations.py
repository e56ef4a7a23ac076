"""Roof, solids, cistern, storage and temperature: limits, parts against the whole, compiled against plain."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.stats import lognorm

from sim.supply import cistern, roof, solids, storage, temperature

SPLITS = [0.0, 0.1, 0.5, 0.93, 1.0]


def test_rain_below_the_wetting_loss_leaves_nothing():
    assert roof.runoff_depth_m(0.0004, 0.0005, 0.9) == 0.0
    assert roof.runoff_depth_m(0.0025, 0.0005, 0.9) == pytest.approx(0.0018, rel=1e-15)


def test_full_diverter_takes_nothing():
    assert roof.diverted_depth_m(0.01, 0.001, 0.001) == 0.0
    assert roof.diverted_depth_m(0.01, 0.002, 0.001) == 0.0
    assert roof.diverted_depth_m(0.0004, 0.0005, 0.001) == 0.0004


@pytest.mark.parametrize("part", SPLITS)
@pytest.mark.parametrize("runoff_m", [0.0003, 0.005])
def test_diverter_in_parts(part, runoff_m):
    whole = roof.diverted_depth_m(runoff_m, 0.0002, 0.001)
    first = roof.diverted_depth_m(part * runoff_m, 0.0002, 0.001)
    second = roof.diverted_depth_m((1.0 - part) * runoff_m, 0.0002 + first, 0.001)
    assert first + second == pytest.approx(whole, rel=1e-12)


@pytest.mark.parametrize("part", SPLITS)
@pytest.mark.parametrize("store", [0.0, 0.02, 0.3])
def test_dust_in_parts(part, store):
    whole = roof.dust_after(store, 5e5, 0.1, 4e5)
    mid = roof.dust_after(store, part * 5e5, 0.1, 4e5)
    assert roof.dust_after(mid, (1.0 - part) * 5e5, 0.1, 4e5) == pytest.approx(whole, rel=1e-12)


@pytest.mark.parametrize("part", SPLITS)
def test_washing_in_parts(part):
    whole = roof.washed(0.05, 0.003, 900.0)
    first = roof.washed(0.05, part * 0.003, 900.0)
    second = roof.washed(0.05 - first, (1.0 - part) * 0.003, 900.0)
    assert first + second == pytest.approx(whole, rel=1e-12)


def test_washing_integrates_the_flush_concentration():
    """C_flush exp(-k h), C_flush = store k, integrated by trapezoids on a fine grid (error about 1e-9)."""
    depth_m = np.linspace(0.0, 0.004, 200_001)
    concentration = 0.05 * 900.0 * np.exp(-900.0 * depth_m)
    assert roof.washed(0.05, 0.004, 900.0) == pytest.approx(np.trapezoid(concentration, depth_m), rel=1e-8)


@pytest.mark.parametrize(("median_m", "sigma_g"), [(20e-6, 3.0), (5e-6, 1.5), (100e-6, 2.0)])
def test_class_fractions_against_scipy(median_m, sigma_g):
    cumulated = lognorm.cdf(solids.CLASS_EDGES_M, math.log(sigma_g), scale=median_m)
    got = solids.class_fractions(median_m, sigma_g)
    np.testing.assert_allclose(got, np.diff([0.0, *cumulated, 1.0]), rtol=1e-9, atol=1e-15)
    assert got.sum() == pytest.approx(1.0, rel=1e-12)


def test_half_the_mass_is_below_the_median():
    assert solids.class_fractions(20e-6, 3.0)[:2].sum() == pytest.approx(0.5, rel=1e-12)


def test_classes_are_named_and_inside_their_edges():
    edges = (0.0, *solids.CLASS_EDGES_M, math.inf)
    assert len(solids.CLASS_NAMES) == len(solids.CLASS_DIAMETERS_M) == 4
    for low, middle, high in zip(edges[:-1], solids.CLASS_DIAMETERS_M, edges[1:], strict=True):
        assert low < middle < high


def test_light_particle_rises():
    assert cistern.stokes_velocity_m_s(1e-4, 900.0, 1000.0, 1e-3) < 0.0


@pytest.mark.parametrize(
    ("volume", "inflow", "after", "overflow"),
    [(0.0, 0.0, 0.0, 0.0), (0.0, 4.0, 4.0, 0.0), (8.0, 2.0, 10.0, 0.0), (10.0, 3.0, 10.0, 3.0)],
)
def test_fill(volume, inflow, after, overflow):
    assert cistern.fill(volume, inflow, 10.0) == (after, overflow)


def flushed_by_ode(amount, volume, inflow, inflow_amount, capacity):
    """Return the amount left by the stirred tank's differential equation, in volume of inflow."""
    concentration = inflow_amount / inflow
    room = min(inflow, capacity - volume)
    start = amount + concentration * room
    solution = solve_ivp(
        lambda _, m: concentration - m / capacity, (0.0, inflow - room), [start], rtol=1e-12, atol=1e-15
    )
    return solution.y[0, -1]


@pytest.mark.parametrize("inflow", [1.0, 4.0, 5.0, 30.0, 200.0])
@pytest.mark.parametrize("inflow_amount", [0.0, 0.7])
@pytest.mark.parametrize(("amount", "volume"), [(0.0, 0.0), (2.0, 6.0), (2.0, 10.0)])
def test_mix_in_against_its_differential_equation(amount, volume, inflow, inflow_amount):
    left, overflow = cistern.mix_in(amount, volume, inflow, inflow_amount, 10.0)
    wanted = flushed_by_ode(amount, volume, inflow, inflow_amount, 10.0)
    assert left == pytest.approx(wanted, rel=1e-9, abs=1e-12)
    assert left + overflow == pytest.approx(amount + inflow_amount, rel=1e-14)


def test_mix_in_of_nothing():
    assert cistern.mix_in(0.0, 0.0, 0.0, 0.0, 10.0) == (0.0, 0.0)
    assert cistern.mix_in(1.5, 0.0, 0.0, 0.0, 10.0) == (1.5, 0.0)


@pytest.mark.parametrize("part", SPLITS)
@pytest.mark.parametrize("volume", [0.0, 4.0, 9.0, 10.0])
def test_mix_in_in_parts(part, volume):
    whole = cistern.mix_in(2.0, volume, 8.0, 0.5, 10.0)
    first = cistern.mix_in(2.0, volume, part * 8.0, part * 0.5, 10.0)
    mid, _ = cistern.fill(volume, part * 8.0, 10.0)
    second = cistern.mix_in(first[0], mid, (1.0 - part) * 8.0, (1.0 - part) * 0.5, 10.0)
    assert second[0] == pytest.approx(whole[0], rel=1e-12)
    assert first[1] + second[1] == pytest.approx(whole[1], rel=1e-12, abs=1e-14)


@pytest.mark.parametrize("drawn", [0.0, 1e-9, 0.1, 3.0, 5.9])
@pytest.mark.parametrize("settling", [0.0, 1e-7, 2e-5, 1e-3])
def test_draw_and_settle_against_its_differential_equation(drawn, settling):
    volume, dt = 6.0, 3600.0
    rate = drawn / dt

    def change(t, state):
        per_volume = state[0] / (volume - rate * t)
        return [-(rate + settling) * per_volume, rate * per_volume, settling * per_volume]

    solution = solve_ivp(change, (0.0, dt), [2.0, 0.0, 0.0], method="DOP853", rtol=1e-12, atol=1e-15)
    got = cistern.draw_and_settle(2.0, volume, drawn, settling, dt)
    np.testing.assert_allclose(got, solution.y[:, -1], rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("part", SPLITS)
@pytest.mark.parametrize(("drawn", "settling"), [(0.0, 1e-4), (3.0, 0.0), (3.0, 1e-4), (6.0, 1e-4)])
def test_draw_and_settle_in_parts(part, drawn, settling):
    whole = cistern.draw_and_settle(2.0, 6.0, drawn, settling, 3600.0)
    first = cistern.draw_and_settle(2.0, 6.0, part * drawn, settling, part * 3600.0)
    rest = (first[0], 6.0 - part * drawn, (1.0 - part) * drawn, settling, (1.0 - part) * 3600.0)
    second = cistern.draw_and_settle(*rest)
    parts = (second[0], first[1] + second[1], first[2] + second[2])
    np.testing.assert_allclose(parts, whole, rtol=1e-12, atol=1e-14)


def test_draw_and_settle_at_its_limits():
    assert cistern.draw_and_settle(1.0, 5.0, 0.0, 0.0, 100.0) == (1.0, 0.0, 0.0)
    assert cistern.draw_and_settle(1.0, 5.0, 5.0, 0.0, 100.0) == (0.0, 1.0, 0.0)
    assert cistern.draw_and_settle(1.0, 0.0, 0.0, 1e-4, 100.0) == (0.0, 0.0, 1.0)
    assert cistern.draw_and_settle(1.0, 0.0, 0.0, 0.0, 100.0) == (1.0, 0.0, 0.0)
    assert cistern.draw_and_settle(1.0, 5.0, 0.0, 1e-4, 0.0) == (1.0, 0.0, 0.0)
    emptied = cistern.draw_and_settle(1.0, 1e-9, 1e-9, 1e-12, 1000.0)
    np.testing.assert_allclose(emptied, (0.0, 0.5, 0.5), rtol=1e-12)


def test_without_settling_the_draw_takes_the_mean_concentration():
    left, drawn, settled = cistern.draw_and_settle(2.0, 8.0, 2.0, 0.0, 60.0)
    assert (left, drawn) == pytest.approx((1.5, 0.5), rel=1e-14)
    assert settled == pytest.approx(0.0, abs=1e-15)


@pytest.mark.parametrize("part", SPLITS)
def test_decay_and_stirring_in_parts(part):
    left, lost = cistern.decayed(2.0, 1e-6, 1e6)
    first, first_lost = cistern.decayed(2.0, 1e-6, part * 1e6)
    second, second_lost = cistern.decayed(first, 1e-6, (1.0 - part) * 1e6)
    assert second == pytest.approx(left, rel=1e-12)
    assert first_lost + second_lost == pytest.approx(lost, rel=1e-12)
    stirred = cistern.resuspended_kg(3.0, 4.0, 0.1, 0.5)
    once = cistern.resuspended_kg(3.0, part * 4.0, 0.1, 0.5)
    assert once + cistern.resuspended_kg(3.0 - once, (1 - part) * 4.0, 0.1, 0.5) == pytest.approx(
        stirred, rel=1e-12
    )


def test_small_inflow_stirs_in_proportion_and_calming_halves_it():
    """At small inflow the law is linear; the next term is half of 1e-6."""
    assert cistern.resuspended_kg(2.0, 1e-6, 1.0, 1.0) == pytest.approx(2e-6, rel=1e-6)
    assert cistern.resuspended_kg(2.0, 1e-6, 1.0, 0.5) == pytest.approx(1e-6, rel=1e-6)


def test_sludge_is_drawn_only_at_low_level():
    assert cistern.entrained_kg(1.0, 1.0, 0.5, 0.02, 0.2) == 0.0
    assert cistern.entrained_kg(1.0, 1.0, 0.2, 0.02, 0.2) == 0.0
    at_intake = cistern.entrained_kg(1.0, 1.0, 0.0, 0.02, 0.2)
    assert at_intake == pytest.approx(1.0 - math.exp(-0.02), rel=1e-12)
    assert cistern.entrained_kg(1.0, 1.0, -0.3, 0.02, 0.2) == at_intake
    assert cistern.entrained_kg(1.0, 1.0, 0.0, 0.02, 0.0) == 0.0


@pytest.mark.parametrize("run", [storage.yield_after_spillage, storage.yield_before_spillage])
def test_storage_without_a_tank_or_with_an_endless_one(run):
    inflow, demand = np.array([3.0, 0.0, 2.0]), np.array([1.0, 1.0, 1.0])
    got, spill, volume = run(inflow, demand, 1e6, 50.0)
    np.testing.assert_array_equal(got, demand)
    np.testing.assert_array_equal(spill, np.zeros(3))
    assert volume[-1] == 52.0
    no_tank, all_spilt, _ = storage.yield_after_spillage(inflow, demand, 0.0, 0.0)
    assert no_tank.sum() == 0.0
    np.testing.assert_array_equal(all_spilt, inflow)


def test_temperature_over_the_year():
    """Warmest on its day, coldest and mean at a half and a quarter of 365.25 days from it."""
    assert temperature.water_temperature_c(210.0, 12.0, 6.0, 210.0) == 18.0
    assert temperature.water_temperature_c(210.0 + 365.25 / 2, 12.0, 6.0, 210.0) == pytest.approx(
        6.0, rel=1e-12
    )
    assert temperature.water_temperature_c(210.0 - 365.25 / 4, 12.0, 6.0, 210.0) == pytest.approx(
        12.0, rel=1e-12
    )


PLAIN = [
    (roof.runoff_depth_m, (0.01, 0.0005, 0.9)),
    (roof.diverted_depth_m, (0.01, 0.0002, 0.001)),
    (roof.dust_after, (0.01, 3e5, 0.1, 4e5)),
    (roof.washed, (0.05, 0.003, 900.0)),
    (cistern.stokes_velocity_m_s, (1e-5, 1100.0, 999.0, 1.1e-3)),
    (cistern.fill, (8.0, 5.0, 10.0)),
    (cistern.mix_in, (2.0, 6.0, 30.0, 0.7, 10.0)),
    (cistern.draw_and_settle, (2.0, 6.0, 3.0, 1e-4, 3600.0)),
    (cistern.draw_and_settle, (2.0, 6.0, 6.0, 1e-4, 3600.0)),
    (cistern.decayed, (2.0, 1e-6, 1e5)),
    (cistern.resuspended_kg, (3.0, 4.0, 0.1, 0.5)),
    (cistern.entrained_kg, (3.0, 4.0, 0.1, 0.1, 0.5)),
    (temperature.water_temperature_c, (33.0, 12.0, 6.0, 210.0)),
]


@pytest.mark.parametrize(("function", "arguments"), PLAIN)
def test_compiled_equals_plain(function, arguments):
    np.testing.assert_allclose(function(*arguments), function.py_func(*arguments), rtol=1e-14)


@pytest.mark.parametrize("run", [storage.yield_after_spillage, storage.yield_before_spillage])
def test_compiled_storage_equals_plain(run):
    rng = np.random.default_rng(1)
    series = (rng.random(50), rng.random(50), 1.2, 0.4)
    for fast, plain in zip(run(*series), run.py_func(*series), strict=True):
        np.testing.assert_allclose(fast, plain, rtol=1e-14)


def test_what_came_without_water_is_not_lost():
    assert cistern.mix_in(1.5, 4.0, 0.0, 0.25, 10.0) == (1.75, 0.0)


def test_inner_classes_stand_at_the_geometric_mean_of_their_edges():
    """sqrt(5 x 20) = 10 um and sqrt(20 x 50) = 32 um; the outer ones are assumed, within twice their edge."""
    below, second, third, above = (1e6 * diameter for diameter in solids.CLASS_DIAMETERS_M)
    assert second == pytest.approx(10.0, abs=0.5)
    assert third == pytest.approx(math.sqrt(20.0 * 50.0), abs=0.5)
    assert 2.5 < below < 5.0
    assert 50.0 < above < 100.0
