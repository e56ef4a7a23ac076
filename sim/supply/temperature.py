"""Temperature of the stored water over the year."""

import math

from sim.compiled import compiled
from sim.constants import YEAR_DAYS


@compiled
def water_temperature_c(day_of_year: float, mean_c: float, amplitude_c: float, warmest_day: float) -> float:
    """Return the water temperature as a yearly sinusoid.

    Parameters
    ----------
    day_of_year : float
        Day of the year [d], 1 on 1 January; fractions and later years allowed.
    mean_c : float
        Mean over the year [deg C].
    amplitude_c : float
        Half the difference of warmest and coldest [K], >= 0.
    warmest_day : float
        Day of the year of the maximum [d].

    Notes
    -----
    T = mean + amplitude cos(2 pi (day - warmest)/365.25). A seasonal sinusoid is an assumption.

    Examples
    --------
    >>> water_temperature_c(210.0, 12.0, 6.0, 210.0)
    18.0
    """
    return mean_c + amplitude_c * math.cos(2.0 * math.pi * (day_of_year - warmest_day) / YEAR_DAYS)
