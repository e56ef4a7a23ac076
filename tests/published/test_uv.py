"""UV dose and sensor against integrals done another way; printed figures stand in `cases/`.

Grades: S seen in the source, 2 second-hand, M from memory, C computed independently from the printed formula.
Doses are printed in mJ/cm2 (10 J/m2), absorbances in 1/cm (100 1/m). None of this shows that some water is
fit to drink: local codes and licensed practice decide that.
"""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from sim.plant import uv
from sim.units import GPM_M3_S
from tests.published.equations.light import dose_left_percent

# An invented annulus: 10 W of UV over an arc of 40 cm.
UV_W, SLEEVE, ARC_M, INNER_M, OUTER_M = 10.0, 0.90, 0.40, 0.0115, 0.0350


@pytest.mark.parametrize("percent", [99.9999, 98, 90, 75, 60])
@pytest.mark.parametrize("flow_gpm", [1.0, 6.0, 12.0])
def test_dose_is_the_integral_over_the_chamber(percent, flow_gpm):
    """Independent: intensity integrated over the radius by quadrature, times volume over flow (rtol 1e-9)."""
    alpha = math.log(10) * uv.absorbance_per_m(percent / 100)

    def watt_per_m(r):
        return UV_W / ARC_M * SLEEVE / (2 * math.pi * r) * math.exp(-alpha * (r - INNER_M)) * 2 * math.pi * r

    mean_times_area, _ = quad(watt_per_m, INNER_M, OUTER_M, epsabs=0, epsrel=1e-12)
    integral = mean_times_area * ARC_M / (flow_gpm * GPM_M3_S)
    clear_j_m2 = UV_W * SLEEVE * (OUTER_M - INNER_M) / (6 * GPM_M3_S)  # no absorption, 6 gpm
    ours = uv.dose_j_m2(
        flow_gpm * GPM_M3_S, 6 * GPM_M3_S, clear_j_m2, alpha / math.log(10), 0.0, OUTER_M - INNER_M, 1.0
    )
    assert ours == pytest.approx(integral, rel=1e-9)


def test_a_flow_below_the_tested_range_has_the_dose_of_its_least():
    """Half the rated flow has twice the rated dose (D = P t); 1/8 has no more than 1/4, the least tested.

    US EPA 815-R-06-007 (2006), chapter 5, from memory: below the least flow of the validation the dose is
    reckoned at that flow.
    """
    rated = 8 * GPM_M3_S

    def dose(flow_gpm, least_gpm):
        return uv.dose_j_m2(flow_gpm * GPM_M3_S, rated, 667.0, 4.0, 4.0, 0.0235, 0.6, least_gpm * GPM_M3_S)

    assert [dose(q, 2.0) for q in (8.0, 4.0, 2.0, 1.0, 1e-3)] == pytest.approx([400.2, 800.4, *3 * [1600.8]])
    assert dose(1.0, 0.0) == pytest.approx(3201.6)


@pytest.mark.parametrize(("absorbance", "depth_m"), [(0.0, 0.01), (1e-6, 0.01), (4.6, 0.01), (22.0, 0.0235)])
def test_water_factor_is_the_mean_of_the_beam_over_its_depth(absorbance, depth_m):
    mean, _ = quad(lambda x: 10.0 ** (-absorbance * x), 0.0, depth_m, epsabs=0, epsrel=1e-12)
    assert uv.water_factor(absorbance, depth_m) == pytest.approx(mean / depth_m, rel=1e-9)


def test_far_wall_sensor_overreacts_to_colour_and_is_exact_for_lamp_and_sleeve():
    """At a reading of 60 %: 60 % of the dose is left when lamp or sleeve did it, 78.7 % when colour did."""
    assert uv.dose_j_m2(1.0, 1.0, 100.0, 2.2, 2.2, 0.0235, 0.6) == pytest.approx(60.0, rel=1e-12)
    assert dose_left_percent(95) > 75.0


def test_alarm_at_60_percent_does_not_protect_a_unit_rated_40_at_70_percent_output():
    """40/0.70 = 57.1 mJ/cm2 when new is less than the 66.7 that a 60 % alarm needs."""
    new = uv.new_dose_j_m2(400.0, 0.70)
    assert new / 10 == pytest.approx(57.1, abs=0.05)
    assert not uv.alarm_protects(new, 400.0, 0.60)
    assert uv.alarm_protects(667.0, 400.0, 0.60)
    assert uv.alarm_protects(new, 400.0, 0.70 + 1e-12)


def test_dose_summed_over_a_changing_flow_keeps_the_energy():
    """Dose x flow is the power into the water, whatever the flow: sum over draws = P x time (C)."""
    flows = np.array([0.5, 2.0, 6.0, 9.0]) * GPM_M3_S
    powers = [q * uv.dose_j_m2(q, 6 * GPM_M3_S, 571.0, 5.0, 2.2, 0.0235, 0.8) for q in flows]
    assert powers == pytest.approx([powers[0]] * 4, rel=1e-12)
