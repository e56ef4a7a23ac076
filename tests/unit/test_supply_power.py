"""Power cuts from the indices of a utility: closed forms, sampled lengths, and what is refused."""

import math

import numpy as np
import pytest
from scipy.stats import lognorm

from sim.errors import InputError
from sim.scenario.read.load import load_text
from sim.supply import power
from sim.twin.basis import basis_of
from sim.twin.common import _cuts

INDICES = [(1.34, 339 * 60.0, 1.9), (1.03, 117 * 60.0, 1.9), (0.2, 20 * 60.0, 0.8), (6.0, 40 * 3600.0, 2.4)]


@pytest.mark.parametrize(("saifi", "saidi_s", "spread"), INDICES)
def test_the_mean_of_a_cut_is_saidi_over_saifi(saifi, saidi_s, spread):
    """CAIDI = SAIDI/SAIFI (IEEE 1366, from memory), by the mean of scipy's lognormal law."""
    median_s = power.median_beyond_s(saifi, saidi_s, spread)
    assert 300.0 + lognorm(spread, scale=median_s).mean() == pytest.approx(saidi_s / saifi, rel=1e-12)


@pytest.mark.parametrize(("saifi", "saidi_s", "spread"), INDICES)
def test_lengths_are_the_quantiles_of_their_draws_and_each_counts(saifi, saidi_s, spread):
    law = lognorm(spread, loc=300.0, scale=power.median_beyond_s(saifi, saidi_s, spread))
    z = np.array([-3.0, -0.5, 0.0, 1.0, 2.5])
    found = power.cut_lengths_s(z, saifi, saidi_s, spread)
    chance = [0.5 * math.erfc(-one / math.sqrt(2.0)) for one in z]
    np.testing.assert_allclose(found, law.ppf(chance), rtol=1e-9)
    assert (found > 300.0).all()


def test_without_cuts_no_index_is_looked_at():
    assert power.cut_lengths_s(np.zeros(0), 0.0, 0.0, 1.9).size == 0
    scenario = load_text('extends = "family_house"\n[power]\nsaifi = 0.0\nsaidi = "0 min"\n', "t")
    assert _cuts(basis_of(scenario), 3650, 1, 0).shape == (0, 2)


def test_cuts_of_a_run_keep_their_order_and_lie_apart():
    scenario = load_text('extends = "family_house"\n[power]\nsaifi = 300.0\nsaidi = "900 h"\n', "t")
    found = _cuts(basis_of(scenario), 3650, 1, 0)
    assert len(found) > 2000
    assert (found[:, 1] > found[:, 0]).all()
    assert (found[1:, 0] > found[:-1, 1]).all()


def test_cuts_shorter_than_those_that_count_are_refused():
    with pytest.raises(
        InputError, match=r"power: saidi of 6 min a year is too little for 1.34 cuts.*6.7 min"
    ):
        load_text('extends = "family_house"\n[power]\nsaidi = "6 min"\n', "t")
    with pytest.raises(InputError, match=r"power.saidi: has no unit|power.saidi: read 339"):
        load_text('extends = "family_house"\n[power]\nsaidi = 339\n', "t")
