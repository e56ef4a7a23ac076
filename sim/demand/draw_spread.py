"""How a series of draws spreads over days, minutes and the gaps between draws, recorded or drawn."""

from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from sim.constants import DAY_S

Floats = npt.NDArray[np.float64]
GAPS_S = (60.0, 300.0, 1800.0)
_MINUTE_S, _MINUTES = 60.0, 1440


@dataclass(frozen=True)
class DrawSpread:
    """Statistics of the days on which water is used."""

    draws_per_day: float  # mean number of draws [1/d]
    volume_m3: float  # mean volume of a day [m3]
    volume_cv: float  # standard deviation of the volume of a day over its mean [-]
    minute_flow_m3_s: float  # mean over the days of the greatest flow over one minute [m3/s]
    within_1_min_share: float  # share of draws that begin so soon after the one before [-]
    within_5_min_share: float
    within_30_min_share: float


def by_day(start_s: Floats, volume_m3: Floats, duration_s: Floats) -> Floats:
    """Return what the statistics rest on, a row a day on which water is used.

    Parameters
    ----------
    start_s : numpy.ndarray
        Start of each draw, in order [s], float64, one or more; midnight is at whole days.
    volume_m3 : numpy.ndarray
        Volume of each draw [m3].
    duration_s : numpy.ndarray
        Duration of each draw [s], > 0; its flow is taken as steady.

    Returns
    -------
    numpy.ndarray
        Draws, volume [m3], its square, greatest flow over a minute [m3/s], draws that have one before, and of
        these those within each of `GAPS_S`, float64[days, 8].

    Notes
    -----
    A draw that runs over midnight goes on in the next day that has one.
    """
    used, day = np.unique(start_s // DAY_S, return_inverse=True)
    n_days = used.size
    gap_s = np.diff(start_s, prepend=-np.inf)
    volume = np.bincount(day, volume_m3, n_days)
    columns = [
        np.bincount(day, minlength=n_days),
        volume,
        volume * volume,
        _greatest_minute_m3_s(start_s % DAY_S + day * DAY_S, volume_m3, duration_s, n_days),
        np.bincount(day, np.isfinite(gap_s), n_days),
        *(np.bincount(day, gap_s < limit_s, n_days) for limit_s in GAPS_S),
    ]
    return np.stack(columns, axis=1).astype(np.float64)


def _greatest_minute_m3_s(start_s: Floats, volume_m3: Floats, duration_s: Floats, n_days: int) -> Floats:
    """Return the greatest flow over one minute of each day, draws laid over each other."""
    at_s = np.concatenate([start_s, start_s + duration_s])
    change_m3_s = np.concatenate([volume_m3 / duration_s, -volume_m3 / duration_s])
    order = np.argsort(at_s, kind="stable")
    at_s, flow_m3_s = at_s[order], np.cumsum(change_m3_s[order])
    used_m3 = np.concatenate([[0.0], np.cumsum(flow_m3_s[:-1] * np.diff(at_s))])
    edges_s = np.arange(n_days * _MINUTES + 1) * _MINUTE_S
    minutes_m3 = np.diff(np.interp(edges_s, at_s, used_m3))
    greatest: Floats = minutes_m3.reshape(n_days, _MINUTES).max(axis=1) / _MINUTE_S
    return greatest


def spread_of(rows: Floats) -> DrawSpread:
    """Return the statistics of some days.

    Parameters
    ----------
    rows : numpy.ndarray
        As `by_day` gives them, one day or more.

    Returns
    -------
    DrawSpread
        The standard deviation is that of the days themselves (divided by their number).

    Examples
    --------
    Two draws of 60 s at 1 L/s, 2 min apart, on the first day; one of 180 L over 5 min on the second.

    >>> start, volume, duration = [0.0, 120.0, 86400.0], [0.06, 0.06, 0.18], [60.0, 60.0, 300.0]
    >>> found = spread_of(by_day(np.array(start), np.array(volume), np.array(duration)))
    >>> found.draws_per_day, round(found.volume_m3, 3), round(found.volume_cv, 3), found.within_5_min_share
    (1.5, 0.15, 0.2, 0.5)
    """
    return DrawSpread(*_statistics(rows.sum(axis=0), rows.shape[0]).tolist())


def spread_errors(rows: Floats) -> DrawSpread:
    """Return the standard error of each statistic of `spread_of`, leaving out one day after the other.

    Parameters
    ----------
    rows : numpy.ndarray
        As `by_day` gives them, two days or more.

    Returns
    -------
    DrawSpread
        Standard errors, in the units of the statistics; days are taken as independent.

    References
    ----------
    Efron, B. (1982), The jackknife, the bootstrap and other resampling plans, SIAM, ch. 3.
    """
    n = rows.shape[0]
    without = _statistics(rows.sum(axis=0) - rows, n - 1)
    return DrawSpread(*np.sqrt((n - 1) * without.var(axis=0)).tolist())


def _statistics(total: Floats, n: int) -> Floats:
    """Return the statistics of n days, in the order of `DrawSpread`, from their sums along the last axis."""
    draws, volume, square, greatest, asked = np.moveaxis(total[..., :5], -1, 0)
    variance = np.maximum(square / n - (volume / n) ** 2, 0.0)
    soon = total[..., 5:] / np.maximum(asked, 1.0)[..., None]
    means = np.stack([draws / n, volume / n, np.sqrt(variance) / (volume / n), greatest / n], axis=-1)
    statistics: Floats = np.concatenate([means, soon], axis=-1)
    assert statistics.shape[-1] == len(fields(DrawSpread))
    return statistics
