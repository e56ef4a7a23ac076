"""How long a pump lasts at the use a site makes of it, by hand."""

import pytest

from sim.scenario.read.load import load
from sim.study.check.pump_use import life_scale_s, use_of

HOURS_A_YEAR = 365.25 * 24


@pytest.mark.parametrize("site", ["family_house", "cottage", "training_hall"])
def test_years_hours_and_starts_wear_together(site):
    """Competing Weibull causes in even use: 1/scale^b is the sum of (rate/its own scale)^b (from memory)."""
    scenario = load(site)
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
