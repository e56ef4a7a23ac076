"""Poisson rectangular pulses in closed form, for tests alone: what draws must come to on average.

Arrivals at a steady rate, each with an independent intensity and duration; pulses that overlap add up.
"""

import math


def busy_mean(rate_per_s: float, duration_mean_s: float) -> float:
    """Return the mean number of draws that run at once.

    Parameters
    ----------
    rate_per_s : float
        Arrival rate [1/s], >= 0.
    duration_mean_s : float
        Mean duration [s], >= 0; its law does not matter.

    Returns
    -------
    float
        rho [-], also the variance of that number, which is Poisson.

    References
    ----------
    Buchberger & Wu (1995), J. Hydraul. Eng. 121(3), 232-246.

    Examples
    --------
    >>> busy_mean(80 / 86400.0, 60.0)
    0.05556
    """
    return rate_per_s * duration_mean_s


def idle_probability(busy: float) -> float:
    """Return the share of time in which nothing runs.

    Parameters
    ----------
    busy : float
        Mean number of draws that run at once, all uses together [-], >= 0.

    Returns
    -------
    float
        P(idle) = exp(-rho) [-].

    References
    ----------
    Buchberger & Wu (1995), J. Hydraul. Eng. 121(3), 232-246.

    Examples
    --------
    >>> idle_probability(0.05556)
    0.94596
    """
    return math.exp(-busy)


def flow_mean_m3_s(busy: float, intensity_mean_m3_s: float) -> float:
    """Return the mean flow of one use.

    Parameters
    ----------
    busy : float
        Mean number of its draws that run at once [-], >= 0.
    intensity_mean_m3_s : float
        Mean flow of a draw [m3/s], >= 0.

    Returns
    -------
    float
        E[Q] [m3/s]; uses add.

    References
    ----------
    Buchberger & Wu (1995), J. Hydraul. Eng. 121(3), 232-246.

    Examples
    --------
    >>> flow_mean_m3_s(0.05, 2e-4)
    1e-05
    """
    return busy * intensity_mean_m3_s


def flow_variance_m6_s2(busy: float, intensity_mean_m3_s: float, intensity_sd_m3_s: float) -> float:
    """Return the variance in time of the flow of one use.

    Parameters
    ----------
    busy : float
        Mean number of its draws that run at once [-], >= 0.
    intensity_mean_m3_s : float
        Mean flow of a draw [m3/s], >= 0.
    intensity_sd_m3_s : float
        Standard deviation of the flow among draws [m3/s], >= 0.

    Returns
    -------
    float
        Var[Q] = rho (mean^2 + sd^2) [m6/s2]; independent uses add.

    References
    ----------
    Buchberger & Wu (1995), J. Hydraul. Eng. 121(3), 232-246.

    Examples
    --------
    The unit of flow is free: with L/min the variance is in (L/min)^2.

    >>> flow_variance_m6_s2(0.0555556, 6.0, 3.0)
    2.5000
    """
    return busy * (intensity_mean_m3_s * intensity_mean_m3_s + intensity_sd_m3_s * intensity_sd_m3_s)


def window_volume_variance_m6(
    rate_per_s: float,
    intensity_mean_m3_s: float,
    intensity_sd_m3_s: float,
    duration_mean_s: float,
    window_s: float,
) -> float:
    """Return the variance of the volume used in a window of time, for exponential durations.

    Parameters
    ----------
    rate_per_s : float
        Arrival rate [1/s], >= 0.
    intensity_mean_m3_s : float
        Mean flow of a draw [m3/s], >= 0.
    intensity_sd_m3_s : float
        Standard deviation of the flow among draws [m3/s], >= 0.
    duration_mean_s : float
        Mean duration, exponential law [s], > 0.
    window_s : float
        Length of the window [s], >= 0.

    Notes
    -----
    2 lambda E[X^2] (eta h - 1 + exp(-eta h))/eta^3, eta = 1/duration: twice the integral of (h - u) cov(u)
    over the window, cov(u) = lambda E[X^2] exp(-eta u)/eta.

    References
    ----------
    Rodriguez-Iturbe, Cox & Isham (1987), Proc. R. Soc. Lond. A 410, 269-288 (aggregated pulses; from memory);
    Buchberger & Wu (1995), J. Hydraul. Eng. 121(3), 232-246.

    Examples
    --------
    A window much longer than a draw holds whole draws: lambda E[X^2] E[D^2] h.

    >>> window_volume_variance_m6(1e-3, 1.0, 0.0, 2.0, 1e6) / (1e-3 * 2 * 2.0**2 * 1e6)
    1.0000
    """
    x = window_s / duration_mean_s
    square = intensity_mean_m3_s * intensity_mean_m3_s + intensity_sd_m3_s * intensity_sd_m3_s
    return 2.0 * rate_per_s * square * duration_mean_s**3 * (x + math.expm1(-x))


def daily_volume_variance_m6(
    events_per_day: float, volume_mean_m3: float, volume_sd_m3: float, day_factor_cv: float
) -> float:
    """Return the variance among days of the volume of one use.

    Parameters
    ----------
    events_per_day : float
        Mean number of uses a day [1/d], >= 0.
    volume_mean_m3 : float
        Mean volume of a use [m3], >= 0.
    volume_sd_m3 : float
        Standard deviation of the volume among uses [m3], >= 0.
    day_factor_cv : float
        Coefficient of variation of the factor that makes days busy or quiet [-], >= 0; 0 for Poisson counts.

    Returns
    -------
    float
        Variance [m6]. Uses add when the factor has no spread; a common factor adds (cv x total mean)^2 once.

    Notes
    -----
    n E[V^2] + (cv n E[V])^2: the mean conditional variance plus the variance of the conditional mean.

    Examples
    --------
    >>> daily_volume_variance_m6(10.0, 2.0, 1.0, 0.0)
    50.0
    """
    total_m3 = events_per_day * volume_mean_m3
    square = volume_mean_m3 * volume_mean_m3 + volume_sd_m3 * volume_sd_m3
    return events_per_day * square + (day_factor_cv * total_m3) * (day_factor_cv * total_m3)
