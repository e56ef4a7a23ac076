"""A pump of variable speed that holds its pressure: it gives what the house takes, until that is too little.

It starts at cut-in at full speed. At cut-out, the pressure it holds, it gives just what flows to the house,
at the speed the affinity laws ask for. What is more than it can give at full speed lets the pressure fall, as
with any pump. When the flow has been too small for a while it stops, and the tank feeds the house down to
cut-in.
"""

from sim.compiled import lean
from sim.plant import float_valve, step

LONGEST_S = 300.0  # the cistern sinks meanwhile, and what the pump could give with it


@lean
def can(s, p, quadratic_pa_s2_m6, lift_m):
    """Return whether the pump can give what flows to the house at the pressure it holds.

    Parameters
    ----------
    s, p : record
        State and plant records; `s.slow_s` begins anew where it cannot.
    quadratic_pa_s2_m6 : float
        Coefficient of train and open fixtures together [Pa s2/m6].
    lift_m : float
        Gauge above the water in the cistern [m].
    """
    most = step.pump_flow_m3_s(p.cut_out_pa, p, lift_m)
    if step.house_flow_m3_s(p.cut_out_pa, p, quadratic_pa_s2_m6) <= most:
        return True
    s.slow_s = 0.0
    return False


@lean
def move(s, p, longest_s, quadratic_pa_s2_m6, coefficient, phi_left):
    """Move water at the held pressure; return length, volumes, pressures and flows at its ends.

    Parameters
    ----------
    s, p : record
        State and plant records; `s.slow_s` grows while there is too little to do.
    longest_s : float
        Time to the next event [s].
    quadratic_pa_s2_m6 : float
        Coefficient of train and open fixtures together [Pa s2/m6].
    coefficient : float
        Sum of the open coefficients, leak included [m3/s/Pa^0.5].
    phi_left : float
        Least phi still wanted by a draw [Pa^0.5 s].
    """
    held, flow = p.cut_out_pa, step.house_flow_m3_s(p.cut_out_pa, p, quadratic_pa_s2_m6)
    dt = min(longest_s, LONGEST_S, float_valve.until_s(s, p, flow))
    if flow > 0.0:
        dt = min(dt, phi_left * coefficient / flow)
    slow = flow < p.least_pumped_m3_s
    if slow:
        dt = min(dt, p.stop_delay_s - s.slow_s)
    dt = max(dt, float_valve.LEAST_S)
    s.slow_s = s.slow_s + dt if slow else 0.0
    moved = flow * dt
    return dt, 0.0, moved, moved, (held, held, flow, flow), -1.0, False
