"""A line round the train: how much of the water still goes through the train."""

import math

from sim.compiled import compiled


@compiled
def train_share(
    flow_m3_s: float, linear_pa_s_m3: float, quadratic_pa_s2_m6: float, bypass_pa_s2_m6: float
) -> float:
    """Return the share of the flow that goes through the train while the bypass stands open.

    Parameters
    ----------
    flow_m3_s : float
        Flow of both together [m3/s], > 0.
    linear_pa_s_m3, quadratic_pa_s2_m6 : float
        Coefficients of the train between the two ends of the bypass [Pa s/m3, Pa s2/m6].
    bypass_pa_s2_m6 : float
        Coefficient of the bypass [Pa s2/m6], > 0.

    Returns
    -------
    float
        Share f [fraction], 0 to 1.

    Notes
    -----
    Equal drop on both ways: a f Q + b (f Q)^2 = c ((1 - f) Q)^2. The share depends on the flow; it is taken
    at one flow, so that it comes out too high for smaller flows and too low for larger ones.

    Examples
    --------
    >>> train_share(1.0, 0.0, 4.0, 1.0)
    0.3333
    """
    a = linear_pa_s_m3 / flow_m3_s + 2.0 * bypass_pa_s2_m6
    root = math.sqrt(a * a + 4.0 * (quadratic_pa_s2_m6 - bypass_pa_s2_m6) * bypass_pa_s2_m6)
    return 2.0 * bypass_pa_s2_m6 / (a + root)
