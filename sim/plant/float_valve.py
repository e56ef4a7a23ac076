"""The float valve that lets mains water into the cistern through an air gap, between two levels.

It works by the float alone: no current, no wait. What it lets in is one flow while it stands open.
"""

from sim.compiled import inlined, lean

LEAST_S = 1e-6  # the shortest step: a level, and the intake, is met within a microlitre
_NEAR = 1e-12  # of a level
_LONG = 1e30


@inlined
def follow(s, p):
    """Open the valve, if there is one, at its lower level, shut it at its upper one.

    Parameters
    ----------
    s, p : record
        State and plant records.
    """
    if p.mains_m3_s > 0.0:
        if s.cistern_m3 <= p.mains_below_m3 * (1.0 + _NEAR):
            s.mains_on = 1
        elif s.cistern_m3 >= p.mains_until_m3 * (1.0 - _NEAR):
            s.mains_on = 0


@inlined
def flow_m3_s(s, p):
    """Return what comes in.

    Parameters
    ----------
    s, p : record
        State and plant records.

    Returns
    -------
    float
        Flow [m3/s].
    """
    return s.mains_on * p.mains_m3_s


@inlined
def until_s(s, p, pumped_m3_s):
    """Return how long until the cistern stands at a level at which something changes.

    Parameters
    ----------
    s, p : record
        State and plant records.
    pumped_m3_s : float
        What the pump takes meanwhile [m3/s].

    Returns
    -------
    float
        Time to the intake or the valve's lower level as it sinks, to the restart of a pump that tripped
        or the valve's upper level as it rises [s]; very long where it does neither.
    """
    if p.mains_m3_s > 0.0:
        return _with_valve_s(s, p, pumped_m3_s)
    return (s.cistern_m3 - p.intake_m3) / pumped_m3_s if pumped_m3_s > 0.0 else _LONG


@lean
def _with_valve_s(s, p, pumped_m3_s):
    sinks = pumped_m3_s - flow_m3_s(s, p)
    if sinks > 0.0:
        floor = p.intake_m3
        if not s.mains_on and s.cistern_m3 > p.mains_below_m3:
            floor = max(floor, p.mains_below_m3)
        return (s.cistern_m3 - floor) / sinks
    if sinks == 0.0:
        return _LONG
    wanted = p.mains_until_m3
    if s.dry and s.cistern_m3 < p.restart_m3:
        wanted = min(wanted, p.restart_m3)
    return max((wanted - s.cistern_m3) / -sinks, LEAST_S)


@inlined
def let_in(s, p, dt_s):
    """Let in what comes in a step while the valve is open, to the upper level at most.

    Parameters
    ----------
    s, p : record
        State and plant records.
    dt_s : float
        Length of the step [s].
    """
    if s.mains_on:
        came = min(p.mains_m3_s * dt_s, max(p.mains_until_m3 - s.cistern_m3, 0.0))
        s.cistern_m3 += came
        s.mains_m3 += came
