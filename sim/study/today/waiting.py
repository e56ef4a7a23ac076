"""What waiting costs: light under the alarm, a dose below target, and the part that is used longer."""

from dataclasses import dataclass

import numpy as np

from sim.diary.picture import Picture
from sim.scenario.scenario import Scenario

WAITS_DAYS = (30, 61, 91)  # one, two, three months


@dataclass(frozen=True)
class Waiting:
    """If nobody does anything for so long.

    Attributes
    ----------
    days : int
        How long.
    alarm_h : float
        Mean hours under alarm.
    below_target_share : float
        Chance of a day with a dose below target at rated flow.
    clogged_share : float
        Chance that a cartridge passes its limit.
    saved : float
        Money: cartridges are used so much longer, by their price over their life.
    """

    days: int
    alarm_h: float
    below_target_share: float
    clogged_share: float
    saved: float


def waiting(scenario: Scenario, seen: Picture) -> tuple[Waiting, ...]:
    """Return what waits of one, two and three months cost."""
    return tuple(_wait(scenario, seen, days) for days in WAITS_DAYS)


def _wait(scenario: Scenario, seen: Picture, days: int) -> Waiting:
    alarm = scenario.uv.alarm
    span = slice(0, days + 1)
    clogged = np.zeros(seen.uv.light.shape[0], dtype=bool)
    saved = 0.0
    for stage, outlook in zip(scenario.stages, seen.stages, strict=True):
        clogged |= outlook.days <= days
        saved += stage.price * stage.housings * _life_share(float(np.median(outlook.used_share)), days,
                                                            float(np.median(outlook.days)))  # fmt: skip
    return Waiting(
        days,
        float((seen.uv.light[:, span] < alarm).sum(axis=1).mean() * 24.0),
        float((seen.uv.target_days <= days).mean()),
        float(clogged.mean()),
        saved,
    )


def _life_share(used_share: float, days: int, left_days: float) -> float:
    """Return the share of its life that a part gives in so many days, until its life is over."""
    if used_share >= 1.0 or left_days <= 0.0:
        return 0.0
    return (1.0 - used_share) * min(days, left_days) / left_days
