"""What sizes are judged by: pressure at the tap in use, flow above the UV's rating, cartridge life."""

import numpy as np
import numpy.typing as npt

from sim.compiled import lean
from sim.plant.draws import Columns
from sim.scenario.effects import RENEWALS
from sim.twin.history import History


def sizing(history: History) -> dict[str, float]:
    """Return the figures of one run that tell sizes apart.

    `tap_least_pa`: least pressure at the tap during draws that were served [Pa]; `tap_p5_pa`: 5th percentile
    over all draws of the least pressure during each [Pa]; `over_uv_share`: share of draws during which all
    open taps together asked for more than the rated flow of the UV unit; `cartridge_days`: life of the
    cartridge that lasts least, what is left in one at the end counted pro rata [d]; `cost_renewals`: price of
    pumps and pressure tanks replaced [money/year]. Pressure is nan when nothing was drawn.
    """
    draws = history.drawn
    drew = (draws.got_m3 > 0.0) & np.isfinite(draws.tap_pa)
    tap_pa, served = draws.tap_pa[drew], draws.unmet[drew] == 0
    return {
        "tap_least_pa": float(tap_pa[served].min()) if served.any() else float("nan"),
        "tap_p5_pa": float(np.quantile(tap_pa, 0.05)) if tap_pa.size else float("nan"),
        "over_uv_share": _over_share(draws, drew, history.scenario.uv.rated_flow_m3_s),
        "cartridge_days": _cartridge_days(history),
        "cost_renewals": _renewals(history) / float(history.years),
    }


def greatest_flows_m3_s(
    start_s: npt.NDArray[np.float64], seconds: npt.NDArray[np.float64], volume_m3: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """Return, for each draw, the greatest flow of all draws together while it ran.

    Flow [m3/s]; each draw counts with its mean flow.

    Parameters
    ----------
    seconds : numpy.ndarray
        How long water ran, above 0 [s].

    Examples
    --------
    Two overlap, the third is alone.

    >>> two = greatest_flows_m3_s(np.array([0.0, 5.0, 90.0]), np.full(3, 10.0), np.array([1.0, 2.0, 4.0]))
    >>> [round(float(flow), 6) for flow in two]
    [0.3, 0.3, 0.4]
    """
    found, running = np.zeros(start_s.size), np.empty(start_s.size, dtype=np.int64)
    _sweep(start_s, start_s + seconds, volume_m3 / seconds, running, found)
    return found


@lean
def _sweep(start_s, end_s, flow_m3_s, running, found):
    """Go from start to start; `running` has room for the draws that run at once."""
    together, count = 0.0, 0
    for i in range(start_s.size):
        slot = 0
        while slot < count:  # where one ends as another begins, the end comes first
            if end_s[running[slot]] <= start_s[i]:
                together -= flow_m3_s[running[slot]]
                count -= 1
                running[slot] = running[count]
            else:
                slot += 1
        if count == 0:
            together = 0.0
        together += flow_m3_s[i]
        running[count] = i
        count += 1
        for slot in range(count):
            found[running[slot]] = max(found[running[slot]], together)


def _over_share(draws: Columns, drew: npt.NDArray[np.bool_], rated_m3_s: float) -> float:
    ran = drew & (draws.seconds > 0.0)
    if not ran.any():
        return 0.0
    columns = (draws.start_s, draws.seconds, draws.got_m3)
    flows = greatest_flows_m3_s(*(columns if ran.all() else (one[ran] for one in columns)))
    return float(np.mean(flows > rated_m3_s * (1 + 1e-9)))


def _cartridge_days(history: History) -> float:
    """Return days a cartridge lasts: those of the run over changes and what is worn of the last one."""
    tasks = [event.subject for event in history.events if event.kind == "task"]
    changes = [task.name for task in history.scenario.tasks if "new cartridge" in task.effects]
    lives = []
    for name, left in zip(history.stage_names, history.stage_life_left, strict=True):
        used = sum(tasks.count(f"{change}: {name}") for change in changes) + 1.0 - float(left)
        lives.append(history.n_days / used if used > 0.0 else float("inf"))
    return min(lives, default=float("nan"))


def _renewals(history: History) -> float:
    renewing = [task.name for task in history.scenario.tasks if RENEWALS & set(task.effects)]
    return sum(
        event.cost
        for event in history.events
        if event.kind == "task" and event.subject.partition(": ")[0] in renewing
    )
