"""A stage with a clean cartridge: what it takes of the pressure, at 20 deg C."""

from sim.plant import train
from sim.scenario.train import Stage


def clean(stage: Stage) -> tuple[float, float]:
    """Return the coefficients of a clean stage, linear and quadratic [Pa s/m3, Pa s2/m6]."""
    many = float(stage.housings)
    linear = train.linear_of(stage.linear_pa_s_m3, many)
    return linear, train.quadratic_of(stage.quadratic_pa_s2_m6, many)


def stage_drop_pa(stage: Stage, flow_m3_s: float) -> float:
    """Return the pressure a clean stage takes at a flow."""
    return float(train.drop_pa(flow_m3_s, *clean(stage)))
