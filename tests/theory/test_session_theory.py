"""Draws that come in sessions, days that differ, against the theory of their law, at four standard errors.

With K sessions a day at independent times and a Poisson number of draws in each, at independent times after
its beginning, draws are a Neyman-Scott process with a fixed number of clusters (Cox & Isham 1980, Point
Processes; Daley & Vere-Jones 2003, An Introduction to the Theory of Point Processes; both from memory); what
it comes to is computed here by quadrature.
"""

import numpy as np
import pytest
from scipy.stats import chi2, gamma, lognorm, nbinom

from sim.demand import days, sessions, trace
from sim.demand.end_use import EndUse
from sim.demand.profile import profile
from sim.scenario.values.ranges import ranges
from sim.scenario.values.variants import Span

DAY_S, HOUR_S = 86400.0, 3600.0
FLAT, INDOOR = profile("flat"), profile("indoor")
HABIT = sessions.SessionHabit(6.0, 420.0, 1.5, INDOOR)


def use(events, hours=INDOOR, **other):
    return EndUse(
        "use", "volume", events, 0.01, 0.0, 1e-4, 4e5, 0.0, 0.0, 1.0, 0.0, 600.0, hours, hours, **other
    )


def drawn(uses, n_days, seed, habit=HABIT, people=1.0, factor=None, weekday=0):
    """Return starts and uses of a trace in sessions."""
    house, day_factor = np.full(n_days, people), np.ones(n_days) if factor is None else factor
    found = sessions.sessions_of(
        house * day_factor, days.weekend(n_days, weekday), habit, np.random.default_rng((seed, 99))
    )
    generators = [np.random.default_rng((seed, place)) for place in range(len(uses))]
    got = trace.generate(uses, house, day_factor, weekday, generators, found)
    return got.start_s, got.use


def hourly(start_s, n_days):
    return np.bincount((start_s // HOUR_S).astype(int), minlength=24 * n_days).reshape(n_days, 24)


def of_variance(values):
    """Return the standard error of a sample variance, by the sample's own fourth moment."""
    centred = values - values.mean()
    return np.sqrt(((centred**4).mean() - values.var() ** 2) / values.size)


@pytest.mark.parametrize("events", [0.5, 5.0, 20.0])  # 0.5 is rare enough for one count of all sessions
def test_each_hour_keeps_its_mean_and_varies_by_its_sessions(events):
    """M sessions of K fall in the hour, binomial; N|M is Poisson: Var N = mu + mu^2 (1 - p)/(K p)."""
    n_days, k = 8000, HABIT.sessions_per_person_day
    count = hourly(drawn([use(events)], n_days, 31)[0], n_days)
    mean = events * INDOOR
    variance = mean + mean**2 * (1.0 - INDOOR) / (k * INDOOR)
    assert np.abs(count.mean(axis=0) - mean).max() < np.max(4.0 * np.sqrt(variance / n_days))
    worst = [abs(count[:, h].var() - variance[h]) / of_variance(count[:, h]) for h in range(24)]
    assert max(worst) < 4.0


@pytest.mark.parametrize("name", ["shower", "daytime", "hot water weekday"])
def test_hours_follow_the_uses_own_profile_and_not_that_of_sessions(name):
    """The sum over hours of (seen - mean)^2/variance is chi-square; hours are hardly bound to each other."""
    n_days, hours = 8000, profile(name)
    count = hourly(drawn([use(10.0, hours)], n_days, 32)[0], n_days)
    there = hours > 0.0
    mean = 10.0 * hours[there]
    variance = mean + mean**2 * (1.0 - INDOOR[there]) / (HABIT.sessions_per_person_day * INDOOR[there])
    statistic = ((count.mean(axis=0)[there] - mean) ** 2 / (variance / n_days)).sum()
    assert not count[:, ~there].any()
    assert chi2.ppf(3e-5, there.sum()) < statistic < chi2.isf(3e-5, there.sum())


def test_as_many_sessions_every_day_leave_the_count_of_a_day_poisson():
    """Mean and variance are both the number of events: sessions do not add to the spread of days."""
    n_days, events = 20_000, 12.0
    count = hourly(drawn([use(events)], n_days, 33)[0], n_days).sum(axis=1)
    assert count.mean() == pytest.approx(events, abs=4.0 * np.sqrt(events / n_days))
    assert count.var() == pytest.approx(events, abs=4.0 * np.sqrt((events + 2.0 * events**2) / n_days))


def test_two_uses_meet_in_sessions():
    """Cov(N1, N2) in an hour is mu1 mu2 (1 - p)/(K p); without sessions it is nothing."""
    n_days, hour = 20_000, 7
    start_s, which = drawn([use(5.0), use(20.0)], n_days, 34)
    toilet, tap = (hourly(start_s[which == place], n_days)[:, hour].astype(float) for place in (0, 1))
    p = INDOOR[hour]
    wanted = 5.0 * p * 20.0 * p * (1.0 - p) / (HABIT.sessions_per_person_day * p)
    product = (toilet - toilet.mean()) * (tap - tap.mean())
    assert product.mean() == pytest.approx(wanted, abs=4.0 * product.std() / np.sqrt(n_days))
    assert wanted > 8.0 * product.std() / np.sqrt(n_days)


def reach(window_s, habit, at_s):
    """Return the chance that a draw of a session begun at these times of the hour falls into its start."""
    law = lognorm(habit.spread, scale=habit.median_s)
    rounds = np.arange(200)[:, None] * HOUR_S - at_s
    return (law.cdf(window_s + rounds) - law.cdf(rounds)).sum(axis=0)


def void(window_s, habit, events, p):
    """Return the chance that a window within an hour of share p holds no draw."""
    at_s = (np.arange(20_000) + 0.5) * (HOUR_S / 20_000)
    k = habit.sessions_per_person_day
    return (1.0 - p + p * np.exp(-events / k * reach(window_s, habit, at_s)).mean()) ** k


@pytest.mark.parametrize("window_s", [60.0, 300.0, 1800.0])
@pytest.mark.parametrize("habit", [HABIT, sessions.SessionHabit(14.0, 150.0, 0.8, FLAT)])
def test_windows_without_a_draw(window_s, habit):
    """The void probability of the process, in an hour of every day; days are independent."""
    n_days, hour, events = 20_000, 18, 25.0
    start_s, _ = drawn([use(events, habit.profile)], n_days, 35, habit)
    inside = (start_s % DAY_S >= hour * HOUR_S + 900.0) & (start_s % DAY_S < hour * HOUR_S + 900.0 + window_s)
    empty = n_days - np.unique(start_s[inside] // DAY_S).size
    wanted = void(window_s, habit, events, habit.profile[hour])
    assert empty / n_days == pytest.approx(wanted, abs=4.0 * np.sqrt(wanted * (1.0 - wanted) / n_days))


@pytest.mark.parametrize("gap_s", [60.0, 300.0, 1200.0])
def test_gaps_between_draws(gap_s):
    """P(no draw within x after a draw) = -V'(x)/rate (Palm, Khinchin), where x of the hour is left."""
    n_days, hour, events = 20_000, 7, 25.0
    start_s, _ = drawn([use(events)], n_days, 36)
    apart = np.diff(start_s, append=np.inf) >= gap_s
    in_hour_s = start_s % DAY_S - hour * HOUR_S
    asked = (in_hour_s >= 0.0) & (in_hour_s < HOUR_S - gap_s)
    day = (start_s[asked] // DAY_S).astype(int)
    alone, all_of_them = (np.bincount(day, w, n_days) for w in (apart[asked], None))
    share = alone.sum() / all_of_them.sum()
    error = (
        np.sqrt(((alone - share * all_of_them) ** 2).sum()) / all_of_them.sum()
    )  # of a ratio, days independent
    rate_per_s, step_s = events * INDOOR[hour] / HOUR_S, 0.5
    either_side = [void(gap_s + at_s, HABIT, events, INDOOR[hour]) for at_s in (step_s, -step_s)]
    slope = (either_side[0] - either_side[1]) / (2.0 * step_s)
    assert share == pytest.approx(-slope / rate_per_s, abs=4.0 * error)
    assert error < 0.005


def test_starts_are_even_within_the_hour():
    """Mean of a uniform number; its error by days, as the draws of a session go together."""
    n_days = 8000
    start_s, _ = drawn([use(20.0)], n_days, 37)
    within = start_s % HOUR_S / HOUR_S - 0.5
    by_day = np.bincount((start_s // DAY_S).astype(int), within, n_days)
    assert by_day.sum() / start_s.size == pytest.approx(
        0.0, abs=4.0 * np.sqrt((by_day**2).sum()) / start_s.size
    )


def test_many_sessions_are_as_none():
    """As sessions grow many, windows without a draw come to the exp(-rate x) of draws that come alone."""
    n_days, window_s = 4000, 300.0
    start_s, _ = drawn([use(25.0, FLAT)], n_days, 41, sessions.SessionHabit(200.0, 420.0, 1.5, FLAT))
    inside = start_s % HOUR_S < window_s
    empty = 24 * n_days - np.unique(start_s[inside] // HOUR_S).size
    wanted = np.exp(-25.0 / DAY_S * window_s)
    error = np.sqrt(wanted * (1.0 - wanted) / 24.0 / n_days)
    assert empty / 24.0 / n_days == pytest.approx(wanted, abs=4.0 * error + 1e-3)  # 200 are not endless


@pytest.mark.parametrize("people", [1.0, 4.0])
def test_each_person_has_days_of_his_own(people):
    """Factor of a use: gamma of mean 1 and cv/sqrt(people); its counts are negative binomial."""
    n_days, cv, events = 20_000, 0.45, 20.0
    factor = days.people_factors(np.full(n_days, people), cv, np.random.default_rng(38))
    law = gamma(people / cv**2, scale=cv**2 / people)
    kurtosis = float(law.stats(moments="k"))
    assert factor.mean() == pytest.approx(1.0, abs=4.0 * law.std() / np.sqrt(n_days))
    assert factor.var() == pytest.approx(law.var(), rel=4.0 * np.sqrt((kurtosis + 2.0) / n_days))
    count = hourly(drawn([use(events, day_cv=cv)], n_days, 39, people=people)[0], n_days).sum(axis=1)
    shape, mean = people / cv**2, events * people
    variance, kurtosis = nbinom.stats(shape, shape / (shape + mean), moments="vk")
    assert count.var() == pytest.approx(variance, rel=4.0 * np.sqrt((kurtosis + 2.0) / n_days))


def test_days_that_are_kept():
    """Correlation of days k apart is the kept share to the power k; the law of one day stays the gamma."""
    n, cv, kept_share = 200_000, 0.3, 0.25
    factor = days.day_factors(n, cv, np.random.default_rng(40), kept_share)
    same = np.diff(factor) == 0.0
    assert same.mean() == pytest.approx(kept_share, abs=4.0 * np.sqrt(kept_share * (1.0 - kept_share) / n))
    spread = np.sqrt((1.0 + kept_share) / (1.0 - kept_share) / n)  # of the mean of such a series
    assert factor.mean() == pytest.approx(1.0, abs=4.0 * cv * spread)
    batches = factor.reshape(200, -1)
    for lag in (1, 2, 3):
        each = [np.corrcoef(one[:-lag], one[lag:])[0, 1] for one in batches]
        assert np.mean(each) == pytest.approx(kept_share**lag, abs=4.0 * np.std(each) / np.sqrt(200) + 2e-3)


@pytest.mark.parametrize("weekday", range(7))
def test_a_week_keeps_its_mean(weekday):
    factor = days.week_factors(7, weekday, 1.14)
    free = days.weekend(7, weekday)
    assert factor.mean() == pytest.approx(1.0, rel=1e-14)
    assert factor[free].mean() / factor[~free].mean() == pytest.approx(1.14, rel=1e-14)


def test_homes_differ_by_half():
    """Even in the logarithm between 1/f and f: E[x^k] = sinh(k a)/(k a), a = ln f.

    Recorded: cv of the mean shower of 44 homes 0.529; its error by the normal law, cv sqrt((1/2 + cv^2)/n).
    """
    found = ranges()["house.habit_factor"]
    factor = float(found.spread.split()[1])
    a = np.log(factor)
    cv = np.sqrt(np.sinh(2.0 * a) / (2.0 * a) / (np.sinh(a) / a) ** 2 - 1.0)
    assert cv == pytest.approx(0.529, abs=4.0 * 0.529 * np.sqrt((0.5 + 0.529**2) / 44.0))
    span = Span("house.habit_factor", 1.0 / factor, factor, None, logarithmic=True)
    at = np.array([span.at(share) for share in (np.arange(20_000) + 0.5) / 20_000])
    assert at.std() / at.mean() == pytest.approx(cv, rel=1e-6)
