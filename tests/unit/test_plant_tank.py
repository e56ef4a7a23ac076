import numpy as np
import pytest

from sim.plant import tank

V, PRE, ATM = 0.2, 260e3, 101325.0


@pytest.mark.parametrize("exponent", [1.0, 1.2, 1.4])
def test_pressure_and_water_are_inverse(exponent):
    for water in np.linspace(0.0, 0.95 * V, 20):
        p = tank.pressure_pa(water, V, PRE, ATM, exponent)
        assert tank.water_m3(p, V, PRE, ATM, exponent) == pytest.approx(water, abs=1e-15, rel=1e-12)


@pytest.mark.parametrize("exponent", [1.0, 1.4])
def test_empty_tank_stands_at_its_precharge(exponent):
    assert tank.pressure_pa(0.0, V, PRE, ATM, exponent) == pytest.approx(PRE, rel=1e-12)


@pytest.mark.parametrize("pressure", [PRE, PRE - 1.0, 0.0, -5e3])
def test_no_water_at_or_below_the_precharge(pressure):
    assert tank.water_m3(pressure, V, PRE, ATM, 1.0) == 0.0


def test_never_more_water_than_tank():
    assert 0.99 * V < tank.water_m3(1e9, V, PRE, ATM, 1.0) < V


def test_pressure_rises_with_water_and_faster_when_adiabatic():
    water = np.linspace(0.0, 0.9 * V, 50)
    slow = np.array([tank.pressure_pa(w, V, PRE, ATM, 1.0) for w in water])
    fast = np.array([tank.pressure_pa(w, V, PRE, ATM, 1.4) for w in water])
    assert (np.diff(slow) > 0).all()
    assert (fast[1:] > slow[1:]).all()


def test_exponent_one_takes_the_same_law_as_just_beside_it():
    for water in (0.01, 0.1, 0.19):
        beside = tank.pressure_pa(water, V, PRE, ATM, 1.0 + 1e-12)
        assert tank.pressure_pa(water, V, PRE, ATM, 1.0) == pytest.approx(beside, rel=1e-10)


def test_drawdown_above_cut_in_counts_from_the_precharge_only():
    # precharge 300 kPa above a cut-in of 276: between the two no water is held, so cut-in cannot matter
    base = tank.drawdown_m3(V, 300e3, 300e3, 414e3, ATM, 1.0)
    assert tank.drawdown_m3(V, 300e3, 276e3, 414e3, ATM, 1.0) == base > 0.0


def test_drawdown_falls_as_precharge_is_lost():
    lost = [tank.drawdown_m3(V, pre, 276e3, 414e3, ATM, 1.0) for pre in np.linspace(262e3, 0.0, 30)]
    assert (np.diff(lost) < 0).all()


def test_no_span_no_drawdown():
    assert tank.drawdown_m3(V, PRE, 300e3, 300e3, ATM, 1.0) == 0.0


def test_thin_air_gives_more_drawdown():
    high = tank.atmosphere_at_pa(2000.0)
    assert high < tank.atmosphere_at_pa(0.0) == 101325.0
    assert tank.drawdown_m3(V, PRE, 276e3, 414e3, high, 1.0) > tank.drawdown_m3(
        V, PRE, 276e3, 414e3, ATM, 1.0
    )
