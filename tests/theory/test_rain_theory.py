"""The rain generator against the theory of its own chain, at four standard errors from known variance."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import digamma, gammaln, polygamma
from scipy.stats import gamma

from sim.supply import rain
from sim.supply.weather import USUAL, Weather

DAYS_A_YEAR = 365
MONTHS = rain.month_index(np.datetime64("2013-01-01") + np.arange(DAYS_A_YEAR))
# Seattle 2012-2015 (public-domain record): P(wet|dry), P(wet|wet), gamma shape, scale mm, January first.
TABLE = np.array(
    [
        (0.3220, 0.7344, 0.9767, 7.2292),
        (0.4615, 0.7432, 0.8165, 7.0797),
        (0.3725, 0.7397, 0.8334, 9.9643),
        (0.4333, 0.5500, 1.0574, 6.0176),
        (0.1444, 0.6176, 0.7908, 7.7172),
        (0.2289, 0.4865, 0.7913, 4.5390),
        (0.0804, 0.1667, 0.6001, 7.3021),
        (0.1165, 0.4762, 0.6505, 11.4395),
        (0.2118, 0.4857, 0.5619, 11.9752),
        (0.2727, 0.7414, 0.8398, 9.8270),
        (0.3542, 0.7500, 0.7404, 12.2230),
        (0.3902, 0.7831, 0.9634, 7.9799),
    ]
).T
SEATTLE = rain.RainStatistics(TABLE[0], TABLE[1], TABLE[2], TABLE[3] / 1000.0)
N_YEARS = 4000


def chain_moments():
    """Return each day's P(wet) and the covariance of wet days, started from January's long run."""
    p01, p11 = TABLE[0][MONTHS], TABLE[1][MONTHS]
    share = np.empty(DAYS_A_YEAR)
    share[0] = p01[0] / (1.0 + p01[0] - p11[0])
    for day in range(1, DAYS_A_YEAR):
        share[day] = share[day - 1] * p11[day] + (1.0 - share[day - 1]) * p01[day]
    covariance = np.diag(share * (1.0 - share))
    for day in range(DAYS_A_YEAR):  # Cov(X_i, X_j) = Var(X_i) times the product of (p11 - p01) in between
        decay = np.cumprod(p11[day + 1 :] - p01[day + 1 :])
        covariance[day, day + 1 :] = covariance[day + 1 :, day] = covariance[day, day] * decay
    return share, covariance


@pytest.fixture(scope="module")
def years_mm():
    rng = np.random.default_rng(20120101)
    return np.array([1e3 * rain.generate(SEATTLE, MONTHS, rng) for _ in range(N_YEARS)])


def test_wet_days_of_a_year_against_the_chain(years_mm):
    share, covariance = chain_moments()
    counts = np.count_nonzero(years_mm, axis=1)
    assert counts.mean() == pytest.approx(share.sum(), abs=4.0 * np.sqrt(covariance.sum() / N_YEARS))


def test_rain_of_a_year_against_the_chain(years_mm):
    share, covariance = chain_moments()
    mean_mm = (TABLE[2] * TABLE[3])[MONTHS]
    variance = mean_mm @ covariance @ mean_mm + (share * (TABLE[2] * TABLE[3] ** 2)[MONTHS]).sum()
    annual_mm = years_mm.sum(axis=1)
    assert annual_mm.mean() == pytest.approx(share @ mean_mm, abs=4.0 * np.sqrt(variance / N_YEARS))


def test_rain_of_a_year_against_an_independent_run(years_mm):
    """Annual mean 1108.6 mm, sd 134.5; wet days 156.0, sd 12.6: a separate program, 20,000 years (grade C).

    Four standard errors of the difference of two independent runs, and half the last printed digit.
    """
    error = np.sqrt(1.0 / N_YEARS + 1.0 / 20_000)
    assert years_mm.sum(axis=1).mean() == pytest.approx(1108.6, abs=4.0 * 134.5 * error + 0.05)
    assert np.count_nonzero(years_mm, axis=1).mean() == pytest.approx(156.0, abs=4.0 * 12.6 * error + 0.05)


def test_spread_of_the_chain_agrees_with_an_independent_run():
    """The theory of the test itself: sd of annual rain 134.5 mm and of wet days 12.6 (C).

    A standard deviation of 20,000 years has a relative error of 1/sqrt(2 x 20,000) = 0.5 %; four of them.
    """
    share, covariance = chain_moments()
    mean_mm = (TABLE[2] * TABLE[3])[MONTHS]
    variance = mean_mm @ covariance @ mean_mm + (share * (TABLE[2] * TABLE[3] ** 2)[MONTHS]).sum()
    assert np.sqrt(variance) == pytest.approx(134.5, rel=0.02)
    assert np.sqrt(covariance.sum()) == pytest.approx(12.6, rel=0.02)


def test_first_day_is_stationary():
    """P(wet) of the first day is p01/(1 + p01 - p11) of its month; binomial error."""
    stats = rain.RainStatistics(np.full(12, 0.2), np.full(12, 0.7), np.ones(12), np.full(12, 1e-3))
    rng, n = np.random.default_rng(5), 4000
    wet = sum(rain.generate(stats, np.array([6]), rng)[0] > 0.0 for _ in range(n))
    assert wet / n == pytest.approx(0.4, abs=4.0 * np.sqrt(0.4 * 0.6 / n))


def test_wet_spells_have_geometric_length():
    """Mean wet spell 1/(1 - p11), variance p11/(1 - p11)^2 (Richardson 1981, property of the chain)."""
    p11 = 0.7
    stats = rain.RainStatistics(np.full(12, 0.2), np.full(12, p11), np.ones(12), np.full(12, 1e-3))
    wet = rain.generate(stats, np.zeros(200_000, dtype=np.int64), np.random.default_rng(6)) > 0.0
    edges = np.flatnonzero(np.diff(wet.astype(int)))
    spells = np.diff(edges)[(0 if wet[edges[0] + 1] else 1) :: 2]
    error = np.sqrt(p11 / (1.0 - p11) ** 2 / spells.size)
    assert spells.mean() == pytest.approx(1.0 / (1.0 - p11), abs=4.0 * error)


def test_gamma_shape_against_scipy():
    """The same likelihood solved by scipy.stats.gamma.fit, which stops at about 1e-8."""
    rng = np.random.default_rng(7)
    for shape in (0.3, 0.8, 1.0, 2.5, 40.0):
        sample = rng.gamma(shape, 3.0, 200)
        ours = rain.gamma_shape(float(np.log(sample.mean()) - np.log(sample).mean()))
        assert ours == pytest.approx(gamma.fit(sample, floc=0)[0], rel=1e-6)


def test_fit_finds_what_generated_the_record():
    """Standard errors of counted shares, sqrt(p(1-p)/n), and of the shape, sqrt(a/(n(a psi1(a)-1)))."""
    p01, p11, shape, n = 0.25, 0.65, 0.8, 120_000
    truth = rain.RainStatistics(np.full(12, p01), np.full(12, p11), np.full(12, shape), np.full(12, 9e-3))
    month = np.zeros(n, dtype=np.int64)
    found = rain.fit(rain.generate(truth, month, np.random.default_rng(8)), month, 0.0)
    wet = n * p01 / (1.0 + p01 - p11)
    trigamma = float((1.0 / (shape + np.arange(1e6)) ** 2).sum())  # Abramowitz & Stegun 6.4.10
    assert found.p_wet_after_wet[0] == pytest.approx(p11, abs=4.0 * np.sqrt(p11 * (1 - p11) / wet))
    assert found.p_wet_after_dry[0] == pytest.approx(p01, abs=4.0 * np.sqrt(p01 * (1 - p01) / (n - wet)))
    error = np.sqrt(shape / (wet * (shape * trigamma - 1.0)))
    assert found.shape[0] == pytest.approx(shape, abs=4.0 * error)


# --- weather that holds ---
FOR_EVER = np.full(730_000, 5, dtype=np.int64)  # a June of 2000 years


def batch_error(values, batches=200):
    """Return mean and standard error of a series that remembers, from means of long batches."""
    means = values.reshape(batches, -1).mean(axis=1)
    return means.mean(), means.std(ddof=1) / np.sqrt(batches)


@pytest.mark.parametrize("held", [USUAL, Weather(3.0, 1.2, 0.4), Weather(30.0, 0.6, 0.3)])
def test_weather_keeps_the_days_of_the_table(held):
    """Share of wet days p01/(1 + p01 - p11), chance after a wet day, mean depth and mean logarithm."""
    stats = replace(SEATTLE, weather=held)
    depth_mm = 1e3 * rain.generate(stats, FOR_EVER, np.random.default_rng(31))
    wet = (depth_mm > 0.0).astype(float)
    p01, p11, shape, scale_mm = TABLE[:, 5]
    share, error = batch_error(wet)
    assert share == pytest.approx(p01 / (1.0 + p01 - p11), abs=4.0 * error)
    again, error = batch_error(np.append(wet[1:] * wet[:-1], 0.0) - p11 * wet)
    assert again == pytest.approx(0.0, abs=4.0 * error)
    over, error = batch_error(depth_mm - shape * scale_mm * wet)
    assert over == pytest.approx(0.0, abs=4.0 * error)
    log_mm = np.where(wet > 0.0, np.log(np.where(wet > 0.0, depth_mm, 1.0)), 0.0)
    over, error = batch_error(log_mm - (digamma(shape) + np.log(scale_mm)) * wet)
    assert over == pytest.approx(0.0, abs=4.0 * error)


def test_mean_rain_of_a_year_stays():
    """The mean of 4,000 years of the plain chain (closed form), though years now spread more."""
    stats, rng = replace(SEATTLE, weather=USUAL), np.random.default_rng(32)
    years = np.array([1e3 * rain.generate(stats, MONTHS, rng).sum() for _ in range(N_YEARS)])
    share, covariance = chain_moments()
    mean_mm = (TABLE[2] * TABLE[3])[MONTHS]
    plain = np.sqrt(mean_mm @ covariance @ mean_mm + (share * (TABLE[2] * TABLE[3] ** 2)[MONTHS]).sum())
    assert years.mean() == pytest.approx(share @ mean_mm, abs=4.0 * years.std() / np.sqrt(N_YEARS))
    assert years.std() > 1.3 * plain


def power_of(shape, off):
    """Return q of ln G(a + q) - ln G(a) - q digamma(a) = ln a - digamma(a) - off, by bisection."""
    wanted = np.log(shape) - digamma(shape) - off
    return brentq(lambda q: gammaln(shape + q) - gammaln(shape) - q * digamma(shape) - wanted, 0.0, 1.0)


def test_the_state_is_forgotten_as_told():
    """Always wet: the logarithm of depth is state and noise, its covariance d^2 exp(-lag/memory)."""
    memory, spread = 8.0, 0.5
    stats = rain.RainStatistics(
        np.ones(12), np.ones(12), np.full(12, 0.9), np.full(12, 1e-3), Weather(memory, 0.3, spread)
    )
    logs = np.log(rain.generate(stats, FOR_EVER, np.random.default_rng(33)))
    noise = power_of(0.9, 0.5 * spread**2) ** 2 * polygamma(1, 0.9)
    centred = logs - logs.mean()
    for lag in (1, 4, 8, 16):
        found, error = batch_error((centred[lag:] * centred[:-lag])[: 730_000 - 2000])
        assert found == pytest.approx(spread**2 * np.exp(-lag / memory), abs=4.0 * error + 1e-3)
    variance, error = batch_error(centred**2)
    assert variance == pytest.approx(spread**2 + noise, abs=4.0 * error + 1e-3)


def test_spread_of_years_of_a_lognormal_state():
    """Always wet: Var(sum) = sum_ij m^2 (exp(d^2 r^|i-j|) - 1) + n m^2 exp(d^2) v, v: cv^2 in a state."""
    held = Weather(20.0, 0.0, 0.3)
    stats = rain.RainStatistics(np.ones(12), np.ones(12), np.full(12, 0.8), np.full(12, 1.25e-3), held)
    rng, n = np.random.default_rng(34), 4000
    totals = np.array([rain.generate(stats, MONTHS, rng).sum() for _ in range(n)])
    lag = np.arange(DAYS_A_YEAR)
    power = power_of(0.8, 0.5 * 0.3**2)
    within = np.exp(gammaln(0.8 + 2.0 * power) + gammaln(0.8) - 2.0 * gammaln(0.8 + power)) - 1.0
    shared = np.expm1(0.09 * np.exp(-lag / 20.0))
    pairs = np.where(lag == 0, DAYS_A_YEAR, 2.0 * (DAYS_A_YEAR - lag))
    variance = 1e-6 * ((pairs * shared).sum() + DAYS_A_YEAR * np.exp(0.09) * within)
    skew = ((totals - totals.mean()) ** 4).mean() / totals.var() ** 2  # kurtosis, for the error of a variance
    assert totals.var(ddof=1) == pytest.approx(variance, rel=4.0 * np.sqrt((skew - 1.0) / n) + 1e-3)


def test_fit_finds_the_weather_of_long_records():
    """Mean of two records of 300 years, far from where the search begins; four errors of that mean.

    Standard deviations of one such fit, of 12 generated records: 0.35 of the logarithm of memory, 0.08, 0.07.
    """
    truth = replace(SEATTLE, weather=Weather(30.0, 0.3, 0.5))
    days = np.arange("1701-01-01", "2001-01-01", dtype="datetime64[D]")
    month = rain.month_index(days)
    records = [rain.generate(truth, month, np.random.default_rng(seed)) for seed in (35, 36)]
    found = [rain.fit(depth_m, month, 0.0).weather for depth_m in records]
    error = 4.0 / np.sqrt(2.0)
    memory = np.mean([np.log(one.memory_days) for one in found])
    assert memory == pytest.approx(np.log(30.0), abs=error * 0.35)
    assert np.mean([one.wetness_spread for one in found]) == pytest.approx(0.3, abs=error * 0.08)
    assert np.mean([one.depth_spread for one in found]) == pytest.approx(0.5, abs=error * 0.07)


def test_fit_of_less_than_two_years_takes_the_usual_weather():
    month = rain.month_index(np.datetime64("2001-01-01") + np.arange(500))
    assert rain.fit(rain.generate(SEATTLE, month, np.random.default_rng(36)), month, 0.0).weather == USUAL
