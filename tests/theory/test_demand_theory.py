"""Drawn households against the theory of their own law, at four standard errors from known variance."""

import itertools

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import chi2, nbinom

from sim.demand import days, peak, trace
from sim.demand.end_use import EndUse
from sim.demand.profile import profile
from sim.units import GALLON_M3, GPM_M3_S
from tests.theory import pulses

FLAT = profile("flat")
DAY_S = 86400.0


def use(bound, events, size, flow_m3_s=1e-4, **other):
    """Return an end use; size is a volume [m3] or a duration [s]."""
    fields = {
        "name": "use",
        "bound": bound,
        "events_per_person_day": events,
        "volume_m3": size if bound == "volume" else 0.0,
        "duration_s": size if bound == "time" else 0.0,
        "flow_m3_s": flow_m3_s,
        "reference_pa": 4e5,
        "flow_cv": 0.0,
        "size_cv": 0.0,
        "fills_per_event": 1.0,
        "fill_gap_s": 0.0,
        "patience_s": 1800.0,
        "weekday_profile": FLAT,
        "weekend_profile": FLAT,
    }
    return EndUse(**(fields | other))


def drawn(uses, n_days, seed, factor=None, weekday=0):
    """Return the trace of one person."""
    generators = [np.random.default_rng((seed, place)) for place in range(len(uses))]
    day_factor = np.ones(n_days) if factor is None else factor
    return trace.generate(uses, np.ones(n_days), day_factor, weekday, generators)


def test_ledger_of_a_drawn_household():
    """73.0 draws and 119.7 gal a day at 2.65 persons, from the means of the end uses (C).

    A day's draws are a sum of k fills per Poisson event, so Var = sum of lambda E[k^2]; a day's gallons have
    Var = sum of lambda V^2.
    """
    gal, gpm, n_days = GALLON_M3, GPM_M3_S, 2000
    uses = [
        use("volume", 5.0 * 2.65, 2.6 * gal, 3.0 * gpm),
        use("time", 0.69 * 2.65, 468.0, 2.026 * gpm),
        use("time", 20.0 * 2.65, 30.0, 1.0 * gpm),
        use("volume", 0.30 * 2.65, 31.0 * gal, 3.5 * gpm, fills_per_event=4.4),
        use("volume", 0.10 * 2.65, 6.1 * gal, 1.3 * gpm, fills_per_event=4.7),
        use("volume", 0.067 * 2.65, 20.2 * gal, 5.5 * gpm),
    ]
    got = drawn(uses, n_days, 11)
    rate = np.array([item.events_per_person_day for item in uses])
    fills_square = np.array([1, 1, 1, 0.6 * 16 + 0.4 * 25, 0.3 * 16 + 0.7 * 25, 1])
    event_gal = np.array([2.6, 2.026 * 7.8, 0.5, 31.0, 6.1, 20.2])
    volume = np.where(
        np.isinf(got.duration_s), got.volume_m3, got.duration_s * got.coefficient * np.sqrt(4e5)
    )
    draws_error = np.sqrt(rate @ fills_square / n_days)
    gallons_error = np.sqrt(rate @ event_gal**2 / n_days)
    assert got.start_s.size / n_days == pytest.approx(73.0, abs=4.0 * draws_error + 0.05)
    assert volume.sum() / gal / n_days == pytest.approx(119.7, abs=4.0 * gallons_error + 0.05)


SHORT = use("time", 80.0, 60.0, 6.0, flow_cv=0.5, size_cv=1.5)  # flow in L/min: 6 +/- 3; 1 min, lognormal


@pytest.fixture(scope="module")
def sampled():
    """Number running and flow at moments an hour apart, so far apart that they are independent."""
    n_days = 4000
    got = drawn([SHORT], n_days, 12)
    end_s = got.start_s + got.duration_s
    flow = got.coefficient * np.sqrt(4e5)
    moment = np.arange(1, 24 * n_days) * 3600.0
    running = np.searchsorted(got.start_s, moment, "right") - np.searchsorted(np.sort(end_s), moment, "right")
    order = np.argsort(end_s)
    began = np.concatenate([[0.0], np.cumsum(flow)])[np.searchsorted(got.start_s, moment, "right")]
    ended = np.concatenate([[0.0], np.cumsum(flow[order])])[np.searchsorted(end_s[order], moment, "right")]
    return running, began - ended


def test_number_running_is_poisson(sampled):
    """Busy mean and variance are both rho, whatever the law of duration; P(idle) = exp(-rho).

    Var of a Poisson sample variance: (rho + 2 rho^2)/n (fourth cumulant rho).
    """
    running, _ = sampled
    rho, n = pulses.busy_mean(80.0 / DAY_S, 60.0), running.size
    idle = pulses.idle_probability(rho)
    assert running.mean() == pytest.approx(rho, abs=4.0 * np.sqrt(rho / n))
    assert running.var() == pytest.approx(rho, abs=4.0 * np.sqrt((rho + 2.0 * rho**2) / n))
    assert np.mean(running == 0) == pytest.approx(idle, abs=4.0 * np.sqrt(idle * (1.0 - idle) / n))


def test_flow_is_compound_poisson(sampled):
    """Mean and variance of the flow as in Buchberger & Wu 1995: 0.33333 and 2.5 here.

    The k-th cumulant of Q is rho E[X^k]; a lognormal has E[X^k] = mean^k (1 + cv^2)^(k(k-1)/2).
    """
    _, flow = sampled
    rho, n = pulses.busy_mean(80.0 / DAY_S, 60.0), flow.size
    variance = pulses.flow_variance_m6_s2(rho, 6.0, 3.0)
    fourth = rho * 6.0**4 * (1.0 + 0.25) ** 6
    assert flow.mean() == pytest.approx(pulses.flow_mean_m3_s(rho, 6.0), abs=4.0 * np.sqrt(variance / n))
    assert flow.var() == pytest.approx(variance, abs=4.0 * np.sqrt((fourth + 2.0 * variance**2) / n))


def test_window_variance_of_short_windows():
    """A window far shorter than a draw sees a steady flow: h^2 Var[Q]; next term h/(3 duration)."""
    variance = pulses.flow_variance_m6_s2(pulses.busy_mean(1e-3, 60.0), 1.0, 0.5)
    assert pulses.window_volume_variance_m6(1e-3, 1.0, 0.5, 60.0, 0.06) == pytest.approx(
        0.06**2 * variance, rel=4e-4
    )


def test_busy_and_quiet_days_add_the_spread_of_the_mean():
    """10 uses of 2: 10 x 4, and a factor of cv 0.3 on their 20: 0.09 x 400."""
    assert pulses.daily_volume_variance_m6(10.0, 2.0, 0.0, 0.3) == pytest.approx(76.0, rel=1e-12)


@pytest.mark.parametrize("window_s", [1.0, 60.0, 3600.0])
def test_window_variance_integrates_the_covariance(window_s):
    """2 int_0^h (h - u) cov(u) du, cov(u) = lambda E[X^2] int_u^inf P(D > s) ds, by quadrature."""
    rate, mean, sd, duration = 80.0 / DAY_S, 0.1, 0.05, 60.0

    def weighted(lag_s):
        return (window_s - lag_s) * rate * (mean**2 + sd**2) * duration * np.exp(-lag_s / duration)

    wanted = 2.0 * quad(weighted, 0.0, window_s, epsabs=0.0, epsrel=1e-12)[0]
    got = pulses.window_volume_variance_m6(rate, mean, sd, duration, window_s)
    assert got == pytest.approx(wanted, rel=1e-9)


def test_window_variance_against_simulated_pulses():
    """Volumes of exponential pulses, drawn here and not by the trace, in windows of two mean durations.

    Windows lie ten apart. The fourth cumulant is lambda times the integral over starts of E[overlap^4].
    """
    rng, rate, duration, window, n = np.random.default_rng(13), 0.02, 30.0, 60.0, 40_000
    gap = 10 * window
    start = np.sort(rng.uniform(-gap, n * gap, rng.poisson(rate * (n + 1) * gap)))
    end = start + rng.exponential(duration, start.size)
    volume = np.zeros(n)
    for shift in range(2):  # a pulse meets at most its own and the next windows; longer ones are below e^-18
        place = np.floor(start / gap).astype(int) + shift
        overlap = np.minimum(end, place * gap + window) - np.maximum(start, place * gap)
        inside = (place >= 0) & (place < n) & (overlap > 0.0)
        np.add.at(volume, place[inside], overlap[inside])
    begins = np.linspace(-20 * duration, window, 4001)
    from_s = np.maximum(begins, 0.0)
    room = window - from_s
    reach = np.exp(-(from_s - begins) / duration)
    fourth_of_overlap = np.array(
        [quad(lambda x: 4.0 * x**3 * np.exp(-x / duration), 0.0, r)[0] for r in room[::40]]
    )
    fourth = rate * np.trapezoid(reach * np.interp(begins, begins[::40], fourth_of_overlap), begins)
    variance = pulses.window_volume_variance_m6(rate, 1.0, 0.0, duration, window)
    error = np.sqrt((fourth + 2.0 * variance**2) / n)
    assert volume.mean() == pytest.approx(rate * duration * window, abs=4.0 * np.sqrt(variance / n))
    assert volume.var() == pytest.approx(variance, abs=4.0 * error)


def test_daily_volume_variance():
    """Compound Poisson day: Var = lambda E[V^2]; the fourth cumulant lambda E[V^4] gives its error."""
    n_days, mean, cv, rate = 6000, 0.02, 0.4, 9.0
    got = drawn([use("volume", rate, mean, size_cv=cv)], n_days, 14)
    volume = np.bincount((got.start_s // DAY_S).astype(int), got.volume_m3, n_days)
    variance = pulses.daily_volume_variance_m6(rate, mean, cv * mean, 0.0)
    fourth = rate * mean**4 * (1.0 + cv**2) ** 6
    assert volume.mean() == pytest.approx(rate * mean, abs=4.0 * np.sqrt(variance / n_days))
    assert volume.var() == pytest.approx(variance, abs=4.0 * np.sqrt((fourth + 2.0 * variance**2) / n_days))


def test_busy_and_quiet_days_make_counts_negative_binomial():
    """A Poisson count of gamma mean is negative binomial; its moments by scipy.stats.nbinom."""
    n_days, rate, cv = 6000, 40.0, 0.3
    factor = days.day_factors(n_days, cv, np.random.default_rng(15))
    got = drawn([use("volume", rate, 0.01)], n_days, 16, factor)
    count = np.bincount((got.start_s // DAY_S).astype(int), minlength=n_days)
    shape = 1.0 / cv**2
    mean, variance, _, kurtosis = nbinom.stats(shape, shape / (shape + rate), moments="mvsk")
    assert pulses.daily_volume_variance_m6(rate, 1.0, 0.0, cv) == pytest.approx(variance, rel=1e-12)
    assert count.mean() == pytest.approx(mean, abs=4.0 * np.sqrt(variance / n_days))
    assert count.var() == pytest.approx(variance, abs=4.0 * variance * np.sqrt((kurtosis + 2.0) / n_days))


@pytest.mark.parametrize("weekend", [False, True])
def test_hours_follow_the_profile(weekend):
    """Chi-square of starts by hour against the published columns; 23 degrees of freedom, 4 sigma."""
    weekday_name, weekend_name = "shower", "hot water weekend"
    item = use(
        "time", 30.0, 60.0, weekday_profile=profile(weekday_name), weekend_profile=profile(weekend_name)
    )
    got = drawn([item], 3500, 17, weekday=3)
    day = (got.start_s // DAY_S).astype(int)
    chosen = ((day + 3) % 7 >= 5) == weekend
    hour = (got.start_s[chosen] % DAY_S // 3600.0).astype(int)
    seen = np.bincount(hour, minlength=24)
    wanted = seen.sum() * profile(weekend_name if weekend else weekday_name)
    statistic = ((seen - wanted) ** 2 / wanted).sum()
    assert chi2.ppf(3e-5, 23) < statistic < chi2.isf(3e-5, 23)


def test_starts_are_even_within_the_hour():
    """Mean and variance of a uniform number; Var of its sample variance is 1/180/n."""
    got = drawn([use("time", 60.0, 30.0, weekday_profile=profile("shower"))], 1500, 18)
    within = got.start_s % 3600.0 / 3600.0
    n = within.size
    assert within.mean() == pytest.approx(0.5, abs=4.0 * np.sqrt(1.0 / 12.0 / n))
    assert within.var() == pytest.approx(1.0 / 12.0, abs=4.0 * np.sqrt(1.0 / 180.0 / n))


@pytest.mark.parametrize("bound", ["volume", "time"])
def test_sizes_and_flows_are_lognormal(bound):
    """Mean exactly the stated one, error cv/sqrt(n); logarithms normal with variance ln(1 + cv^2)."""
    size, cv, flow_cv = (0.03 if bound == "volume" else 200.0), 0.6, 0.2
    got = drawn([use(bound, 50.0, size, size_cv=cv, flow_cv=flow_cv)], 2000, 19)
    sizes = got.volume_m3 if bound == "volume" else got.duration_s
    flow = got.coefficient * np.sqrt(4e5)
    n, spread = sizes.size, np.log1p(cv**2)
    assert sizes.mean() == pytest.approx(size, rel=4.0 * cv / np.sqrt(n))
    assert np.log(sizes).var() == pytest.approx(spread, rel=4.0 * np.sqrt(2.0 / n))
    assert flow.mean() == pytest.approx(1e-4, rel=4.0 * flow_cv / np.sqrt(n))
    assert np.corrcoef(sizes, flow)[0, 1] == pytest.approx(0.0, abs=4.0 / np.sqrt(n))


def test_fills_keep_the_volume_of_a_use():
    """4.4 fills a use: 4 or 5, binomial; the fills of a use add up to its volume, of the stated mean."""
    n_days, mean, cv = 3000, 0.1, 0.3
    got = drawn([use("volume", 3.0, mean, size_cv=cv, fills_per_event=4.4)], n_days, 20)
    starts, fills = np.unique(got.start_s, return_counts=True)
    total = np.bincount(np.searchsorted(starts, got.start_s), got.volume_m3)
    assert set(fills) == {4, 5}
    assert np.mean(fills == 5) == pytest.approx(0.4, abs=4.0 * np.sqrt(0.24 / starts.size))
    assert total.mean() == pytest.approx(mean, rel=4.0 * cv / np.sqrt(starts.size))


@pytest.mark.parametrize(("rate", "length"), [(4.0, 7.0), (20.0, 2.0)])
def test_away_spans(rate, length):
    """A day is free of spans with chance exp(-rate x length): the number of spans on it is Poisson.

    Two days u apart are both free with chance exp(-rate (2 length - m(u))), m(u) = (1 - 1/length)^u length
    the mean number of days by which a span covers both; that gives the variance of the mean over days.
    """
    n, per_day = 40_000, rate / 365.25
    people = days.presence(n, 2.0, rate, length, 0.0, 1.0, 0.0, np.random.default_rng(21))
    free = np.exp(-per_day * length)
    both = (1.0 - 1.0 / length) ** np.arange(400) * length
    covariance = free**2 * np.expm1(per_day * both)
    variance = (covariance[0] + 2.0 * covariance[1:].sum()) / n
    assert set(people) == {0.0, 2.0}
    assert np.mean(people == 2.0) == pytest.approx(free, abs=4.0 * np.sqrt(variance))


def test_a_span_may_have_begun_before_the_first_day():
    """Runs of a single day: it is free with chance exp(-rate x length) here too; the error is binomial."""
    rng, runs, rate, length = np.random.default_rng(23), 4000, 5.0, 30.0
    free = np.exp(-rate * length / 365.25)
    seen = [days.presence(1, 2.0, rate, length, 0.0, 1.0, 0.0, rng)[0] for _ in range(runs)]
    assert np.mean(np.array(seen) == 2.0) == pytest.approx(free, abs=4.0 * np.sqrt(free * (1 - free) / runs))


def test_day_factor_moments():
    """Gamma with mean 1 and stated cv; excess kurtosis 6 cv^2."""
    n, cv = 50_000, 0.4
    factor = days.day_factors(n, cv, np.random.default_rng(22))
    assert factor.mean() == pytest.approx(1.0, abs=4.0 * cv / np.sqrt(n))
    assert factor.var() == pytest.approx(cv**2, rel=4.0 * np.sqrt((6.0 * cv**2 + 2.0) / n))


@pytest.mark.parametrize("quantile", [0.5, 0.9, 0.99, 0.999])
def test_peak_against_plain_enumeration(quantile):
    """Every combination of eight fixtures open or shut, one by one."""
    flow, count, p = np.array([3.0, 1.5, 2.2, 3.5]), np.array([2, 3, 1, 2]), np.array([0.2, 0.05, 0.4, 0.1])
    single_flow, single_p = np.repeat(flow, count), np.repeat(p, count)
    states = np.array(list(itertools.product((0, 1), repeat=8)))
    chance = np.prod(np.where(states == 1, single_p, 1.0 - single_p), axis=1)
    total = states @ single_flow
    order = np.argsort(total)
    order = order[total[order] > 0.0]
    reached = np.cumsum(chance[order]) / chance[order].sum()
    wanted = total[order][np.searchsorted(reached, quantile)]
    assert peak.zero_truncated_quantile(flow, count, p, quantile, 0.05) == pytest.approx(wanted, abs=1e-9)
