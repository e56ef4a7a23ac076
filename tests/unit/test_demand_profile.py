"""Hourly habits against the printed columns, copied apart from ours into `hourly_columns.csv`.

indoor: Residential End Uses of Water study (2016), computed and printed to 0.001, so within half of that; the
others: Building America protocols 2010/2014 and California Title 24 (both seen second-hand), as printed.
"""

import csv
from pathlib import Path

import numpy as np
import pytest

from sim.demand.profile import HOURLY_SHARES, profile
from sim.errors import InputError

COLUMNS = list(csv.DictReader(Path(__file__).with_name("hourly_columns.csv").read_text().splitlines()))
PRINTED = {name: [float(row[name]) for row in COLUMNS] for name in COLUMNS[0] if name != "hour"}


def test_the_hours_are_those_of_a_day():
    assert [int(row["hour"]) for row in COLUMNS] == list(range(24))
    assert set(HOURLY_SHARES) == set(PRINTED) | {"flat", "daytime"}


@pytest.mark.parametrize("name", sorted(set(PRINTED) - {"indoor"}))
def test_shares_are_the_printed_ones(name):
    assert list(HOURLY_SHARES[name]) == PRINTED[name]


def test_indoor_shares_round_to_the_printed_ones():
    # 0.0705 is printed 0.070 and 0.0405 0.041: the last digit of a half may go either way
    np.testing.assert_allclose(HOURLY_SHARES["indoor"], PRINTED["indoor"], rtol=0.0, atol=0.0005 + 1e-12)


@pytest.mark.parametrize("name", sorted(HOURLY_SHARES))
def test_a_profile_is_the_shares_over_their_sum(name):
    shares = profile(name)
    assert shares.shape == (24,)
    assert shares.sum() == pytest.approx(1.0, abs=1e-12)
    np.testing.assert_allclose(
        shares / shares.max(), np.array(HOURLY_SHARES[name]) / max(HOURLY_SHARES[name])
    )


def test_even_ones():
    np.testing.assert_allclose(profile("flat"), np.full(24, 1.0 / 24.0), rtol=1e-13)
    day = np.where((np.arange(24) >= 7) & (np.arange(24) < 21), 1.0 / 14.0, 0.0)
    np.testing.assert_allclose(profile("daytime"), day, rtol=1e-13)


def test_an_unknown_habit_is_refused():
    with pytest.raises(InputError, match="no hourly profile 'noon'; there are bath"):
        profile("noon")
