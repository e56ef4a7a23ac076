"""A low UV reading: what brings it back, window, sleeve, lamp or carbon, by the draws of the house itself."""

from dataclasses import dataclass

import numpy as np

from sim.diary.outlook import HORIZON_DAYS
from sim.diary.parts.axes import Floats
from sim.diary.parts.uv_losses import losses
from sim.diary.picture import Picture
from sim.scenario.effects import TaskEffect
from sim.scenario.scenario import Scenario
from sim.study.check_first.order import Left, best_order, cost_of

MARGIN = 0.1  # over the alarm: back for a while, not for a day [A]
LEAST_DRAWS = 200  # that are low today; below it each is taken on the day on which it comes to be
EFFECTS: tuple[TaskEffect, ...] = ("wiped sensor window", "wiped sleeve", "new lamp", "new cartridge")
CAUSES = ("window", "sleeve", "lamp", "water")


@dataclass(frozen=True)
class LowLight:
    """What a low reading comes from, by draw.

    Attributes
    ----------
    gain : ndarray
        Log of light that window, sleeve, lamp and carbon give back, shape (draws, 4).
    lost : ndarray
        Log of all light that is lost, by draw.
    needed : float
        Log of light that may be lost when it counts as restored.
    today : bool
        Whether the draws are low today; else each stands on the first day on which it is.
    """

    gain: Floats
    lost: Floats
    needed: float
    today: bool

    @property
    def shares(self) -> Floats:
        """Share of the draws in which each gives most back."""
        return np.bincount(self.gain.argmax(axis=1), minlength=len(CAUSES)) / self.lost.size

    def left(self, done: frozenset[int]) -> float:
        """Return the share of the draws that some mends do not bring back."""
        back = self.gain[:, sorted(done)].sum(axis=1)
        return float(np.mean(self.lost - back > self.needed))


def low_light(scenario: Scenario, seen: Picture) -> LowLight:
    """Return the draws of a house whose reading is low: today, or when it comes to be."""
    alarm = scenario.uv.alarm
    low = seen.uv.light[:, 0] < alarm + 0.5 * MARGIN
    day = np.zeros(low.size)
    today = int(low.sum()) >= LEAST_DRAWS
    if not today:
        low = seen.uv.alarm_days < HORIZON_DAYS
        if not low.any():
            low = np.ones(low.size, dtype=bool)
        day = seen.uv.alarm_days
    gain, lost = losses(
        seen.parts.uv, seen.inferred.uv.draws, seen.inferred.uv.path, seen.evidence.uv, seen.paths,
        seen.today_days + day,
    )  # fmt: skip
    return LowLight(gain[low], lost[low], -float(np.log(alarm + MARGIN)), today)


def orders(found: LowLight, costs: Floats, call: float) -> tuple[tuple[int, ...], float, float]:
    """Return the best order of mends, its expected cost, and that of changing the lamp first."""
    left: Left = found.left
    best = best_order([float(cost) for cost in costs], left, call)
    lamp = CAUSES.index("lamp")
    rest = [k for k in best.mends if k != lamp]
    return best.mends, best.cost, cost_of([lamp, *rest], [float(cost) for cost in costs], left, call)
