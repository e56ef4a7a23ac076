"""What the pump draws from the mains in one step."""

from sim.compiled import inlined, lean
from sim.constants import GRAVITY_M_S2
from sim.plant import pump, step

_BENT = 1.2  # of the best flow: beyond it power bends more with the flow than a step's mean can tell


@inlined
def _power_w(p, flow):
    efficiency = pump.efficiency(flow, p.best_flow_m3_s, p.best_efficiency)
    head = pump.head_m(flow, p.shutoff_head_m, p.curve_s2_m5)
    return pump.electrical_power_w(flow, head, p.density_kg_m3, efficiency) / p.drive_efficiency


@lean
def _held_w(p, lift_m, flow, pressure_pa):
    """Return the power of a pump whose speed is that which holds a pressure."""
    lost_m = lift_m + p.suction_s2_m5 * flow * flow
    head = pressure_pa / (p.density_kg_m3 * GRAVITY_M_S2) + lost_m
    speed = pump.speed_ratio(flow, head, p.shutoff_head_m, p.curve_s2_m5)
    efficiency = pump.efficiency(flow / speed, p.best_flow_m3_s, p.best_efficiency)
    return pump.electrical_power_w(flow, head, p.density_kg_m3, efficiency) / p.drive_efficiency


@lean
def of_step_j(p, lift_m, pumped_m3, dt_s, before_pa, after_pa):
    """Return the energy of a step: by its mean flow, where power hardly bends.

    Parameters
    ----------
    p : record
        Plant record.
    lift_m : float
        Gauge above the water in the cistern at the start [m].
    pumped_m3 : float
        Volume [m3].
    dt_s : float
        Length [s].
    before_pa, after_pa : float
        Gauge pressure at both ends [Pa].
    """
    mean = pumped_m3 / dt_s
    if p.holds and before_pa == after_pa:
        return dt_s * _held_w(p, lift_m + 0.5 * pumped_m3 / p.floor_m2, mean, before_pa)
    if mean < _BENT * p.best_flow_m3_s:
        return dt_s * _power_w(p, mean)
    first = step.pump_flow_m3_s(before_pa, p, lift_m)
    last = step.pump_flow_m3_s(after_pa, p, lift_m + pumped_m3 / p.floor_m2)
    middle = max(1.5 * mean - 0.25 * (first + last), 0.0)  # so that Simpson's rule gives the mean
    return dt_s * (_power_w(p, first) + 4.0 * _power_w(p, middle) + _power_w(p, last)) / 6.0
