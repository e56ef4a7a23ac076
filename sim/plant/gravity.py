"""A cistern that stands above the house and feeds it by its level: no pump, no switch, no pressure tank.

The gauge shows rho g h. The level sinks by dV/dt = let in - Q(h), one autonomous equation, stepped by the
classical Runge-Kutta rule in steps over which the pressure that is left changes little.
"""

from sim.compiled import lean
from sim.constants import GRAVITY_M_S2
from sim.plant import cause, float_valve, step

SHARE = 0.01  # of the pressure above the taps that may be lost in a step; the rule errs by its fifth power
REST_PA = 1e-3  # left above the taps: some grams of water flow then
LONGEST_S, WAIT_S = 3600.0, 10.0
_CLOSE = 1e-11  # of a volume that is met


@lean
def gauge_pa(cistern_m3, p):
    """Return the pressure of the standing water at the gauge.

    Parameters
    ----------
    cistern_m3 : float
        Water in the cistern [m3].
    p : record
        Plant record; `height_m` is below 0, as the gauge lies below the floor of the cistern.
    """
    return p.density_kg_m3 * GRAVITY_M_S2 * (cistern_m3 / p.floor_m2 - p.height_m)


@lean
def _flow_m3_s(cistern_m3, p, quadratic_pa_s2_m6):
    return step.house_flow_m3_s(gauge_pa(cistern_m3, p), p, quadratic_pa_s2_m6)


@lean
def _moved_m3(cistern_m3, p, quadratic_pa_s2_m6, dt_s, let_in_m3_s):
    """Return what flows to the house in a step."""
    first = _flow_m3_s(cistern_m3, p, quadratic_pa_s2_m6)
    second = _flow_m3_s(cistern_m3 + 0.5 * dt_s * (let_in_m3_s - first), p, quadratic_pa_s2_m6)
    third = _flow_m3_s(cistern_m3 + 0.5 * dt_s * (let_in_m3_s - second), p, quadratic_pa_s2_m6)
    last = _flow_m3_s(cistern_m3 + dt_s * (let_in_m3_s - third), p, quadratic_pa_s2_m6)
    return dt_s * (first + 2.0 * (second + third) + last) / 6.0


@lean
def why_low(s, p, works):
    """Return why nothing lifts the water, or why it stands too low to come by itself.

    Parameters
    ----------
    s, p : record
        State and plant records.
    works : int
        Whether a pump works.
    """
    if p.gravity:
        low = s.dry == 1 or gauge_pa(s.cistern_m3, p) <= p.static_pa
        return cause.CISTERN_EMPTY if low else cause.NONE
    if not s.power:
        return cause.POWER_CUT
    return cause.CISTERN_EMPTY if works else p.why_pump


@lean
def move(s, p, longest_s, quadratic_pa_s2_m6, coefficient, phi_left):
    """Move water by the level of the cistern for one step; return length, volumes, what stood at its ends.

    Parameters
    ----------
    s, p : record
        State and plant records.
    longest_s : float
        Time to the next event [s].
    quadratic_pa_s2_m6 : float
        Coefficient of train and open fixtures together [Pa s2/m6].
    coefficient : float
        Sum of the open coefficients, leak included [m3/s/Pa^0.5].
    phi_left : float
        Least phi still wanted by a draw [Pa^0.5 s].
    """
    if s.dry:
        wait_s = min(longest_s, WAIT_S) if s.mains_on else longest_s  # what mains bring runs on
        return wait_s, 0.0, 0.0, 0.0, (0.0, 0.0, 0.0, 0.0), -1.0, False
    before, let_in = gauge_pa(s.cistern_m3, p), float_valve.flow_m3_s(s, p)
    first = step.house_flow_m3_s(before, p, quadratic_pa_s2_m6)
    if before - p.static_pa < REST_PA:
        first = 0.0
    dt = min(longest_s, LONGEST_S, max(float_valve.until_s(s, p, first), float_valve.LEAST_S))
    moved = 0.0
    if first > 0.0:
        falls_pa_s = p.density_kg_m3 * GRAVITY_M_S2 * abs(first - let_in) / p.floor_m2
        dt = min(dt, SHARE * (before - p.static_pa) / max(falls_pa_s, 1e-30))
        dt, moved = _landed(s, p, dt, quadratic_pa_s2_m6, phi_left * coefficient, let_in)
    level = s.cistern_m3 - moved + let_in * dt
    after = gauge_pa(level, p)
    last = step.house_flow_m3_s(after, p, quadratic_pa_s2_m6) if first > 0.0 else 0.0
    return dt, 0.0, moved, moved, (before, after, first, last), -1.0, False


@lean
def _landed(s, p, longest_s, quadratic_pa_s2_m6, wanted_m3, let_in_m3_s):
    """Return length and volume of a step that ends where a draw is full, if that comes first."""
    dt = longest_s
    moved = _moved_m3(s.cistern_m3, p, quadratic_pa_s2_m6, dt, let_in_m3_s)
    if moved <= wanted_m3:
        return dt, moved
    for _ in range(6):
        dt *= wanted_m3 / moved
        moved = _moved_m3(s.cistern_m3, p, quadratic_pa_s2_m6, dt, let_in_m3_s)
        if abs(moved - wanted_m3) <= _CLOSE * wanted_m3:
            break
    return dt, moved
