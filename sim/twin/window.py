"""A few days of a run in detail: the run is made again up to them, and only there every step is kept."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import simpy

from sim.constants import DAY_S
from sim.errors import InputError
from sim.plant import tank
from sim.scenario.care import Policy
from sim.scenario.scenario import Scenario
from sim.twin.common import Common
from sim.twin.history import Floats, History
from sim.twin.processes import Care
from sim.twin.run import history_of
from sim.twin.world import World

# What stands between two events of the twin; the loop moves water in between.
MOMENT = np.dtype(
    [
        ("time_s", "f8"),
        ("pressure_pa", "f8"),  # in the tank, at this time
        ("dose_flow", "f8"),  # dose times flow of the lit, warm unit [J/m2 m3/s]
        ("reading", "f8"),  # of new and clean
        ("warm_at_s", "f8"),
        ("lamp_works", "i8"),
        ("alarm", "i8"),
        ("least_flow_m3_s", "f8"),  # at which a dose is credited
    ]
)


@dataclass(frozen=True)
class Window:
    """Some days of one run."""

    first_day: int
    n_days: int
    history: History  # the run up to the end of the window; its trace has the steps of the window alone
    moments: npt.NDArray[np.void]  # records of `MOMENT`, each valid from its time to that of the next
    # linear coefficient of each stage from each moment on, shape (moments, stages) [Pa s/m3]
    linear_pa_s_m3: Floats
    quadratic_pa_s2_m6: Floats  # quadratic coefficient of each stage, shape (stages,) [Pa s2/m6]
    cuts_s: Floats  # power cuts of the run, shape (n, 2) [s]
    # start of a pump run that had not ended when the run was left [s]; nan when the pump was off
    pump_on_since_s: float


def window(scenario: Scenario, policy: Policy, common: Common, first_day: int, n_days: int) -> Window:
    """Run one policy up to the end of some days and keep every step of these days.

    Refused when the run has no such day.
    """
    if not 0 <= first_day < common.n_days or n_days < 1:
        raise InputError(f"day is {first_day}; wanted 0 to {common.n_days - 1}")
    last = min(first_day + n_days, common.n_days)
    env = simpy.Environment()
    world = World(env, scenario, policy, common, trace=False)
    world.each_from_s = first_day * DAY_S
    Care(world)
    _run_through(env, world, first_day * DAY_S)
    world.trace = np.zeros((4096, 4))
    moments, linear = _followed(env, world, last * DAY_S)
    _run_through(env, world, last * DAY_S)
    rows, world.trace = world.trace[: int(world.s["trace_rows"])], np.zeros((0, 4))
    _finish_draws(env, world, last * DAY_S)
    world.trace = rows
    return Window(
        first_day,
        last - first_day,
        history_of(world, ()),
        moments,
        linear,
        np.array(world.stages["quadratic"]),
        common.cuts_s,
        float(world.pump_log[int(world.s["pump_rows"]), 0]) if world.s["pump_on"] else float("nan"),
    )


def _run_through(env: simpy.Environment, world: World, midnight_s: float) -> None:
    """Run up to a midnight and through all that happens on it; the process of days brings the plant."""
    if midnight_s > env.now:
        env.run(until=midnight_s)
    if midnight_s >= world.common.n_days * DAY_S:  # no day begins here
        world.bring()
        world.note_day(world.common.n_days - 1)
        return
    while env.peek() <= midnight_s:
        env.step()


def _followed(env: simpy.Environment, world: World, end_s: float) -> tuple[npt.NDArray[np.void], Floats]:
    """Go from event to event and note what stands after each."""
    moments, linear = [_moment(world)], [np.array(world.stages["resistance"])]
    while env.peek() < end_s:
        env.step()
        if moments[-1]["time_s"] == env.now:
            moments.pop()
            linear.pop()
        moments.append(_moment(world))
        linear.append(np.array(world.stages["resistance"]))
    env.run(until=end_s)  # the clock stands at the end, nothing more happens
    return np.array(moments, dtype=MOMENT), np.array(linear)


def _moment(world: World) -> npt.NDArray[np.void]:
    s, p = world.s, world.p
    found = np.zeros((), MOMENT)
    found["time_s"] = world.env.now
    found["pressure_pa"] = tank.pressure_pa(
        float(s["water_m3"]), float(p["tank_m3"]), float(p["precharge_pa"]), float(p["atmosphere_pa"]),
        float(p["exponent"]),
    )  # fmt: skip
    found["dose_flow"], found["alarm"], found["lamp_works"] = p["dose_flow"], p["alarm"], p["lamp_works"]
    found["least_flow_m3_s"] = p["least_flow_m3_s"]
    found["reading"], found["warm_at_s"] = world.w["reading"], s["warm_at_s"]
    return found


def _finish_draws(env: simpy.Environment, world: World, end_s: float) -> None:
    """Go on day by day, untraced, until every draw of the window has ended: it then says what it got."""
    total_s = world.common.n_days * DAY_S
    while env.now < total_s:
        slots = world.s["open_draw"][: int(world.s["open_count"])]
        if not (world.draws["start_s"][slots] < end_s).any():
            return
        _run_through(env, world, min(env.now + DAY_S, total_s))
