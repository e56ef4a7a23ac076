"""Days on which more than a little was asked for within a span, against a plain count day by day."""

import numpy as np

from sim.constants import DAY_S
from sim.demand.asked import Asked


def counted(start_s, volume_m3, begin_s, end_s, n_days):
    inside = (start_s >= begin_s) & (start_s < end_s)
    return sum(volume_m3[inside & (start_s // DAY_S == day)].sum() > 0.001 for day in range(n_days))


def test_days_are_those_a_plain_count_finds():
    rng, n_days = np.random.default_rng(3), 20
    start_s = np.sort(rng.uniform(0.0, n_days * DAY_S, 60))
    volume_m3 = rng.uniform(0.0, 0.002, 60)
    begin_s = rng.uniform(0.0, 1.1 * n_days * DAY_S, 300)
    begin_s[:60] = np.floor(begin_s[:60] / DAY_S) * DAY_S
    end_s = begin_s + rng.exponential(2.0 * DAY_S, 300)
    end_s[30:90] = np.ceil(end_s[30:90] / DAY_S) * DAY_S
    spans = np.column_stack([begin_s, end_s])
    wanted = [counted(start_s, volume_m3, *span, n_days) for span in spans]
    assert Asked(start_s, volume_m3, 0.001, n_days).days(spans).tolist() == wanted
