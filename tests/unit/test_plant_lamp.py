import math

import numpy as np
import pytest

from sim.plant import lamp

HOUR_S = 3600.0
TAU_S = 24_560 * HOUR_S


def test_new_lamp_gives_all():
    assert lamp.output(0.0, TAU_S, 100 * HOUR_S, 0.05) == 1.0


def test_output_falls_and_burn_in_comes_first():
    hours = np.linspace(0.0, 20_000.0, 400)
    out = np.array([lamp.output(h * HOUR_S, TAU_S, 100 * HOUR_S, 0.05) for h in hours])
    assert (np.diff(out) < 0).all()
    early = 1 - lamp.output(100 * HOUR_S, TAU_S, 100 * HOUR_S, 0.05)
    without = 1 - lamp.output(100 * HOUR_S, TAU_S, 100 * HOUR_S, 0.0)
    assert early > 5 * without


def test_burn_in_costs_its_loss_once():
    late = lamp.output(8000 * HOUR_S, TAU_S, 100 * HOUR_S, 0.05) / lamp.output(8000 * HOUR_S, TAU_S, 1.0, 0.0)
    assert late == pytest.approx(0.95, rel=1e-12)


def test_burn_in_has_its_time_constant():
    """After one time constant all but 1/e of the loss has come."""
    young = lamp.output(100 * HOUR_S, 1e30, 100 * HOUR_S, 0.05)
    assert young == pytest.approx(1.0 - 0.05 * (1.0 - math.exp(-1.0)), rel=1e-12)


@pytest.mark.parametrize("loss", [0.0, 0.05])
def test_time_constant_gives_back_the_end_of_life_figure(loss):
    end_s = 8760 * HOUR_S
    tau = lamp.time_constant_from(0.70 / (1 - loss), end_s)
    assert lamp.output(end_s, tau, 100 * HOUR_S, loss) == pytest.approx(0.70, rel=1e-12)


def test_cold_water_dims_the_lamp_along_a_line_that_joins_at_the_optimum():
    assert lamp.temperature_factor(0.0, 15.0, 0.8) == 0.8
    assert lamp.temperature_factor(15.0 - 1e-9, 15.0, 0.8) == pytest.approx(1.0, abs=1e-10)
    assert [lamp.temperature_factor(t, 15.0, 0.8) for t in (15.0, 22.0, 40.0)] == [1.0] * 3
    assert (np.diff([lamp.temperature_factor(t, 15.0, 0.8) for t in np.linspace(0, 15, 31)]) > 0).all()


def test_life_rises_with_the_draw_and_is_the_scale_at_one():
    assert lamp.weibull_life_s(1.0, 500.0, 3.7) == 500.0
    assert lamp.weibull_life_s(0.0, 500.0, 2.0) == 0.0
    assert (np.diff([lamp.weibull_life_s(e, 500.0, 3.7) for e in np.linspace(0, 10, 50)]) > 0).all()
