"""Scores of forecasts held against a reference library, textbook bounds and sums done another way."""

import csv
import math
from datetime import date, datetime, timedelta

import numpy as np
import pytest
from scipy import stats

from sim.diary import archive
from sim.diary.book import Diary
from sim.diary.described import FORECASTS
from sim.diary.entries import Act, Reading
from sim.diary.forecast import MEMBERS, Forecast, calendar_days, line_of, members_of
from sim.diary.score import CAME, CHANGED, OPEN, came_of, crps, score, scored
from sim.errors import InputError
from sim.scenario.read.load import load

MADE = date(2026, 1, 31)
PSI = 6894.757293168361


@pytest.fixture(scope="module")
def site():
    return load("family_house")


def forecast(rng, part="sediment", made=MADE, limit=10 * PSI):
    days = np.minimum(rng.gamma(3.0, 40.0, 500), 730.0)
    return Forecast(
        made, part, limit, 730.0, members_of(days), members_of(days * rng.uniform(0.5, 2.0)),
        float(np.quantile(days, 0.1)), 90.0, 120.5, "d" * 16,
    )  # fmt: skip


def reading(day, value, name="drop over sediment", made=MADE):
    midnight = datetime.combine(made, datetime.min.time()) + timedelta(days=1)
    return Reading(midnight + timedelta(days=day), name, value)


def test_crps_is_that_of_a_reference_library():
    import scoringrules  # noqa: PLC0415  compiles for seconds: not in each process that collects tests

    rng = np.random.default_rng(3)
    for size in (1, 2, 7, MEMBERS):
        for _ in range(20):
            members, came = rng.normal(50.0, 20.0, size), float(rng.normal(50.0, 30.0))
            wanted = scoringrules.crps_ensemble(came, members, estimator="nrg")
            assert crps(members, came) == pytest.approx(float(wanted), rel=1e-12, abs=1e-12)


def test_crps_of_many_normal_members_is_the_closed_form():
    """Gneiting & Raftery 2007, eq. 20: sd (z (2 Phi(z) - 1) + 2 phi(z) - 1/sqrt(pi))."""
    members = stats.norm(100.0, 15.0).ppf((np.arange(20000) + 0.5) / 20000)
    for came in (60.0, 95.0, 130.0):
        z = (came - 100.0) / 15.0
        wanted = 15.0 * (z * (2 * stats.norm.cdf(z) - 1) + 2 * stats.norm.pdf(z) - 1 / math.sqrt(math.pi))
        assert crps(members, came) == pytest.approx(wanted, rel=1e-3)


def test_what_came_is_read_off_the_diary(site):
    one = forecast(np.random.default_rng(1))
    later = MADE + timedelta(days=100)
    below, above = reading(20.0, 8 * PSI), reading(40.0, 12 * PSI)
    changed = Act(reading(10.0, 0.0).at, "change cartridge", "sediment")
    assert came_of(one, site, Diary((below, above), ()), later) == (CAME, pytest.approx(30.0))
    assert came_of(one, site, Diary((above,), ()), later) == (CAME, pytest.approx(40.0))
    assert came_of(one, site, Diary((below,), ()), later) == (OPEN, 100.0)
    assert came_of(one, site, Diary((below, above), (changed,)), later) == (CHANGED, pytest.approx(10.0))
    after = MADE + timedelta(days=731)
    assert came_of(one, site, Diary((below,), ()), after) == (CAME, 730.0)
    light = forecast(np.random.default_rng(1), "UV", limit=0.6)
    seen = Diary((reading(5.0, 0.64, "UV"), reading(15.0, 0.56, "UV")), ())
    assert came_of(light, site, seen, later) == (CAME, pytest.approx(10.0))


def test_a_reading_of_the_day_it_was_made_does_not_count_as_what_came(site):
    one = forecast(np.random.default_rng(1))
    early = Reading(
        datetime.combine(MADE, datetime.min.time()) + timedelta(hours=9), "drop over sediment", 12 * PSI
    )
    assert came_of(one, site, Diary((early,), ()), MADE + timedelta(days=30)) == (OPEN, 30.0)


def many(site, count, folder):
    """Forecasts kept on disk, and a diary in which each comes on its own day."""
    rng = np.random.default_rng(11)
    kept, readings, acts = [], [], []
    for k in range(count):
        made = MADE + timedelta(days=800 * k)
        kept.append(forecast(rng, ("sediment", "carbon")[k % 2], made))
        came = float(rng.gamma(3.0, 40.0))
        name = f"drop over {kept[-1].part}"
        readings += [reading(came - 1.0, 9 * PSI, name, made), reading(came + 1.0, 11 * PSI, name, made)]
        acts.append(Act(reading(came + 2.0, 0.0, name, made).at, "change cartridge", kept[-1].part))
    assert archive.keep(folder, kept) == count
    return Diary(tuple(sorted(readings)), tuple(sorted(acts)))


def test_the_score_is_that_of_another_sum_over_the_archive(site, tmp_path):
    """Read the file anew with the csv module alone and score it by other formulas."""
    diary = many(site, 30, tmp_path)
    found = scored(archive.read(tmp_path), site, diary, date(2100, 1, 1))
    total = score(found)
    came_days = {one.forecast.made: one.days for one in found}
    own, prior, line, calendar, hits, late, ranks = [], [], [], [], {0.5: 0, 0.8: 0, 0.9: 0}, [], []
    with (tmp_path / FORECASTS).open(newline="") as file:
        for row in csv.DictReader(file):
            y = came_days[date.fromisoformat(row["made"])]
            x = np.array([float(v) for v in row["members_days"].split()])
            p = np.array([float(v) for v in row["prior_days"].split()])
            for members, into in ((x, own), (p, prior)):
                pairs = np.abs(members[:, None] - members[None, :]).mean()
                into.append(np.abs(members - y).mean() - 0.5 * pairs)
            line.append(abs(float(row["line_days"]) - y))
            calendar.append(abs(float(row["calendar_days"]) - y))
            late.append(y < float(row["advised_days"]))
            ranks.append(((x < y).sum() + 0.5 * (x == y).sum()) / x.size)
            for share in hits:
                low, high = np.percentile(x, [50 - 50 * share, 50 + 50 * share])
                hits[share] += low <= y <= high
    assert total.count == 30
    assert total.crps_days == pytest.approx(np.mean(own), rel=1e-9)
    assert total.late_share == pytest.approx(np.mean(late), rel=1e-9)
    for name, other in (("prior", prior), ("line", line), ("calendar", calendar)):
        assert total.skill[name][0] == pytest.approx(1 - sum(own) / sum(other), rel=1e-9)
        assert total.skill[name][1] <= total.skill[name][0] <= total.skill[name][2]
    for one in total.coverage:
        assert (one.hits, one.count) == (hits[one.named_share], 30)
        # Clopper & Pearson 1934, Biometrika 26:404, by quantiles of the beta distribution
        low = stats.beta.ppf(0.025, one.hits, 30 - one.hits + 1)
        high = stats.beta.ppf(0.975, one.hits + 1, 30 - one.hits) if one.hits < 30 else 1.0
        assert (one.low, one.high) == (pytest.approx(low, abs=1e-9), pytest.approx(high, abs=1e-9))
    counts = np.bincount(np.minimum((np.array(ranks) * 5).astype(int), 4), minlength=5)
    chi2 = ((counts - 6.0) ** 2 / 6.0).sum()
    assert total.pit_probability == pytest.approx(stats.chi2.sf(chi2, 4), rel=1e-9)


def test_few_forecasts_have_no_ranks_and_none_no_skill(site, tmp_path):
    diary = many(site, 7, tmp_path)
    total = score(scored(archive.read(tmp_path), site, diary, date(2100, 1, 1)))
    assert total.count == 7 and math.isnan(total.pit_probability)
    empty = score(())
    assert (empty.count, empty.skill) == (0, {}) and math.isnan(empty.crps_days)


def test_a_changed_part_is_scored_by_whether_it_was_foretold_before(site):
    one = forecast(np.random.default_rng(1))
    changed = Act(reading(60.0, 0.0).at, "change cartridge", "sediment")
    (found,) = scored([one], site, Diary((), (changed,)), date(2027, 1, 1))
    share = sum(day <= 60.0 for day in one.members) / MEMBERS
    assert (found.outcome, found.brier) == (CHANGED, pytest.approx(share**2))


def test_the_archive_gives_back_what_was_kept_and_adds_none_twice(tmp_path):
    rng = np.random.default_rng(5)
    kept = [forecast(rng), forecast(rng, "UV", limit=0.6)]
    assert archive.keep(tmp_path, kept) == 2
    assert archive.keep(tmp_path, kept) == 0
    assert archive.read(tmp_path) == tuple(kept)
    path = tmp_path / FORECASTS
    path.write_text(path.read_text().replace(",90.0,", ",95.0,", 1))
    with pytest.raises(InputError, match="line 2: was changed after it was written"):
        archive.read(tmp_path)


def test_what_forecasts_are_held_against(site):
    changed = Act(datetime(2026, 1, 1, 12), "change cartridge", "sediment")
    rule = next(r for r in site.policies[0].rules if r.stage == "sediment" and r.when == "calendar")
    days = calendar_days(site, Diary((), (changed,)), "sediment", MADE)
    assert days == pytest.approx(rule.every_s / 86400.0 - 29.5)
    readings = tuple(
        Reading(datetime(2026, 1, day, 0), "drop over sediment", day * 0.1 * PSI) for day in (11, 21, 31)
    )
    # 0.1 psi a day: 10 psi on day 100, 69 days after the midnight that begins 31 January
    found = line_of(site, Diary(readings, (changed,)), "sediment", MADE, 10 * PSI)
    assert found == pytest.approx(69.0)
