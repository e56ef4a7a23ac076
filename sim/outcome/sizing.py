"""What sizes are judged by: pressure at the tap in use, flow above the UV's rating, cartridge life."""

import numpy as np

from sim.outcome.drawn import Drawn
from sim.scenario.effects import RENEWALS
from sim.twin.history import History


def sizing(history: History, draws: Drawn) -> dict[str, float]:
    """Return the figures of one run that tell sizes apart.

    `tap_least_pa`: least pressure at the tap during draws that were served [Pa]; `tap_p5_pa`: 5th percentile
    over all draws of the least pressure during each [Pa]; `over_uv_share`: share of draws during which all
    open taps together asked for more than the rated flow of the UV unit; `cartridge_days`: life of the
    cartridge that lasts least, what is left in one at the end counted pro rata [d]; `cost_renewals`: price of
    pumps and pressure tanks replaced [money/year]. Pressure is nan when nothing was drawn.
    """
    return {
        "tap_least_pa": draws.served_pa,
        "tap_p5_pa": float(np.quantile(draws.tap_pa, 0.05)) if draws.tap_pa.size else float("nan"),
        "over_uv_share": draws.over_share,
        "cartridge_days": _cartridge_days(history),
        "cost_renewals": _renewals(history) / float(history.years),
    }


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
