"""Work that nobody noted, axes and precharge: held to sums, logarithms and exponentials done by hand."""

import math
from datetime import datetime, timedelta
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import norm

from sim.diary import fit, home, slow
from sim.diary.book import Diary
from sim.diary.entries import Act, Reading
from sim.diary.parts import axes, unnoted
from sim.diary.parts.unnoted import HIDDEN_CHANCE, HIDDEN_DRAWN, MOST_HIDDEN
from sim.scenario.read import load
from sim.scenario.values.variants import Span
from sim.units import PSI_PA
from tests import changed_site

TODAY = datetime(2027, 6, 1).date()
YEAR_D = 365.25


def test_a_draw_says_in_which_gap_work_was_hidden():
    shares = np.array([0.25, 0.75])
    hidden = HIDDEN_DRAWN * np.array([0.0, 0.2, 0.3, 0.99, 1.0, 2.0])
    assert unnoted.hidden_gap(hidden, shares).tolist() == [0, 0, 1, 1, -1, -1]
    assert unnoted.hidden_gap(hidden, np.zeros(0)).tolist() == [-1] * 6


@pytest.mark.parametrize("gaps", [2, 4, 40])
def test_draws_made_where_a_drop_fell_weigh_as_if_made_evenly(gaps):
    """Chance over share of draws: the chances of all gaps, each as likely, and of none come to one."""
    shares = np.arange(1.0, gaps + 1.0)
    shares /= shares.sum()
    gap = np.arange(-1, gaps)
    drawn = np.append(1.0 - HIDDEN_DRAWN, HIDDEN_DRAWN * shares)
    chance = drawn * np.exp(unnoted.log_hidden(gap, shares))
    assert chance.sum() == pytest.approx(1.0)
    assert chance[1:] == pytest.approx(np.full(gaps, min(HIDDEN_CHANCE * gaps, MOST_HIDDEN) / gaps))
    assert unnoted.log_hidden(gap, np.zeros(0)).tolist() == [0.0] * (gaps + 1)


@pytest.mark.parametrize(
    ("drops_psi", "changed_days", "fell"),
    [
        ((1, 9, 1, 1), (), [0, 1, 0]),
        ((1, 9, 1, 1), (25.0,), [0, 0, 0]),  # noted between the second reading and the third
        ((1, 9, 1, 1), (20.0,), [0, 1, 0]),  # on the day of the second: done before the fall
        ((1, 9, 1, 9), (), [0, 0, 0]),  # low once is a misread, not a fall
        ((9, 1, 9, 5, 5), (), [0, 0, 1, 0]),
        ((9, 1, 1, 7, 4), (), [8 - 2, 0, 0, 3 - 2]),  # over 2 psi, which is scatter
    ],
)
def test_more_draws_are_made_where_a_drop_fell_and_nothing_was_noted(drops_psi, changed_days, fell):
    at_days = 10.0 * np.arange(1, len(drops_psi) + 1)
    found = unnoted.by_falls(at_days, PSI_PA * np.array(drops_psi, float), np.array(changed_days))
    flat = np.full(at_days.size - 1, 1.0 / (at_days.size - 1))
    weight = np.array(fell, float)
    expected = flat if not weight.any() else 0.3 * flat + 0.7 * weight / weight.sum()
    assert found == pytest.approx(expected)
    assert unnoted.by_falls(at_days[:1], np.ones(1), np.zeros(0)).size == 0


def test_axes_are_even_or_even_in_the_logarithm():
    z = np.array([-9.0, 0.0, norm.ppf(0.75), 9.0])
    assert axes.uniform("x", 2.0, 10.0).at(z) == pytest.approx([2.0, 6.0, 8.0, 10.0])
    assert axes.head("x", 100.0, 60.0, 0.5).at(z) == pytest.approx([-30.0, -5.0, 7.5, 20.0])
    assert axes.normal("x", 3.0).at(z) == pytest.approx(3.0 * z)
    assert axes.of_span("x", None, 7.0).at(z) == pytest.approx([7.0] * 4)
    for logarithmic, expected in ((True, [1.0, 4.0, 8.0, 16.0]), (False, [1.0, 8.5, 12.25, 16.0])):
        span = Span("x", 1.0, 16.0, None, logarithmic)
        assert axes.of_span("x", span, 7.0).at(z) == pytest.approx(expected)


def test_draws_leave_no_corner_out():
    z = axes.spread_evenly(1024, 3, 5)
    assert z.shape == (1024, 3)
    for k in range(3):  # of a scrambled Sobol sequence, 16 in each sixty-fourth
        counts, _ = np.histogram(norm.cdf(z[:, k]), 64, (0.0, 1.0))
        assert set(counts.tolist()) == {16}


@pytest.fixture
def tank(monkeypatch):
    """A house whose tank loses 4 % a year and is known to."""
    monkeypatch.setattr(slow, "spans", lambda _scenario: [])
    return changed_site.site(pressure_tank__precharge_loss="4 %/yr")


def _known(readings=(), acts=()):
    return Diary(tuple(readings), tuple(acts))


def test_a_precharge_that_was_set_falls_by_its_loss(tank):
    """P exp(-0.04 t), and the time to P less the limit is ln(P / (P - limit)) / 0.04 years."""
    at = datetime(2025, 6, 1, 12)
    task = next(one.name for one in tank.tasks if "set precharge" in one.effects)
    found = slow.precharge(tank, _known(acts=[Act(at, task)]), TODAY, 4000.0)
    years = (datetime(2027, 6, 1) - datetime(2025, 6, 1)).days / YEAR_D
    assert found.now_pa == pytest.approx(tank.tank.precharge_pa * math.exp(-0.04 * years), rel=1e-4)
    whole = math.log(tank.tank.precharge_pa / (tank.tank.precharge_pa - found.limit_pa)) / 0.04
    assert found.days == pytest.approx(max(whole - years, 0.0) * YEAR_D, abs=1.0)
    assert found.readings == 0 and found.size == pytest.approx(slow.DRAWS)


def test_a_precharge_nobody_set_is_of_any_age_up_to_three_years(tank):
    found = slow.precharge(tank, _known(), TODAY, 4000.0)
    share = found.now_pa / tank.tank.precharge_pa
    years = -np.log(share) / 0.04
    assert np.quantile(years, [0.0, 0.25, 0.5, 0.75, 1.0]) == pytest.approx(
        [0.0, 0.75, 1.5, 2.25, 3.0], abs=0.02
    )


def test_a_reading_tells_how_long_it_was_left_and_one_before_it_was_set_tells_nothing(tank):
    start_pa = tank.tank.precharge_pa
    read = Reading(datetime(2027, 5, 31, 9), "precharge", 0.9 * start_pa)
    told = slow.precharge(tank, _known([read]), TODAY, 4000.0)
    plain = slow.precharge(tank, _known(), TODAY, 4000.0)
    assert np.median(told.now_pa) < np.median(plain.now_pa) and told.readings == 1
    assert told.size < plain.size
    task = next(one.name for one in tank.tasks if "set precharge" in one.effects)
    set_later = Act(read.at + timedelta(hours=4), task)
    after = slow.precharge(tank, _known([read], [set_later]), TODAY, 4000.0)
    assert after.size == pytest.approx(slow.DRAWS)
    assert after.now_pa == pytest.approx(start_pa, rel=1e-3)


@pytest.mark.parametrize(
    ("size", "count", "kinds", "carries"),
    [
        (50.0, 0, [], True),
        (49.9, 0, [], False),
        (50.0, 9, ["misread"] * 3, True),
        (50.0, 9, ["misread"] * 4, False),
        (50.0, 10, ["fell", "backwards", "misread"], True),
        (50.0, 11, ["fell", "backwards", "misread", "misread"], False),
        (50.0, 2, ["misread"], True),
        (50.0, 2, ["misread", "misread"], False),
        (50.0, 100, ["swapped"], False),
        (50.0, 3, ["unit", "not noted", "unit"], True),
    ],
)
def test_readings_carry_a_date_while_a_third_of_them_at_most_were_misread(size, count, kinds, carries):
    about = [fit.Misfit(kind, "UV", TODAY, TODAY) for kind in kinds]
    assert fit.fits(SimpleNamespace(size=size), count, about) is carries


def test_only_a_built_in_site_has_an_invented_diary(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert home.invented(None) == home.invented(load.DEMO)
    assert home.invented(load.DEMO).name == "family_house_diary"
    assert home.invented("cottage") is None and home.invented("mine.toml") is None
    (tmp_path / "other").mkdir()
    assert home.invented(str(tmp_path / "other")) is None
