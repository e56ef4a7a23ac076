"""Hour-of-day habits: the share of a day's uses that begin in each hour (hour 0 is midnight to one)."""

import numpy as np
import numpy.typing as npt

from sim.errors import InputError

# As printed; sums miss 1 by rounding, so `profile` divides by them. Sources and how sure:
# indoor: all indoor use with leaks, Residential End Uses of Water study (Water Research Foundation 4309,
#   2016), from eight-sine fits published for its homes in four cities (Denver, Fort Collins, Scottsdale, San
#   Antonio); computed here as their mean weighted by homes. Their clock offset is not stated: +/- 1 h.
# hot water, shower, sink, bath, clothes washer, dishwasher: hot-water event shares of the Building America
#   House Simulation Protocols, NREL/TP-550-49426 (2010) and TP-5500-60988 (2014), seen second-hand, not in
#   the reports (report numbers from memory). "hot water" mixes showers, sinks and baths.
# hot water weekday, hot water weekend: California Title 24 residential hot-water shares, seen second-hand;
#   that they are the state manual's is from memory.
# daytime: an assumption, for outside taps and other use without a known habit: even from 07 to 21 h.
# fmt: off
HOURLY_SHARES: dict[str, tuple[float, ...]] = {
    "indoor": (
        0.0176, 0.0147, 0.013, 0.0108, 0.0183, 0.0405, 0.0628, 0.0705, 0.0616, 0.0508, 0.0492, 0.0478,
        0.0411, 0.0375, 0.0431, 0.0493, 0.0488, 0.0509, 0.0551, 0.0529, 0.0497, 0.0483, 0.0412, 0.0246,
    ),
    "hot water": (
        0.012, 0.006, 0.004, 0.005, 0.01, 0.034, 0.078, 0.087, 0.08, 0.067, 0.056, 0.047,
        0.04, 0.035, 0.033, 0.031, 0.039, 0.051, 0.06, 0.06, 0.055, 0.048, 0.038, 0.026,
    ),
    "shower": (
        0.011, 0.005, 0.003, 0.005, 0.014, 0.052, 0.118, 0.117, 0.095, 0.074, 0.06, 0.047,
        0.034, 0.029, 0.026, 0.025, 0.03, 0.039, 0.042, 0.042, 0.042, 0.041, 0.029, 0.021,
    ),
    "sink": (
        0.014, 0.007, 0.005, 0.005, 0.007, 0.018, 0.042, 0.062, 0.066, 0.062, 0.054, 0.05,
        0.049, 0.045, 0.043, 0.041, 0.048, 0.065, 0.075, 0.069, 0.057, 0.048, 0.04, 0.027,
    ),
    "bath": (
        0.008, 0.004, 0.004, 0.004, 0.008, 0.019, 0.046, 0.058, 0.066, 0.058, 0.046, 0.035,
        0.031, 0.023, 0.023, 0.023, 0.039, 0.046, 0.077, 0.1, 0.1, 0.077, 0.066, 0.039,
    ),
    "clothes washer": (
        0.009, 0.007, 0.004, 0.004, 0.007, 0.011, 0.022, 0.049, 0.073, 0.086, 0.084, 0.075,
        0.067, 0.06, 0.049, 0.052, 0.05, 0.049, 0.049, 0.049, 0.049, 0.047, 0.032, 0.017,
    ),
    "dishwasher": (
        0.015, 0.007, 0.005, 0.003, 0.003, 0.01, 0.02, 0.031, 0.058, 0.065, 0.056, 0.048,
        0.041, 0.046, 0.036, 0.038, 0.038, 0.049, 0.087, 0.111, 0.09, 0.067, 0.044, 0.031,
    ),
    "hot water weekday": (
        0.014, 0.008, 0.009, 0.011, 0.02, 0.044, 0.089, 0.107, 0.089, 0.066, 0.052, 0.038,
        0.036, 0.033, 0.032, 0.026, 0.042, 0.048, 0.052, 0.047, 0.042, 0.039, 0.036, 0.022,
    ),
    "hot water weekend": (
        0.018, 0.01, 0.009, 0.008, 0.015, 0.023, 0.026, 0.047, 0.077, 0.083, 0.074, 0.061,
        0.051, 0.043, 0.039, 0.039, 0.052, 0.058, 0.056, 0.052, 0.047, 0.044, 0.04, 0.028,
    ),
    "flat": (1.0,) * 24,
    "daytime": (0.0,) * 7 + (1.0,) * 14 + (0.0,) * 3,
}
# fmt: on


def profile(name: str) -> npt.NDArray[np.float64]:
    """Return an hourly profile by name, scaled to sum 1.

    Parameters
    ----------
    name : str
        A key of `HOURLY_SHARES`.

    Returns
    -------
    numpy.ndarray
        Share of the day's uses that begin in each hour [-], float64[24].

    Raises
    ------
    InputError
        When there is no profile of that name.

    References
    ----------
    Beside the table.

    Examples
    --------
    Showers begin most often between 6 and 7 o'clock, 2.83 times as often as in a mean hour.

    >>> shower = profile("shower")
    >>> int(shower.argmax()), 24 * float(shower.max())
    (6, 2.83)
    """
    if name not in HOURLY_SHARES:
        raise InputError(f"no hourly profile {name!r}; there are {', '.join(sorted(HOURLY_SHARES))}")
    shares = np.array(HOURLY_SHARES[name])
    return shares / float(shares.sum())
