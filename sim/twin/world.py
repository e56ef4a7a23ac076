"""The world of one run: plant, water and parts, brought up to the clock when someone looks or acts."""

import math
from typing import Any

import numpy as np
import simpy

from sim.constants import DAY_S
from sim.errors import InputError
from sim.plant import cartridge, cause, draws, lamp, loop, state, train
from sim.scenario.care import Policy, Task
from sim.scenario.scenario import Scenario
from sim.twin import lamps, wear
from sim.twin.blame import blame
from sim.twin.clean_stage import stage_drop_pa
from sim.twin.common import Common
from sim.twin.people.faults import Faults
from sim.twin.records import Chance, Costs, Event, Lapse
from sim.twin.standby import Standby
from sim.twin.water import day_step, onward
from sim.twin.water.house import PARTS, PUMP
from sim.twin.water.unpack import house_record

MOST_PUMP_RUNS = 10_000_000  # of a run of years; one in 20 s for six years


class World:
    """Everything one run changes. `bring` advances it; nothing ticks in between."""

    def __init__(
        self, env: simpy.Environment, scenario: Scenario, policy: Policy, common: Common, trace: bool
    ):
        """Set up the house as new."""
        self.env, self.scenario, self.policy, self.common = env, scenario, policy, common
        trail = common.draws
        self.draws = draws.blank(
            trail.start_s, trail.coefficient, trail.duration_s, trail.volume_m3, trail.patience_s
        )
        self.house = house_record(scenario, common.sleeve_factor, common.window_factor)
        self._unpack_records()
        self.installed_s = [0.0] * len(scenario.stages)
        self.fitted = [0] * len(scenario.stages)  # cartridges put into each housing so far
        for stage in range(len(scenario.stages)):
            self.fit_cartridge(stage)
        self.days = state.new_days(common.n_days)
        self.causes = cause.new_causes(common.n_days)
        self.alarm_days = np.zeros(common.n_days, dtype=bool)
        self.each_from_s = 0.0 if trace else np.inf  # from here on every look is an event of its own
        self.pump_log = np.zeros((4096, 2))
        self.trace = np.zeros((65536 if trace else 0, 4))
        self.events: list[Event] = []
        self.costs = Costs()
        self.faults, self.lapses, self.chances = Faults(), list[Lapse](), list[Chance]()
        self.lamps_over_count = 0.0  # of lamps taken out
        self.visits_s: list[float] = []  # of work for which water was shut
        self.working: Task | None = None  # what is being done at the train
        self.waiting: dict[int, Lapse] = {}  # tasks put off or late, by row of the tables of chance
        self.daily = np.zeros((common.n_days, len(day_step.DAILY_COLUMNS) + len(scenario.stages)))
        self.alarms = self.false_alarms = 0
        self.alarm = False
        self.spilled_m3 = self.tanked_m3 = self.stuck_m3 = 0.0
        self.start_m3 = float(self.s["cistern_m3"])
        self.started = np.append(self.solids + self.sludge, self.w["colour"])
        pump, tank = scenario.pump, scenario.tank
        fed = scenario.cistern.gravity_feed  # no pump, no pressure tank: nothing of them wears
        lamp_life = scenario.uv.lamp_life_s, scenario.uv.lamp_life_shape
        self._lives = {
            "lamp": lamp_life,
            lamps.SECOND: lamp_life if scenario.uv.units > 1 else (math.inf, 1.0),
            "pump": (math.inf if fed else pump.life_age_s, pump.life_shape),
            "bladder": (math.inf if fed else tank.bladder_life_s, tank.bladder_life_shape),
        }
        for name, part in self.parts.items():
            part["life_s"] = self.life_s(name, 0)
        self.pump_at = PUMP
        self.standby = Standby(self)
        day_step.weather(float(self.clock["first_day"]), self.house)
        self._blamed: object = None
        self._blames: dict[object, dict[str, int]] = {}
        self.blame()
        self.refresh()

    def _unpack_records(self) -> None:
        """Hold parts of the record under names of their own: to look them up each time is slow."""
        house = self.house
        self.s, self.p, self.w, self.c, self.f, self.ageing, self.clock = (
            house[name][0] for name in ("state", "plant", "water", "site", "faults", "ageing", "clock")
        )
        self.parts: dict[str, Any] = dict(zip(PARTS, house["parts"][0], strict=True))
        self.broken = house["parts"]["broken"][0]
        self.stages = house["stages"][0, : len(self.scenario.stages)]
        self.loads = self.stages["load_kg"]
        self.solids, self.sludge, self.ledger = (
            house["water"][name][0] for name in ("solids_kg", "sludge_kg", "ledger")
        )

    def life_s(self, name: str, number: int) -> float:
        """Return the life of the part of a name that is put in as so manyth."""
        units = self.common.lives[name]
        return float(lamp.weibull_life_s(float(units[number % units.size]), *self._lives[name]))

    def renew(self, name: str) -> None:
        """Put in a new part whose life is the next of this replication's lives.

        Parameters
        ----------
        name : str
            One of `sim.twin.water.house.PARTS`.
        """
        if name == "lamp":
            self.lamps_over_count += lamps.over_chance(self)
        part = self.parts[name]
        number = int(part["number"]) + 1
        for field in part.dtype.names:
            part[field] = 0
        part["life_s"], part["number"], part["since_s"] = self.life_s(name, number), number, self.env.now

    def fit_cartridge(self, stage: int) -> None:
        """Put in the next of this replication's cartridges, which holds what its own chance says."""
        one, record = self.scenario.stages[stage], self.stages[stage]
        normals = self.common.cartridges[one.name]
        unit = float(normals[self.fitted[stage] % normals.size])
        scatter = cartridge.capacity_factor(unit, one.capacity_cv, float(one.housings))
        record["capacity_kg"] *= scatter / record["scatter"]
        record["scatter"] = scatter
        self.fitted[stage] += 1

    def note(self, kind: str, subject: str, **more: float | str) -> None:
        """Write a line in the diary."""
        self.events.append(Event(self.env.now, kind, subject, **more))  # type: ignore[arg-type]

    def bring(self, refresh: bool = True) -> None:
        """Bring plant, water and parts up to the clock.

        Refused when more taps stand open at once than the loop can hold, or the plant changes too fast to
        follow.
        """
        now = self.env.now
        if now <= self.s["time_s"]:
            return
        self.blame()
        self._go(math.nan, refresh)
        if refresh:
            self._follow_alarm()

    def _go(self, before_s: float, refresh: bool = True) -> bool:
        """Let the compiled side go on, see `sim.twin.water.onward`; return whether a look is to be minded."""
        while status := onward.onward(
            float(self.env.now),  # a whole number, as some times are, would compile all of it once more
            before_s,
            refresh,
            self.house,
            self.common.rain_m,
            self.daily,
            self.alarm_days,
            self.draws,
            self.common.cuts_s,
            self.days,
            self.causes,
            self.pump_log,
            self.trace,
        ):
            if status == onward.MINDED:
                return True
            self._refuse(status)
            self._lengthen()
        return False

    def blame(self) -> None:
        """Say what is to blame for what happens from now on; nothing of it changes between two hand-overs."""
        stands = (
            self.working and self.working.name,
            tuple(self.faults.standing_names()) if self.faults.standing else (),
            tuple((row, lapse.kind) for row, lapse in self.waiting.items()) if self.waiting else (),
            self.broken.tobytes(),
            bool(self.clock["standby_broken"]),
        )
        if stands == self._blamed:
            return
        self._blamed = stands
        if stands not in self._blames:  # the same few come back again and again
            self._blames[stands] = blame(self)
        for name, code in self._blames[stands].items():
            self.p[name] = code

    def _refuse(self, status: int) -> None:
        """Raise for a plant that cannot be followed: what was asked of it is the input's."""
        day = int(self.s["time_s"] / DAY_S) + 1
        if status == state.TOO_MANY_OPEN:
            raise InputError(
                f"house: more than {state.MOST_OPEN} taps stood open at once on day {day}; "
                "wanted fewer people or uses, or draws that end sooner"
            )
        if status == state.TOO_FAST or self.s["pump_rows"] >= MOST_PUMP_RUNS:
            raise InputError(
                f"pressure_tank: pump and tank turn too fast to be followed on day {day}; "
                "wanted a larger tank, a wider band of the pressure switch, or less flow"
            )

    def _lengthen(self) -> None:
        if self.s["pump_rows"] >= len(self.pump_log) - 1:
            self.pump_log = loop.lengthened(self.pump_log)
        if len(self.trace) and self.s["trace_rows"] >= len(self.trace) - 1:
            self.trace = loop.lengthened(self.trace)

    def refresh(self) -> None:
        """Let the plant record say what wear, water and broken parts have made of it; follow the alarm."""
        day_step.refresh(self.house)
        self._follow_alarm()

    def _follow_alarm(self) -> None:
        is_on, was, dark = bool(self.p["alarm"]), self.alarm, bool(lamps.dark(self))
        self.alarm = is_on
        if is_on:
            self.alarm_days[min(int(self.env.now / DAY_S), self.common.n_days - 1)] = True
        if is_on and not was:
            self.alarms += 1
            dose = float(self.p["dose_flow"]) / self.scenario.uv.whole_rated_flow_m3_s
            self.false_alarms += (not dark) and dose >= self.scenario.uv.target_j_m2
            self.note("alarm", "UV", value=float(self.w["reading"]), unit="fraction")
        elif was and not is_on:
            self.note("alarm cleared", "UV", value=float(self.w["reading"]), unit="fraction")

    def onward(self, before_s: float) -> bool:
        """Look at the house when a look is due, and as often as one is before a time at which someone acts.

        Returns
        -------
        bool
            Whether the last look, at `clock["due_s"]`, showed what somebody is to know: then `learn` is next.
        """
        if self.clock["due_s"] > self.s["time_s"]:
            self.blame()
        else:
            before_s = 0.0  # whoever brought the house here may have changed what is to blame
        return self._go(before_s)

    def midnight(self, day: int) -> None:
        """Start a day: yesterday is noted, parts age, rain falls."""
        onward.midnight(day, self.house, self.common.rain_m, self.daily, self.days)
        self.learn()

    def learn(self) -> None:
        """Let come what a look showed: parts that failed, a cartridge that tears, the alarm."""
        k = self.clock
        if k["failed"]:
            for number, name in enumerate(PARTS):
                if k["failed"] >> number & 1:
                    wear.fail(self, name)
            day = int(self.env.now / DAY_S)
            k["failed"] = 0
            k["torn"] = day_step.new_day(
                float(k["first_day"] + day), float(self.common.rain_m[day]), self.house
            )
        torn, k["torn"] = int(k["torn"]), -1
        if torn >= 0:
            wear.tear(self, torn)
            self.refresh()
        else:
            self._follow_alarm()

    def note_day(self, day: int) -> None:
        """Note what stood at the end of a day."""
        day_step.note_day(day, self.house, self.daily)

    def drain_tank(self) -> None:
        """Let the pressure tank run empty for a service; the water is counted as spilled."""
        self.spilled_m3 += float(self.s["water_m3"]) + self.stuck_m3
        self.s["water_m3"], self.stuck_m3 = 0.0, 0.0

    @property
    def held(self) -> bool:
        """Whether the UV unit's valve holds the water back: an alarm, or a lamp that died."""
        return bool(self.p["valve"] and (self.p["none_bright"] or not lamps.work(self)))

    def drop_pa(self, stage: int) -> float:
        """Return the drop over a stage at the flow at which people read it."""
        one = self.stages[stage]
        flow_m3_s = self.w["drop_flow_m3_s"] * self.f["share"]
        return float(train.drop_pa(flow_m3_s, one["resistance"], one["quadratic"]))

    def clean_pa(self, stage: int) -> float:
        """Return the drop over a clean stage of this train at the flow at which people read it.

        Returns
        -------
        float
            Drop [Pa], at 20 C.
        """
        return stage_drop_pa(self.scenario.stages[stage], self.w["drop_flow_m3_s"])
