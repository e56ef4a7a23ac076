"""How long a pump lasts at the use a site makes of it, by hand."""

import pytest
from scipy.optimize import brentq

from sim.scenario.read.load import load
from sim.study.check.pump_use import life_scale_s, pump_flow_at_m3_s, starved, use_of
from tests.changed_site import site

HOURS_A_YEAR = 365.25 * 24


@pytest.mark.parametrize("name", ["family_house", "cottage", "training_hall"])
def test_years_hours_and_starts_wear_together(name):
    """Competing Weibull causes in even use: 1/scale^b is the sum of (rate/its own scale)^b (from memory)."""
    scenario = load(name)
    pump, use = scenario.pump, use_of(scenario)
    assert 0.0 < use.run_h_per_year < HOURS_A_YEAR and use.starts_per_year > 100.0
    short = use.starts_per_year if use.run_s < 60.0 else 0.0
    starts = use.starts_per_year + pump.short_run_wear_factor * short
    rates = (
        1.0 / pump.life_age_s,
        use.run_h_per_year / HOURS_A_YEAR / pump.life_s,
        starts / (HOURS_A_YEAR * 3600.0) / pump.life_start_count,
    )
    b = pump.life_shape
    assert life_scale_s(scenario) == pytest.approx(sum(rate**b for rate in rates) ** (-1.0 / b), rel=1e-9)
    assert min(rates) > 0.01 * max(rates)  # each cause tells


@pytest.mark.parametrize("lift_m", [1.0, 4.0, 6.5, 7.5, 8.0])
@pytest.mark.parametrize("altitude_m", [0.0, 1500.0])
def test_a_pump_with_little_suction_head_gives_what_its_equation_says(lift_m, altitude_m):
    """Air's head less lift and suction loss is what it has; water of 15 C has 999.1 kg/m3, 1,706 Pa [M]."""
    house = site(house__altitude=f"{altitude_m} m")
    pump, weight = house.pump, 999.1 * 9.80665
    air_m = (101325.0 * (1.0 - 2.25577e-5 * altitude_m) ** 5.25588 - 1706.0) / weight  # ICAO atmosphere

    def spare_m(flow):
        missing = 1.0 - max(0.0, air_m - lift_m - pump.suction_s2_m5 * flow**2) / (
            1.2095 * pump.npsh_required_m
        )
        kept = 1.0 - max(0.0, missing) ** 2
        asked = 3e5 / weight + lift_m + pump.suction_s2_m5 * flow**2
        return kept * (pump.shutoff_head_m - pump.curve_s2_m5 * flow**2) - asked

    wanted = brentq(spare_m, 0.0, 1e-2) if spare_m(0.0) > 0.0 else 0.0
    assert pump_flow_at_m3_s(house, 3e5, lift_m) == pytest.approx(wanted, rel=2e-3)


def test_no_pump_lifts_water_higher_than_the_air_presses_it():
    house = site()
    assert pump_flow_at_m3_s(house, 3e5, 10.4) == 0.0
    assert starved(house, 3e5, 8.0) and not starved(house, 3e5, 2.0)
    assert not starved(site(pump__npsh_required="0.5 m"), 3e5, 8.0)
