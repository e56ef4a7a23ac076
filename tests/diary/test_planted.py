"""Planted houses: do ranges cover what comes, are forecasts nearer than calendar, line and prior?

The truth is run by the twin from chances of its own, half of the houses with people who miss steps; nobody
serves them from some day on. Moments are tied to nothing, or to half and four fifths of what comes, which is
harder: whoever picks a moment by what comes picks houses that do what was not expected of them.
"""

import math
from datetime import timedelta

import numpy as np
import pandas as pd
import pytest

from sim.diary import paths
from sim.diary.book import Diary
from sim.diary.evidence import begin_of
from sim.diary.infer import parts_of
from sim.scenario.read.load import load
from tests.diary import misfits, oracle, planted, trial

HOUSES, ROOT, ORACLE_HOUSES = 60, 90_001, 20
# Measured on 47 houses apart from these: 0.58 and 0.93 of the prior's CRPS at half and four fifths of life.
# With all of the cartridge known, only rain and its own capacity not: 0.50 and 0.72.
# Who knows house and load as they stand has 0.14 at both: it is the gauge that does not show it in time.
FLOOR = "by the last monthly reading before it most drops have risen by less than two scatters of the gauge"
pytestmark = pytest.mark.long


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    scenario = load("family_house")
    today = scenario.start + timedelta(days=3 * 365)
    begin = begin_of(Diary((), ()), scenario.start)
    water = paths.known_water(scenario, begin, today, (), None)
    return scenario, paths.paths(scenario, water, today, tmp_path_factory.mktemp("paths"), 2)


@pytest.fixture(scope="module")
def houses():
    return planted.truths(load("family_house"), HOUSES, ROOT)


@pytest.fixture(scope="module")
def rows(made, houses):
    scenario, kept = made
    found = []
    for number, house in enumerate(houses):
        rng = np.random.default_rng((ROOT, number))
        found += list(trial.rows_of(number, house, scenario, kept, rng))
    return pd.DataFrame(found, columns=trial.COLUMNS)


def told(record_property, name, rows, column):
    share = float(rows[column].astype(float).mean())
    record_property(name, f"{share:.3f} of {len(rows)}")
    return share, math.sqrt(max(share * (1.0 - share), 0.01) / len(rows))


@pytest.mark.parametrize("event", ["UV", "sediment", "carbon"])
def test_at_a_moment_tied_to_nothing_ranges_cover(rows, event, record_property):
    some = rows[(rows.event == event) & (rows.life == trial.ANY)]
    for column, low, high in (("in80", 0.72, 0.88), ("in90", 0.84, 0.96)):
        share, error = told(record_property, f"{event}, {column}", some, column)
        assert low - 2.0 * error <= share <= high + 2.0 * error


@pytest.mark.parametrize("life", trial.LIVES)
@pytest.mark.parametrize(
    ("event", "most"),
    [
        ("UV", (0.45, 0.35)),
        pytest.param("sediment", (0.65, 0.55), marks=pytest.mark.xfail(reason=FLOOR, strict=False)),
    ],
)
def test_forecasts_are_nearer_than_without_readings(rows, event, most, life, record_property):
    some = rows[(rows.event == event) & (rows.life == life)]
    ratio = some.crps.mean() / some.prior_crps.mean()
    record_property(f"{event} at {life:.0%} of life, CRPS over prior", f"{ratio:.2f} of {len(some)}")
    record_property(f"{event} at {life:.0%}, over line", f"{some.crps.mean() / some.line_crps.mean():.2f}")
    record_property(
        f"{event} at {life:.0%}, over calendar", f"{some.crps.mean() / some.calendar_crps.mean():.2f}"
    )
    assert some.crps.mean() < some.line_crps.mean() and some.crps.mean() < some.calendar_crps.mean()
    assert ratio <= most[trial.LIVES.index(life)]


@pytest.mark.parametrize("life", trial.LIVES)
def test_what_nobody_can_know_is_not_what_is_in_the_way(houses, rows, life, record_property):
    scenario = load("family_house")
    parts, prior = parts_of(scenario), rows[(rows.event == "sediment") & (rows.life == life)]
    found = []
    for number in [one for one in prior.house if one < ORACLE_HOUSES]:
        moment = oracle.moments(houses[number], scenario, parts, 0, life)
        found.append(oracle.oracle_crps(houses[number], 0, *moment))
    ratio = np.mean(found) / prior[prior.house < ORACLE_HOUSES].prior_crps.mean()
    record_property(f"at {life:.0%} of life, all known but what comes", f"{ratio:.2f} of {len(found)}")
    assert ratio <= 0.3


def test_at_four_fifths_of_life_most_gauges_do_not_show_it(houses, record_property):
    """Why the bar there is not met: with a drop that rises late, hand readings a month apart tell little."""
    scenario = load("family_house")
    parts, risen = parts_of(scenario), []
    for house in houses:
        moment = oracle.moments(house, scenario, parts, 0, trial.LIVES[1])
        if moment is not None:
            risen.append(oracle.risen_sd(house, 0, moment[0], planted.Plan()))
    share = np.mean(np.array(risen) < 2.0)
    record_property("sediment at 80 % of life, risen by less than 2 scatters", f"{share:.2f} of {len(risen)}")
    assert share > 0.5


@pytest.mark.parametrize("life", trial.LIVES)
def test_no_reader_of_the_display_is_much_nearer(houses, rows, life, record_property):
    some = rows[(rows.event == "UV") & (rows.life == life)]
    least = []
    for number, truth_days in zip(some.house, some.truth_days, strict=True):
        house = houses[number]
        left = int(np.ceil(house.left_day))
        came = planted.event_day(house.light, lambda x, m=house.site.uv.alarm: x < m, left)
        now = left + life * (came - left)
        rng = np.random.default_rng((ROOT, number, 2))
        least.append(oracle.pace_crps(house, now, truth_days, planted.Plan(), rng))
    record_property(
        f"UV at {life:.0%} of life, CRPS over prior of who knows all but the pace",
        f"{np.mean(least) / some.prior_crps.mean():.2f} of {len(some)}, {np.mean(least):.1f} d; "
        f"ours {some.crps.mean():.1f} d",
    )
    assert some.crps.mean() <= 1.3 * np.mean(least)


def test_at_a_moment_tied_to_nothing_a_drop_is_nearer_than_without_readings(rows, record_property):
    some = rows[(rows.event == "sediment") & (rows.life == trial.ANY)]
    ratio = some.crps.mean() / some.prior_crps.mean()
    record_property("sediment at a moment tied to nothing, CRPS over prior", f"{ratio:.2f} of {len(some)}")
    assert ratio <= 0.65


def test_few_are_late_at_the_date_advised(rows, record_property):
    some = rows[rows.life == trial.ANY]
    share, error = told(record_property, "late at the date advised", some, "late")
    assert share <= 0.12 + 2.0 * error


def test_dose_now_is_covered(rows, record_property):
    some = rows[rows.event == "UV"]
    for column, low, high in (("dose_in80", 0.72, 0.88), ("dose_in90", 0.84, 0.96)):
        share, error = told(record_property, column, some, column)
        assert low - 2.0 * error <= share <= high + 2.0 * error


def test_enough_draws_stand_behind_each(rows, record_property):
    least = float(rows["size"].quantile(0.05))
    record_property("effective draws, 5 % quantile", f"{least:.0f}")
    assert least >= 200.0


@pytest.mark.parametrize("kind", misfits.KINDS)
def test_what_is_amiss_is_named(made, kind, record_property):
    scenario, kept = made
    parts = misfits.parts_of(scenario)
    named = []
    for number, house in enumerate(planted.truths(scenario, HOUSES, ROOT + 1, 3)):
        rng = np.random.default_rng((ROOT, number, 1))
        found = misfits.diary_with(kind, house, float(rng.uniform(300.0, 700.0)), rng)
        if found is not None:
            row = misfits.row_of(number, kind, *found, scenario, parts, kept)
            named.append(bool(row[3]) if kind == "nothing" else bool(row[2]))
    share = float(np.mean(named))
    record_property(f"{kind}, named", f"{share:.2f} of {len(named)}")
    assert share <= 0.1 if kind == "nothing" else share >= 0.9
