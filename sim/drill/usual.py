"""How a house ran when it was taken over, and what people at home notice to have changed since."""

from dataclasses import dataclass, field

import numpy as np

from sim.plant import fixture, state, train
from sim.twin.people.watching import BUSY_STARTS
from sim.twin.world import World
from sim.units import PSI_PA

TAP_M3_S, TAP_PA = 1.5e-4, 1e5  # a kitchen tap wide open: 9 L/min at 1 bar [A]
SLOWER = 0.85  # of the tap's flow at first: below this it is felt [A]
OFTEN, STILL_OFTEN = (
    1.5,
    1.25,
)  # times the starts for the same water: heard above one, until below the other [A]
FAR_OFTENER = 2.0  # times the starts for the same water: runs of seconds [A]
HEARD_DAYS, HEARD_STARTS = 3, 4.0  # days an ear goes by, and starts in them before it does [A]
KNOWN_DAYS = 14  # days from which an ear knows the pump [A]
NEEDLE_PA = 5.0 * PSI_PA  # of a gauge from where it was last noted, seen in passing [A]


@dataclass
class Usual:
    """What the house is compared with by those who live in it."""

    tap_m3_s: float
    starts_per_m3: float
    noted_pa: dict[str, float]  # drop over each stage when the gauges were last noted
    often: bool = False
    moved: bool = False  # a gauge, since it was last noted
    worked_s: dict[int, float] = field(default_factory=dict)  # of each day: nobody wonders at dry taps then
    worked_day: int = -1  # last day on which something was done
    pump_day: int = -1  # last day on which what the pump runs by was worked on: it is heard anew after it

    def note(self, drops_pa: dict[str, float]) -> None:
        """Note the gauges anew."""
        self.noted_pa, self.moved = drops_pa, False

    def _heard_days(self, day: int) -> int:
        """Return the whole days since the pump was last worked on."""
        return max(day - 1 - self.pump_day, 0)

    def restless(self, world: World, day: int) -> bool:
        """Return whether the pump of the day before ran for seconds, far oftener than this house's does."""
        starts, per_m3 = _starts(world, day, min(1, self._heard_days(day)))
        short = float(world.days[max(day - 1, 0), state.SHORT_RUNS])
        return bool(
            starts > BUSY_STARTS and short > 0.5 * starts and per_m3 > FAR_OFTENER * self.starts_per_m3
        )

    def changed(self, world: World, day: int, drops_pa: dict[str, float]) -> dict[str, float]:
        """Return what is noticed on a morning, as 0 or 1: a slower tap, more starts of the pump, a gauge."""
        starts, per_m3 = _starts(world, day, min(HEARD_DAYS, self._heard_days(day)))
        limit = STILL_OFTEN if self.often else OFTEN
        self.often = bool(starts >= HEARD_STARTS and per_m3 > limit * self.starts_per_m3 > 0.0)
        self.moved |= any(abs(drop - self.noted_pa[name]) > NEEDLE_PA for name, drop in drops_pa.items())
        slower = tap_m3_s(world) < SLOWER * self.tap_m3_s
        return {"slower": float(slower), "often": float(self.often), "moved": float(self.moved)}


def usual(world: World, day: int, drops_pa: dict[str, float]) -> Usual:
    """Return how a house runs on the morning of a day."""
    return Usual(tap_m3_s(world), _starts(world, day, KNOWN_DAYS)[1], drops_pa)


def tap_m3_s(world: World) -> float:
    """Return the flow [m3/s] of the kitchen tap wide open, between the points of the pressure switch."""
    p = world.p
    brings = p["pump_works"] and not world.s["dry"]
    if p["shut"] or (not brings and world.s["water_m3"] <= 0.0):
        return 0.0
    tap = fixture.coefficient(TAP_M3_S, TAP_PA)
    drive = 0.5 * (float(p["cut_in_pa"]) + float(p["cut_out_pa"])) - float(p["static_pa"])
    flow = train.flow_m3_s(drive, float(p["linear_pa_s_m3"]), float(p["quadratic_pa_s2_m6"]) + tap**-2)
    return max(float(min(flow, float(p["most_m3_s"]))), 0.0)


def _starts(world: World, day: int, over: int) -> tuple[float, float]:
    """Return the pump's starts on the days before a day, and its starts for each m3 supplied."""
    days = world.days[max(day - over, 0) : day]
    starts, supplied_m3 = float(np.sum(days[:, state.STARTS])), float(np.sum(days[:, state.SUPPLIED]))
    return starts, starts / supplied_m3 if supplied_m3 > 0.0 else 0.0
